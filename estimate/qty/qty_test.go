package qty

import (
	"math"
	"testing"

	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	_ "wraptally/estimate/trace/depth"
)

// Rounded half away from zero to six places.
func TestDecimal(t *testing.T) {
	for v, want := range map[float64]string{
		0: "0", 1.0000005: "1.000001", -1.0000005: "-1.000001", 0.0000004: "0", 1234567.891: "1234567.891", 0.1 + 0.2: "0.3",
	} {
		if got := Decimal(v); !got.Equal(decimal.RequireFromString(want)) {
			t.Errorf("%v is %s, want %s", v, got, want)
		}
	}
	if got := Whole(-7); !got.Equal(decimal.NewFromInt(-7)) {
		t.Errorf("whole -7 is %s", got)
	}
}

// The worked example of the method of largest remainders: 100 seats by votes of
// 47000, 16000, 15800, 12000, 6100 and 3100 for ten seats give 5, 2, 1, 1, 1, 0
// (a textbook example [from memory]; the quotas 4.7, 1.6, 1.58, 1.2, 0.61, 0.31
// are checked here by hand: whole parts 4, 1, 1, 1, 0, 0, three left go to the
// remainders 0.7, 0.61 and 0.6).
func TestShareWorked(t *testing.T) {
	got := Share(10, []float64{47000, 16000, 15800, 12000, 6100, 3100})
	for i, want := range []int64{5, 2, 1, 1, 1, 0} {
		if got[i] != want {
			t.Fatalf("%v", got)
		}
	}
	for _, v := range []struct {
		amount  int64
		weights []float64
		want    []int64
	}{
		{100, []float64{1, 1, 1}, []int64{34, 33, 33}}, // ties to the earlier
		{2, []float64{0, 0, 0}, []int64{1, 1, 0}},      // no weight at all: evenly
		{-100, []float64{1, 1, 1}, []int64{-34, -33, -33}},
		{0, []float64{1, 2}, []int64{0, 0}},
		{5, []float64{0, 1, 0}, []int64{0, 5, 0}},
		{7, nil, []int64{}},
	} {
		got := Share(v.amount, v.weights)
		if len(got) != len(v.want) {
			t.Fatalf("%v", got)
		}
		for i := range got {
			if got[i] != v.want[i] {
				t.Errorf("%d by %v: %v, want %v", v.amount, v.weights, got, v.want)
			}
		}
	}
}

// The shares add up to the amount, each lies within one unit of its proportion,
// nothing goes to what has no weight, a greater weight never gets less.
func TestShareProperty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		amount := rapid.Int64Range(-1e12, 1e12).Draw(t, "amount")
		weights := make([]float64, rapid.IntRange(1, 40).Draw(t, "n"))
		total := 0.0
		for i := range weights {
			weights[i] = math.Round(rapid.Float64Range(0, 1e6).Draw(t, "w") * 1e3)
			total += weights[i]
		}
		sum := int64(0)
		shares := Share(amount, weights)
		for i, v := range shares {
			sum += v
			exact := float64(amount) / float64(len(weights))
			if total > 0 {
				exact = float64(amount) * weights[i] / total
			}
			if math.Abs(float64(v)-exact) >= 1+1e-3 {
				t.Fatalf("share %d of %d is %d, exactly %v", i, amount, v, exact)
			}
			if total > 0 && weights[i] == 0 && v != 0 {
				t.Fatalf("no weight gets %d", v)
			}
			for j := range shares {
				if total > 0 && amount > 0 && weights[i] > weights[j] && v < shares[j]-1 {
					t.Fatalf("weight %v gets %d, %v gets %d", weights[i], v, weights[j], shares[j])
				}
			}
		}
		if sum != amount {
			t.Fatalf("%v add up to %d, not %d", shares, sum, amount)
		}
	})
}
