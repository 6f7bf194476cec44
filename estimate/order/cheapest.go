package order

import (
	"errors"
	"fmt"

	"wraptally/estimate/qty"
)

const (
	orderCells = 1_000_000  // cells of the table of the dynamic programme
	orderWork  = 60_000_000 // cells × price segments
	orderSmall = 20_000     // cells × offers up to which the table is quickest
)

// answer is the best found and its value.
type answer struct {
	picks []pick
	value value
	found bool
}

func (a *answer) offer(picks []pick, v value) {
	if !a.found || v.less(a.value) {
		*a = answer{picks, v, true}
	}
}

// cheapest is the least-cost way of covering need, in units of the quantity
// grid, from the choices. found is false where they do not reach.
func cheapest(need int64, choices []choice) (answer, error) {
	if len(choices) == 1 {
		return cheapestSingle(need, choices)
	}
	table := fits(need, choices)
	if table && need*int64(len(choices)) <= orderSmall {
		return cheapestTable(need, choices), nil
	}
	a, err := cheapestBulk(need, choices)
	if errors.Is(err, ErrTooLarge) && table {
		return cheapestTable(need, choices), nil
	}
	return a, err
}

// cheapestSingle orders from one offer: within a segment the cost rises with
// the count, so the least count that covers is best, and each later break is a
// candidate at its own first count. Closed form, for a need of any size.
func cheapestSingle(need int64, choices []choice) (answer, error) {
	var best answer
	c := &choices[0]
	least := qty.CeilDiv(need, c.step)
	for j := range c.segments {
		s := &c.segments[j]
		m := max(least, s.low)
		if m > s.high {
			continue
		}
		picks := []pick{{0, j, m}}
		v, ok := valueOf(choices, picks)
		if !ok {
			return answer{}, fmt.Errorf("%w: %d cartons", ErrTooFine, m)
		}
		best.offer(picks, v)
	}
	return best, nil
}

// fits reports whether the table is small enough and its sums stay exact.
func fits(need int64, choices []choice) bool {
	if need > orderCells {
		return false
	}
	segments := int64(0)
	for i := range choices {
		c := &choices[i]
		segments += int64(len(c.segments))
		for j := range c.segments {
			s := &c.segments[j]
			most := max(s.low, qty.CeilDiv(need, c.step)) + 1
			shares := int64(len(choices) + 1)
			if most > safe/shares {
				return false
			}
			for _, unit := range []int64{s.price, c.step, c.carton} {
				if _, ok := mulDivUp(unit, most*shares, 1); !ok {
					return false
				}
			}
			if s.fixed > safe/shares {
				return false
			}
		}
	}
	return need*max(segments, 1) <= orderWork
}

const nowhere = int64(-1)

// infinite marks a quantity that cannot be reached.
var infinite = value{cost: safe, packs: safe, quantity: safe}

// cheapestTable is the dynamic programme. Cell x < need holds the best way of
// buying exactly x; cell need the best way of buying at least need, its value
// carrying the true quantity. The choices are taken in turn, each with nothing
// or one count of one segment. Counts of a segment form a window of cells, so
// a running minimum serves all of them in one pass over the table. The values
// add up and compare alike at every cell, so ties are settled exactly too.
func cheapestTable(need int64, choices []choice) answer {
	if need <= 0 {
		return answer{found: true}
	}
	t := newTable(need)
	taken := make([][]int64, len(choices))   // cartons, by choice and cell
	capped := make([]int64, len(choices))    // the cell from which cell need was reached
	segment := make([][]int16, len(choices)) // and the segment they belong to
	for i := range choices {
		taken[i], segment[i] = make([]int64, need+1), make([]int16, need+1)
		t.begin()
		capped[i] = nowhere
		for j := range choices[i].segments {
			t.exact(&choices[i], j, taken[i], segment[i])
			if from := t.over(&choices[i], j, taken[i], segment[i]); from != nowhere {
				capped[i] = from
			}
		}
		t.end()
	}
	if t.now[need] == infinite {
		return answer{}
	}
	a := answer{value: t.now[need], found: true}
	for x, i := need, len(choices)-1; i >= 0; i-- {
		m := taken[i][x]
		if m == 0 {
			continue
		}
		a.picks = append(a.picks, pick{i, int(segment[i][x]), m})
		if x == need {
			x = capped[i]
		} else {
			x -= m * choices[i].step
		}
	}
	for i, j := 0, len(a.picks)-1; i < j; i, j = i+1, j-1 {
		a.picks[i], a.picks[j] = a.picks[j], a.picks[i]
	}
	return a
}

type orderTable struct {
	need      int64
	now, next []value
	queue     []queued
}

// queued is a candidate of the running minimum.
type queued struct {
	index int64 // its place along the residue
	key   value // its value brought back to index 0
}

func newTable(need int64) *orderTable {
	t := &orderTable{need: need, now: make([]value, need+1), next: make([]value, need+1)}
	for x := range t.now {
		t.now[x] = infinite
	}
	t.now[0] = value{}
	return t
}

func (t *orderTable) begin() { copy(t.next, t.now) }
func (t *orderTable) end()   { t.now, t.next = t.next, t.now }

// exact fills the cells below need from one segment.
func (t *orderTable) exact(c *choice, j int, taken []int64, segment []int16) {
	s := &c.segments[j]
	for r := int64(0); r < c.step && r+s.low*c.step < t.need; r++ {
		t.queue = t.queue[:0]
		head := 0
		for k := s.low; ; k++ {
			x := r + k*c.step
			if x >= t.need {
				break
			}
			if from := k - s.low; t.now[r+from*c.step] != infinite {
				v := t.now[r+from*c.step]
				q := queued{from, value{v.cost - from*s.price, v.packs - from*c.carton, 0}}
				for len(t.queue) > head && q.key.less(t.queue[len(t.queue)-1].key) {
					t.queue = t.queue[:len(t.queue)-1]
				}
				t.queue = append(t.queue, q)
			}
			for head < len(t.queue) && t.queue[head].index < k-s.high {
				head++
			}
			if head == len(t.queue) {
				continue
			}
			q := t.queue[head]
			v := value{q.key.cost + s.fixed + k*s.price, q.key.packs + k*c.carton, x}
			if v.less(t.next[x]) {
				t.next[x], taken[x], segment[x] = v, k-q.index, int16(j)
			}
		}
	}
}

// over fills cell need from one segment: from each cell below, the least count
// that reaches it.
func (t *orderTable) over(c *choice, j int, taken []int64, segment []int16) (from int64) {
	s := &c.segments[j]
	from = nowhere
	for x := int64(0); x < t.need; x++ {
		if t.now[x] == infinite {
			continue
		}
		m := max(s.low, qty.CeilDiv(t.need-x, c.step))
		if m > s.high {
			continue
		}
		v := t.now[x]
		v = value{v.cost + s.fixed + m*s.price, v.packs + m*c.carton, v.quantity + m*c.step}
		if v.less(t.next[t.need]) {
			t.next[t.need], taken[t.need], segment[t.need] = v, m, int16(j)
			from = x
		}
	}
	return from
}
