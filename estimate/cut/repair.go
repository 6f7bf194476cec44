package cut

import (
	"cmp"
	"slices"
)

// repair improves a plan of very many different lengths piece by piece: it
// takes the coils with most left over, and some others at random, as a problem
// of its own, solves that by groups, and keeps the answer when it is better.
// Rounds without success end it.
func (s *search) repair(fruitless int) {
	p := s.p
	rand := newRNG(5)
	for failed := 0; failed < fruitless && !s.proven() && !p.work.out(); {
		rem, left, kept := s.loosen(40+20*(failed%4), rand)
		sub, back := p.sub(rem, left)
		t := &search{p: sub}
		t.offer("", sub.solution(nil))
		t.thumb()
		t.gathered(60, 1)
		before := s.best
		var uses []use
		for _, u := range t.best.uses {
			r := &pattern{bin: u.bin}
			for j, i := range u.item {
				r.add(p, back[i], int(u.qty[j]))
			}
			uses = append(uses, use{r, u.n})
		}
		s.offer("groups of lengths, repaired", p.solution(append(kept, uses...)))
		if s.best.cost == before.cost && s.best.missing == before.missing {
			failed++
		} else {
			failed = 0
		}
	}
}

// loosen takes apart some coils of the best plan and returns their pieces, the
// stock free for them, and the coils left alone.
func (s *search) loosen(coils int, rand *rng) (rem, left []int, kept []use) {
	p := s.p
	var single []use
	for _, u := range s.best.uses {
		for range u.n {
			single = append(single, use{u.pattern, 1})
		}
	}
	slices.SortStableFunc(single, func(a, b use) int {
		return cmp.Compare(p.bins[b.bin].cap-b.used, p.bins[a.bin].cap-a.used)
	})
	// Two thirds of them those with most left, the others anywhere.
	worst := min(len(single), coils*2/3)
	for k := worst; k < min(len(single), coils); k++ {
		j := k + rand.intn(len(single)-k)
		single[k], single[j] = single[j], single[k]
	}
	n := min(len(single), coils)
	rem, left = make([]int, len(p.items)), p.stockLeft()
	for k, u := range single {
		switch {
		case k < n:
			for j, i := range u.item {
				rem[i] += int(u.qty[j])
			}
		default:
			kept = append(kept, u)
			if left[u.bin] != Unlimited {
				left[u.bin]--
			}
		}
	}
	return rem, left, kept
}

// sub is the problem of cutting only some pieces from only some stock; back
// gives the item that each of its items stands for.
func (p *problem) sub(rem, left []int) (q *problem, back []int) {
	q = new(problem)
	*q = *p
	q.items, q.pieces, q.material = nil, 0, 0
	for i, n := range rem {
		if n > 0 {
			it := p.items[i]
			it.d = n
			q.items = append(q.items, it)
			q.pieces += n
			q.material += int64(it.w) * int64(n)
			back = append(back, i)
		}
	}
	q.bins = slices.Clone(p.bins)
	for b := range q.bins {
		q.bins[b].count = left[b]
	}
	return q, back
}
