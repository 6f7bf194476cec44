package design

import (
	"math"
	"slices"
	"strconv"

	"wraptally/estimate/trace"
)

// ComponentFactor says how much thicker a wrap on a component is than on a
// straight pipe under the same load.
type ComponentFactor struct {
	Component string  // "bend"
	Factor    float64 // 1 or more
	Basis     string
}

// ComponentTable is a table of factors, a component once.
type ComponentTable []ComponentFactor

// EffectiveThickness is the thickness on a component,
//
//	t_component = k_c·t_straight
//
// k_c the factor of the table, t_straight the thickness on a straight pipe of the
// same diameter, mm. Errors: *MissingError where the table has no such
// component (a factor is never guessed); *InputError, also for a factor below 1
// or a component listed twice. Source: the table's basis.
func (tbl ComponentTable) EffectiveThickness(component string, straight float64, w *Working) (float64, error) {
	const name = "design.component.thickness"
	c := rule{name: name}
	c.notNegative("t_straight", "thickness on a straight pipe", straight, "mm")
	found := -1
	for i, row := range tbl {
		if row.Component == component {
			c.want(found < 0, "k_c", "factors listed for "+component, 2, "", "1 at the most")
			c.want(row.Factor >= 1 && finite(row.Factor), "k_c", "component factor of "+component, row.Factor, "", "1 or more")
			found = i
		}
	}
	if c.err != nil {
		return 0, c.err
	}
	if found < 0 {
		return 0, &MissingError{Rule: name, Symbols: []string{"k_c"}, Names: []string{"component factor of " + strconv.Quote(component)}}
	}
	row := tbl[found]
	t := row.Factor * straight
	if err := c.result("t_component", "thickness", t, "mm"); err != nil {
		return 0, err
	}
	w.note(func() trace.Step {
		return trace.Step{
			Name: "thickness on a " + component, Rule: name, Formula: "t_component = k_c·t_straight",
			Inputs: []trace.Input{
				in("k_c", "factor of the component", row.Factor, ""),
				in("t_straight", "thickness on a straight pipe", straight, "mm"),
			},
			Value: t, Unit: "mm", Source: row.Basis,
		}
	})
	return t, nil
}

// Components lists the components of the table in its order.
func (tbl ComponentTable) Components() []string {
	names := make([]string, 0, len(tbl))
	for _, row := range tbl {
		if !slices.Contains(names, row.Component) {
			names = append(names, row.Component)
		}
	}
	return names
}

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

// AngleFor is the angle of the bend, in degrees, over which a repair needs its
// length L on the inside of the bend, where it is shortest,
//
//	θ_repair = 180·L/(π·(R − D/2))
//
// so that the reach beyond the defect holds all round. An angle above that of
// the bend means that the repair runs onto the straight pipe beyond it. Errors:
// *InputError. Source: derived.
func (b Bend) AngleFor(length float64, w *Working) (float64, error) {
	const name = "design.component.angle"
	c := rule{name: name}
	b.check(&c)
	c.notNegative("L", "repair length", length, "mm")
	if c.err != nil {
		return 0, c.err
	}
	angle := 180 * length / (math.Pi * (b.Radius - b.D/2))
	if err := c.result("θ_repair", "angle under the repair", angle, "°"); err != nil {
		return 0, err
	}
	w.note(func() trace.Step {
		return trace.Step{
			Name: "angle of the bend under the repair", Rule: name, Formula: "θ_repair = 180·L/(π·(R − D/2))",
			Inputs: []trace.Input{
				in("L", "repair length, held on the inside of the bend", length, "mm"),
				in("R", "centre-line radius", b.Radius, "mm"),
				in("D", "outside diameter", b.D, "mm"),
			},
			Value: angle, Unit: "°", Source: derived,
		}
	})
	return angle, nil
}

