package cut

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"wraptally/estimate/trace/outside"

	"github.com/shopspring/decimal"
)

// The cross-checks give two general integer-programming solvers, glpsol
// (GLPK) and cbc (COIN-OR), the same problem as a plain list of all maximal
// patterns: least cost of patterns that cover the demand within the stock. What
// they prove optimal is the truth that plans and bounds here are held against.

// program is an integer programme: minimise cost of columns that cover.
type program struct {
	cost   []int64   // by column
	covers [][]int64 // by row, by column
	demand []int64   // by row: at least
	stock  [][]int   // columns that draw on a finite stock ...
	limit  []int     // ... and how many there are
}

func (g program) lp() string {
	var b strings.Builder
	term := func(c int64, j int) {
		if c != 0 {
			fmt.Fprintf(&b, " %+d x%d\n", c, j)
		}
	}
	b.WriteString("Minimize\n obj:")
	for j, c := range g.cost {
		term(c, j)
	}
	b.WriteString("Subject To\n")
	for r, row := range g.covers {
		fmt.Fprintf(&b, " d%d:", r)
		for j, c := range row {
			term(c, j)
		}
		fmt.Fprintf(&b, " >= %d\n", g.demand[r])
	}
	for s, cols := range g.stock {
		if len(cols) == 0 {
			continue
		}
		fmt.Fprintf(&b, " s%d:", s)
		for _, j := range cols {
			term(1, j)
		}
		fmt.Fprintf(&b, " <= %d\n", g.limit[s])
	}
	b.WriteString("General\n")
	for j := range g.cost {
		fmt.Fprintf(&b, " x%d\n", j)
	}
	b.WriteString("End\n")
	return b.String()
}

// solveOutside returns the proven optimum by glpsol (even n) or cbc (odd n).
// ok is false when the solver ran out of its time limit; feasible is false when
// it proved that there is no solution.
func solveOutside(t *testing.T, n int, g program) (value int64, feasible, ok bool) {
	t.Helper()
	dir := t.TempDir()
	in, out := filepath.Join(dir, "m.lp"), filepath.Join(dir, "m.out")
	if err := os.WriteFile(in, []byte(g.lp()), 0o600); err != nil {
		t.Fatal(err)
	}
	var cmd *exec.Cmd
	if n%2 == 0 {
		cmd = exec.Command("glpsol", "--lp", in, "--tmlim", "1", "--cuts", "-o", out)
	} else {
		cmd = exec.Command("cbc", in, "sec", "2", "solve", "solution", out)
	}
	log, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, log)
	}
	text, err := os.ReadFile(out)
	if err != nil {
		t.Fatalf("%v\n%s", err, log)
	}
	number := func(s string) int64 {
		f, err := strconv.ParseFloat(strings.Fields(s)[0], 64)
		if err != nil {
			t.Fatalf("%v in %s", err, s)
		}
		return int64(f + 0.5)
	}
	if n%2 == 0 {
		if bytes.Contains(text, []byte("Status:     INTEGER EMPTY")) || bytes.Contains(log, []byte("PROBLEM HAS NO PRIMAL FEASIBLE SOLUTION")) || bytes.Contains(log, []byte("PROBLEM HAS NO INTEGER FEASIBLE SOLUTION")) {
			return 0, false, true
		}
		if !bytes.Contains(text, []byte("Status:     INTEGER OPTIMAL")) {
			return 0, false, false
		}
		_, after, _ := strings.Cut(string(text), "Objective:  obj = ")
		return number(after), true, true
	}
	first, _, _ := strings.Cut(string(text), "\n")
	switch {
	case strings.HasPrefix(first, "Optimal - objective value "):
		return number(strings.TrimPrefix(first, "Optimal - objective value ")), true, true
	case strings.HasPrefix(first, "Infeasible"), strings.HasPrefix(first, "Integer infeasible"):
		return 0, false, true
	}
	return 0, false, false
}

// crossed is the number of instances of each kind to compare: a taste of them
// where cross-checks are asked for, all where they are required.
func crossed() int {
	if outside.Required() {
		return 320
	}
	return 24
}

// tally counts what a cross-check saw.
type tally struct{ compared, proven, best, infeasible, timeout int }

