package order

import (
	"fmt"
	"slices"

	"github.com/shopspring/decimal"
)

// Item is something bought for the whole campaign.
type Item struct {
	Need   Need // its Quantity is what is needed apart from the groups
	Offers []Offer
	Stock  []Lot
}

// Group is repairs alike: the same ways of serving each are open.
type Group struct {
	Name    string
	Repairs int
	// Ways[k][i] is how many issue units of item i one repair takes the k-th way.
	// The first way is the one chosen when each repair is looked at alone.
	Ways [][]int
	// Costs[k] is what one repair served the k-th way costs beside the items:
	// hands and what goes with them. nil: nothing.
	Costs []decimal.Decimal
}

// extra is what a choice of ways costs beside the items.
func extra(groups []Group, take [][]int) decimal.Decimal {
	total := decimal.Zero
	for g := range groups {
		for k, c := range groups[g].Costs {
			total = total.Add(c.Mul(decimal.NewFromInt(int64(take[g][k]))))
		}
	}
	return total
}

// Choice says how many repairs of each group are served which way.
type Choice struct {
	Take   [][]int         // by group, by way
	Totals []int           // issue units of each item for the groups, without growth
	Orders []Order         // by item
	Cost   decimal.Decimal // of the orders and of the ways
	Before decimal.Decimal // with the first way for every repair; Cost is never more
	// Bound is a cost below which no choice comes. Where it is less than Cost the
	// work allowed ran out and Proven is false.
	Bound  decimal.Decimal
	Proven bool
	Work   int // steps of search spent
}

// RechooseWork is a sensible limit of the search: about a second on one core.
const RechooseWork = 5_000_000

// Rechoose chooses again over the campaign. What is cheapest for each repair by
// itself need not be so together: the sum may fall just short of a price break,
// or fill the last carton badly. Costs are those of Best for each item's total,
// so growth, stock, cartons, minimum and breaks all count, and those of the ways.
//
// Groups that share no item, directly or through others, are settled apart. In
// each part a local search from several starts finds a good choice and a
// Lagrangian bound (a price for each item, whole numbers, so that the bound is
// exact) tells how far from the best it can be. Where a gap is left, a dynamic
// programme over the totals, pruned by that bound, closes it if work allows. The
// result is never dearer than the first ways, and depends on nothing but the
// input. work limits the steps of search; 0 means RechooseWork.
//
// Errors: ErrInput, and those of Best, also where the first ways cannot be had.
func Rechoose(groups []Group, items []Item, rule Rule, work int) (Choice, error) {
	if work <= 0 {
		work = RechooseWork
	}
	if err := checkGroups(groups, len(items)); err != nil {
		return Choice{}, err
	}
	c := Choice{Take: make([][]int, len(groups)), Totals: make([]int, len(items))}
	for g := range groups {
		c.Take[g] = make([]int, len(groups[g].Ways))
		c.Take[g][0] = groups[g].Repairs
	}
	before, err := ordersOf(totals(groups, c.Take, len(items)), items, rule)
	if err != nil {
		return Choice{}, err
	}
	c.Before = sum(before).Add(extra(groups, c.Take))
	money, curves, costs, err := newCurves(groups, items, &rule)
	if err != nil {
		return Choice{}, err
	}
	c.Proven = true
	bound := int64(0)
	parts := connected(groups, len(items))
	for i, part := range parts {
		p := newPart(groups, curves, costs, part)
		if err := p.solve((work - c.Work) / (len(parts) - i)); err != nil {
			return Choice{}, err
		}
		for k, g := range part.groups {
			c.Take[g] = p.best.take[k]
		}
		bound += p.bound
		c.Work += p.work
		c.Proven = c.Proven && p.bound == p.best.cost
	}
	c.Totals = totals(groups, c.Take, len(items))
	if c.Orders, err = ordersOf(c.Totals, items, rule); err != nil {
		return Choice{}, err
	}
	c.Cost, c.Bound = sum(c.Orders).Add(extra(groups, c.Take)), money.decimal(bound)
	return c, nil
}

