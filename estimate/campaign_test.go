package estimate_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"wraptally/estimate"
	"wraptally/estimate/internal/trial"
	"wraptally/estimate/order"
	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

func known(v float64) survey.Num { return survey.Known(v) }

// stops is how many of the listed queries keep something out of the totals.
func stops(p *estimate.Campaign) int {
	n := 0
	for _, q := range p.Queries {
		if q.Severity == trace.Stop {
			n++
		}
	}
	return n
}

// hole is a round leak on a dry NPS 6 line at 20 °C.
func hole(id, line string, x, d float64) survey.Defect {
	return survey.Defect{
		ID: id, Tag: id, Line: line, Line0: 2, Chainage: known(x), OD: known(168.3), Size: "6", Series: "NPS", Wall: known(7.11), Axial: known(d), Circ: known(d), Hole: true,
		Leaking: survey.Yes, Clock: known(0), Pressure: known(0.6), SurfaceTemp: known(20), Surface: survey.Dry, Access: "ground",
		DesignTemp: known(40), Stress: known(137.9), Mechanism: survey.External, Cycles: known(10), Substrate: "steel", Hazardous: survey.No,
	}
}

// A survey of which nothing is estimated orders nothing and costs nothing, and
// says why.
func TestNothingEstimated(t *testing.T) {
	c := builtin(t)
	bad := hole("a", "L", 0, 8)
	bad.OD = known(12000)
	for name, ds := range map[string][]survey.Defect{"empty": nil, "all stopped": {bad}} {
		p := run(t, ds, c)
		if len(p.Jobs) > 0 || len(p.Orders) > 0 || len(p.Cuts) > 0 || !p.Bid.Total.IsZero() || p.CrewHours != 0 || p.CrewShifts != 0 {
			t.Errorf("%s: %d orders, %s, %v h", name, len(p.Orders), p.Bid.Total, p.CrewHours)
		}
		if len(ds) > 0 && stops(p) == 0 {
			t.Errorf("%s: nothing says why", name)
		}
		if p.Account.Read != len(ds) || p.Account.Queried != len(ds) {
			t.Errorf("%s: %+v", name, p.Account)
		}
	}
}

// The campaign of the leak that the kit's test works by hand, twice on different
// lines: what is issued, ordered and paid, worked on.
func TestTwoAlike(t *testing.T) {
	c := builtin(t, "order.growth=0", "set.spares=0")
	p := run(t, []survey.Defect{hole("a", "L", 5000, 8), hole("b", "M", 5000, 8)}, c)
	if len(p.Jobs) != 2 || p.Repairs[0].ID != "L-a" || p.Repairs[1].Line != "M" {
		t.Fatalf("%d repairs", len(p.Repairs))
	}
	for code, want := range map[string]float64{
		"FAST-20":  6, // 3 bands of one strip each
		"PUTTY-1":  4, // 1.52 kg each take two packs of 1 kg
		"SEAL-DRY": 2, // one stick each
		"FILM":     2,
		"LABEL":    2,
		"SOLVENT":  1,                      // 0.3·0.17448 = 0.052 L each, rounded up once for the crew
		"MARKER":   float64(len(p.Shifts)), // one a crew-shift
		"SHORE":    1,
		// 6 strips of 670 mm and 6 cuts of 1 mm are 4.03 m: one coil of 15 m.
		"BAND-20-15":    1,
		"SHEET-025-500": 1, // two patches of 60 × 60 mm
	} {
		found := false
		for _, o := range p.Orders {
			n := o.Need
			if n.Item.Code == code {
				found = true
				if n.Issued != want {
					t.Errorf("%s: %v issued, by hand %v", code, n.Issued, want)
				}
			}
		}
		if !found {
			t.Errorf("%s is not needed", code)
		}
	}
	// Alike repairs carry alike shares, to the cent that cannot be parted.
	a, b := p.Jobs[0].Share, p.Jobs[1].Share
	if a.Total.Sub(b.Total).Abs().GreaterThan(decimal.New(2, -2)) {
		t.Errorf("shares of %s and %s", a.Total, b.Total)
	}
	// What is attended is paid: whole shifts of 8 h of three persons, and nothing
	// is lost between what shifts hold and what is paid for.
	attended := 0.0
	for _, s := range p.Shifts {
		attended += 8
		if sum := s.Minutes.Work + s.Minutes.Walk + s.Minutes.Fixed + s.Minutes.Stand; math.Abs(sum-480) > 1e-6 {
			t.Errorf("%v min of a shift of 480 are accounted for", sum)
		}
	}
	if math.Abs(p.CrewHours-attended) > 1e-9 || math.Abs(p.Paid-3*attended) > 1e-9 || p.CrewShifts != len(p.Shifts) {
		t.Errorf("%v h of crews and %v h of persons are paid for %v h attended", p.CrewHours, p.Paid, attended)
	}
}

