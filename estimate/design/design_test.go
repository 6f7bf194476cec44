package design

import (
	"errors"
	"math"
	"strings"
	"testing"

	"wraptally/estimate/trace"
)

// near fails unless got is within half a unit of the last digit of want.
func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.8g, want %.8g ± %.1g", what, got, want, tol)
	}
}

func must[T any](t testing.TB) func(T, error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// The cases below are derived: arithmetic of the stated equations, worked
// outside this program.

func TestSoundHoop(t *testing.T) {
	p := Sound{D: 168.3, S: 137.9, Es: 207000, Ps: 1.2}
	near(t, "hoop", must[Thickness](t)(p.Hoop(20000, 2.0, nil)).T, 5.0527, 5e-5)
}

func TestYielding(t *testing.T) {
	near(t, "yield P 10", must[Thickness](t)(Yielding(168.3, 10, 137.9, 3, 0.0025, 20000, nil)).T, 8.556, 5e-4)
	low := must[Thickness](t)(Yielding(168.3, 2, 137.9, 3, 0.0025, 20000, nil))
	near(t, "yield P 2, raw", low.Raw, -4.908, 5e-4)
	if low.T != 0 {
		t.Errorf("P 2: %+v, want thickness 0", low)
	}
}

func TestIgnored(t *testing.T) {
	f := must[float64](t)(EndThrust(168.3, 2, nil))
	g := Ignored{D: 168.3, P: 2, F: f, Nu: 0.2, Ec: 20000, Ea: 12000}
	near(t, "tc", must[Thickness](t)(g.Hoop(0.0025, nil)).T, 3.0294, 5e-5)
	near(t, "ta", must[Thickness](t)(g.Axial(0.0025, nil)).T, 2.1318, 5e-5)
}

// testHole is the wrap of the check cases over a hole of d.
func testHole(d float64) Hole {
	return Hole{D: d, Gamma: 150, Eac: 15000, G: 3000, Nu: 0.3, F: 0.333}
}

func TestHole(t *testing.T) {
	for _, c := range []struct{ d, t, p float64 }{{10, 5, 5.581}, {25, 5, 2.166}} {
		near(t, "P", must[float64](t)(testHole(c.d).Pressure(c.t, nil)), c.p, 5e-4)
	}
	for _, c := range []struct{ p, d, t float64 }{{1, 10, 0.634}, {2, 25, 4.512}} {
		near(t, "t", must[Thickness](t)(testHole(c.d).Thickness(c.p, nil)).T, c.t, 5e-4)
	}
	for _, c := range []struct{ d, p float64 }{{10, 9.281}, {25, 5.870}} {
		near(t, "ceiling", must[float64](t)(testHole(c.d).Ceiling(nil)), c.p, 5e-4)
	}
}

// A slot round the pipe, worked outside this program: width 8, wrap 6 thick.
func TestSlot(t *testing.T) {
	slot := testHole(8)
	slot.Slot = true
	near(t, "P", must[float64](t)(slot.Pressure(6, nil)), 3.896, 5e-4)
	near(t, "t", must[Thickness](t)(slot.Thickness(3.896, nil)).T, 6, 5e-3)
	// The limit for a thick wrap: f·√(0.15·4·15000/(0.91·π·8)).
	near(t, "ceiling", must[float64](t)(slot.Ceiling(nil)), 0.333*math.Sqrt(0.15*4*15000/(0.91*math.Pi*8)), 1e-12)
	slot.D = 0
	var bad *InputError
	if _, err := slot.Thickness(1, nil); !errors.As(err, &bad) || bad.Symbol != "W" {
		t.Errorf("no width: %v", err)
	}
}

// The least demanding of the shapes that contain the leak: a slot 8 wide and 120
// round the pipe is held as the slot, where the circle over it cannot be held
// at all; a leak that is nearly round is held as the circle.
func TestHold(t *testing.T) {
	slot := testHole(8)
	slot.Slot = true
	held := must[Held](t)(Hold(3.896, []Hole{testHole(120), slot}, nil))
	if !held.By.Slot {
		t.Errorf("held as %v", held.By)
	}
	near(t, "t", held.T.T, 6, 5e-3)
	near(t, "ceiling", held.Ceiling, must[float64](t)(slot.Ceiling(nil)), 0)

	round := must[Held](t)(Hold(2, []Hole{slot, testHole(9)}, nil))
	if round.By.Slot {
		t.Errorf("held as %v", round.By)
	}
	near(t, "ceiling", round.Ceiling, must[float64](t)(testHole(9).Ceiling(nil)), 0)

	var no *NotRepairable
	wide := slot
	wide.D = 45 // the circle that holds as much is 2.47 times as large, 111 mm
	if _, err := Hold(5, []Hole{testHole(120), wide, testHole(150)}, nil); !errors.As(err, &no) {
		t.Fatalf("5 MPa: %v", err)
	}
	near(t, "ceiling of what comes nearest", no.Ceiling, must[float64](t)(wide.Ceiling(nil)), 0)
	if _, err := Hold(5, nil, nil); !errors.As(err, new(*InputError)) {
		t.Errorf("no shape: %v", err)
	}
}

func TestHoleNotRepairable(t *testing.T) {
	for _, p := range []float64{5.88, 6, 100} {
		_, err := testHole(25).Thickness(p, nil)
		var no *NotRepairable
		if !errors.As(err, &no) {
			t.Fatalf("P %v: %v, want NotRepairable", p, err)
		}
		near(t, "ceiling", no.Ceiling, 5.870, 5e-4)
		if no.P != p {
			t.Errorf("P %v, want %v", no.P, p)
		}
	}
	// At the ceiling itself the thickness is infinite.
	top := must[float64](t)(testHole(25).Ceiling(nil))
	if _, err := testHole(25).Thickness(top, nil); !errors.As(err, new(*NotRepairable)) {
		t.Errorf("at the ceiling: %v, want NotRepairable", err)
	}
	if got := must[Thickness](t)(testHole(25).Thickness(0, nil)); got.T != 0 {
		t.Errorf("no pressure needs %v mm", got.T)
	}
}

func TestReach(t *testing.T) {
	for _, c := range []struct {
		d, wall, root, over float64
		governs             string
	}{
		{114.3, 6.02, 46.37, 50, GovernsMinimum},
		{168.3, 7.11, 61.15, 61.15, GovernsWall},
		{323.8, 9.53, 98.20, 98.20, GovernsWall},
	} {
		got := must[Reach](t)(PCC2Reach().Over(c.d, Known(c.wall), 0, nil))
		near(t, "reach", got.Over, c.over, 5e-3)
		if got.Governs != c.governs || got.WallUnknown {
			t.Errorf("%v: governed by %q", c, got.Governs)
		}
		bare := PCC2Reach()
		bare.Minimum = 0
		near(t, "root", must[Reach](t)(bare.Over(c.d, Known(c.wall), 0, nil)).Over, c.root, 5e-3)
		// The two forms differ by 2.5/√2 : 2.
		iso := ISOReach()
		iso.Minimum = 0
		near(t, "ISO root", must[Reach](t)(iso.Over(c.d, Known(c.wall), 0, nil)).Over, c.root*2*math.Sqrt2/2.5, 1e-2)
	}
	got := must[Reach](t)(PCC2Reach().Over(323.8, Num{}, 100, nil))
	if got != (Reach{Over: 100, Governs: GovernsRunOut, WallUnknown: true}) {
		t.Errorf("wall unknown: %+v", got)
	}
}

func TestRoundUp(t *testing.T) {
	for _, c := range []struct{ v, multiple, want float64 }{
		{242.3, 5, 245}, {245, 5, 245}, {245.0000000001, 5, 245}, {245.001, 5, 250},
		{0, 5, 0}, {7.3, 0, 7.3}, {0.1 + 0.2, 0.1, 0.1 * 3},
	} {
		if got := RoundUp(c.v, c.multiple); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("RoundUp(%v, %v) = %v, want %v", c.v, c.multiple, got, c.want)
		}
	}
}

