package cut

import (
	"encoding/json"
	"errors"
	"math/big"
	"strings"
	"testing"

	"github.com/shopspring/decimal"
)

// A checker is worth what it refuses: plans tampered with in every way a plan
// can be wrong.
func TestCheckLinearRefuses(t *testing.T) {
	pieces := []Piece{{4000, 7, "a"}, {2600, 9, "b"}, {1500, 12, "c"}}
	stock := []Stock{{Length: 12_000, Count: 9}, {Length: 5000, Count: 1, Offcut: true}}
	rule := LinearRule{Kerf: 3, Trim: 20, KeepOver: 900, OffcutsFirst: true}
	good := mustLinear(t, pieces, stock, rule)
	for _, c := range []struct {
		want   string
		tamper func(p *LinearPlan)
	}{
		{"there is no stock", func(p *LinearPlan) { p.Patterns[0].Stock = 7 }},
		{"is empty", func(p *LinearPlan) { p.Patterns[0].Count = 0 }},
		{"is empty", func(p *LinearPlan) { p.Patterns[0].Cuts = nil }},
		{"runs over the end", func(p *LinearPlan) { p.Patterns[0].Cuts[0].Count += 5 }},
		{"longest first", func(p *LinearPlan) { p.Patterns[0].Cuts[0].Count = -1 }},
		{"leaves", func(p *LinearPlan) { p.Patterns[0].Left++ }},
		{"marked keep", func(p *LinearPlan) { p.Patterns[0].Keep = !p.Patterns[0].Keep }},
		{"pieces cut", func(p *LinearPlan) { p.Patterns[len(p.Patterns)-1].Count++ }},
		{"listed twice", func(p *LinearPlan) { p.Patterns = append(p.Patterns, p.Patterns[0]) }},
		{"pieces cut", func(p *LinearPlan) { p.Patterns = p.Patterns[1:] }},
		{"pieces, the demand", func(p *LinearPlan) { p.Pieces++ }},
		{"kerf", func(p *LinearPlan) { p.Kerf++ }},
		{"coils used", func(p *LinearPlan) { p.StocksUsed[0]++ }},
		{"cut: total", func(p *LinearPlan) { p.CutTotal++ }},
		{"kerf: total", func(p *LinearPlan) { p.KerfTotal++ }},
		{"trim: total", func(p *LinearPlan) { p.TrimTotal-- }},
		{"scrap: total", func(p *LinearPlan) { p.ScrapTotal-- }},
		{"kept: total", func(p *LinearPlan) { p.KeptTotal-- }},
		{"cost", func(p *LinearPlan) { p.Cost = decimal.NewFromInt(5) }},
		{"objective", func(p *LinearPlan) { p.Objective = p.Objective.Add(decimal.NewFromInt(1)) }},
		{"should count", func(p *LinearPlan) { p.Basis = ByCost }},
		{"proves a bound", func(p *LinearPlan) { p.Bound = p.Bound.Add(decimal.NewFromInt(1)) }},
		{"can hold", func(p *LinearPlan) { p.Certificate.K[0]-- }},
		{"can hold", func(p *LinearPlan) { p.Certificate.Y[0] *= 3 }},
		{"proves a bound", func(p *LinearPlan) { p.Certificate.Y = make([]int64, 3) }},
		{"negative worth", func(p *LinearPlan) { p.Certificate.Y[0] = -1 }},
		{"every length", func(p *LinearPlan) { p.Certificate.Y = p.Certificate.Y[1:] }},
		{"proven", func(p *LinearPlan) { p.Proven = !p.Proven }},
		{"gap", func(p *LinearPlan) { p.Gap += 0.5 }},
	} {
		var p LinearPlan
		clone(t, good, &p)
		c.tamper(&p)
		if err := CheckLinear(pieces, stock, rule, p); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v, want %q", err, c.want)
		}
	}
	if err := CheckLinear(pieces, []Stock{{Length: 12_000, Count: 1}, stock[1]}, rule, good); err == nil || !strings.Contains(err.Error(), "coils used, there are 1") {
		t.Errorf("%v", err)
	}
	if err := CheckLinear(pieces, stock, LinearRule{Kerf: 3, Trim: 2000, KeepOver: 900, OffcutsFirst: true}, good); err == nil {
		t.Error("a plan for another trim passed")
	}
}

