package cut

import (
	"fmt"
	"testing"

	"github.com/shopspring/decimal"

	"wraptally/estimate/trace/depth"
)

// Worked examples from the literature, small enough to follow by hand.
func TestLinearWorkedExamples(t *testing.T) {
	for _, c := range []struct {
		name   string
		coil   int
		pieces []Piece
		coils  int
		source string
	}{
		{
			"paper rolls of 5600 mm", 5600,
			[]Piece{
				{1380, 22, ""}, {1520, 25, ""}, {1560, 12, ""}, {1710, 14, ""}, {1820, 18, ""}, {1880, 18, ""}, {1930, 20, ""},
				{2000, 10, ""}, {2050, 12, ""}, {2100, 14, ""}, {2140, 16, ""}, {2150, 18, ""}, {2200, 20, ""},
			},
			73,
			"Wikipedia, Cutting stock problem: 407,160 mm of product, at least 72.7 rolls, 73 are enough",
		},
		{
			"rolls of 100 inches", 100,
			[]Piece{{45, 97, ""}, {36, 610, ""}, {31, 395, ""}, {14, 211, ""}},
			453,
			"V. Chvátal, Linear Programming (1983), ch. 13, data as given in the NEOS Guide; relaxation 452.25 [value from memory]",
		},
		{
			"rolls of 110 inches", 110,
			[]Piece{{20, 48, ""}, {45, 35, ""}, {50, 24, ""}, {55, 10, ""}, {75, 8, ""}},
			47,
			"R. Fourer, D. Gay, B. Kernighan, AMPL (2003), section 15.4: relaxation 46.25, so 47 [value from memory]",
		},
	} {
		plan := mustLinear(t, c.pieces, coils(c.coil), LinearRule{})
		if got := plan.StocksUsed[0]; got != c.coils || !plan.Proven {
			t.Errorf("%s: %d coils, proven %v; want %d (%s)", c.name, got, plan.Proven, c.coils, c.source)
		}
	}
}

// By hand: with 30 m coils, 50 mm trim and 2 mm kerf, 29,950 mm are usable.
func TestLinearByHand(t *testing.T) {
	rule := LinearRule{Kerf: 2, Trim: 50, KeepOver: 1000}
	coil := coils(30_000)

	// 9982·3 + 2·2 = 29,950: exactly full, the third cut falling on the end.
	plan := mustLinear(t, []Piece{{9982, 3, "a"}}, coil, rule)
	if p := plan.Patterns; len(p) != 1 || p[0].Left != 0 || plan.KerfTotal != 4 || plan.ScrapTotal != 0 {
		t.Errorf("three of 9982: %+v", plan)
	}
	// One millimetre more each and only two fit.
	plan = mustLinear(t, []Piece{{9983, 3, "a"}}, coil, rule)
	if plan.StocksUsed[0] != 2 || !plan.Proven {
		t.Errorf("three of 9983: %+v", plan)
	}
	// 20,000 + 2 + 9,949 is 1 mm too much for one.
	plan = mustLinear(t, []Piece{{20_000, 1, ""}, {9_949, 1, ""}}, coil, rule)
	if plan.StocksUsed[0] != 2 {
		t.Errorf("20,000 and 9,949 with a kerf between need 29,951 mm: %+v", plan)
	}
	// What is left is kept from 1,000 mm up: 29,950 − 28,948 − 2 = 1,000.
	plan = mustLinear(t, []Piece{{28_948, 1, ""}}, coil, rule)
	if p := plan.Patterns[0]; p.Left != 1000 || !p.Keep || plan.KeptTotal != 1000 {
		t.Errorf("28,948: %+v", plan)
	}
	plan = mustLinear(t, []Piece{{28_949, 1, ""}}, coil, rule)
	if p := plan.Patterns[0]; p.Left != 999 || p.Keep || plan.ScrapTotal != 999 {
		t.Errorf("28,949: %+v", plan)
	}
}

// At equal numbers of coils the leftover goes where it can be kept: 6 pieces of
// 4 m and 2 of 3 m take two coils of 20 m; 3 + 3 pieces in each leave 2 × 5 m,
// 5 in one coil and the rest in the other leave 10 m in one piece.
func TestLinearGathersLeftovers(t *testing.T) {
	plan := mustLinear(t, []Piece{{4000, 6, ""}, {3000, 2, ""}}, coils(20_000), LinearRule{KeepOver: 9000})
	if plan.StocksUsed[0] != 2 || plan.ScrapTotal != 0 || plan.KeptTotal != 10_000 {
		t.Errorf("%+v", plan)
	}
}

// Existing offcuts: two of 5 m hold four of the nine pieces of 2.4 m; the rest
// comes from one coil of 12 m. With the rule they are used; without it a coil
// more is never opened for their sake.
func TestLinearOffcutsFirst(t *testing.T) {
	stock := []Stock{{Length: 12_000, Count: Unlimited, Name: "coil"}, {Length: 5000, Count: 2, Offcut: true, Name: "rest"}}
	plan := mustLinear(t, []Piece{{2400, 9, ""}}, stock, LinearRule{OffcutsFirst: true})
	if plan.StocksUsed[0] != 1 || plan.StocksUsed[1] != 2 || plan.Basis != ByCoils {
		t.Errorf("%+v", plan)
	}
	// Five pieces fit one coil, or the offcuts and one coil: the offcuts are
	// used all the same, and the coil keeps the longer rest.
	plan = mustLinear(t, []Piece{{2400, 5, ""}}, stock, LinearRule{OffcutsFirst: true, KeepOver: 5000})
	if plan.StocksUsed[1] != 2 || plan.KeptTotal < 9000 {
		t.Errorf("%+v", plan)
	}
	// Four need no new coil at all.
	plan = mustLinear(t, []Piece{{2400, 4, ""}}, stock, LinearRule{})
	if plan.StocksUsed[0] != 0 || !plan.Proven || !plan.Bound.IsZero() {
		t.Errorf("%+v", plan)
	}
}

