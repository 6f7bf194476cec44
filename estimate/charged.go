package estimate

import (
	"fmt"
	"strings"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate/qty"
	"wraptally/estimate/trace"
)

// ChargedAs says what the campaign is charged for an item.
type ChargedAs string

// What is used up is charged in full, and what comes back where the table items
// says nothing else of it.
const (
	InFull     ChargedAs = "in full"
	ByHire     ChargedAs = "hire"
	ByWriteOff ChargedAs = "write-off"
)

// ChargedFor says what the campaign is charged for an item.
func ChargedFor(it *catalog.Item) ChargedAs {
	switch {
	case it.Returns && it.Hire.Valid:
		return ByHire
	case it.Returns && it.WriteOff.Valid:
		return ByWriteOff
	}
	return InFull
}

// The settings of stock.price.
const (
	stockFree = "free"
	stockCost = "cost"
)

// Charge is what the campaign is charged for an item, in the base currency:
// bought and drawn in full, or for what comes back a hire by the working day of
// the plan or a share of its value.
type Charge struct {
	As     ChargedAs
	Bought decimal.Decimal // cost of its order
	Drawn  decimal.Decimal // value of what is drawn from the store
	Amount decimal.Decimal
}

// charge is what an item is charged at over so many working days.
func (m *means) charge(o *ItemOrder, days int) Charge {
	it, minor := o.Need.Item, int32(m.Currency().Minor)
	c := Charge{As: ChargedFor(it), Bought: o.Cost(minor)}
	for _, d := range o.Draws {
		c.Drawn = c.Drawn.Add(d.Quantity.Mul(m.drawnAt(it.Code, d.Lot.ID)))
	}
	c.Drawn = c.Drawn.Round(minor)
	c.Amount = c.Bought.Add(c.Drawn)
	switch c.As {
	case ByHire:
		c.Amount = o.Needed.Mul(qty.Whole(days)).Mul(it.Hire.Decimal).Round(minor)
	case ByWriteOff:
		c.Amount = c.Amount.Mul(it.WriteOff.Decimal).Shift(-2).Round(minor)
	}
	return c
}

// drawnAt is what one unit of a lot is charged at, by the setting stock.price: at
// replacement the least price of one unit at the smallest order; so too a lot
// whose own cost is not known.
func (m *means) drawnAt(item, lot string) decimal.Decimal {
	switch m.Settings.StockPrice {
	case stockFree:
		return decimal.Zero
	case stockCost:
		for i := range m.store {
			if l := &m.store[i]; l.Item == item && l.ID == lot && l.Price.Valid {
				return l.Price.Decimal
			}
		}
	}
	return m.Price(item)
}

// DrawnAt is what one unit of a lot is charged at.
func (p *Campaign) DrawnAt(item, lot string) decimal.Decimal { return p.means.drawnAt(item, lot) }

// Offcut is an offcut from the store that is cut up, as its share of a whole coil
// or sheet.
type Offcut struct {
	Item, Lot string
	Count     int
	Share     float64 // of a whole one, each
	Value     decimal.Decimal
	Mass      float64 // kg
	list      int     // of the cutting
}

// offcuts are the offcuts that the plans cut up: each is charged, and weighs, its
// share of a whole one.
func (m *means) offcuts(cuts []CutList) (out []Offcut) {
	minor := int32(m.Currency().Minor)
	for k := range cuts {
		cl := &cuts[k]
		for i, n := range cl.Counts() {
			if cl.Lots[i] == "" || n == 0 {
				continue
			}
			it, ok := m.Item(cl.Items[i])
			if !ok {
				continue
			}
			o := Offcut{Item: it.Code, Lot: cl.Lots[i], Count: n, Share: m.shareOfWhole(cl, i), list: k}
			each := m.drawnAt(it.Code, o.Lot).Mul(qty.Decimal(o.Share))
			o.Value, o.Mass = each.Mul(qty.Whole(n)).Round(minor), it.UnitMass*o.Share*float64(n)
			out = append(out, o)
		}
	}
	return out
}

// shareOfWhole is the size of the i-th stock of a cutting plan against a whole
// coil or sheet of its item.
func (m *means) shareOfWhole(cl *CutList, i int) float64 {
	if cl.Linear != nil {
		for b := range m.Bands {
			if m.Bands[b].Item == cl.Items[i] {
				return float64(cl.Coils[i].Length) / m.Bands[b].CoilLength
			}
		}
		return 0
	}
	for s := range m.Sheets {
		if sh := &m.Sheets[s]; sh.Item == cl.Items[i] {
			return float64(cl.Plates[i].W) * float64(cl.Plates[i].H) / (sh.Width * sh.Length)
		}
	}
	return 0
}

// stockPriceQuery asks once about the lots drawn from whose own cost is asked for
// and not known.
func (m *means) stockPriceQuery(bought *purchase) (asked []trace.Query) {
	if m.Settings.StockPrice != stockCost {
		return nil
	}
	var lots []string
	look := func(item, lot string) {
		for i := range m.store {
			if l := &m.store[i]; l.Item == item && l.ID == lot && !l.Price.Valid {
				lots = append(lots, lot+" of "+item)
				return
			}
		}
	}
	for i := range bought.orders {
		for _, d := range bought.orders[i].Draws {
			look(bought.orders[i].Need.Item.Code, d.Lot.ID)
		}
	}
	for _, o := range bought.offcuts {
		look(o.Item, o.Lot)
	}
	if len(lots) == 0 {
		return nil
	}
	count := "1 lot"
	if len(lots) > 1 {
		count = fmt.Sprintf("%d lots", len(lots))
	}
	return []trace.Query{{
		Code: "stock-price-missing", Severity: trace.Ask, Place: trace.Place{File: "stock list", Field: "price"}, Found: "blank",
		Message: count + " drawn from the store without a price (" + strings.Join(lots[:min(5, len(lots))], ", ") + more(len(lots)-5) + "): charged at replacement",
		Advice:  "fill in what one unit cost, or set stock.price=replacement",
	}}
}

// more ends a list that is cut short.
func more(n int) string {
	if n <= 0 {
		return ""
	}
	return ", …"
}

// delivered is the weight of all goods that go to the site: whole packs bought,
// growth, tools and consumables among them, and what is drawn from the store.
func delivered(orders []ItemOrder, offcuts []Offcut) decimal.Decimal {
	sum := decimal.Zero
	for i := range orders {
		o := &orders[i]
		sum = sum.Add(o.Bought.Add(o.Drawn).Mul(qty.Decimal(o.Need.Item.UnitMass)))
	}
	for i := range offcuts {
		sum = sum.Add(qty.Decimal(offcuts[i].Mass))
	}
	return sum.Round(6)
}

// chargedInFull names the items that come back and are charged in full all the
// same, because the table items says neither what their hire costs nor what share
// of them is written off.
func chargedInFull(needs []Need) (items []string) {
	for _, n := range needs {
		if n.Item.Returns && ChargedFor(n.Item) == InFull {
			items = append(items, n.Item.Code)
		}
	}
	return items
}
