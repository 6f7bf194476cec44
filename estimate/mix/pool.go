package mix

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"wraptally/estimate/trace"
)

// Sharing says who may use an opened pack that can be weighed out.
type Sharing int

// The settings.
const (
	NotShared   Sharing = iota // each repair for itself
	ByKit                      // the repairs of one kit
	ByCrewShift                // what one crew lays in one shift
)

// String gives the word shown to a reader.
func (s Sharing) String() string {
	switch s {
	case ByKit:
		return "kit"
	case ByCrewShift:
		return "crew-shift"
	default:
		return "not shared"
	}
}

// noun names what a scope is.
func (s Sharing) noun() string {
	if s == NotShared {
		return "repair"
	}
	return s.String()
}

// Demand is one batch to be weighed out.
type Demand struct {
	Repair, Kit, Crew, Shift string
	At                       float64 // minutes on any one clock, when it is weighed out
	Mass                     float64 // kg
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
	Pack   int     // its place among the packs given
	At     float64 // when it was opened
	Uses   []Taken // in the order of time
	Shared bool    // by more than one repair
	Left   float64 // kg, waste
}

// Scope is the demands that share their packs.
type Scope struct {
	Name   string // repair, kit, or crew and shift
	Need   float64
	Opened []Opened // in the order of opening
	Packs  []int    // opened, by the packs given
	Cost   decimal.Decimal
	Waste  float64 // kg left in opened packs
	// Bound is a cost below which no way of opening packs comes; Proven says that
	// Cost is the least possible.
	Bound  decimal.Decimal
	Proven bool
}

// Pooled is the result of sharing.
type Pooled struct {
	Sharing Sharing
	Scopes  []Scope // in the order of their first demands
	Packs   []int
	Cost    decimal.Decimal
	Waste   float64
}

