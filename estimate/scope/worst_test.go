package scope

import (
	"testing"

	"wraptally/estimate/survey"
)

// thinned is a pipe 610 × 9.53 at 3 MPa and 40 °C that has lost wall from outside.
func thinned(remaining float64) survey.Defect {
	d := pit("a", 0, 610, 9.53, 60)
	d.Pressure, d.Remaining = known(3), known(remaining)
	return d
}

// The least of the bases that are complete and valid: with half the wall left the
// pipe may yield, 16 layers or so against 54 with the pipe elastic and 51 without
// it; a wall under 1 mm at the end of the life is designed as a leak. Layers are
// worked outside this program, without the strain that the difference of
// expansion takes.
func TestBasisIsTheLeastThatCounts(t *testing.T) {
	c := builtin(t)
	for i := range c.Wraps {
		c.Wraps[i].Expand, c.Wraps[i].ExpandA = 0, 0
	}
	for _, v := range []struct {
		basis     string
		remaining float64
		layers    int
		method    string
	}{
		{"auto", 4.76, 16, "substrate may yield"},
		{"yield", 4.76, 16, "substrate may yield"},
		{"sound", 4.76, 54, "sound substrate"},
		{"ignored", 4.76, 51, "substrate ignored"},
	} {
		c.Settings.DesignBasis = v.basis
		if r := Plan([]survey.Defect{thinned(v.remaining)}, c)[0]; r.Layers != v.layers || r.Method != v.method {
			t.Errorf("%s, %v mm left: %d layers on %q, want %d on %q", v.basis, v.remaining, r.Layers, r.Method, v.layers, v.method)
		}
	}
	c.Settings.DesignBasis = "auto"
	d := thinned(0)
	d.Axial, d.Circ = known(10), known(10)
	gone := Plan([]survey.Defect{d}, c)[0]
	// On the wrap's own diameter, 620 mm with the putty: 51·620/610, 52 layers.
	if gone.Layers != 52 || gone.Method != "through-wall hole, substrate ignored" || !asked(gone, "wall-gone") || gone.Ceiling == 0 {
		t.Errorf("no wall left: %d layers on %q, ceiling %v, %v", gone.Layers, gone.Method, gone.Ceiling, gone.Queries)
	}
	d.Leaking = survey.Yes
	if leaking := Plan([]survey.Defect{d}, c)[0]; leaking.Layers != gone.Layers {
		t.Errorf("no wall left: %d layers, leaking %d", gone.Layers, leaking.Layers)
	}
}

// Thinning all round the pipe is routine: 40 % of the wall lost over 520 mm of a
// circumference of 528.7.
func TestThinnedAllRound(t *testing.T) {
	d := pit("a", 0, 168.3, 7.11, 100)
	d.Circ = known(520)
	if r := Plan([]survey.Defect{d}, builtin(t))[0]; r.Status != Estimated || len(r.Queries) > 0 {
		t.Errorf("%s, %v", r.Status, r.Queries)
	}
}

// Two pinholes of 3 mm on 168.3 × 7.11 at 3.5 MPa: the nearer they are the more
// layers, without a jump where their sheets part, and alone what one alone asks
// for. A third with a blank clock counts as at their side.
func TestPinholes(t *testing.T) {
	c := builtin(t)
	layers := func(ds ...survey.Defect) *Repair {
		for i := range ds {
			ds[i].Pressure = known(3.5)
		}
		r := Plan(ds, c)
		if len(r) != 1 || r[0].Status != Estimated {
			t.Fatalf("%d repairs, %v", len(r), r[0].Queries)
		}
		return r[0]
	}
	pin := func(x float64) survey.Defect { return leak("a", x, 0, 168.3, 7.11, 3) }
	alone, last := layers(pin(0)).Layers, 1<<30
	for gap := 0.0; gap <= 70; gap++ {
		n := layers(pin(0), pin(3+gap)).Layers
		if n > last || n < alone || gap > 0 && last-n > 2 {
			t.Fatalf("%v mm apart: %d layers, a millimetre nearer %d, alone %d", gap, n, last, alone)
		}
		last = n
	}
	if last != alone {
		t.Errorf("70 mm apart: %d layers, alone %d", last, alone)
	}
	far := pin(40)
	far.Clock = known(180)
	apart := layers(pin(0), far, pin(80))
	far.Clock = survey.Num{}
	if blank := layers(pin(0), far, pin(80)); blank.Layers < apart.Layers || !leans(blank, ClockUnknown) || blank.Ceiling >= apart.Ceiling {
		t.Errorf("blank clock: %d layers, ceiling %v; on the other side %d, %v", blank.Layers, blank.Ceiling, apart.Layers, apart.Ceiling)
	}
}

