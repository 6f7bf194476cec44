package estimate_test

import (
	"slices"
	"testing"

	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"wraptally/catalog"
	"wraptally/estimate"
	"wraptally/estimate/internal/trial"
	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
)

func quiet(int, int) {}

// campaignOf estimates defects that are its own.
func campaignOf(t testing.TB, defects []survey.Defect, c *catalog.Catalog) *estimate.Campaign {
	t.Helper()
	p, err := estimate.Run(trial.Result(slices.Clone(defects)), c, estimate.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func compared(t testing.TB, old, now *estimate.Campaign) *estimate.Comparison {
	t.Helper()
	c, err := estimate.Compare(estimate.Side{Campaign: old}, estimate.Side{Campaign: now}, quiet)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// dearer is the built-in catalogue with every price one tenth higher.
func dearer(t testing.TB) *catalog.Catalog {
	return builtin(t).With(func(c *catalog.Catalog) {
		for i := range c.Prices {
			c.Prices[i].Price = c.Prices[i].Price.Mul(decimal.New(11, -1))
		}
	})
}

// A change of one kind is told of that kind alone, and the whole of it.
func TestOneCauseTakesTheWholeDifference(t *testing.T) {
	c := builtin(t)
	base := told(trial.Plant(30, c))
	with := func(change func(d *survey.Defect)) []survey.Defect {
		out := slices.Clone(base)
		for i := range out {
			change(&out[i])
		}
		return out
	}
	more := c.With(func(c *catalog.Catalog) { c.Settings.Overlap = 0.6 })
	rates := c.With(func(c *catalog.Catalog) { c.Tasks[7].Minutes *= 2 })
	for _, x := range []struct {
		cause   estimate.Cause
		defects []survey.Defect
		c       *catalog.Catalog
	}{
		{estimate.ByDefects, base[:20], c},
		{estimate.BySizes, with(func(d *survey.Defect) { d.Axial.V, d.Circ.V = 4*d.Axial.V, 2*d.Circ.V }), c},
		{estimate.ByWall, with(func(d *survey.Defect) { d.Remaining.V = 0.2 * d.Wall.V }), c},
		{estimate.ByPressure, with(func(d *survey.Defect) { d.Pressure.V *= 1.5 }), c},
		{estimate.ByPlace, with(func(d *survey.Defect) { d.Access = "rope" }), c},
		{estimate.ByPrices, base, dearer(t)},
		{estimate.ByRates, base, rates},
		{estimate.BySettings, base, more},
	} {
		got := compared(t, campaignOf(t, base, c), campaignOf(t, x.defects, x.c))
		if !slices.Equal(got.Causes, []estimate.Cause{x.cause}) {
			t.Errorf("%s is told as %q", x.cause, got.Causes)
			continue
		}
		at := slices.IndexFunc(got.Changes, func(c estimate.Change) bool { return c.Key == estimate.NetMeasure.Key })
		if at < 0 {
			t.Errorf("%s changes no bid", x.cause)
			continue
		}
		if ch := got.Changes[at]; !ch.By[0].Equal(ch.New.Sub(ch.Old)) {
			t.Errorf("%s: %s of %s", x.cause, ch.By[0], ch.New.Sub(ch.Old))
		}
	}
}

// Whatever differs, the causes add up to each difference exactly; the two runs
// changed about give the negative of each; a run and itself do not differ.
func TestCausesAddUpAndTurnAbout(t *testing.T) {
	c, high := builtin(t), dearer(t)
	rapid.Check(t, func(r *rapid.T) {
		base := trial.Survey(trial.Rapid(r), c, rapid.IntRange(2, 8).Draw(r, "rows"))
		now := slices.Clone(base)
		for i := range now {
			if rapid.Bool().Draw(r, "wider") {
				now[i].Axial.V *= rapid.Float64Range(0.6, 1.8).Draw(r, "times")
			}
			if rapid.Bool().Draw(r, "pressed") && now[i].Pressure.OK {
				now[i].Pressure.V *= rapid.Float64Range(0.5, 1.5).Draw(r, "times")
			}
		}
		now = now[rapid.IntRange(0, 1).Draw(r, "closed"):]
		with := c
		if rapid.Bool().Draw(r, "dearer") {
			with = high
		}
		a, b := campaignOf(t, base, c), campaignOf(t, now, with)
		there, back := compared(t, a, b), compared(t, b, a)
		if len(there.Changes) != len(back.Changes) {
			r.Fatalf("%d figures differ, %d the other way", len(there.Changes), len(back.Changes))
		}
		for i, ch := range there.Changes {
			sum := decimal.Zero
			for k, by := range ch.By {
				sum = sum.Add(by)
				j := slices.IndexFunc(back.Changes, func(o estimate.Change) bool { return o.Key == ch.Key })
				if j < 0 || !back.Changes[j].By[k].Equal(by.Neg()) {
					r.Fatalf("%s by %s: %s, the other way it is not the negative", ch.Key, there.Causes[k], by)
				}
			}
			if !sum.Equal(ch.New.Sub(ch.Old)) {
				r.Fatalf("%s: causes add up to %s, the difference is %s", there.Changes[i].Key, sum, ch.New.Sub(ch.Old))
			}
		}
		if same := compared(t, a, a); len(same.Changes) != 0 || len(same.Causes) != 0 || same.Kept != len(same.Repairs) {
			r.Fatalf("a run differs from itself in %d figures by %q, %d of %d kept", len(same.Changes), same.Causes, same.Kept, len(same.Repairs))
		}
	})
}

// What became of each repair is told by its rows.
func TestWhatBecameOfRepairs(t *testing.T) {
	c := builtin(t)
	base := told(trial.Plant(60, c))[:0]
	for i := range 6 {
		d := told(trial.Plant(60, c))[0]
		d.ID, d.Tag, d.Line, d.Area = string(rune('A'+i)), string(rune('A'+i)), "L", "X"
		d.Chainage, d.Axial, d.Circ, d.Component = survey.Known(float64(i)*5000), survey.Known(30), survey.Known(20), survey.Straight
		d.Leaking, d.Remaining = survey.No, survey.Known(0.7*d.Wall.V)
		base = append(base, d)
	}
	now := slices.Clone(base)
	now[1].Chainage.V += 300                       // moved
	now[2].Axial.V = 400                           // grown
	now[4].Chainage.V = now[3].Chainage.V + 40     // joined with the one before it
	gone := slices.Delete(slices.Clone(now), 5, 6) // and one gone
	added := base[0]
	added.ID, added.Tag, added.Chainage = "N", "N", survey.Known(60_000)
	got := compared(t, campaignOf(t, base, c), campaignOf(t, append(gone, added), c))
	count := map[string]int{}
	for _, r := range got.Repairs {
		count[r.What]++
	}
	for what, n := range map[string]int{estimate.RepairKept: 1, estimate.RepairMoved: 1, estimate.RepairGrown: 1, estimate.RepairJoined: 1, estimate.RepairGone: 1, estimate.RepairNew: 1} {
		if count[what] != n {
			t.Errorf("%s: %d, not %d; %v", what, count[what], n, count)
		}
	}
}

// What earlier runs have left, the store and the day are in every run that is made
// on the way: a setting that bears on no number changes none.
func TestRunsOnTheWayAreGivenTheSame(t *testing.T) {
	c := builtin(t)
	base := told(trial.Plant(12, c))
	base[3].Tag = "T-3"
	grown := slices.Clone(base)
	grown[0].Axial.V *= 2
	// The defect lay elsewhere in the earlier run: its repair is stopped until that is clear.
	opt := estimate.Options{Earlier: &scope.Earlier{Known: []scope.Known{{Name: "OLD", Line: base[3].Line, Spots: []scope.Spot{{ID: "T-3", At: base[3].Chainage.V + 50_000}}}}}}
	run := func(defects []survey.Defect, c *catalog.Catalog) *estimate.Campaign {
		p, err := estimate.Run(trial.Result(slices.Clone(defects)), c, opt)
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	got := compared(t, run(base, c), run(grown, c.With(func(c *catalog.Catalog) { c.Settings.VaryBy++ })))
	if !slices.Equal(got.Causes, []estimate.Cause{estimate.BySizes, estimate.BySettings}) {
		t.Fatalf("%q", got.Causes)
	}
	for _, ch := range got.Changes {
		if !ch.By[1].IsZero() {
			t.Errorf("%s: %s by a setting that changes nothing", ch.Key, ch.By[1])
		}
	}
}
