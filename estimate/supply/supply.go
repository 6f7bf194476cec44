// Package supply chooses, over all items of an order together, from which
// supplier each is bought, where a delivery costs money, is free from a value,
// or is refused below a value. Item by item the cheapest offer may bring a
// delivery that costs more than it saves.
//
// Money is in whole minor units of one currency. The package knows items,
// suppliers and sums, not what is bought.
package supply

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
)

// Terms are what a supplier charges for an order beside the goods. A charge that
// falls on some goods only (hazardous ones) is a Terms of its own, into which
// only those goods count.
type Terms struct {
	Delivery int64 // charged once where anything is bought
	FreeFrom int64 // value of goods from which the delivery is not charged; 0: never free
	Minimum  int64 // least value of goods that is delivered at all; 0: none
}

// Part is the value that a choice brings to one supplier.
type Part struct {
	Supplier int
	Value    int64
}

// Choice is one way to buy an item.
type Choice struct {
	Cost  int64
	Parts []Part // by supplier; none where the item is not bought at all
}

// Plan is a choice for every item.
type Plan struct {
	Pick    []int   // index into the choices, by item
	Values  []int64 // of goods, by supplier
	Charges []int64 // by supplier
	Cost    int64   // goods and charges
	Bound   int64   // no plan costs less
	Proven  bool    // Cost equals Bound, or the search was ended by itself
	Steps   int64   // of the search
}

// ErrNone says that no choice keeps the suppliers' least order values.
var ErrNone = errors.New("no way to buy keeps the least order values of the suppliers")

// Cheapest finds the plan of least cost. It searches over the suppliers that
// are used and, within that, over the items that reach a value; the search ends
// by itself or after so many steps, and then the bound says how far from the
// least the plan can be.
func Cheapest(items [][]Choice, terms []Terms, steps int64) (Plan, error) {
	if err := checkInput(items, terms); err != nil {
		return Plan{}, err
	}
	s := newSearch(items, terms, steps)
	s.greedy()
	s.suppliers(0)
	if s.best.Pick == nil {
		if s.stopped {
			return Plan{}, fmt.Errorf("%w found in %d steps", ErrNone, s.steps)
		}
		return Plan{}, ErrNone
	}
	p := s.best
	p.Steps = s.steps
	p.Bound = p.Cost
	if s.stopped {
		p.Bound = min(p.Cost, s.open)
	}
	p.Proven = p.Bound == p.Cost
	return p, nil
}

func checkInput(items [][]Choice, terms []Terms) error {
	for k, t := range terms {
		if t.Delivery < 0 || t.FreeFrom < 0 || t.Minimum < 0 {
			return fmt.Errorf("supplier %d: a charge, a value or a least value below 0", k+1)
		}
	}
	for i, choices := range items {
		if len(choices) == 0 {
			return fmt.Errorf("item %d: there is no way to buy it", i+1)
		}
		for _, c := range choices {
			if c.Cost < 0 {
				return fmt.Errorf("item %d: a cost below 0", i+1)
			}
			for _, part := range c.Parts {
				if part.Supplier < 0 || part.Supplier >= len(terms) || part.Value < 0 {
					return fmt.Errorf("item %d: a part names supplier %d with the value %d", i+1, part.Supplier+1, part.Value)
				}
			}
		}
	}
	return nil
}

// state of a supplier in the search.
type state uint8

const (
	undecided state = iota
	closed          // nothing is bought there
	charged         // bought there, the delivery is charged
	free            // bought there for so much that it is not charged
)

type search struct {
	items    [][]Choice // each by cost
	index    [][]int    // of the choices in the caller's order
	terms    []Terms
	states   []state
	order    []int // suppliers in the order of deciding
	steps    int64
	limit    int64
	stopped  bool
	open     int64 // least bound of what was not searched
	best     Plan
	mostOf   []int64 // by supplier: the most value it can be brought
	pick     []int
	restBest []int64 // scratch: least cost of the items from i on
	restMost [][]int64
}

