package order

import (
	"math/rand/v2"
	"testing"

	"github.com/shopspring/decimal"

	"wraptally/estimate/qty"
	"wraptally/estimate/trace/outside"
)

// The cross-checks put the same question, written as an integer programme, to
// glpsol (GNU Linear Programming Kit) and cbc (COIN-OR branch and cut), both
// general-purpose solvers in Debian, and compare the cost of the optimum they
// prove. Costs are whole cents so that their floating point is no matter.

// solverFor spreads the cases over the two solvers.
func solverFor(n int) string {
	if n%3 == 2 {
		return "cbc"
	}
	return "glpsol"
}

func cents(d decimal.Decimal) int64 { return d.Shift(2).IntPart() }

// Structured sets of sizes: near-multiples, one odd, all alike per unit, steeply
// falling price per unit, primes.
func structuredRolls(r *rand.Rand, kind int) []Roll {
	var packs []Roll
	add := func(size int, cents int64) {
		packs = append(packs, Roll{Length: size, Cost: decimal.New(max(cents, 0), -2)})
	}
	switch kind % 6 {
	case 0:
		for i := range 2 + r.IntN(4) {
			add(500*(i+1)*(1+r.IntN(2))+r.IntN(2), int64(1000*(i+1)+r.IntN(300)))
		}
	case 1:
		for range 2 + r.IntN(4) {
			s := 1000 + r.IntN(9000)
			add(s, int64(s)) // the same price per unit
		}
	case 2:
		for i := range 3 {
			s := []int{1009, 3001, 7001}[i]
			add(s, int64(s)*int64(12-2*i)/10)
		}
	case 3:
		for range 3 + r.IntN(3) {
			s := 3 + r.IntN(60)
			add(s, int64(s*(20+r.IntN(5))))
		}
	case 4:
		for i := range 4 {
			add(1<<(2*i), int64(1<<(2*i))*int64(40-5*i))
		}
	default:
		for range 1 + r.IntN(5) {
			add(1+r.IntN(9000), int64(r.IntN(20000)))
		}
	}
	return packs
}

func TestCrossCover(t *testing.T) {
	outside.Need(t, "glpsol", "cbc")
	r := rand.New(rand.NewPCG(41, 42))
	for n := range 330 {
		packs := structuredRolls(r, n)
		splice := 0
		if n%2 == 1 {
			splice = r.IntN(200)
		}
		largest := 0
		for _, p := range packs {
			largest = max(largest, p.Length)
		}
		need := 1 + r.IntN(largest*6)
		var p outside.Programme
		var cover, number []string
		for _, k := range packs {
			x := p.Variable(cents(k.Cost), -1)
			cover = append(cover, outside.Term(int64(k.Length-splice), x))
			number = append(number, outside.Term(1, x))
		}
		p.Row(cover, ">=", int64(need-splice))
		p.Row(number, ">=", 1)
		// With joints that lose more than a roll gives, the covering row above counts
		// rolls that cannot be joined; such cases are put as single rolls.
		if need <= splice {
			p.Row(number, "<=", 1)
		}
		want, feasible := p.Solve(t, solverFor(n))
		c, err := NewRollCoverer(packs, splice)
		if err != nil {
			t.Fatal(err)
		}
		got, err := best(c, need)
		if (err == nil) != feasible || feasible && cents(got.Cost) != want {
			t.Fatalf("need %d splice %d packs %+v: %+v, %v; %s %d %v", need, splice, packs, got, err, solverFor(n), want, feasible)
		}
	}
}

