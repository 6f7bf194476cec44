package cut

import (
	"cmp"
	"slices"

	"github.com/shopspring/decimal"
)

// sheetSearch holds the best plan and the best bound found so far.
type sheetSearch struct {
	p      *sheetProblem
	best   solution
	method string
	have   bool
	floor  int64 // proven lower bound on the cost, in the problem's units
	proof  sheetWorths
	tooFew bool // the sheets are proven not to suffice
	places []placing
}

// search is the road from quick to thorough: strips and free rectangles, the
// area bound, and column generation where plan and bound still differ.
func (p *sheetProblem) search() *sheetSearch {
	s := &sheetSearch{p: p, places: placings()}
	s.offer("nothing to cut", nil)
	s.prove(p.areaWorths())
	if len(p.plates) == 0 {
		return s
	}
	if s.tooFew { // say at least how far the sheets would go
		s.offer("shelves", s.shelves())
		return s
	}
	s.thumb()
	if !s.proven() && len(p.plates) <= maxSheetColumns {
		s.columns()
	}
	return s
}

// maxSheetColumns is the number of different sizes up to which column
// generation is worth its time.
const maxSheetColumns = 60

func (s *sheetSearch) proven() bool {
	return s.best.missing == 0 && s.best.cost == s.floor || s.tooFew
}

// offer scores a set of patterns and keeps it if it is the best so far.
func (s *sheetSearch) offer(method string, uses []use) {
	sol := s.p.solution(uses)
	if s.have && sol.compare(s.best.score) >= 0 {
		return
	}
	s.best, s.method, s.have = sol, method, true
}

// solution merges layouts that cut the same pieces from the same sheet, orders
// them and scores the result.
func (p *sheetProblem) solution(uses []use) solution {
	merged := mergedUses(uses, func(kept, found *pattern) *pattern {
		if p.scrapOf(found) < p.scrapOf(kept) {
			return found
		}
		return kept
	})
	sc := score{missing: p.pieces, patterns: len(merged)}
	for _, u := range merged {
		sc.cost += p.boards[u.bin].cost * int64(u.n)
		sc.coils += u.n
		sc.scrap += p.scrapOf(u.pattern) * int64(u.n)
		for _, q := range u.qty {
			sc.missing -= u.n * int(q)
		}
	}
	return solution{merged, sc}
}

// scrapOf is the area of one sheet that is neither piece nor worth keeping,
// kerf included, in mm².
func (p *sheetProblem) scrapOf(t *pattern) int64 {
	if t.scrap < 0 {
		b, k := p.boards[t.bin], p.rule.Kerf
		t.scrap = int64(b.w-k)*int64(b.h-k) - int64(t.used)
		if p.rule.KeepOver > 0 {
			t.scrap -= p.realise(t.tree, t.bin).kept
		}
	}
	return t.scrap
}

// fillSheet picks how to fill one board from the pieces remaining.
type fillSheet func(board int, rem []int) *pattern

// run cuts everything remaining, layout by layout, each as often as the pieces
// allow.
func (s *sheetSearch) run(rem, left []int, fill fillSheet) []use {
	p := s.p
	var uses []use
	more := 0
	for _, n := range rem {
		more += n
	}
	for more > 0 && !p.work.out() {
		var best *pattern
		bestRate := 0.0
		for b := range p.boards {
			if left[b] == 0 {
				continue
			}
			t := fill(b, rem)
			if t == nil || len(t.item) == 0 {
				continue
			}
			pieces := 0
			for _, q := range t.qty {
				pieces += int(q)
			}
			rate := float64(t.used) / float64(p.boards[b].cost)
			if pieces == more {
				rate *= 2 // nothing more to open after this one
			}
			if best == nil || rate > bestRate {
				best, bestRate = t, rate
			}
		}
		if best == nil {
			break
		}
		n := best.times(rem)
		if k := left[best.bin]; k != Unlimited {
			n = min(n, k)
			left[best.bin] -= n
		}
		best.take(rem, n)
		for _, q := range best.qty {
			more -= n * int(q)
		}
		uses = append(uses, use{best, n})
	}
	return uses
}

