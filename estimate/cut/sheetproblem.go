package cut

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/shopspring/decimal"
)

// maxSide is the longest side taken seriously, in mm.
const maxSide = 50_000

// maxRects is the number of rectangles in all.
const maxRects = 1_000_000

// plate is one size demanded, all pieces of it together. Its sides carry one
// kerf each.
type plate struct {
	size Size // mm, without kerf; W ≥ H where pieces may be turned
	w, h int  // mm, with kerf
	d    int  // pieces demanded
	area int64
}

// board is one size of sheet that can hold at least one piece. Its sides carry
// one kerf more than is usable, so that kerf vanishes from the arithmetic.
type board struct {
	sheet int // index into the sheets given
	w, h  int // mm, usable and one kerf
	count int
	cost  int64
}

// lying is a plate in one of the ways it may lie.
type lying struct {
	plate int
	w, h  int
}

// sheetProblem is the input in the solver's terms.
type sheetProblem struct {
	plates []plate // largest area first
	ways   []lying // by plate, then as demanded before turned
	first  []int   // first way of each plate
	boards []board
	rule   SheetRule
	sheets int
	pieces int
	basis  Basis
	unit   decimal.Decimal
	work   *meter
}

func newSheetProblem(rects []Rect, sheets []Sheet, rule SheetRule) (*sheetProblem, error) {
	p := &sheetProblem{rule: rule, sheets: len(sheets), work: &meter{limit: rule.Budget}}
	if rule.Budget == 0 {
		p.work.limit = DefaultBudget
	}
	if err := checkSheetRule(rule); err != nil {
		return nil, err
	}
	if err := checkSheetStock(sheets); err != nil {
		return nil, err
	}
	if err := p.group(rects); err != nil {
		return nil, err
	}
	if err := p.open(rects, sheets); err != nil {
		return nil, err
	}
	if err := p.price(sheets); err != nil {
		return nil, err
	}
	return p, nil
}

func checkSheetRule(r SheetRule) error {
	for _, n := range []struct {
		name string
		v    int
	}{{"kerf", r.Kerf}, {"edge trim", r.Trim}, {"side worth keeping", r.KeepOver}} {
		if n.v < 0 || n.v > maxSide {
			return &InputError{"rule", -1, "", fmt.Sprintf("%s %d mm is outside 0 to %d mm", n.name, n.v, maxSide)}
		}
	}
	if r.KeepArea < 0 || r.Budget < 0 {
		return &InputError{"rule", -1, "", "the area worth keeping or the work budget is negative"}
	}
	return nil
}

func checkSheetStock(sheets []Sheet) error {
	if len(sheets) > maxStocks {
		return &InputError{"sheet", maxStocks, "", fmt.Sprintf("more than %d sheet sizes", maxStocks)}
	}
	for i, s := range sheets {
		bad := func(format string, a ...any) error {
			return &InputError{"sheet", i, s.Name, fmt.Sprintf(format, a...)}
		}
		switch {
		case s.W < 1 || s.W > maxSide || s.H < 1 || s.H > maxSide:
			return bad("%d × %d mm is outside 1 to %d mm", s.W, s.H, maxSide)
		case s.Count < Unlimited || s.Count > maxRects:
			return bad("count %d is outside 0 to %d (%d is unlimited)", s.Count, maxRects, Unlimited)
		case s.Cost.IsNegative():
			return bad("the cost is negative")
		case !saneCost(s.Cost):
			return bad("the cost is too large or too finely divided")
		}
	}
	return nil
}

func (p *sheetProblem) norm(w, h int) Size {
	if p.rule.Rotate && w < h {
		w, h = h, w
	}
	return Size{w, h}
}

