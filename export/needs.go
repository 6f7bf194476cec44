package export

import (
	"fmt"
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"wraptally/estimate"
	"wraptally/estimate/qty"
	"wraptally/export/table"
)

// sheetNeeds is the sheet of what is needed, item by item.
const sheetNeeds = "Needs"

// The columns of the sheet Needs.
const (
	needItem   = 1
	needName   = 2
	needKind   = 3
	needUnit   = 4
	needKits   = 5
	needCrews  = 6
	needCut    = 7
	needIssued = 8
	needGrowth = 9
	needNeeded = 10
	needStore  = 11
	needToBuy  = 12
	needBought = 13
	needOver   = 14
	needCheck  = 15
	needCost   = 16
	needMass   = 17
)

// needHead is the number of rows above the first item.
const needHead = 4

// needRow is the row of an item on the sheet Needs.
func (d *desk) needRow(i int) int { return needHead + 1 + i }

// needsSheet leads from what is issued to what is bought, item by item, and
// lists what is taken from the store and what is left there.
func (d *desk) needsSheet() *table.Sheet {
	b, p := d.book, d.p
	l := newLeaf(sheetNeeds, "Needs", "From what is issued to what is bought, an item a row: packed quantities are summed from the sheet "+sheetKitLines+"; the allowance for growth comes before rounding, the store before buying.",
		widths(17, 40, 11, 7, 9, 10, 9, 9, 8, 9, 9, 9, 9, 9, 10, 13, 9))
	l.Blank(1)
	l.heads("Item", "Name", "Kind", "Unit", "#With the kits", "#To crews, campaign", "#Coils and sheets cut", "#Issued", "#Growth\n(%)", "#Needed", "#From store", "#To buy", "#Bought", "#Left over", "=Check", "#Cost\n("+p.Bid.Currency+")", "#Unit weighs\n(kg)")
	kits, crews, cuts := b.issuedBy()
	crewItems, crewIssued := b.crewsColumn(crewsItem), b.crewsColumn(crewsIssued)
	count := table.IntStyle
	for i, n := range p.Needs {
		o, r := p.Orders[i], l.Next()
		growth := qty.Decimal(p.Catalog.Settings.Growth)
		if n.Item.Returns {
			growth = decimal.Zero
		}
		plan := d.inputs.plan[i]
		kitSum, crewSum := b.packedSum(cell(needItem, r), d.safe), d.sumRange(crewItems, crewIssued, cell(needItem, r))
		if b.splitKits() {
			kitSum, crewSum = ref(sheetInputs, planKits, plan), ref(sheetInputs, planCrews, plan)
		}
		c := make([]table.Cell, needMass)
		c[needItem-1] = table.Text(legible(n.Item.Code), look(table.Code))
		c[needName-1] = table.Text(legible(n.Item.Name), table.WrapStyle)
		c[needKind-1] = table.Text(n.Item.Kind, table.TextStyle)
		c[needUnit-1] = table.Text(legible(n.Item.Unit), table.TextStyle)
		c[needKits-1] = table.FormulaDec(kitSum, kits[i], count)
		c[needCrews-1] = table.FormulaDec(crewSum, crews[i], count)
		c[needCut-1] = table.FormulaDec(ref(sheetInputs, planCut, plan), cuts[i], count)
		c[needIssued-1] = table.FormulaDec(fmt.Sprintf("%s+%s+%s", cell(needKits, r), cell(needCrews, r), cell(needCut, r)), o.Issued, count)
		c[needGrowth-1] = table.FormulaDec(fmt.Sprintf(`IF(%s="yes",growth,0)`, ref(sheetInputs, planGrows, plan)), growth, shown(table.Number(1)))
		c[needNeeded-1] = table.FormulaDec(fmt.Sprintf("ROUNDUP(ROUND(%s*(100+%s)/100,6),0)", cell(needIssued, r), cell(needGrowth, r)), o.Needed, count)
		c[needStore-1] = table.FormulaDec(fmt.Sprintf("MIN(%s,%s)", cell(needNeeded, r), ref(sheetInputs, planStore, plan)), o.Drawn, count)
		c[needToBuy-1] = table.FormulaDec(fmt.Sprintf("%s-%s", cell(needNeeded, r), cell(needStore, r)), o.Net, count)
		c[needBought-1] = table.FormulaDec(d.orderSum(orderQuantity, cell(needItem, r)), o.Bought, shown(quantityFormat(o.Bought.InexactFloat64())))
		c[needOver-1] = table.FormulaDec(fmt.Sprintf("%s-%s", cell(needBought, r), cell(needToBuy, r)), o.Bought.Sub(o.Net), shown(quantityFormat(o.Bought.InexactFloat64())))
		c[needCheck-1] = table.FormulaText(fmt.Sprintf("IF(ROUND(%s,6)>=0,%q,%q)", cell(needOver, r), coveredText, shortText), coveredText, table.CheckStyle)
		l.alarm(needCheck)
		c[needCost-1] = table.FormulaDec(d.orderSum(orderBase, cell(needItem, r)), o.Cost(p.Bid.Minor), shown(b.money()))
		c[needMass-1] = table.Dec(qty.Decimal(n.Item.UnitMass), shown(table.Number(3)))
		l.Add(c...)
	}
	first, last := needHead+1, l.Next()-1
	c := make([]table.Cell, needMass)
	for i := range c {
		c[i] = table.Empty(look(table.Total))
	}
	c[0] = table.Text("Total", look(table.Total))
	c[needCost-1] = table.FormulaDec(fmt.Sprintf("SUM(%s:%s)", cell(needCost, first), cell(needCost, last)), sumBase(d.rows), summed(b.money()))
	c[needCheck-1] = l.check(needCheck, cell(needCost, l.Next()), materialsTotal, p.Bid.Minor)
	l.Add(c...)
	c = make([]table.Cell, needMass)
	for i := range c {
		c[i] = table.Empty(look(table.Subtotal))
	}
	c[0] = table.Text("Weight of the kits (kg): goods issued with them and pieces cut for them", look(table.Subtotal))
	c[needCost-1] = table.FormulaDec(fmt.Sprintf("ROUND(SUMPRODUCT(%s,%s)+pieces_mass,6)", table.Cells(needKits, first, needKits, last).Abs(), table.Cells(needMass, first, needMass, last).Abs()),
		qty.Decimal(p.Mass), look(table.Subtotal).In(table.Number(3)))
	d.names = append(d.names, table.Name{Name: "mass_sent", Refers: ref(sheetNeeds, needCost, l.Next())})
	l.Add(c...)
	d.store(l)
	s := l.sheet(b.page(true))
	s.FreezeRows, s.FreezeColumns, s.Protected = needHead, 2, true
	s.TitleRows = table.Span{First: needHead, Last: needHead}
	return s
}

