package estimate

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate/order"
	"wraptally/estimate/qty"
	"wraptally/estimate/supply"
	"wraptally/estimate/trace"
)

// Supply is what is ordered of all items together: from whom, what suppliers
// charge for it beside the goods, and how far that can be from the least.
type Supply struct {
	Suppliers []SupplierOrder // in the order of their names
	Cost      decimal.Decimal // of goods and charges, base currency
	Bound     decimal.Decimal // no choice of suppliers and packs for these needs costs less
	Apart     decimal.Decimal // what it costs where each item is bought as if it were alone
	Proven    bool
	Lasts     int // days from the first of the work to the last
}

// Verdict says how near the order is to the least. That coils, sheets and rolls were
// chosen otherwise, which changes the needs, is no part of what is proven.
func (s *Supply) Verdict() string {
	if s.Proven {
		return "proven least for the needs as cut and packed, with what suppliers charge for deliveries"
	}
	return fmt.Sprintf("not proven least: for the needs as cut and packed, no choice of suppliers costs less than %s", s.Bound)
}

// SupplierOrder is what is ordered of one supplier, with what it charges beside
// the goods. Money is in the base currency, in whole minor units.
type SupplierOrder struct {
	SupplierTerms
	Goods      decimal.Decimal
	Deliveries int // one at the beginning, and one on each later day for which something is called off
	Hazardous  int // of them, with goods of a transport class

	Delivery, Shortfall, Surcharge decimal.Decimal // charged
}

// Charges are what is charged beside the goods.
func (s *SupplierOrder) Charges() decimal.Decimal {
	return s.Delivery.Add(s.Shortfall).Add(s.Surcharge)
}

// SupplierTerms are what a supplier charges and asks for, in the base currency.
type SupplierTerms struct {
	Supplier                             string
	Charge, FreeFrom, Minimum, PerHazard decimal.Decimal // of each delivery; of an order; each delivery with hazardous goods
	Assumed                              []string        // of them, what is not known and taken from the settings
	WorkingDays                          bool
	Closed                               []order.Span
}

// Terms are what a supplier charges and asks for.
func (p *Campaign) Terms(supplier string) SupplierTerms { return p.means.termsOf(supplier) }

// termsOf are the terms of a supplier; what is not known is taken at the worst
// that the settings say.
func (m *means) termsOf(name string) SupplierTerms {
	set := &m.Settings
	t := SupplierTerms{Supplier: name, WorkingDays: set.WorkingDays == "yes"}
	row := &catalog.Supplier{}
	if i := slices.IndexFunc(m.Suppliers, func(s catalog.Supplier) bool { return s.Supplier == name }); i >= 0 {
		row = &m.Suppliers[i]
	}
	rate := decimal.NewFromInt(1)
	if cur, ok := m.CurrencyOf(row.Currency); ok {
		rate = cur.Rate
	}
	base := func(d decimal.Decimal) decimal.Decimal { return d.Mul(rate).Round(int32(m.Currency().Minor)) }
	known := func(what string, d decimal.NullDecimal, otherwise float64) decimal.Decimal {
		if d.Valid {
			return base(d.Decimal)
		}
		t.Assumed = append(t.Assumed, what)
		return qty.Decimal(otherwise).Round(int32(m.Currency().Minor))
	}
	t.Charge = known("delivery", row.Delivery, set.NoDelivery)
	t.Minimum = known("minimum order", row.Minimum, set.NoMinimum)
	t.PerHazard = known("hazardous goods", row.Hazardous, set.NoHazardous)
	t.FreeFrom = base(row.FreeFrom)
	if row.Lead != "" {
		t.WorkingDays = row.Lead == "working-days"
	}
	for _, c := range m.Closures {
		if c.Supplier == name {
			to := c.To
			if to.IsZero() {
				to = c.From
			}
			t.Closed = append(t.Closed, order.Span{From: c.From, To: to})
		}
	}
	return t
}

