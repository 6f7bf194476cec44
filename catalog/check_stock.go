package catalog

import (
	"fmt"
	"slices"

	"github.com/shopspring/decimal"
)

// kindTables says in which table an item of a kind is described further, and
// the units it may be issued in. Consumables and tools have rules instead.
var kindTables = []struct {
	kind, table string
	unit        string
}{
	{"band", "bands", "coil"},
	{"fastener", "fasteners", "pc"},
	{"sheet", "sheets", "sheet"},
	{"sealant", "sealants", "stick"},
	{"putty", "putties", "pack"},
	{"wrap", "wraps", "roll"},
}

// checkKinds: an item of a kind stands in the table of that kind and in no other.
func checkKinds(k *checker) {
	kindOf := map[string]string{}
	for i := range k.c.Items {
		kindOf[k.c.Items[i].Code] = k.c.Items[i].Kind
	}
	for _, kt := range kindTables {
		l := k.table(kt.table)
		if !l.sound() {
			continue
		}
		col := l.column("item")
		have := map[string]bool{}
		for row := range l.len() {
			code := l.value(row, col).String()
			have[code] = true
			if kind, ok := kindOf[code]; ok && kind != kt.kind {
				k.fault(kt.table, row, "item", "kind-mismatch", fmt.Sprintf("the item is a %s in the table items", kind), "correct its kind or take it out of the table "+kt.table)
			}
		}
		for i := range k.c.Items {
			if it := &k.c.Items[i]; it.Kind == kt.kind && !have[it.Code] {
				k.fault("items", i, "item", "item-undescribed", fmt.Sprintf("the %s does not stand in the table %s", kt.kind, kt.table), "describe it there or take it out")
			}
		}
	}
	if l := k.table("consumables"); l.sound() {
		for row := range l.len() {
			kind, ok := kindOf[k.c.Consumables[row].Item]
			if ok && kind != "consumable" && kind != "tool" {
				k.fault("consumables", row, "item", "kind-mismatch", fmt.Sprintf("the item is a %s, which is counted by its own rule", kind), "take the row out, or make the item a consumable or tool")
			}
		}
	}
}

// checkUnits: an item is issued in the unit in which it is counted.
func checkUnits(k *checker) {
	l := k.table("items")
	kind, unit := l.column("kind"), l.column("unit")
	for row := range l.len() {
		if !k.usable(l, row, kind) || !k.usable(l, row, unit) {
			continue
		}
		it := &k.c.Items[row]
		for _, kt := range kindTables {
			if it.Kind == kt.kind && it.Unit != kt.unit && slices.Contains(units, it.Unit) {
				k.fault("items", row, "unit", "unit-mismatch", fmt.Sprintf("a %s is counted in %s", kt.kind, kt.unit), "write "+kt.unit)
			}
		}
	}
}

// checkOffered: every item can be bought from somebody.
func checkOffered(k *checker) {
	offered := map[string]bool{}
	for i := range k.c.Offers {
		offered[k.c.Offers[i].Item] = true
	}
	for i := range k.c.Items {
		if !offered[k.c.Items[i].Code] {
			k.fault("items", i, "item", "offer-missing", "nobody offers the item", "add a row to offers and its prices to prices")
		}
	}
}

// offerKey names an offer.
type offerKey struct{ item, supplier string }

