package design

import (
	"errors"
	"math"
	"testing"
)

func TestLimits(t *testing.T) {
	// √(6·168.3·7.11) = 84.73; the full wall of it at 137.9 MPa carries 11.651 MPa,
	// and its end thrust at 2 MPa is 44.493 kN (worked by hand).
	thrust := must[float64](t)(EndThrust(168.3, 2, nil))
	for _, c := range []struct {
		name  string
		f     Finding
		ok    bool
		limit float64
	}{
		{"small hole", HoleLimit(84.7, 168.3, 7.11, 6, nil), true, 84.733},
		{"large hole", HoleLimit(84.8, 168.3, 7.11, 6, nil), false, 84.733},
		{"under 0.8 of the ceiling", NearCeiling(4.69, 5.870, 0.8, nil), true, 4.696},
		{"over it", NearCeiling(4.70, 5.870, 0.8, nil), false, 4.696},
		{"thrust counted", ThrustCounted(thrust, thrust, nil), true, 44.493},
		{"thrust left out", ThrustCounted(0, thrust, nil), false, 44.493},
		{"full wall", FullWall(11.65, 168.3, 137.9, 7.11, nil), true, 11.651},
		{"above the full wall", FullWall(11.66, 168.3, 137.9, 7.11, nil), false, 11.651},
		{"not a number", FullWall(math.NaN(), 168.3, 137.9, 7.11, nil), false, 11.651},
		{"30 layers", Sense(Finding{Code: "layers-many", Name: "layers", Advice: "-", Found: 30, Limit: 30}, nil), true, 30},
		{"31 layers", Sense(Finding{Code: "layers-many", Name: "layers", Advice: "-", Found: 31, Limit: 30}, nil), false, 30},
	} {
		if c.f.OK != c.ok || c.f.Code == "" || c.f.Name == "" || c.f.Advice == "" || c.f.Source == "" {
			t.Errorf("%s: %+v, want ok %v and every word", c.name, c.f, c.ok)
		}
		near(t, c.name, c.f.Limit, c.limit, 5e-4)
	}
	// 3·12000·0.0025·6/5 = 108 mm.
	near(t, "shear length", must[float64](t)(ShearLength(12000, 0.0025, 6, 5, nil)), 108, 1e-9)
	if _, err := ShearLength(12000, 0.0025, 6, 0, nil); !errors.As(err, new(*InputError)) {
		t.Errorf("no bond strength: %v", err)
	}
}

func TestWear(t *testing.T) {
	w := Wear{Rate: 0.1, Years: 20}
	near(t, "wall", must[float64](t)(w.Wall(4.76, nil)), 2.76, 1e-12)
	near(t, "wall gone", must[float64](t)(w.Wall(1.5, nil)), 0, 0)
	near(t, "hole", must[float64](t)(w.Hole(3, nil)), 7, 1e-12)
	for name, bad := range map[string]Wear{"growing wall": {Rate: -0.1, Years: 20}, "no life": {Rate: 0.1}} {
		if _, err := bad.Wall(5, nil); !errors.As(err, new(*InputError)) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A bend of 219.1 with a radius of 305: what lies on it is longer by 305/195.45
// on the centre line than on the inside. 90° of it are 479.1 mm on the centre
// line and 307.0 inside.
func TestStretch(t *testing.T) {
	b := Bend{D: 219.1, Radius: 305, Angle: 90}
	k := 305 / 195.45
	inside := 195.45 * math.Pi / 2
	for _, c := range []struct{ span, on, beyond, length, bend float64 }{
		{0, 0, 300, 300 * k, 300 * k},                                     // all of it fits on the bend
		{0, 0, 400, 400 + (k-1)*inside, inside * k},                       // 93 mm of it are on straight pipe
		{100, 0, 400, 500 + (k-1)*inside, inside * k},                     // chainage is not stretched
		{100, 100, 400, 500 + (k-1)*(inside-100/k), (inside - 100/k) * k}, // and takes up room where it is on the bend
		{600, 500, 400, 1000, 0},                                          // which may leave none
	} {
		got := must[Stretch](t)(b.Stretch(c.span, c.on, c.beyond, nil))
		near(t, "length", got.Length, c.length, 1e-9)
		near(t, "on the bend", got.Bend, c.bend, 1e-9)
	}
	short := b
	short.Angle = 104 / 305.0 * 180 / math.Pi // 104 mm of bend
	near(t, "104 mm of bend", must[Stretch](t)(short.Stretch(0, 0, 490, nil)).Length, 490+(1-1/k)*104, 1e-9)
	b.Angle = 0 // not known: all of it
	near(t, "angle unknown", must[Stretch](t)(b.Stretch(50, 0, 490, nil)).Length, 50+490*k, 1e-9)
	b.Radius = 100
	if _, err := b.Stretch(0, 0, 100, nil); !errors.As(err, new(*InputError)) {
		t.Errorf("no inside: %v", err)
	}
}