// shelfLeft is the shelf life left of an item when it arrives from an offer: what
// the supplier guarantees, else the share of it that the setting says; 0 where
// it does not expire.
func (m *means) shelfLeft(it *catalog.Item, o *catalog.Offer) int {
	switch {
	case it.ShelfDays == 0:
		return 0
	case o.ShelfLeft > 0:
		return o.ShelfLeft
	}
	return max(1, int(float64(it.ShelfDays)*m.Settings.ShelfLeft/100))
}

// storable is how many days an item may lie in the store; 0 for as long as it
// keeps.
func (m *means) storable(it *catalog.Item) int {
	cold := it.StoreMin.Valid && it.StoreMin.Decimal.InexactFloat64() > m.Settings.StoreCold
	hot := it.StoreMax.Valid && it.StoreMax.Decimal.InexactFloat64() < m.Settings.StoreHot
	if cold || hot {
		return m.Settings.StoreOutside
	}
	return 0
}

// keeping is how many days goods may be kept before they are used; 0 without end.
func (m *means) keeping(it *catalog.Item, o *catalog.Offer) int {
	left, lie := m.shelfLeft(it, o), m.storable(it)
	if left == 0 || lie > 0 && lie < left {
		return lie
	}
	return left
}

// outlasted is how many days goods may be kept where the work lasts longer, to a
// last day counted from 0; ok is false where it does not.
func (m *means) outlasted(it *catalog.Item, o *catalog.Offer, last int) (keeps int, ok bool) {
	keeps = m.keeping(it, o)
	return keeps, keeps > 0 && keeps < last
}

// use is what is used of an item on a day of the work, the first being 0.
type use struct {
	day int
	qty float64
}

// timetable says when goods are used.
type timetable struct {
	last int           // day of the work
	of   map[int][]use // by place of the item, in the order of days; only of those that may not keep so long
}

// timetable is when goods are used, from the days of the plan; where no date is
// known, working days are counted with the weekends between them.
func (m *means) timetable(plan Plan, issues []Issue, dates Dates) timetable {
	worked := 7 - len(weekends[m.Settings.Weekend])
	t := timetable{of: map[int][]use{}}
	type visit struct{ crew, shift int }
	days := map[visit]int{}
	for _, s := range plan.Shifts {
		d := s.Minutes.Day/worked*7 + s.Minutes.Day%worked
		if !s.Date.IsZero() && !dates.Need.IsZero() {
			d = max(0, int(s.Date.Sub(dates.Need).Hours()/24))
		}
		days[visit{s.Crew, s.Shift}] = d
		t.last = max(t.last, d)
	}
	short := map[int]bool{}
	for i := range m.Items {
		for _, o := range m.OffersOf(m.Items[i].Code) {
			if _, ok := m.outlasted(&m.Items[i], o, t.last); ok {
				short[i] = true
			}
		}
	}
	if len(short) == 0 {
		return t
	}
	add := func(item, crew, shift int, q float64) {
		if short[item] {
			t.of[item] = append(t.of[item], use{days[visit{crew, shift}], q})
		}
	}
	for i := range plan.Jobs {
		j := &plan.Jobs[i]
		for _, u := range j.lines {
			if m.Items[u.item].Issue == catalog.LevelKit {
				add(int(u.item), j.Crew, j.Last, u.qty) // needed to the last of its shifts
			}
		}
	}
	for _, is := range issues {
		add(is.Item, is.Crew, is.Shift, is.Qty)
	}
	for _, uses := range t.of {
		slices.SortStableFunc(uses, func(a, b use) int { return cmp.Compare(a.day, b.day) })
	}
	return t
}

// Delivery is a part of an order line that comes on a day of its own.
type Delivery struct {
	Line  int // of the order
	After int // days after the first of the work
	Day   time.Time
	Packs int
}

// week is the days between the days on which deliveries are called off.
const week = 7

