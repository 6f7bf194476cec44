package cut

import "slices"

// cutter is what differs between coils and sheets.
type cutter interface {
	// quickWorths are worths that need no relaxation, the first always sound.
	quickWorths() []worths
	// exactWorths are integer worths with the most in each bin worked out exactly;
	// ok is false where that would take too much of the work allowed.
	exactWorths(y []int64) (v worths, ok bool)
	// thumbs are the rules of thumb for a whole plan; ends, those for completing
	// one. The first serves however little work is left.
	thumbs() []thumb
	ends() []thumb
	// relaxation prices patterns of the linear relaxation: the pure one, or that
	// with a small price on scrap; nil where it is not worth its time.
	relaxation(scrap bool, prove func(worths)) pricing
	// limited is the pattern without pieces beyond those remaining.
	limited(t *pattern, rem []int) *pattern
	// scrap is what is neither cut nor worth keeping of one coil or sheet.
	scrap(t *pattern) int64
	// again fills one of a bin from the pieces remaining in a way chosen at random.
	again(bin int, rem []int, rand *rng) *pattern
}

// thumb is a rule of thumb: from the pieces remaining, which only grow fewer,
// it gives what fills one coil or sheet of a bin.
type thumb struct {
	name string
	from func(rem []int) func(bin int) *pattern
}

// search holds the best plan and the best bound found so far.
type search struct {
	*task
	cutter
	best   solution
	method string
	have   bool
	floor  int64 // proven lower bound on the cost, in the task's units
	proof  worths
	tooFew bool // the stock is proven not to suffice
}

// run is the road from quick to thorough: quick bounds, plans by rules of
// thumb, and column generation where the two still differ or scrap can be saved.
func (s *search) run() {
	s.offer("nothing to cut", nil)
	for _, v := range s.quickWorths() {
		s.prove(v)
	}
	if s.pieces == 0 {
		return
	}
	for i, th := range s.thumbs() {
		if i == 0 || !s.proven() && !s.work.out() {
			s.offer(th.name, s.fill(slices.Clone(s.demand), s.stockLeft(), th, i == 0))
		}
	}
	if s.tooFew {
		return
	}
	s.columns()
}

// After each dive so many tries are made, each with about so many pieces.
const (
	polishRounds = 2000
	polishPieces = 60
)

// columns closes the gap by column generation: the relaxation gives the bound,
// diving from it the plan. A second relaxation, with a small price on scrap and
// on each coil, looks for the best among plans of equal cost.
func (s *search) columns() {
	var pool []*pattern
	if p := s.relaxation(false, s.prove); p != nil && !s.proven() {
		r := s.relax(p, nil)
		pool = r.pool
		rand, polish := newRNG(1), newRNG(6)
		for n := 0; n < 30 && !s.proven() && !s.work.out(); n++ {
			r.dive("column generation", s.stockLeft(), r.root, 0.3*float64(min(n, 3)), rand)
			s.polish(polishRounds, polish)
			if n == 1 {
				s.mixes(r)
			}
		}
	}
	p := s.relaxation(true, s.prove)
	if p == nil || s.satisfied() {
		return
	}
	// Scrap is worth some work, not all there is.
	limit := s.work.limit
	s.work.limit = min(limit, s.work.used+limit/6)
	defer func() { s.work.limit = limit }()
	r := s.relax(p, pool)
	rand := newRNG(2)
	for n := 0; n < 10 && !s.satisfied() && !s.work.out(); n++ {
		r.dive("column generation with scrap", s.stockLeft(), r.root, 0.3*float64(min(n, 3)), rand)
	}
}

// offer keeps a plan if it is better than the best so far.
func (s *search) offer(method string, uses []use) {
	sol := s.solution(uses)
	if s.have && sol.compare(s.best.score) >= 0 {
		return
	}
	s.best, s.method, s.have = sol, method, true
}

// proven reports whether no plan can cost less than the best.
func (s *search) proven() bool {
	return s.best.missing == 0 && s.best.cost == s.floor || s.tooFew
}

// satisfied reports that a dive has nothing left to gain: cost proven least and
// no scrap to save.
func (s *search) satisfied() bool {
	return s.proven() && s.best.scrap == 0
}

// fill cuts everything remaining, coil by coil, each time from the bin that cuts
// most for its cost, as often as the pieces allow. Pieces that find no place
// stay in rem. must says that it goes on when the work allowed is used up.
func (s *search) fill(rem, left []int, th thumb, must bool) []use {
	more := 0
	for _, n := range rem {
		more += n
	}
	var uses []use
	next := th.from(rem)
	for more > 0 && (must || !s.work.out()) {
		t := s.bestBin(next, left, more)
		if t == nil {
			break
		}
		n := t.times(rem)
		if k := left[t.bin]; k != Unlimited {
			n = min(n, k)
			left[t.bin] -= n
		}
		t.take(rem, n)
		more -= n * t.pieces()
		uses = append(uses, use{t, n})
	}
	return uses
}

