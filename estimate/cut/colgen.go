package cut

// master is the linear relaxation over patterns: cover what remains of each
// size, use no more of each stock than is left, at least cost. Patterns are
// priced out by a knapsack (1-D) or a guillotine programme (2-D), which the two
// solvers supply; the rest is the same for both.
type master struct {
	rem   []int // demand by item
	left  []int // by bin, or Unlimited
	cost  func(*pattern) float64
	price pricer
	seed  func(i int, rem []int) *pattern // a pattern of item i alone from an unlimited bin, or nil
	work  *meter
}

// pricer returns patterns with negative reduced cost under the duals, best
// first, or none where there are none: y is the worth of an item, z the charge
// on a coil of a finite bin (≤ 0). exact asks for a proof that there is none.
type pricer func(y, z []float64, rem, left []int, exact bool) []*pattern

// missingCost is the cost of leaving a piece uncut, in coils of the dearest
// kind: enough that it never pays.
const missingCost = 1000

// relaxed is a solved master.
type relaxed struct {
	use     []float64 // value of each pattern
	pats    []*pattern
	y, z    []float64 // duals by item and bin
	value   float64
	optimal bool
	missing float64 // pieces left uncut by the relaxation
}

// solve solves the relaxation by column generation, starting from a pool of
// patterns; patterns that cut more than remains are left out, for they could
// never be used whole. maxRounds limits the calls of the pricer.
func (ms *master) solve(pool []*pattern, maxRounds int) relaxed {
	rowOf := make([]int, len(ms.rem))
	binRow := make([]int, len(ms.left))
	var rhs []float64
	var itemAt []int
	for i, d := range ms.rem {
		rowOf[i] = -1
		if d > 0 {
			rowOf[i] = len(rhs)
			itemAt = append(itemAt, i)
			rhs = append(rhs, float64(d))
		}
	}
	for b, n := range ms.left {
		binRow[b] = -1
		if n > 0 {
			binRow[b] = len(rhs)
			rhs = append(rhs, float64(n))
		}
	}
	column := func(t *pattern) lpColumn {
		c := lpColumn{cost: ms.cost(t), pat: t, entries: make([]entry, 0, len(t.item)+1)}
		for j, i := range t.item {
			c.entries = append(c.entries, entry{rowOf[i], float64(t.qty[j])})
		}
		if r := binRow[t.bin]; r >= 0 {
			c.entries = append(c.entries, entry{r, 1})
		}
		return c
	}
	cols := make([]lpColumn, 0, 2*len(rhs)+len(pool))
	for _, i := range itemAt {
		if t := ms.seed(i, ms.rem); t != nil {
			cols = append(cols, column(t))
		} else {
			cols = append(cols, lpColumn{cost: missingCost, entries: []entry{{rowOf[i], 1}}})
		}
	}
	for r := len(itemAt); r < len(rhs); r++ {
		cols = append(cols, lpColumn{entries: []entry{{r, 1}}})
	}
	s := newSimplex(rhs, cols, ms.work)
	for _, i := range itemAt {
		s.add(lpColumn{entries: []entry{{rowOf[i], -1}}}) // cutting more than asked costs nothing
	}
	for _, t := range pool {
		if t.times(ms.rem) > 0 && ms.left[t.bin] != 0 {
			s.add(column(t))
		}
	}
	y, z := make([]float64, len(ms.rem)), make([]float64, len(ms.left))
	optimal := false
	for round := 0; ; round++ {
		sound := true
		for pivots := 0; sound && !ms.work.out() && pivots < 50*s.m+1000; pivots++ {
			j := s.entering()
			if j < 0 {
				break
			}
			if !s.pivot(j) {
				sound = false
			}
		}
		if !sound || round >= maxRounds || ms.work.out() {
			break
		}
		for i, r := range rowOf {
			y[i] = 0
			if r >= 0 {
				y[i] = max(s.y[r], 0)
			}
		}
		for b, r := range binRow {
			z[b] = 0
			if r >= 0 {
				z[b] = min(s.y[r], 0)
			}
		}
		found := ms.price(y, z, ms.rem, ms.left, false)
		if len(found) == 0 {
			optimal = true
			break
		}
		before := len(s.cols)
		for _, t := range found {
			if c := column(t); s.reduced(&c) < -reducedEps {
				s.add(c)
			}
		}
		if len(s.cols) == before {
			optimal = true
			break
		}
	}
	s.refresh()
	r := relaxed{y: y, z: z, value: s.value(rhs), optimal: optimal}
	for i, ro := range rowOf {
		y[i] = 0
		if ro >= 0 {
			y[i] = max(s.y[ro], 0)
		}
	}
	for b, ro := range binRow {
		z[b] = 0
		if ro >= 0 {
			z[b] = min(s.y[ro], 0)
		}
	}
	x := s.solution(rhs)
	for k, j := range s.basis {
		switch t := s.cols[j].pat; {
		case t != nil && x[k] > 1e-9:
			r.pats = append(r.pats, t)
			r.use = append(r.use, x[k])
		case t == nil && s.cols[j].cost > 0:
			r.missing += max(x[k], 0)
		}
	}
	return r
}
