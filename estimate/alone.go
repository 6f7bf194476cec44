package estimate

import (
	"errors"
	"fmt"
	"slices"

	"wraptally/estimate/order"
	"wraptally/estimate/qty"
)

// Alone is what a supplier would be paid if all that it can deliver of the needs
// came from it, in the base currency: to be held against others on the same
// quantities. It is complete where nothing is lacking.
type Alone struct {
	SupplierOrder
	Orders []*order.Order // alongside the orders of the campaign; nil where nothing is needed or it cannot deliver
	Lacks  map[int]string // why not, by place among the orders
}

// Suppliers sets every supplier that offers something side by side, by name.
func (p *Campaign) Suppliers() ([]Alone, error) {
	m := p.means
	times := m.timetable(p.Plan, p.Issues, p.Dates)
	k := newMarket(m, m.orderRule(p.Dates), &times)
	var out []Alone
	for _, name := range k.names {
		a := Alone{SupplierOrder: SupplierOrder{SupplierTerms: m.termsOf(name)}, Orders: make([]*order.Order, len(p.Orders)), Lacks: map[int]string{}}
		var bought []ItemOrder
		for i := range p.Orders {
			if !p.Orders[i].Net.IsPositive() {
				continue
			}
			got, lacks, err := k.from(name, &p.Orders[i], p.Dates)
			if err != nil {
				return nil, err
			}
			if lacks != "" {
				a.Lacks[i] = lacks
				continue
			}
			bought = append(bought, got)
			a.Orders[i] = &got.Order
		}
		if all := k.supplied(bought); len(all.Suppliers) == 1 {
			a.SupplierOrder = all.Suppliers[0]
		}
		out = append(out, a)
	}
	return out, nil
}

// from is the need of an order bought from one supplier; lacks says why it cannot
// be.
func (k *market) from(supplier string, o *ItemOrder, dates Dates) (got ItemOrder, lacks string, err error) {
	it, offers := o.Need.Item, o.Offers
	list := k.m.offers(it, offers)
	theirs, late := false, true
	for i := range list {
		own := list[i].Supplier == supplier
		theirs = theirs || own
		late = late && (!own || list[i].Elsewhere)
		list[i].Elsewhere = list[i].Elsewhere || !own
	}
	switch {
	case !theirs:
		return got, "not offered", nil
	case late:
		return got, "too late", nil
	}
	need, lots := k.m.orderNeed(it, qty.Decimal(o.Need.Issued), o.Need.Cut), k.m.lotsOf(it.Code)
	if len(k.times.of[o.Need.Position]) > 0 {
		list = k.inDeliveries(it, &o.Order, list, offers)
	}
	best, err := order.Best(need, list, lots, k.rule)
	if errors.Is(err, order.ErrUncoverable) {
		at := slices.IndexFunc(list, func(v order.Offer) bool { return v.Supplier == supplier })
		if list[at].MaxPacks > 0 {
			return got, fmt.Sprintf("no more than %d packs to be had", list[at].MaxPacks), nil
		}
		return got, "does not keep, or no number of packs fits", nil
	}
	if err != nil {
		return got, "", err
	}
	got = ItemOrder{Need: o.Need, Order: best, Offers: offers}
	got.Deliveries = k.called(&got, dates)
	return got, "", nil
}
