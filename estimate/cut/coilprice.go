package cut

import (
	"cmp"
	"slices"
)

// coilPricer prices out patterns of coils. Beside the cost proper a coil may
// carry a small cost of its own (so that equal costs mean fewer coils) and its
// scrap a small cost per grid unit (so that equal costs mean less scrap); with
// both zero the relaxation is the pure bound.
type coilPricer struct {
	p        *coilTask
	scale    float64 // dearest coil: costs are stated in it
	perCoil  float64
	perScrap float64 // per grid unit
	w        []int
}

// pricerSteps limits the search for the pieces of one coil.
const pricerSteps = 4000

// relaxation implements cutter. Past mostLengths different lengths it takes
// longer than it gains.
func (p *coilTask) relaxation(scrap bool, prove func(worths)) pricing {
	const mostLengths = 250
	if len(p.items) > mostLengths || scrap && p.keep == 0 {
		return nil
	}
	c := &coilPricer{p: p}
	longest := 1
	for _, b := range p.bins {
		c.scale = max(c.scale, float64(b.cost))
		longest = max(longest, b.cap)
	}
	if c.scale == 0 {
		c.scale = 1
	}
	if scrap {
		c.perCoil, c.perScrap = 1e-3, 0.1/float64(longest)
	}
	for _, it := range p.items {
		c.w = append(c.w, it.w)
	}
	return c
}

// base is the cost of opening a coil of a bin.
func (c *coilPricer) base(b int) float64 {
	bn := &c.p.bins[b]
	v := float64(bn.cost) / c.scale
	if !(c.p.offFirst && bn.offcut) {
		v += c.perCoil
	}
	return v
}

func (c *coilPricer) cost(t *pattern) float64 {
	v := c.base(t.bin)
	return v + c.perScrap*float64(c.p.scrap(t))/float64(c.p.grid)
}

// ask is one knapsack: fill a coil of a bin up to room, worth beating floor.
type ask struct {
	bin, room int
	floor     float64
}

// asks lists the knapsacks to be solved. A coil left with too little to keep
// pays for its scrap, so its pieces count for more; a coil cut only as far as a
// leftover worth keeping pays nothing.
func (c *coilPricer) asks(z []float64, left []int) (plain, scrap []ask) {
	p := c.p
	for b := range p.bins {
		if left[b] == 0 {
			continue
		}
		bn := &p.bins[b]
		base := c.base(b) - z[b]
		if c.perScrap == 0 {
			plain = append(plain, ask{b, bn.cap, base})
			continue
		}
		scrap = append(scrap, ask{b, bn.cap, base + c.perScrap*float64(bn.usable)/float64(p.grid)})
		if room := (bn.usable - p.keep) / p.grid; bn.usable >= p.keep && room > 0 {
			plain = append(plain, ask{b, room, base})
		}
	}
	// Of equal rooms only the cheapest matters.
	thin := func(a []ask) []ask {
		slices.SortStableFunc(a, func(x, y ask) int {
			return cmp.Or(cmp.Compare(y.room, x.room), cmp.Compare(x.floor, y.floor))
		})
		out := a[:0]
		for _, k := range a {
			// A smaller coil that costs no less can yield nothing better.
			if n := len(out); n > 0 && out[n-1].floor <= k.floor {
				continue
			}
			out = append(out, k)
		}
		return out
	}
	return thin(plain), thin(scrap)
}

// price implements pricing.
func (c *coilPricer) price(y, z []float64, rem, left []int, _ bool) []*pattern {
	plain, scrap := c.asks(z, left)
	out := c.pack(plain, y, rem)
	if len(scrap) > 0 {
		v := make([]float64, len(y))
		for i := range y {
			v[i] = y[i] + c.perScrap*float64(c.w[i])
		}
		out = append(out, c.pack(scrap, v, rem)...)
	}
	return out
}

// pack fills a coil for each ask by the best of a search, and where that was cut
// short and found nothing by dynamic programming.
func (c *coilPricer) pack(asks []ask, v []float64, rem []int) []*pattern {
	if len(asks) == 0 {
		return nil
	}
	k := newKnapsack(c.w, rem, v, c.p.work)
	var out []*pattern
	add := func(bin int, qty []int) {
		q := make([]int, len(c.w))
		for j, n := range qty {
			q[k.idx[j]] = n
		}
		t := &pattern{bin: bin}
		for i, n := range q {
			c.p.add(t, i, n)
		}
		out = append(out, t)
	}
	room := 0 // of the largest coil not settled
	for _, a := range asks {
		found, whole := k.branch(a.room, a.floor+reducedEps, pricerSteps)
		for _, qty := range found {
			add(a.bin, qty)
		}
		if !whole {
			room = max(room, a.room)
		}
	}
	if len(out) > 0 || room == 0 || k.tableCost(room) > c.p.work.limit/20 {
		return out
	}
	t := k.table(room)
	for _, a := range asks {
		if a.room <= room && t.best[a.room] > a.floor+reducedEps {
			add(a.bin, t.at(a.room))
		}
	}
	return out
}

// seed implements pricing: the coil that yields one length alone most cheaply.
func (c *coilPricer) seed(i int, rem []int) *pattern {
	p := c.p
	best, bestRate := -1, 0.0
	for b := range p.bins {
		bn := &p.bins[b]
		if bn.count != Unlimited || bn.cap < p.items[i].w {
			continue
		}
		n := min(rem[i], bn.cap/p.items[i].w)
		if rate := float64(n) / c.base(b); best < 0 || rate > bestRate {
			best, bestRate = b, rate
		}
	}
	if best < 0 {
		return nil
	}
	t := &pattern{bin: best}
	p.add(t, i, min(rem[i], p.bins[best].cap/p.items[i].w))
	return t
}
