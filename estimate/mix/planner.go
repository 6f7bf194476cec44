package mix

import (
	"cmp"
	"fmt"
	"slices"
	"sync"

	"github.com/shopspring/decimal"

	"wraptally/estimate/qty"
	"wraptally/estimate/trace"
)

const (
	maxCells = 1 << 20     // steps of the common measure of the packs in one repair
	maxWork  = 200_000_000 // steps × batch masses
)

// Pack is one size in which the material is sold.
type Pack struct {
	Name       string
	Mass       float64         // kg, a whole number of milligrams
	Cost       decimal.Decimal // ≥ 0
	Splittable bool            // may be weighed out; otherwise a pack is mixed whole
}

// Portion is what a batch takes of one pack size.
type Portion struct {
	Pack  int     // its place among the packs given
	Packs int     // whole packs; 0 where part of one is weighed out
	Mass  float64 // kg
	Open  int     // which of the opened packs of that size, from 1; 0 where whole ones are mixed
}

// Batch is one mixing.
type Batch struct {
	Mass     float64 // kg mixed
	Used     float64 // kg laid
	Waste    float64 // kg left in the pot
	Minutes  float64 // to lay what is used, at the application rate
	Portions []Portion
}

// Plan is the batches of one repair.
type Plan struct {
	Need    float64
	Batches []Batch // heaviest first; the last bears the waste
	Packs   []int   // packs taken, by the packs given
	Cost    decimal.Decimal
	Mass    float64 // kg in the packs taken
	Waste   float64 // kg mixed and not laid
	Left    []Rest  // in the packs weighed out of, in the order of use
}

// Rest is what stays in a pack that was weighed out of.
type Rest struct {
	Pack int     // its place among the packs given
	Mass float64 // kg
}

// Planner plans repairs from one set of packs under one largest batch. It keeps
// its tables, so that further repairs cost next to nothing, and is safe for use
// by several goroutines.
type Planner struct {
	packs  []Pack
	mass   []int64 // mg
	money  prices
	limit  int64 // largest batch, mg
	rate   float64
	wholes int // packs mixed whole that fit into a batch

	scale Scale
	unit  int64   // reading of the scale, mg
	least int64   // lightest that is weighed out, readings
	use   []int64 // what can be taken of each pack, mg: of one weighed out of, whole readings

	step   int64   // common measure of the packs kept, mg
	splits []int   // packs that may be weighed out, heaviest first
	exact  []batch // by mass in steps: the cheapest batch of whole packs of exactly that; last < 0 for none
	single []batch // those of use
	top    int64   // heaviest such batch, steps

	mu    sync.Mutex
	whole []cell // by mass in steps: the best way of mixing exactly that from whole packs
	cover []cell // by mass in steps: the best way of opening packs to weigh it out of
}

// batch is a batch of whole packs of a given mass.
type batch struct {
	steps int64
	cost  int64
	last  int   // the pack added last
	rest  int64 // the batch without it, steps
}

// cell is judged by cost, then count (of batches, or of mass opened).
type cell struct {
	ok    bool
	cost  int64
	count int64
	packs int64
	by    int // the batch or pack added last
}

func (a cell) less(b cell) bool {
	if !a.ok || !b.ok {
		return a.ok
	}
	return cmp.Or(cmp.Compare(a.cost, b.cost), cmp.Compare(a.count, b.count), cmp.Compare(a.packs, b.packs)) < 0
}

// NewPlanner prepares the packs for batches of at most largest kg, laid at rate
// kg a minute, and weighed on the scale. A pack heavier than a batch that may not
// be weighed out is left out, and so is one that may where half a batch is too
// light to be weighed. Errors: ErrInput, *PackError where no pack is left,
// ErrTooLarge.
func NewPlanner(packs []Pack, largest, rate float64, scale Scale) (*Planner, error) {
	if len(packs) == 0 {
		return nil, inputError("no packs")
	}
	if !(largest > 0) || largest > heaviest || !(rate > 0) {
		return nil, inputError("largest batch %g kg, rate %g kg/min", largest, rate)
	}
	if !(scale.Reading >= 0) || !(scale.Least >= 0) || !(scale.Hardener >= 0) || max(scale.Reading, scale.Least, scale.Hardener) > heaviest {
		return nil, inputError("scale %+v", scale)
	}
	p := &Planner{packs: packs, limit: milligramsDown(largest), rate: rate, scale: scale, unit: scale.unit(), least: scale.least()}
	costs := make([]decimal.Decimal, len(packs))
	smallest := packs[0].Mass
	for i, k := range packs {
		mg, ok := milligrams(k.Mass)
		if !ok {
			return nil, inputError("pack %q of %g kg is not a whole number of milligrams", k.Name, k.Mass)
		}
		p.mass = append(p.mass, mg)
		p.use = append(p.use, mg)
		costs[i] = k.Cost
		smallest = min(smallest, k.Mass)
		switch {
		case k.Splittable:
			p.use[i] = mg / p.unit * p.unit
			if p.use[i]/p.unit < p.least || p.limit/p.unit < 2*p.least && p.least > 1 {
				continue
			}
			p.splits = append(p.splits, i)
		case mg > p.limit:
			continue
		default:
			p.wholes++
		}
		p.step = qty.GCD(p.step, p.use[i])
	}
	if p.step == 0 || p.limit == 0 {
		return nil, &PackError{smallest, largest}
	}
	slices.SortStableFunc(p.splits, func(a, b int) int { return cmp.Compare(p.use[b], p.use[a]) })
	var err error
	if p.money, err = newPrices(costs); err != nil {
		return nil, err
	}
	return p, p.singles()
}

