package cut

import "github.com/shopspring/decimal"

// DefaultBudget is the work allowed where a rule names no budget. It is
// reached only while a gap is left between plan and bound.
const DefaultBudget int64 = 700_000_000

// Curve says what stock costs that does not cost alike: Curve[n] is the cost of n
// together, for each number up to the most that can be had. It begins with nothing
// for none and never falls, though price steps may make more cost no more.
type Curve []decimal.Decimal

// most is how many can be had of a number.
func (c Curve) most(count int) int {
	if last := len(c) - 1; c != nil && (count == Unlimited || count > last) {
		return max(last, 0)
	}
	return count
}

// of is the cost of n at the curve, or at a price each.
func (c Curve) of(n int, each decimal.Decimal) decimal.Decimal {
	if c == nil {
		return each.Mul(decimal.NewFromInt(int64(n)))
	}
	return c[n]
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

// Verdict says how good a plan is.
type Verdict struct {
	// Objective is what was minimised and Bound what no plan can go below,
	// both in the unit of Basis.
	Objective, Bound decimal.Decimal
	Basis            Basis
	Proven           bool    // Objective = Bound
	Gap              float64 // (Objective − Bound) / Bound; 1 where Bound is 0 and the plan costs something
	Method           string  // how the plan was found, for the record
	Work             int64   // units of work spent
}

// verdict is that on the best plan and the highest bound.
func (s *search) verdict() Verdict {
	v := Verdict{
		Objective: s.unit.Mul(decimal.NewFromInt(s.best.cost)), Bound: s.unit.Mul(decimal.NewFromInt(s.floor)),
		Basis: s.basis, Proven: s.best.cost == s.floor, Method: s.method, Work: s.work.used,
	}
	switch {
	case v.Proven:
	case s.floor > 0:
		v.Gap = v.Objective.Sub(v.Bound).InexactFloat64() / v.Bound.InexactFloat64()
	default:
		v.Gap = 1
	}
	return v
}
