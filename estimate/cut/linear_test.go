package cut

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"wraptally/estimate/trace/depth"
)

func mustLinear(t testing.TB, pieces []Piece, stock []Stock, rule LinearRule) LinearPlan {
	t.Helper()
	plan, err := Linear(pieces, stock, rule)
	if err != nil {
		t.Fatalf("%v\npieces %v\nstock %v\nrule %+v", err, pieces, stock, rule)
	}
	if err := CheckLinear(pieces, stock, rule, plan); err != nil {
		t.Fatalf("%v\npieces %v\nstock %v\nrule %+v\nplan %+v", err, pieces, stock, rule, plan)
	}
	return plan
}

// bruteLinear is the least cost of cutting the lengths by trying, for the
// longest piece left, every open coil and every stock not yet opened. −1: no
// plan.
func bruteLinear(lengths []int, stock []Stock, rule LinearRule, price []int64) int64 {
	type open struct{ room int }
	best := int64(-1)
	used := make([]int, len(stock))
	var coils []open
	var try func(i int, cost int64)
	try = func(i int, cost int64) {
		if best >= 0 && cost >= best {
			return
		}
		if i == len(lengths) {
			best = cost
			return
		}
		for c := range coils {
			same := false
			for e := range c {
				same = same || coils[e].room == coils[c].room
			}
			// The piece, and a kerf unless it ends on the coil's end.
			if r := coils[c].room; !same && r >= lengths[i] {
				coils[c].room = max(r-lengths[i]-rule.Kerf, 0)
				if r == lengths[i] {
					coils[c].room = 0
				}
				try(i+1, cost)
				coils[c].room = r
			}
		}
		for s := range stock {
			trim := rule.Trim
			if stock[s].Offcut {
				trim = rule.OffcutTrim
			}
			room := stock[s].Length - trim
			if room < lengths[i] || stock[s].Count >= 0 && used[s] == stock[s].Count {
				continue
			}
			used[s]++
			coils = append(coils, open{max(room-lengths[i]-rule.Kerf, 0)})
			try(i+1, cost+price[s])
			coils = coils[:len(coils)-1]
			used[s]--
		}
	}
	try(0, 0)
	return best
}

// unitPrices are what the objective counts for one coil of each stock: the plan
// is held to it by the checker, and to what the basis says here.
func unitPrices(pieces []Piece, stock []Stock, rule LinearRule, basis Basis) []decimal.Decimal {
	fresh := slices.ContainsFunc(stock, func(s Stock) bool {
		return !s.Offcut && s.Count != 0 && slices.ContainsFunc(pieces, func(p Piece) bool { return p.Count > 0 && p.Length <= s.Length-rule.Trim })
	})
	out := make([]decimal.Decimal, len(stock))
	for i, s := range stock {
		switch {
		case basis == ByCost:
			out[i] = s.Cost
		case s.Offcut && fresh:
		case basis == ByCoils:
			out[i] = decimal.NewFromInt(1)
		default:
			out[i] = decimal.NewFromInt(int64(s.Length))
		}
	}
	return out
}

// expand lists every piece, longest first.
func expand(pieces []Piece) []int {
	var out []int
	for _, p := range pieces {
		for range p.Count {
			out = append(out, p.Length)
		}
	}
	for i := range out {
		for j := i + 1; j < len(out); j++ {
			if out[j] > out[i] {
				out[i], out[j] = out[j], out[i]
			}
		}
	}
	return out
}