func newSearch(items [][]Choice, terms []Terms, steps int64) *search {
	s := &search{terms: terms, states: make([]state, len(terms)), limit: steps, open: math.MaxInt64, mostOf: make([]int64, len(terms)), pick: make([]int, len(items))}
	for _, choices := range items {
		at := make([]int, len(choices))
		for k := range at {
			at[k] = k
		}
		slices.SortStableFunc(at, func(a, b int) int { return cmp.Compare(choices[a].Cost, choices[b].Cost) })
		sorted := make([]Choice, len(at))
		most := make([]int64, len(terms))
		for k, a := range at {
			sorted[k] = choices[a]
			for sup, v := range values(choices[a], len(terms)) {
				most[sup] = max(most[sup], v)
			}
		}
		for sup := range most {
			s.mostOf[sup] += most[sup]
		}
		s.items, s.index = append(s.items, sorted), append(s.index, at)
	}
	for k := range terms {
		s.order = append(s.order, k)
	}
	slices.SortStableFunc(s.order, func(a, b int) int { return cmp.Compare(terms[b].Delivery, terms[a].Delivery) })
	return s
}

func values(c Choice, n int) []int64 {
	out := make([]int64, n)
	for _, p := range c.Parts {
		out[p.Supplier] += p.Value
	}
	return out
}

// greedy is a first plan: each item's cheapest choice, then single changes as
// long as they pay. It gives the search something to beat.
func (s *search) greedy() {
	pick := make([]int, len(s.items))
	cost, ok := s.price(pick)
	for better := true; better; {
		better = false
		for i := range pick {
			for k := range s.items[i] {
				before := pick[i]
				if k == before {
					continue
				}
				pick[i] = k
				if c, fine := s.price(pick); fine && (!ok || c < cost) {
					cost, ok, better = c, true, true
					continue
				}
				pick[i] = before
			}
		}
	}
	if ok {
		s.offer(pick)
	}
}

// price is what a plan costs; ok is false where a supplier would not deliver.
func (s *search) price(pick []int) (cost int64, ok bool) {
	sums, used := s.sums(pick)
	for i, k := range pick {
		cost += s.items[i][k].Cost
	}
	for sup, t := range s.terms {
		if !used[sup] {
			continue
		}
		if sums[sup] < t.Minimum {
			return 0, false
		}
		cost += t.charge(sums[sup])
	}
	return cost, true
}

func (t Terms) charge(value int64) int64 {
	if t.FreeFrom > 0 && value >= t.FreeFrom {
		return 0
	}
	return t.Delivery
}

func (s *search) sums(pick []int) (sums []int64, used []bool) {
	sums, used = make([]int64, len(s.terms)), make([]bool, len(s.terms))
	for i, k := range pick {
		for _, p := range s.items[i][k].Parts {
			sums[p.Supplier] += p.Value
			used[p.Supplier] = true
		}
	}
	return sums, used
}

// offer takes a plan that is cheaper than the best so far.
func (s *search) offer(pick []int) {
	cost, ok := s.price(pick)
	if !ok || s.best.Pick != nil && cost >= s.best.Cost {
		return
	}
	sums, used := s.sums(pick)
	s.best = Plan{Pick: make([]int, len(pick)), Values: sums, Charges: make([]int64, len(sums)), Cost: cost}
	for i, k := range pick {
		s.best.Pick[i] = s.index[i][k]
	}
	for sup, t := range s.terms {
		if used[sup] {
			s.best.Charges[sup] = t.charge(sums[sup])
		}
	}
}

// allowed reports whether a choice buys nothing at a closed supplier.
func (s *search) allowed(c *Choice) bool {
	for _, p := range c.Parts {
		if s.states[p.Supplier] == closed {
			return false
		}
	}
	return true
}

// bound is what no plan under the states decided so far goes below: each item
// at its cheapest, and the deliveries that are charged. A supplier not decided
// is used by nobody or charges at least nothing.
func (s *search) bound() (int64, bool) {
	total := int64(0)
	for i := range s.items {
		k := slices.IndexFunc(s.items[i], func(c Choice) bool { return s.allowed(&c) })
		if k < 0 {
			return 0, false
		}
		total += s.items[i][k].Cost
	}
	for sup, st := range s.states {
		if st == charged {
			total += s.terms[sup].Delivery
		}
	}
	return total, true
}

