package export

import (
	"cmp"
	"fmt"
	"io"
	"iter"
	"slices"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate"
	"wraptally/estimate/order"
	"wraptally/estimate/qty"
	"wraptally/export/table"
	"wraptally/export/xlsx"
)

// Buying are the words of the buyer's documents that are the campaign's own; the
// firm stands in the settings offer.firm and offer.firm_address, its terms in the
// table terms. What is blank is marked on each document as still to be filled in.
type Buying struct {
	Deliver string // address
	Number  string // of purchase orders; each adds its own -1, -2 …
}

// toFill stands in a document where a word is missing.
const toFill = "TO BE FILLED IN"

// Paper is a document to be sent to one supplier.
type Paper struct {
	Name  string // of its files, without an ending
	Sheet func() *table.Workbook
	CSV   func(w io.Writer) error
}

// Write writes the document as a workbook.
func (d Paper) Write(w io.Writer) error { return xlsx.Write(w, d.Sheet()) }

// asked is a line of a request for quotation.
type asked struct {
	position int
	o        *estimate.ItemOrder
	offer    *catalog.Offer
}

// bought is a line of a purchase order: packs of one price that come on one day.
type bought struct {
	position  int
	o         *estimate.ItemOrder
	line      *order.Line
	packs     int
	tier      int // of the line, by whose price
	price     decimal.Decimal
	by        time.Time // zero: not known
	shelfDays int       // shelf life asked on delivery; 0: it does not expire, or no day is known
}

func (l bought) sum() decimal.Decimal { return l.price.Mul(qty.Whole(l.packs)) }

// until is the last day of use of what comes then; zero: it does not expire, or no
// day is known.
func (l bought) until(need time.Time) time.Time {
	if !l.line.Shelf.Checked {
		return time.Time{}
	}
	return l.line.Shelf.Until.Add(l.by.Sub(need))
}

// Papers are a request for quotation to each supplier that offers something which
// has to be bought, all for the same quantities, and a purchase order for each
// supplier and currency of the order. A document holds nothing of another supplier.
func Papers(p *estimate.Campaign, opt Options, w Buying) []Paper {
	b := newBook(p, opt, nil)
	var out []Paper
	names := map[string]bool{}
	for _, supplier := range suppliersOf(p) {
		if lines := askedOf(p, supplier); len(lines) > 0 {
			out = append(out, b.request(uniqueName("request-"+supplierWord(supplier), names), supplier, lines, w))
		}
	}
	number := 0
	for _, g := range boughtOf(p) {
		number++
		name := uniqueName("order-"+supplierWord(g.supplier)+"-"+strings.ToLower(supplierWord(g.currency)), names)
		out = append(out, b.purchase(name, fmt.Sprintf("%s-%d", cmp.Or(w.Number, toFill), number), g, w))
	}
	return out
}

// suppliersOf are all suppliers of the catalogue's offers, by name.
func suppliersOf(p *estimate.Campaign) []string {
	return slices.Sorted(slices.Values(eachOnce(p.Catalog.Offers, func(o catalog.Offer) string { return o.Supplier })))
}

// askedOf are the items to be bought that a supplier offers.
func askedOf(p *estimate.Campaign, supplier string) (lines []asked) {
	for i := range p.Orders {
		o := &p.Orders[i]
		if !o.Net.IsPositive() {
			continue
		}
		for _, offer := range p.Catalog.OffersOf(o.Need.Item.Code) {
			if offer.Supplier == supplier {
				lines = append(lines, asked{len(lines) + 1, o, offer})
			}
		}
	}
	return lines
}

// purchases are the lines ordered from one supplier in one currency.
type purchases struct {
	supplier, currency string
	lines              []bought
}

// boughtOf are the lines of all purchase orders, by supplier and currency.
func boughtOf(p *estimate.Campaign) (groups []*purchases) {
	for i := range p.Orders {
		o := &p.Orders[i]
		for k := range o.Lines {
			l := &o.Lines[k]
			at := slices.IndexFunc(groups, func(g *purchases) bool { return g.supplier == l.Supplier && g.currency == l.Currency })
			if at < 0 {
				at = len(groups)
				groups = append(groups, &purchases{supplier: l.Supplier, currency: l.Currency})
			}
			g := groups[at]
			for _, b := range parcels(p, o, k) {
				b.position = len(g.lines) + 1
				g.lines = append(g.lines, b)
			}
		}
	}
	slices.SortStableFunc(groups, func(x, y *purchases) int {
		return cmp.Or(strings.Compare(x.supplier, y.supplier), strings.Compare(x.currency, y.currency))
	})
	return groups
}

