package mix

import (
	"errors"
	"math"
	"testing"

	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"wraptally/estimate/trace/depth"
)

// Parts by hand: 1.330 kg at 25 g of hardener to 100 g of resin hold 1330·25/125 =
// 266 g of hardener, to the 5 g of the scale 265 g, and 1065 g of resin. At 50 to
// 100 a third: 1330/3 = 443.3 → 445 g and 885 g. At 100 to 100 half: 665 g each.
func TestPartsByHand(t *testing.T) {
	for _, c := range []struct{ ratio, mass, resin, hardener float64 }{
		{25, 1.330, 1.065, 0.265}, {50, 1.330, 0.885, 0.445}, {100, 1.330, 0.665, 0.665}, {0, 1.330, 1.330, 0},
	} {
		resin, hardener := Scale{Reading: 0.005, Hardener: c.ratio}.Parts(c.mass)
		if !near(resin, c.resin, 1e-12) || !near(hardener, c.hardener, 1e-12) {
			t.Errorf("%+v: %v and %v", c, resin, hardener)
		}
	}
	// The lightest mass of which 50 g of hardener are weighed at 25 to 100: 240 g hold
	// 48 g, which is nearest to 50 g; 235 g hold 47 g, nearest to 45 g.
	if got := (Scale{Reading: 0.005, Least: 0.05, Hardener: 25}).least(); got != 240/5 {
		t.Errorf("least %d readings", got)
	}
}

// Batches that would take 28 g out of one pack and 1,301 g out of another: 7.5 kg
// in batches of at most 1.329 kg are six of 1.25 kg, of which the fourth ends with
// the first pack of 5 kg; 7.9 kg are six of 1.315 or 1.32 kg, of which the fourth
// would take 1.045 and 0.27 kg. 7.974 kg, where the first pack leaves 28 g over
// after three even batches and 1.301 kg were asked of the next, and so on for
// every need: no part is lighter than the scale weighs.
func TestNoPartTooLight(t *testing.T) {
	packs := []Pack{{Name: "drum", Mass: 5, Cost: decimal.NewFromInt(60), Splittable: true}, {Name: "tin", Mass: 0.5, Cost: decimal.NewFromInt(31)}}
	scale := Scale{Reading: 0.005, Least: 0.05, Hardener: 25}
	p, err := NewPlanner(packs, 1.329, 0.25, scale)
	if err != nil {
		t.Fatal(err)
	}
	even, err := p.Plan(7.5, nil)
	if err != nil || len(even.Batches) != 6 || even.Batches[3].Mass != 1.25 || len(even.Batches[3].Portions) != 1 {
		t.Errorf("%+v, %v", even, err)
	}
	crossed := 0
	for need := 0.001; need < 30; need += 0.0137 {
		plan, err := p.Plan(need, nil)
		if err != nil {
			t.Fatal(err)
		}
		checkPlan(t, plan, packs, 1.329, 0.25)
		checkWeighing(t, plan, scale)
		for _, b := range plan.Batches {
			if len(b.Portions) > 1 {
				crossed++
			}
		}
	}
	if crossed == 0 {
		t.Error("no batch takes of two packs: the rule was not tried")
	}
}

// checkWeighing: no part is lighter than the scale weighs, each is a multiple of
// its reading, together they are the batch, and never less than is needed.
func checkWeighing(t tester, p Plan, scale Scale) {
	t.Helper()
	multiple := func(v float64) bool {
		n := v / scale.Reading
		return math.Abs(n-math.Round(n)) < 1e-6
	}
	mixed := 0.0
	for _, b := range p.Batches {
		sum := 0.0
		for _, q := range b.Portions {
			if q.Packs > 0 {
				sum += q.Mass
				continue
			}
			resin, hardener := scale.Parts(q.Mass)
			sum += resin + hardener
			if !multiple(resin) || !multiple(hardener) || resin < scale.Least-1e-9 || scale.Hardener > 0 && hardener < scale.Least-1e-9 {
				t.Fatalf("%v kg of resin and %v of hardener on %+v: %+v", resin, hardener, scale, p)
			}
			if off := hardener - q.Mass*scale.Hardener/(100+scale.Hardener); math.Abs(off) > scale.Reading/2+1e-9 {
				t.Fatalf("%v kg of hardener too much in %v", off, q.Mass)
			}
		}
		if math.Abs(sum-b.Mass) > 1e-9 {
			t.Fatalf("parts of %v kg for a batch of %v", sum, b.Mass)
		}
		mixed += b.Mass
	}
	if mixed < p.Need-1e-9 {
		t.Fatalf("%v kg mixed for %v", mixed, p.Need)
	}
}

func TestWeighingProperties(t *testing.T) {
	weighed := 0
	rapid.Check(t, func(t *rapid.T) {
		packs := make([]Pack, rapid.IntRange(1, 4).Draw(t, "packs"))
		for i := range packs {
			packs[i] = Pack{
				Mass:       float64(rapid.IntRange(50, 6000).Draw(t, "grams")) / 1000,
				Cost:       decimal.New(int64(rapid.IntRange(0, 5000).Draw(t, "cost")), -2),
				Splittable: rapid.Bool().Draw(t, "splittable"),
			}
		}
		scale := Scale{
			Reading:  rapid.SampledFrom([]float64{0.001, 0.002, 0.005, 0.01}).Draw(t, "reading"),
			Least:    float64(rapid.IntRange(0, 100).Draw(t, "least")) / 1000,
			Hardener: rapid.SampledFrom([]float64{0, 8, 25, 50, 100, 130}).Draw(t, "hardener"),
		}
		limit := rapid.Float64Range(0.3, 4).Draw(t, "limit")
		p, err := NewPlanner(packs, limit, 0.2, scale)
		var none *PackError
		if errors.As(err, &none) {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		for range 4 {
			plan, err := p.Plan(rapid.Float64Range(0, 25).Draw(t, "need"), nil)
			if errors.Is(err, ErrTooLarge) {
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			checkPlan(t, plan, packs, limit, 0.2)
			checkWeighing(t, plan, scale)
			weighed += len(plan.Left)
		}
	})
	if weighed == 0 && depth.Full() {
		t.Error("nothing was weighed out")
	}
}
