package design

import (
	"errors"
	"math"
	"testing"
)

// alduchovMagnus are the coefficients 17.625 and 243.04 °C of Alduchov and
// Eskridge, J. Appl. Meteor. 35 (1996) 601-609, from -40 to +50 °C over water
// (range from memory). Checked against the documentation of the R package
// phaselag (Magnus_Alduchov1996Improved), which cites the paper; the paper was
// not at hand. The form has to hold for any such coefficients, since they are
// settings.
func alduchovMagnus() Magnus {
	return Magnus{A: 17.625, B: 243.04, Low: -40, High: 50, Source: "Alduchov and Eskridge (1996)"}
}

// The table is a printed dew-point table of the coating trade, rounded to 0.1 °C
// ("Taupunkttabelle", expydoc.com/doc/12113599), read from a stored copy. Its
// rounding is loose (30 °C, 65 % is plainly misprinted there and left out), so
// 0.15 °C is allowed.
func TestDewPointPrintedTable(t *testing.T) {
	for _, c := range []struct{ air, rh, dew float64 }{
		{10, 50, 0.0}, {10, 70, 4.8}, {10, 90, 8.5}, {15, 60, 7.4}, {15, 80, 11.7}, {20, 50, 9.3}, {20, 60, 12.0},
		{20, 70, 14.4}, {20, 80, 16.5}, {20, 95, 19.2}, {25, 50, 13.8}, {25, 60, 16.7}, {25, 70, 19.1}, {25, 90, 23.3},
		{30, 40, 14.9}, {30, 50, 18.4}, {30, 70, 23.9}, {30, 80, 26.1}, {30, 90, 28.2},
	} {
		for _, m := range []Magnus{WMOMagnus(), alduchovMagnus()} {
			near(t, m.Source, must[float64](t)(m.DewPoint(c.air, c.rh, nil)), c.dew, 0.15)
		}
	}
}

// 10 °C at 50 % is 0.047900916 °C in the documentation of MetPy
// (metpy.calc.dewpoint_from_relative_humidity), by another formula.
func TestDewPointMetPy(t *testing.T) {
	near(t, "dew point", must[float64](t)(WMOMagnus().DewPoint(10, 50, nil)), 0.0479, 0.01)
}

// saturation is the saturation pressure of water in Pa, the basic equation of
// region 4 of IAPWS-IF97 (coefficients from memory, proved by the published
// check values in TestSaturation).
func saturation(kelvin float64) float64 {
	n := [...]float64{
		0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5, -0.32325550322333e7,
		0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6, -0.23855557567849, 0.65017534844798e3,
	}
	v := kelvin + n[8]/(kelvin-n[9])
	a, b, c := v*v+n[0]*v+n[1], n[2]*v*v+n[3]*v+n[4], n[5]*v*v+n[6]*v+n[7]
	return 1e6 * math.Pow(2*c/(-b+math.Sqrt(b*b-4*a*c)), 4)
}

// The check values of IAPWS-IF97, table 35 (from memory).
func TestSaturation(t *testing.T) {
	for _, c := range []struct{ kelvin, pascal float64 }{
		{300, 0.353658941e4}, {500, 0.263889776e7}, {600, 0.123443146e8},
	} {
		near(t, "saturation", saturation(c.kelvin)/c.pascal, 1, 2e-9)
	}
}

// The Magnus form against the international formulation for water: vapour at
// the dew point is RH times that at the air temperature.
func TestDewPointAgainstSteamTables(t *testing.T) {
	for air := 2.0; air <= 60; air += 2 {
		for rh := 30.0; rh <= 100; rh += 5 {
			dew := must[float64](t)(WMOMagnus().DewPoint(air, rh, nil))
			if dew < 0 {
				continue // the formulation starts at 0 °C
			}
			got := 100 * saturation(dew+273.15) / saturation(air+273.15)
			near(t, "relative humidity", got, rh, 0.35)
		}
	}
}

func TestDewPointLimits(t *testing.T) {
	m := WMOMagnus()
	near(t, "saturated", must[float64](t)(m.DewPoint(23, 100, nil)), 23, 1e-12)
	for _, air := range []float64{-46, 61} {
		if _, err := m.DewPoint(air, 50, nil); !errors.As(err, new(*RangeError)) {
			t.Errorf("%v °C: %v, want a RangeError", air, err)
		}
	}
	if _, err := m.DewPoint(20, 0, nil); !errors.As(err, new(*InputError)) {
		t.Errorf("dry: %v, want an InputError", err)
	}
}

func TestFindings(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		name string
		f    Finding
		ok   bool
	}{
		{"dew point, at the margin", AboveDewPoint(13, 10, 3, nil), true},
		{"dew point, below it", AboveDewPoint(12.9, 10, 3, nil), false},
		{"dew point, unknown", AboveDewPoint(nan, 10, 3, nil), false},
		{"defect, half round", DefectWidth(math.Pi*168.3/2, 168.3, 0.5, nil), true},
		{"defect, wider", DefectWidth(265, 168.3, 0.5, nil), false},
		{"patch, full turn", PatchWidth(math.Pi*60.3, 60.3, 1, nil), true},
		{"patch, overlapping", PatchWidth(190, 60.3, 1, nil), false},
		{"bending, wide pipe", PatchBending(0.4, 323.8, 0.005, nil), true},
		{"bending, narrow pipe", PatchBending(0.4, 60.3, 0.005, nil), false},
		{"free run", FreeRun("before", 150, 150, nil), true},
		{"free run, short", FreeRun("after", 149, 150, nil), false},
		{"wrap", WrapLimit(28.05, 168.3, 6, nil), true},
		{"wrap, thick", WrapLimit(28.1, 168.3, 6, nil), false},
		{"size", DiameterRange(45, 45, 6500, nil), true},
		{"size, open", DiameterRange(5000, 45, math.Inf(1), nil), true},
		{"size, unknown", DiameterRange(nan, 45, 6500, nil), false},
		{"size, small", DiameterRange(43, 45, 6500, nil), false},
		{"size, large", DiameterRange(6600, 45, 6500, nil), false},
	} {
		if c.f.OK != c.ok {
			t.Errorf("%s: %+v, want ok %v", c.name, c.f, c.ok)
		}
		if c.f.Code == "" || c.f.Advice == "" || c.f.Name == "" || c.f.Source == "" {
			t.Errorf("%s: %+v lacks a code, name, advice or source", c.name, c.f)
		}
	}
	if f := DiameterRange(6600, 45, 6500, nil); f.Limit != 6500 {
		t.Errorf("large: limit %v, want the end overstepped", f.Limit)
	}
	if f := DiameterRange(43, 45, 6500, nil); f.Limit != 45 {
		t.Errorf("small: limit %v, want the end overstepped", f.Limit)
	}
}
