package cut

import (
	"cmp"
	"slices"
)

// mix is a number of coils of each bin, and what they cost.
type mix struct {
	count []int
	cost  int64
}

// mixes lists sets of coils that cost less than the best plan and that the
// proof does not rule out, cheapest first, up to a number.
func (s *search) mixes(most int) []mix {
	p := s.p
	var total int64
	for i, y := range s.proof.y {
		total += y * int64(p.items[i].d)
	}
	count := p.stockLeft()
	var paid []int
	for b := range p.bins {
		if p.bins[b].cost > 0 {
			paid = append(paid, b)
			count[b] = 0
		} else if count[b] > 0 {
			total -= s.proof.k[b] * int64(count[b])
		}
	}
	// The most worth for its cost last, so that the innermost number is small.
	slices.SortStableFunc(paid, func(a, b int) int {
		return cmp.Compare(float64(s.proof.k[a])/float64(p.bins[a].cost), float64(s.proof.k[b])/float64(p.bins[b].cost))
	})
	var out []mix
	steps := 0
	var choose func(k int, worth, cost int64)
	choose = func(k int, worth, cost int64) {
		if steps++; steps > 50_000 {
			return
		}
		if k < 0 {
			if worth <= 0 && cost < s.best.cost {
				out = append(out, mix{slices.Clone(count), cost})
			}
			return
		}
		b := paid[k]
		bn := &p.bins[b]
		if k == 0 { // just as many as are needed
			n := max(ceilDiv(worth, max(s.proof.k[b], 1)), 0)
			if worth <= 0 {
				n = 0
			}
			if bn.count == Unlimited || n <= int64(bn.count) {
				count[b] = int(n)
				choose(-1, worth-n*s.proof.k[b], cost+n*bn.cost)
				count[b] = 0
			}
			return
		}
		n := ceilDiv(max(worth, 0), max(s.proof.k[b], 1))
		if bn.count != Unlimited {
			n = min(n, int64(bn.count))
		}
		for ; n >= 0; n-- {
			// The others are worth no more for their cost than the next.
			left, next := max(worth-n*s.proof.k[b], 0), paid[k-1]
			least := float64(left) * float64(p.bins[next].cost) / float64(max(s.proof.k[next], 1))
			if float64(cost+n*bn.cost)+least >= float64(s.best.cost) {
				break
			}
			count[b] = int(n)
			choose(k-1, worth-n*s.proof.k[b], cost+n*bn.cost)
		}
		count[b] = 0
	}
	if len(paid) > 0 && len(paid) <= 8 {
		choose(len(paid)-1, total, 0)
	}
	p.work.spend(int64(4 * steps))
	slices.SortStableFunc(out, func(a, b mix) int { return cmp.Compare(a.cost, b.cost) })
	return out[:min(len(out), most)]
}

// tryMixes looks for a plan within each set of coils that might do, cheapest
// first. The relaxation rules out most sets at once.
func (r *relax) tryMixes(most int) {
	s, p := r.s, r.s.p
	limit := p.work.limit
	defer func() { p.work.limit = limit }()
	p.work.limit = min(limit, p.work.used+limit/3)
	for _, m := range s.mixes(most) {
		if s.proven() || m.cost >= s.best.cost || p.work.out() {
			return
		}
		rel := r.solve(p.demand(), slices.Clone(m.count), 200)
		if rel.missing > 1e-3 {
			continue
		}
		d := diver{
			solve:  r.solve,
			trim:   func(t *pattern, rem []int) *pattern { return t.trimmed(p, rem) },
			finish: func(taken []use, rem, left []int) { s.finish("a given set of coils", taken, rem, left) },
			done:   func() bool { return s.best.missing == 0 && s.best.cost <= m.cost },
			work:   p.work,
		}
		d.dive(rel, p.demand(), m.count, 0, nil)
	}
}
