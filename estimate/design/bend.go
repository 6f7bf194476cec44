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

// Stretch is how much longer a repair is along the centre line than on the
// inside of the bend that it lies on.
type Stretch struct {
	Length float64 // mm along the centre line, of the whole repair
	Bend   float64 // mm of it that lie on the bend beyond its defects and are stretched
	Factor float64 // R/(R − D/2)
}

// Stretch gives the length along the centre line of a repair that is to hold
// inside, on the inside of the bend. span is the distance between the first and
// the last defect along the centre line, which is what a chainage measures;
// beyond is what is measured on the surface: half of each outer defect, reach
// and taper, both sides together. What of that can lie on the bend is stretched,
//
//	L = span + beyond + (k − 1)·min(beyond, B/k),  k = R/(R − D/2)
//
// with B = R·θ·π/180 − onBend the bend's centre line less the part of span that
// is known to lie on it. Where on the bend the repair sits is not known, so as
// much of it as fits is taken to lie there; θ unknown: all of it. Errors:
// *InputError. Source: derived, arcs of a torus.
func (b Bend) Stretch(span, onBend, beyond float64, w *Working) (Stretch, error) {
	c := rule{name: "design.component.stretch"}
	whole := b.Angle == 0
	if whole {
		b.Angle = 360
	}
	b.check(&c)
	c.notNegative("span", "distance between the outer defects", span, "mm")
	c.want(onBend >= 0 && onBend <= span, "on", "part of it on the bend", onBend, "mm", "from 0 to the whole distance")
	c.notNegative("beyond", "length beyond the defects", beyond, "mm")
	if c.err != nil {
		return Stretch{}, c.err
	}
	k := b.Radius / (b.Radius - b.D/2)
	room := math.Inf(1)
	if !whole {
		room = max(0, b.Radius*b.Angle*math.Pi/180-onBend)
	}
	on := min(beyond, room/k)
	got := Stretch{Length: span + beyond + (k-1)*on, Bend: k * on, Factor: k}
	if err := c.result("L", "length along the centre line", got.Length, "mm"); err != nil {
		return Stretch{}, err
	}
	w.note(func() trace.Step {
		return trace.Step{
			Name: "length along the centre line, " + trace.WithUnit(got.Bend, "mm") + " of it on the bend and stretched", Rule: c.name,
			Formula: "L = span + beyond + (R/(R − D/2) − 1)·on",
			Inputs: []trace.Input{
				in("span", "between the outer defects, along the centre line", span, "mm"),
				in("beyond", "half of the outer defects, reach and taper, both sides", beyond, "mm"),
				in("R", "centre-line radius of the bend", b.Radius, "mm"), in("D", "outside diameter", b.D, "mm"),
				in("on", "part of that on the bend, on its inside", on, "mm"),
			},
			Value: got.Length, Unit: "mm", Source: derived + ", arcs of a torus; as much as fits is taken to lie on the bend",
		}
	})
	return got, nil
}