// deliveries are the days after the first of the work on which goods must come
// that keep so many days, each with the share of the use that it has to cover by
// itself: what came before no longer keeps.
func (t *timetable) deliveries(item, keeps int, drawn float64) (after []int, share []float64) {
	uses := t.of[item]
	total, left := 0.0, drawn
	for _, u := range uses {
		total += u.qty
	}
	left *= total
	for _, u := range uses {
		q := u.qty - min(u.qty, left) // the store is used up first
		left -= u.qty - q
		if q <= 0 {
			continue
		}
		if len(after) == 0 && (keeps == 0 || u.day <= keeps) {
			after, share = append(after, 0), append(share, 0)
		}
		if len(after) == 0 || keeps > 0 && u.day > after[len(after)-1]+keeps {
			d := u.day
			if keeps >= 2*week { // on the same day of the week, so that what several items call off comes together
				d -= d % week
			}
			after, share = append(after, d), append(share, 0)
		}
		share[len(share)-1] += q
	}
	for i := range share {
		share[i] /= total - drawn*total
	}
	if len(after) == 0 {
		return []int{0}, []float64{1}
	}
	return after, share
}

// buying is one way to buy an item, with its place in the choice over all.
type buying struct {
	offers []order.Offer // as settled: those not bought from stand aside
	choice supply.Choice
}

// market gathers, item by item, the ways to buy it.
type market struct {
	m     *means
	rule  order.Rule
	times *timetable
	minor int32

	names  []string // of the suppliers
	terms  []SupplierTerms
	list   []supply.Terms // of them, then of further deliveries and of hazardous goods
	places map[string]int // of those further terms
	whole  bool           // every way to buy is looked at
}

// waysOfOffer is how many numbers of packs of one offer are looked at.
const waysOfOffer = 60

// minorUnits is an amount of whole minor units as a whole number.
func (k *market) minorUnits(d decimal.Decimal) int64 { return d.Shift(k.minor).Round(0).IntPart() }

// supplier is the place of a supplier.
func (k *market) supplier(name string) int {
	if at := slices.Index(k.names, name); at >= 0 {
		return at
	}
	panic("a supplier that nobody offers from: " + name)
}

// further is the place of terms that only some goods of a supplier come under.
func (k *market) further(name string, charge decimal.Decimal) int {
	at, ok := k.places[name]
	if !ok {
		at = len(k.list)
		k.places[name] = at
		k.list = append(k.list, supply.Terms{Delivery: k.minorUnits(charge)})
	}
	return at
}

// newMarket lists all suppliers with their terms.
func newMarket(m *means, rule order.Rule, times *timetable) *market {
	k := &market{m: m, rule: rule, times: times, minor: int32(m.Currency().Minor), places: map[string]int{}, whole: true}
	for i := range m.Offers {
		if s := m.Offers[i].Supplier; !slices.Contains(k.names, s) {
			k.names = append(k.names, s)
		}
	}
	slices.Sort(k.names)
	for _, s := range k.names {
		t := m.termsOf(s)
		k.terms = append(k.terms, t)
		k.list = append(k.list, supply.Terms{Delivery: k.minorUnits(t.Charge), FreeFrom: k.minorUnits(t.FreeFrom), Minimum: k.minorUnits(t.Minimum)})
	}
	return k
}

// charges reports whether anybody charges anything beside the goods.
func (k *market) charges() bool {
	return slices.ContainsFunc(k.terms, func(t SupplierTerms) bool {
		return t.Charge.IsPositive() || t.Minimum.IsPositive() || t.PerHazard.IsPositive()
	})
}

