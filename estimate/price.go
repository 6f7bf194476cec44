package estimate

import (
	"slices"

	"github.com/shopspring/decimal"

	"wraptally/estimate/bid"
	"wraptally/estimate/order"
	"wraptally/estimate/qty"
	"wraptally/estimate/scope"
)

// charge builds the bid and gives each job its share of it.
func charge(p Plan, bought purchase, m *means) (Plan, *bid.Bid, error) {
	set := &m.Settings
	minor := int32(m.Currency().Minor)
	c := bid.Campaign{
		Labour: p.PaidLabour(), Repairs: len(p.Jobs), Counts: p.counts(bought), Costs: m.Costs,
		Currency: set.Currency, Minor: minor, RangeLow: qty.Decimal(set.RangeLow), RangeHigh: qty.Decimal(set.RangeHigh),
	}
	if len(p.Jobs) == 0 {
		c.Costs = nil // no work, no bid: not even what is charged once a campaign
	}
	for _, o := range bought.orders {
		c.Ordered = c.Ordered.Add(o.Charge.Bought)
		if o.Charge.As == InFull {
			c.Materials, c.Stock = c.Materials.Add(o.Charge.Bought), c.Stock.Add(o.Charge.Drawn)
		} else {
			c.Tools = c.Tools.Add(o.Charge.Amount)
		}
	}
	for _, o := range bought.offcuts {
		c.Stock = c.Stock.Add(o.Value)
	}
	for i := range bought.supply.Suppliers {
		c.Suppliers = append(c.Suppliers, bought.supply.Suppliers[i].Lines()...)
	}
	c.MaterialWeights = materialWeights(p.Jobs, &bought, m)
	for i := range p.Jobs {
		j := &p.Jobs[i]
		c.LabourWeights = append(c.LabourWeights, j.Minutes)
		access := decimal.Zero
		if a, ok := m.AccessOf(j.Repair.Access); ok {
			access = a.Cost
		}
		if j.Access { // one that is shared is paid for once
			c.Access = c.Access.Add(access)
		}
		c.AccessWeights = append(c.AccessWeights, access.InexactFloat64()/float64(j.Sharing))
	}
	price, shares, err := bid.Build(c)
	if err != nil {
		return p, nil, err
	}
	p.Jobs = slices.Clone(p.Jobs)
	for i := range p.Jobs {
		p.Jobs[i].Share = shares[i]
	}
	return p, price, nil
}

// hourNames are the kinds of paid time as a bid names them.
var hourNames = map[HourKind]string{
	Working: "Crew at work", Standing: "Crew standing by while repairs set", Setting: "Crew setting up, clearing up, walking", Moving: "Crew to the site and home",
}

// PaidLabour is the paid time, a line a kind; of each crew where they cost
// differently.
func (p *Plan) PaidLabour() []bid.Labour {
	var out []bid.Labour
	alike := !slices.ContainsFunc(p.Crews, func(c PlannedCrew) bool { return !c.Rate.Equal(p.Crews[0].Rate) })
	add := func(c PlannedCrew, code, name string, hours decimal.Decimal) {
		crew := ""
		if !alike {
			crew, code, name = c.Name, code+"-"+c.Name, name+", "+c.Name
		}
		at := slices.IndexFunc(out, func(l bid.Labour) bool { return l.Code == code })
		if at < 0 {
			at = len(out)
			out = append(out, bid.Labour{Code: code, Name: name, Crew: crew, Rate: c.Rate})
		}
		out[at].Hours = out[at].Hours.Add(hours)
	}
	for _, h := range p.Hours {
		c := p.Crews[h.Crew-1]
		add(c, "labour-"+string(h.Kind), hourNames[h.Kind], qty.Decimal(h.Hours))
		if h.Premium > 0 {
			add(c, "labour-overtime", "Overtime, what it costs beyond its hours", qty.Decimal(h.Premium))
		}
	}
	return out
}

