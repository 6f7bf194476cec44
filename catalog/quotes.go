package catalog

import (
	"cmp"
	"fmt"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"wraptally/estimate/trace"
)

// QuoteRow is a line of a request for quotation as a supplier sends it back. The
// names of its columns are the headings of the request, without what stands below
// or behind them.
type QuoteRow struct {
	Position    string              `csv:"Position,optional" means:"number of the line"`
	Supplier    string              `csv:"Supplier" means:"to whom the request went"`
	Item        string              `csv:"Our item" means:"the item"`
	Article     string              `csv:"Your article,optional" means:"the supplier's code"`
	Description string              `csv:"Description,optional" means:"name of the item"`
	Quantity    decimal.NullDecimal `csv:"Quantity,optional" in:"(0 1e12]" means:"quantity asked, or what of it the supplier has"`
	Unit        string              `csv:"Unit,optional" means:"unit of the quantity"`
	Asked       string              `csv:"Pack,optional" means:"the pack asked"`
	Wanted      string              `csv:"Wanted by,optional" means:"day wanted"`
	Price       decimal.NullDecimal `csv:"Price,optional" in:"(0 1e12]" means:"of a pack; blank: not quoted"`
	Currency    string              `csv:"Currency,optional" means:"of the price, by ISO 4217"`
	Pack        decimal.Decimal     `csv:"Your pack,optional" in:"(0 1e9]" means:"units in a pack; blank: the pack asked"`
	Least       int                 `csv:"Minimum order,optional" unit:"packs" in:"[1 1e6]" means:"fewest packs of one order"`
	Lead        decimal.NullDecimal `csv:"Lead time,optional" unit:"days" in:"[0 3650]" whole:"days" means:"from order to delivery"`
	ShelfLeft   int                 `csv:"Shelf life left,optional" unit:"days" in:"(0 36500]" means:"guaranteed on arrival"`
	Until       time.Time           `csv:"Valid until,optional" means:"last day on which the price holds"`
	Remarks     string              `csv:"Remarks,optional" means:"anything else"`
}

// quoteBook holds the table of quotes.
type quoteBook struct {
	Rows []QuoteRow `table:"quotes" key:"Our_item" lax:"yes" means:"a line of a quote"`
}

var quoteForm = sentBack{def: declared(reflect.TypeFor[quoteBook]())[0], what: "quote", needs: []string{"Our item", "Price"}}

// Answer is what a supplier said of an item that it was asked for.
type Answer string

// The answers. Who has not answered is held to the catalogue.
const (
	Quoted    Answer = "quoted"
	NotQuoted Answer = "not quoted"
	Expired   Answer = "expired"
	OneSided  Answer = "not quoted, nor by others: as in the catalogue"
)

// Quote is an answer with its place and with what had to be taken for it.
type Quote struct {
	QuoteRow
	Place  trace.Place
	Answer Answer
	Taken  []string // what the quote does not say, and what is taken

	at func(field string) trace.Place
}

// Quotes are the answers of suppliers, by supplier and item, and what there is to
// say of them.
type Quotes struct {
	List []Quote
	Said []trace.Query
}

// WithQuotes reads requests for quotation that came back filled, workbooks and
// text files, and gives a catalogue in which they stand in place of the offers of
// the same supplier and item: an item without a price, or whose price no longer
// holds on the day, is not offered by that supplier, unless nobody else offers it.
// What a quote leaves out is taken at the worst that catalogue and settings know,
// and asked. A zero day judges no day. A *Faults error lists everything that is
// wrong; *OpenError says that a file cannot be read. c is not changed.
func (c *Catalog) WithQuotes(paths []string, day time.Time) (*Catalog, *Quotes, error) {
	faults := &Faults{Subject: "the quote"}
	if len(paths) > 1 {
		faults.Subject = "one of the quotes"
	}
	var quotes []Quote
	for _, path := range paths {
		list, err := c.readQuotes(path, faults)
		if err != nil {
			return nil, nil, err
		}
		quotes = append(quotes, list...)
	}
	checkTwice(quotes, faults)
	if err := faults.err(); err != nil {
		return nil, nil, err
	}
	slices.SortStableFunc(quotes, func(a, b Quote) int { // whatever the order of the files
		return cmp.Or(cmp.Compare(a.Supplier, b.Supplier), cmp.Compare(a.Item, b.Item))
	})
	q := &quoting{c: c, day: day, quotes: quotes}
	out := c.With(func(out *Catalog) {
		q.out = out
		q.judge()
		q.apply()
	})
	q.tell()
	return out, &Quotes{q.quotes, q.said}, nil
}