// Pool opens packs for demands in the order of their times, those given first
// coming first at one time. Within a scope a demand is first served from packs
// already open, the one opened first before the others, as long as they keep:
// to openMinutes after opening, that moment included. With openMinutes 0 a pack
// serves only what is weighed out at the very moment it is opened. Which sizes
// to open when is chosen for the least cost over the whole scope, then for the
// fewest packs, then the least waste. Errors: ErrInput, ErrTooLarge.
func Pool(demands []Demand, packs []PoolPack, openMinutes float64, by Sharing, log *trace.Log) (Pooled, error) {
	p, err := newPool(demands, packs, openMinutes, by)
	if err != nil {
		return Pooled{}, err
	}
	result := Pooled{Sharing: by, Packs: make([]int, len(packs))}
	for _, members := range p.scopes(by) {
		s, err := p.scope(members, by)
		if err != nil {
			return Pooled{}, err
		}
		result.Scopes = append(result.Scopes, s)
		for i, n := range s.Packs {
			result.Packs[i] += n
		}
		result.Cost = result.Cost.Add(s.Cost)
		log.Add(func() trace.Step { return poolStep(s, by, openMinutes) })
	}
	var left int64
	for _, s := range result.Scopes {
		left += int64(math.Round(s.Waste * perKilogram))
	}
	result.Waste = kilograms(left)
	return result, nil
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

func newPool(demands []Demand, packs []PoolPack, openMinutes float64, by Sharing) (*pool, error) {
	if len(packs) == 0 {
		return nil, inputError("no packs to open")
	}
	if !(openMinutes >= 0) {
		return nil, inputError("open life of %g min", openMinutes)
	}
	if by != NotShared && by != ByKit && by != ByCrewShift {
		return nil, inputError("unknown sharing %d", by)
	}
	p := &pool{demands: demands, open: openMinutes}
	costs := make([]decimal.Decimal, len(packs))
	for i, k := range packs {
		mg, ok := milligrams(k.Mass)
		if !ok {
			return nil, inputError("pack %q of %g kg is not a whole number of milligrams", k.Name, k.Mass)
		}
		p.mass = append(p.mass, mg)
		p.step = gcd(p.step, mg)
		p.most = max(p.most, mg)
		costs[i] = k.Cost
	}
	for _, d := range demands {
		if !(d.Mass >= 0) || d.Mass > heaviest || math.IsNaN(d.At) || math.IsInf(d.At, 0) {
			return nil, inputError("demand of repair %q: %g kg at %g min", d.Repair, d.Mass, d.At)
		}
		if strings.Trim(d.scope(by), "\x00") == "" {
			return nil, inputError("demand of repair %q names no %s to share packs within", d.Repair, by.noun())
		}
		p.need = append(p.need, milligramsUp(d.Mass))
	}
	var err error
	p.money, err = newPrices(costs)
	return p, err
}

func (d *Demand) scope(by Sharing) string {
	switch by {
	case ByKit:
		return d.Kit
	case ByCrewShift:
		return d.Crew + "\x00" + d.Shift
	default:
		return d.Repair
	}
}

// scopes parts the demands, each part in the order of time.
func (p *pool) scopes(by Sharing) [][]int {
	var parts [][]int
	at := map[string]int{}
	for i := range p.demands {
		name := p.demands[i].scope(by)
		if _, ok := at[name]; !ok {
			at[name] = len(parts)
			parts = append(parts, nil)
		}
		parts[at[name]] = append(parts[at[name]], i)
	}
	for _, m := range parts {
		slices.SortStableFunc(m, func(a, b int) int { return cmp.Compare(p.demands[a].At, p.demands[b].At) })
	}
	return parts
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
	from := ceilDiv(mg, p.step)
	for x := from; x < from+p.most/p.step; x++ {
		if p.fill[x].less(c) {
			c, steps = p.fill[x], x
		}
	}
	return c, steps
}

// scope opens the packs of one scope.
func (p *pool) scope(members []int, by Sharing) (Scope, error) {
	var need int64
	for _, i := range members {
		need += p.need[i]
	}
	if err := p.extend(ceilDiv(need, p.step) + p.most/p.step); err != nil {
		return Scope{}, err
	}
	bound, _ := p.least(need)
	openings, cost, exhaustive := p.search(members)
	s := p.write(members, openings)
	s.Name = strings.ReplaceAll(p.demands[members[0]].scope(by), "\x00", " ")
	s.Need, s.Cost, s.Bound = kilograms(need), p.money.decimal(cost), p.money.decimal(bound.cost)
	s.Proven = exhaustive || cost == bound.cost
	if exhaustive {
		s.Bound = s.Cost
	}
	return s, nil
}

// write serves the demands from the packs opened and records who took what.
func (p *pool) write(members []int, openings []int64) Scope {
	s := Scope{Packs: make([]int, len(p.mass))}
	var left []int64 // by opened pack
	for k, i := range members {
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
		for _, u := range o.Uses {
			o.Shared = o.Shared || p.demands[u.Demand].Repair != p.demands[o.Uses[0].Demand].Repair
		}
	}
	s.Waste = kilograms(waste)
	return s
}

func poolStep(s Scope, by Sharing, openMinutes float64) trace.Step {
	shared := 0
	for _, o := range s.Opened {
		if o.Shared {
			shared++
		}
	}
	return trace.Step{
		ID: "pool/" + s.Name, Name: "packs opened, " + s.Name, Rule: "mix.pool",
		Formula: "least cost of packs such that each demand is weighed out of packs open no longer than t_open",
		Inputs: []trace.Input{
			trace.In("m", "mass needed", s.Need, "kg"),
			trace.In("t_open", "open life", openMinutes, "min", trace.Table("putties", "")),
			trace.InText("by", "shared within", by.String(), trace.Setting("mix.pooling")),
			trace.In("n_shared", "packs shared by several repairs", float64(shared), "pack", trace.Words("result")),
			trace.In("w", "left in opened packs", s.Waste, "kg", trace.Words("result")),
		},
		Value: float64(len(s.Opened)), Unit: "packs", Source: "dynamic programme over the open remainders",
	}
}
