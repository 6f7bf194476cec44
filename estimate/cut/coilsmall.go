package cut

import "slices"

// small completes a plan whose rest is a handful of pieces by trying every
// place for each, longest first: in a coil already open or in a new one of any
// kind. It is a depth-first search cut off by cost and by a number of steps, so
// its answer is good but, cut short, not always best.
type small struct {
	p      *coilTask
	pieces []int // items, longest first
	left   []int
	open   []smallCoil
	best   []smallCoil
	cost   int64 // to beat; −1 at first
	spare  int   // room in the open coils
	rate   float64
	steps  int
}

type smallCoil struct {
	bin, room int
	items     []int
}

// handfulOf is the number of pieces up to which everything is tried.
const handfulOf = 14

// handful implements cutter.
func (p *coilTask) handful(rem, left []int, toBeat int64, steps int) (uses []use, whole bool) {
	v := &small{p: p, left: slices.Clone(left), cost: toBeat, steps: steps}
	width := 0
	for i, n := range rem {
		for range min(n, handfulOf+1) {
			v.pieces = append(v.pieces, i)
			width += p.items[i].w
		}
		if len(v.pieces) > handfulOf {
			return nil, false
		}
	}
	if len(v.pieces) == 0 {
		return nil, false
	}
	for b := range p.bins {
		if r := float64(p.bins[b].cost) / float64(p.bins[b].cap); b == 0 || r < v.rate {
			v.rate = r
		}
	}
	v.try(0, -1, width, 0)
	p.work.spend(int64(20 * (steps - v.steps)))
	whole = v.steps >= 0
	if v.best == nil {
		return nil, whole
	}
	for _, c := range v.best {
		t := &pattern{bin: c.bin}
		for k := 0; k < len(c.items); {
			n := k
			for n < len(c.items) && c.items[n] == c.items[k] {
				n++
			}
			p.add(t, c.items[k], n-k)
			k = n
		}
		uses = append(uses, use{t, 1})
	}
	return uses, whole
}

// try places piece k and all after it; from is the coil that took the piece
// before, −1 if that was a different length: equal pieces go into coils in
// order, so that no choice is tried twice.
func (v *small) try(k, from, width int, cost int64) {
	if v.steps--; v.steps < 0 {
		return
	}
	if v.cost >= 0 && float64(cost)+v.rate*float64(max(width-v.spare, 0)) > float64(v.cost)-0.5 {
		return
	}
	if k == len(v.pieces) {
		v.cost = cost
		v.best = make([]smallCoil, len(v.open))
		for i, c := range v.open {
			v.best[i] = smallCoil{c.bin, c.room, slices.Clone(c.items)}
		}
		return
	}
	i := v.pieces[k]
	w := v.p.items[i].w
	same := k+1 < len(v.pieces) && v.pieces[k+1] == i
	put := func(c int, cost int64) {
		next := -1
		if same {
			next = c
		}
		o := &v.open[c]
		o.room -= w
		v.spare -= w
		o.items = append(o.items, i)
		v.try(k+1, next, width-w, cost)
		o = &v.open[c]
		o.items = o.items[:len(o.items)-1]
		o.room += w
		v.spare += w
	}
	for c := max(from, 0); c < len(v.open); c++ {
		twin := false
		for e := max(from, 0); e < c && !twin; e++ {
			twin = v.open[e].room == v.open[c].room && from < 0
		}
		if !twin && v.open[c].room >= w {
			put(c, cost)
		}
	}
	for b := range v.p.bins {
		bn := &v.p.bins[b]
		if bn.cap < w || v.left[b] == 0 {
			continue
		}
		if v.left[b] > 0 {
			v.left[b]--
		}
		v.open = append(v.open, smallCoil{bin: b, room: bn.cap})
		v.spare += bn.cap
		put(len(v.open)-1, cost+bn.cost)
		v.spare -= bn.cap
		v.open = v.open[:len(v.open)-1]
		if v.left[b] >= 0 {
			v.left[b]++
		}
	}
}