// parts are what an order brings to the suppliers: the value of its goods, and
// the deliveries that are charged for.
func (k *market) parts(it *catalog.Item, o *order.Order, offers []*catalog.Offer) supply.Choice {
	var c supply.Choice
	for _, l := range o.Lines {
		value := k.minorUnits(LineCost(l, k.minor))
		at := k.supplier(l.Supplier)
		c.Cost += value
		c.Parts = append(c.Parts, supply.Part{Supplier: at, Value: value})
		t := &k.terms[at]
		after, _ := k.times.deliveries(k.m.Position(it.Code), k.m.keeping(it, offers[l.Offer]), drawnShare(o))
		for _, d := range after {
			if d > 0 && t.Charge.IsPositive() {
				c.Parts = append(c.Parts, supply.Part{Supplier: k.further(fmt.Sprintf("%s\x00delivery%d", l.Supplier, d), t.Charge)})
			}
			if it.Transport != "" && t.PerHazard.IsPositive() {
				c.Parts = append(c.Parts, supply.Part{Supplier: k.further(fmt.Sprintf("%s\x00hazard%d", l.Supplier, d), t.PerHazard)})
			}
		}
	}
	return c
}

// drawnShare is the share of a need that the store covers.
func drawnShare(o *order.Order) float64 {
	if !o.Needed.IsPositive() {
		return 0
	}
	return o.Drawn.Div(o.Needed).InexactFloat64()
}

// ways are the ways to buy an item, that of least cost by itself first: from each
// set of suppliers that may share it the least-cost order, and from each alone
// more packs than that, as long as they cost no more than its delivery.
func (k *market) ways(n Need, need order.Need, list []order.Offer, lots []order.Lot, offers []*catalog.Offer, least order.Order) ([]buying, error) {
	ways := []buying{{offers: list, choice: k.parts(n.Item, &least, offers)}}
	if !least.Net.IsPositive() || !k.charges() {
		return ways, nil
	}
	take := func(only func(supplier string) bool, at, packs int) error {
		some := slices.Clone(list)
		for i := range some {
			some[i].Elsewhere = some[i].Elsewhere || !only(some[i].Supplier)
			if i == at {
				some[i].AtLeast = max(some[i].AtLeast, packs)
			}
		}
		got, err := order.Best(need, some, lots, k.rule)
		if errors.Is(err, order.ErrUncoverable) {
			return nil
		}
		if err != nil {
			return err
		}
		w := buying{offers: some, choice: k.parts(n.Item, &got, offers)}
		if !slices.ContainsFunc(ways, func(v buying) bool {
			return v.choice.Cost == w.choice.Cost && slices.Equal(v.choice.Parts, w.choice.Parts)
		}) {
			ways = append(ways, w)
		}
		return nil
	}
	if err := k.shared(list, take); err != nil {
		return nil, err
	}
	for i := range list {
		o, t := &list[i], &k.terms[k.supplier(list[i].Supplier)]
		only := func(s string) bool { return s == o.Supplier }
		if !t.Charge.IsPositive() || !t.FreeFrom.IsPositive() {
			if err := take(only, -1, 0); err != nil {
				return nil, err
			}
			continue
		}
		counts, all := o.Covering(least.Net, t.Charge.Div(rateOf(o)), waysOfOffer)
		k.whole = k.whole && all
		for _, packs := range counts {
			if err := take(only, i, packs); err != nil {
				return nil, err
			}
		}
	}
	return ways, nil
}

// rateOf is the rate of an offer's currency.
func rateOf(o *order.Offer) decimal.Decimal {
	if o.Rate.IsZero() {
		return decimal.NewFromInt(1)
	}
	return o.Rate
}

// mostShared is how many suppliers of an item are put together in every way.
const mostShared = 5

// shared takes the least-cost orders of suppliers that share an item, where they may.
func (k *market) shared(list []order.Offer, take func(only func(string) bool, at, packs int) error) error {
	if !k.rule.AllowSplit {
		return nil
	}
	var names []string
	for i := range list {
		if !slices.Contains(names, list[i].Supplier) {
			names = append(names, list[i].Supplier)
		}
	}
	if len(names) == 1 {
		return nil
	}
	// That a value is reached by moving packs from one supplier to another is not looked at.
	k.whole = k.whole && len(names) <= mostShared && !slices.ContainsFunc(k.terms, func(t SupplierTerms) bool { return t.FreeFrom.IsPositive() || t.Minimum.IsPositive() })
	for set := 1; set < 1<<min(len(names), mostShared); set++ {
		some := func(s string) bool { at := slices.Index(names, s); return at < mostShared && set>>at&1 == 1 }
		if err := take(some, -1, 0); err != nil {
			return err
		}
	}
	return nil
}

