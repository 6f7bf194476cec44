package design

import (
	"math"
	"slices"

	"wraptally/estimate/trace"
)

// Bend is the geometry of a pipe bend.
type Bend struct {
	D      float64 // mm, outside diameter of what is measured or wrapped
	Radius float64 // mm, of the centre line, R
	Angle  float64 // degrees, θ
}

// Arcs are the lengths of a bend along its inside, centre line and outside.
type Arcs struct {
	Inner, Centre, Outer float64 // mm
}

func (b Bend) check(c *rule) {
	c.positive("D", "outside diameter", b.D, "mm")
	c.positive("R", "centre-line radius of the bend", b.Radius, "mm")
	c.want(b.Angle > 0 && b.Angle <= 360, "θ", "angle of the bend", b.Angle, "°", "above 0 and at most 360°")
	c.want(b.Radius > b.D/2, "R", "centre-line radius of the bend", b.Radius, "mm",
		"more than half the outside diameter")
}

// Arcs are the lengths along the bend,
//
//	L_centre = R·θ·π/180, L_inner = (R − D/2)·θ·π/180, L_outer = (R + D/2)·θ·π/180
//
// all mm, θ in degrees. Valid for R > D/2: a tighter bend has no inside. Errors:
// *InputError. Source: derived, arcs of a torus.
func (b Bend) Arcs(w *Working) (Arcs, error) {
	const name = "design.component.arcs"
	c := rule{name: name}
	b.check(&c)
	if c.err != nil {
		return Arcs{}, c.err
	}
	turn := b.Angle * math.Pi / 180
	got := Arcs{Inner: (b.Radius - b.D/2) * turn, Centre: b.Radius * turn, Outer: (b.Radius + b.D/2) * turn}
	if err := c.result("L_outer", "length along the outside", got.Outer, "mm"); err != nil {
		return Arcs{}, err
	}
	for _, arc := range []struct {
		id, name, formula string
		value             float64
	}{
		{"inner", "length along the inside of the bend", "L_inner = (R − D/2)·θ·π/180", got.Inner},
		{"centre", "length along the centre line of the bend", "L_centre = R·θ·π/180", got.Centre},
		{"outer", "length along the outside of the bend", "L_outer = (R + D/2)·θ·π/180", got.Outer},
	} {
		w.Under(arc.id).note(func() trace.Step {
			s := trace.Step{
				Name: arc.name, Rule: name, Formula: arc.formula,
				Inputs: []trace.Input{
					in("R", "centre-line radius", b.Radius, "mm"),
					in("D", "outside diameter", b.D, "mm"),
					in("θ", "angle of the bend", b.Angle, "°"),
				},
				Value: arc.value, Unit: "mm", Source: derived + ", arcs of a torus",
			}
			if arc.id == "centre" {
				s.Inputs = slices.Delete(s.Inputs, 1, 2)
			}
			return s
		})
	}
	return got, nil
}
