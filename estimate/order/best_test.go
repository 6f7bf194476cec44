package order

import (
	"errors"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"wraptally/estimate/trace/depth"
)

func dec(s string) decimal.Decimal { return decimal.RequireFromString(s) }

func date(s string) time.Time {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		panic(err)
	}
	return t
}

// worth is what orders are compared by.
type worth struct {
	cost   decimal.Decimal
	packs  int
	bought decimal.Decimal
}

func (a worth) less(b worth) bool {
	if c := a.cost.Cmp(b.cost); c != 0 {
		return c < 0
	}
	if a.packs != b.packs {
		return a.packs < b.packs
	}
	return a.bought.LessThan(b.bought)
}

// tryAll is the best order by trying every count of every offer, up to well
// past the last price break.
func tryAll(net decimal.Decimal, offers []Offer, rule Rule) (best worth, found bool) {
	each := make([][]worth, len(offers)) // what each count that may be ordered is worth
	for i, o := range offers {
		most := packsFor(net, o.PackQuantity) + max(1, o.Carton) + o.MinPacks
		for _, b := range o.Breaks {
			most = max(most, b.FromPacks+max(1, o.Carton))
		}
		if o.MaxPacks > 0 {
			most = min(most, o.MaxPacks)
		}
		each[i] = []worth{{}}
		for n := 1; n <= most; n++ {
			paid, known := cost(o, n)
			if !known || n < o.MinPacks || n%max(1, o.Carton) != 0 {
				continue
			}
			if o.Currency != rule.Base {
				paid = paid.Mul(o.Rate)
			}
			each[i] = append(each[i], worth{paid, n, o.PackQuantity.Mul(decimal.NewFromInt(int64(n)))})
		}
	}
	var walk func(i int, w worth, supplier string)
	walk = func(i int, w worth, supplier string) {
		if i == len(offers) {
			if w.bought.GreaterThanOrEqual(net) && (!found || w.less(best)) {
				best, found = w, true
			}
			return
		}
		walk(i+1, w, supplier)
		if supplier != "" && supplier != offers[i].Supplier && !rule.AllowSplit {
			return
		}
		for _, o := range each[i][1:] {
			walk(i+1, worth{w.cost.Add(o.cost), w.packs + o.packs, w.bought.Add(o.bought)}, offers[i].Supplier)
		}
	}
	walk(0, worth{}, "")
	return best, found
}

func randomOffer(r *rand.Rand, scale int) Offer {
	o := Offer{
		Supplier:     string(rune('A' + r.IntN(3))),
		PackQuantity: decimal.New(int64(1+r.IntN(12)), -int32(r.IntN(2))),
		Currency:     "EUR",
	}
	if r.IntN(3) == 0 {
		o.Carton = 1 + r.IntN(4)
	}
	if r.IntN(3) == 0 {
		o.MinPacks = r.IntN(6)
	}
	if r.IntN(4) == 0 {
		o.MaxPacks = 1 + r.IntN(12*scale)
	}
	if r.IntN(3) == 0 {
		o.Currency, o.Rate = "USD", decimal.New(int64(50+r.IntN(100)), -2)
	}
	if r.IntN(2) == 0 {
		o.Scheme = Incremental
	}
	from, price := 1, 200+r.IntN(800)
	if o.Scheme == AllUnits && r.IntN(4) == 0 {
		from += r.IntN(4)
	}
	for range 1 + r.IntN(4) {
		o.Breaks = append(o.Breaks, Break{from, decimal.New(int64(price), -2)})
		from += 1 + r.IntN(6*scale)
		if r.IntN(8) > 0 {
			price = price * (60 + r.IntN(40)) / 100
		} else {
			price = price * (100 + r.IntN(30)) / 100
		}
		price = max(price, 1)
	}
	r.Shuffle(len(o.Breaks), func(i, j int) { o.Breaks[i], o.Breaks[j] = o.Breaks[j], o.Breaks[i] })
	return o
}

