package export

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate"
	"wraptally/estimate/bid"
	"wraptally/estimate/order"
	"wraptally/estimate/qty"
	"wraptally/export/table"
)

// inputs is the sheet Prices and rates: everything that may be changed apart
// from packed quantities, in one place, with where it stands. Its tables share
// one grid of columns, in which values stand under values.
type inputs struct {
	*leaf
	b     *book
	names []table.Name

	rate   map[string]string // by code of a currency or of a line of the build-up: its cell
	hours  map[string]string // by code of a line of labour: the cell of its hours
	offers map[*catalog.Offer]priceRows

	planKits, planCrews, planCut, planStore, planGrows              table.Ref // of the needs
	planDrawnAt, planHire, planWriteOff                             table.Ref
	price, from, upTo, pack, leastPacks, carton, lead, most, scheme table.Ref // of the offers that are taken
}

// priceRows are the rows of an offer's breaks.
type priceRows struct{ first, last int }

func (b *book) newInputs(needs []need) *inputs {
	in := &inputs{b: b, rate: map[string]string{}, hours: map[string]string{}, offers: map[*catalog.Offer]priceRows{}}
	taken, others := in.breaks()
	prices, compared := in.priceTable(true), in.priceTable(false)
	in.leaf = newLeaf(sheetInputs, "Prices and rates",
		"Cells in a box and marked » may be changed: cost and bid are then those of a new run with the same change. What bears on the choice of offers, packs or crews is not boxed, prices among it: change it in the catalogue and run again.", prices.Columns())
	facts := in.factTable()
	section(in.leaf, "Plan of the work", facts, in.planFacts(), "")
	if terms := in.termFacts(); len(terms) > 0 {
		section(in.leaf, "Terms of the suppliers", facts, terms, "")
	}
	section(in.leaf, "Currencies", in.currencyTable(), in.currencies(), "")
	in.labour()
	in.access()
	section(in.leaf, "Rates and percentages of the build-up", in.costTable(), b.p.Catalog.Costs, "")
	in.heading("Quantities from the plan and the store")
	if b.splitKits() {
		in.note("The kits stand in workbooks of their own (sheet " + sheetKits + "), so what they and the crews are given stands here as a sum.")
	} else {
		in.note("What goes into kits, to crews and to the campaign is changed on the sheets " + sheetKitLines + " and " + sheetCrews + ".")
	}
	list(in.leaf, in.planTable(), needs)
	value := sum(b.p.Offcuts, func(o estimate.Offcut) decimal.Decimal { return o.Value })
	mass := sum(b.p.Offcuts, func(o estimate.Offcut) decimal.Decimal { return qty.Decimal(o.Mass) })
	put(in.leaf, facts, fact{name: "offcuts_value", title: "offcuts from the store that are cut up", value: value, format: b.money(), unit: b.p.Bid.Currency, note: "their share of whole coils and sheets, charged by the setting stock.price"})
	put(in.leaf, facts, fact{name: "offcuts_mass", title: "weight of those offcuts", value: mass, format: table.Number(3), unit: "kg", note: "their share of whole coils and sheets"})
	in.heading("Prices of what is ordered")
	list(in.leaf, prices, taken)
	in.heading("Offers that were not taken")
	in.note("For comparison. A new run with other prices chooses offers and packs of least cost again.")
	list(in.leaf, compared, others)
	return in
}

// name gives the cell of the pen a defined name.
func (in *inputs) name(p pen, name string) {
	in.names = append(in.names, table.Name{Name: name, Refers: p.At().On(sheetInputs)})
}

// input makes the cell of the pen an input of numbers from least on.
func (in *inputs) input(p pen, f table.Format, least float64, what string) pen {
	in.leaf.open = append(in.leaf.open, table.Validation{Area: table.One(p.At()), Min: least, Max: math.Inf(1), Title: what})
	return p.As(given(f))
}

// fact is a value of the plan, under its name in formulas.
type fact struct {
	name, title string
	value       decimal.Decimal
	format      table.Format
	day         time.Time // in place of a value
	unit, note  string
	least       float64
	open        bool // may be changed: the bid is then that of a new run
}

