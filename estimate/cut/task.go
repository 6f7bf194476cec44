package cut

import (
	"fmt"

	"github.com/shopspring/decimal"
)

// task is what the cutting of coils and of sheets have in common: the numbers
// of the sizes demanded and the stock to cut them from, with costs stated as
// small integers.
type task struct {
	demand   []int // pieces of each size, largest first
	pieces   int
	bins     []bin // offcuts first, then in the order given
	stocks   int   // number of stocks given
	offFirst bool
	basis    Basis
	unit     decimal.Decimal // what one unit of bin.cost is worth in the unit of basis
	work     *meter
}

// bin is one stock that can hold at least one piece.
type bin struct {
	stock  int // index into the stock given
	count  int // how many there are, or Unlimited
	cost   int64
	offcut bool

	usable, cap int // of a coil: mm after trim; that and a kerf in grid units, rounded down
	w, h        int // of a sheet: usable sides, each with a kerf more
}

// size is what a bin can hold, in the unit of pattern.used.
func (b *bin) size() float64 { return float64(b.cap) + float64(b.w)*float64(b.h) }

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
func checkStock(count, most int, offcut bool, cost decimal.Decimal) string {
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
	cost decimal.Decimal
	size int64 // mm or mm² as delivered
	name string
}

// price states costs as integers: the number of new coils or sheets where there
// is one new stock, else money in its smallest unit used, else size.
func (t *task) price(tags []tag, where string, one, bySize Basis) error {
	fresh, priced, pricedOff := 0, 0, 0
	for _, b := range t.bins {
		positive := tags[b.stock].cost.IsPositive()
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
	case fresh == 1 && pricedOff == 0:
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
	var g int64
	for _, b := range t.bins {
		g = gcd(g, b.cost)
	}
	if g > 1 {
		for i := range t.bins {
			t.bins[i].cost /= g
		}
		t.unit = t.unit.Mul(decimal.NewFromInt(g))
	}
	return nil
}

// money scales costs to integers without loss.
func (t *task) money(tags []tag, where string) error {
	exp := int32(0)
	for _, b := range t.bins {
		c := tags[b.stock].cost
		if !b.offcut && !c.IsPositive() {
			return &InputError{where, b.stock, tags[b.stock].name, "has no cost while other " + plural[where] + "; give all costs or none"}
		}
		exp = min(exp, c.Exponent())
	}
	exp = max(exp, -9)
	t.unit = decimal.New(1, exp)
	for i := range t.bins {
		b := &t.bins[i]
		v := tags[b.stock].cost.Shift(-exp)
		// A plan opens no more than one coil a piece: its cost must stay exact.
		if !v.IsInteger() || v.GreaterThan(decimal.NewFromInt(maxCost/int64(max(t.pieces, 1_000_000)))) {
			return &InputError{where, b.stock, tags[b.stock].name, tooFine}
		}
		b.cost = v.IntPart()
	}
	return nil
}

// maxCost bounds the cost of a plan in whole units, so that sums of two never
// overflow.
const maxCost = 1_000_000_000_000_000_000

var plural = map[string]string{"stock": "stock has", "sheet": "sheets have"}
