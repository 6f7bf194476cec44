package export

import (
	"fmt"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate"
	"wraptally/estimate/qty"
	"wraptally/export/table"
)

// need is an item that is needed.
type need struct {
	estimate.Need
	at               int // place among them
	order            *estimate.ItemOrder
	kits, crews, cut decimal.Decimal // issued
}

// needs is the sheet Needs with the columns that other sheets refer to.
type needs struct {
	*leaf
	rows                                                                 *table.Table[need]
	item, kind, toBuy, bought, store, cost, drawn, as, charged, mass, no table.Ref
}

// newNeeds declares the sheet.
func (d *desk) newNeeds() *needs {
	type col = table.Col[need]
	b, currency := d.book, d.p.Bid.Currency
	in := d.inputs
	count := table.IntStyle

	s := &needs{rows: table.NewTable[need](sheetNeeds)}
	add := s.rows.Add
	s.item = add(col{Title: "Item", Width: 17, Style: look(table.Code), Foot: foot("Total"), Cell: func(p pen, n need) { p.Text(n.Item.Code) }})
	add(col{Title: "Name", Width: 40, Style: table.WrapStyle, Cell: func(p pen, n need) { p.Text(n.Item.Name) }})
	s.kind = add(col{Title: "Kind", Width: 11, Style: table.TextStyle, Cell: func(p pen, n need) { p.Text(n.Item.Kind) }})
	add(col{Title: "Unit", Width: 7, Style: table.TextStyle, Cell: func(p pen, n need) { p.Text(n.Item.Unit) }})
	add(col{Title: "Rounded up to whole units for", Width: 15, Style: table.WrapStyle, Cell: func(p pen, n need) {
		if n.Cut {
			p.Text("the cutting plan")
			return
		}
		p.Text(catalog.LevelName(n.Item.Issue))
	}})
	add(col{Title: "Asked for", Width: 9, Style: shown(table.Number(1)), Cell: func(p pen, n need) { p.Num(n.Net) }})
	kits := add(col{Title: "With the kits", Width: 9, Style: count, Cell: func(p pen, n need) {
		if b.splitKits() {
			p.By(in.planKits.Nth(n.at)).Dec(n.kits)
			return
		}
		p.By(b.packedSum(p.Beside(s.no))).Dec(n.kits)
	}})
	crews := add(col{Title: "To crews, campaign", Width: 10, Style: count, Cell: func(p pen, n need) {
		if b.splitKits() {
			p.By(in.planCrews.Nth(n.at)).Dec(n.crews)
			return
		}
		p.By(sumOf(b.crews.issued.All(), b.crews.no.All(), p.Beside(s.no))).Dec(n.crews)
	}})
	cut := add(col{Title: "Coils and sheets cut", Width: 9, Style: count, Cell: func(p pen, n need) { p.By(in.planCut.Nth(n.at)).Dec(n.cut) }})
	issued := add(col{Title: "Issued", Width: 9, Style: count, Cell: func(p pen, n need) { p.Formula("%v+%v+%v", kits, crews, cut).Dec(n.order.Issued) }})
	growth := add(col{Title: "Growth", Unit: "%", Width: 8, Style: shown(table.Number(1)), Cell: func(p pen, n need) {
		percent := qty.Decimal(d.p.Catalog.Settings.Growth)
		if !d.p.Grows(&n.Need) {
			percent = decimal.Zero
		}
		p.Formula(`IF(%s="yes",growth,0)`, in.planGrows.Nth(n.at)).Dec(percent)
	}})
	needed := add(col{Title: "Needed", Width: 9, Style: count, Cell: func(p pen, n need) {
		p.Formula("ROUNDUP(ROUND(%v*(100+%v)/100,6),0)", issued, growth).Dec(n.order.Needed)
	}})
	s.store = add(col{Title: "From store", Width: 9, Style: count, Cell: func(p pen, n need) { p.Formula("MIN(%v,%s)", needed, in.planStore.Nth(n.at)).Dec(n.order.Drawn) }})
	s.toBuy = add(col{Title: "To buy", Width: 9, Style: count, Cell: func(p pen, n need) { p.Formula("%v-%v", needed, s.store).Dec(n.order.Net) }})
	s.bought = add(col{Title: "Bought", Width: 9, Style: count, Cell: func(p pen, n need) {
		p.In(decimalsOf(n.order.Bought)).By(d.orderSum(d.order.quantity, p.Beside(s.no))).Dec(n.order.Bought)
	}})
	over := add(col{Title: "Left over", Width: 9, Style: count, Cell: func(p pen, n need) {
		p.In(decimalsOf(n.order.Bought)).Formula("%v-%v", s.bought, s.toBuy).Dec(n.order.Bought.Sub(n.order.Net))
	}})
	add(col{Title: "Check", Width: 10, Style: table.CheckStyle,
		Cell: func(p pen, n need) {
			left := n.order.Bought.Sub(n.order.Net).Round(6)
			s.verdict(p, !left.IsNegative(), fmt.Sprintf("ROUND(%s,6)>=0", p.Beside(over)), coveredText, shortText+": "+n.Item.Code)
		},
		Foot: func(p pen) { s.adds(p, total(s.cost), d.materials, d.p.Bid.Minor) }})
	s.cost = add(col{Title: "Cost", Unit: currency, Width: 13, Style: shown(b.money()), Sums: true, Cell: func(p pen, n need) {
		p.By(d.orderSum(d.order.base, p.Beside(s.no))).Dec(n.order.Cost(d.p.Bid.Minor))
	}})
	s.charges(d, needed)
	s.mass = add(col{Title: "Unit weighs", Unit: "kg", Width: 9, Style: shown(table.Number(3)), Cell: func(p pen, n need) { p.Dec(qty.Decimal(n.Item.UnitMass)) }})
	s.no = add(col{Title: itemNo, Width: 7, Style: count, Cell: func(p pen, n need) { p.Int(b.number[n.Item.Code]) }})

	s.leaf = newLeaf(sheetNeeds, "Needs", "From what is issued to what is bought, an item a row: packed quantities are summed from the sheet "+sheetKitLines+"; the allowance for growth comes before rounding, the store before buying.", s.rows.Columns())
	s.Blank(1)
	begin(s.leaf, s.rows, len(d.p.Orders))
	return s
}

