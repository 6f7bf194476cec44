package estimate_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"wraptally/catalog"
	"wraptally/estimate"
	"wraptally/estimate/internal/trial"
	"wraptally/estimate/order"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace/depth"
)

// lotsDrawn are random lots of what a campaign needs: some expired, some that last
// for its first days only.
func lotsDrawn(t *rapid.T, p *estimate.Campaign, start time.Time) (lots []estimate.StockLot) {
	for _, o := range p.Orders {
		for i := range rapid.IntRange(0, 3).Draw(t, "lots") {
			l := estimate.StockLot{Item: o.Need.Item.Code, Lot: order.Lot{ID: fmt.Sprint("L", i), Quantity: decimal.New(int64(rapid.IntRange(0, 80).Draw(t, "holds")), -1)}}
			if keeps := rapid.IntRange(-5, 60).Draw(t, "keeps"); keeps < 50 {
				l.Expiry = start.AddDate(0, 0, keeps)
			}
			lots = append(lots, l)
		}
	}
	return lots
}

// No lot gives more than it holds, or to a kit whose last day and margin it does
// not reach; what is not in store is all bought, and of each lot the order counts
// on no less than kits get. No kit lacks what a later one gets of the same lot
// though it lasts for both (allot.Check, within Run, holds the whole rule).
func TestStoreIsAllottedByTheDayOfUse(t *testing.T) {
	c := builtin(t, "campaign.start=2027-03-01", "crew.shift_hours=4", "crew.count=1")
	start := time.Date(2027, 3, 1, 0, 0, 0, 0, time.UTC)
	soon := 0
	rapid.Check(t, func(t *rapid.T) {
		ds := drawn(t, c, 8)
		first := run(t, ds, c)
		stock := lotsDrawn(t, first, start)
		p, err := estimate.Run(trial.Result(ds), c, estimate.Options{Name: "test", Stock: stock, Counted: true})
		if err != nil {
			t.Fatal(err)
		}
		given := make([]decimal.Decimal, len(p.Store.Lots))
		take := func(who string, last time.Time, list []estimate.Portion) {
			for _, x := range list {
				if x.Lot < 0 {
					t.Fatalf("%s lacks %s of %s: neither there nor bought", who, x.Quantity, c.Items[x.Item].Code)
				}
				l := &p.Store.Lots[x.Lot]
				if !x.Cut {
					given[x.Lot] = given[x.Lot].Add(x.Quantity)
				}
				if !l.UseBy.IsZero() && last.AddDate(0, 0, c.Settings.ExpiryMargin).After(l.UseBy) {
					t.Fatalf("%s, used to %s, gets lot %s, which keeps to %s", who, last, l.ID, l.UseBy)
				}
				if l.Left == estimate.LeftSoon {
					soon++
				}
				if l.Left == estimate.LeftExpired {
					t.Fatalf("%s gets the expired lot %s", who, l.ID)
				}
			}
		}
		for n := range p.Jobs {
			take(p.Jobs[n].Repair.ID, p.Jobs[n].Done, p.Store.Kit(n))
		}
		for i := range p.Issues {
			take("an issue", start, p.Store.Issue(i))
		}
		for i, l := range p.Store.Lots {
			if given[i].GreaterThan(l.Quantity) || !l.Source.Here() {
				continue
			}
			for _, o := range p.Orders {
				for _, d := range o.Draws {
					if o.Need.Item.Code == l.Item && d.Lot.ID == l.ID && d.Quantity.LessThan(given[i]) {
						t.Fatalf("%s %s: kits get %s, the order counts on %s", l.Item, l.ID, given[i], d.Quantity)
					}
				}
			}
		}
		for i, l := range p.Store.Lots {
			if given[i].GreaterThan(l.Quantity) {
				t.Fatalf("%s %s of %s gives %s", l.Item, l.ID, l.Quantity, given[i])
			}
		}
	})
	if soon == 0 && depth.Full() {
		t.Error("no lot that expires during the work was ever given: the test shows nothing")
	}
}

