package scope

import (
	"math"
	"strings"
	"testing"

	"wraptally/catalog"
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

func known(v float64) survey.Num { return survey.Known(v) }

// pit is a dry defect that does not leak, on a pipe at 20 °C, with all that bears
// on the design: an allowable stress of 137.9 MPa, 40 °C in service, corrosion
// from outside that stops under the wrap.
func pit(id string, x, od, wall, a float64) survey.Defect {
	return survey.Defect{
		ID: id, Line: "L", Chainage: known(x), OD: known(od), Wall: known(wall), Axial: known(a), Circ: known(10),
		Remaining: known(0.6 * wall), Leaking: survey.No, Pressure: known(0.5), SurfaceTemp: known(20), AirTemp: known(20), Surface: survey.Dry, Access: "ground",
		Stress: known(137.9), DesignTemp: known(40), Mechanism: survey.External, Cycles: known(10), Substrate: "steel", Hazardous: survey.No, Clock: known(0),
	}
}

// leak is a round hole through the wall.
func leak(id string, x, clock, od, wall, hole float64) survey.Defect {
	d := pit(id, x, od, wall, hole)
	d.Circ, d.Hole, d.Leaking, d.Remaining, d.Clock, d.Surface = known(hole), true, survey.Yes, known(0), known(clock), survey.Wet
	return d
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s is %v, want %v", what, got, want)
	}
}

// Derived: 60 + 2·(2.5·√(168.3·7.11/2) + 5·6) = 242.30 mm before rounding up to
// 5 mm. Wall: ASME B36.10M wall of NPS 6. Form of the reach: composite-repair
// standards, from memory.
func TestLengthBeforeRounding(t *testing.T) {
	c := builtin(t)
	c.Settings.RunOut = 0
	for i := range c.Wraps {
		c.Wraps[i].Ply, c.Wraps[i].Bond = 0.5, 100
	}
	d := pit("a", 0, 168.3, 7.11, 60)
	d.Layers = known(12) // 6 passes of 2 layers of 0.5 mm: 6 mm
	r := Plan([]survey.Defect{d}, c)[0]
	near(t, "wrap", r.WrapThickness, 6, 1e-12)
	near(t, "raw length", 60+2*(r.Reach+r.Taper), 242.30, 0.005)
	near(t, "length", r.Length, 245, 0)
	near(t, "from", r.From, -122.5, 1e-9)
	near(t, "to", r.To, 122.5, 1e-9)
}

// Derived from 2.5·√(D·t/2); diameters and walls by ASME B36.10M.
func TestReach(t *testing.T) {
	for _, v := range []struct{ od, wall, runOut, want float64 }{
		{114.3, 6.02, 0, 50},     // 46.37, the minimum holds
		{168.3, 7.11, 0, 61.15},  //
		{323.8, 9.53, 0, 98.20},  //
		{168.3, 7.11, 100, 100},  // run-out, common practice, no source
		{323.8, 9.53, 100, 100},  //
		{610, 9.53, 100, 134.78}, // 2.5·√(610·9.53/2)
	} {
		c := builtin(t)
		c.Settings.RunOut = v.runOut
		near(t, "reach", Plan([]survey.Defect{pit("a", 0, v.od, v.wall, 20)}, c)[0].Reach, v.want, 0.05)
	}
	c := builtin(t)
	c.Settings.RunOut, c.Settings.ReachEdition = 0, "iso"
	// 2·√(168.3·7.11) = 69.18 mm, the other form, from memory.
	near(t, "reach, other form", Plan([]survey.Defect{pit("a", 0, 168.3, 7.11, 20)}, c)[0].Reach, 69.18, 0.005)
}

// The wall: the survey's, else from 0.75 to 1.5 times the standard wall of the
// nominal size (ASME B36.10M), or of the size nearest to the diameter; each range
// is a setting. The thicker end reaches further and fills a deeper pit.
func TestWallTaken(t *testing.T) {
	c := builtin(t)
	c.Settings.RunOut = 0
	d := pit("a", 0, 168.3, 7.11, 20)
	d.Wall = survey.Num{}
	d.Size, d.Series = "6", "NPS"
	for _, size := range []string{"6", ""} {
		d.Size = size
		r := Plan([]survey.Defect{d}, c)[0]
		near(t, "wall taken", r.Wall, 1.5*7.11, 1e-9)
		near(t, "reach by it", r.Reach, 2.5*math.Sqrt(168.3*1.5*7.11/2), 1e-9)
		near(t, "the pit is as deep as may be", r.Pits[0].Deep, 0.9*7.11, 1e-9) // 1.5 − 0.6
		if !leans(r, WallRange) || r.Blank.String() != "the wall" {
			t.Errorf("leans on %v, blank %v", r.Leans, r.Blank)
		}
	}
	c.Settings.BlankEnd = "best"
	near(t, "wall taken at the other end", Plan([]survey.Defect{d}, c)[0].Wall, 0.75*7.11, 1e-9)
}

