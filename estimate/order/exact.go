package order

import (
	"cmp"
	"slices"

	"wraptally/estimate/qty"
)

// maxItems is how many items that hang together the exact search takes on.
const maxItems = 12

// totalsKey is what the repairs settled so far take of each item.
type totalsKey [maxItems]int32

// node is a set of totals reached.
type node struct {
	total  totalsKey
	extra  int64 // of the ways taken
	before int32 // node of the layer before
	way    int32
}

// exact settles the repairs one after the other and keeps the sets of totals
// that can be reached, each once, unless the bound shows that they lead to
// nothing cheaper or other totals are nowhere more. If it comes to its end before
// limit, which it reports, no choice is cheaper than the best.
func (p *part) exact(d *dual, limit int) bool {
	items := len(p.curves)
	if items > maxItems {
		return false
	}
	for _, c := range p.curves {
		if c.high > 1<<30 {
			return false
		}
	}
	rest := int64(0) // least charge of the repairs not yet settled
	for g := range p.groups {
		pg := &p.groups[g]
		rest += int64(pg.repairs) * pg.worth(pg.cheapest(d.prices), d.prices)
	}
	layers := [][]node{{{before: -1}}}
	var of []int // group of each layer
	for g := range p.groups {
		pg := &p.groups[g]
		ways := pg.useful()
		charge := pg.worth(pg.cheapest(d.prices), d.prices)
		for range pg.repairs {
			rest -= charge
			next, ok := p.advance(layers[len(layers)-1], pg, ways, d, rest, limit)
			if !ok {
				return false
			}
			layers = append(layers, next)
			of = append(of, g)
		}
	}
	best, at := p.best.cost, int32(-1)
	total := make([]int, items)
	for k, n := range layers[len(layers)-1] {
		for i := range total {
			total[i] = int(n.total[i])
		}
		if c := n.extra + p.cost(total); c < best {
			best, at = c, int32(k)
		}
	}
	if p.err != nil || at < 0 {
		return p.err == nil
	}
	a := assignment{take: make([][]int, len(p.groups)), total: make([]int, items), cost: best}
	for g := range p.groups {
		a.take[g] = make([]int, len(p.groups[g].ways))
	}
	for i := range a.total {
		a.total[i] = int(layers[len(layers)-1][at].total[i])
	}
	a.extra = layers[len(layers)-1][at].extra
	for l := len(layers) - 1; l > 0; l-- {
		n := layers[l][at]
		a.take[of[l-1]][n.way]++
		at = n.before
	}
	p.best = a
	return true
}

// useful are the ways that no other way undercuts in every item and in cost.
func (g *partGroup) useful() []int {
	var ways []int
	for k, w := range g.ways {
		beaten := false
		for j, v := range g.ways {
			if j == k || slices.Equal(v, w) && g.costs[j] == g.costs[k] && j > k {
				continue
			}
			more := g.costs[j] > g.costs[k]
			for i := range v {
				more = more || v[i] > w[i]
			}
			beaten = beaten || !more
		}
		if !beaten {
			ways = append(ways, k)
		}
	}
	return ways
}

// advance settles one more repair.
func (p *part) advance(layer []node, g *partGroup, ways []int, d *dual, rest int64, limit int) ([]node, bool) {
	var next []node
	for k := range layer {
		for _, w := range ways {
			if p.work++; p.work > limit {
				return nil, false
			}
			n := node{total: layer[k].total, extra: layer[k].extra + g.costs[w], before: int32(k), way: int32(w)}
			for i, units := range g.ways[w] {
				n.total[i] += int32(units)
			}
			if !d.hopeless(&n, rest, p.best.cost) {
				next = append(next, n)
			}
		}
	}
	return thinned(next, len(p.curves)), true
}

// hopeless reports that no choice with at least these totals is cheaper than
// the best known. What is settled is charged at the internal prices; the totals
// only grow, so each curve need be looked at only from here on.
func (d *dual) hopeless(n *node, rest, best int64) bool {
	value, total := clamp(rest+n.extra<<priceFine), &n.total
	for i := range d.curves {
		s := &d.curves[i]
		b := min(max(0, (int(total[i])-s.from[0])/s.block), len(s.from)-1)
		value = clamp(value + int64(total[i])*d.prices[i] + s.after[b])
	}
	return qty.CeilDiv(value, 1<<priceFine) >= best
}

// compared is with how many others a set of totals is compared.
const compared = 64

// thinned drops totals that are nowhere less than some other's that costs no more. For two items
// it drops all such, for more the most.
func thinned(nodes []node, items int) []node {
	slices.SortFunc(nodes, func(a, b node) int {
		return cmp.Or(slices.Compare(a.total[:items], b.total[:items]), cmp.Compare(a.extra, b.extra), cmp.Compare(a.before, b.before), cmp.Compare(a.way, b.way))
	})
	kept := nodes[:0]
	for _, n := range nodes {
		beaten := false
		for k := len(kept) - 1; k >= max(0, len(kept)-compared) && !beaten; k-- {
			beaten = kept[k].extra <= n.extra
			for i := range items {
				if kept[k].total[i] > n.total[i] {
					beaten = false
					break
				}
			}
		}
		if !beaten {
			kept = append(kept, n)
		}
	}
	return kept
}
