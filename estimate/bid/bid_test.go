package bid

import (
	"testing"

	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"wraptally/catalog"
	_ "wraptally/estimate/trace/depth"
)

func dec(s string) decimal.Decimal { return decimal.RequireFromString(s) }

// costs are one line of every basis.
func costs() []catalog.Cost {
	return []catalog.Cost{
		{Code: "plant", Stage: "site", Basis: "crew-shift", Value: dec("185")},
		{Code: "permit", Stage: "site", Basis: "campaign", Value: dec("150")},
		{Code: "visit", Stage: "site", Basis: "repair", Value: dec("12.5")},
		{Code: "freight", Stage: "freight", Basis: "kg", Value: dec("1.15")},
		{Code: "handling", Stage: "overhead", Basis: "percent-materials", Value: dec("3")},
		{Code: "overhead", Stage: "overhead", Basis: "percent", Value: dec("12")},
		{Code: "contingency", Stage: "contingency", Basis: "percent", Value: dec("10")},
		{Code: "profit", Stage: "profit", Basis: "percent-margin", Value: dec("8")},
		{Code: "tax", Stage: "tax", Basis: "percent", Value: dec("20")},
	}
}

func counts(shifts, repairs, mass string) []Counted {
	return []Counted{{Basis: "crew-shift", Quantity: dec(shifts)}, {Basis: "repair", Quantity: dec(repairs)}, {Basis: "kg", Quantity: dec(mass)}}
}

// A percentage of one stage: 10 % of the labour of 37.125 h · 159 = 5902.88 is
// 590.288 → 590.29, whatever came between.
func TestPercentOfStage(t *testing.T) {
	c := campaign()
	c.Costs = append(c.Costs, catalog.Cost{Code: "insurance", Stage: "overhead", Basis: "percent-stage", Of: "labour", Value: dec("10")})
	b, _, err := Build(c)
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range b.Lines {
		if l.Code == "insurance" && (!l.Amount.Equal(dec("590.29")) || !l.Base.Equal(dec("5902.88"))) {
			t.Errorf("%s of %s, by hand 590.29", l.Amount, l.Base)
		}
	}
}

func campaign() Campaign {
	return Campaign{
		Materials: dec("1234.56"), Labour: []Labour{{Code: "labour", Hours: dec("37.125"), Rate: dec("159")}}, Access: dec("1060"),
		Repairs: 3, Counts: counts("5", "3", "88.8"), Costs: costs(), Currency: "EUR", Minor: 2, RangeLow: dec("-20"), RangeHigh: dec("30"),
		MaterialWeights: []float64{5, 3, 2}, LabourWeights: []float64{60, 90, 70}, AccessWeights: []float64{640, 420, 0},
	}
}

// A build-up worked by hand, each line rounded once to the cent, half away from
// zero (ISO 4217: two digits for the euro).
func TestBuildWorked(t *testing.T) {
	b, _, err := Build(campaign())
	if err != nil {
		t.Fatal(err)
	}
	// materials 1234.56
	// labour    37.125 h · 159 = 5902.875 → 5902.88
	// access    1060 + 5·185 = 925 + 150 + 3·12.50 = 37.50      running 9309.94
	// freight   88.8 kg · 1.15 = 102.12                           direct 9412.06
	// overhead  3 % of 1234.56 = 37.0368 → 37.04
	//           12 % of 9412.06 = 1129.4472 → 1129.45             running 10578.55
	// contingency 10 % of 10578.55 = 1057.855 → 1057.86           running 11636.41
	// profit    8 % of the price: 11636.41·8/92 = 1011.8617… → 1011.86   net 12648.27
	// tax       20 % of 12648.27 = 2529.654 → 2529.65             total 15177.92
	for code, want := range map[string]string{
		"materials": "1234.56", "labour": "5902.88", "access-repairs": "1060", "plant": "925", "permit": "150", "visit": "37.5", "freight": "102.12",
		"handling": "37.04", "overhead": "1129.45", "contingency": "1057.86", "profit": "1011.86", "tax": "2529.65",
	} {
		found := false
		for _, l := range b.Lines {
			if l.Code == code {
				found = true
				if !l.Amount.Equal(dec(want)) {
					t.Errorf("%s is %s, by hand %s", code, l.Amount, want)
				}
			}
		}
		if !found {
			t.Errorf("no line %s", code)
		}
	}
	for what, v := range map[string][2]decimal.Decimal{
		"direct": {b.Direct, dec("9412.06")}, "net": {b.Net, dec("12648.27")}, "total": {b.Total, dec("15177.92")},
		// −20 % and +30 % about the bid before tax: 10118.616 → 10118.62, 16442.751 → 16442.75.
		"low": {b.Low, dec("10118.62")}, "high": {b.High, dec("16442.75")},
	} {
		if !v[0].Equal(v[1]) {
			t.Errorf("%s is %s, by hand %s", what, v[0], v[1])
		}
	}
	// A margin is a share of the price: 1011.86 of 12648.27 is 8 %.
	if m := dec("1011.86").Div(b.Net).Mul(dec("100")).Round(3); !m.Equal(dec("8")) {
		t.Errorf("margin of %s %%", m)
	}
}

