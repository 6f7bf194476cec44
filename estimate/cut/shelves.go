package cut

import (
	"cmp"
	"slices"
)

// shelves is the plan that is always made, whatever the budget: pieces lie
// along shelves across the sheet, the highest first, each shelf as high as its
// first piece. Its work grows only with the number of pieces.
func (s *sheetSearch) shelves() []use {
	p := s.p
	rem, left := p.demand(), p.stockLeft()
	order := make([]int, len(p.plates))
	for i := range order {
		order[i] = i
	}
	low := func(i int) int { return min(p.plates[i].w, p.plates[i].h) }
	if !p.rule.Rotate {
		low = func(i int) int { return p.plates[i].h }
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(low(b), low(a)) })
	var uses []use
	stuck := make([]bool, len(p.plates)) // fits no sheet that is left
	for {
		for len(order) > 0 && (rem[order[0]] == 0 || stuck[order[0]]) {
			order = order[1:]
		}
		if len(order) == 0 {
			return uses
		}
		b := p.boardFor(order[0], left)
		if b < 0 {
			stuck[order[0]] = true
			continue
		}
		t := p.shelf(b, order, rem)
		n := t.times(rem)
		if left[b] != Unlimited {
			n = min(n, left[b])
			left[b] -= n
		}
		t.take(rem, n)
		p.work.spend(int64(100 * len(t.item)))
		uses = append(uses, use{t, n})
	}
}

// boardFor is the board of the least cost for its area that holds a plate.
func (p *sheetProblem) boardFor(plate int, left []int) int {
	best, bestRate := -1, 0.0
	for b, bd := range p.boards {
		if left[b] == 0 || !slices.ContainsFunc(p.ways[p.first[plate]:min(p.first[plate]+2, len(p.ways))], func(v lying) bool {
			return v.plate == plate && v.w <= bd.w && v.h <= bd.h
		}) {
			continue
		}
		if rate := float64(bd.cost) / float64(bd.w) / float64(bd.h); best < 0 || rate < bestRate {
			best, bestRate = b, rate
		}
	}
	return best
}

// shelf fills one board with shelves from the pieces remaining, in order.
func (p *sheetProblem) shelf(board int, order, rem []int) *pattern {
	const patience = 200 // sizes tried in vain before a shelf is closed
	root := leaf(p.boards[board].w, p.boards[board].h, -1)
	rest := root
	used := map[int]int{}
	// flattest is the way a plate lies lowest in w × h, −1 for none.
	flattest := func(i, w, h int) int {
		best := -1
		for way := range p.waysOf(i) {
			if v := p.ways[way]; v.w <= w && v.h <= h && (best < 0 || v.h < p.ways[best].h) {
				best = way
			}
		}
		return best
	}
	for {
		var row *tree // what is left of the shelf, to the right
		height, vain := 0, 0
		for _, i := range order {
			for used[i] < rem[i] {
				w, h := rest.w, rest.h
				if row != nil {
					w, h = row.w, height
				}
				way := flattest(i, w, h)
				if way < 0 {
					break
				}
				v := p.ways[way]
				if row == nil {
					height = v.h
					row = rest
					if v.h < rest.h {
						row, rest = rest.cutAt(false, v.h)
					} else {
						rest = leaf(0, 0, -1)
					}
				}
				spot := row
				if v.w < row.w {
					spot, row = row.cutAt(true, v.w)
				} else {
					row = leaf(0, 0, -1)
				}
				spot.way = way
				used[i]++
				vain = 0
			}
			if vain++; vain > patience || row != nil && row.w == 0 {
				break
			}
		}
		if row == nil {
			return p.sheetPattern(board, root)
		}
	}
}
