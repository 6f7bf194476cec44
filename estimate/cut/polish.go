package cut

import "strings"

// polish improves a plan a few coils at a time: it takes apart coils chosen at
// random and cuts their pieces again, a handful by trying everything, more of
// them by filling coils of kinds chosen at random. Equal answers are taken too,
// so that the plan keeps moving.
func (s *search) polish(rounds int, rand *rng) {
	p := s.p
	if s.best.missing > 0 {
		return
	}
	coils := s.best.single()
	cost := s.best.cost
	for round := range rounds {
		if s.proven() || p.work.out() || len(coils) < 2 {
			return
		}
		// A random choice of coils, moved to the end of the list.
		pieces, n, most := 0, len(coils), smallRest
		if round%2 == 1 {
			most = 60
		}
		for n > 0 {
			k := rand.intn(n)
			if pieces += coils[k].pieces(); pieces > most && len(coils)-n > 1 {
				break
			}
			n--
			coils[k], coils[n] = coils[n], coils[k]
		}
		if len(coils)-n < 2 {
			continue
		}
		rem, left := make([]int, len(p.items)), p.stockLeft()
		var was int64
		for k, u := range coils {
			if k < n {
				if left[u.bin] != Unlimited {
					left[u.bin]--
				}
				continue
			}
			was += p.bins[u.bin].cost
			for j, i := range u.item {
				rem[i] += int(u.qty[j])
			}
		}
		p.work.spend(int64(2 * len(coils)))
		var found []use
		var now int64
		if round%2 == 0 {
			found, now, _ = p.tryAll(rem, left, was+1, 3000)
		} else {
			found, now = p.refill(rem, left, was, rand)
		}
		if found == nil {
			continue
		}
		coils = append(coils[:n], found...)
		if cost += now - was; cost < s.best.cost {
			s.offer(polished(s.method), p.solution(coils))
		}
	}
}

func polished(method string) string {
	if strings.HasSuffix(method, ", polished") {
		return method
	}
	return method + ", polished"
}

// refill cuts the pieces remaining from coils of kinds chosen at random, each
// filled as full as may be, for a cost of no more than limit; nil if that fails.
func (p *problem) refill(rem, left []int, limit int64, rand *rng) ([]use, int64) {
	f := p.newFiller(rem, left)
	var uses []use
	var cost int64
	for f.more > 0 {
		b := rand.intn(len(p.bins))
		if left[b] == 0 || cost+p.bins[b].cost > limit {
			// The cheapest that is left.
			b = -1
			for c := range p.bins {
				if left[c] != 0 && (b < 0 || p.bins[c].cost < p.bins[b].cost) {
					b = c
				}
			}
			if b < 0 || cost+p.bins[b].cost > limit {
				return nil, 0
			}
		}
		t := f.fullest(b, 0, 50+rand.intn(300))
		if len(t.item) == 0 {
			return nil, 0
		}
		t.take(rem, 1)
		f.more -= t.pieces()
		if left[b] != Unlimited {
			left[b]--
		}
		cost += p.bins[b].cost
		uses = append(uses, use{t, 1})
	}
	return uses, cost
}

// single lists the coils of a solution one by one.
func (sol solution) single() []use {
	var out []use
	for _, u := range sol.uses {
		for range u.n {
			out = append(out, use{u.pattern, 1})
		}
	}
	return out
}

// pieces is the number of pieces in one coil.
func (t *pattern) pieces() int {
	n := 0
	for _, q := range t.qty {
		n += int(q)
	}
	return n
}
