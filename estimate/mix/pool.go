package mix

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/shopspring/decimal"

	"wraptally/estimate/qty"
)

// Demand is one batch to be weighed out.
type Demand struct {
	At   float64 // minutes on any one clock, when it is weighed out
	Mass float64 // kg
}

// PoolPack is a pack size that may be weighed out.
type PoolPack struct {
	Name string
	Mass float64         // kg, a whole number of milligrams
	Cost decimal.Decimal // ≥ 0
}

// Taken is what one demand takes from an opened pack.
type Taken struct {
	Demand int // its place among the demands given
	Mass   float64
}

// Opened is one pack opened.
type Opened struct {
	Pack int     // its place among the packs given
	At   float64 // when it was opened
	Uses []Taken // in the order of time
	Left float64 // kg, waste
}

// Pooled is the packs that demands share.
type Pooled struct {
	Opened []Opened // in the order of opening
	Packs  []int    // opened, by the packs given
	Cost   decimal.Decimal
	Waste  float64 // kg left in opened packs
	// Bound is a cost below which no way of opening packs comes; Proven says that
	// Cost is the least possible.
	Bound  decimal.Decimal
	Proven bool
}

// Pool opens packs for demands that share them, in the order of their times,
// those given first coming first at one time. A demand is first served from packs
// already open, the one opened first before the others, as long as they keep: to
// openMinutes after opening, that moment included. With openMinutes 0 a pack
// serves only what is weighed out at the very moment it is opened. Which sizes to
// open when is chosen for the least cost, then for the fewest packs, then the
// least waste. Errors: ErrInput, ErrTooLarge.
func Pool(demands []Demand, packs []PoolPack, openMinutes float64) (Pooled, error) {
	p, err := newPool(demands, packs, openMinutes)
	if err != nil || len(demands) == 0 {
		return Pooled{Packs: make([]int, len(packs)), Proven: err == nil}, err
	}
	order := make([]int, len(demands))
	var need int64
	for i := range order {
		order[i] = i
		need += p.need[i]
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(demands[a].At, demands[b].At) })
	if err := p.extend(qty.CeilDiv(need, p.step) + p.most/p.step); err != nil {
		return Pooled{}, err
	}
	bound, _ := p.least(need)
	openings, cost, exhaustive := p.search(order)
	out := p.write(order, openings)
	out.Cost, out.Bound = p.money.decimal(cost), p.money.decimal(bound.cost)
	out.Proven = exhaustive || cost == bound.cost
	if exhaustive {
		out.Bound = out.Cost
	}
	return out, nil
}

// pool is the input on whole milligrams.
type pool struct {
	demands []Demand
	need    []int64
	mass    []int64
	step    int64
	most    int64 // heaviest pack, mg
	money   prices
	open    float64
	fill    []cell // by mass in steps: the cheapest packs of exactly that mass
}

func newPool(demands []Demand, packs []PoolPack, openMinutes float64) (*pool, error) {
	if len(packs) == 0 {
		return nil, inputError("no packs to open")
	}
	if !(openMinutes >= 0) {
		return nil, inputError("open life of %g min", openMinutes)
	}
	p := &pool{demands: demands, open: openMinutes}
	costs := make([]decimal.Decimal, len(packs))
	for i, k := range packs {
		mg, ok := milligrams(k.Mass)
		if !ok {
			return nil, inputError("pack %q of %g kg is not a whole number of milligrams", k.Name, k.Mass)
		}
		p.mass = append(p.mass, mg)
		p.step = qty.GCD(p.step, mg)
		p.most = max(p.most, mg)
		costs[i] = k.Cost
	}
	for _, d := range demands {
		if !(d.Mass >= 0) || d.Mass > heaviest || math.IsNaN(d.At) || math.IsInf(d.At, 0) {
			return nil, inputError("demand of %g kg at %g min", d.Mass, d.At)
		}
		p.need = append(p.need, milligramsUp(d.Mass))
	}
	var err error
	p.money, err = newPrices(costs)
	return p, err
}

// extend fills the table of exact pack masses up to the given steps.
func (p *pool) extend(steps int64) error {
	if steps > maxCells {
		return fmt.Errorf("%w: %d steps of the packs' common measure", ErrTooLarge, steps)
	}
	if len(p.fill) == 0 {
		p.fill = []cell{{ok: true, by: -1}}
	}
	for x := int64(len(p.fill)); x <= steps; x++ {
		best := cell{}
		for i, m := range p.mass {
			if m /= p.step; m <= x && p.fill[x-m].ok {
				before := p.fill[x-m]
				c := cell{true, before.cost + p.money.each[i], before.count + 1, 0, i}
				if c.less(best) {
					best = c
				}
			}
		}
		p.fill = append(p.fill, best)
	}
	return nil
}

// least is the least cost of packs together holding mg, and how much they hold,
// in steps: among equals the fewest packs, then the least mass.
func (p *pool) least(mg int64) (c cell, steps int64) {
	from := qty.CeilDiv(mg, p.step)
	for x := from; x < from+p.most/p.step; x++ {
		if p.fill[x].less(c) {
			c, steps = p.fill[x], x
		}
	}
	return c, steps
}

// write serves the demands from the packs opened and records who took what.
func (p *pool) write(order []int, openings []int64) Pooled {
	s := Pooled{Packs: make([]int, len(p.mass))}
	var left []int64 // by opened pack
	for k, i := range order {
		d := &p.demands[i]
		first := len(s.Opened)
		for x := openings[k]; x > 0; x -= p.mass[p.fill[x].by] / p.step {
			s.Opened = append(s.Opened, Opened{Pack: p.fill[x].by, At: d.At})
		}
		slices.SortStableFunc(s.Opened[first:], func(a, b Opened) int {
			return cmp.Or(cmp.Compare(p.mass[b.Pack], p.mass[a.Pack]), cmp.Compare(a.Pack, b.Pack))
		})
		for _, o := range s.Opened[first:] {
			left = append(left, p.mass[o.Pack])
			s.Packs[o.Pack]++
		}
		need := p.need[i]
		for j := range s.Opened {
			o := &s.Opened[j]
			if need == 0 {
				break
			}
			if left[j] == 0 || d.At > o.At+p.open {
				continue
			}
			take := min(need, left[j])
			left[j] -= take
			need -= take
			o.Uses = append(o.Uses, Taken{i, kilograms(take)})
		}
	}
	var waste int64
	for j := range s.Opened {
		o := &s.Opened[j]
		o.Left = kilograms(left[j])
		waste += left[j]
	}
	s.Waste = kilograms(waste)
	return s
}
