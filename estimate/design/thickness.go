package design

import "wraptally/estimate/trace"

// Thickness is a preliminary thickness of wrap.
type Thickness struct {
	Raw float64 // mm, what the formula gives; 0 or less: the pipe holds by itself
	T   float64 // mm, Raw but never below 0
}

// thickness checks, floors and records what a formula gave.
func thickness(c *rule, raw float64, w *Working, step func() trace.Step) (Thickness, error) {
	if err := c.result("t_wrap", "wrap thickness", raw, "mm"); err != nil {
		return Thickness{}, err
	}
	got := Thickness{Raw: raw, T: max(0, raw)}
	w.note(func() trace.Step {
		s := step()
		s.Rule, s.Raw, s.Value, s.Unit = c.name, got.Raw, got.T, "mm"
		if s.Source == "" {
			s.Source = wrapForms
		}
		if got.Raw < 0 {
			s.Rounding = "up to 0; the minimum number of layers applies"
		}
		return s
	})
	return got, nil
}

var endThrust = lawOf("design.thickness.thrust", "end thrust", "F = π·D²·P/4", "end thrust", "N", derived+", equilibrium of a closed end",
	of{"D", "outside diameter", "mm", positive},
	of{"P", "design pressure", "MPa", notNegative})

// EndThrust is the axial force that the pressure on a closed end puts into the
// pipe, taken on the outside diameter,
//
//	F = π·D²·P/4
//
// D in mm, P in MPa, F in N. Errors: *InputError. Source: derived, equilibrium
// of a closed end.
func EndThrust(D, P float64, w *Working) (float64, error) { return endThrust.on(D, P).value(w) }

var substratePressure = lawOf("design.thickness.substrate", "pressure that the remaining wall carries", "P_s = 2·s·t_rem/D",
	"pressure the remaining wall carries", "MPa", derived+", thin-walled cylinder",
	of{"s", "allowable stress of the pipe", "MPa", positive},
	of{"t_rem", "remaining wall", "mm", notNegative},
	of{"D", "outside diameter", "mm", positive})

// SubstratePressure is the pressure that the remaining wall carries,
//
//	P_s = 2·s·t_rem/D
//
// s allowable stress in MPa, t_rem remaining wall in mm (0 for a hole), D in
// mm. Thin wall: within a few per cent for t_rem < D/20. Errors: *InputError.
// Source: derived, thin-walled cylinder. A pressure from a fitness-for-service
// assessment goes before it.
func SubstratePressure(D, s, tRem float64, w *Working) (float64, error) {
	a := substratePressure.on(s, tRem, D)
	a.wantThinner(tRem, D)
	return a.value(w)
}

// wantThinner asks for a remaining wall that a pipe can have.
func (a *applied) wantThinner(tRem, D float64) {
	a.want(tRem <= D/2, "t_rem", "remaining wall", tRem, "mm", "at most half the outside diameter")
}

// Sound are the inputs of a repair on a pipe that does not yield: pipe and wrap
// share the load by their stiffness.
type Sound struct {
	D  float64 // mm, outside diameter
	S  float64 // MPa, allowable stress of the pipe
	Es float64 // MPa, modulus of the pipe
	Ps float64 // MPa, pressure that the remaining wall carries, see SubstratePressure
}

var soundHoop = lawOf("design.thickness.sound.hoop", "wrap thickness, sound pipe, hoop load", "t_wrap = D/(2·s)·(E_s/E_c)·(P − P_s)",
	"wrap thickness", "mm", wrapForms,
	of{"D", "outside diameter", "mm", positive},
	of{"s", "allowable stress of the pipe", "MPa", positive},
	of{"E_s", "modulus of the pipe", "MPa", positive},
	of{"E_c", "modulus of the wrap, round the pipe", "MPa", positive},
	of{"P", "design pressure", "MPa", notNegative},
	of{"P_s", "pressure the remaining wall carries", "MPa", notNegative})

// Hoop is the thickness that the hoop load asks for where the pipe stays
// elastic,
//
//	t_wrap = D/(2·s)·(E_s/E_c)·(P − P_s)
//
// E_c modulus of the wrap round the pipe and P design pressure, both MPa.
// Errors: *InputError. Source: form of the composite-repair standards (ASME
// PCC-2, ISO 24817), formula written from memory, purchased text not at hand,
// verified: no.
func (p Sound) Hoop(Ec, P float64, w *Working) (Thickness, error) {
	return soundHoop.on(p.D, p.S, p.Es, Ec, P, p.Ps).thickness(w)
}

var soundAxial = lawOf("design.thickness.sound.axial", "wrap thickness, sound pipe, axial load", "t_wrap = D/(2·s)·(E_s/E_a)·(2·F/(π·D²) − P_s)",
	"wrap thickness", "mm", wrapForms,
	of{"D", "outside diameter", "mm", positive},
	of{"s", "allowable stress of the pipe", "MPa", positive},
	of{"E_s", "modulus of the pipe", "MPa", positive},
	of{"E_a", "modulus of the wrap, along the pipe", "MPa", positive},
	of{"F", "axial force, with end thrust", "N", anyNumber},
	of{"P_s", "pressure the remaining wall carries", "MPa", notNegative})

