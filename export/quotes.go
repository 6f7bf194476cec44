package export

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate"
	"wraptally/estimate/order"
	"wraptally/export/table"
)

// SideBySide is the document that sets all suppliers side by side on the same
// quantities, with what each quote leaves out; for the buyer alone, since it shows
// everybody's prices.
func SideBySide(p *estimate.Campaign, opt Options, quotes []catalog.Quote) (Paper, error) {
	b := newBook(p, opt, nil)
	alone, err := p.Suppliers()
	if err != nil {
		return Paper{}, err
	}
	c := &comparison{b, alone, quotes}
	sheet := func() *table.Workbook {
		t := c.items()
		l := newLeaf("Comparison", "Comparison of quotes", "For the buyer alone: it shows every supplier's prices. Each supplier is priced on the same needs, in its own packs, as if it delivered all that it can; the mix is what is ordered.", t.Columns())
		l.note("Date: " + cmp.Or(day(b.opt.Printed), "not known, so that no validity and no age of a rate is judged") + ". Prices without a quote are those of the catalogue.")
		section(l, "Goods", t, c.lines(), "Nothing has to be bought.")
		l.AddRow(t.Foot(table.Total))
		c.landed(l)
		c.rates(l)
		return b.bind("Comparison of quotes", l.headed(b.page(true), 0))
	}
	const name = "comparison"
	return Paper{name, sheet, func(out io.Writer) error { return plainCSV(out, name, c.items(), c.lines()) }}, nil
}

// comparison is what is set side by side.
type comparison struct {
	*book
	alone  []estimate.Alone
	quotes []catalog.Quote
}

// lines are the places of the orders of what has to be bought.
func (c *comparison) lines() (out []int) {
	for i := range c.p.Orders {
		if c.p.Orders[i].Net.IsPositive() {
			out = append(out, i)
		}
	}
	return out
}

// items declares the table of items, with columns for each supplier.
func (c *comparison) items() *table.Table[int] {
	type col = table.Col[int]
	orders, minor, money := c.p.Orders, c.p.Bid.Minor, shown(c.money())
	apart := table.WrapStyle.To(table.Centre) // from the amounts before it
	t := table.NewTable[int]("Comparison")
	t.Add(col{Title: "Our item", Width: 15, Style: look(table.Code), Foot: foot("Total"), Cell: func(p pen, i int) { p.Text(orders[i].Need.Item.Code) }})
	t.Add(col{Title: "Description", Width: 26, Style: table.WrapStyle, Cell: func(p pen, i int) { p.Text(orders[i].Need.Item.Name) }})
	t.Add(col{Title: "Quantity", Width: 8.5, Style: table.IntStyle, Cell: func(p pen, i int) { p.In(decimalsOf(orders[i].Net)).Dec(orders[i].Net) }})
	t.Add(col{Title: "Unit", Width: 6.5, Style: unitStyle, Cell: func(p pen, i int) { p.Text(orders[i].Need.Item.Unit) }})
	for n := range c.alone {
		a := &c.alone[n]
		t.Add(col{Title: a.Supplier, Unit: "packs at price", Width: 21, Style: apart, Cell: func(p pen, i int) { p.Text(c.terms(a, i)) }})
		t.Add(col{Title: a.Supplier, Unit: c.p.Bid.Currency, Width: 11, Style: money, Sums: true, Cell: func(p pen, i int) {
			if o := a.Orders[i]; o != nil {
				p.Dec(estimate.ItemOrder{Order: *o}.Cost(minor))
			}
		}})
	}
	t.Add(col{Title: "Mix chosen", Unit: c.p.Bid.Currency, Width: 11, Style: money, Sums: true, Cell: func(p pen, i int) { p.Dec(orders[i].Cost(minor)) }})
	t.Add(col{Title: "Mix chosen", Unit: "from", Width: 13, Style: apart, Cell: func(p pen, i int) { p.Text(chosenFrom(&orders[i])) }})
	t.Add(col{Title: "What quotes leave out, and what is taken", Width: 40, Style: table.WrapStyle, Cell: func(p pen, i int) { p.Text(c.missing(orders[i].Need.Item.Code)) }})
	return t
}

