package order

import (
	"cmp"
	"math"

	"github.com/shopspring/decimal"

	"wraptally/estimate/qty"
)

// unlimited stands for a count without an upper limit.
const unlimited = math.MaxInt64

// segment is a run of carton counts at one price: m cartons of it cost
// fixed + price·m. Both are in units of the money grid.
type segment struct {
	at           int // place of the break in the offer's sorted list
	low, high    int64
	fixed, price int64
}

// choice is one offer on the integer grids of quantity and money.
type choice struct {
	offer    int   // its place among the offers as given
	step     int64 // quantity of a carton
	carton   int64 // packs of a carton
	segments []segment
}

// market is all offers that may be used, on common grids.
type market struct {
	choices  []choice
	quantity grid
	money    grid
}

// newMarket puts the offers named by their places on common grids.
func newMarket(offers []Offer, use []int, base string) (market, error) {
	var quantities, prices []decimal.Decimal
	for _, i := range use {
		o := &offers[i]
		carton := decimal.NewFromInt(int64(o.carton()))
		quantities = append(quantities, o.PackQuantity.Mul(carton))
		rate := o.rate(base)
		for _, b := range o.sorted() {
			price := b.Price.Mul(rate)
			// Fixed part: what the packs below this break cost more than its price.
			_, below := o.PriceOf(b.FromPacks - 1)
			fixed := decimal.Zero
			if o.Scheme == Incremental {
				fixed = below.Mul(rate).Sub(price.Mul(decimal.NewFromInt(int64(b.FromPacks - 1))))
			}
			prices = append(prices, price.Mul(carton), fixed)
		}
	}
	var m market
	var steps, money []int64
	var err error
	if m.quantity, steps, err = newGrid(quantities); err != nil {
		return market{}, err
	}
	if m.money, money, err = newGrid(prices); err != nil {
		return market{}, err
	}
	at := 0
	for k, i := range use {
		o := &offers[i]
		c := choice{offer: i, step: steps[k], carton: int64(o.carton())}
		for j, b := range o.steps() {
			s := segment{at: j, price: money[at], fixed: money[at+1], high: unlimited}
			at += 2
			low := int64(max(b.FromPacks, o.MinPacks, o.AtLeast))
			s.low = qty.CeilDiv(low, c.carton)
			if b.last < noLast {
				s.high = int64(b.last) / c.carton
			}
			if o.MaxPacks > 0 {
				s.high = min(s.high, int64(o.MaxPacks)/c.carton)
			}
			if s.low <= s.high {
				c.segments = append(c.segments, s)
			}
		}
		m.choices = append(m.choices, c)
	}
	return m, nil
}

// value is what an order is judged by, in this order.
type value struct{ cost, packs, quantity int64 }

func (a value) compare(b value) int {
	return cmp.Or(cmp.Compare(a.cost, b.cost), cmp.Compare(a.packs, b.packs), cmp.Compare(a.quantity, b.quantity))
}

func (a value) less(b value) bool { return a.compare(b) < 0 }

// pick is a number of cartons of one choice at one of its segments.
type pick struct {
	choice  int
	segment int
	cartons int64
}

// valueOf adds up an order; ok is false where it leaves exact arithmetic.
func valueOf(choices []choice, picks []pick) (v value, ok bool) {
	for _, p := range picks {
		c := &choices[p.choice]
		s := &c.segments[p.segment]
		for _, part := range []struct {
			unit int64
			to   *int64
		}{{s.price, &v.cost}, {c.carton, &v.packs}, {c.step, &v.quantity}} {
			n, ok := mulDivUp(part.unit, p.cartons, 1)
			if !ok || *part.to > safe-n {
				return value{}, false
			}
			*part.to += n
		}
		if s.fixed > safe-v.cost {
			return value{}, false
		}
		v.cost += s.fixed
	}
	return v, true
}
