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
	if low.T != 0 || !low.MinimumApplies() {
		t.Errorf("P 2: %+v, want thickness 0 and the minimum", low)
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

func TestRepairLength(t *testing.T) {
	over := must[Reach](t)(PCC2Reach().Over(168.3, Known(7.11), 0, nil))
	taper := must[float64](t)(Taper(5, 6, nil))
	raw, rounded, err := RepairLength(60, over.Over, taper, 5, nil)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "length", raw, 242.30, 5e-3)
	near(t, "length, rounded", rounded, 245, 0)
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

func TestTemperatureFactor(t *testing.T) {
	r := DefaultTemperature()
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

func TestComponent(t *testing.T) {
	tbl := ComponentTable{{"bend", 1.2, "invented"}, {"tee", 2, "invented"}}
	near(t, "bend", must[float64](t)(tbl.EffectiveThickness("bend", 5, nil)), 6, 1e-12)
	if _, err := tbl.EffectiveThickness("nozzle", 5, nil); !errors.As(err, new(*MissingError)) {
		t.Errorf("unlisted: %v, want a MissingError", err)
	}
	for name, bad := range map[string]ComponentTable{
		"below 1": {{"bend", 0.9, ""}}, "twice": {{"bend", 1, ""}, {"bend", 2, ""}},
	} {
		if _, err := bad.EffectiveThickness("bend", 5, nil); !errors.As(err, new(*InputError)) {
			t.Errorf("%s: %v, want an InputError", name, err)
		}
	}
}

func TestBend(t *testing.T) {
	b := Bend{D: 168.3, Radius: 228.6, Angle: 90} // 1.5 × NPS 6 long radius
	arcs := must[Arcs](t)(b.Arcs(nil))
	near(t, "inner", arcs.Inner, 226.902, 5e-4)
	near(t, "centre", arcs.Centre, 359.084, 5e-4)
	near(t, "outer", arcs.Outer, 491.267, 5e-4)
	near(t, "angle", must[float64](t)(b.AngleFor(arcs.Inner, nil)), 90, 1e-9)
	if _, err := (Bend{D: 168.3, Radius: 84.15, Angle: 90}).Arcs(nil); !errors.As(err, new(*InputError)) {
		t.Errorf("no inside: %v, want an InputError", err)
	}
}

// A bend of very large radius is a straight pipe: π·D·L/(w·(1−o)) with the
// worked cases D 168.3, w 100, o 0.5, L 500 → 5287.3 mm and so on.
func TestBendTapeLimit(t *testing.T) {
	for _, c := range []struct{ d, w, l, tape float64 }{
		{168.3, 100, 500, 5287.3}, {114.3, 75, 300, 2872.7}, {60.3, 50, 300, 2273.3},
	} {
		r := 1e9
		b := Bend{D: c.d, Radius: r, Angle: c.l / r * 180 / math.Pi}
		near(t, "tape", must[float64](t)(b.Tape(c.w, 0.5, nil)), c.tape, 0.05)
	}
}

// bendTurns winds the tape round a torus numerically: the turn at each angle of
// the bend is traced point by point, its pitch on the outside such that the
// overlap just holds there.
func bendTurns(b Bend, width, o float64) float64 {
	const points = 20000
	r, outer := b.D/2, b.Radius+b.D/2
	// Pitch p on the outside with p·cos α = w·(1 − o), α of the helix there.
	need := width * (1 - o)
	p := need / math.Sqrt(1-math.Pow(need/(2*math.Pi*r), 2))
	turns := outer * b.Angle * math.Pi / 180 / p
	one := 0.0 // length of one turn
	for i := range points {
		phi := 2 * math.Pi * (float64(i) + 0.5) / points
		along := p / outer * (b.Radius + r*math.Cos(phi)) / (2 * math.Pi)
		one += math.Hypot(r, along) * 2 * math.Pi / points
	}
	return turns * one
}

// The tape of a bend is never less than what winding it takes, and not much
// more.
func TestBendTapeAgainstWinding(t *testing.T) {
	for _, b := range []Bend{{168.3, 228.6, 90}, {60.3, 76, 180}, {323.8, 457, 45}} {
		for _, w := range []float64{50, 100} {
			got, wound := must[float64](t)(b.Tape(w, 0.5, nil)), bendTurns(b, w, 0.5)
			if got < wound || got > wound*1.05 {
				t.Errorf("%+v, tape %v: %v mm, winding takes %v mm", b, w, got, wound)
			}
		}
	}
}

func TestReducer(t *testing.T) {
	r := Reducer{Large: 168.3, Small: 114.3, Length: 140}
	near(t, "D", must[float64](t)(r.Diameter(nil)), 168.3, 0)
	near(t, "slant", must[float64](t)(r.Slant(nil)), math.Sqrt(140*140+27*27), 1e-9)
	r.Eccentric = true
	near(t, "eccentric", must[float64](t)(r.Slant(nil)), math.Sqrt(140*140+54*54), 1e-9)
	if _, err := (Reducer{Large: 1, Small: 2}).Diameter(nil); !errors.As(err, new(*InputError)) {
		t.Errorf("ends swapped: %v, want an InputError", err)
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

func TestLayersAsked(t *testing.T) {
	for _, c := range []struct {
		name string
		ask  LayersAsked
		want Layers
	}{
		{"designer", LayersAsked{Designer: Known(6), Service: 8, Thickness: Known(9), Ply: 0.5, Floor: 2}, Layers{6, ByDesigner, false}},
		{"designer raised", LayersAsked{Designer: Known(1), Floor: 2}, Layers{2, ByFloor, true}},
		{"service", LayersAsked{Service: 8, Thickness: Known(3.9), Ply: 0.5, Floor: 2}, Layers{8, ByService, false}},
		{"thickness", LayersAsked{Service: 8, Thickness: Known(4.1), Ply: 0.5, Floor: 2}, Layers{9, ByThickness, false}},
		{"exact", LayersAsked{Thickness: Known(0.1 * 3), Ply: 0.1, Floor: 2}, Layers{3, ByThickness, false}},
		{"floor", LayersAsked{Floor: 2}, Layers{2, ByFloor, false}},
		{"minimum applies", LayersAsked{Thickness: Known(0), Ply: 0.5, Service: 4, Floor: 2}, Layers{4, ByService, false}},
	} {
		if got := must[Layers](t)(c.ask.Count(nil)); got != c.want {
			t.Errorf("%s: %+v, want %+v", c.name, got, c.want)
		}
	}
	for name, bad := range map[string]LayersAsked{
		"half a layer": {Designer: Known(2.5), Floor: 2}, "no ply": {Thickness: Known(3), Floor: 2},
		"no floor": {Service: 2}, "absurd": {Thickness: Known(1e9), Ply: 0.1, Floor: 2},
	} {
		if _, err := bad.Count(nil); !errors.As(err, new(*InputError)) {
			t.Errorf("%s: %v, want an InputError", name, err)
		}
	}
}

func TestPreliminary(t *testing.T) {
	l := Load{
		D: Known(168.3), P: Known(2), Stress: Known(137.9), Rem: Known(3), Ps: Known(1.2), Es: Known(207000),
		Ec: Known(20000), Ea: Known(12000), Nu: Known(0.2), Strain: Known(0.0025),
	}
	sound := must[Preliminary](t)(SoundPipe.Thickness(l, nil))
	near(t, "sound", sound.T, 5.0527, 5e-5)
	if sound.Governs != "hoop" {
		t.Errorf("governs %q", sound.Governs)
	}
	ignored := must[Preliminary](t)(IgnoredPipe.Thickness(l, nil)) // end thrust by itself
	near(t, "ignored", ignored.T, 3.0294, 5e-5)
	near(t, "ignored, axial", ignored.Axial.T, 2.1318, 5e-5)
	yielding := must[Preliminary](t)(YieldingPipe.Thickness(l, nil))
	near(t, "yielding", yielding.Hoop.Raw, -4.908, 5e-4)
	if yielding.T != yielding.Axial.T || yielding.HoopOnly {
		t.Errorf("yielding: %+v", yielding)
	}
	l.Es = Num{}
	if got := must[Preliminary](t)(YieldingPipe.Thickness(l, nil)); !got.HoopOnly || got.T != 0 || got.Governs != "" {
		t.Errorf("yielding without axial inputs: %+v", got)
	}
	hole := must[Preliminary](t)(HoleInPipe.Thickness(Load{
		P: Known(2), Hole: Known(25), Gamma: Known(150), Ec: Known(15000), Ea: Known(15000), G: Known(3000),
		Nu: Known(0.3), Service: Known(0.333),
	}, nil))
	near(t, "hole", hole.T, 4.512, 5e-4)
	var missing *MissingError
	if _, err := SoundPipe.Thickness(Load{P: Known(2)}, nil); !errors.As(err, &missing) ||
		strings.Join(missing.Symbols, " ") != "D s t_rem E_s E_c E_a" {
		t.Errorf("missing: %v", err)
	}
	if _, err := Basis("other").Thickness(l, nil); !errors.As(err, &missing) {
		t.Errorf("unknown basis: %v", err)
	}
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
		_, _, err = RepairLength(bad, 1, 1, 5, nil)
		add("length", err)
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
	w := Show(log, "reach", map[string]string{"D": "survey", "t": "pipes NPS 6"}, "wall-standard")
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
		from[in.Symbol] = in.From
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
	if from := last.Inputs[1].From; from != "step R0001/hole/ceiling" || log.Steps[0].ID != "R0001/hole/ceiling" {
		t.Errorf("ceiling from %q", from)
	}
}

// What one step computes and another uses, the other says it has from it.
func TestStepsReferToSteps(t *testing.T) {
	log := &trace.Log{Prefix: "R0001/"}
	l := Load{
		D: Known(168.3), P: Known(2), Stress: Known(137.9), Rem: Known(3), Es: Known(207000),
		Ec: Known(20000), Ea: Known(12000),
	}
	given := map[string]string{"D": "survey"}
	if _, err := SoundPipe.Thickness(l, Show(log, "t", given)); err != nil {
		t.Fatal(err)
	}
	ids := map[string]bool{}
	refs := 0
	for _, s := range log.Steps {
		for _, in := range s.Inputs {
			if id, ok := strings.CutPrefix(in.From, "step "); ok {
				refs++
				if !ids[id] {
					t.Errorf("%s has %s from %s, which is not above it", s.ID, in.Symbol, id)
				}
			}
			if in.Symbol == "D" && in.From != "survey" {
				t.Errorf("%s has D from %q", s.ID, in.From)
			}
		}
		ids[s.ID] = true
	}
	if refs != 5 { // P_s twice, F, hoop, axial
		t.Errorf("%d references", refs)
	}
	if len(given) != 1 {
		t.Errorf("the caller's origins were changed: %v", given)
	}
}
