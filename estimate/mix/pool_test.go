package mix

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/shopspring/decimal"

	"wraptally/estimate/trace"
)

// poolRank is what openings are compared by.
type poolRank struct {
	cost  int64
	packs int
	mass  int64
}

func (a poolRank) less(b poolRank) bool {
	if a.cost != b.cost {
		return a.cost < b.cost
	}
	if a.packs != b.packs {
		return a.packs < b.packs
	}
	return a.mass < b.mass
}

type openPack struct {
	at   float64
	left int64
}

// tryOpenings is the best way for one scope by trying, at every demand, every
// number of packs of every size, needed yet or not.
func tryOpenings(need []int64, at []float64, mass, costs []int64, open float64) poolRank {
	best := poolRank{cost: math.MaxInt64}
	var walk func(k int, packs []openPack, r poolRank)
	walk = func(k int, packs []openPack, r poolRank) {
		if !r.less(best) {
			return
		}
		if k == len(need) {
			best = r
			return
		}
		var add func(i int, packs []openPack, r poolRank)
		add = func(i int, packs []openPack, r poolRank) {
			if i < len(mass) {
				for n := int64(0); n <= ceilDiv(need[k], mass[i])+1; n++ {
					add(i+1, packs, r)
					packs = append(slices.Clone(packs), openPack{at[k], mass[i]})
					r.cost += costs[i]
					r.packs++
					r.mass += mass[i]
				}
				return
			}
			after := slices.Clone(packs)
			want := need[k]
			for j := range after {
				if after[j].at+open >= at[k] {
					take := min(want, after[j].left)
					after[j].left -= take
					want -= take
				}
			}
			if want == 0 {
				walk(k+1, after, r)
			}
		}
		add(0, packs, r)
	}
	walk(0, nil, poolRank{})
	return best
}

func TestPoolAgainstAllOpenings(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	for range 1500 {
		packs := make([]PoolPack, 1+r.IntN(2))
		var mass, costs []int64
		for i := range packs {
			m, c := int64(1+r.IntN(8)), int64(1+r.IntN(30))
			packs[i] = PoolPack{Mass: float64(m) / 10, Cost: decimal.New(c, -1)}
			mass, costs = append(mass, m*100_000), append(costs, c)
		}
		var demands []Demand
		var need []int64
		var at []float64
		now := 0.0
		for k := range 1 + r.IntN(4) {
			m := int64(r.IntN(9))
			now += float64(r.IntN(3)) * 10
			demands = append(demands, Demand{Repair: fmt.Sprint(k), Kit: "K", At: now, Mass: float64(m) / 10})
			need, at = append(need, m*100_000), append(at, now)
		}
		open := float64(r.IntN(4)) * 10
		got, err := Pool(demands, packs, open, ByKit, nil)
		if err != nil {
			t.Fatal(err)
		}
		checkPool(t, got, demands, packs, open)
		s := got.Scopes[0]
		want := tryOpenings(need, at, mass, costs, open)
		var opened int64
		for _, o := range s.Opened {
			opened += mass[o.Pack]
		}
		g := poolRank{s.Cost.Shift(1).IntPart(), len(s.Opened), opened}
		if g != want || !s.Proven {
			t.Fatalf("demands %+v packs %+v open %g: %+v proven %v, want %+v", demands, packs, open, g, s.Proven, want)
		}
	}
}

// checkPool replays who took what from which pack.
func checkPool(t testing.TB, p Pooled, demands []Demand, packs []PoolPack, open float64) {
	t.Helper()
	const eps = 1e-9
	served := make([]float64, len(demands))
	cost, waste := decimal.Zero, 0.0
	for _, s := range p.Scopes {
		for _, o := range s.Opened {
			taken := 0.0
			for _, u := range o.Uses {
				d := demands[u.Demand]
				if d.At < o.At || d.At > o.At+open {
					t.Fatalf("pack opened at %g used at %g", o.At, d.At)
				}
				if a, b := d.scope(p.Sharing), demands[o.Uses[0].Demand].scope(p.Sharing); a != b {
					t.Fatalf("pack shared by %q and %q", a, b)
				}
				taken += u.Mass
				served[u.Demand] += u.Mass
			}
			if math.Abs(packs[o.Pack].Mass-taken-o.Left) > eps || o.Left < -eps || taken == 0 {
				t.Fatalf("opened %+v", o)
			}
			cost = cost.Add(packs[o.Pack].Cost)
			waste += o.Left
		}
		if s.Cost.LessThan(s.Bound) {
			t.Fatalf("cost %s below bound %s", s.Cost, s.Bound)
		}
	}
	for i, d := range demands {
		if math.Abs(served[i]-d.Mass) > 1e-6 {
			t.Fatalf("demand %d of %g kg got %g", i, d.Mass, served[i])
		}
	}
	if !cost.Equal(p.Cost) || math.Abs(waste-p.Waste) > eps*float64(len(demands)+1) {
		t.Fatalf("cost %s, waste %g; the packs say %s, %g", p.Cost, p.Waste, cost, waste)
	}
}