// usualTemperature has the coefficients of the composite-repair standards [from
// memory].
func usualTemperature() TemperatureRule {
	return TemperatureRule{A: 6e-5, B: 0.001, C: 0.7014, Source: "from memory"}
}

func TestTemperatureFactor(t *testing.T) {
	r := usualTemperature()
	for _, c := range []struct{ x, f float64 }{{0, 0.7014}, {20, 0.7454}, {40, 0.8374}, {60, 0.9774}, {63, 1}, {500, 1}} {
		near(t, "fT", must[float64](t)(r.Factor(80, 80-c.x, nil)), c.f, 1e-12)
	}
	var out *RangeError
	if _, err := r.Factor(60, 60.1, nil); !errors.As(err, &out) || out.Low != 0 {
		t.Errorf("above the limit: %v, want a RangeError", err)
	}
	r.C = -1
	if _, err := r.Factor(80, 20, nil); !errors.As(err, new(*InputError)) {
		t.Errorf("negative factor: %v, want an InputError", err)
	}
}

// invented values, for the arithmetic only
var lives = LifeTable{{2, 0.8, "invented"}, {10, 0.6, "invented"}, {20, 0.5, "invented"}}

func TestLife(t *testing.T) {
	for _, c := range []struct {
		years, v float64
		held     bool
	}{{1, 0.8, true}, {2, 0.8, false}, {6, 0.7, false}, {10, 0.6, false}, {15, 0.55, false}, {20, 0.5, false}} {
		got := must[Life](t)(lives.At(c.years, nil))
		near(t, "value", got.Value, c.v, 1e-12)
		if got.Held != c.held || got.Basis != "invented" {
			t.Errorf("%v years: %+v", c.years, got)
		}
	}
	if _, err := lives.At(20.1, nil); !errors.As(err, new(*RangeError)) {
		t.Errorf("beyond the table: %v, want a RangeError", err)
	}
	for name, bad := range map[string]LifeTable{
		"empty": {}, "order": {{10, 0.5, ""}, {2, 0.5, ""}}, "rising": {{2, 0.5, ""}, {10, 0.6, ""}}, "zero": {{2, 0, ""}},
	} {
		if _, err := bad.At(2, nil); !errors.As(err, new(*InputError)) {
			t.Errorf("%s: %v, want an InputError", name, err)
		}
	}
}

