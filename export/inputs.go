package export

import (
	"fmt"
	"math"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate/order"
	"wraptally/estimate/qty"
	"wraptally/export/table"
)

// The columns of the price tables on the sheet Prices and rates.
const (
	priceItem     = 1
	priceName     = 2
	priceValue    = 3 // the value of every other table stands in this column too
	priceUnit     = 4
	priceFrom     = 5
	priceUpTo     = 6
	priceSupplier = 7
	pricePart     = 8
	pricePack     = 9
	pricePackName = 10
	priceLeast    = 11
	priceCarton   = 12
	priceLead     = 13
	priceScheme   = 14
)

// The columns of the table of quantities that the plan gives.
const (
	planItem  = 1
	planName  = 2
	planKits  = 3
	planUnit  = 4
	planCrews = 5
	planCut   = 6
	planStore = 7
	planGrows = 8
)

// inputs is the sheet Prices and rates: everything that may be changed apart
// from packed quantities, in one place, with where it stands.
type inputs struct {
	*leaf
	b        *book
	names    []table.Name
	currency map[string]int // row of its rate
	cost     map[string]int // row of a line of the build-up
	plan     []int          // row, alongside the needs
	offers   map[*catalog.Offer]priceRows
	checkMin []table.Validation
}

// priceRows are the rows of an offer's breaks.
type priceRows struct{ first, last int }

func (b *book) newInputs() *inputs {
	in := &inputs{
		b: b, currency: map[string]int{}, cost: map[string]int{}, offers: map[*catalog.Offer]priceRows{},
		leaf: newLeaf(sheetInputs, "Prices and rates",
			"Cells in a box and marked » may be changed; order and cost follow at once. What a change does to kits, cutting and schedule needs a new run.",
			widths(17, 42, 14, 15, 10, 10, 13, 15, 9, 15, 8, 8, 8, 12)),
	}
	in.general()
	in.currencies()
	in.labour()
	in.access()
	in.costs()
	in.quantities()
	in.prices()
	return in
}

// name gives the value cell of the next row a defined name.
func (in *inputs) name(name string) {
	in.names = append(in.names, table.Name{Name: name, Refers: ref(sheetInputs, priceValue, in.Next())})
}

// allow limits the value cell of the next row.
func (in *inputs) allow(column int, least, most float64, what string) {
	in.checkMin = append(in.checkMin, table.Validation{Area: table.One(table.At{Column: column, Row: in.Next()}), Min: least, Max: most, Title: what})
}

// value adds a row of name, value, unit and note.
func (in *inputs) value(name, title string, v table.Cell, unit, note string, least float64) {
	in.name(name)
	if v.Style.Look == table.Input && v.Style.Format != table.Date {
		in.allow(priceValue, least, math.Inf(1), title)
	}
	in.AddRow(table.Row{
		Cells: []table.Cell{table.Text(name, look(table.Code)), table.Text(title, table.WrapStyle), v, table.Text(unit, unitStyle), table.Text(note, table.WrapStyle)},
		Merge: []table.Span{{First: 5, Last: len(in.columns)}},
	})
}

func (in *inputs) general() {
	p, set := in.b.p, &in.b.p.Catalog.Settings
	in.heading("Plan of the work")
	in.heads("Name in formulas", "Meaning", "#Value", "=Unit", "Comes from", "", "", "", "", "", "", "", "", "")
	in.Row(in.Next() - 1).Merge = []table.Span{{First: 5, Last: len(in.columns)}}
	if !p.Dates.Need.IsZero() {
		in.value("need_date", "first day of the work, when goods must be there", table.Day(p.Dates.Need, given(table.Date)), "date", p.Dates.From+"; latest order dates follow, the schedule does not", 0)
	}
	in.value("growth", "allowance for defects found after the survey", table.Dec(qty.Decimal(set.Growth), given(table.Number(2))), "%", "setting order.growth; not on tools, which come back", 0)
	in.value("crew_hours", "hours of a whole crew", table.Dec(qty.Decimal(p.CrewHours), given(table.Number(2))), "h",
		fmt.Sprintf("%s minutes of repairs, shift and campaign tasks, over a productive share of %v", qty.Decimal(p.Minutes).Round(1), set.Productive), 0)
	in.value("crew_shifts", "crew-shifts", table.Int(p.CrewShifts, given(table.Number(0))), "crew-shift", fmt.Sprintf("schedule: %d days with %d crews", p.Days, max(1, set.Crews)), 0)
	in.value("repair_count", "repairs estimated", table.Int(len(p.Jobs), given(table.Number(0))), "repair", "survey", 0)
	in.value("accuracy_low", "lower end of the accuracy range", table.Dec(qty.Decimal(set.RangeLow), given(table.Number(1))), "%", "setting bid.range_low; about the bid before tax", -100)
	in.value("accuracy_high", "upper end of the accuracy range", table.Dec(qty.Decimal(set.RangeHigh), given(table.Number(1))), "%", "setting bid.range_high", 0)
}

