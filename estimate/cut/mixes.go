package cut

import (
	"cmp"
	"slices"

	"wraptally/estimate/qty"
)

// mix is a number of each bin, and what they cost.
type mix struct {
	count []int
	cost  int64
}

const (
	mixSteps = 200_000 // sets of stock looked at
	mixMost  = 100     // of them tried
)

// mixes looks for a plan within each set of coils or sheets that costs less than
// the best and that the proof does not rule out, cheapest first. The relaxation
// rules out most of them at once.
func (s *search) mixes(r *relax) {
	if len(s.bins) < 2 || s.best.missing > 0 || s.proven() {
		return
	}
	limit := s.work.limit
	defer func() { s.work.limit = limit }()
	s.work.limit = min(limit, s.work.used+limit/3)
	for _, m := range s.cheaper() {
		if s.proven() || m.cost >= s.best.cost || s.work.out() {
			return
		}
		if rel := r.solve(s.demand, slices.Clone(m.count), 200, false); rel.missing < 1e-3 {
			r.dive("a given set of stock", m.count, rel, 0, nil)
		}
	}
}

// cheaper lists the sets, each with as many as the same money buys.
func (s *search) cheaper() []mix {
	var total int64
	for i, y := range s.proof.y {
		total += y * int64(s.demand[i])
	}
	count := s.stockLeft()
	var paid []int
	for b := range s.bins {
		switch bn := &s.bins[b]; {
		case bn.curve != nil || bn.cost > 0:
			paid = append(paid, b)
		case count[b] > 0:
			total -= s.proof.k[b] * int64(count[b])
		}
	}
	var out []mix
	steps := 0
	var choose func(k int, worth, cost int64)
	choose = func(k int, worth, cost int64) {
		if k == len(paid) {
			if worth <= 0 {
				out = append(out, mix{slices.Clone(count), cost})
			}
			return
		}
		b := paid[k]
		bn := &s.bins[b]
		first := int64(0)
		if k == len(paid)-1 { // as many as are needed
			first = max(qty.CeilDiv(worth, max(s.proof.k[b], 1)), 0)
		}
		for n := first; bn.count == Unlimited || n <= int64(bn.count); n++ {
			more := bn.costOf(int(n))
			if steps++; cost+more >= s.best.cost || steps > mixSteps {
				break
			}
			if bn.curve != nil && n < int64(bn.count) && bn.curve[n+1] == more {
				continue
			}
			count[b] = int(n)
			choose(k+1, worth-n*s.proof.k[b], cost+more)
		}
	}
	choose(0, total, 0)
	s.work.spend(int64(4 * steps))
	slices.SortStableFunc(out, func(a, b mix) int { return cmp.Compare(a.cost, b.cost) })
	return out[:min(len(out), mixMost)]
}