// compare holds a plan against the outside optimum, both in the same units.
func (c *tally) compare(t *testing.T, what string, objective, bound decimal.Decimal, proven bool, best int64) {
	t.Helper()
	opt := decimal.NewFromInt(best)
	c.compared++
	switch {
	case objective.LessThan(opt):
		t.Errorf("%s: the plan costs %s, yet the outside optimum is %s", what, objective, opt)
	case bound.GreaterThan(opt):
		t.Errorf("%s: bound %s above the outside optimum %s", what, bound, opt)
	case proven && !objective.Equal(opt):
		t.Errorf("%s: called proven at %s, the outside optimum is %s", what, objective, opt)
	}
	if proven {
		c.proven++
	}
	if objective.Equal(opt) {
		c.best++
	} else {
		t.Logf("%s: %s, bound %s, best %s", what, objective, bound, opt)
	}
}

// report fails where fewer plans than a share in 100 are best.
func (c *tally) report(t *testing.T, least, share int) {
	t.Helper()
	t.Logf("%d compared: %d best, %d proven; %d without a solution, %d beyond the outside solver's time", c.compared, c.best, c.proven, c.infeasible, c.timeout)
	if c.compared < least {
		t.Errorf("only %d compared, %d wanted", c.compared, least)
	}
	if 100*c.best < share*c.compared {
		t.Errorf("%d of %d plans are best: fewer than %d in 100", c.best, c.compared, share)
	}
}

// maximalPatterns lists every way to fill a coil to which no piece can be
// added, by index of length. nil when there are more than most.
func maximalPatterns(lengths, demand []int, room, kerf, most int) [][]int64 {
	var out [][]int64
	qty := make([]int64, len(lengths))
	var fill func(i, room int)
	fill = func(i, room int) {
		if len(out) > most {
			return
		}
		if i == len(lengths) {
			for j, l := range lengths {
				if int(qty[j]) < demand[j] && l+kerf <= room {
					return
				}
			}
			out = append(out, append([]int64(nil), qty...))
			return
		}
		for n := min(demand[i], room/(lengths[i]+kerf)); n >= 0; n-- {
			qty[i] = int64(n)
			fill(i+1, room-n*(lengths[i]+kerf))
		}
		qty[i] = 0
	}
	fill(0, room+kerf)
	if len(out) > most {
		return nil
	}
	return out
}

// coilProgram is the integer programme of a coil problem; ok is false where it
// has too many patterns.
func coilProgram(pieces []Piece, stock []Stock, rule LinearRule, price []int64) (program, bool) {
	var lengths, demand []int
	for _, it := range pieces {
		found := false
		for k := range lengths {
			if lengths[k] == it.Length {
				demand[k] += it.Count
				found = true
			}
		}
		if !found && it.Count > 0 {
			lengths, demand = append(lengths, it.Length), append(demand, it.Count)
		}
	}
	g := program{covers: make([][]int64, len(lengths))}
	for _, d := range demand {
		g.demand = append(g.demand, int64(d))
	}
	for s, st := range stock {
		trim := rule.Trim
		if st.Offcut {
			trim = rule.OffcutTrim
		}
		var cols []int
		pats := maximalPatterns(lengths, demand, st.Length-trim, rule.Kerf, 400)
		if pats == nil {
			return g, false
		}
		for _, q := range pats {
			cols = append(cols, len(g.cost))
			g.cost = append(g.cost, price[s])
			for i := range lengths {
				g.covers[i] = append(g.covers[i], q[i])
			}
		}
		if st.Count >= 0 {
			g.stock, g.limit = append(g.stock, cols), append(g.limit, st.Count)
		}
	}
	return g, true
}

// coilInstance draws a problem; structured kinds are known to be hard for rules
// of thumb.
func coilInstance(seed uint64) ([]Piece, int, LinearRule, string) {
	r := newRNG(seed)
	rule := LinearRule{Budget: 150_000_000, Kerf: r.intn(3) * 2, Trim: r.intn(2) * 40, KeepOver: r.intn(2) * 1000}
	coil := 6000
	var lengths []int
	kind := []string{"uniform", "thirds", "bands", "multiples", "just under", "few per coil"}[seed%6]
	n := 3 + r.intn(5)
	switch kind {
	case "uniform":
		lengths = uniformLengths(r, n, 900, 4000, 10)
	case "thirds": // near a quarter to a half of the coil, in triples
		lengths = uniformLengths(r, n, 1500, 3000, 7)
	case "bands":
		for _, l := range bandLengths(r, n) {
			lengths = append(lengths, max(l, 700))
		}
		coil = 5000
	case "multiples": // of a common step, so that perfect fillings abound
		lengths = uniformLengths(r, n, 750, 3750, 250)
	case "just under": // just under or over simple fractions of the coil
		for range n {
			lengths = append(lengths, coil/(2+r.intn(5))+r.intn(41)-20)
		}
	case "few per coil":
		lengths = uniformLengths(r, n+3, 2000, 5500, 1)
	}
	var pieces []Piece
	for _, l := range lengths {
		pieces = append(pieces, Piece{Length: min(l, coil-40), Count: 1 + r.intn(40)})
	}
	return pieces, coil, rule, kind
}

