package order

import (
	"fmt"

	"github.com/shopspring/decimal"
	"golang.org/x/text/currency"
)

// ReasonCode names why a number of packs was ordered.
type ReasonCode string

// The reasons. Those of a line come in this order, each carrying the count on.
const (
	ReasonWholePacks ReasonCode = "whole-packs"    // part of a pack cannot be bought
	ReasonMinimum    ReasonCode = "minimum-order"  // the least order is more
	ReasonCarton     ReasonCode = "carton"         // packs come in cartons
	ReasonBreak      ReasonCode = "price-break"    // more packs at a lower price cost less
	ReasonFree       ReasonCode = "free-delivery"  // so many that nothing is charged for the delivery
	ReasonCalled     ReasonCode = "deliveries"     // each delivery covers what is used until the next
	ReasonElsewhere  ReasonCode = "with-delivery"  // cheaper together with what is charged for deliveries
	ReasonSplit      ReasonCode = "split"          // several suppliers together cost less than one
	ReasonCheapest   ReasonCode = "cheapest-offer" // other offers would have served
)

// Reason is one step from the need to the order.
type Reason struct {
	Code     ReasonCode
	Line     int             // place in Order.Lines; -1 for the whole order
	Supplier string          // of the line
	Part     string          // of the line
	Exact    decimal.Decimal // whole-packs: quantity the line had to cover
	Unit     string
	From     int             // packs before this step
	To       int             // packs after it
	FromCost decimal.Decimal // price-break: cost of From packs; split and cheapest-offer: of the other way
	ToCost   decimal.Decimal // price-break: cost of To packs; split and cheapest-offer: of the order
	Currency string          // of the costs
}

// String says it in a sentence.
func (r Reason) String() string {
	switch r.Code {
	case ReasonWholePacks:
		return fmt.Sprintf("%s %s: whole packs, %s %s take %d", r.Supplier, r.Part, r.Exact, r.Unit, r.To)
	case ReasonMinimum:
		return fmt.Sprintf("%s %s: minimum order, %s instead of %d", r.Supplier, r.Part, packs(r.To), r.From)
	case ReasonCarton:
		return fmt.Sprintf("%s %s: whole cartons, %s instead of %d", r.Supplier, r.Part, packs(r.To), r.From)
	case ReasonBreak:
		return fmt.Sprintf("%s %s: price break, %s cost %s %s, %d at the earlier price %s %s",
			r.Supplier, r.Part, packs(r.To), r.money(r.ToCost), r.Currency, r.From, r.money(r.FromCost), r.Currency)
	case ReasonFree:
		return fmt.Sprintf("%s %s: %s instead of %d, with which the order reaches the value from which its delivery is free", r.Supplier, r.Part, packs(r.To), r.From)
	case ReasonCalled:
		return fmt.Sprintf("%s %s: %s instead of %d, so that each delivery covers what is used until the next", r.Supplier, r.Part, packs(r.To), r.From)
	case ReasonElsewhere:
		return fmt.Sprintf("costs %s %s alone and %s elsewhere; with what suppliers charge for deliveries, the whole order costs less so", r.money(r.ToCost), r.Currency, r.money(r.FromCost))
	case ReasonSplit:
		if r.FromCost.IsZero() {
			return "several suppliers, since none alone has enough"
		}
		return fmt.Sprintf("several suppliers cost %s %s, the cheapest alone %s %s", r.money(r.ToCost), r.Currency, r.money(r.FromCost), r.Currency)
	default:
		return fmt.Sprintf("costs %s %s; another pack, price step or supplier would cost %s %s", r.money(r.ToCost), r.Currency, r.money(r.FromCost), r.Currency)
	}
}

func packs(n int) string {
	if n == 1 {
		return "1 pack"
	}
	return fmt.Sprintf("%d packs", n)
}

// money writes an amount with the decimals of its currency (ISO 4217).
func (r Reason) money(d decimal.Decimal) string {
	unit, err := currency.ParseISO(r.Currency)
	if err != nil {
		return d.StringFixed(2)
	}
	scale, _ := currency.Standard.Rounding(unit)
	return d.StringFixed(int32(scale))
}

// reasons retraces, line by line, how the exact need became the packs ordered.
func (b *buyer) reasons(o *Order) ([]Reason, error) {
	var all []Reason
	for i := range o.Lines {
		all = append(all, b.lineReasons(o, i)...)
	}
	suppliers := map[string]bool{}
	for _, l := range o.Lines {
		suppliers[l.Supplier] = true
	}
	if len(suppliers) > 1 {
		alone, err := b.alone()
		if err != nil {
			return nil, err
		}
		r := Reason{Code: ReasonSplit, Line: -1, ToCost: o.Total, Currency: o.Base}
		if alone.found {
			r.FromCost = b.money.decimal(alone.value.cost)
		}
		all = append(all, r)
	}
	if o.NextBest != nil {
		all = append(all, Reason{Code: ReasonCheapest, Line: -1, FromCost: o.NextBest.Total, ToCost: o.Total, Currency: o.Base})
	}
	return all, nil
}

// alone is the best order from a single supplier.
func (b *buyer) alone() (answer, error) {
	rule := *b.rule
	rule.AllowSplit = false
	single := *b
	single.rule = &rule
	return single.best(nil)
}

// lineReasons explains one line, the others taken as they are.
func (b *buyer) lineReasons(o *Order, i int) []Reason {
	l := &o.Lines[i]
	offer := &b.offers[l.Offer]
	share := o.Net
	for k := range o.Lines {
		if k != i {
			share = share.Sub(o.Lines[k].Quantity)
		}
	}
	step := Reason{Line: i, Supplier: l.Supplier, Part: l.Part, Unit: o.Unit, Currency: l.Currency}
	var all []Reason
	add := func(code ReasonCode, from, to int) {
		r := step
		r.Code, r.From, r.To = code, from, to
		if code == ReasonWholePacks {
			r.Exact = share
		}
		if code == ReasonBreak {
			_, r.FromCost = offer.PriceOf(from)
			r.ToCost = l.Cost
		}
		all = append(all, r)
	}
	packs := packsFor(share, offer.PackQuantity)
	if !share.Equal(offer.PackQuantity.Mul(decimal.NewFromInt(int64(packs)))) {
		add(ReasonWholePacks, packs, packs)
	}
	if least := max(offer.MinPacks, offer.sorted()[0].FromPacks); packs < least {
		add(ReasonMinimum, packs, least)
		packs = least
	}
	if c := offer.carton(); packs%c != 0 {
		add(ReasonCarton, packs, packs+c-packs%c)
		packs += c - packs%c
	}
	if packs < offer.AtLeast {
		code := ReasonFree
		if offer.Deliveries > 1 {
			code = ReasonCalled
		}
		add(code, packs, offer.AtLeast)
		packs = offer.AtLeast
	}
	if l.Packs > packs {
		add(ReasonBreak, packs, l.Packs)
	}
	return all
}

// packsFor is the least number of packs that covers the quantity.
func packsFor(quantity, pack decimal.Decimal) int {
	if !quantity.IsPositive() {
		return 0
	}
	n, rest := quantity.QuoRem(pack, 0)
	packs := int(n.IntPart())
	if rest.IsPositive() {
		packs++
	}
	return packs
}
