package estimate_test

import (
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"wraptally/catalog"
	"wraptally/estimate"
	"wraptally/estimate/internal/trial"
	"wraptally/estimate/trace/depth"
)

// ordersOf are all lines of a campaign's order as rows of a table of movements.
func ordersOf(p *estimate.Campaign, number string) (moves []catalog.Movement) {
	for _, o := range p.Orders {
		for _, l := range o.Lines {
			moves = append(moves, catalog.Movement{Move: "ordered", Order: number, Item: o.Need.Item.Code, Quantity: l.Quantity})
		}
	}
	return moves
}

// Run, order, and run again with the order fed back: nothing is ordered, wherever
// the goods are by then.
func TestReworkedOrdersNeverOrderTwice(t *testing.T) {
	c := builtin(t)
	bought := 0
	rapid.Check(t, func(t *rapid.T) {
		ds := drawn(t, c, 8)
		first := run(t, ds, c)
		moves := ordersOf(first, "1")
		bought += len(moves)
		for i := range moves[:len(moves):len(moves)] {
			m := moves[i]
			for _, stage := range []string{"received", "issued"}[:rapid.IntRange(0, 2).Draw(t, "stages")] {
				m.Move = stage
				moves = append(moves, m)
			}
		}
		again, err := estimate.Run(trial.Result(ds), c, estimate.Options{Name: "test", Moves: moves})
		if err != nil {
			t.Fatal(err)
		}
		for _, o := range again.Orders {
			if len(o.Lines) > 0 {
				t.Fatalf("%s is ordered twice: needed %s, covered %s", o.Need.Item.Code, o.Needed, o.Drawn)
			}
		}
	})
	if bought == 0 && depth.Full() {
		t.Error("nothing was ever bought")
	}
}

// Each quantity of a running campaign counts once, whether the store was counted
// or not.
func TestCoveredCountsOnce(t *testing.T) {
	n := decimal.NewFromInt
	moves := []catalog.Movement{
		{Move: "ordered", Order: "1", Item: "A", Quantity: n(10)}, {Move: "received", Order: "1", Item: "A", Quantity: n(6)},
		{Move: "issued", Order: "s", Item: "A", Quantity: n(4)}, {Move: "returned", Order: "s", Item: "A", Quantity: n(1)},
	}
	for _, c := range []struct {
		counted bool
		want    int64
	}{
		{false, 10}, // 4 to come, 3 at the work, 3 in store
		{true, 7},   // the 3 in store are in its count
	} {
		sum := decimal.Zero
		for _, l := range estimate.Covered(moves, c.counted) {
			sum = sum.Add(l.Quantity)
		}
		if !sum.Equal(n(c.want)) {
			t.Errorf("counted %v: covers %s, want %d", c.counted, sum, c.want)
		}
	}
}

// A promise that is not known of one row is not known of the order, and the last
// of several holds.
func TestOutstandingTakesTheWorstPromise(t *testing.T) {
	d := func(day int) time.Time { return time.Date(2027, 3, day, 0, 0, 0, 0, time.UTC) }
	row := func(day time.Time) catalog.Movement {
		return catalog.Movement{Move: "ordered", Order: "1", Item: "A", Quantity: decimal.NewFromInt(1), Arrives: day}
	}
	for _, c := range []struct{ a, b, want time.Time }{{d(1), d(9), d(9)}, {d(9), d(1), d(9)}, {time.Time{}, d(1), time.Time{}}, {d(1), time.Time{}, time.Time{}}} {
		if got := estimate.Outstanding([]catalog.Movement{row(c.a), row(c.b)})[0].Arrives; !got.Equal(c.want) {
			t.Errorf("promised %v and %v: %v, want %v", c.a, c.b, got, c.want)
		}
	}
}