func (in *inputs) factTable() *table.Table[fact] {
	type col = table.Col[fact]
	t := table.NewTable[fact](sheetInputs)
	t.Add(col{Title: "Name in formulas", Style: look(table.Code), Cell: func(p pen, f fact) { p.Text(f.name) }})
	t.Add(col{Title: "Meaning", Style: table.WrapStyle, Cell: func(p pen, f fact) { p.Text(f.title) }})
	t.Add(col{Title: "Value", Style: table.IntStyle, Cell: func(p pen, f fact) {
		in.name(p, f.name)
		switch {
		case !f.day.IsZero():
			p.As(shown(table.Date)).Day(f.day)
		case f.open:
			in.input(p, f.format, f.least, f.title).Dec(f.value)
		default:
			p.As(shown(f.format)).Dec(f.value)
		}
	}})
	t.Add(col{Title: "Unit", Style: unitStyle, Cell: func(p pen, f fact) { p.Text(f.unit) }})
	t.Add(col{Title: "Comes from", Style: table.WrapStyle, Span: 11, Cell: func(p pen, f fact) { p.Text(f.note) }})
	t.Add(col{Style: table.TextStyle, Cell: func(p pen, f fact) {
		if f.open {
			in.lookAt(p, f.name, wrong{"NOT(ISNUMBER(" + f.name + "))", false, "no value"}, wrong{"accuracy_low>accuracy_high", in.b.p.Bid.Low.GreaterThan(in.b.p.Bid.High), "the lower end is above the upper"})
		}
	}})
	return t
}

func (in *inputs) planFacts() []fact {
	p, set := in.b.p, &in.b.p.Catalog.Settings
	var facts []fact
	if !p.Dates.Need.IsZero() {
		facts = append(facts, fact{name: "need_date", title: "first day of the work, when goods must be there", day: p.Dates.Need, unit: "date", note: p.Dates.From + "; latest order dates follow, the schedule does not"})
	}
	for _, c := range p.Bid.Counts {
		if c.Basis != "kg" { // the sheet Needs has it
			facts = append(facts, fact{name: countName(c.Basis), title: c.Title, value: c.Quantity, format: table.Number(int(c.Exact)), unit: c.Basis, note: c.Note})
		}
	}
	return append(facts,
		fact{name: "growth", title: "allowance for defects found after the survey", value: qty.Decimal(set.Growth), format: table.Number(2), unit: "%", note: "setting order.growth; not on tools, which come back"},
		fact{name: "accuracy_low", title: "lower end of the accuracy range", value: qty.Decimal(set.RangeLow), format: table.Number(1), unit: "%", note: in.b.p.Catalog.Whence("bid.range_low") + "; about the bid before tax", least: -100, open: true},
		fact{name: "accuracy_high", title: "upper end of the accuracy range", value: qty.Decimal(set.RangeHigh), format: table.Number(1), unit: "%", note: in.b.p.Catalog.Whence("bid.range_high"), open: true})
}

func (in *inputs) currencyTable() *table.Table[*catalog.Currency] {
	type col = table.Col[*catalog.Currency]
	base := in.b.p.Bid.Currency
	t := table.NewTable[*catalog.Currency](sheetInputs)
	t.Add(col{Title: "Currency", Style: look(table.Code), Cell: func(p pen, c *catalog.Currency) { p.Text(c.Code) }})
	t.Add(col{Title: "Basis", Style: table.WrapStyle, Cell: func(p pen, c *catalog.Currency) { p.Text(c.Basis) }})
	rate := t.Add(col{Title: "Rate", Style: shown(table.Number(6)), Cell: func(p pen, c *catalog.Currency) {
		in.rate[c.Code] = p.At().On(sheetInputs)
		p.Dec(c.Rate)
	}})
	t.Add(col{Title: "Unit", Style: unitStyle, Cell: func(p pen, c *catalog.Currency) { p.Text(base + " for one") }})
	t.Add(col{Style: table.TextStyle, Span: 11})
	t.Add(col{Title: "Check", Style: table.TextStyle, Cell: func(p pen, c *catalog.Currency) {
		in.lookAt(p, c.Code, notGiven(p.Beside(rate), c.Rate, false, "rate")...)
	}})
	return t
}

// currencies are that of the bid and those that something is ordered in.
func (in *inputs) currencies() []*catalog.Currency {
	p := in.b.p
	used := map[string]bool{p.Bid.Currency: true}
	for _, o := range p.Orders {
		for _, l := range o.Lines {
			used[l.Currency] = true
		}
	}
	var out []*catalog.Currency
	for i := range p.Catalog.Currencies {
		if c := &p.Catalog.Currencies[i]; used[c.Code] {
			out = append(out, c)
		}
	}
	return out
}