// terms is how a supplier would deliver an item, or why it does not.
func (c *comparison) terms(a *estimate.Alone, i int) string {
	o := a.Orders[i]
	if o == nil {
		at := slices.IndexFunc(c.quotes, func(q catalog.Quote) bool {
			return q.Supplier == a.Supplier && q.Item == c.p.Orders[i].Need.Item.Code
		})
		if at >= 0 && c.quotes[at].Answer != catalog.Quoted {
			return string(c.quotes[at].Answer)
		}
		return a.Lacks[i]
	}
	var parts []string
	for k := range o.Lines {
		l := &o.Lines[k]
		for _, tier := range l.Tiers {
			parts = append(parts, fmt.Sprintf("%d × %s at %s %s", tier.Packs, l.PackQuantity, tier.Price, l.Currency))
		}
	}
	return strings.Join(parts, "; ")
}

// chosenFrom names the suppliers of an order.
func chosenFrom(o *estimate.ItemOrder) string {
	return strings.Join(eachOnce(o.Lines, func(l order.Line) string { return l.Supplier }), ", ")
}

// missing is what the quotes of an item leave out.
func (c *comparison) missing(item string) string {
	var parts []string
	for i := range c.quotes {
		q := &c.quotes[i]
		if q.Item != item {
			continue
		}
		said := slices.Clone(q.Taken)
		if q.Answer != catalog.Quoted {
			said = append([]string{string(q.Answer)}, said...)
		}
		if q.Remarks != "" {
			said = append(said, "remark: "+q.Remarks)
		}
		if len(said) > 0 {
			parts = append(parts, q.Supplier+": "+strings.Join(said, ", "))
		}
	}
	return strings.Join(parts, "; ")
}

// BeyondQuotes says what is ordered of suppliers beyond the quotes they sent: items
// on which a quote is silent, so that the catalogue's price stands, more than it was
// for, and what it remarks.
func BeyondQuotes(p *estimate.Campaign, quotes []catalog.Quote) (out []string) {
	for i := range p.Orders {
		o := &p.Orders[i]
		item := o.Need.Item
		for _, supplier := range eachOnce(o.Lines, func(l order.Line) string { return l.Supplier }) {
			if !slices.ContainsFunc(quotes, func(q catalog.Quote) bool { return q.Supplier == supplier }) {
				continue
			}
			at := slices.IndexFunc(quotes, func(q catalog.Quote) bool { return q.Supplier == supplier && q.Item == item.Code })
			if at < 0 {
				out = append(out, fmt.Sprintf("%s: the quote does not name %s, which is ordered at the catalogue's price; ask for it", supplier, item.Code))
				continue
			}
			var units decimal.Decimal // no more than is needed, whatever the packs and the minimum order
			for k := range o.Lines {
				if l := &o.Lines[k]; l.Supplier == supplier {
					units = units.Add(l.Quantity)
				}
			}
			units = decimal.Min(units, o.Net)
			q := &quotes[at]
			if q.Quantity.Valid && units.GreaterThan(q.Quantity.Decimal) {
				out = append(out, fmt.Sprintf("%s: %s %s of %s are ordered, the quote is for %s; ask whether it delivers so many, by when and at what price", supplier, units, item.Unit, item.Code, q.Quantity.Decimal))
			}
			if q.Remarks != "" {
				out = append(out, fmt.Sprintf("%s: remarks of %s: %s", supplier, item.Code, q.Remarks))
			}
		}
	}
	slices.Sort(out)
	return out
}

// landedRow is a supplier alone, or the mix.
type landedRow struct {
	name, lacks                           string
	goods, delivery, shortfall, surcharge decimal.Decimal
	lines, of                             int
}

