package cut

import (
	"math/bits"

	"wraptally/estimate/qty"
)

// quickWorths implements cutter: each piece is worth its share of the cost of
// the sheet that has its area for least, and where pieces are so big that no
// two of them share a sheet, each is worth the cheapest sheet that holds it.
func (p *sheetTask) quickWorths() []worths {
	dearest := int64(1)
	for _, b := range p.bins {
		dearest = max(dearest, b.cost)
	}
	const one = 1 << 40 // the dearest sheet
	area, big := make([]int64, len(p.plates)), make([]int64, len(p.plates))
	some := false
	for i, pl := range p.plates {
		share, cheapest, alone := 0.0, 0.0, true
		for b := range p.bins {
			holds, fills := p.holds(b, i)
			cost := float64(p.bins[b].cost) / float64(dearest) * one
			switch s := cost * float64(pl.area) / p.bins[b].size(); {
			case !holds:
			case cost == 0: // an offcut: it is worth what the others make of it
				alone = alone && fills
			default:
				if share == 0 || s < share {
					share = s
				}
				if cheapest == 0 || cost < cheapest {
					cheapest = cost
				}
				alone = alone && fills
			}
		}
		area[i] = int64(share)
		if alone {
			big[i] = int64(cheapest)
			some = some || big[i] > 0
		}
	}
	out := []worths{p.areaWorths(area)}
	if some {
		out = append(out, p.areaWorths(big))
	}
	return out
}

// holds reports whether a plate fits a bin, and whether it is big there: in
// every way it fits longer than half of the sheet both ways, so that no two such
// pieces share a sheet.
func (p *sheetTask) holds(bin, plate int) (fits, big bool) {
	b := &p.bins[bin]
	big = true
	for _, v := range p.waysOf(plate) {
		if v.w <= b.w && v.h <= b.h {
			fits = true
			big = big && 2*v.w > b.w && 2*v.h > b.h
		}
	}
	return fits, fits && big
}

// areaWorths are any worths with the most in a sheet by area: at most one big
// piece, and the rest of the area at the best worth for area of the others.
func (p *sheetTask) areaWorths(y []int64) worths {
	v := worths{y: y, method: ByAreaOf}
	for b := range p.bins {
		all := uint64(p.bins[b].w) * uint64(p.bins[b].h)
		best := -1 // worth most for its area
		for i := range p.plates {
			if fits, big := p.holds(b, i); fits && !big && (best < 0 || better(y[i], p.plates[i].area, y[best], p.plates[best].area)) {
				best = i
			}
		}
		of := func(area uint64) int64 {
			if best < 0 {
				return 0
			}
			hi, lo := bits.Mul64(area, uint64(y[best]))
			q, _ := bits.Div64(hi, lo, uint64(p.plates[best].area)) // area ≤ 2³², worth ≤ 2⁴⁰
			return int64(q)
		}
		k := of(all)
		for i, pl := range p.plates {
			if fits, big := p.holds(b, i); fits && big {
				k = max(k, y[i]+of(all-uint64(pl.area)))
			}
		}
		v.k = append(v.k, k)
	}
	return v
}

// better reports a/b > c/d.
func better(a, b, c, d int64) bool {
	h1, l1 := bits.Mul64(uint64(a), uint64(d))
	h2, l2 := bits.Mul64(uint64(c), uint64(b))
	return h1 > h2 || h1 == h2 && l1 > l2
}

// exactWorths implements cutter.
func (p *sheetTask) exactWorths(y []int64) (worths, bool) {
	pr := p.programmes()
	if pr == nil {
		return worths{}, false
	}
	v := worths{method: ByPatterns, grid: pr.grid, y: y}
	for _, g := range pr.bins {
		v.k = append(v.k, g.solve(y))
	}
	return v, true
}

// programmes are the guillotine programmes of all bins for a bound.
type programmes struct {
	grid  int
	bins  []*guillotine
	steps int64
	fine  bool // the grid loses nothing: it divides all sides
}

// programmes are the finest guillotine programmes that solve within a share of
// the work allowed; nil where even a coarse grid does not, or loses a side.
// Whoever checks the bound solves them again.
func (p *sheetTask) programmes() *programmes {
	if p.exact != nil {
		return p.exact
	}
	fine := 0
	for _, w := range p.ways {
		fine = qty.GCD(qty.GCD(fine, w.w), w.h)
	}
	for grid, try := fine, 0; try < 40; grid, try = max(grid, 1)+1, try+1 {
		pr := &programmes{grid: grid, fine: grid == fine}
		for b := range p.bins {
			g := p.guillotine(b, grid)
			if g == nil {
				return nil
			}
			pr.bins = append(pr.bins, g)
			pr.steps += g.steps()
		}
		if pr.steps <= p.work.limit/10 {
			p.exact = pr
			return pr
		}
	}
	return nil
}
