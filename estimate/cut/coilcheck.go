package cut

import (
	"errors"
	"fmt"
	"math/big"
	"math/bits"

	"wraptally/estimate/qty"
)

// CheckLinear replays a plan against its input and returns the first thing that
// is wrong with it: demands not met exactly, a coil too short for its pattern
// with kerf and trim, more stock than there is, totals that do not add up, or a
// bound that its certificate does not prove. It shares no code with the solver
// but the greatest common divisor: every rule is stated here a second time. It
// takes no more work than the rule allows the search.
func CheckLinear(pieces []Piece, stock []Stock, rule LinearRule, plan LinearPlan) error {
	want, pieceCount, shortest := map[int]int{}, 0, 0
	for _, pc := range pieces {
		if pc.Count > 0 {
			want[pc.Length] += pc.Count
			pieceCount += pc.Count
			if shortest == 0 || pc.Length < shortest {
				shortest = pc.Length
			}
		}
	}
	mine := make([]checkedStock, len(stock))
	for i, s := range stock {
		holds := pieceCount > 0 && s.Length-trimOf(s, rule) >= shortest
		mine[i] = checked(s.Count, s.Cost, s.Costs, int64(s.Length), s.Offcut, holds)
	}
	var sum LinearPlan // its totals
	all := int64(0)
	got := map[int]int{}
	seen := map[string]bool{}
	for n, pt := range plan.Patterns {
		if pt.Stock < 0 || pt.Stock >= len(stock) {
			return fmt.Errorf("pattern %d: there is no stock %d", n, pt.Stock)
		}
		id := fmt.Sprint(pt.Stock, pt.Cuts)
		if seen[id] {
			return fmt.Errorf("pattern %d: is listed twice", n)
		}
		seen[id] = true
		s := stock[pt.Stock]
		end := s.Length - trimOf(s, rule)
		net, err := walk(pt, end, rule)
		if err != nil {
			return fmt.Errorf("pattern %d: %w", n, err)
		}
		for _, ct := range pt.Cuts {
			got[ct.Length] += ct.Count * pt.Count
		}
		k := int64(pt.Count)
		mine[pt.Stock].used += pt.Count
		all += k * int64(s.Length)
		sum.CutTotal += k * net
		sum.TrimTotal += k * int64(s.Length-end)
		sum.KerfTotal += k * (int64(end) - net - int64(pt.Left))
		if pt.Keep {
			sum.KeptTotal += k * int64(pt.Left)
		} else {
			sum.ScrapTotal += k * int64(pt.Left)
		}
	}
	if err := sameNumbers(got, want, func(l int) string { return fmt.Sprintf("length %d mm", l) }); err != nil {
		return err
	}
	if plan.Kerf != rule.Kerf {
		return fmt.Errorf("the plan says kerf %d mm, the rule %d mm", plan.Kerf, rule.Kerf)
	}
	if plan.Pieces != pieceCount {
		return fmt.Errorf("the plan says %d pieces, the demand is %d", plan.Pieces, pieceCount)
	}
	for _, t := range []struct {
		what      string
		got, want int64
	}{
		{"cut", plan.CutTotal, sum.CutTotal}, {"kerf", plan.KerfTotal, sum.KerfTotal}, {"trim", plan.TrimTotal, sum.TrimTotal},
		{"scrap", plan.ScrapTotal, sum.ScrapTotal}, {"kept", plan.KeptTotal, sum.KeptTotal},
		{"all lengths together", sum.CutTotal + sum.KerfTotal + sum.TrimTotal + sum.ScrapTotal + sum.KeptTotal, all},
	} {
		if t.got != t.want {
			return fmt.Errorf("%s: total %d mm, not %d mm", t.what, t.got, t.want)
		}
	}
	total, err := checkWorths(want, stock, mine, rule, plan.Certificate)
	if err != nil {
		return err
	}
	c := claims{"coils", ByCoils, ByLength, plan.StocksUsed, plan.Cost, plan.Verdict, total}
	return c.check(mine)
}

func trimOf(s Stock, rule LinearRule) int {
	if s.Offcut {
		return rule.OffcutTrim
	}
	return rule.Trim
}

