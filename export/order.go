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
	"wraptally/estimate/order"
	"wraptally/estimate/qty"
	"wraptally/export/table"
)

// The columns of the sheet Order. Those up to orderWhy are printed; those
// beyond show how the packs come about.
const (
	orderBy       = 1
	orderSupplier = 2
	orderPart     = 3
	orderItem     = 4
	orderName     = 5
	orderUnit     = 6
	orderPacks    = 7
	orderPack     = 8
	orderQuantity = 9
	orderPrice    = 10
	orderCurrency = 11
	orderCost     = 12
	orderBase     = 13
	orderLead     = 14
	orderKeeps    = 15
	orderWhy      = 16

	orderCover = 18
	orderLeast = 19
	orderMore  = 20
	orderStep  = 21
	orderAll   = 22
	orderFrom  = 23
	orderRate  = 24
)

// orderHead is the number of rows above the first line of the order.
const orderHead = 5

// orderRow is one line of the order at one price.
type orderRow struct {
	need, line int
	step       int // 1-based place of the price among the offer's, for prices that rise step by step; else 1
	offer      *catalog.Offer
	got        *order.Line

	cover, more int // packs worked out from what is to cover, and more or less than that
	packs       int // at this price
	from        int
	price       decimal.Decimal
	cost, base  decimal.Decimal
	toCover     decimal.Decimal
}

// orderRows are the lines of the order by the last day to order, then supplier.
func (b *book) orderRows() []orderRow {
	var rows []orderRow
	for i := range b.p.Orders {
		o := &b.p.Orders[i]
		for k := range o.Lines {
			l := &o.Lines[k]
			offer := o.Offers[l.Offer]
			if l.Scheme != order.Incremental {
				rows = append(rows, orderRow{need: i, line: k, step: 1, offer: offer, got: l, packs: l.Packs, from: l.Break.FromPacks, price: l.Break.Price})
				continue
			}
			for s, price := range offer.Prices {
				r := orderRow{need: i, line: k, step: s + 1, offer: offer, got: l, from: price.FromPacks, price: price.Price}
				for _, t := range l.Tiers {
					if t.FromPacks == price.FromPacks {
						r.packs = t.Packs
					}
				}
				rows = append(rows, r)
			}
		}
	}
	slices.SortStableFunc(rows, func(x, y orderRow) int {
		return cmp.Or(x.got.LatestOrder.Compare(y.got.LatestOrder), strings.Compare(x.got.Supplier, y.got.Supplier))
	})
	b.workOut(rows)
	return rows
}

// workOut repeats in whole numbers what the formulas of the sheet do, so that
// the values kept with them are the same: each line covers what the lines above
// it leave of its item's need, and "more or less" is how far the least-cost
// order departs from that.
func (b *book) workOut(rows []orderRow) {
	left := make([]decimal.Decimal, len(b.p.Orders))
	for i, o := range b.p.Orders {
		left[i] = o.Net
	}
	for i := range rows {
		r := &rows[i]
		r.toCover = decimal.Max(decimal.Zero, left[r.need])
		r.cover = packsCovering(r.toCover, r.offer)
		if r.step == 1 {
			r.more = r.got.Packs - r.cover
		}
		r.cost = r.price.Mul(qty.Whole(r.packs))
		r.base = r.cost.Mul(r.got.Rate).Round(b.p.Bid.Minor)
		left[r.need] = left[r.need].Sub(r.got.PackQuantity.Mul(qty.Whole(r.packs)))
	}
}

// packsCovering is the fewest packs in whole cartons, and no fewer than the
// least order, that cover a quantity; none where there is nothing to cover.
func packsCovering(quantity decimal.Decimal, o *catalog.Offer) int {
	if !quantity.IsPositive() {
		return 0
	}
	packs := max(int(quantity.Div(o.PackQty).Round(9).Ceil().IntPart()), leastPacks(o))
	carton := max(1, o.Carton)
	return (packs + carton - 1) / carton * carton
}

// materialsTotal is the defined name of the order's cost.
const materialsTotal = "materials_total"