// charges declares what each item is charged at.
func (s *needs) charges(d *desk, needed table.Ref) {
	type col = table.Col[need]
	in, currency := d.inputs, d.p.Bid.Currency
	s.drawn = s.rows.Add(col{Title: "Drawn from store", Unit: currency, Width: 11, Style: shown(d.money()), Sums: true, Cell: func(p pen, n need) {
		p.By(d.rounded("%s*%s", p.Beside(s.store), in.planDrawnAt.Nth(n.at))).Dec(n.order.Charge.Drawn)
	}})
	s.as = s.rows.Add(col{Title: "Charged", Width: 10, Style: table.TextStyle, Cell: func(p pen, n need) { p.Text(string(n.order.Charge.As)) }})
	s.charged = s.rows.Add(col{Title: "Charged", Unit: currency, Width: 13, Style: shown(d.money()), Sums: true, Cell: func(p pen, n need) {
		value := fmt.Sprintf("(%s+%s)", p.Beside(s.cost), p.Beside(s.drawn))
		switch n.order.Charge.As {
		case estimate.ByHire:
			value = d.rounded("%s*%s*%s", p.Beside(needed), countName("day"), in.planHire.Nth(n.at))
		case estimate.ByWriteOff:
			value = d.rounded("%s*%s/100", value, in.planWriteOff.Nth(n.at))
		}
		p.By(value).Dec(n.order.Charge.Amount)
	}})
}

// needsSheet leads from what is issued to what is bought, item by item, and
// lists what is taken from the store and what is left there.
func (d *desk) needsSheet() *table.Sheet {
	s := d.needs
	for _, n := range d.items {
		put(s.leaf, s.rows, n)
	}
	s.AddRow(s.rows.Foot(table.Total))
	d.chargedTotals(s)
	d.store(s.leaf)
	sheet := s.headed(d.page(true), 2)
	sheet.Protected = true
	return sheet
}

