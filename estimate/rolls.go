package estimate

import (
	"errors"
	"fmt"
	"strings"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate/kit"
	"wraptally/estimate/order"
	"wraptally/estimate/qty"
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
	ways    [][]int            // by way, by wrap item
	members []int              // places in Counted
	choices [][]kit.RollChoice // of each member, alongside ways
}

// rechoose chooses each repair's mix of rolls again over the whole campaign:
// the sum of what is cheapest one by one can miss a price break or fill the last
// carton badly. A repair is never given more rolls than by itself, so that labour
// and what goes with a roll do not grow unseen.
func (p *Campaign) rechoose() error {
	if p.Catalog.Settings.Rechoose != "yes" || len(p.Counted) == 0 {
		return nil
	}
	column := map[string]int{}
	var items []order.Item
	for i := range p.Catalog.Wraps {
		code := p.Catalog.Wraps[i].Item
		it, ok := p.Catalog.Item(code)
		if _, known := column[code]; known || !ok {
			continue
		}
		column[code] = len(items)
		items = append(items, order.Item{
			Need:   p.orderNeed(it, decimal.Zero),
			Offers: p.offers(it, p.Catalog.OffersOf(code)),
			Stock:  lotsOf(code, p.stock),
		})
	}
	groups, err := p.rollGroups(column, len(items))
	if err != nil {
		return err
	}
	list := make([]order.Group, len(groups))
	for i, g := range groups {
		list[i] = order.Group{Name: fmt.Sprint(i), Repairs: len(g.members), Ways: g.ways}
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
	for g := range groups {
		p.takeWays(&groups[g], got.Take[g])
	}
	return nil
}

// rollGroups gathers the repairs by the mixes that are open to them, in the
// order of their first members.
func (p *Campaign) rollGroups(column map[string]int, items int) ([]rollGroup, error) {
	var groups []rollGroup
	index := map[string]int{}
	var key strings.Builder
	for n := range p.Counted {
		choices, err := p.packer.RollChoices(p.repair(n), waysPerRepair)
		if err != nil {
			return nil, err
		}
		if len(choices) == 0 {
			continue
		}
		key.Reset()
		var ways [][]int
		var kept []kit.RollChoice
		for _, ch := range choices {
			if ch.Mix.Packs > choices[0].Mix.Packs {
				continue
			}
			way := make([]int, items)
			for i, count := range ch.Mix.Counts {
				way[column[ch.Rolls[i].Item]] += count
				if count > 0 {
					fmt.Fprintf(&key, "%s:%d,", ch.Rolls[i].Item, count)
				}
			}
			key.WriteByte(';')
			ways, kept = append(ways, way), append(kept, ch)
		}
		at, ok := index[key.String()]
		if !ok {
			at = len(groups)
			index[key.String()] = at
			groups = append(groups, rollGroup{ways: ways})
		}
		groups[at].members = append(groups[at].members, n)
		groups[at].choices = append(groups[at].choices, kept)
	}
	return groups, nil
}

// takeWays gives the members of a group their ways, in order.
func (p *Campaign) takeWays(g *rollGroup, take []int) {
	member := 0
	for way, count := range take {
		for range count {
			if way > 0 {
				i := p.Counted[g.members[member]]
				if p.chosen == nil {
					p.chosen = map[int]kit.RollChoice{}
				}
				p.chosen[i] = g.choices[member][way]
				p.keep(g.members[member], p.Kit(i, nil))
				p.Rolls.Changed++
			}
			member++
		}
	}
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
