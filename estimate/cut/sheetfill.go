package cut

import (
	"cmp"
	"slices"
)

// placing is one rule of thumb for filling a sheet by free rectangles: which
// piece goes first, into which free rectangle, and how the rest is parted.
type placing struct {
	key  func(a plate) int              // larger goes first
	fit  func(dw, dh int, w, h int) int // smaller is better
	long bool                           // keep the larger of the two remainders whole
}

var placings = func() []placing {
	keys := []func(a plate) int{
		func(a plate) int { return int(a.area) },
		func(a plate) int { return max(a.w, a.h) },
		func(a plate) int { return min(a.w, a.h) },
		func(a plate) int { return a.h },
		func(a plate) int { return a.w },
		func(a plate) int { return a.w + a.h },
	}
	fits := []func(dw, dh, w, h int) int{
		func(dw, dh, w, h int) int { return min(dw, dh) },
		func(dw, dh, w, h int) int { return w*h - (w-dw)*(h-dh) },
		func(dw, dh, w, h int) int { return max(dw, dh) },
	}
	var out []placing
	for _, fit := range fits {
		for _, key := range keys {
			out = append(out, placing{key, fit, true}, placing{key, fit, false})
		}
	}
	return out
}()

// thumbs implements cutter.
func (p *sheetTask) thumbs() []thumb {
	var out []thumb
	for _, pl := range placings {
		out = append(out, thumb{"free rectangles", func(rem []int) func(int) *pattern {
			order := p.ordered(func(a plate) float64 { return float64(pl.key(a)) })
			return func(bin int) *pattern {
				order = slices.DeleteFunc(order, func(i int) bool { return rem[i] == 0 })
				return p.freeRectangles(bin, order, rem, pl)
			}
		}})
	}
	return append(out, p.ends()...)
}

// ends implements cutter.
func (p *sheetTask) ends() []thumb {
	return []thumb{
		{"strips", func(rem []int) func(int) *pattern {
			return func(bin int) *pattern { return p.byStrips(bin, rem) }
		}},
		{"strips and free rectangles", func(rem []int) func(int) *pattern {
			return func(bin int) *pattern { return p.byAll(bin, rem) }
		}},
	}
}

// ordered are the plates by a key, the larger first.
func (p *sheetTask) ordered(key func(a plate) float64) []int {
	order, keys := make([]int, len(p.plates)), make([]float64, len(p.plates))
	for i, pl := range p.plates {
		order[i], keys[i] = i, key(pl)
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(keys[j], keys[i]) })
	return order
}

// byStrips fills with the strips of the largest area of pieces.
func (p *sheetTask) byStrips(bin int, rem []int) *pattern {
	if n := int64(len(p.ways)); n*n*int64(p.bins[bin].w+p.bins[bin].h) > p.work.limit/4 {
		return nil // too many sizes for strips to be quick
	}
	v := make([]float64, len(p.plates))
	for i, pl := range p.plates {
		v[i] = float64(pl.area)
	}
	if best := (strips{p}).best(bin, v, rem); len(best) > 0 {
		return best[0].pattern
	}
	return nil
}

// byAll fills by whichever rule of thumb places the largest area.
func (p *sheetTask) byAll(bin int, rem []int) *pattern {
	best := p.byStrips(bin, rem)
	for _, pl := range placings {
		order := p.ordered(func(a plate) float64 { return float64(pl.key(a)) })
		if t := p.freeRectangles(bin, order, rem, pl); best == nil || t.used > best.used {
			best = t
		}
	}
	return best
}

// again implements cutter: large pieces only tend to come first.
func (p *sheetTask) again(bin int, rem []int, rand *rng) *pattern {
	spread := rand.float()
	order := p.ordered(func(a plate) float64 { return float64(a.area) * (1 - spread*rand.float()) })
	return p.freeRectangles(bin, order, rem, placings[rand.intn(len(placings))])
}

// patience is the number of sizes tried in vain before a sheet counts as full.
const patience = 3000

// freeRectangles fills one sheet: each piece in turn, as many as there are and
// fit, goes into the free rectangle that suits it best, which is then cut along
// the piece's two free sides.
func (p *sheetTask) freeRectangles(bin int, order, rem []int, rule placing) *pattern {
	root := leaf(p.bins[bin].w, p.bins[bin].h, -1)
	free := []*tree{root}
	steps, vain, most := 0, 0, patience
	if p.work.out() {
		most = patience / 30
	}
	for _, i := range order {
		if vain++; vain > most {
			break
		}
		for range rem[i] {
			best, bestWay, bestFit := -1, -1, 0
			for f, t := range free {
				for k, v := range p.waysOf(i) {
					if v.w > t.w || v.h > t.h {
						continue
					}
					if fit := rule.fit(t.w-v.w, t.h-v.h, t.w, t.h); best < 0 || fit < bestFit {
						best, bestWay, bestFit = f, p.first[i]+k, fit
					}
				}
			}
			steps += 2 * len(free)
			if best < 0 {
				break
			}
			vain = 0
			t := free[best]
			free = slices.Delete(free, best, best+1)
			free = append(free, p.place(t, bestWay, rule.long)...)
		}
	}
	p.work.spend(int64(2*steps + 40*len(order) + 10))
	return p.pattern(bin, root)
}

// place puts a plate into the lower left corner of a free rectangle and returns
// the free rectangles left.
func (p *sheetTask) place(t *tree, way int, long bool) []*tree {
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