func TestBestAgainstAllOrders(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	covered := 0
	for range 10000 {
		offers := make([]Offer, 1+r.IntN(3))
		for i := range offers {
			offers[i] = randomOffer(r, 1)
		}
		rule := Rule{Base: "EUR", AllowSplit: r.IntN(2) == 0}
		need := Need{Item: "tape", Quantity: decimal.New(int64(1+r.IntN(600/len(offers)/len(offers))), -1)}
		want, found := tryAll(need.Quantity, offers, rule)
		got, err := Best(need, offers, nil, rule)
		if !found {
			if !errors.Is(err, ErrUncoverable) {
				t.Fatalf("%v %v: %v, %v; nothing covers", need, offers, got, err)
			}
			continue
		}
		covered++
		if err != nil {
			t.Fatalf("%v %v: %v", need, offers, err)
		}
		w := worth{cost: got.Total, bought: got.Bought}
		for _, l := range got.Lines {
			w.packs += l.Packs
		}
		if w.less(want) || want.less(w) {
			t.Fatalf("need %s split %v offers %+v:\ngot  %+v\nwant %+v", need.Quantity, rule.AllowSplit, offers, w, want)
		}
		if err := Check(got, need, offers, nil, rule); err != nil {
			t.Fatal(err)
		}
		checkReasons(t, got, need, offers)
	}
	if covered < 7500 {
		t.Fatalf("only %d cases could be covered", covered)
	}
}

// checkReasons: the reasons of each line must lead from the exact count to the
// count ordered, without a gap.
func checkReasons(t *testing.T, o Order, need Need, offers []Offer) {
	t.Helper()
	for i, l := range o.Lines {
		share := o.Net
		for k, other := range o.Lines {
			if k != i {
				share = share.Sub(other.Quantity)
			}
		}
		packs := packsFor(share, l.PackQuantity)
		for _, r := range o.Reasons {
			if r.Line != i {
				continue
			}
			if r.From != packs || r.To < r.From {
				t.Fatalf("reason %v does not follow from %d packs", r, packs)
			}
			if r.Code == ReasonBreak && !r.ToCost.LessThan(r.FromCost) {
				t.Fatalf("reason %v saves nothing", r)
			}
			packs = r.To
		}
		if packs != l.Packs {
			t.Fatalf("line %d orders %d packs, the reasons lead to %d: %v\n%+v", i, l.Packs, packs, o.Reasons, offers[l.Offer])
		}
	}
}

// The bulk road, which is taken for needs beyond the table, must agree with the table.
func TestBestBulkAgreesWithTable(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 10))
	done := 0
	for range depth.Of(400, 1500) {
		offers := make([]Offer, 2+r.IntN(3))
		use := make([]int, len(offers))
		for i := range offers {
			offers[i], use[i] = randomOffer(r, 20), i
		}
		m, err := newMarket(offers, use, "EUR")
		if err != nil {
			t.Fatal(err)
		}
		m.choices = slices.DeleteFunc(m.choices, func(c choice) bool { return len(c.segments) == 0 })
		need := int64(1 + r.IntN(8000))
		a := cheapestTable(need, m.choices)
		b, err := cheapestBulk(need, m.choices)
		if err != nil {
			t.Fatal(err)
		}
		if a.found != b.found || a.found && a.value != b.value {
			t.Fatalf("need %d of %+v:\ntable %+v\nbulk  %+v", need, m.choices, a, b)
		}
		if a.found {
			done++
		}
	}
	if done < depth.Of(250, 1000) {
		t.Fatalf("only %d comparisons", done)
	}
}

func TestBestProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
		offers := make([]Offer, 1+r.IntN(4))
		for i := range offers {
			offers[i] = randomOffer(r, 10)
			offers[i].MaxPacks = 0
		}
		rule := Rule{Base: "EUR", AllowSplit: r.IntN(2) == 0}
		need := Need{Quantity: decimal.New(int64(r.IntN(40000)), -1), GrowthPercent: decimal.New(int64(r.IntN(300)), -1), Whole: r.IntN(2) == 0}
		more := need
		more.Quantity = more.Quantity.Add(decimal.New(int64(r.IntN(5000)), -1))
		a, errA := Best(need, offers, nil, rule)
		b, errB := Best(more, offers, nil, rule)
		if errA != nil || errB != nil {
			t.Fatal(errA, errB)
		}
		// Whatever covers more covers less too.
		if b.Total.LessThan(a.Total) {
			t.Fatalf("%s cost %s, %s cost less: %s", need.Quantity, a.Total, more.Quantity, b.Total)
		}
		stock := []Lot{{ID: "1", Quantity: decimal.New(int64(r.IntN(1000)), -1)}}
		c, err := Best(need, offers, stock, rule)
		if err != nil {
			t.Fatal(err)
		}
		if c.Total.GreaterThan(a.Total) {
			t.Fatalf("stock makes it dearer: %s, %s", c.Total, a.Total)
		}
		for _, o := range []struct {
			o     Order
			n     Need
			stock []Lot
		}{{a, need, nil}, {b, more, nil}, {c, need, stock}} {
			if err := Check(o.o, o.n, offers, o.stock, rule); err != nil {
				t.Fatal(err)
			}
			if len(o.o.Lines) == 1 && o.o.Excess.GreaterThanOrEqual(o.o.Lines[0].PackQuantity) {
				explained := slices.ContainsFunc(o.o.Reasons, func(r Reason) bool {
					return r.Code == ReasonBreak || r.Code == ReasonCarton || r.Code == ReasonMinimum
				})
				if !explained {
					t.Fatalf("excess %s of a pack or more and no reason: %v", o.o.Excess, o.o.Reasons)
				}
			}
		}
	})
}

func offerOf(supplier string, pack string, breaks ...Break) Offer {
	return Offer{Supplier: supplier, Part: supplier + "-1", PackQuantity: dec(pack), Currency: "EUR", Breaks: breaks}
}

func TestBestPriceBreak(t *testing.T) {
	// 17 at 23 cost 391; from 20 the price is 19 for all, 380.
	o := offerOf("A", "1", Break{1, dec("23")}, Break{20, dec("19")})
	got, err := Best(Need{Item: "roll", Unit: "roll", Quantity: dec("16.2")}, []Offer{o}, nil, Rule{Base: "EUR"})
	if err != nil {
		t.Fatal(err)
	}
	if got.Lines[0].Packs != 20 || !got.Total.Equal(dec("380")) || !got.Excess.Equal(dec("3.8")) {
		t.Fatalf("%+v", got)
	}
	if got.NextBest == nil || !got.NextBest.Total.Equal(dec("391")) || got.NextBest.Lines[0].Packs != 17 {
		t.Fatalf("next best: %+v", got.NextBest)
	}
	var said []string
	for _, r := range got.Reasons {
		said = append(said, r.String())
	}
	want := "A A-1: whole packs, 16.2 roll take 17; A A-1: price break, 20 packs cost 380.00 EUR, 17 at the earlier price 391.00 EUR; costs 380.00 EUR; another pack, price step or supplier would cost 391.00 EUR"
	if s := strings.Join(said, "; "); s != want {
		t.Errorf("reasons:\n%s\nwant\n%s", s, want)
	}
	// Incremental prices never make more packs cheaper.
	o.Scheme = Incremental
	got, err = Best(Need{Quantity: dec("25")}, []Offer{o}, nil, Rule{Base: "EUR"})
	if err != nil || got.Lines[0].Packs != 25 || !got.Total.Equal(dec("551")) { // 19·23 + 6·19
		t.Fatalf("%+v, %v", got, err)
	}
	if tiers := got.Lines[0].Tiers; len(tiers) != 2 || tiers[0].Packs != 19 || tiers[1].Packs != 6 {
		t.Errorf("tiers %+v", tiers)
	}
}

