package export

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate"
	"wraptally/estimate/order"
	"wraptally/estimate/qty"
	"wraptally/export/table"
)

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
	group       int // of its supplier and currency, from 1 in the order of their names
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
	groupRows(rows)
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

// ordered is the sheet Order with the columns that other sheets refer to.
type ordered struct {
	*leaf
	rows *table.Table[*orderRow]

	by, supplier, no, name, quantity, currency, cost, base, look, why, more, all, group table.Ref
}

// newOrder declares the sheet. The columns up to the reason are printed; those
// beyond show how the packs come about.
func (d *desk) newOrder() *ordered {
	type col = table.Col[*orderRow]
	b, in := d.book, d.inputs
	offer := func(r *orderRow) priceRows { return in.offers[r.offer] }
	step := func(column table.Ref, r *orderRow) string { return column.On(offer(r).first + r.step - 1) }
	whole := func(column table.Ref, r *orderRow) string { return column.On(offer(r).first) }
	all := func(column table.Ref, r *orderRow) string {
		return column.Part(offer(r).first, offer(r).last).On(sheetInputs)
	}
	lead := func(r *orderRow) string { return whole(in.lead, r) }
	var packs, price, cover, least, stepped, from, rate table.Ref

	s := &ordered{rows: table.NewTable[*orderRow](sheetOrder)}
	add := s.rows.Add
	s.by = add(col{Title: "Order by", Width: 11.5, Style: dayStyle, Foot: foot("Total"), Cell: func(p pen, r *orderRow) {
		p.Formula(b.orderBy(r.got.Supplier), lead(r))
		writeDay(p, r.got.LatestOrder, "not known")
	}})
	s.supplier = add(col{Title: "Supplier", Width: 13, Style: table.WrapStyle, Cell: func(p pen, r *orderRow) { p.Text(r.got.Supplier) }})
	add(col{Title: "Part code", Width: 15, Style: look(table.Code), Cell: func(p pen, r *orderRow) { p.Text(r.got.Part) }})
	add(col{Title: "Item", Width: 17, Style: look(table.Code), Cell: func(p pen, r *orderRow) { p.Text(d.item(r).Code) }})
	s.name = add(col{Title: "Name", Width: 34, Style: table.WrapStyle, Cell: func(p pen, r *orderRow) { p.Link(d.item(r).Name, d.needs.item.Nth(r.need)) }})
	add(col{Title: "Unit", Width: 7, Style: table.TextStyle, Cell: func(p pen, r *orderRow) { p.Text(d.item(r).Unit) }})
	packs = add(col{Title: "Packs", Width: 8, Style: table.IntStyle, Cell: func(p pen, r *orderRow) {
		p.Formula(`IF(%s="incremental",MAX(0,MIN(%v,%s)-%v+1),%v)`, whole(in.scheme, r), s.all, step(in.upTo, r), from, s.all).Int(r.packs)
	}})
	add(col{Title: "Pack", Width: 12, Style: table.WrapStyle, Cell: func(p pen, r *orderRow) { p.Text(r.offer.PackName) }})
	s.quantity = add(col{Title: "Quantity", Width: 9, Style: table.IntStyle, Cell: func(p pen, r *orderRow) {
		p.In(decimalsOf(r.offer.PackQty)).Formula("%v*%s", packs, whole(in.pack, r)).Dec(r.got.PackQuantity.Mul(qty.Whole(r.packs)))
	}})
	price = add(col{Title: "Price of a pack", Width: 10, Style: table.IntStyle, Cell: func(p pen, r *orderRow) {
		p.In(b.priceFormat(r.got.Currency, r.price)).Formula("LOOKUP(%v,%s,%s)", from, all(in.from, r), all(in.price, r)).Dec(r.price)
	}})
	s.currency = add(col{Title: "Curr.", Width: 6, Style: unitStyle, Cell: func(p pen, r *orderRow) { p.Text(r.got.Currency) }})
	s.cost = add(col{Title: "Cost", Unit: "in its currency", Width: 12, Style: table.IntStyle, Cell: func(p pen, r *orderRow) {
		p.In(b.priceFormat(r.got.Currency, decimal.Zero)).Formula("%v*%v", packs, price).Dec(r.cost)
	}})
	s.base = add(col{Title: "Cost", Unit: b.p.Bid.Currency, Width: 13, Style: shown(b.money()), Sums: true, Cell: func(p pen, r *orderRow) {
		p.By(b.rounded("%s*%s", p.Beside(s.cost), p.Beside(rate))).Dec(r.base)
	}})
	add(col{Title: "Lead", Unit: "days", Width: 6.5, Style: table.IntStyle, Cell: func(p pen, r *orderRow) { p.By(lead(r)).Int(r.offer.LeadDays) }})
	add(col{Title: "Use by", Width: 13, Style: dayStyle, Cell: func(p pen, r *orderRow) { keeps(p, r.got, b.deliveriesOf(r), b.p.Dates.Need) }})
	s.look = add(col{Title: "Check", Width: 17, Style: table.TextStyle, Cell: func(p pen, r *orderRow) {
		if r.step > 1 {
			return
		}
		s.lookAt(p, d.item(r).Code, d.orderWrongs(p, r, all(in.price, r), whole(in.most, r))...)
	}})
	s.why = add(col{Title: "Reason for quantity", Width: 100, Style: table.WrapStyle, Cell: func(p pen, r *orderRow) { p.Text(b.why(r)) }})
	add(col{Width: 3})
	cover = add(col{Title: "To cover", Unit: "units", Width: 10, Style: table.IntStyle, Cell: func(p pen, r *orderRow) {
		p.Formula("MAX(0,%s-%s)", d.needs.toBuy.Nth(r.need), s.coveredAbove(p.Row())).Dec(r.toCover)
	}})
	least = add(col{Title: "Packs that cover", Width: 9, Style: table.IntStyle, Cell: func(p pen, r *orderRow) {
		p.Formula("IF(%[1]v>0,ROUNDUP(MAX(ROUNDUP(ROUND(%[1]v/%[2]s,9),0),%[3]s)/%[4]s,0)*%[4]s,0)", cover, whole(in.pack, r), whole(in.leastPacks, r), whole(in.carton, r)).Int(r.cover)
	}})
	s.more = add(s.moreColumn())
	stepped = add(col{Title: "Price step", Width: 6, Style: table.IntStyle, Cell: func(p pen, r *orderRow) { p.Int(r.step) }})
	s.all = add(col{Title: "Packs of the line", Width: 9, Style: table.IntStyle, Cell: func(p pen, r *orderRow) {
		above := "0" // a first price step has no use for the line above; the first line has none
		if p.Row() > s.rows.First() {
			above = s.all.In(p.Row() - 1).String()
		}
		p.Formula("IF(%v>1,%s,MAX(0,%v+%v))", stepped, above, least, s.more).Int(r.got.Packs)
	}})
	from = add(col{Title: "Price from", Unit: "packs", Width: 9, Style: table.IntStyle, Cell: func(p pen, r *orderRow) {
		p.Formula(`IF(%s="incremental",%s,LOOKUP(MAX(%v,%s),%s))`, whole(in.scheme, r), step(in.from, r), s.all, whole(in.from, r), all(in.from, r)).Int(r.from)
	}})
	rate = add(col{Title: "Rate", Unit: b.p.Bid.Currency + " for one", Width: 12, Style: shown(table.Number(6)), Cell: func(p pen, r *orderRow) {
		p.By(in.rate[r.got.Currency]).Dec(r.got.Rate)
	}})

	s.no = add(col{Title: itemNo, Width: 7, Style: table.IntStyle, Cell: func(p pen, r *orderRow) { p.Int(b.number[d.item(r).Code]) }})
	s.group = add(col{Title: "Supplier and currency no.", Width: 9, Style: table.IntStyle, Cell: func(p pen, r *orderRow) { p.Int(r.group) }})

	s.leaf = newLeaf(sheetOrder, "Order", b.orderUnder(), s.rows.Columns()[:s.look.Column()-1]) // as wide as what is printed
	s.note("How the packs come about stands beside it, from column " + table.ColumnName(cover.Column()) + " on: whole packs that cover the need, and where fewer or more cost less, how many.")
	s.Blank(1)
	s.columns = s.rows.Columns()
	begin(s.leaf, s.rows, len(d.rows))
	return s
}

