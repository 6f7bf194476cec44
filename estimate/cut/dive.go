package cut

import "slices"

// diver turns a linear relaxation into whole patterns; the coil and the sheet
// solver supply its steps.
type diver struct {
	solve  func(rem, left []int, rounds int) relaxed // relax what remains
	trim   func(t *pattern, rem []int) *pattern      // t without pieces beyond those remaining
	finish func(taken []use, rem, left []int)        // complete by rules of thumb and offer
	done   func() bool                               // nothing left to gain
	work   *meter
}

// dive takes the whole part of every pattern, then one more of the pattern with
// the largest fraction, and solves again for what remains. After each step the
// rest is also completed by rules of thumb. wander > 0 lets the choice of
// pattern stray, for dives after the first.
func (d *diver) dive(root relaxed, rem, left []int, wander float64, rand *rng) {
	var taken []use
	take := func(t *pattern, n int) {
		if k := left[t.bin]; k != Unlimited {
			n = min(n, k)
			left[t.bin] -= n
		}
		if n > 0 {
			t.take(rem, n)
			taken = append(taken, use{t, n})
		}
	}
	for rel, level := root, 0; !d.work.out(); level++ {
		frac := slices.Clone(rel.use)
		for k, t := range rel.pats {
			whole := frac[k] + 1e-6
			if level == 0 && wander > 0 {
				whole -= 2 * wander * rand.float() // leave the later dives more to choose
			}
			if n := min(int(whole), t.times(rem)); n > 0 {
				take(t, n)
				frac[k] -= float64(n)
			}
		}
		more := 0
		for _, n := range rem {
			more += n
		}
		d.finish(taken, rem, left)
		if more == 0 || d.done() {
			return
		}
		var best *pattern
		bestFrac := 0.0
		for k, t := range rel.pats {
			f := frac[k]
			if wander > 0 {
				f += wander * rand.float()
			}
			if f > bestFrac && left[t.bin] != 0 {
				if t = d.trim(t, rem); len(t.item) > 0 {
					best, bestFrac = t, f
				}
			}
		}
		if best == nil {
			return
		}
		take(best, 1)
		rel = d.solve(rem, left, 60)
	}
}