func TestCrossLinearOneStock(t *testing.T) {
	t.Parallel()
	outside.Need(t, "glpsol", "cbc")
	var c tally
	for seed := uint64(0); c.compared < crossed(); seed++ {
		pieces, coil, rule, kind := coilInstance(seed)
		stock := coils(coil)
		g, ok := coilProgram(pieces, stock, rule, []int64{1})
		if !ok {
			continue
		}
		plan := mustLinear(t, pieces, stock, rule)
		best, feasible, ok := solveOutside(t, c.compared+c.timeout, g)
		if !ok {
			c.timeout++
			continue
		}
		if !feasible {
			t.Fatalf("seed %d: no solution outside", seed)
		}
		c.compare(t, fmt.Sprintf("seed %d, %s", seed, kind), plan.Objective, plan.Bound, plan.Proven, best)
	}
	c.report(t, crossed(), 100)
}

func TestCrossLinearSeveralStocks(t *testing.T) {
	t.Parallel()
	outside.Need(t, "glpsol", "cbc")
	var c tally
	for seed := uint64(10_000); c.compared < crossed(); seed++ {
		pieces, coil, rule, kind := coilInstance(seed)
		r := newRNG(seed + 77)
		rule.OffcutsFirst = r.intn(2) == 0
		stock := []Stock{{Length: coil, Count: Unlimited, Cost: decimal.NewFromInt(int64(90 + r.intn(30)))}}
		for range 1 + r.intn(2) {
			l := coil/2 + r.intn(coil)
			s := Stock{Length: l, Count: Unlimited, Cost: decimal.NewFromInt(int64(100*l/coil - 10 + r.intn(25)))}
			if r.intn(3) == 0 {
				s.Count = 1 + r.intn(10)
			}
			stock = append(stock, s)
		}
		for range r.intn(3) {
			stock = append(stock, Stock{Length: 800 + r.intn(coil-800), Count: 1 + r.intn(3), Offcut: true})
		}
		if seed%7 == 0 {
			stock[0].Count = 2 + r.intn(20) // sometimes not enough
		}
		price := make([]int64, len(stock))
		for i := range stock {
			price[i] = stock[i].Cost.IntPart()
		}
		g, ok := coilProgram(pieces, stock, rule, price)
		if !ok {
			continue
		}
		what := fmt.Sprintf("seed %d, %s", seed, kind)
		plan, err := Linear(pieces, stock, rule)
		best, feasible, ok := solveOutside(t, c.compared+c.timeout+c.infeasible, g)
		if !ok {
			c.timeout++
			continue
		}
		if few, is := err.(*NotEnoughError); is {
			c.infeasible++
			if feasible && few.Proven {
				t.Errorf("%s: %v, yet there is a plan at %d", what, err, best)
			} else if feasible {
				t.Logf("%s: %v, yet there is a plan at %d", what, err, best)
			}
			continue
		}
		if _, is := err.(*TooLongError); is && !feasible {
			c.infeasible++
			continue
		}
		if err != nil {
			t.Fatalf("%s: %v", what, err)
		}
		if err := CheckLinear(pieces, stock, rule, plan); err != nil {
			t.Fatalf("%s: %v", what, err)
		}
		if !feasible {
			t.Errorf("%s: a plan was found where there is none", what)
			continue
		}
		// A single usable stock is counted in coils, not money.
		objective, bound := plan.Objective, plan.Bound
		if plan.Basis == ByCoils {
			unit := decimal.Zero
			for i := range stock {
				if plan.StocksUsed[i] > 0 && !stock[i].Offcut {
					unit = stock[i].Cost
				}
			}
			objective, bound = objective.Mul(unit), bound.Mul(unit)
		}
		c.compare(t, what, objective, bound, plan.Proven, best)
	}
	c.report(t, crossed(), 92)
}

