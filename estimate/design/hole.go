package design

import (
	"fmt"
	"math"

	"wraptally/estimate/trace"
)

// Hole are the inputs of a wrap over a round hole through the wall. The wrap
// lifts off the pipe round the hole like a blister; what it holds is set by the
// toughness of the bond.
type Hole struct {
	D     float64 // mm, diameter of the hole, d in the formulas
	Gamma float64 // J/m², energy release rate of the bond, γ
	Eac   float64 // MPa, √(E_a·E_c), see MeanModulus
	G     float64 // MPa, shear modulus of the wrap
	Nu    float64 // Poisson's ratio of the wrap, ν
	F     float64 // service factor, f, above 0 to 1
}

// MeanModulus is the modulus that stands for a wrap of two directions,
//
//	E_ac = √(E_a·E_c)
//
// all in MPa. Errors: *InputError. Source: form of the composite-repair
// standards, written from memory, verified: no.
func MeanModulus(Ea, Ec float64, w *Working) (float64, error) {
	const name = "design.hole.modulus"
	c := rule{name: name}
	c.positive("E_a", "modulus of the wrap, along the pipe", Ea, "MPa")
	c.positive("E_c", "modulus of the wrap, round the pipe", Ec, "MPa")
	if c.err != nil {
		return 0, c.err
	}
	mean := math.Sqrt(Ea) * math.Sqrt(Ec)
	w.note(func() trace.Step {
		return trace.Step{
			Name: "mean modulus of the wrap", Rule: name, Formula: "E_ac = √(E_a·E_c)",
			Inputs: []trace.Input{
				in("E_a", "modulus of the wrap, along the pipe", Ea, "MPa"),
				in("E_c", "modulus of the wrap, round the pipe", Ec, "MPa"),
			},
			Value: mean, Unit: "MPa", Source: wrapForms,
		}
	})
	return mean, nil
}

func (h Hole) check(c *rule) {
	c.positive("d", "diameter of the hole", h.D, "mm")
	c.positive("γ", "energy release rate of the bond", h.Gamma, "J/m²")
	c.positive("E_ac", "mean modulus of the wrap", h.Eac, "MPa")
	c.positive("G", "shear modulus of the wrap", h.G, "MPa")
	checkPoisson(c, h.Nu)
	c.want(h.F > 0 && h.F <= 1, "f", "service factor", h.F, "", "above 0 and at most 1")
}

// The compliance of the blister is bend/t³ + plate + shear/t.
func (h Hole) bend() float64  { return (1 - h.Nu*h.Nu) / h.Eac * 3 * math.Pow(h.D, 4) / 512 }
func (h Hole) plate() float64 { return (1 - h.Nu*h.Nu) / h.Eac * h.D / math.Pi }
func (h Hole) shear() float64 { return 3 * h.D * h.D / (64 * h.G) }

// toughness is γ in N/mm.
func (h Hole) toughness() float64 { return 0.001 * h.Gamma }

func (h Hole) inputs() []trace.Input {
	return []trace.Input{
		in("f", "service factor", h.F, ""),
		in("γ", "energy release rate of the bond", h.Gamma, "J/m²"),
		in("ν", "Poisson's ratio of the wrap", h.Nu, ""),
		in("E_ac", "mean modulus of the wrap", h.Eac, "MPa"),
		in("d", "diameter of the hole", h.D, "mm"),
		in("G", "shear modulus of the wrap", h.G, "MPa"),
	}
}

const holeFormula = "f·√{0.001·γ/[((1−ν²)/E_ac)·(3·d⁴/(512·t_wrap³) + d/π) + 3·d²/(64·G·t_wrap)]}"

// Pressure is what a wrap of thickness t_wrap holds over the hole,
//
//	P = f·√{0.001·γ/[((1−ν²)/E_ac)·(3·d⁴/(512·t_wrap³) + d/π) + 3·d²/(64·G·t_wrap)]}
//
// in MPa, with t_wrap and d in mm, E_ac and G in MPa, γ in J/m² (0.001 makes it
// N/mm), f the service factor. It rises with t_wrap towards Ceiling and falls
// with d. It is derived for a flat plate, so d is to be small against the pipe.
// Errors: *InputError. Source: form of the composite-repair standards (ASME
// PCC-2, ISO 24817), formula written from memory, purchased text not at hand,
// verified: no.
func (h Hole) Pressure(tWrap float64, w *Working) (float64, error) {
	const name = "design.hole.pressure"
	c := rule{name: name}
	h.check(&c)
	c.positive("t_wrap", "wrap thickness", tWrap, "mm")
	if c.err != nil {
		return 0, c.err
	}
	p := h.F * math.Sqrt(h.toughness()/(h.bend()/(tWrap*tWrap*tWrap)+h.plate()+h.shear()/tWrap))
	if err := c.result("P", "pressure held", p, "MPa"); err != nil {
		return 0, err
	}
	w.note(func() trace.Step {
		return trace.Step{
			Name: "pressure that the wrap holds over the hole", Rule: name,
			Formula: "P = " + holeFormula,
			Inputs:  append(h.inputs(), in("t_wrap", "wrap thickness", tWrap, "mm")),
			Value:   p, Unit: "MPa", Source: wrapForms,
		}
	})
	return p, nil
}

