package cut

import "slices"

// guillotine is the exact dynamic programme over guillotine patterns with every
// size cut any number of times (Gilmore and Gomory, Operations Research 14
// (1966) 1045 [from memory]): the most worth in every rectangle whose sides are
// sums of sides of pieces. Sides are counted in steps of a grid, rounded down;
// with a step of 1 mm, or one that divides all sides, it is exact.
type guillotine struct {
	p      *sheetTask
	grid   int
	w, h   int       // of the board, in steps
	ways   []lying   // sides in steps; plate is an index into sheetTask.ways here
	xs, ys []int     // sums of sides that matter, from 0 up to the board's side
	xi, yi []int     // place in xs of the largest sum not over a length
	f      [][]int64 // [place in ys][place in xs]
}

// guillotine prepares the programme for one sheet; nil where a side is lost to
// the grid.
func (p *sheetTask) guillotine(bin, grid int) *guillotine {
	b := p.bins[bin]
	g := &guillotine{p: p, grid: grid, w: b.w / grid, h: b.h / grid}
	var ws, hs []int
	for i, v := range p.ways {
		if v.w <= b.w && v.h <= b.h {
			if v.w < grid || v.h < grid {
				return nil
			}
			g.ways = append(g.ways, lying{i, v.w / grid, v.h / grid})
			ws, hs = append(ws, v.w/grid), append(hs, v.h/grid)
		}
	}
	g.xs, g.xi = placesUpTo(ws, g.w)
	g.ys, g.yi = placesUpTo(hs, g.h)
	return g
}

// placesUpTo lists the sums of the lengths up to a limit, without those so near
// the limit that nothing could follow them, and the limit itself; and for every
// length the place of the largest listed sum not over it.
func placesUpTo(lengths []int, limit int) (xs, idx []int) {
	least := limit
	for _, l := range lengths {
		least = min(least, l)
	}
	hit := make([]bool, limit+1)
	hit[0] = true
	for x := 0; x <= limit; x++ {
		for _, l := range lengths {
			if l <= x && hit[x-l] {
				hit[x] = true
				break
			}
		}
		if hit[x] && x <= limit-least || x == limit {
			xs = append(xs, x)
		}
	}
	idx = make([]int, limit+1)
	k := 0
	for x := range idx {
		for k+1 < len(xs) && xs[k+1] <= x {
			k++
		}
		idx[x] = k
	}
	return xs, idx
}

// steps estimates the work of solve.
func (g *guillotine) steps() int64 {
	nx, ny := int64(len(g.xs)), int64(len(g.ys))
	return nx * ny * (nx + ny + 12) / 12
}

// solve fills the table for worths by plate and returns the most in the board.
func (g *guillotine) solve(y []int64) int64 {
	nx, ny := len(g.xs), len(g.ys)
	if g.f == nil {
		g.f = make([][]int64, ny)
		for b := range g.f {
			g.f[b] = make([]int64, nx)
		}
	}
	clear(g.f[0])
	same := make([]bool, ny) // row as the one before
	for b := 1; b < ny; b++ {
		copy(g.f[b], g.f[b-1])
		g.pieces(b, y)
		g.cutsAcross(b, same)
		if slices.Equal(g.f[b], g.f[b-1]) {
			same[b] = true // the row before is closed under vertical cuts already
			continue
		}
		g.cutsAlong(b)
	}
	g.p.work.spend(g.steps())
	return g.f[ny-1][nx-1]
}

// pieces raises a row to the worth of the best single piece.
func (g *guillotine) pieces(b int, y []int64) {
	row := g.f[b]
	for _, v := range g.ways {
		worth := y[g.p.ways[v.plate].plate]
		if worth <= 0 || v.h > g.ys[b] {
			continue
		}
		for a := g.xi[min(v.w, g.w)]; a < len(row); a++ {
			if g.xs[a] >= v.w && row[a] < worth {
				row[a] = worth
			}
		}
	}
}

// cutsAcross raises a row to the best of what a horizontal cut parts into two
// lower rows. One that is the same as the row before it is no better there.
func (g *guillotine) cutsAcross(b int, same []bool) {
	row := g.f[b]
	for l := 1; l < b && 2*g.ys[l] <= g.ys[b]; l++ {
		if same[l] {
			continue
		}
		low, up := g.f[l], g.f[g.yi[g.ys[b]-g.ys[l]]]
		low, up = low[:len(row)], up[:len(row)]
		for a := range row {
			if c := low[a] + up[a]; c > row[a] {
				row[a] = c
			}
		}
	}
}

// cutsAlong raises a row to the best of what a vertical cut parts into two
// narrower places of the same row.
func (g *guillotine) cutsAlong(b int) {
	row := g.f[b]
	for a := 1; a < len(row); a++ {
		v, xa := max(row[a], row[a-1]), g.xs[a]
		for l := 1; l < a && 2*g.xs[l] <= xa; l++ {
			if c := row[l] + row[g.xi[xa-g.xs[l]]]; c > v {
				v = c
			}
		}
		row[a] = v
	}
}

// build rebuilds a best pattern from the table, in the a-th of the widths and the
// b-th of the heights; only for an exact grid.
func (g *guillotine) build(y []int64, a, b int) *tree {
	w, h, best := g.xs[a], g.ys[b], g.f[b][a]
	if best == 0 {
		return leaf(w*g.grid, h*g.grid, -1)
	}
	for _, v := range g.ways {
		if v.w <= w && v.h <= h && y[g.p.ways[v.plate].plate] == best {
			way := g.p.ways[v.plate]
			return padded(leaf(way.w, way.h, v.plate), w*g.grid, h*g.grid)
		}
	}
	for l := 1; l < a; l++ {
		if r := g.xi[w-g.xs[l]]; g.f[b][l]+g.f[b][r] == best {
			return padded(beside(g.build(y, l, b), g.build(y, r, b)), w*g.grid, h*g.grid)
		}
	}
	for l := 1; l < b; l++ {
		if r := g.yi[h-g.ys[l]]; g.f[l][a]+g.f[r][a] == best {
			return padded(above(g.build(y, a, l), g.build(y, a, r)), w*g.grid, h*g.grid)
		}
	}
	// A narrower or lower rectangle holds as much.
	if a > 0 && g.f[b][a-1] == best {
		return padded(g.build(y, a-1, b), w*g.grid, h*g.grid)
	}
	return padded(g.build(y, a, b-1), w*g.grid, h*g.grid)
}
