package cut

import (
	"cmp"
	"slices"
)

// strips fills boards in stages: the board is cut into strips, each strip across
// into stacks, each stack into pieces of one size, trimmed to the strip. Each
// stage is a knapsack, so the choice is the best of its kind (Gilmore and
// Gomory, Operations Research 13 (1965) 94 [from memory]).
type strips struct {
	p *sheetTask
}

// stack is n pieces of a way on top of each other in a strip.
type stack struct {
	way, n int
}

// strip is a filled strip, lying along the board's W side (or its H side where
// the board is seen transposed).
type strip struct {
	height int
	value  float64
	stacks []stack // left to right
	count  []int   // pieces by plate
}

// valued is a pattern with what it is worth.
type valued struct {
	*pattern
	value float64
}

// best returns the most valuable fillings of a board with strips in either
// direction, the better first, by the worth of each plate, using no more pieces
// than remain.
func (s strips) best(bin int, v []float64, rem []int) []valued {
	b := s.p.bins[bin]
	var out []valued
	if t, value := s.along(b.w, b.h, false, v, rem); t != nil {
		out = append(out, valued{s.p.pattern(bin, padded(t, b.w, b.h)), value})
	}
	if t, value := s.along(b.h, b.w, true, v, rem); t != nil {
		out = append(out, valued{s.p.pattern(bin, padded(t, b.w, b.h)), value})
	}
	if len(out) == 2 && out[1].value > out[0].value {
		out[0], out[1] = out[1], out[0]
	}
	return out
}

// along fills length × depth with strips along the length. turned says that the
// board is seen transposed.
func (s strips) along(length, depth int, turned bool, v []float64, rem []int) (*tree, float64) {
	rem = slices.Clone(rem)
	var out *tree
	total := 0.0
	for depth > 0 {
		chosen := s.layers(length, depth, turned, v, rem)
		if len(chosen) == 0 {
			break
		}
		// Take strips as long as their pieces remain; then choose again.
		taken := 0
		for _, st := range chosen {
			if !enough(st.count, rem) {
				break
			}
			for i, n := range st.count {
				rem[i] -= n
			}
			t := s.tree(st, length, turned)
			switch {
			case out == nil:
				out = t
			case turned:
				out = beside(out, t)
			default:
				out = above(out, t)
			}
			depth -= st.height
			total += st.value
			taken++
		}
		if taken == len(chosen) || taken == 0 {
			break
		}
	}
	return out, total
}

func enough(count, rem []int) bool {
	for i, n := range count {
		if n > rem[i] {
			return false
		}
	}
	return true
}

// layers chooses the best strips for a depth by an unbounded knapsack over the
// best strip of each height.
func (s strips) layers(length, depth int, turned bool, v []float64, rem []int) []strip {
	p := s.p
	var heights []int
	for _, w := range p.ways {
		if h := across(w, turned); rem[w.plate] > 0 && v[w.plate] > 0 && h <= depth && span(w, turned) <= length {
			heights = append(heights, h)
		}
	}
	slices.Sort(heights)
	heights = slices.Compact(heights)
	var kinds []strip
	for _, h := range heights {
		st := s.fill(length, h, turned, v, rem)
		if st.value <= 0 || len(kinds) > 0 && st.value <= kinds[len(kinds)-1].value {
			continue
		}
		kinds = append(kinds, st)
	}
	best := make([]float64, depth+1)
	from := make([]int, depth+1)
	for x := 1; x <= depth; x++ {
		best[x], from[x] = best[x-1], -1
		for k := range kinds {
			if h := kinds[k].height; h <= x && best[x-h]+kinds[k].value > best[x]+1e-12 {
				best[x], from[x] = best[x-h]+kinds[k].value, k
			}
		}
	}
	p.work.spend(int64(depth * len(kinds)))
	var chosen []strip
	for x := depth; x > 0; {
		if from[x] < 0 {
			x--
			continue
		}
		chosen = append(chosen, kinds[from[x]])
		x -= kinds[from[x]].height
	}
	slices.SortStableFunc(chosen, func(a, b strip) int { return cmp.Compare(b.value, a.value) })
	return chosen
}

func span(w lying, turned bool) int {
	if turned {
		return w.h
	}
	return w.w
}

func across(w lying, turned bool) int {
	if turned {
		return w.w
	}
	return w.h
}

// fill fills one strip by a bounded knapsack over stacks.
func (s strips) fill(length, height int, turned bool, v []float64, rem []int) strip {
	p := s.p
	type option struct {
		way, n int // a stack of n, or several side by side
		times  int
		w      int
		v      float64
		again  bool // any number of times
	}
	var opts []option
	for i, w := range p.ways {
		n := min(height/max(across(w, turned), 1), rem[w.plate])
		wide := span(w, turned)
		if n < 1 || v[w.plate] <= 0 || wide > length {
			continue
		}
		copies, room := rem[w.plate]/n, length/wide
		if copies >= room {
			opts = append(opts, option{i, n, 1, wide, float64(n) * v[w.plate], true})
			continue
		}
		for lot := 1; copies > 0; lot *= 2 {
			lot = min(lot, copies)
			copies -= lot
			opts = append(opts, option{i, n, lot, lot * wide, float64(lot*n) * v[w.plate], false})
		}
	}
	best := make([]float64, length+1)
	words := length/64 + 1
	taken := make([]uint64, len(opts)*words)
	for o, op := range opts {
		bits := taken[o*words : (o+1)*words]
		if op.again {
			for x := op.w; x <= length; x++ {
				if c := best[x-op.w] + op.v; c > best[x]+1e-12 {
					best[x] = c
					bits[x/64] |= 1 << (x % 64)
				}
			}
			continue
		}
		for x := length; x >= op.w; x-- {
			if c := best[x-op.w] + op.v; c > best[x]+1e-12 {
				best[x] = c
				bits[x/64] |= 1 << (x % 64)
			}
		}
	}
	p.work.spend(int64(len(opts) * length))
	st := strip{height: height, value: best[length], count: make([]int, len(p.plates))}
	x := length
	for o := len(opts) - 1; o >= 0; {
		op := opts[o]
		if taken[o*words+x/64]>>(x%64)&1 == 0 {
			o--
			continue
		}
		for range op.times {
			st.stacks = append(st.stacks, stack{op.way, op.n})
		}
		st.count[p.ways[op.way].plate] += op.n * op.times
		x -= op.w
		if !op.again {
			o--
		}
	}
	return st
}

// tree builds a strip, waste at its end.
func (s strips) tree(st strip, length int, turned bool) *tree {
	stacked, lined := above, beside
	if turned {
		stacked, lined = beside, above
	}
	var out *tree
	for _, sk := range st.stacks {
		w := s.p.ways[sk.way]
		col := leaf(w.w, w.h, sk.way)
		for range sk.n - 1 {
			col = stacked(col, leaf(w.w, w.h, sk.way))
		}
		if turned {
			col = padded(col, st.height, col.h)
		} else {
			col = padded(col, col.w, st.height)
		}
		if out == nil {
			out = col
		} else {
			out = lined(out, col)
		}
	}
	if turned {
		return padded(out, st.height, length)
	}
	return padded(out, length, st.height)
}