// landed is what each supplier comes to with what it charges.
func (c *comparison) landed(l *leaf) {
	mix := landedRow{name: "Mix chosen", lacks: c.p.Supply.Verdict(), lines: len(c.lines()), of: len(c.lines())}
	for i := range c.p.Supply.Suppliers {
		s := &c.p.Supply.Suppliers[i]
		mix.goods, mix.delivery = mix.goods.Add(s.Goods), mix.delivery.Add(s.Delivery)
		mix.shortfall, mix.surcharge = mix.shortfall.Add(s.Shortfall), mix.surcharge.Add(s.Surcharge)
	}
	var rows []landedRow
	for n := range c.alone {
		a := &c.alone[n]
		r := landedRow{name: a.Supplier, goods: a.Goods, delivery: a.Delivery, shortfall: a.Shortfall, surcharge: a.Surcharge, lines: mix.of - len(a.Lacks), of: mix.of}
		var lacks []string
		for i := range c.p.Orders {
			if why, ok := a.Lacks[i]; ok {
				lacks = append(lacks, c.p.Orders[i].Need.Item.Code+" ("+why+")")
			}
		}
		switch {
		case len(lacks) == 0:
			r.lacks = "can deliver all"
		default:
			const most = 6
			r.lacks = fmt.Sprintf("cannot deliver all; lacks %d: %s", len(lacks), strings.Join(lacks[:min(most, len(lacks))], ", "))
			if len(lacks) > most {
				r.lacks += ", … (see above)"
			}
		}
		if len(a.Assumed) > 0 {
			r.lacks += ". Its charges are not known and taken from the settings: " + strings.Join(a.Assumed, ", ")
		}
		rows = append(rows, r)
	}
	rows = append(rows, mix)
	type col = table.Col[landedRow]
	money := shown(c.money())
	t := table.NewTable[landedRow]("Comparison")
	amount := func(title string, v func(landedRow) decimal.Decimal) table.Ref {
		return t.Add(col{Title: title, Unit: c.p.Bid.Currency, Style: money, Cell: func(p pen, r landedRow) { p.Dec(v(r)) }})
	}
	t.Add(col{Title: "From", Style: table.TextStyle, Cell: func(p pen, r landedRow) { p.Text(r.name) }})
	t.Add(col{Title: "Lines", Style: table.TextStyle, Cell: func(p pen, r landedRow) { p.Text(fmt.Sprintf("%d of %d", r.lines, r.of)) }})
	goods := t.Add(col{Title: "Goods", Unit: c.p.Bid.Currency, Span: 2, Style: money, Cell: func(p pen, r landedRow) { p.Dec(r.goods) }})
	const before = 7 // columns
	delivery := amount("Delivery", func(r landedRow) decimal.Decimal { return r.delivery })
	least := amount("Short of the minimum order", func(r landedRow) decimal.Decimal { return r.shortfall })
	hazard := amount("Hazard", func(r landedRow) decimal.Decimal { return r.surcharge })
	t.Add(col{Title: "Landed", Unit: c.p.Bid.Currency, Style: money, Cell: func(p pen, r landedRow) {
		p.Formula("%v+%v+%v+%v", goods, delivery, least, hazard).Dec(r.goods.Add(r.delivery).Add(r.shortfall).Add(r.surcharge))
	}})
	t.Add(col{Title: "Alone it can deliver all, or lacks", Span: len(l.columns) - before - 1, Style: table.WrapStyle.To(table.Left), Cell: func(p pen, r landedRow) { p.Text(r.lacks) }})
	section(l, "Landed cost: goods with what suppliers charge beside them", t, rows, "")
}

// rates lists the exchange rates by which the prices are compared.
func (c *comparison) rates(l *leaf) {
	type rate struct {
		*catalog.Currency
		day time.Time
	}
	var rows []rate
	for i := range c.p.Catalog.Currencies {
		cur := &c.p.Catalog.Currencies[i]
		if cur.Code != c.p.Bid.Currency && slices.ContainsFunc(c.p.Catalog.Offers, func(o catalog.Offer) bool { return o.Currency == cur.Code }) {
			rows = append(rows, rate{cur, c.p.Catalog.RateDay(cur)})
		}
	}
	type col = table.Col[rate]
	t := table.NewTable[rate]("Comparison")
	t.Add(col{Title: "Currency", Style: look(table.Code), Cell: func(p pen, r rate) { p.Text(r.Code) }})
	t.Add(col{Title: "Where the rate comes from", Style: table.WrapStyle, Cell: func(p pen, r rate) { p.Text(r.Basis) }})
	t.Add(col{Title: "Rate", Unit: c.p.Bid.Currency, Span: 2, Style: table.IntStyle, Cell: func(p pen, r rate) { p.In(table.Number(4)).Dec(r.Rate) }})
	t.Add(col{Title: "Day of the rate", Style: dayStyle, Cell: func(p pen, r rate) { writeDay(p, r.day, "NOT KNOWN") }})
	section(l, "Exchange rates", t, rows, "All prices are in the currency of the bid.")
}
