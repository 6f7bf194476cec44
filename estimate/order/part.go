package order

import (
	"cmp"
	"encoding/binary"
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
	better map[string]improvement // what improve came to, by what it started from
	bound  int64
	err    error
}

type partGroup struct {
	repairs int
	ways    [][]int // by way, by item of the part
	costs   []int64 // by way, beside the items
}

// assignment is a full choice.
type assignment struct {
	take  [][]int
	total []int
	extra int64 // of the ways
	cost  int64 // with the items
}

func newPart(groups []Group, curves []*curve, costs [][]int64, s set) *part {
	p := &part{better: map[string]improvement{}}
	for _, i := range s.items {
		p.curves = append(p.curves, curves[i])
	}
	for _, g := range s.groups {
		pg := partGroup{repairs: groups[g].Repairs, costs: costs[g]}
		if len(pg.costs) == 0 {
			pg.costs = make([]int64, len(groups[g].Ways))
		}
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

// proofWork is what the proof may take: where few repairs hang together it comes
// to its end long before, where many do it would not with a hundred times as much.
const proofWork = 100_000

// solve finds the best choice it can within limit steps and a bound.
func (p *part) solve(limit int) error {
	p.limit = limit
	p.best = p.assign(func(g *partGroup) int { return 0 })
	if p.open() && p.err == nil {
		d := p.dual()
		p.limit = p.work + (limit-p.work)/2 // the rest is for the proof
		p.local(d)
		p.limit = limit
		p.bound = min(p.best.cost, d.bound)
		if p.bound < p.best.cost && p.err == nil {
			if p.exact(d, min(p.limit, p.work+proofWork)) {
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
		a.extra += int64(pg.repairs) * pg.costs[k]
	}
	a.cost = min(safe, a.extra+p.cost(a.total))
	return a
}

func (p *part) offer(a assignment) {
	if a.cost < p.best.cost {
		p.best = a
	}
}

// local improves several starts: by moving repairs of one group from one way to
// another as long as that makes the whole cheaper, and by doing without what is
// bought last of an item.
func (p *part) local(d *dual) {
	starts := append([]assignment{p.best, p.at(d.prices)}, p.without(d.prices)...)
	for _, prices := range d.starts() {
		starts = append(starts, p.at(prices))
	}
	for _, a := range starts {
		if p.work >= p.limit || p.err != nil {
			return
		}
		p.offer(p.shed(p.improve(a), d.prices))
	}
}

// at is the choice of the cheapest way for every repair at prices of the items.
func (p *part) at(prices []int64) assignment {
	return p.assign(func(g *partGroup) int { return g.cheapest(prices) })
}

const (
	withoutItems  = 10  // items up to which all sets of them are left out in turn
	withoutStarts = 150 // of the cheapest choices so found are improved
	barred        = int64(1) << 40
)

// without are choices that leave some items out altogether, the cheapest first:
// where little is bought, a carton more or less of an item decides.
func (p *part) without(prices []int64) []assignment {
	items := len(prices)
	var all []assignment
	for set := 1; set < 1<<min(items, withoutItems) && p.work < p.limit/4 && p.err == nil; set++ {
		some := slices.Clone(prices)
		for i := range min(items, withoutItems) {
			if set>>i&1 == 1 {
				some[i] = barred
			}
		}
		for g := range p.groups {
			p.work += len(p.groups[g].ways) / 16
		}
		all = append(all, p.at(some))
	}
	slices.SortStableFunc(all, func(a, b assignment) int { return cmp.Compare(a.cost, b.cost) })
	all = slices.CompactFunc(all, func(a, b assignment) bool { return a.cost == b.cost && slices.Equal(a.total, b.total) })
	return all[:min(len(all), withoutStarts)]
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

// worth is what one repair served a way costs at the given prices of the items.
func (g *partGroup) worth(way int, prices []int64) int64 {
	sum := g.costs[way] << priceFine
	for i, n := range g.ways[way] {
		sum += int64(n) * prices[i]
	}
	return sum
}

// key tells choices apart.
func (a assignment) key() string {
	var key []byte
	for _, ways := range a.take {
		for _, n := range ways {
			key = binary.AppendUvarint(key, uint64(n))
		}
	}
	return string(key)
}

func (a assignment) clone() assignment {
	a.total, a.take = slices.Clone(a.total), slices.Clone(a.take)
	for g := range a.take {
		a.take[g] = slices.Clone(a.take[g])
	}
	return a
}

// shift moves n repairs of a group from one way to another.
func (p *part) shift(a *assignment, g, from, to, n int) {
	pg := &p.groups[g]
	a.take[g][from] -= n
	a.take[g][to] += n
	for i := range a.total {
		a.total[i] += n * (pg.ways[to][i] - pg.ways[from][i])
	}
	a.extra += int64(n) * (pg.costs[to] - pg.costs[from])
}

// improvement is what a choice was improved to, and the steps that took.
type improvement struct {
	to   assignment
	work int
}

// improve moves repairs while that pays: for each group and pair of ways, all
// of them, half, a quarter, … down to one. Most choices come up again and again:
// those are remembered, and their steps counted as if they were gone again.
func (p *part) improve(a assignment) assignment {
	key, before := a.key(), p.work
	if known, ok := p.better[key]; ok && p.work+known.work < p.limit {
		p.work += known.work
		return known.to
	}
	a = a.clone()
	total := make([]int, len(a.total))
	for again := true; again && p.work < p.limit && p.err == nil; {
		again = false
		for g := range p.groups {
			for from := range p.groups[g].ways {
				for to := 0; to < len(p.groups[g].ways) && a.take[g][from] > 0; to++ {
					if from != to && p.moves(&a, g, from, to, total) {
						again = true
					}
				}
			}
		}
	}
	p.better[key] = improvement{a, p.work - before}
	return a
}

// moves moves as many repairs of a group from one way to another as make the whole
// cheaper, and reports whether any did; total is scratch.
func (p *part) moves(a *assignment, g, from, to int, total []int) bool {
	pg := &p.groups[g]
	for n := a.take[g][from]; n > 0; n /= 2 {
		p.work++
		for i := range total {
			total[i] = a.total[i] + n*(pg.ways[to][i]-pg.ways[from][i])
		}
		if c := p.cost(total) + a.extra + int64(n)*(pg.costs[to]-pg.costs[from]); c < a.cost {
			p.shift(a, g, from, to, n)
			a.cost = c
			return true
		}
	}
	return false
}

// shedSteps is how many steps of an item's cost are gone down at once.
const shedSteps = 4

// shed looks for what no single move finds: one carton, or one price step, less
// of an item needs several repairs to do without it at once. For each item it
// moves repairs, those that lose least by it first, until less need be bought,
// then improves what came of it, and goes on from there if that is cheaper.
func (p *part) shed(a assignment, prices []int64) assignment {
	for i, failed := 0, 0; failed < len(p.curves) && p.work < p.limit && p.err == nil; i = (i + 1) % len(p.curves) {
		failed++
		b := a.clone()
		for steps := 0; steps < shedSteps && p.less(&b, i, prices); steps++ {
			b.cost = b.extra + p.cost(b.total)
			if c := p.improve(b); c.cost < a.cost {
				a, failed = c, 0
				break
			}
		}
	}
	return a
}

// less moves repairs until the order of item i costs less; false where they
// cannot do without it.
func (p *part) less(b *assignment, i int, prices []int64) bool {
	at := p.costOne(i, b.total[i])
	for p.costOne(i, b.total[i]) >= at {
		bestG, bestFrom, bestTo, bestLoss := -1, 0, 0, 0.0
		for g := range p.groups {
			pg := &p.groups[g]
			for from, n := range b.take[g] {
				if n == 0 || pg.ways[from][i] == 0 {
					continue
				}
				for to := range pg.ways {
					fewer := pg.ways[from][i] - pg.ways[to][i]
					if fewer <= 0 {
						continue
					}
					p.work++
					loss := p.loss(b, pg, from, to, i, prices) / float64(fewer)
					if bestG < 0 || loss < bestLoss {
						bestG, bestFrom, bestTo, bestLoss = g, from, to, loss
					}
				}
			}
		}
		if bestG < 0 || p.work >= p.limit || p.err != nil {
			return false
		}
		p.shift(b, bestG, bestFrom, bestTo, 1)
	}
	return true
}

// loss is what moving a repair costs, item i apart: half what the orders say now,
// half what the items are worth on the whole.
func (p *part) loss(b *assignment, g *partGroup, from, to, i int, prices []int64) float64 {
	sum := 2 * float64((g.costs[to]-g.costs[from])<<priceFine)
	for j := range b.total {
		if more := g.ways[to][j] - g.ways[from][j]; j != i && more != 0 {
			sum += float64(p.costOne(j, b.total[j]+more)-p.costOne(j, b.total[j])) + float64(int64(more)*prices[j])
		}
	}
	return sum
}
