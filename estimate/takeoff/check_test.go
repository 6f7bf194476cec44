package takeoff

import (
	"errors"
	"math"
	"slices"
	"testing"

	"wraptally/catalog"
	"wraptally/estimate/internal/trial"
	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
)

func builtin(t testing.TB) *catalog.Catalog {
	t.Helper()
	c, err := catalog.Load(catalog.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s is %v, want %v", what, got, want)
	}
}

// straight is a repair of one pass of two layers whose putty and ply take no
// room, so that the tape lies on the bare diameter.
func straight(od, length float64) *scope.Repair {
	return &scope.Repair{OD: od, Length: length, Passes: 1, LayersPerPass: 2, AreaFactor: 1}
}

// One pass of helical wrapping without turns at the ends, overlap 0.5. Derived:
// π·D·L/(w·(1 − o)).
func TestTapeCheckValues(t *testing.T) {
	set := builtin(t).Settings
	set.PuttyHeight, set.EndTurns = 0, 0
	for _, v := range []struct{ od, width, length, want float64 }{
		{168.3, 100, 500, 5287.3},
		{114.3, 75, 300, 2872.7},
		{60.3, 50, 300, 2273.3},
	} {
		near(t, "tape", tapeLength(straight(v.od, v.length), v.width, &set, nil), v.want, 0.05)
	}
	// One full turn at each end of each pass more: 5287.3 + 2·π·168.3 = 6344.7.
	set.EndTurns = 1
	near(t, "with end turns", tapeLength(straight(168.3, 500), 100, &set, nil), 6344.7, 0.1)
}

// The tape of one pass against the length of the helix itself, by integrating
// the arc along it: r(φ) = (D/2·cos φ, D/2·sin φ, p·φ/2π). A tape of width w lying
// at the angle α to the girth covers w/cos α along the pipe, so with the overlap o
// a turn advances p = w·(1 − o)/cos α, where tan α = p/(π·D). The two cancel.
func TestTapeAgainstHelix(t *testing.T) {
	set := builtin(t).Settings
	set.PuttyHeight, set.EndTurns = 0, 0
	for _, v := range []struct{ od, width, length, overlap float64 }{
		{168.3, 100, 500, 0.5}, {60.3, 50, 300, 0.5}, {60.3, 100, 300, 0.5}, {1219, 150, 2000, 0.5}, {114.3, 75, 640, 0.6}, {33.4, 50, 220, 0.75},
	} {
		set.Overlap = v.overlap
		// sin α = w·(1 − o)/(π·D) solves p·cos α = w·(1 − o) with p = π·D·tan α.
		sin := v.width * (1 - v.overlap) / (math.Pi * v.od)
		pitch := math.Pi * v.od * sin / math.Sqrt(1-sin*sin)
		const steps = 200_000
		turns := v.length / pitch
		end := 2 * math.Pi * turns
		point := func(i int) (x, y, z float64) {
			phi := end * float64(i) / steps
			return v.od / 2 * math.Cos(phi), v.od / 2 * math.Sin(phi), pitch * phi / (2 * math.Pi)
		}
		arc := 0.0
		x0, y0, z0 := point(0)
		for i := 1; i <= steps; i++ {
			x, y, z := point(i)
			arc += math.Sqrt((x-x0)*(x-x0) + (y-y0)*(y-y0) + (z-z0)*(z-z0))
			x0, y0, z0 = x, y, z
		}
		got := tapeLength(straight(v.od, v.length), v.width, &set, nil)
		if math.Abs(got-arc) > 1e-6*arc {
			t.Errorf("%v mm tape on %v: %v, along the helix %v", v.width, v.od, got, arc)
		}
	}
}

// Each pass lies on the one before. Derived: D_p = D + 2·5 + (2p − 1)·2·0.36 mm,
// the middle of the pass, so that the tape's area times the ply is the volume of
// the hollow cylinder that the pass fills.
func TestTapePassesFillTheirRing(t *testing.T) {
	set := builtin(t).Settings
	set.EndTurns = 0
	r := straight(219.1, 400)
	r.Passes, r.Ply = 4, 0.36
	const width = 100
	volume := tapeLength(r, width, &set, nil) * width * r.Ply
	inner, outer := r.WrapOD(&set), r.WrapOD(&set)+2*4*2*0.36
	want := math.Pi / 4 * (outer*outer - inner*inner) * r.Length
	if !trial.Near(volume, want) {
		t.Errorf("%v mm³ of tape in a ring of %v", volume, want)
	}
}

