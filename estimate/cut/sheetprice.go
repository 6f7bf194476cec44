package cut

import "slices"

// sheetPricer prices out patterns of sheets.
type sheetPricer struct {
	p     *sheetTask
	scale float64 // dearest sheet: costs are stated in it
	prove func(worths)
	tries int // exact programmes still to be solved
}

// relaxation implements cutter. Past mostSizes different sizes it takes longer
// than it gains.
func (p *sheetTask) relaxation(scrap bool, prove func(worths)) pricing {
	const mostSizes = 60
	if scrap || len(p.plates) > mostSizes {
		return nil
	}
	r := &sheetPricer{p: p, scale: 1, prove: prove}
	for _, b := range p.bins {
		r.scale = max(r.scale, float64(b.cost))
	}
	if pr := p.programmes(); pr != nil {
		r.tries = int(p.work.limit / 4 / pr.steps)
	}
	return r
}

func (r *sheetPricer) cost(t *pattern) float64 { return float64(r.p.bins[t.bin].cost) / r.scale }

// price implements pricing: strips both ways on every sheet; for the whole
// demand, where strips find nothing, the exact programme, which gives a bound
// each time.
func (r *sheetPricer) price(y, z []float64, rem, left []int, free bool) []*pattern {
	p := r.p
	floor := func(b int) float64 { return float64(p.bins[b].cost)/r.scale - z[b] + 1e-7 }
	if free { // the exact programme cuts every size any number of times
		rem = slices.Repeat([]int{maxRects}, len(rem))
	}
	var out []*pattern
	for b := range p.bins {
		if left[b] == 0 {
			continue
		}
		for _, t := range (strips{p}).best(b, y, rem) {
			if t.value > floor(b) {
				out = append(out, t.pattern)
			}
		}
	}
	if len(out) > 0 || r.tries == 0 || !free {
		return out
	}
	r.tries--
	worth := p.scaled(y)
	v, _ := p.exactWorths(worth)
	r.prove(v)
	if !p.exact.fine {
		return nil
	}
	for b, g := range p.exact.bins {
		if left[b] == 0 {
			continue
		}
		t := p.pattern(b, padded(g.build(worth, len(g.xs)-1, len(g.ys)-1), p.bins[b].w, p.bins[b].h))
		value := 0.0
		for j, i := range t.size {
			value += float64(t.qty[j]) * y[i]
		}
		if value > floor(b) {
			out = append(out, t)
		}
	}
	return out
}

// seed implements pricing: the sheet that yields one size alone most cheaply.
func (r *sheetPricer) seed(size int, rem []int) *pattern {
	p := r.p
	v := make([]float64, len(p.plates))
	v[size] = 1
	var best *pattern
	bestRate := 0.0
	for b := range p.bins {
		if p.bins[b].count != Unlimited {
			continue
		}
		for _, t := range (strips{p}).best(b, v, rem) {
			if rate := t.value / r.cost(t.pattern); rate > bestRate {
				best, bestRate = t.pattern, rate
			}
		}
	}
	return best
}
