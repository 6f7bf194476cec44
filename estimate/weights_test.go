package estimate

import (
	"math"
	"testing"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate/order"
	"wraptally/estimate/survey"
)

// The weights share out what is bought and nothing else, with an offcut of the
// same coil in store as without: a repair that is not sealed carries its part of
// what is shared evenly and nothing of the coils.
func TestOffcutsCostNobodyAnything(t *testing.T) {
	c, err := catalog.Load(catalog.Options{Sets: []string{"order.rechoose=no"}})
	if err != nil {
		t.Fatal(err)
	}
	s, err := survey.Open("../testdata/surveys/campaign.csv", survey.Options{Sizes: c})
	if err != nil {
		t.Fatal(err)
	}
	var dry [2][]float64 // weights of the repairs without a leak
	for i, lots := range [][]StockLot{nil, {{Item: "BAND-20-15", Length: 200, Lot: order.Lot{ID: "OFF-1", Quantity: decimal.NewFromInt(1)}}}} {
		p, err := Run(s, c, Options{Stock: lots})
		if err != nil {
			t.Fatal(err)
		}
		bought, shared := 0.0, 0.0
		for _, o := range p.Orders {
			bought += o.Charge.Amount.InexactFloat64()
		}
		for _, o := range p.Offcuts {
			bought += o.Value.InexactFloat64()
		}
		for n, w := range materialWeights(p.Jobs, &purchase{cuts: p.Cuts, orders: p.Orders, offcuts: p.Offcuts}, p.means) {
			shared += w
			if !p.Jobs[n].Repair.Leaking {
				dry[i] = append(dry[i], w)
			}
		}
		if math.Abs(bought-shared) > 1e-9*bought {
			t.Errorf("%d lots: %v charged, %v shared out", len(lots), bought, shared)
		}
	}
	if len(dry[0]) == 0 || len(dry[0]) != len(dry[1]) {
		t.Fatalf("%d and %d repairs without a leak", len(dry[0]), len(dry[1]))
	}
	for n := range dry[0] {
		if math.Abs(dry[0][n]-dry[1][n]) > 1e-9*dry[0][n] {
			t.Errorf("repair %d without a leak carries %v, with an offcut of 200 mm in store %v", n, dry[0][n], dry[1][n])
		}
	}
}
