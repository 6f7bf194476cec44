package cut

import (
	"fmt"
	"math/big"
	"slices"

	"github.com/shopspring/decimal"
)

// CheckLinear replays a plan against its input and returns the first thing that
// is wrong with it: demands not met exactly, a coil too short for its pattern
// with kerf and trim, more stock than there is, totals that do not add up, or a
// bound that its certificate does not prove. It shares no code with the solver
// but the greatest common divisor: every rule is stated here a second time.
func CheckLinear(pieces []Piece, stock []Stock, rule LinearRule, plan LinearPlan) error {
	want := map[int]int{}
	pieceCount := 0
	for _, pc := range pieces {
		if pc.Count > 0 {
			want[pc.Length] += pc.Count
			pieceCount += pc.Count
		}
	}
	used := make([]int, len(stock))
	var cutSum, kerfSum, trimSum, scrapSum, keptSum, stockSum int64
	got := map[int]int{}
	seen := map[string]bool{}
	for n, pt := range plan.Patterns {
		if pt.Stock < 0 || pt.Stock >= len(stock) {
			return fmt.Errorf("pattern %d: there is no stock %d", n, pt.Stock)
		}
		if pt.Count < 1 || len(pt.Cuts) == 0 {
			return fmt.Errorf("pattern %d: is empty or is never cut", n)
		}
		if id := fmt.Sprint(pt.Stock, pt.Cuts); seen[id] {
			return fmt.Errorf("pattern %d: is listed twice", n)
		} else {
			seen[id] = true
		}
		s := stock[pt.Stock]
		trim := rule.Trim
		if s.Offcut {
			trim = rule.OffcutTrim
		}
		// Walk along the coil: a piece, a kerf, a piece, ...
		at, end := 0, s.Length-trim
		net := 0
		for c, ct := range pt.Cuts {
			if ct.Count < 1 || ct.Length < 1 || (c > 0 && ct.Length >= pt.Cuts[c-1].Length) {
				return fmt.Errorf("pattern %d: cuts are not positive and longest first", n)
			}
			for range ct.Count {
				if at+ct.Length > end {
					return fmt.Errorf("pattern %d: runs over the end of a coil of %d mm usable", n, end)
				}
				at += ct.Length
				at = min(at+rule.Kerf, end) // the last cut may fall on the coil's end
				net += ct.Length
			}
			got[ct.Length] += ct.Count * pt.Count
		}
		left := end - at
		if left != pt.Left {
			return fmt.Errorf("pattern %d: leaves %d mm, not %d mm", n, left, pt.Left)
		}
		if keep := rule.KeepOver > 0 && left >= rule.KeepOver; keep != pt.Keep {
			return fmt.Errorf("pattern %d: a leftover of %d mm is marked keep=%v", n, left, pt.Keep)
		}
		k := int64(pt.Count)
		used[pt.Stock] += pt.Count
		stockSum += k * int64(s.Length)
		cutSum += k * int64(net)
		trimSum += k * int64(trim)
		kerfSum += k * int64(end-net-left)
		if pt.Keep {
			keptSum += k * int64(left)
		} else {
			scrapSum += k * int64(left)
		}
	}
	for l, n := range got {
		if want[l] != n {
			return fmt.Errorf("length %d mm: %d pieces cut, %d wanted", l, n, want[l])
		}
	}
	for l, n := range want {
		if got[l] != n {
			return fmt.Errorf("length %d mm: %d pieces cut, %d wanted", l, got[l], n)
		}
	}
	if plan.Kerf != rule.Kerf {
		return fmt.Errorf("the plan says kerf %d mm, the rule %d mm", plan.Kerf, rule.Kerf)
	}
	if plan.Pieces != pieceCount {
		return fmt.Errorf("the plan says %d pieces, the demand is %d", plan.Pieces, pieceCount)
	}
	if !slices.Equal(used, plan.StocksUsed) {
		return fmt.Errorf("coils used are %v, the plan says %v", used, plan.StocksUsed)
	}
	cost := decimal.Zero
	for i, n := range used {
		if stock[i].Count >= 0 && n > stock[i].Count {
			return fmt.Errorf("stock %d: %d coils used, there are %d", i, n, stock[i].Count)
		}
		cost = cost.Add(stock[i].Cost.Mul(decimal.NewFromInt(int64(n))))
	}
	if !cost.Equal(plan.Cost) {
		return fmt.Errorf("the coils cost %s, the plan says %s", cost, plan.Cost)
	}
	for _, t := range []struct {
		what      string
		got, want int64
	}{
		{"cut", plan.CutTotal, cutSum}, {"kerf", plan.KerfTotal, kerfSum}, {"trim", plan.TrimTotal, trimSum},
		{"scrap", plan.ScrapTotal, scrapSum}, {"kept", plan.KeptTotal, keptSum},
		{"all lengths together", cutSum + kerfSum + trimSum + scrapSum + keptSum, stockSum},
	} {
		if t.got != t.want {
			return fmt.Errorf("%s: total %d mm, not %d mm", t.what, t.got, t.want)
		}
	}
	return checkLinearBound(want, stock, rule, plan, used)
}

