package cut

import (
	"errors"
	"fmt"
	"testing"

	"github.com/shopspring/decimal"

	"wraptally/estimate/trace/depth"
)

// stepped is the least cost of n or more packs at a price each, less from a
// break on, in whole cartons.
func stepped(each, breakAt, cheaper, carton, most int) Curve {
	price := func(n int) int {
		if breakAt > 0 && n >= breakAt {
			return n * cheaper
		}
		return n * each
	}
	c := Curve{decimal.Zero}
	for n := 1; n <= most; n++ {
		best := -1
		for k := n; k <= 2*most+carton+breakAt; k++ {
			if k%carton == 0 && (best < 0 || price(k) < best) {
				best = price(k)
			}
		}
		c = append(c, decimal.NewFromInt(int64(best)))
	}
	return c
}

// Small random demand from stock at prices that fall in steps, in cartons, some
// of it there for nothing: brute force tries every number of each stock, and for
// each whether the pieces fit.
func TestCurveAgainstBruteForce(t *testing.T) {
	runs, proven := 0, 0
	for seed := range uint64(depth.Of(150, 600)) {
		r := newRNG(seed)
		rule := LinearRule{Kerf: r.intn(4), Trim: r.intn(6), KeepOver: r.intn(30), OffcutsFirst: r.intn(2) == 0}
		var stock []Stock
		for i := range 1 + r.intn(3) {
			length := 40 + r.intn(60)
			each := length + r.intn(30)
			c := stepped(each, []int{0, 2, 3, 4}[r.intn(4)], each*(60+r.intn(40))/100, 1+r.intn(3), 8)
			for n := range r.intn(3) { // so many are in store
				c[n+1] = decimal.Zero
			}
			stock = append(stock, Stock{Length: length, Count: Unlimited, Costs: c, Name: fmt.Sprint("s", i)})
			if r.intn(4) == 0 {
				stock[i].Count = r.intn(4)
			}
		}
		if r.intn(2) == 0 {
			stock = append(stock, Stock{Length: 20 + r.intn(40), Count: 1, Offcut: true})
		}
		var pieces []Piece
		left := 8
		for range 1 + r.intn(5) {
			n := min(left, r.intn(4))
			left -= n
			pieces = append(pieces, Piece{Length: 5 + r.intn(50), Count: n})
		}
		lengths := expand(pieces)
		best := decimal.NewFromInt(-1)
		some := append([]Stock(nil), stock...)
		var try func(i int, cost decimal.Decimal)
		try = func(i int, cost decimal.Decimal) {
			if best.Sign() >= 0 && cost.GreaterThanOrEqual(best) {
				return
			}
			if i == len(stock) {
				if bruteLinear(lengths, some, rule, make([]int64, len(some))) >= 0 {
					best = cost
				}
				return
			}
			s := stock[i]
			if s.Offcut {
				try(i+1, cost)
				return
			}
			for n := 0; n < len(s.Costs) && (s.Count < 0 || n <= s.Count); n++ {
				some[i].Count = n
				try(i+1, cost.Add(s.Costs[n]))
			}
		}
		try(0, decimal.Zero)
		plan, err := Linear(pieces, stock, rule)
		var long *TooLongError
		var few *NotEnoughError
		switch {
		case errors.As(err, &long), errors.As(err, &few) && best.Sign() < 0:
			if best.Sign() >= 0 {
				t.Fatalf("seed %d: %v, yet there is a plan for %s", seed, err, best)
			}
			continue
		case err != nil:
			t.Fatalf("seed %d: %v, brute force %s", seed, err, best)
		}
		if err := CheckLinear(pieces, stock, rule, plan); err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		if plan.Basis == ByLength && plan.StocksUsed[len(stock)-1] == 1 {
			continue // nothing is for sale that holds a piece: only the offcut counts
		}
		if plan.Pieces > 0 && plan.Basis != ByCost || plan.Objective.LessThan(best) || plan.Bound.GreaterThan(best) {
			t.Fatalf("seed %d: plan %s, bound %s, brute force %s\npieces %v\nstock %v\nrule %+v\n%+v", seed, plan.Objective, plan.Bound, best, pieces, stock, rule, plan)
		}
		if !plan.Objective.Equal(best) {
			t.Errorf("seed %d: plan %s, bound %s, brute force %s", seed, plan.Objective, plan.Bound, best)
		}
		runs++
		if plan.Proven {
			proven++
		}
	}
	t.Logf("%d plans, %d proven", runs, proven)
}

