package cut

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
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
	area int64
}

// lying is a plate in one of the ways it may lie.
type lying struct {
	plate int
	w, h  int
}

// sheetTask is the input in the solver's terms: pieces and sheets carry one kerf
// along two sides, so that kerf vanishes from the arithmetic.
type sheetTask struct {
	task
	plates []plate // largest area first
	ways   []lying // by plate, then as demanded before turned
	first  []int   // first way of each plate, and one more at the end
	rule   SheetRule
	exact  *programmes // of the bound; nil where they are not made yet
}

func newPlates(rects []Rect, sheets []Sheet, rule SheetRule) (*sheetTask, error) {
	if err := checkSheetRule(rule); err != nil {
		return nil, err
	}
	if err := checkSheets(sheets); err != nil {
		return nil, err
	}
	p := &sheetTask{rule: rule}
	p.task = task{stocks: len(sheets), work: newMeter(rule.Budget)}
	if err := p.group(rects); err != nil {
		return nil, err
	}
	if err := p.open(rects, sheets); err != nil {
		return nil, err
	}
	tags := make([]tag, len(sheets))
	for i, s := range sheets {
		tags[i] = tag{s.Cost, s.Costs, int64(s.W) * int64(s.H), s.Name}
	}
	return p, p.price(tags, "sheet", BySheets, ByArea)
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

func checkSheets(sheets []Sheet) error {
	if len(sheets) > maxStocks {
		return &InputError{"sheet", maxStocks, "", fmt.Sprintf("more than %d sheet sizes", maxStocks)}
	}
	for i, s := range sheets {
		why := checkStock(s.Count, maxRects, s.Offcut, s.Cost, s.Costs)
		if s.W < 1 || s.W > maxSide || s.H < 1 || s.H > maxSide {
			why = fmt.Sprintf("%d × %d mm is outside 1 to %d mm", s.W, s.H, maxSide)
		}
		if why != "" {
			return &InputError{"sheet", i, s.Name, why}
		}
	}
	return nil
}

// group collects equal sizes.
func (p *sheetTask) group(rects []Rect) error {
	counts := map[Size]int{}
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
		counts[sizeOf(r.W, r.H, p.rule.Rotate)] += r.Count
	}
	for z := range counts {
		w, h := z.W+p.rule.Kerf, z.H+p.rule.Kerf
		p.plates = append(p.plates, plate{size: z, w: w, h: h, area: int64(w) * int64(h)})
	}
	slices.SortFunc(p.plates, func(a, b plate) int {
		return cmp.Or(cmp.Compare(b.area, a.area), cmp.Compare(b.w, a.w))
	})
	for i, pl := range p.plates {
		p.demand = append(p.demand, counts[pl.size])
		p.material += float64(counts[pl.size]) * float64(pl.area)
		p.first = append(p.first, len(p.ways))
		p.ways = append(p.ways, lying{i, pl.w, pl.h})
		if p.rule.Rotate && pl.w != pl.h {
			p.ways = append(p.ways, lying{i, pl.h, pl.w})
		}
	}
	p.first = append(p.first, len(p.ways))
	return nil
}

// waysOf are the ways a plate may lie.
func (p *sheetTask) waysOf(plate int) []lying { return p.ways[p.first[plate]:p.first[plate+1]] }

// open turns sheets into bins, leaving out those too small for any piece, and
// names the first piece that fits none.
func (p *sheetTask) open(rects []Rect, sheets []Sheet) error {
	fits := func(b bin, w, h int) bool {
		w, h = w+p.rule.Kerf, h+p.rule.Kerf
		return w <= b.w && h <= b.h || p.rule.Rotate && h <= b.w && w <= b.h
	}
	var sizes []string
	var all []bin
	for i, s := range sheets {
		w, h := s.W-2*p.rule.Trim, s.H-2*p.rule.Trim
		count := s.Costs.most(s.Count)
		if count == 0 || w < 1 || h < 1 {
			continue
		}
		sizes = append(sizes, fmt.Sprintf("%d × %d mm", w, h))
		all = append(all, bin{stock: i, w: w + p.rule.Kerf, h: h + p.rule.Kerf, count: count, offcut: s.Offcut})
	}
	for i, r := range rects {
		if r.Count > 0 && !slices.ContainsFunc(all, func(b bin) bool { return fits(b, r.W, r.H) }) {
			list := "none"
			if len(sizes) > 0 {
				list = strings.Join(sizes[:min(len(sizes), 6)], ", ")
			}
			return &TooLargeError{Index: i, Label: r.Label, W: r.W, H: r.H, Rotate: p.rule.Rotate, Sheets: list}
		}
	}
	for _, b := range all {
		if slices.ContainsFunc(p.plates, func(pl plate) bool { return fits(b, pl.size.W, pl.size.H) }) {
			p.bins = append(p.bins, b)
		}
	}
	slices.SortStableFunc(p.bins, func(a, b bin) int { return offcutsFirst(a.offcut, b.offcut) })
	return nil
}
