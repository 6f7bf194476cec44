package estimate

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate/bid"
	"wraptally/estimate/trace"
)

// CampaignPrefix is the prefix of the campaign's own steps, as a repair's id is of its steps.
const CampaignPrefix = "campaign/"

// Steps are the derivations of the campaign's figures: what is issued, cut,
// ordered and charged. The steps of a repair are Explain's.
func (p *Campaign) Steps() []trace.Step {
	log := &trace.Log{Prefix: CampaignPrefix}
	p.issueSteps(log)
	p.rollSteps(log)
	p.spareSteps(log)
	p.cutSteps(log)
	for i := range p.Orders {
		p.orderSteps(i, log)
		p.chargeSteps(&p.Orders[i], log)
	}
	p.offcutSteps(log)
	p.supplySteps(log)
	p.bidSteps(log)
	return log.Steps
}

func (p *Campaign) issueSteps(log *trace.Log) {
	for _, is := range p.Issues {
		it := p.Catalog.Items[is.Item]
		rounding := "up to whole units for " + catalog.LevelName(it.Issue)
		if it.Issue == catalog.LevelKit && is.Shift == 0 {
			rounding = "up to whole units in each spare sealing set"
		}
		formula, spare := "Σ q", p.spareOf(is, &it)
		inputs := []trace.Input{trace.In("q", "asked for by the kits and rules", is.Net-spare, it.Unit, trace.StepsOfRepairs("item/"+it.Code), trace.Table("consumables", ""))}
		if spare > 0 {
			formula, inputs = "q + s", append(inputs, spareInput(spare, it.Unit))
		}
		if is.Grown != is.Net {
			formula = "(" + formula + ")·(1 + g/100)"
			if spare == 0 {
				formula = "Σ q·(1 + g/100)"
			}
			inputs = append(inputs, trace.In("g", "allowance for growth of the survey, before rounding", p.Catalog.Settings.Growth, "%", trace.Setting("order.growth")))
		}
		log.Put(trace.Step{
			ID: IssueID(is, it.Code), Name: it.Name + " issued " + is.To(), Rule: "campaign.issue", Formula: formula,
			Inputs: inputs,
			Raw:    is.Grown, Value: is.Qty, Unit: it.Unit, Rounding: rounding, Source: "common practice, no source",
		})
	}
	set := &p.Catalog.Settings
	log.Put(trace.Step{
		ID: "crew-shifts", Name: "crew-shifts", Rule: "campaign.schedule", Formula: "by need date, then place, each at the earliest times that tear nothing apart; others while one sets",
		Inputs: []trace.Input{
			trace.In("crews", "crews", float64(set.Crews), "", trace.Setting("crew.count")),
			trace.In("h", "shift", set.ShiftHours, "h", trace.Setting("crew.shift_hours")),
			trace.In("days", "working days of the plan", float64(p.Days), "", trace.Words("this step")),
			trace.In("bound", "working days that no plan with these crews can go below", float64(p.Bound), "", trace.Words("work over the crews' time, and the longest repair")),
		},
		Value: float64(p.CrewShifts), Source: "common practice, no source",
	})
	paid := p.paidHours()
	log.Put(trace.Step{
		ID: "hours", Name: "paid hours of all persons", Rule: "campaign.hours", Formula: paid.Formula(), Inputs: paid.Inputs,
		Value: p.Paid, Unit: "h", Source: "common practice, no source",
	})
}

// paidHours are the paid hours by crew and kind, with the members of the crew.
func (p *Campaign) paidHours() (paid trace.Sum) {
	for _, h := range p.Hours {
		c := p.Crews[h.Crew-1]
		paid.Product(trace.In("h", c.Name+", "+string(h.Kind), h.Hours, "h", trace.StepAt(CampaignPrefix+"crew-shifts")),
			trace.In("n", c.Name+", persons", float64(c.Members), "", trace.Table("labour", "")))
	}
	return paid
}

