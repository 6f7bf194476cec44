package cut

import (
	"cmp"
	"slices"
)

// polish improves a plan a few sheets at a time: it takes apart sheets chosen at
// random and lays their pieces out again in another order, in sheets that cost
// no more. Equal answers are taken too, so that the plan keeps moving; rounds
// limits the tries.
func (s *sheetSearch) polish(rounds int, rand *rng) {
	p := s.p
	if s.best.missing > 0 {
		return
	}
	sheets := s.best.single()
	cost := s.best.cost
	for range rounds {
		if s.proven() || p.work.out() {
			return
		}
		n := len(sheets)
		take := min(1+rand.intn(4), n)
		var seq []int
		var was int64
		left := p.stockLeft()
		for range take {
			k := rand.intn(n)
			n--
			sheets[k], sheets[n] = sheets[n], sheets[k]
			was += p.boards[sheets[n].bin].cost
			for j, i := range sheets[n].item {
				for range sheets[n].qty[j] {
					seq = append(seq, int(i))
				}
			}
		}
		if len(seq) > 60 {
			continue
		}
		for _, u := range sheets[:n] {
			if left[u.bin] != Unlimited {
				left[u.bin]--
			}
		}
		p.work.spend(int64(2 * len(sheets)))
		found, now := s.again(seq, left, was, rand)
		if found == nil {
			continue
		}
		sheets = append(sheets[:n], found...)
		if cost += now - was; cost < s.best.cost {
			s.offer(polished(s.method), sheets)
		}
	}
}

// again lays a few pieces out in a fresh order, large ones tending to come
// first, for a cost of no more than limit; nil if that fails.
func (s *sheetSearch) again(seq, left []int, limit int64, rand *rng) ([]use, int64) {
	p := s.p
	type keyed struct {
		plate int
		key   float64
	}
	order := make([]keyed, len(seq))
	spread := rand.float()
	for k, i := range seq {
		order[k] = keyed{i, float64(p.plates[i].area) * (1 - spread*rand.float())}
	}
	slices.SortStableFunc(order, func(a, b keyed) int { return cmp.Compare(b.key, a.key) })
	for k := range order {
		seq[k] = order[k].plate
	}
	var uses []use
	var cost int64
	for len(seq) > 0 {
		b := rand.intn(len(p.boards))
		if left[b] == 0 || cost+p.boards[b].cost > limit {
			if b = p.cheapest(left); b < 0 || cost+p.boards[b].cost > limit {
				return nil, 0
			}
		}
		t, rest := p.inOrder(b, seq, s.places[rand.intn(len(s.places))], rand)
		if len(rest) == len(seq) {
			return nil, 0
		}
		cost += p.boards[b].cost
		if left[b] != Unlimited {
			left[b]--
		}
		uses = append(uses, use{p.sheetPattern(b, t), 1})
		seq = rest
	}
	return uses, cost
}

// cheapest is the board of the least cost that is left, −1 for none.
func (p *sheetProblem) cheapest(left []int) int {
	best := -1
	for b := range p.boards {
		if left[b] != 0 && (best < 0 || p.boards[b].cost < p.boards[best].cost) {
			best = b
		}
	}
	return best
}

// inOrder fills one board with pieces in the order given and returns those that
// did not fit. The way each rest is parted strays now and then.
func (p *sheetProblem) inOrder(board int, seq []int, rule placing, rand *rng) (*tree, []int) {
	root := leaf(p.boards[board].w, p.boards[board].h, -1)
	free := []*tree{root}
	var rest []int
	for _, i := range seq {
		best, bestWay, bestFit := -1, -1, 0
		for f, t := range free {
			for way := range p.waysOf(i) {
				v := p.ways[way]
				if v.w > t.w || v.h > t.h {
					continue
				}
				fit := rule.fit(t.w-v.w, t.h-v.h, t.w, t.h)
				if best < 0 || fit < bestFit || fit == bestFit && rand.intn(2) == 0 {
					best, bestWay, bestFit = f, way, fit
				}
			}
		}
		p.work.spend(int64(4*len(free) + 10))
		if best < 0 {
			rest = append(rest, i)
			continue
		}
		t := free[best]
		free = slices.Delete(free, best, best+1)
		free = append(free, p.place(t, bestWay, rule.long == (rand.intn(4) > 0))...)
	}
	return root, rest
}