// counts are what a cost may be charged by, beside the campaign as a whole.
func (p *Plan) counts(bought purchase) []bid.Counted {
	distinct := func(name func(r *scope.Repair) string) int {
		seen := map[string]bool{}
		for i := range p.Jobs {
			seen[name(p.Jobs[i].Repair)] = true
		}
		return len(seen)
	}
	suppliers := map[string]bool{}
	for _, o := range bought.orders {
		for _, l := range o.Lines {
			suppliers[l.Supplier] = true
		}
	}
	persons, nights, sent := 0, 0, map[int]bool{}
	type stay struct{ crew, day int }
	slept := map[stay]bool{}
	for _, s := range p.Shifts {
		members := p.Crews[s.Crew-1].Members
		persons += members
		sent[s.Crew] = true
		if at := (stay{s.Crew, s.Minutes.Day}); !slept[at] {
			slept[at] = true
			nights += members
		}
	}
	return []bid.Counted{
		{Basis: "repair", Title: "repairs estimated", Quantity: qty.Whole(len(p.Jobs)), Note: "survey"},
		{Basis: "area", Title: "areas with repairs", Quantity: qty.Whole(distinct(func(r *scope.Repair) string { return r.Area })), Note: "survey"},
		{Basis: "line", Title: "lines with repairs", Quantity: qty.Whole(distinct(func(r *scope.Repair) string { return r.Area + "\x00" + r.Line })), Note: "survey"},
		{Basis: "supplier", Title: "suppliers ordered from", Quantity: qty.Whole(len(suppliers)), Note: "sheet Order"},
		{Basis: "kg", Title: "weight of all goods that go to the site", Quantity: delivered(bought.orders, bought.offcuts), Exact: 3, Note: "sheet Needs"},
		{Basis: "crew", Title: "crews sent", Quantity: qty.Whole(len(sent)), Note: "plan"},
		{Basis: "crew-shift", Title: "crew-shifts attended", Quantity: qty.Whole(p.CrewShifts), Note: "plan"},
		{Basis: "person-shift", Title: "shifts of all persons", Quantity: qty.Whole(persons), Note: "plan"},
		{Basis: "person-night", Title: "nights of all persons, one a day attended", Quantity: qty.Whole(nights), Note: "plan"},
		{Basis: "day", Title: "working days", Quantity: qty.Whole(p.Days), Note: "plan"},
	}
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

// materialWeights are what each item is charged at, shared out over the
// repairs by the quantity each is the reason for; coils and sheets by the length
// and area cut for each. What no repair is the reason for (campaign tools) is
// shared evenly.
func materialWeights(jobs []Job, bought *purchase, m *means) []float64 {
	weights := make([]float64, len(jobs))
	if len(weights) == 0 {
		return weights
	}
	asked := make([]float64, len(m.Items))
	for n := range jobs {
		for _, u := range jobs[n].lines {
			asked[u.item] += u.qty
		}
	}
	cost := make([]float64, len(m.Items))
	for i := range bought.orders {
		o := &bought.orders[i]
		cost[o.Need.Position] = o.Charge.Amount.InexactFloat64()
	}
	even := 0.0
	for i := range cost {
		if asked[i] == 0 {
			even += cost[i]
		}
	}
	for i := range bought.cuts {
		even -= m.cutCost(&bought.cuts[i], cost)
	}
	for n := range weights {
		weights[n] = even / float64(len(weights))
		for _, u := range jobs[n].lines {
			if asked[u.item] > 0 {
				weights[n] += cost[u.item] * u.qty / asked[u.item]
			}
		}
	}
	for i := range bought.cuts {
		cl := &bought.cuts[i]
		all := m.cutCost(cl, cost)
		for _, o := range bought.offcuts {
			if o.list == i {
				all += o.Value.InexactFloat64()
			}
		}
		each, total := cl.sizes(len(weights))
		for n, size := range each {
			if size > 0 {
				weights[n] += all * size / total
			}
		}
	}
	for n := range weights {
		weights[n] = max(0, weights[n]) // a rounding error may leave less than nothing
	}
	return weights
}

// cutCost is what the order of the coils or sheets of a cut list costs, by what
// all items are charged at; offcuts from the store are apart.
func (m *means) cutCost(cl *CutList, cost []float64) float64 {
	sum := 0.0
	for i, code := range cl.Items {
		if cl.Lots[i] == "" {
			sum += cost[m.Position(code)]
		}
	}
	return sum
}

// Lines are what a supplier charges, as lines of the build-up.
func (s *SupplierOrder) Lines() (out []bid.Charge) {
	add := func(code, name string, amount decimal.Decimal) {
		if amount.IsPositive() {
			out = append(out, bid.Charge{Code: code + "-" + s.Supplier, Name: s.Supplier + ": " + name, Amount: amount})
		}
	}
	add("delivery", "delivery", s.Delivery)
	add("hazardous", "surcharge for hazardous goods", s.Surcharge)
	add("shortfall", "what is missing to its minimum order", s.Shortfall)
	return out
}