// walk goes along a coil to its usable end: a piece, a kerf, a piece, ... It
// returns the length of the pieces.
func walk(pt Pattern, end int, rule LinearRule) (net int64, err error) {
	if pt.Count < 1 || len(pt.Cuts) == 0 {
		return 0, errors.New("is empty or is never cut")
	}
	at := 0
	for c, ct := range pt.Cuts {
		if ct.Count < 1 || ct.Count > maxPieces || ct.Length < 1 || (c > 0 && ct.Length >= pt.Cuts[c-1].Length) {
			return 0, errors.New("cuts are not positive and longest first")
		}
		last := at + ct.Count*(ct.Length+rule.Kerf) - rule.Kerf
		if last > end {
			return 0, fmt.Errorf("runs over the end of a coil of %d mm usable", end)
		}
		at = min(last+rule.Kerf, end) // the last cut may fall on the coil's end
		net += int64(ct.Count) * int64(ct.Length)
	}
	left := end - at
	if left != pt.Left {
		return 0, fmt.Errorf("leaves %d mm, not %d mm", left, pt.Left)
	}
	if keep := rule.KeepOver > 0 && left >= rule.KeepOver; keep != pt.Keep {
		return 0, fmt.Errorf("a leftover of %d mm is marked keep=%v", left, pt.Keep)
	}
	return net, nil
}

// checkWorths verifies that no coil holds more worth than the certificate says
// and returns the worth of all demand: at the best worth for width of any piece,
// and where that says too little by the plainest dynamic programme, the most
// worth in every length up to the longest coil.
func checkWorths(want map[int]int, stock []Stock, mine []checkedStock, rule LinearRule, c Certificate) (*big.Int, error) {
	total, grid, err := c.worthOfAll(want, len(stock), rule)
	if err != nil {
		return total, err
	}
	longest := 0
	rooms := make([]int, len(stock))
	for i, s := range stock {
		mine[i].most = c.K[i]
		if mine[i].count == 0 || len(want) == 0 {
			continue
		}
		rooms[i] = max(0, (s.Length-trimOf(s, rule)+rule.Kerf)/grid)
		if !c.plainlyHolds(rooms[i], c.K[i], grid, rule) {
			longest = max(longest, rooms[i])
		}
	}
	if longest == 0 {
		return total, nil
	}
	best, err := c.mostWorth(want, longest, grid, rule)
	if err != nil {
		return total, err
	}
	for i := range stock {
		if most := best[min(rooms[i], longest)]; most > c.K[i] {
			return total, fmt.Errorf("certificate: a coil of stock %d can hold a worth of %d, not %d at most", i, most, c.K[i])
		}
	}
	return total, nil
}

// worthOfAll is the worth of all demand, and the step in mm of all widths.
func (c *Certificate) worthOfAll(want map[int]int, stocks int, rule LinearRule) (total *big.Int, grid int, err error) {
	total = new(big.Int)
	if len(c.Y) != len(c.Lengths) || len(c.Lengths) != len(want) || len(c.K) != stocks {
		return total, 0, errors.New("the certificate does not name every length and stock")
	}
	for i, l := range c.Lengths {
		if i > 0 && l >= c.Lengths[i-1] {
			return total, 0, errors.New("certificate: lengths are not longest first")
		}
		if want[l] == 0 || c.Y[i] < 0 {
			return total, 0, fmt.Errorf("certificate: length %d mm is not demanded or has a negative worth", l)
		}
		total.Add(total, new(big.Int).Mul(big.NewInt(c.Y[i]), big.NewInt(int64(want[l]))))
		grid = qty.GCD(grid, l+rule.Kerf)
	}
	return total, grid, nil
}

// plainlyHolds reports that a coil of so much room, in steps, is worth no more
// than most even if all of it were filled at the best worth for width.
func (c *Certificate) plainlyHolds(room int, most int64, grid int, rule LinearRule) bool {
	for j, l := range c.Lengths {
		w := (l + rule.Kerf) / grid
		hi, lo := bits.Mul64(uint64(room), uint64(c.Y[j]))
		kh, kl := bits.Mul64(uint64(max(most, 0)+1), uint64(w))
		if w <= room && (hi > kh || hi == kh && lo >= kl) {
			return false
		}
	}
	return true
}

// mostWorth is the most worth in each room up to the longest, in steps.
func (c *Certificate) mostWorth(want map[int]int, longest, grid int, rule LinearRule) ([]int64, error) {
	best := make([]int64, longest+1)
	work := checkBudget(rule.Budget)
	for i, l := range c.Lengths {
		w := (l + rule.Kerf) / grid
		copies := min(want[l], longest/w)
		// No coil holds more copies than are demanded: 1 + 2 + 4 + ... of them.
		for lot := 1; copies > 0 && c.Y[i] > 0; lot *= 2 {
			if work -= int64(longest); work < 0 {
				return nil, errors.New("certificate: it takes more work to check than the rule allows")
			}
			lot = min(lot, copies)
			copies -= lot
			for x := longest; x >= lot*w; x-- {
				best[x] = max(best[x], best[x-lot*w]+int64(lot)*c.Y[i])
			}
		}
	}
	return best, nil
}
