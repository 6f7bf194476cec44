package cut

import (
	"cmp"
	"errors"
	"fmt"
	"math/big"
	"slices"
)

// CheckSheets replays a plan as guillotine cuts and returns the first thing
// that is wrong with it: a cut that does not part its rectangle into the two
// said to result, pieces nearer to each other than a kerf or outside the trim,
// demands not met exactly, more sheets than there are, areas that do not add
// up, or a bound that its certificate does not prove. It shares no code with
// the solver, and takes no more work than the rule allows the search.
func CheckSheets(rects []Rect, sheets []Sheet, rule SheetRule, plan SheetPlan) error {
	norm := func(w, h int) Size {
		if rule.Rotate && w < h {
			w, h = h, w
		}
		return Size{w, h}
	}
	want, got := map[Size]int{}, map[Size]int{}
	pieces := 0
	for _, r := range rects {
		if r.Count > 0 {
			want[norm(r.W, r.H)] += r.Count
			pieces += r.Count
		}
	}
	if plan.Pieces != pieces || plan.Kerf != rule.Kerf || plan.Rotate != rule.Rotate {
		return fmt.Errorf("the plan is for %d pieces, kerf %d mm, turning %v; asked were %d, %d mm, %v", plan.Pieces, plan.Kerf, plan.Rotate, pieces, rule.Kerf, rule.Rotate)
	}
	mine := make([]checkedStock, len(sheets))
	for i, s := range sheets {
		some := false
		for z := range want {
			some = some || holds(s, z, rule)
		}
		mine[i] = checked(s.Count, s.Cost, s.Costs, int64(s.W)*int64(s.H), s.Offcut, some)
	}
	var sum areas
	all := int64(0)
	for n, l := range plan.Layouts {
		if l.Sheet < 0 || l.Sheet >= len(sheets) {
			return fmt.Errorf("layout %d: there is no sheet %d", n, l.Sheet)
		}
		if l.Count < 1 || len(l.Parts) == 0 || l.Cuts == nil {
			return fmt.Errorf("layout %d: is empty or is never cut", n)
		}
		s := sheets[l.Sheet]
		a, err := replay(l, s, rule)
		if err != nil {
			return fmt.Errorf("layout %d: %w", n, err)
		}
		for _, pt := range l.Parts {
			got[norm(pt.W, pt.H)] += l.Count
		}
		mine[l.Sheet].used += l.Count
		k := int64(l.Count)
		sum.cut += k * a.cut
		sum.kerf += k * a.kerf
		sum.trim += k * a.trim
		sum.scrap += k * a.scrap
		sum.kept += k * a.kept
		all += k * int64(s.W) * int64(s.H)
	}
	if err := sameNumbers(got, want, func(z Size) string { return fmt.Sprintf("%d × %d mm", z.W, z.H) }); err != nil {
		return err
	}
	if g := (areas{plan.CutArea, plan.KerfArea, plan.TrimArea, plan.ScrapArea, plan.KeptArea}); g != sum {
		return fmt.Errorf("areas (cut, kerf, trim, scrap, kept) are %v, the plan says %v", sum, g)
	}
	if t := sum.cut + sum.kerf + sum.trim + sum.scrap + sum.kept; t != all {
		return fmt.Errorf("areas add up to %d mm², the sheets have %d", t, all)
	}
	total, err := checkSheetWorths(want, sheets, mine, rule, plan.Certificate)
	if err != nil {
		return err
	}
	c := claims{"sheets", BySheets, ByArea, plan.SheetsUsed, plan.Cost, plan.Verdict, total}
	return c.check(mine)
}

// holds reports whether a piece lies inside the trim of a sheet.
func holds(s Sheet, z Size, rule SheetRule) bool {
	w, h := s.W-2*rule.Trim, s.H-2*rule.Trim
	return z.W <= w && z.H <= h || rule.Rotate && z.H <= w && z.W <= h
}

type areas struct{ cut, kerf, trim, scrap, kept int64 }

