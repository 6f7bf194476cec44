package design

import (
	"math"

	"wraptally/estimate/trace"
)

// Clamp are the bands that press a sheet onto a leak.
type Clamp struct {
	D         float64 // mm, outside diameter
	Sheet     float64 // mm, length of the sheet along the pipe, a_s
	Fasteners int     // on each band, f_b
	Tension   float64 // N, of a band at its fastener, T
	Friction  float64 // of the band on what it lies on, μ
}

func (k Clamp) check(c *rule) {
	c.positive("D", "outside diameter", k.D, "mm")
	c.positive("a_s", "length of the sheet", k.Sheet, "mm")
	c.want(k.Fasteners > 0, "f_b", "fasteners on a band", float64(k.Fasteners), "", "at least 1")
	c.positive("T", "tension of the band", k.Tension, "N")
	c.notNegative("μ", "friction of the band", k.Friction, "")
}

// each is the mean pressure of one band over the whole sheet, MPa.
func (k Clamp) each() float64 {
	return k.Tension * math.Exp(-k.Friction*math.Pi/float64(k.Fasteners)) / (k.D / 2 * k.Sheet)
}

// Pressure is the mean pressure with which n bands hold the sheet,
//
//	p_c = n·T·e^(−μ·π/f_b)/(D/2·a_s)
//
// in MPa, with T in N, D and a_s in mm. A band of tension T presses with T/R for
// each mm of its length; friction takes tension away with the angle from the
// nearest fastener, which is π/f_b at the farthest place, where it is taken.
// Errors: *InputError. Source: derived, equilibrium of a band and belt friction.
func (k Clamp) Pressure(n int, w *Working) (float64, error) {
	c := rule{name: "design.contact.pressure"}
	k.check(&c)
	c.want(n > 0, "n", "bands", float64(n), "", "at least 1")
	p := float64(n) * k.each()
	if err := c.result("p_c", "contact pressure", p, "MPa"); err != nil {
		return 0, err
	}
	w.note(func() trace.Step {
		return trace.Step{
			Name: "mean pressure of the bands on the sheet", Rule: c.name, Formula: "n·T·exp(−μ·π/f_b)/(D/2·a_s)",
			Inputs: []trace.Input{
				in("n", "bands", float64(n), ""), in("T", "tension of a band", k.Tension, "N"),
				in("μ", "friction of the band", k.Friction, ""), in("f_b", "fasteners on a band", float64(k.Fasteners), ""),
				in("D", "outside diameter", k.D, "mm"), in("a_s", "length of the sheet", k.Sheet, "mm"),
			},
			Value: p, Unit: "MPa", Source: derived + ", equilibrium of a band and belt friction",
		}
	})
	return p, nil
}

// Bands is the fewest bands, from least up, whose pressure is at least wanted
// MPa, but never more than most: those that the sheet has room for. Errors:
// *InputError. Source: as Pressure.
func (k Clamp) Bands(wanted float64, least, most int) (int, error) {
	c := rule{name: "design.contact.bands"}
	k.check(&c)
	c.notNegative("p", "contact pressure wanted", wanted, "MPa")
	c.want(least > 0, "n", "fewest bands", float64(least), "", "at least 1")
	if c.err != nil {
		return 0, c.err
	}
	n := least
	if need := RoundUp(wanted/k.each(), 1); need > float64(n) {
		n = int(min(need, float64(max(most, least))))
	}
	return n, nil
}