// A slot round the pipe is held as a slot where that is easier, and a leak whose
// whole sheet is taken as unbonded asks for more.
func TestSlotAndUnbonded(t *testing.T) {
	c := builtin(t)
	slot := leak("a", 0, 0, 323.8, 9.53, 8)
	slot.Circ, slot.Hole, slot.Pressure = known(200), false, known(2)
	r := Plan([]survey.Defect{slot}, c)[0]
	if r.Status != Estimated || r.Method != "through-wall slot, substrate ignored" {
		t.Errorf("slot: %s %q %v", r.Status, r.Method, r.Queries)
	}
	slot.Axial, slot.Circ = slot.Circ, slot.Axial
	if along := Plan([]survey.Defect{slot}, c)[0]; along.Ceiling >= r.Ceiling || !leans(along, HoleRound) {
		t.Errorf("along the pipe: ceiling %v, round it %v, leans %v", along.Ceiling, r.Ceiling, along.Leans)
	}
	hole := leak("a", 0, 0, 323.8, 9.53, 8)
	hole.Pressure = known(1.2)
	bonded := Plan([]survey.Defect{hole}, c)[0]
	c.Settings.HoleBasis = "unbonded"
	if sheet := Plan([]survey.Defect{hole}, c)[0]; sheet.Layers < bonded.Layers || sheet.Ceiling >= bonded.Ceiling {
		t.Errorf("unbonded: %d layers, ceiling %v; bonded %d, %v", sheet.Layers, sheet.Ceiling, bonded.Layers, bonded.Ceiling)
	}
}

// In a repair of several defects each number is the worst of them, and the factor
// on thickness and that on surface are each the greatest, whatever the order.
func TestWorstOfEach(t *testing.T) {
	c := builtin(t)
	bend, nozzle := pit("a", 0, 168.3, 7.11, 20), pit("b", 30, 168.3, 7.11, 20)
	bend.Component, bend.BendRadius, bend.BendAngle = survey.Bend, known(252), known(90)
	nozzle.Component = survey.Nozzle
	for _, ds := range [][]survey.Defect{{bend, nozzle}, {nozzle, bend}} {
		for i := range ds {
			ds[i].Chainage = known(30 * float64(i))
		}
		if r := Plan(ds, c)[0]; r.ComponentFactor != 1.2 || r.AreaFactor != 1.5 {
			t.Errorf("factors %v and %v", r.ComponentFactor, r.AreaFactor)
		}
	}
	cool, hot := leak("a", 0, 0, 168.3, 7.11, 10), pit("b", 30, 168.3, 7.11, 20)
	hot.DesignTemp = known(80)
	together, alone := Plan([]survey.Defect{cool, hot}, c)[0], Plan([]survey.Defect{cool}, c)[0]
	if together.Ceiling >= alone.Ceiling {
		t.Errorf("ceiling %v beside a defect at 80 °C, %v alone at 40 °C", together.Ceiling, alone.Ceiling)
	}
}

// Wall and leak at the end of the life: 0.1 mm a year from inside takes 2 mm off
// the wall in 20 years and makes a leak 4 mm wider; from outside the wrap stops it.
func TestEndOfLife(t *testing.T) {
	c := builtin(t)
	d := leak("a", 0, 0, 168.3, 7.11, 10)
	d.CorrosionRate, d.Mechanism = known(0.1), survey.Internal
	grown := leak("a", 0, 0, 168.3, 7.11, 14)
	near(t, "ceiling of the leak that grows", Plan([]survey.Defect{d}, c)[0].Ceiling, Plan([]survey.Defect{grown}, c)[0].Ceiling, 1e-12)
	d.Mechanism = survey.External
	near(t, "ceiling of the leak that does not", Plan([]survey.Defect{d}, c)[0].Ceiling, Plan([]survey.Defect{leak("a", 0, 0, 168.3, 7.11, 10)}, c)[0].Ceiling, 1e-12)

	wall := thinned(2.9)
	wall.Mechanism, wall.CorrosionRate = survey.Erosion, known(0.1)
	if r := Plan([]survey.Defect{wall}, c)[0]; !asked(r, "wall-gone") {
		t.Errorf("0.9 mm left after 20 years: %v", r.Queries)
	}
	wall.Life = known(10)
	if r := Plan([]survey.Defect{wall}, c)[0]; asked(r, "wall-gone") || r.Layers <= Plan([]survey.Defect{thinned(2.9)}, c)[0].Layers {
		t.Errorf("1.9 mm left after 10 years: %d layers, %v", r.Layers, r.Queries)
	}
	// The pressure held over a leak by its life: none beyond the last row, and more
	// for a shorter one (0.666·10^(−0.01584·(y − 1)), from memory).
	d = leak("a", 0, 0, 168.3, 7.11, 10)
	long := Plan([]survey.Defect{d}, c)[0].Ceiling
	d.Life = known(2)
	near(t, "ceiling for 2 years", Plan([]survey.Defect{d}, c)[0].Ceiling, long*0.642/0.333, 1e-9)
	d.Life = known(21)
	if r := Plan([]survey.Defect{d}, c)[0]; r.Status != Queried || !asked(r, "design-outside-range") {
		t.Errorf("21 years over a leak: %s %v", r.Status, r.Queries)
	}
}

