package cut

import "github.com/shopspring/decimal"

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

// judge makes the verdict on a plan of a cost, and a proven floor of cost, both
// in whole units.
func judge(basis Basis, unit decimal.Decimal, cost, floor int64, method string, work int64) Verdict {
	v := Verdict{
		Objective: unit.Mul(decimal.NewFromInt(cost)), Bound: unit.Mul(decimal.NewFromInt(floor)),
		Basis: basis, Proven: cost == floor, Method: method, Work: work,
	}
	switch {
	case v.Proven:
	case floor > 0:
		v.Gap = v.Objective.Sub(v.Bound).InexactFloat64() / v.Bound.InexactFloat64()
	default:
		v.Gap = 1
	}
	return v
}

// reduced divides whole costs by what they have in common, which changes no
// comparison, and gives the unit that makes up for it.
func reduced(costs []*int64, unit decimal.Decimal) decimal.Decimal {
	var g int64
	for _, c := range costs {
		g = gcd64(g, *c)
	}
	if g <= 1 {
		return unit
	}
	for _, c := range costs {
		*c /= g
	}
	return unit.Mul(decimal.NewFromInt(g))
}
