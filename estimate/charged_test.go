package estimate_test

import (
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate"
	"wraptally/estimate/bid"
	"wraptally/estimate/internal/trial"
	"wraptally/estimate/order"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

func dec(s string) decimal.Decimal { return decimal.RequireFromString(s) }

// wants is a survey of so many leaks, each on a line of its own.
func leaks(n int) (ds []survey.Defect) {
	for i := range n {
		id := string(rune('a' + i))
		ds = append(ds, hole(id, "L"+id, 5000, 8))
	}
	return ds
}

func item(t *testing.T, c *catalog.Catalog, code string) *catalog.Item {
	t.Helper()
	it, ok := c.Item(code)
	if !ok {
		t.Fatalf("no item %s", code)
	}
	return it
}

func orderOf(t *testing.T, p *estimate.Campaign, code string) *estimate.ItemOrder {
	t.Helper()
	for i := range p.Orders {
		if p.Orders[i].Item == code {
			return &p.Orders[i]
		}
	}
	t.Fatalf("%s is not needed", code)
	return nil
}

func lineOf(p *estimate.Campaign, code string) (bid.Line, bool) {
	at := slices.IndexFunc(p.Bid.Lines, func(l bid.Line) bool { return l.Code == code })
	if at < 0 {
		return bid.Line{}, false
	}
	return p.Bid.Lines[at], true
}

// Each leak takes 0.052 L of solvent. Rounded up with each of six kits that is
// 6 L, for each shift of each crew one litre a shift in which a kit begins, for
// each of two crews 2 L, for the campaign 1 L.
func TestLevelsOfRounding(t *testing.T) {
	for level, want := range map[string]func(p *estimate.Campaign) float64{
		catalog.LevelKit: func(*estimate.Campaign) float64 { return 6 },
		catalog.LevelCrewShift: func(p *estimate.Campaign) float64 {
			begun := map[[2]int]bool{}
			for _, j := range p.Jobs {
				begun[[2]int{j.Crew, j.Shift}] = true
			}
			return float64(len(begun))
		},
		catalog.LevelCrew:     func(*estimate.Campaign) float64 { return 2 },
		catalog.LevelCampaign: func(*estimate.Campaign) float64 { return 1 },
	} {
		c := builtin(t, "order.growth=0", "crew.count=2")
		item(t, c, "SOLVENT").Issue = level
		p := run(t, leaks(6), c)
		o := orderOf(t, p, "SOLVENT")
		if len(p.Crews) != 2 || o.Need.Issued != want(p) || math.Abs(o.Need.Net-6*0.3*0.17448) > 0.001 {
			t.Errorf("%s: %v L issued, by hand %v, for %v L asked for; %d crews", level, o.Need.Issued, want(p), o.Need.Net, len(p.Crews))
		}
	}
}

// Where the table names no level the widest that makes sense is taken.
func TestLevelsNotNamed(t *testing.T) {
	c := builtin(t)
	for code, want := range map[string]string{"SEAL-DRY": "kit", "FAST-20": "kit", "BAND-20-15": "campaign", "SHORE": "crew"} {
		if got := item(t, c, code).Issue; got != want {
			t.Errorf("%s is rounded for %s", code, got)
		}
	}
	dir := t.TempDir()
	text, err := os.ReadFile("../catalog/book/items.csv")
	if err != nil {
		t.Fatal(err)
	}
	bare := regexp.MustCompile(`,(kit|crew-shift|crew|campaign),`).ReplaceAll(text, []byte(",,"))
	if err := os.WriteFile(filepath.Join(dir, "items.csv"), bare, 0o600); err != nil {
		t.Fatal(err)
	}
	if c, err = catalog.Load(catalog.Options{Dir: dir}); err != nil {
		t.Fatal(err)
	}
	for code, want := range map[string]string{"SEAL-DRY": "kit", "FAST-20": "kit", "PUTTY-1": "kit", "WRAP-100-3": "kit", "BAND-20-15": "campaign", "SOLVENT": "campaign", "GLOVE": "campaign", "SHORE": "crew"} {
		if got := item(t, c, code).Issue; got != want {
			t.Errorf("%s, which names no level, is rounded for %s, not %s", code, got, want)
		}
	}
}

// No item of the built-in catalogue is issued far beyond what is asked for: at
// most twice, or one unit more for each kit and each crew that gets any.
func TestRoundingStaysSmall(t *testing.T) {
	c := builtin(t, "crew.count=3")
	p := run(t, trial.Plant(120, c), c)
	for _, o := range p.Orders {
		spare := float64(len(p.Crews))
		if o.Need.Item.Issue == catalog.LevelKit {
			spare = float64(o.Need.Kits)
		}
		if n := o.Need; n.Issued > n.Net+spare {
			t.Errorf("%s: %v issued for %v asked for, %d kits", n.Item.Code, n.Issued, n.Net, n.Kits)
		}
	}
	if o := orderOf(t, p, "SOLVENT"); o.Need.Issued > o.Need.Net+3 {
		t.Errorf("%v L of solvent for %v L", o.Need.Issued, o.Need.Net)
	}
}

// A wall thickness gauge at 18.00 a working day, a goggle of 9.60 of which half
// is written off, a set of three; what says neither is charged in full and listed.
func TestToolsByHand(t *testing.T) {
	c := builtin(t, "order.growth=0")
	item(t, c, "ULTRASONIC").Hire = decimal.NewNullDecimal(dec("18"))
	item(t, c, "GOGGLE").WriteOff = decimal.NewNullDecimal(dec("50"))
	spray := item(t, c, "SPRAY")
	spray.Hire, spray.WriteOff = decimal.NullDecimal{}, decimal.NullDecimal{}
	p := run(t, leaks(4), c)
	gauge, goggles, sprays := orderOf(t, p, "ULTRASONIC"), orderOf(t, p, "GOGGLE"), orderOf(t, p, "SPRAY")
	if want := dec("18").Mul(decimal.NewFromInt(int64(p.Days))); gauge.Charge.As != estimate.ByHire || !gauge.Charge.Amount.Equal(want) || !gauge.Charge.Bought.Equal(dec("890")) {
		t.Errorf("the gauge, bought for %s, is charged %s over %d days, by hand %s", gauge.Charge.Bought, gauge.Charge.Amount, p.Days, want)
	}
	if goggles.Charge.As != estimate.ByWriteOff || !goggles.Charge.Amount.Equal(dec("14.40")) || !goggles.Charge.Bought.Equal(dec("28.80")) { // 3 · 9.60 · 50 %
		t.Errorf("goggles bought for %s are charged %s, by hand 14.40", goggles.Charge.Bought, goggles.Charge.Amount)
	}
	if sprays.Charge.As != estimate.InFull || !sprays.Charge.Amount.Equal(dec("8.40")) { // 2 · 4.20
		t.Errorf("sprays are charged %s %s, by hand 8.40", sprays.Charge.As, sprays.Charge.Amount)
	}
	if !slices.ContainsFunc(p.Assumptions, func(a trace.Assumption) bool {
		return a.Code == "tools-in-full" && a.Count == 1 && strings.Contains(a.Where, "SPRAY")
	}) {
		t.Errorf("nothing says that the sprays are charged in full: %+v", p.Assumptions)
	}
	full, tools := decimal.Zero, decimal.Zero
	for _, o := range p.Orders {
		if o.Need.Item.Returns && (o.Need.Item.Hire.Valid || o.Need.Item.WriteOff.Valid) {
			tools = tools.Add(o.Charge.Amount)
		} else {
			full = full.Add(o.Cost(2))
		}
	}
	m, _ := lineOf(p, "materials")
	l, ok := lineOf(p, "tools")
	if !ok || !l.Amount.Equal(tools) || !m.Amount.Equal(full) {
		t.Errorf("lines of %s and %s, by hand %s and %s", m.Amount, l.Amount, full, tools)
	}
}

// Two hundred gloves of store, at 12.60 for a box of 50 pairs: 0.252 a pair, what
// it would cost to put them back. At cost a lot has its own price; one without is
// asked about and taken at replacement. Free stock costs nothing.
func TestStockIsPriced(t *testing.T) {
	lot := func(item, id string, n int64, price string, length int) estimate.StockLot {
		l := estimate.StockLot{Item: item, Length: length, Lot: order.Lot{ID: id, Quantity: decimal.NewFromInt(n)}}
		if price != "" {
			l.Price = decimal.NewNullDecimal(dec(price))
		}
		return l
	}
	stock := []estimate.StockLot{lot("GLOVE", "G1", 10, "0.20", 0), lot("GLOVE", "G2", 10, "", 0), lot("BAND-20-15", "rest", 1, "", 2100)}
	band := dec("2100").Div(dec("15000")).Mul(dec("41")) // a coil of 15 m costs 41.00
	for _, c := range []struct {
		price, gloves, offcut string
		asked                 int
	}{
		{"replacement", "5.04", band.StringFixed(2), 0}, // 20 · 0.252
		{"cost", "4.52", band.StringFixed(2), 2},        // 10 · 0.20 + 10 · 0.252; G2 and the offcut are asked
		{"free", "0", "0", 0},
	} {
		cat := builtin(t, "order.growth=0", "stock.price="+c.price)
		p, err := estimate.Run(trial.Result(leaks(4)), cat, estimate.Options{Stock: stock})
		if err != nil {
			t.Fatal(err)
		}
		o := orderOf(t, p, "GLOVE")
		if !o.Drawn.Equal(dec("20")) || len(p.Offcuts) != 1 {
			t.Fatalf("%s gloves and %d offcuts drawn", o.Drawn, len(p.Offcuts))
		}
		if !o.Charge.Drawn.Equal(dec(c.gloves)) || !p.Offcuts[0].Value.Equal(dec(c.offcut)) {
			t.Errorf("%s: gloves at %s, offcut at %s; by hand %s and %s", c.price, o.Charge.Drawn, p.Offcuts[0].Value, c.gloves, c.offcut)
		}
		l, _ := lineOf(p, "stock")
		if want := dec(c.gloves).Add(dec(c.offcut)); !l.Amount.Equal(want) {
			t.Errorf("%s: the bid holds %s for stock, by hand %s", c.price, l.Amount, want)
		}
		asked := 0
		for _, q := range p.Queries {
			if q.Code == "stock-price-missing" && strings.Contains(q.Message, "2 lots") {
				asked = 2
			}
		}
		if asked != c.asked {
			t.Errorf("%s: %d lots are asked about, want %d", c.price, asked, c.asked)
		}
	}
}

// What goes to the site: packs as they are bought, beyond the need, and what is
// drawn from the store.
func TestDeliveredByHand(t *testing.T) {
	c := builtin(t)
	p, err := estimate.Run(trial.Result(leaks(3)), c, estimate.Options{Stock: []estimate.StockLot{{Item: "GLOVE", Lot: order.Lot{ID: "G", Quantity: dec("10")}}, {Item: "BAND-20-15", Length: 3000, Lot: order.Lot{ID: "rest", Quantity: dec("1")}}}})
	if err != nil {
		t.Fatal(err)
	}
	want := 1.7 * 3000 / 15000 // a fifth of a coil
	for _, o := range p.Orders {
		for _, l := range o.Lines {
			want += float64(l.Packs) * l.PackQuantity.InexactFloat64() * o.Need.Item.UnitMass
		}
		for _, d := range o.Draws {
			want += d.Quantity.InexactFloat64() * o.Need.Item.UnitMass
		}
	}
	l, ok := lineOf(p, "freight-mass")
	if got := l.Quantity.InexactFloat64(); !ok || math.Abs(got-want) > 1e-6 || !(got > p.Mass) {
		t.Errorf("freight of %v kg, by hand %v; the kits weigh %v", got, want, p.Mass)
	}
}

// Each basis that a cost may be charged by, by hand, of two crews with areas of
// their own, at 1000 each or 10 %.
func TestEveryBasisOfCost(t *testing.T) {
	base := builtin(t, "order.growth=0", "crew.count=2", "crew.overlap=no")
	ds := leaks(6)
	for i := range ds {
		ds[i].Area, ds[i].Line = []string{"North", "South"}[i%2], []string{"L1", "L2", "L3"}[i%3]
	}
	plain := run(t, ds, base)
	suppliers, persons, nights := map[string]bool{}, 0, 0
	for _, o := range plain.Orders {
		for _, l := range o.Lines {
			suppliers[l.Supplier] = true
		}
	}
	for _, s := range plain.Shifts {
		persons += plain.Crews[s.Crew-1].Members // one shift a day
		nights += plain.Crews[s.Crew-1].Members
	}
	of := func(stage string) decimal.Decimal { return plain.Bid.Stage(stage).Div(decimal.NewFromInt(10)) } // 10 %
	ordered := decimal.Zero
	for _, o := range plain.Orders {
		ordered = ordered.Add(o.Cost(2))
	}
	running := of("materials").Add(of("labour")).Add(of("site"))
	thousand := func(n int) decimal.Decimal { return decimal.NewFromInt(int64(n) * 1000) }
	mass, _ := lineOf(plain, "freight-mass")
	by := map[string]decimal.Decimal{
		"campaign": thousand(1), "crew": thousand(2), "crew-shift": thousand(len(plain.Shifts)), "person-shift": thousand(persons), "person-night": thousand(nights),
		"day": thousand(plain.Days), "repair": thousand(6), "area": thousand(2), "line": thousand(6), "supplier": thousand(len(suppliers)),
		"kg": mass.Quantity.Mul(dec("1000")), "percent-order": ordered.Div(dec("10")), "percent-materials": of("materials"), "percent-stage": of("labour"),
		"percent": running, "percent-margin": running.Mul(dec("10")).Mul(dec("10")).Div(dec("90")),
	}
	for basis, want := range by {
		value, cost := "1000", catalog.Cost{Code: "tried", Name: "tried", Stage: "freight", Basis: basis}
		if strings.HasPrefix(basis, "percent") {
			value = "10"
		}
		if basis == "percent-stage" {
			cost.Of = "labour"
		}
		cost.Value = dec(value)
		c := *base
		c.Costs = append([]catalog.Cost{}, c.Costs...)
		c.Costs = append(c.Costs, cost)
		p := run(t, ds, &c)
		l, ok := lineOf(p, "tried")
		if !ok || !l.Amount.Equal(want.Round(2)) {
			t.Errorf("per %s: %s, by hand %s", basis, l.Amount, want.Round(2))
		}
	}
	for _, word := range catalog.CostBases() { // every word of the table is tried, but those that stand for another
		if _, ok := by[word]; !ok && word != "percent-profit" && word != "percent-class" {
			t.Errorf("no trial of a cost per %s", word)
		}
	}
}

// What is needed by the person: a goggle for each member of each of two crews, a
// pair of sleeves for each member and shift.
func TestConsumablesByThePerson(t *testing.T) {
	c := builtin(t, "crew.count=2")
	c.Labour[1].Count = 4 // with the leader five
	p := run(t, leaks(6), c)
	shifts := 0
	for _, s := range p.Shifts {
		if len(s.Jobs) > 0 {
			shifts++
		}
	}
	if n := orderOf(t, p, "GOGGLE").Need.Issued; len(p.Crews) != 2 || n != 10 {
		t.Errorf("%v goggles for %d crews of five", n, len(p.Crews))
	}
	if n := orderOf(t, p, "SLEEVE").Need.Issued; n != float64(5*shifts) {
		t.Errorf("%v pairs of sleeves for five persons in %d shifts", n, shifts)
	}
}
