package cut

import (
	"cmp"
	"math/bits"
	"slices"
)

// worths is a set of integer worths by size, with the most that one coil or
// sheet of each bin can hold: a lower bound in the making.
type worths struct {
	y, k   []int64 // by size, by bin
	method SheetMethod
	grid   int // of a sheet's patterns, mm
}

// coverNodes limits the branch and bound over the stock that worths ask for.
const coverNodes = 20_000

// prove keeps the bound of a set of worths if it is higher than the best so far.
func (s *search) prove(v worths) {
	var total int64
	for i, y := range v.y {
		total += y * int64(s.demand[i])
	}
	c := cover{nodes: coverNodes, best: -1}
	for b := range s.bins {
		c.kinds = append(c.kinds, kind{s.bins[b].cost, v.k[b], s.bins[b].count})
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
	cost, worth int64
	count       int // or Unlimited
}

// cover is the search for the least cost of stock whose worths add up to a
// total: the bound that a set of worths proves. With one kind it is
// ceil(total/worth)·cost. With several it is found by branch and bound, each
// branch never counted for more than its fractional cost once the node limit is
// reached. Costs beyond maxCost count as maxCost, which bounds them from below.
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
		switch {
		case k.worth <= 0 || k.count == 0:
		case k.cost == 0:
			if k.count == Unlimited || (total-1)/k.worth < int64(k.count) {
				return 0, true
			}
			total -= k.worth * int64(k.count)
		default:
			c.kinds = append(c.kinds, k)
		}
	}
	if total <= 0 {
		return 0, true
	}
	slices.SortStableFunc(c.kinds, func(a, b kind) int {
		ah, al := bits.Mul64(uint64(a.cost), uint64(b.worth))
		bh, bl := bits.Mul64(uint64(b.cost), uint64(a.worth))
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
		if k.count != Unlimited && ceilDiv(rest, k.worth) > int64(k.count) {
			sum = min(maxCost, sum+product(k.cost, int64(k.count)))
			rest -= int64(k.count) * k.worth
			continue
		}
		hi, lo := bits.Mul64(uint64(rest), uint64(k.cost))
		if hi >= uint64(k.worth) {
			return maxCost, true
		}
		q, r := bits.Div64(hi, lo, uint64(k.worth))
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
	k := c.kinds[i]
	n := ceilDiv(rest, k.worth)
	if k.count != Unlimited {
		n = min(n, int64(k.count))
	}
	for ; n >= 0; n-- {
		if !c.branch(i+1, rest-n*k.worth, min(maxCost, spent+product(n, k.cost))) {
			break
		}
	}
	return true
}
