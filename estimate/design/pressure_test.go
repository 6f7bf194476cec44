package design

import (
	"math"

	"wraptally/estimate/trace"
)

// pressure is what a wrap of thickness t holds.
func (b blister) pressure(t float64) float64 {
	return b.f * math.Sqrt(b.toughness/(b.bend/(t*t*t)+b.plate+b.shear/t))
}

// Pressure is what a wrap of thickness t_wrap holds over the hole: the formula
// that Thickness is solved from, forwards, which tests hold it against.
func (h Hole) Pressure(tWrap float64, w *Working) (float64, error) {
	const name = "design.hole.pressure"
	c := rule{name: name}
	h.check(&c)
	c.positive("t_wrap", "wrap thickness", tWrap, "mm")
	if c.err != nil {
		return 0, c.err
	}
	p := h.blister().pressure(tWrap)
	if err := c.result("P", "pressure held", p, "MPa"); err != nil {
		return 0, err
	}
	w.note(func() trace.Step {
		return trace.Step{
			Name: "pressure that the wrap holds over " + h.words().over, Rule: name,
			Formula: "P = " + h.words().formula,
			Inputs:  append(h.inputs(), in("t_wrap", "wrap thickness", tWrap, "mm")),
			Value:   p, Unit: "MPa", Source: wrapForms,
		}
	})
	return p, nil
}
