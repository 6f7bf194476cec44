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
func allMixes(need int, packs []Pack, splice int) []Mix {
	var all []Mix
	counts := make([]int, len(packs))
	covers := func(counts []int) int {
		n, sum := 0, 0
		for i, c := range counts {
			n += c
			sum += c * packs[i].Size
		}
		if n == 0 {
			return 0
		}
		return sum - (n-1)*splice
	}
	var walk func(i int)
	walk = func(i int) {
		if i == len(packs) {
			got := covers(counts)
			if got < need {
				return
			}
			m := Mix{Counts: slices.Clone(counts), Quantity: got, Excess: got - need}
			for j, c := range counts {
				m.Packs += c
				m.Cost = m.Cost.Add(packs[j].Cost.Mul(decimal.NewFromInt(int64(c))))
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
		if packs[i].Size > splice {
			most = (need+splice)/(packs[i].Size-splice) + 2
		} else {
			most = 2
		}
		if packs[i].Max > 0 {
			most = min(most, packs[i].Max)
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

func sameWorth(a, b Mix) bool {
	return a.Cost.Equal(b.Cost) && a.Packs == b.Packs && a.Excess == b.Excess && a.Quantity == b.Quantity
}

func randomPacks(r *rand.Rand, sizes int) []Pack {
	packs := make([]Pack, 1+r.IntN(sizes))
	for i := range packs {
		packs[i] = Pack{Size: 1 + r.IntN(12), Cost: decimal.New(int64(r.IntN(60)), -1)}
		if r.IntN(3) == 0 {
			packs[i].Max = 1 + r.IntN(4)
		}
	}
	return packs
}

func TestCoverAgainstAllMixes(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for n := range 6000 {
		packs := randomPacks(r, 3)
		splice := 0
		if n%2 == 1 {
			splice = r.IntN(5)
		}
		need := 1 + r.IntN(30)
		want := allMixes(need, packs, splice)
		c, err := newCoverer(packs, splice)
		if err != nil {
			t.Fatal(err)
		}
		got, err := c.Cover(need)
		if len(want) == 0 {
			if !errors.Is(err, ErrUncoverable) {
				t.Fatalf("need %d splice %d packs %v: got %v, %v; nothing covers", need, splice, packs, got, err)
			}
			continue
		}
		if err != nil || !sameWorth(got, want[0]) {
			t.Fatalf("need %d splice %d packs %v: got %+v, %v; want %+v", need, splice, packs, got, err, want[0])
		}
		k := 1 + r.IntN(8)
		alts, err := c.Alternatives(need, k)
		if err != nil || len(alts) != min(k, len(want)) {
			t.Fatalf("need %d splice %d packs %v: %d alternatives of %d (%d there), %v", need, splice, packs, len(alts), k, len(want), err)
		}
		for i, a := range alts {
			if !sameWorth(a, want[i]) {
				t.Fatalf("need %d splice %d packs %v: alternative %d is %+v, want %+v", need, splice, packs, i, a, want[i])
			}
			for _, b := range alts[:i] {
				if slices.Equal(a.Counts, b.Counts) {
					t.Fatalf("alternative %v twice", a.Counts)
				}
			}
		}
	}
}

// The table of exact bounds must give the same answers as the linear bounds.
func TestCoverTableAgreesWithSearch(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 2000 {
		packs := randomPacks(r, 5)
		c, err := NewCoverer(packs)
		if err != nil {
			t.Fatal(err)
		}
		need := int64(1 + r.IntN(300))
		if c.capacity[0] >= 0 && c.capacity[0] < need {
			continue
		}
		k := 1 + r.IntN(6)
		plain := newSearch(c, k, nil)
		if !plain.run(need) {
			continue
		}
		table, err := c.newTable(need)
		if err != nil {
			t.Fatal(err)
		}
		exact := newSearch(c, k, table)
		if !exact.run(need) || !slices.EqualFunc(plain.best, exact.best, func(a, b found) bool { return compareFound(a, b) == 0 }) {
			t.Fatalf("need %d packs %v: %v and %v", need, packs, plain.best, exact.best)
		}
	}
}

// Taking the bulk of the cheapest pack first must not lose the optimum.
func TestCoverBulk(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	bulk := 0
	for range 2000 {
		packs := randomPacks(r, 4)
		for i := range packs {
			packs[i].Max = 0
		}
		c, err := NewCoverer(packs)
		if err != nil {
			t.Fatal(err)
		}
		need := 300 + r.IntN(400)
		if n, _ := c.bulk(int64(need)); n > 0 {
			bulk++
		}
		got, err := c.Cover(need)
		if err != nil {
			t.Fatal(err)
		}
		table, err := c.newTable(int64(need))
		if err != nil {
			t.Fatal(err)
		}
		s := newSearch(c, 1, table)
		if !s.run(int64(need)) || s.best[0].packs != int64(got.Packs) || !c.money.decimal(s.best[0].cost).Equal(got.Cost) || s.best[0].covers != int64(got.Quantity) {
			t.Fatalf("need %d packs %v: %+v, table %+v", need, packs, got, s.best[0])
		}
	}
	if bulk < 1000 {
		t.Fatalf("only %d cases took a bulk", bulk)
	}
}

func TestCoverProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 5).Draw(t, "sizes")
		packs := make([]Pack, n)
		for i := range packs {
			packs[i].Size = rapid.IntRange(1, 30000).Draw(t, "size")
			packs[i].Cost = decimal.New(int64(rapid.IntRange(0, 100000).Draw(t, "cost")), -2)
		}
		c, err := NewCoverer(packs)
		if err != nil {
			t.Fatal(err)
		}
		need := rapid.IntRange(1, 60000).Draw(t, "need")
		more := need + rapid.IntRange(0, 5000).Draw(t, "more")
		a, errA := c.Cover(need)
		b, errB := c.Cover(more)
		if errA != nil || errB != nil {
			t.Fatal(errA, errB)
		}
		smallest := 0
		for i, k := range a.Counts {
			if k > 0 && (smallest == 0 || packs[i].Size < smallest) {
				smallest = packs[i].Size
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
		m, err := CoverRolls(c.need, rolls, 150)
		if err != nil || !slices.Equal(m.Counts, []int{c.short, c.long}) || m.Quantity != c.laid || !m.Cost.Equal(decimal.NewFromInt(c.cost)) {
			t.Errorf("need %d: %+v, %v; want %+v", c.need, m, err, c)
		}
	}
	// Rolls shorter than the splice cannot be joined at all.
	if _, err := CoverRolls(200, []Roll{{Length: 120}}, 150); !errors.Is(err, ErrUncoverable) {
		t.Errorf("rolls of 120 with splices of 150: %v", err)
	}
	if m, err := CoverRolls(100, []Roll{{Length: 120, Cost: decimal.NewFromInt(7)}}, 150); err != nil || m.Packs != 1 || m.Excess != 20 {
		t.Errorf("a roll of 120 for 100: %+v, %v", m, err)
	}
}

func TestCoverRefuses(t *testing.T) {
	one := decimal.NewFromInt(1)
	for name, c := range map[string]struct {
		need  int
		packs []Pack
		want  error
	}{
		"no packs":   {1, nil, ErrInput},
		"size":       {1, []Pack{{Size: 0, Cost: one}}, ErrInput},
		"cost":       {1, []Pack{{Size: 1, Cost: one.Neg()}}, ErrInput},
		"maximum":    {1, []Pack{{Size: 1, Cost: one, Max: -1}}, ErrInput},
		"need":       {-1, []Pack{{Size: 1, Cost: one}}, ErrInput},
		"short":      {11, []Pack{{Size: 5, Cost: one, Max: 2}}, ErrUncoverable},
		"fine":       {1, []Pack{{Size: 1, Cost: decimal.New(1, -300)}}, ErrTooFine},
		"too costly": {1 << 40, []Pack{{Size: 1, Cost: decimal.New(1, 12)}, {Size: 3, Cost: decimal.New(1, -2)}}, ErrTooLarge},
	} {
		if _, err := Cover(c.need, c.packs); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", name, err, c.want)
		}
	}
	if m, err := Cover(0, []Pack{{Size: 5, Cost: one}}); err != nil || m.Packs != 0 {
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
			if _, err := CoverRolls(1000+i*37%40000, rolls, 150); err != nil {
				b.Fatal(err)
			}
		}
	})
	c, _ := NewRollCoverer(rolls, 150)
	b.Run("repeating", func(b *testing.B) {
		b.ReportAllocs()
		for i := 0; b.Loop(); i++ {
			if _, err := c.Cover(1000 + i*5%40000); err != nil {
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
		var packs []Pack
		for _, s := range []int{1009, 1511, 2003, 2503, 3001, 4001, 7001, 9001} {
			packs = append(packs, Pack{Size: s, Cost: decimal.NewFromInt(int64(s))})
		}
		for b.Loop() {
			if _, err := Cover(60000, packs); err != nil {
				b.Fatal(err)
			}
		}
	})
}
