package cut

// filler chooses the pieces of one coil after another from those remaining.
// Lengths that have run out are skipped by links, so that thousands of
// different lengths stay affordable.
type filler struct {
	p    *problem
	rem  []int // pieces remaining, by item
	left []int // coils left, by bin; Unlimited stays so
	next []int // next[i] is an index ≥ i whose length may remain; path-compressed
	more int   // pieces remaining in all
	must bool  // finish even when the budget is used up

	stack []fillStep // scratch of the search
}

type fillStep struct{ item, qty int }

func (p *problem) newFiller(rem, left []int) *filler {
	f := &filler{p: p, rem: rem, left: left, next: make([]int, len(rem)+1)}
	for i := range f.next {
		f.next[i] = i
	}
	for _, n := range rem {
		f.more += n
	}
	return f
}

// from returns the first item at or after i with pieces remaining.
func (f *filler) from(i int) int {
	r := i
	for r < len(f.rem) && (f.next[r] != r || f.rem[r] == 0) {
		if f.next[r] == r {
			f.next[r] = r + 1
		}
		r = f.next[r]
	}
	for f.next[i] != r && i < r {
		f.next[i], i = r, f.next[i]
	}
	return r
}

// largestFirst fills a coil with the longest piece that fits, again and again:
// first-fit decreasing, one coil at a time.
func (f *filler) largestFirst(bin int) *pattern {
	p := f.p
	t := &pattern{bin: bin}
	room := p.bins[bin].cap
	for i := f.from(p.firstFit(room)); i < len(p.items); {
		if q := min(f.rem[i], room/p.items[i].w); q > 0 {
			t.add(p, i, q)
			room -= q * p.items[i].w
		}
		p.work.spend(1)
		i = f.from(max(i+1, p.firstFit(room)))
	}
	return t
}

// firstFit returns the first (longest) item no wider than room.
func (p *problem) firstFit(room int) int {
	lo, hi := 0, len(p.items)
	for lo < hi {
		mid := (lo + hi) / 2
		if p.items[mid].w <= room {
			hi = mid
		} else {
			lo = mid + 1
		}
	}
	return lo
}

// fullest forces the longest piece that fits into the coil and looks for the
// choice of others that leaves least, trying longer pieces first; it stops at a
// coil left with no more than slack, or after the given number of steps, with
// the best so far.
func (f *filler) fullest(bin, slack, steps int) *pattern {
	p := f.p
	capacity := p.bins[bin].cap
	first := f.from(p.firstFit(capacity))
	if first >= len(p.items) {
		return &pattern{bin: bin}
	}
	f.rem[first]--
	best := f.search(first, capacity-p.items[first].w, slack, steps)
	f.rem[first]++
	t := &pattern{bin: bin}
	if len(best) > 0 && best[0].item == first {
		best[0].qty++
	} else {
		t.add(p, first, 1)
	}
	for _, b := range best {
		t.add(p, b.item, b.qty)
	}
	return t
}

// search is a depth-first search for the largest total width within room, items
// from start on.
func (f *filler) search(start, room, slack, steps int) []fillStep {
	p := f.p
	var best []fillStep
	bestRoom := room + 1
	cur := f.stack[:0]
	i := f.from(max(start, p.firstFit(room)))
	for n := 0; ; n++ {
		// Forward: as many as fit of each, longest first.
		for i < len(p.items) {
			q := min(f.rem[i], room/p.items[i].w)
			if q > 0 {
				cur = append(cur, fillStep{i, q})
				room -= q * p.items[i].w
			}
			i = f.from(max(i+1, p.firstFit(room)))
			n++
		}
		if room < bestRoom {
			bestRoom = room
			best = append(best[:0], cur...)
		}
		if bestRoom <= slack || n >= steps {
			p.work.spend(int64(n))
			f.stack = cur[:0]
			return best
		}
		// Back: one fewer of the last, and go on with shorter ones.
		for {
			if len(cur) == 0 {
				p.work.spend(int64(n))
				f.stack = cur
				return best
			}
			last := &cur[len(cur)-1]
			i = last.item
			last.qty--
			room += p.items[i].w
			if last.qty == 0 {
				cur = cur[:len(cur)-1]
			}
			i = f.from(max(i+1, p.firstFit(room)))
			if i < len(p.items) {
				break
			}
		}
	}
}

// choose picks how to fill one coil of a bin.
type choose func(f *filler, bin int) *pattern

// run cuts everything remaining, coil by coil, with the bin of the best value
// each time, and returns the patterns; pieces that find no place stay in rem.
func (f *filler) run(fill choose) []use {
	var uses []use
	for f.more > 0 && (f.must || !f.p.work.out()) {
		t := f.bestBin(fill)
		if t == nil {
			break
		}
		n := t.times(f.rem)
		if k := f.left[t.bin]; k != Unlimited {
			n = min(n, k)
			f.left[t.bin] -= n
		}
		t.take(f.rem, n)
		for _, q := range t.qty {
			f.more -= n * int(q)
		}
		uses = append(uses, use{t, n})
	}
	return uses
}

// bestBin fills one coil of each bin that is left and returns the one that cuts
// most length for its cost. If everything remaining fits one coil, the cheapest
// such coil counts as well.
func (f *filler) bestBin(fill choose) *pattern {
	p := f.p
	var best *pattern
	var bestRate float64
	lastCap := -1
	for b := range p.bins {
		if f.left[b] == 0 {
			continue
		}
		bn := &p.bins[b]
		if lastCap == bn.cap && best != nil && p.bins[best.bin].cap == bn.cap && p.bins[best.bin].cost <= bn.cost {
			continue // the same again, no cheaper
		}
		lastCap = bn.cap
		t := fill(f, b)
		if t == nil || len(t.item) == 0 {
			continue
		}
		pieces := 0
		for _, q := range t.qty {
			pieces += int(q)
		}
		rate := float64(t.used) / (float64(bn.cost) + 1e-9*float64(bn.cap))
		if pieces == f.more {
			rate *= 2 // nothing more to open after this one
		}
		if best == nil || rate > bestRate {
			best, bestRate = t, rate
		}
	}
	return best
}

// stockLeft returns the coils available at the start.
func (p *problem) stockLeft() []int {
	left := make([]int, len(p.bins))
	for b := range p.bins {
		left[b] = p.bins[b].count
	}
	return left
}

func (p *problem) demand() []int {
	d := make([]int, len(p.items))
	for i := range p.items {
		d[i] = p.items[i].d
	}
	return d
}
