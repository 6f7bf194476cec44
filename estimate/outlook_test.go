package estimate_test

import (
	"runtime"
	"slices"
	"testing"

	"wraptally/catalog"
	"wraptally/estimate"
	"wraptally/estimate/internal/trial"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace/depth"
)

// outlookOf makes the outlook of a made-up plant in which nothing is blank.
func outlookOf(t *testing.T, change func(c *catalog.Catalog)) *estimate.Outlook {
	c := builtin(t)
	c.Settings.RangeDraws = depth.Of(25, 100)
	c.Spreads = slices.Clone(c.Spreads)
	change(c)
	p, err := estimate.Run(trial.Result(told(trial.Plant(40, c))), c, estimate.Options{})
	if err != nil {
		t.Fatal(err)
	}
	o, err := p.Outlook(func(int, int) {})
	if err != nil {
		t.Fatal(err)
	}
	return o
}

// told is a survey in which all is said that the estimate draws where it is not.
func told(defects []survey.Defect) []survey.Defect {
	for i := range defects {
		d := &defects[i]
		for n, v := range map[*survey.Num]float64{
			&d.Wall: 7.11, &d.Remaining: 4, &d.Pressure: 0.6, &d.Stress: 137.9, &d.SurfaceTemp: 22, &d.AirTemp: 22, &d.DesignTemp: 40,
			&d.CorrosionRate: 0, &d.BendRadius: 3 * d.OD.V, &d.Clock: 90,
		} {
			if !n.OK {
				*n = survey.Known(v)
			}
		}
		d.Mechanism, d.Substrate = survey.External, "steel"
	}
	return defects
}

// Where nothing is uncertain, each draw is the point estimate by the rules of the
// draws, exactly.
func TestNothingUncertainIsThePoint(t *testing.T) {
	o := outlookOf(t, func(c *catalog.Catalog) {
		for i := range c.Spreads {
			s := &c.Spreads[i]
			s.Low, s.Likely, s.High = 0, 0, 0
		}
	})
	for k, f := range estimate.OutlookFigures {
		for i, x := range o.Figure[k].Drawn {
			if x != o.Figure[k].Quick {
				t.Fatalf("%s: draw %d is %g, the point %g", f.Name, i+1, x, o.Figure[k].Quick)
			}
		}
	}
	if o.Contingency != 0 {
		t.Errorf("contingency %g", o.Contingency)
	}
}

// The same campaign has the same outlook, on one processor and on all.
func TestOutlookIsRepeated(t *testing.T) {
	all := outlookOf(t, func(*catalog.Catalog) {})
	before := runtime.GOMAXPROCS(1)
	one := outlookOf(t, func(*catalog.Catalog) {})
	runtime.GOMAXPROCS(before)
	for k := range all.Figure {
		if !slices.Equal(all.Figure[k].Drawn, one.Figure[k].Drawn) {
			t.Fatalf("%s differs", estimate.OutlookFigures[k].Name)
		}
	}
}

// Each input moves what it bears on, the way it should, and is found to matter;
// what it does not bear on stays where it is.
func TestEachInputMovesWhatItBearsOn(t *testing.T) {
	last := len(estimate.OutlookFigures) - 1
	for name, bears := range map[string][]string{
		"found-later": {"kits", "packs ordered", "cost of the order", "crew-shifts", "bid before tax"},
		"size":        {"cost of the order", "bid before tax"},
		"hours":       {"crew-shifts", "working days", "bid before tax"},
		"productive":  {"crew-shifts", "working days", "bid before tax"},
		"price":       {"cost of the order", "bid before tax"},
		"exchange":    {"cost of the order", "bid before tax"},
		"access":      {"bid before tax"},
		"weather":     {"crew-shifts", "working days", "bid before tax"},
	} {
		o := outlookOf(t, func(c *catalog.Catalog) {
			c.Settings.RangeDraws = depth.Of(12, 24) // what moves far and all the one way shows in few
			for i := range c.Spreads {
				if s := &c.Spreads[i]; s.Input == name {
					s.Low, s.Likely, s.High = 20, 40, 60 // all the one way: more of it
				} else {
					s.Low, s.Likely, s.High = 0, 0, 0
				}
			}
			if name == "exchange" { // what is bought abroad is bought there still
				for i := range c.Offers {
					c.Offers[i].Currency = "USD"
				}
			}
		})
		for k, f := range estimate.OutlookFigures {
			s := o.Figure[k]
			mid, _, _ := s.Percentile(50)
			if slices.Contains(bears, f.Name) {
				if more := name != "productive"; mid == s.Quick || mid > s.Quick != more {
					t.Errorf("%s up by 40 %%: %s from %g to %g", name, f.Name, s.Quick, mid)
				}
			} else if f.Name == "kits" && slices.Min(s.Drawn) != slices.Max(s.Drawn) && name != "size" {
				t.Errorf("%s moves %s", name, f.Name)
			}
		}
		if slices.Min(o.Figure[last].Drawn) == slices.Max(o.Figure[last].Drawn) {
			t.Errorf("%s moves no bid", name)
		}
		for _, in := range o.Inputs {
			if (in.Spread.Input == name) != (in.Share > 0) {
				t.Errorf("only %s is uncertain, and %s has the share %g", name, in.Name, in.Share)
			}
		}
	}
}