// bestBin fills one of each bin that is left and returns what cuts most for its
// cost. If everything remaining fits one, the cheapest such counts as well.
func (s *search) bestBin(next func(bin int) *pattern, left []int, more int) *pattern {
	var best *pattern
	var bestRate float64
	for b := range s.bins {
		bn := &s.bins[b]
		if left[b] == 0 {
			continue
		}
		if best != nil && s.bins[best.bin].size() == bn.size() && s.bins[best.bin].cost <= bn.cost && bn.w == 0 {
			continue // the same again, no cheaper
		}
		t := next(b)
		if t == nil || len(t.size) == 0 {
			continue
		}
		rate := float64(t.used) / (float64(bn.cost) + 1e-9*bn.size())
		if t.pieces() == more {
			rate *= 2 // nothing more to open after this one
		}
		if best == nil || rate > bestRate {
			best, bestRate = t, rate
		}
	}
	return best
}

// finish completes a part of a plan by rules of thumb and offers the results.
func (s *search) finish(name string, taken []use, rem, left []int) {
	for _, th := range s.ends() {
		rest := s.fill(slices.Clone(rem), slices.Clone(left), th, false)
		s.offer(name, append(slices.Clone(taken), rest...))
		if len(rest) == 0 {
			break
		}
	}
}

// polish improves a plan a few coils or sheets at a time: it takes apart some
// chosen at random and cuts their pieces again, for no more cost, from bins chosen
// at random. Equal answers are taken too, so that the plan keeps moving.
func (s *search) polish(rounds int, rand *rng) {
	if s.best.missing > 0 {
		return
	}
	coils, cost, least := s.best.single(), s.best.guide, s.best.guide
	for range rounds {
		if s.proven() || s.work.out() || len(coils) < 2 {
			return
		}
		n := drawn(coils, polishPieces, rand)
		rem, left, was := s.without(coils[:n], coils[n:])
		s.work.spend(int64(2 * len(coils)))
		found := s.refill(rem, left, was, rand)
		if found == nil {
			continue
		}
		coils = append(coils[:n], found...)
		if cost += s.guideCost(found) - was; cost < least {
			least = cost
			s.offer("column generation, polished", coils)
		}
	}
}

// drawn moves a random choice of coils of at most so many pieces together, but
// two at least, to the end of the list and returns where they begin.
func drawn(coils []use, most int, rand *rng) int {
	pieces, n := 0, len(coils)
	for n > 0 {
		k := rand.intn(n)
		if pieces += coils[k].pieces(); pieces > most && len(coils)-n > 1 {
			break
		}
		n--
		coils[k], coils[n] = coils[n], coils[k]
	}
	return n
}

// without is what remains to be cut, and of which stock, when coils taken out of
// a plan leave those kept, and what the coils taken out cost.
func (s *search) without(kept, out []use) (rem, left []int, cost int64) {
	rem, left = make([]int, len(s.demand)), s.stockLeft()
	for _, u := range kept {
		if left[u.bin] != Unlimited {
			left[u.bin]--
		}
	}
	for _, u := range out {
		for j, i := range u.size {
			rem[i] += int(u.qty[j])
		}
	}
	return rem, left, s.guideCost(out)
}

// guideCost is what coils or sheets cut once each cost, for guidance.
func (s *search) guideCost(uses []use) (cost int64) {
	for _, u := range uses {
		cost += s.bins[u.bin].cost
	}
	return cost
}

// refill cuts the pieces remaining from bins chosen at random, each filled anew,
// for a cost of no more than limit; nil if that fails.
func (s *search) refill(rem, left []int, limit int64, rand *rng) []use {
	more := 0
	for _, n := range rem {
		more += n
	}
	var uses []use
	var cost int64
	for more > 0 {
		b := rand.intn(len(s.bins))
		if left[b] == 0 || cost+s.bins[b].cost > limit {
			b = -1 // the cheapest that is left
			for c := range s.bins {
				if left[c] != 0 && (b < 0 || s.bins[c].cost < s.bins[b].cost) {
					b = c
				}
			}
			if b < 0 || cost+s.bins[b].cost > limit {
				return nil
			}
		}
		t := s.again(b, rem, rand)
		if len(t.size) == 0 {
			return nil
		}
		t.take(rem, 1)
		more -= t.pieces()
		if left[b] != Unlimited {
			left[b]--
		}
		cost += s.bins[b].cost
		uses = append(uses, use{t, 1})
	}
	return uses
}

// missing are the numbers of each size that the best solution could not place.
func (s *search) missing() []int {
	rem := slices.Clone(s.demand)
	for _, u := range s.best.uses {
		u.take(rem, u.n)
	}
	return rem
}