// Coils of 30 m at 98, in cartons of 2; of 50 m at 152. At the price of one, three
// of 30 m and one of 50 m are least for 140 m, but ordered they cost 4·98 + 152 =
// 544; three of 50 m cost 456. Worked by hand.
func TestCurveByHand(t *testing.T) {
	stock := []Stock{
		{Length: 30_000, Count: Unlimited, Costs: stepped(98, 0, 0, 2, 20)},
		{Length: 50_000, Count: Unlimited, Costs: stepped(152, 0, 0, 1, 20)},
	}
	plan := mustLinear(t, []Piece{{10_000, 14, ""}}, stock, LinearRule{})
	if !plan.Cost.Equal(decimal.NewFromInt(456)) || !plan.Proven || plan.StocksUsed[1] != 3 {
		t.Errorf("%+v", plan)
	}
	// A step at five: five of 30 m at 70 cost 350, and four cost as much.
	stock[0].Costs = stepped(98, 5, 70, 1, 20)
	plan = mustLinear(t, []Piece{{10_000, 12, ""}}, stock, LinearRule{})
	if !plan.Cost.Equal(decimal.NewFromInt(350)) || !plan.Proven || plan.StocksUsed[0] < 4 {
		t.Errorf("%+v", plan)
	}
	// Two in store, and no more than three to be had.
	stock[0].Costs = Curve{decimal.Zero, decimal.Zero, decimal.Zero, decimal.NewFromInt(98)}
	plan = mustLinear(t, []Piece{{10_000, 14, ""}}, stock, LinearRule{})
	if !plan.Cost.Equal(decimal.NewFromInt(98+152)) || !plan.Proven {
		t.Errorf("%+v", plan)
	}
	if _, err := Linear([]Piece{{1, 1, ""}}, []Stock{{Length: 5, Costs: Curve{decimal.NewFromInt(1)}, Count: 1}}, LinearRule{}); err == nil {
		t.Error("none for something was accepted")
	}
	// A checker that is told another curve refuses.
	other := []Stock{stock[0], {Length: 50_000, Count: Unlimited, Costs: stepped(151, 0, 0, 1, 20)}}
	if err := CheckLinear([]Piece{{10_000, 14, ""}}, other, LinearRule{}, plan); err == nil {
		t.Error("a plan for other prices passed")
	}
}

// Sheets take the same road: one of 1000 × 1000 holds four of 490, a small one
// one. Small ones come in cartons of three.
func TestCurveSheets(t *testing.T) {
	sheets := []Sheet{
		{W: 1000, H: 1000, Count: Unlimited, Costs: stepped(40, 0, 0, 1, 10)},
		{W: 500, H: 500, Count: Unlimited, Costs: stepped(11, 0, 0, 3, 10)},
	}
	for n, want := range map[int]int64{1: 33, 3: 33, 4: 40, 5: 66, 6: 66, 7: 73, 8: 80} {
		plan := mustSheets(t, []Rect{{490, 490, n, ""}}, sheets, SheetRule{Kerf: 2})
		if !plan.Cost.Equal(decimal.NewFromInt(want)) || !plan.Proven {
			t.Errorf("%d pieces: %s, bound %s; want %d", n, plan.Cost, plan.Bound, want)
		}
	}
}

// Pieces longer than half of every sheet both ways need one each, whatever lies
// beside them; exactly half does not.
func TestSheetsBigPieces(t *testing.T) {
	sheets := []Sheet{{W: 1000, H: 1000, Count: Unlimited}}
	for _, c := range []struct {
		w, h  int
		rule  SheetRule
		bound int64
	}{
		{510, 510, SheetRule{}, 9},
		{500, 500, SheetRule{}, 3},         // four to a sheet
		{500, 500, SheetRule{Kerf: 1}, 9},  // a cut takes 1 mm
		{495, 495, SheetRule{Trim: 10}, 9}, // 980 is left
		{490, 490, SheetRule{Trim: 10}, 3},
		{900, 400, SheetRule{}, 5},             // two to a sheet
		{900, 510, SheetRule{Rotate: true}, 9}, // big either way
	} {
		plan := mustSheets(t, []Rect{{c.w, c.h, 9, ""}, {100, 60, 5, ""}}, sheets, c.rule)
		if plan.Bound.LessThan(decimal.NewFromInt(c.bound)) || !plan.Proven {
			t.Errorf("%d × %d, %+v: %s sheets, bound %s, want %d", c.w, c.h, c.rule, plan.Objective, plan.Bound, c.bound)
		}
	}
	// Too wide for the sheet turned, big as it lies: 600 × 900 in 700 × 1000.
	plan := mustSheets(t, []Rect{{600, 900, 4, ""}}, []Sheet{{W: 700, H: 1000, Count: Unlimited}}, SheetRule{Rotate: true})
	if !plan.Proven || plan.SheetsUsed[0] != 4 {
		t.Errorf("%+v", plan)
	}
	// By cost: what is big in both sizes of sheet costs one of the cheaper.
	two := []Sheet{{W: 700, H: 700, Count: Unlimited, Cost: decimal.NewFromInt(10)}, {W: 1000, H: 1000, Count: Unlimited, Cost: decimal.NewFromInt(11)}}
	plan = mustSheets(t, []Rect{{510, 510, 6, ""}}, two, SheetRule{})
	if !plan.Proven || !plan.Cost.Equal(decimal.NewFromInt(60)) {
		t.Errorf("%+v", plan.Verdict)
	}
}
