package design

import (
	"errors"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// y = 3·a·b² and packs of it, worked by hand.
func TestVary(t *testing.T) {
	variables := []Variable{
		{Name: "a", Value: 2, Unit: "mm"}, {Name: "b", Value: 10, Unit: "mm"},
		{Name: "overlap", Value: 0.95, High: Known(0.99)}, {Name: "temperature", Value: 0, Unit: "°C", Step: 5},
	}
	got, err := Vary(variables, 0.1, []string{"y", "packs"}, func(v []float64) ([]float64, error) {
		y := 3 * v[0] * v[1] * v[1]
		return []float64{y, math.Ceil(y / 500)}, nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]float64{600, 2}, got.Base); diff != "" {
		t.Error(diff)
	}
	for i, want := range []struct{ low, high, yLow, yHigh, packsLow, packsHigh float64 }{
		{1.8, 2.2, 540, 660, 2, 2}, {9, 11, 486, 726, 1, 2}, {0.855, 0.99, 600, 600, 2, 2}, {-5, 5, 600, 600, 2, 2},
	} {
		row := got.Rows[i]
		near(t, "low", row.Low.Value, want.low, 1e-12)
		near(t, "high", row.High.Value, want.high, 1e-12)
		near(t, "y low", row.Low.Outputs[0], want.yLow, 1e-9)
		near(t, "y high", row.High.Outputs[0], want.yHigh, 1e-9)
		near(t, "packs low", row.Low.Outputs[1], want.packsLow, 0)
		near(t, "packs high", row.High.Outputs[1], want.packsHigh, 0)
	}
	near(t, "swing", got.Rows[1].Swing(got.Base, 0), 240, 1e-9)
	var order []string
	for _, row := range got.ByOutput(0) {
		order = append(order, row.Variable.Name)
	}
	if diff := cmp.Diff([]string{"b", "a", "overlap", "temperature"}, order); diff != "" {
		t.Error(diff)
	}
}

// A point without a result is a row, first in the order: the pressure that
// makes a hole irreparable is the first thing to measure again.
func TestVaryNotRepairable(t *testing.T) {
	variables := []Variable{{Name: "d", Value: 25, Unit: "mm"}, {Name: "P", Value: 5.5, Unit: "MPa"}}
	got, err := Vary(variables, 0.1, []string{"t"}, func(v []float64) ([]float64, error) {
		thick, err := testHole(v[0]).Thickness(v[1], nil)
		return []float64{thick.T}, err
	})
	if err != nil {
		t.Fatal(err)
	}
	first := got.ByOutput(0)[0]
	if first.Variable.Name != "P" || !errors.As(first.High.Err, new(*NotRepairable)) || first.High.Outputs != nil {
		t.Errorf("first row %+v", first)
	}
}

func TestVaryErrors(t *testing.T) {
	ok := func(v []float64) ([]float64, error) { return []float64{1}, nil }
	one := []Variable{{Name: "a", Value: 1}}
	for _, fraction := range []float64{0, 1, -0.1, math.NaN()} {
		if _, err := Vary(one, fraction, []string{"y"}, ok); !errors.As(err, new(*InputError)) {
			t.Errorf("fraction %v: %v", fraction, err)
		}
	}
	if _, err := Vary([]Variable{{Name: "a", Value: math.NaN()}}, 0.1, []string{"y"}, ok); !errors.As(err, new(*InputError)) {
		t.Errorf("not a number: %v", err)
	}
	if _, err := Vary(one, 0.1, []string{"y", "z"}, ok); !errors.As(err, new(*InputError)) {
		t.Errorf("results missing: %v", err)
	}
	broken := errors.New("base")
	if _, err := Vary(one, 0.1, []string{"y"}, func([]float64) ([]float64, error) { return nil, broken }); err != broken {
		t.Errorf("base point: %v", err)
	}
}