// orderSheet is the order, with what it costs by supplier and currency.
func (d *desk) orderSheet() *table.Sheet {
	b, p, rows := d.book, d.p, d.rows
	cur := p.Bid.Currency
	l := newLeaf(sheetOrder, "Order", b.orderUnder(), widths(11.5, 13, 15, 17, 34, 7, 8, 12, 9, 10, 6, 12, 13, 6.5, 13, 48, 3, 10, 9, 11, 6, 9, 9, 12))
	l.note("How the packs come about stands beside it, from column " + table.ColumnName(orderCover) + " on: whole packs that cover the need, and where fewer or more cost less, how many.")
	l.Blank(1)
	l.heads("Order by", "Supplier", "Part code", "Item", "Name", "Unit", "#Packs", "Pack", "#Quantity", "#Price of a pack", "=Curr.", "#Cost\n(in its currency)", "#Cost\n("+cur+")", "#Lead\n(days)", "Keeps to", "Why this many of this offer",
		"", "#To cover\n(units)", "#Packs that cover", "#More (+) or fewer (−)", "#Price step", "#Packs of the line", "#Price from\n(packs)", "#Rate\n("+cur+" for one)")
	s := l.sheet(b.page(true))
	first, last := orderHead+1, orderHead+len(rows)
	working := b.workingDays()
	for i := range rows {
		r := &rows[i]
		n := l.Next()
		l.Add(d.orderCells(r, n, working)...)
		s.Validations = append(s.Validations, table.Validation{Area: table.One(table.At{Column: orderMore, Row: n}), Min: math.Inf(-1), Max: math.Inf(1), Whole: true,
			Title: "More or fewer packs", Prompt: "Packs beyond those that cover the need (a price break), or fewer where another line covers the rest."})
	}
	total := sumBase(rows)
	t := look(table.Total)
	cells := make([]table.Cell, orderWhy)
	for i := range cells {
		cells[i] = table.Empty(t)
	}
	cells[0] = table.Text("Total", t)
	cells[orderBase-1] = table.FormulaDec(fmt.Sprintf("SUM(%s:%s)", cell(orderBase, first), cell(orderBase, max(first, last))), total, summed(b.money()))
	if len(rows) == 0 {
		cells[orderBase-1] = table.Dec(decimal.Zero, summed(b.money()))
	}
	d.names = append(d.names, table.Name{Name: materialsTotal, Refers: ref(sheetOrder, orderBase, l.Next())})
	d.materials = amount{materialsTotal, total}
	l.Add(cells...)
	d.bySupplier(l, first, max(first, last))
	s.Rows, s.Conditions = l.All(), l.checks
	s.FreezeRows, s.FreezeColumns, s.Protected = orderHead, 2, true
	s.TitleRows = table.Span{First: orderHead, Last: orderHead}
	s.PrintArea = table.Cells(1, 1, orderWhy, l.Next()-1)
	s.Page.Margins = &table.Margins{Left: 8, Right: 8, Top: 17, Bottom: 15, Header: 8, Footer: 8}
	return s
}

func sumBase(rows []orderRow) decimal.Decimal {
	total := decimal.Zero
	for i := range rows {
		total = total.Add(rows[i].base)
	}
	return total
}

func (b *book) orderUnder() string {
	if b.p.Dates.Need.IsZero() {
		return "Sorted by supplier. No need date is known, so nothing is said on when to order and on shelf life."
	}
	days := "calendar days: where the last day is no working day, order on the one before"
	if b.workingDays() {
		days = "working days"
	}
	return fmt.Sprintf("Sorted by the last day on which each line can be ordered, then by supplier. Goods must be there on %s (%s); the work ends on %s. Lead times count %s.", day(b.p.Dates.Need), b.p.Dates.From, day(b.p.Dates.End), days)
}

func (b *book) workingDays() bool { return b.p.Catalog.Settings.WorkingDays == "yes" }

