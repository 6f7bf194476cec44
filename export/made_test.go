package export

import (
	"slices"
	"testing"
)

// The mark of a run is that of what it was made from: another byte of a file,
// another option and another version have another one; the day printed, the
// survey's name and the order of options have none in it.
func TestMarkOfARun(t *testing.T) {
	file := func(as, name, text string) MadeFile {
		p := NewPacking()
		if _, err := p.Write([]byte(text)); err != nil {
			t.Fatal(err)
		}
		return p.File(as, name)
	}
	run := func(survey, prices, name string, options ...string) *Made {
		return &Made{Options: options, Files: []MadeFile{file(AsSurvey, name, survey), file(AsBuiltIn, "prices.csv", prices)}}
	}
	base := run("a", "1", "s.csv", "--set=x=1", "--set=y=2", "--start=2027-03-01").Mark("v1")
	for what, same := range map[string]string{
		"again":            run("a", "1", "s.csv", "--set=x=1", "--set=y=2", "--start=2027-03-01").Mark("v1"),
		"another name":     run("a", "1", "copy of s.csv", "--set=x=1", "--set=y=2", "--start=2027-03-01").Mark("v1"),
		"another day":      run("a", "1", "s.csv", "--set=x=1", "--set=y=2", "--start=2027-03-01", "--date=2027-02-01").Mark("v1"),
		"options by turns": run("a", "1", "s.csv", "--start=2027-03-01", "--set=x=1", "--set=y=2").Mark("v1"),
	} {
		if same != base {
			t.Errorf("%s: %s, not %s", what, same, base)
		}
	}
	seen := []string{base}
	for what, other := range map[string]string{
		"a byte of the survey": run("b", "1", "s.csv", "--set=x=1", "--set=y=2", "--start=2027-03-01").Mark("v1"),
		"a price":              run("a", "2", "s.csv", "--set=x=1", "--set=y=2", "--start=2027-03-01").Mark("v1"),
		"a setting":            run("a", "1", "s.csv", "--set=x=2", "--set=y=2", "--start=2027-03-01").Mark("v1"),
		"settings by turns":    run("a", "1", "s.csv", "--set=y=2", "--set=x=1", "--start=2027-03-01").Mark("v1"), // the last of one name counts
		"an option less":       run("a", "1", "s.csv", "--set=x=1", "--set=y=2").Mark("v1"),
		"a version":            run("a", "1", "s.csv", "--set=x=1", "--set=y=2", "--start=2027-03-01").Mark("v2"),
	} {
		if slices.Contains(seen, other) {
			t.Errorf("%s: %s as well", what, other)
		}
		seen = append(seen, other)
	}
}
