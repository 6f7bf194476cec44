package export

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/shopspring/decimal"

	"wraptally/estimate"
	"wraptally/estimate/qty"
	"wraptally/export/table"
)

// termName is the name in formulas of a term of the n-th supplier that is ordered from.
func termName(term string, n int) string { return fmt.Sprintf("%s_%d", term, n+1) }

// chargeName is the name in formulas of a line of the build-up that a supplier charges.
func chargeName(kind string, n int) string { return termName("charged_"+kind, n) }

// chargedBy finds what a line of the build-up stands for among what suppliers
// charge; empty where it is none of that.
func (b *book) chargedBy(code string) string {
	for n := range b.p.Supply.Suppliers {
		for _, l := range b.p.Supply.Suppliers[n].Lines() {
			if l.Code == code {
				kind, _, _ := strings.Cut(code, "-")
				return chargeName(kind, n)
			}
		}
	}
	return ""
}

// termFacts are the terms of the suppliers that something is ordered from.
func (in *inputs) termFacts() (facts []fact) {
	for n, s := range in.b.p.Supply.Suppliers {
		add := func(term, title string, v decimal.Decimal, what string) {
			note := "table suppliers, in the currency of the bid"
			if slices.Contains(s.Assumed, what) {
				note = "NOT KNOWN: taken from the settings order.…_unknown; ask the supplier"
			}
			facts = append(facts, fact{name: termName(term, n), title: s.Supplier + ": " + title, value: v, format: in.b.money(), unit: in.b.p.Bid.Currency, note: note})
		}
		add("delivery", "charge for a delivery", s.Charge, "delivery")
		add("free_from", "value of the goods from which the first delivery is free; 0: never", s.FreeFrom, "")
		add("least_order", "minimum value of an order; what an order falls short of it is charged", s.Minimum, "minimum order")
		add("hazard", "surcharge for a delivery with hazardous goods", s.PerHazard, "hazardous goods")
		count := func(term, title string, v int) {
			facts = append(facts, fact{name: termName(term, n), title: s.Supplier + ": " + title, value: qty.Whole(v), format: table.Number(0), unit: "deliveries", note: "plan and shelf life"})
		}
		count("deliveries", "deliveries", s.Deliveries)
		count("hazard_deliveries", "of them with hazardous goods", s.Hazardous)
	}
	return facts
}

// supplierRow is a supplier in the order of those that are ordered from.
type supplierRow struct {
	estimate.SupplierOrder
	n int
}

// charges adds up what suppliers charge beside the goods.
func (d *desk) charges(s *ordered) {
	var rows []supplierRow
	for n, v := range d.p.Supply.Suppliers {
		rows = append(rows, supplierRow{v, n})
	}
	if len(rows) == 0 {
		return
	}
	type col = table.Col[supplierRow]
	inMoney := shown(d.money())
	t := table.NewTable[supplierRow](sheetOrder)
	t.Add(col{Title: "Supplier", Span: 2, Style: table.TextStyle, Foot: foot("Total"), Cell: func(p pen, r supplierRow) { p.Text(r.Supplier) }})
	goods := t.Add(col{Title: "Goods", Unit: d.p.Bid.Currency, Style: inMoney, Cell: func(p pen, r supplierRow) {
		p.By(d.goodsOf(r.Supplier)).Dec(r.Goods)
	}})
	charged := func(title, kind, formula string, amount func(r supplierRow) decimal.Decimal) {
		t.Add(col{Title: title, Unit: d.p.Bid.Currency, Style: inMoney, Sums: true, Cell: func(p pen, r supplierRow) {
			v := amount(r)
			if v.IsPositive() {
				d.define(chargeName(kind, r.n), p.At().On(sheetOrder), v)
			}
			p.Formula(strings.ReplaceAll(formula, "#", fmt.Sprint(r.n+1)), goods).Dec(v)
		}})
	}
	charged("Delivery", "delivery", "IF(%[1]v>0,IF(AND(free_from_#>0,%[1]v>=free_from_#),0,delivery_#)+(deliveries_#-1)*delivery_#,0)", func(r supplierRow) decimal.Decimal { return r.Delivery })
	t.Add(col{Title: "Terms", Style: table.WrapStyle, Cell: func(p pen, r supplierRow) { p.Text(d.termsText(&r.SupplierOrder)) }})
	t.Add(col{Title: "Times", Style: table.IntStyle, Cell: func(p pen, r supplierRow) { p.By(termName("deliveries", r.n)).Int(r.Deliveries) }})
	charged("Hazard", "hazardous", "IF(%[1]v>0,hazard_#*hazard_deliveries_#,0)", func(r supplierRow) decimal.Decimal { return r.Surcharge })
	charged("Short of the minimum order", "shortfall", "IF(%[1]v>0,MAX(0,least_order_#-%[1]v),0)", func(r supplierRow) decimal.Decimal { return r.Shortfall })
	s.Blank(1)
	s.AddRow(table.Spread("What suppliers charge beside the goods (lines of the sheet "+sheetCost+", stage freight)", look(table.Heading), s.why.Column()))
	list(s.leaf, t, rows)
	s.AddRow(t.Foot(table.Total))
	saved := ""
	if more := d.p.Supply.Apart.Sub(d.p.Supply.Cost); more.IsPositive() {
		saved = fmt.Sprintf(" Each item bought as if it were alone would cost %s %s more.", money(more, d.p.Bid.Minor), d.p.Bid.Currency)
	}
	s.note(fmt.Sprintf("Goods and charges %s %s: %s, for these needs.%s", money(d.p.Supply.Cost, d.p.Bid.Minor), d.p.Bid.Currency, d.p.Supply.Verdict(), saved))
}