func TestBestCartonMinimumGrowth(t *testing.T) {
	o := offerOf("A", "2.5", Break{1, dec("10")})
	o.Carton, o.MinPacks = 6, 10
	got, err := Best(Need{Quantity: dec("20"), GrowthPercent: dec("5"), Unit: "kg"}, []Offer{o}, nil, Rule{Base: "EUR"})
	if err != nil {
		t.Fatal(err)
	}
	// 21 kg are 8.4 packs: 9, minimum 10, in sixes 12.
	if !got.Raised.Equal(dec("21")) || got.Lines[0].Packs != 12 {
		t.Fatalf("%+v", got)
	}
	codes := []ReasonCode{}
	for _, r := range got.Reasons {
		codes = append(codes, r.Code)
	}
	if !slices.Equal(codes, []ReasonCode{ReasonWholePacks, ReasonMinimum, ReasonCarton}) {
		t.Errorf("reasons %v", got.Reasons)
	}
}

func TestBestSplit(t *testing.T) {
	a := offerOf("A", "10", Break{1, dec("90")})
	b := offerOf("B", "1", Break{1, dec("12")})
	offers := []Offer{a, b}
	need := Need{Quantity: dec("11")}
	got, err := Best(need, offers, nil, Rule{Base: "EUR", AllowSplit: true})
	if err != nil || !got.Total.Equal(dec("102")) || len(got.Lines) != 2 {
		t.Fatalf("%+v, %v", got, err)
	}
	if r := got.Reasons[len(got.Reasons)-2]; r.Code != ReasonSplit || !r.FromCost.Equal(dec("132")) {
		t.Errorf("reasons %v", got.Reasons)
	}
	got, err = Best(need, offers, nil, Rule{Base: "EUR"})
	if err != nil || !got.Total.Equal(dec("132")) || len(got.Lines) != 1 {
		t.Fatalf("%+v, %v", got, err)
	}
	// One supplier's own parts may always be mixed.
	offers[1].Supplier = "A"
	got, err = Best(need, offers, nil, Rule{Base: "EUR"})
	if err != nil || !got.Total.Equal(dec("102")) {
		t.Fatalf("%+v, %v", got, err)
	}
	// Neither alone has enough.
	offers[1].Supplier, offers[0].MaxPacks, offers[1].MaxPacks = "B", 1, 5
	got, err = Best(need, offers, nil, Rule{Base: "EUR", AllowSplit: true})
	if err != nil || !slices.ContainsFunc(got.Reasons, func(r Reason) bool { return r.Code == ReasonSplit && r.FromCost.IsZero() }) {
		t.Fatalf("%+v, %v", got, err)
	}
	if _, err = Best(need, offers, nil, Rule{Base: "EUR"}); !errors.Is(err, ErrUncoverable) {
		t.Fatal(err)
	}
}

func TestBestHuge(t *testing.T) {
	offers := []Offer{
		offerOf("A", "0.4", Break{1, dec("11.30")}, Break{500, dec("9.87")}),
		offerOf("B", "2.5", Break{1, dec("61.20")}, Break{100, dec("60.10")}),
		offerOf("C", "1.1", Break{1, dec("27.05")}),
	}
	for i := range offers {
		offers[i].Carton = 1 + i
	}
	rule := Rule{Base: "EUR", AllowSplit: true}
	need := Need{Item: "putty", Quantity: dec("2500000.3")}
	got, err := Best(need, offers, nil, rule)
	if err != nil {
		t.Fatal(err)
	}
	if err := Check(got, need, offers, nil, rule); err != nil {
		t.Fatal(err)
	}
	// B's 60.10 for 2.5 kg is 24.04 a kg, the least; nothing can beat need × that.
	bound := need.Quantity.Mul(dec("24.04"))
	if got.Total.LessThan(bound) || got.Total.Sub(bound).GreaterThan(dec("15")) {
		t.Errorf("total %s, bound %s", got.Total, bound)
	}
	if _, err := Best(Need{Quantity: dec("1e17")}, offers, nil, rule); err == nil {
		t.Error("an absurd need was answered")
	}
	if got, err := Best(Need{Quantity: dec("1000000000")}, offers[:1], nil, rule); err != nil || got.Lines[0].Packs != 2_500_000_000 {
		t.Errorf("%+v, %v", got, err)
	}
}