func TestCheckSheetsRefuses(t *testing.T) {
	rects := []Rect{{300, 400, 5, "a"}, {450, 250, 4, "b"}, {120, 700, 6, "c"}}
	sheets := []Sheet{{W: 1000, H: 1500, Count: 5}}
	rule := SheetRule{Kerf: 3, Trim: 5, Rotate: true, KeepOver: 100}
	good := mustSheets(t, rects, sheets, rule)
	cut := func(p *SheetPlan) *Node { return p.Layouts[0].Cuts }
	leftover := func(p *SheetPlan) *Node {
		var find func(n *Node) *Node
		find = func(n *Node) *Node {
			if n == nil || n.Cut == Whole && n.Part < 0 {
				return n
			}
			if f := find(n.First); f != nil {
				return f
			}
			return find(n.Second)
		}
		return find(cut(p))
	}
	for _, c := range []struct {
		want   string
		tamper func(p *SheetPlan)
	}{
		{"there is no sheet", func(p *SheetPlan) { p.Layouts[0].Sheet = 3 }},
		{"is empty", func(p *SheetPlan) { p.Layouts[0].Count = 0 }},
		{"inside its trim", func(p *SheetPlan) { cut(p).X = 0 }},
		{"part its rectangle", func(p *SheetPlan) { cut(p).At += 2 }},
		{"misses its rectangle", func(p *SheetPlan) { cut(p).At = 0 }},
		{"part its rectangle", func(p *SheetPlan) { cut(p).Second.X++ }},
		{"there is no cut", func(p *SheetPlan) { cut(p).Cut = "sideways" }},
		{"never cut out", func(p *SheetPlan) {
			cut(p).First = &Node{X: cut(p).First.X, Y: cut(p).First.Y, W: cut(p).First.W, H: cut(p).First.H, Part: -1, Keep: true}
		}},
		{"not where", func(p *SheetPlan) { p.Layouts[0].Parts[0].X++ }},
		{"marked keep", func(p *SheetPlan) { n := leftover(p); n.Keep = !n.Keep }},
		{"pieces cut", func(p *SheetPlan) { p.Layouts[0].Count++ }},
		{"sheets used", func(p *SheetPlan) { p.SheetsUsed[0]++ }},
		{"asked were", func(p *SheetPlan) { p.Pieces-- }},
		{"areas", func(p *SheetPlan) { p.CutArea++ }},
		{"areas", func(p *SheetPlan) { p.KerfArea++ }},
		{"areas", func(p *SheetPlan) { p.ScrapArea++ }},
		{"areas", func(p *SheetPlan) { p.KeptArea++ }},
		{"areas", func(p *SheetPlan) { p.TrimArea++ }},
		{"worth keeping", func(p *SheetPlan) { p.Layouts[0].Kept++ }},
		{"cost", func(p *SheetPlan) { p.Cost = decimal.NewFromInt(1) }},
		{"should count", func(p *SheetPlan) { p.Basis = ByArea }},
		{"objective", func(p *SheetPlan) { p.Objective = decimal.NewFromInt(9) }},
		{"proves a bound", func(p *SheetPlan) { p.Bound = p.Bound.Add(decimal.NewFromInt(3)) }},
		{"can hold", func(p *SheetPlan) { p.Certificate.K[0] /= 2 }},
		{"", func(p *SheetPlan) { p.Certificate.Y[0] *= 5 }},
		{"no method", func(p *SheetPlan) { p.Certificate.Method = "faith" }},
		{"proven", func(p *SheetPlan) { p.Proven = !p.Proven }},
		{"gap", func(p *SheetPlan) { p.Gap += 0.5 }},
	} {
		var p SheetPlan
		clone(t, good, &p)
		c.tamper(&p)
		if err := CheckSheets(rects, sheets, rule, p); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v, want %q", err, c.want)
		}
	}
	if err := CheckSheets(rects, []Sheet{{W: 1000, H: 1500, Count: 0}}, rule, good); err == nil {
		t.Error("a plan for sheets that are not there passed")
	}
}