// The putty of the length against the hollow cylinder, summed over thin rings.
func TestPuttyAgainstRings(t *testing.T) {
	c := builtin(t)
	for _, od := range []float64{21.3, 60.3, 168.3, 914, 3000} {
		r := &scope.Repair{OD: od, Length: 430, AreaFactor: 1, SurfaceTemp: 20, Defects: []*survey.Defect{{}}}
		n := &Net{}
		got := n.putty(r, c, nil, nil).Volume
		sum, rings := 0.0, 20_000
		h := c.Settings.PuttyHeight / float64(rings)
		for i := range rings {
			radius := od/2 + (float64(i)+0.5)*h
			sum += 2 * math.Pi * radius * h * r.Length
		}
		if math.Abs(got-sum) > 1e-9*sum {
			t.Errorf("OD %v: %v mm³, summed %v", od, got, sum)
		}
	}
}

// The putty raised over a patch against the sector of a hollow cylinder between
// the two heights, summed over thin shells: a_f along, c_f measured on the pipe.
func TestRaisedPuttyAgainstShells(t *testing.T) {
	c := builtin(t)
	set := &c.Settings
	const od, sheetA, sheetC = 168.3, 80.0, 120.0
	r := &scope.Repair{OD: od, Length: 430, AreaFactor: 1, SurfaceTemp: 20, Defects: []*survey.Defect{{}}}
	n := &Net{}
	plain := n.putty(r, c, nil, nil).Volume
	r.Patches = []scope.Patch{{SheetA: sheetA, SheetC: sheetC}}
	got := n.putty(r, c, nil, nil).Volume - plain
	angle := (sheetC + 2*set.PuttyFootprint) / (od / 2)
	sum, shells := 0.0, 20_000
	dh := (set.PuttyHeightLeak - set.PuttyHeight) / float64(shells)
	for i := range shells {
		radius := od/2 + set.PuttyHeight + (float64(i)+0.5)*dh
		sum += (sheetA + 2*set.PuttyFootprint) * radius * angle * dh
	}
	if math.Abs(got-sum) > 1e-9*sum {
		t.Errorf("%v mm³, summed %v", got, sum)
	}
	// The footprint ends with the repair and never goes round twice.
	r.Patches[0].SheetA, r.Patches[0].SheetC = 1e6, 1e6
	h1, h2 := set.PuttyHeight, set.PuttyHeightLeak
	if got := n.putty(r, c, nil, nil).Volume - plain; !trial.Near(got, (math.Pi*(od+h2)*h2-math.Pi*(od+h1)*h1)*r.Length) {
		t.Errorf("a patch over all takes %v mm³", got)
	}
}

// On a bend the putty is that of a straight pipe as long as the centre line, by
// the second theorem of Pappus, and the area to prepare likewise, by the first:
// against the torus itself, summed over its skin, r·(R + r·cos φ)·dφ·dθ.
func TestBendAgainstTorus(t *testing.T) {
	c := builtin(t)
	set := &c.Settings
	const od, radius, angle = 219.1, 305.0, math.Pi / 2
	r := &scope.Repair{OD: od, Length: radius * angle, OnBend: radius * angle, AreaFactor: 1, SurfaceTemp: 20, BendRadius: radius, Component: survey.Bend, Defects: []*survey.Defect{{}}}
	skin := func(tube float64) float64 { // mm² of a torus of that tube radius
		sum, steps := 0.0, 720
		for i := range steps {
			phi := 2 * math.Pi * (float64(i) + 0.5) / float64(steps)
			sum += tube * (radius + tube*math.Cos(phi)) * angle * 2 * math.Pi / float64(steps)
		}
		return sum
	}
	volume, shells := 0.0, 2000
	h := set.PuttyHeight / float64(shells)
	for i := range shells {
		volume += skin(od/2+(float64(i)+0.5)*h) * h
	}
	n := &Net{}
	if got := n.putty(r, c, nil, nil).Volume; math.Abs(got-volume) > 1e-9*volume {
		t.Errorf("putty %v mm³, on the torus %v", got, volume)
	}
	set.PrepMargin = 0
	if got := prepArea(r, set, nil) * 1e6; math.Abs(got-skin(od/2)) > 1e-9*got {
		t.Errorf("area %v mm², on the torus %v", got, skin(od/2))
	}
	// Tape, where all of the repair lies on the bend: the overlap held on the outside, R + D_p/2, asks for what a straight pipe
	// of the outer length takes. Derived.
	set.EndTurns = 0
	r.Passes, r.LayersPerPass, r.Ply = 1, 2, 0.36
	dp := r.WrapOD(set) + 2*0.36
	outer := straight(dp, (radius+dp/2)*angle)
	flat := *set
	flat.PuttyHeight = 0
	if got, want := tapeLength(r, 100, set, nil), tapeLength(outer, 100, &flat, nil); !trial.Near(got, want) {
		t.Errorf("tape on the bend %v, on a pipe as long as its outside %v", got, want)
	}
}