// rollSteps say what choosing the rolls again over the campaign came to.
func (p *Campaign) rollSteps(log *trace.Log) {
	r := p.Rolls
	if r == nil {
		return
	}
	log.Put(trace.Step{
		ID: "rolls", Name: "cost of the rolls and of laying them, chosen over the campaign", Rule: "campaign.rolls",
		Formula: "least cost of the order of all rolls, the crew's time to lay them and what goes with each, every repair with one of the mixes that give its tape",
		Inputs: []trace.Input{
			trace.In("before", "with each repair's own cheapest mix", r.Before.InexactFloat64(), p.Bid.Currency, trace.StepsOfRepairs("wrap/rolls")),
			trace.In("bound", "no choice costs less", r.Bound.InexactFloat64(), p.Bid.Currency, trace.Words("Lagrangian bound")),
			trace.In("changed", "repairs that got other rolls", float64(r.Changed), "", trace.Words("this step")),
		},
		Value: r.After.InexactFloat64(), Unit: p.Bid.Currency, Source: "search with a bound",
	})
}

// IssueID is the step of an issue, without the campaign's prefix.
func IssueID(is Issue, code string) string {
	return fmt.Sprintf("issue/%s/crew%d/shift%d", code, is.Crew, is.Shift)
}

// To says to whom something is issued.
func (is Issue) To() string {
	switch {
	case is.Crew == 0:
		return "to the campaign"
	case is.Shift == 0:
		return fmt.Sprintf("to crew %d", is.Crew)
	}
	return fmt.Sprintf("to crew %d, shift %d", is.Crew, is.Shift)
}

func (p *Campaign) cutSteps(log *trace.Log) {
	for _, cl := range p.Cuts {
		v := cl.Verdict()
		state := "not proven least"
		if v.Proven {
			state = "proven least"
		}
		for i, n := range cl.Counts() {
			if cl.Lots[i] != "" {
				continue
			}
			it := p.Catalog.Items[p.means.Position(cl.Items[i])]
			spare := len(cl.owner) - cl.kits
			s := trace.Step{
				ID: "cut/" + it.Code, Name: it.Name + ", cut for the kits", Rule: "campaign.cut." + cl.Kind, Formula: "cutting plan of " + cl.Stock + ", " + state,
				Inputs: []trace.Input{
					trace.In("pieces", "pieces demanded", float64(cl.kits), "pc", trace.StepsOfRepairs("seal…")),
					trace.In("reserve", "pieces beside them, so that the survey may grow", float64(cl.Reserve()), "pc", trace.Setting("order.growth"), trace.Words("of the pieces")),
					trace.In("plan", "the plan's total, counted in "+string(v.Basis), v.Objective.InexactFloat64(), "", trace.Words("cutting plan")),
					trace.In("bound", "no plan can go below", v.Bound.InexactFloat64(), "", trace.Words("certificate of the plan")),
					trace.InText("method", "how it was found", v.Method, trace.Words("cutting plan")),
				},
				Value: float64(n), Unit: it.Unit, Source: "exact search with a certificate that is checked again",
			}
			if spare > 0 {
				s.Inputs = slices.Insert(s.Inputs, 1, trace.In("spare", "pieces for spare sealing sets of the crews", float64(spare), "pc", trace.Setting("set.spares"), trace.StepsUnder(CampaignPrefix+"spare/")))
			}
			log.Put(s)
		}
	}
}

// minorUnit is how money is rounded.
func minorUnit(currency string, digits int32) string {
	return fmt.Sprintf("to %s %s, half away from zero", decimal.New(1, -digits), currency)
}