// parcels tell a line of the order apart by the day on which packs come and by
// their price.
func parcels(p *estimate.Campaign, o *estimate.ItemOrder, k int) (out []bought) {
	l := &o.Lines[k]
	var days []estimate.Delivery
	for _, d := range o.Deliveries {
		if d.Line == k {
			days = append(days, d)
		}
	}
	if len(days) == 0 {
		days = []estimate.Delivery{{Line: k, Day: p.Dates.Need, Packs: l.Packs}}
	}
	tier, left := 0, l.Tiers[0].Packs
	for i, d := range days {
		until := p.Dates.End // it must keep until the next delivery, the last until the work ends
		if i+1 < len(days) {
			until = days[i+1].Day
		}
		shelf := 0
		if o.Need.Item.ShelfDays > 0 && !d.Day.IsZero() && !until.IsZero() {
			shelf = int(until.Sub(d.Day).Hours()/24) + 1
		}
		for packs := d.Packs; packs > 0; {
			if left == 0 {
				tier++
				left = l.Tiers[tier].Packs
			}
			n := min(packs, left)
			out = append(out, bought{o: o, line: l, packs: n, tier: tier, price: l.Tiers[tier].Price, by: d.Day, shelfDays: shelf})
			packs, left = packs-n, left-n
		}
	}
	return out
}

// request is a request for quotation.
func (b *book) request(name, supplier string, lines []asked, w Buying) Paper {
	type col = table.Col[asked]
	declare := func() *table.Table[asked] {
		t := table.NewTable[asked]("Request")
		blank := func(title, unit string, width float64) {
			t.Add(col{Title: title, Unit: unit, Width: width, Style: look(table.FillIn)})
		}
		t.Add(col{Title: "Position", Width: 8, Style: table.IntStyle, Cell: func(p pen, l asked) { p.Int(l.position) }})
		t.Add(col{Title: "Supplier", Width: 14, Style: table.TextStyle, Cell: func(p pen, _ asked) { p.Text(supplier) }})
		t.Add(col{Title: "Our item", Width: 17, Style: look(table.Code), Cell: func(p pen, l asked) { p.Text(l.o.Need.Item.Code) }})
		t.Add(col{Title: "Your article", Width: 14, Style: look(table.Code), Cell: func(p pen, l asked) { p.Text(l.offer.PartCode) }})
		t.Add(col{Title: "Description", Width: 34, Style: table.WrapStyle, Cell: func(p pen, l asked) { p.Text(l.o.Need.Item.Name) }})
		t.Add(col{Title: "Quantity", Width: 9, Style: table.IntStyle, Cell: func(p pen, l asked) { p.In(decimalsOf(l.o.Net)).Dec(l.o.Net) }})
		t.Add(col{Title: "Unit", Width: 7, Style: unitStyle, Cell: func(p pen, l asked) { p.Text(l.o.Need.Item.Unit) }})
		t.Add(col{Title: "Pack", Width: 20, Style: table.WrapStyle, Cell: func(p pen, l asked) { p.Text(packText(l.offer, l.o.Need.Item)) }})
		t.Add(col{Title: "Wanted by", Width: 11.5, Style: dayStyle, Cell: func(p pen, l asked) { writeDay(p, b.p.Dates.Need, "not known") }})
		blank("Price", "of a pack", 11)
		blank("Currency", "", 9)
		blank("Your pack", "units", 10)
		blank("Minimum order", "packs", 9)
		blank("Lead time", "days", 9)
		blank("Shelf life left", "days", 10)
		blank("Valid until", "year-month-day", 12)
		blank("Remarks", "", 24)
		return t
	}
	sheet := func() *table.Workbook {
		t := declare()
		l := newLeaf("Request", "Request for quotation", "To "+supplier+". Please fill in the empty columns and send the workbook or the CSV back. This is not an order.", t.Columns())
		b.sender(l, w)
		l.Blank(1)
		list(l, t, lines)
		return b.bind("Request for quotation", l.headed(b.outward(true), 0))
	}
	return Paper{name, sheet, func(out io.Writer) error { return plainCSV(out, name, declare(), lines) }}
}

