package design

import "wraptally/estimate/trace"

// maxLayers is more than any wrap has; above it an input is wrong.
const maxLayers = 10000

// LayersPerPass is how many layers one pass of helical wrapping lays where
// each turn overlaps the one before by the fraction o of the tape width,
//
//	m = 1/(1 − o)
//
// 2 for o = 0.5; a fraction of a layer is an average. Valid for 0 ≤ o < 1; an
// overlap of at least 0.5 is common practice, no source. Errors: *InputError.
// Source: derived, each point is under 1/(1−o) turns.
func LayersPerPass(o float64, w *Working) (float64, error) {
	const name = "design.layers.perpass"
	c := rule{name: name}
	checkOverlap(&c, o)
	if c.err != nil {
		return 0, c.err
	}
	m := 1 / (1 - o)
	if err := c.result("m", "layers per pass", m, ""); err != nil {
		return 0, err
	}
	w.note(func() trace.Step {
		return trace.Step{
			Name: "layers laid by one pass", Rule: name, Formula: "m = 1/(1 − o)",
			Inputs: []trace.Input{in("o", "overlap as a fraction of the tape width", o, "")},
			Value:  m, Source: derived,
		}
	})
	return m, nil
}

func checkOverlap(c *rule, o float64) {
	c.want(o >= 0 && o < 1, "o", "overlap", o, "", "from 0 to below 1")
}

// Passes is the number of whole passes that lay at least n layers,
//
//	p = ceil(n·(1 − o))
//
// at least 1. Errors: *InputError. Source: derived.
func Passes(n int, o float64, w *Working) (int, error) {
	const name = "design.layers.passes"
	c := rule{name: name}
	c.want(n > 0 && n <= maxLayers, "n", "layers", float64(n), "", "from 1 to 10000")
	checkOverlap(&c, o)
	if c.err != nil {
		return 0, c.err
	}
	raw := float64(n) * (1 - o)
	passes := max(1, int(RoundUp(raw, 1)))
	w.note(func() trace.Step {
		return trace.Step{
			Name: "passes", Rule: name, Formula: "p = n·(1 − o)",
			Inputs: []trace.Input{
				in("n", "layers", float64(n), ""),
				in("o", "overlap as a fraction of the tape width", o, ""),
			},
			Raw: raw, Value: float64(passes), Rounding: "up to whole passes", Source: derived,
		}
	})
	return passes, nil
}

// WrapThickness is the thickness of the finished wrap,
//
//	t_wrap = p·t_ply/(1 − o)
//
// p passes, t_ply thickness of one layer in mm, o overlap. Whole passes often
// lay more layers than were asked for; the thickness counts them all. Errors:
// *InputError. Source: derived.
func WrapThickness(passes int, o, tPly float64, w *Working) (float64, error) {
	const name = "design.layers.thickness"
	c := rule{name: name}
	c.want(passes > 0 && passes <= maxLayers, "p", "passes", float64(passes), "", "from 1 to 10000")
	checkOverlap(&c, o)
	c.positive("t_ply", "thickness of one layer", tPly, "mm")
	if c.err != nil {
		return 0, c.err
	}
	t := float64(passes) * tPly / (1 - o)
	if err := c.result("t_wrap", "wrap thickness", t, "mm"); err != nil {
		return 0, err
	}
	w.note(func() trace.Step {
		return trace.Step{
			Name: "thickness of the finished wrap", Rule: name, Formula: "t_wrap = p·t_ply/(1 − o)",
			Inputs: []trace.Input{
				in("p", "passes", float64(passes), ""),
				in("t_ply", "thickness of one layer", tPly, "mm"),
				in("o", "overlap as a fraction of the tape width", o, ""),
			},
			Value: t, Unit: "mm", Source: derived,
		}
	})
	return t, nil
}