// lastOrder is the last row of the order's lines, at least one below the head.
func (d *desk) lastOrder() int { return orderHead + max(1, len(d.rows)) }

// packedSum sums what is packed of an item with the kits.
func (b *book) packedSum(item string, safe bool) string {
	column := func(c int) string { return span(sheetKitLines, c, kitLinesHead+1, b.lastKitLine()) }
	if safe {
		return fmt.Sprintf("SUMIFS(%s,%s,%s,%s,%q)", column(kitLineIssued), column(kitLineItem), item, column(kitLineLevel), levelKit)
	}
	return fmt.Sprintf("SUMPRODUCT(EXACT(%s,%s)*(%s=%q),%s)", column(kitLineItem), item, column(kitLineLevel), levelKit, column(kitLineIssued))
}

// orderSum sums a column of the order over the lines of an item.
func (d *desk) orderSum(column int, item string) string {
	return d.sumRange(span(sheetOrder, orderItem, orderHead+1, d.lastOrder()), span(sheetOrder, column, orderHead+1, d.lastOrder()), item)
}

// sumRange sums over the rows whose item is the one in a cell.
func (d *desk) sumRange(items, sums, item string) string {
	if d.safe {
		return fmt.Sprintf("SUMIFS(%s,%s,%s)", sums, items, item)
	}
	return fmt.Sprintf("SUMPRODUCT(--EXACT(%s,%s),%s)", items, item, sums)
}