// purchase is a purchase order.
func (b *book) purchase(name, number string, g *purchases, w Buying) Paper {
	type col = table.Col[bought]
	format := b.priceFormat(g.currency, decimal.Zero)
	declare := func() *table.Table[bought] {
		t := table.NewTable[bought]("Order")
		t.Add(col{Title: "Position", Width: 8, Style: table.IntStyle, Foot: foot("Total"), Cell: func(p pen, l bought) { p.Int(l.position) }})
		t.Add(col{Title: "Order", Width: 12, Style: look(table.Code), Cell: func(p pen, _ bought) { p.Text(number) }})
		t.Add(col{Title: "Our item", Width: 17, Style: look(table.Code), Cell: func(p pen, l bought) { p.Text(l.o.Need.Item.Code) }})
		t.Add(col{Title: "Article", Width: 14, Style: look(table.Code), Cell: func(p pen, l bought) { p.Text(l.line.Part) }})
		t.Add(col{Title: "Description", Width: 34, Style: table.WrapStyle, Cell: func(p pen, l bought) { p.Text(l.o.Need.Item.Name) }})
		packs := t.Add(col{Title: "Packs", Width: 8, Style: table.IntStyle, Cell: func(p pen, l bought) { p.Int(l.packs) }})
		t.Add(col{Title: "Pack", Width: 20, Style: table.WrapStyle, Cell: func(p pen, l bought) { p.Text(packText(l.o.Offers[l.line.Offer], l.o.Need.Item)) }})
		price := t.Add(col{Title: "Price", Unit: "of a pack", Width: 11, Style: table.IntStyle, Cell: func(p pen, l bought) { p.In(b.priceFormat(g.currency, l.price)).Dec(l.price) }})
		t.Add(col{Title: "Sum", Unit: g.currency, Width: 13, Style: shown(format), Sums: true, Cell: func(p pen, l bought) {
			p.Formula("%v*%v", packs, price).Dec(l.sum())
		}})
		t.Add(col{Title: "Currency", Width: 9, Style: unitStyle, Cell: func(p pen, l bought) { p.Text(g.currency) }})
		t.Add(col{Title: "Deliver by", Width: 11.5, Style: dayStyle, Cell: func(p pen, l bought) { writeDay(p, l.by, "not known") }})
		t.Add(col{Title: "Shelf life asked", Unit: "days on delivery", Width: 12, Style: table.IntStyle, Cell: func(p pen, l bought) {
			switch {
			case l.shelfDays > 0:
				p.Int(l.shelfDays)
			case l.o.Need.Item.ShelfDays > 0:
				p.As(table.TextStyle).Text("to be agreed")
			default:
				p.As(table.TextStyle).Text("—")
			}
		}})
		return t
	}
	sheet := func() *table.Workbook {
		t := declare()
		l := newLeaf("Order", "Purchase order "+number, "To "+g.supplier+". A draft worked out from an estimate, to be checked and signed before it is sent.", t.Columns())
		b.sender(l, w)
		l.Blank(1)
		list(l, t, g.lines)
		l.AddRow(t.Foot(table.Total))
		l.Blank(1)
		terms := false
		for i := range b.p.Catalog.Terms {
			if t := &b.p.Catalog.Terms[i]; t.Part == "purchase" {
				l.note(t.Heading + ": " + t.Text)
				terms = true
			}
		}
		if !terms {
			l.note("Terms: " + toFill + ".")
		}
		l.note("Sums are of the goods, before tax; delivery and surcharges as agreed.")
		return b.bind("Purchase order "+number, l.headed(b.outward(true), 0))
	}
	return Paper{name, sheet, func(out io.Writer) error { return plainCSV(out, name, declare(), g.lines) }}
}

// sender writes who sends a document, where the goods go and its date.
func (b *book) sender(l *leaf, w Buying) {
	set := &b.p.Catalog.Settings
	from := cmp.Or(set.Firm, toFill)
	if set.FirmAddress != "" {
		from += ", " + set.FirmAddress
	}
	l.note("From: " + from + ".")
	l.note("Deliver to: " + cmp.Or(w.Deliver, toFill) + ".")
	l.note("Date: " + cmp.Or(day(b.opt.Printed), toFill) + ".")
}

// packText is a pack in words and units.
func packText(o *catalog.Offer, it *catalog.Item) string {
	return fmt.Sprintf("%s (%s %s)", o.PackName, o.PackQty, it.Unit)
}

// plainCSV writes a table as comma-separated text with its heads in one line each.
func plainCSV[T any](w io.Writer, name string, t *table.Table[T], values []T) error {
	t.Place(1, len(values))
	head := t.Head()
	for i := range head.Cells {
		head.Cells[i].Text = strings.ReplaceAll(head.Cells[i].Text, "\n", ", ")
	}
	var rows iter.Seq[table.Row] = func(yield func(table.Row) bool) {
		if yield(head) {
			t.Stream(slices.Values(values), yield)
		}
	}
	return table.WriteCSV(w, name, rows)
}

// supplierWord is a name as part of a file's name.
func supplierWord(s string) string {
	word := strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= '0' && r <= '9' {
			return r
		}
		return '-'
	}, strings.ToLower(s))
	return cmp.Or(strings.Trim(word, "-"), "supplier")
}

// uniqueName tells names apart that differ only in what supplierWord drops.
func uniqueName(name string, taken map[string]bool) string {
	got := name
	for n := 2; taken[got]; n++ {
		got = fmt.Sprintf("%s-%d", name, n)
	}
	taken[got] = true
	return got
}

// Overdue is a line of the order that would have had to be ordered before the
// date printed, of an item that nobody delivers sooner in time.
type Overdue struct {
	Item, Supplier string
	By             time.Time
	Start          time.Time // first day of the work with the goods, ordered on the printed date from this supplier
}

// OverdueLines are the lines of the order that are late on a day; a zero day
// finds none.
func OverdueLines(p *estimate.Campaign, today time.Time) (out []Overdue) {
	if today.IsZero() || p.Dates.Need.IsZero() {
		return nil
	}
	today = today.UTC().Truncate(24 * time.Hour)
	for i := range p.Orders {
		o := &p.Orders[i]
		for _, l := range o.Lines {
			if l.LatestOrder.IsZero() || !l.LatestOrder.Before(today) {
				continue
			}
			out = append(out, Overdue{Item: o.Need.Item.Code, Supplier: l.Supplier, By: l.LatestOrder, Start: p.Arrival(today, o.Offers[l.Offer])})
		}
	}
	return out
}
