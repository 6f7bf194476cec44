package cut

import (
	"cmp"
	"errors"
	"fmt"
	"math/big"
	"math/bits"
	"slices"

	"github.com/shopspring/decimal"

	"wraptally/estimate/qty"
)

// checkedStock is one stock as the checkers see it, of coils or of sheets.
type checkedStock struct {
	count  int             // the most to be had, or Unlimited
	cost   decimal.Decimal // of one
	curve  Curve           // of any number; goes before cost
	size   int64           // mm or mm² as delivered
	offcut bool
	usable bool // there is some, and it holds a piece
	used   int
	most   int64 // worth that one can hold, by the certificate
}

// checked is a stock of which some are to be had, and pieces may be cut from it.
func checked(count int, cost decimal.Decimal, costs Curve, size int64, offcut, holds bool) checkedStock {
	if costs != nil {
		if last := max(0, len(costs)-1); count < 0 || count > last {
			count = last
		}
	}
	return checkedStock{count: count, cost: cost, curve: costs, size: size, offcut: offcut, usable: holds && count != 0}
}

// pays is what n cost where one costs a price.
func (s *checkedStock) pays(price decimal.Decimal, n int) decimal.Decimal {
	if s.curve != nil && n < len(s.curve) {
		return s.curve[n]
	}
	return price.Mul(decimal.NewFromInt(int64(n)))
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
		cost = cost.Add(s.pays(s.cost, s.used))
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
		objective = objective.Add(s.pays(price[i], s.used))
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
	fresh, costs, offCosts, curved := 0, 0, 0, false
	for _, s := range stock {
		switch positive := s.curve != nil || s.cost.IsPositive(); {
		case !s.usable:
			continue
		case s.offcut && positive:
			offCosts++
		case !s.offcut:
			fresh++
			if positive {
				costs++
			}
		}
		curved = curved || s.curve != nil
	}
	basis := ByCost
	switch {
	case fresh == 1 && offCosts == 0 && !curved:
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
// whole numbers of each kind; if that search grows too long, what is left counts
// at its fractional price, which is a lower bound still, as is dearest for
// anything dearer.
func checkCover(stock []checkedStock, price []decimal.Decimal, total *big.Int) (decimal.Decimal, error) {
	exp := int32(0)
	for i, s := range stock {
		for _, p := range append(Curve{price[i]}, s.curve...) {
			exp = min(exp, p.Exponent())
		}
	}
	v := &coverCheck{nodes: 500_000, best: -1}
	rest := new(big.Int).Set(total)
	for i, s := range stock {
		k := checkKind{worth: s.most, count: s.count, few: 1}
		list := s.curve
		if list == nil {
			list = Curve{decimal.Zero, price[i]}
		}
		for _, p := range list {
			p = p.Shift(-exp)
			if p.GreaterThan(decimal.NewFromInt(dearest)) {
				return decimal.Zero, errors.New("certificate: a price is out of range")
			}
			k.prices = append(k.prices, p.IntPart())
		}
		k.curved = s.curve != nil
		switch free := k.prices[len(k.prices)-1] == 0; {
		case s.most <= 0 || s.count == 0:
		case free && s.count < 0:
			return decimal.Zero, nil
		case free:
			rest.Sub(rest, new(big.Int).Mul(big.NewInt(s.most), big.NewInt(int64(s.count))))
		default:
			v.kinds = append(v.kinds, k)
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
		for _, p := range k.prices {
			unit = qty.GCD(unit, p)
		}
	}
	for i := range v.kinds {
		k := &v.kinds[i]
		for n := range k.prices {
			k.prices[n] /= unit
			if n > 0 && k.worth < 1<<62/int64(n) && times(k.prices[n], int64(k.few), 1) < times(k.prices[k.few], int64(n), 1) {
				k.few = n
			}
		}
	}
	slices.SortStableFunc(v.kinds, func(a, b checkKind) int {
		ah, al := bits.Mul64(uint64(a.prices[a.few]), uint64(b.worth*int64(b.few)))
		bh, bl := bits.Mul64(uint64(b.prices[b.few]), uint64(a.worth*int64(a.few)))
		return cmp.Or(cmp.Compare(ah, bh), cmp.Compare(al, bl))
	})
	v.try(0, rest.Int64(), 0)
	// Where all the stock there is cannot cover it, there is nothing to prove.
	return decimal.New(max(v.best, 0), exp).Mul(decimal.NewFromInt(unit)), nil
}

// dearest is the most that a price or a sum of prices counts for.
const dearest = int64(1) << 60

// checkKind is one kind of stock: prices of 0, 1, 2, ... of them, or of none and
// of one where they cost alike. few of them together cost least each.
type checkKind struct {
	prices []int64
	curved bool
	few    int
	worth  int64
	count  int // or Unlimited
}

// price is that of n, at most dearest.
func (k *checkKind) price(n int64) int64 {
	if k.curved {
		return k.prices[n]
	}
	return times(k.prices[1], n, 1)
}

// least is a price that n are not below, nor n and a part of another.
func (k *checkKind) least(n int64) int64 { return times(k.prices[k.few], n, int64(k.few)) }

// times is a·b/c rounded down, at most dearest.
func times(a, b, c int64) int64 {
	hi, lo := bits.Mul64(uint64(a), uint64(b))
	if hi >= uint64(c) {
		return dearest
	}
	q, _ := bits.Div64(hi, lo, uint64(c))
	return int64(min(q, uint64(dearest)))
}

type coverCheck struct {
	kinds []checkKind
	nodes int
	best  int64 // −1 while none
}

// fractional is the price, rounded up, of covering the rest when the last kind
// used may be split; −1 when the kinds from i on cannot cover it.
func (v *coverCheck) fractional(i int, rest int64) int64 {
	var sum int64
	for ; i < len(v.kinds); i++ {
		k := &v.kinds[i]
		if whole := (rest-1)/k.worth + 1; k.count >= 0 && whole > int64(k.count) {
			sum = min(dearest, sum+k.least(int64(k.count)))
			rest -= int64(k.count) * k.worth
			continue
		}
		part := times(k.prices[k.few], rest, k.worth*int64(k.few))
		if part < dearest && !divides(k.prices[k.few], rest, k.worth*int64(k.few)) {
			part++
		}
		return min(dearest, sum+part)
	}
	return -1
}

// divides reports whether c divides a·b.
func divides(a, b, c int64) bool {
	hi, lo := bits.Mul64(uint64(a), uint64(b))
	return bits.Rem64(hi, lo, uint64(c)) == 0
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
	k := &v.kinds[i]
	n := (rest-1)/k.worth + 1
	if k.count >= 0 {
		n = min(n, int64(k.count))
	}
	// At a price each, fewer of the best value only makes the rest dearer: stop
	// at the first number that cannot win.
	for ; n >= 0; n-- {
		if !v.try(i+1, rest-n*k.worth, min(dearest, spent+k.price(n))) && !k.curved {
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