// issuedOf says to whom the issued quantity of an item goes: with the kits, to
// crews, shifts or the campaign, and stock that is cut.
func (p *Campaign) issuedOf(n Need) []trace.Input {
	wide, cut, code := 0.0, 0.0, n.Item.Code
	wideFrom := trace.Words("no issue at a wider level")
	for _, is := range p.Issues {
		if is.Item == n.Position {
			wide += is.Qty
			wideFrom = trace.StepsUnder(CampaignPrefix + "issue/" + code + "/")
		}
	}
	cutFrom := trace.Words("nothing of it is cut")
	for _, cl := range p.Cuts {
		for i, count := range cl.Counts() {
			if cl.Lots[i] == "" && cl.Items[i] == code {
				cut += float64(count)
				cutFrom = trace.StepAt(CampaignPrefix + "cut/" + code)
			}
		}
	}
	kitsFrom := trace.StepsOfRepairs("item/" + code)
	if n.Item.Issue != catalog.LevelKit {
		kitsFrom = trace.Words("it is issued at a wider level")
	}
	return []trace.Input{
		trace.In("q_kits", fmt.Sprintf("issued whole with kits; %d ask for it", n.Kits), n.Issued-wide-cut, n.Item.Unit, kitsFrom),
		trace.In("q_wide", "issued whole to crews, shifts or the campaign", wide, n.Item.Unit, wideFrom),
		trace.In("q_cut", "stock cut for the kits", cut, n.Item.Unit, cutFrom),
	}
}

func (p *Campaign) orderSteps(i int, log *trace.Log) {
	o := &p.Orders[i]
	n := o.Need
	at := "order/" + n.Item.Code + "/"
	log.Put(trace.Step{
		ID: at + "issued", Name: n.Item.Name + ", issued in all", Rule: "order.issued", Formula: "q_kits + q_wide + q_cut",
		Inputs: p.issuedOf(n),
		Raw:    n.Issued, Value: n.Issued, Unit: n.Item.Unit, Rounding: "each already whole at its level of issue", Source: "derived",
	})
	growth, allowed := p.Catalog.Settings.Growth, trace.Setting("order.growth")
	if !p.Grows(&n) {
		growth, allowed = 0, trace.Words("it comes back, or has grown by the piece")
	}
	log.Put(trace.Step{
		ID: at + "needed", Name: n.Item.Name + ", needed", Rule: "order.needed", Formula: "issued·(1 + g/100) − stock",
		Inputs: []trace.Input{
			trace.In("issued", "issued in all", n.Issued, n.Item.Unit, trace.StepAt(CampaignPrefix+at+"issued")),
			trace.In("g", "allowance for growth of the survey; none for what comes back, nor for what is cut, whose pieces have grown", growth, "%", allowed),
			trace.In("stock", "usable from store", o.Drawn.InexactFloat64(), n.Item.Unit, trace.Words("stock")),
		},
		Raw: o.Raised.Sub(o.Drawn).InexactFloat64(), Value: o.Net.InexactFloat64(), Unit: n.Item.Unit, Rounding: "up to whole units", Source: "common practice, no source",
	})
	for k, l := range o.Lines {
		id := fmt.Sprintf("%sline%d", at, k+1)
		why := ""
		for _, r := range o.Reasons {
			if r.Line == k || r.Line < 0 {
				if why != "" {
					why += "; "
				}
				why += r.String()
			}
		}
		log.Put(trace.Step{
			ID: id + "/packs", Name: n.Item.Name + ", packs from " + l.Supplier, Rule: "order.packs", Formula: "least cost over suppliers, packs, breaks, cartons and minimum order",
			Inputs: []trace.Input{
				trace.In("needed", "to be bought", o.Net.InexactFloat64(), n.Item.Unit, trace.StepAt(CampaignPrefix+at+"needed")),
				trace.In("pack", "in one pack", l.PackQuantity.InexactFloat64(), n.Item.Unit, trace.Table("offers", l.Part)),
				trace.InText("why", "why this many", cmp.Or(why, "single source, no surplus"), trace.Words("this step")),
			},
			Raw: float64(l.Packs), Value: float64(l.Packs), Unit: "pack", Rounding: "whole packs", Source: "exact search",
		})
		formula, paid := "packs·price·rate", []trace.Input{
			trace.In("packs", "packs", float64(l.Packs), "", trace.StepAt(CampaignPrefix+id+"/packs")),
			trace.In("price", "price of one pack at the break reached", l.Break.Price.InexactFloat64(), l.Currency, trace.Table("prices", l.Part)),
		}
		if len(l.Tiers) > 1 { // each pack at the price of its step
			var steps trace.Sum
			for _, t := range l.Tiers {
				steps.Product(trace.In("n", "packs at this step of the price", float64(t.Packs), "", trace.Words("this step")),
					trace.In("c", "price of one pack at this step", t.Price.InexactFloat64(), l.Currency, trace.Table("prices", l.Part)))
			}
			formula, paid = "("+steps.Formula()+")·rate", steps.Inputs
		}
		log.Put(trace.Step{
			ID: id + "/cost", Name: n.Item.Name + ", cost from " + l.Supplier, Rule: "order.cost", Formula: formula,
			Inputs: append(paid, trace.In("rate", "one "+l.Currency+" in "+o.Base, l.Rate.InexactFloat64(), "", trace.Table("currencies", ""))),
			Raw:    l.BaseCost.InexactFloat64(), Value: LineCost(l, p.Bid.Minor).InexactFloat64(), Unit: o.Base,
			Rounding: minorUnit(o.Base, p.Bid.Minor), Source: "ISO 4217 minor units",
		})
	}
}