func TestPoolByHand(t *testing.T) {
	packs := []PoolPack{{Name: "tin", Mass: 1, Cost: decimal.NewFromInt(20)}}
	demands := []Demand{
		{"R1", "K1", "A", "Mon", 0, 0.6},
		{"R2", "K1", "A", "Mon", 60, 0.4},
		{"R3", "K2", "A", "Mon", 200, 0.5},
		{"R4", "K2", "B", "Mon", 230, 0.5},
	}
	for _, c := range []struct {
		by    Sharing
		open  float64
		tins  int
		waste float64
	}{
		{NotShared, 480, 4, 2},
		{ByKit, 480, 2, 0},
		{ByKit, 59, 3, 1}, // R2 comes too late for R1's tin
		{ByCrewShift, 480, 3, 1},
		{ByCrewShift, 60, 3, 1},
		{ByKit, 0, 4, 2},
	} {
		var log trace.Log
		p, err := Pool(demands, packs, c.open, c.by, &log)
		if err != nil || p.Packs[0] != c.tins || !near(p.Waste+1, c.waste+1, 1e-9) || !p.Cost.Equal(decimal.NewFromInt(int64(20*c.tins))) {
			t.Errorf("%v, open %g: %+v, %v; want %+v", c.by, c.open, p, err, c)
		}
		checkPool(t, p, demands, packs, c.open)
		if len(log.Steps) != len(p.Scopes) || log.Steps[0].Rule != "mix.pool" {
			t.Errorf("derivation %+v", log.Steps)
		}
	}
	p, _ := Pool(demands, packs, 480, ByKit, nil)
	if o := p.Scopes[0].Opened[0]; !o.Shared || len(o.Uses) != 2 || o.Uses[1] != (Taken{1, 0.4}) {
		t.Errorf("%+v", o)
	}
}

// Wider sharing never costs more; neither does a longer open life.
func TestPoolSharingPays(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 14))
	for range 300 {
		packs := []PoolPack{{Mass: 0.5, Cost: decimal.New(int64(80+r.IntN(60)), -1)}, {Mass: 1.25, Cost: decimal.New(int64(180+r.IntN(100)), -1)}}
		var demands []Demand
		now := 0.0
		for k := range 1 + r.IntN(25) {
			now += float64(r.IntN(90))
			demands = append(demands, Demand{fmt.Sprint("R", k), fmt.Sprint("K", k/3), "A", fmt.Sprint(k / 12), now, float64(1+r.IntN(300)) / 200})
		}
		open := float64(r.IntN(300))
		var before decimal.Decimal
		for _, by := range []Sharing{NotShared, ByKit, ByCrewShift} { // each kit lies within one shift
			p, err := Pool(demands, packs, open, by, nil)
			if err != nil {
				t.Fatal(err)
			}
			checkPool(t, p, demands, packs, open)
			longer, err := Pool(demands, packs, open+100, by, nil)
			if err != nil {
				t.Fatal(err)
			}
			proven := !slices.ContainsFunc(slices.Concat(p.Scopes, longer.Scopes), func(s Scope) bool { return !s.Proven })
			if proven && longer.Cost.GreaterThan(p.Cost) {
				t.Fatalf("%v: open %g costs %s, longer %s", by, open, p.Cost, longer.Cost)
			}
			if by != NotShared && proven && p.Cost.GreaterThan(before) {
				t.Fatalf("%v costs %s, narrower sharing %s", by, p.Cost, before)
			}
			before = p.Cost
		}
	}
}

func TestPoolRefuses(t *testing.T) {
	good := []PoolPack{{Mass: 1, Cost: decimal.NewFromInt(1)}}
	for name, c := range map[string]struct {
		d    Demand
		p    []PoolPack
		open float64
		by   Sharing
	}{
		"no packs": {Demand{}, nil, 1, ByKit},
		"mass":     {Demand{}, []PoolPack{{Mass: -1}}, 1, ByKit},
		"open":     {Demand{}, good, -1, ByKit},
		"open nan": {Demand{}, good, math.NaN(), ByKit},
		"sharing":  {Demand{}, good, 1, 9},
		"demand":   {Demand{Mass: -1}, good, 1, ByKit},
		"no kit":   {Demand{Repair: "R", Crew: "A"}, good, 1, ByKit},
		"time":     {Demand{At: math.NaN()}, good, 1, ByKit},
	} {
		if _, err := Pool([]Demand{c.d}, c.p, c.open, c.by, nil); !errors.Is(err, ErrInput) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func BenchmarkPool(b *testing.B) {
	packs := []PoolPack{{Mass: 0.5, Cost: decimal.New(990, -2)}, {Mass: 1.25, Cost: decimal.New(2290, -2)}, {Mass: 4, Cost: decimal.New(6490, -2)}}
	var demands []Demand
	for k := range 3000 {
		demands = append(demands, Demand{fmt.Sprint("R", k), fmt.Sprint("K", k/5), "A", fmt.Sprint(k / 20), float64(k * 25), float64(1+k*37%180) / 200})
	}
	for _, open := range []float64{480, 100} {
		b.Run(fmt.Sprintf("3000-demands-open-%g", open), func(b *testing.B) {
			for b.Loop() {
				if _, err := Pool(demands, packs, open, ByCrewShift, nil); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