func TestAllowableStrain(t *testing.T) {
	s := Strain{Base: 0.004, FT: 0.9, FLife: 0.8, DeltaAlpha: -5e-6, DeltaT: 40}
	near(t, "strain", must[float64](t)(s.Allowable(nil)), 0.00268, 1e-15)
	s.DeltaT = 1000
	if _, err := s.Allowable(nil); !errors.As(err, new(*RangeError)) {
		t.Errorf("strain used up: %v, want a RangeError", err)
	}
}

func TestBend(t *testing.T) {
	b := Bend{D: 168.3, Radius: 228.6, Angle: 90} // 1.5 × NPS 6 long radius
	arcs := must[Arcs](t)(b.Arcs(nil))
	near(t, "inner", arcs.Inner, 226.902, 5e-4)
	near(t, "centre", arcs.Centre, 359.084, 5e-4)
	near(t, "outer", arcs.Outer, 491.267, 5e-4)
	if _, err := (Bend{D: 168.3, Radius: 84.15, Angle: 90}).Arcs(nil); !errors.As(err, new(*InputError)) {
		t.Errorf("no inside: %v, want an InputError", err)
	}
}

func TestLayers(t *testing.T) {
	near(t, "per pass", must[float64](t)(LayersPerPass(0.5, nil)), 2, 0)
	near(t, "per pass", must[float64](t)(LayersPerPass(0.75, nil)), 4, 0)
	for _, c := range []struct {
		n    int
		o    float64
		pass int
	}{{1, 0.5, 1}, {2, 0.5, 1}, {3, 0.5, 2}, {8, 0.5, 4}, {10, 0.9, 1}, {11, 0.9, 2}, {3, 2.0 / 3, 1}, {5, 0, 5}} {
		if got := must[int](t)(Passes(c.n, c.o, nil)); got != c.pass {
			t.Errorf("Passes(%d, %v) = %d, want %d", c.n, c.o, got, c.pass)
		}
	}
	near(t, "thickness", must[float64](t)(WrapThickness(3, 0.5, 0.35, nil)), 2.1, 1e-12)
}

// Every rule refuses numbers that are not numbers, with the rule and symbol
// named, and never panics.
func TestInputErrors(t *testing.T) {
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), -1} {
		calls := map[string]error{}
		add := func(name string, err error) { calls[name] = err }
		_, err := PCC2Reach().Over(bad, Known(7), 100, nil)
		add("reach D", err)
		_, err = PCC2Reach().Over(168, Known(bad), 100, nil)
		add("reach t", err)
		_, err = Taper(5, bad, nil)
		add("taper", err)
		_, err = EndThrust(168, bad, nil)
		add("thrust", err)
		_, err = Sound{D: 168, S: 137, Es: bad, Ps: 1}.Hoop(20000, 2, nil)
		add("sound", err)
		_, err = Yielding(168, 2, 137, bad, 0.0025, 20000, nil)
		add("yielding", err)
		_, err = Ignored{D: 168, P: 2, F: 1, Nu: bad, Ec: 2e4, Ea: 2e4}.Hoop(0.0025, nil)
		add("ignored", err)
		_, err = testHole(bad).Pressure(5, nil)
		add("hole d", err)
		_, err = testHole(25).Thickness(bad, nil)
		add("hole P", err)
		_, err = Bend{D: bad, Radius: 500, Angle: 90}.Arcs(nil)
		add("bend", err)
		_, err = LayersPerPass(bad, nil)
		add("overlap", err)
		_, err = WrapThickness(2, 0.5, bad, nil)
		add("ply", err)
		_, err = WMOMagnus().DewPoint(20, bad, nil)
		add("humidity", err)
		_, err = lives.At(bad, nil)
		add("life", err)
		for name, err := range calls {
			var e *InputError
			if !errors.As(err, &e) {
				t.Errorf("%s %v: %v, want an InputError", name, bad, err)
			} else if e.Symbol == "" || !strings.Contains(e.Error(), e.Rule) {
				t.Errorf("%s %v: %v names no rule or symbol", name, bad, err)
			}
		}
	}
	// Each in range, out of range together.
	if _, err := EndThrust(1e200, 1e200, nil); !errors.As(err, new(*InputError)) {
		t.Errorf("overflow: %v", err)
	}
}