// choose settles how each item is bought, and says what all would cost where each
// is bought as if it were alone.
func (k *market) choose(ways [][]buying) (plan supply.Plan, apart int64, err error) {
	items := make([][]supply.Choice, len(ways))
	for i := range ways {
		for _, w := range ways[i] {
			items[i] = append(items[i], w.choice)
		}
	}
	if plan, err = supply.Cheapest(items, k.list, supplySteps); err != nil {
		return plan, 0, err
	}
	if err = supply.Check(items, k.list, plan); err != nil { // nobody orders by a choice that was not added up again
		return plan, 0, err
	}
	if !k.whole && plan.Proven { // others than those looked at may cost less, but not than the goods alone
		plan.Bound = 0
		for i := range items {
			plan.Bound += items[i][0].Cost
		}
		plan.Proven = plan.Bound == plan.Cost
	}
	return plan, supply.Cost(items, k.list, make([]int, len(items))), nil
}

// supplySteps bounds the search over the suppliers.
const supplySteps = 400_000

// supplied is the supply of the orders as they are, worked out from their lines.
func (k *market) supplied(orders []ItemOrder) Supply {
	var s Supply
	for at, t := range k.terms {
		got := SupplierOrder{SupplierTerms: t}
		if !k.gather(&got, orders) {
			continue
		}
		first, shortfall := k.list[at].Charges(k.minorUnits(got.Goods))
		got.Delivery = decimal.New(first, -k.minor).Add(t.Charge.Mul(qty.Whole(got.Deliveries - 1)))
		got.Shortfall = decimal.New(shortfall, -k.minor)
		got.Surcharge = t.PerHazard.Mul(qty.Whole(got.Hazardous))
		s.Cost = s.Cost.Add(got.Goods).Add(got.Charges())
		s.Suppliers = append(s.Suppliers, got)
	}
	return s
}

// gather adds up the goods of the orders that come from a supplier, and in how many
// deliveries; false where there are none.
func (k *market) gather(got *SupplierOrder, orders []ItemOrder) bool {
	later, hazardous, used := map[int]bool{}, map[int]bool{}, false
	for i := range orders {
		o := &orders[i]
		from := func(l int) bool { return o.Lines[l].Supplier == got.Supplier }
		for l := range o.Lines {
			if from(l) {
				got.Goods = got.Goods.Add(LineCost(o.Lines[l], k.minor))
				used = true
			}
		}
		for _, d := range o.Deliveries {
			if !from(d.Line) {
				continue
			}
			if d.After > 0 {
				later[d.After] = true
			}
			if o.Need.Item.Transport != "" {
				hazardous[d.After] = true
			}
		}
	}
	got.Deliveries, got.Hazardous = 1+len(later), len(hazardous)
	return used
}

// packsOf are the packs of each delivery, which covers its share of a quantity.
func packsOf(net decimal.Decimal, share []float64, pack decimal.Decimal) []int {
	packs := make([]int, len(share))
	for i, q := range share {
		packs[i] = int(net.Mul(qty.Decimal(q)).Div(pack).Round(6).Ceil().IntPart())
	}
	return packs
}

// inDeliveries are the offers with the packs that cover each delivery by itself,
// where goods do not keep as long as the work lasts.
func (k *market) inDeliveries(it *catalog.Item, o *order.Order, list []order.Offer, offers []*catalog.Offer) []order.Offer {
	list = slices.Clone(list)
	for i := range list {
		after, share := k.times.deliveries(k.m.Position(it.Code), k.m.keeping(it, offers[i]), drawnShare(o))
		if list[i].Deliveries = len(after); len(after) < 2 {
			continue
		}
		list[i].AtLeast = 0
		for _, packs := range packsOf(o.Net, share, list[i].PackQuantity) {
			list[i].AtLeast += packs
		}
	}
	return list
}