// The allowance for growth is in the pieces: six bands of 670 mm and 5 % of them,
// one more, are 4.7 m of one coil of 15 m, and not two coils. An offcut in store
// that holds three of them takes these first.
func TestGrowthIsInThePieces(t *testing.T) {
	c := builtin(t, "order.growth=5", "set.spares=0")
	ds := []survey.Defect{hole("a", "L", 5000, 8), hole("b", "M", 5000, 8)}
	for _, stock := range [][]estimate.StockLot{nil, {{Item: "BAND-20-15", Length: 2100, Lot: order.Lot{ID: "rest", Quantity: decimal.NewFromInt(1)}}}} {
		p, err := estimate.Run(trial.Result(ds), c, estimate.Options{Stock: stock})
		if err != nil {
			t.Fatal(err)
		}
		bands := p.Cuts[0]
		if n := bands.Linear.Pieces; n != 7 || bands.Reserve() != 1 || !bands.Linear.Proven || bands.Linear.StocksUsed[0] != 1 {
			t.Errorf("%d pieces, %d in reserve, %v coils", n, bands.Reserve(), bands.Linear.StocksUsed)
		}
		if len(stock) > 0 && (bands.Lots[len(bands.Lots)-1] != "rest" || bands.Linear.StocksUsed[len(bands.Lots)-1] != 1) {
			t.Errorf("the offcut is not used: %s", bands.Used())
		}
		for _, o := range p.Orders {
			if o.Item == "BAND-20-15" && (len(o.Lines) != 1 || o.Lines[0].Packs != 1 || !o.Issued.Equal(o.Raised)) {
				t.Errorf("%+v", o.Order)
			}
		}
	}
}

// What is cut is chosen at what its order costs. Coils of 15 m come by the dozen:
// a dozen cost more than one of 30 m.
func TestCoilsAtWhatTheyCost(t *testing.T) {
	c := builtin(t, "order.growth=0")
	long := c.OffersOf("BAND-20-30")[0].Prices[0].Price
	for _, o := range c.OffersOf("BAND-20-15") {
		o.Carton = 12
	}
	p := run(t, []survey.Defect{hole("a", "L", 5000, 8)}, c)
	bands := p.Cuts[0].Linear
	if !bands.Cost.Equal(long) || !bands.Proven || p.Cuts[0].Used() != "1 × BAND-20-30" {
		t.Errorf("%s for %s, proven %v; one of 30 m costs %s", p.Cuts[0].Used(), bands.Cost, bands.Proven, long)
	}
}

// Stock is drawn before anything is bought, the earliest to expire first; what
// does not last to the work and its margin is passed over, and said to be.
func TestStockIsUsed(t *testing.T) {
	c := builtin(t, "order.growth=0", "campaign.start=2027-03-01")
	ds := []survey.Defect{hole("a", "L", 5000, 8), hole("b", "M", 5000, 8)}
	day := func(m time.Month, d int) time.Time { return time.Date(2027, m, d, 0, 0, 0, 0, time.UTC) }
	lot := func(item, id string, n int64, until time.Time) estimate.StockLot {
		return estimate.StockLot{Item: item, Lot: order.Lot{ID: id, Quantity: decimal.NewFromInt(n), Expiry: until}}
	}
	p, err := estimate.Run(trial.Result(ds), c, estimate.Options{Stock: []estimate.StockLot{
		lot("SEAL-DRY", "late", 5, day(12, 1)), lot("SEAL-DRY", "soon", 1, day(6, 1)), lot("SEAL-DRY", "gone", 9, day(3, 10)), lot("PUTTY-1", "p", 3, day(9, 1)),
	}})
	if err != nil {
		t.Fatal(err)
	}
	for _, o := range p.Orders {
		switch o.Item {
		case "SEAL-DRY": // 2 needed: 1 of the lot that expires first, 1 of the other; 1 March + 14 days is past 10 March
			if len(o.Lines) > 0 || len(o.Draws) != 2 || o.Draws[0].Lot.ID != "soon" || o.Draws[1].Lot.ID != "late" || len(o.Passed) != 1 {
				t.Errorf("%+v", o.Order)
			}
		case "PUTTY-1": // 4 needed, 3 there
			if !o.Net.Equal(decimal.NewFromInt(1)) {
				t.Errorf("%s packs to buy", o.Net)
			}
		}
	}
	if p.Dates.Need != day(3, 1) || p.Dates.End != day(3, p.Days) || p.Dates.From == "" {
		t.Errorf("%+v with %d days", p.Dates, p.Days)
	}
}