// singles lists the masses one batch of whole packs can have, each at its least
// cost. A batch that is lighter and dearer than another is never of use.
func (p *Planner) singles() error {
	top := p.limit / p.step
	if p.wholes == 0 {
		return nil
	}
	if top > maxCells {
		return fmt.Errorf("%w: a batch of %d steps of the packs' common measure", ErrTooLarge, top)
	}
	exact := make([]batch, top+1)
	p.exact = exact
	for w := int64(1); w <= top; w++ {
		exact[w].last = -1
		for i := range p.packs {
			m := p.mass[i] / p.step
			if p.packs[i].Splittable || m > w || m == 0 || p.mass[i] > p.limit {
				continue
			}
			if before := exact[w-m]; w > m && before.last < 0 {
				continue
			} else if c := before.cost + p.money.each[i]; exact[w].last < 0 || c < exact[w].cost {
				exact[w] = batch{w, c, i, w - m}
			}
		}
	}
	for w := top; w > 0; w-- {
		b := exact[w]
		if b.last < 0 {
			continue
		}
		if n := len(p.single); n == 0 || b.cost <= p.single[n-1].cost {
			p.single = append(p.single, b)
		}
	}
	slices.Reverse(p.single)
	if len(p.single) > 0 {
		p.top = p.single[len(p.single)-1].steps
	}
	return nil
}

// Plan is the batches for need kg of one repair: at the least cost of packs, in
// the fewest batches, with the least excess, in this order. The answer is exact,
// but that there are more batches where else a part would be too light to be
// weighed. Whole packs go unbroken into a batch; packs that may be weighed out
// fill the batches up to what is needed, evenly, to the scale's reading. A need of zero takes nothing.
// Errors: ErrInput, ErrTooLarge.
func (p *Planner) Plan(need float64, log *trace.Log) (Plan, error) {
	if !(need >= 0) || need > heaviest {
		return Plan{}, inputError("need of %g kg", need)
	}
	mg := milligramsUp(need)
	p.mu.Lock()
	defer p.mu.Unlock()
	steps := max(0, qty.CeilDiv(mg, p.step))
	if steps > maxCells || steps*int64(len(p.single)) > maxWork {
		return Plan{}, fmt.Errorf("%w: %g kg in steps of %g kg, the common measure of the packs", ErrTooLarge, need, kilograms(p.step))
	}
	p.extend(steps)
	plan := p.build(mg, p.choose(mg, steps))
	plan.Need = need
	log.Add(func() trace.Step { return p.explain(plan) })
	return plan, nil
}

// extend carries the tables on to the given mass.
func (p *Planner) extend(steps int64) {
	if len(p.whole) == 0 {
		p.whole, p.cover = []cell{{ok: true, by: -1}}, []cell{{ok: true, by: -1}}
	}
	for x := int64(len(p.whole)); x <= steps+p.top; x++ {
		best := cell{}
		for i, b := range p.single {
			if b.steps > x {
				break
			}
			if before := p.whole[x-b.steps]; before.ok {
				c := cell{true, before.cost + b.cost, before.count + 1, 0, i}
				if c.less(best) {
					best = c
				}
			}
		}
		p.whole = append(p.whole, best)
	}
	for x := int64(len(p.cover)); x <= steps; x++ {
		best := cell{}
		for _, i := range p.splits {
			m := p.use[i] / p.step
			before := p.cover[max(0, x-m)]
			c := cell{true, before.cost + p.money.each[i], before.count + m, before.packs + 1, i}
			if c.less(best) {
				best = c
			}
		}
		p.cover = append(p.cover, best)
	}
}

// chosen parts the need between whole packs and packs weighed out.
type chosen struct {
	whole   int64 // steps mixed from whole packs
	split   int64 // steps to be covered by packs weighed out
	cost    int64
	batches int64
	excess  int64 // steps
	ok      bool
}

func (a chosen) less(b chosen) bool {
	if !b.ok {
		return true
	}
	return cmp.Or(cmp.Compare(a.cost, b.cost), cmp.Compare(a.batches, b.batches), cmp.Compare(a.excess, b.excess)) < 0
}

