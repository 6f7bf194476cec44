package cut

import (
	"cmp"
	"slices"
)

// placing is one rule of thumb for filling a sheet by free rectangles: which
// piece goes first, into which free rectangle, and how the rest is parted.
type placing struct {
	order func(a, b plate) int
	fit   func(dw, dh int, w, h int) int // smaller is better
	long  bool                           // keep the larger of the two remainders whole
}

var placingOrders = []func(a, b plate) int{
	func(a, b plate) int { return cmp.Compare(b.area, a.area) },
	func(a, b plate) int { return cmp.Compare(max(b.w, b.h), max(a.w, a.h)) },
	func(a, b plate) int { return cmp.Compare(min(b.w, b.h), min(a.w, a.h)) },
	func(a, b plate) int { return cmp.Compare(b.h, a.h) },
	func(a, b plate) int { return cmp.Compare(b.w, a.w) },
	func(a, b plate) int { return cmp.Compare(b.w+b.h, a.w+a.h) },
}

var placingFits = []func(dw, dh, w, h int) int{
	func(dw, dh, w, h int) int { return min(dw, dh) },
	func(dw, dh, w, h int) int { return w*h - (w-dw)*(h-dh) },
	func(dw, dh, w, h int) int { return max(dw, dh) },
}

// placings are all combinations.
func placings() []placing {
	var out []placing
	for _, fit := range placingFits {
		for _, order := range placingOrders {
			out = append(out, placing{order, fit, true}, placing{order, fit, false})
		}
	}
	return out
}

// freeRectangles fills one board: each piece in turn, as many as there are and
// fit, goes into the free rectangle that suits it best, which is then cut along
// the piece's two free sides.
func (p *sheetProblem) freeRectangles(board int, rem []int, rule placing) *pattern {
	order := make([]int, 0, len(p.plates))
	for i := range p.plates {
		if rem[i] > 0 {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(i, j int) int { return rule.order(p.plates[i], p.plates[j]) })
	root := leaf(p.boards[board].w, p.boards[board].h, -1)
	free := []*tree{root}
	steps := 0
	for _, i := range order {
		for range rem[i] {
			best, bestWay, bestFit := -1, -1, 0
			for f, t := range free {
				for way := range p.waysOf(i) {
					v := p.ways[way]
					if v.w > t.w || v.h > t.h {
						continue
					}
					if fit := rule.fit(t.w-v.w, t.h-v.h, t.w, t.h); best < 0 || fit < bestFit {
						best, bestWay, bestFit = f, way, fit
					}
				}
			}
			steps += 2 * len(free)
			if best < 0 {
				break
			}
			t := free[best]
			free = slices.Delete(free, best, best+1)
			free = append(free, p.place(t, bestWay, rule.long)...)
		}
	}
	p.work.spend(int64(2*steps + 40*len(order) + 10))
	return p.sheetPattern(board, root)
}

// place puts a plate into the lower left corner of a free rectangle and returns
// the free rectangles left.
func (p *sheetProblem) place(t *tree, way int, long bool) []*tree {
	v := p.ways[way]
	dw, dh := t.w-v.w, t.h-v.h
	// Cutting vertically first leaves dw × t.h whole, horizontally t.w × dh.
	vertical := (dw*t.h >= dh*t.w) == long
	var out []*tree
	for range 2 {
		if vertical && dw > 0 {
			var rest *tree
			t, rest = t.cutAt(true, v.w)
			out = append(out, rest)
		}
		if !vertical && dh > 0 {
			var rest *tree
			t, rest = t.cutAt(false, v.h)
			out = append(out, rest)
		}
		vertical = !vertical
	}
	t.way = way
	return out
}

// waysOf yields the indices of the ways a plate may lie.
func (p *sheetProblem) waysOf(plate int) func(yield func(int) bool) {
	return func(yield func(int) bool) {
		for w := p.first[plate]; w < len(p.ways) && p.ways[w].plate == plate; w++ {
			if !yield(w) {
				return
			}
		}
	}
}