// Holes and pits: a box. The metal of a hole goes to the sealant, that of a pit
// to the putty. Derived.
func TestHoleAndPit(t *testing.T) {
	c := builtin(t)
	hole := &survey.Defect{Axial: survey.Known(8), Circ: survey.Known(8)}
	p := scope.Patch{Defects: []*survey.Defect{hole}, A: 8, C: 8, PadA: 28, PadC: 28, SheetA: 60, SheetC: 60}
	r := &scope.Repair{OD: 168.3, Wall: 7.11, Length: 230, AreaFactor: 1, SurfaceTemp: 20, Surface: survey.Wet, Defects: []*survey.Defect{hole}}
	near(t, "sealant", sealantVolume(&p, r, "", &c.Settings, nil), 28*28*6+8*8*7.11, 1e-9)
	n := &Net{}
	plain := n.putty(r, c, nil, nil).Volume
	r.Pits = []scope.Pit{{A: 20, C: 15, Deep: 2.31}, {A: 10, C: 10, Deep: 1}}
	near(t, "pits", n.putty(r, c, nil, nil).Volume-plain, 20*15*2.31+100, 1e-6)
}

// Bands of width w with a gap between them, n·w + (n − 1)·gap, never leave more of
// the sheet unpressed than a gap. Common practice, no source.
func TestBandCount(t *testing.T) {
	c := builtin(t)
	b := &catalog.Band{Width: 20}
	for _, v := range []struct {
		sheet float64
		want  int
	}{{20, 2}, {50, 2}, {55, 3}, {60, 3}, {80, 3}, {85, 4}, {110, 4}, {115, 5}, {600, 21}} {
		if got := bandCount(&scope.Patch{SheetA: v.sheet}, b, "", &c.Settings, nil); got != v.want {
			t.Errorf("sheet of %v mm: %d bands, want %d", v.sheet, got, v.want)
		}
	}
}

// A band at the largest size of a set, in strips of one fastener each. Common
// practice, no source.
func TestStripsAtLargestSize(t *testing.T) {
	c := builtin(t)
	f, ok := c.FastenerFor("band 45 mm, 304", 6500)
	if !ok {
		t.Fatal("no fastener")
	}
	n := stripsPerBand(6500, f, "", nil)
	if n != 7 { // ceil(20420.4/3000)
		t.Errorf("%d strips", n)
	}
	// π·(6500 + 2·(3 + 0.5))/7 + 2·100 = 2920.3 + 200 = 3120.3 → 3125 mm.
	near(t, "strip", stripLength(6500, 0.5, n, f, "", &c.Settings, nil), 3125, 0)
	for _, v := range []struct{ od, reach float64 }{{60.3, 1200}, {168.3, 100}, {500, 500 * math.Pi}, {500, 500 * math.Pi / 3}} {
		n := stripsPerBand(v.od, &catalog.Fastener{Reach: v.reach}, "", nil)
		if float64(n)*v.reach < math.Pi*v.od-1e-6 || float64(n-1)*v.reach >= math.Pi*v.od {
			t.Errorf("OD %v, reach %v: %d strips", v.od, v.reach, n)
		}
	}
}

// Working time of the wrap: 40 s at 30 °C (a made-up roll), carried by
// Arrhenius with 51.2 kJ/mol, which halves from 20 to 30 °C [derived].
func TestWorkSeconds(t *testing.T) {
	c := builtin(t)
	roll := &catalog.Wrap{Length: 9000, Work: 40, TimedAt: 30}
	near(t, "at 30 °C", WorkSeconds(roll, 30, &c.Settings), 40, 1e-9)
	near(t, "at 20 °C", WorkSeconds(roll, 20, &c.Settings), 80, 0.07)
	near(t, "colder than known", WorkSeconds(roll, 5, &c.Settings), WorkSeconds(roll, 20, &c.Settings), 0)
	if hot := WorkSeconds(roll, 50, &c.Settings); !(hot > 7 && hot < 20) {
		t.Errorf("%v s at 50 °C", hot)
	}
	// 9 m at 6 m/min take 90 s: three pairs of hands at 30 °C, two at 20 °C.
	if at30, at20 := handsFor(roll, 30, &c.Settings), handsFor(roll, 20, &c.Settings); at30 != 3 || at20 != 2 {
		t.Errorf("%d pairs of hands at 30 °C, %d at 20 °C", at30, at20)
	}
}

