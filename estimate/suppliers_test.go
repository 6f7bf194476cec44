package estimate_test

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate"
	"wraptally/estimate/internal/trial"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

// uncharged takes away what suppliers charge and ask for beside their prices.
func uncharged(c *catalog.Catalog) *catalog.Catalog {
	zero := decimal.NewNullDecimal(decimal.Zero)
	for i := range c.Suppliers {
		s := &c.Suppliers[i]
		s.Delivery, s.Minimum, s.Hazardous = zero, zero, zero
	}
	return c
}

// What suppliers charge, worked out from the lines of the order and the tables by
// another way, is what stands in supply and bid; together it is never more than
// with each item bought as if it were alone.
func TestChargesAddUp(t *testing.T) {
	for n := range 40 {
		r := rand.New(rand.NewPCG(uint64(n), 5))
		c := bazaar(t, r)
		p := run(t, trial.Survey(trial.Seeded(uint64(n)), c, 1+r.IntN(9)), c)
		goods, hazardous := map[string]decimal.Decimal{}, map[string]bool{}
		sum := decimal.Zero
		for _, o := range p.Orders {
			for _, l := range o.Lines {
				goods[l.Supplier] = goods[l.Supplier].Add(l.BaseCost) // whole cents
				sum = sum.Add(l.BaseCost)
				hazardous[l.Supplier] = hazardous[l.Supplier] || o.Need.Item.Transport != ""
			}
		}
		for _, s := range c.Suppliers {
			value, bought := goods[s.Supplier]
			if !bought {
				continue
			}
			if s.FreeFrom.IsZero() || value.LessThan(s.FreeFrom) {
				sum = sum.Add(s.Delivery.Decimal)
			}
			if hazardous[s.Supplier] {
				sum = sum.Add(s.Hazardous.Decimal)
			}
			sum = sum.Add(decimal.Max(decimal.Zero, s.Minimum.Decimal.Sub(value)))
			delete(goods, s.Supplier)
		}
		if len(goods) > 0 { // suppliers that the table does not list are taken at the worst
			continue
		}
		billed := decimal.Zero
		for _, l := range p.Bid.Lines {
			if l.Code == "materials" || strings.HasPrefix(l.Code, "delivery-") || strings.HasPrefix(l.Code, "hazardous-") || strings.HasPrefix(l.Code, "shortfall-") {
				billed = billed.Add(l.Amount)
			}
		}
		if !sum.Equal(p.Supply.Cost) || !billed.Equal(sum) || p.Supply.Cost.GreaterThan(p.Supply.Apart) || p.Supply.Bound.GreaterThan(p.Supply.Cost) {
			t.Fatalf("campaign %d: %s by hand, %s in supply (bound %s, apart %s), %s in the bid", n, sum, p.Supply.Cost, p.Supply.Bound, p.Supply.Apart, billed)
		}
	}
}

// Without charges every item is bought at its own least cost: what the choice over
// all suppliers adds then costs nothing.
func TestNoChargesNoChange(t *testing.T) {
	for n := range 15 {
		c := uncharged(builtin(t))
		p := run(t, trial.Survey(trial.Seeded(uint64(n)), c, 1+n), c)
		goods := decimal.Zero
		for _, o := range p.Orders {
			goods = goods.Add(o.Cost(2))
		}
		if !p.Supply.Proven || !p.Supply.Cost.Equal(goods) || !p.Supply.Apart.Equal(goods) || !p.Supply.Bound.Equal(goods) {
			t.Errorf("survey %d: %s for goods of %s, apart %s, bound %s", n, p.Supply.Cost, goods, p.Supply.Apart, p.Supply.Bound)
		}
	}
}

