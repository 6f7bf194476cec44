package order

import (
	"fmt"
	"slices"
	"time"

	"github.com/shopspring/decimal"
)

// Check replays an order against the input it was made from: growth and
// rounding, the lots drawn, the counts allowed, prices, sums and dates, the
// need covered, no line to spare, and nothing cheaper to be had by buying all
// from one offer. It shares no arithmetic with the search. That no mix of
// several offers is cheaper it does not re-prove.
func Check(o Order, need Need, offers []Offer, stock []Lot, rule Rule) error {
	c := checker{o: o, need: need, offers: offers, stock: stock, rule: rule}
	for _, step := range []func() error{c.quantities, c.draws, c.lines, c.sums, c.single} {
		if err := step(); err != nil {
			return fmt.Errorf("order of %s: %w", need.Item, err)
		}
	}
	return nil
}

type checker struct {
	o      Order
	need   Need
	offers []Offer
	stock  []Lot
	rule   Rule
}

func (c *checker) quantities() error {
	growth := c.need.Quantity.Mul(c.need.GrowthPercent).Mul(decimal.New(1, -2))
	raised := c.need.Quantity.Add(growth)
	if !c.o.Raised.Equal(raised) {
		return fmt.Errorf("raised need %s, should be %s", c.o.Raised, raised)
	}
	short := c.o.Needed.Sub(raised)
	switch {
	case c.need.Whole && (!c.o.Needed.IsInteger() || short.IsNegative() || short.GreaterThanOrEqual(decimal.NewFromInt(1))):
		return fmt.Errorf("needed %s is not %s in whole units", c.o.Needed, raised)
	case !c.need.Whole && !short.IsZero():
		return fmt.Errorf("needed %s, raised need %s", c.o.Needed, raised)
	case !c.o.Net.Equal(c.o.Needed.Sub(c.o.Drawn)) || c.o.Net.IsNegative():
		return fmt.Errorf("net need %s is not %s − %s", c.o.Net, c.o.Needed, c.o.Drawn)
	}
	return nil
}

// lasts reports whether a lot can be used, and to what day: to the end of the
// work, or as much of it as is used before.
func (c *checker) lasts(l Lot) (bool, time.Time) {
	if ok, until := c.lastsToTheEnd(l); ok {
		return true, until
	}
	until, known := l.UseBy()
	return known && l.Fit.IsPositive() && !until.IsZero(), until
}

func (c *checker) lastsToTheEnd(l Lot) (bool, time.Time) {
	until := l.Expiry
	if l.Undated && until.IsZero() && !l.Opened {
		return false, until
	}
	if l.Opened {
		if l.OpenedOn.IsZero() || l.OpenDays < 1 {
			return false, until
		}
		if end := l.OpenedOn.AddDate(0, 0, l.OpenDays); until.IsZero() || end.Before(until) {
			until = end
		}
	}
	if until.IsZero() {
		return true, until
	}
	from := c.rule.InstallDate
	if from.IsZero() {
		from = c.rule.NeedDate
	}
	return !from.IsZero() && !day(until).Before(day(from.AddDate(0, 0, c.rule.MarginDays))), day(until)
}

// holds is how much of a lot that can be used there is to draw.
func (c *checker) holds(l Lot) decimal.Decimal {
	if ok, _ := c.lastsToTheEnd(l); !ok && l.Fit.LessThan(l.Quantity) {
		return l.Fit
	}
	return l.Quantity
}

func sameLot(a, b Lot) bool {
	return a.ID == b.ID && a.Location == b.Location && a.Quantity.Equal(b.Quantity) && a.Expiry.Equal(b.Expiry) &&
		a.Opened == b.Opened && a.OpenedOn.Equal(b.OpenedOn) && a.OpenDays == b.OpenDays && a.Fit.Equal(b.Fit)
}