// Without a start the work is wanted by the earliest date of the survey; without
// any the outputs say that dates are not checked.
func TestNeedDate(t *testing.T) {
	c := builtin(t)
	a, b := hole("a", "L", 0, 8), hole("b", "M", 0, 8)
	if p := run(t, []survey.Defect{a, b}, c); !p.Dates.Need.IsZero() || p.FirstOrder() >= 0 || !assumed(p, "need-date-unknown") {
		t.Errorf("%+v, %v", p.Dates, p.Assumptions)
	}
	a.NeedDate, b.NeedDate = time.Date(2027, 5, 3, 0, 0, 0, 0, time.UTC), time.Date(2027, 4, 12, 0, 0, 0, 0, time.UTC)
	p := run(t, []survey.Defect{a, b}, c)
	if p.Dates.Need != b.NeedDate || assumed(p, "need-date-unknown") {
		t.Errorf("%+v", p.Dates)
	}
	for _, o := range p.Orders {
		for _, l := range o.Lines { // latest order = need − lead time, from Monday to Friday
			want := b.NeedDate
			for n := o.Offers[l.Offer].LeadDays; n > 0; {
				if want = want.AddDate(0, 0, -1); want.Weekday() != time.Saturday && want.Weekday() != time.Sunday {
					n--
				}
			}
			if l.LatestOrder != want {
				t.Errorf("%s by %v, want %v", o.Item, l.LatestOrder, want)
			}
		}
	}
}

func assumed(p *estimate.Campaign, code string) bool {
	for _, a := range p.Assumptions {
		if a.Code == code && a.Text != "" && a.Basis != "" {
			return true
		}
	}
	return false
}

// A kit that cannot be packed keeps its repair out and leaves the rest alone.
func TestKitStops(t *testing.T) {
	c := builtin(t)
	hot := hole("hot", "H", 0, 8)
	hot.SurfaceTemp = known(48) // wraps to 50 °C, putties to 45 °C
	p := run(t, []survey.Defect{hot, hole("a", "L", 0, 8)}, c)
	if len(p.Jobs) != 1 || p.Jobs[0].Repair.Line != "L" || p.Repairs[0].Status != scope.Queried {
		t.Fatalf("%d counted, %+v", len(p.Jobs), p.Repairs[0])
	}
	named := false
	for _, q := range p.Queries {
		named = named || q.Code == "putty-none" && q.Repair == p.Repairs[0].ID && q.Severity == trace.Stop && q.Place.File == "survey.csv"
	}
	if !named {
		t.Errorf("%v", p.Queries)
	}
	if p.QueryTotalOf(trace.Stop) != stops(p) || p.QueryTotal() != len(p.Queries) {
		t.Errorf("%d stops counted, %d listed; %d queries counted, %d listed", p.QueryTotalOf(trace.Stop), stops(p), p.QueryTotal(), len(p.Queries))
	}
}

// A repair is found by its id in any case, or by the id of a row it holds.
func TestFind(t *testing.T) {
	ds := []survey.Defect{hole("x-1", "L", 0, 8), hole("x-2", "M", 0, 8)}
	ds[1].Line0 = 7
	p := run(t, ds, builtin(t))
	for name, want := range map[string]int{"L-x-1": 0, "m-X-2": 1, "x-2": 1, "X-1": 0, "row 7": 1} {
		if i, err := p.Find(name); err != nil || i != want {
			t.Errorf("%s: %d, %v", name, i, err)
		}
	}
	if _, err := p.Find("L-x-3"); err == nil || !strings.Contains(err.Error(), "L-x-1, M-x-2") {
		t.Error("found what is not there, or it is not said what there is:", err)
	}
	p.Repairs[1].Defects[0].Tag = "x-1" // an id used on two lines
	if _, err := p.Find("x-1"); err == nil || !strings.Contains(err.Error(), "L-x-1 (line L, row 2 of the survey), M-x-2 (line M, row 7 of the survey)") {
		t.Error("one of two is taken:", err)
	}
}

