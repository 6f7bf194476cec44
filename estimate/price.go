package estimate

import (
	"github.com/shopspring/decimal"

	"wraptally/estimate/bid"
	"wraptally/estimate/order"
	"wraptally/estimate/qty"
)

// price builds the bid and each repair's share of it.
func (p *Campaign) price() error {
	set := &p.Catalog.Settings
	minor := int32(p.Catalog.Currency().Minor)
	c := bid.Campaign{
		LabourHours: qty.Decimal(p.CrewHours()),
		CrewShifts:  p.CrewShifts, Repairs: len(p.Counted), Mass: qty.Decimal(p.Mass), Costs: p.Catalog.Costs,
		Currency: set.Currency, Minor: minor, RangeLow: qty.Decimal(set.RangeLow), RangeHigh: qty.Decimal(set.RangeHigh),
	}
	if len(p.Counted) == 0 {
		c.Costs = nil // no work, no bid: not even what is charged once a campaign
	}
	for _, o := range p.Orders {
		c.Materials = c.Materials.Add(o.Cost(minor))
	}
	for _, l := range p.Catalog.Labour {
		c.CrewRate = c.CrewRate.Add(l.Rate.Mul(qty.Whole(l.Count)))
	}
	c.MaterialWeights = p.materialWeights()
	for n := range p.Counted {
		c.LabourWeights = append(c.LabourWeights, p.Visits[n].Minutes)
		access := decimal.Zero
		if a, ok := p.Catalog.AccessOf(p.repair(n).Access); ok {
			access = a.Cost
		}
		c.Access = c.Access.Add(access)
		c.AccessWeights = append(c.AccessWeights, access.InexactFloat64())
	}
	var err error
	p.Bid, err = bid.Build(c)
	return err
}

// Cost is the cost of an item's order in the base currency.
func (o ItemOrder) Cost(minor int32) decimal.Decimal {
	sum := decimal.Zero
	for _, l := range o.Lines {
		sum = sum.Add(LineCost(l, minor))
	}
	return sum
}

// LineCost is the cost of one line in the base currency: what is bought at each
// price is a line of the order list, rounded once to the minor unit.
func LineCost(l order.Line, minor int32) decimal.Decimal {
	sum := decimal.Zero
	for _, t := range l.Tiers {
		sum = sum.Add(t.Cost.Mul(l.Rate).Round(minor))
	}
	return sum
}

// materialWeights are what the order of each item costs, shared out over the
// repairs by the quantity each is the reason for; coils and sheets by the length
// and area cut for each. What no repair is the reason for (campaign tools) is
// shared evenly.
func (p *Campaign) materialWeights() []float64 {
	weights := make([]float64, len(p.Counted))
	if len(weights) == 0 {
		return weights
	}
	asked := make([]float64, len(p.Catalog.Items))
	for n := range p.lines {
		for _, u := range p.lines[n] {
			asked[u.item] += u.qty
		}
	}
	cost := make([]float64, len(p.Catalog.Items))
	for i, o := range p.Orders {
		cost[p.Needs[i].Position] = o.Total.InexactFloat64()
	}
	even := 0.0
	for i := range cost {
		if asked[i] == 0 {
			even += cost[i]
		}
	}
	for i := range p.Cuts {
		even -= p.cutCost(&p.Cuts[i], cost)
	}
	for n := range weights {
		weights[n] = even / float64(len(weights))
		for _, u := range p.lines[n] {
			if asked[u.item] > 0 {
				weights[n] += cost[u.item] * u.qty / asked[u.item]
			}
		}
	}
	for i := range p.Cuts {
		cl := &p.Cuts[i]
		bought := p.cutCost(cl, cost)
		each, total := cl.sizes(len(weights))
		for n, size := range each {
			if size > 0 {
				weights[n] += bought * size / total
			}
		}
	}
	for n := range weights {
		weights[n] = max(0, weights[n]) // a rounding error may leave less than nothing
	}
	return weights
}

// cutCost is what the order of the coils or sheets of a cut list costs, by the
// costs of all items. Offcuts from store cost nothing.
func (p *Campaign) cutCost(cl *CutList, cost []float64) float64 {
	sum := 0.0
	for i, code := range cl.Items {
		if cl.Lots[i] == "" {
			sum += cost[p.packer.Position(code)]
		}
	}
	return sum
}
