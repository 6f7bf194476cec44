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
	"wraptally/estimate/takeoff"
)

// waysPerRepair is how many near-best mixes of rolls are held open for each
// width; more were never taken on the surveys tried.
const waysPerRepair = 4

// rechooseWork bounds the search: small campaigns settle long before it, large
// ones gain next to nothing from more.
const rechooseWork = 400_000

// RollSaving is what choosing the rolls again over the campaign came to, in the
// base currency.
type RollSaving struct {
	Before, After, Bound decimal.Decimal
	Proven               bool
	Changed              int // repairs that got other rolls
}

// rollGroup is the repairs to which the same mixes of rolls are open.
type rollGroup struct {
	ways    [][]int // by way, by wrap item
	members []int   // places in Counted
}

// rollGroups gathers repairs by the mixes of rolls that are open to them, in the
// order of their first members.
type rollGroups struct {
	packer *kit.Packer
	items  []*catalog.Item // of the wraps
	column map[string]int  // place among items, by code
	groups []rollGroup
	index  map[string]int // of a group, by its ways
	err    error          // the first there was
}

// gatherRolls prepares to gather; nil where the rolls are not to be chosen again.
func (p *Campaign) gatherRolls() *rollGroups {
	if p.Catalog.Settings.Rechoose != "yes" {
		return nil
	}
	g := &rollGroups{packer: p.packer, column: map[string]int{}, index: map[string]int{}}
	for i := range p.Catalog.Wraps {
		code := p.Catalog.Wraps[i].Item
		it, ok := p.Catalog.Item(code)
		if _, known := g.column[code]; known || !ok {
			continue
		}
		g.column[code] = len(g.items)
		g.items = append(g.items, it)
	}
	return g
}

// open are the mixes of rolls that are open to a repair, its own best first. None
// has more rolls than that, so that labour and what goes with a roll do not grow
// unseen.
func (g *rollGroups) open(net *takeoff.Net) ([]kit.RollChoice, error) {
	choices, err := g.packer.Choices(net, waysPerRepair)
	if err != nil || len(choices) == 0 {
		return nil, err
	}
	own := choices[0].Mix.Packs
	return slices.DeleteFunc(choices, func(ch kit.RollChoice) bool { return ch.Mix.Packs > own }), nil
}

// add puts the n-th repair counted into its group.
func (g *rollGroups) add(n int, net *takeoff.Net) {
	choices, err := g.open(net)
	if err != nil && g.err == nil {
		g.err = err
	}
	if len(choices) == 0 {
		return
	}
	var key strings.Builder
	ways := make([][]int, len(choices))
	for k, ch := range choices {
		ways[k] = make([]int, len(g.items))
		for i, count := range ch.Mix.Counts {
			if count > 0 {
				ways[k][g.column[ch.Rolls[i].Item]] += count
				fmt.Fprintf(&key, "%s:%d,", ch.Rolls[i].Item, count)
			}
		}
		key.WriteByte(';')
	}
	at, ok := g.index[key.String()]
	if !ok {
		at = len(g.groups)
		g.index[key.String()] = at
		g.groups = append(g.groups, rollGroup{ways: ways})
	}
	g.groups[at].members = append(g.groups[at].members, n)
}

// rechoose chooses each repair's mix of rolls again over the whole campaign:
// the sum of what is cheapest one by one can miss a price break or fill the last
// carton badly.
func (p *Campaign) rechoose(g *rollGroups) error {
	if g == nil || len(g.groups) == 0 {
		return nil
	}
	if g.err != nil {
		return g.err
	}
	items := make([]order.Item, len(g.items))
	for i, it := range g.items {
		items[i] = order.Item{Need: p.orderNeed(it, decimal.Zero), Offers: p.offers(it, p.Catalog.OffersOf(it.Code)), Stock: lotsOf(it.Code, p.stock)}
	}
	list := make([]order.Group, len(g.groups))
	for i, group := range g.groups {
		list[i] = order.Group{Name: fmt.Sprint(i), Repairs: len(group.members), Ways: group.ways}
	}
	rule := p.orderRule()
	rule.InstallDate, rule.CampaignEnd = p.Dates.Need, p.Dates.Need // the schedule is not known yet
	got, err := order.Rechoose(list, items, rule, rechooseWork)
	if errors.Is(err, order.ErrTooLarge) || errors.Is(err, order.ErrUncoverable) {
		return nil // each repair keeps its own best
	}
	if err != nil {
		return err
	}
	p.Rolls = &RollSaving{Before: got.Before, After: got.Cost, Bound: got.Bound, Proven: got.Proven}
	for i, group := range g.groups {
		member := 0
		for way, count := range got.Take[i] {
			for range count {
				if err := p.takeWay(g, group.members[member], way); err != nil {
					return err
				}
				member++
			}
		}
	}
	return nil
}

// takeWay gives the n-th repair counted the way-th of the mixes open to it. Its
// own best, the first, it has already. The mixes are worked out again: few
// repairs change, and keeping them for all would fill the memory.
func (p *Campaign) takeWay(g *rollGroups, n, way int) error {
	if way == 0 {
		return nil
	}
	i := p.Counted[n]
	choices, err := g.open(takeoff.Measure(p.Repairs[i], p.Catalog, nil))
	if err != nil {
		return err
	}
	if p.chosen == nil {
		p.chosen = map[int]kit.RollChoice{}
	}
	p.chosen[i] = choices[way]
	p.keep(n, p.Kit(i, nil))
	p.Rolls.Changed++
	return nil
}

// orderNeed is a need of an item with the allowance for growth, which does not
// apply to what comes back.
func (p *Campaign) orderNeed(it *catalog.Item, quantity decimal.Decimal) order.Need {
	growth := qty.Decimal(p.Catalog.Settings.Growth)
	if it.Returns {
		growth = decimal.Zero
	}
	return order.Need{Item: it.Code, Quantity: quantity, Unit: it.Unit, Whole: true, GrowthPercent: growth}
}
