package cut

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"wraptally/estimate/trace/depth"
)

func mustSheets(t testing.TB, rects []Rect, sheets []Sheet, rule SheetRule) SheetPlan {
	t.Helper()
	plan, err := Sheets(rects, sheets, rule)
	if err != nil {
		t.Fatalf("%v\nrects %v\nsheets %v\nrule %+v", err, rects, sheets, rule)
	}
	if err := CheckSheets(rects, sheets, rule, plan); err != nil {
		t.Fatalf("%v\nrects %v\nsheets %v\nrule %+v", err, rects, sheets, rule)
	}
	return plan
}

// Thousands of small random problems: every plan is replayed, and where one or
// two sheets are at stake compared with the outlines of all guillotine
// patterns.
func TestSheetsAgainstOutlines(t *testing.T) {
	runs, proven, missed := 0, 0, 0
	for seed := range uint64(depth.Of(400, 2000)) {
		r := newRNG(seed)
		rule := SheetRule{Kerf: r.intn(3), Trim: r.intn(3), Rotate: r.intn(2) == 0, KeepOver: r.intn(15), KeepArea: int64(r.intn(300)), Budget: 3_000_000}
		sheet := Sheet{W: 30 + r.intn(30), H: 30 + r.intn(40), Count: Unlimited}
		var rects []Rect
		total := 0
		for range 1 + r.intn(4) {
			z := Rect{W: 5 + r.intn(22), H: 5 + r.intn(22), Count: 1 + r.intn(2)}
			if total+z.Count <= 6 {
				rects = append(rects, z)
				total += z.Count
			}
		}
		plan := mustSheets(t, rects, []Sheet{sheet}, rule)
		runs++
		if plan.Proven {
			proven++
		}
		// Does everything fit one sheet?
		s := &slicing{rotate: rule.Rotate, w: sheet.W - 2*rule.Trim + rule.Kerf, h: sheet.H - 2*rule.Trim + rule.Kerf, memo: map[string][]Size{}}
		var all []int
		for _, z := range rects {
			s.sizes = append(s.sizes, Size{z.W + rule.Kerf, z.H + rule.Kerf})
			all = append(all, z.Count)
		}
		one := len(s.outline(all)) > 0
		switch got := plan.SheetsUsed[0]; {
		case got == 1 && !one:
			t.Fatalf("seed %d: one sheet used, yet no outline fits", seed)
		case got > 1 && one && plan.Proven:
			t.Fatalf("seed %d: %d sheets proven, yet one is enough", seed, got)
		case got > 1 && one:
			missed++
		case plan.Bound.GreaterThan(decimal.NewFromInt(1)) && one:
			t.Fatalf("seed %d: bound %s, yet one sheet is enough", seed, plan.Bound)
		}
	}
	t.Logf("%d plans, %d proven, %d used two sheets where one is enough", runs, proven, missed)
	if missed > 4 {
		t.Errorf("%d of %d plans used two sheets where one is enough", missed, runs)
	}
}

func TestSheetsByHand(t *testing.T) {
	sheets := []Sheet{{W: 1000, H: 2000, Count: Unlimited}}
	// Two columns of four: 2·495 + 10 = 1000 and 4·490 + 3·10 = 1990.
	plan := mustSheets(t, []Rect{{W: 495, H: 490, Count: 8}}, sheets, SheetRule{Kerf: 10})
	if plan.SheetsUsed[0] != 1 || !plan.Proven {
		t.Errorf("%+v", plan)
	}
	// A millimetre wider and one column is left.
	plan = mustSheets(t, []Rect{{W: 496, H: 490, Count: 8}}, sheets, SheetRule{Kerf: 10})
	if plan.SheetsUsed[0] != 2 || !plan.Proven {
		t.Errorf("%+v", plan)
	}
	// 900 × 1500 lies only along the sheet; turned it fits across none.
	if _, err := Sheets([]Rect{{W: 1500, H: 900, Count: 1, Label: "P1"}}, sheets, SheetRule{}); err == nil {
		t.Error("a piece too wide was cut without turning")
	}
	plan = mustSheets(t, []Rect{{W: 1500, H: 900, Count: 1, Label: "P1"}}, sheets, SheetRule{Rotate: true})
	if p := plan.Assign([]Rect{{W: 1500, H: 900, Count: 1, Label: "P1"}}); len(p) != 1 || !p[0].Rotated || p[0].W != 900 {
		t.Errorf("%+v", p)
	}
	// The pinwheel: four of 3 × 2 lie round the middle of 5 × 5, but no cut goes
	// through from edge to edge, so a shear needs two sheets. By hand: the first
	// cut leaves a strip of 2 × 5, good for one, and 3 × 5, good for two.
	pin := mustSheets(t, []Rect{{W: 300, H: 200, Count: 4}}, []Sheet{{W: 500, H: 500, Count: Unlimited}}, SheetRule{Rotate: true})
	if pin.SheetsUsed[0] != 2 || !pin.Proven {
		t.Errorf("%+v", pin)
	}
	// Least cost: three of 400 × 400. One large sheet at 30 holds all, a small
	// one at 9 holds one: three small ones cost 27.
	two := []Sheet{{W: 400, H: 1200, Count: Unlimited, Cost: decimal.NewFromInt(30)}, {W: 450, H: 450, Count: Unlimited, Cost: decimal.NewFromInt(9)}}
	plan = mustSheets(t, []Rect{{W: 400, H: 400, Count: 3}}, two, SheetRule{})
	if !plan.Cost.Equal(decimal.NewFromInt(27)) || !plan.Proven {
		t.Errorf("%+v", plan)
	}
	two[1].Count = 2
	plan = mustSheets(t, []Rect{{W: 400, H: 400, Count: 3}}, two, SheetRule{})
	if !plan.Cost.Equal(decimal.NewFromInt(30)) || !plan.Proven {
		t.Errorf("%+v", plan)
	}
}