func (in *inputs) currencies() {
	p := in.b.p
	used := map[string]bool{}
	for _, o := range p.Orders {
		for _, l := range o.Lines {
			used[l.Currency] = true
		}
	}
	delete(used, p.Bid.Currency)
	in.heading("Currencies")
	in.heads("Currency", "Basis", "#Rate", "=Unit")
	for i := range p.Catalog.Currencies {
		c := &p.Catalog.Currencies[i]
		rate := table.Dec(c.Rate, given(table.Number(6)))
		if c.Code == p.Bid.Currency {
			rate.Style = shown(table.Number(6))
		} else if !used[c.Code] {
			continue
		} else {
			in.allow(priceValue, 0, math.Inf(1), "Rate")
		}
		in.currency[c.Code] = in.Add(table.Text(c.Code, look(table.Code)), table.Text(legible(c.Basis), table.WrapStyle), rate,
			table.Text(p.Bid.Currency+" for one", unitStyle))
	}
}

func (in *inputs) labour() {
	p := in.b.p
	in.heading("Crew")
	in.heads("", "Role", "#Rate", "=Unit", "#In a crew", "#Cost an hour")
	first := in.Next()
	total := decimal.Zero
	for _, l := range p.Catalog.Labour {
		in.allow(priceValue, 0, math.Inf(1), "Rate")
		r := in.Next()
		cost := l.Rate.Mul(qty.Whole(l.Count))
		total = total.Add(cost)
		in.Add(table.Empty(table.TextStyle), table.Text(legible(l.Role), table.WrapStyle), table.Dec(l.Rate, given(in.b.money())), table.Text(p.Bid.Currency+"/h", unitStyle),
			table.Int(l.Count, given(table.Number(0))), table.FormulaDec(fmt.Sprintf("C%d*E%d", r, r), cost, shown(in.b.money())))
	}
	in.name("crew_rate")
	in.Add(table.Text("crew_rate", look(table.Total)), table.Text("whole crew", look(table.Total)), table.FormulaDec(fmt.Sprintf("SUM(F%d:F%d)", first, in.Next()-1), total, summed(in.b.money())),
		table.Text(p.Bid.Currency+"/h", look(table.Total).To(table.Centre)))
}

// access lists the ways of access that cost something, with how many repairs
// take each.
func (in *inputs) access() {
	p := in.b.p
	counts := map[string]int{}
	for n := range p.Jobs {
		if a, ok := p.Catalog.AccessOf(p.Jobs[n].Repair.Access); ok {
			counts[a.Access]++
		}
	}
	listed := false
	for _, l := range p.Bid.Lines {
		listed = listed || l.Code == codeAccess
	}
	if !listed {
		return
	}
	in.heading("Access to the repairs")
	in.heads("Access", "Meaning", "#Cost", "=Unit", "#Repairs", "#Cost in all")
	first := in.Next()
	total := decimal.Zero
	for _, a := range p.Catalog.Accesses {
		n := counts[a.Access]
		if n == 0 {
			continue
		}
		in.allow(priceValue, 0, math.Inf(1), "Cost")
		r := in.Next()
		cost := a.Cost.Mul(qty.Whole(n))
		total = total.Add(cost)
		in.Add(table.Text(legible(a.Access), look(table.Code)), table.Text(legible(a.Name), table.WrapStyle), table.Dec(a.Cost, given(in.b.money())), table.Text(p.Bid.Currency+"/repair", unitStyle),
			table.Int(n, given(table.Number(0))), table.FormulaDec(fmt.Sprintf("C%d*E%d", r, r), cost, shown(in.b.money())))
	}
	in.name("access_total")
	in.Add(table.Text("access_total", look(table.Total)), table.Text("all repairs", look(table.Total)), table.FormulaDec(fmt.Sprintf("SUM(F%d:F%d)", first, in.Next()-1), total, summed(in.b.money())),
		table.Text(p.Bid.Currency, look(table.Total).To(table.Centre)))
}

// codeAccess is the build-up's line of the cost of access.
const codeAccess = "access-repairs"

