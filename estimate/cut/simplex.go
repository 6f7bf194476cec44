package cut

import "math"

// entry is a non-zero of a column.
type entry struct {
	row int
	val float64
}

// lpColumn is a column of the master problem: a pattern, or a slack, surplus or
// makeshift variable.
type lpColumn struct {
	cost    float64
	entries []entry
	pat     *pattern // nil for slack, surplus and makeshift
}

// simplex is a revised primal simplex with an explicit inverse, for
//
//	minimise c·x,  A·x = b,  x ≥ 0,
//
// that starts from a basis known to be feasible and to which columns are added
// as they are found. Rows are few (one a length), columns many. Right-hand
// sides are perturbed by a fixed pattern, far below one piece, so that
// degenerate bases do not cycle.
type simplex struct {
	m     int
	cols  []lpColumn
	basis []int     // column of each row
	inv   []float64 // m×m, row-major
	rhs   []float64 // perturbed
	xb    []float64
	y     []float64
	in    []bool // whether a column is basic
	u     []float64
	since int // pivots since the inverse was computed afresh
	work  *meter
}

const (
	pivotEps   = 1e-9
	reducedEps = 1e-9
	refactor   = 100
)

// newSimplex starts from the columns given, the first m of which form a
// diagonal basis with positive entries.
func newSimplex(rhs []float64, basis []lpColumn, work *meter) *simplex {
	m := len(rhs)
	s := &simplex{
		m: m, cols: basis, basis: make([]int, m), inv: make([]float64, m*m), rhs: make([]float64, m),
		xb: make([]float64, m), y: make([]float64, m), in: make([]bool, len(basis), 4*len(basis)+16), u: make([]float64, m), work: work,
	}
	jitter := newRNG(7)
	for i := range m {
		s.rhs[i] = rhs[i] + 1e-6*(0.5+jitter.float())
		s.basis[i], s.in[i] = i, true
		e := basis[i].entries[0].val
		s.inv[i*m+i] = 1 / e
		s.xb[i] = s.rhs[i] / e
		s.y[i] = basis[i].cost / e
	}
	return s
}

func (s *simplex) add(c lpColumn) {
	s.cols = append(s.cols, c)
	s.in = append(s.in, false)
}

func (s *simplex) reduced(c *lpColumn) float64 {
	r := c.cost
	for _, e := range c.entries {
		r -= s.y[e.row] * e.val
	}
	return r
}

// entering returns the column with the most negative reduced cost, or −1.
func (s *simplex) entering() int {
	best, at := -reducedEps, -1
	n := 0
	for j := range s.cols {
		if s.in[j] {
			continue
		}
		n += len(s.cols[j].entries)
		if r := s.reduced(&s.cols[j]); r < best {
			best, at = r, j
		}
	}
	s.work.spend(int64(n))
	return at
}

// optimise pivots until no column known can improve; false means that the
// arithmetic has failed.
func (s *simplex) optimise() bool {
	for pivots := 0; !s.work.out() && pivots < 50*s.m+1000; pivots++ {
		j := s.entering()
		if j < 0 {
			break
		}
		if !s.pivot(j) {
			return false
		}
	}
	return true
}

// pivot brings column j into the basis; false means that nothing limits it,
// which cannot happen while costs are not negative, or that the arithmetic has
// failed.
func (s *simplex) pivot(j int) bool {
	m, c := s.m, &s.cols[j]
	for i := range m {
		row, v := s.inv[i*m:(i+1)*m], 0.0
		for _, e := range c.entries {
			v += row[e.row] * e.val
		}
		s.u[i] = v
	}
	p, theta := -1, math.Inf(1)
	for i, u := range s.u {
		if u <= pivotEps {
			continue
		}
		t := max(s.xb[i], 0) / u
		if t < theta-1e-12 || t <= theta && p >= 0 && u > s.u[p] {
			p, theta = i, t
		}
	}
	if p < 0 {
		return false
	}
	r := s.reduced(c)
	up := s.u[p]
	prow := s.inv[p*m : (p+1)*m]
	for k := range prow {
		prow[k] /= up
		s.y[k] += r * prow[k]
	}
	n := m
	for i, u := range s.u {
		if i == p || u == 0 {
			continue
		}
		row := s.inv[i*m : (i+1)*m]
		for k, v := range prow {
			row[k] -= u * v
		}
		s.xb[i] -= u * theta
		n += m
	}
	s.xb[p] = theta
	s.in[s.basis[p]], s.in[j] = false, true
	s.basis[p] = j
	s.work.spend(int64(n/2 + m*len(c.entries)))
	if s.since++; s.since >= refactor {
		return s.refresh()
	}
	return true
}

// refresh computes the inverse, the basic solution and the duals afresh from
// the basis, by Gauss–Jordan elimination with partial pivoting.
func (s *simplex) refresh() bool {
	m := s.m
	a := make([]float64, m*m)
	for k, j := range s.basis {
		for _, e := range s.cols[j].entries {
			a[e.row*m+k] = e.val
		}
	}
	if !invert(a, s.inv, m) {
		return false
	}
	s.work.spend(int64(m) * int64(m) * int64(m) / 2)
	s.since = 0
	s.xb = s.solution(s.rhs)
	for k := range m {
		v := 0.0
		for i, j := range s.basis {
			v += s.cols[j].cost * s.inv[i*m+k]
		}
		s.y[k] = v
	}
	return true
}

// invert leaves the inverse of the m × m matrix a, which it uses up, in inv;
// false where it has none.
func invert(a, inv []float64, m int) bool {
	clear(inv)
	for i := range m {
		inv[i*m+i] = 1
	}
	for c := range m {
		p := c
		for i := c + 1; i < m; i++ {
			if math.Abs(a[i*m+c]) > math.Abs(a[p*m+c]) {
				p = i
			}
		}
		if math.Abs(a[p*m+c]) < 1e-12 {
			return false
		}
		if p != c {
			swapRows(a, m, p, c)
			swapRows(inv, m, p, c)
		}
		d := 1 / a[c*m+c]
		ac, ic := a[c*m:(c+1)*m], inv[c*m:(c+1)*m]
		for k := range m {
			ac[k] *= d
			ic[k] *= d
		}
		for i := range m {
			f := a[i*m+c]
			if i == c || f == 0 {
				continue
			}
			ai, ii := a[i*m:(i+1)*m], inv[i*m:(i+1)*m]
			for k := c; k < m; k++ {
				ai[k] -= f * ac[k]
			}
			for k, v := range ic {
				ii[k] -= f * v
			}
		}
	}
	return true
}

func swapRows(a []float64, m, p, q int) {
	for k := range m {
		a[p*m+k], a[q*m+k] = a[q*m+k], a[p*m+k]
	}
}

// solution is the value of the basic variables for a right-hand side.
func (s *simplex) solution(rhs []float64) []float64 {
	x := make([]float64, s.m)
	for i := range x {
		row := s.inv[i*s.m : (i+1)*s.m]
		for k, v := range rhs {
			x[i] += row[k] * v
		}
	}
	return x
}