func checkGroups(groups []Group, items int) error {
	all := 0
	for _, g := range groups {
		if g.Repairs < 0 || len(g.Ways) == 0 {
			return inputError("group %s of %d repairs with %d ways", g.Name, g.Repairs, len(g.Ways))
		}
		if len(g.Costs) > 0 && len(g.Costs) != len(g.Ways) || slices.ContainsFunc(g.Costs, decimal.Decimal.IsNegative) {
			return inputError("group %s: costs %v of %d ways", g.Name, g.Costs, len(g.Ways))
		}
		for _, w := range g.Ways {
			if len(w) != items {
				return inputError("group %s: a way over %d items, there are %d", g.Name, len(w), items)
			}
			for _, n := range w {
				if n < 0 {
					return inputError("group %s: a way takes %d of an item", g.Name, n)
				}
				if all += n; n > maxUnits || g.Repairs > maxUnits || all > maxUnits*1000 {
					return fmt.Errorf("%w: group %s takes %d units for each of %d repairs", ErrTooLarge, g.Name, n, g.Repairs)
				}
			}
		}
	}
	return nil
}

// maxUnits bounds the units of a way and the repairs of a group.
const maxUnits = 1_000_000

// totals adds up what a choice takes of each item.
func totals(groups []Group, take [][]int, items int) []int {
	t := make([]int, items)
	for g := range groups {
		for k, n := range take[g] {
			for i, units := range groups[g].Ways[k] {
				t[i] += n * units
			}
		}
	}
	return t
}

// ordersOf is the least-cost order of each item for the given totals.
func ordersOf(totals []int, items []Item, rule Rule) ([]Order, error) {
	orders := make([]Order, len(items))
	for i := range items {
		need := items[i].Need
		need.Quantity = need.Quantity.Add(decimal.NewFromInt(int64(totals[i])))
		o, err := Best(need, items[i].Offers, items[i].Stock, rule)
		if err != nil {
			return nil, err
		}
		orders[i] = o
	}
	return orders, nil
}

func sum(orders []Order) decimal.Decimal {
	total := decimal.Zero
	for i := range orders {
		total = total.Add(orders[i].Total)
	}
	return total
}

// set is groups and items that hang together.
type set struct{ groups, items []int }

// connected parts groups and items into sets that share nothing. Items used by
// no group are left out of all sets with their cost; they come as sets without
// groups.
func connected(groups []Group, items int) []set {
	leader := make([]int, items+len(groups)) // items, then groups
	for i := range leader {
		leader[i] = i
	}
	var find func(int) int
	find = func(i int) int {
		if leader[i] != i {
			leader[i] = find(leader[i])
		}
		return leader[i]
	}
	for g := range groups {
		for _, w := range groups[g].Ways {
			for i, n := range w {
				if n > 0 {
					leader[find(items+g)] = find(i)
				}
			}
		}
	}
	var sets []set
	at := map[int]int{}
	for i := range leader {
		l := find(i)
		if _, ok := at[l]; !ok {
			at[l] = len(sets)
			sets = append(sets, set{})
		}
		s := &sets[at[l]]
		if i < items {
			s.items = append(s.items, i)
		} else {
			s.groups = append(s.groups, i-items)
		}
	}
	return sets
}

// CheckChoice replays a choice: every repair served once, totals and orders
// right, not dearer than the first ways, not below the bound.
func CheckChoice(c Choice, groups []Group, items []Item, rule Rule) error {
	if len(c.Take) != len(groups) || len(c.Orders) != len(items) {
		return fmt.Errorf("choice over %d groups and %d items, there are %d and %d", len(c.Take), len(c.Orders), len(groups), len(items))
	}
	for g := range groups {
		served := 0
		for _, n := range c.Take[g] {
			if n < 0 {
				return fmt.Errorf("group %s: %v", groups[g].Name, c.Take[g])
			}
			served += n
		}
		if served != groups[g].Repairs || len(c.Take[g]) != len(groups[g].Ways) {
			return fmt.Errorf("group %s of %d repairs serves %v", groups[g].Name, groups[g].Repairs, c.Take[g])
		}
	}
	if t := totals(groups, c.Take, len(items)); !slices.Equal(t, c.Totals) {
		return fmt.Errorf("totals %v, should be %v", c.Totals, t)
	}
	total := extra(groups, c.Take)
	for i := range items {
		need := items[i].Need
		need.Quantity = need.Quantity.Add(decimal.NewFromInt(int64(c.Totals[i])))
		if err := Check(c.Orders[i], need, items[i].Offers, items[i].Stock, rule); err != nil {
			return err
		}
		total = total.Add(c.Orders[i].Total)
	}
	if !total.Equal(c.Cost) || c.Cost.GreaterThan(c.Before) || c.Cost.LessThan(c.Bound) || c.Proven != c.Cost.Equal(c.Bound) {
		return fmt.Errorf("cost %s (orders %s), before %s, bound %s, proven %v", c.Cost, total, c.Before, c.Bound, c.Proven)
	}
	return nil
}
