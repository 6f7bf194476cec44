package cut

import "slices"

// sheetRelax is the linear relaxation over layouts with its pool.
type sheetRelax struct {
	s     *sheetSearch
	scale float64 // dearest sheet: costs are stated in it
	pool  []*pattern
	seen  map[string]bool
	exact *programmes // priced by as well, where quick enough
}

func (r *sheetRelax) cost(t *pattern) float64 {
	return float64(r.s.p.boards[t.bin].cost) / r.scale
}

func (r *sheetRelax) keep(t *pattern) {
	if k := t.key(); !r.seen[k] {
		r.seen[k] = true
		r.pool = append(r.pool, t)
	}
}

// price implements pricer: strips both ways on every board; where strips find
// nothing and the guillotine programme is quick, that.
func (r *sheetRelax) price(y, z []float64, rem, left []int, _ bool) []*pattern {
	p := r.s.p
	var out []*pattern
	for b := range p.boards {
		if left[b] == 0 {
			continue
		}
		floor := float64(p.boards[b].cost)/r.scale - z[b]
		for _, t := range (strips{p}).best(b, y, rem) {
			if t.value > floor+1e-7 {
				out = append(out, t.pattern)
			}
		}
		if len(out) == 0 && r.exact != nil {
			g := r.exact.boards[b]
			v := make([]int64, len(y))
			for i := range y {
				if rem[i] > 0 {
					v[i] = int64(y[i] * (1 << 32))
				}
			}
			if best := g.solve(v); float64(best)/(1<<32) > floor+1e-7 {
				bd := p.boards[b]
				t := p.sheetPattern(b, padded(g.tree(v), bd.w, bd.h))
				out = append(out, p.limitedPattern(t, rem))
			}
		}
	}
	for _, t := range out {
		r.keep(t)
	}
	return out
}

// seed is the board that yields one size alone most cheaply.
func (r *sheetRelax) seed(i int, rem []int) *pattern {
	p := r.s.p
	v := make([]float64, len(p.plates))
	v[i] = 1
	var best *pattern
	bestRate := 0.0
	for b := range p.boards {
		if p.boards[b].count != Unlimited {
			continue
		}
		for _, t := range (strips{p}).best(b, v, rem) {
			if rate := t.value / r.cost(t.pattern); rate > bestRate {
				best, bestRate = t.pattern, rate
			}
		}
	}
	return best
}

func (r *sheetRelax) solve(rem, left []int, rounds int) relaxed {
	ms := &master{rem: rem, left: left, cost: r.cost, seed: r.seed, work: r.s.p.work, price: r.price}
	return ms.solve(r.pool, rounds)
}

// columns closes the gap by column generation.
func (s *sheetSearch) columns() {
	p := s.p
	r := &sheetRelax{s: s, seen: map[string]bool{}}
	for _, b := range p.boards {
		r.scale = max(r.scale, float64(b.cost))
	}
	for _, u := range s.best.uses {
		r.keep(u.pattern)
	}
	if pr, ok := p.programmes(p.work.limit / 200); ok && pr.exact {
		r.exact = &pr
	}
	root := r.solve(p.demand(), p.stockLeft(), 400)
	if pr, ok := p.programmes((p.work.limit - p.work.used) / 3); ok {
		s.prove(pr.worths(p, root.y, root.value))
	}
	finish := func(taken []use, rem, left []int) {
		for _, fill := range []fillSheet{s.byStrips, s.byAll} {
			uses := s.run(slices.Clone(rem), slices.Clone(left), fill)
			s.offer("column generation", append(slices.Clone(taken), uses...))
			if len(uses) == 0 {
				return
			}
		}
	}
	d := diver{solve: r.solve, trim: p.limitedPattern, finish: finish, done: s.proven, work: p.work}
	rand := newRNG(3)
	for n := 0; n < 20 && !s.proven() && !p.work.out(); n++ {
		d.dive(root, p.demand(), p.stockLeft(), 0.3*float64(min(n, 3)), rand)
	}
}