func (in *inputs) costs() {
	p := in.b.p
	in.heading("Rates and percentages of the build-up")
	in.heads("Line", "Meaning", "#Value", "=Unit", "Stage", "", "Note", "", "", "", "", "", "", "")
	for _, c := range p.Catalog.Costs {
		format, unit := in.b.money(), p.Bid.Currency+" per "+c.Basis
		switch c.Basis {
		case "percent":
			format, unit = table.Number(3), "% of total so far"
		case "percent-materials":
			format, unit = table.Number(3), "% of materials"
		case "percent-margin":
			format, unit = table.Number(3), "% of the price"
		}
		in.cost[c.Code] = in.AddRow(table.Row{
			Cells: []table.Cell{table.Text(legible(c.Code), look(table.Code)), table.Text(legible(c.Name), table.WrapStyle), table.Dec(c.Value, given(format)), table.Text(unit, table.WrapStyle.To(table.Centre)),
				table.Text(c.Stage, table.TextStyle), table.Empty(table.TextStyle), table.Text(legible(c.Note), table.WrapStyle)},
			Merge: []table.Span{{First: 5, Last: 6}, {First: 7, Last: len(in.columns)}},
		})
	}
}

// quantities are what the plan issues apart from the sheets that may be changed
// themselves, and the store.
func (in *inputs) quantities() {
	p, apart := in.b.p, in.b.splitKits()
	in.heading("Quantities from the plan and the store")
	if apart {
		in.note("The kits stand in workbooks of their own (sheet " + sheetKits + "), so what they and the crews are given stands here as a sum.")
	} else {
		in.note("What goes into kits, to crews and to the campaign is changed on the sheets " + sheetKitLines + " and " + sheetCrews + ".")
	}
	kitsHead, crewsHead := "", ""
	if apart {
		kitsHead, crewsHead = "#With the kits", "#To crews and campaign"
	}
	in.heads("Item", "Name", kitsHead, "=Unit", crewsHead, "#Coils and sheets cut", "#Usable in store", "Grows with the survey")
	perKit, perCrew, perCut := in.b.issuedBy()
	for i, n := range p.Needs {
		grows := "yes"
		if n.Item.Returns {
			grows = "no"
		}
		kits, crews := table.Empty(table.TextStyle), table.Empty(table.TextStyle)
		columns := []int{planCut, planStore}
		if apart {
			kits, crews = table.Dec(perKit[i], given(table.Number(0))), table.Dec(perCrew[i], given(table.Number(0)))
			columns = append(columns, planKits, planCrews)
		}
		for _, c := range columns {
			in.allow(c, 0, math.Inf(1), "Quantity")
		}
		in.checkMin = append(in.checkMin, table.Validation{Area: table.One(table.At{Column: planGrows, Row: in.Next()}), Items: []string{"yes", "no"}, Title: "Grows with the survey"})
		in.plan = append(in.plan, in.Add(table.Text(legible(n.Item.Code), look(table.Code)), table.Text(legible(n.Item.Name), table.WrapStyle), kits,
			table.Text(legible(n.Item.Unit), unitStyle), crews, table.Dec(perCut[i], given(table.Number(0))),
			table.Dec(usable(p.Orders[i].Order), given(table.Number(0))), table.Text(grows, given(table.General))))
	}
	in.value("pieces_mass", "weight of the pieces cut for the kits", table.Dec(in.b.piecesMass(perKit), given(table.Number(3))), "kg", "bands and sheets of the kits; the other goods are weighed on the sheet "+sheetNeeds, 0)
}

// usable is what may be drawn from the store: the whole units of the lots that
// are drawn from.
func usable(o order.Order) decimal.Decimal {
	sum := decimal.Zero
	for _, d := range o.Draws {
		sum = sum.Add(d.Lot.Quantity.Floor())
	}
	return decimal.Max(sum, o.Drawn)
}

// prices lists the breaks of the offers ordered from, as inputs, then those of
// the offers that lost, for comparison.
func (in *inputs) prices() {
	p := in.b.p
	in.heading("Prices of what is ordered")
	in.priceHeads()
	for _, o := range p.Orders {
		for _, l := range o.Lines {
			offer := o.Offers[l.Offer]
			if _, done := in.offers[offer]; !done {
				in.offers[offer] = in.offer(offer, true)
			}
		}
	}
	in.heading("Offers that were not taken")
	in.note("For comparison only: a change of these prices needs a new run, which chooses the least-cost offers again.")
	in.priceHeads()
	for _, o := range p.Orders {
		for _, offer := range o.Offers {
			if _, taken := in.offers[offer]; !taken && len(o.Lines) > 0 {
				in.offer(offer, false)
			}
		}
	}
}

func (in *inputs) priceHeads() {
	in.heads("Item", "Name", "#Price of a pack", "=Currency", "#From packs", "#Up to packs", "=Supplier", "Part code", "#In a pack", "=Pack", "#Least packs", "#Packs in a carton", "#Lead days", "=Price step")
}

