package cut

import "slices"

// sheetRelax is the linear relaxation over layouts with its pool.
type sheetRelax struct {
	s     *sheetSearch
	scale float64 // dearest sheet: costs are stated in it
	pool  []*pattern
	seen  map[string]bool
	quick []*guillotine // by board: thinned programmes
	exact *programmes   // nil where too long
	root  bool          // solving for the bound: sizes may be cut any number of times
	tries int           // exact programmes still to be solved
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
// nothing, the thinned guillotine programme; at the root, where that finds
// nothing either, the exact one, which gives a bound each time.
func (r *sheetRelax) price(y, z []float64, rem, left []int, _ bool) []*pattern {
	p := r.s.p
	floor := func(b int) float64 { return float64(p.boards[b].cost)/r.scale - z[b] + 1e-7 }
	limit := rem
	if r.root {
		limit = make([]int, len(rem))
		for i := range limit {
			limit[i] = maxRects
		}
	}
	var out []*pattern
	for b := range p.boards {
		if left[b] == 0 {
			continue
		}
		for _, t := range (strips{p}).best(b, y, limit) {
			if t.value > floor(b) {
				out = append(out, t.pattern)
			}
		}
	}
	if len(out) == 0 {
		out = r.programmed(r.quick, y, limit, left, floor)
	}
	if len(out) == 0 && r.root && r.exact != nil && r.tries > 0 {
		r.tries--
		r.s.prove(r.exact.worths(p, y))
		if r.exact.exact && !r.s.proven() {
			out = r.programmed(r.exact.boards, y, limit, left, floor)
		}
	}
	for _, t := range out {
		r.keep(t)
	}
	return out
}

// programmed prices by guillotine programmes.
func (r *sheetRelax) programmed(gs []*guillotine, y []float64, limit, left []int, floor func(b int) float64) []*pattern {
	p := r.s.p
	const scale = 1 << 32
	v := make([]int64, len(y))
	for i := range y {
		if limit[i] > 0 {
			v[i] = int64(y[i] * scale)
		}
	}
	var out []*pattern
	for b, g := range gs {
		if left[b] == 0 || float64(g.solve(v))/scale <= floor(b) {
			continue
		}
		bd := p.boards[b]
		t := p.limitedPattern(p.sheetPattern(b, padded(g.tree(v), bd.w, bd.h)), limit)
		worth := 0.0
		for j, i := range t.item {
			worth += float64(t.qty[j]) * y[i]
		}
		if worth > floor(b) {
			out = append(out, t)
		}
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
	for b := range p.boards {
		r.quick = append(r.quick, p.newGuillotine(b, p.fineGrid(), 160))
	}
	if pr, ok := p.programmes(p.work.limit / 10); ok {
		r.exact = &pr
		r.tries = int(p.work.limit / 4 / pr.steps)
	}
	// The bound may take half the budget; diving needs the other half.
	r.root = true
	limit := p.work.limit
	p.work.limit = p.work.used + (limit-p.work.used)/2
	root := r.solve(p.demand(), p.stockLeft(), 400)
	p.work.limit = limit
	r.root = false
	if r.exact != nil {
		s.prove(r.exact.worths(p, root.y))
	}
	var v *pooled
	finish := func(taken []use, rem, left []int) {
		if s.best.missing == 0 && !s.proven() {
			toBeat := s.best.cost
			for _, u := range taken {
				toBeat -= int64(u.n) * p.boards[u.bin].cost
			}
			if rest := v.complete(rem, left, toBeat, 1000); rest != nil {
				s.offer("column generation and search of the layouts", append(slices.Clone(taken), rest...))
			}
		}
		for _, fill := range []fillSheet{s.byStrips, s.byAll} {
			uses := s.run(slices.Clone(rem), slices.Clone(left), fill)
			s.offer("column generation", append(slices.Clone(taken), uses...))
			if len(uses) == 0 {
				return
			}
		}
	}
	// Where sizes are few in number, the root cuts some more often than asked;
	// dive from the relaxation that does not.
	if !s.proven() && slices.ContainsFunc(root.pats, func(t *pattern) bool { return t.times(p.demand()) == 0 }) {
		root = r.solve(p.demand(), p.stockLeft(), 200)
	}
	polish := newRNG(8)
	d := diver{solve: r.solve, trim: p.limitedPattern, finish: finish, done: s.proven, work: p.work}
	rand := newRNG(3)
	for n := 0; n < 20 && !s.proven() && !p.work.out(); n++ {
		v = newPooled(r.pool, func(t *pattern) int64 { return p.boards[t.bin].cost }, root, r.scale, p.limitedPattern, p.work)
		d.dive(root, p.demand(), p.stockLeft(), 0.3*float64(min(n, 3)), rand)
		s.polish(2000, polish)
	}
}
