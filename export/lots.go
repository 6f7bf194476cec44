package export

import (
	"fmt"
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"wraptally/estimate"
	"wraptally/estimate/order"
	"wraptally/estimate/qty"
)

// lot is a lot in the store that is drawn from or passed over.
type lot struct {
	item, name, id, unit string
	taken, held          decimal.Decimal
	price, value         decimal.Decimal // what one is charged at, and all that is taken
	useBy                time.Time
	place, why           string
}

// drawnLots are the lots that are drawn from, then the offcuts, which are cut up
// beside what is bought. What is taken of a lot may exceed what the kits take,
// since it covers the allowance for growth also.
func (b *book) drawnLots() (out []lot) {
	for _, o := range b.p.Orders {
		it := o.Need.Item
		for _, dr := range o.Draws {
			price := b.p.DrawnAt(it.Code, dr.Lot.ID)
			out = append(out, lot{price: price, value: price.Mul(dr.Quantity).Round(b.p.Bid.Minor), item: it.Code, name: it.Name, id: dr.Lot.ID, unit: o.Unit, taken: dr.Quantity, held: dr.Lot.Quantity, useBy: dr.UseBy, place: dr.Lot.Location})
		}
	}
	for _, t := range b.takes.list {
		id := b.offcut(t)
		if id == "" {
			continue
		}
		code := b.p.Catalog.Items[t.item].Code
		held, _ := b.p.LotInStore(code, id)
		name, unit := b.takeName(t)
		price, value := decimal.Zero, decimal.Zero
		for _, o := range b.p.Offcuts {
			if o.Item == code && o.Lot == id {
				price, value = b.p.DrawnAt(code, id).Mul(qty.Decimal(o.Share)), o.Value
			}
		}
		out = append(out, lot{price: price, value: value, item: code, name: name, id: held.ID, unit: unit, taken: qty.Whole(t.count), held: held.Quantity, place: b.takePlace(t)})
	}
	return out
}

// lotsAtHand are the drawn lots that lie in the store; the others are issued
// already or still to come.
func (b *book) lotsAtHand() (out []lot) {
	for _, l := range b.drawnLots() {
		if held, ok := b.p.LotInStore(l.item, l.id); !ok || held.Source == estimate.InStore {
			out = append(out, l)
		}
	}
	return out
}

// passedLots are the lots that are left in the store.
func (b *book) passedLots() (out []lot) {
	for _, o := range b.p.Orders {
		it := o.Need.Item
		for _, p := range o.Passed {
			out = append(out, lot{item: it.Code, name: it.Name, id: p.Lot.ID, unit: o.Unit, held: p.Lot.Quantity, place: p.Lot.Location, why: p.String()})
		}
	}
	return append(out, b.expiredBeside()...)
}

// expiredBeside are the expired lots of items that this campaign does not need.
func (b *book) expiredBeside() (out []lot) {
	if b.p.Store == nil {
		return nil
	}
	for i := range b.p.Store.Lots {
		l := &b.p.Store.Lots[i]
		needed := slices.ContainsFunc(b.p.Orders, func(o estimate.ItemOrder) bool { return o.Need.Item.Code == l.Item })
		if l.Left == estimate.LeftExpired && !needed {
			unit, name := lotUnit(b.p, l)
			out = append(out, lot{item: l.Item, name: name, id: l.ID, unit: unit, held: l.Quantity, place: l.Location, why: fmt.Sprintf("lot %s, %s: %s %s, quarantine", l.ID, l.Quantity, order.Expired, day(l.UseBy))})
		}
	}
	return out
}
