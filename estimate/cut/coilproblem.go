package cut

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"wraptally/estimate/qty"
)

// Sizes beyond these are taken for slips of the pen, not for coils.
const (
	maxLength = 1_000_000  // mm
	maxPieces = 10_000_000 // pieces in all
)

// item is one length demanded, all pieces of it together.
type item struct {
	length int // mm
	w      int // length + kerf, in grid units
}

// coilTask is the input in the solver's terms: each piece carries one kerf and
// each coil has one kerf more than its usable length, so that kerf vanishes
// from the arithmetic; and lengths are counted in their greatest common
// divisor, which loses nothing and shortens every table.
type coilTask struct {
	task
	items []item // longest first
	grid  int    // mm in a grid unit
	kerf  int
	keep  int // mm, 0: nothing is kept
}

func newCoils(pieces []Piece, stock []Stock, rule LinearRule) (*coilTask, error) {
	if err := checkRule(rule); err != nil {
		return nil, err
	}
	if err := checkCoils(stock); err != nil {
		return nil, err
	}
	p := &coilTask{kerf: rule.Kerf, keep: rule.KeepOver}
	p.task = task{offFirst: rule.OffcutsFirst, stocks: len(stock), work: newMeter(rule.Budget)}
	if err := p.group(pieces); err != nil {
		return nil, err
	}
	p.open(stock, rule)
	if err := p.fits(pieces, stock, rule); err != nil {
		return nil, err
	}
	tags := make([]tag, len(stock))
	for i, s := range stock {
		tags[i] = tag{s.Cost, s.Costs, int64(s.Length), s.Name}
	}
	return p, p.price(tags, "stock", ByCoils, ByLength)
}

func checkRule(r LinearRule) error {
	for _, n := range []struct {
		name string
		v    int
	}{{"kerf", r.Kerf}, {"end trim", r.Trim}, {"end trim of offcuts", r.OffcutTrim}, {"length worth keeping", r.KeepOver}} {
		if n.v < 0 || n.v > maxLength {
			return &InputError{"rule", -1, "", fmt.Sprintf("%s %d mm is outside 0 to %d mm", n.name, n.v, maxLength)}
		}
	}
	if r.Budget < 0 {
		return &InputError{"rule", -1, "", "the work budget is negative"}
	}
	return nil
}

func checkCoils(stock []Stock) error {
	if len(stock) > maxStocks {
		return &InputError{"stock", maxStocks, "", fmt.Sprintf("more than %d lines of stock", maxStocks)}
	}
	for i, s := range stock {
		why := checkStock(s.Count, maxPieces, s.Offcut, s.Cost, s.Costs)
		if s.Length < 1 || s.Length > maxLength {
			why = fmt.Sprintf("length %d mm is outside 1 to %d mm", s.Length, maxLength)
		}
		if why != "" {
			return &InputError{"stock", i, s.Name, why}
		}
	}
	return nil
}

// group collects equal lengths and fixes the grid.
func (p *coilTask) group(pieces []Piece) error {
	counts := map[int]int{} // by length
	for i, pc := range pieces {
		bad := func(format string, a ...any) error {
			return &InputError{"piece", i, pc.Label, fmt.Sprintf(format, a...)}
		}
		switch {
		case pc.Length < 1 || pc.Length > maxLength:
			return bad("length %d mm is outside 1 to %d mm", pc.Length, maxLength)
		case pc.Count < 0 || pc.Count > maxPieces-p.pieces:
			return bad("count %d is negative or brings the total over %d pieces", pc.Count, maxPieces)
		case pc.Count == 0:
			continue
		}
		p.pieces += pc.Count
		counts[pc.Length] += pc.Count
	}
	lengths := slices.SortedFunc(maps.Keys(counts), func(a, b int) int { return cmp.Compare(b, a) })
	for _, l := range lengths {
		p.grid = qty.GCD(p.grid, l+p.kerf)
	}
	for _, l := range lengths {
		p.items = append(p.items, item{l, (l + p.kerf) / p.grid})
		p.demand = append(p.demand, counts[l])
		p.material += float64(counts[l]) * float64((l+p.kerf)/p.grid)
	}
	return nil
}

// open turns stocks into bins, leaving out those too short for any piece.
func (p *coilTask) open(stock []Stock, rule LinearRule) {
	if len(p.items) == 0 {
		return
	}
	shortest := p.items[len(p.items)-1].length
	for i, s := range stock {
		b := bin{stock: i, usable: usable(s, rule), count: s.Costs.most(s.Count), offcut: s.Offcut}
		if b.count == 0 || b.usable < shortest {
			continue
		}
		b.cap = (b.usable + p.kerf) / p.grid
		p.bins = append(p.bins, b)
	}
	slices.SortStableFunc(p.bins, func(a, b bin) int { return offcutsFirst(a.offcut, b.offcut) })
}

func usable(s Stock, rule LinearRule) int {
	if s.Offcut {
		return s.Length - rule.OffcutTrim
	}
	return s.Length - rule.Trim
}

// fits names the first piece that no stock can yield.
func (p *coilTask) fits(pieces []Piece, stock []Stock, rule LinearRule) error {
	if len(p.items) == 0 {
		return nil
	}
	longest, name := 0, ""
	for _, s := range stock {
		if u := usable(s, rule); s.Costs.most(s.Count) != 0 && u > longest {
			longest, name = u, s.Name
		}
	}
	for i, pc := range pieces {
		if pc.Count > 0 && pc.Length > longest {
			return &TooLongError{Index: i, Label: pc.Label, Length: pc.Length, Longest: longest, Stock: name}
		}
	}
	return nil
}

// rest returns what is left of a coil cut by a pattern, in mm, and whether it is
// worth keeping.
func (p *coilTask) rest(t *pattern) (left int, keep bool) {
	left = p.bins[t.bin].usable - t.used*p.grid // = usable − Σ length − n·kerf
	if left <= 0 {
		return 0, false
	}
	return left, p.keep > 0 && left >= p.keep
}

// scrap implements cutter.
func (p *coilTask) scrap(t *pattern) int64 {
	left, keep := p.rest(t)
	if keep {
		return 0
	}
	return int64(left)
}

// add appends q pieces of item i to a pattern; items must come in rising order.
func (p *coilTask) add(t *pattern, i, q int) {
	if q > 0 {
		t.size = append(t.size, int32(i))
		t.qty = append(t.qty, int32(q))
		t.used += q * p.items[i].w
	}
}

// limited implements cutter.
func (p *coilTask) limited(t *pattern, rem []int) *pattern {
	if t.times(rem) > 0 {
		return t
	}
	r := &pattern{bin: t.bin}
	for j, i := range t.size {
		p.add(r, int(i), min(int(t.qty[j]), rem[i]))
	}
	return r
}
