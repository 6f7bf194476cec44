package kit_test

import (
	"testing"

	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"wraptally/estimate/kit"
)

// A roll costs its laying and what goes with it. By hand from the built-in tables:
// 3 min of a leader at 62 and two technicians at 48.50 an hour are 159·3/60 = 7.95;
// two pairs of gloves and one of water go with it. On a scaffold the time grows.
func TestRollCost(t *testing.T) {
	c := builtin(t)
	p := kit.NewPacker(c)
	goods := p.Price("GLOVE").Mul(decimal.NewFromInt(2)).Add(p.Price("WATER"))
	rapid.Check(t, func(t *rapid.T) {
		for _, k := range packed(t, c, 3) {
			time := decimal.RequireFromString("7.95")
			if a, ok := c.AccessOf(k.Repair.Access); ok {
				time = time.Mul(decimal.NewFromFloat(a.Time))
			}
			if got := p.RollCost(k.Repair); got.Sub(goods.Add(time)).Abs().GreaterThan(decimal.New(1, -3)) {
				t.Errorf("%s by %q: a roll costs %s beside its price, by hand %s", k.Repair.ID, k.Repair.Access, got, goods.Add(time))
			}
		}
	})
}
