package order

import (
	"cmp"
	"fmt"
	"slices"
	"sync"

	"github.com/shopspring/decimal"

	"wraptally/estimate/qty"
)

// Roll is one length of tape or strip of one width.
type Roll struct {
	Name   string
	Length int             // mm, > 0
	Cost   decimal.Decimal // of one roll, ≥ 0
}

// Mix is one way of covering a need.
type Mix struct {
	Counts   []int           // rolls of each length, in the order the lengths were given
	Packs    int             // their number
	Quantity int             // mm that can be laid, after splices
	Excess   int             // Quantity − need
	Cost     decimal.Decimal // exact
}

// Coverer answers which mixes of whole rolls give a need of tape. Each roll after
// the first loses a splice to the joint, so n rolls give Σ length − (n−1)·splice.
// It remembers its answers, so that a survey with repeating needs pays once for
// each, and is safe for use by several goroutines. The Counts of a Mix it hands
// out are shared and must not be changed.
type Coverer struct {
	rolls    []coverRoll // longer than a splice, longest first
	all      []coverRoll // as given
	cheapest []int       // of the rolls from j on, the one cheapest per mm
	money    grid
	splice   int64

	mu    sync.Mutex
	memo  map[coverKey][]Mix
	mixes map[coverKey][]Mix
}

type coverKey struct{ need, k int }

// coverRoll is a roll on the integer grid.
type coverRoll struct {
	at   int   // its place among the rolls as given
	size int64 // mm it adds to a joined tape: its length less a splice
	cost int64 // in units of the money grid
}

// NewRollCoverer prepares a set of rolls. Their order has no influence on the
// cost, only on which of two equally good mixes of equal lengths is named.
func NewRollCoverer(rolls []Roll, splice int) (*Coverer, error) {
	if len(rolls) == 0 {
		return nil, inputError("no rolls to cover with")
	}
	if splice < 0 {
		return nil, inputError("splice %d is negative", splice)
	}
	costs := make([]decimal.Decimal, len(rolls))
	for i, r := range rolls {
		if r.Length <= 0 || r.Cost.IsNegative() {
			return nil, inputError("roll %q of %d mm costs %s", r.Name, r.Length, r.Cost)
		}
		costs[i] = r.Cost
	}
	money, ints, err := newGrid(costs)
	if err != nil {
		return nil, err
	}
	c := &Coverer{money: money, splice: int64(splice), memo: map[coverKey][]Mix{}, mixes: map[coverKey][]Mix{}}
	for i, r := range rolls {
		q := coverRoll{at: i, size: int64(r.Length - splice), cost: ints[i]}
		if q.size > 0 {
			c.rolls = append(c.rolls, q)
		}
		c.all = append(c.all, q)
	}
	slices.SortStableFunc(c.rolls, func(a, b coverRoll) int { return cmp.Compare(b.size, a.size) })
	c.cheapest = make([]int, len(c.rolls))
	for j := len(c.rolls) - 1; j >= 0; j-- {
		c.cheapest[j] = j
		if j+1 < len(c.rolls) && c.cheaper(c.cheapest[j+1], j) {
			c.cheapest[j] = c.cheapest[j+1]
		}
	}
	return c, nil
}

// cheaper reports that a roll costs less for its length than another.
func (c *Coverer) cheaper(a, b int) bool {
	return cmpProducts(c.rolls[a].cost, c.rolls[b].size, c.rolls[b].cost, c.rolls[a].size) < 0
}

// Alternatives are the k best different mixes that give need mm, best first, or
// all there are: the cheapest, among equals the one of fewest rolls, then of
// least excess, then of more of the longer rolls. Only mixes that can spare no
// roll count. A need of zero takes nothing.
//
// Errors: ErrInput for a negative need, ErrUncoverable where rolls are too short
// to be joined, ErrTooLarge for a need beyond exact treatment.
func (c *Coverer) Alternatives(need, k int) ([]Mix, error) {
	if need < 0 || k < 1 {
		return nil, inputError("%d alternatives asked for a need of %d", k, need)
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
		mixes[i] = Mix{
			Counts: f.counts, Packs: f.packs, Quantity: int(f.covers), Excess: int(f.covers) - need,
			Cost: c.money.decimal(f.cost),
		}
	}
	c.memo[key] = mixes
	return mixes, nil
}