// Stock that costs what its order costs: cartons, a price step, some in store, no
// more than there is. The programme takes one step of each curve, and as many
// coils as that step buys.
func TestCrossCurve(t *testing.T) {
	t.Parallel()
	outside.Need(t, "glpsol", "cbc")
	var c tally
	for seed := uint64(20_000); c.compared < crossed(); seed++ {
		pieces, coil, rule, kind := coilInstance(seed)
		r := newRNG(seed + 99)
		total := 0
		for _, p := range pieces {
			total += p.Count * (p.Length + rule.Kerf)
		}
		var stock []Stock
		for k := range 2 + r.intn(2) {
			l := coil
			if k > 0 {
				l = coil/2 + r.intn(coil)
			}
			each := 100*l/coil - 10 + r.intn(25)
			costs := stepped(each, []int{0, 3, 5, 10}[r.intn(4)], each*(75+r.intn(25))/100, 1+r.intn(4), 2*total/l+3)
			for n := range r.intn(3) {
				costs[n+1] = decimal.Zero
			}
			stock = append(stock, Stock{Length: l, Count: len(costs) - 1, Costs: costs})
		}
		g, ok := coilProgram(pieces, stock, rule, make([]int64, len(stock)))
		if !ok {
			continue
		}
		for s := range stock {
			row := make([]int64, len(g.cost))
			for _, j := range g.stock[s] {
				row[j] = -1
			}
			var steps []int
			costs := stock[s].Costs
			for n := 1; n < len(costs); n++ {
				if n == len(costs)-1 || costs[n+1].GreaterThan(costs[n]) {
					steps = append(steps, len(g.cost))
					g.cost = append(g.cost, costs[n].IntPart())
					row = append(row, int64(n))
				}
			}
			g.covers, g.demand = append(g.covers, row), append(g.demand, 0)
			g.stock, g.limit = append(g.stock, steps), append(g.limit, 1)
		}
		what := fmt.Sprintf("seed %d, %s", seed, kind)
		plan, err := Linear(pieces, stock, rule)
		best, feasible, ok := solveOutside(t, 2*(c.compared+c.timeout)+1, g)
		if !ok {
			c.timeout++
			continue
		}
		if _, is := err.(*TooLongError); is && !feasible {
			c.infeasible++
			continue
		}
		if err != nil || !feasible {
			t.Fatalf("%s: %v, feasible outside %v", what, err, feasible)
		}
		if err := CheckLinear(pieces, stock, rule, plan); err != nil {
			t.Fatalf("%s: %v", what, err)
		}
		c.compare(t, what, plan.Objective, plan.Bound, plan.Proven, best)
	}
	c.report(t, crossed(), 90)
}

// slicing lists the count vectors that guillotine cuts can get out of one
// sheet. The outline of a set of pieces is the list of the smallest rectangles
// that hold it; outlines of larger sets come from putting two smaller ones side
// by side or one on the other, which is exactly what guillotine cuts undo.
type slicing struct {
	sizes  []Size // with kerf
	rotate bool
	w, h   int
	memo   map[string][]Size
}

func (s *slicing) outline(q []int) []Size {
	key := fmt.Sprint(q)
	if o, ok := s.memo[key]; ok {
		return o
	}
	var out []Size
	add := func(z Size) {
		if z.W > s.w || z.H > s.h {
			return
		}
		for _, o := range out {
			if o.W <= z.W && o.H <= z.H {
				return
			}
		}
		kept := out[:0]
		for _, o := range out {
			if !(z.W <= o.W && z.H <= o.H) {
				kept = append(kept, o)
			}
		}
		out = append(kept, z)
	}
	total, only := 0, 0
	for i, n := range q {
		total += n
		if n > 0 {
			only = i
		}
	}
	if total == 1 {
		z := s.sizes[only]
		add(z)
		if s.rotate {
			add(Size{z.H, z.W})
		}
	} else {
		// Every way to part the set in two.
		part := make([]int, len(q))
		var parts func(i, n int)
		parts = func(i, n int) {
			if i == len(q) {
				if n == 0 || 2*n > total {
					return
				}
				rest := make([]int, len(q))
				for j := range q {
					rest[j] = q[j] - part[j]
				}
				for _, a := range s.outline(append([]int(nil), part...)) {
					for _, b := range s.outline(rest) {
						add(Size{a.W + b.W, max(a.H, b.H)})
						add(Size{max(a.W, b.W), a.H + b.H})
					}
				}
				return
			}
			for k := 0; k <= q[i]; k++ {
				part[i] = k
				parts(i+1, n+k)
			}
			part[i] = 0
		}
		parts(0, 0)
	}
	s.memo[key] = out
	return out
}

// patterns lists the maximal vectors that fit. nil when a sheet can hold more
// than most pieces.
func (s *slicing) patterns(demand []int, most int) [][]int64 {
	fits := map[string][]int{}
	layer := [][]int{make([]int, len(demand))}
	for size := 0; len(layer) > 0; size++ {
		if size > most {
			return nil
		}
		var next [][]int
		for _, q := range layer {
			for i := range q {
				if q[i] == demand[i] {
					continue
				}
				r := append([]int(nil), q...)
				r[i]++
				if _, ok := fits[fmt.Sprint(r)]; !ok && len(s.outline(r)) > 0 {
					fits[fmt.Sprint(r)] = r
					next = append(next, r)
				}
			}
		}
		layer = next
	}
	var out [][]int64
	for _, q := range fits {
		maximal := true
		for i := range q {
			r := append([]int(nil), q...)
			r[i]++
			if _, ok := fits[fmt.Sprint(r)]; ok {
				maximal = false
			}
		}
		if maximal {
			v := make([]int64, len(q))
			for i := range q {
				v[i] = int64(q[i])
			}
			out = append(out, v)
		}
	}
	return out
}

