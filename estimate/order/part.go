package order

import (
	"slices"
)

const (
	// costRoom is the bits kept free above a cost, for bounds in finer units and
	// for sums over items.
	costRoom = 16
	// priceFine is the bits by which item prices of the bound are finer than the
	// money grid.
	priceFine = 8
	// localStarts is how many starts the local search makes at most.
	localStarts = 64
)

// part is one set of groups and items that hang together. Its items and groups
// are numbered afresh.
type part struct {
	curves []*curve
	groups []partGroup
	limit  int
	work   int
	best   assignment
	bound  int64
	err    error
}

type partGroup struct {
	repairs int
	ways    [][]int // by way, by item of the part
}

// assignment is a full choice.
type assignment struct {
	take  [][]int
	total []int
	cost  int64
}

func newPart(groups []Group, curves []*curve, s set) *part {
	p := &part{}
	for _, i := range s.items {
		p.curves = append(p.curves, curves[i])
	}
	for _, g := range s.groups {
		pg := partGroup{repairs: groups[g].Repairs}
		for _, w := range groups[g].Ways {
			way := make([]int, len(s.items))
			for k, i := range s.items {
				way[k] = w[i]
			}
			pg.ways = append(pg.ways, way)
		}
		p.groups = append(p.groups, pg)
	}
	return p
}

// solve finds the best choice it can within limit steps and a bound.
func (p *part) solve(limit int) error {
	p.limit = limit
	p.best = p.assign(func(g *partGroup) int { return 0 })
	if p.open() && p.err == nil {
		d := p.dual()
		p.local(d)
		p.bound = min(p.best.cost, d.bound)
		if p.bound < p.best.cost && p.err == nil {
			if p.exact(d, p.limit) {
				p.bound = p.best.cost
			}
		}
	} else {
		p.bound = p.best.cost
	}
	return p.err
}

// open reports whether there is anything to choose.
func (p *part) open() bool {
	return slices.ContainsFunc(p.groups, func(g partGroup) bool { return g.repairs > 0 && len(g.ways) > 1 })
}

// cost is that of the totals; safe where they cannot be had.
func (p *part) cost(total []int) int64 {
	sum := int64(0)
	for i, n := range total {
		v, err := p.curves[i].at(n)
		if err != nil {
			if p.err == nil {
				p.err = err
			}
			return safe
		}
		if sum += v; sum >= safe {
			return safe
		}
	}
	return sum
}

// assign gives all repairs of a group the way named.
func (p *part) assign(way func(g *partGroup) int) assignment {
	a := assignment{take: make([][]int, len(p.groups)), total: make([]int, len(p.curves))}
	for g := range p.groups {
		pg := &p.groups[g]
		k := way(pg)
		a.take[g] = make([]int, len(pg.ways))
		a.take[g][k] = pg.repairs
		for i, n := range pg.ways[k] {
			a.total[i] += n * pg.repairs
		}
	}
	a.cost = p.cost(a.total)
	return a
}

func (p *part) offer(a assignment) {
	if a.cost < p.best.cost {
		p.best = a
	}
}

// local improves several starts by moving repairs of one group from one way to
// another as long as that makes the whole cheaper.
func (p *part) local(d *dual) {
	starts := []assignment{p.best}
	for _, prices := range d.starts() {
		starts = append(starts, p.assign(func(g *partGroup) int { return g.cheapest(prices) }))
	}
	for _, a := range starts {
		if p.work >= p.limit/2 || p.err != nil {
			return
		}
		p.offer(p.improve(a))
	}
}

// cheapest is the way that costs least at the given prices of the items.
func (g *partGroup) cheapest(prices []int64) int {
	best := 0
	for k := range g.ways {
		if g.worth(k, prices) < g.worth(best, prices) {
			best = k
		}
	}
	return best
}

func (g *partGroup) worth(way int, prices []int64) int64 {
	sum := int64(0)
	for i, n := range g.ways[way] {
		sum += int64(n) * prices[i]
	}
	return sum
}

// improve moves repairs while that pays: for each group and pair of ways, all
// of them, half, a quarter, … down to one.
func (p *part) improve(a assignment) assignment {
	a.total = slices.Clone(a.total)
	a.take = slices.Clone(a.take)
	for g := range a.take {
		a.take[g] = slices.Clone(a.take[g])
	}
	total := make([]int, len(a.total))
	for again := true; again && p.work < p.limit && p.err == nil; {
		again = false
		for g := range p.groups {
			pg := &p.groups[g]
			for from := range pg.ways {
				for to := range pg.ways {
					if from == to {
						continue
					}
					for n := a.take[g][from]; n > 0; n /= 2 {
						p.work++
						for i := range total {
							total[i] = a.total[i] + n*(pg.ways[to][i]-pg.ways[from][i])
						}
						if c := p.cost(total); c < a.cost {
							a.take[g][from] -= n
							a.take[g][to] += n
							copy(a.total, total)
							a.cost = c
							again = true
							break
						}
					}
				}
			}
		}
	}
	return a
}