// Every plan for small random demand is replayed and compared with exhaustive
// search: a plan called proven is a best one, and no bound exceeds the best.
func TestLinearAgainstBruteForce(t *testing.T) {
	proven, runs := 0, 0
	for seed := range uint64(depth.Of(500, 3000)) {
		r := newRNG(seed)
		rule := LinearRule{Kerf: r.intn(4), Trim: r.intn(6), OffcutTrim: r.intn(2), KeepOver: r.intn(30), OffcutsFirst: r.intn(2) == 0}
		var stock []Stock
		for i := range 1 + r.intn(3) {
			s := Stock{Length: 40 + r.intn(60), Count: Unlimited, Name: fmt.Sprint("s", i)}
			if r.intn(4) == 0 {
				s.Count = r.intn(4)
			}
			if seed%2 == 0 {
				s.Cost = decimal.New(int64(100+r.intn(900)), -int32(r.intn(3)))
			}
			stock = append(stock, s)
		}
		for range r.intn(3) {
			stock = append(stock, Stock{Length: 20 + r.intn(40), Count: 1 + r.intn(2), Offcut: true})
		}
		var pieces []Piece
		left := 9
		for range 1 + r.intn(6) {
			n := min(left, r.intn(4))
			left -= n
			pieces = append(pieces, Piece{Length: 5 + r.intn(50), Count: n})
		}
		plan, err := Linear(pieces, stock, rule)
		lengths := expand(pieces)
		price := make([]int64, len(stock))
		var long *TooLongError
		var few *NotEnoughError
		switch {
		case errors.As(err, &long):
			if best := bruteLinear(lengths, stock, rule, price); best >= 0 {
				t.Fatalf("seed %d: %v, but a plan exists", seed, err)
			}
			continue
		case errors.As(err, &few):
			best := bruteLinear(lengths, stock, rule, price)
			if best >= 0 && few.Proven {
				t.Fatalf("seed %d: %v, but a plan exists", seed, err)
			}
			if best >= 0 {
				t.Errorf("seed %d: a plan exists and was not found: %v", seed, err)
			}
			continue
		case err != nil:
			t.Fatalf("seed %d: %v", seed, err)
		}
		if err := CheckLinear(pieces, stock, rule, plan); err != nil {
			t.Fatalf("seed %d: %v\npieces %v\nstock %v\nrule %+v\nplan %+v", seed, err, pieces, stock, rule, plan)
		}
		for i, q := range unitPrices(pieces, stock, rule, plan.Basis) {
			price[i] = q.Shift(2).IntPart()
		}
		best := bruteLinear(lengths, stock, rule, price)
		got, bound := plan.Objective.Shift(2).IntPart(), plan.Bound.Shift(2).IntPart()
		runs++
		if plan.Proven {
			proven++
		}
		if best < 0 || got < best || bound > best {
			t.Fatalf("seed %d: plan %d, bound %d, brute force %d", seed, got, bound, best)
		}
		if got != best {
			t.Errorf("seed %d: plan %d, bound %d, brute force %d", seed, got, bound, best)
		}
	}
	t.Logf("%d plans, %d proven", runs, proven)
}

func TestLinearErrors(t *testing.T) {
	stock := coils(1000)
	for _, c := range []struct {
		name   string
		pieces []Piece
		stock  []Stock
		rule   LinearRule
		want   string
	}{
		{"too long", []Piece{{500, 1, ""}, {1001, 2, "K7"}}, stock, LinearRule{}, "piece 2 (K7): 1001 mm is longer than the longest usable stock, 1000 mm"},
		{"too long for trim", []Piece{{1000, 1, "K7"}}, stock, LinearRule{Trim: 1}, "longest usable stock, 999 mm"},
		{"no stock", []Piece{{10, 1, ""}}, nil, LinearRule{}, "no stock has any usable length"},
		{"negative length", []Piece{{-1, 1, ""}}, stock, LinearRule{}, "piece 1: length -1 mm"},
		{"absurd length", []Piece{{2_000_000, 1, ""}}, stock, LinearRule{}, "outside 1 to 1000000"},
		{"negative count", []Piece{{1, -1, ""}}, stock, LinearRule{}, "piece 1: count -1"},
		{"absurd count", []Piece{{1, 9_000_000, ""}, {2, 9_000_000, ""}}, stock, LinearRule{}, "piece 2: count 9000000"},
		{"negative kerf", []Piece{{1, 1, ""}}, stock, LinearRule{Kerf: -1}, "rule: kerf -1 mm"},
		{"absurd stock", []Piece{{1, 1, ""}}, []Stock{{Length: -5}}, LinearRule{}, "stock 1: length -5 mm"},
		{"endless offcuts", []Piece{{1, 1, ""}}, []Stock{{Length: 5, Count: Unlimited, Offcut: true}}, LinearRule{}, "offcuts cannot be unlimited"},
		{"half priced", []Piece{{1, 1, ""}}, []Stock{{Length: 5, Count: 1, Cost: decimal.NewFromInt(1)}, {Length: 6, Count: 1, Name: "six"}}, LinearRule{}, "stock 2 (six): has no cost"},
		{"negative cost", []Piece{{1, 1, ""}}, []Stock{{Length: 5, Count: 1, Cost: decimal.NewFromInt(-1)}}, LinearRule{}, "the cost is negative"},
		{"absurd cost", []Piece{{1, 1, ""}}, []Stock{{Length: 5, Count: 1, Cost: decimal.New(1, 1_000_000_000)}, {Length: 6, Count: 1, Cost: decimal.New(1, 0)}}, LinearRule{}, "too large or too finely"},
		{"too finely divided", []Piece{{1, 1, ""}}, []Stock{{Length: 5, Count: 1, Cost: decimal.New(1, -1_000_000_000)}, {Length: 6, Count: 1, Cost: decimal.New(1, 0)}}, LinearRule{}, "too large or too finely"},
		{"not enough", []Piece{{600, 3, ""}}, []Stock{{Length: 1000, Count: 2}}, LinearRule{}, "the stock cannot yield everything; left over in the best plan found: 1 × 600 mm"},
	} {
		_, err := Linear(c.pieces, c.stock, c.rule)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
}

func TestLinearNothing(t *testing.T) {
	plan := mustLinear(t, nil, coils(1000), LinearRule{})
	if len(plan.Patterns) != 0 || !plan.Proven {
		t.Errorf("%+v", plan)
	}
	mustLinear(t, []Piece{{5, 0, ""}}, nil, LinearRule{})
}
