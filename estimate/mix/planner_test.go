package mix

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"wraptally/estimate/qty"
	"wraptally/estimate/trace"
)

// ranked is what plans are compared by, masses in milligrams.
type ranked struct {
	cost    decimal.Decimal
	batches int
	excess  int64
}

func (a ranked) less(b ranked) bool {
	if c := a.cost.Cmp(b.cost); c != 0 {
		return c < 0
	}
	if a.batches != b.batches {
		return a.batches < b.batches
	}
	return a.excess < b.excess
}

// fewestBins packs the masses into bins of the limit by trying everything.
func fewestBins(masses []int64, limit int64) int {
	slices.SortFunc(masses, func(a, b int64) int { return int(b - a) })
	best := len(masses)
	var bins []int64
	var walk func(i int)
	seen := map[string]bool{} // places reached with the same bins
	walk = func(i int) {
		if len(bins) >= best {
			return
		}
		alike := slices.Clone(bins)
		slices.Sort(alike)
		key := fmt.Sprint(i, alike)
		if seen[key] {
			return
		}
		seen[key] = true
		if i == len(masses) {
			best = len(bins)
			return
		}
		for k := range bins {
			if bins[k]+masses[i] <= limit && !slices.Contains(bins[:k], bins[k]) { // bins alike are one
				bins[k] += masses[i]
				walk(i + 1)
				bins[k] -= masses[i]
			}
		}
		bins = append(bins, masses[i])
		walk(i + 1)
		bins = bins[:len(bins)-1]
	}
	if len(masses) == 0 {
		return 0
	}
	best++
	walk(0)
	return best
}

// tryAll is the best plan by trying all counts of packs and all ways of putting
// whole packs into batches.
func tryAll(need, limit int64, packs []Pack) (best ranked, found bool) {
	counts := make([]int64, len(packs))
	var walk func(i int)
	walk = func(i int) {
		if i < len(packs) {
			m, _ := milligrams(packs[i].Mass)
			for counts[i] = 0; counts[i] <= qty.CeilDiv(need, m); counts[i]++ {
				if counts[i] > 0 && m > limit && !packs[i].Splittable {
					break
				}
				walk(i + 1)
			}
			counts[i] = 0
			return
		}
		var whole, split int64
		var masses []int64
		r := ranked{}
		for k, n := range counts {
			m, _ := milligrams(packs[k].Mass)
			r.cost = r.cost.Add(packs[k].Cost.Mul(decimal.NewFromInt(n)))
			if packs[k].Splittable {
				split += n * m
				continue
			}
			whole += n * m
			for range n {
				masses = append(masses, m)
			}
		}
		if whole+split < need {
			return
		}
		if found && r.cost.GreaterThan(best.cost) {
			return
		}
		r.batches = fewestBins(masses, limit)
		if whole < need {
			r.batches = max(r.batches, int(qty.CeilDiv(need, limit)))
		}
		r.excess = whole + split - need
		if !found || r.less(best) {
			best, found = r, true
		}
	}
	walk(0)
	return best, found
}

// tester is a test or a property.
type tester interface {
	Helper()
	Fatalf(format string, args ...any)
}

// checkPlan replays a plan.
func checkPlan(t tester, p Plan, packs []Pack, limit, rate float64) {
	t.Helper()
	const eps = 1e-9
	taken := make([]float64, len(packs)) // kg
	var mixed, used float64
	for _, b := range p.Batches {
		sum := 0.0
		for _, q := range b.Portions {
			if q.Packs == 0 && !packs[q.Pack].Splittable {
				t.Fatalf("pack %d is weighed out", q.Pack)
			}
			if q.Packs > 0 && !near(q.Mass, float64(q.Packs)*packs[q.Pack].Mass, eps) {
				t.Fatalf("portion %+v", q)
			}
			taken[q.Pack] += q.Mass
			sum += q.Mass
		}
		mixed += b.Mass
		used += b.Used
		if math.Abs(sum-b.Mass) > eps || b.Mass > limit+eps || b.Used > b.Mass+eps || b.Mass <= 0 ||
			math.Abs(b.Waste-(b.Mass-b.Used)) > eps || math.Abs(b.Minutes-b.Used/rate) > eps {
			t.Fatalf("batch %+v of %g kg at most", b, limit)
		}
	}
	var bought, left float64
	for _, r := range p.Left {
		left += r.Mass
	}
	cost := decimal.Zero
	for i, n := range p.Packs {
		bought += float64(n) * packs[i].Mass
		cost = cost.Add(packs[i].Cost.Mul(decimal.NewFromInt(int64(n))))
		if taken[i] > float64(n)*packs[i].Mass+eps || !packs[i].Splittable && !near(taken[i]+1, float64(n)*packs[i].Mass+1, eps) {
			t.Fatalf("%d packs of %g kg give %g kg", n, packs[i].Mass, taken[i])
		}
	}
	if used < p.Need-eps-1e-6 || used > p.Need+1e-6+eps || !cost.Equal(p.Cost) || math.Abs(bought-p.Mass) > eps ||
		math.Abs(p.Waste-(mixed-used)) > eps || math.Abs(left-(bought-mixed)) > eps {
		t.Fatalf("plan %+v: used %g, mixed %g, bought %g for %s", p, used, mixed, bought, cost)
	}
}

