package order

import (
	"cmp"
	"fmt"
	"slices"
	"sync"

	"github.com/shopspring/decimal"
)

// Pack is one size in which something can be had.
type Pack struct {
	Name string
	Size int             // what one pack covers, in any whole unit (mm, g, pieces); > 0
	Cost decimal.Decimal // of one pack, ≥ 0
	Max  int             // packs there are; 0 means as many as wanted
}

// Mix is one way of covering a need.
type Mix struct {
	Counts   []int           // packs of each size, in the order the sizes were given
	Packs    int             // their number
	Quantity int             // what they cover together, after splices
	Excess   int             // Quantity − need
	Cost     decimal.Decimal // exact
}

// Coverer answers covering questions about one set of packs. It remembers its
// answers, so that a survey with repeating needs pays once for each, and is
// safe for use by several goroutines. The Counts of a Mix it hands out are
// shared and must not be changed.
type Coverer struct {
	packs  []coverPack // largest first
	given  int         // packs as given, counting those left out as useless
	money  grid
	splice int
	single []coverPack // rolls no longer than a splice: of use only alone

	cheapest []int   // of the packs from j on, the one cheapest per unit
	capacity []int64 // what all packs from j on cover together; -1 without limit

	mu   sync.Mutex
	memo map[coverKey][]Mix
}

type coverKey struct{ need, k int }

// coverPack is a pack on the integer grid.
type coverPack struct {
	at   int   // its place among the packs as given
	size int64 // what it covers
	cost int64 // in units of the money grid
	max  int64 // -1 without limit
}

// NewCoverer prepares the set of packs. The order of the packs has no influence
// on the cost, only on which of two equally good mixes of equal sizes is named.
func NewCoverer(packs []Pack) (*Coverer, error) { return newCoverer(packs, 0) }

func newCoverer(packs []Pack, splice int) (*Coverer, error) {
	if len(packs) == 0 {
		return nil, inputError("no packs to cover with")
	}
	if splice < 0 {
		return nil, inputError("splice %d is negative", splice)
	}
	costs := make([]decimal.Decimal, len(packs))
	for i, p := range packs {
		switch {
		case p.Size <= 0:
			return nil, inputError("pack %q has size %d", p.Name, p.Size)
		case p.Cost.IsNegative():
			return nil, inputError("pack %q costs %s", p.Name, p.Cost)
		case p.Max < 0:
			return nil, inputError("pack %q has a maximum of %d", p.Name, p.Max)
		}
		costs[i] = p.Cost
	}
	money, ints, err := newGrid(costs)
	if err != nil {
		return nil, err
	}
	c := &Coverer{given: len(packs), money: money, splice: splice, memo: map[coverKey][]Mix{}}
	for i, p := range packs {
		q := coverPack{at: i, size: int64(p.Size) - int64(splice), cost: ints[i], max: int64(p.Max)}
		if p.Max == 0 {
			q.max = -1
		}
		if q.size > 0 {
			c.packs = append(c.packs, q)
		}
		c.single = append(c.single, q)
	}
	slices.SortStableFunc(c.packs, func(a, b coverPack) int { return cmp.Compare(b.size, a.size) })
	c.prepare()
	return c, nil
}

// prepare works out, for each tail of the list of packs, what the bounds need.
func (c *Coverer) prepare() {
	n := len(c.packs)
	c.cheapest = make([]int, n+1)
	c.capacity = make([]int64, n+1)
	c.cheapest[n] = -1
	for j := n - 1; j >= 0; j-- {
		p := c.packs[j]
		c.cheapest[j] = j
		if b := c.cheapest[j+1]; b >= 0 && cmpProducts(c.packs[b].cost, p.size, p.cost, c.packs[b].size) < 0 {
			c.cheapest[j] = b
		}
		if p.max < 0 || c.capacity[j+1] < 0 || p.max > safe/p.size {
			c.capacity[j] = -1
		} else {
			c.capacity[j] = c.capacity[j+1] + p.max*p.size
		}
	}
}

// Cover is the cheapest mix covering the need; among equals the one of fewest
// packs, then of least excess, then of more of the larger packs. A need of zero
// takes nothing.
func Cover(need int, packs []Pack) (Mix, error) {
	c, err := NewCoverer(packs)
	if err != nil {
		return Mix{}, err
	}
	return c.Cover(need)
}

// Cover is the cheapest mix covering the need, as the function Cover.
// Errors: ErrInput for a negative need, ErrUncoverable where the packs there
// are do not reach, ErrTooLarge for a need beyond exact treatment.
func (c *Coverer) Cover(need int) (Mix, error) {
	mixes, err := c.Alternatives(need, 1)
	if err != nil {
		return Mix{}, err
	}
	return mixes[0], nil
}

