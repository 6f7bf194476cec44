package bid

import (
	"github.com/shopspring/decimal"

	"wraptally/estimate/qty"
)

// Priced is an item of a schedule for a client: so many at a rate that holds its
// part of everything up to the bid before tax.
type Priced struct {
	Rate, Amount decimal.Decimal
}

// Schedule shares the bid before tax out over items: of each how many there are
// and what all of them weigh. Each rate is rounded down to the minor unit, so
// that quantity times rate is the amount exactly; what that leaves, less than
// the quantity in minor units an item, is with once, the amount of what is
// charged once, whose weight is onceWeight. Amounts and once add up to the bid
// before tax. Weights are not negative, counts at least 1; where every weight is
// 0 all of the bid is in once.
func (b *Bid) Schedule(counts []int, weights []float64, onceWeight float64) (items []Priced, once decimal.Decimal) {
	net := b.Net.Shift(b.Minor).IntPart()
	parts := qty.Share(net, append(append([]float64(nil), weights...), onceWeight))
	items = make([]Priced, len(counts))
	left := net
	for i, n := range counts {
		rate := parts[i] / int64(n)
		items[i] = Priced{decimal.New(rate, -b.Minor), decimal.New(rate*int64(n), -b.Minor)}
		left -= rate * int64(n)
	}
	return items, decimal.New(left, -b.Minor)
}