func TestSheetsErrors(t *testing.T) {
	ok := []Sheet{{W: 1000, H: 2000, Count: Unlimited}}
	one := decimal.NewFromInt(1)
	for _, c := range []struct {
		name   string
		rects  []Rect
		sheets []Sheet
		rule   SheetRule
		want   string
	}{
		{"too large", []Rect{{1001, 5, 1, "P9"}}, ok, SheetRule{}, "rectangle 1 (P9): 1001 × 5 mm fits no sheet as it lies"},
		{"too large turned", []Rect{{2001, 5, 1, "P9"}}, ok, SheetRule{Rotate: true}, "fits no sheet either way round; usable: 1000 × 2000 mm"},
		{"trimmed away", []Rect{{5, 5, 1, ""}}, ok, SheetRule{Trim: 500}, "usable: none"},
		{"no sheets", []Rect{{5, 5, 1, ""}}, nil, SheetRule{}, "usable: none"},
		{"zero side", []Rect{{5, 0, 1, ""}}, ok, SheetRule{}, "rect 1: 5 × 0 mm"},
		{"absurd side", []Rect{{5, 100_000, 1, ""}}, ok, SheetRule{}, "outside 1 to 50000 mm"},
		{"negative count", []Rect{{5, 5, -1, ""}}, ok, SheetRule{}, "count -1"},
		{"absurd count", []Rect{{5, 5, 2_000_000, ""}}, ok, SheetRule{}, "count 2000000"},
		{"negative kerf", nil, ok, SheetRule{Kerf: -1}, "rule: kerf -1 mm"},
		{"negative area", nil, ok, SheetRule{KeepArea: -1}, "negative"},
		{"bad sheet", nil, []Sheet{{W: 0, H: 1}}, SheetRule{}, "sheet 1: 0 × 1 mm"},
		{"negative cost", nil, []Sheet{{W: 1, H: 1, Cost: one.Neg()}}, SheetRule{}, "the cost is negative"},
		{"half priced", []Rect{{5, 5, 1, ""}}, []Sheet{{W: 9, H: 9, Count: 1, Cost: one}, {W: 8, H: 8, Count: 1, Name: "eight"}}, SheetRule{}, "sheet 2 (eight): has no cost"},
		{"not enough", []Rect{{600, 600, 5, ""}}, []Sheet{{W: 1000, H: 1000, Count: 3}}, SheetRule{}, "left over"},
		{"surely not enough", []Rect{{900, 900, 5, ""}}, []Sheet{{W: 1000, H: 1000, Count: 3}}, SheetRule{}, "the sheets cannot yield everything; left over in the best plan found: 2 × 900×900 mm"},
	} {
		_, err := Sheets(c.rects, c.sheets, c.rule)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
	var large *TooLargeError
	if _, err := Sheets([]Rect{{1001, 5, 1, "P9"}}, ok, SheetRule{}); !errors.As(err, &large) || large.Label != "P9" {
		t.Errorf("%v", err)
	}
	if plan := mustSheets(t, nil, ok, SheetRule{}); len(plan.Layouts) != 0 || !plan.Proven {
		t.Errorf("%+v", plan)
	}
}

// Same input, same plan, whatever the order of calls.
func TestPlansRepeat(t *testing.T) {
	r := newRNG(9)
	rects := patchDemand(r, 12, 300)
	pieces := demandFor(r, bandLengths(r, 40), 600)
	sheets := []Sheet{{W: 1000, H: 2000, Count: Unlimited}}
	stock := []Stock{{Length: 30_000, Count: Unlimited, Cost: decimal.NewFromInt(100)}, {Length: 15_000, Count: Unlimited, Cost: decimal.NewFromInt(53)}, {Length: 7_000, Count: 3, Offcut: true}}
	rule, srule := LinearRule{Kerf: 2, KeepOver: 1000, Budget: 100_000_000}, SheetRule{Kerf: 3, Rotate: true, Budget: 100_000_000}
	linear, flat := "", ""
	for range depth.Of(2, 3) {
		a := fmt.Sprintf("%+v", mustLinear(t, pieces, stock, rule))
		plan := mustSheets(t, rects, sheets, srule)
		b := fmt.Sprintf("%+v %+v", plan.Certificate, plan.Assign(rects))
		if linear != "" && (a != linear || b != flat) {
			t.Fatal("the same input gave another plan")
		}
		linear, flat = a, b
	}
}

func TestSheetsAssign(t *testing.T) {
	rects := []Rect{{300, 200, 3, "a"}, {200, 300, 2, "b"}, {300, 200, 1, "c"}}
	plan := mustSheets(t, rects, []Sheet{{W: 1000, H: 1000, Count: Unlimited}}, SheetRule{Rotate: true, Kerf: 1})
	count := map[string]int{}
	for _, p := range plan.Assign(rects) {
		count[p.Label]++
		z := rects[p.Rect]
		if p.Rotated != (p.W != z.W) || p.W*p.H != z.W*z.H {
			t.Errorf("%+v is not %+v", p, z)
		}
	}
	if count["a"] != 3 || count["b"] != 2 || count["c"] != 1 {
		t.Errorf("%v", count)
	}
}
