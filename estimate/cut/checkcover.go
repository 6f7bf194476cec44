package cut

import (
	"cmp"
	"errors"
	"math/big"
	"math/bits"
	"slices"
)

// checkCover is the checkers' own solution of the covering problem behind a
// bound: the least price of stock whose worths add up to the total. It tries
// whole numbers of each kind, best value first; if that search grows too long,
// what is left counts at its fractional price, which is a lower bound still.
func checkCover(price []*big.Rat, worth []int64, count []int, total *big.Int) (*big.Rat, error) {
	unit := commonUnit(price)
	v := &coverCheck{nodes: 200_000, best: -1}
	rest := new(big.Int).Set(total)
	for i, w := range worth {
		switch {
		case w <= 0 || count[i] == 0:
		case price[i].Sign() == 0 && count[i] < 0:
			return new(big.Rat), nil
		case price[i].Sign() == 0:
			rest.Sub(rest, new(big.Int).Mul(big.NewInt(w), big.NewInt(int64(count[i]))))
		default:
			p := new(big.Rat).Quo(price[i], unit)
			if !p.IsInt() || !p.Num().IsInt64() {
				return nil, errors.New("certificate: a price is out of range")
			}
			v.kinds = append(v.kinds, checkKind{p.Num().Int64(), w, count[i]})
		}
	}
	if rest.Sign() <= 0 || len(v.kinds) == 0 {
		return new(big.Rat), nil
	}
	if rest.BitLen() > 62 {
		return nil, errors.New("certificate: the worths are out of range")
	}
	slices.SortStableFunc(v.kinds, func(a, b checkKind) int {
		ah, al := bits.Mul64(uint64(a.price), uint64(b.worth))
		bh, bl := bits.Mul64(uint64(b.price), uint64(a.worth))
		return cmp.Or(cmp.Compare(ah, bh), cmp.Compare(al, bl))
	})
	v.try(0, rest.Int64(), 0)
	if v.best < 0 {
		return new(big.Rat), nil // all the stock there is cannot cover it; nothing to prove
	}
	return new(big.Rat).Mul(unit, big.NewRat(v.best, 1)), nil
}

// commonUnit is the largest number that divides every price.
func commonUnit(price []*big.Rat) *big.Rat {
	den := big.NewInt(1)
	for _, p := range price {
		g := new(big.Int).GCD(nil, nil, den, p.Denom())
		den.Mul(den, new(big.Int).Quo(p.Denom(), g))
	}
	num := new(big.Int)
	for _, p := range price {
		n := new(big.Int).Mul(p.Num(), new(big.Int).Quo(den, p.Denom()))
		num.GCD(nil, nil, num, n)
	}
	if num.Sign() == 0 {
		num.SetInt64(1)
	}
	return new(big.Rat).SetFrac(num, den)
}

type checkKind struct {
	price, worth int64
	count        int // or Unlimited
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
		k := v.kinds[i]
		if whole := (rest-1)/k.worth + 1; k.count >= 0 && whole > int64(k.count) {
			sum += int64(k.count) * k.price
			rest -= int64(k.count) * k.worth
			continue
		}
		hi, lo := bits.Mul64(uint64(rest), uint64(k.price))
		q, r := bits.Div64(hi, lo, uint64(k.worth)) // the quotient is at most whole·price
		if r > 0 {
			q++
		}
		return sum + int64(q)
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
	if f < 0 {
		return false
	}
	if v.best >= 0 && spent+f >= v.best {
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
		if !v.try(i+1, rest-n*k.worth, spent+n*k.price) {
			break
		}
	}
	return true
}
