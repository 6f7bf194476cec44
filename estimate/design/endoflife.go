package design

import "wraptally/estimate/trace"

// Wear is what a mechanism of damage takes off the wall in each year that the
// repair is to last.
type Wear struct {
	Rate  float64 // mm a year, r
	Years float64 // service life, y
}

func (r Wear) check(c *rule) {
	c.notNegative("r", "corrosion rate", r.Rate, "mm/year")
	c.positive("y", "service life", r.Years, "years")
}

func (r Wear) inputs() []trace.Input {
	return []trace.Input{in("r", "corrosion rate", r.Rate, "mm/year"), in("y", "service life", r.Years, "years")}
}

// Wall is the remaining wall at the end of the life,
//
//	t_end = max(0, t_rem − r·y)
//
// t_rem today in mm, r in mm a year, y in years. Errors: *InputError. Source:
// derived, steady rate.
func (r Wear) Wall(tRem float64, w *Working) (float64, error) {
	c := rule{name: "design.wear.wall"}
	c.notNegative("t_rem", "remaining wall", tRem, "mm")
	r.check(&c)
	end := max(0, tRem-r.Rate*r.Years)
	if err := c.result("t_end", "wall at the end of the life", end, "mm"); err != nil {
		return 0, err
	}
	w.note(func() trace.Step {
		return trace.Step{
			Name: "remaining wall at the end of the life", Rule: c.name, Formula: "t_end = max(0, t_rem − r·y)",
			Inputs: append([]trace.Input{in("t_rem", "remaining wall today", tRem, "mm")}, r.inputs()...),
			Raw:    tRem - r.Rate*r.Years, Value: end, Unit: "mm", Source: derived + ", steady rate",
		}
	})
	return end, nil
}

// Hole is the size of a leak at the end of the life, which grows at both edges,
//
//	d_end = d + 2·r·y
//
// d today in mm. Errors: *InputError. Source: derived, steady rate.
func (r Wear) Hole(d float64, w *Working) (float64, error) {
	c := rule{name: "design.wear.hole"}
	c.notNegative("d", "size of the leak", d, "mm")
	r.check(&c)
	end := d + 2*r.Rate*r.Years
	if err := c.result("d_end", "size of the leak at the end of the life", end, "mm"); err != nil {
		return 0, err
	}
	w.note(func() trace.Step {
		return trace.Step{
			Name: "size of the leak at the end of the life", Rule: c.name, Formula: "d_end = d + 2·r·y",
			Inputs: append([]trace.Input{in("d", "size of the leak today", d, "mm")}, r.inputs()...),
			Value:  end, Unit: "mm", Source: derived + ", steady rate at both edges",
		}
	})
	return end, nil
}