func leans(r *Repair, code string) bool {
	for _, c := range r.Leans {
		if c == code {
			return true
		}
	}
	return false
}

func asked(r *Repair, code string) bool {
	for _, q := range r.Queries {
		if q.Code == code {
			return true
		}
	}
	return false
}

// Order of the rule for layers: the designer's; else the greater of the firm's
// minimum and the preliminary thickness; never fewer than the least. Common
// practice, no source; the firm's minimum is the (invented) built-in table.
func TestLayers(t *testing.T) {
	c := builtin(t)
	for _, v := range []struct {
		name   string
		change func(*survey.Defect)
		layers int
		from   string
	}{
		{"the firm's minimum, no leak to 1 MPa", func(*survey.Defect) {}, 2, "firm's minimum"},
		{"at the end of a row", func(d *survey.Defect) { d.Pressure = known(1) }, 2, "firm's minimum"},
		{"past it", func(d *survey.Defect) { d.Pressure = known(1.01) }, 4, "firm's minimum"},
		{"no pressure: 2 MPa, the high end of its range", func(d *survey.Defect) { d.Pressure = survey.Num{} }, 4, "firm's minimum"},
		{"a leak to 1 MPa", func(d *survey.Defect) { d.Leaking = survey.Yes; d.Pressure = known(0.6) }, 6, "firm's minimum"},
		{"an unknown leak counts as one", func(d *survey.Defect) { d.Leaking = survey.Unknown; d.Pressure = known(0.6) }, 6, "firm's minimum"},
		{"the designer's", func(d *survey.Defect) { d.Layers = known(7) }, 7, "designer's layers"},
		{"the designer's, fewer than the firm's", func(d *survey.Defect) { d.Layers = known(2); d.Pressure = known(3) }, 2, "designer's layers"},
		{"fewer than the least", func(d *survey.Defect) { d.Layers = known(1) }, 2, "smallest number"},
		// Derived, the pipe yielding: (3·168.3/2 − 137.9·1)/(0.0025·0.9014·20000) would be
		// 2.541 mm, along the pipe as sound: P_s = 2·137.9·1/168.3 = 1.6387 MPa is above 1.5,
		// so nothing; less 14e-6 − 12e-6 times 20 K of strain: 114.55/(0.0022135·20000) =
		// 2.5876 mm; /0.36 = 7.19 → 8. The elastic pipe would ask for 8.60 mm, 24.
		{"preliminary thickness", func(d *survey.Defect) { d.Pressure, d.Remaining = known(3), known(1) }, 8, "preliminary thickness, substrate may yield"},
	} {
		d := pit("a", 0, 168.3, 7.11, 20)
		v.change(&d)
		r := Plan([]survey.Defect{d}, c)[0]
		if r.Layers != v.layers || !strings.Contains(r.LayersFrom, v.from) {
			t.Errorf("%s: %d layers from %q, want %d from %q", v.name, r.Layers, r.LayersFrom, v.layers, v.from)
		}
		if want := int(math.Ceil(float64(v.layers) / 2)); r.Passes != want { // overlap 0.5 lays 2 a pass
			t.Errorf("%s: %d passes, want %d", v.name, r.Passes, want)
		}
	}
}

// Above the ceiling over a hole no thickness holds. Derived, for 25 mm:
// E_ac = √(20000·12000) = 15 491.9 MPa, f_T = 0.9014 at 50 °C below the limit,
// 0.333·0.9014·√(0.001·150·π·15491.9/((1 − 0.2²)·25)) = 5.2352 MPa.
func TestHoleCeiling(t *testing.T) {
	c := builtin(t)
	d := leak("a", 0, 0, 168.3, 7.11, 25)
	d.Pressure = known(5.3)
	r := Plan([]survey.Defect{d}, c)[0]
	if r.Status != NotRepairable || r.Reason == "" {
		t.Errorf("5.3 MPa: %s, %q", r.Status, r.Reason)
	}
	near(t, "ceiling", r.Ceiling, 5.2352, 5e-5)
	d.Pressure = known(2)
	r = Plan([]survey.Defect{d}, c)[0]
	if r.Status != Estimated {
		t.Errorf("2 MPa: %s, %q %v", r.Status, r.Reason, r.Queries)
	}
	near(t, "ceiling", r.Ceiling, 5.2352, 5e-5)
}