func TestBestDates(t *testing.T) {
	o := offerOf("A", "1", Break{1, dec("5")})
	o.LeadDays, o.ShelfDays = 10, 90
	rule := Rule{Base: "EUR", NeedDate: date("2027-03-15"), CampaignEnd: date("2027-06-13")} // a Monday
	got, err := Best(Need{Quantity: dec("1")}, []Offer{o}, nil, rule)
	if err != nil {
		t.Fatal(err)
	}
	if want := date("2027-03-05"); !got.LatestOrder.Equal(want) {
		t.Errorf("latest order %s, want %s", got.LatestOrder, want)
	}
	if s := got.Lines[0].Shelf; !s.Checked || !s.OK || !s.Until.Equal(date("2027-06-13")) {
		t.Errorf("shelf %+v", s)
	}
	rule.Weekend = []time.Weekday{time.Saturday, time.Sunday}
	o.WorkingDays, o.Closed = true, []Span{{date("2027-03-08"), date("2027-03-08")}}
	if d, want := rule.LatestOrderDate(&o), date("2027-02-26"); !d.Equal(want) { // 12,11,10,9 · 5..1 · 26
		t.Errorf("latest order %s, want %s", d, want)
	}
	if got, err = Best(Need{Quantity: dec("1")}, []Offer{o}, nil, rule); err != nil || Check(got, Need{Quantity: dec("1")}, []Offer{o}, nil, rule) != nil {
		t.Errorf("%+v, %v", got, err)
	}
	rule.PlaceDate, rule.CampaignEnd = date("2027-03-01"), date("2027-06-14")
	if _, err = Best(Need{Quantity: dec("1")}, []Offer{o}, nil, rule); !errors.Is(err, ErrUncoverable) {
		t.Errorf("an offer too late: %v", err)
	}
	quick := offerOf("B", "1", Break{1, dec("6")})
	got, err = Best(Need{Quantity: dec("1")}, []Offer{o, quick}, nil, rule)
	if err != nil || got.Lines[0].Supplier != "B" || len(got.Refused) != 1 || got.Refused[0] != (RefusedOffer{0, RefusedLate}) {
		t.Errorf("%+v, %v", got, err)
	}
	rule.PlaceDate = time.Time{}
	got, _ = Best(Need{Quantity: dec("1")}, []Offer{o, quick}, nil, rule)
	if got.Lines[0].Supplier != "A" || got.Lines[0].Shelf.OK {
		t.Errorf("%+v", got.Lines)
	}
	rule.RequireShelf = true
	got, _ = Best(Need{Quantity: dec("1")}, []Offer{o, quick}, nil, rule)
	if got.Lines[0].Supplier != "B" || got.Refused[0].Reason != RefusedShelf {
		t.Errorf("%+v", got)
	}
}

func TestStockEarliestExpiryFirst(t *testing.T) {
	stock := []Lot{
		{ID: "never", Quantity: dec("4")},
		{ID: "late", Quantity: dec("3.5"), Expiry: date("2027-09-01")},
		{ID: "soon", Quantity: dec("2"), Expiry: date("2027-04-14")},
		{ID: "gone", Quantity: dec("9"), Expiry: date("2027-04-13")},
		{ID: "open", Quantity: dec("1"), Expiry: date("2028-01-01"), Opened: true, OpenedOn: date("2027-03-01"), OpenDays: 60},
		{ID: "open-old", Quantity: dec("1"), Expiry: date("2028-01-01"), Opened: true, OpenedOn: date("2027-01-01"), OpenDays: 60},
		{ID: "open-unknown", Quantity: dec("1"), Opened: true},
	}
	rule := Rule{Base: "EUR", InstallDate: date("2027-04-04"), MarginDays: 10}
	need := Need{Quantity: dec("7.2"), Whole: true}
	o := offerOf("A", "1", Break{1, dec("5")})
	got, err := Best(need, []Offer{o}, stock, rule)
	if err != nil {
		t.Fatal(err)
	}
	var took []string
	for _, d := range got.Draws {
		took = append(took, d.Lot.ID+" "+d.Quantity.String())
	}
	if want := []string{"soon 2", "open 1", "late 3", "never 2"}; !slices.Equal(took, want) {
		t.Errorf("took %v, want %v", took, want)
	}
	if len(got.Lines) != 0 || !got.Net.IsZero() || !got.Total.IsZero() {
		t.Errorf("bought %+v", got.Lines)
	}
	reasons := map[string]PassedReason{}
	for _, p := range got.Passed {
		reasons[p.Lot.ID] = p.Reason
		if p.String() == "" {
			t.Error("no sentence")
		}
	}
	want := map[string]PassedReason{"gone": PassedExpiry, "open-old": PassedOpenLife, "open-unknown": PassedOpenDate, "late": PassedPart}
	if len(reasons) != len(want) {
		t.Errorf("passed %v", got.Passed)
	}
	for id, r := range want {
		if reasons[id] != r {
			t.Errorf("%s: %s, want %s", id, reasons[id], r)
		}
	}
	if err := Check(got, need, []Offer{o}, stock, rule); err != nil {
		t.Error(err)
	}
	got, err = Best(need, []Offer{o}, stock, Rule{Base: "EUR"})
	if err != nil || !got.Drawn.Equal(dec("4")) || got.Passed[1].Reason != PassedNoDate {
		t.Errorf("without dates: %+v, %v", got, err)
	}
}