// offer writes the breaks of an offer. What holds for the whole offer stands in
// the row of its first break.
func (in *inputs) offer(o *catalog.Offer, taken bool) priceRows {
	rows := priceRows{first: in.Next()}
	p := in.b.p
	name := ""
	if it, ok := p.Catalog.Item(o.Item); ok {
		name = it.Name
	}
	style := func(f table.Format) table.Style {
		if taken {
			return given(f)
		}
		return shown(f)
	}
	for k, b := range o.Prices {
		r := in.Next()
		upTo := table.Text("and more", table.TextStyle.To(table.Right))
		if k+1 < len(o.Prices) {
			upTo = table.FormulaNum(fmt.Sprintf("%s-1", cell(priceFrom, r+1)), float64(o.Prices[k+1].FromPacks-1), table.IntStyle)
		}
		if taken {
			in.allow(priceValue, 0, math.Inf(1), "Price")
			in.allow(priceFrom, 1, math.Inf(1), "From packs")
		}
		cells := []table.Cell{
			table.Text(legible(o.Item), look(table.Code)), table.Text(legible(name), table.WrapStyle), table.Dec(b.Price, style(in.b.priceFormat(o.Currency, b.Price))), table.Text(o.Currency, unitStyle),
			table.Int(b.FromPacks, style(table.Number(0))), upTo, table.Text(legible(o.Supplier), unitStyle), table.Text(legible(o.PartCode), look(table.Code)),
		}
		if k == 0 {
			if taken {
				in.allow(pricePack, math.SmallestNonzeroFloat32, math.Inf(1), "In a pack")
				in.allow(priceLeast, 0, math.Inf(1), "Least packs")
				in.allow(priceCarton, 1, math.Inf(1), "Packs in a carton")
				in.allow(priceLead, 0, math.Inf(1), "Lead days")
			}
			cells = append(cells, table.Dec(o.PackQty, style(quantityFormat(o.PackQty.InexactFloat64()))), table.Text(legible(o.PackName), unitStyle),
				table.Int(leastPacks(o), style(table.Number(0))), table.Int(max(1, o.Carton), style(table.Number(0))), table.Int(o.LeadDays, style(table.Number(0))), table.Text(o.Scheme, unitStyle))
		} else {
			for range priceScheme - pricePart {
				cells = append(cells, table.Empty(table.TextStyle))
			}
		}
		in.Add(cells...)
	}
	rows.last = in.Next() - 1
	return rows
}

// leastPacks is the smallest order: the stated minimum, or where the prices begin.
func leastPacks(o *catalog.Offer) int {
	least := o.MinPacks
	if len(o.Prices) > 0 {
		least = max(least, o.Prices[0].FromPacks)
	}
	return least
}

// sheet is the finished sheet.
func (in *inputs) sheet() *table.Sheet {
	s := in.leaf.sheet(in.b.page(true))
	s.Protected, s.Validations, s.FreezeRows = true, in.checkMin, 2
	return s
}

// issuedBy is what the kits, the crews with the campaign, and the cutting take,
// alongside the needs.
func (b *book) issuedBy() (kits, crews, cuts []decimal.Decimal) {
	p := b.p
	kits, crews, cuts = make([]decimal.Decimal, len(p.Needs)), make([]decimal.Decimal, len(p.Needs)), make([]decimal.Decimal, len(p.Needs))
	at := map[string]int{}
	for i, n := range p.Needs {
		at[n.Item.Code] = i
	}
	for _, is := range p.Issues {
		if i, ok := at[p.Catalog.Items[is.Item].Code]; ok {
			crews[i] = crews[i].Add(qty.Decimal(is.Qty))
		}
	}
	for _, cl := range p.Cuts {
		counts := []int(nil)
		if cl.Linear != nil {
			counts = cl.Linear.StocksUsed
		} else {
			counts = cl.Sheets.SheetsUsed
		}
		for k, n := range counts {
			if cl.Lots[k] != "" {
				continue // an offcut from store is no whole coil or sheet
			}
			if i, ok := at[cl.Items[k]]; ok {
				cuts[i] = cuts[i].Add(qty.Whole(n))
			}
		}
	}
	for i, n := range p.Needs {
		kits[i] = qty.Decimal(n.Issued).Sub(crews[i]).Sub(cuts[i])
	}
	return kits, crews, cuts
}

// piecesMass is what is left of the kits' weight when the goods issued with them
// are taken away: their cut pieces.
func (b *book) piecesMass(kits []decimal.Decimal) decimal.Decimal {
	mass := qty.Decimal(b.p.Mass)
	for i, n := range b.p.Needs {
		mass = mass.Sub(kits[i].Mul(qty.Decimal(n.Item.UnitMass)))
	}
	return mass
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

// elsewhere reports whether this workbook holds kits only, the rest of the
// campaign being in another.
func (b *book) elsewhere() bool { return len(b.part) > 0 && len(b.part) < len(b.p.Jobs) }

// splitKits reports whether the kits are in workbooks other than this.
func (b *book) splitKits() bool { return len(b.part) == 0 && len(b.p.Jobs) > 0 }
