package cut

import (
	"cmp"
	"errors"
	"fmt"
	"math/big"
	"math/bits"
	"slices"

	"github.com/shopspring/decimal"
)

// checkedStock is one stock as the checkers see it, of coils or of sheets.
type checkedStock struct {
	Name   string
	count  int
	cost   decimal.Decimal
	size   int64 // mm or mm² as delivered
	offcut bool
	usable bool // there is some, and it holds a piece
	used   int
	most   int64 // worth that one can hold, by the certificate
}

// claims is what a plan says of itself, of coils or of sheets.
type claims struct {
	noun, one, all Basis // what is counted: "coils", by number, by size
	used           []int
	cost           decimal.Decimal
	Verdict
	total *big.Int // worth of all demand, by the certificate
}

// check replays numbers, cost, objective, bound, proof and gap.
func (c *claims) check(stock []checkedStock) error {
	used, cost := []int{}, decimal.Zero
	for i, s := range stock {
		used = append(used, s.used)
		if s.count >= 0 && s.used > s.count {
			return fmt.Errorf("stock %d: %d %s used, there are %d", i, s.used, c.noun, s.count)
		}
		cost = cost.Add(s.cost.Mul(decimal.NewFromInt(int64(s.used))))
	}
	if !slices.Equal(used, c.used) {
		return fmt.Errorf("%s used are %v, the plan says %v", c.noun, used, c.used)
	}
	if !cost.Equal(c.cost) {
		return fmt.Errorf("the %s cost %s, the plan says %s", c.noun, cost, c.cost)
	}
	basis, price := c.prices(stock)
	if c.Basis != basis {
		return fmt.Errorf("the plan counts %q, it should count %q", c.Basis, basis)
	}
	objective := decimal.Zero
	for i, s := range stock {
		objective = objective.Add(price[i].Mul(decimal.NewFromInt(int64(s.used))))
	}
	if !objective.Equal(c.Objective) {
		return fmt.Errorf("the objective is %s, the plan says %s", objective, c.Objective)
	}
	bound, err := checkCover(stock, price, c.total)
	if err != nil {
		return err
	}
	if c.Bound.GreaterThan(bound) {
		return fmt.Errorf("the certificate proves a bound of %s, the plan claims %s", bound, c.Bound)
	}
	if objective.LessThan(c.Bound) {
		return fmt.Errorf("the objective %s is below the bound %s", objective, c.Bound)
	}
	if c.Proven != objective.Equal(c.Bound) {
		return fmt.Errorf("objective %s, bound %s, but proven=%v", objective, c.Bound, c.Proven)
	}
	gap := 0.0
	if c.Bound.IsPositive() {
		gap = objective.Sub(c.Bound).InexactFloat64() / c.Bound.InexactFloat64()
	} else if objective.IsPositive() {
		gap = 1
	}
	if d := c.Gap - gap; d > 1e-12 || d < -1e-12 {
		return fmt.Errorf("the gap is %g, the plan says %g", gap, c.Gap)
	}
	return nil
}

// prices states again what the objective counts, and the price of one of each
// stock in it.
func (c *claims) prices(stock []checkedStock) (Basis, []decimal.Decimal) {
	fresh, costs, offCosts := 0, 0, 0
	for _, s := range stock {
		switch positive := s.cost.IsPositive(); {
		case !s.usable:
		case s.offcut && positive:
			offCosts++
		case !s.offcut:
			fresh++
			if positive {
				costs++
			}
		}
	}
	basis := ByCost
	switch {
	case fresh == 1 && offCosts == 0:
		basis = c.one
	case costs == 0 && offCosts == 0:
		basis = c.all
	}
	price := make([]decimal.Decimal, len(stock))
	for i, s := range stock {
		switch {
		case basis == ByCost:
			price[i] = s.cost
		case s.offcut && fresh > 0:
		case basis == c.one:
			price[i] = decimal.NewFromInt(1)
		default:
			price[i] = decimal.NewFromInt(s.size)
		}
	}
	return basis, price
}