// A word that the survey leaves blank is drawn between its answers: where nothing
// else is uncertain each draw is the point of one of them, and each of them occurs;
// the point itself stays at the harder.
func TestBlankWordsAreDrawn(t *testing.T) {
	last := len(estimate.OutlookFigures) - 1
	of := func(draws int, set func(d *survey.Defect)) *estimate.Spreading {
		c := builtin(t)
		c.Settings.RangeDraws = draws
		c.Spreads = slices.Clone(c.Spreads)
		for i := range c.Spreads {
			s := &c.Spreads[i]
			s.Low, s.Likely, s.High = 0, 0, 0
		}
		defects := told(trial.Plant(20, c))
		for i := range defects {
			defects[i].Leaking, defects[i].Access, defects[i].Surface, defects[i].Hazardous = survey.No, "ground", survey.Dry, survey.No
			set(&defects[i])
		}
		p, err := estimate.Run(trial.Result(defects), c, estimate.Options{})
		if err != nil {
			t.Fatal(err)
		}
		o, err := p.Outlook(func(int, int) {})
		if err != nil {
			t.Fatal(err)
		}
		return &o.Figure[last]
	}
	for field, answers := range map[string][]func(d *survey.Defect){
		"hazardous": {func(d *survey.Defect) { d.Hazardous = survey.No }, func(d *survey.Defect) { d.Hazardous = survey.Yes }, func(d *survey.Defect) { d.Hazardous = survey.Unknown }},
		"surface":   {func(d *survey.Defect) { d.Surface = survey.Dry }, func(d *survey.Defect) { d.Surface = survey.Wet }, func(d *survey.Defect) { d.Surface = "" }},
		"access":    {func(d *survey.Defect) { d.Access = "ground" }, func(d *survey.Defect) { d.Access = "scaffold" }, func(d *survey.Defect) { d.Access = "" }},
	} {
		easy, hard, blank := of(1, answers[0]), of(1, answers[1]), of(depth.Of(40, 100), answers[2])
		if easy.Quick == hard.Quick || blank.Quick < hard.Quick {
			t.Errorf("%s: the points are %g and %g, blank %g", field, easy.Quick, hard.Quick, blank.Quick)
		}
		if !slices.Contains(blank.Drawn, easy.Quick) || !slices.Contains(blank.Drawn, hard.Quick) {
			t.Errorf("%s: of %g and %g not both are drawn", field, easy.Quick, hard.Quick)
		}
		if other := slices.ContainsFunc(blank.Drawn, func(v float64) bool { return v != easy.Quick && v != hard.Quick }); other != (field == "access") {
			t.Errorf("%s: other values than %g and %g: %t", field, easy.Quick, hard.Quick, other)
		}
	}
}

// 1,000 draws of 300 repairs with the built-in spreads, on as many processors as
// there are:
//
//	go test -run '^$' -bench Outlook -benchtime 1x ./estimate
func BenchmarkOutlook(b *testing.B) {
	c := builtin(b, "range.draws=1000")
	p, err := estimate.Run(trial.Result(trial.Plant(300, c)), c, estimate.Options{})
	if err != nil {
		b.Fatal(err)
	}
	b.ReportMetric(float64(len(p.Repairs)), "repairs")
	for b.Loop() {
		if _, err := p.Outlook(func(int, int) {}); err != nil {
			b.Fatal(err)
		}
	}
}
