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
		LabourHours: qty.Decimal(p.Minutes / 60 / set.Productive),
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
	cutCost, cutSize := map[string]float64{}, map[string]float64{}
	for _, cl := range p.Cuts {
		for _, code := range cl.Items {
			at := p.packer.Position(code)
			cutCost[cl.Kind+cl.Stock] += cost[at]
			even -= cost[at]
		}
	}
	pieces := make([]map[string]float64, len(p.Counted))
	for n, i := range p.Counted {
		for _, piece := range p.packer.Pieces(p.Repairs[i]) {
			size := float64(piece.A)
			if piece.Kind == "sheet" {
				size *= float64(piece.C)
			}
			if pieces[n] == nil {
				pieces[n] = map[string]float64{}
			}
			pieces[n][piece.Kind+piece.Stock] += size
			cutSize[piece.Kind+piece.Stock] += size
		}
	}
	for n := range weights {
		w := even / float64(len(weights))
		for _, u := range p.lines[n] {
			if asked[u.item] > 0 {
				w += cost[u.item] * u.qty / asked[u.item]
			}
		}
		for _, cl := range p.Cuts { // in the order of the cut lists, never of the map
			name := cl.Kind + cl.Stock
			if size := pieces[n][name]; size > 0 {
				w += cutCost[name] * size / cutSize[name]
			}
		}
		weights[n] = max(0, w)
	}
	return weights
}
