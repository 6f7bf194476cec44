package estimate

import (
	"errors"
	"fmt"
	"iter"
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate/order"
	"wraptally/estimate/qty"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

// Need is what the campaign takes of one item, issued whole at its level.
type Need struct {
	Item     *catalog.Item
	Position int     // in the catalogue
	Net      float64 // before rounding at the level of issue
	Issued   float64 // Σ issued
	Kits     int     // number of kits it goes into
	Cut      bool    // coils and sheets, whose growth is in the pieces cut
}

// ItemOrder is what is needed of one item and how it is bought.
type ItemOrder struct {
	Need Need
	order.Order
	Offers []*catalog.Offer // alongside the offers of the order's lines

	Charge     Charge
	Deliveries []Delivery // of each line, by day; one where goods keep
}

// Dates are the days that the order is planned by. A zero date is not known.
type Dates struct {
	Need  time.Time // goods must be there
	End   time.Time // last day of the work
	From  string    // where Need comes from
	Given bool      // by the setting, not by the survey
}

// addUp adds up what is issued: with the kits, to crews and shifts, to the
// campaign, and the coils and sheets of the cutting plans.
func addUp(jobs []Job, issues []Issue, cuts []CutList, m *means) ([]Need, error) {
	items := m.Items
	needs := make([]Need, len(items))
	for i := range items {
		needs[i] = Need{Item: &items[i], Position: i}
	}
	for i := range jobs {
		for _, u := range jobs[i].lines {
			if items[u.item].Issue == catalog.LevelKit {
				needs[u.item].Issued += u.qty
				needs[u.item].Net += u.net
			}
			needs[u.item].Kits++
		}
	}
	for _, is := range issues {
		needs[is.Item].Net += is.Net
		needs[is.Item].Issued += is.Qty
	}
	for _, cl := range cuts {
		for i, n := range cl.Counts() {
			if cl.Lots[i] != "" {
				continue // an offcut from store is not ordered
			}
			at := m.Position(cl.Items[i])
			if at < 0 {
				return nil, fmt.Errorf("item %s is not in the items table", cl.Items[i])
			}
			needs[at].Net += float64(n)
			needs[at].Issued += float64(n)
			needs[at].Cut = true
		}
	}
	return slices.DeleteFunc(needs, func(n Need) bool { return n.Issued <= 0 }), nil
}

// shortCode is the query that suppliers have not all that is needed.
const shortCode = "supply-short"

// buy finds the least-cost order of all items needed together, item by item where
// no supplier charges anything beside the goods, and asks where the suppliers
// have too little and where goods do not keep.
func buy(needs []Need, plan Plan, issues []Issue, dates Dates, m *means) (orders []ItemOrder, all Supply, asked []trace.Query, err error) {
	times := m.timetable(plan, issues, dates)
	k := newMarket(m, m.orderRule(dates), &times)
	lots := make([][]order.Lot, len(needs))
	wanted := make([]order.Need, len(needs))
	ways := make([][]buying, len(needs))
	for i, n := range needs {
		offers := m.OffersOf(n.Item.Code)
		wanted[i], lots[i] = m.orderNeed(n.Item, qty.Decimal(n.Issued), n.Cut), m.lotsOf(n.Item.Code)
		list := m.offers(n.Item, offers)
		got, err := order.Best(wanted[i], list, lots[i], k.rule)
		if errors.Is(err, order.ErrUncoverable) {
			// More than the suppliers say they have: priced all the same, and asked.
			for i := range list {
				list[i].MaxPacks = 0
			}
			if got, err = order.Best(wanted[i], list, lots[i], k.rule); err == nil {
				asked = append(asked, trace.Query{
					Code: shortCode, Severity: trace.Ask, Place: trace.Place{File: "offers " + n.Item.Code},
					Found: got.Net.String() + " " + n.Item.Unit, Message: n.Item.Name + ": more is needed than the suppliers have; it is priced as if they had it",
					Advice: "ask for a later delivery or add an offer",
				})
			}
		}
		if err == nil && len(times.of[n.Position]) > 0 {
			list = k.inDeliveries(n.Item, &got, list, offers)
			got, err = order.Best(wanted[i], list, lots[i], k.rule)
		}
		if err != nil {
			return nil, all, nil, err
		}
		orders = append(orders, ItemOrder{Need: n, Order: got, Offers: offers})
		if ways[i], err = k.ways(n, wanted[i], list, lots[i], offers, got); err != nil {
			return nil, all, nil, err
		}
	}
	choice, apart, err := k.choose(ways)
	if err != nil {
		return nil, all, nil, err
	}
	for i := range orders {
		o, w := &orders[i], ways[i][choice.Pick[i]]
		if choice.Pick[i] > 0 {
			least := o.Total
			if o.Order, err = order.Best(wanted[i], w.offers, lots[i], k.rule); err != nil {
				return nil, all, nil, err
			}
			if o.Total.GreaterThan(least) {
				o.Reasons = append(o.Reasons, order.Reason{Code: order.ReasonElsewhere, Line: -1, FromCost: least, ToCost: o.Total, Currency: o.Base})
			}
		}
		if err := order.Check(o.Order, wanted[i], w.offers, lots[i], k.rule); err != nil { // nobody orders by a sum that was not done twice
			return nil, all, nil, err
		}
		o.Deliveries = k.called(o, dates)
		o.Charge = m.charge(o, plan.Days)
	}
	all = k.supplied(orders)
	if k.minorUnits(all.Cost) != choice.Cost {
		return nil, all, nil, fmt.Errorf("the order of all items costs %s, and was chosen at %s", all.Cost, decimal.New(choice.Cost, -k.minor))
	}
	all.Lasts = times.last + 1
	all.Bound, all.Apart, all.Proven = decimal.New(choice.Bound, -k.minor), decimal.New(apart, -k.minor), choice.Proven
	asked = append(asked, m.overdueQueries(orders, dates)...)
	return orders, all, append(asked, k.keepingQueries(orders)...), nil
}

// overdueQueries ask about lines that nobody delivers in time any more.
func (m *means) overdueQueries(orders []ItemOrder, dates Dates) (asked []trace.Query) {
	if m.given.Placed.IsZero() || dates.Need.IsZero() {
		return nil
	}
	for i := range orders {
		o := &orders[i]
		for k := range o.Lines {
			l := &o.Lines[k]
			if l.LatestOrder.IsZero() || !l.LatestOrder.Before(m.given.Placed) {
				continue
			}
			asked = append(asked, trace.Query{
				Code: "order-overdue", Severity: trace.Ask, Place: trace.Place{File: "offers " + o.Need.Item.Code}, Found: l.LatestOrder.Format(time.DateOnly),
				Message: fmt.Sprintf("%s from %s had to be ordered by %s, and nobody who has it is sooner: ordered on %s it comes on %s, and the work that needs it starts no sooner",
					o.Need.Item.Name, l.Supplier, l.LatestOrder.Format(time.DateOnly), m.given.Placed.Format(time.DateOnly), m.arrival(m.given.Placed, o.Offers[l.Offer], dates).Format(time.DateOnly)),
				Advice: "ask for a faster delivery, or start later",
			})
		}
	}
	return asked
}

// orderRule is what holds for every order of the campaign.
func (m *means) orderRule(dates Dates) order.Rule {
	set := &m.Settings
	return order.Rule{
		Base: set.Currency, AllowSplit: set.SplitOrder == "yes", NeedDate: dates.Need, InstallDate: dates.End,
		MarginDays: set.ExpiryMargin, Counted: m.given.Today, CampaignEnd: dates.End, Weekend: []time.Weekday{time.Saturday, time.Sunday},
	}
}

// offers puts the catalogue's offers into the form the order reads.
func (m *means) offers(item *catalog.Item, list []*catalog.Offer) []order.Offer {
	out := make([]order.Offer, len(list))
	for i, o := range list {
		scheme := order.AllUnits
		if o.Scheme == "incremental" {
			scheme = order.Incremental
		}
		rate := decimal.Zero
		if cur, ok := m.CurrencyOf(o.Currency); ok {
			rate = cur.Rate
		}
		terms := m.termsOf(o.Supplier)
		out[i] = order.Offer{
			WorkingDays: terms.WorkingDays, Closed: terms.Closed,
			Supplier: o.Supplier, Part: o.PartCode, PackQuantity: o.PackQty, Carton: o.Carton, MinPacks: o.MinPacks,
			MaxPacks: o.Available, Currency: o.Currency, Rate: rate, Scheme: scheme, LeadDays: o.LeadDays, ShelfDays: m.shelfLeft(item, o),
		}
		for _, b := range o.Prices {
			out[i].Breaks = append(out[i].Breaks, order.Break{FromPacks: b.FromPacks, Price: b.Price})
		}
	}
	m.onlyInTime(out)
	return out
}

// onlyInTime sets aside the offers that could not be ordered in time any more,
// where another still can; where none can, all stay, and come late.
func (m *means) onlyInTime(list []order.Offer) {
	if m.given.Placed.IsZero() || m.dates.Need.IsZero() {
		return
	}
	rule := m.orderRule(m.dates)
	late := func(o order.Offer) bool { return rule.LatestOrderDate(&o).Before(m.given.Placed) }
	if !slices.ContainsFunc(list, func(o order.Offer) bool { return !late(o) }) {
		return
	}
	for i := range list {
		list[i].Elsewhere = late(list[i])
	}
}

// Arrival is the first day on which goods of an offer that is ordered on a day
// can be there.
func (p *Campaign) Arrival(placed time.Time, o *catalog.Offer) time.Time {
	return p.means.arrival(placed, o, p.Dates)
}

func (m *means) arrival(placed time.Time, o *catalog.Offer, dates Dates) time.Time {
	rule, terms := m.orderRule(dates), m.termsOf(o.Supplier)
	return rule.Arrival(&order.Offer{WorkingDays: terms.WorkingDays, Closed: terms.Closed, LeadDays: o.LeadDays}, placed)
}

// lotsOf are the whole lots of an item in store.
func (m *means) lotsOf(item string) []order.Lot {
	var out []order.Lot
	for _, l := range m.store {
		if l.Item == item && l.Length == 0 {
			out = append(out, l.Lot)
		}
	}
	return out
}

// needDate settles by when goods must be there: the setting campaign.start, else
// the earliest need date of the survey.
func needDate(lines iter.Seq[[]*survey.Defect], start string) (Dates, error) {
	if start != "" {
		d, err := time.Parse(time.DateOnly, start)
		if err != nil {
			return Dates{}, fmt.Errorf("setting campaign.start: %q is not a date; write it as 2027-03-01", start)
		}
		return Dates{Need: d, End: d, From: "setting campaign.start", Given: true}, nil
	}
	var out Dates
	for line := range lines {
		for _, d := range line {
			if !d.NeedDate.IsZero() && (out.Need.IsZero() || d.NeedDate.Before(out.Need)) {
				out = Dates{Need: d.NeedDate, End: d.NeedDate, From: "earliest need date of the survey"}
			}
		}
	}
	return out, nil
}

// through are the dates with the last working day of the plan.
func (d Dates) through(p Plan) Dates {
	for _, s := range p.Shifts {
		if s.Date.After(d.End) {
			d.End = s.Date
		}
	}
	return d
}