// Each limit stops the repair with a code of its own and leaves a reason.
func TestStops(t *testing.T) {
	c := builtin(t)
	for _, v := range []struct {
		code   string
		change func(*survey.Defect)
	}{
		{"size-range", func(d *survey.Defect) { d.OD, d.Wall = known(42.2), known(3.56) }},                // sets from 50 mm, common practice, no source
		{"defect-wide", func(d *survey.Defect) { d.Circ = known(0.51 * math.Pi * 168.3) }},                // half the circumference, common practice, no source
		{"free-run", func(d *survey.Defect) { d.FreeRunAfter = known(100) }},                              //
		{"medium-refused", func(d *survey.Defect) { d.Medium = "Liquid oxygen" }},                         //
		{"wrap-temperature", func(d *survey.Defect) { d.SurfaceTemp = known(58) }},                        // wraps to 50 °C, invented
		{"wrap-thick", func(d *survey.Defect) { d.Layers = known(80) }},                                   // 80·0.36 = 28.8 > 168.3/6 = 28.05 mm
		{"bend-too-tight", func(d *survey.Defect) { d.Component, d.BendRadius = survey.Bend, known(84) }}, // not above D/2 = 84.15
		{"reach-refused", func(d *survey.Defect) { d.Wall = known(100) }},                                 // more than half the diameter
		{"component-unknown", func(d *survey.Defect) { d.Component = "valve" }},
		{"wrap-none", func(d *survey.Defect) { d.OD = known(9900) }},
	} {
		d := leak("a", 0, 0, 168.3, 7.11, 20)
		v.change(&d)
		r := Plan([]survey.Defect{d}, c)[0]
		if !asked(r, v.code) || r.Status != Queried || r.Reason == "" {
			t.Errorf("%s: %s, %q, %v", v.code, r.Status, r.Reason, r.Queries)
		}
		for _, q := range r.Queries {
			if q.Repair != r.ID || q.Row != "a" {
				t.Errorf("%s does not name its repair: %+v", q.Code, q)
			}
		}
	}
}

// The free run is measured from the defect's centre, so half the defect counts
// with reach and taper: 20/2 + 100 + 5·2.16 = 120.8, and half of what rounding
// 241.6 up to 245 adds: 122.5 mm.
func TestFreeRunJust(t *testing.T) {
	c := builtin(t)
	for _, v := range []struct {
		run  float64
		want Status
	}{{122.5, Estimated}, {122.4, Queried}} {
		d := leak("a", 1000, 0, 168.3, 7.11, 20)
		d.Pressure = known(0.6)
		d.FreeRunBefore = known(v.run)
		if r := Plan([]survey.Defect{d}, c)[0]; r.Status != v.want {
			t.Errorf("%v mm: %s, length %v", v.run, r.Status, r.Length)
		}
	}
}

// Pads and sheets. Common practice, no source: at least three times the defect
// by area, a margin of 10, an edge of 15, up to 5 mm.
func TestPatchSize(t *testing.T) {
	c := builtin(t)
	for _, v := range []struct{ a, pad, sheet float64 }{
		{0, 20, 50},               // no size: the margins alone
		{8, 28, 60},               // 8 + 20 > 8·√3 = 13.9
		{27.32, 47.32, 80},        // 27.32·√3 = 47.32: both rules meet at 20/(√3 − 1) = 27.32
		{100, 173.205080757, 205}, // 100·√3
	} {
		p := Patch{A: v.a, C: v.a}
		p.size(&c.Settings)
		near(t, "pad", p.PadA, v.pad, 5e-3)
		near(t, "sheet", p.SheetA, v.sheet, 0)
		if v.a > 0 && p.PadA*p.PadC < 3*v.a*v.a*(1-1e-12) {
			t.Errorf("pad of %v covers less than three times the defect", v.a)
		}
	}
}

