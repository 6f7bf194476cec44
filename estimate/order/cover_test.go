package order

import (
	"errors"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/shopspring/decimal"
	"pgregory.net/rapid"
)

// allMixes lists every mix that covers and can spare no pack, best first, by
// trying all counts.
func allMixes(need int, rolls []Roll, splice int) []Mix {
	var all []Mix
	counts := make([]int, len(rolls))
	covers := func(counts []int) int {
		n, sum := 0, 0
		for i, c := range counts {
			n += c
			sum += c * rolls[i].Length
		}
		if n == 0 {
			return 0
		}
		return sum - (n-1)*splice
	}
	var walk func(i int)
	walk = func(i int) {
		if i == len(rolls) {
			got := covers(counts)
			if got < need {
				return
			}
			m := Mix{Counts: slices.Clone(counts), Quantity: got, Excess: got - need}
			for j, c := range counts {
				m.Packs += c
				m.Cost = m.Cost.Add(rolls[j].Cost.Mul(decimal.NewFromInt(int64(c))))
				if c > 0 {
					less := slices.Clone(counts)
					less[j]--
					if covers(less) >= need {
						return
					}
				}
			}
			all = append(all, m)
			return
		}
		var most int
		if rolls[i].Length > splice {
			most = (need+splice)/(rolls[i].Length-splice) + 2
		} else {
			most = 2
		}
		for counts[i] = 0; counts[i] <= most; counts[i]++ {
			walk(i + 1)
		}
		counts[i] = 0
	}
	walk(0)
	slices.SortFunc(all, func(a, b Mix) int {
		if c := a.Cost.Cmp(b.Cost); c != 0 {
			return c
		}
		if a.Packs != b.Packs {
			return a.Packs - b.Packs
		}
		return a.Quantity - b.Quantity
	})
	return all
}

// best is the cheapest mix.
func best(c *Coverer, need int) (Mix, error) {
	mixes, err := c.Alternatives(need, 1)
	if err != nil {
		return Mix{}, err
	}
	return mixes[0], nil
}

func bestOf(need int, rolls []Roll, splice int) (Mix, error) {
	c, err := NewRollCoverer(rolls, splice)
	if err != nil {
		return Mix{}, err
	}
	return best(c, need)
}

func sameWorth(a, b Mix) bool {
	return a.Cost.Equal(b.Cost) && a.Packs == b.Packs && a.Excess == b.Excess && a.Quantity == b.Quantity
}

func randomRolls(r *rand.Rand, sizes int) []Roll {
	rolls := make([]Roll, 1+r.IntN(sizes))
	for i := range rolls {
		rolls[i] = Roll{Length: 1 + r.IntN(12), Cost: decimal.New(int64(r.IntN(60)), -1)}
	}
	return rolls
}

func TestCoverAgainstAllMixes(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for n := range 6000 {
		rolls := randomRolls(r, 3)
		splice := 0
		if n%2 == 1 {
			splice = r.IntN(5)
		}
		need := 1 + r.IntN(30)
		want := allMixes(need, rolls, splice)
		c, err := NewRollCoverer(rolls, splice)
		if err != nil {
			t.Fatal(err)
		}
		got, err := best(c, need)
		if len(want) == 0 {
			if !errors.Is(err, ErrUncoverable) {
				t.Fatalf("need %d splice %d rolls %v: got %v, %v; nothing covers", need, splice, rolls, got, err)
			}
			continue
		}
		if err != nil || !sameWorth(got, want[0]) {
			t.Fatalf("need %d splice %d rolls %v: got %+v, %v; want %+v", need, splice, rolls, got, err, want[0])
		}
		k := 1 + r.IntN(8)
		alts, err := c.Alternatives(need, k)
		if err != nil || len(alts) != min(k, len(want)) {
			t.Fatalf("need %d splice %d rolls %v: %d alternatives of %d (%d there), %v", need, splice, rolls, len(alts), k, len(want), err)
		}
		for i, a := range alts {
			if !sameWorth(a, want[i]) {
				t.Fatalf("need %d splice %d rolls %v: alternative %d is %+v, want %+v", need, splice, rolls, i, a, want[i])
			}
			for _, b := range alts[:i] {
				if slices.Equal(a.Counts, b.Counts) {
					t.Fatalf("alternative %v twice", a.Counts)
				}
			}
		}
	}
}

// Mixes are all that can spare no roll, whatever rolls cost.
func TestMixesAreAll(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	for range 2000 {
		rolls := randomRolls(r, 3)
		splice, need := r.IntN(4), 1+r.IntN(25)
		want := allMixes(need, rolls, splice)
		c, err := NewRollCoverer(rolls, splice)
		if err != nil {
			t.Fatal(err)
		}
		got := c.Mixes(need, 1000)
		if len(got) != len(want) {
			t.Fatalf("need %d splice %d rolls %v: %d mixes, want %d", need, splice, rolls, len(got), len(want))
		}
		for i, m := range got {
			if i > 0 && m.Packs < got[i-1].Packs {
				t.Fatalf("%v after %v", m, got[i-1])
			}
			if !slices.ContainsFunc(want, func(w Mix) bool { return slices.Equal(w.Counts, m.Counts) && sameWorth(w, m) }) {
				t.Fatalf("need %d splice %d rolls %v: %+v", need, splice, rolls, m)
			}
		}
		if few := c.Mixes(need, 2); len(few) != min(2, len(got)) || len(few) > 0 && few[0].Packs != got[0].Packs {
			t.Fatalf("%v of %v", few, got)
		}
	}
}

func TestCoverProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 5).Draw(t, "sizes")
		rolls := make([]Roll, n)
		for i := range rolls {
			rolls[i].Length = rapid.IntRange(1, 30000).Draw(t, "size")
			rolls[i].Cost = decimal.New(int64(rapid.IntRange(0, 100000).Draw(t, "cost")), -2)
		}
		c, err := NewRollCoverer(rolls, 0)
		if err != nil {
			t.Fatal(err)
		}
		need := rapid.IntRange(1, 60000).Draw(t, "need")
		more := need + rapid.IntRange(0, 5000).Draw(t, "more")
		a, errA := best(c, need)
		b, errB := best(c, more)
		if errA != nil || errB != nil {
			t.Fatal(errA, errB)
		}
		smallest := 0
		for i, k := range a.Counts {
			if k > 0 && (smallest == 0 || rolls[i].Length < smallest) {
				smallest = rolls[i].Length
			}
		}
		if a.Quantity < need || a.Excess >= smallest {
			t.Fatalf("need %d covered by %+v, smallest pack used %d", need, a, smallest)
		}
		if b.Cost.LessThan(a.Cost) {
			t.Fatalf("%d costs %s, %d costs less: %s", need, a.Cost, more, b.Cost)
		}
	})
}

func TestCoverSplices(t *testing.T) {
	rolls := []Roll{{Name: "short", Length: 3000, Cost: decimal.NewFromInt(30)}, {Name: "long", Length: 9000, Cost: decimal.NewFromInt(85)}}
	for _, c := range []struct {
		need        int
		short, long int
		laid        int
		cost        int64
	}{
		{3000, 1, 0, 3000, 30},
		{3001, 2, 0, 5850, 60}, // 2·3000 − 150
		{5850, 2, 0, 5850, 60},
		{5851, 0, 1, 9000, 85}, // three short ones would cost 90
		{11850, 1, 1, 11850, 115},
		{11851, 2, 1, 14700, 145},
	} {
		m, err := bestOf(c.need, rolls, 150)
		if err != nil || !slices.Equal(m.Counts, []int{c.short, c.long}) || m.Quantity != c.laid || !m.Cost.Equal(decimal.NewFromInt(c.cost)) {
			t.Errorf("need %d: %+v, %v; want %+v", c.need, m, err, c)
		}
	}
	// Rolls shorter than the splice cannot be joined at all.
	if _, err := bestOf(200, []Roll{{Length: 120}}, 150); !errors.Is(err, ErrUncoverable) {
		t.Errorf("rolls of 120 with splices of 150: %v", err)
	}
	if m, err := bestOf(100, []Roll{{Length: 120, Cost: decimal.NewFromInt(7)}}, 150); err != nil || m.Packs != 1 || m.Excess != 20 {
		t.Errorf("a roll of 120 for 100: %+v, %v", m, err)
	}
}

func TestCoverRefuses(t *testing.T) {
	one := decimal.NewFromInt(1)
	for name, c := range map[string]struct {
		need  int
		rolls []Roll
		want  error
	}{
		"no rolls":   {1, nil, ErrInput},
		"size":       {1, []Roll{{Length: 0, Cost: one}}, ErrInput},
		"cost":       {1, []Roll{{Length: 1, Cost: one.Neg()}}, ErrInput},
		"need":       {-1, []Roll{{Length: 1, Cost: one}}, ErrInput},
		"fine":       {1, []Roll{{Length: 1, Cost: decimal.New(1, -300)}}, ErrTooFine},
		"too costly": {1 << 40, []Roll{{Length: 1, Cost: decimal.New(1, 12)}, {Length: 3, Cost: decimal.New(1, -2)}}, ErrTooLarge},
	} {
		if _, err := bestOf(c.need, c.rolls, 0); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", name, err, c.want)
		}
	}
	if m, err := bestOf(0, []Roll{{Length: 5, Cost: one}}, 0); err != nil || m.Packs != 0 {
		t.Errorf("nothing needed: %+v, %v", m, err)
	}
}

func BenchmarkCover(b *testing.B) {
	rolls := []Roll{
		{Length: 1500, Cost: decimal.New(2150, -2)}, {Length: 3650, Cost: decimal.New(4420, -2)},
		{Length: 4570, Cost: decimal.New(5310, -2)}, {Length: 9150, Cost: decimal.New(9890, -2)},
	}
	b.Run("new-needs", func(b *testing.B) {
		b.ReportAllocs()
		for i := 0; b.Loop(); i++ {
			if _, err := bestOf(1000+i*37%40000, rolls, 150); err != nil {
				b.Fatal(err)
			}
		}
	})
	c, _ := NewRollCoverer(rolls, 150)
	b.Run("repeating", func(b *testing.B) {
		b.ReportAllocs()
		for i := 0; b.Loop(); i++ {
			if _, err := best(c, 1000+i*5%40000); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("five-alternatives", func(b *testing.B) {
		b.ReportAllocs()
		for i := 0; b.Loop(); i++ {
			if _, err := c.Alternatives(1000+i*5%40000, 5); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("worst-of-8-odd-sizes", func(b *testing.B) {
		var rolls []Roll
		for _, s := range []int{1009, 1511, 2003, 2503, 3001, 4001, 7001, 9001} {
			rolls = append(rolls, Roll{Length: s, Cost: decimal.NewFromInt(int64(s))})
		}
		for b.Loop() {
			if _, err := bestOf(60000, rolls, 0); err != nil {
				b.Fatal(err)
			}
		}
	})
}