// counted is something that costs a rate each, and how many there are of it.
type counted struct {
	code, name string
	rate       decimal.Decimal
	count      int
	of         string // MAX or MIN where its rate follows from those above
	closed     bool   // its rate is not to be changed here
}

// countedTable multiplies rates by counts and gives their sum a name.
func (in *inputs) countedTable(code, name, rate, unit, count, cost, total, all, allUnit string, mayBeNothing bool) *table.Table[counted] {
	type col = table.Col[counted]
	money := shown(in.b.money())
	t := table.NewTable[counted](sheetInputs)
	var costs table.Ref
	t.Add(col{Title: code, Style: table.TextStyle, Foot: foot(total), Cell: func(p pen, c counted) {
		if c.code != "" {
			p.As(look(table.Code)).Text(c.code)
		}
	}})
	t.Add(col{Title: name, Style: table.WrapStyle, Foot: foot(all), Cell: func(p pen, c counted) { p.Text(c.name) }})
	var rates table.Ref
	rates = t.Add(col{Title: rate, Style: money,
		Cell: func(p pen, c counted) {
			switch {
			case c.of != "":
				p.Formula("%s(%v:%v)", c.of, rates.In(t.First()), rates.In(p.Row()-1)).Dec(c.rate)
			case c.closed:
				p.Dec(c.rate)
			default:
				in.input(p, in.b.money(), 0, rate).Dec(c.rate)
			}
		},
		Foot: func(p pen) {
			in.name(p, total)
			p.Formula("SUM(%s)", costs.Range()).Dec(costs.Sum())
		}})
	t.Add(col{Title: "Unit", Style: unitStyle, Cell: func(p pen, c counted) { p.Text(unit) },
		Foot: func(p pen) { p.As(look(table.Total).To(table.Centre)).Text(allUnit) }})
	counts := t.Add(col{Title: count, Style: table.IntStyle, Cell: func(p pen, c counted) { p.Int(c.count) }})
	costs = t.Add(col{Title: cost, Style: money, Sums: true, Foot: func(pen) {},
		Cell: func(p pen, c counted) { p.Formula("%v*%v", rates, counts).Dec(c.rate.Mul(qty.Whole(c.count))) }})
	t.Add(col{Style: table.TextStyle, Span: 9, Foot: func(pen) {}})
	t.Add(col{Title: "Check", Style: table.TextStyle, Foot: func(pen) {}, Cell: func(p pen, c counted) {
		in.lookAt(p, cmp.Or(c.code, c.name), notGiven(p.Beside(rates), c.rate, mayBeNothing, strings.ToLower(rate))...)
	}})
	return t
}

// countName is the name in formulas of what a cost is charged by.
func countName(basis string) string { return "count_" + strings.ReplaceAll(basis, "-", "_") }

// labour lists what an hour of a crew costs, once where the crews cost the same,
// and the hours that are paid.
func (in *inputs) labour() {
	p := in.b.p
	paid := p.PaidLabour()
	hourly := p.Bid.Currency + "/h"
	rates := map[string]string{} // by crew: the name of its rate
	for _, l := range paid {
		if rates[l.Crew] != "" {
			continue
		}
		name, title := "crew_rate", "Crew"
		if l.Crew != "" {
			name, title = fmt.Sprintf("crew_rate_%d", len(rates)+1), "Crew: "+l.Crew
		}
		rates[l.Crew] = name
		member := cmp.Or(l.Crew, p.Crews[0].Name)
		var rows []counted
		for _, r := range p.Catalog.Labour {
			if r.Crew == "" || r.Crew == member {
				rows = append(rows, counted{name: r.Role, rate: r.Rate, count: r.Count})
			}
		}
		t := in.countedTable("", "Role", "Rate", hourly, "In a crew", "Cost an hour", name, "whole crew", hourly, false)
		section(in.leaf, title, t, rows, "")
		in.AddRow(t.Foot(table.Total))
	}
	type col = table.Col[bid.Labour]
	t := table.NewTable[bid.Labour](sheetInputs)
	t.Add(col{Title: "Line", Style: look(table.Code), Cell: func(p pen, l bid.Labour) { p.Text(l.Code) }})
	t.Add(col{Title: "Paid hours of whole crews", Style: table.WrapStyle, Cell: func(p pen, l bid.Labour) { p.Text(l.Name) }})
	t.Add(col{Title: "Hours", Style: shown(table.Number(2)), Cell: func(p pen, l bid.Labour) {
		in.hours[l.Code], in.rate[l.Code] = p.At().On(sheetInputs), rates[l.Crew]
		p.Dec(l.Hours)
	}})
	t.Add(col{Title: "Unit", Style: unitStyle, Cell: func(p pen, _ bid.Labour) { p.Text("h") }})
	section(in.leaf, "Time that is paid", t, paid, "none")
}

