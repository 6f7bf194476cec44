package order

import (
	"fmt"
	"slices"
	"time"

	"github.com/shopspring/decimal"
)

// Need is what has to be there.
type Need struct {
	Item          string
	Quantity      decimal.Decimal // as issued, in Unit, ≥ 0
	Unit          string          // issue unit: "roll", "kg", "m"
	Whole         bool            // issued in whole units only
	GrowthPercent decimal.Decimal // allowance for growth of the survey, ≥ 0
}

// Line is what is ordered of one offer.
type Line struct {
	Offer        int // its place among the offers given
	Supplier     string
	Part         string
	Packs        int
	PackQuantity decimal.Decimal
	Quantity     decimal.Decimal // Packs × PackQuantity
	Break        Break           // the price break reached
	Scheme       Scheme
	Tiers        []Tier // how the cost comes about; one tier for an all-units price
	Currency     string
	Rate         decimal.Decimal // to the base currency
	Cost         decimal.Decimal // in Currency, exact
	BaseCost     decimal.Decimal // in the base currency, exact, not rounded
	LatestOrder  time.Time       // last day to order; zero without a need date
	Shelf        Shelf
}

// Alternative is the next best order: the cheapest that gives up at least one
// of the lines chosen, by leaving its price step or its supplier.
type Alternative struct {
	Lines []Line
	Total decimal.Decimal // base currency
}

// Refusal says why an offer was left out.
type Refusal string

// The refusals.
const (
	RefusedLate      Refusal = "too-late"      // cannot be ordered in time
	RefusedShelf     Refusal = "shelf-life"    // expires before the campaign's end
	RefusedNone      Refusal = "not-orderable" // no count meets minimum, maximum, carton and prices
	RefusedElsewhere Refusal = "elsewhere"     // the order of all items together costs less without it
)

// RefusedOffer is an offer left out.
type RefusedOffer struct {
	Offer  int
	Reason Refusal
}

// Order is the least-cost order of one item.
type Order struct {
	Item    string
	Unit    string
	Issued  decimal.Decimal // the need as given
	Raised  decimal.Decimal // with growth, before any rounding
	Needed  decimal.Decimal // Raised, up to whole units where the item is issued so
	Drawn   decimal.Decimal // from stock
	Net     decimal.Decimal // Needed − Drawn: to be bought
	Draws   []Draw          // earliest last day of use first
	Passed  []PassedLot     // stock that cannot be used
	Lines   []Line          // in the order of the offers given
	Bought  decimal.Decimal
	Excess  decimal.Decimal // Bought − Net
	Base    string
	Total   decimal.Decimal // base currency, exact
	Reasons []Reason
	// NextBest is nil where nothing is bought or there is no other way.
	NextBest    *Alternative
	Refused     []RefusedOffer
	LatestOrder time.Time // the earliest of the lines' latest order days
}

// Best finds the least-cost order of one item: the need is raised by the growth
// allowance, then rounded to whole issue units where issued so, then served
// from stock, and the rest bought in whole packs. Every count of every offer
// counts, from the least that covers to the last price break, since ordering
// more than is needed can cost less. Of equal costs the one of fewer packs is
// taken, then of less excess, then as the offers are listed. Without
// Rule.AllowSplit one supplier serves the item, with any of its parts.
//
// The answer is exact. Errors: ErrInput, ErrUncoverable, ErrTooLarge and
// ErrTooFine.
func Best(need Need, offers []Offer, stock []Lot, rule Rule) (Order, error) {
	o, err := start(need, offers, stock, &rule)
	if err != nil {
		return Order{}, fmt.Errorf("order of %s: %w", need.Item, err)
	}
	if !o.Net.IsPositive() {
		return o, nil
	}
	if err := o.buy(offers, &rule); err != nil {
		return Order{}, fmt.Errorf("order of %s: %w", need.Item, err)
	}
	return o, nil
}

var hundred = decimal.NewFromInt(100)

// start checks the input and fills everything up to the net need.
func start(need Need, offers []Offer, stock []Lot, rule *Rule) (Order, error) {
	if err := rule.check(); err != nil {
		return Order{}, err
	}
	for i := range offers {
		if err := offers[i].check(rule.Base); err != nil {
			return Order{}, err
		}
	}
	for _, v := range []decimal.Decimal{need.Quantity, need.GrowthPercent} {
		if v.IsNegative() {
			return Order{}, inputError("quantity %s with growth of %s %%", need.Quantity, need.GrowthPercent)
		}
		if err := plain(v); err != nil {
			return Order{}, err
		}
	}
	o := Order{Item: need.Item, Unit: need.Unit, Base: rule.Base, Issued: need.Quantity}
	// (q·(100+p))/100: the shift by two places is exact, a division need not be.
	o.Raised = need.Quantity.Mul(hundred.Add(need.GrowthPercent)).Shift(-2)
	o.Needed = o.Raised
	if need.Whole {
		o.Needed = o.Raised.Ceil()
	}
	var err error
	if o.Draws, o.Passed, err = draw(o.Needed, stock, need.Whole, rule); err != nil {
		return Order{}, err
	}
	for _, d := range o.Draws {
		o.Drawn = o.Drawn.Add(d.Quantity)
	}
	o.Net = o.Needed.Sub(o.Drawn)
	return o, nil
}

