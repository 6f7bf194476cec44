package cut

import (
	"cmp"
	"slices"
)

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

// dive turns the relaxation into whole patterns: take the whole part of every
// pattern, then one more of the pattern with the largest fraction, and solve
// again for what remains. After each step the rest is also completed by rules
// of thumb, and every complete plan is offered. wander > 0 lets the choice of
// pattern stray, for dives after the first.
func (r *relax) dive(name string, wander float64, rand *rng) {
	s := r.s
	p := s.p
	rem, left := p.demand(), p.stockLeft()
	var taken []use
	take := func(t *pattern, n int) {
		if k := left[t.bin]; k != Unlimited {
			n = min(n, k)
			left[t.bin] -= n
		}
		if n > 0 {
			t.take(rem, n)
			taken = append(taken, use{t, n})
		}
	}
	rel := r.root
	for !p.work.out() {
		for k, t := range rel.pats {
			if n := min(int(rel.use[k]+1e-6), t.times(rem)); n > 0 {
				take(t, n)
				rel.use[k] -= float64(n)
			}
		}
		more := 0
		for _, n := range rem {
			more += n
		}
		s.finish(name, taken, rem, left)
		if more == 0 || s.satisfied() {
			return
		}
		best, bestFrac := -1, 0.0
		for k, t := range rel.pats {
			f := rel.use[k] + wander*rand.float()
			if f > bestFrac && left[t.bin] != 0 && t.trimmed(p, rem).used > 0 {
				best, bestFrac = k, f
			}
		}
		if best < 0 {
			return
		}
		take(rel.pats[best].trimmed(p, rem), 1)
		rel = r.solve(rem, left, 60)
	}
}

// finish completes a part of a plan by rules of thumb and offers the result.
func (s *search) finish(name string, taken []use, rem, left []int) {
	p := s.p
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
	return s.proven() && (s.p.keep == 0 || s.best.scrap == 0)
}

// fewerPatterns joins patterns where two can be replaced by one cut as often as
// both together, or by their exchange, without touching the rest of the score.
func (p *problem) fewerPatterns(sol solution) solution {
	uses := slices.Clone(sol.uses)
	slices.SortStableFunc(uses, func(a, b use) int { return cmp.Compare(a.n, b.n) })
	for again := true; again && !p.work.out(); {
		again = false
	pairs:
		for i := range uses {
			for j := i + 1; j < len(uses); j++ {
				p.work.spend(8)
				t := p.join(uses[i], uses[j])
				if t == nil {
					continue
				}
				next := slices.Clone(uses)
				next[j] = use{t, uses[i].n + uses[j].n}
				next = slices.Delete(next, i, i+1)
				if s := p.solution(next); s.compare(sol.score) < 0 {
					sol, uses, again = s, next, true
					break pairs
				}
			}
		}
	}
	return sol
}

// join is the pattern that, cut a.n + b.n times, yields the same as a and b
// together; nil if there is none.
func (p *problem) join(a, b use) *pattern {
	if a.bin != b.bin {
		return nil
	}
	n := a.n + b.n
	t := &pattern{bin: a.bin}
	for i, j := 0, 0; i < len(a.item) || j < len(b.item); {
		var it int32
		sum := 0
		switch {
		case j == len(b.item) || i < len(a.item) && a.item[i] < b.item[j]:
			it, sum = a.item[i], int(a.qty[i])*a.n
			i++
		case i == len(a.item) || b.item[j] < a.item[i]:
			it, sum = b.item[j], int(b.qty[j])*b.n
			j++
		default:
			it, sum = a.item[i], int(a.qty[i])*a.n+int(b.qty[j])*b.n
			i++
			j++
		}
		if sum%n != 0 {
			return nil
		}
		t.add(p, int(it), sum/n)
	}
	if t.used > p.bins[t.bin].cap {
		return nil
	}
	return t
}
