package cut

import (
	"fmt"
	"testing"

	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	_ "wraptally/estimate/trace/depth"
)

// Whatever is asked, the answer is an error or a plan that replays, and the same
// demand in another order and piece by piece gives the same objective and bound.
func TestLinearProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rule := LinearRule{
			Kerf: rapid.IntRange(0, 20).Draw(t, "kerf"), Trim: rapid.IntRange(0, 300).Draw(t, "trim"),
			OffcutTrim: rapid.IntRange(0, 50).Draw(t, "offcut trim"), KeepOver: rapid.IntRange(0, 3000).Draw(t, "keep"),
			OffcutsFirst: rapid.Bool().Draw(t, "offcuts first"), Budget: 20_000_000,
		}
		priced := rapid.Bool().Draw(t, "priced")
		var stock []Stock
		for i := range rapid.IntRange(1, 4).Draw(t, "stocks") {
			s := Stock{Length: rapid.IntRange(1000, 30_000).Draw(t, "stock"), Count: rapid.IntRange(-1, 20).Draw(t, "coils"), Name: fmt.Sprint("s", i)}
			s.Offcut = s.Count >= 0 && rapid.Bool().Draw(t, "offcut")
			if priced && !s.Offcut {
				s.Cost = decimal.New(rapid.Int64Range(1, 100_000).Draw(t, "cost"), -2)
			}
			stock = append(stock, s)
		}
		var pieces []Piece
		for i := range rapid.IntRange(0, 12).Draw(t, "lengths") {
			pieces = append(pieces, Piece{
				Length: rapid.IntRange(1, 9000).Draw(t, "length"),
				Count:  rapid.IntRange(0, 60).Draw(t, "count"), Label: fmt.Sprint("p", i),
			})
		}
		plan, err := Linear(pieces, stock, rule)
		if err != nil {
			return // typed, tested elsewhere; never a panic
		}
		if err := CheckLinear(pieces, stock, rule, plan); err != nil {
			t.Fatal(err)
		}
		checkPlaced(t, pieces, stock, rule, plan)
		// The same demand backwards and one piece at a time.
		var single []Piece
		for i := len(pieces) - 1; i >= 0; i-- {
			for range pieces[i].Count {
				single = append(single, Piece{Length: pieces[i].Length, Count: 1, Label: pieces[i].Label})
			}
		}
		again, err := Linear(single, stock, rule)
		if err != nil {
			t.Fatal(err)
		}
		if !again.Objective.Equal(plan.Objective) || !again.Bound.Equal(plan.Bound) {
			t.Fatalf("%s (bound %s) from grouped demand, %s (bound %s) from single pieces", plan.Objective, plan.Bound, again.Objective, again.Bound)
		}
	})
}

// checkPlaced replays the pieces as assigned, coil by coil.
func checkPlaced(t *rapid.T, pieces []Piece, stock []Stock, rule LinearRule, plan LinearPlan) {
	got := make([]int, len(pieces))
	coil, at, pos := 0, 0, 0
	for _, pl := range plan.Assign(pieces) {
		if pl.Coil != coil {
			if pl.Coil != coil+1 {
				t.Fatalf("coil %d follows coil %d", pl.Coil, coil)
			}
			coil, at, pos = pl.Coil, 0, 0
		}
		pos++
		trim := rule.Trim
		if stock[pl.Stock].Offcut {
			trim = rule.OffcutTrim
		}
		if pl.Offset != at || pl.Position != pos || at+pl.Length > stock[pl.Stock].Length-trim {
			t.Fatalf("%+v, expected at %d", pl, at)
		}
		if pieces[pl.Piece].Length != pl.Length || pieces[pl.Piece].Label != pl.Label {
			t.Fatalf("%+v is not piece %+v", pl, pieces[pl.Piece])
		}
		at += pl.Length + rule.Kerf
		got[pl.Piece]++
	}
	for i, n := range got {
		if n != pieces[i].Count {
			t.Fatalf("piece %d: %d placed, %d wanted", i, n, pieces[i].Count)
		}
	}
}

func TestSheetsProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rule := SheetRule{
			Kerf: rapid.IntRange(0, 12).Draw(t, "kerf"), Trim: rapid.IntRange(0, 30).Draw(t, "trim"), Rotate: rapid.Bool().Draw(t, "turn"),
			KeepOver: rapid.IntRange(0, 300).Draw(t, "keep"), KeepArea: rapid.Int64Range(0, 100_000).Draw(t, "area"), Budget: 5_000_000,
		}
		priced := rapid.Bool().Draw(t, "priced")
		var sheets []Sheet
		for range rapid.IntRange(1, 3).Draw(t, "sheets") {
			s := Sheet{W: rapid.IntRange(200, 1500).Draw(t, "sheet W"), H: rapid.IntRange(200, 2500).Draw(t, "sheet H"), Count: rapid.IntRange(-1, 10).Draw(t, "number")}
			if priced {
				s.Cost = decimal.New(rapid.Int64Range(1, 100_000).Draw(t, "cost"), -2)
			}
			sheets = append(sheets, s)
		}
		var rects []Rect
		for i := range rapid.IntRange(0, 6).Draw(t, "sizes") {
			rects = append(rects, Rect{
				W: rapid.IntRange(1, 700).Draw(t, "W"), H: rapid.IntRange(1, 700).Draw(t, "H"),
				Count: rapid.IntRange(0, 12).Draw(t, "count"), Label: fmt.Sprint("r", i),
			})
		}
		plan, err := Sheets(rects, sheets, rule)
		if err != nil {
			return
		}
		if err := CheckSheets(rects, sheets, rule, plan); err != nil {
			t.Fatal(err)
		}
		got := make([]int, len(rects))
		for _, pl := range plan.Assign(rects) {
			z := rects[pl.Rect]
			if pl.Label != z.Label || !(pl.W == z.W && pl.H == z.H || rule.Rotate && pl.W == z.H && pl.H == z.W) {
				t.Fatalf("%+v is not %+v", pl, z)
			}
			got[pl.Rect]++
		}
		for i, n := range got {
			if n != rects[i].Count {
				t.Fatalf("rectangle %d: %d placed, %d wanted", i, n, rects[i].Count)
			}
		}
	})
}

// A budget however small still yields a whole plan.
func TestTinyBudget(t *testing.T) {
	r := newRNG(3)
	mustLinear(t, demandFor(r, uniformLengths(r, 3000, 500, 15_000, 1), 5000), coils(30_000), LinearRule{Kerf: 2, Budget: 1})
	mustSheets(t, patchDemand(r, 2000, 3000), []Sheet{{W: 1000, H: 2000, Count: Unlimited}}, SheetRule{Kerf: 2, Budget: 1})
}