// chargeSteps say what the campaign is charged for an item.
func (p *Campaign) chargeSteps(o *ItemOrder, log *trace.Log) {
	it, c := o.Need.Item, &o.Charge
	at, cur := "order/"+it.Code+"/", p.Bid.Currency
	bought := trace.Words("nothing of it is bought")
	if len(o.Lines) > 0 {
		bought = trace.StepsEach(CampaignPrefix+at, "/cost")
	}
	step := func(id, name, formula string, raw float64, v decimal.Decimal, source string, inputs ...trace.Input) {
		log.Put(trace.Step{
			ID: at + id, Name: it.Name + ", " + name, Rule: "order." + id, Formula: formula, Inputs: inputs,
			Raw: raw, Value: v.InexactFloat64(), Unit: cur, Rounding: minorUnit(cur, p.Bid.Minor), Source: source,
		})
	}
	if len(o.Draws) > 0 {
		var drawn trace.Sum
		raw := 0.0
		for _, d := range o.Draws {
			raw += d.Quantity.Mul(p.DrawnAt(it.Code, d.Lot.ID)).InexactFloat64()
			drawn.Product(trace.In("q", "drawn of lot "+d.Lot.ID, d.Quantity.InexactFloat64(), it.Unit, trace.Words("stock list")),
				trace.In("c", "one unit of it", p.DrawnAt(it.Code, d.Lot.ID).InexactFloat64(), cur, trace.Setting("stock.price"), trace.Words("offers or stock list")))
		}
		step("drawn", "value of what is drawn from the store", drawn.Formula(), raw, c.Drawn, "the firm's own choice, setting stock.price", drawn.Inputs...)
	}
	price := trace.In("b", "cost of its order", c.Bought.InexactFloat64(), cur, bought)
	switch c.As {
	case ByHire:
		step("tool", "charged by hire", "n·d·r", o.Needed.Mul(it.Hire.Decimal).InexactFloat64()*float64(p.Days), c.Amount, "items table of the firm",
			trace.In("n", "in use", o.Needed.InexactFloat64(), it.Unit, trace.StepAt(CampaignPrefix+at+"issued")),
			trace.In("d", "working days of the plan", float64(p.Days), "", trace.Words("plan")),
			trace.In("r", "hire of one for a working day", it.Hire.Decimal.InexactFloat64(), cur, trace.Table("items", it.Code)))
	case ByWriteOff:
		formula, of := "b·w/100", []trace.Input{price}
		if c.Drawn.IsPositive() {
			formula = "(b + s)·w/100"
			of = append(of, trace.In("s", "value of what is drawn from the store", c.Drawn.InexactFloat64(), cur, trace.StepAt(CampaignPrefix+at+"drawn")))
		}
		step("tool", "written off", formula, c.Bought.Add(c.Drawn).Mul(it.WriteOff.Decimal).InexactFloat64()/100, c.Amount, "items table of the firm",
			append(of, trace.In("w", "share of its value that a campaign is charged", it.WriteOff.Decimal.InexactFloat64(), "%", trace.Table("items", it.Code)))...)
	default:
		if len(o.Lines) > 0 {
			step("bought", "charged in full", "b", c.Bought.InexactFloat64(), c.Bought, "derived", price)
		}
		if c.Drawn.IsPositive() {
			step("from-store", "charged in full", "s", c.Drawn.InexactFloat64(), c.Drawn, "derived",
				trace.In("s", "value of what is drawn from the store", c.Drawn.InexactFloat64(), cur, trace.StepAt(CampaignPrefix+at+"drawn")))
		}
	}
}

