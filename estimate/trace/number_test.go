package trace

import (
	"math"
	"testing"
)

func TestFormatNumber(t *testing.T) {
	for _, c := range []struct {
		v    float64
		unit string
		want string
	}{
		{5.05271, "mm", "5.053"}, {242.3000001, "mm", "242.3"}, {168.3, "mm", "168.3"}, {1234567.8, "mm", "1234568"},
		{100, "mm", "100"}, {23709.8, "EUR", "23709.80"}, {98010.22, "EUR", "98010.22"}, {1234, "JPY", "1234"}, {0.305, "KWD", "0.305"}, {-5.5, "EUR", "-5.50"}, {0, "EUR", "0"}, {0.00001, "EUR", "0"}, {0, "mm", "0"}, {math.Copysign(0, -1), "mm", "0"}, {-4.9084, "mm", "-4.908"},
		{0.00012345, "mm", "0.000123"}, {99999.96, "mm", "100000"}, {9.99999, "mm", "10"},
		{207000, "MPa", "207000"}, {5.8699, "MPa", "5.8699"}, {0.0025, "", "0.0025"}, {6e-5, "", "0.00006"},
		{0.7014, "", "0.7014"}, {1.0 / 3, "", "0.33333"}, {9.26134, "°C", "9.26"}, {123456.7, "mm³", "123457"},
		{0.25, "mm³", "0.25"}, {1e-9, "", "1e-09"}, {1e18, "", "1e+18"}, {12.0, "min", "12"},
		{math.NaN(), "mm", "not a number"}, {math.Inf(1), "mm", "infinite"}, {math.Inf(-1), "", "-infinite"},
	} {
		if got := FormatNumber(c.v, c.unit); got != c.want {
			t.Errorf("FormatNumber(%v, %q) = %q, want %q", c.v, c.unit, got, c.want)
		}
	}
	if got := WithUnit(90, "°"); got != "90°" {
		t.Errorf("angle %q", got)
	}
}

// Ends that print alike are said once.
func TestSpan(t *testing.T) {
	for want, v := range map[string][2]float64{"6 to 51 layers": {6, 51}, "6 layers": {6, 6}, "0 to 6 layers": {0, 6}} {
		if got := Span(v[0], v[1], "layers"); got != want {
			t.Errorf("%v: %q, want %q", v, got, want)
		}
	}
	if got := Span(1, 1+1e-12, "kg"); got != "1 kg" {
		t.Error(got)
	}
}
