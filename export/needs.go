package export

import (
	"fmt"

	"github.com/shopspring/decimal"

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
	rows                                    *table.Table[need]
	item, kind, kits, toBuy, cost, mass, no table.Ref
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
	s.kits = add(col{Title: "With the kits", Width: 9, Style: count, Cell: func(p pen, n need) {
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
	issued := add(col{Title: "Issued", Width: 9, Style: count, Cell: func(p pen, n need) { p.Formula("%v+%v+%v", s.kits, crews, cut).Dec(n.order.Issued) }})
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
	store := add(col{Title: "From store", Width: 9, Style: count, Cell: func(p pen, n need) { p.Formula("MIN(%v,%s)", needed, in.planStore.Nth(n.at)).Dec(n.order.Drawn) }})
	s.toBuy = add(col{Title: "To buy", Width: 9, Style: count, Cell: func(p pen, n need) { p.Formula("%v-%v", needed, store).Dec(n.order.Net) }})
	bought := add(col{Title: "Bought", Width: 9, Style: count, Cell: func(p pen, n need) {
		p.In(decimalsOf(n.order.Bought)).By(d.orderSum(d.order.quantity, p.Beside(s.no))).Dec(n.order.Bought)
	}})
	over := add(col{Title: "Left over", Width: 9, Style: count, Cell: func(p pen, n need) {
		p.In(decimalsOf(n.order.Bought)).Formula("%v-%v", bought, s.toBuy).Dec(n.order.Bought.Sub(n.order.Net))
	}})
	add(col{Title: "Check", Width: 10, Style: table.CheckStyle,
		Cell: func(p pen, n need) {
			left := n.order.Bought.Sub(n.order.Net).Round(6)
			s.verdict(p, !left.IsNegative(), fmt.Sprintf("ROUND(%s,6)>=0", p.Beside(over)), coveredText, shortText)
		},
		Foot: func(p pen) { s.adds(p, total(s.cost), d.materials, d.p.Bid.Minor) }})
	s.cost = add(col{Title: "Cost", Unit: currency, Width: 13, Style: shown(b.money()), Sums: true, Cell: func(p pen, n need) {
		p.By(d.orderSum(d.order.base, p.Beside(s.no))).Dec(n.order.Cost(d.p.Bid.Minor))
	}})
	s.mass = add(col{Title: "Unit weighs", Unit: "kg", Width: 9, Style: shown(table.Number(3)), Cell: func(p pen, n need) { p.Dec(qty.Decimal(n.Item.UnitMass)) }})
	s.no = add(col{Title: itemNo, Width: 7, Style: count, Cell: func(p pen, n need) { p.Int(b.number[n.Item.Code]) }})

	s.leaf = newLeaf(sheetNeeds, "Needs", "From what is issued to what is bought, an item a row: packed quantities are summed from the sheet "+sheetKitLines+"; the allowance for growth comes before rounding, the store before buying.", s.rows.Columns())
	s.Blank(1)
	begin(s.leaf, s.rows, len(d.p.Orders))
	return s
}

// needsSheet leads from what is issued to what is bought, item by item, and
// lists what is taken from the store and what is left there.
func (d *desk) needsSheet() *table.Sheet {
	s := d.needs
	for _, n := range d.items {
		put(s.leaf, s.rows, n)
	}
	s.AddRow(s.rows.Foot(table.Total))
	d.define("mass_sent", s.cost.On(s.Next()), qty.Decimal(d.p.Mass))
	s.AddRow(s.rows.Line(s.Next(), s.mass, look(table.Subtotal), func(in func(table.Ref) pen) {
		in(s.item).Text("Weight of the kits (kg): goods issued with them and pieces cut for them")
		in(s.cost).In(table.Number(3)).Formula("ROUND(SUMPRODUCT(%s,%s)+pieces_mass,6)", s.kits.Rows().Abs(), s.mass.Rows().Abs()).Dec(qty.Decimal(d.p.Mass))
	}))
	d.store(s.leaf)
	sheet := s.headed(d.page(true), 2)
	sheet.Protected = true
	return sheet
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
	drawn.Add(col{Title: "Location", Style: table.TextStyle, Span: 4, Cell: func(p pen, l lot) { p.Text(l.place) }})
	section(l, "Taken from the store, what expires first before the rest", drawn, d.drawnLots(), "Nothing is taken from the store.")

	left := table.NewTable[lot](l.name)
	about(left)
	left.Add(col{Title: "Left", Style: table.IntStyle, Cell: held})
	left.Add(col{Title: "Why", Style: table.WrapStyle, Span: 12, Cell: func(p pen, l lot) { p.Text(l.why) }})
	section(l, "Left in the store, with the reason", left, d.passedLots(), "No lot of these items is passed over.")
}