// readQuotes reads one file.
func (c *Catalog) readQuotes(path string, faults *Faults) (out []Quote, err error) {
	grids, err := quoteForm.grids(path, faults)
	if err != nil {
		return nil, err
	}
	before := faults.Total
	for _, g := range grids {
		have := &quoteBook{}
		l, k := quoteForm.read(g, have, c, faults)
		if l.broken {
			continue
		}
		for i := range have.Rows {
			k.checkQuote(i, &have.Rows[i])
			out = append(out, Quote{QuoteRow: have.Rows[i], Place: l.placeOf(i, "Price"), Answer: Quoted, at: func(field string) trace.Place { return l.placeOf(i, field) }})
		}
	}
	if len(out) == 0 && faults.Total == before {
		faults.add(trace.Place{File: filepath.Base(path)}, "quote-none", "", "the file holds no line of a request for quotation", "give the workbook or CSV of 'wraptally buy' with its headings, filled")
	}
	return out, nil
}

// checkQuote checks a line of a quote against the catalogue.
func (k *checker) checkQuote(i int, r *QuoteRow) {
	table := quoteForm.def.name
	var suppliers, asked []string
	for j := range k.c.Offers {
		suppliers = append(suppliers, k.c.Offers[j].Supplier)
	}
	switch it, ok := k.c.items[r.Item]; {
	case r.Item == "" || r.Supplier == "": // a fault of its own
		return
	case !slices.Contains(suppliers, r.Supplier):
		k.fault(table, i, "Supplier", "supplier-unknown", "no supplier of that name in the offers table", meant(r.Supplier, suppliers, "write the name as on the request, or add its offers to the catalogue"))
	case !ok:
		k.fault(table, i, "Our item", "item-unknown", "no item of that code in the items table", "write the code as on the request; take a line of the supplier's own out")
	case r.Unit != "" && !strings.EqualFold(r.Unit, it.Unit):
		k.fault(table, i, "Unit", "unit-other", "the quantity was asked in "+it.Unit, "give packs and price by "+it.Unit+", with the units of a pack under Your pack")
	default:
		for _, o := range k.c.OffersOf(r.Item) {
			asked = append(asked, o.Supplier)
		}
		if !slices.Contains(asked, r.Supplier) {
			k.fault(table, i, "Our item", "quote-unasked", r.Supplier+" was not asked for "+r.Item, "take the line out, or add an offer to the catalogue")
		}
	}
	if !r.Price.Valid {
		return
	}
	if _, ok := k.c.CurrencyOf(r.Currency); r.Currency == "" {
		k.fault(table, i, "Currency", "cell-blank", "a price without its currency", "write the currency, such as "+k.c.Currency().Code)
	} else if !ok {
		k.fault(table, i, "Currency", "currency-unknown", "no rate of that currency in the table currencies", "write it by its three letters, or add it with its rate and the rate's day")
	}
}

// checkTwice refuses a second line of a supplier for an item.
func checkTwice(quotes []Quote, faults *Faults) {
	seen := map[[2]string]trace.Place{}
	for _, q := range quotes {
		key := [2]string{q.Supplier, q.Item}
		if first, ok := seen[key]; ok && q.Item != "" {
			faults.add(q.at("Our item"), "quote-twice", q.Item, fmt.Sprintf("%s from %s is quoted twice, first at %s", q.Item, q.Supplier, first.String()), "take one line out")
			continue
		}
		seen[key] = q.Place
	}
}

// quoting puts quotes into a catalogue.
type quoting struct {
	c, out *Catalog
	day    time.Time
	quotes []Quote
	said   []trace.Query
}

// judge settles what each answer counts as.
func (q *quoting) judge() {
	gone := map[string]int{}
	for i := range q.quotes {
		r := &q.quotes[i]
		switch {
		case !r.Price.Valid:
			r.Answer = NotQuoted
		case !r.Until.IsZero() && !q.day.IsZero() && r.Until.Before(q.day.UTC().Truncate(24*time.Hour)):
			r.Answer = Expired
		}
		if r.Answer != Quoted {
			gone[r.Item]++
		}
	}
	for i := range q.quotes {
		r := &q.quotes[i]
		if r.Answer == NotQuoted && gone[r.Item] == len(q.c.OffersOf(r.Item)) {
			r.Answer = OneSided
		}
	}
}

// of is the quote of a supplier for an item; nil where there is none.
func (q *quoting) of(item, supplier string) *Quote {
	r, _ := first(q.quotes, func(v *Quote) bool { return v.Item == item && v.Supplier == supplier })
	return r
}