// moreColumn is how far the packs of a line depart from those that cover its need,
// which a buyer may set by hand.
func (s *ordered) moreColumn() table.Col[*orderRow] {
	return table.Col[*orderRow]{Title: "Adjust packs", Width: 11, Style: byHandStyle, Cell: func(p pen, r *orderRow) {
		s.open = append(s.open, table.Validation{Area: table.One(p.At()), Min: math.Inf(-1), Max: math.Inf(1), Whole: true,
			Title: "More or fewer packs", Prompt: "Packs beyond those that cover the need (a price break), or fewer where another line covers the rest."})
		if r.step > 1 {
			p.As(table.TextStyle).Text("")
			return
		}
		p.Int(r.more)
	}}
}

// orderWrongs are what may be wrong with the packs of a line.
func (d *desk) orderWrongs(p pen, r *orderRow, prices, most string) []wrong {
	o, packs := r.offer, p.Beside(d.order.all)
	out := []wrong{
		{fmt.Sprintf("COUNTIF(%s,\">0\")<%d", prices, len(o.Prices)), false, "a price is missing or 0"},
		{fmt.Sprintf("AND(ISNUMBER(%[2]s),%[1]s>%[2]s)", packs, most), o.Available > 0 && r.got.Packs > o.Available, fmt.Sprintf("more than the %d packs that can be had", o.Available)},
		{fmt.Sprintf("%s<>INT(%s)", packs, packs), false, "not in whole packs"},
	}
	if carton := max(1, o.Carton); carton > 1 {
		out = append(out, wrong{fmt.Sprintf("MOD(%s,%d)<>0", packs, carton), r.got.Packs%carton != 0, fmt.Sprintf("not in whole cartons of %d", carton)})
	}
	if least := leastPacks(o); least > 1 {
		out = append(out, wrong{fmt.Sprintf("AND(%[1]s>0,%[1]s<%[2]d)", packs, least), r.got.Packs > 0 && r.got.Packs < least, fmt.Sprintf("fewer than the minimum order of %d packs", least)})
	}
	return out
}

