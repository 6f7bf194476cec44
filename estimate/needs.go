package estimate

import (
	"errors"
	"fmt"
	"time"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate/order"
	"wraptally/estimate/qty"
	"wraptally/estimate/trace"
)

// Need is what the campaign takes of one item, issued whole at its level.
type Need struct {
	Item     *catalog.Item
	Position int     // in the catalogue
	Net      float64 // before rounding at the level of issue
	Issued   float64 // Σ issued
	Kits     int     // number of kits it goes into
}

// ItemOrder is the order of one item.
type ItemOrder struct {
	order.Order
	Offers []*catalog.Offer // alongside the offers of the order's lines
}

// Dates are the days that the order is planned by. A zero date is not known.
type Dates struct {
	Need time.Time // goods must be there
	End  time.Time // last day of the work
	From string    // where Need comes from
}

// need sums up what is issued: with the kits, to crews and shifts, to the
// campaign, and the coils and sheets of the cutting plans.
func (p *Campaign) need() error {
	items := p.Catalog.Items
	needs := make([]Need, len(items))
	for i := range items {
		needs[i] = Need{Item: &items[i], Position: i}
	}
	for n := range p.lines {
		for _, u := range p.lines[n] {
			if items[u.item].Issue == "kit" {
				needs[u.item].Issued += u.qty
				needs[u.item].Net += u.qty
			}
			needs[u.item].Kits++
		}
	}
	for _, is := range p.Issues {
		needs[is.Item].Net += is.Net
		needs[is.Item].Issued += is.Qty
	}
	for _, cl := range p.Cuts {
		for i, n := range cl.Counts() {
			if cl.Lots[i] != "" {
				continue // an offcut from store is not ordered
			}
			at := p.packer.Position(cl.Items[i])
			if at < 0 {
				return fmt.Errorf("item %s is not in the items table", cl.Items[i])
			}
			needs[at].Net += float64(n)
			needs[at].Issued += float64(n)
		}
	}
	for _, n := range needs {
		if n.Issued > 0 {
			p.Needs = append(p.Needs, n)
		}
	}
	return nil
}

// order finds the least-cost order of every item.
func (p *Campaign) order() error {
	rule := p.orderRule()
	for _, n := range p.Needs {
		offers := p.Catalog.OffersOf(n.Item.Code)
		need, list, lots := p.orderNeed(n.Item, qty.Decimal(n.Issued)), p.offers(n.Item, offers), lotsOf(n.Item.Code, p.stock)
		got, err := order.Best(need, list, lots, rule)
		if errors.Is(err, order.ErrUncoverable) {
			// More than the suppliers say they have: priced all the same, and asked.
			for i := range list {
				list[i].MaxPacks = 0
			}
			if got, err = order.Best(need, list, lots, rule); err == nil {
				p.asked = append(p.asked, trace.Query{
					Code: "supply-short", Severity: trace.Ask, Place: trace.Place{File: "offers " + n.Item.Code},
					Found: got.Net.String() + " " + n.Item.Unit, Message: n.Item.Name + ": more is needed than the suppliers have; it is priced as if they had it",
					Advice: "ask for a later delivery or add an offer",
				})
			}
		}
		if err == nil {
			err = order.Check(got, need, list, lots, rule) // nobody orders by a sum that was not done twice
		}
		if err != nil {
			return err
		}
		p.Orders = append(p.Orders, ItemOrder{Order: got, Offers: offers})
	}
	return nil
}

// orderRule is what holds for every order of the campaign.
func (p *Campaign) orderRule() order.Rule {
	set := &p.Catalog.Settings
	return order.Rule{
		Base: set.Currency, AllowSplit: set.SplitOrder == "yes", NeedDate: p.Dates.Need, InstallDate: p.Dates.End,
		MarginDays: set.ExpiryMargin, CampaignEnd: p.Dates.End,
		WorkingDays: set.WorkingDays == "yes", Weekend: []time.Weekday{time.Saturday, time.Sunday},
	}
}

// offers puts the catalogue's offers into the form the order reads.
func (p *Campaign) offers(item *catalog.Item, list []*catalog.Offer) []order.Offer {
	out := make([]order.Offer, len(list))
	for i, o := range list {
		scheme := order.AllUnits
		if o.Scheme == "incremental" {
			scheme = order.Incremental
		}
		rate := decimal.Zero
		if cur, ok := p.Catalog.CurrencyOf(o.Currency); ok {
			rate = cur.Rate
		}
		out[i] = order.Offer{
			Supplier: o.Supplier, Part: o.PartCode, PackQuantity: o.PackQty, Carton: o.Carton, MinPacks: o.MinPacks,
			MaxPacks: o.Available, Currency: o.Currency, Rate: rate, Scheme: scheme, LeadDays: o.LeadDays, ShelfDays: item.ShelfDays,
		}
		for _, b := range o.Prices {
			out[i].Breaks = append(out[i].Breaks, order.Break{FromPacks: b.FromPacks, Price: b.Price})
		}
	}
	return out
}

func lotsOf(item string, lots []StockLot) []order.Lot {
	var out []order.Lot
	for _, l := range lots {
		if l.Item == item && l.Length == 0 {
			out = append(out, l.Lot)
		}
	}
	return out
}

// dates settles the need date: the setting campaign.start, else the earliest
// need date of the survey.
func (p *Campaign) dates() error {
	if s := p.Catalog.Settings.Start; s != "" {
		d, err := time.Parse(time.DateOnly, s)
		if err != nil {
			return fmt.Errorf("setting campaign.start: %q is not a date; write it as 2027-03-01", s)
		}
		p.Dates = Dates{Need: d, From: "setting campaign.start"}
	} else {
		for _, r := range p.Repairs {
			for _, d := range r.Defects {
				if !d.NeedDate.IsZero() && (p.Dates.Need.IsZero() || d.NeedDate.Before(p.Dates.Need)) {
					p.Dates = Dates{Need: d.NeedDate, From: "earliest need date of the survey"}
				}
			}
		}
	}
	return nil
}
