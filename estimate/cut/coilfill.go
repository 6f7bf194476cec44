package cut

// filler chooses the pieces of one coil after another from those remaining.
// Lengths that have run out are skipped by links, so that thousands of
// different lengths stay affordable.
type filler struct {
	p    *coilTask
	rem  []int // pieces remaining, by item
	next []int // next[i] is an index ≥ i whose length may remain; path-compressed

	stack []fillStep // scratch of the search
}

type fillStep struct{ item, qty int }

func (p *coilTask) newFiller(rem []int) *filler {
	f := &filler{p: p, rem: rem, next: make([]int, len(rem)+1)}
	for i := range f.next {
		f.next[i] = i
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
			p.add(t, i, q)
			room -= q * p.items[i].w
		}
		p.work.spend(1)
		i = f.from(max(i+1, p.firstFit(room)))
	}
	return t
}

// firstFit returns the first (longest) item no wider than room.
func (p *coilTask) firstFit(room int) int {
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
// full coil, or after the given number of steps, with the best so far.
func (f *filler) fullest(bin, steps int) *pattern {
	p := f.p
	capacity := p.bins[bin].cap
	first := f.from(p.firstFit(capacity))
	if first >= len(p.items) {
		return &pattern{bin: bin}
	}
	f.rem[first]--
	best := f.search(first, capacity-p.items[first].w, steps)
	f.rem[first]++
	t := &pattern{bin: bin}
	if len(best) > 0 && best[0].item == first {
		best[0].qty++
	} else {
		p.add(t, first, 1)
	}
	for _, b := range best {
		p.add(t, b.item, b.qty)
	}
	return t
}

// search is a depth-first search for the largest total width within room, items
// from start on.
func (f *filler) search(start, room, steps int) []fillStep {
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
		if bestRoom == 0 || n >= steps {
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

// thumbs implements cutter.
func (p *coilTask) thumbs() []thumb {
	steps := 1
	if len(p.items) > 1000 {
		steps = 10
	}
	return []thumb{p.largest(), p.full(200 / steps), p.full(5000 / steps)}
}

// ends implements cutter.
func (p *coilTask) ends() []thumb { return []thumb{p.largest(), p.full(300)} }

func (p *coilTask) largest() thumb {
	return thumb{"first-fit decreasing", func(rem []int) func(int) *pattern { return p.newFiller(rem).largestFirst }}
}

func (p *coilTask) full(steps int) thumb {
	return thumb{"fullest coil first", func(rem []int) func(int) *pattern {
		f := p.newFiller(rem)
		return func(bin int) *pattern { return f.fullest(bin, steps) }
	}}
}

// again implements cutter.
func (p *coilTask) again(bin int, rem []int, rand *rng) *pattern {
	p.work.spend(int64(len(rem)))
	return p.newFiller(rem).fullest(bin, 50+rand.intn(300))
}