// goodsOf sums the lines of a supplier, in each currency by the number of the two.
func (d *desk) goodsOf(supplier string) string {
	var sums []string
	seen := map[int]bool{}
	for i := range d.rows {
		if r := &d.rows[i]; r.got.Supplier == supplier && !seen[r.group] {
			seen[r.group] = true
			sums = append(sums, sumOf(d.order.base.Rows().Abs(), d.order.group.Rows().Abs(), strconv.Itoa(r.group)))
		}
	}
	return strings.Join(sums, "+")
}

// termsText says what a supplier charges and asks for.
func (b *book) termsText(s *estimate.SupplierOrder) string {
	say := func(d decimal.Decimal) string { return money(d, b.p.Bid.Minor) }
	text := say(s.Charge) + " a delivery"
	if s.FreeFrom.IsPositive() {
		text += ", the first free from " + say(s.FreeFrom)
	}
	if s.Minimum.IsPositive() {
		text += "; minimum order " + say(s.Minimum)
	}
	if s.PerHazard.IsPositive() {
		text += "; hazardous " + say(s.PerHazard)
	}
	if len(s.Assumed) > 0 {
		text += ". NOT KNOWN, assumed: " + strings.Join(s.Assumed, ", ")
	}
	return text
}

// calledOff lists the deliveries of what does not come at once.
func (d *desk) calledOff(s *ordered) {
	type call struct {
		*orderRow
		estimate.Delivery
	}
	var rows []call
	for i := range d.rows {
		r := &d.rows[i]
		if list := d.deliveriesOf(r); r.step == 1 && (len(list) > 1 || len(list) == 1 && list[0].After > 0) {
			for _, v := range list {
				rows = append(rows, call{r, v})
			}
		}
	}
	if len(rows) == 0 {
		return
	}
	type col = table.Col[call]
	t := table.NewTable[call](sheetOrder)
	t.Add(col{Title: "Deliver by", Style: dayStyle, Cell: func(p pen, c call) { writeDay(p, c.Day, fmt.Sprintf("day %d", c.After+1)) }})
	t.Add(col{Title: "Supplier", Style: table.TextStyle, Cell: func(p pen, c call) { p.Text(c.got.Supplier) }})
	t.Add(col{Title: "Part code", Style: look(table.Code), Cell: func(p pen, c call) { p.Text(c.got.Part) }})
	t.Add(col{Title: "Item", Style: look(table.Code), Cell: func(p pen, c call) { p.Text(d.item(c.orderRow).Code) }})
	t.Add(col{Title: "Name", Style: table.WrapStyle, Cell: func(p pen, c call) { p.Text(d.item(c.orderRow).Name) }})
	t.Add(col{Title: "Packs", Span: 2, Style: table.IntStyle, Cell: func(p pen, c call) { p.Int(c.Delivery.Packs) }})
	s.Blank(1)
	s.AddRow(table.Spread("Called off: it does not keep as long as the work lasts, or may not lie in the store", look(table.Heading), s.why.Column()))
	list(s.leaf, t, rows)
}