// offcutSteps say what the offcuts from the store are charged at, and what all
// goods that go to the site weigh.
func (p *Campaign) offcutSteps(log *trace.Log) {
	cur := p.Bid.Currency
	for _, o := range p.Offcuts {
		log.Put(trace.Step{
			ID: "order/" + o.Item + "/offcut-" + o.Lot + "/from-store", Name: "offcut " + o.Lot + " of " + o.Item + ", from the store", Rule: "order.offcut", Formula: "n·a·c",
			Inputs: []trace.Input{
				trace.In("n", "offcuts cut up", float64(o.Count), "pc", trace.Words("cutting plan")),
				trace.In("a", "its size, of a whole one", o.Share, "", trace.Table("stock", o.Lot)),
				trace.In("c", "a whole one", p.DrawnAt(o.Item, o.Lot).InexactFloat64(), cur, trace.Setting("stock.price"), trace.Words("offers or stock list")),
			},
			Raw:   p.DrawnAt(o.Item, o.Lot).InexactFloat64() * o.Share * float64(o.Count),
			Value: o.Value.InexactFloat64(), Unit: cur, Rounding: minorUnit(cur, p.Bid.Minor), Source: "the firm's own choice, setting stock.price",
		})
	}
	var mass trace.Sum
	for i := range p.Orders {
		o := &p.Orders[i]
		mass.Product(trace.In("n", o.Need.Item.Name+", bought and drawn from the store", o.Bought.Add(o.Drawn).InexactFloat64(), o.Need.Item.Unit, trace.Words("order")),
			trace.In("m", "one weighs", o.Need.Item.UnitMass, "kg", trace.Table("items", o.Need.Item.Code)))
	}
	for _, o := range p.Offcuts {
		mass.Add("k", "offcut "+o.Lot+" of "+o.Item, o.Mass, "kg", trace.Table("items", o.Item))
	}
	log.Put(trace.Step{
		ID: "delivered", Name: "weight of all goods that go to the site", Rule: "campaign.delivered", Formula: mass.Formula(), Inputs: mass.Inputs,
		Value: delivered(p.Orders, p.Offcuts).InexactFloat64(), Unit: "kg", Source: "unit masses of the items table; whole packs, growth and tools among them, drawn or bought",
	})
}

// rateFrom is where the percentage of a line of the costs table comes from.
func (p *Campaign) rateFrom(code string) trace.Origins {
	if slices.ContainsFunc(p.Catalog.Costs, func(c catalog.Cost) bool { return c.Code == code && c.Class }) {
		return trace.Origins{trace.Setting("bid.contingency"), trace.Words(p.Catalog.Whence("bid.contingency"))}
	}
	return trace.Origins{trace.Table("costs", code)}
}