// Tape is the length of tape for one pass of helical wrapping round the bend,
// without turns at the ends, so that the overlap holds on the outside, where
// the turns lie furthest apart:
//
//	L_tape = π·D_p·(R + D_p/2)·(θ·π/180)/(w·(1 − o))
//
// D_p the diameter that the pass is wound on (pipe with putty and layers below),
// mm; w width of the tape, mm; o overlap. It is the tape of a straight pipe as
// long as the outside of the bend; the turns on a bend are a little shorter,
// because they lie closer on the inside, so that it is never too little. Errors:
// *InputError. Source: derived.
func (b Bend) Tape(width, o float64, w *Working) (float64, error) {
	const name = "design.component.bendtape"
	c := rule{name: name}
	b.check(&c)
	c.positive("w", "width of the tape", width, "mm")
	checkOverlap(&c, o)
	if c.err != nil {
		return 0, c.err
	}
	tape := math.Pi * b.D * (b.Radius + b.D/2) * (b.Angle * math.Pi / 180) / (width * (1 - o))
	if err := c.result("L_tape", "tape", tape, "mm"); err != nil {
		return 0, err
	}
	w.note(func() trace.Step {
		return trace.Step{
			Name: "tape for one pass round the bend, overlap held on the outside", Rule: name,
			Formula: "L_tape = π·D_p·(R + D_p/2)·(θ·π/180)/(w·(1 − o))",
			Inputs: []trace.Input{
				in("D_p", "diameter that the pass is wound on", b.D, "mm"),
				in("R", "centre-line radius", b.Radius, "mm"),
				in("θ", "angle of the bend", b.Angle, "°"),
				in("w", "width of the tape", width, "mm"),
				in("o", "overlap as a fraction of the tape width", o, ""),
			},
			Value: tape, Unit: "mm", Source: derived,
		}
	})
	return tape, nil
}

// Reducer is the geometry of a concentric or eccentric reducer.
type Reducer struct {
	Large, Small float64 // mm, outside diameters
	Length       float64 // mm, along the axis
	Eccentric    bool    // one side straight, the other taking up the whole step
}

func (r Reducer) check(c *rule) {
	c.positive("D_2", "smaller outside diameter", r.Small, "mm")
	c.positive("D_1", "larger outside diameter", r.Large, "mm")
	c.want(r.Large >= r.Small, "D_1", "larger outside diameter", r.Large, "mm", "no smaller than the other end")
}

// Diameter is the diameter that a reducer counts as: its larger end, on the
// safe side for thickness, reach and tape,
//
//	D = max(D_1, D_2)
//
// Errors: *InputError. Source: common practice, no source.
func (r Reducer) Diameter(w *Working) (float64, error) {
	const name = "design.component.reducer"
	c := rule{name: name}
	r.check(&c)
	if c.err != nil {
		return 0, c.err
	}
	w.note(func() trace.Step {
		return trace.Step{
			Name: "diameter that the reducer counts as, its larger end", Rule: name, Formula: "D = max(D_1, D_2)",
			Inputs: []trace.Input{
				in("D_1", "larger outside diameter", r.Large, "mm"),
				in("D_2", "smaller outside diameter", r.Small, "mm"),
			},
			Value: r.Large, Unit: "mm", Source: practice,
		}
	})
	return r.Large, nil
}

// Slant is the longest length along the surface of the reducer,
//
//	L_slant = √(L_red² + ((D_1 − D_2)/n_e)²)
//
// n_e = 2 for a concentric reducer, 1 for the sloping side of an eccentric one.
// Errors: *InputError. Source: derived, cone.
func (r Reducer) Slant(w *Working) (float64, error) {
	const name = "design.component.slant"
	c := rule{name: name}
	r.check(&c)
	c.positive("L_red", "length of the reducer", r.Length, "mm")
	if c.err != nil {
		return 0, c.err
	}
	n := 2.0
	if r.Eccentric {
		n = 1
	}
	slant := math.Hypot(r.Length, (r.Large-r.Small)/n)
	if err := c.result("L_slant", "length along the surface", slant, "mm"); err != nil {
		return 0, err
	}
	w.note(func() trace.Step {
		return trace.Step{
			Name: "length along the surface of the reducer", Rule: name,
			Formula: "L_slant = √(L_red² + ((D_1 − D_2)/n_e)²)",
			Inputs: []trace.Input{
				in("L_red", "length of the reducer", r.Length, "mm"),
				in("D_1", "larger outside diameter", r.Large, "mm"),
				in("D_2", "smaller outside diameter", r.Small, "mm"),
				in("n_e", "2 concentric, 1 eccentric", n, ""),
			},
			Value: slant, Unit: "mm", Source: derived + ", cone",
		}
	})
	return slant, nil
}