// Two holes of 10 mm: sheets of 60 mm (10 + 20 + 30). On 168.3 mm one degree is
// 1.46870 mm round the pipe.
func TestPatchesJoin(t *testing.T) {
	c := builtin(t)
	for _, v := range []struct {
		name          string
		x, clockA     float64
		clockB        float64
		sets          int
		a, round, mid float64
	}{
		{"60 mm apart along the pipe just do not overlap", 60, 0, 0, 2, 0, 0, 0},
		{"59 mm apart do", 59, 0, 0, 1, 69, 10, 0},
		{"41° apart, 60.2 mm, do not", 0, 0, 41, 2, 0, 0, 0},
		{"40° apart, 58.7 mm, do", 0, 0, 40, 1, 10, 68.748, 20},
		{"across the top, 340° and 20°", 0, 340, 20, 1, 10, 68.748, 0},
		{"across the top the other way round", 0, 20, 340, 1, 10, 68.748, 0},
		{"359° and 1°", 0, 359, 1, 1, 10, 12.937, 0},
		{"0° and 360° are one place", 0, 0, 360, 1, 10, 10, 0},
		{"opposite sides", 0, 90, 270, 2, 0, 0, 0},
	} {
		a, b := leak("a", 0, v.clockA, 168.3, 7.11, 10), leak("b", v.x, v.clockB, 168.3, 7.11, 10)
		sets, unjudged := patches([]*survey.Defect{&a, &b}, 168.3, &c.Settings)
		if len(sets) != v.sets || unjudged {
			t.Errorf("%s: %d sets, unjudged %v", v.name, len(sets), unjudged)
			continue
		}
		if v.sets == 1 {
			near(t, v.name+", along", sets[0].A, v.a, 1e-9)
			near(t, v.name+", round", sets[0].C, v.round, 5e-4)
			near(t, v.name+", centre", math.Abs(turn(sets[0].Clock-v.mid)), 0, 1e-9)
		}
	}
	a, b := leak("a", 0, 0, 168.3, 7.11, 10), leak("b", 10, 0, 168.3, 7.11, 10)
	b.Clock = survey.Num{}
	r := Plan([]survey.Defect{a, b}, c)
	if len(r) != 1 || len(r[0].Patches) != 2 || !leans(r[0], ClockUnknown) || !asked(r[0], "bands-meet") {
		t.Errorf("a clock not known: %+v", r)
	}
}

// Two leaks of 12 mm under one sheet are no hole of the size of the sheet's box:
// 60 mm between centres they are 48 mm apart and each counts as 12 + 22·(50 − 48)/40
// = 13.1 mm. Derived: 0.333·0.9014·√(0.001·150·π·15491.9/(0.96·13.1)) = 7.2321 MPa.
func TestHoleIsNotThePatch(t *testing.T) {
	r := Plan([]survey.Defect{leak("a", 0, 0, 168.3, 7.11, 12), leak("b", 60, 0, 168.3, 7.11, 12)}, builtin(t))
	if len(r) != 1 || len(r[0].Patches) != 1 {
		t.Fatalf("%d repairs", len(r))
	}
	near(t, "ceiling", r[0].Ceiling, 7.2321, 5e-4)
}

// Touching repairs join, however long the chain, and the joined length is that
// over all defects: each pit of 20 mm on NPS 6 asks for 20 + 2·(100 + 3.6) = 227.2
// → 230 mm, so that 230 mm apart they touch and 231 mm apart they do not.
func TestMergeTouch(t *testing.T) {
	c := builtin(t)
	at := func(step float64, n int) []survey.Defect {
		var out []survey.Defect
		for i := range n {
			out = append(out, pit(string(rune('a'+i)), step*float64(i), 168.3, 7.11, 20))
		}
		return out
	}
	r := Plan(at(230, 5), c)
	if len(r) != 1 || len(r[0].Defects) != 5 {
		t.Fatalf("%d repairs, want 1", len(r))
	}
	near(t, "joined length", r[0].Length, 1150, 0) // 4·230 + 20 + 207.2 = 1147.2 → 1150
	if r = Plan(at(231, 5), c); len(r) != 5 {
		t.Fatalf("%d repairs, want 5", len(r))
	}
	// Other line, other area, other diameter: never one repair.
	for name, change := range map[string]func(*survey.Defect){
		"line": func(d *survey.Defect) { d.Line = "M" }, "area": func(d *survey.Defect) { d.Area = "N" },
		"diameter": func(d *survey.Defect) { d.OD = known(219.1) },
	} {
		two := at(50, 2)
		change(&two[1])
		if r = Plan(two, c); len(r) != 2 {
			t.Errorf("another %s: %d repairs", name, len(r))
		}
	}
}

// A defect of another diameter between two of the same pipe does not keep them
// apart.
func TestMergePastOtherDiameter(t *testing.T) {
	r := Plan([]survey.Defect{pit("a", 0, 168.3, 7.11, 20), pit("b", 40, 219.1, 8.18, 20), pit("c", 80, 168.3, 7.11, 20)}, builtin(t))
	if len(r) != 2 || len(r[0].Defects) != 2 || len(r[1].Defects) != 1 {
		t.Fatalf("%d repairs", len(r))
	}
	if !asked(r[1], "diameters-meet") {
		t.Errorf("nothing says that two diameters meet: %v", r[1].Queries)
	}
}

