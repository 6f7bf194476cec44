package cut

import "slices"

// pricing is the part of the linear relaxation over patterns that differs
// between coils and sheets.
type pricing interface {
	cost(t *pattern) float64
	// seed is a pattern of one size alone from an unlimited bin, or nil.
	seed(size int, rem []int) *pattern
	// price returns patterns with negative reduced cost, or none where it finds
	// none: y is the worth of a size, z the charge on one of a finite bin (≤ 0).
	// free asks for the bound: as exactly as work allows, and by patterns as the
	// bound has them.
	price(y, z []float64, rem, left []int, free bool) []*pattern
}

// missingCost is the cost of leaving a piece uncut, in coils of the dearest
// kind: enough that it never pays.
const missingCost = 1000

// relaxed is a solved relaxation.
type relaxed struct {
	use     []float64 // value of each pattern
	pats    []*pattern
	y       []float64 // duals by size
	missing float64   // pieces left uncut
}

// relax is the linear relaxation over patterns: cover what remains of each
// size, use no more of each stock than is left, at least cost. Patterns are
// added as pricing finds them and kept between dives.
type relax struct {
	s *search
	pricing
	pool []*pattern
	seen map[string]bool
	root relaxed
}

// relax solves the relaxation of the whole demand and proves what it bounds.
func (s *search) relax(p pricing, pool []*pattern) *relax {
	r := &relax{s: s, pricing: p, seen: map[string]bool{}}
	r.keep(pool)
	for _, u := range s.best.uses {
		r.keep([]*pattern{u.pattern})
	}
	// The root may take half of the work allowed; diving needs the other half.
	limit := s.work.limit
	s.work.limit = s.work.used + (limit-s.work.used)/2
	r.root = r.solve(s.demand, s.stockLeft(), 20*len(s.demand)+500, true)
	s.work.limit = limit
	if v, ok := s.exactWorths(s.scaled(r.root.y)); ok && !s.proven() {
		s.prove(v)
	}
	if slices.ContainsFunc(r.root.pats, func(t *pattern) bool { return t.times(s.demand) == 0 }) && !s.proven() {
		r.root = r.solve(s.demand, s.stockLeft(), 200, false) // without what cannot be used whole
	}
	return r
}

// scaled are duals as whole numbers, rounded down, such that all demand
// together stays well within 64 bits.
func (t *task) scaled(y []float64) []int64 {
	value := 1.0
	for i := range y {
		value += y[i] * float64(t.demand[i])
	}
	scale := float64(1 << 32)
	for scale*value > 1<<60 {
		scale /= 2
	}
	out := make([]int64, len(y))
	for i := range y {
		out[i] = int64(y[i] * scale)
	}
	return out
}

func (r *relax) keep(ts []*pattern) {
	for _, t := range ts {
		if k := t.key(); !r.seen[k] {
			r.seen[k] = true
			r.pool = append(r.pool, t)
		}
	}
}

// rows numbers the rows of the master problem: sizes that remain, then finite
// bins; −1 where there is none.
type rows struct {
	size, bin []int
	rhs       []float64
}

func newRows(rem, left []int) rows {
	var w rows
	number := func(of []int) (at []int) {
		for _, n := range of {
			if n <= 0 {
				at = append(at, -1)
				continue
			}
			at = append(at, len(w.rhs))
			w.rhs = append(w.rhs, float64(n))
		}
		return at
	}
	w.size = number(rem)
	w.bin = number(left)
	return w
}

func (w *rows) column(t *pattern, cost float64) lpColumn {
	c := lpColumn{cost: cost, pat: t, entries: make([]entry, 0, len(t.size)+1)}
	for j, i := range t.size {
		c.entries = append(c.entries, entry{w.size[i], float64(t.qty[j])})
	}
	if r := w.bin[t.bin]; r >= 0 {
		c.entries = append(c.entries, entry{r, 1})
	}
	return c
}

// duals are the prices of sizes and of finite bins.
func (w *rows) duals(s *simplex) (y, z []float64) {
	y, z = make([]float64, len(w.size)), make([]float64, len(w.bin))
	for i, r := range w.size {
		if r >= 0 {
			y[i] = max(s.y[r], 0)
		}
	}
	for b, r := range w.bin {
		if r >= 0 {
			z[b] = min(s.y[r], 0)
		}
	}
	return y, z
}