// access lists the ways of access that cost something, with how many repairs
// take each.
func (in *inputs) access() {
	p := in.b.p
	if !slices.ContainsFunc(p.Bid.Lines, func(l bid.Line) bool { return l.Code == codeAccess }) {
		return
	}
	counts, closed := map[string]int{}, map[string]bool{}
	for n := range p.Jobs {
		r := p.Jobs[n].Repair
		if a, ok := p.Catalog.AccessOf(r.Access); ok && p.Jobs[n].Access {
			counts[a.Access]++
		}
		named := map[string]bool{}
		for _, d := range r.Defects {
			named[d.Access] = true
		}
		for way := range named { // which of several is taken hangs on what they cost
			closed[way] = closed[way] || len(named) > 1
		}
	}
	var rows []counted
	unknown, ok := p.Catalog.AccessOf(catalog.UnknownAccess)
	own := slices.ContainsFunc(p.Catalog.Accesses, func(a catalog.Access) bool { return a.Access == catalog.UnknownAccess })
	worst := ok && !own && counts[catalog.UnknownAccess] > 0 // follows from all ways of the table
	for _, a := range p.Catalog.Accesses {
		if n := counts[a.Access]; n > 0 || worst {
			rows = append(rows, counted{code: a.Access, name: a.Name, rate: a.Cost, count: n, closed: closed[a.Access]})
		}
	}
	if worst {
		of := "MAX"
		if p.Catalog.Settings.BlankEnd == "best" {
			of = "MIN"
		}
		rows = append(rows, counted{code: unknown.Access, name: unknown.Name, rate: unknown.Cost, count: counts[unknown.Access], of: of})
	}
	cur := p.Bid.Currency
	t := in.countedTable("Way of access", "Meaning", "Cost", cur+" each", "How many", "Cost in all", "access_total", "all repairs", cur, true)
	section(in.leaf, "Ways of access to the repairs", t, rows, "")
	in.AddRow(t.Foot(table.Total))
}

// codeAccess is the build-up's line of the cost of access.
const codeAccess = "access-repairs"

func (in *inputs) costTable() *table.Table[catalog.Cost] {
	type col = table.Col[catalog.Cost]
	t := table.NewTable[catalog.Cost](sheetInputs)
	t.Add(col{Title: "Line", Style: look(table.Code), Cell: func(p pen, c catalog.Cost) { p.Text(c.Code) }})
	t.Add(col{Title: "Meaning", Style: table.WrapStyle, Cell: func(p pen, c catalog.Cost) { p.Text(c.Name) }})
	value := t.Add(col{Title: "Value", Style: given(in.b.money()), Cell: func(p pen, c catalog.Cost) {
		in.rate[c.Code] = p.At().On(sheetInputs)
		if costUnits[c.Basis] != "" {
			p.In(table.Number(3))
		}
		p.Dec(c.Value)
	}})
	t.Add(col{Title: "Unit", Style: table.WrapStyle.To(table.Centre), Cell: func(p pen, c catalog.Cost) {
		p.Text(cmp.Or(costUnits[c.Basis], in.b.p.Bid.Currency+" per "+c.Basis))
	}})
	t.Add(col{Title: "Stage", Style: table.TextStyle, Span: 2, Cell: func(p pen, c catalog.Cost) { p.Text(c.Stage) }})
	t.Add(col{Title: "Note", Style: table.WrapStyle, Span: 9, Cell: func(p pen, c catalog.Cost) { p.Text(c.Note) }})
	t.Add(col{Title: "Check", Style: table.TextStyle, Cell: func(p pen, c catalog.Cost) {
		wrongs := notGiven(p.Beside(value), c.Value, true, "value")
		if c.Basis == "percent-margin" {
			wrongs = append(wrongs, wrong{p.Beside(value) + ">=100", c.Value.GreaterThanOrEqual(decimal.NewFromInt(100)), "a margin of 100 % or more leaves nothing for the cost"})
		}
		in.lookAt(p, c.Code, wrongs...)
	}})
	return t
}

