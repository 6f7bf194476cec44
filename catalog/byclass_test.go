package catalog

import (
	"strings"
	"testing"
)

// The widest ranges of the five classes by AACE 18R-97 (from memory, compared
// with a public summary of it, soma-website.pages.dev, glossary "AACE 18R-97"):
// the recommended practice gives a band for each end, of which the wide one is
// taken.
func TestClassSetsTheRange(t *testing.T) {
	for class, want := range map[string][2]float64{"5": {-50, 100}, "4": {-30, 50}, "3": {-20, 30}, "2": {-15, 20}, "1": {-10, 15}} {
		c, err := Load(Options{Sets: []string{"bid.class=" + class}})
		if err != nil {
			t.Fatal(err)
		}
		if s := &c.Settings; s.RangeLow != want[0] || s.RangeHigh != want[1] {
			t.Errorf("class %s: %g to %g %%, want %v", class, s.RangeLow, s.RangeHigh, want)
		}
		if from := c.Whence("bid.range_low"); from != "of class "+class+", table classes" {
			t.Errorf("class %s: comes from %q", class, from)
		}
		for _, row := range c.Classes {
			if row.Verified != "no" {
				t.Errorf("class %s is said to be verified", row.Class)
			}
		}
	}
}

// A rougher class is never narrower, and asks for no less contingency: this
// program's own rule for its built-in table, after the recommended practice.
func TestRougherIsWider(t *testing.T) {
	c := builtin(t)
	for i := 1; i < len(c.Classes); i++ {
		a, b := c.Classes[i-1], c.Classes[i]
		if a.Class <= b.Class || a.RangeLow > b.RangeLow || a.RangeHigh < b.RangeHigh || a.Contingency < b.Contingency {
			t.Errorf("class %s: %+v, class %s: %+v", a.Class, a, b.Class, b)
		}
	}
}

func rateOf(t *testing.T, c *Catalog, code string) *Cost {
	t.Helper()
	for i := range c.Costs {
		if c.Costs[i].Code == code {
			return &c.Costs[i]
		}
	}
	t.Fatalf("no cost %s", code)
	return nil
}

// Contingency goes by the class, by the setting, or by a row of the firm's own;
// profit is a margin or a markup, as the setting says. Each says where it is from.
func TestWhoSetsContingencyAndProfit(t *testing.T) {
	own := folder(t, map[string][]edit{"costs": {{"percent-class,", "percent,9"}}})
	for name, c := range map[string]struct {
		o              Options
		value, note    string
		profit, called string
	}{
		"class 3":  {Options{}, "10", "of class 3, table classes", "percent-margin", "margin"},
		"class 5":  {Options{Sets: []string{"bid.class=5"}}, "25", "of class 5, table classes", "percent-margin", "margin"},
		"setting":  {Options{Sets: []string{"bid.contingency=12.5", "bid.profit_as=markup"}}, "12.5", "setting bid.contingency, given by --set", "percent", "markup"},
		"own row":  {Options{Dir: own}, "9", "apart from", "percent-margin", "margin"},
		"nothing":  {Options{Sets: []string{"bid.contingency=0"}}, "0", "given by --set", "percent-margin", "margin"},
		"reopened": {Options{Sets: []string{"bid.contingency="}}, "10", "of class 3, table classes", "percent-margin", "margin"},
	} {
		got, err := Load(c.o)
		if err != nil {
			t.Fatal(name, err)
		}
		if row := rateOf(t, got, "contingency"); row.Basis != "percent" || row.Value.String() != c.value || !strings.Contains(row.Note, c.note) {
			t.Errorf("%s: %+v", name, row)
		}
		if row := rateOf(t, got, "profit"); row.Basis != c.profit || !strings.Contains(row.Name, c.called) {
			t.Errorf("%s: %+v", name, row)
		}
	}
	// A setting that no row leans on is asked about.
	c, err := Load(Options{Dir: own, Sets: []string{"bid.contingency=12"}})
	if err != nil || len(c.Warnings) == 0 || !strings.Contains(c.Warnings[len(c.Warnings)-1].Message+c.Warnings[0].Message, "bid.contingency does nothing") {
		t.Errorf("%v %v", err, c.Warnings)
	}
}

// A file of settings comes last, and its faults are located.
func TestFileOfSettings(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, "a.csv", "name,value,remark\ncrew.count,3,x\nbid.class,5,\n")
	c, err := Load(Options{Sets: []string{"crew.count=2"}, SetFile: dir + "/a.csv"})
	if err != nil || c.Settings.Crews != 3 || c.Settings.RangeHigh != 100 {
		t.Errorf("%v, %d crews, range to %g", err, c.Settings.Crews, c.Settings.RangeHigh)
	}
	put(t, dir, "b.csv", "name,value\ncrew.count,0\ncrew.cont,3\ncrew.shift_hours,8\ncrew.shift_hours,8\n")
	_, err = Load(Options{SetFile: dir + "/b.csv"})
	if err == nil {
		t.Fatal("accepted")
	}
	for _, want := range []string{"b.csv:2:1: wrong: crew.count is below", "b.csv:3:1: wrong: there is no setting", "b.csv:5:1: wrong: the setting is given twice"} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("no %q in %v", want, err)
		}
	}
	if _, err := Load(Options{SetFile: dir + "/none.csv"}); err == nil || !strings.Contains(err.Error(), "the file of settings") {
		t.Error(err)
	}
}
