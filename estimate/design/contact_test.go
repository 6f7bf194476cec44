package design

import (
	"errors"
	"math"
	"testing"
)

// Three bands of 5 kN without friction on a sheet of 90 round a pipe of 168.3:
// 3·5000/(84.15·90) = 1.98059 MPa. With friction 0.2 and one fastener the far
// side keeps e^(−0.2·π) = 0.53349 of it, with two fasteners e^(−0.1·π) = 0.73040.
func TestContact(t *testing.T) {
	k := Clamp{D: 168.3, Sheet: 90, Fasteners: 1, Tension: 5000}
	near(t, "no friction", must[float64](t)(k.Pressure(3, nil)), 1.98059, 5e-6)
	k.Friction = 0.2
	near(t, "one fastener", must[float64](t)(k.Pressure(3, nil)), 1.98059*0.53349, 2e-5)
	k.Fasteners = 2
	near(t, "two fasteners", must[float64](t)(k.Pressure(3, nil)), 1.98059*0.73040, 2e-5)

	each := must[float64](t)(k.Pressure(1, nil))
	for _, c := range []struct {
		wanted      float64
		least, most int
		n           int
	}{
		{0, 2, 5, 2}, {2 * each, 2, 5, 2}, {2.01 * each, 2, 5, 3}, {5 * each, 2, 5, 5}, {7 * each, 2, 5, 5}, {1e300, 2, 5, 5}, {7 * each, 6, 5, 6},
	} {
		if n := must[int](t)(k.Bands(c.wanted, c.least, c.most)); n != c.n {
			t.Errorf("%v MPa: %d bands, want %d", c.wanted, n, c.n)
		}
	}
	for name, bad := range map[string]func(*Clamp){
		"no fastener": func(k *Clamp) { k.Fasteners = 0 }, "slack": func(k *Clamp) { k.Tension = 0 },
		"no friction at all": func(k *Clamp) { k.Friction = -0.1 }, "no sheet": func(k *Clamp) { k.Sheet = 0 }, "nothing": func(k *Clamp) { k.D = math.NaN() },
	} {
		k := k
		bad(&k)
		if _, err := k.Pressure(3, nil); !errors.As(err, new(*InputError)) {
			t.Errorf("%s: %v", name, err)
		}
		if _, err := k.Bands(1, 1, 3); !errors.As(err, new(*InputError)) {
			t.Errorf("%s, bands: %v", name, err)
		}
	}
}