// Two kits on two days: the lot that expires between them goes to the first, though
// it does not last to the end of the work, and is not bought again; the second
// waits for what is on order, which comes after its day. What is expired when the
// store is counted is given to nobody.
func TestKitsAreServedInTheirOrder(t *testing.T) {
	c := builtin(t, "campaign.start=2027-03-01", "order.growth=0", "order.expiry_margin=0", "crew.shift_hours=6", "crew.overlap=no", "set.spares=0")
	ds := []survey.Defect{hole("a", "L", 5000, 8), hole("b", "M", 5000, 8)}
	n, day := decimal.NewFromInt, func(d int) time.Time { return time.Date(2027, 3, d, 0, 0, 0, 0, time.UTC) }
	lot := func(id string, q int64, until time.Time) estimate.StockLot {
		return estimate.StockLot{Item: "SEAL-DRY", Lot: order.Lot{ID: id, Quantity: n(q), Expiry: until}}
	}
	opt := estimate.Options{
		Stock: []estimate.StockLot{lot("gone", 5, day(0)), lot("first", 4, day(2))}, Counted: true,
		Moves: []catalog.Movement{{Move: "ordered", Order: "7", Item: "SEAL-DRY", Quantity: n(1), Arrives: day(20)}},
	}
	p, err := estimate.Run(trial.Result(ds), c, opt)
	if err != nil {
		t.Fatal(err)
	}
	if !p.Jobs[0].Done.Equal(day(2)) || !p.Jobs[1].Begun.Equal(day(3)) {
		t.Fatalf("the work is on %s and %s: the test shows nothing", p.Jobs[0].Done, p.Jobs[1].Begun)
	}
	of := func(job int) (names []string) {
		for _, x := range p.Store.Kit(job) {
			if l := &p.Store.Lots[x.Lot]; l.Item == "SEAL-DRY" {
				names = append(names, l.ID+" "+x.Quantity.String())
			}
		}
		return names
	}
	if got := fmt.Sprint(of(0), of(1)); got != "[first 1] [on order 7 1]" {
		t.Errorf("sealant of the kits: %s", got)
	}
	for _, o := range p.Orders {
		if o.Need.Item.Code == "SEAL-DRY" && (len(o.Lines) > 0 || len(o.Passed) != 2 || o.Passed[0].Reason != order.PassedExpired) {
			t.Errorf("%d lines, passed %v", len(o.Lines), o.Passed)
		}
	}
	if k := p.Store.Packing(1, &p.Jobs[1]); k.Ready || !k.Late || !k.From.Equal(day(20)) || len(k.Lacks) < 2 {
		t.Errorf("second kit: %+v", k)
	}
	// Where all is there the kit can be packed; where a promise has no day nobody says when.
	opt.Moves[0].Arrives = time.Time{}
	if p, err = estimate.Run(trial.Result(ds), c, opt); err != nil {
		t.Fatal(err)
	}
	if k := p.Store.Packing(1, &p.Jobs[1]); k.Ready || !k.Late || !k.From.IsZero() {
		t.Errorf("promised for no day: %+v", k)
	}
	opt.Moves = nil
	for _, o := range p.Orders {
		opt.Stock = append(opt.Stock, estimate.StockLot{Item: o.Need.Item.Code, Lot: order.Lot{ID: "all", Quantity: o.Needed}})
	}
	if p, err = estimate.Run(trial.Result(ds), c, opt); err != nil {
		t.Fatal(err)
	}
	for n := range p.Jobs {
		if k := p.Store.Packing(n, &p.Jobs[n]); !k.Ready || k.Late || len(k.Lacks) > 0 {
			t.Errorf("all is there: %+v", k)
		}
	}
	if p, err = estimate.Run(trial.Result(ds), c, estimate.Options{}); err != nil || p.Store != nil {
		t.Errorf("nothing is known of the store: %v, %v", p.Store, err)
	}
}
