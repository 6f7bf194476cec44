package cut

import (
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

// DefaultBudget is the work allowed where a rule names no budget. It is
// reached only while a gap is left between plan and bound.
const DefaultBudget int64 = 700_000_000

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

// Basis says what a plan's objective counts.
type Basis string

const (
	ByCoils  Basis = "coils"  // one new stock: the number of new coils
	ByCost   Basis = "cost"   // several stocks with costs
	ByLength Basis = "length" // several stocks without costs: mm of stock used
	BySheets Basis = "sheets" // one sheet size: the number of sheets
	ByArea   Basis = "area"   // several sheet sizes without costs: mm² of stock used
)

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
	p, err := newProblem(pieces, stock, rule)
	if err != nil {
		return LinearPlan{}, err
	}
	s := p.search()
	if s.best.missing > 0 {
		return LinearPlan{}, s.notEnough(pieces)
	}
	return s.plan(stock), nil
}