// checkPrices: every offer has a price from its minimum order on, and every
// price belongs to an offer. A price that rises with the quantity is noted.
func checkPrices(k *checker) {
	offers := map[offerKey]int{}
	for i := range k.c.Offers {
		offers[offerKey{k.c.Offers[i].Item, k.c.Offers[i].Supplier}] = i
	}
	known := map[string]bool{}
	for i := range k.c.Items {
		known[k.c.Items[i].Code] = true
	}
	breaks := make([][]int, len(k.c.Offers))
	for i := range k.c.Prices {
		p := &k.c.Prices[i]
		o, ok := offers[offerKey{p.Item, p.Supplier}]
		if ok {
			breaks[o] = append(breaks[o], i)
		} else if known[p.Item] {
			k.fault("prices", i, "supplier", "reference-unknown", fmt.Sprintf("the supplier does not offer %s", p.Item), "add a row to offers or take the price out")
		}
	}
	for o, rows := range breaks {
		offer := &k.c.Offers[o]
		if len(rows) == 0 {
			k.fault("offers", o, "item", "price-missing", "the offer has no price", "add a row to prices")
			continue
		}
		slices.SortFunc(rows, func(a, b int) int { return k.c.Prices[a].FromPacks - k.c.Prices[b].FromPacks })
		if first := k.c.Prices[rows[0]].FromPacks; first > max(1, offer.MinPacks) {
			k.fault("prices", rows[0], "from_packs", "price-missing",
				fmt.Sprintf("%s has no price from its minimum order of %d on", offer.Item, max(1, offer.MinPacks)), "add the price from there on")
		}
		for j := 1; j < len(rows); j++ {
			if before := k.c.Prices[rows[j-1]].Price; k.c.Prices[rows[j]].Price.GreaterThan(before) {
				k.note("prices", rows[j], "price_per_pack", "price-rises", fmt.Sprintf("the price of %s rises with the quantity, from %s", offer.Item, before), "check the two prices")
			}
		}
		if n := offer.Available; n > 0 && n < max(1, offer.MinPacks) {
			k.fault("offers", o, "available_packs", "value-out-of-range", "less is available than must be ordered", "correct available_packs or min_packs")
		}
	}
}

// checkPartCodes: a supplier's part code means one thing.
func checkPartCodes(k *checker) {
	l := k.table("offers")
	if l.broken {
		return
	}
	supplier, code := l.column("supplier"), l.column("part_code")
	seen := map[offerKey]int{}
	for row := range l.len() {
		if !k.usable(l, row, supplier) || !k.usable(l, row, code) {
			continue
		}
		key := offerKey{k.c.Offers[row].PartCode, k.c.Offers[row].Supplier}
		if first, twice := seen[key]; twice {
			k.fault("offers", row, "part_code", "key-duplicate", "the supplier's part code stands on "+lineOf(l, first)+" as well", "give each offer its own")
			continue
		}
		seen[key] = row
	}
}

// checkPackQty: what is counted in pieces comes in packs of whole numbers.
func checkPackQty(k *checker) {
	unitOf := map[string]string{}
	for i := range k.c.Items {
		unitOf[k.c.Items[i].Code] = k.c.Items[i].Unit
	}
	for i := range k.c.Offers {
		o := &k.c.Offers[i]
		unit := unitOf[o.Item]
		if unit != "" && unit != "L" && unit != "kg" && !o.PackQty.Equal(o.PackQty.Truncate(0)) {
			k.fault("offers", i, "pack_qty", "value-not-whole", fmt.Sprintf("%s is counted in %s, so a pack holds a whole number", o.Item, unit), "give a whole number")
		}
	}
}

// checkGoods notes resins without a shelf life or transport class.
func checkGoods(k *checker) {
	for i := range k.c.Items {
		it := &k.c.Items[i]
		if it.Kind != "sealant" && it.Kind != "putty" && it.Kind != "wrap" {
			continue
		}
		if it.ShelfDays == 0 {
			k.note("items", i, "shelf_days", "shelf-life-missing", fmt.Sprintf("the shelf life of %s is not stated; its expiry is not checked", it.Code), "take it from the data sheet")
		}
		if it.Transport == "" {
			k.note("items", i, "transport", "transport-missing", fmt.Sprintf("the transport class of %s is not stated", it.Code), "take it from the safety data sheet")
		}
	}
}

// checkCurrencies: the base currency is worth one of itself, and codes have
// the form of ISO 4217.
func checkCurrencies(k *checker) {
	for i := range k.c.Currencies {
		cur := &k.c.Currencies[i]
		if !isoCode(cur.Code) {
			k.fault("currencies", i, "currency", "currency-form", "a currency code is three capital letters (ISO 4217)", "write it so, such as EUR")
		}
		if cur.Code == k.c.Settings.Currency && !cur.Rate.Equal(decimal.NewFromInt(1)) {
			k.fault("currencies", i, "rate", "rate-base", "the rate of the currency of the bid is not 1", "state all rates in "+cur.Code+" for one unit, or change money.currency")
		}
	}
}

// isoCode reports whether s is three capital letters.
func isoCode(s string) bool {
	if len(s) != 3 {
		return false
	}
	for i := range 3 {
		if s[i] < 'A' || s[i] > 'Z' {
			return false
		}
	}
	return true
}
