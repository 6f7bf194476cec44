package design

import (
	"math"

	"wraptally/estimate/trace"
)

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

// EndThrust is the axial force that the pressure on a closed end puts into the
// pipe, taken on the outside diameter,
//
//	F = π·D²·P/4
//
// D in mm, P in MPa, F in N. Errors: *InputError. Source: derived, equilibrium
// of a closed end.
func EndThrust(D, P float64, w *Working) (float64, error) {
	const name = "design.thickness.thrust"
	c := rule{name: name}
	c.positive("D", "outside diameter", D, "mm")
	c.notNegative("P", "design pressure", P, "MPa")
	if c.err != nil {
		return 0, c.err
	}
	force := math.Pi * D * D * P / 4
	if err := c.result("F", "end thrust", force, "N"); err != nil {
		return 0, err
	}
	w.note(func() trace.Step {
		return trace.Step{
			Name: "end thrust", Rule: name, Formula: "F = π·D²·P/4",
			Inputs: []trace.Input{
				in("D", "outside diameter", D, "mm"),
				in("P", "design pressure", P, "MPa"),
			},
			Value: force, Unit: "N", Source: derived + ", equilibrium of a closed end",
		}
	})
	return force, nil
}

// SubstratePressure is the pressure that the remaining wall carries,
//
//	P_s = 2·s·t_rem/D
//
// s allowable stress in MPa, t_rem remaining wall in mm (0 for a hole), D in
// mm. Thin wall: within a few per cent for t_rem < D/20. Errors: *InputError.
// Source: derived, thin-walled cylinder. A pressure from a fitness-for-service
// assessment goes before it.
func SubstratePressure(D, s, tRem float64, w *Working) (float64, error) {
	const name = "design.thickness.substrate"
	c := rule{name: name}
	c.positive("D", "outside diameter", D, "mm")
	c.positive("s", "allowable stress of the pipe", s, "MPa")
	c.notNegative("t_rem", "remaining wall", tRem, "mm")
	c.want(tRem <= D/2, "t_rem", "remaining wall", tRem, "mm", "at most half the outside diameter")
	if c.err != nil {
		return 0, c.err
	}
	p := 2 * s * tRem / D
	if err := c.result("P_s", "pressure the remaining wall carries", p, "MPa"); err != nil {
		return 0, err
	}
	w.note(func() trace.Step {
		return trace.Step{
			Name: "pressure that the remaining wall carries", Rule: name, Formula: "P_s = 2·s·t_rem/D",
			Inputs: []trace.Input{
				in("s", "allowable stress of the pipe", s, "MPa"),
				in("t_rem", "remaining wall", tRem, "mm"),
				in("D", "outside diameter", D, "mm"),
			},
			Value: p, Unit: "MPa", Source: derived + ", thin-walled cylinder",
		}
	})
	return p, nil
}

// Sound are the inputs of a repair on a pipe that does not yield: pipe and wrap
// share the load by their stiffness.
type Sound struct {
	D  float64 // mm, outside diameter
	S  float64 // MPa, allowable stress of the pipe
	Es float64 // MPa, modulus of the pipe
	Ps float64 // MPa, pressure that the remaining wall carries, see SubstratePressure
}

func (p Sound) check(c *rule) {
	c.positive("D", "outside diameter", p.D, "mm")
	c.positive("s", "allowable stress of the pipe", p.S, "MPa")
	c.positive("E_s", "modulus of the pipe", p.Es, "MPa")
	c.notNegative("P_s", "pressure the remaining wall carries", p.Ps, "MPa")
}

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
	c := rule{name: "design.thickness.sound.hoop"}
	p.check(&c)
	c.positive("E_c", "modulus of the wrap, round the pipe", Ec, "MPa")
	c.notNegative("P", "design pressure", P, "MPa")
	if c.err != nil {
		return Thickness{}, c.err
	}
	return thickness(&c, p.D/(2*p.S)*(p.Es/Ec)*(P-p.Ps), w, func() trace.Step {
		return trace.Step{
			Name:    "wrap thickness, sound pipe, hoop load",
			Formula: "t_wrap = D/(2·s)·(E_s/E_c)·(P − P_s)",
			Inputs: []trace.Input{
				in("D", "outside diameter", p.D, "mm"),
				in("s", "allowable stress of the pipe", p.S, "MPa"),
				in("E_s", "modulus of the pipe", p.Es, "MPa"),
				in("E_c", "modulus of the wrap, round the pipe", Ec, "MPa"),
				in("P", "design pressure", P, "MPa"),
				in("P_s", "pressure the remaining wall carries", p.Ps, "MPa"),
			},
		}
	})
}

