package order

import (
	"slices"

	"wraptally/estimate/qty"
)

const (
	dualBlocks = 2048 // points at which a curve is looked at
	dualSteps  = 300  // steps of the ascent
)

// dual is the Lagrangian relaxation of a part: the total of each item is bought
// by itself, paid for by an internal price that the groups are charged. For any
// prices λ the sum
//
//	Σ_items min_c (f(c) − λ·c)  +  Σ_groups repairs · min_ways λ·way
//
// is at most the cost of every choice. All values are whole numbers, finer than
// the money grid by priceFine bits.
type dual struct {
	part   *part
	curves []sampled
	prices []int64
	value  int64
	bound  int64     // of the part, in the money grid, rounded up
	ends   [][]int64 // internal prices suggested by each curve
}

// sampled is a curve at the beginnings of blocks of units.
type sampled struct {
	block int     // its units
	from  []int   // first unit of each block
	to    []int   // last
	cost  []int64 // at the first; the curve never falls, so no less within the block
	after []int64 // least of cost − λ·to from this block on
	pick  int     // the block of the least
}

// dual samples the curves and climbs to good prices.
func (p *part) dual() *dual {
	d := &dual{part: p, prices: make([]int64, len(p.curves))}
	for i, c := range p.curves {
		s := sampled{block: (c.high-c.low)/dualBlocks + 1}
		for u := c.low; u <= c.high; u += s.block {
			v := p.costOne(i, u)
			s.from, s.to, s.cost = append(s.from, u), append(s.to, min(c.high, u+s.block-1)), append(s.cost, v)
		}
		s.after = make([]int64, len(s.from))
		d.curves = append(d.curves, s)
		d.suggest(i)
		d.prices[i] = d.ends[i][0]
	}
	d.prices, d.value = d.climb(d.prices, dualSteps)
	d.bound = d.inMoney(d.value)
	return d
}

// inMoney is a value of the relaxation in the money grid.
func (d *dual) inMoney(value int64) int64 { return max(0, qty.CeilDiv(value, 1<<priceFine)) }

// costOne is a point of a curve in the finer units; safe where it cannot be had.
func (p *part) costOne(i, units int) int64 {
	p.work++
	v, err := p.curves[i].at(units)
	if err != nil {
		if p.err == nil {
			p.err = err
		}
		return safe
	}
	if v >= safe {
		return safe
	}
	return v << priceFine
}

// suggest lists prices a unit may be thought to cost: the average at several
// places of the curve.
func (d *dual) suggest(i int) {
	s := &d.curves[i]
	var prices []int64
	last := len(s.from) - 1
	for _, b := range []int{last, last / 2, last / 4, 3 * last / 4, 0} {
		for b > 0 && s.cost[b] >= safe {
			b--
		}
		if s.from[b] > 0 && s.cost[b] < safe {
			if price := s.cost[b] / int64(s.from[b]); !slices.Contains(prices, price) {
				prices = append(prices, price)
			}
		}
	}
	if len(prices) == 0 {
		prices = []int64{0}
	}
	d.ends = append(d.ends, prices)
}

// starts are price vectors from which to start the local search: the best of
// the ascent, then combinations of what the curves suggest.
func (d *dual) starts() [][]int64 {
	all := [][]int64{slices.Clone(d.prices)}
	now := make([]int64, len(d.prices))
	var walk func(i int)
	walk = func(i int) {
		if len(all) > localStarts {
			return
		}
		if i == len(now) {
			all = append(all, slices.Clone(now))
			return
		}
		for _, price := range d.ends[i] {
			for _, share := range []int64{8, 5, 11} { // as it is, dearer, cheaper, in eighths
				now[i] = price / 8 * share
				walk(i + 1)
			}
		}
	}
	walk(0)
	return all
}

// at is the value of the relaxation at the prices, and the slope:
// what the groups take less what the curves would buy. A group may take less
// than is bought, so the prices need not be negative anywhere.
func (d *dual) at(prices []int64, slope []int64) int64 {
	work := 0
	value := int64(0)
	for i := range d.curves {
		s := &d.curves[i]
		least := 2 * safe
		for k := len(s.from) - 1; k >= 0; k-- {
			v := safe
			if s.cost[k] < safe {
				v = s.cost[k] - prices[i]*int64(s.to[k])
			}
			if v < least {
				least, s.pick = v, k
			}
			s.after[k] = least
		}
		work += len(s.from)
		value = clamp(value + least)
		slope[i] = -int64(s.to[s.pick])
	}
	for g := range d.part.groups {
		work += len(d.part.groups[g].ways) * len(prices)
	}
	d.part.work += 1 + work/64
	for g := range d.part.groups {
		pg := &d.part.groups[g]
		k := pg.cheapest(prices)
		value = clamp(value + int64(pg.repairs)*pg.worth(k, prices))
		for i, n := range pg.ways[k] {
			slope[i] += int64(n * pg.repairs)
		}
	}
	return value
}

func clamp(v int64) int64 { return max(-safe, min(safe, v)) }

// climb moves the prices along the slope by shrinking steps, in whole numbers
// only so that it is the same everywhere, and gives the best prices met and
// their value. It leaves the tables of the curves as they are for these.
func (d *dual) climb(from []int64, steps int) (best []int64, value int64) {
	prices := slices.Clone(from)
	slope := make([]int64, len(prices))
	best = slices.Clone(prices)
	value = d.at(prices, slope)
	size := make([]int64, len(prices))
	most := make([]int64, len(prices)) // beyond this no price is of use, and sums stay exact
	for i, p := range prices {
		size[i] = max(p/4, 1)
		most[i] = 64 * slices.Max(d.ends[i])
		if units := int64(d.part.curves[i].high) * int64(4*len(prices)); units > 0 {
			most[i] = min(most[i], safe/units)
		}
	}
	stale := 0
	for range steps {
		steepest := int64(1)
		for _, s := range slope {
			steepest = max(steepest, s, -s)
		}
		moved := false
		for i := range prices {
			step, _ := mulDivUp(size[i], max(slope[i], -slope[i]), steepest)
			if slope[i] < 0 {
				step = -step
			}
			next := min(most[i], max(0, prices[i]+step))
			moved = moved || next != prices[i]
			prices[i] = next
		}
		if !moved {
			break
		}
		if v := d.at(prices, slope); v > value {
			value, stale = v, 0
			copy(best, prices)
			continue
		}
		if stale++; stale >= 4 {
			stale = 0
			copy(prices, best)
			d.at(prices, slope)
			for i := range size {
				size[i] = max(size[i]*2/3, 1)
			}
		}
	}
	value = d.at(best, slope)
	return best, value
}
