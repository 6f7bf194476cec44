package cut

import (
	"cmp"
	"math/bits"
	"slices"

	"wraptally/estimate/qty"
)

// worths is a set of integer worths by size, with the most that one coil or
// sheet of each bin can hold: a lower bound in the making.
type worths struct {
	y, k   []int64 // by size, by bin
	method SheetMethod
	grid   int // of a sheet's patterns, mm
}

// coverNodes limits the branch and bound over the stock that worths ask for.
const coverNodes = 50_000

// prove keeps the bound of a set of worths if it is higher than the best so far.
func (s *search) prove(v worths) {
	var total int64
	for i, y := range v.y {
		total += y * int64(s.demand[i])
	}
	c := cover{nodes: coverNodes, best: -1}
	for b := range s.bins {
		c.kinds = append(c.kinds, kindOf(&s.bins[b], v.k[b]))
	}
	cost, ok := c.least(total)
	if !ok {
		s.tooFew, s.proof = true, v
		return
	}
	if s.proof.k == nil || cost > s.floor {
		s.floor, s.proof = cost, v
	}
}

// kind is one kind of stock in the covering problem of a bound.
type kind struct {
	bin   *bin
	worth int64
	// The least that one costs, in part of as many as make it cheapest.
	few, cost int64
}

func kindOf(b *bin, worth int64) kind {
	k := kind{bin: b, worth: worth, few: 1, cost: b.cost}
	if b.curve == nil {
		return k
	}
	k.cost = b.curve[1]
	for n := int64(2); n < int64(len(b.curve)); n++ {
		hi, lo := bits.Mul64(uint64(b.curve[n]), uint64(k.few))
		ph, pl := bits.Mul64(uint64(k.cost), uint64(n))
		if worth < 1<<62/n && (hi < ph || hi == ph && lo < pl) {
			k.few, k.cost = n, b.curve[n]
		}
	}
	return k
}

// all is what the most of the kind that there is costs at the least, and what it
// is worth.
func (k *kind) all() (cost, worth int64) {
	return product(k.cost, int64(k.bin.count)) / k.few, int64(k.bin.count) * k.worth
}

// cover is the search for the least cost of stock whose worths add up to a
// total: the bound that a set of worths proves. With one kind it is
// ceil(total/worth)·cost. With several, or on a curve, it is found by branch and
// bound, each branch never counted for more than its fractional cost once the
// node limit is reached. Costs beyond maxCost count as maxCost, which bounds them
// from below.
type cover struct {
	kinds []kind // best value first
	nodes int
	best  int64 // −1 while none
}

// least is the least cost of covering the total; ok is false when all the stock
// there is cannot.
func (c *cover) least(total int64) (cost int64, ok bool) {
	kinds := c.kinds
	c.kinds = nil
	for _, k := range kinds {
		switch n := k.bin.count; {
		case k.worth <= 0 || n == 0:
		case k.bin.curve == nil && k.cost == 0:
			if n == Unlimited || (total-1)/k.worth < int64(n) {
				return 0, true
			}
			total -= k.worth * int64(n)
		default:
			c.kinds = append(c.kinds, k)
		}
	}
	if total <= 0 {
		return 0, true
	}
	slices.SortStableFunc(c.kinds, func(a, b kind) int {
		ah, al := bits.Mul64(uint64(a.cost), uint64(b.worth*b.few))
		bh, bl := bits.Mul64(uint64(b.cost), uint64(a.worth*a.few))
		return cmp.Or(cmp.Compare(ah, bh), cmp.Compare(al, bl))
	})
	c.branch(0, total, 0)
	return max(c.best, 0), c.best >= 0
}

// split is the cost, rounded up, of the rest where a coil may be bought in part.
func (c *cover) split(i int, rest int64) (int64, bool) {
	var sum int64
	for ; i < len(c.kinds); i++ {
		k := c.kinds[i]
		if n := k.bin.count; n != Unlimited && qty.CeilDiv(rest, k.worth) > int64(n) {
			cost, worth := k.all()
			sum = min(maxCost, sum+cost)
			rest -= worth
			continue
		}
		hi, lo := bits.Mul64(uint64(rest), uint64(k.cost))
		if hi >= uint64(k.worth*k.few) {
			return maxCost, true
		}
		q, r := bits.Div64(hi, lo, uint64(k.worth*k.few))
		if r > 0 {
			q++
		}
		return int64(min(maxCost, uint64(sum)+min(maxCost, q))), true
	}
	return 0, false
}

// product is a·b, at most maxCost, for numbers that are not negative.
func product(a, b int64) int64 {
	if hi, lo := bits.Mul64(uint64(a), uint64(b)); hi == 0 && lo < maxCost {
		return int64(lo)
	}
	return maxCost
}

// branch reports whether one coil fewer of the kind before may still win.
func (c *cover) branch(i int, rest, spent int64) bool {
	if rest <= 0 {
		if c.best < 0 || spent < c.best {
			c.best = spent
		}
		return true
	}
	f, ok := c.split(i, rest)
	switch {
	case !ok:
		return false
	case c.best >= 0 && spent+f >= c.best:
		return false
	}
	if c.nodes--; c.nodes < 0 {
		c.best = spent + f
		return false
	}
	k := &c.kinds[i]
	n := qty.CeilDiv(rest, k.worth)
	if k.bin.count != Unlimited {
		n = min(n, int64(k.bin.count))
	}
	for ; n >= 0; n-- {
		cost := product(n, k.cost)
		if k.bin.curve != nil {
			cost = k.bin.curve[n]
		}
		// At a price each, fewer of the best value only makes the rest dearer.
		if !c.branch(i+1, rest-n*k.worth, min(maxCost, spent+cost)) && k.bin.curve == nil {
			break
		}
	}
	return true
}
