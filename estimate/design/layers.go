package design

import (
	"math"

	"wraptally/estimate/trace"
)

// maxLayers is more than any wrap has; above it an input is wrong.
const maxLayers = 10000

// LayersPerPass is how many layers one pass of helical wrapping lays where
// each turn overlaps the one before by the fraction o of the tape width,
//
//	m = 1/(1 − o)
//
// 2 for o = 0.5; a fraction of a layer is an average. Valid for 0 ≤ o < 1; an
// overlap of at least 0.5 is common practice, no source (see Overlap). Errors:
// *InputError. Source: derived, each point is under 1/(1−o) turns.
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

// What decides the number of layers.
const (
	ByDesigner  = "the designer's layers"
	ByService   = "the minimum for the service"
	ByThickness = "the preliminary thickness"
	ByFloor     = "the least number of layers"
)

// LayersAsked is what asks for layers of wrap, each in its own way.
type LayersAsked struct {
	Designer  Num     // layers that the designer of the repair has set
	Service   int     // the firm's minimum for the service, 0 for none
	Thickness Num     // mm, preliminary thickness of the chosen basis
	Ply       float64 // mm, thickness of one layer; needed with Thickness
	Floor     int     // never fewer than this, 2 in common practice
}

// Layers is the number of layers and what decided it.
type Layers struct {
	N       int
	Governs string // ByDesigner, ByService, ByThickness or ByFloor
	Raised  bool   // the designer asked for fewer than the floor
}

// Count is the number of layers: the designer's where given; else the greater
// of the service minimum and the preliminary thickness in layers,
//
//	n = max(n_service, ceil(t_req/t_ply))
//
// and never fewer than the floor. Errors: *InputError, also for a designer's
// number that is not whole. Source: of the rules that fed it; floor of 2 layers
// is common practice, no source.
func (a LayersAsked) Count(w *Working) (Layers, error) {
	const name = "design.layers.count"
	c := rule{name: name}
	c.want(a.Floor >= 1 && a.Floor <= maxLayers, "n_min", "least number of layers", float64(a.Floor), "", "from 1 to 10000")
	c.want(a.Service >= 0 && a.Service <= maxLayers, "n_service", "minimum for the service", float64(a.Service), "", "from 0 to 10000")
	if a.Designer.OK {
		n := a.Designer.V
		c.want(n >= 1 && n <= maxLayers && n == math.Trunc(n), "n_designer", "designer's layers", n, "",
			"a whole number from 1 to 10000")
	}
	raw := 0.0
	if a.Thickness.OK && !a.Designer.OK {
		c.notNegative("t_req", "preliminary thickness", a.Thickness.V, "mm")
		c.positive("t_ply", "thickness of one layer", a.Ply, "mm")
		if c.err == nil {
			raw = a.Thickness.V / a.Ply
			c.want(raw <= maxLayers, "t_req", "preliminary thickness", a.Thickness.V, "mm", "at most 10000 layers")
		}
	}
	if c.err != nil {
		return Layers{}, c.err
	}

	var got Layers
	switch byThickness := int(RoundUp(raw, 1)); {
	case a.Designer.OK:
		got = Layers{N: int(a.Designer.V), Governs: ByDesigner}
	case byThickness > a.Service:
		got = Layers{N: byThickness, Governs: ByThickness}
	case a.Service > 0:
		got = Layers{N: a.Service, Governs: ByService}
	}
	if got.N < a.Floor {
		got = Layers{N: a.Floor, Governs: ByFloor, Raised: a.Designer.OK}
	}
	w.note(func() trace.Step {
		s := trace.Step{
			Name: "layers, set by " + got.Governs, Rule: name,
			Value: float64(got.N), Unit: "layers",
		}
		least := in("n_min", "least number of layers", float64(a.Floor), "")
		switch got.Governs {
		case ByDesigner:
			s.Source = "the designer of the repair"
		case ByThickness:
			s.Source = derived + " from the preliminary thickness"
		case ByService:
			s.Source = "the firm's minimum for the service"
		default:
			s.Source = practice
		}
		if a.Designer.OK {
			s.Formula = "n = max(n_designer, n_min)"
			s.Inputs = []trace.Input{in("n_designer", "designer's layers", a.Designer.V, ""), least}
			return s
		}
		s.Formula = "n = max(n_service, n_min)"
		s.Inputs = []trace.Input{in("n_service", "minimum for the service", float64(a.Service), "")}
		if a.Thickness.OK {
			s.Formula = "n = max(n_service, t_req/t_ply, n_min)"
			s.Inputs = append(s.Inputs,
				in("t_req", "preliminary thickness", a.Thickness.V, "mm"),
				in("t_ply", "thickness of one layer", a.Ply, "mm"))
			s.Raw, s.Rounding = max(raw, float64(a.Service), float64(a.Floor)), "up to whole layers"
		}
		s.Inputs = append(s.Inputs, least)
		return s
	})
	return got, nil
}