// Alternatives are the k best different mixes, best first, or all there are.
// Only mixes that can spare no pack count: a mix with a pack too many covers
// nothing that the smaller one does not.
func (c *Coverer) Alternatives(need, k int) ([]Mix, error) {
	if need < 0 {
		return nil, inputError("need %d is negative", need)
	}
	if k < 1 {
		return nil, inputError("%d alternatives asked for", k)
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	key := coverKey{need, k}
	if m, ok := c.memo[key]; ok {
		return m, nil
	}
	found, err := c.find(int64(need), k)
	if err != nil {
		return nil, err
	}
	mixes := make([]Mix, len(found))
	for i, f := range found {
		mixes[i] = c.mix(f, need)
	}
	c.memo[key] = mixes
	return mixes, nil
}

// find is the k best mixes on the integer grid.
func (c *Coverer) find(need int64, k int) ([]found, error) {
	if need == 0 {
		return []found{{counts: make([]int64, c.given)}}, nil
	}
	// Each roll after the first loses a splice: Σ(length − splice)·n ≥ need − splice.
	rest := need - int64(c.splice)
	if rest <= 0 {
		return c.findSingle(rest, k)
	}
	if c.capacity[0] >= 0 && c.capacity[0] < rest {
		return nil, fmt.Errorf("%w: need %d, all packs together cover %d", ErrUncoverable, need, c.capacity[0]+int64(c.splice))
	}
	for _, p := range c.packs {
		if _, ok := mulDivUp(rest+p.size, max(p.cost, 1), p.size); !ok {
			return nil, fmt.Errorf("%w: need %d", ErrTooLarge, need)
		}
	}
	prefill, at := int64(0), -1
	if k == 1 {
		prefill, at = c.bulk(rest)
		if at >= 0 {
			rest -= prefill * c.packs[at].size
		}
	}
	s := newSearch(c, k, nil)
	if !s.run(rest) {
		table, err := c.newTable(rest)
		if err != nil {
			return nil, err
		}
		s = newSearch(c, k, table)
		if !s.run(rest) {
			return nil, fmt.Errorf("%w: need %d with %d alternatives", ErrTooLarge, need, k)
		}
	}
	for i := range s.best {
		f := &s.best[i]
		counts := make([]int64, c.given)
		for j, n := range f.counts {
			counts[c.packs[j].at] = n
		}
		if at >= 0 {
			counts[c.packs[at].at] += prefill
			f.cost += prefill * c.packs[at].cost
			f.packs += prefill
			f.covers += prefill * c.packs[at].size
		}
		f.counts = counts
		f.covers += int64(c.splice)
	}
	return s.best, nil
}

// findSingle serves a need no longer than a splice: joining two rolls that are
// each too short would lose more than it gains, so one roll must do it alone.
func (c *Coverer) findSingle(rest int64, k int) ([]found, error) {
	var all []found
	for _, p := range c.single {
		if p.size < rest {
			continue
		}
		f := found{counts: make([]int64, c.given), cost: p.cost, packs: 1, covers: p.size + int64(c.splice)}
		f.counts[p.at] = 1
		all = append(all, f)
	}
	if len(all) == 0 {
		return nil, fmt.Errorf("%w: need %d, and joining shorter rolls loses %d each", ErrUncoverable, rest+int64(c.splice), c.splice)
	}
	slices.SortStableFunc(all, compareFound)
	return all[:min(k, len(all))], nil
}

// bulk is how many of the pack cheapest per unit can be taken straight away.
// Of any s other packs (s the size of that pack, in steps) some together are a
// multiple of s, and the same quantity of the cheapest pack costs no more; so a
// best mix exists with fewer than s other packs.
func (c *Coverer) bulk(rest int64) (n int64, at int) {
	step := int64(0)
	for _, p := range c.packs {
		step = gcd(step, p.size)
	}
	b := -1
	for j, p := range c.packs {
		if b < 0 || cmpProducts(p.cost, c.packs[b].size, c.packs[b].cost, p.size) < 0 {
			b = j // on a tie the larger pack, which stands first, stays
		}
	}
	best := c.packs[b]
	if best.max >= 0 {
		return 0, -1
	}
	others := best.size / step // one more than the other packs need be
	reach, ok := mulDivUp(others, c.packs[0].size, 1)
	if !ok || rest <= reach+best.size {
		return 0, -1
	}
	return (rest - reach) / best.size, b
}

func (c *Coverer) mix(f found, need int) Mix {
	m := Mix{
		Counts:   make([]int, len(f.counts)),
		Packs:    int(f.packs),
		Quantity: int(f.covers),
		Excess:   int(f.covers) - need,
		Cost:     c.money.decimal(f.cost),
	}
	for i, n := range f.counts {
		m.Counts[i] = int(n)
	}
	return m
}

func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}