// Mixes are all mixes that give need mm and can spare no roll, the fewest rolls
// first, then the least excess, up to a number: whatever rolls cost.
func (c *Coverer) Mixes(need, most int) []Mix {
	c.mu.Lock()
	defer c.mu.Unlock()
	key := coverKey{need, most}
	if m, ok := c.mixes[key]; ok {
		return m
	}
	var all []Mix
	counts := make([]int, len(c.all))
	add := func(covers int64) {
		m := Mix{Counts: slices.Clone(counts), Quantity: int(covers), Excess: int(covers) - need}
		cost := int64(0)
		for _, r := range c.all {
			m.Packs += counts[r.at]
			cost += int64(counts[r.at]) * r.cost
		}
		m.Cost = c.money.decimal(cost)
		all = append(all, m)
	}
	rest := int64(need) - c.splice
	var walk func(j int, rest, covers int64)
	walk = func(j int, rest, covers int64) {
		if rest <= 0 {
			add(covers)
			return
		}
		if j == len(c.rolls) || len(all) >= mixesLooked {
			return
		}
		r := c.rolls[j] // shorter from roll to roll: the last one laid is the shortest, and needed
		for n := qty.CeilDiv(rest, r.size); n >= 0; n-- {
			counts[r.at] = int(n)
			walk(j+1, rest-n*r.size, covers+n*r.size)
		}
		counts[r.at] = 0
	}
	if rest > 0 {
		walk(0, rest, c.splice)
	}
	for _, r := range c.all {
		if need > 0 && rest <= 0 && r.size >= rest { // one roll alone
			counts[r.at] = 1
			add(r.size + c.splice)
			counts[r.at] = 0
		}
	}
	slices.SortStableFunc(all, func(a, b Mix) int {
		return cmp.Or(cmp.Compare(a.Packs, b.Packs), cmp.Compare(a.Excess, b.Excess))
	})
	all = slices.Clone(all[:min(most, len(all))])
	c.mixes[key] = all
	return all
}

// mixesLooked bounds the mixes that Mixes looks at; they come longest rolls first.
const mixesLooked = 1_000

// find is the k best mixes on the integer grid.
func (c *Coverer) find(need int64, k int) ([]found, error) {
	if need == 0 {
		return []found{{counts: make([]int, len(c.all))}}, nil
	}
	// Each roll after the first loses a splice: Σ(length − splice)·n ≥ need − splice.
	rest := need - c.splice
	if rest <= 0 {
		return c.findSingle(rest, k)
	}
	if len(c.rolls) == 0 {
		return nil, fmt.Errorf("%w: need %d, and rolls no longer than a splice cannot be joined", ErrUncoverable, need)
	}
	for _, p := range c.rolls {
		if _, ok := mulDivUp(rest+p.size, max(p.cost, 1), p.size); !ok {
			return nil, fmt.Errorf("%w: need %d", ErrTooLarge, need)
		}
	}
	s := &search{Coverer: c, k: k, counts: make([]int, len(c.rolls))}
	if !s.visit(0, rest, 0, 0) {
		return nil, fmt.Errorf("%w: need %d with %d alternatives", ErrTooLarge, need, k)
	}
	for i := range s.best {
		f := &s.best[i]
		counts := make([]int, len(c.all))
		for j, n := range f.counts {
			counts[c.rolls[j].at] = n
		}
		f.counts = counts
		f.covers += c.splice
	}
	return s.best, nil
}