// Ceiling is the pressure that no thickness of wrap exceeds over the hole,
//
//	P_max = f·√(0.001·γ·π·E_ac/((1−ν²)·d))
//
// in MPa: the limit of Pressure as t_wrap grows. Errors and source as Pressure
// (the limit itself is derived).
func (h Hole) Ceiling(w *Working) (float64, error) {
	const name = "design.hole.ceiling"
	c := rule{name: name}
	h.check(&c)
	if c.err != nil {
		return 0, c.err
	}
	p := h.F * math.Sqrt(h.toughness()/h.plate())
	if err := c.result("P_max", "ceiling", p, "MPa"); err != nil {
		return 0, err
	}
	w.note(func() trace.Step {
		return trace.Step{
			Name: "pressure that no thickness exceeds over the hole", Rule: name,
			Formula: "P_max = f·√(0.001·γ·π·E_ac/((1−ν²)·d))",
			Inputs:  h.inputs()[:5],
			Value:   p, Unit: "MPa", Source: "limit for a thick wrap, derived from the " + wrapForms,
		}
	})
	return p, nil
}

// Thickness is the thinnest wrap that holds P over the hole: the formula of
// Pressure solved for t_wrap. With u = 1/t_wrap it reads
//
//	bend·u³ + shear·u = 0.001·γ·f²/P² − plate
//
// whose left side rises from 0, so that there is exactly one root where the
// right side is above 0, and none where P is at or above Ceiling. One of the
// two terms on the left is at least half of the right side, and neither is
// above it: that brackets u within a factor of two, and bisection does the
// rest. A P of 0 needs no wrap.
//
// Errors: *NotRepairable with the ceiling where no thickness holds P;
// *InputError. Validity and source as Pressure.
func (h Hole) Thickness(P float64, w *Working) (Thickness, error) {
	c := rule{name: "design.hole.thickness"}
	h.check(&c)
	c.notNegative("P", "design pressure", P, "MPa")
	if c.err != nil {
		return Thickness{}, c.err
	}
	ceiling, err := h.Ceiling(w.Under("ceiling"))
	if err != nil {
		return Thickness{}, err
	}
	raw := 0.0
	if P > 0 {
		spare := h.toughness()*(h.F/P)*(h.F/P) - h.plate()
		c.want(!math.IsInf(spare, 0), "P", "design pressure", P, "MPa", "in proportion to what the wrap can hold")
		if c.err != nil {
			return Thickness{}, c.err
		}
		if P >= ceiling || spare <= 0 {
			return Thickness{}, h.notRepairable(c.name, P, ceiling, w)
		}
		if raw, err = h.solve(spare); err != nil {
			c.want(false, "d", "diameter of the hole", h.D, "mm", "in proportion to the other inputs")
			return Thickness{}, c.err
		}
	}
	return thickness(&c, raw, w, func() trace.Step {
		return trace.Step{
			Name:    "wrap thickness over the hole",
			Formula: "t_wrap from P = " + holeFormula,
			Inputs:  append([]trace.Input{in("P", "design pressure", P, "MPa")}, h.inputs()...),
			Source:  wrapForms + "; solved by bisection",
		}
	})
}

// notRepairable is the result where P is at or above the ceiling.
func (h Hole) notRepairable(name string, P, ceiling float64, w *Working) error {
	no := &NotRepairable{
		Rule: name, P: P, Ceiling: ceiling,
		Reason: fmt.Sprintf("a hole of %s lifts the wrap off the pipe whatever its thickness", trace.WithUnit(h.D, "mm")),
	}
	w.note(func() trace.Step {
		return trace.Step{
			Name: "wrap thickness over the hole", Rule: name, Formula: "P < P_max",
			Inputs: []trace.Input{
				in("P", "design pressure", P, "MPa"),
				trace.In("P_max", "pressure that no thickness exceeds", ceiling, "MPa", w.Under("ceiling").Ref()),
			},
			Text: "not so: not repairable by this method, " + no.Reason, Source: wrapForms,
		}
	})
	return no
}

// solve gives t_wrap = 1/u with bend·u³ + shear·u = spare.
func (h Hole) solve(spare float64) (float64, error) {
	bend, shear := h.bend(), h.shear()
	bracket := func(part float64) float64 { return min(math.Cbrt(part/bend), part/shear) }
	// A part in 1e9 wider at each end, against rounding at the ends themselves.
	u, err := bisect(func(u float64) float64 { return bend*u*u*u + shear*u - spare },
		bracket(spare/2)*(1-1e-9), bracket(spare)*(1+1e-9))
	if err != nil {
		return 0, err
	}
	return 1 / u, nil
}
