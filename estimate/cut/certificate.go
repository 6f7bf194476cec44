package cut

import (
	"cmp"
	"math/bits"
	"slices"
)

// kind is one kind of stock in the covering problem of a bound.
type kind struct {
	cost, worth int64
	count       int // or Unlimited
}

// leastCover is the least cost of stock whose worths add up to total: the bound
// that a set of worths proves. With one kind it is ceil(total/worth)·cost. With
// several it is found by branch and bound, each branch never counted for more
// than its fractional cost once the node limit is reached. ok is false when all
// the stock there is cannot cover the total.
func leastCover(kinds []kind, total int64, nodes int) (cost int64, ok bool) {
	s := coverSearch{nodes: nodes, best: -1}
	for _, k := range kinds {
		switch {
		case k.worth <= 0 || k.count == 0:
		case k.cost == 0 && k.count == Unlimited:
			return 0, true
		case k.cost == 0:
			if f, over := mulOver(k.worth, int64(k.count)); over || f >= total {
				return 0, true
			} else {
				total -= f
			}
		default:
			s.kinds = append(s.kinds, k)
		}
	}
	if total <= 0 {
		return 0, true
	}
	slices.SortStableFunc(s.kinds, func(a, b kind) int {
		ah, al := bits.Mul64(uint64(a.cost), uint64(b.worth))
		bh, bl := bits.Mul64(uint64(b.cost), uint64(a.worth))
		return cmp.Or(cmp.Compare(ah, bh), cmp.Compare(al, bl))
	})
	s.branch(0, total, 0)
	return max(s.best, 0), s.best >= 0
}

func mulOver(a, b int64) (int64, bool) {
	hi, lo := bits.Mul64(uint64(a), uint64(b))
	return int64(lo), hi != 0 || lo > 1<<62
}

type coverSearch struct {
	kinds []kind
	nodes int
	best  int64
}

// split is the cost, rounded up, of the rest where a coil may be bought in part.
func (s *coverSearch) split(i int, rest int64) (int64, bool) {
	var sum int64
	for ; i < len(s.kinds); i++ {
		k := s.kinds[i]
		need := ceilDiv(rest, k.worth)
		if k.count != Unlimited && need > int64(k.count) {
			sum += int64(k.count) * k.cost
			rest -= int64(k.count) * k.worth
			continue
		}
		hi, lo := bits.Mul64(uint64(rest), uint64(k.cost))
		q, r := bits.Div64(hi, lo, uint64(k.worth))
		if r > 0 {
			q++
		}
		return sum + int64(q), true
	}
	return 0, false
}

// branch reports whether one coil fewer of the kind before may still win.
func (s *coverSearch) branch(i int, rest, spent int64) bool {
	if rest <= 0 {
		if s.best < 0 || spent < s.best {
			s.best = spent
		}
		return true
	}
	f, ok := s.split(i, rest)
	switch {
	case !ok:
		return false
	case s.best >= 0 && spent+f >= s.best:
		return false
	}
	if s.nodes--; s.nodes < 0 {
		s.best = spent + f
		return false
	}
	k := s.kinds[i]
	n := ceilDiv(rest, k.worth)
	if k.count != Unlimited {
		n = min(n, int64(k.count))
	}
	for ; n >= 0; n-- {
		if !s.branch(i+1, rest-n*k.worth, spent+n*k.cost) {
			break
		}
	}
	return true
}
