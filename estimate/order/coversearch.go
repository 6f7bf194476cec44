package order

import (
	"cmp"
	"fmt"
	"slices"
)

const (
	coverNodes = 20_000    // nodes before the search turns to a table of exact bounds
	tableNodes = 5_000_000 // nodes with that table, where a search goes almost straight
	tableCells = 8_000_000 // cells of that table
)

// found is a mix on the integer grid.
type found struct {
	counts []int64
	cost   int64
	packs  int64
	covers int64
}

// compareFound orders mixes: cost, packs, excess, then more of the larger packs.
func compareFound(a, b found) int {
	return cmp.Or(
		cmp.Compare(a.cost, b.cost),
		cmp.Compare(a.packs, b.packs),
		cmp.Compare(a.covers, b.covers),
		slices.Compare(b.counts, a.counts),
	)
}

// search is a depth-first branch and bound over the counts of the packs,
// largest first. Taking the packs in that order makes every leaf a mix that can
// spare no pack: the last pack laid is the smallest and was still needed.
type search struct {
	*Coverer
	k      int
	table  *coverTable // exact bounds, or nil for the linear ones
	nodes  int
	counts []int64
	covers int64
	best   []found
}

func newSearch(c *Coverer, k int, table *coverTable) *search {
	return &search{Coverer: c, k: k, table: table, counts: make([]int64, len(c.packs))}
}

// run reports false when the node limit was reached.
func (s *search) run(rest int64) bool { return s.visit(0, rest, 0, 0) }

func (s *search) visit(j int, rest, cost, packs int64) bool {
	if rest <= 0 {
		s.keep(cost, packs)
		return true
	}
	s.nodes++
	if s.nodes > coverNodes && (s.table == nil || s.nodes > tableNodes) {
		return false
	}
	if j == len(s.packs) {
		return true
	}
	p := s.packs[j]
	high := ceilDiv(rest, p.size)
	if p.max >= 0 {
		high = min(high, p.max)
	}
	low := int64(0)
	if c := s.capacity[j+1]; c >= 0 && rest > c {
		low = ceilDiv(rest-c, p.size)
	}
	if low > high {
		return true
	}
	// Walk away from the end where the linear bound is least: once it is beaten
	// it stays beaten, but for the topmost count, which may overshoot.
	first, last, by := high, low, int64(-1)
	if b := s.cheapest[j+1]; b >= 0 && cmpProducts(s.packs[b].cost, p.size, p.cost, s.packs[b].size) < 0 {
		first, last, by = low, high, 1
	}
	for n := first; ; n += by {
		r, c, q := rest-n*p.size, cost+n*p.cost, packs+n
		if s.beaten(j+1, r, c, q) {
			if s.table == nil && n != high {
				break
			}
		} else {
			s.counts[j] = n
			s.covers += n * p.size
			ok := s.visit(j+1, r, c, q)
			s.counts[j] = 0
			s.covers -= n * p.size
			if !ok {
				return false
			}
		}
		if n == last {
			break
		}
	}
	return true
}

// beaten reports whether no mix from here can be among the k best.
func (s *search) beaten(j int, rest, cost, packs int64) bool {
	if len(s.best) < s.k {
		return false
	}
	worst := &s.best[s.k-1]
	if rest > 0 {
		if j == len(s.packs) {
			return true
		}
		if s.table != nil {
			more := s.table.at(j, rest)
			if more >= safe {
				return true
			}
			cost += more
		} else {
			b := s.packs[s.cheapest[j]]
			more, _ := mulDivUp(rest, b.cost, b.size) // fits: checked for the whole need
			cost += more
		}
		packs += ceilDiv(rest, s.packs[j].size)
	}
	return cost > worst.cost || cost == worst.cost && packs > worst.packs
}

// keep enters the present mix among the k best.
func (s *search) keep(cost, packs int64) {
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

// coverTable holds, for each tail of the packs, the least cost of covering each
// quantity with them.
type coverTable struct {
	step int64
	cost [][]int64 // by tail, by quantity in steps
}

func (t *coverTable) at(j int, rest int64) int64 { return t.cost[j][ceilDiv(rest, t.step)] }

// newTable is the dynamic programme over the quantities up to rest.
func (c *Coverer) newTable(rest int64) (*coverTable, error) {
	t := &coverTable{}
	for _, p := range c.packs {
		t.step = gcd(t.step, p.size)
	}
	cells := ceilDiv(rest, t.step) + 1
	if cells > tableCells/int64(len(c.packs)) {
		return nil, fmt.Errorf("%w: %d steps by %d pack sizes", ErrTooLarge, cells, len(c.packs))
	}
	t.cost = make([][]int64, len(c.packs)+1)
	t.cost[len(c.packs)] = make([]int64, cells)
	for x := int64(1); x < cells; x++ {
		t.cost[len(c.packs)][x] = safe
	}
	for j := len(c.packs) - 1; j >= 0; j-- {
		t.cost[j] = layer(t.cost[j+1], c.packs[j].size/t.step, c.packs[j].cost, c.packs[j].max)
	}
	return t, nil
}

// layer adds one pack of the given size in steps to the table of the packs after it.
func layer(after []int64, size, cost, most int64) []int64 {
	row := make([]int64, len(after))
	if most < 0 {
		for x := int64(1); x < int64(len(after)); x++ {
			row[x] = min(after[x], row[max(0, x-size)]+cost)
		}
		return row
	}
	for x := int64(1); x < int64(len(after)); x++ {
		row[x] = after[x]
		for n := int64(1); n <= most; n++ {
			row[x] = min(row[x], after[max(0, x-n*size)]+n*cost)
			if n*size >= x {
				break
			}
		}
	}
	return row
}
