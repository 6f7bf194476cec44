package cut

import "slices"

// relax is the linear relaxation with its pool of patterns, kept between dives.
type relax struct {
	s    *search
	cp   *coilPricer
	pool []*pattern
	seen map[string]bool
	root relaxed
}

// newRelax solves the relaxation of the whole demand.
func (s *search) newRelax(cp *coilPricer, pool []*pattern) *relax {
	r := &relax{s: s, cp: cp, seen: map[string]bool{}}
	r.keep(pool)
	p := s.p
	r.root = r.solve(p.demand(), p.stockLeft(), 20*len(p.items)+500)
	return r
}

func (r *relax) keep(ts []*pattern) {
	for _, t := range ts {
		if k := t.key(); !r.seen[k] {
			r.seen[k] = true
			r.pool = append(r.pool, t)
		}
	}
}

func (r *relax) solve(rem, left []int, rounds int) relaxed {
	ms := &master{
		rem: rem, left: left, cost: r.cp.cost, seed: r.cp.seed, work: r.s.p.work,
		price: func(y, z []float64, rem, left []int, exact bool) []*pattern {
			found := r.cp.price(y, z, rem, left, exact)
			r.keep(found)
			return found
		},
	}
	return ms.solve(r.pool, rounds)
}

// worths are the integer worths that the relaxation's duals give: scaled and
// rounded down, with the knapsack solved again in integers.
func (r *relax) worths() (worths, bool) {
	p := r.s.p
	scale := float64(1 << 32)
	for scale*(r.root.value+1) > 1<<60 {
		scale /= 2
	}
	v := worths{y: make([]int64, len(p.items)), name: "linear relaxation"}
	for i, y := range r.root.y {
		v.y[i] = int64(y * scale)
	}
	k, ok := p.knapsackWorths(v.y)
	v.k = k
	return v, ok
}

// completer searches the pool as it stands for the rest of a plan.
func (r *relax) completer() *pooled {
	p := r.s.p
	return newPooled(r.pool, func(t *pattern) int64 { return p.bins[t.bin].cost }, r.root, r.cp.scale,
		func(t *pattern, rem []int) *pattern { return t.trimmed(p, rem) }, p.work)
}

// dive dives once from the relaxation of the whole demand.
func (r *relax) dive(name string, wander float64, rand *rng) {
	s, p := r.s, r.s.p
	v := r.completer()
	d := diver{
		solve: r.solve,
		trim:  func(t *pattern, rem []int) *pattern { return t.trimmed(p, rem) },
		finish: func(taken []use, rem, left []int) {
			s.finish(name, taken, rem, left)
			if s.best.missing > 0 || s.proven() {
				return
			}
			toBeat := s.best.cost
			for _, u := range taken {
				toBeat -= int64(u.n) * p.bins[u.bin].cost
			}
			if rest := v.complete(rem, left, toBeat, 3000); rest != nil {
				s.offer(name+" and search of the patterns", p.solution(append(slices.Clone(taken), rest...)))
			}
		},
		done: s.satisfied,
		work: p.work,
	}
	d.dive(r.root, p.demand(), p.stockLeft(), wander, rand)
}

// finish completes a part of a plan by rules of thumb, and where little is left
// by trying everything, and offers the results.
func (s *search) finish(name string, taken []use, rem, left []int) {
	p := s.p
	defer func() {
		if !s.proven() {
			s.finishSmall(name, taken, rem, left, 2000)
		}
	}()
	for k, fill := range []choose{
		func(f *filler, b int) *pattern { return f.largestFirst(b) },
		func(f *filler, b int) *pattern { return f.fullest(b, 0, 300) },
	} {
		f := p.newFiller(slices.Clone(rem), slices.Clone(left))
		if f.more == 0 && k > 0 {
			return
		}
		uses := append(slices.Clone(taken), f.run(fill)...)
		s.offer(name, p.solution(uses))
	}
}

// satisfied reports that a dive has nothing left to gain: cost proven least and
// no scrap to save.
func (s *search) satisfied() bool {
	return (s.proven() || s.settled) && (s.p.keep == 0 || s.best.scrap == 0)
}