// checkLinearBound verifies objective, certificate, bound, proof and gap.
func checkLinearBound(want map[int]int, stock []Stock, rule LinearRule, plan LinearPlan, used []int) error {
	price, err := checkBasis(want, stock, rule, plan.Basis)
	if err != nil {
		return err
	}
	objective := new(big.Rat)
	for i, n := range used {
		objective.Add(objective, new(big.Rat).Mul(price[i], big.NewRat(int64(n), 1)))
	}
	if objective.Cmp(plan.Objective.Rat()) != 0 {
		return fmt.Errorf("the objective is %s, the plan says %s", objective.FloatString(4), plan.Objective)
	}
	c := plan.Certificate
	if len(c.Y) != len(c.Lengths) || len(c.Lengths) != len(want) || len(c.K) != len(stock) {
		return fmt.Errorf("the certificate does not name every length and stock")
	}
	total := new(big.Int)
	for i, l := range c.Lengths {
		if i > 0 && l >= c.Lengths[i-1] {
			return fmt.Errorf("certificate: lengths are not longest first")
		}
		if want[l] == 0 || c.Y[i] < 0 {
			return fmt.Errorf("certificate: length %d mm is not demanded or has a negative worth", l)
		}
		total.Add(total, new(big.Int).Mul(big.NewInt(c.Y[i]), big.NewInt(int64(want[l]))))
	}
	if err := checkWorths(want, stock, rule, c); err != nil {
		return err
	}
	counts := make([]int, len(stock))
	for i, s := range stock {
		counts[i] = s.Count
	}
	bound, err := checkCover(price, c.K, counts, total)
	if err != nil {
		return err
	}
	if plan.Bound.Rat().Cmp(bound) > 0 {
		return fmt.Errorf("the certificate proves a bound of %s, the plan claims %s", bound.FloatString(6), plan.Bound)
	}
	return checkGap(plan.Objective, plan.Bound, plan.Proven, plan.Gap)
}

func checkGap(objective, bound decimal.Decimal, proven bool, gap float64) error {
	if objective.LessThan(bound) {
		return fmt.Errorf("the objective %s is below the bound %s", objective, bound)
	}
	if proven != objective.Equal(bound) {
		return fmt.Errorf("objective %s, bound %s, but proven=%v", objective, bound, proven)
	}
	want := 0.0
	if bound.IsPositive() {
		want = objective.Sub(bound).InexactFloat64() / bound.InexactFloat64()
	} else if objective.IsPositive() {
		want = 1
	}
	if d := gap - want; d > 1e-12 || d < -1e-12 {
		return fmt.Errorf("the gap is %g, the plan says %g", want, gap)
	}
	return nil
}

// checkBasis states again what the objective counts and returns the price of
// one coil of each stock in it.
func checkBasis(want map[int]int, stock []Stock, rule LinearRule, basis Basis) ([]*big.Rat, error) {
	shortest := 0
	for l := range want {
		if shortest == 0 || l < shortest {
			shortest = l
		}
	}
	price := make([]*big.Rat, len(stock))
	fresh, costs, offCosts := 0, 0, 0
	for i, s := range stock {
		price[i] = new(big.Rat)
		trim := rule.Trim
		if s.Offcut {
			trim = rule.OffcutTrim
		}
		if len(want) == 0 || s.Count == 0 || s.Length-trim < shortest {
			continue
		}
		switch {
		case !s.Offcut:
			fresh++
			if s.Cost.IsPositive() {
				costs++
			}
		case s.Cost.IsPositive():
			offCosts++
		}
	}
	right := ByCost
	switch {
	case fresh == 1 && offCosts == 0:
		right = ByCoils
	case costs == 0 && offCosts == 0:
		right = ByLength
	}
	if basis != right {
		return nil, fmt.Errorf("the plan counts %q, it should count %q", basis, right)
	}
	for i, s := range stock {
		switch {
		case basis == ByCost:
			price[i] = s.Cost.Rat()
		case s.Offcut && fresh > 0:
		case basis == ByCoils:
			price[i].SetInt64(1)
		default:
			price[i].SetInt64(int64(s.Length))
		}
	}
	return price, nil
}

// checkWorths solves the certificate's integer knapsack by the plainest dynamic
// programme: the most worth in every length up to the longest coil.
func checkWorths(want map[int]int, stock []Stock, rule LinearRule, c Certificate) error {
	longest := -1
	room := make([]int, len(stock))
	for i, s := range stock {
		trim := rule.Trim
		if s.Offcut {
			trim = rule.OffcutTrim
		}
		room[i] = s.Length - trim + rule.Kerf
		if s.Count != 0 {
			longest = max(longest, room[i])
		}
	}
	grid := 0
	for _, l := range c.Lengths {
		grid = gcd(grid, l+rule.Kerf)
	}
	if grid == 0 || longest < 0 {
		return nil
	}
	best := make([]int64, longest/grid+1)
	for i, l := range c.Lengths {
		w, copies := (l+rule.Kerf)/grid, min(want[l], longest/(l+rule.Kerf))
		// No coil holds more copies than are demanded: 1 + 2 + 4 + ... of them.
		for lot := 1; copies > 0; lot *= 2 {
			lot = min(lot, copies)
			copies -= lot
			for x := len(best) - 1; x >= lot*w; x-- {
				best[x] = max(best[x], best[x-lot*w]+int64(lot)*c.Y[i])
			}
		}
	}
	for i := range stock {
		most := int64(0)
		if room[i] >= 0 && stock[i].Count != 0 {
			most = best[room[i]/grid]
		}
		if most > c.K[i] {
			return fmt.Errorf("certificate: a coil of stock %d can hold a worth of %d, not %d at most", i, most, c.K[i])
		}
	}
	return nil
}
