package mix

import (
	"math"
	"math/big"

	"github.com/shopspring/decimal"
)

const (
	perKilogram = 1_000_000 // milligrams
	forgiven    = 1e-3      // milligrams of binary rounding error
	heaviest    = 1e9       // kg; beyond this nothing is meant
)

// milligramsUp is a need in whole milligrams, rounded up.
func milligramsUp(kg float64) int64 { return int64(math.Ceil(kg*perKilogram - forgiven)) }

// milligramsDown is a limit in whole milligrams, rounded down.
func milligramsDown(kg float64) int64 { return int64(math.Floor(kg*perKilogram + forgiven)) }

// milligrams is a pack's mass; ok is false unless it is a whole number of them.
func milligrams(kg float64) (mg int64, ok bool) {
	if !(kg > 0) || kg > heaviest {
		return 0, false
	}
	x := kg * perKilogram
	return int64(math.Round(x)), math.Abs(x-math.Round(x)) <= forgiven+x*1e-12 && math.Round(x) > 0
}

func kilograms(mg int64) float64 { return float64(mg) / perKilogram }

// prices are costs as whole numbers of 10^exp, for comparing sums exactly.
type prices struct {
	exp  int32
	each []int64
}

func newPrices(costs []decimal.Decimal) (prices, error) {
	p := prices{each: make([]int64, len(costs))}
	for _, c := range costs {
		if c.IsNegative() || c.Exponent() < -18 || c.Exponent() > 18 || c.NumDigits() > 36 {
			return prices{}, inputError("pack cost with %d digits and exponent %d, sign %d", c.NumDigits(), c.Exponent(), c.Sign())
		}
		p.exp = min(p.exp, c.Exponent())
	}
	for i, c := range costs {
		tens := new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(c.Exponent()-p.exp)), nil)
		n := tens.Mul(tens, c.Coefficient())
		if !n.IsInt64() || n.Int64() > 1<<40 {
			return prices{}, inputError("pack cost %s is too large or too fine", c)
		}
		p.each[i] = n.Int64()
	}
	return p, nil
}

func (p prices) decimal(n int64) decimal.Decimal { return decimal.New(n, p.exp) }
