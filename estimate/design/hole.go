package design

import (
	"errors"
	"math"

	"wraptally/estimate/trace"
)

// Hole are the inputs of a wrap over a leak through the wall: a round hole, or a
// slot that goes round the pipe. The wrap lifts off the pipe round it like a
// blister; what it holds is set by the toughness of the bond.
type Hole struct {
	D     float64 // mm, diameter of the hole, d in the formulas; of a slot its width along the pipe, W
	Slot  bool    // a slot all the way round, so that any length of it is contained
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
	w := h.words()
	c.positive(w.symbol, w.name, h.D, "mm")
	c.positive("γ", "energy release rate of the bond", h.Gamma, "J/m²")
	c.positive("E_ac", "mean modulus of the wrap", h.Eac, "MPa")
	c.positive("G", "shear modulus of the wrap", h.G, "MPa")
	checkPoisson(c, h.Nu)
	c.want(h.F > 0 && h.F <= 1, "f", "service factor", h.F, "", "above 0 and at most 1")
}

// blister is the leak as the formulas of blister.go see it.
func (h Hole) blister() blister {
	b, plate, d := blister{toughness: 0.001 * h.Gamma, f: h.F}, (1-h.Nu*h.Nu)/h.Eac, h.D
	if h.Slot {
		b.bend, b.plate, b.shear = plate*math.Pow(d, 4)/24, plate*math.Pi*d/4, 3*d*d/(16*h.G)
	} else {
		b.bend, b.plate, b.shear = plate*3*math.Pow(d, 4)/512, plate*d/math.Pi, 3*d*d/(64*h.G)
	}
	return b
}

func (h Hole) inputs() []trace.Input {
	w := h.words()
	return []trace.Input{
		in("f", "service factor", h.F, ""),
		in("γ", "energy release rate of the bond", h.Gamma, "J/m²"),
		in("ν", "Poisson's ratio of the wrap", h.Nu, ""),
		in("E_ac", "mean modulus of the wrap", h.Eac, "MPa"),
		in(w.symbol, w.name, h.D, "mm"),
		in("G", "shear modulus of the wrap", h.G, "MPa"),
	}
}

// leakWords are how a leak of one shape is written down.
type leakWords struct{ over, symbol, name, formula, ceiling string }

func (h Hole) words() leakWords {
	if h.Slot {
		return leakWords{
			over: "the slot", symbol: "W", name: "width of the slot along the pipe",
			formula: "f·√{0.001·γ/[((1−ν²)/E_ac)·(W⁴/(24·t_wrap³) + π·W/4) + 3·W²/(16·G·t_wrap)]}",
			ceiling: "P_max = f·√(0.001·γ·4·E_ac/((1−ν²)·π·W))",
		}
	}
	return leakWords{
		over: "the hole", symbol: "d", name: "diameter of the hole",
		formula: "f·√{0.001·γ/[((1−ν²)/E_ac)·(3·d⁴/(512·t_wrap³) + d/π) + 3·d²/(64·G·t_wrap)]}",
		ceiling: "P_max = f·√(0.001·γ·π·E_ac/((1−ν²)·d))",
	}
}

// String names the leak with its size, "a hole of 25 mm".
func (h Hole) String() string {
	if h.Slot {
		return "a slot round the pipe, " + trace.WithUnit(h.D, "mm") + " wide,"
	}
	return "a hole of " + trace.WithUnit(h.D, "mm")
}