// byStrips fills with the strips of the largest area of pieces.
func (s *sheetSearch) byStrips(board int, rem []int) *pattern {
	if n := int64(len(s.p.ways)); n*n*int64(s.p.boards[board].w+s.p.boards[board].h) > s.p.work.limit/4 {
		return nil // too many sizes for strips to be quick
	}
	v := make([]float64, len(s.p.plates))
	for i, pl := range s.p.plates {
		v[i] = float64(pl.area)
	}
	if best := (strips{s.p}).best(board, v, rem); len(best) > 0 {
		return best[0].pattern
	}
	return nil
}

// byAll fills by whichever rule of thumb places the largest area.
func (s *sheetSearch) byAll(board int, rem []int) *pattern {
	best := s.byStrips(board, rem)
	for _, pl := range s.places {
		if t := s.p.freeRectangles(board, rem, pl); best == nil || t.used > best.used {
			best = t
		}
	}
	return best
}

// thumb tries the quick plans.
func (s *sheetSearch) thumb() {
	p := s.p
	s.offer("shelves", s.shelves())
	try := func(method string, fill fillSheet) {
		if !s.proven() && !p.work.out() {
			s.offer(method, s.run(p.demand(), p.stockLeft(), fill))
		}
	}
	for _, pl := range s.places {
		try("free rectangles", func(b int, rem []int) *pattern { return p.freeRectangles(b, rem, pl) })
	}
	try("strips", s.byStrips)
	try("strips and free rectangles", s.byAll)
}

// prove keeps a bound if it is higher than the best so far.
func (s *sheetSearch) prove(v sheetWorths) {
	p := s.p
	var total int64
	for i, y := range v.y {
		total += y * int64(p.plates[i].d)
	}
	kinds := make([]kind, len(p.boards))
	for b := range p.boards {
		kinds[b] = kind{p.boards[b].cost, v.k[b], p.boards[b].count}
	}
	cost, ok := leastCover(kinds, total, 20_000)
	if !ok {
		s.tooFew, s.proof = true, v
		return
	}
	if s.proof.k == nil || cost > s.floor {
		s.floor, s.proof = cost, v
	}
}

// notEnough lists what the best solution could not place.
func (s *sheetSearch) notEnough() error {
	p := s.p
	rem := p.demand()
	for _, u := range s.best.uses {
		u.take(rem, u.n)
	}
	e := &NoSheetsLeftError{Proven: s.tooFew}
	for i, n := range rem {
		if n > 0 {
			e.Missing = append(e.Missing, Rect{W: p.plates[i].size.W, H: p.plates[i].size.H, Count: n})
		}
	}
	return e
}

// plan turns the best solution into the plan handed out.
func (s *sheetSearch) plan(sheets []Sheet) SheetPlan {
	p := s.p
	sp := SheetPlan{
		SheetsUsed: make([]int, p.sheets),
		Pieces:     p.pieces,
		Kerf:       p.rule.Kerf,
		Rotate:     p.rule.Rotate,
		Verdict:    judge(p.basis, p.unit, s.best.cost, s.floor, s.method, p.work.used),
	}
	for _, u := range s.best.uses {
		b := p.boards[u.bin]
		sh := sheets[b.sheet]
		l := p.realise(u.tree, u.bin)
		n := int64(u.n)
		usable := int64(b.w-p.rule.Kerf) * int64(b.h-p.rule.Kerf)
		sp.Layouts = append(sp.Layouts, Layout{Sheet: b.sheet, Count: u.n, Cuts: l.root, Parts: l.parts, Kept: l.kept})
		sp.SheetsUsed[b.sheet] += u.n
		sp.CutArea += n * l.cut
		sp.KerfArea += n * (usable - l.cut - l.kept - l.scrap)
		sp.TrimArea += n * (int64(sh.W)*int64(sh.H) - usable)
		sp.ScrapArea += n * l.scrap
		sp.KeptArea += n * l.kept
		sp.Cost = sp.Cost.Add(sh.Cost.Mul(decimal.NewFromInt(n)))
	}
	slices.SortStableFunc(sp.Layouts, func(a, b Layout) int {
		return cmp.Or(cmp.Compare(a.Sheet, b.Sheet), cmp.Compare(b.Count, a.Count))
	})
	c := SheetCertificate{Method: s.proof.method, Grid: s.proof.grid, Y: s.proof.y, K: make([]int64, p.sheets)}
	for _, pl := range p.plates {
		c.Sizes = append(c.Sizes, pl.size)
	}
	for b := range p.boards {
		c.K[p.boards[b].sheet] = s.proof.k[b]
	}
	sp.Certificate = c
	return sp
}