// checkCover is the checkers' own solution of the covering problem behind a
// bound: the least price of stock whose worths add up to the total. It tries
// whole numbers of each kind, best value first; if that search grows too long,
// what is left counts at its fractional price, which is a lower bound still, as
// is dearest for anything dearer.
func checkCover(stock []checkedStock, price []decimal.Decimal, total *big.Int) (decimal.Decimal, error) {
	exp := int32(0)
	for _, p := range price {
		exp = min(exp, p.Exponent())
	}
	v := &coverCheck{nodes: 200_000, best: -1}
	rest := new(big.Int).Set(total)
	for i, s := range stock {
		p := price[i].Shift(-exp)
		switch {
		case s.most <= 0 || s.count == 0:
		case p.IsZero() && s.count < 0:
			return decimal.Zero, nil
		case p.IsZero():
			rest.Sub(rest, new(big.Int).Mul(big.NewInt(s.most), big.NewInt(int64(s.count))))
		case p.GreaterThan(decimal.NewFromInt(dearest)):
			return decimal.Zero, errors.New("certificate: a price is out of range")
		default:
			v.kinds = append(v.kinds, checkKind{p.IntPart(), s.most, s.count})
		}
	}
	if rest.Sign() <= 0 || len(v.kinds) == 0 {
		return decimal.Zero, nil
	}
	if rest.BitLen() > 62 {
		return decimal.Zero, errors.New("certificate: the worths are out of range")
	}
	// All prices in what they have in common: a sum of them is a multiple of it.
	unit := int64(0)
	for _, k := range v.kinds {
		unit = gcd(unit, k.price)
	}
	for i := range v.kinds {
		v.kinds[i].price /= unit
	}
	slices.SortStableFunc(v.kinds, func(a, b checkKind) int {
		ah, al := bits.Mul64(uint64(a.price), uint64(b.worth))
		bh, bl := bits.Mul64(uint64(b.price), uint64(a.worth))
		return cmp.Or(cmp.Compare(ah, bh), cmp.Compare(al, bl))
	})
	v.try(0, rest.Int64(), 0)
	// Where all the stock there is cannot cover it, there is nothing to prove.
	return decimal.New(max(v.best, 0), exp).Mul(decimal.NewFromInt(unit)), nil
}

// dearest is the most that a price or a sum of prices counts for.
const dearest = int64(1) << 60

type checkKind struct {
	price, worth int64
	count        int // or Unlimited
}

type coverCheck struct {
	kinds []checkKind
	nodes int
	best  int64 // −1 while none
}

// times is n·price, at most dearest.
func (k *checkKind) times(n int64) int64 {
	hi, lo := bits.Mul64(uint64(n), uint64(k.price))
	if hi > 0 || lo > uint64(dearest) {
		return dearest
	}
	return int64(lo)
}

// fractional is the price, rounded up, of covering the rest when the last kind
// used may be split; −1 when the kinds from i on cannot cover it.
func (v *coverCheck) fractional(i int, rest int64) int64 {
	var sum int64
	for ; i < len(v.kinds); i++ {
		k := v.kinds[i]
		whole := rest / k.worth
		if left := rest % k.worth; k.count < 0 || whole < int64(k.count) || left == 0 && whole == int64(k.count) {
			// The part of one: left·price/worth, and left < worth.
			hi, lo := bits.Mul64(uint64(left), uint64(k.price))
			q, r := bits.Div64(hi, lo, uint64(k.worth))
			if r > 0 {
				q++
			}
			return min(dearest, sum+min(dearest, k.times(whole)+int64(q)))
		}
		sum = min(dearest, sum+k.times(int64(k.count)))
		rest -= int64(k.count) * k.worth
	}
	return -1
}

func (v *coverCheck) try(i int, rest, spent int64) bool {
	if rest <= 0 {
		if v.best < 0 || spent < v.best {
			v.best = spent
		}
		return true
	}
	f := v.fractional(i, rest)
	if f < 0 || v.best >= 0 && spent+f >= v.best {
		return false
	}
	if v.nodes--; v.nodes < 0 {
		v.best = spent + f
		return false
	}
	k := v.kinds[i]
	n := (rest-1)/k.worth + 1
	if k.count >= 0 {
		n = min(n, int64(k.count))
	}
	// Fewer of the best value only makes the rest dearer: stop at the first
	// number that cannot win.
	for ; n >= 0; n-- {
		if !v.try(i+1, rest-n*k.worth, min(dearest, spent+k.times(n))) {
			break
		}
	}
	return true
}

// sameNumbers compares what is cut of each size with what is wanted.
func sameNumbers[K comparable](got, want map[K]int, name func(K) string) error {
	for _, m := range []map[K]int{got, want} {
		for k := range m {
			if got[k] != want[k] {
				return fmt.Errorf("%s: %d pieces cut, %d wanted", name(k), got[k], want[k])
			}
		}
	}
	return nil
}

// checkBudget is the work that checking a certificate may take: what the search
// was allowed.
func checkBudget(budget int64) int64 {
	if budget == 0 {
		return DefaultBudget
	}
	return budget
}