func TestBestRefusesInput(t *testing.T) {
	good := offerOf("A", "1", Break{1, dec("5")})
	for name, change := range map[string]func(o *Offer, n *Need, s *Lot, r *Rule){
		"pack":        func(o *Offer, n *Need, s *Lot, r *Rule) { o.PackQuantity = decimal.Zero },
		"no price":    func(o *Offer, n *Need, s *Lot, r *Rule) { o.Breaks = nil },
		"zero price":  func(o *Offer, n *Need, s *Lot, r *Rule) { o.Breaks = []Break{{1, decimal.Zero}} },
		"break":       func(o *Offer, n *Need, s *Lot, r *Rule) { o.Breaks = []Break{{0, dec("1")}} },
		"twice":       func(o *Offer, n *Need, s *Lot, r *Rule) { o.Breaks = []Break{{1, dec("1")}, {1, dec("2")}} },
		"incremental": func(o *Offer, n *Need, s *Lot, r *Rule) { o.Scheme, o.Breaks = Incremental, []Break{{2, dec("1")}} },
		"scheme":      func(o *Offer, n *Need, s *Lot, r *Rule) { o.Scheme = 7 },
		"rate":        func(o *Offer, n *Need, s *Lot, r *Rule) { o.Currency = "USD" },
		"own rate":    func(o *Offer, n *Need, s *Lot, r *Rule) { o.Rate = dec("1.1") },
		"lead":        func(o *Offer, n *Need, s *Lot, r *Rule) { o.LeadDays = -1 },
		"long lead":   func(o *Offer, n *Need, s *Lot, r *Rule) { o.LeadDays = 1 << 40 },
		"quantity":    func(o *Offer, n *Need, s *Lot, r *Rule) { n.Quantity = dec("-1") },
		"growth":      func(o *Offer, n *Need, s *Lot, r *Rule) { n.GrowthPercent = dec("-1") },
		"lot":         func(o *Offer, n *Need, s *Lot, r *Rule) { s.Quantity = dec("-1") },
		"margin":      func(o *Offer, n *Need, s *Lot, r *Rule) { r.MarginDays = -1 },
		"no weekday": func(o *Offer, n *Need, s *Lot, r *Rule) {
			r.Weekend = []time.Weekday{0, 1, 2, 3, 4, 5, 6}
		},
	} {
		o, n, s, r := good, Need{Quantity: dec("3")}, Lot{ID: "x"}, Rule{Base: "EUR"}
		change(&o, &n, &s, &r)
		if _, err := Best(n, []Offer{o}, []Lot{s}, r); !errors.Is(err, ErrInput) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := Best(Need{Quantity: decimal.New(1, 400000)}, []Offer{good}, nil, Rule{Base: "EUR"}); !errors.Is(err, ErrTooFine) {
		t.Errorf("huge exponent: %v", err)
	}
	if _, err := Best(Need{Quantity: dec("1")}, nil, nil, Rule{}); !errors.Is(err, ErrUncoverable) {
		t.Errorf("no offers: %v", err)
	}
}

// Check must notice what is wrong.
func TestCheckNotices(t *testing.T) {
	offers := []Offer{offerOf("A", "1", Break{1, dec("23")}, Break{20, dec("19")}), offerOf("B", "1", Break{1, dec("25")})}
	stock := []Lot{{ID: "1", Quantity: dec("2"), Expiry: date("2027-05-01")}, {ID: "2", Quantity: dec("1"), Expiry: date("2027-06-01")}}
	need := Need{Item: "roll", Quantity: dec("19.4"), Whole: true, GrowthPercent: dec("10")}
	rule := Rule{Base: "EUR", NeedDate: date("2027-04-01")}
	fresh := func() Order {
		o, err := Best(need, offers, stock, rule)
		if err != nil {
			t.Fatal(err)
		}
		return o
	}
	if err := Check(fresh(), need, offers, stock, rule); err != nil {
		t.Fatal(err)
	}
	b := buyer{offers: offers, rule: &rule}
	for name, spoil := range map[string]func(o *Order){
		"raised":     func(o *Order) { o.Raised = o.Raised.Add(dec("0.1")) },
		"needed":     func(o *Order) { o.Needed = o.Needed.Add(dec("1")) },
		"net":        func(o *Order) { o.Net = o.Net.Sub(dec("1")) },
		"draw more":  func(o *Order) { o.Draws[0].Quantity = dec("3") },
		"draw less":  func(o *Order) { o.Draws = o.Draws[:1] },
		"draw order": func(o *Order) { o.Draws[0], o.Draws[1] = o.Draws[1], o.Draws[0] },
		"draw twice": func(o *Order) { o.Draws[1] = o.Draws[0] },
		"cost":       func(o *Order) { o.Lines[0].Cost = dec("1") },
		"base cost":  func(o *Order) { o.Lines[0].BaseCost = dec("1") },
		"total":      func(o *Order) { o.Total = dec("1") },
		"excess":     func(o *Order) { o.Excess = dec("7") },
		"short":      func(o *Order) { o.Lines[0] = b.line(0, 3); o.Bought, o.Total = dec("3"), dec("69") },
		"dear": func(o *Order) {
			o.Lines[0] = b.line(0, 19)
			o.Bought, o.Total, o.Excess = dec("19"), dec("437"), dec("0")
		},
		"late":         func(o *Order) { o.Lines[0].LatestOrder = date("2027-04-02") },
		"next best":    func(o *Order) { o.NextBest.Total = dec("1") },
		"unknown line": func(o *Order) { o.Lines[0].Offer = 2 },
		"two suppliers": func(o *Order) {
			l := b.line(1, 1)
			o.Lines = append(o.Lines, l)
			o.Bought, o.Total, o.Excess = o.Bought.Add(l.Quantity), o.Total.Add(l.BaseCost), o.Excess.Add(l.Quantity)
		},
	} {
		o := fresh()
		spoil(&o)
		if err := Check(o, need, offers, stock, rule); err == nil {
			t.Errorf("%s: not noticed", name)
		}
	}
}

func BenchmarkBest(b *testing.B) {
	offers := []Offer{
		offerOf("A", "1", Break{1, dec("23.40")}, Break{20, dec("21.15")}, Break{100, dec("19.80")}),
		offerOf("B", "6", Break{1, dec("131.00")}, Break{10, dec("118.50")}),
		offerOf("C", "1", Break{1, dec("25.10")}, Break{50, dec("19.60")}),
	}
	offers[2].Carton = 5
	for _, c := range []struct {
		name   string
		offers int
		split  bool
		need   int64
	}{{"one-offer", 1, false, 170}, {"three-suppliers", 3, false, 170}, {"three-split-170", 3, true, 170}, {"three-split-10000", 3, true, 10_000}, {"three-split-3000000", 3, true, 3_000_000}} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Best(Need{Quantity: decimal.NewFromInt(c.need)}, offers[:c.offers], nil, Rule{Base: "EUR", AllowSplit: c.split}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