// buy fills the lines, the reasons and the next best order.
func (o *Order) buy(offers []Offer, rule *Rule) error {
	m, err := o.market(offers, rule)
	if err != nil {
		return err
	}
	if len(m.choices) == 0 {
		return fmt.Errorf("%w: none of %d offers can be used", ErrUncoverable, len(offers))
	}
	need, err := m.quantity.up(o.Net)
	if err != nil {
		return err
	}
	b := buyer{market: m, offers: offers, rule: rule, need: need}
	best, err := b.best(nil)
	if err != nil {
		return err
	}
	if !best.found {
		return fmt.Errorf("%w: %s %s wanted, more than is on offer", ErrUncoverable, o.Net, o.Unit)
	}
	o.Lines = b.lines(best)
	for i := range o.Lines {
		l := &o.Lines[i]
		o.Bought = o.Bought.Add(l.Quantity)
		o.Total = o.Total.Add(l.BaseCost)
		if i == 0 || l.LatestOrder.Before(o.LatestOrder) {
			o.LatestOrder = l.LatestOrder
		}
	}
	o.Excess = o.Bought.Sub(o.Net)
	if o.NextBest, err = b.nextBest(best); err != nil {
		return err
	}
	o.Reasons, err = b.reasons(o)
	return err
}

// market is the offers that can be used, on common grids; the others are listed
// as refused.
func (o *Order) market(offers []Offer, rule *Rule) (market, error) {
	var use []int
	for i := range offers {
		if why := rule.refuses(&offers[i]); why != "" {
			o.Refused = append(o.Refused, RefusedOffer{i, why})
		} else {
			use = append(use, i)
		}
	}
	m, err := newMarket(offers, use, rule.Base)
	if err != nil {
		return market{}, err
	}
	for _, c := range m.choices {
		if len(c.segments) == 0 {
			o.Refused = append(o.Refused, RefusedOffer{c.offer, RefusedNone})
		}
	}
	m.choices = slices.DeleteFunc(m.choices, func(c choice) bool { return len(c.segments) == 0 })
	slices.SortFunc(o.Refused, func(a, b RefusedOffer) int { return a.Offer - b.Offer })
	return m, nil
}

// refuses says why an offer cannot be used; empty where it can.
func (r *Rule) refuses(o *Offer) Refusal {
	if o.Elsewhere {
		return RefusedElsewhere
	}
	if last := r.LatestOrderDate(o); !r.PlaceDate.IsZero() && !last.IsZero() && last.Before(day(r.PlaceDate)) {
		return RefusedLate
	}
	if s := r.shelf(o.ShelfDays); r.RequireShelf && s.Checked && !s.OK {
		return RefusedShelf
	}
	return ""
}

// buyer asks several questions of one market.
type buyer struct {
	market
	offers []Offer
	rule   *Rule
	need   int64
}

// without names a segment of a choice that may not be used.
type without struct{ choice, segment int }

// best is the cheapest order, the named segment left out where there is one.
func (b *buyer) best(but *without) (answer, error) {
	var best answer
	for _, places := range b.parties() {
		sub := make([]choice, 0, len(places))
		for _, i := range places {
			c := b.choices[i]
			if but != nil && but.choice == i {
				c.segments = slices.Clone(c.segments)
				for j := range c.segments { // keep the places of the others
					if j == but.segment {
						c.segments[j].low, c.segments[j].high = 1, 0
					}
				}
			}
			sub = append(sub, c)
		}
		a, err := cheapest(b.need, sub)
		if err != nil {
			return answer{}, err
		}
		for k := range a.picks {
			a.picks[k].choice = places[a.picks[k].choice]
		}
		if a.found {
			best.offer(a.picks, a.value)
		}
	}
	return best, nil
}

// parties are the sets of choices that may share one order.
func (b *buyer) parties() [][]int {
	var parties [][]int
	at := map[string]int{}
	for i, c := range b.choices {
		name := b.offers[c.offer].Supplier
		if b.rule.AllowSplit {
			name = ""
		}
		if _, ok := at[name]; !ok {
			at[name] = len(parties)
			parties = append(parties, nil)
		}
		parties[at[name]] = append(parties[at[name]], i)
	}
	return parties
}

// nextBest is the cheapest order that gives up one of the lines chosen.
func (b *buyer) nextBest(best answer) (*Alternative, error) {
	var next answer
	for _, p := range best.picks {
		a, err := b.best(&without{p.choice, p.segment})
		if err != nil {
			return nil, err
		}
		if a.found {
			next.offer(a.picks, a.value)
		}
	}
	if !next.found {
		return nil, nil
	}
	alt := &Alternative{Lines: b.lines(next)}
	for _, l := range alt.Lines {
		alt.Total = alt.Total.Add(l.BaseCost)
	}
	return alt, nil
}

// lines writes an answer out.
func (b *buyer) lines(a answer) []Line {
	var lines []Line
	for _, p := range a.picks {
		c := &b.choices[p.choice]
		lines = append(lines, b.line(c.offer, int(p.cartons*c.carton)))
	}
	return lines
}

func (b *buyer) line(offer, packs int) Line {
	o := &b.offers[offer]
	l := Line{
		Offer: offer, Supplier: o.Supplier, Part: o.Part,
		Packs: packs, PackQuantity: o.PackQuantity,
		Quantity: o.PackQuantity.Mul(decimal.NewFromInt(int64(packs))),
		Scheme:   o.Scheme, Currency: o.Currency, Rate: o.rate(b.rule.Base),
		LatestOrder: b.rule.LatestOrderDate(o), Shelf: b.rule.shelf(o.ShelfDays),
	}
	l.Tiers, l.Cost = o.PriceOf(packs)
	last := l.Tiers[len(l.Tiers)-1]
	l.Break = Break{last.FromPacks, last.Price}
	l.BaseCost = l.Cost.Mul(l.Rate)
	return l
}