func clone(t *testing.T, from, to any) {
	t.Helper()
	b, err := json.Marshal(from)
	if err == nil {
		err = json.Unmarshal(b, to)
	}
	if err != nil {
		t.Fatal(err)
	}
}

// Numbers at the edge of what is accepted: sums of them overflow 64 bits, which
// must end in the answer that is due and not in a panic.
func TestLinearHugeNumbers(t *testing.T) {
	pieces := []Piece{{1_000_000, 2000, ""}, {1, 1, ""}}
	stock := []Stock{
		{Length: 1_000_000, Count: 1000, Cost: decimal.RequireFromString("999.123456789")},
		{Length: 1, Count: Unlimited, Cost: decimal.RequireFromString("998.987654321")},
	}
	_, err := Linear(pieces, stock, LinearRule{})
	var few *NotEnoughError
	if !errors.As(err, &few) {
		t.Fatalf("1,000 coils for 2,000 pieces: %v", err)
	}
	stock[0].Count = 2000
	mustLinear(t, pieces, stock, LinearRule{})
	// The checker covers the same worths by itself.
	mine := []checkedStock{{count: 1000, most: 1_000_000}, {count: Unlimited, most: 1}}
	price := []decimal.Decimal{stock[0].Cost, stock[1].Cost}
	if got, err := checkCover(mine, price, big.NewInt(2_000_000_001)); err != nil || got.LessThan(decimal.NewFromInt(999_000)) {
		t.Errorf("%s, %v", got, err)
	}
}

// Many of anything: the search is held by its budget, and a plan that it makes
// is checked within the same.
func TestManyOfAnything(t *testing.T) {
	r := newRNG(11)
	mustLinear(t, demandFor(r, uniformLengths(r, 20_000, 100, 900_000, 1), 20_000), coils(1_000_000), LinearRule{Kerf: 2, Budget: 20_000_000})
	var rects []Rect
	for i := range 80_000 {
		rects = append(rects, Rect{W: 20 + i%283, H: 30 + i/283, Count: 1})
	}
	mustSheets(t, rects, []Sheet{{W: 1000, H: 2000, Count: Unlimited}}, SheetRule{Kerf: 1, Budget: 20_000_000})
	mustSheets(t, []Rect{{W: 1, H: 1, Count: 200_000}}, []Sheet{{W: 1000, H: 2000, Count: Unlimited}}, SheetRule{Rotate: true, Budget: 20_000_000})
}

// A certificate that asks for more work than the rule allows is refused, not
// worked through.
func TestCheckWork(t *testing.T) {
	pieces := []Piece{{311, 70, ""}, {207, 90, ""}, {151, 40, ""}}
	plan := mustLinear(t, pieces, coils(1_000), LinearRule{})
	if err := CheckLinear(pieces, coils(1_000), LinearRule{Budget: 1}, plan); err == nil || !strings.Contains(err.Error(), "more work to check") {
		t.Errorf("coils: %v", err)
	}
	rects, sheets := []Rect{{W: 300, H: 200, Count: 4}}, []Sheet{{W: 500, H: 500, Count: Unlimited}}
	flat := mustSheets(t, rects, sheets, SheetRule{Rotate: true})
	if err := CheckSheets(rects, sheets, SheetRule{Rotate: true, Budget: 1}, flat); err == nil || !strings.Contains(err.Error(), "more work to check") {
		t.Errorf("sheets: %v", err)
	}
}
