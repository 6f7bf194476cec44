package catalog

import (
	"reflect"
	"slices"

	"github.com/shopspring/decimal"
)

// Clone is a copy whose items may be changed without changing c; the other
// tables are shared.
func (c *Catalog) Clone() *Catalog {
	out := *c
	out.Items = slices.Clone(c.Items)
	out.items = make(map[string]*Item, len(out.Items))
	for i := range out.Items {
		out.items[out.Items[i].Code] = &out.Items[i]
	}
	return &out
}

// With is a copy in which items, offers, prices, tasks, costs, currencies, ways of
// access and settings may be changed, and is changed, without changing c; the
// other tables are shared.
func (c *Catalog) With(change func(*Catalog)) *Catalog {
	out := c.Clone()
	out.Offers, out.Prices = slices.Clone(c.Offers), slices.Clone(c.Prices)
	out.Tasks, out.Costs = slices.Clone(c.Tasks), slices.Clone(c.Costs)
	out.Currencies, out.Accesses = slices.Clone(c.Currencies), slices.Clone(c.Accesses)
	change(out)
	out.indexOffers()
	return out
}

// Mixed is a catalogue of the tables of two: those that fromB names are b's, the
// others a's. "settings" stands for the settings too. Neither is changed. What one
// holds and the other does not may leave an item without an offer, or an offer
// without an item; a run with it says so.
func Mixed(a, b *Catalog, fromB func(table string) bool) *Catalog {
	out := *a
	to, from := reflect.ValueOf(&out).Elem(), reflect.ValueOf(b).Elem()
	for i := range tables {
		if fromB(tables[i].name) {
			to.Field(tables[i].field).Set(from.Field(tables[i].field))
		}
	}
	if fromB("settings") {
		out.Settings = b.Settings
	}
	out.find = finder{}
	out.Offers, out.Costs = slices.Clone(out.Offers), slices.Clone(out.Costs)
	for i := range out.Costs {
		if c := &out.Costs[i]; c.Class {
			c.Value = decimal.NewFromFloat(out.Settings.Contingency)
		}
	}
	cloned := out.Clone()
	cloned.index()
	return cloned
}

// Differs names the tables in which two catalogues differ, in their order. What a
// setting puts into a cost is no difference of the costs.
func Differs(a, b *Catalog) (names []string) {
	unsettled := func(c *Catalog) reflect.Value {
		out := *c
		out.Costs = slices.Clone(c.Costs)
		for i := range out.Costs {
			if cost := &out.Costs[i]; cost.Class {
				cost.Value, cost.Note = decimal.Zero, ""
			}
		}
		return reflect.ValueOf(out)
	}
	x, y := unsettled(a), unsettled(b)
	for i := range tables {
		ruled := tables[i].name != "settings" || a.Settings == b.Settings
		if !ruled || !reflect.DeepEqual(x.Field(tables[i].field).Interface(), y.Field(tables[i].field).Interface()) {
			names = append(names, tables[i].name)
		}
	}
	return names
}
