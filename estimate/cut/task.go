package cut

import (
	"fmt"
	"math"

	"github.com/shopspring/decimal"

	"wraptally/estimate/qty"
)

// task is what the cutting of coils and of sheets have in common: the numbers
// of the sizes demanded and the stock to cut them from, with costs stated as
// small integers.
type task struct {
	demand   []int // pieces of each size, largest first
	pieces   int
	material float64 // of all pieces, in the unit of bin.size
	bins     []bin   // offcuts first, then in the order given
	stocks   int     // number of stocks given
	offFirst bool
	basis    Basis
	unit     decimal.Decimal // what one unit of bin.cost is worth in the unit of basis
	work     *meter
}

// bin is one stock that can hold at least one piece.
type bin struct {
	stock  int     // index into the stock given
	count  int     // how many there are, or Unlimited
	cost   int64   // of one; with a curve about what one costs, for guidance
	curve  []int64 // of any number, where they do not cost alike
	offcut bool

	usable, cap int // of a coil: mm after trim; that and a kerf in grid units, rounded down
	w, h        int // of a sheet: usable sides, each with a kerf more
}

// size is what a bin can hold, in the unit of pattern.used.
func (b *bin) size() float64 { return float64(b.cap) + float64(b.w)*float64(b.h) }

// costOf is what n of the bin cost.
func (b *bin) costOf(n int) int64 {
	if b.curve == nil {
		return b.cost * int64(n)
	}
	return b.curve[n]
}

// stockLeft is the numbers of each bin at the start.
func (t *task) stockLeft() []int {
	left := make([]int, len(t.bins))
	for b := range t.bins {
		left[b] = t.bins[b].count
	}
	return left
}

// offcutsFirst is the order in which stock is listed.
func offcutsFirst(a, b bool) int {
	switch {
	case a == b:
		return 0
	case a:
		return -1
	}
	return 1
}

// maxStocks is how many lines of stock are taken seriously.
const maxStocks = 10_000

// checkStock refuses a stock that cannot be meant, whatever its size.
func checkStock(count, most int, offcut bool, cost decimal.Decimal, costs Curve) string {
	for n, c := range costs {
		switch {
		case n == 0 && !c.IsZero() || n > 0 && c.LessThan(costs[n-1]):
			return fmt.Sprintf("the cost of %d is less than that of fewer, or none cost something", n)
		case c.Exponent() < -100 || c.Exponent() > 12:
			return tooFine
		}
	}
	switch {
	case count < Unlimited || count > most:
		return fmt.Sprintf("count %d is outside 0 to %d (%d is unlimited)", count, most, Unlimited)
	case offcut && count == Unlimited:
		return "existing offcuts cannot be unlimited"
	case cost.IsNegative():
		return "the cost is negative"
	case cost.Exponent() < -100 || cost.Exponent() > 12: // arithmetic with 1e1000000000 takes for ever
		return tooFine
	}
	return ""
}

const tooFine = "the cost is too large or too finely divided"

// tag is how a stock is priced and named.
type tag struct {
	cost  decimal.Decimal
	curve Curve
	size  int64 // mm or mm² as delivered
	name  string
}

// priced reports that the stock costs something.
func (t *tag) priced() bool { return t.curve != nil || t.cost.IsPositive() }

// price states costs as integers: the number of new coils or sheets where there
// is one new stock, else money in its smallest unit used, else size.
func (t *task) price(tags []tag, where string, one, bySize Basis) error {
	fresh, priced, pricedOff, curved := 0, 0, 0, false
	for _, b := range t.bins {
		curved = curved || tags[b.stock].curve != nil
		positive := tags[b.stock].priced()
		switch {
		case b.offcut && positive:
			pricedOff++
		case !b.offcut:
			fresh++
			if positive {
				priced++
			}
		}
	}
	t.unit = decimal.NewFromInt(1)
	switch {
	case fresh == 1 && pricedOff == 0 && !curved:
		t.basis = one
		for i := range t.bins {
			if !t.bins[i].offcut {
				t.bins[i].cost = 1
			}
		}
		return nil
	case priced == 0 && pricedOff == 0:
		t.basis = bySize
		for i := range t.bins {
			if b := &t.bins[i]; !b.offcut || fresh == 0 {
				b.cost = tags[b.stock].size
			}
		}
	default:
		t.basis = ByCost
		if err := t.money(tags, where); err != nil {
			return err
		}
	}
	// What all costs have in common changes no comparison.
	var all []*int64
	for i := range t.bins {
		all = append(all, &t.bins[i].cost)
		for n := range t.bins[i].curve {
			all = append(all, &t.bins[i].curve[n])
		}
	}
	var g int64
	for _, c := range all {
		g = qty.GCD(g, *c)
	}
	for _, c := range all {
		*c /= max(g, 1)
	}
	t.unit = t.unit.Mul(decimal.NewFromInt(max(g, 1)))
	t.guide()
	return nil
}

// money scales costs to integers without loss.
func (t *task) money(tags []tag, where string) error {
	exp := int32(0)
	for _, b := range t.bins {
		g := &tags[b.stock]
		if !b.offcut && !g.priced() {
			return &InputError{where, b.stock, g.name, "has no cost while other " + plural[where] + "; give all costs or none"}
		}
		for _, c := range append(Curve{g.cost}, g.curve...) {
			exp = min(exp, c.Exponent())
		}
	}
	exp = max(exp, -9)
	t.unit = decimal.New(1, exp)
	// A plan opens no more than one coil a piece: its cost must stay exact.
	most := decimal.NewFromInt(maxCost / int64(max(t.pieces, 1_000_000)))
	for i := range t.bins {
		b := &t.bins[i]
		g := &tags[b.stock]
		list := g.curve
		if list == nil {
			list = Curve{g.cost}
		}
		ints := make([]int64, len(list))
		for n, c := range list {
			v := c.Shift(-exp)
			if !v.IsInteger() || v.GreaterThan(most.Mul(decimal.NewFromInt(int64(max(n, 1))))) {
				return &InputError{where, b.stock, g.name, tooFine}
			}
			ints[n] = v.IntPart()
		}
		if g.curve == nil {
			b.cost = ints[0]
			continue
		}
		b.curve = ints
	}
	return nil
}

// guide makes do with a price each for stock on a curve: its average where about
// as many are taken as would hold everything.
func (t *task) guide() {
	for i := range t.bins {
		b := &t.bins[i]
		if b.curve == nil {
			continue
		}
		n := min(max(1, int(math.Ceil(t.material/b.size()))), len(b.curve)-1)
		b.cost = max(1, b.curve[n]/int64(n))
	}
}

// maxCost bounds the cost of a plan in whole units, so that sums of two never
// overflow.
const maxCost = 1_000_000_000_000_000_000

var plural = map[string]string{"stock": "stock has", "sheet": "sheets have"}
