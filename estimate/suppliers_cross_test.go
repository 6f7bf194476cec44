package estimate_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate"
	"wraptally/estimate/internal/trial"
	"wraptally/estimate/order"
	"wraptally/estimate/trace/outside"
)

// bazaar is the built-in catalogue with prices, price steps, cartons, delivery
// charges, free deliveries and least orders drawn anew, all in whole cents of one
// currency, and more suppliers for the coils and what is laid on them.
func bazaar(t testing.TB, r *rand.Rand) *catalog.Catalog {
	c := builtin(t, fmt.Sprintf("order.growth=%d", r.IntN(31)))
	cents := func(low, high int) decimal.Decimal { return decimal.New(int64(low+r.IntN(high-low+1)), -2) }
	for i := range c.Offers {
		o := &c.Offers[i]
		o.Currency, o.Scheme, o.Available = c.Settings.Currency, "all-units", 0
		if r.IntN(3) == 0 {
			o.Carton = 1 + r.IntN(4)
		}
		if r.IntN(2) == 0 {
			o.Supplier = []string{"Supplier A", "Supplier B", "Supplier C"}[r.IntN(3)]
		}
		if slices.ContainsFunc(c.OffersOf(o.Item), func(p *catalog.Offer) bool { return p != o && p.Supplier == o.Supplier }) {
			o.Supplier = "Supplier " + string(rune('D'+i%2))
		}
		for k, p := range o.Prices {
			p.Price = p.Price.Mul(decimal.NewFromFloat(0.7 + 0.6*r.Float64())).Round(2)
			if k > 0 {
				p.Price = decimal.Min(p.Price, o.Prices[k-1].Price)
			}
		}
	}
	for i := range c.Suppliers {
		s := &c.Suppliers[i]
		s.Currency = c.Settings.Currency
		s.Delivery, s.Hazardous, s.Minimum = decimal.NewNullDecimal(cents(0, 12000)), decimal.NewNullDecimal(cents(0, 6000)), decimal.NewNullDecimal(decimal.Zero)
		if s.FreeFrom = decimal.Zero; r.IntN(2) == 0 {
			s.FreeFrom = cents(5000, 300000)
		}
		if r.IntN(2) == 0 {
			s.Minimum = decimal.NewNullDecimal(cents(1000, 90000))
		}
	}
	return c
}