// Least cost, not fewest coils: 11 pieces of 5 m. Coils of 10 m cost 10, of
// 30 m 33. One long and three short: 63; six short ones: 60.
func TestLinearLeastCost(t *testing.T) {
	stock := []Stock{
		{Length: 30_000, Count: Unlimited, Cost: decimal.NewFromInt(33)},
		{Length: 10_000, Count: Unlimited, Cost: decimal.NewFromInt(10)},
	}
	plan := mustLinear(t, []Piece{{5000, 11, ""}}, stock, LinearRule{})
	if !plan.Cost.Equal(decimal.NewFromInt(60)) || !plan.Proven || plan.Basis != ByCost {
		t.Errorf("%+v", plan)
	}
	// With only four short ones: one long and three short.
	stock[1].Count = 4
	plan = mustLinear(t, []Piece{{5000, 11, ""}}, stock, LinearRule{})
	if !plan.Cost.Equal(decimal.NewFromInt(63)) || !plan.Proven {
		t.Errorf("%+v", plan)
	}
}

// Coils cut at random into pieces, all of each coil used: as many coils are
// enough, and no fewer can be.
func TestLinearZeroWaste(t *testing.T) {
	short := 0
	for seed := range uint64(60) {
		r := newRNG(seed)
		kerf := r.intn(4)
		coil := 12_000
		n := 5 + r.intn(40)
		step := []int{1, 50, 250}[seed%3]
		var pieces []Piece
		for range n {
			left := (coil + kerf) / step
			for left > 0 {
				w := 2*(1200/step) + r.intn(4800/step)
				if left-w < 1200/step {
					w = left
				}
				pieces = append(pieces, Piece{Length: min(w*step-kerf, coil), Count: 1})
				left -= w
			}
		}
		plan := mustLinear(t, pieces, coils(coil), LinearRule{Kerf: kerf, Budget: 100_000_000})
		switch got := plan.StocksUsed[0]; {
		case got < n:
			// Rounding to the step can make room for one fewer; the checker has
			// replayed it.
		case got > n+1:
			t.Errorf("seed %d: %d coils, %d are enough", seed, got, n)
		case got == n+1:
			short++
		}
	}
	t.Logf("%d of 60 one coil over", short)
	if short > 6 {
		t.Errorf("%d of 60 zero-waste instances are one coil over the optimum", short)
	}
}

// The same in two dimensions: sheets cut at random by guillotine cuts.
func TestSheetsZeroWaste(t *testing.T) {
	over, worse, all := 0, 0, depth.Of(5, 20)
	for seed := range uint64(all) {
		r := newRNG(seed)
		kerf := r.intn(3)
		grid := []int{10, 25, 50}[seed%3]
		w, h := 1000/grid, 2000/grid
		n := 2 + r.intn(12)
		sizes := map[Size]int{}
		var order []Size
		var dissect func(w, h, deep int)
		dissect = func(w, h, deep int) {
			if deep > 0 && max(w, h) > 4 {
				if (w > h || r.intn(4) == 0) && w > 3 {
					c := 1 + r.intn(w-1)
					dissect(c, h, deep-1)
					dissect(w-c, h, deep-1)
					return
				}
				if h > 3 {
					c := 1 + r.intn(h-1)
					dissect(w, c, deep-1)
					dissect(w, h-c, deep-1)
					return
				}
			}
			z := Size{w*grid - kerf, h*grid - kerf}
			if sizes[z] == 0 {
				order = append(order, z)
			}
			sizes[z]++
		}
		for range n {
			dissect(w, h, 1+r.intn(4))
		}
		var rects []Rect
		for _, z := range order {
			rects = append(rects, Rect{W: z.W, H: z.H, Count: sizes[z]})
		}
		rule := SheetRule{Kerf: kerf, Rotate: seed%2 == 0, Budget: 150_000_000}
		sheets := []Sheet{{W: 1000 - kerf, H: 2000 - kerf, Count: Unlimited}}
		plan := mustSheets(t, rects, sheets, rule)
		switch got := plan.SheetsUsed[0]; {
		case got < n || !plan.Bound.Equal(decimal.NewFromInt(int64(n))):
			t.Errorf("seed %d: %d sheets, bound %s, the optimum is %d", seed, got, plan.Bound, n)
		case got > n+1:
			worse++
		case got == n+1:
			over++
		}
	}
	t.Logf("of %d: %d one sheet over, %d more", all, over, worse)
	if worse > 0 {
		t.Errorf("%d of %d zero-waste dissections are two sheets or more over", worse, all)
	}
}

// Longer runs of one length, labelled for many pipes, cost nothing extra.
func TestLinearManyPieces(t *testing.T) {
	var pieces []Piece
	for i := range 100_000 {
		pieces = append(pieces, Piece{Length: 400 + 75*(i%24), Count: 1, Label: fmt.Sprint("repair ", i)})
	}
	plan := mustLinear(t, pieces, coils(30_000), LinearRule{Kerf: 2, Trim: 50, KeepOver: 1500})
	if !plan.Proven || plan.Work > 300_000_000 {
		t.Errorf("bound %s, objective %s, work %d", plan.Bound, plan.Objective, plan.Work)
	}
	placed := plan.Assign(pieces)
	if len(placed) != len(pieces) {
		t.Fatalf("%d of %d pieces placed", len(placed), len(pieces))
	}
}