// Axial is the thickness that the axial load asks for where the pipe stays
// elastic,
//
//	t_wrap = D/(2·s)·(E_s/E_a)·(2·F/(π·D²) − P_s)
//
// E_a modulus of the wrap along the pipe in MPa, F axial force including end
// thrust in N (see EndThrust), tension positive. Errors and source as Hoop.
func (p Sound) Axial(Ea, F float64, w *Working) (Thickness, error) {
	return soundAxial.on(p.D, p.S, p.Es, Ea, F, p.Ps).thickness(w)
}

var yielding = lawOf("design.thickness.yielding", "wrap thickness, the pipe may yield", "t_wrap = (P·D/2 − s·t_rem)/(ε·E_c)",
	"wrap thickness", "mm", wrapForms,
	of{"P", "design pressure", "MPa", notNegative},
	of{"D", "outside diameter", "mm", positive},
	of{"s", "allowable stress of the pipe", "MPa", positive},
	of{"t_rem", "remaining wall", "mm", notNegative},
	of{"ε", "allowable strain, round the pipe", "", strainLimit},
	of{"E_c", "modulus of the wrap, round the pipe", "MPa", positive})

// Yielding is the thickness where the remaining wall may yield and the wrap is
// kept to its allowable strain,
//
//	t_wrap = (P·D/2 − s·t_rem)/(ε·E_c)
//
// D and t_rem in mm, P, s and E_c in MPa, ε allowable strain round the pipe. The
// pressure in the pipe while it is wrapped is taken as none: it would take some
// of the thickness off. Errors: *InputError. Source: form of the composite-repair
// standards (ASME PCC-2, ISO 24817), formula written from memory, purchased
// text not at hand, verified: no.
func Yielding(D, P, s, tRem, strain, Ec float64, w *Working) (Thickness, error) {
	a := yielding.on(P, D, s, tRem, strain, Ec)
	a.wantThinner(tRem, D)
	return a.thickness(w)
}

// Ignored are the inputs of a repair that counts on nothing from the pipe: the
// wrap carries all of the load.
type Ignored struct {
	D  float64 // mm, outside diameter
	P  float64 // MPa, design pressure
	F  float64 // N, axial force including end thrust, tension positive
	Nu float64 // Poisson's ratio of the wrap
	Ec float64 // MPa, modulus of the wrap round the pipe
	Ea float64 // MPa, modulus of the wrap along the pipe
}

var ignoredHoop = lawOf("design.thickness.ignored.hoop", "wrap thickness, pipe not counted on, hoop", "t_c = (P·D/(2·E_c) − F·ν/(π·D·E_c))/ε",
	"wrap thickness", "mm", wrapForms,
	of{"P", "design pressure", "MPa", notNegative},
	of{"D", "outside diameter", "mm", positive},
	of{"E_c", "modulus of the wrap, round the pipe", "MPa", positive},
	of{"F", "axial force, with end thrust", "N", anyNumber},
	of{"ν", "Poisson's ratio of the wrap", "", ratioLimit},
	of{"ε", "allowable strain, round the pipe", "", strainLimit})

// Hoop is the thickness that the hoop strain asks for,
//
//	t_c = (P·D/(2·E_c) − F·ν/(π·D·E_c))/ε
//
// ε allowable strain round the pipe. Axial tension shortens the circumference,
// so that it lowers t_c. Errors: *InputError. Source: form of the
// composite-repair standards (ASME PCC-2, ISO 24817), formula written from
// memory, purchased text not at hand, verified: no.
func (g Ignored) Hoop(strain float64, w *Working) (Thickness, error) {
	return ignoredHoop.on(g.P, g.D, g.Ec, g.F, g.Nu, strain).thickness(w)
}

var ignoredAxial = lawOf("design.thickness.ignored.axial", "wrap thickness, pipe not counted on, axial", "t_a = (F/(π·D·E_a) − P·D·ν/(2·E_c))/ε_a",
	"wrap thickness", "mm", wrapForms,
	of{"F", "axial force, with end thrust", "N", anyNumber},
	of{"D", "outside diameter", "mm", positive},
	of{"E_a", "modulus of the wrap, along the pipe", "MPa", positive},
	of{"P", "design pressure", "MPa", notNegative},
	of{"ν", "Poisson's ratio of the wrap", "", ratioLimit},
	of{"E_c", "modulus of the wrap, round the pipe", "MPa", positive},
	of{"ε_a", "allowable strain, along the pipe", "", strainLimit})

// Axial is the thickness that the axial strain asks for,
//
//	t_a = (F/(π·D·E_a) − P·D·ν/(2·E_c))/ε_a
//
// ε_a allowable strain along the pipe. Errors and source as Hoop.
func (g Ignored) Axial(strain float64, w *Working) (Thickness, error) {
	return ignoredAxial.on(g.F, g.D, g.Ea, g.P, g.Nu, g.Ec, strain).thickness(w)
}

func checkStrain(c *rule, symbol, name string, v float64) {
	c.want(v > 0 && v < 1, symbol, name, v, "", "above 0 and below 1 (0.25 % is 0.0025)")
}

func checkPoisson(c *rule, v float64) {
	c.want(v >= 0 && v < 1, "ν", "Poisson's ratio of the wrap", v, "", "from 0 to below 1")
}