// choose takes the best way of parting the need.
func (p *Planner) choose(mg, steps int64) chosen {
	fewest := qty.CeilDiv(mg, p.limit)
	var best chosen
	from := steps // without packs to weigh out, whole packs must reach
	if len(p.splits) > 0 {
		from = 0
	}
	for x := from; x <= steps+p.top; x++ {
		w := p.whole[x]
		if !w.ok {
			continue
		}
		c := chosen{whole: x, cost: w.cost, batches: w.count, excess: x - steps, ok: true}
		if x < steps {
			s := p.cover[steps-x]
			c.split, c.cost, c.batches = steps-x, c.cost+s.cost, max(w.count, fewest)
			c.excess = x + s.count - steps
		}
		if c.less(best) {
			best = c
		}
	}
	return best
}

// build writes the plan out.
func (p *Planner) build(mg int64, c chosen) Plan {
	plan := Plan{Packs: make([]int, len(p.packs)), Cost: p.money.decimal(c.cost)}
	var pots []pot
	for x := c.whole; x > 0; {
		b := p.single[p.whole[x].by]
		pots = append(pots, p.wholePot(b))
		x -= b.steps
	}
	slices.SortStableFunc(pots, heavier)
	w := weighing{pots: pots, parts: make([][]taken, len(pots))}
	if weigh := mg - c.whole*p.step; weigh > 0 {
		w = p.weighOut(pots, int(c.batches), p.opened(c.split), weigh, mg)
	}
	for _, s := range w.open {
		plan.Packs[s.pack]++
	}
	left, waste, bought := mg, int64(0), int64(0) // left to be laid
	for i, t := range w.pots {
		b := Batch{}
		for k, n := range t.counts {
			if n > 0 {
				plan.Packs[k] += n
				b.Portions = append(b.Portions, Portion{Pack: k, Packs: n, Mass: kilograms(int64(n) * p.mass[k])})
			}
		}
		mass := t.mass
		for _, part := range w.parts[i] {
			k := w.open[part.from].pack
			portion := Portion{Pack: k, Mass: kilograms(part.mass * p.unit), Open: 1}
			for _, s := range w.open[:part.from] {
				if s.pack == k {
					portion.Open++
				}
			}
			if part.mass*p.unit == p.mass[k] {
				portion.Packs, portion.Open = 1, 0 // all of it is mixed as it is
			}
			b.Portions = append(b.Portions, portion)
			mass += part.mass * p.unit
		}
		used := min(mass, left)
		left -= used
		b.Mass, b.Used, b.Waste = kilograms(mass), kilograms(used), kilograms(mass-used)
		b.Minutes = b.Used / p.rate
		plan.Batches = append(plan.Batches, b)
		waste += mass - used
	}
	for _, s := range w.open {
		rest := p.mass[s.pack] - p.use[s.pack] + s.left*p.unit
		if rest > 0 {
			plan.Left = append(plan.Left, Rest{s.pack, kilograms(rest)})
		}
	}
	for i, n := range plan.Packs {
		bought += int64(n) * p.mass[i]
	}
	plan.Mass, plan.Waste = kilograms(bought), kilograms(waste)
	return plan
}

// pot is the whole packs of one batch.
type pot struct {
	mass   int64
	counts []int
}

func (p *Planner) wholePot(b batch) pot {
	t := pot{mass: b.steps * p.step, counts: make([]int, len(p.packs))}
	for rest := b.steps; rest > 0; rest = p.exact[rest].rest {
		t.counts[p.exact[rest].last]++
	}
	return t
}

// opened lists the packs opened for the given mass, in the order of use.
func (p *Planner) opened(steps int64) []source {
	var open []source
	for steps > 0 {
		i := p.cover[steps].by
		open = append(open, source{i, p.use[i] / p.unit})
		steps = max(0, steps-p.use[i]/p.step)
	}
	slices.SortStableFunc(open, func(a, b source) int {
		return cmp.Or(cmp.Compare(b.left, a.left), cmp.Compare(a.pack, b.pack))
	})
	return open
}

func (p *Planner) explain(plan Plan) trace.Step {
	s := trace.Step{
		ID: "batches", Name: "batches", Rule: "mix.batches",
		Formula: "least cost of packs covering m in batches of at most b, then fewest batches of which no part is too light to be weighed, then least excess",
		Inputs: []trace.Input{
			trace.In("m", "mass needed", plan.Need, "kg"),
			trace.In("b", "largest batch", kilograms(p.limit), "kg", trace.StepAt("mix/largest")),
		},
		Value: float64(len(plan.Batches)), Unit: "batch", Source: "exact dynamic programme over the pack masses",
	}
	for i, n := range plan.Packs {
		s.Inputs = append(s.Inputs, trace.In(fmt.Sprintf("n_%d", i+1), "packs of "+p.packs[i].Name, float64(n), "pack", trace.Words("result")),
			trace.In(fmt.Sprintf("p_%d", i+1), "mass of a pack of "+p.packs[i].Name, p.packs[i].Mass, "kg", trace.Table("putties", "")))
	}
	return s
}