// findSingle serves a need no longer than a splice: joining two rolls that are
// each too short would lose more than it gains, so one roll must do it alone.
func (c *Coverer) findSingle(rest int64, k int) ([]found, error) {
	var all []found
	for _, p := range c.all {
		if p.size < rest {
			continue
		}
		f := found{counts: make([]int, len(c.all)), cost: p.cost, packs: 1, covers: p.size + c.splice}
		f.counts[p.at] = 1
		all = append(all, f)
	}
	if len(all) == 0 {
		return nil, fmt.Errorf("%w: need %d, and joining shorter rolls loses %d each", ErrUncoverable, rest+c.splice, c.splice)
	}
	slices.SortStableFunc(all, compareFound)
	return all[:min(k, len(all))], nil
}

// coverNodes is the nodes after which a search is given up.
const coverNodes = 5_000_000

// found is a mix on the integer grid.
type found struct {
	counts []int
	cost   int64
	packs  int
	covers int64
}

// compareFound orders mixes: cost, rolls, excess, then more of the longer rolls.
func compareFound(a, b found) int {
	return cmp.Or(
		cmp.Compare(a.cost, b.cost),
		cmp.Compare(a.packs, b.packs),
		cmp.Compare(a.covers, b.covers),
		slices.Compare(b.counts, a.counts),
	)
}

// search is a depth-first branch and bound over the counts of the rolls, longest
// first. Taking the rolls in that order makes every leaf a mix that can spare no
// roll: the last one laid is the shortest and was still needed.
type search struct {
	*Coverer
	k      int
	nodes  int
	counts []int
	covers int64
	best   []found
}

// visit reports false when the node limit was reached.
func (s *search) visit(j int, rest, cost int64, packs int) bool {
	if rest <= 0 {
		s.keep(cost, packs)
		return true
	}
	if s.nodes++; s.nodes > coverNodes {
		return false
	}
	if j == len(s.rolls) {
		return true
	}
	p := s.rolls[j]
	high := int(qty.CeilDiv(rest, p.size))
	// Walk away from the end where the linear bound is least: once it is beaten
	// it stays beaten, but for the topmost count, which may overshoot.
	first, last, by := high, 0, -1
	if j+1 < len(s.rolls) && s.cheaper(s.cheapest[j+1], j) {
		first, last, by = 0, high, 1
	}
	for n := first; ; n += by {
		r, c, q := rest-int64(n)*p.size, cost+int64(n)*p.cost, packs+n
		if !s.beaten(j+1, r, c, q) {
			s.counts[j] = n
			s.covers += int64(n) * p.size
			ok := s.visit(j+1, r, c, q)
			s.counts[j] = 0
			s.covers -= int64(n) * p.size
			if !ok {
				return false
			}
		} else if n != high {
			break
		}
		if n == last {
			break
		}
	}
	return true
}

// beaten reports whether no mix from here can be among the k best.
func (s *search) beaten(j int, rest, cost int64, packs int) bool {
	if len(s.best) < s.k {
		return false
	}
	worst := &s.best[s.k-1]
	if rest > 0 {
		if j == len(s.rolls) {
			return true
		}
		b := s.rolls[s.cheapest[j]]
		more, _ := mulDivUp(rest, b.cost, b.size) // fits: checked for the whole need
		cost += more
		packs += int(qty.CeilDiv(rest, s.rolls[j].size))
	}
	return cost > worst.cost || cost == worst.cost && packs > worst.packs
}

// keep enters the present mix among the k best.
func (s *search) keep(cost int64, packs int) {
	f := found{counts: s.counts, cost: cost, packs: packs, covers: s.covers}
	if len(s.best) == s.k && compareFound(f, s.best[s.k-1]) >= 0 {
		return
	}
	f.counts = slices.Clone(s.counts)
	at, _ := slices.BinarySearchFunc(s.best, f, compareFound)
	s.best = slices.Insert(s.best, at, f)
	if len(s.best) > s.k {
		s.best = s.best[:s.k]
	}
}
