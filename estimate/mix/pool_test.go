package mix

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/shopspring/decimal"

	"wraptally/estimate/qty"
	"wraptally/estimate/trace/depth"
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
				for n := int64(0); n <= qty.CeilDiv(need[k], mass[i])+1; n++ {
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
	for range depth.Of(300, 1500) {
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
		for range 1 + r.IntN(4) {
			m := int64(r.IntN(9))
			now += float64(r.IntN(3)) * 10
			demands = append(demands, Demand{At: now, Mass: float64(m) / 10})
			need, at = append(need, m*100_000), append(at, now)
		}
		open := float64(r.IntN(4)) * 10
		s, err := Pool(demands, packs, open)
		if err != nil {
			t.Fatal(err)
		}
		checkPool(t, s, demands, packs, open)
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
	for _, o := range p.Opened {
		taken := 0.0
		for _, u := range o.Uses {
			if d := demands[u.Demand]; d.At < o.At || d.At > o.At+open {
				t.Fatalf("pack opened at %g used at %g", o.At, d.At)
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
	if p.Cost.LessThan(p.Bound) {
		t.Fatalf("cost %s below bound %s", p.Cost, p.Bound)
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

// apart pools each part of the demands by itself and adds up.
func apart(t testing.TB, parts [][]Demand, packs []PoolPack, open float64) (tins int, cost decimal.Decimal, waste float64, proven bool) {
	t.Helper()
	proven = true
	for _, demands := range parts {
		p, err := Pool(demands, packs, open)
		if err != nil {
			t.Fatal(err)
		}
		checkPool(t, p, demands, packs, open)
		tins, cost, waste, proven = tins+len(p.Opened), cost.Add(p.Cost), waste+p.Waste, proven && p.Proven
	}
	return tins, cost, waste, proven
}

func TestPoolByHand(t *testing.T) {
	packs := []PoolPack{{Name: "tin", Mass: 1, Cost: decimal.NewFromInt(20)}}
	a, b, c, d := Demand{0, 0.6}, Demand{60, 0.4}, Demand{200, 0.5}, Demand{230, 0.5}
	for _, v := range []struct {
		name  string
		parts [][]Demand
		open  float64
		tins  int
		waste float64
	}{
		{"not shared", [][]Demand{{a}, {b}, {c}, {d}}, 480, 4, 2},
		{"two and two", [][]Demand{{a, b}, {c, d}}, 480, 2, 0},
		{"the second comes too late for the first's tin", [][]Demand{{a, b}, {c, d}}, 59, 3, 1},
		{"three and one", [][]Demand{{a, b, c}, {d}}, 480, 3, 1},
		{"three and one, kept an hour", [][]Demand{{a, b, c}, {d}}, 60, 3, 1},
		{"nothing keeps", [][]Demand{{a, b}, {c, d}}, 0, 4, 2},
		{"nobody", [][]Demand{nil}, 480, 0, 0},
	} {
		tins, cost, waste, _ := apart(t, v.parts, packs, v.open)
		if tins != v.tins || !near(waste+1, v.waste+1, 1e-9) || !cost.Equal(decimal.NewFromInt(int64(20*v.tins))) {
			t.Errorf("%s: %d tins for %s, %g kg left", v.name, tins, cost, waste)
		}
	}
	p, _ := Pool([]Demand{a, b}, packs, 480)
	if o := p.Opened[0]; len(o.Uses) != 2 || o.Uses[1] != (Taken{1, 0.4}) {
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
		for range 1 + r.IntN(25) {
			now += float64(r.IntN(90))
			demands = append(demands, Demand{now, float64(1+r.IntN(300)) / 200})
		}
		open := float64(r.IntN(300))
		var before decimal.Decimal
		for i, size := range []int{1, 3, 12} { // each repair, each kit, each shift for itself
			parts := slices.Collect(slices.Chunk(demands, size))
			_, cost, _, proven := apart(t, parts, packs, open)
			_, longer, _, too := apart(t, parts, packs, open+100)
			proven = proven && too
			if proven && longer.GreaterThan(cost) {
				t.Fatalf("%d together: open %g costs %s, longer %s", size, open, cost, longer)
			}
			if i > 0 && proven && cost.GreaterThan(before) {
				t.Fatalf("%d together cost %s, narrower sharing %s", size, cost, before)
			}
			before = cost
		}
	}
}

func TestPoolRefuses(t *testing.T) {
	good := []PoolPack{{Mass: 1, Cost: decimal.NewFromInt(1)}}
	for name, c := range map[string]struct {
		d    Demand
		p    []PoolPack
		open float64
	}{
		"no packs": {Demand{}, nil, 1},
		"mass":     {Demand{}, []PoolPack{{Mass: -1}}, 1},
		"open":     {Demand{}, good, -1},
		"open nan": {Demand{}, good, math.NaN()},
		"demand":   {Demand{Mass: -1}, good, 1},
		"time":     {Demand{At: math.NaN()}, good, 1},
	} {
		if _, err := Pool([]Demand{c.d}, c.p, c.open); !errors.Is(err, ErrInput) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func BenchmarkPool(b *testing.B) {
	packs := []PoolPack{{Mass: 0.5, Cost: decimal.New(990, -2)}, {Mass: 1.25, Cost: decimal.New(2290, -2)}, {Mass: 4, Cost: decimal.New(6490, -2)}}
	var demands []Demand
	for k := range 3000 {
		demands = append(demands, Demand{float64(k * 25), float64(1+k*37%180) / 200})
	}
	for _, open := range []float64{480, 100} {
		b.Run(fmt.Sprintf("3000-demands-open-%g", open), func(b *testing.B) {
			for b.Loop() {
				for shift := range slices.Chunk(demands, 20) {
					if _, err := Pool(shift, packs, open); err != nil {
						b.Fatal(err)
					}
				}
			}
		})
	}
}