func (c *checker) draws() error {
	drawn, usable := decimal.Zero, decimal.Zero
	taken := map[int]bool{}
	var before time.Time
	for n, d := range c.o.Draws {
		at := -1
		for i, l := range c.stock {
			if !taken[i] && sameLot(l, d.Lot) {
				at = i
				break
			}
		}
		if at < 0 {
			return fmt.Errorf("lot %s is not in stock, or drawn twice", d.Lot.ID)
		}
		taken[at] = true
		ok, until := c.lasts(d.Lot)
		switch {
		case !ok:
			return fmt.Errorf("lot %s is drawn but does not last", d.Lot.ID)
		case !d.Quantity.IsPositive() || d.Quantity.GreaterThan(c.holds(d.Lot)):
			return fmt.Errorf("lot %s of %s gives %s", d.Lot.ID, c.holds(d.Lot), d.Quantity)
		case n > 0 && !until.IsZero() && (before.IsZero() || until.Before(before)):
			return fmt.Errorf("lot %s, to %s, is drawn after one that keeps longer", d.Lot.ID, until.Format(time.DateOnly))
		}
		before = until
		drawn = drawn.Add(d.Quantity)
	}
	for _, l := range c.stock {
		if ok, _ := c.lasts(l); ok {
			holds := c.holds(l)
			if c.need.Whole {
				holds = holds.Truncate(0)
			}
			usable = usable.Add(holds)
		}
	}
	if !drawn.Equal(c.o.Drawn) || !drawn.Equal(decimal.Min(usable, c.o.Needed)) {
		return fmt.Errorf("drawn %s (lots give %s), usable %s for a need of %s", c.o.Drawn, drawn, usable, c.o.Needed)
	}
	return nil
}

// cost is what n packs of an offer cost in its currency, pack by pack of the
// price list; known is false where there is no price.
func cost(o Offer, n int) (sum decimal.Decimal, known bool) {
	price := func(k int) (p decimal.Decimal, ok bool) {
		from := 0
		for _, b := range o.Breaks {
			if b.FromPacks <= k && b.FromPacks > from {
				p, from, ok = b.Price, b.FromPacks, true
			}
		}
		return p, ok
	}
	if o.Scheme == AllUnits {
		p, ok := price(n)
		return p.Mul(decimal.NewFromInt(int64(n))), ok
	}
	for _, b := range o.Breaks { // packs at the price of this break: from it to the next above, or n
		if b.FromPacks > n {
			continue
		}
		to := n
		for _, above := range o.Breaks {
			if above.FromPacks > b.FromPacks {
				to = min(to, above.FromPacks-1)
			}
		}
		sum = sum.Add(b.Price.Mul(decimal.NewFromInt(int64(to - b.FromPacks + 1))))
		known = true
	}
	return sum, known
}

// base is a cost in the base currency.
func (c *checker) base(o Offer, amount decimal.Decimal) decimal.Decimal {
	if o.Currency == c.rule.Base {
		return amount
	}
	return amount.Mul(o.Rate)
}

func (c *checker) lines() error {
	seen := map[int]bool{}
	suppliers := map[string]bool{}
	for _, l := range c.o.Lines {
		if l.Offer < 0 || l.Offer >= len(c.offers) || seen[l.Offer] {
			return fmt.Errorf("line for offer %d, unknown or there twice", l.Offer)
		}
		seen[l.Offer] = true
		o := c.offers[l.Offer]
		suppliers[o.Supplier] = true
		paid, known := cost(o, l.Packs)
		tiers := decimal.Zero
		packs := 0
		for _, t := range l.Tiers {
			tiers = tiers.Add(t.Price.Mul(decimal.NewFromInt(int64(t.Packs))))
			packs += t.Packs
		}
		switch {
		case l.Supplier != o.Supplier || l.Part != o.Part:
			return fmt.Errorf("line %s %s names another offer", l.Supplier, l.Part)
		case o.Elsewhere:
			return fmt.Errorf("%s %s is bought from, though others were to be", o.Supplier, o.Part)
		case l.Packs < 1 || l.Packs < max(o.MinPacks, o.AtLeast) || o.MaxPacks > 0 && l.Packs > o.MaxPacks || o.Carton > 1 && l.Packs%o.Carton != 0:
			return fmt.Errorf("%d packs of %s %s: least %d, most %d, carton %d", l.Packs, o.Supplier, o.Part, o.MinPacks, o.MaxPacks, o.Carton)
		case !known || !paid.Equal(l.Cost) || !tiers.Equal(l.Cost) || packs != l.Packs:
			return fmt.Errorf("%d packs of %s %s cost %s, the price list says %s", l.Packs, o.Supplier, o.Part, l.Cost, paid)
		case !l.BaseCost.Equal(c.base(o, paid)):
			return fmt.Errorf("%s %s costs %s in the base currency, should be %s", o.Supplier, o.Part, l.BaseCost, c.base(o, paid))
		case !l.Quantity.Equal(o.PackQuantity.Mul(decimal.NewFromInt(int64(l.Packs)))):
			return fmt.Errorf("%d packs of %s are not %s", l.Packs, o.PackQuantity, l.Quantity)
		case !c.rule.NeedDate.IsZero() && !c.inTime(&o, l.LatestOrder):
			return fmt.Errorf("%s %s: latest order %s with a lead of %d days", o.Supplier, o.Part, l.LatestOrder.Format(time.DateOnly), o.LeadDays)
		case !c.rule.PlaceDate.IsZero() && !l.LatestOrder.IsZero() && l.LatestOrder.Before(day(c.rule.PlaceDate)):
			return fmt.Errorf("%s %s comes too late", o.Supplier, o.Part)
		}
	}
	if len(suppliers) > 1 && !c.rule.AllowSplit {
		return fmt.Errorf("%d suppliers share the order against the rule", len(suppliers))
	}
	return nil
}

