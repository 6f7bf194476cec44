package order

import (
	"fmt"
	"math/big"
	"math/bits"

	"github.com/shopspring/decimal"
)

// maxDigits is the finest and the coarsest power of ten a value may be written
// in. A field such as 1e-400000 would otherwise cost seconds.
const maxDigits = 18

// safe bounds every integer sum, so that adding two of them never overflows.
const safe = int64(1) << 61

// grid is a common unit of a set of decimals: each is a whole multiple of it.
// Sums over the grid are exact.
type grid struct {
	unit *big.Int // the unit is unit·10^exp
	exp  int32
}

// newGrid finds the coarsest grid on which all values lie and their multiples.
func newGrid(values []decimal.Decimal) (grid, []int64, error) {
	g := grid{unit: big.NewInt(1)}
	for _, v := range values {
		if err := plain(v); err != nil {
			return grid{}, nil, err
		}
		g.exp = min(g.exp, v.Exponent())
	}
	scaled := make([]*big.Int, len(values))
	common := new(big.Int)
	for i, v := range values {
		scaled[i] = onExponent(v, g.exp)
		common.GCD(nil, nil, common, new(big.Int).Abs(scaled[i]))
	}
	if common.Sign() > 0 {
		g.unit = common
	}
	ints := make([]int64, len(values))
	for i, s := range scaled {
		s.Quo(s, g.unit)
		if !s.IsInt64() || s.Int64() > safe || s.Int64() < -safe {
			return grid{}, nil, fmt.Errorf("%w: %s among the values", ErrTooFine, values[i])
		}
		ints[i] = s.Int64()
	}
	return g, ints, nil
}

// plain refuses a decimal written with more digits than anyone means.
func plain(v decimal.Decimal) error {
	if v.Exponent() < -maxDigits || v.Exponent() > maxDigits || v.NumDigits() > 2*maxDigits {
		return fmt.Errorf("%w: a value with exponent %d and %d digits", ErrTooFine, v.Exponent(), v.NumDigits())
	}
	return nil
}

// onExponent is v / 10^exp, for an exponent not above that of v.
func onExponent(v decimal.Decimal, exp int32) *big.Int {
	tens := new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(v.Exponent()-exp)), nil)
	return tens.Mul(tens, v.Coefficient())
}

// decimal gives back n units of the grid.
func (g grid) decimal(n int64) decimal.Decimal {
	return decimal.NewFromBigInt(new(big.Int).Mul(big.NewInt(n), g.unit), g.exp)
}

// up is the least whole number of units not below v, which need not lie on the
// grid.
func (g grid) up(v decimal.Decimal) (int64, error) {
	if err := plain(v); err != nil {
		return 0, err
	}
	exp := min(g.exp, v.Exponent())
	unit := onExponent(decimal.NewFromBigInt(g.unit, g.exp), exp)
	n, rest := new(big.Int).DivMod(onExponent(v, exp), unit, new(big.Int))
	if rest.Sign() > 0 {
		n.Add(n, big.NewInt(1))
	}
	if !n.IsInt64() || n.Int64() > safe {
		return 0, fmt.Errorf("%w: %s", ErrTooLarge, v)
	}
	return n.Int64(), nil
}

// mulDivUp is a·b/c rounded up, for a, b ≥ 0 and c > 0, with a 128-bit product.
// ok is false when the quotient itself is beyond safe.
func mulDivUp(a, b, c int64) (q int64, ok bool) {
	hi, lo := bits.Mul64(uint64(a), uint64(b))
	if hi >= uint64(c) {
		return 0, false
	}
	quo, rest := bits.Div64(hi, lo, uint64(c))
	if rest > 0 {
		quo++
	}
	if quo > uint64(safe) {
		return 0, false
	}
	return int64(quo), true
}

// cmpProducts compares a·b with c·d, for values ≥ 0.
func cmpProducts(a, b, c, d int64) int {
	h1, l1 := bits.Mul64(uint64(a), uint64(b))
	h2, l2 := bits.Mul64(uint64(c), uint64(d))
	switch {
	case h1 < h2 || h1 == h2 && l1 < l2:
		return -1
	case h1 == h2 && l1 == l2:
		return 0
	}
	return 1
}