// replay cuts one sheet as the layout says.
func replay(l Layout, s Sheet, rule SheetRule) (areas, error) {
	w, h := s.W-2*rule.Trim, s.H-2*rule.Trim
	if w <= 0 || h <= 0 {
		return areas{}, fmt.Errorf("the trim leaves nothing of the sheet")
	}
	if c := l.Cuts; c.X != rule.Trim || c.Y != rule.Trim || c.W != w || c.H != h {
		return areas{}, fmt.Errorf("cutting does not start from the sheet inside its trim")
	}
	r := sheetReplay{Layout: l, rule: rule, areas: areas{trim: int64(s.W)*int64(s.H) - int64(w)*int64(h)}, made: make([]bool, len(l.Parts))}
	if err := r.node(l.Cuts); err != nil {
		return areas{}, err
	}
	a := r.areas
	if i := slices.Index(r.made, false); i >= 0 {
		return a, fmt.Errorf("part %d is never cut out", i)
	}
	if a.kept != l.Kept {
		return a, fmt.Errorf("leftovers worth keeping are %d mm², the layout says %d", a.kept, l.Kept)
	}
	return a, apart(l.Parts, s, rule)
}

// apart is plain geometry, whatever the cuts say: parts lie inside the trim and
// a kerf from each other. It goes through them from left to right and keeps, for
// each stretch between two edges, how far it is taken.
func apart(parts []Part, s Sheet, rule SheetRule) error {
	var edges []int
	order := make([]int, len(parts))
	for i, p := range parts {
		if p.X < rule.Trim || p.Y < rule.Trim || p.X+p.W > s.W-rule.Trim || p.Y+p.H > s.H-rule.Trim {
			return fmt.Errorf("part %d lies outside the usable sheet", i)
		}
		order[i] = i
		edges = append(edges, p.Y, p.Y+p.H+rule.Kerf)
	}
	slices.Sort(edges)
	edges = slices.Compact(edges)
	slices.SortFunc(order, func(i, j int) int { return cmp.Compare(parts[i].X, parts[j].X) })
	taken := make([]int, len(edges))
	for _, i := range order {
		p := parts[i]
		at, _ := slices.BinarySearch(edges, p.Y)
		for ; edges[at] < p.Y+p.H+rule.Kerf; at++ {
			if p.X < taken[at] {
				return fmt.Errorf("part %d is nearer than a kerf to another", i)
			}
			taken[at] = p.X + p.W + rule.Kerf
		}
	}
	return nil
}

// sheetReplay goes through the cuts of one layout.
type sheetReplay struct {
	Layout
	rule SheetRule
	areas
	made []bool // by part
}

// node replays a rectangle: cut, or finished.
func (r *sheetReplay) node(n *Node) error {
	switch {
	case n.W < 1 || n.H < 1:
		return fmt.Errorf("a rectangle of %d × %d mm cannot be", n.W, n.H)
	case n.Cut != Whole:
		return r.cutThrough(n)
	case n.First != nil || n.Second != nil:
		return fmt.Errorf("a rectangle that is not cut has parts")
	case n.Part < 0:
		return r.leftover(n)
	case n.Part >= len(r.made) || r.made[n.Part]:
		return fmt.Errorf("part %d does not exist or is cut twice", n.Part)
	case (Part{n.X, n.Y, n.W, n.H}) != r.Parts[n.Part]:
		return fmt.Errorf("part %d is not where or what it is said to be", n.Part)
	}
	r.made[n.Part] = true
	r.cut += int64(n.W) * int64(n.H)
	return nil
}

func (r *sheetReplay) leftover(n *Node) error {
	size := int64(n.W) * int64(n.H)
	if keep := r.rule.KeepOver > 0 && min(n.W, n.H) >= r.rule.KeepOver && size >= r.rule.KeepArea; keep != n.Keep {
		return fmt.Errorf("a leftover of %d × %d mm is marked keep=%v", n.W, n.H, n.Keep)
	}
	if n.Keep {
		r.kept += size
	} else {
		r.scrap += size
	}
	return nil
}