// inTime counts, forwards, the days from the latest order to the need date: so
// many as the lead time says, and no later order would leave as many.
func (c *checker) inTime(o *Offer, latest time.Time) bool {
	counts := func(d time.Time) bool {
		free := o.WorkingDays && slices.Contains(c.rule.Weekend, d.Weekday())
		for _, s := range o.Closed {
			free = free || !d.Before(day(s.From)) && !d.After(day(s.To))
		}
		return !free
	}
	need := day(c.rule.NeedDate)
	n := 0
	for d := latest; d.Before(need); d = d.AddDate(0, 0, 1) {
		if counts(d) {
			n++
		}
	}
	if o.LeadDays == 0 && latest.Before(need) { // the last working day before a need date that is none
		return n == 1 && counts(latest) && !counts(need)
	}
	return n == o.LeadDays && !latest.After(need) && counts(latest)
}

func (c *checker) sums() error {
	bought, total := decimal.Zero, decimal.Zero
	for _, l := range c.o.Lines {
		bought = bought.Add(l.Quantity)
		total = total.Add(l.BaseCost)
	}
	switch {
	case !bought.Equal(c.o.Bought) || !total.Equal(c.o.Total):
		return fmt.Errorf("bought %s for %s, the lines say %s for %s", c.o.Bought, c.o.Total, bought, total)
	case bought.LessThan(c.o.Net):
		return fmt.Errorf("bought %s, %s needed", bought, c.o.Net)
	case len(c.o.Lines) > 0 && !c.o.Excess.Equal(bought.Sub(c.o.Net)):
		return fmt.Errorf("excess %s, should be %s", c.o.Excess, bought.Sub(c.o.Net))
	case len(c.o.Lines) > 0 && c.o.Net.IsZero():
		return fmt.Errorf("bought %s although stock covers the need", bought)
	case c.o.NextBest != nil && c.o.NextBest.Total.LessThan(total):
		return fmt.Errorf("the next best way costs %s, less than %s", c.o.NextBest.Total, total)
	}
	for _, l := range c.o.Lines {
		if bought.Sub(l.Quantity).GreaterThanOrEqual(c.o.Net) {
			return fmt.Errorf("the need is covered without %s %s", l.Supplier, l.Part)
		}
	}
	return nil
}

// single looks for a cheaper order from one offer: the least count that covers,
// and the first count allowed at each later break.
func (c *checker) single() error {
	if !c.o.Net.IsPositive() {
		return nil
	}
	for _, o := range c.offers {
		if c.rule.refuses(&o) != "" {
			continue
		}
		counts := []int{packsFor(c.o.Net, o.PackQuantity)}
		for _, b := range o.Breaks {
			counts = append(counts, max(b.FromPacks, counts[0]))
		}
		for _, n := range counts {
			n = max(n, o.MinPacks, o.AtLeast)
			if carton := max(1, o.Carton); n%carton != 0 {
				n += carton - n%carton
			}
			if o.MaxPacks > 0 && n > o.MaxPacks {
				continue
			}
			if paid, known := cost(o, n); known && c.base(o, paid).LessThan(c.o.Total) {
				return fmt.Errorf("%d packs of %s %s cost %s, less than %s", n, o.Supplier, o.Part, c.base(o, paid), c.o.Total)
			}
		}
	}
	return nil
}
