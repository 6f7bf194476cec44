package gate

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"wraptally/estimate/design"
	_ "wraptally/estimate/trace/depth"
)

func TestVerdicts(t *testing.T) {
	known := design.Known
	for _, c := range []struct {
		name   string
		l      Line
		want   Verdict
		margin design.Num
	}{
		{"below", AtMost(Line{Found: known(60), Limit: known(90), Advice: "x"}), MayGoOn, known(30)},
		{"at the limit", AtMost(Line{Found: known(90), Limit: known(90), Advice: "x"}), MayGoOn, known(0)},
		{"above", AtMost(Line{Found: known(95), Limit: known(90), Advice: "x"}), NotByThisMethod, known(-5)},
		{"not known", AtMost(Line{Limit: known(90), Advice: "x"}), Ask, design.Num{}},
		{"no limit known", AtMost(Line{Found: known(5), Advice: "x"}), Ask, design.Num{}},
		{"enough", AtLeast(Line{Found: known(5), Limit: known(3), Advice: "x"}), MayGoOn, known(2)},
		{"too little", AtLeast(Line{Found: known(2), Limit: known(3), Advice: "x"}), NotByThisMethod, known(-1)},
		{"pressed well", Pressed(1.6, known(1), 1.5), MayGoOn, known(0.1)},
		{"pressed, no margin", Pressed(1.2, known(1), 1.5), Ask, known(-0.3)},
		{"lifted", Pressed(0.9, known(1), 1.5), NotByThisMethod, known(-0.6)},
		{"live pressure not known", Pressed(99, design.Num{}, 1.5), Ask, design.Num{}},
		{"no pressure", Pressed(0.2, known(0), 1.5), MayGoOn, known(0.2)},
	} {
		if c.l.Verdict != c.want || c.l.Margin.OK != c.margin.OK || math.Abs(c.l.Margin.V-c.margin.V) > 1e-12 {
			t.Errorf("%s: %+v, want %v with margin %v", c.name, c.l, c.want, c.margin)
		}
		if (c.l.Advice == "") != (c.want == MayGoOn) {
			t.Errorf("%s: advice %q", c.name, c.l.Advice)
		}
	}
	if l := AtMost(Line{Found: known(math.NaN()), Limit: known(1)}); l.Verdict != NotByThisMethod {
		t.Errorf("what is not a number: %v", l.Verdict)
	}
	for _, c := range []struct {
		ls   Lines
		want Verdict
	}{
		{nil, Ask}, {Lines{{}, {}}, MayGoOn}, {Lines{{Verdict: Ask}, {}}, Ask}, {Lines{{Verdict: Ask}, {Verdict: NotByThisMethod}, {}}, NotByThisMethod},
	} {
		if got := c.ls.Verdict(); got != c.want {
			t.Errorf("%v: %v", c.ls, got)
		}
	}
}

var words = []Word{
	{"water", []string{"plain"}}, {"hot water", []string{"hot"}}, {"oxygen", []string{"oxidising"}}, {"deoxygenated", []string{"plain"}},
	{"H2S", []string{"toxic", "flammable"}}, {"hydrogen", []string{"flammable"}}, {"hydrogen sulphide", []string{"toxic", "flammable"}},
	{"hydrogen sulphide", []string{"corrosive"}}, {"line", nil}, {"oxygen free", []string{"plain"}},
}