// orderProgramme adds the order of one item: a binary for each price segment of
// each offer and the cartons bought in it. demand are terms that the quantity
// must cover beside the fixed need, most the largest quantity that can be needed
// in all. Quantities in tenths, costs in cents × rate in hundredths. Counts are
// held as low as the case allows, since a solver takes a binary of 0.00001 for 0.
func orderProgramme(p *outside.Programme, need, most int64, demand []string, offers []Offer, rule Rule) {
	cover := demand
	suppliers := map[string]string{}
	var chosen []string
	for _, o := range offers {
		rate := int64(100)
		if o.Currency != rule.Base {
			rate = cents(o.Rate)
		}
		quantity := o.PackQuantity.Shift(1).IntPart()
		breaks := o.sorted()
		var one []string
		for j, b := range breaks {
			high := qty.CeilDiv(most, quantity) + int64(breaks[len(breaks)-1].FromPacks+o.MinPacks+o.Carton)
			if j+1 < len(breaks) {
				high = int64(breaks[j+1].FromPacks - 1)
			}
			if o.MaxPacks > 0 {
				high = min(high, int64(o.MaxPacks))
			}
			low := int64(max(b.FromPacks, o.MinPacks))
			// Incremental: the packs below the break cost what their tiers say.
			fixed := int64(0)
			if o.Scheme == Incremental {
				for k := 0; k < j; k++ {
					fixed += int64(breaks[k+1].FromPacks-breaks[k].FromPacks) * cents(breaks[k].Price)
				}
				fixed -= int64(b.FromPacks-1) * cents(b.Price)
			}
			z := p.Variable(fixed*rate, 1)
			carton := int64(max(1, o.Carton))
			m := p.Variable(cents(b.Price)*rate*carton, -1)
			p.Row([]string{outside.Term(carton, m), outside.Term(-low, z)}, ">=", 0)
			p.Row([]string{outside.Term(carton, m), outside.Term(-high, z)}, "<=", 0)
			cover = append(cover, outside.Term(quantity*carton, m))
			one = append(one, outside.Term(1, z))
			if s, ok := suppliers[o.Supplier]; ok {
				p.Row([]string{outside.Term(1, z), outside.Term(-1, s)}, "<=", 0)
			} else {
				s = p.Variable(0, 1)
				suppliers[o.Supplier] = s
				chosen = append(chosen, outside.Term(1, s))
				p.Row([]string{outside.Term(1, z), outside.Term(-1, s)}, "<=", 0)
			}
		}
		p.Row(one, "<=", 1)
	}
	p.Row(cover, ">=", need)
	if !rule.AllowSplit {
		p.Row(chosen, "<=", 1)
	}
}

func TestCrossOrder(t *testing.T) {
	outside.Need(t, "glpsol", "cbc")
	r := rand.New(rand.NewPCG(43, 44))
	for n := range 330 {
		offers := make([]Offer, 1+r.IntN(4))
		for i := range offers {
			offers[i] = randomOffer(r, []int{1, 3, 10}[n%3])
		}
		rule := Rule{Base: "EUR", AllowSplit: n%2 == 0}
		need := int64(1 + r.IntN([]int{300, 1500, 6000}[n%3]))
		var p outside.Programme
		orderProgramme(&p, need, need, nil, offers, rule)
		want, feasible := p.Solve(t, solverFor(n/2))
		got, err := Best(Need{Quantity: decimal.New(need, -1)}, offers, nil, rule)
		if (err == nil) != feasible || feasible && !got.Total.Equal(decimal.New(want, -4)) {
			t.Fatalf("need %d offers %+v split %v: %s, %v; %s %d %v", need, offers, rule.AllowSplit, got.Total, err, solverFor(n/2), want, feasible)
		}
	}
}

func TestCrossRechoose(t *testing.T) {
	outside.Need(t, "glpsol", "cbc")
	r := rand.New(rand.NewPCG(45, 46))
	unproven := 0
	for n := range 310 {
		groups, items := randomCampaign(r, 1+r.IntN(3), 1+r.IntN(4), 12, 4)
		for i := range items {
			items[i].Need.GrowthPercent = decimal.Zero
			items[i].Stock = nil
		}
		rule := Rule{Base: "EUR", AllowSplit: n%2 == 0}
		var p outside.Programme
		demand := make([][]string, len(items))
		for _, g := range groups {
			var all []string
			for k, w := range g.Ways {
				beside := int64(0)
				if len(g.Costs) > 0 {
					beside = g.Costs[k].Shift(4).IntPart()
				}
				x := p.Variable(beside, -1)
				all = append(all, outside.Term(1, x))
				for i, units := range w {
					if units > 0 {
						demand[i] = append(demand[i], outside.Term(int64(-10*units), x))
					}
				}
			}
			p.Row(all, "=", int64(g.Repairs))
		}
		for i := range items {
			need := items[i].Need.Quantity.Shift(1).IntPart()
			most := need
			for _, g := range groups {
				units := 0
				for _, w := range g.Ways {
					units = max(units, w[i])
				}
				most += int64(10 * units * g.Repairs)
			}
			orderProgramme(&p, need, most, demand[i], items[i].Offers, rule)
		}
		want, feasible := p.Solve(t, "cbc")
		if !feasible {
			t.Fatalf("no choice at all: %+v", groups)
		}
		got, err := Rechoose(groups, items, rule, 0)
		if err != nil {
			t.Fatal(err)
		}
		if err := CheckChoice(got, groups, items, rule); err != nil {
			t.Fatal(err)
		}
		optimum := decimal.New(want, -4)
		if got.Proven && !got.Cost.Equal(optimum) || got.Cost.LessThan(optimum) || got.Bound.GreaterThan(optimum) {
			t.Fatalf("groups %+v items %+v: %s (bound %s, proven %v); cbc %s", groups, items, got.Cost, got.Bound, got.Proven, optimum)
		}
		if !got.Proven {
			unproven++
		}
	}
	if unproven > 0 {
		t.Errorf("%d small cases left unproven", unproven)
	}
}
