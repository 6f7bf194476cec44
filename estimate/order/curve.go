package order

import (
	"fmt"
	"math/big"

	"github.com/shopspring/decimal"
)

// curve is the least cost of an item as a function of the units the groups
// take. It never falls. Values are remembered.
type curve struct {
	buyer  *buyer // nil where nothing can be bought
	need   Need
	usable decimal.Decimal // stock
	factor int64           // from the item's money grid to the common one
	low    int             // least and most units the groups can take
	high   int
	known  []int64       // by units, one more than the cost; 0 where it has not been asked
	far    map[int]int64 // the same from denseUnits on
}

// newCurves prepares the curves of all items, and the costs of the ways of the
// groups, on one money grid.
func newCurves(groups []Group, items []Item, rule *Rule) (money grid, curves []*curve, costs [][]int64, err error) {
	curves = make([]*curve, len(items))
	var units []decimal.Decimal
	for i := range items {
		c, err := newCurve(&items[i], rule)
		if err != nil {
			return grid{}, nil, nil, fmt.Errorf("order of %s: %w", items[i].Need.Item, err)
		}
		curves[i] = c
		units = append(units, decimal.Zero)
		if c.buyer != nil {
			m := c.buyer.money
			units[i] = decimal.NewFromBigInt(new(big.Int).Set(m.unit), m.exp)
		}
		for g := range groups {
			least, most := groups[g].Ways[0][i], 0
			for _, w := range groups[g].Ways {
				least, most = min(least, w[i]), max(most, w[i])
			}
			c.low += least * groups[g].Repairs
			c.high += most * groups[g].Repairs
		}
	}
	for g := range groups {
		units = append(units, groups[g].Costs...)
	}
	money, factors, err := newGrid(units)
	if err != nil {
		return grid{}, nil, nil, err
	}
	for i, c := range curves {
		c.factor = factors[i]
	}
	costs = make([][]int64, len(groups))
	rest := factors[len(items):]
	for g := range groups {
		costs[g], rest = rest[:len(groups[g].Costs)], rest[len(groups[g].Costs):]
		for _, c := range costs[g] {
			if c > safe>>costRoom/int64(max(groups[g].Repairs, 1)) {
				return grid{}, nil, nil, fmt.Errorf("%w: cost of the ways of group %s", ErrTooFine, groups[g].Name)
			}
		}
	}
	return money, curves, costs, nil
}

func newCurve(item *Item, rule *Rule) (*curve, error) {
	o, err := start(item.Need, item.Offers, item.Stock, rule)
	if err != nil {
		return nil, err
	}
	c := &curve{need: item.Need, far: map[int]int64{}}
	all := decimal.Zero
	for _, l := range item.Stock {
		all = all.Add(l.Quantity)
	}
	draws, _, err := draw(all, item.Stock, item.Need.Whole, rule)
	if err != nil {
		return nil, err
	}
	for _, d := range draws {
		c.usable = c.usable.Add(d.Quantity)
	}
	m, err := o.market(item.Offers, rule)
	if err != nil {
		return nil, err
	}
	if len(m.choices) > 0 {
		c.buyer = &buyer{market: m, offers: item.Offers, rule: rule}
	}
	return c, nil
}

// at is the cost for the given units, in the common money grid; safe where they
// cannot be had.
func (c *curve) at(units int) (int64, error) {
	if units < len(c.known) && c.known[units] > 0 {
		return c.known[units] - 1, nil
	}
	if v, ok := c.far[units]; ok {
		return v, nil
	}
	v, err := c.find(units)
	if err != nil {
		return 0, err
	}
	if units >= denseUnits {
		c.far[units] = v
		return v, nil
	}
	if units >= len(c.known) {
		c.known = append(c.known, make([]int64, units+1-len(c.known))...)
	}
	c.known[units] = v + 1
	return v, nil
}

// denseUnits is below which costs are remembered in a slice, which the search reads
// several times as fast as a map.
const denseUnits = 1 << 16

func (c *curve) find(units int) (int64, error) {
	needed := c.need.Quantity.Add(decimal.NewFromInt(int64(units))).Mul(hundred.Add(c.need.GrowthPercent)).Shift(-2)
	if c.need.Whole {
		needed = needed.Ceil()
	}
	net := needed.Sub(c.usable)
	if !net.IsPositive() {
		return 0, nil
	}
	if c.buyer == nil {
		return safe, nil
	}
	var err error
	if c.buyer.need, err = c.buyer.quantity.up(net); err != nil {
		return 0, err
	}
	a, err := c.buyer.best(nil)
	if err != nil {
		return 0, err
	}
	if !a.found {
		return safe, nil
	}
	v, ok := mulDivUp(a.value.cost, c.factor, 1)
	if !ok || v > safe>>costRoom {
		return 0, fmt.Errorf("%w: cost of %d units of %s", ErrTooFine, units, c.need.Item)
	}
	return v, nil
}

// Costs are what the least-cost orders of 0, 1, 2, … issue units cost, up to most
// or to what can be had, in the base currency: those of Best for such needs, whose
// own quantity is not looked at. They never fall.
func Costs(need Need, offers []Offer, stock []Lot, rule Rule, most int) ([]decimal.Decimal, error) {
	need.Quantity = decimal.Zero
	c, err := newCurve(&Item{need, offers, stock}, &rule)
	if err != nil {
		return nil, fmt.Errorf("order of %s: %w", need.Item, err)
	}
	c.factor = 1
	out := []decimal.Decimal{decimal.Zero}
	for n := 1; n <= most; n++ {
		v, err := c.at(n)
		if err != nil {
			return nil, fmt.Errorf("order of %s: %w", need.Item, err)
		}
		if v >= safe {
			break
		}
		cost := decimal.Zero
		if v > 0 {
			cost = c.buyer.money.decimal(v)
		}
		out = append(out, cost)
	}
	return out, nil
}
