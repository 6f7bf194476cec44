package order

import (
	"cmp"
	"math"
	"slices"
	"time"

	"github.com/shopspring/decimal"
)

// Scheme says to which packs the price of a break applies.
type Scheme int

const (
	AllUnits    Scheme = iota // the price of the break reached applies to every pack
	Incremental               // it applies only to the packs from the break on
)

// String gives the word shown to a reader.
func (s Scheme) String() string {
	if s == Incremental {
		return "incremental"
	}
	return "all-units"
}

// Break is one step of a price list.
type Break struct {
	FromPacks int             // the first pack count at this price, ≥ 1
	Price     decimal.Decimal // of one pack, in the offer's currency, > 0
}

// Offer is one pack of one supplier.
type Offer struct {
	Supplier     string
	Part         string          // the supplier's part code
	PackQuantity decimal.Decimal // issue units in a pack, > 0
	Carton       int             // packs are sold in multiples of this; 0 and 1 mean singly
	MinPacks     int             // least packs sold; 0 means none
	MaxPacks     int             // most packs to be had; 0 means no limit
	Currency     string
	Rate         decimal.Decimal // base currency for one of Currency; may be zero where Currency is the base
	Scheme       Scheme
	Breaks       []Break // in any order; all-units lists may begin above one pack, which is a minimum
	LeadDays     int     // days from order to delivery on which the supplier works
	WorkingDays  bool    // they count working days; else every day
	Closed       []Span  // days that count neither way
	ShelfDays    int     // days of shelf life left at delivery; 0 means it does not expire

	// What a choice over several items together has settled beforehand.
	Elsewhere bool // bought from others
	AtLeast   int  // packs to be bought where it is bought from; 0 means as few as may be

	Deliveries int // in which it comes, each covering its own part of the need; 0 and 1 mean all at once
}

// Span is a run of days, the first and the last included.
type Span struct{ From, To time.Time }

// Covering are the numbers of packs of the offer alone that cover a quantity and
// cost at most so much more than the cheapest of them, in the offer's currency,
// fewest first; all is false where there are more than most.
func (o *Offer) Covering(net, more decimal.Decimal, most int) (counts []int, all bool) {
	least := max(packsFor(net, o.PackQuantity), o.MinPacks, o.AtLeast, 1)
	var costs []decimal.Decimal
	add := func(n, last int) bool { // as long as the cost stays within bounds
		for n = up(n, o.carton()); n <= last; n += o.carton() {
			if o.MaxPacks > 0 && n > o.MaxPacks {
				return true
			}
			if len(counts) == most {
				return false
			}
			_, cost := o.PriceOf(n)
			if len(costs) > 0 && cost.GreaterThan(costs[0].Add(more)) {
				return true
			}
			counts, costs = append(counts, n), append(costs, cost)
			if len(costs) > 1 && cost.LessThan(costs[0]) {
				costs[0] = cost
			}
		}
		return true
	}
	all = true
	for _, s := range o.steps() {
		all = add(max(least, s.FromPacks), s.last) && all
	}
	return counts, all
}

// up is the least multiple of a step that is not below n.
func up(n, step int) int { return (n + step - 1) / step * step }

// maxDays is a hundred years, beyond any lead time or shelf life meant.
const maxDays = 36_525

// Tier is the part of a line bought at one price.
type Tier struct {
	FromPacks int // the break
	Packs     int
	Price     decimal.Decimal // of one pack
	Cost      decimal.Decimal // Packs × Price
}

// sorted are the breaks by rising pack count.
func (o *Offer) sorted() []Break {
	b := slices.Clone(o.Breaks)
	slices.SortFunc(b, func(x, y Break) int { return cmp.Compare(x.FromPacks, y.FromPacks) })
	return b
}

// step is a break with the last pack count that reaches no higher one.
type step struct {
	Break
	last int // noLast where there is no higher one
}

const noLast = math.MaxInt

// steps are the breaks by rising pack count.
func (o *Offer) steps() []step {
	breaks := o.sorted()
	out := make([]step, len(breaks))
	for i, b := range breaks {
		if out[i] = (step{b, noLast}); i > 0 {
			out[i-1].last = b.FromPacks - 1
		}
	}
	return out
}

// PriceOf is what n packs cost in the offer's currency, tier by tier. The
// number is priced as it stands, whether or not it may be ordered. Fewer packs
// than the first break are priced at nothing: there is no price for them, and
// no order holds such a line.
func (o *Offer) PriceOf(n int) ([]Tier, decimal.Decimal) {
	total := decimal.Zero
	var tiers []Tier
	add := func(from, packs int, price decimal.Decimal) {
		cost := price.Mul(decimal.NewFromInt(int64(packs)))
		tiers = append(tiers, Tier{from, packs, price, cost})
		total = total.Add(cost)
	}
	for _, s := range o.steps() {
		switch {
		case n < s.FromPacks:
		case o.Scheme == Incremental:
			add(s.FromPacks, min(n, s.last)-s.FromPacks+1, s.Price)
		case n <= s.last:
			add(s.FromPacks, n, s.Price)
		}
	}
	return tiers, total
}

// carton is the multiple in which packs are sold.
func (o *Offer) carton() int { return max(1, o.Carton) }

// rate is the offer's rate to the base currency.
func (o *Offer) rate(base string) decimal.Decimal {
	if o.Currency == base && o.Rate.IsZero() {
		return decimal.NewFromInt(1)
	}
	return o.Rate
}

// check refuses what cannot be meant.
func (o *Offer) check(base string) error {
	name := o.Supplier + " " + o.Part
	switch {
	case !o.PackQuantity.IsPositive():
		return inputError("offer %s: pack quantity %s", name, o.PackQuantity)
	case o.AtLeast < 0 || o.Carton < 0 || o.MinPacks < 0 || o.MaxPacks < 0 || o.LeadDays < 0 || o.ShelfDays < 0:
		return inputError("offer %s: carton %d, least %d, most %d packs, lead %d, shelf %d days: none may be negative",
			name, o.Carton, o.MinPacks, o.MaxPacks, o.LeadDays, o.ShelfDays)
	case o.LeadDays > maxDays || o.ShelfDays > maxDays:
		return inputError("offer %s: lead %d, shelf %d days: more than %d", name, o.LeadDays, o.ShelfDays, maxDays)
	case len(o.Breaks) == 0:
		return inputError("offer %s: no price", name)
	case o.Scheme != AllUnits && o.Scheme != Incremental:
		return inputError("offer %s: unknown price scheme %d", name, o.Scheme)
	case o.Rate.IsNegative() || o.rate(base).IsZero():
		return inputError("offer %s: no exchange rate from %q to %q", name, o.Currency, base)
	case o.Currency == base && !o.Rate.IsZero() && !o.Rate.Equal(decimal.NewFromInt(1)):
		return inputError("offer %s: rate %s of the base currency to itself", name, o.Rate)
	}
	breaks := o.sorted()
	for i, b := range breaks {
		switch {
		case b.FromPacks < 1:
			return inputError("offer %s: price break from %d packs", name, b.FromPacks)
		case !b.Price.IsPositive():
			return inputError("offer %s: price %s from %d packs", name, b.Price, b.FromPacks)
		case i > 0 && b.FromPacks == breaks[i-1].FromPacks:
			return inputError("offer %s: two prices from %d packs", name, b.FromPacks)
		}
	}
	if o.Scheme == Incremental && breaks[0].FromPacks != 1 {
		return inputError("offer %s: incremental prices begin at %d packs, not at 1", name, breaks[0].FromPacks)
	}
	return nil
}