// Two crews share the repairs; what is issued with the kits stays the same, and
// each crew gets its own tools.
func TestCrews(t *testing.T) {
	one, two := builtin(t, "order.rechoose=no", "set.spares=0"), builtin(t, "order.rechoose=no", "set.spares=0", "crew.count=2")
	ds := trial.Plant(60, one)
	a, b := run(t, ds, one), run(t, ds, two)
	issued := func(p *estimate.Campaign, code string) float64 {
		for _, o := range p.Orders {
			n := o.Need
			if n.Item.Code == code {
				return n.Issued
			}
		}
		return 0
	}
	for _, code := range []string{"FAST-20", "SEAL-WET", "PUTTY-1", "LABEL", "ABRASIVE"} {
		if x, y := issued(a, code), issued(b, code); x != y || x == 0 {
			t.Errorf("%s: %v by one crew, %v by two", code, x, y)
		}
	}
	if x, y := issued(a, "SHORE"), issued(b, "SHORE"); x != 1 || y != 2 {
		t.Errorf("durometers: %v for one crew, %v for two", x, y)
	}
	if a.Days <= b.Days {
		t.Errorf("%d days by one crew, %d by two", a.Days, b.Days)
	}
}

// Moving an input gives the table of what changes; the unmoved row is the
// campaign itself, and a longer defect costs no less.
func TestVary(t *testing.T) {
	p := run(t, []survey.Defect{hole("a", "L", 0, 8)}, builtin(t, "cut.work_units=100000"))
	table, err := p.Vary(0, 0.1, func(int, int) {})
	if err != nil {
		t.Fatal(err)
	}
	if len(table.Rows) == 0 {
		t.Fatalf("%+v", table)
	}
	rolls, sticks, putty := 0.0, 0.0, 0.0
	k := p.Kit(&p.Jobs[0])
	for _, r := range k.Rolls {
		rolls += float64(r.Count)
	}
	for _, s := range k.Sticks {
		sticks += float64(s.Count)
	}
	putty = k.Net.Putty.Mass
	for i, want := range []float64{1, putty, rolls, sticks, float64(k.Net.Seals[0].Bands), 0, p.Bid.Net.InexactFloat64()} {
		if got := table.Base[i]; i != 5 && math.Abs(got-want) > 1e-9*want {
			t.Errorf("%s is %v, in the campaign %v", estimate.VaryOutputs[i], got, want)
		}
	}
}

// A repair's share of the materials is its part of what each item is charged at, by the
// quantity it is the reason for, and an even part of what none is the reason for.
func TestMaterialShares(t *testing.T) {
	c := builtin(t)
	small, large := hole("a", "L", 0, 8), hole("b", "M", 0, 8)
	small.Leaking, large.Leaking = survey.No, survey.No // nothing to be cut
	small.Remaining, large.Remaining = known(4), known(4)
	large.Axial = known(900)
	p := run(t, []survey.Defect{small, large}, c)
	if len(p.Jobs) != 2 || len(p.Cuts) != 0 {
		t.Fatalf("%d counted, %d cut lists", len(p.Jobs), len(p.Cuts))
	}
	quantities := make([]map[string]float64, 2)
	for n := range p.Jobs {
		quantities[n] = map[string]float64{}
		for _, l := range p.Kit(&p.Jobs[n]).Lines {
			quantities[n][l.Item.Code] = l.Qty
		}
	}
	want := [2]float64{}
	for _, o := range p.Orders {
		cost, code := o.Charge.Amount.InexactFloat64(), o.Need.Item.Code
		sum := quantities[0][code] + quantities[1][code]
		for n := range want {
			if sum == 0 {
				want[n] += cost / 2
			} else {
				want[n] += cost * quantities[n][code] / sum
			}
		}
	}
	for n, w := range want {
		if got := p.Jobs[n].Share.Materials.InexactFloat64(); math.Abs(got-w) > 0.05 { // each order line is rounded to the cent
			t.Errorf("%s: %v of the materials, by its quantities %v", p.Repairs[n].ID, got, w)
		}
	}
	if !(want[1] > want[0]) {
		t.Errorf("the larger repair costs %v, the smaller %v", want[1], want[0])
	}
}