// Minor units by ISO 4217: none for the yen, three for the Kuwaiti dinar.
func TestMinorUnits(t *testing.T) {
	for minor, want := range map[int32][2]string{0: {"5903", "1235"}, 2: {"5902.88", "1234.56"}, 3: {"5902.875", "1234.56"}} {
		c := campaign()
		c.Minor = minor
		b, _, err := Build(c)
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range b.Lines {
			if !l.Amount.Equal(l.Amount.Round(minor)) {
				t.Errorf("%d digits: %s is %s", minor, l.Code, l.Amount)
			}
			if l.Code == "labour" && !l.Amount.Equal(dec(want[0])) || l.Code == "materials" && !l.Amount.Equal(dec(want[1])) {
				t.Errorf("%d digits: %s is %s, want %s", minor, l.Code, l.Amount, want)
			}
		}
	}
}

// What cannot be worked out is refused, and named.
func TestBuildRefuses(t *testing.T) {
	for _, cost := range []catalog.Cost{
		{Code: "odd", Stage: "profit", Basis: "per-moon", Value: dec("1")},
		{Code: "all", Stage: "profit", Basis: "percent-margin", Value: dec("100")},
	} {
		c := campaign()
		c.Costs = append(c.Costs, cost)
		if _, _, err := Build(c); err == nil || len(err.Error()) < 20 {
			t.Errorf("%s: %v", cost.Code, err)
		}
	}
	c := campaign()
	c.LabourWeights = c.LabourWeights[:2]
	if _, _, err := Build(c); err == nil {
		t.Error("two weights for three repairs")
	}
	b, shares, err := Build(Campaign{Minor: 2, Costs: costs(), Counts: counts("0", "0", "0")})
	if err != nil || len(shares) != 0 {
		t.Errorf("an empty campaign: %+v, %v", b, err)
	}
}

// The lines add up to the total, the shares to the total and to each stage, to
// the last minor unit, whatever the amounts and weights.
func TestAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		money := func(name string) decimal.Decimal { return decimal.New(rapid.Int64Range(0, 1e10).Draw(t, name), -4) }
		n := rapid.IntRange(1, 30).Draw(t, "repairs")
		c := Campaign{
			Materials: money("materials"), Labour: []Labour{{Code: "labour", Hours: money("hours"), Rate: money("rate")}, {Code: "waiting", Hours: money("waiting"), Rate: money("rate")}}, Access: money("access").Round(2),
			Repairs: n, Counts: []Counted{{Basis: "crew-shift", Quantity: money("shifts")}, {Basis: "repair", Quantity: decimal.NewFromInt(int64(n))}, {Basis: "kg", Quantity: money("mass")}}, Costs: costs(), Minor: int32(rapid.IntRange(0, 3).Draw(t, "minor")), RangeLow: dec("-20"), RangeHigh: dec("30"),
		}
		for range n {
			c.MaterialWeights = append(c.MaterialWeights, rapid.Float64Range(0, 1e5).Draw(t, "m"))
			c.LabourWeights = append(c.LabourWeights, rapid.Float64Range(0, 1e3).Draw(t, "l"))
			c.AccessWeights = append(c.AccessWeights, float64(rapid.IntRange(0, 3).Draw(t, "a"))*310)
		}
		b, shares, err := Build(c)
		if err != nil {
			t.Fatal(err)
		}
		sum := decimal.Zero
		stages := map[string]decimal.Decimal{}
		for _, l := range b.Lines {
			sum = sum.Add(l.Amount)
			name := l.Stage
			if l.Code == "access-repairs" {
				name = "access to the repairs"
			}
			stages[name] = stages[name].Add(l.Amount)
		}
		if !sum.Equal(b.Total) || b.Net.GreaterThan(b.Total) || b.Direct.GreaterThan(b.Net) || b.Low.GreaterThan(b.Net) || b.High.LessThan(b.Net) {
			t.Fatalf("lines add up to %s: %+v", sum, b)
		}
		var all Share
		for _, s := range shares {
			all.Materials, all.Labour, all.Access = all.Materials.Add(s.Materials), all.Labour.Add(s.Labour), all.Access.Add(s.Access)
			all.Other, all.Total = all.Other.Add(s.Other), all.Total.Add(s.Total)
			if !s.Materials.Add(s.Labour).Add(s.Access).Add(s.Other).Equal(s.Total) || s.Total.IsNegative() {
				t.Fatalf("%+v", s)
			}
		}
		if len(shares) != n || !all.Total.Equal(b.Total) || !all.Materials.Equal(stages["materials"]) || !all.Labour.Equal(stages["labour"]) ||
			!all.Access.Equal(stages["access to the repairs"]) {
			t.Fatalf("shares %+v of total %s, stages %v", all, b.Total, stages)
		}
	})
}

// A half goes away from zero, not to the even digit: 2.5 h at 0.85 are 2.125.
func TestHalfAwayFromZero(t *testing.T) {
	b, _, err := Build(Campaign{Materials: dec("0.125"), Labour: []Labour{{Hours: dec("2.5"), Rate: dec("0.85")}}, Minor: 2})
	if err != nil {
		t.Fatal(err)
	}
	if !b.Lines[0].Amount.Equal(dec("0.13")) || !b.Lines[1].Amount.Equal(dec("2.13")) || !b.Total.Equal(dec("2.26")) {
		t.Errorf("%+v", b.Lines)
	}
}