// Ceiling is the pressure that no thickness of wrap exceeds over the hole,
//
//	P_max = f·√(0.001·γ·π·E_ac/((1−ν²)·d)),  of a slot f·√(0.001·γ·4·E_ac/((1−ν²)·π·W))
//
// in MPa: the limit of the formula of Thickness as t_wrap grows. Errors and source
// as Thickness (the limit itself is derived).
func (h Hole) Ceiling(w *Working) (float64, error) {
	const name = "design.hole.ceiling"
	c := rule{name: name}
	h.check(&c)
	if c.err != nil {
		return 0, c.err
	}
	p := h.blister().ceiling()
	if err := c.result("P_max", "ceiling", p, "MPa"); err != nil {
		return 0, err
	}
	w.note(func() trace.Step {
		return trace.Step{
			Name: "pressure that no thickness exceeds over " + h.words().over, Rule: name,
			Formula: h.words().ceiling,
			Inputs:  h.inputs()[:5],
			Value:   p, Unit: "MPa", Source: "limit for a thick wrap, derived from the " + wrapForms,
		}
	})
	return p, nil
}

// Thickness is the thinnest wrap that holds P over the hole. A wrap of thickness
// t_wrap holds
//
//	P = f·√{0.001·γ/[((1−ν²)/E_ac)·(3·d⁴/(512·t_wrap³) + d/π) + 3·d²/(64·G·t_wrap)]}
//
// and over a slot of width W along the pipe
//
//	P = f·√{0.001·γ/[((1−ν²)/E_ac)·(W⁴/(24·t_wrap³) + π·W/4) + 3·W²/(16·G·t_wrap)]}
//
// in MPa, with t_wrap, d and W in mm, E_ac and G in MPa, γ in J/m² (0.001 makes it
// N/mm), f the service factor, solved for t_wrap by bisection. P rises with t_wrap
// towards Ceiling and falls with d or W. It is derived for a flat plate, so d is to
// be small against the pipe, see HoleLimit. A P of 0 needs no wrap.
//
// Errors: *NotRepairable with the ceiling where no thickness holds P;
// *InputError. Source: form of the composite-repair standards (ASME PCC-2, ISO
// 24817), formula written from memory, purchased text not at hand, verified: no.
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
	raw, held := h.blister().thickness(P, &c, h)
	if c.err != nil {
		return Thickness{}, c.err
	}
	if !held {
		return Thickness{}, notRepairable(c.name, h.String(), P, ceiling, w)
	}
	return thickness(&c, raw, w, func() trace.Step {
		return trace.Step{
			Name:    "wrap thickness over " + h.words().over,
			Formula: "t_wrap from P = " + h.words().formula,
			Inputs:  append([]trace.Input{in("P", "design pressure", P, "MPa")}, h.inputs()...),
			Source:  wrapForms + "; solved by bisection",
		}
	})
}

// Held is how a leak is held: by the least demanding of the shapes that contain
// it.
type Held struct {
	By      Hole
	T       Thickness
	Top     Hole    // the shape with the highest ceiling
	Ceiling float64 // MPa, of that shape: pressure that no thickness exceeds
}

// Hold takes shapes each of which contains the leak, a circle over its longer
// side or a slot as wide as it is along the pipe, and holds the one that asks
// for the least wrap: a leak cannot ask for more than any shape it lies in.
//
// Errors: *NotRepairable, of the shape with the highest ceiling, where none can
// be held (that shape is given too); *InputError. Source: derived from the formulas of Thickness.
func Hold(P float64, shapes []Hole, w *Working) (Held, error) {
	c := rule{name: "design.hole.held"}
	c.want(len(shapes) > 0, "n", "shapes that contain the leak", 0, "", "at least 1")
	if c.err != nil {
		return Held{}, c.err
	}
	var held Held
	least := math.Inf(1) // thickness so far; infinite while no shape can be held
	for _, h := range shapes {
		t, err := h.Thickness(P, nil)
		var no *NotRepairable
		if err != nil && !errors.As(err, &no) {
			return Held{}, err
		}
		ceiling := h.blister().ceiling()
		if no == nil && t.T < least || math.IsInf(least, 1) && ceiling > held.Ceiling {
			held.By = h
		}
		if no == nil {
			least = min(least, t.T)
		}
		if ceiling > held.Ceiling {
			held.Top, held.Ceiling = h, ceiling
		}
	}
	var err error
	held.T, err = held.By.Thickness(P, w)
	return held, err
}
