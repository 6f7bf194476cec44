package bid

import (
	"fmt"
	"testing"

	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"wraptally/catalog"
)

// Profit as markup and as margin, with worked examples of others: a cost of 200
// sold at 300 is a markup of 50 % and a margin of a third (accountantskills.com,
// "Markup setting for product pricing"); a cost of 40 with a markup of 50 % sells
// at 60, a margin of 33.33 % (calcreal.com, markup calculator). A cost of 10 with
// a margin of 50 % sells at 20: half of the price is profit, common knowledge.
func TestMarkupAndMargin(t *testing.T) {
	for _, c := range []struct{ cost, basis, percent, price string }{
		{"200", "percent", "50", "300"},
		{"200", "percent-margin", "33.33333", "300"},
		{"40", "percent", "50", "60"},
		{"40", "percent-margin", "33.33333", "60"},
		{"10", "percent-margin", "50", "20"},
		{"10", "percent", "50", "15"},
		{"100", "percent-margin", "99", "10000"},
		{"100", "percent-margin", "0", "100"},
	} {
		b, _, err := Build(Campaign{Materials: dec(c.cost), Minor: 2, Costs: []catalog.Cost{{Code: "profit", Stage: "profit", Basis: c.basis, Value: dec(c.percent)}}})
		if err != nil {
			t.Fatal(err)
		}
		if !b.Net.Equal(dec(c.price)) {
			t.Errorf("%s with %s %s %% sells at %s, worked example %s", c.cost, c.basis, c.percent, b.Net, c.price)
		}
	}
	for _, percent := range []string{"100", "100.5", "250"} {
		if _, _, err := Build(Campaign{Materials: dec("10"), Minor: 2, Costs: []catalog.Cost{{Code: "profit", Stage: "profit", Basis: "percent-margin", Value: dec(percent)}}}); err == nil {
			t.Errorf("a margin of %s %% is accepted", percent)
		}
	}
}

// The markup that gives the price of a margin is k/(1 − k), and back: derived.
func TestMarkupOfMargin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.IntRange(0, 9500).Draw(t, "margin in hundredths of a per cent")
		cost := decimal.New(rapid.Int64Range(1, 1e9).Draw(t, "cost in cents"), -2)
		margin := decimal.New(int64(k), -2)
		markup := margin.Div(hundred.Sub(margin)).Mul(hundred)
		m := Line{Basis: "percent-margin", Base: cost, Rate: margin}
		u := Line{Basis: "percent", Base: cost, Rate: markup}
		if d := m.Unrounded().Sub(u.Unrounded()).Abs(); d.GreaterThan(decimal.New(1, -4)) {
			t.Fatalf("margin %s %% gives %s, markup %s %% gives %s", margin, m.Unrounded(), markup, u.Unrounded())
		}
	})
}

// A schedule adds up to the bid before tax exactly, quantity times rate is the
// amount exactly, and nothing is negative; a heavier item is never cheaper.
func TestScheduleAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		minor := int32(rapid.IntRange(0, 3).Draw(t, "minor"))
		b := &Bid{Net: decimal.New(rapid.Int64Range(0, 1e12).Draw(t, "net"), -minor), Minor: minor}
		n := rapid.IntRange(0, 30).Draw(t, "items")
		counts, weights := make([]int, n), make([]float64, n)
		for i := range counts {
			counts[i] = rapid.IntRange(1, 400).Draw(t, fmt.Sprint("count", i))
			weights[i] = rapid.Float64Range(0, 1e6).Draw(t, fmt.Sprint("weight", i))
		}
		items, once := b.Schedule(counts, weights, rapid.Float64Range(0, 1e6).Draw(t, "once"))
		sum := once
		for i, it := range items {
			if !it.Rate.Mul(decimal.NewFromInt(int64(counts[i]))).Equal(it.Amount) || !it.Rate.Equal(it.Rate.Round(minor)) || it.Rate.IsNegative() {
				t.Fatalf("%d at %s is %s", counts[i], it.Rate, it.Amount)
			}
			sum = sum.Add(it.Amount)
		}
		if !sum.Equal(b.Net) || once.IsNegative() {
			t.Fatalf("%s with %s charged once, of %s", sum, once, b.Net)
		}
	})
}

// By hand: 1000.00 over 3 repairs weighing 600, one weighing 300 and 100 charged
// once: 600.00/3 = 200.00 each, 300.00, 100.00. Of 1000.01 the cent goes with
// what is charged once, since three repairs cannot share it.
func TestScheduleWorked(t *testing.T) {
	for net, want := range map[string][3]string{"1000": {"200", "300", "100"}, "1000.01": {"200", "300", "100.01"}} {
		items, once := (&Bid{Net: dec(net), Minor: 2}).Schedule([]int{3, 1}, []float64{600, 300}, 100)
		if !items[0].Rate.Equal(dec(want[0])) || !items[1].Rate.Equal(dec(want[1])) || !once.Equal(dec(want[2])) {
			t.Errorf("%s: %s, %s and %s once, by hand %v", net, items[0].Rate, items[1].Rate, once, want)
		}
	}
}
