package estimate

import (
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate/order"
)

// OnOrder is what has become of an item of a purchase order.
type OnOrder struct {
	Order, Item       string
	Ordered, Received decimal.Decimal
	Arrives           time.Time // the last day promised of its rows; zero: not known of one of them
}

// Open is what is still to come.
func (o OnOrder) Open() decimal.Decimal {
	return decimal.Max(decimal.Zero, o.Ordered.Sub(o.Received))
}

// Outstanding compares what was ordered with what has arrived, in the order in
// which orders and items first stand in the table.
func Outstanding(moves []catalog.Movement) (out []OnOrder) {
	at := func(m *catalog.Movement) *OnOrder {
		i := slices.IndexFunc(out, func(o OnOrder) bool { return o.Order == m.Order && o.Item == m.Item })
		if i < 0 {
			i = len(out)
			out = append(out, OnOrder{Order: m.Order, Item: m.Item, Arrives: m.Arrives})
		}
		return &out[i]
	}
	for i := range moves {
		switch m := &moves[i]; m.Move {
		case "ordered":
			o := at(m)
			if o.Ordered = o.Ordered.Add(m.Quantity); m.Arrives.IsZero() || !o.Arrives.IsZero() && m.Arrives.After(o.Arrives) {
				o.Arrives = m.Arrives
			}
		case "received":
			o := at(m)
			o.Received = o.Received.Add(m.Quantity)
		}
	}
	return out
}

// Covered is what movements of a running campaign cover of its whole need, as
// lots: what is still to come, what was issued to the work and did not come back,
// and, where the store was not counted, what should lie in it. A count of the
// store holds what was received and not issued.
func Covered(moves []catalog.Movement, counted bool) (lots []StockLot) {
	add := func(item, name string, quantity decimal.Decimal, source Source) {
		if quantity.IsPositive() {
			lots = append(lots, StockLot{Item: item, Lot: order.Lot{ID: name, Quantity: quantity}, Source: source})
		}
	}
	var items []string
	issued, received := map[string]decimal.Decimal{}, map[string]decimal.Decimal{}
	for _, m := range moves {
		if !slices.Contains(items, m.Item) {
			items = append(items, m.Item)
		}
		switch m.Move {
		case "issued":
			issued[m.Item] = issued[m.Item].Add(m.Quantity)
		case "returned":
			issued[m.Item] = issued[m.Item].Sub(m.Quantity)
		case "received":
			received[m.Item] = received[m.Item].Add(m.Quantity)
		}
	}
	for _, item := range items {
		add(item, "issued to the work", issued[item], IssuedOut)
		if !counted {
			add(item, "received, not issued", received[item].Sub(issued[item]), InStore)
		}
	}
	for _, o := range Outstanding(moves) {
		before := len(lots)
		if add(o.Item, "on order "+o.Order, o.Open(), StillToCome); len(lots) > before {
			lots[before].From, lots[before].Comes = o.Order, o.Arrives
		}
	}
	return lots
}

// dated is a store in which what is still to come has its last day of use: from the day it comes,
// the least shelf life that an offer of the item has left on arrival. Where the day is
// not known it is asked elsewhere, and the goods are not judged.
func (m *means) dated(store []StockLot) []StockLot {
	store = slices.Clone(store)
	for i := range store {
		l := &store[i]
		if l.Source != StillToCome || l.Comes.IsZero() {
			continue
		}
		it, ok := m.Item(l.Item)
		if !ok || it.ShelfDays == 0 {
			continue
		}
		least := it.ShelfDays
		for _, o := range m.OffersOf(l.Item) {
			least = min(least, m.shelfLeft(it, o))
		}
		l.Expiry = l.Comes.AddDate(0, 0, least)
	}
	return store
}
