package cut

// quickWorths implements cutter: each piece is worth its width, the material
// bound, sharper by the widths that no sum of pieces can reach.
func (p *coilTask) quickWorths() []worths {
	y := make([]int64, len(p.items))
	for i, it := range p.items {
		y[i] = int64(it.w)
	}
	if v, ok := p.exactWorths(y); ok {
		return []worths{v}
	}
	v := worths{y: y}
	for _, b := range p.bins {
		v.k = append(v.k, int64(b.cap))
	}
	return []worths{v}
}

// exactWorths implements cutter: the certificate's knapsack is solved for every
// bin. Whoever checks it does the same, so it may take no more than a share of
// the work allowed.
func (p *coilTask) exactWorths(y []int64) (v worths, ok bool) {
	size := 0
	for _, b := range p.bins {
		size = max(size, b.cap)
	}
	lots := int64(0)
	for i, it := range p.items {
		if y[i] > 0 {
			for n := min(p.demand[i], size/it.w); n > 0; n /= 2 {
				lots++
			}
		}
	}
	if steps := lots * int64(size); steps > p.work.limit/4 || p.work.out() {
		return worths{}, false
	} else {
		p.work.spend(steps / 2)
	}
	best := make([]int64, size+1)
	for i, it := range p.items {
		if y[i] == 0 {
			continue
		}
		for lot, copies := 1, min(p.demand[i], size/it.w); copies > 0; lot *= 2 {
			lot = min(lot, copies)
			copies -= lot
			w, v := lot*it.w, int64(lot)*y[i]
			from, to := best[:len(best)-w], best[w:]
			for x := len(from) - 1; x >= 0; x-- {
				to[x] = max(to[x], from[x]+v)
			}
		}
	}
	v = worths{y: y, k: make([]int64, len(p.bins))}
	for b := range p.bins {
		v.k[b] = best[p.bins[b].cap]
	}
	return v, true
}