// orderCells are the cells of one line of the order in row n.
func (d *desk) orderCells(r *orderRow, n int, working bool) []table.Cell {
	b, p := d.book, d.p
	need, at := p.Needs[r.need], d.inputs.offers[r.offer]
	in := func(column, row int) string { return ref(sheetInputs, column, row) }
	fromRange, priceRange := span(sheetInputs, priceFrom, at.first, at.last), span(sheetInputs, priceValue, at.first, at.last)
	scheme := in(priceScheme, at.first)
	c := make([]table.Cell, orderRate)
	c[orderBy-1] = table.Text("not known", table.TextStyle)
	if !r.got.LatestOrder.IsZero() {
		src := fmt.Sprintf("need_date-%s", in(priceLead, at.first))
		if working {
			src = fmt.Sprintf("IF(%[1]s=0,WORKDAY(need_date+1,-1),WORKDAY(need_date,-%[1]s))", in(priceLead, at.first))
		}
		c[orderBy-1] = table.FormulaDay(src, r.got.LatestOrder, dayStyle)
	}
	c[orderSupplier-1] = table.Text(legible(r.got.Supplier), table.WrapStyle)
	c[orderPart-1] = table.Text(legible(r.got.Part), look(table.Code))
	c[orderItem-1] = table.Text(legible(need.Item.Code), look(table.Code))
	c[orderName-1] = table.Link(table.Shorten(legible(need.Item.Name), table.MaxLiteral), d.needs.item.Nth(r.need), table.WrapStyle)
	c[orderUnit-1] = table.Text(legible(need.Item.Unit), table.TextStyle)
	c[orderPacks-1] = table.FormulaNum(fmt.Sprintf(`IF(%s="incremental",MAX(0,MIN(%s,%s)-%s+1),%s)`, scheme, cell(orderAll, n), in(priceUpTo, at.first+r.step-1), cell(orderFrom, n), cell(orderAll, n)),
		float64(r.packs), table.IntStyle)
	c[orderPack-1] = table.Text(legible(r.offer.PackName), table.WrapStyle)
	quantity := r.got.PackQuantity.Mul(qty.Whole(r.packs))
	c[orderQuantity-1] = table.FormulaDec(fmt.Sprintf("%s*%s", cell(orderPacks, n), in(pricePack, at.first)), quantity, shown(quantityFormat(r.offer.PackQty.InexactFloat64())))
	c[orderPrice-1] = table.FormulaDec(fmt.Sprintf("LOOKUP(%s,%s,%s)", cell(orderFrom, n), fromRange, priceRange), r.price, shown(b.priceFormat(r.got.Currency, r.price)))
	c[orderCurrency-1] = table.Text(r.got.Currency, unitStyle)
	c[orderCost-1] = table.FormulaDec(fmt.Sprintf("%s*%s", cell(orderPacks, n), cell(orderPrice, n)), r.cost, shown(b.priceFormat(r.got.Currency, decimal.Zero)))
	c[orderBase-1] = table.FormulaDec(fmt.Sprintf("ROUND(%s*%s,%d)", cell(orderCost, n), cell(orderRate, n), p.Bid.Minor), r.base, shown(b.money()))
	c[orderLead-1] = table.FormulaNum(in(priceLead, at.first), float64(r.offer.LeadDays), table.IntStyle)
	c[orderKeeps-1] = b.keeps(r.got)
	c[orderWhy-1] = table.Text(legible(b.why(r)), table.WrapStyle)
	c[orderCover-1] = table.FormulaDec(fmt.Sprintf("MAX(0,%s-%s)", d.needs.toBuy.Nth(r.need), d.coveredAbove(n)), r.toCover, shown(table.Number(0)))
	c[orderLeast-1] = table.FormulaNum(fmt.Sprintf("IF(%[1]s>0,ROUNDUP(MAX(ROUNDUP(ROUND(%[1]s/%[2]s,9),0),%[3]s)/%[4]s,0)*%[4]s,0)",
		cell(orderCover, n), in(pricePack, at.first), in(priceLeast, at.first), in(priceCarton, at.first)), float64(r.cover), table.IntStyle)
	c[orderMore-1] = table.Int(r.more, given(table.Number(0)))
	if r.step > 1 {
		c[orderMore-1] = table.Empty(table.TextStyle)
	}
	c[orderStep-1] = table.Int(r.step, table.IntStyle)
	c[orderAll-1] = table.FormulaNum(fmt.Sprintf("IF(%s>1,%s,MAX(0,%s+%s))", cell(orderStep, n), above(orderAll, n), cell(orderLeast, n), cell(orderMore, n)), float64(r.got.Packs), table.IntStyle)
	c[orderFrom-1] = table.FormulaNum(fmt.Sprintf(`IF(%s="incremental",%s,LOOKUP(MAX(%s,%s),%s))`, scheme, in(priceFrom, at.first+r.step-1), cell(orderAll, n), in(priceFrom, at.first), fromRange), float64(r.from), table.IntStyle)
	c[orderRate-1] = table.FormulaDec(in(priceValue, d.inputs.currency[r.got.Currency]), r.got.Rate, shown(table.Number(6)))
	return c
}

// coveredAbove is what the lines above row n order of the same item.
func (d *desk) coveredAbove(n int) string {
	quantities := fmt.Sprintf("%s$%d:%s", table.ColumnName(orderQuantity), orderHead, cell(orderQuantity, n-1))
	items := fmt.Sprintf("%s$%d:%s", table.ColumnName(orderItem), orderHead, cell(orderItem, n-1))
	if d.safe {
		return fmt.Sprintf("SUMIFS(%s,%s,%s)", quantities, items, cell(orderItem, n))
	}
	return fmt.Sprintf("SUMPRODUCT(--EXACT(%s,%s),%s)", items, cell(orderItem, n), quantities)
}

