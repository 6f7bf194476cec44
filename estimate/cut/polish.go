package cut

// polish improves a plan a few coils at a time: it takes apart coils chosen at
// random, as many as hold a handful of pieces, and tries everything with those
// pieces. Equal answers are taken too, so that the plan keeps moving.
func (s *search) polish(rounds int) {
	p := s.p
	if s.best.missing > 0 {
		return
	}
	rand := newRNG(6)
	coils := s.best.single()
	cost := s.best.cost
	for range rounds {
		if s.proven() || p.work.out() || len(coils) < 2 {
			return
		}
		// A random choice of coils, moved to the end of the list.
		pieces, n := 0, len(coils)
		for n > 0 {
			k := rand.intn(n)
			if pieces += coils[k].pieces(); pieces > smallRest && len(coils)-n > 1 {
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
		found, now := p.tryAll(rem, left, was+1, 3000)
		if found == nil {
			continue
		}
		coils = append(coils[:n], found...)
		if cost += now - was; cost < s.best.cost {
			s.offer(s.method+", polished", p.solution(coils))
		}
	}
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