// What cannot be taken off is a Stop that says why.
func TestStops(t *testing.T) {
	c := builtin(t)
	for _, v := range []struct {
		code   string
		change func(*survey.Defect, *catalog.Settings)
	}{
		{"putty-none", func(d *survey.Defect, _ *catalog.Settings) { d.SurfaceTemp = survey.Known(48) }},
		{"sealant-none", func(d *survey.Defect, _ *catalog.Settings) {
			d.Surface, d.SurfaceTemp = survey.Submerged, survey.Known(47)
		}},
		{"patch-too-long", func(d *survey.Defect, _ *catalog.Settings) {
			d.Axial, d.Pressure = survey.Known(400), survey.Known(0.1)
		}},
		{"patch-over-sheet", func(_ *survey.Defect, s *catalog.Settings) { s.SheetTrim = 480 }}, // 40 × 1040 mm are left of the largest
		{"strip-over-coil", func(_ *survey.Defect, s *catalog.Settings) { s.CutTrim = 29900 }},  // 100 mm of 30 m are left
		{"wrap-working-time", func(d *survey.Defect, s *catalog.Settings) { d.SurfaceTemp, s.LayingSpeed = survey.Known(40), 0.05 }},
	} {
		c := *c
		d := survey.Defect{
			ID: "a", Line: "L", Line0: 7, Chainage: survey.Known(0), OD: survey.Known(114.3), Wall: survey.Known(6.02), Axial: survey.Known(8), Circ: survey.Known(8),
			Leaking: survey.Yes, Pressure: survey.Known(0.4), SurfaceTemp: survey.Known(20), Surface: survey.Wet,
		}
		v.change(&d, &c.Settings)
		r := scope.Plan([]survey.Defect{d}, &c)[0]
		found := false
		for _, q := range Measure(r, &c, nil, nil).Queries {
			found = found || q.Code == v.code && q.Place.Line == 7 && q.Message != "" && q.Advice != ""
		}
		if !found {
			t.Errorf("%s: %v", v.code, Measure(r, &c, nil, nil).Queries)
		}
	}
}

// A joined repair is as cold as its coldest place: what suits the hottest must
// suit that too.
func TestColdEnd(t *testing.T) {
	c := builtin(t)
	for _, v := range []struct {
		hot, cold float64
		code      string
	}{{14, 9, "putty-cold"}, {24, 4, "sealant-cold"}, {14, 10, ""}} {
		for i := range c.Wraps {
			c.Wraps[i].TempMin = 0
		}
		a := survey.Defect{
			ID: "a", Line: "L", Line0: 2, Chainage: survey.Known(0), OD: survey.Known(114.3), Wall: survey.Known(6.02), Axial: survey.Known(8), Circ: survey.Known(8),
			Leaking: survey.Yes, Pressure: survey.Known(0.4), SurfaceTemp: survey.Known(v.hot), Surface: survey.Dry,
		}
		b := a
		b.ID, b.Chainage, b.SurfaceTemp = "b", survey.Known(30), survey.Known(v.cold)
		rs := scope.Plan([]survey.Defect{a, b}, c)
		n := Measure(rs[0], c, nil, nil)
		found := false
		for _, q := range n.Queries {
			found = found || q.Code == v.code
		}
		if len(rs) != 1 || found != (v.code != "") || v.code == "" && len(n.Queries) > 0 {
			t.Errorf("%v and %v °C: %d repairs, %v", v.hot, v.cold, len(rs), n.Queries)
		}
	}
}

// Where the first putty of the table cannot be mixed the next that may lie on the
// surface is taken, with its own density; where none can, each says why.
func TestAnotherPuttyWhereNoneOfTheFirstMixes(t *testing.T) {
	c := builtin(t)
	r := &scope.Repair{OD: 168.3, Length: 300, AreaFactor: 1, SurfaceTemp: 15, SurfaceTempLow: 15, PotTemp: 22, Defects: []*survey.Defect{{ID: "a"}}}
	late := errors.New("too late")
	refuse := func(names ...string) Mixes {
		return func(putty string) error {
			if slices.Contains(names, putty) {
				return late
			}
			return nil
		}
	}
	mass := map[string]float64{}
	for _, v := range []struct {
		refused []string
		want    string
	}{{nil, "putty, metal-filled"}, {[]string{"putty, metal-filled"}, "putty, cold grade"}, {[]string{"putty, metal-filled", "putty, cold grade", "putty, under-water grade"}, ""}} {
		n := &Net{}
		got := n.putty(r, c, refuse(v.refused...), nil)
		if mass[got.Name] = got.Mass / got.Volume; got.Name != v.want {
			t.Errorf("without %v: %q", v.refused, got.Name)
		}
		stopped := len(n.Queries) == 1 && n.Queries[0].Code == "mix-no-time" && n.Queries[0].Found == "22 °C" &&
			n.Queries[0].Message == "putty, metal-filled: too late; putty, cold grade: too late; putty, under-water grade: too late"
		if stopped != (v.want == "") {
			t.Errorf("without %v: %v", v.refused, n.Queries)
		}
	}
	if ratio := mass["putty, cold grade"] / mass["putty, metal-filled"]; math.Abs(ratio-2.1/2.2) > 1e-9 {
		t.Errorf("density of the other putty: %g", ratio)
	}
}