// solve solves the relaxation of what remains by column generation, starting
// from the pool; patterns that cut more than remains are left out, for they
// could never be used whole. maxRounds limits the rounds of pricing.
func (r *relax) solve(rem, left []int, maxRounds int, free bool) relaxed {
	w := newRows(rem, left)
	work := r.s.work
	var basis []lpColumn
	for i, row := range w.size {
		if row < 0 {
			continue
		}
		if t := r.seed(i, rem); t != nil {
			basis = append(basis, w.column(t, r.cost(t)))
		} else {
			basis = append(basis, lpColumn{cost: missingCost, entries: []entry{{row, 1}}})
		}
	}
	for row := len(basis); row < len(w.rhs); row++ {
		basis = append(basis, lpColumn{entries: []entry{{row, 1}}})
	}
	s := newSimplex(w.rhs, basis, work)
	for _, row := range w.size {
		if row >= 0 { // cutting more than asked costs nothing
			s.add(lpColumn{entries: []entry{{row, -1}}})
		}
	}
	for _, t := range r.pool {
		if t.times(rem) > 0 && left[t.bin] != 0 {
			s.add(w.column(t, r.cost(t)))
		}
	}
	for round := 0; s.optimise(); round++ {
		if round >= maxRounds || work.out() {
			break
		}
		y, z := w.duals(s)
		found := r.price(y, z, rem, left, free)
		r.keep(found)
		before := len(s.cols)
		for _, t := range found {
			if c := w.column(t, r.cost(t)); s.reduced(&c) < -reducedEps {
				s.add(c)
			}
		}
		if len(s.cols) == before {
			break
		}
	}
	s.refresh()
	var out relaxed
	out.y, _ = w.duals(s)
	for k, x := range s.solution(w.rhs) {
		switch c := &s.cols[s.basis[k]]; {
		case c.pat != nil && x > 1e-9:
			out.pats = append(out.pats, c.pat)
			out.use = append(out.use, x)
		case c.pat == nil && c.cost > 0:
			out.missing += max(x, 0)
		}
	}
	return out
}

// dive turns a relaxation, of all demand within the stock left, into whole
// patterns: it takes the whole part of
// every pattern, then one more of the pattern with the largest fraction, and
// solves again for what remains. After each step the rest is also completed by
// rules of thumb. wander > 0 lets the choice of pattern stray, for dives after
// the first.
func (r *relax) dive(name string, left []int, root relaxed, wander float64, rand *rng) {
	d := dive{s: r.s, rem: slices.Clone(r.s.demand), left: left, wander: wander, rand: rand}
	for rel, level := root, 0; !d.s.work.out(); level++ {
		d.whole(&rel, level == 0)
		d.s.finish(name, d.taken, d.rem, left)
		if slices.Max(d.rem) == 0 || d.s.satisfied() {
			return
		}
		next := d.largest(&rel)
		if next == nil {
			return
		}
		d.take(next, 1)
		rel = r.solve(d.rem, left, 60, false)
	}
}

// dive is what a dive has taken so far and what is left.
type dive struct {
	s         *search
	rem, left []int
	taken     []use
	wander    float64
	rand      *rng
}

func (d *dive) take(t *pattern, n int) {
	if k := d.left[t.bin]; k != Unlimited {
		n = min(n, k)
		d.left[t.bin] -= n
	}
	if n > 0 {
		t.take(d.rem, n)
		d.taken = append(d.taken, use{t, n})
	}
}

// whole takes every pattern as often as the relaxation does, rounded down, and
// leaves the relaxation the fractions.
func (d *dive) whole(rel *relaxed, first bool) {
	rel.use = slices.Clone(rel.use)
	for k, t := range rel.pats {
		use := rel.use[k] + 1e-6
		if first && d.wander > 0 {
			use -= 2 * d.wander * d.rand.float() // leave the later dives more to choose
		}
		if n := min(int(use), t.times(d.rem)); n > 0 {
			d.take(t, n)
			rel.use[k] -= float64(n)
		}
	}
}

// largest is the pattern of the largest fraction, within what remains; nil where
// none is left.
func (d *dive) largest(rel *relaxed) *pattern {
	var best *pattern
	most := 0.0
	for k, t := range rel.pats {
		f := rel.use[k]
		if d.wander > 0 {
			f += d.wander * d.rand.float()
		}
		if f > most && d.left[t.bin] != 0 {
			if t = d.s.limited(t, d.rem); len(t.size) > 0 {
				best, most = t, f
			}
		}
	}
	return best
}