func (p *sheetProblem) group(rects []Rect) error {
	var got []plate
	for i, r := range rects {
		bad := func(format string, a ...any) error {
			return &InputError{"rect", i, r.Label, fmt.Sprintf(format, a...)}
		}
		switch {
		case r.W < 1 || r.W > maxSide || r.H < 1 || r.H > maxSide:
			return bad("%d × %d mm is outside 1 to %d mm", r.W, r.H, maxSide)
		case r.Count < 0 || r.Count > maxRects-p.pieces:
			return bad("count %d is negative or brings the total over %d pieces", r.Count, maxRects)
		case r.Count == 0:
			continue
		}
		p.pieces += r.Count
		z := p.norm(r.W, r.H)
		w, h := z.W+p.rule.Kerf, z.H+p.rule.Kerf
		got = append(got, plate{size: z, w: w, h: h, d: r.Count, area: int64(w) * int64(h)})
	}
	slices.SortFunc(got, func(a, b plate) int {
		return cmp.Or(cmp.Compare(b.area, a.area), cmp.Compare(b.w, a.w))
	})
	for _, pl := range got {
		if n := len(p.plates); n > 0 && p.plates[n-1].size == pl.size {
			p.plates[n-1].d += pl.d
			continue
		}
		p.plates = append(p.plates, pl)
	}
	for i, pl := range p.plates {
		p.first = append(p.first, len(p.ways))
		p.ways = append(p.ways, lying{i, pl.w, pl.h})
		if p.rule.Rotate && pl.w != pl.h {
			p.ways = append(p.ways, lying{i, pl.h, pl.w})
		}
	}
	return nil
}

// open turns sheets into boards, leaving out those too small for any piece, and
// names the first piece that fits none.
func (p *sheetProblem) open(rects []Rect, sheets []Sheet) error {
	fits := func(b board, w, h int) bool {
		w, h = w+p.rule.Kerf, h+p.rule.Kerf
		return w <= b.w && h <= b.h || p.rule.Rotate && h <= b.w && w <= b.h
	}
	var sizes []string
	var all []board
	for i, s := range sheets {
		w, h := s.W-2*p.rule.Trim, s.H-2*p.rule.Trim
		if s.Count == 0 || w < 1 || h < 1 {
			continue
		}
		sizes = append(sizes, fmt.Sprintf("%d × %d mm", w, h))
		all = append(all, board{sheet: i, w: w + p.rule.Kerf, h: h + p.rule.Kerf, count: s.Count})
	}
	for i, r := range rects {
		if r.Count > 0 && !slices.ContainsFunc(all, func(b board) bool { return fits(b, r.W, r.H) }) {
			list := "none"
			if len(sizes) > 0 {
				list = strings.Join(sizes[:min(len(sizes), 6)], ", ")
			}
			return &TooLargeError{Index: i, Label: r.Label, W: r.W, H: r.H, Rotate: p.rule.Rotate, Sheets: list}
		}
	}
	for _, b := range all {
		if slices.ContainsFunc(p.plates, func(pl plate) bool { return fits(b, pl.size.W, pl.size.H) }) {
			p.boards = append(p.boards, b)
		}
	}
	return nil
}

func (p *sheetProblem) price(sheets []Sheet) error {
	p.unit = decimal.NewFromInt(1)
	priced := 0
	costs := make([]decimal.Decimal, len(p.boards))
	for i, b := range p.boards {
		costs[i] = sheets[b.sheet].Cost
		if costs[i].IsPositive() {
			priced++
		}
	}
	switch {
	case len(p.boards) == 1:
		p.basis = BySheets
		p.boards[0].cost = 1
		return nil
	case priced == 0:
		p.basis = ByArea
		for i := range p.boards {
			s := sheets[p.boards[i].sheet]
			p.boards[i].cost = int64(s.W) * int64(s.H)
		}
	default:
		p.basis = ByCost
		for _, b := range p.boards {
			if s := sheets[b.sheet]; !s.Cost.IsPositive() {
				return &InputError{"sheet", b.sheet, s.Name, "has no cost while other sheets have; give all costs or none"}
			}
		}
		ints, unit, bad := integerCosts(costs)
		if bad >= 0 {
			i := p.boards[bad].sheet
			return &InputError{"sheet", i, sheets[i].Name, "the cost is too large or too finely divided"}
		}
		p.unit = unit
		for i := range p.boards {
			p.boards[i].cost = ints[i]
		}
	}
	all := make([]*int64, len(p.boards))
	for i := range p.boards {
		all[i] = &p.boards[i].cost
	}
	p.unit = reduced(all, p.unit)
	return nil
}

func (p *sheetProblem) demand() []int {
	d := make([]int, len(p.plates))
	for i := range p.plates {
		d[i] = p.plates[i].d
	}
	return d
}

func (p *sheetProblem) stockLeft() []int {
	left := make([]int, len(p.boards))
	for b := range p.boards {
		left[b] = p.boards[b].count
	}
	return left
}