// stays reports whether the quote's price is used: it holds, or nobody else offers.
func (q *quoting) stays(r *Quote) bool {
	if r.Answer == Quoted {
		return true
	}
	if r.Answer != Expired {
		return false
	}
	return !slices.ContainsFunc(q.c.OffersOf(r.Item), func(o *Offer) bool {
		other := q.of(o.Item, o.Supplier)
		return other == nil || other.Answer == Quoted
	})
}

// apply replaces offers and prices.
func (q *quoting) apply() {
	var offers []Offer
	for _, o := range q.out.Offers {
		switch r := q.of(o.Item, o.Supplier); {
		case r == nil, r.Answer == OneSided:
			offers = append(offers, o)
		case q.stays(r):
			offers = append(offers, q.offer(&o, r))
		}
	}
	q.out.Offers = offers
	q.out.Prices = slices.DeleteFunc(q.out.Prices, func(p Price) bool { r := q.of(p.Item, p.Supplier); return r != nil && r.Answer != OneSided })
	for i := range q.quotes {
		if r := &q.quotes[i]; q.stays(r) {
			q.out.Prices = append(q.out.Prices, Price{Item: r.Item, Supplier: r.Supplier, FromPacks: 1, Price: r.Price.Decimal})
		}
	}
}

// offer is the catalogue's offer with what the quote says in its place.
func (q *quoting) offer(was *Offer, r *Quote) Offer {
	o := *was
	o.Currency, o.Scheme, o.Prices = r.Currency, "all-units", nil
	if r.Article != "" {
		o.PartCode = r.Article
	}
	taken := func(what string, args ...any) { r.Taken = append(r.Taken, fmt.Sprintf(what, args...)) }
	it := q.c.items[r.Item]
	if r.Pack.IsPositive() && !r.Pack.Equal(o.PackQty) {
		taken("pack of %s %s in place of %s", r.Pack, it.Unit, o.PackQty)
		packs := func(old int, up bool) int { // as many units in packs of the other size
			n := o.PackQty.Mul(decimal.NewFromInt(int64(old))).Div(r.Pack)
			if up {
				return int(n.Ceil().IntPart())
			}
			return max(min(old, 1), int(n.Floor().IntPart()))
		}
		o.Carton, o.MinPacks, o.Available = packs(o.Carton, true), packs(o.MinPacks, true), packs(o.Available, false)
		o.PackQty, o.PackName = r.Pack, fmt.Sprintf("pack of %s", r.Pack)
	}
	if r.Least > 0 {
		o.MinPacks = r.Least
	} else if o.MinPacks > 1 {
		taken("minimum order of %d packs as in the catalogue", o.MinPacks)
	}
	if r.Lead.Valid {
		o.LeadDays = int(r.Lead.Decimal.IntPart())
	} else {
		o.LeadDays = q.c.Settings.NoLead
		for _, other := range q.c.OffersOf(r.Item) {
			o.LeadDays = max(o.LeadDays, other.LeadDays)
		}
		taken("%s of %d days", noLead, o.LeadDays)
	}
	switch share := max(1, int(float64(it.ShelfDays)*q.c.Settings.ShelfLeft/100)); {
	case it.ShelfDays == 0:
	case r.ShelfLeft > 0:
		o.ShelfLeft = r.ShelfLeft
	default:
		if o.ShelfLeft == 0 || o.ShelfLeft > share {
			o.ShelfLeft = share
		}
		taken("%s of %d days", noShelf, o.ShelfLeft)
	}
	if r.Until.IsZero() {
		taken("%s", noUntil)
	}
	return o
}

// what a quote may leave out
const (
	noLead  = "lead time"
	noShelf = "shelf life left"
	noUntil = "price without a last day"
)

// tell records what became of the quotes: a note for each supplier, a question for
// each thing left out.
func (q *quoting) tell() {
	for list := q.quotes; len(list) > 0; {
		n := 1
		for n < len(list) && list[n].Supplier == list[0].Supplier {
			n++
		}
		q.tellOf(list[:n])
		list = list[n:]
	}
	q.tellRates()
	sortQueries(q.said)
	q.out.Warnings = slices.Concat(q.out.Warnings, q.said)
	sortQueries(q.out.Warnings)
}

// say records a note or question.
func (q *quoting) say(severity trace.Severity, place trace.Place, code, found, message, advice string) {
	q.said = append(q.said, query(severity, place, code, found, message, advice))
}