// cutThrough replays the two sides of a cut; what neither holds is kerf.
func (r *sheetReplay) cutThrough(n *Node) error {
	if n.Part >= 0 || n.Keep || n.First == nil {
		return fmt.Errorf("a rectangle that is cut is a piece or leftover as well")
	}
	first, second := *n, *n
	side, beyond := n.W, &second.W
	switch n.Cut {
	case Vertical:
		first.W, second.X = n.At, n.X+n.At+r.rule.Kerf
	case Horizontal:
		side, beyond = n.H, &second.H
		first.H, second.Y = n.At, n.Y+n.At+r.rule.Kerf
	default:
		return fmt.Errorf("there is no cut %q", n.Cut)
	}
	*beyond = side - n.At - r.rule.Kerf
	switch {
	case n.At < 1 || n.At >= side:
		return fmt.Errorf("a cut at %d mm misses its rectangle", n.At)
	case *beyond <= 0 && n.Second != nil:
		return fmt.Errorf("nothing is left beyond a cut, yet the plan uses it")
	case !n.First.lies(first) || *beyond > 0 && (n.Second == nil || !n.Second.lies(second)):
		return fmt.Errorf("a cut does not part its rectangle as said")
	}
	lost := int64(n.W)*int64(n.H) - int64(first.W)*int64(first.H)
	if err := r.node(n.First); err != nil {
		return err
	}
	if n.Second != nil {
		lost -= int64(second.W) * int64(second.H)
		if err := r.node(n.Second); err != nil {
			return err
		}
	}
	r.kerf += lost
	return nil
}

// lies reports whether a node lies where another says.
func (n *Node) lies(as Node) bool {
	return n.X == as.X && n.Y == as.Y && n.W == as.W && n.H == as.H
}

// checkSheetWorths verifies that no sheet holds more worth than the certificate
// says and returns the worth of all demand.
func checkSheetWorths(want map[Size]int, sheets []Sheet, mine []checkedStock, rule SheetRule, c SheetCertificate) (*big.Int, error) {
	total := new(big.Int)
	if len(c.Y) != len(c.Sizes) || len(c.Sizes) != len(want) || len(c.K) != len(sheets) {
		return total, errors.New("the certificate does not name every size and sheet")
	}
	seen := map[Size]bool{}
	for i, z := range c.Sizes {
		if want[z] == 0 || seen[z] || c.Y[i] < 0 {
			return total, fmt.Errorf("certificate: %d × %d mm is not demanded, named twice or of negative worth", z.W, z.H)
		}
		seen[z] = true
		total.Add(total, new(big.Int).Mul(big.NewInt(c.Y[i]), big.NewInt(int64(want[z]))))
	}
	work := checkBudget(rule.Budget)
	for i, s := range sheets {
		mine[i].most = c.K[i]
		w, h := s.W-2*rule.Trim+rule.Kerf, s.H-2*rule.Trim+rule.Kerf
		var most int64
		switch {
		case mine[i].count == 0 || w <= rule.Kerf || h <= rule.Kerf:
		case c.Method == ByAreaOf:
			most = mostByArea(c, rule, s, int64(w)*int64(h))
		case c.Method == ByPatterns && c.Grid >= 1:
			if most = mostByGuillotine(c, rule, w, h, &work); work < 0 {
				return total, errors.New("certificate: it takes more work to check than the rule allows")
			}
		default:
			return total, fmt.Errorf("certificate: there is no method %q", c.Method)
		}
		if most > c.K[i] {
			return total, fmt.Errorf("certificate: sheet %d can hold a worth of %d, not %d at most", i, most, c.K[i])
		}
	}
	return total, nil
}

// mostByArea is the most worth in a sheet whose usable area, with its kerf, is
// given: one big piece or none, and the rest at the best worth for area.
func mostByArea(c SheetCertificate, rule SheetRule, s Sheet, usable int64) int64 {
	w, h := s.W-2*rule.Trim+rule.Kerf, s.H-2*rule.Trim+rule.Kerf
	big1 := func(a, b int) bool { return 2*(a+rule.Kerf) > w && 2*(b+rule.Kerf) > h }
	lies := func(a, b int) bool { return a+rule.Kerf <= w && b+rule.Kerf <= h }
	rate := new(big.Rat)
	var bigs []int
	for j, z := range c.Sizes {
		along, turned := lies(z.W, z.H), rule.Rotate && lies(z.H, z.W)
		switch {
		case !along && !turned:
		case (!along || big1(z.W, z.H)) && (!turned || big1(z.H, z.W)):
			bigs = append(bigs, j)
		default:
			if r := big.NewRat(c.Y[j], int64(z.W+rule.Kerf)*int64(z.H+rule.Kerf)); r.Cmp(rate) > 0 {
				rate = r
			}
		}
	}
	of := func(area int64) int64 {
		n := new(big.Rat).Mul(rate, big.NewRat(area, 1))
		return new(big.Int).Quo(n.Num(), n.Denom()).Int64()
	}
	most := of(usable)
	for _, j := range bigs {
		z := c.Sizes[j]
		most = max(most, c.Y[j]+of(usable-int64(z.W+rule.Kerf)*int64(z.H+rule.Kerf)))
	}
	return most
}