// supplySteps say what suppliers charge beside the goods, and how they were chosen.
func (p *Campaign) supplySteps(log *trace.Log) {
	b := p.Bid
	money := func(symbol, name string, v decimal.Decimal, from trace.Origin) trace.Input {
		return trace.In(symbol, name, v.InexactFloat64(), b.Currency, from)
	}
	for i := range p.Supply.Suppliers {
		s := &p.Supply.Suppliers[i]
		terms := trace.Table("suppliers", s.Supplier)
		free := 0.0
		if s.Charge.IsPositive() {
			free = float64(s.Deliveries) - s.Delivery.Div(s.Charge).InexactFloat64()
		}
		log.Put(trace.Step{
			ID: "supplier/" + s.Supplier, Name: s.Supplier + ", charged beside the goods", Rule: "order.charges",
			Formula: "(n − free)·D + h·H + max(0, M − G)",
			Inputs: []trace.Input{
				money("G", "goods", s.Goods, trace.Words("steps campaign/order/…/cost of this supplier")),
				trace.In("n", "deliveries", float64(s.Deliveries), "", trace.Words("one, and those called off later")),
				money("D", "charge for a delivery", s.Charge, terms), money("F", "value from which the first is free; 0: never", s.FreeFrom, terms),
				trace.In("free", "deliveries that are free: one where G reaches F", free, "", trace.Words("this step")),
				trace.In("h", "deliveries with hazardous goods", float64(s.Hazardous), "", trace.Table("items", "transport")),
				money("H", "surcharge for such a delivery", s.PerHazard, terms), money("M", "minimum order", s.Minimum, terms),
				trace.InText("assumed", "not known, taken from the settings", cmp.Or(strings.Join(s.Assumed, ", "), "nothing"), terms),
			},
			Value: s.Charges().InexactFloat64(), Unit: b.Currency, Source: "suppliers table of the firm",
		})
	}
	log.Put(trace.Step{
		ID: "suppliers", Name: "the order of all items, with what suppliers charge", Rule: "order.suppliers",
		Formula: "least cost over all ways to buy the items from the suppliers, " + p.Supply.Verdict(),
		Inputs: []trace.Input{
			money("apart", "each item bought as if it were alone", p.Supply.Apart, trace.StepsUnder(CampaignPrefix+"order/")),
			money("bound", "no choice of suppliers costs less for these needs", p.Supply.Bound, trace.Words("the search over suppliers")),
		},
		Value: p.Supply.Cost.InexactFloat64(), Unit: b.Currency, Source: "exact search over suppliers, open or closed",
	})
}

// chargedIn finds the supplier whose charge a line of the build-up is.
func (p *Campaign) chargedIn(code string) (supplier string, ok bool) {
	for i := range p.Supply.Suppliers {
		for _, c := range p.Supply.Suppliers[i].Lines() {
			if c.Code == code {
				return p.Supply.Suppliers[i].Supplier, true
			}
		}
	}
	return "", false
}

// lineStep says how a line of the build-up came about.
func (p *Campaign) lineStep(l *bid.Line) trace.Step {
	b := p.Bid
	s := trace.Step{
		ID: "bid/" + l.Code, Name: l.Name, Rule: "bid." + l.Basis, Formula: l.Rule().Formula, Raw: l.Unrounded().InexactFloat64(),
		Inputs: []trace.Input{
			trace.In("n", "quantity", l.Quantity.InexactFloat64(), l.Unit, trace.Words("campaign")),
			trace.In("rate", "rate", l.Rate.InexactFloat64(), b.Currency, trace.Table("costs", l.Code)),
		},
		Value: l.Amount.InexactFloat64(), Unit: b.Currency, Rounding: minorUnit(b.Currency, b.Minor), Source: l.Rule().Source,
	}
	baseName := map[string]string{"percent-materials": "the stage materials", "percent-order": "the goods ordered", "percent-stage": "the stage " + l.Of}[l.Basis]
	switch l.Basis {
	case "sum": // the order's lines, or the access of the repairs: there is no rate
		s.Formula, s.Source = "Σ cost of the lines of the order, charged in full", "derived"
		from := trace.StepsEach(CampaignPrefix+"order/", "/bought")
		switch l.Code {
		case "stock":
			s.Formula, from = "Σ value of what is drawn from the store, charged in full", trace.StepsEach(CampaignPrefix+"order/", "/from-store")
		case "tools":
			s.Formula, from = "Σ hire and write-off of what comes back", trace.StepsEach(CampaignPrefix+"order/", "/tool")
		case "access-repairs":
			s.Formula, s.Source, from = "Σ cost of the way of access of each repair", "accesses table of the firm", trace.Table("accesses", "")
		}
		if supplier, ok := p.chargedIn(l.Code); ok {
			s.Formula, s.Source, from = "C", "suppliers table of the firm", trace.Words("its part of step "+CampaignPrefix+"supplier/"+supplier)
		}
		s.Inputs = []trace.Input{trace.In("C", "sum", l.Amount.InexactFloat64(), b.Currency, from)}
	case "hour":
		s.Inputs[0].From, s.Inputs[1].From, s.Source = trace.Origins{trace.StepAt(CampaignPrefix + "hours"), trace.Words("those of this kind")}, trace.Origins{trace.Table("labour", ""), trace.Words("the whole crew")}, "labour table of the firm"
	case "crew-shift":
		s.Inputs[0].From = trace.Origins{trace.StepAt(CampaignPrefix + "crew-shifts")}
	case "kg":
		s.Inputs[0].Name, s.Inputs[0].From = "weight of all goods that go to the site", trace.Origins{trace.StepAt(CampaignPrefix + "delivered")}
	}
	if l.Rule().Percent {
		s.Inputs = []trace.Input{
			trace.In("base", cmp.Or(baseName, "running total before the stage"), l.Base.InexactFloat64(), b.Currency, trace.StepsUnder(CampaignPrefix+"bid/"), trace.Words("before this one")),
			trace.In("k", "percentage", l.Rate.InexactFloat64(), "%", p.rateFrom(l.Code)...),
		}
	}
	return s
}