// campaignProgramme is the cutting of the coils and the order of all items with
// what suppliers charge as one integer programme; sheets and rolls are as the plan
// has them. It shares no code with the search: patterns are listed one by one.
func campaignProgramme(p *estimate.Campaign, c *catalog.Catalog) *outside.Programme {
	var m outside.Programme
	term := outside.Term
	cents := func(d decimal.Decimal) int64 { return d.Shift(2).Round(0).IntPart() }
	cut := map[string][]string{} // by item: the terms of the coils cut
	for _, cl := range p.Cuts {
		if cl.Linear == nil {
			continue
		}
		count := map[int]int{}
		var lengths []int
		for _, piece := range cl.Pieces {
			if count[piece.Length] == 0 && piece.Count > 0 {
				lengths = append(lengths, piece.Length)
			}
			count[piece.Length] += piece.Count
		}
		made := make([][]string, len(lengths))
		for i, coil := range cl.Coils {
			kerf, room := int(c.Settings.CutKerf), coil.Length-int(c.Settings.CutTrim)+int(c.Settings.CutKerf)
			pattern := make([]int, len(lengths))
			var used []string
			var walk func(k, left int)
			walk = func(k, left int) {
				if k == len(lengths) {
					x := m.Variable(0, -1)
					used = append(used, term(1, x))
					for j, n := range pattern {
						if n > 0 {
							made[j] = append(made[j], term(int64(n), x))
						}
					}
					return
				}
				most := min(count[lengths[k]], left/(lengths[k]+kerf))
				least := 0
				if k == len(lengths)-1 { // fuller patterns do whatever emptier ones do
					least = most
				}
				for n := least; n <= most; n++ {
					pattern[k] = n
					walk(k+1, left-n*(lengths[k]+kerf))
				}
				pattern[k] = 0
			}
			walk(0, room)
			if coil.Offcut {
				m.Row(used, "<=", int64(coil.Count))
				continue
			}
			cut[cl.Items[i]] = append(cut[cl.Items[i]], used...)
		}
		for j, l := range lengths {
			m.Row(made[j], ">=", int64(count[l]))
		}
	}
	type shop struct {
		opened, hazard string
		value          []string
	}
	shops := map[string]*shop{}
	var names []string
	// every item that is needed, or could be cut from
	nets := map[string]int64{}
	for i := range p.Orders {
		o := &p.Orders[i]
		nets[o.Need.Item.Code] = o.Net.IntPart()
	}
	for i := range c.Items {
		it := &c.Items[i]
		terms, isCut := cut[it.Code]
		if nets[it.Code] == 0 && !isCut {
			continue
		}
		var cover, one []string
		for _, o := range c.OffersOf(it.Code) {
			s := shops[o.Supplier]
			if s == nil {
				s = &shop{opened: m.Variable(0, 1)}
				shops[o.Supplier] = s
				names = append(names, o.Supplier)
			}
			if it.Transport != "" && s.hazard == "" {
				s.hazard = m.Variable(cents(p.Terms(o.Supplier).PerHazard), 1)
			}
			carton := int64(max(1, o.Carton))
			for k, b := range o.Prices {
				low := int64(max(b.FromPacks, o.MinPacks))
				high := nets[it.Code]/o.PackQty.IntPart() + low + 500 // no least cost is beyond
				if k+1 < len(o.Prices) {
					high = int64(o.Prices[k+1].FromPacks - 1)
				}
				z := m.Variable(0, 1)
				n := m.Variable(cents(b.Price)*carton, -1)
				m.Row([]string{term(carton, n), term(-low, z)}, ">=", 0)
				m.Row([]string{term(carton, n), term(-high, z)}, "<=", 0)
				m.Row([]string{term(1, s.opened), term(-1, z)}, ">=", 0)
				if it.Transport != "" {
					m.Row([]string{term(1, s.hazard), term(-1, z)}, ">=", 0)
				}
				cover, one = append(cover, term(o.PackQty.IntPart()*carton, n)), append(one, term(1, z))
				s.value = append(s.value, term(cents(b.Price)*carton, n))
			}
		}
		m.Row(one, "<=", 1)
		for _, x := range terms {
			cover = append(cover, "-"+x[1:])
		}
		net := nets[it.Code]
		if isCut {
			net = 0
		}
		m.Row(cover, ">=", net)
	}
	for _, name := range names {
		s, t := shops[name], p.Terms(name)
		delivery := m.Variable(cents(t.Charge), 1)
		var free []string
		if t.FreeFrom.IsPositive() {
			f := m.Variable(0, 1)
			free = append(free, term(1, f))
			m.Row(append(slices.Clone(s.value), term(-cents(t.FreeFrom), f)), ">=", 0)
		}
		m.Row(append(free, term(1, delivery), term(-1, s.opened)), ">=", 0)
		if t.Minimum.IsPositive() {
			short := m.Variable(1, -1)
			m.Row(append(slices.Clone(s.value), term(1, short), term(-cents(t.Minimum), s.opened)), ">=", 0)
		}
	}
	return &m
}

// A solver that cuts and orders in one programme finds nothing below what is
// ordered by more than a little, and nothing at all below a bound for the needs
// that the coils of its own choice make.
func TestCrossCampaigns(t *testing.T) {
	outside.Need(t, "cbc")
	ordered, saved, dear, worst := 0, 0, 0, 0.0
	const campaigns = 300
	for n := range campaigns {
		r := rand.New(rand.NewPCG(uint64(n), 27))
		c := bazaar(t, r)
		var stock []estimate.StockLot
		if r.IntN(2) == 0 {
			stock = append(stock, estimate.StockLot{Item: "BAND-20-15", Length: 1500 + r.IntN(6000), Lot: order.Lot{ID: "rest", Quantity: decimal.NewFromInt(int64(1 + r.IntN(2)))}})
		}
		p, err := estimate.Run(trial.Result(trial.Survey(trial.Seeded(uint64(n)), c, 1+r.IntN(12))), c, estimate.Options{Stock: stock})
		if err != nil {
			t.Fatal(err)
		}
		if len(p.Orders) == 0 {
			continue
		}
		least, ok := campaignProgramme(p, c).Solve(t, "cbc")
		if !ok {
			t.Fatalf("campaign %d: the solver finds no way to buy what was bought", n)
		}
		ordered++
		if p.Supply.Cost.LessThan(p.Supply.Apart) {
			saved++
		}
		cost := p.Supply.Cost.Shift(2).IntPart()
		if cost < least {
			t.Fatalf("campaign %d: ordered for %d, which the solver says cannot be below %d", n, cost, least)
		}
		if cost > least {
			dear++
			worst = max(worst, float64(cost)/float64(least)-1)
			t.Logf("campaign %d: %d, least %d, suppliers proven %v", n, cost, least, p.Supply.Proven)
		}
	}
	t.Logf("%d campaigns ordered, %d cheaper than item by item; %d cost more than the least, the worst by %.2f %%", ordered, saved, dear, 100*worst)
	if worst > 0.01 {
		t.Errorf("a campaign costs %.2f %% more than the least", 100*worst)
	}
}
