package cut

import (
	"cmp"
	"fmt"
	"slices"

	"github.com/shopspring/decimal"
)

// Piece is a demand for Count pieces of one length.
type Piece struct {
	Length int    // mm, at least 1
	Count  int    // pieces, 0 or more
	Label  string // whose piece it is; the solver only carries it. Pieces may share a length.
}

// Unlimited as a Count says that the stock can be bought in any number.
const Unlimited = -1

// Stock is one kind of coil (or bar, strip) that lengths can be cut from.
type Stock struct {
	Length int             // mm as delivered, before end trim
	Count  int             // how many there are, or Unlimited
	Cost   decimal.Decimal // of one; all zero: length stands for cost
	Costs  Curve           // of any number of them; where it is given, Cost is not looked at
	Name   string          // for messages
	Offcut bool            // left from earlier work: finite, not trimmed again unless OffcutTrim says so
}

// LinearRule holds the rules of cutting lengths.
type LinearRule struct {
	Kerf         int   // mm lost by each cut
	Trim         int   // mm lost at the two ends of a coil together, the trimming cuts included
	OffcutTrim   int   // mm, the same for an existing offcut, whose ends are usually sound
	KeepOver     int   // mm; a leftover at least this long is an offcut worth keeping, a shorter one is scrap; 0: nothing is kept
	OffcutsFirst bool  // among plans of equal cost take the one that cuts most from existing offcuts
	Budget       int64 // units of work (very roughly nanoseconds); 0: DefaultBudget
}

// Cut is a number of pieces of one length in a pattern.
type Cut struct {
	Length int // mm
	Count  int // pieces in one coil
}

// Pattern says how Count coils of one stock are cut, all alike.
type Pattern struct {
	Stock int   // index into the stock given
	Count int   // coils cut this way
	Cuts  []Cut // longest first
	Left  int   // mm left of each coil after the last kerf
	Keep  bool  // whether Left is an offcut worth keeping
}

// Certificate proves a lower bound: no single coil of stock s can yield pieces
// worth more than K[s] together, a piece of Lengths[i] being worth Y[i].
type Certificate struct {
	Lengths []int   // the different lengths demanded, longest first
	Y       []int64 // worth of one piece of each
	K       []int64 // most worth in one coil, by stock; 0 where nothing fits
}

// LinearPlan is a cutting plan with its proof.
type LinearPlan struct {
	Patterns   []Pattern
	StocksUsed []int // coils used, by stock index
	Pieces     int   // pieces cut
	Kerf       int   // mm, of the rule

	// Lengths in mm over all coils used; CutTotal + KerfTotal + TrimTotal +
	// ScrapTotal + KeptTotal is the length of the coils used.
	CutTotal, KerfTotal, TrimTotal, ScrapTotal, KeptTotal int64

	Cost decimal.Decimal // of the coils used, in the stock's own costs

	Verdict
	Certificate Certificate
}

// Linear plans the cutting of pieces from stock.
//
// With one new stock it looks for the fewest new coils; with several for the
// least cost, then the fewest coils. Ties go to the plan with the most cut from
// existing offcuts where the rule says so, then to the least scrap, then to the
// fewest different patterns. Demands are met exactly.
//
// It returns an *InputError for numbers that make no sense, a *TooLongError for
// a piece that fits no stock, and a *NotEnoughError where the stock is finite
// and pieces are left over. The input is not changed.
func Linear(pieces []Piece, stock []Stock, rule LinearRule) (LinearPlan, error) {
	p, err := newCoils(pieces, stock, rule)
	if err != nil {
		return LinearPlan{}, err
	}
	s := &search{task: &p.task, cutter: p}
	s.run()
	if s.best.missing > 0 {
		e := &NotEnoughError{Stock: "stock", Proven: s.tooFew}
		for i, n := range s.missing() {
			if n > 0 {
				e.Missing = append(e.Missing, fmt.Sprintf("%d × %d mm", n, p.items[i].length))
			}
		}
		return LinearPlan{}, e
	}
	return p.plan(s, stock), nil
}

// Placed says which coil a demanded piece is cut from.
type Placed struct {
	Coil     int // number of the coil, from 1, in the order of the plan
	Stock    int // index into the stock given
	Pattern  int // index into the plan's patterns
	Position int // place along the coil, from 1
	Offset   int // mm from the trimmed end of the coil to the start of the piece
	Piece    int // index into the pieces given
	Label    string
	Length   int // mm
}

// Assign says for every demanded piece which coil it comes from: coils in the
// order of the plan, pieces longest first along each, pieces of one length
// handed out in the order in which they were demanded. The pieces must be those
// that the plan was made for; what the plan does not hold gets no place.
func (p LinearPlan) Assign(pieces []Piece) []Placed {
	next := dealer(len(pieces), func(i int) (length, count int) { return pieces[i].Length, pieces[i].Count })
	out := make([]Placed, 0, p.Pieces)
	coil := 0
	for n, pt := range p.Patterns {
		for range pt.Count {
			coil++
			at, pos := 0, 0
			for _, c := range pt.Cuts {
				for range c.Count {
					pos++
					if i, ok := next(c.Length); ok {
						out = append(out, Placed{coil, pt.Stock, n, pos, at, i, pieces[i].Label, c.Length})
					}
					at += c.Length + p.Kerf
				}
			}
		}
	}
	return slices.Clip(out)
}

// dealer hands out what was demanded, n times a size and how often: of one size in
// the order in which it was demanded, and nothing once all of it is handed out.
func dealer[S comparable](n int, demand func(i int) (S, int)) func(S) (int, bool) {
	queue, left := map[S][]int{}, make([]int, n)
	for i := range n {
		if size, count := demand(i); count > 0 {
			left[i] = count
			queue[size] = append(queue[size], i)
		}
	}
	return func(size S) (int, bool) {
		q := queue[size]
		if len(q) == 0 {
			return 0, false
		}
		if left[q[0]]--; left[q[0]] == 0 {
			queue[size] = q[1:]
		}
		return q[0], true
	}
}

// plan turns the best solution into the plan handed out.
func (p *coilTask) plan(s *search, stock []Stock) LinearPlan {
	lp := LinearPlan{
		StocksUsed: make([]int, p.stocks),
		Pieces:     p.pieces,
		Kerf:       p.kerf,
		Verdict:    s.verdict(),
	}
	for _, u := range s.best.uses {
		b := p.bins[u.bin]
		left, keep := p.rest(u.pattern)
		pt := Pattern{Stock: b.stock, Count: u.n, Left: left, Keep: keep}
		var net int64
		for j, i := range u.size {
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
		lp.Patterns = append(lp.Patterns, pt)
	}
	for i, n := range lp.StocksUsed {
		lp.Cost = lp.Cost.Add(stock[i].Costs.of(n, stock[i].Cost))
	}
	// The cutter's order: offcuts first, each stock together, the pattern cut
	// most often first.
	slices.SortStableFunc(lp.Patterns, func(a, b Pattern) int {
		return cmp.Or(offcutsFirst(stock[a.Stock].Offcut, stock[b.Stock].Offcut), cmp.Compare(a.Stock, b.Stock), cmp.Compare(b.Count, a.Count))
	})
	lp.Certificate = Certificate{Y: s.proof.y, K: make([]int64, p.stocks)}
	for _, it := range p.items {
		lp.Certificate.Lengths = append(lp.Certificate.Lengths, it.length)
	}
	for b, k := range s.proof.k {
		lp.Certificate.K[p.bins[b].stock] = k
	}
	return lp
}