// item is what a line of the order buys.
func (d *desk) item(r *orderRow) *catalog.Item { return d.p.Orders[r.need].Need.Item }

// coveredAbove is what the lines above a row order of the same item.
func (s *ordered) coveredAbove(row int) string {
	above := func(r table.Ref) string { return r.In(s.rows.HeadRow()).AbsRow() + ":" + r.In(row-1).String() }
	return sumOf(above(s.quantity), above(s.no), s.no.In(row).String())
}

// orderSheet is the order, with what it costs by supplier and currency.
func (d *desk) orderSheet() *table.Sheet {
	s := d.order
	for i := range d.rows {
		put(s.leaf, s.rows, &d.rows[i])
	}
	d.materials = d.define(materialsTotal, s.base.Foot().On(sheetOrder), s.base.Sum())
	total := s.rows.Foot(table.Total)
	total.Cells = total.Cells[:s.why.Column()]
	s.AddRow(total)
	drawn := sum(d.p.Orders, func(o estimate.ItemOrder) decimal.Decimal { return o.Charge.Drawn })
	if drawn.IsPositive() {
		s.AddRow(s.rows.Line(s.Next(), s.base, look(table.Plain), func(in func(table.Ref) pen) {
			in(s.name).Text("Drawn from the store beside, at " + d.p.Catalog.Settings.StockPrice)
			in(s.base).In(d.money()).By(d.needs.drawn.Foot().On(sheetNeeds)).Dec(drawn)
		}))
	}
	d.bySupplier(s)
	d.charges(s)
	d.calledOff(s)
	d.onOrder(s)
	sheet := s.headed(d.page(true), 2)
	sheet.Protected = true
	sheet.PrintArea = table.Cells(1, 1, s.look.Column()-1, s.Next()-1) // reasons and checks are read on the screen
	sheet.Page.Margins = narrowMargins
	return sheet
}

func sumBase(rows []orderRow) decimal.Decimal {
	return sum(rows, func(r orderRow) decimal.Decimal { return r.base })
}

func (b *book) orderUnder() string {
	if b.p.Dates.Need.IsZero() {
		return "Sorted by supplier. No need date is known, so nothing is said on when to order and on shelf life."
	}
	days := ""
	for _, s := range b.p.Supply.Suppliers {
		counts := "working days"
		if !s.WorkingDays {
			counts = "calendar days"
		}
		if days += cmp.Or(strings.Repeat(", ", min(len(days), 1)), "") + s.Supplier + " " + counts; len(s.Closed) > 0 {
			days += " without its closures"
		}
	}
	days = cmp.Or(days, "working days")
	return fmt.Sprintf("Sorted by the last day on which each line can be ordered, then by supplier. Goods must be there on %s (%s); the work ends on %s. Lead times count %s.", day(b.p.Dates.Need), b.p.Dates.From, day(b.p.Dates.End), days)
}

// orderBy is the formula of the last day to order from a supplier, of its lead
// time: days on which it is closed do not count.
func (b *book) orderBy(supplier string) string {
	t := b.p.Terms(supplier)
	var closed []string
	for _, s := range t.Closed {
		for d := s.From; !d.After(s.To) && len(closed) < mostClosed; d = d.AddDate(0, 0, 1) {
			closed = append(closed, strconv.Itoa(int(table.Day(d, table.Style{}).Num)))
		}
	}
	holidays := ""
	if len(closed) > 0 {
		holidays = ",{" + strings.Join(closed, ",") + "}"
	}
	switch {
	case t.WorkingDays:
		return "IF(%[1]s=0,WORKDAY(need_date+1,-1" + holidays + "),WORKDAY(need_date,-%[1]s" + holidays + "))"
	case holidays != "": // no day of the week is free
		return `IF(%[1]s=0,WORKDAY.INTL(need_date+1,-1,"0000000"` + holidays + `),WORKDAY.INTL(need_date,-%[1]s,"0000000"` + holidays + "))"
	}
	return "need_date-%s"
}