// On a bend the length is stretched so that it holds on the inside: R/(R − D/2).
// Derived. 219.1 mm on a radius of 305 mm (long radius, NPS 8): 1.5606.
func TestBendLength(t *testing.T) {
	d := pit("a", 0, 219.1, 8.18, 40)
	d.Component, d.BendRadius, d.BendAngle = survey.Bend, known(305), known(90)
	r := Plan([]survey.Defect{d}, builtin(t))[0]
	// 40 + 2·(100 + 5·0.72) = 247.2; ·305/(305 − 109.55) = 385.76 → 390 mm; component
	// factor 1.2 does not raise the minimum of 2 layers. The bend is 479.1 mm long.
	near(t, "length", r.Length, 390, 0)
	near(t, "on the bend", r.OnBend, 390, 0)
	inside := r.Length * (305 - 219.1/2) / 305
	if inside < 247.2 {
		t.Errorf("%v mm on the inside", inside)
	}
	// 104 mm of bend: 247.2 + 104·(1 − 1/1.5606) = 284.6 → 285 mm.
	d.BendAngle = known(104 / 305.0 * 180 / math.Pi)
	r = Plan([]survey.Defect{d}, builtin(t))[0]
	near(t, "length over a short bend", r.Length, 285, 0)
	near(t, "on a short bend", r.OnBend, 104, 1e-9)
	if !asked(r, "bend-runs-out") {
		t.Errorf("nothing says that the repair runs off the bend: %v", r.Queries)
	}
	d.BendAngle = survey.Num{}
	r = Plan([]survey.Defect{d}, builtin(t))[0]
	near(t, "angle unknown", r.Length, 390, 0)
	if !leans(r, BendAngleTaken) {
		t.Errorf("leans on %v", r.Leans)
	}
	d.BendRadius = survey.Num{}
	r = Plan([]survey.Defect{d}, builtin(t))[0]
	near(t, "radius taken, the tightest of its range", r.BendRadius, 219.1, 1e-9)
	if !leans(r, BendRange) {
		t.Errorf("leans on %v", r.Leans)
	}
}

// Angles are brought into −180 … 180, the ends included either way.
func TestTurn(t *testing.T) {
	for deg, want := range map[float64]float64{0: 0, 90: 90, 179: 179, 181: -179, 190: -170, 270: -90, 359: -1, 360: 0, -181: 179, -350: 10, 725: 5} {
		near(t, "turn", turn(deg), want, 1e-12)
	}
}

// A joined repair takes the worst of its defects: the thickest wall, the hottest
// and the coldest surface, the wettest state, the highest pressure, any hazard.
func TestJoinedTakesTheWorst(t *testing.T) {
	a, b, d := pit("a", 0, 168.3, 7.11, 20), pit("b", 50, 168.3, 6.5, 20), pit("c", 100, 169, 7, 20)
	a.SurfaceTemp, b.SurfaceTemp, d.SurfaceTemp = known(30), known(12), known(20)
	b.Surface, b.Pressure, d.Hazardous = survey.Wet, known(0.9), survey.Yes
	r := Plan([]survey.Defect{a, b, d}, builtin(t))[0]
	if len(r.Defects) != 3 || r.Wall != 7.11 || r.OD != 169 || r.SurfaceTemp != 30 || r.SurfaceTempLow != 12 || r.Surface != survey.Wet || r.Pressure.V != 0.9 || !r.Hazardous {
		t.Errorf("%+v", r)
	}
}

// A component counted by a factor is asked about whatever stands beside it and in
// whatever order: a bend of a greater or the same factor hides no nozzle.
func TestEveryComponentByFactorIsAsked(t *testing.T) {
	bend := func(x float64) survey.Defect {
		d := pit("b", x, 168.3, 7.11, 20)
		d.Component, d.BendRadius, d.BendAngle = survey.Bend, known(229), known(90)
		return d
	}
	nozzle := func(x float64) survey.Defect {
		d := pit("n", x, 168.3, 7.11, 20)
		d.Component = survey.Nozzle
		return d
	}
	for _, ds := range [][]survey.Defect{{bend(0), nozzle(60)}, {nozzle(0), bend(60)}, {pit("p", 0, 168.3, 7.11, 20), nozzle(60)}} {
		if rs := Plan(ds, builtin(t)); len(rs) != 1 || !asked(rs[0], "component-by-factor") {
			t.Errorf("%s then %s: %d repairs, %v", ds[0].Component, ds[1].Component, len(rs), rs[0].Queries)
		}
	}
}