// The steps carry the same numbers as the results, where they come from and
// what they lean on; a rule that records nothing allocates nothing.
func TestWorking(t *testing.T) {
	log := &trace.Log{Prefix: "R0001/"}
	w := Show(log, "reach", map[string]trace.Origins{"D": {trace.Survey}, "t": {trace.Table("pipes", "NPS 6")}}, "wall-standard")
	got := must[Reach](t)(PCC2Reach().Over(168.3, Known(7.11), 0, w))
	if len(log.Steps) != 1 {
		t.Fatalf("%d steps", len(log.Steps))
	}
	s := log.Steps[0]
	if s.ID != "R0001/reach" || s.Value != got.Over || s.Raw != s.Value || len(s.Leans) != 1 || s.Leans[0] != "wall-standard" {
		t.Errorf("step %+v", s)
	}
	from := map[string]string{}
	for _, in := range s.Inputs {
		from[in.Symbol] = in.From.String()
	}
	if from["D"] != "survey" || from["t"] != "pipes NPS 6" {
		t.Errorf("origins %v", from)
	}
	if Show(nil, "x", nil) != nil {
		t.Error("a nil log gives a working")
	}
}

func TestNilWorkingAllocatesNothing(t *testing.T) {
	h := testHole(25)
	p := Sound{D: 168.3, S: 137.9, Es: 207000, Ps: 1.2}
	n := testing.AllocsPerRun(100, func() {
		PCC2Reach().Over(168.3, Known(7.11), 100, nil)
		p.Hoop(20000, 2, nil)
		h.Thickness(2, nil)
		Passes(8, 0.5, nil)
		AboveDewPoint(20, 10, 3, nil)
	})
	if n != 0 {
		t.Errorf("%v allocations a run", n)
	}
}

// A repair that cannot be made says so in its working, with the ceiling.
func TestNotRepairableIsWrittenDown(t *testing.T) {
	log := &trace.Log{Prefix: "R0001/"}
	if _, err := testHole(25).Thickness(6, Show(log, "hole", nil)); err == nil {
		t.Fatal("6 MPa held")
	}
	last := log.Steps[len(log.Steps)-1]
	if !strings.Contains(last.Text, "not repairable") || last.ID != "R0001/hole" {
		t.Errorf("last step %+v", last)
	}
	if from := last.Inputs[1].From.String(); from != "step R0001/hole/ceiling" || log.Steps[0].ID != "R0001/hole/ceiling" {
		t.Errorf("ceiling from %q", from)
	}
}

// What the caller knows of one more symbol is told to the steps after it, and
// not to the caller's own list.
func TestKnowing(t *testing.T) {
	log := &trace.Log{Prefix: "R0001/"}
	given := map[string]trace.Origins{"D": {trace.Survey}}
	w := Show(log, "t", given)
	force := must[float64](t)(EndThrust(168.3, 2, w.Under("thrust")))
	rule := Ignored{D: 168.3, P: 2, F: force, Nu: 0.2, Ec: 20000, Ea: 12000}
	must[Thickness](t)(rule.Axial(0.0025, w.Under("axial").Knowing("F", w.Under("thrust").Ref())))
	must[Thickness](t)(rule.Hoop(0.0025, w.Under("hoop")))
	for i, want := range []string{"R0001/t/thrust", "R0001/t/axial", "R0001/t/hoop"} {
		if log.Steps[i].ID != want {
			t.Fatalf("step %d is %s, want %s", i, log.Steps[i].ID, want)
		}
		for _, in := range log.Steps[i].Inputs {
			from := map[string]string{"D": "survey"}[in.Symbol]
			if in.Symbol == "F" && i == 1 {
				from = "step R0001/t/thrust"
			}
			if in.From.String() != from {
				t.Errorf("%s has %s from %q, want %q", want, in.Symbol, in.From, from)
			}
		}
	}
	if len(given) != 1 {
		t.Errorf("the caller's origins were changed: %v", given)
	}
	var none *Working
	if none.Knowing("F", trace.Words("x")) != nil || none.Under("x") != nil || none.Ref() != (trace.Origin{}) {
		t.Error("no working knows something")
	}
}

// No pipe has a wall of more than half its diameter.
func TestWallThickerThanThePipeIsRefused(t *testing.T) {
	if _, err := SubstratePressure(100, 138, 51, nil); err == nil {
		t.Error("a wall of 51 mm on 100 mm carries a pressure")
	}
	if _, err := Yielding(100, 2, 138, 51, 0.0025, 20000, nil); err == nil {
		t.Error("a wall of 51 mm on 100 mm yields")
	}
}