// over reports whether the search has used up its steps; what is cut off then
// has at least the bound given.
func (s *search) over(bound int64) bool {
	s.steps++
	if s.steps <= s.limit {
		return false
	}
	s.stopped = true
	s.open = min(s.open, bound)
	return true
}

// suppliers decides the n-th supplier and those after it, then the items.
func (s *search) suppliers(n int) {
	bound, ok := s.bound()
	if !ok || s.best.Pick != nil && bound >= s.best.Cost || s.over(bound) {
		return
	}
	if n == len(s.order) {
		s.reach(bound)
		return
	}
	sup := s.order[n]
	t := s.terms[sup]
	try := []state{closed, charged}
	if t.Delivery == 0 {
		try = []state{charged} // nothing is lost by keeping it open
		if t.Minimum > 0 {
			try = []state{closed, charged}
		}
	} else if t.FreeFrom > 0 && s.mostOf[sup] >= t.FreeFrom {
		try = []state{free, charged, closed}
	}
	for _, st := range try {
		s.states[sup] = st
		s.suppliers(n + 1)
	}
	s.states[sup] = undecided
}

// need is the value that a supplier must be brought under its state.
func (s *search) need(sup int) int64 {
	switch s.states[sup] {
	case free:
		return max(s.terms[sup].FreeFrom, s.terms[sup].Minimum)
	case charged:
		return s.terms[sup].Minimum
	}
	return 0
}

// reach chooses the items under decided states: the cheapest of each where that
// brings every supplier its value, else a search over the items.
func (s *search) reach(bound int64) {
	n := len(s.items)
	for i := range s.items {
		s.pick[i] = slices.IndexFunc(s.items[i], func(c Choice) bool { return s.allowed(&c) })
	}
	sums, used := s.sums(s.pick)
	short := false
	for sup := range s.terms {
		// An open supplier that nobody buys from is another state's plan.
		short = short || sums[sup] < s.need(sup) && (used[sup] || s.states[sup] == free)
	}
	s.offer(s.pick)
	if !short && !s.minimumOpen() {
		return
	}
	s.restBest = make([]int64, n+1)
	s.restMost = make([][]int64, n+1)
	s.restMost[n] = make([]int64, len(s.terms))
	for i := n - 1; i >= 0; i-- {
		s.restBest[i] = s.restBest[i+1] + s.items[i][s.pick[i]].Cost
		most := slices.Clone(s.restMost[i+1])
		top := make([]int64, len(s.terms))
		for k := range s.items[i] {
			if c := &s.items[i][k]; s.allowed(c) {
				for sup, v := range values(*c, len(s.terms)) {
					top[sup] = max(top[sup], v)
				}
			}
		}
		for sup := range top {
			most[sup] += top[sup]
		}
		s.restMost[i] = most
	}
	s.choose(0, bound-s.restBest[0], make([]int64, len(s.terms)))
}

// minimumOpen reports whether an open supplier delivers only from a value on.
func (s *search) minimumOpen() bool {
	for sup := range s.terms {
		if s.states[sup] != closed && s.terms[sup].Minimum > 0 {
			return true
		}
	}
	return false
}

// choose goes through the choices of item i and those after it; spent is the
// cost so far with the deliveries charged.
func (s *search) choose(i int, spent int64, sums []int64) {
	bound := spent + s.restBest[i]
	if s.best.Pick != nil && bound >= s.best.Cost {
		return
	}
	for sup := range s.terms {
		if s.states[sup] == free && sums[sup]+s.restMost[i][sup] < s.need(sup) {
			return
		}
		if s.states[sup] == charged && sums[sup] > 0 && sums[sup]+s.restMost[i][sup] < s.need(sup) {
			return
		}
	}
	if i == len(s.items) {
		s.offer(s.pick)
		return
	}
	if s.over(bound) {
		return
	}
	kept := s.pick[i]
	for k := range s.items[i] {
		c := &s.items[i][k]
		if !s.allowed(c) {
			continue
		}
		for _, p := range c.Parts {
			sums[p.Supplier] += p.Value
		}
		s.pick[i] = k
		s.choose(i+1, spent+c.Cost, sums)
		for _, p := range c.Parts {
			sums[p.Supplier] -= p.Value
		}
	}
	s.pick[i] = kept
}
