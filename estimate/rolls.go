package estimate

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate/kit"
	"wraptally/estimate/order"
	"wraptally/estimate/qty"
	"wraptally/estimate/scope"
	"wraptally/estimate/takeoff"
)

// waysPerRepair is how many mixes of rolls are held open for each width beside the
// cheapest, those of the fewest rolls. Which they are does not hang on prices, so
// that a dearer price closes no way.
const waysPerRepair = 24

// rechooseWork bounds the search: small campaigns settle long before it, large
// ones gain next to nothing from more.
const rechooseWork = 2_000_000

// RollSaving is what choosing the rolls again over the campaign came to, in the
// base currency: their order, and the crew's time to lay them with what goes with
// each roll.
type RollSaving struct {
	Before, After, Bound decimal.Decimal
	Proven               bool
	Changed              int // repairs that got other rolls
}

// rollGroup is the repairs to which the same mixes of rolls are open.
type rollGroup struct {
	ways    [][]int           // by way, by wrap item
	costs   []decimal.Decimal // by way: the crew's time for its rolls and what goes with them
	members []int             // places of the jobs
}

// rollGroups gathers repairs by the mixes of rolls that are open to them, in the
// order of their first members.
type rollGroups struct {
	means  *means
	items  []*catalog.Item // of the wraps
	column map[string]int  // place among items, by code
	groups []rollGroup
	index  map[string]int // of a group, by its ways
	err    error          // the first there was
}

// gatherRolls prepares to gather; nil where the rolls are not to be chosen again.
func gatherRolls(m *means) *rollGroups {
	if m.Settings.Rechoose != "yes" {
		return nil
	}
	g := &rollGroups{means: m, column: map[string]int{}, index: map[string]int{}}
	for i := range m.Wraps {
		code := m.Wraps[i].Item
		it, ok := m.Item(code)
		if _, known := g.column[code]; known || !ok {
			continue
		}
		g.column[code] = len(g.items)
		g.items = append(g.items, it)
	}
	return g
}

// open are the mixes of rolls that are open to a repair, its own best first.
func (g *rollGroups) open(r *scope.Repair, net *takeoff.Net) ([]kit.RollChoice, error) {
	return g.means.Choices(r, net, waysPerRepair)
}

// packLike packs the kit of a repair, where it can with the rolls by which a box of
// an earlier run stays valid: nobody opens one to lay other rolls of the same
// wrap. Those are the rolls given; nil where there is no such box.
func (m *means) packLike(r *scope.Repair) (*kit.Kit, *kit.RollChoice) {
	k := m.Pack(r, nil)
	if r.Past == nil || r.Past.Kept < 0 {
		return k, nil
	}
	code := m.given.Earlier.Known[r.Past.Kept].Code
	choices, err := m.Choices(r, k.Net, waysPerRepair)
	if code == "" || err != nil {
		return k, nil
	}
	for i := range choices {
		if like := m.PackWith(r, choices[i], nil); m.Contents(like) == code {
			return like, &choices[i]
		}
	}
	return k, nil
}

// add puts the n-th job into its group, with the rolls it has to keep, nil where
// others may be chosen.
func (g *rollGroups) add(n int, r *scope.Repair, net *takeoff.Net, keep *kit.RollChoice) {
	if g == nil {
		return
	}
	choices, err := g.open(r, net)
	if keep != nil {
		choices = []kit.RollChoice{*keep}
	}
	if err != nil && g.err == nil {
		g.err = err
	}
	if len(choices) == 0 {
		return
	}
	each := g.means.RollCost(r)
	var key strings.Builder
	key.WriteString(each.String())
	group := rollGroup{ways: make([][]int, len(choices)), costs: make([]decimal.Decimal, len(choices))}
	for k, ch := range choices {
		group.ways[k] = make([]int, len(g.items))
		group.costs[k] = each.Mul(qty.Whole(ch.Mix.Packs))
		for i, count := range ch.Mix.Counts {
			if count > 0 {
				group.ways[k][g.column[ch.Rolls[i].Item]] += count
				fmt.Fprintf(&key, "%s:%d,", ch.Rolls[i].Item, count)
			}
		}
		key.WriteByte(';')
	}
	at, ok := g.index[key.String()]
	if !ok {
		at = len(g.groups)
		g.index[key.String()] = at
		g.groups = append(g.groups, group)
	}
	g.groups[at].members = append(g.groups[at].members, n)
}

