package cut

// worths is a set of integer worths by item, with the most that one coil of
// each bin can hold: a lower bound in the making.
type worths struct {
	y    []int64
	k    []int64 // by bin
	name string
}

// bound returns the least cost that the worths prove; ok is false where they
// prove that the stock does not suffice.
func (p *problem) bound(v worths) (cost int64, ok bool) {
	var total int64
	for i, y := range v.y {
		total += y * int64(p.items[i].d)
	}
	kinds := make([]kind, len(p.bins))
	for b := range p.bins {
		kinds[b] = kind{p.bins[b].cost, v.k[b], p.bins[b].count}
	}
	return leastCover(kinds, total, 20_000)
}

// materialWorths makes each piece worth its width: the material bound, sharper
// by the widths that no sum of pieces can reach.
func (p *problem) materialWorths() worths {
	v := worths{y: make([]int64, len(p.items)), name: "material"}
	for i, it := range p.items {
		v.y[i] = int64(it.w)
	}
	if k, ok := p.knapsackWorths(v.y); ok {
		v.k = k
		return v
	}
	for _, b := range p.bins {
		v.k = append(v.k, int64(b.cap))
	}
	return v
}

// thresholdWorths are the worths of a dual-feasible function: in coils of
// capacity c, what is longer than c − e counts as a whole coil, what is shorter
// than e as nothing, the rest as its width. It returns the best of them over
// all e. With the material bound this is the bound L2 of Martello and Toth,
// Discrete Applied Mathematics 28 (1990) 59, in the form of Fekete and
// Schepers, Mathematical Programming 91 (2001) 11 [from memory].
func (p *problem) thresholdWorths(c int) (v worths, ok bool) {
	// Items are longest first: count and width of those before each index.
	n := len(p.items)
	count, width := make([]int64, n+1), make([]int64, n+1)
	for i, it := range p.items {
		count[i+1] = count[i] + int64(it.d)
		width[i+1] = width[i] + int64(it.d)*int64(it.w)
	}
	after := func(room int) int { return p.firstFit(room) } // items before it are wider than room
	bestE, bestT := -1, int64(-1)
	for i := range p.items {
		e := p.items[i].w
		if 2*e > c {
			continue
		}
		big, end := after(c-e), i+1
		if t := count[big]*int64(c) + width[end] - width[big]; t > bestT {
			bestE, bestT = e, t
		}
	}
	if half := after(c / 2); count[half]*int64(c) > bestT {
		bestE = c/2 + 1
	}
	if bestE < 0 {
		return worths{}, false
	}
	v = worths{y: make([]int64, n), name: "dual-feasible function"}
	for i, it := range p.items {
		switch {
		case it.w > c-bestE || 2*it.w > c && bestE > c/2:
			v.y[i] = int64(c)
		case it.w >= bestE:
			v.y[i] = int64(it.w)
		}
	}
	if k, ok := p.knapsackWorths(v.y); ok {
		v.k = k
		return v, true
	}
	if len(p.bins) != 1 {
		return worths{}, false
	}
	v.k = []int64{int64(c)}
	return v, true
}

// knapsackWorths solves the certificate's knapsack exactly for every bin; ok is
// false where that would take too much of the budget.
func (p *problem) knapsackWorths(y []int64) (k []int64, ok bool) {
	size := 0
	for _, b := range p.bins {
		size = max(size, b.cap)
	}
	lots := int64(0)
	for i, it := range p.items {
		if y[i] > 0 {
			for n := min(it.d, size/it.w); n > 0; n /= 2 {
				lots++
			}
		}
	}
	if steps := lots * int64(size); steps > p.work.limit/4 || p.work.out() {
		return nil, false
	} else {
		p.work.spend(steps / 2)
	}
	best := make([]int64, size+1)
	for i, it := range p.items {
		if y[i] == 0 {
			continue
		}
		for lot, copies := 1, min(it.d, size/it.w); copies > 0; lot *= 2 {
			lot = min(lot, copies)
			copies -= lot
			w, v := lot*it.w, int64(lot)*y[i]
			from, to := best[:len(best)-w], best[w:]
			for x := len(from) - 1; x >= 0; x-- {
				to[x] = max(to[x], from[x]+v)
			}
		}
	}
	k = make([]int64, len(p.bins))
	for b := range p.bins {
		k[b] = best[p.bins[b].cap]
	}
	return k, true
}