// tellOf tells of the quotes of one supplier.
func (q *quoting) tellOf(list []Quote) {
	supplier, at := list[0].Supplier, list[0].Place
	said := func(severity trace.Severity, field, code string, has func(r *Quote) bool, message, advice string) {
		var items []string
		place := at
		for i := range list {
			if r := &list[i]; has(r) {
				if len(items) == 0 {
					place = r.at(field)
				}
				items = append(items, r.Item)
			}
		}
		if len(items) > 0 {
			q.say(severity, place, code, count(len(items), "line"), fmt.Sprintf(message, supplier)+": "+strings.Join(items, ", "), advice)
		}
	}
	left := func(what string) func(r *Quote) bool {
		return func(r *Quote) bool {
			return slices.ContainsFunc(r.Taken, func(t string) bool { return strings.HasPrefix(t, what) })
		}
	}
	as := func(a Answer) func(r *Quote) bool { return func(r *Quote) bool { return r.Answer == a } }
	said(trace.Note, "Price", "quote-used", func(r *Quote) bool { return q.stays(r) }, "the quote of %s stands in place of its offers in the catalogue", "no answer is needed")
	said(trace.Note, "Price", "quote-none", as(NotQuoted), "%s quotes no price and is not ordered from", "ask again if it should")
	said(trace.Ask, "Price", "quote-nobody", as(OneSided), "%s quotes no price and nobody else offers these items: the catalogue's price is taken", "ask again, or add an offer")
	said(trace.Ask, "Valid until", "quote-expired", func(r *Quote) bool { return r.Answer == Expired && !q.stays(r) }, "the price of %s no longer holds on the day printed and is not used", "ask for a new one")
	said(trace.Ask, "Valid until", "quote-expired", func(r *Quote) bool { return r.Answer == Expired && q.stays(r) }, "the price of %s no longer holds on the day printed; nobody else offers these items, so it is taken", "ask for a new one")
	if q.day.IsZero() {
		said(trace.Ask, "Valid until", "quote-undated", func(r *Quote) bool { return !r.Until.IsZero() }, "whether the prices of %s still hold is not judged, as no date is known", "give --date")
	}
	said(trace.Ask, "Valid until", "quote-undated", left(noUntil), "%s does not say until when its price holds; it is taken", "ask for a day")
	said(trace.Ask, "Lead time", "lead-unknown", left(noLead), "%s states no lead time; the longest of the catalogue for the item is taken, at least the setting quote.lead_unknown", "ask for it")
	said(trace.Ask, "Shelf life left", "shelf-unknown", left(noShelf), "%s guarantees no shelf life on arrival; the less of the catalogue and the setting order.shelf_left is taken", "ask for it")
	said(trace.Note, "Minimum order", "least-unknown", left("minimum order"), "%s states no minimum order; that of the catalogue is taken", "ask for it")
	said(trace.Note, "Your pack", "pack-other", left("pack of"), "%s quotes another pack than asked; cartons, minimum order and stock of the catalogue are counted over to it", "look whether the pack is meant")
}

// RateDay is the day of a currency's exchange rate; zero: not known.
func (c *Catalog) RateDay(cur *Currency) time.Time {
	if !cur.Day.IsZero() {
		return cur.Day
	}
	day, err := time.Parse(time.DateOnly, c.Settings.PricesDay)
	if err != nil {
		return time.Time{}
	}
	return day
}

// tellRates asks about exchange rates that quotes are compared by.
func (q *quoting) tellRates() {
	var seen []string
	for i := range q.quotes {
		r := &q.quotes[i]
		if !q.stays(r) || r.Currency == q.c.Currency().Code || slices.Contains(seen, r.Currency) {
			continue
		}
		seen = append(seen, r.Currency)
		cur, ok := q.c.CurrencyOf(r.Currency)
		if !ok {
			continue
		}
		place := trace.Place{File: "currencies " + cur.Code, Field: "rate_day"}
		rated := q.c.RateDay(cur)
		switch age := int(q.day.UTC().Truncate(24*time.Hour).Sub(rated).Hours() / 24); {
		case rated.IsZero():
			q.say(trace.Ask, place, "rate-undated", "blank", fmt.Sprintf("the rate of %s, %s, by which quotes are compared, has no day", cur.Code, cur.Rate), "put in the day's rate and its day, or set dates.prices")
		case q.day.IsZero():
			q.say(trace.Ask, place, "rate-undated", rated.Format(time.DateOnly), "how old the rate of "+cur.Code+" is is not judged, as no date is known", "give --date")
		case age < 0:
			q.say(trace.Ask, place, "rate-old", rated.Format(time.DateOnly), "the rate of "+cur.Code+" is of a day after the one printed", "correct one of the days")
		case age > q.c.Settings.RateDays:
			q.say(trace.Ask, place, "rate-old", rated.Format(time.DateOnly), fmt.Sprintf("the rate of %s, by which quotes are compared, is %d days old, more than the setting quote.rate_days", cur.Code, age), "put in the day's rate and its day")
		}
	}
}