func (p *Campaign) bidSteps(log *trace.Log) {
	b := p.Bid
	for _, l := range b.Lines {
		log.Put(p.lineStep(&l))
	}
	if !slices.ContainsFunc(b.Lines, func(l bid.Line) bool { return l.Code == "access-repairs" }) {
		// each repair has a share of it, be it nothing
		log.Put(trace.Step{
			ID: "bid/access-repairs", Name: "ways of access to the repairs", Rule: "bid.sum", Formula: "Σ cost of the way of access of each repair",
			Inputs: []trace.Input{trace.In("repairs", "repairs, none of whose ways of access costs anything", float64(len(p.Jobs)), "", trace.Table("accesses", ""))},
			Unit:   b.Currency, Source: "accesses table of the firm",
		})
	}
	end := func(id, name, setting string, k float64, v decimal.Decimal) {
		log.Put(trace.Step{
			ID: "bid/" + id, Name: name, Rule: "bid.range", Formula: "net·(100 + k)/100",
			Inputs: []trace.Input{
				trace.In("net", "bid before tax", b.Net.InexactFloat64(), b.Currency, trace.StepAt(CampaignPrefix+"bid/net")),
				trace.In("k", "end of the accuracy range", k, "%", trace.Setting(setting), trace.Words(p.Catalog.Whence(setting))),
			},
			Raw: b.Net.InexactFloat64() * (100 + k) / 100, Value: v.InexactFloat64(), Unit: b.Currency, Rounding: minorUnit(b.Currency, b.Minor), Source: "AACE 18R-97, from memory; the firm's own where changed",
		})
	}
	sum := func(id, name string, of []string, v decimal.Decimal) {
		var lines trace.Sum
		for _, l := range b.Lines {
			if slices.Contains(of, l.Stage) {
				lines.Add("k", l.Name, l.Amount.InexactFloat64(), b.Currency, trace.StepAt(CampaignPrefix+"bid/"+l.Code))
			}
		}
		log.Put(trace.Step{
			ID: "bid/" + id, Name: name, Rule: "bid.sum", Formula: lines.Formula(),
			Inputs: lines.Inputs, Value: v.InexactFloat64(), Unit: b.Currency, Source: "derived",
		})
	}
	upTo := func(last string) []string { return bid.Stages[:slices.Index(bid.Stages, last)+1] }
	if len(p.Jobs) > 0 {
		sum("labour", "labour", []string{"labour"}, b.Stage("labour"))
		sum("stage-materials", "materials, from the store or bought, with tools", []string{"materials"}, b.Stage("materials"))
	}
	sum("direct", "direct cost", upTo("freight"), b.Direct)
	sum("net", "bid before tax", upTo("profit"), b.Net)
	sum("total", "bid with tax", upTo("tax"), b.Total)
	set := &p.Catalog.Settings
	end("low", "lower end of the accuracy range", "bid.range_low", set.RangeLow, b.Low)
	end("high", "upper end of the accuracy range", "bid.range_high", set.RangeHigh, b.High)
}