// chargedTotals are what the bid's lines of materials come to, and what all goods
// that go to the site weigh.
func (d *desk) chargedTotals(s *needs) {
	b := d.p.Bid
	line := func(name, text string, f table.Format, formula string, v decimal.Decimal) {
		d.define(name, s.charged.On(s.Next()), v)
		s.AddRow(s.rows.Line(s.Next(), s.charged, look(table.Subtotal), func(in func(table.Ref) pen) {
			in(s.item).Text(name)
			in(s.kind).Text(text)
			in(s.charged).In(f).By(formula).Dec(v)
		}))
	}
	as := s.as.Rows().Abs()
	inFull := func(of table.Ref) string {
		return fmt.Sprintf("SUMIFS(%s,%s,%q)", of.Rows().Abs(), as, estimate.InFull)
	}
	amount := func(code string) decimal.Decimal {
		for i := range b.Lines {
			if b.Lines[i].Code == code {
				return b.Lines[i].Amount
			}
		}
		return decimal.Zero
	}
	line("materials_charged", "bought and charged in full", d.money(), inFull(s.cost), amount("materials"))
	line("stock_charged", "drawn from the store and charged in full, at "+d.p.Catalog.Settings.StockPrice+" (setting stock.price), offcuts too", d.money(), inFull(s.drawn)+"+offcuts_value", amount("stock"))
	line("tools_charged", "what comes back: hire by the working day of the plan, or its part of cost and value written off", d.money(), fmt.Sprintf("SUM(%s)-%s", s.charged.Rows().Abs(), inFull(s.charged)), amount("tools"))
	d.define("mass_delivered", s.charged.On(s.Next()), d.p.Delivered())
	s.AddRow(s.rows.Line(s.Next(), s.charged, look(table.Subtotal), func(in func(table.Ref) pen) {
		in(s.item).Text("mass_delivered")
		in(s.kind).Text("weight (kg) of all goods that go to the site: whole packs bought, with growth and tools, and what is drawn from the store")
		in(s.charged).In(table.Number(3)).Formula("ROUND(SUMPRODUCT(%[1]s,%[3]s)+SUMPRODUCT(%[2]s,%[3]s)+offcuts_mass,6)", s.bought.Rows().Abs(), s.store.Rows().Abs(), s.mass.Rows().Abs()).Dec(d.p.Delivered())
	}))
}

// orderSum sums a column of the order over the lines of an item.
func (d *desk) orderSum(column table.Ref, no string) string {
	return sumOf(column.All(), d.order.no.All(), no)
}

// store lists the lots that are drawn from and those that are passed over.
func (d *desk) store(l *leaf) {
	type col = table.Col[lot]
	about := func(t *table.Table[lot]) {
		t.Add(col{Title: "Item", Style: look(table.Code), Cell: func(p pen, l lot) { p.Text(l.item) }})
		t.Add(col{Title: "Name", Style: table.WrapStyle, Cell: func(p pen, l lot) { p.Text(l.name) }})
		t.Add(col{Title: "Lot", Style: table.TextStyle, Cell: func(p pen, l lot) { p.Text(l.id) }})
		t.Add(col{Title: "Unit", Style: table.TextStyle, Cell: func(p pen, l lot) { p.Text(l.unit) }})
	}
	held := func(p pen, l lot) { p.In(decimalsOf(l.held)).Dec(l.held) }

	drawn := table.NewTable[lot](l.name)
	about(drawn)
	drawn.Add(col{Title: "Taken", Style: table.IntStyle, Cell: func(p pen, l lot) { p.In(decimalsOf(l.taken)).Dec(l.taken) }})
	drawn.Add(col{Title: "In the lot", Style: table.IntStyle, Cell: held})
	drawn.Add(col{Title: "Use by", Style: dayStyle, Span: 2, Cell: func(p pen, l lot) { writeDay(p, l.useBy, "no date") }})
	drawn.Add(col{Title: "One is charged at", Unit: d.p.Bid.Currency, Style: shown(table.Number(4)), Cell: func(p pen, l lot) { p.Dec(l.price) }})
	drawn.Add(col{Title: "Value", Unit: d.p.Bid.Currency, Style: shown(d.money()), Cell: func(p pen, l lot) { p.Dec(l.value) }})
	drawn.Add(col{Title: "Location", Style: table.TextStyle, Span: 4, Cell: func(p pen, l lot) { p.Text(l.place) }})
	section(l, "Taken from the store, what expires first before the rest", drawn, d.drawnLots(), "Nothing is taken from the store.")

	left := table.NewTable[lot](l.name)
	about(left)
	left.Add(col{Title: "Left", Style: table.IntStyle, Cell: held})
	left.Add(col{Title: "Why", Style: table.WrapStyle, Span: 12, Cell: func(p pen, l lot) { p.Text(l.why) }})
	section(l, "Left in the store, with the reason", left, d.passedLots(), "Every lot of these items is usable.")
}