// rechoose chooses each repair's mix of rolls again over the whole campaign: the
// sum of what is cheapest one by one can miss a price break or fill the last
// carton badly. The schedule is not known yet, only the need date.
func rechoose(jobs []Job, g *rollGroups, dates Dates, m *means) ([]Job, *RollSaving, error) {
	if g == nil || len(g.groups) == 0 {
		return jobs, nil, nil
	}
	if g.err != nil {
		return nil, nil, g.err
	}
	items := make([]order.Item, len(g.items))
	for i, it := range g.items {
		items[i] = order.Item{Need: m.orderNeed(it, decimal.Zero, false), Offers: m.offers(it, m.OffersOf(it.Code)), Stock: m.lotsOf(it.Code)}
	}
	list := make([]order.Group, len(g.groups))
	for i, group := range g.groups {
		list[i] = order.Group{Name: fmt.Sprint(i), Repairs: len(group.members), Ways: group.ways, Costs: group.costs}
	}
	rule := m.orderRule(dates)
	got, err := order.Rechoose(list, items, rule, rechooseWork)
	if err == nil {
		err = order.CheckChoice(got, list, items, rule) // nobody changes kits by a choice that was not replayed
	}
	if errors.Is(err, order.ErrTooLarge) || errors.Is(err, order.ErrUncoverable) {
		return jobs, nil, nil // each repair keeps its own best
	}
	if err != nil {
		return nil, nil, err
	}
	saving := &RollSaving{Before: got.Before, After: got.Cost, Bound: got.Bound, Proven: got.Proven}
	out := slices.Clone(jobs)
	for i, group := range g.groups {
		member := group.members
		for way, count := range got.Take[i] {
			for _, n := range member[:count] {
				if way == 0 {
					continue // its own best, the first, it has already
				}
				if out[n], err = g.with(jobs[n], way); err != nil {
					return nil, nil, err
				}
				saving.Changed++
			}
			member = member[count:]
		}
	}
	return out, saving, nil
}

// with is the job with the way-th of the mixes open to it. The mixes are worked
// out again: few repairs change, and keeping them for all would fill the memory.
func (g *rollGroups) with(j Job, way int) (Job, error) {
	choices, err := g.open(j.Repair, takeoff.Measure(j.Repair, g.means.Catalog, nil, nil))
	if err != nil {
		return Job{}, err
	}
	out := jobOf(j.Repair, j.At, g.means.PackWith(j.Repair, choices[way], nil), g.means)
	out.rolls = &choices[way]
	if j.kit == nil {
		out.kit = nil
	}
	return out, nil
}

// grows reports that the allowance for growth applies to what is ordered of an
// item: not to what comes back, nor to what is cut, whose pieces have grown, nor to
// what is issued to the whole campaign, which has grown before it was rounded.
func (m *means) grows(it *catalog.Item, cut bool) bool {
	return !it.Returns && !cut && it.Issue != catalog.LevelCampaign
}

// Grows reports whether the allowance for growth applies to the order of what is
// needed.
func (p *Campaign) Grows(n *Need) bool { return p.means.grows(n.Item, n.Cut) }

// orderNeed is a need of an item with the allowance for growth.
func (m *means) orderNeed(it *catalog.Item, quantity decimal.Decimal, cut bool) order.Need {
	growth := decimal.Zero
	if m.grows(it, cut) {
		growth = qty.Decimal(m.Settings.Growth)
	}
	return order.Need{Item: it.Code, Quantity: quantity, Unit: it.Unit, Whole: true, GrowthPercent: growth}
}