func TestCrossSheets(t *testing.T) {
	t.Parallel()
	outside.Need(t, "glpsol", "cbc")
	var c tally
	for seed := uint64(0); c.compared < crossed(); seed++ {
		r := newRNG(seed + 500)
		rule := SheetRule{Budget: 150_000_000, Kerf: r.intn(3), Trim: r.intn(2) * 3, Rotate: r.intn(2) == 0, KeepOver: r.intn(2) * 20}
		sheets := []Sheet{{W: 100, H: 150 + r.intn(2)*50, Count: Unlimited}}
		if seed%2 == 1 {
			sheets[0].Cost = decimal.NewFromInt(int64(100 + r.intn(40)))
			for range 1 + r.intn(2) {
				w, h := 70+r.intn(60), 100+r.intn(100)
				s := Sheet{W: w, H: h, Count: Unlimited, Cost: decimal.NewFromInt(int64(100*w*h/17500 + r.intn(20)))}
				if r.intn(3) == 0 {
					s.Count = 1 + r.intn(4)
				}
				sheets = append(sheets, s)
			}
		}
		kinds := 2 + r.intn(4)
		var rects []Rect
		for range kinds {
			z := Rect{W: 28 + r.intn(45), H: 35 + r.intn(70), Count: 1 + r.intn(12)}
			if seed%3 == 0 { // fractions of the sheet, where perfect fillings abound
				z.W, z.H = 100/(1+r.intn(3))-2, sheets[0].H/(1+r.intn(4))-2-rule.Trim
			}
			z.W, z.H = min(z.W, 100-2*rule.Trim), min(z.H, 150-2*rule.Trim)
			dup := false
			for _, o := range rects {
				dup = dup || o.W == z.W && o.H == z.H || o.W == z.H && o.H == z.W
			}
			if !dup {
				rects = append(rects, z)
			}
		}
		g := program{covers: make([][]int64, len(rects))}
		demand := make([]int, len(rects))
		for i, z := range rects {
			demand[i] = z.Count
			g.demand = append(g.demand, int64(z.Count))
		}
		many := false
		for _, sh := range sheets {
			s := &slicing{rotate: rule.Rotate, w: sh.W - 2*rule.Trim + rule.Kerf, h: sh.H - 2*rule.Trim + rule.Kerf, memo: map[string][]Size{}}
			for _, z := range rects {
				s.sizes = append(s.sizes, Size{z.W + rule.Kerf, z.H + rule.Kerf})
			}
			pats := s.patterns(demand, 10)
			if pats == nil && len(rects) > 0 {
				many = many || s.patterns(demand, 1) == nil
			}
			price := int64(1)
			if len(sheets) > 1 {
				price = sh.Cost.IntPart()
			}
			var cols []int
			for _, q := range pats {
				cols = append(cols, len(g.cost))
				g.cost = append(g.cost, price)
				for i := range rects {
					g.covers[i] = append(g.covers[i], q[i])
				}
			}
			if sh.Count >= 0 {
				g.stock, g.limit = append(g.stock, cols), append(g.limit, sh.Count)
			}
		}
		if many {
			continue
		}
		what := fmt.Sprintf("seed %d", seed)
		plan, err := Sheets(rects, sheets, rule)
		if err != nil {
			t.Fatalf("%s: %v", what, err)
		}
		if err := CheckSheets(rects, sheets, rule, plan); err != nil {
			t.Fatalf("%s: %v\n%+v", what, err, rects)
		}
		best, feasible, ok := solveOutside(t, c.compared+c.timeout, g)
		if !ok {
			c.timeout++
			continue
		}
		if !feasible {
			t.Fatalf("%s: no solution outside", what)
		}
		objective, bound := plan.Objective, plan.Bound
		if plan.Basis == BySheets && len(sheets) > 1 {
			for i := range sheets {
				if plan.SheetsUsed[i] > 0 {
					objective, bound = objective.Mul(sheets[i].Cost), bound.Mul(sheets[i].Cost)
				}
			}
		}
		c.compare(t, what, objective, bound, plan.Proven, best)
	}
	c.report(t, crossed(), 95)
}