// safeCodes reports whether the codes mean themselves as a criterion of SUMIFS,
// which folds case, reads * ? ~ and comparison signs as patterns, and takes
// digits for a number.
func safeCodes(needs []estimate.Need) bool {
	seen := map[string]bool{}
	for _, n := range needs {
		c := n.Item.Code
		if c == "" || strings.ContainsAny(c, "*?~<>=") || c[0] < 'A' || c[0] > 'z' || seen[strings.ToLower(c)] {
			return false
		}
		seen[strings.ToLower(c)] = true
	}
	return true
}

// store lists the lots that are drawn from and those that are passed over.
func (d *desk) store(l *leaf) {
	p := d.p
	drawn, passed := 0, 0
	for _, o := range p.Orders {
		drawn, passed = drawn+len(o.Draws), passed+len(o.Passed)
	}
	takes := d.book.cutTakes()
	takes = slices.DeleteFunc(takes, func(t cutTake) bool { return d.book.offcut(t) == "" })
	l.heading("Taken from the store, what expires first before the rest")
	if drawn+len(takes) == 0 {
		l.note("Nothing is taken from the store.")
	} else {
		l.heads("Item", "Name", "Lot", "Unit", "#Taken", "#In the lot", "Use by", "", "Location")
		for i, o := range p.Orders {
			for _, dr := range o.Draws {
				useBy := table.Text("no date", table.TextStyle)
				if !dr.UseBy.IsZero() {
					useBy = table.Day(dr.UseBy, dayStyle)
				}
				row := table.Row{Merge: []table.Span{{First: 7, Last: 8}, {First: 9, Last: 12}}}
				row.Cells = []table.Cell{table.Text(legible(p.Needs[i].Item.Code), look(table.Code)), table.Text(legible(p.Needs[i].Item.Name), table.WrapStyle), table.Text(legible(dr.Lot.ID), table.TextStyle), table.Text(legible(o.Unit), table.TextStyle),
					table.Dec(dr.Quantity, shown(quantityFormat(dr.Quantity.InexactFloat64()))), table.Dec(dr.Lot.Quantity, shown(quantityFormat(dr.Lot.Quantity.InexactFloat64()))), useBy, table.Empty(table.TextStyle), table.Text(legible(dr.Lot.Location), table.TextStyle)}
				l.AddRow(row)
			}
		}
		for _, t := range takes { // offcuts are cut up beside what is bought
			code := p.Catalog.Items[t.item].Code
			lot, _ := p.LotInStore(code, d.book.offcut(t))
			name, unit := d.book.takeName(t)
			row := table.Row{Merge: []table.Span{{First: 7, Last: 8}, {First: 9, Last: 12}}}
			row.Cells = []table.Cell{table.Text(legible(code), look(table.Code)), table.Text(legible(name), table.WrapStyle), table.Text(legible(lot.ID), table.TextStyle), table.Text(unit, table.TextStyle),
				table.Int(t.count, table.IntStyle), table.Dec(lot.Quantity, shown(quantityFormat(lot.Quantity.InexactFloat64()))), table.Text("no date", table.TextStyle), table.Empty(table.TextStyle), table.Text(legible(d.book.takePlace(t)), table.TextStyle)}
			l.AddRow(row)
		}
	}
	l.heading("Left in the store, with the reason")
	if passed == 0 {
		l.note("No lot of these items is passed over.")
		return
	}
	l.heads("Item", "Name", "Lot", "Unit", "#Left", "Why")
	for i, o := range p.Orders {
		for _, lot := range o.Passed {
			row := table.Row{Merge: []table.Span{{First: 6, Last: needMass}}}
			row.Cells = []table.Cell{table.Text(legible(p.Needs[i].Item.Code), look(table.Code)), table.Text(legible(p.Needs[i].Item.Name), table.WrapStyle), table.Text(legible(lot.Lot.ID), table.TextStyle), table.Text(legible(o.Unit), table.TextStyle),
				table.Dec(lot.Quantity, shown(quantityFormat(lot.Quantity.InexactFloat64()))), table.Text(legible(lot.String()), table.WrapStyle)}
			l.AddRow(row)
		}
	}
}
