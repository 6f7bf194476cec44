package order

import (
	"cmp"
	"slices"
)

const (
	branchSteps   = 40    // steps of the ascent in a region
	branchExact   = 3_000 // steps of the dynamic programme tried in a region
	branchImprove = 16    // regions whose choice is improved in any case
)

// region is a box of totals and what is known of the choices within.
type region struct {
	box
	prices []int64
	bound  int64
	number int
}

// branch splits the totals into regions where the relaxation is tighter: within
// few price breaks the cost curves are nearly straight. The region of the least
// bound is split first, so the least bound of those left is one of the whole.
func (p *part) branch(d *dual) {
	open := []region{{d.root, d.prices, p.bound, 0}}
	settled := safe // least bound of regions that cannot be split
	slope := make([]int64, len(p.curves))
	repairs := 0
	for g := range p.groups {
		repairs += p.groups[g].repairs
	}
	for number := 1; len(open) > 0 && p.err == nil; {
		r := open[0]
		if r.bound >= p.best.cost || p.work >= p.limit {
			break
		}
		open = open[1:]
		d.at(r.box, r.prices, slope)
		item, at := d.split(r, slope)
		try := 0 // steps for settling the region outright
		if item < 0 {
			try = (p.limit - p.work) / 8
		} else if repairs < branchExact/4 {
			try = branchExact
		}
		if try > 0 && p.exact(d, r, p.work+try) {
			continue
		}
		if item < 0 {
			settled = min(settled, r.bound)
			continue
		}
		for _, upper := range []bool{false, true} {
			child := region{box{slices.Clone(r.low), slices.Clone(r.high)}, nil, 0, number}
			if upper {
				child.low[item] = at + 1
			} else {
				child.high[item] = at
			}
			number++
			var value int64
			child.prices, value = d.climb(child.box, r.prices, branchSteps)
			child.bound = max(r.bound, d.inMoney(value))
			a := p.assign(func(g *partGroup) int { return g.cheapest(child.prices) })
			if number <= branchImprove || a.cost < p.best.cost {
				a = p.improve(a)
			}
			p.offer(a)
			if child.bound >= p.best.cost {
				continue
			}
			k, _ := slices.BinarySearchFunc(open, child, func(a, b region) int {
				return cmp.Or(cmp.Compare(a.bound, b.bound), cmp.Compare(a.number, b.number))
			})
			open = slices.Insert(open, k, child)
		}
	}
	if len(open) > 0 {
		settled = min(settled, open[0].bound)
	}
	p.bound = max(p.bound, min(settled, p.best.cost))
}

// split chooses the item whose bought and taken units disagree by the most money
// and the block after which to part its range, between the two; where they agree
// wherever there is a range, the widest range. item is −1 where there is none.
// The slopes are those of the last look at the region.
func (d *dual) split(r region, slope []int64) (item, at int) {
	item = -1
	most := int64(0)
	for i := range d.curves {
		if gap := max(slope[i], -slope[i]) * max(r.prices[i], 1); gap > most && r.low[i] < r.high[i] {
			item, most = i, gap
		}
	}
	if item < 0 {
		for i := range d.curves {
			if width := int64(r.high[i] - r.low[i]); width > most {
				item, most = i, width
			}
		}
		if item < 0 {
			return item, 0
		}
	}
	s := &d.curves[item]
	taken := s.to[s.pick] + int(slope[item])
	b, _ := slices.BinarySearch(s.from, taken)
	at = (s.pick + min(b, len(s.from)-1)) / 2
	return item, min(max(at, r.low[item]), r.high[item]-1)
}