// mostByGuillotine is the most worth in a w × h rectangle by the plain
// recursion over cuts at sums of sides (Gilmore and Gomory, Operations Research
// 14 (1966) 1045 [from memory]), sides with their kerf. work below 0: it would
// take more than allowed.
func mostByGuillotine(c SheetCertificate, rule SheetRule, w, h int, work *int64) int64 {
	pieces := c.inSteps(rule, w, h)
	w, h = w/c.Grid, h/c.Grid
	var ws, hs []int
	for _, p := range pieces {
		// A side that rounds down to nothing would fit without end.
		if p.w == 0 || p.h == 0 {
			return 1 << 62
		}
		ws, hs = append(ws, p.w), append(hs, p.h)
	}
	xs, ys := sums(ws, w), sums(hs, h)
	xi, yi := largestUpTo(xs, w), largestUpTo(ys, h)
	nx, ny := int64(len(xs)), int64(len(ys))
	if *work -= nx * ny * (nx + ny + int64(len(pieces))) / 8; *work < 0 {
		return 0
	}
	best := make([][]int64, len(xs))
	for a, x := range xs {
		col := make([]int64, len(ys))
		best[a] = col
		for _, p := range pieces {
			for b, y := range ys {
				if p.w <= x && p.h <= y {
					col[b] = max(col[b], p.worth)
				}
			}
		}
		// Left and right: element by element over all heights.
		for l := 1; l < a && 2*xs[l] <= x; l++ {
			left, right := best[l], best[xi[x-xs[l]]]
			for b := range col {
				col[b] = max(col[b], left[b]+right[b])
			}
		}
		for b, y := range ys {
			for l := 1; l < b && 2*ys[l] <= y; l++ {
				col[b] = max(col[b], col[l]+col[yi[y-ys[l]]])
			}
		}
	}
	return best[len(xs)-1][len(ys)-1]
}

// gridPiece is a size demanded in one of the ways it may lie, its sides with their
// kerf in whole steps of the certificate's grid.
type gridPiece struct {
	w, h  int
	worth int64
}

// inSteps are the pieces worth something that fit a rectangle. What does not fit
// must not come to fit by rounding down.
func (c *SheetCertificate) inSteps(rule SheetRule, w, h int) (out []gridPiece) {
	for i, z := range c.Sizes {
		a, b := z.W+rule.Kerf, z.H+rule.Kerf
		if c.Y[i] > 0 && a <= w && b <= h {
			out = append(out, gridPiece{a / c.Grid, b / c.Grid, c.Y[i]})
		}
		if c.Y[i] > 0 && rule.Rotate && a != b && b <= w && a <= h {
			out = append(out, gridPiece{b / c.Grid, a / c.Grid, c.Y[i]})
		}
	}
	return out
}

// largestUpTo is the place of the largest sum not over each length up to a limit.
func largestUpTo(sums []int, limit int) []int {
	at := make([]int, limit+1)
	j := 0
	for x := range at {
		for j+1 < len(sums) && sums[j+1] <= x {
			j++
		}
		at[x] = j
	}
	return at
}

// sums lists all sums of the lengths, each any number of times, up to a limit,
// and the limit itself.
func sums(lengths []int, limit int) []int {
	hit := make([]bool, limit+1)
	hit[0] = true
	out := []int{0}
	for x := 1; x <= limit; x++ {
		for _, l := range lengths {
			hit[x] = hit[x] || l <= x && hit[x-l]
		}
		if hit[x] || x == limit {
			out = append(out, x)
		}
	}
	return out
}