// costUnits are what percentages are taken of.
var costUnits = map[string]string{"percent": "% of running total", "percent-materials": "% of materials", "percent-order": "% of goods ordered", "percent-stage": "% of the stage", "percent-margin": "% of the price"}

// planTable are what the plan issues apart from the sheets that may be changed
// themselves, and the store.
func (in *inputs) planTable() *table.Table[need] {
	type col = table.Col[need]
	t := table.NewTable[need](sheetInputs)
	quantity := func(p pen, v decimal.Decimal) { p.Dec(v) }
	kits, crews := col{Style: table.TextStyle}, col{Style: table.TextStyle}
	if in.b.splitKits() {
		kits = col{Title: "With the kits", Style: table.IntStyle, Cell: func(p pen, n need) { quantity(p, n.kits) }}
		crews = col{Title: "To crews and campaign", Style: table.IntStyle, Cell: func(p pen, n need) { quantity(p, n.crews) }}
	}
	t.Add(col{Title: "Item", Style: look(table.Code), Cell: func(p pen, n need) { p.Text(n.Item.Code) }})
	t.Add(col{Title: "Name", Style: table.WrapStyle, Cell: func(p pen, n need) { p.Text(n.Item.Name) }})
	in.planKits = t.Add(kits)
	t.Add(col{Title: "Unit", Style: unitStyle, Cell: func(p pen, n need) { p.Text(n.Item.Unit) }})
	in.planCrews = t.Add(crews)
	in.planCut = t.Add(col{Title: "Coils and sheets cut", Style: table.IntStyle, Cell: func(p pen, n need) { quantity(p, n.cut) }})
	in.planStore = t.Add(col{Title: "Usable in store", Style: table.IntStyle, Cell: func(p pen, n need) { quantity(p, usable(n.order.Order)) }})
	in.planGrows = t.Add(col{Title: "Grows with the survey", Style: table.TextStyle.To(table.Centre), Cell: func(p pen, n need) {
		grows := "yes"
		if !in.b.p.Grows(&n.Need) {
			grows = "no"
		}
		p.Text(grows)
	}})
	in.planDrawnAt = t.Add(col{Title: "One drawn is charged at", Style: shown(table.Number(4)), Cell: func(p pen, n need) {
		at := decimal.Zero
		for _, d := range n.order.Draws {
			at = at.Add(d.Quantity.Mul(in.b.p.DrawnAt(n.Item.Code, d.Lot.ID)))
		}
		if n.order.Drawn.IsPositive() {
			at = at.DivRound(n.order.Drawn, 12)
		}
		p.Dec(at)
	}})
	rates := map[estimate.ChargedAs]table.Ref{}
	rate := func(title, what string, as estimate.ChargedAs, f table.Format, v func(*catalog.Item) decimal.Decimal) table.Ref {
		rates[as] = t.Add(col{Title: title, Style: table.TextStyle, Cell: func(p pen, n need) {
			if n.order.Charge.As == as {
				in.input(p, f, 0, what).Dec(v(n.Item))
			}
		}})
		return rates[as]
	}
	in.planHire = rate("Hire of one a working day", "Hire a day", estimate.ByHire, in.b.money(), func(it *catalog.Item) decimal.Decimal { return it.Hire.Decimal })
	in.planWriteOff = rate("Written off (%)", "Share written off", estimate.ByWriteOff, table.Number(1), func(it *catalog.Item) decimal.Decimal { return it.WriteOff.Decimal })
	t.Add(col{Style: table.TextStyle, Span: 4})
	t.Add(col{Title: "Check", Style: table.TextStyle, Cell: func(p pen, n need) {
		switch it, as := n.Item, n.order.Charge.As; as {
		case estimate.ByHire:
			in.lookAt(p, it.Code, notGiven(p.Beside(rates[as]), it.Hire.Decimal, true, "hire")...)
		case estimate.ByWriteOff:
			in.lookAt(p, it.Code, append(notGiven(p.Beside(rates[as]), it.WriteOff.Decimal, true, "share written off"),
				wrong{p.Beside(rates[as]) + ">100", false, "more than all of it written off"})...)
		}
	}})
	return t
}

