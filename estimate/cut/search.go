package cut

import (
	"cmp"
	"slices"

	"github.com/shopspring/decimal"
)

// search holds the best plan and the best bound found so far.
type search struct {
	p       *problem
	best    solution
	method  string
	have    bool
	floor   int64 // proven lower bound on the cost, in the problem's units
	proof   worths
	tooFew  bool // the stock is proven not to suffice
	settled bool // everything was tried: no plan costs less, whatever the bound
}

// search is the road from quick to thorough: plans by rules of thumb, quick
// bounds, and column generation where the two still differ.
func (p *problem) search() *search {
	s := &search{p: p}
	s.offer("nothing to cut", p.solution(nil))
	if len(p.items) == 0 {
		s.proof = worths{k: make([]int64, len(p.bins))}
		return s
	}
	s.prove(p.materialWorths())
	s.thumb()
	for b := range p.bins {
		if s.proven() || b == 3 {
			break
		}
		if v, ok := p.thresholdWorths(p.bins[len(p.bins)-1-b].cap); ok {
			s.prove(v)
		}
	}
	if len(p.items) > fewSizes && !s.proven() {
		s.gathered(60, 2)
		s.repair(12)
	}
	if len(p.items) <= fewSizes || len(p.items) <= someSizes && !s.proven() {
		s.columns()
	}
	s.best = p.fewerPatterns(s.best)
	return s
}

// Up to fewSizes different lengths column generation is the way to go; beyond
// someSizes it takes too long, and lengths are gathered into groups first.
const (
	fewSizes  = 120
	someSizes = 250
)

// columns closes the gap by column generation: the relaxation gives the bound,
// diving from it the plan. A second relaxation, with a small price on scrap and
// on each coil, looks for the best among plans of equal cost.
func (s *search) columns() {
	p := s.p
	if s.tooFew {
		return
	}
	var pool []*pattern
	if !s.proven() {
		r := s.newRelax(p.newCoilPricer(0, 0), nil)
		if v, ok := r.worths(); ok {
			s.prove(v)
		}
		pool = r.pool
		if !s.proven() {
			s.finishSmall("trying everything", nil, p.demand(), p.stockLeft(), 100_000)
		}
		rand, polish := newRNG(1), newRNG(6)
		for n := 0; n < 30 && !s.proven() && !s.settled && !p.work.out(); n++ {
			r.dive("column generation", 0.3*float64(min(n, 3)), rand)
			if len(p.bins) > 1 {
				s.polish(2000, polish)
			}
			if n == 1 && len(p.bins) > 1 && s.best.missing == 0 {
				r.tryMixes(200)
			}
		}
	}
	if s.satisfied() || p.keep == 0 && len(p.bins) == 1 {
		return
	}
	// Scrap is worth some work, not all there is.
	limit := p.work.limit
	p.work.limit = min(limit, p.work.used+limit/6)
	defer func() { p.work.limit = limit }()
	r := s.newRelax(p.newCoilPricer(1e-3, 0.1), pool)
	rand := newRNG(2)
	for n := 0; n < 10 && !s.satisfied() && !p.work.out(); n++ {
		r.dive("column generation with scrap", 0.3*float64(min(n, 3)), rand)
	}
}

// offer keeps a solution if it is better than the best so far.
func (s *search) offer(method string, sol solution) bool {
	if s.have && sol.compare(s.best.score) >= 0 {
		return false
	}
	s.best, s.method, s.have = sol, method, true
	return true
}

// prove keeps a bound if it is higher than the best so far.
func (s *search) prove(v worths) {
	cost, ok := s.p.bound(v)
	if !ok {
		s.tooFew, s.proof = true, v
		return
	}
	if s.proof.y == nil || cost > s.floor {
		s.floor, s.proof = cost, v
	}
}

// proven reports whether no plan can cost less than the best.
func (s *search) proven() bool {
	return s.best.missing == 0 && s.best.cost == s.floor || s.tooFew
}

// thumb tries the quick plans.
func (s *search) thumb() {
	p := s.p
	try := func(name string, fill choose) {
		f := p.newFiller(p.demand(), p.stockLeft())
		f.must = s.best.missing > 0 // the first plan is made whatever the budget
		s.offer(name, p.solution(f.run(fill)))
	}
	try("first-fit decreasing", func(f *filler, b int) *pattern { return f.largestFirst(b) })
	for _, steps := range []int{200, 5000} {
		if len(p.items) > 1000 {
			steps /= 10
		}
		try("fullest coil first", func(f *filler, b int) *pattern { return f.fullest(b, 0, steps) })
	}
}

// notEnough lists what the best solution could not place.
func (s *search) notEnough(pieces []Piece) error {
	p := s.p
	rem := p.demand()
	for _, u := range s.best.uses {
		u.take(rem, u.n)
	}
	e := &NotEnoughError{Proven: s.tooFew}
	for i, n := range rem {
		if n > 0 {
			e.Missing = append(e.Missing, Piece{Length: p.items[i].length, Count: n})
		}
	}
	return e
}

// plan turns the best solution into the plan handed out.
func (s *search) plan(stock []Stock) LinearPlan {
	p := s.p
	lp := LinearPlan{
		StocksUsed: make([]int, p.stocks),
		Pieces:     p.pieces,
		Kerf:       p.kerf,
		Verdict:    judge(p.basis, p.unit, s.best.cost, s.floor, s.method, p.work.used),
	}
	for _, u := range s.best.uses {
		b := p.bins[u.bin]
		left, keep := p.rest(u.bin, u.used)
		pt := Pattern{Stock: b.stock, Count: u.n, Left: left, Keep: keep}
		var net int64
		for j, i := range u.item {
			l := p.items[i].length
			pt.Cuts = append(pt.Cuts, Cut{l, int(u.qty[j])})
			net += int64(l) * int64(u.qty[j])
		}
		n := int64(u.n)
		lp.StocksUsed[b.stock] += u.n
		lp.CutTotal += n * net
		lp.KerfTotal += n * (int64(b.usable) - net - int64(left))
		lp.TrimTotal += n * int64(stock[b.stock].Length-b.usable)
		if keep {
			lp.KeptTotal += n * int64(left)
		} else {
			lp.ScrapTotal += n * int64(left)
		}
		lp.Cost = lp.Cost.Add(stock[b.stock].Cost.Mul(decimal.NewFromInt(n)))
		lp.Patterns = append(lp.Patterns, pt)
	}
	// The cutter's order: offcuts first, each stock together, the pattern cut
	// most often first.
	slices.SortStableFunc(lp.Patterns, func(a, b Pattern) int {
		sa, sb := stock[a.Stock], stock[b.Stock]
		if sa.Offcut != sb.Offcut {
			if sa.Offcut {
				return -1
			}
			return 1
		}
		return cmp.Or(cmp.Compare(a.Stock, b.Stock), cmp.Compare(b.Count, a.Count))
	})
	lp.Certificate = s.certificate()
	return lp
}

func (s *search) certificate() Certificate {
	p := s.p
	c := Certificate{K: make([]int64, p.stocks)}
	for i, it := range p.items {
		c.Lengths = append(c.Lengths, it.length)
		c.Y = append(c.Y, s.proof.y[i])
	}
	for b := range p.bins {
		c.K[p.bins[b].stock] = s.proof.k[b]
	}
	return c
}