// above refers to the cell above, which a first price step has no use for; there
// it is 0 rather than the head of the column.
func above(column, n int) string {
	if n-1 <= orderHead {
		return "0"
	}
	return cell(column, n-1)
}

// keeps says how long goods last that are bought for the need date.
func (b *book) keeps(l *order.Line) table.Cell {
	switch {
	case !l.Shelf.Checked:
		return table.Text("—", table.TextStyle)
	case l.Shelf.OK:
		return table.Day(l.Shelf.Until, dayStyle)
	}
	return table.Text(day(l.Shelf.Until)+" TOO SHORT", look(table.Caution).Wrapped())
}

// why is the reason of a line in words.
func (b *book) why(r *orderRow) string {
	if r.step > 1 {
		return fmt.Sprintf("price of the packs from %d on; the packs before stand in the row above", r.from)
	}
	text := reasonsOf(b.p.Orders[r.need], r.line)
	if text == "" {
		text = "the only way to buy it; nothing over"
	}
	return text
}

// group is what is ordered from one supplier in one currency.
type group struct {
	supplier, currency string
	first              time.Time
	lines              int
	cost, base         decimal.Decimal
}

// bySupplier sums the order up by supplier and currency.
func (d *desk) bySupplier(l *leaf, first, last int) {
	var groups []*group
	for i := range d.rows {
		r := &d.rows[i]
		at := slices.IndexFunc(groups, func(g *group) bool { return g.supplier == r.got.Supplier && g.currency == r.got.Currency })
		if at < 0 {
			at = len(groups)
			groups = append(groups, &group{supplier: r.got.Supplier, currency: r.got.Currency, first: r.got.LatestOrder})
		}
		g := groups[at]
		if r.step == 1 {
			g.lines++
		}
		g.cost, g.base = g.cost.Add(r.cost), g.base.Add(r.base)
	}
	slices.SortStableFunc(groups, func(x, y *group) int {
		return cmp.Or(strings.Compare(x.supplier, y.supplier), strings.Compare(x.currency, y.currency))
	})
	l.Blank(1)
	l.AddRow(table.Spread("By supplier and currency", look(table.Heading), orderWhy))
	if len(groups) == 0 {
		l.note("Nothing has to be bought.")
		return
	}
	at := l.Next()
	for _, g := range groups {
		n := l.Next()
		c := make([]table.Cell, orderBase)
		for i := range c {
			c[i] = table.Empty(look(table.Subtotal))
		}
		c[orderBy-1] = table.Text("not known", look(table.Subtotal))
		if !g.first.IsZero() {
			c[orderBy-1] = table.Day(g.first, look(table.Subtotal).In(table.Date).To(table.Left))
		}
		c[orderSupplier-1] = table.Text(legible(g.supplier), look(table.Subtotal))
		c[orderName-1] = table.Text(fmt.Sprintf("%d lines; the first day is the earliest of them", g.lines), look(table.Subtotal))
		c[orderCurrency-1] = table.Text(g.currency, look(table.Subtotal).To(table.Centre))
		c[orderCost-1] = table.FormulaDec(d.sumTexts(orderCost, first, last, n), g.cost, look(table.Subtotal).In(d.priceFormat(g.currency, decimal.Zero)))
		c[orderBase-1] = table.FormulaDec(d.sumTexts(orderBase, first, last, n), g.base, look(table.Subtotal).In(d.money()))
		l.Add(c...)
	}
	end := l.Next() - 1
	c := make([]table.Cell, orderBase)
	c[orderName-1] = table.Text("Suppliers add up to the order", look(table.Label))
	c[orderBase-1] = l.check(orderBase, fmt.Sprintf("SUM(%s:%s)", cell(orderBase, at), cell(orderBase, end)), materialsTotal, d.p.Bid.Minor)
	l.Add(c...)
}

// sumTexts sums a column over the rows of one supplier and currency. Names are
// compared exactly: SUMIFS would read a name as a pattern.
func (d *desk) sumTexts(column, first, last, n int) string {
	area := table.Cells(column, first, column, last).Abs()
	return fmt.Sprintf("SUMPRODUCT(EXACT(%s,%s)*EXACT(%s,%s)*%s)", table.Cells(orderSupplier, first, orderSupplier, last).Abs(), cell(orderSupplier, n),
		table.Cells(orderCurrency, first, orderCurrency, last).Abs(), cell(orderCurrency, n), area)
}