// usable is what may be drawn from the store: the whole units of the lots that
// are drawn from.
func usable(o order.Order) decimal.Decimal {
	sum := decimal.Zero
	for _, d := range o.Draws {
		holds := d.Lot.Quantity
		if fit := d.Lot.Fit; fit.IsPositive() {
			holds = decimal.Min(holds, fit)
		}
		sum = sum.Add(holds.Floor())
	}
	return decimal.Max(sum, o.Drawn)
}

// priceBreak is a row of an offer's prices.
type priceBreak struct {
	*catalog.Offer
	k int // place among the offer's prices
}

// breaks are the prices of the offers ordered from, then those of the offers that
// lost, for comparison.
func (in *inputs) breaks() (taken, others []priceBreak) {
	done := map[*catalog.Offer]bool{}
	add := func(list []priceBreak, o *catalog.Offer) []priceBreak {
		for k := range o.Prices {
			list = append(list, priceBreak{o, k})
		}
		return list
	}
	for _, o := range in.b.p.Orders {
		for _, l := range o.Lines {
			if offer := o.Offers[l.Offer]; !done[offer] {
				done[offer] = true
				taken = add(taken, offer)
			}
		}
	}
	for _, o := range in.b.p.Orders {
		for _, offer := range o.Offers {
			if !done[offer] && len(o.Lines) > 0 {
				others = add(others, offer)
			}
		}
	}
	return taken, others
}

// priceTable are the breaks of offers. What holds for the whole offer stands in
// the row of its first break. Only what is taken is an input, and referred to.
func (in *inputs) priceTable(taken bool) *table.Table[priceBreak] {
	type col = table.Col[priceBreak]
	t := table.NewTable[priceBreak](sheetInputs)
	// whole is a column of what holds for the whole offer.
	whole := func(title string, width float64, s table.Style, write func(pen, priceBreak)) table.Ref {
		return t.Add(col{Title: title, Width: width, Style: s, Cell: func(p pen, b priceBreak) {
			if b.k > 0 {
				p.As(table.TextStyle).Text("")
				return
			}
			write(p, b)
		}})
	}
	t.Add(col{Title: "Item", Width: 20, Style: look(table.Code), Cell: func(p pen, b priceBreak) {
		if b.k == 0 {
			in.offers[b.Offer] = priceRows{p.Row(), p.Row() + len(b.Prices) - 1}
		}
		p.Text(b.Item)
	}})
	t.Add(col{Title: "Name", Width: 42, Style: table.WrapStyle, Cell: func(p pen, b priceBreak) {
		if it, ok := in.b.p.Catalog.Item(b.Item); ok {
			p.Text(it.Name)
		}
	}})
	price := t.Add(col{Title: "Price of a pack", Width: 14, Style: table.IntStyle, Cell: func(p pen, b priceBreak) {
		v := b.Prices[b.k].Price
		p.In(in.b.priceFormat(b.Currency, v)).Dec(v)
	}})
	t.Add(col{Title: "Currency", Width: 15, Style: unitStyle, Cell: func(p pen, b priceBreak) { p.Text(b.Currency) }})
	from := t.Add(col{Title: "From packs", Width: 10, Style: table.IntStyle, Cell: func(p pen, b priceBreak) {
		p.Int(b.Prices[b.k].FromPacks)
	}})
	upTo := t.Add(col{Title: "At most\n(packs)", Width: 10, Style: table.IntStyle, Cell: func(p pen, b priceBreak) {
		if b.k+1 == len(b.Prices) {
			p.As(table.TextStyle.To(table.Right)).Text("and more")
			return
		}
		p.Formula("%v-1", from.In(p.Row()+1)).Int(b.Prices[b.k+1].FromPacks - 1)
	}})
	t.Add(col{Title: "Supplier", Width: 13, Style: unitStyle, Cell: func(p pen, b priceBreak) { p.Text(b.Supplier) }})
	t.Add(col{Title: "Part code", Width: 15, Style: look(table.Code), Cell: func(p pen, b priceBreak) { p.Text(b.PartCode) }})
	pack := whole("In a pack", 9, table.IntStyle, func(p pen, b priceBreak) {
		p.In(decimalsOf(b.PackQty)).Dec(b.PackQty)
	})
	whole("Pack", 15, unitStyle, func(p pen, b priceBreak) { p.Text(b.PackName) })
	least := whole("Minimum order\n(packs)", 8, table.IntStyle, func(p pen, b priceBreak) { p.Int(leastPacks(b.Offer)) })
	carton := whole("Packs in a carton", 8, table.IntStyle, func(p pen, b priceBreak) { p.Int(max(1, b.Carton)) })
	lead := whole("Lead days", 8, table.IntStyle, func(p pen, b priceBreak) { p.Int(b.LeadDays) })
	most := whole("Can be had (packs)", 9, table.IntStyle, func(p pen, b priceBreak) {
		if b.Available == 0 {
			p.As(table.TextStyle.To(table.Right)).Text("not said")
			return
		}
		p.Int(b.Available)
	})
	scheme := whole("Price step", 12, unitStyle, func(p pen, b priceBreak) { p.Text(b.Scheme) })
	last := col{Width: 24, Style: table.TextStyle}
	if taken {
		in.price, in.from, in.upTo, in.pack, in.leastPacks, in.carton, in.lead, in.most, in.scheme = price, from, upTo, pack, least, carton, lead, most, scheme
		last.Title = "Check"
		last.Cell = func(p pen, b priceBreak) {
			in.lookAt(p, b.Item+" from "+b.Supplier, notGiven(p.Beside(price), b.Prices[b.k].Price, false, "price")...)
		}
	}
	t.Add(last)
	return t
}