// Limits of validity and of sense, each with its number.
func TestLimitsAsk(t *testing.T) {
	c := builtin(t)
	for _, v := range []struct {
		code   string
		change func(*survey.Defect)
	}{
		{"hole-large", func(d *survey.Defect) { d.Axial, d.Circ, d.Pressure = known(85), known(85), known(0.5) }}, // √(6·168.3·7.11) = 84.7 mm
		{"near-ceiling", func(d *survey.Defect) {
			d.Axial, d.Circ, d.Pressure, d.OD, d.Wall = known(25), known(25), known(4.3), known(610), known(20)
		}}, // 0.8·5.2352 = 4.19 MPa
		{"axial-force-low", func(d *survey.Defect) { d.AxialForce = known(1000) }},
		{"cycles-many", func(d *survey.Defect) { d.Cycles = known(7001) }},
		{"layers-many", func(d *survey.Defect) { d.Layers = known(32) }},
		{"wrap-stiff", func(d *survey.Defect) { d.Layers = known(40) }}, // 14.4 mm, above 168.3/12
		{"no-metal-loss", func(d *survey.Defect) { d.Leaking, d.Remaining = survey.No, known(7.11) }},
	} {
		d := leak("a", 0, 0, 168.3, 7.11, 20)
		if r := Plan([]survey.Defect{d}, c)[0]; asked(r, v.code) {
			t.Errorf("%s is asked of every leak: %v", v.code, r.Queries)
		}
		v.change(&d)
		if r := Plan([]survey.Defect{d}, c)[0]; !asked(r, v.code) || r.Status != Estimated {
			t.Errorf("%s: %s %v", v.code, r.Status, r.Queries)
		}
	}
	// The shear length: 3·12000·0.0025·t/6 = 15·t is longer than the reach of 100 mm
	// from 6.7 mm of wrap on.
	d := pit("a", 0, 168.3, 7.11, 20)
	d.Layers = known(20)
	r := Plan([]survey.Defect{d}, c)[0]
	near(t, "shear length", r.ShearReach, 15*7.2, 1e-9)
	near(t, "length", r.Length, 310, 0) // 20 + 2·(108 + 36) = 308 → 310

	// A pipe whose full wall does not carry the pressure: a stop where the stress is
	// the survey's own, else asked once for all. 2·137.9·7.11/168.3 = 11.65 MPa.
	d = pit("a", 0, 168.3, 7.11, 20)
	d.Pressure = known(12)
	if r := Plan([]survey.Defect{d}, c)[0]; r.Status != Queried || !asked(r, "pressure-above-full-wall") {
		t.Errorf("stress given: %s %v", r.Status, r.Queries)
	}
	d.Stress = survey.Num{}
	if r := Plan([]survey.Defect{d}, c)[0]; asked(r, "pressure-above-full-wall") || !leans(r, FullWallExceeded) {
		t.Errorf("stress not given: %s %v", r.Status, r.Queries)
	}
	d = pit("a", 0, 168.3, 7.11, 20)
	d.Substrate = "grp"
	if r := Plan([]survey.Defect{d}, c)[0]; r.Status != Queried || !asked(r, "substrate-unknown") {
		t.Errorf("GRP: %s %v", r.Status, r.Queries)
	}
}

// Where neither end of a blank can be made nothing depends on it: no "queried to
// queried until it is known".
func TestUntilSaysNothingWhereBothEndsAreRefused(t *testing.T) {
	d := thinned(0)
	d.OD, d.Pressure, d.Stress, d.Remaining = known(1219), known(4), known(240), survey.Num{}
	r := Plan([]survey.Defect{d}, builtin(t))[0]
	if r.Easy.Status == Estimated || r.Easy.Status != r.Hard.Status || r.Easy.Layers == r.Hard.Layers {
		t.Fatalf("from %+v to %+v: no such case", r.Easy, r.Hard)
	}
	if r.Until() != "" {
		t.Error(r.Until())
	}
}