func TestMedia(t *testing.T) {
	m := NewMedia(words)
	for _, c := range []struct {
		medium           string
		classes, strange []string
	}{
		{"deoxygenated water", []string{"plain"}, nil},
		{"Oxygen", []string{"oxidising"}, nil},
		{"oxygen-free water", []string{"plain"}, nil},
		{"HOT-WATER line 10 bar", []string{"hot"}, []string{"bar"}},
		{"water, hot", []string{"plain"}, []string{"hot"}},
		{"H₂S", []string{"flammable", "toxic"}, nil},
		{"Hydrogen sulphide / water", []string{"corrosive", "flammable", "plain", "toxic"}, nil},
		{"hydrogen", []string{"flammable"}, nil},
		{"hydrogenated oil", nil, []string{"hydrogenated", "oil"}},
		{"", nil, nil}, {"?", nil, nil}, {"line", nil, nil}, {"4 2", nil, nil},
	} {
		got := m.Read(c.medium)
		if !slices.Equal(got.Classes, c.classes) || !slices.Equal(got.Strange, c.strange) || got.Known != (len(c.classes) > 0) {
			t.Errorf("%q: %+v, want %v, strange %v", c.medium, got, c.classes, c.strange)
		}
	}
	if got := NewMedia([]Word{{"...", []string{"plain"}}}).Read("water"); got.Known || len(got.Strange) != 1 {
		t.Errorf("no words at all: %+v", got)
	}
}

// Words put behind a medium never take a class away from it, unless they make a
// longer phrase of its last word.
func TestMediaWordsAdd(t *testing.T) {
	m := NewMedia(words)
	rapid.Check(t, func(t *rapid.T) {
		one := rapid.SampledFrom([]string{"water", "oxygen", "H2S", "deoxygenated", "line", "foo"})
		medium := one.Draw(t, "medium")
		for range rapid.IntRange(0, 4).Draw(t, "more words") {
			medium += " " + one.Draw(t, "word")
		}
		before, after := m.Read(medium), m.Read(medium+" "+one.Draw(t, "last"))
		for _, c := range before.Classes {
			if !slices.Contains(after.Classes, c) {
				t.Fatalf("%q loses %s", medium, c)
			}
		}
	})
}

// A worse input never gives a better verdict, of any line: a number further past
// its limit, a tighter limit, less pressure of the bands, more in the pipe, a wider
// factor. Not to know a number is never better than to know one that fails to
// pass.
func TestWorseIsNeverBetter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) float64 { return rapid.Float64Range(-100, 100).Draw(t, name) }
		found, limit := draw("found"), draw("limit")
		more := rapid.Float64Range(0, 50).Draw(t, "more")
		line := func(f, l float64) Line { return Line{Found: design.Known(f), Limit: design.Known(l)} }
		p, live, factor := math.Abs(draw("p")), math.Abs(draw("live")), rapid.Float64Range(1, 3).Draw(t, "factor")
		for name, v := range map[string][2]Verdict{
			"at most, more found":      {AtMost(line(found, limit)).Verdict, AtMost(line(found+more, limit)).Verdict},
			"at most, a lower limit":   {AtMost(line(found, limit)).Verdict, AtMost(line(found, limit-more)).Verdict},
			"at least, less found":     {AtLeast(line(found, limit)).Verdict, AtLeast(line(found-more, limit)).Verdict},
			"at least, a higher limit": {AtLeast(line(found, limit)).Verdict, AtLeast(line(found, limit+more)).Verdict},
			"bands that press less":    {Pressed(p, design.Known(live), factor).Verdict, Pressed(p-more, design.Known(live), factor).Verdict},
			"more live pressure":       {Pressed(p, design.Known(live), factor).Verdict, Pressed(p, design.Known(live+more), factor).Verdict},
			"a wider margin asked for": {Pressed(p, design.Known(live), factor).Verdict, Pressed(p, design.Known(live), factor+more).Verdict},
			"live pressure not known":  {MayGoOn + 1, Pressed(p, design.Num{}, factor).Verdict},
			"not known":                {MayGoOn + 1, AtMost(Line{Limit: design.Known(limit)}).Verdict},
		} {
			if v[1] < v[0] {
				t.Fatalf("%s: %v, then %v", name, v[0], v[1])
			}
		}
		// A gate with a line more is never better.
		ls := Lines{AtMost(line(found, limit)), Pressed(p, design.Known(live), factor)}
		if ls.Verdict() < ls[:1].Verdict() {
			t.Fatalf("a line more: %v, before %v", ls.Verdict(), ls[:1].Verdict())
		}
	})
}