func TestPlanAgainstAllPlans(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	planned := 0
	for range 12000 {
		packs := make([]Pack, 1+r.IntN(3))
		for i := range packs {
			packs[i] = Pack{Mass: float64(2+r.IntN(10)) / 10, Cost: decimal.New(int64(r.IntN(40)), -1), Splittable: r.IntN(3) == 0}
		}
		limit := float64(2+r.IntN(12)) / 10
		need := float64(1+r.IntN(20)) / 10
		if r.IntN(2) == 0 {
			need -= r.Float64() / 20
		}
		want, found := tryAll(milligramsUp(need), milligramsDown(limit), packs)
		p, err := NewPlanner(packs, limit, 0.1, Scale{})
		var none *PackError
		if !found {
			if !errors.As(err, &none) {
				t.Fatalf("%v: %v", packs, err)
			}
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		planned++
		for range 2 { // the second time from the tables
			got, err := p.Plan(need, nil)
			if err != nil {
				t.Fatal(err)
			}
			checkPlan(t, got, packs, limit, 0.1)
			var bought int64
			for i, n := range got.Packs {
				bought += int64(n) * p.mass[i]
			}
			g := ranked{got.Cost, len(got.Batches), bought - milligramsUp(need)}
			if g.less(want) || want.less(g) {
				t.Fatalf("need %g limit %g packs %+v:\ngot  %+v\nwant %+v", need, limit, packs, g, want)
			}
		}
	}
	if planned < 9000 {
		t.Fatalf("only %d planned", planned)
	}
}

func TestPlanByHand(t *testing.T) {
	packs := []Pack{
		{Name: "small", Mass: 0.4, Cost: decimal.NewFromInt(10)},
		{Name: "large", Mass: 1, Cost: decimal.NewFromInt(21)},
		{Name: "drum", Mass: 5, Cost: decimal.NewFromInt(60)},
	}
	p, err := NewPlanner(packs, 1, 0.1, Scale{})
	if err != nil {
		t.Fatal(err)
	}
	// 1.2 kg: three small for 30 beat large and small for 31; two batches.
	var log trace.Log
	plan, err := p.Plan(0.4*3, &log)
	if err != nil || !slices.Equal(plan.Packs, []int{3, 0, 0}) || len(plan.Batches) != 2 || plan.Batches[0].Mass != 0.8 || plan.Waste != 0 {
		t.Errorf("%+v, %v", plan, err)
	}
	if len(log.Steps) != 1 || log.Steps[0].Rule != "mix.batches" || log.Steps[0].Value != 2 {
		t.Errorf("%+v", log.Steps)
	}
	// 1.3 kg: large and small for 31, waste 0.1 in the last pot.
	plan, err = p.Plan(1.3, nil)
	if err != nil || !slices.Equal(plan.Packs, []int{1, 1, 0}) || !near(plan.Waste, 0.1, 1e-9) || !near(plan.Batches[1].Waste, 0.1, 1e-9) ||
		!near(plan.Batches[0].Minutes, 10, 1e-9) || !near(plan.Batches[1].Minutes, 3, 1e-9) {
		t.Errorf("%+v, %v", plan, err)
	}
	// The drum weighed out: 1.3 kg in two even batches, the rest left in it.
	packs[2].Splittable = true
	packs[2].Cost = decimal.NewFromInt(30)
	p, err = NewPlanner(packs, 1, 0.1, Scale{})
	if err != nil {
		t.Fatal(err)
	}
	plan, err = p.Plan(1.3, nil)
	if err != nil || !slices.Equal(plan.Packs, []int{0, 0, 1}) || len(plan.Batches) != 2 || plan.Batches[0].Mass != 0.65 ||
		plan.Batches[0].Waste != 0 || plan.Batches[1].Waste != 0 || plan.Waste != 0 || len(plan.Left) != 1 || !near(plan.Left[0].Mass, 3.7, 1e-9) {
		t.Errorf("%+v, %v", plan, err)
	}
	if plan, err = p.Plan(0, nil); err != nil || len(plan.Batches) != 0 || !plan.Cost.IsZero() {
		t.Errorf("nothing: %+v, %v", plan, err)
	}
}

func TestPlanProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		packs := make([]Pack, rapid.IntRange(1, 4).Draw(t, "packs"))
		for i := range packs {
			packs[i] = Pack{
				Mass:       float64(rapid.IntRange(1, 400).Draw(t, "mass")) / 200,
				Cost:       decimal.New(int64(rapid.IntRange(0, 5000).Draw(t, "cost")), -2),
				Splittable: rapid.Bool().Draw(t, "splittable"),
			}
		}
		limit := rapid.Float64Range(0.05, 3).Draw(t, "limit")
		p, err := NewPlanner(packs, limit, 0.2, Scale{})
		var none *PackError
		if errors.As(err, &none) {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		need := rapid.Float64Range(0, 30).Draw(t, "need")
		a, errA := p.Plan(need, nil)
		b, errB := p.Plan(need+rapid.Float64Range(0, 2).Draw(t, "more"), nil)
		if errA != nil || errB != nil {
			t.Fatal(errA, errB)
		}
		if a.Mass < need-1e-9 || b.Cost.LessThan(a.Cost) {
			t.Fatalf("%+v and %+v", a, b)
		}
		if len(a.Batches) < int(math.Ceil(need/limit-1e-6)) {
			t.Fatalf("%d batches of %g for %g", len(a.Batches), limit, need)
		}
	})
}