// A term that is not known costs no less than any that the settings hold to be the
// worst, and is listed.
func TestUnknownTermsAreNotBenign(t *testing.T) {
	ds := []survey.Defect{hole("a", "L", 5000, 8), hole("b", "M", 5000, 8)}
	known := run(t, ds, uncharged(builtin(t)))
	c := builtin(t)
	c.Suppliers = nil
	p := run(t, ds, c)
	if !p.Supply.Cost.GreaterThan(known.Supply.Cost) || len(p.Supply.Suppliers) == 0 {
		t.Fatalf("%s with nothing known, %s with no charges", p.Supply.Cost, known.Supply.Cost)
	}
	for _, s := range p.Supply.Suppliers {
		if len(s.Assumed) != 3 || !s.Delivery.Equal(decimal.NewFromFloat(c.Settings.NoDelivery)) {
			t.Errorf("%+v", s)
		}
	}
}

// Goods that keep 40 days on 65 days of work come in two deliveries, each of which
// covers what is used until the next, and it is asked.
func TestGoodsThatDoNotKeep(t *testing.T) {
	c := builtin(t, "campaign.start=2027-03-01", "crew.productive=0.05")
	for i := range c.Offers {
		if o := &c.Offers[i]; o.ShelfLeft > 0 {
			o.ShelfLeft = 40
		}
	}
	var ds []survey.Defect
	for i := range 12 {
		ds = append(ds, hole(string(rune('a'+i)), "L", float64(5000*i), 8))
	}
	p := run(t, ds, c)
	if p.Supply.Lasts <= 41 || p.ShortLived() == "" {
		t.Fatalf("the work lasts %d days: %q", p.Supply.Lasts, p.ShortLived())
	}
	several := 0
	for _, o := range p.Orders {
		packs := map[int]int{}
		var last time.Time
		for _, d := range o.Deliveries {
			packs[d.Line] += d.Packs
			if d.Packs <= 0 || d.Day != p.Dates.Need.AddDate(0, 0, d.After) {
				t.Errorf("%s: %+v", o.Item, d)
			}
			last = d.Day
		}
		for k, l := range o.Lines {
			if packs[k] != l.Packs {
				t.Errorf("%s: %d packs in deliveries, %d ordered", o.Item, packs[k], l.Packs)
			}
		}
		if len(o.Deliveries) > len(o.Lines) {
			several++
			if end := p.Dates.Need.AddDate(0, 0, p.Supply.Lasts-1); last.AddDate(0, 0, 40).Before(end) {
				t.Errorf("%s: the last delivery on %s keeps 40 days, the work ends on %s", o.Item, last, end)
			}
		}
	}
	asked := slices.ContainsFunc(p.Queries, func(q trace.Query) bool { return q.Code == "shelf-life-short" })
	if several == 0 || !asked {
		t.Errorf("%d items come in several deliveries, asked %v", several, asked)
	}
}

// More suppliers to choose from never cost more where the choice is proven and
// nobody charges for anything but goods.
func TestFewerChoicesAreNotCheaper(t *testing.T) {
	for n := range 25 {
		r := rand.New(rand.NewPCG(uint64(n), 9))
		ds := trial.Survey(trial.Seeded(uint64(n)), builtin(t), 1+r.IntN(8))
		cost := func(without int) (decimal.Decimal, *estimate.Campaign) {
			c := uncharged(bazaar(t, rand.New(rand.NewPCG(uint64(n), 10))))
			c.Settings.Rechoose = "no" // the rolls are those of each repair
			if without >= 0 {
				kept := 0
				for i := range c.Offers {
					o := &c.Offers[i]
					if list := c.OffersOf(o.Item); len(list) > 1 && list[len(list)-1] == o {
						if kept++; kept-1 == without {
							for _, p := range o.Prices {
								p.Price = p.Price.Mul(decimal.NewFromInt(1000))
							}
						}
					}
				}
			}
			p := run(t, ds, c)
			return p.Supply.Cost, p
		}
		all, p := cost(-1)
		gap := decimal.Zero
		for _, cl := range p.Cuts {
			if v := cl.Verdict(); !v.Proven {
				gap = gap.Add(v.Objective.Sub(v.Bound))
			}
		}
		for without := range 4 {
			if fewer, _ := cost(without); fewer.Add(gap).LessThan(all) {
				t.Errorf("survey %d: %s with all offers (gap %s), %s without the %d-th second one", n, all, gap, fewer, without+1)
			}
		}
	}
}