// leastPacks is the smallest order: the stated minimum, or where the prices begin.
func leastPacks(o *catalog.Offer) int {
	least := o.MinPacks
	if len(o.Prices) > 0 {
		least = max(least, o.Prices[0].FromPacks)
	}
	return least
}

// inputsSheet is the finished sheet.
func (d *desk) inputsSheet() *table.Sheet {
	s := d.inputs.sheet(d.page(true))
	s.Protected, s.FreezeRows = true, 2
	return s
}

// needList is what is needed, with what the kits, the crews with the campaign,
// and the cutting take.
func (b *book) needList() []need {
	p := b.p
	out := make([]need, len(p.Orders))
	at := map[string]*need{}
	for i, o := range p.Orders {
		n := o.Need
		out[i] = need{Need: n, at: i, order: &p.Orders[i]}
		at[n.Item.Code] = &out[i]
	}
	for _, is := range p.Issues {
		if n := at[p.Catalog.Items[is.Item].Code]; n != nil {
			n.crews = n.crews.Add(qty.Decimal(is.Qty))
		}
	}
	for _, cl := range p.Cuts {
		for k, count := range cl.Counts() {
			if n := at[cl.Items[k]]; n != nil && cl.Lots[k] == "" { // an offcut from store is no whole coil or sheet
				n.cut = n.cut.Add(qty.Whole(count))
			}
		}
	}
	for i := range out {
		n := &out[i]
		n.kits = qty.Decimal(n.Issued).Sub(n.crews).Sub(n.cut)
	}
	return out
}

// rounded is the formula of an amount rounded to the smallest unit of the bid's
// currency, half away from zero. A product that is a half may come out of a
// program's arithmetic a hair below it (34.1·1.15 = 39.214999999999996), and not
// every program rounds that as a half; 1E-14 of itself lifts it over, and is less
// than anything that is no half.
func (b *book) rounded(formula string, args ...any) string {
	return fmt.Sprintf("ROUND(("+formula+")*(1+1E-14),%d)", append(args, b.p.Bid.Minor)...)
}

// money is the format of amounts in the currency of the bid.
func (b *book) money() table.Format { return table.Money(int(b.p.Bid.Minor)) }

// priceFormat shows a price in its currency, with more decimals where it has
// more.
func (b *book) priceFormat(currency string, price decimal.Decimal) table.Format {
	minor := 2
	if c, ok := b.p.Catalog.CurrencyOf(currency); ok {
		minor = c.Minor
	}
	return table.Money(max(minor, int(-price.Exponent())))
}

// splitKits reports whether the kits are in workbooks other than this.
func (b *book) splitKits() bool { return len(b.part) == 0 && len(b.p.Jobs) > 0 }