func TestPlannerRefuses(t *testing.T) {
	one := decimal.NewFromInt(1)
	good := []Pack{{Mass: 0.5, Cost: one}}
	for name, c := range map[string]struct {
		packs         []Pack
		largest, rate float64
	}{
		"no packs":  {nil, 1, 1},
		"mass":      {[]Pack{{Mass: 0, Cost: one}}, 1, 1},
		"nan":       {[]Pack{{Mass: math.NaN(), Cost: one}}, 1, 1},
		"fine":      {[]Pack{{Mass: 0.12345678, Cost: one}}, 1, 1},
		"cost":      {[]Pack{{Mass: 1, Cost: one.Neg()}}, 1, 1},
		"cost fine": {[]Pack{{Mass: 1, Cost: decimal.New(1, -100000)}}, 1, 1},
		"largest":   {good, 0, 1},
		"rate":      {good, 1, 0},
	} {
		if _, err := NewPlanner(c.packs, c.largest, c.rate, Scale{}); !errors.Is(err, ErrInput) {
			t.Errorf("%s: %v", name, err)
		}
	}
	p, _ := NewPlanner(good, 1, 1, Scale{})
	for _, n := range []float64{-1, math.NaN(), math.Inf(1), 1e10} {
		if _, err := p.Plan(n, nil); !errors.Is(err, ErrInput) {
			t.Errorf("need %g: %v", n, err)
		}
	}
	if _, err := p.Plan(1e8, nil); !errors.Is(err, ErrTooLarge) {
		t.Errorf("%v", err)
	}
}

func BenchmarkPlan(b *testing.B) {
	packs := []Pack{
		{Mass: 0.25, Cost: decimal.New(1190, -2)}, {Mass: 0.5, Cost: decimal.New(2080, -2)}, {Mass: 1.36, Cost: decimal.New(5210, -2)},
	}
	b.Run("tables-kept", func(b *testing.B) {
		p, _ := NewPlanner(packs, 1.5, 0.1, Scale{})
		b.ReportAllocs()
		for i := 0; b.Loop(); i++ {
			if _, err := p.Plan(0.1+float64(i%2000)/200, nil); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("from-scratch", func(b *testing.B) {
		b.ReportAllocs()
		for i := 0; b.Loop(); i++ {
			p, _ := NewPlanner(packs, 1.5, 0.1, Scale{})
			if _, err := p.Plan(0.1+float64(i%2000)/200, nil); err != nil {
				b.Fatal(err)
			}
		}
	})
}