// called is the deliveries of an order.
func (k *market) called(o *ItemOrder, dates Dates) (out []Delivery) {
	for l := range o.Lines {
		line := &o.Lines[l]
		after, share := k.times.deliveries(o.Need.Position, k.m.keeping(o.Need.Item, o.Offers[line.Offer]), drawnShare(&o.Order))
		each := packsOf(o.Net, share, line.PackQuantity)
		for i, d := range after {
			packs := each[i]
			if i == 0 { // with what is bought beyond the need
				packs = line.Packs
				for _, later := range each[1:] {
					packs -= later
				}
			}
			v := Delivery{Line: l, After: d, Packs: packs}
			if !dates.Need.IsZero() {
				v.Day = dates.Need.AddDate(0, 0, d)
			}
			out = append(out, v)
		}
	}
	return out
}

// keepingQueries ask where goods do not keep as long as the work lasts, or may not
// lie in the store.
func (k *market) keepingQueries(orders []ItemOrder) (asked []trace.Query) {
	for i := range orders {
		o := &orders[i]
		for l := range o.Lines {
			offer := o.Offers[o.Lines[l].Offer]
			keeps, ok := k.m.outlasted(o.Need.Item, offer, k.times.last)
			if !ok {
				continue
			}
			var days []string
			for _, d := range o.Deliveries {
				if d.Line == l {
					at := fmt.Sprintf("day %d", d.After+1)
					if !d.Day.IsZero() {
						at = d.Day.Format(time.DateOnly)
					}
					days = append(days, fmt.Sprintf("%s: %d", at, d.Packs))
				}
			}
			deliveries := "one delivery"
			if len(days) > 1 {
				deliveries = fmt.Sprintf("%d deliveries", len(days))
			}
			code, why := "shelf-life-short", fmt.Sprintf("keeps %d days on arrival", keeps)
			if k.m.storable(o.Need.Item) == keeps {
				code, why = "storage-outside", fmt.Sprintf("may not lie in a store of %s to %s °C for more than %d days", trace.FormatNumber(k.m.Settings.StoreCold, "°C"), trace.FormatNumber(k.m.Settings.StoreHot, "°C"), keeps)
			}
			asked = append(asked, trace.Query{
				Code: code, Severity: trace.Ask, Place: trace.Place{File: "offers " + o.Need.Item.Code}, Found: fmt.Sprintf("%d days", keeps),
				Message: fmt.Sprintf("%s from %s %s, and the work lasts %d days: called off in %s (packs by day: %s)", o.Need.Item.Name, offer.Supplier, why, k.times.last+1, deliveries, strings.Join(days, ", ")),
				Advice:  "agree the deliveries with the supplier, or ask for fresher goods",
			})
		}
	}
	return asked
}

// ShortLived says how many items do not keep as long as the work lasts, or may not
// lie in the store, and come in several deliveries; empty where all keep.
func (p *Campaign) ShortLived() string {
	n, keeps := 0, 0
	for i := range p.Orders {
		o := &p.Orders[i]
		for l := range o.Lines {
			k, ok := p.means.outlasted(o.Need.Item, o.Offers[o.Lines[l].Offer], p.Supply.Lasts-1)
			if !ok {
				continue
			}
			if n++; keeps == 0 || k < keeps {
				keeps = k
			}
		}
	}
	if n == 0 {
		return ""
	}
	lines := fmt.Sprintf("%d lines of the order hold goods that keep", n)
	if n == 1 {
		lines = "1 line of the order holds goods that keep"
	}
	return fmt.Sprintf("SHELF LIFE: the work lasts %d days, and %s or may be stored for less (the least %d days): they come in several deliveries, see the queries", p.Supply.Lasts, lines, keeps)
}