// mostClosed is how many days of a supplier's closures a formula lists.
const mostClosed = 366

// deliveriesOf are the deliveries of a line.
func (b *book) deliveriesOf(r *orderRow) (out []estimate.Delivery) {
	for _, d := range b.p.Orders[r.need].Deliveries {
		if d.Line == r.line {
			out = append(out, d)
		}
	}
	return out
}

// keeps says how long goods last that are bought for the need date, or in how
// many deliveries they come where they do not last so long.
func keeps(p pen, l *order.Line, deliveries []estimate.Delivery, need time.Time) {
	switch {
	case len(deliveries) > 1:
		p.As(look(table.Caution).Wrapped()).Text(fmt.Sprintf("%d deliveries, see below", len(deliveries)))
	case len(deliveries) == 1 && l.Shelf.Checked && deliveries[0].After > 0: // used late, called off late
		p.As(look(table.Caution).Wrapped()).Text(fmt.Sprintf("%s, delivered on %s", day(l.Shelf.Until.Add(deliveries[0].Day.Sub(need))), day(deliveries[0].Day)))
	case !l.Shelf.Checked:
		p.As(table.TextStyle).Text("—")
	case l.Shelf.OK:
		p.Day(l.Shelf.Until)
	default:
		p.As(look(table.Caution).Wrapped()).Text(day(l.Shelf.Until) + " TOO SHORT")
	}
}

// why is the reason of a line in words.
func (b *book) why(r *orderRow) string {
	if r.step > 1 {
		return fmt.Sprintf("price of the packs from %d on; the packs before stand in the row above", r.from)
	}
	return cmp.Or(reasonsOf(b.p.Orders[r.need], r.line), "single source, no surplus")
}

// group is what is ordered from one supplier in one currency.
type group struct {
	supplier, currency string
	first              time.Time
	lines              int
	cost, base         decimal.Decimal
}

// groupRows groups the lines by supplier and currency, and numbers them.
func groupRows(rows []orderRow) []*group {
	var groups []*group
	of := func(r *orderRow) func(*group) bool {
		return func(g *group) bool { return g.supplier == r.got.Supplier && g.currency == r.got.Currency }
	}
	for i := range rows {
		if r := &rows[i]; !slices.ContainsFunc(groups, of(r)) {
			groups = append(groups, &group{supplier: r.got.Supplier, currency: r.got.Currency, first: r.got.LatestOrder})
		}
	}
	slices.SortStableFunc(groups, func(x, y *group) int {
		return cmp.Or(strings.Compare(x.supplier, y.supplier), strings.Compare(x.currency, y.currency))
	})
	for i := range rows {
		r := &rows[i]
		at := slices.IndexFunc(groups, of(r))
		g := groups[at]
		if r.group = at + 1; r.step == 1 {
			g.lines++
		}
		g.cost, g.base = g.cost.Add(r.cost), g.base.Add(r.base)
	}
	return groups
}

// bySupplier sums the order up by supplier and currency.
func (d *desk) bySupplier(s *ordered) {
	groups := groupRows(d.rows)
	s.Blank(1)
	s.AddRow(table.Spread("By supplier and currency", look(table.Heading), s.why.Column()))
	if len(groups) == 0 {
		s.note("Nothing has to be bought.")
		return
	}
	first, sum := s.Next(), decimal.Zero
	plain := look(table.Subtotal)
	for i, g := range groups {
		total := func(p pen, column table.Ref) pen {
			return p.By(sumOf(column.Rows().Abs(), s.group.Rows().Abs(), strconv.Itoa(i+1)))
		}
		s.AddRow(s.rows.Line(s.Next(), s.base, plain, func(in func(table.Ref) pen) {
			if g.first.IsZero() {
				in(s.by).Text("not known")
			} else {
				in(s.by).As(plain.In(table.Date).To(table.Left)).Day(g.first)
			}
			in(s.supplier).Text(g.supplier)
			in(s.name).Text(countOf(g.lines, "line", "lines; the first day is the earliest of them"))
			in(s.currency).As(plain.To(table.Centre)).Text(g.currency)
			total(in(s.cost).In(d.priceFormat(g.currency, decimal.Zero)), s.cost).Dec(g.cost)
			total(in(s.base).In(d.money()), s.base).Dec(g.base)
		}))
		sum = sum.Add(g.base)
	}
	area := s.base.Part(first, s.Next()-1)
	s.AddRow(s.rows.Line(s.Next(), s.base, table.Style{}, func(in func(table.Ref) pen) {
		in(s.name).As(look(table.Label)).Text("Suppliers add up to the order")
		s.adds(in(s.base), amount{"SUM(" + area.First.String() + ":" + area.Last.String() + ")", sum}, d.materials, d.p.Bid.Minor)
	}))
}