// Axial is the thickness that the axial load asks for where the pipe stays
// elastic,
//
//	t_wrap = D/(2·s)·(E_s/E_a)·(2·F/(π·D²) − P_s)
//
// E_a modulus of the wrap along the pipe in MPa, F axial force including end
// thrust in N (see EndThrust), tension positive. Errors and source as Hoop.
func (p Sound) Axial(Ea, F float64, w *Working) (Thickness, error) {
	c := rule{name: "design.thickness.sound.axial"}
	p.check(&c)
	c.positive("E_a", "modulus of the wrap, along the pipe", Ea, "MPa")
	c.finite("F", "axial force", F, "N")
	if c.err != nil {
		return Thickness{}, c.err
	}
	return thickness(&c, p.D/(2*p.S)*(p.Es/Ea)*(2*F/(math.Pi*p.D*p.D)-p.Ps), w, func() trace.Step {
		return trace.Step{
			Name:    "wrap thickness, sound pipe, axial load",
			Formula: "t_wrap = D/(2·s)·(E_s/E_a)·(2·F/(π·D²) − P_s)",
			Inputs: []trace.Input{
				in("D", "outside diameter", p.D, "mm"),
				in("s", "allowable stress of the pipe", p.S, "MPa"),
				in("E_s", "modulus of the pipe", p.Es, "MPa"),
				in("E_a", "modulus of the wrap, along the pipe", Ea, "MPa"),
				in("F", "axial force, with end thrust", F, "N"),
				in("P_s", "pressure the remaining wall carries", p.Ps, "MPa"),
			},
		}
	})
}

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
	c := rule{name: "design.thickness.yielding"}
	c.positive("D", "outside diameter", D, "mm")
	c.notNegative("P", "design pressure", P, "MPa")
	c.positive("s", "allowable stress of the pipe", s, "MPa")
	c.notNegative("t_rem", "remaining wall", tRem, "mm")
	c.want(tRem <= D/2, "t_rem", "remaining wall", tRem, "mm", "at most half the outside diameter")
	checkStrain(&c, "ε", "allowable strain of the wrap, round the pipe", strain)
	c.positive("E_c", "modulus of the wrap, round the pipe", Ec, "MPa")
	if c.err != nil {
		return Thickness{}, c.err
	}
	return thickness(&c, (P*D/2-s*tRem)/(strain*Ec), w, func() trace.Step {
		return trace.Step{
			Name:    "wrap thickness, the pipe may yield",
			Formula: "t_wrap = (P·D/2 − s·t_rem)/(ε·E_c)",
			Inputs: []trace.Input{
				in("P", "design pressure", P, "MPa"),
				in("D", "outside diameter", D, "mm"),
				in("s", "allowable stress of the pipe", s, "MPa"),
				in("t_rem", "remaining wall", tRem, "mm"),
				in("ε", "allowable strain, round the pipe", strain, ""),
				in("E_c", "modulus of the wrap, round the pipe", Ec, "MPa"),
			},
		}
	})
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

func (g Ignored) check(c *rule) {
	c.positive("D", "outside diameter", g.D, "mm")
	c.notNegative("P", "design pressure", g.P, "MPa")
	c.finite("F", "axial force", g.F, "N")
	checkPoisson(c, g.Nu)
	c.positive("E_c", "modulus of the wrap, round the pipe", g.Ec, "MPa")
}

// Hoop is the thickness that the hoop strain asks for,
//
//	t_c = (P·D/(2·E_c) − F·ν/(π·D·E_c))/ε
//
// ε allowable strain round the pipe. Axial tension shortens the circumference,
// so that it lowers t_c. Errors: *InputError. Source: form of the
// composite-repair standards (ASME PCC-2, ISO 24817), formula written from
// memory, purchased text not at hand, verified: no.
func (g Ignored) Hoop(strain float64, w *Working) (Thickness, error) {
	c := rule{name: "design.thickness.ignored.hoop"}
	g.check(&c)
	checkStrain(&c, "ε", "allowable strain of the wrap, round the pipe", strain)
	if c.err != nil {
		return Thickness{}, c.err
	}
	return thickness(&c, (g.P*g.D/(2*g.Ec)-g.F*g.Nu/(math.Pi*g.D*g.Ec))/strain, w, func() trace.Step {
		return trace.Step{
			Name:    "wrap thickness, pipe not counted on, hoop",
			Formula: "t_c = (P·D/(2·E_c) − F·ν/(π·D·E_c))/ε",
			Inputs: []trace.Input{
				in("P", "design pressure", g.P, "MPa"),
				in("D", "outside diameter", g.D, "mm"),
				in("E_c", "modulus of the wrap, round the pipe", g.Ec, "MPa"),
				in("F", "axial force, with end thrust", g.F, "N"),
				in("ν", "Poisson's ratio of the wrap", g.Nu, ""),
				in("ε", "allowable strain, round the pipe", strain, ""),
			},
		}
	})
}

// Axial is the thickness that the axial strain asks for,
//
//	t_a = (F/(π·D·E_a) − P·D·ν/(2·E_c))/ε_a
//
// ε_a allowable strain along the pipe. Errors and source as Hoop.
func (g Ignored) Axial(strain float64, w *Working) (Thickness, error) {
	c := rule{name: "design.thickness.ignored.axial"}
	g.check(&c)
	c.positive("E_a", "modulus of the wrap, along the pipe", g.Ea, "MPa")
	checkStrain(&c, "ε_a", "allowable strain of the wrap, along the pipe", strain)
	if c.err != nil {
		return Thickness{}, c.err
	}
	return thickness(&c, (g.F/(math.Pi*g.D*g.Ea)-g.P*g.D*g.Nu/(2*g.Ec))/strain, w, func() trace.Step {
		return trace.Step{
			Name:    "wrap thickness, pipe not counted on, axial",
			Formula: "t_a = (F/(π·D·E_a) − P·D·ν/(2·E_c))/ε_a",
			Inputs: []trace.Input{
				in("F", "axial force, with end thrust", g.F, "N"),
				in("D", "outside diameter", g.D, "mm"),
				in("E_a", "modulus of the wrap, along the pipe", g.Ea, "MPa"),
				in("P", "design pressure", g.P, "MPa"),
				in("ν", "Poisson's ratio of the wrap", g.Nu, ""),
				in("E_c", "modulus of the wrap, round the pipe", g.Ec, "MPa"),
				in("ε_a", "allowable strain, along the pipe", strain, ""),
			},
		}
	})
}

func checkStrain(c *rule, symbol, name string, v float64) {
	c.want(v > 0 && v < 1, symbol, name, v, "", "above 0 and below 1 (0.25 % is 0.0025)")
}

func checkPoisson(c *rule, v float64) {
	c.want(v >= 0 && v < 1, "ν", "Poisson's ratio of the wrap", v, "", "from 0 to below 1")
}
