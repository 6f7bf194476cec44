package design

import "wraptally/estimate/trace"

// maxLayers is more than any wrap has; above it an input is wrong.
const maxLayers = 10000

var overlap = of{"o", "overlap as a fraction of the tape width", "", ratioLimit}

var layersPerPass = lawOf("design.layers.perpass", "layers laid by one pass", "m = 1/(1 − o)", "layers per pass", "", derived, overlap)

// LayersPerPass is how many layers one pass of helical wrapping lays where
// each turn overlaps the one before by the fraction o of the tape width,
//
//	m = 1/(1 − o)
//
// 2 for o = 0.5; a fraction of a layer is an average. Valid for 0 ≤ o < 1; an
// overlap of at least 0.5 is common practice, no source. Errors: *InputError.
// Source: derived, each point is under 1/(1−o) turns.
func LayersPerPass(o float64, w *Working) (float64, error) { return layersPerPass.on(o).value(w) }

var passes = lawOf("design.layers.passes", "passes", "p = n·(1 − o)", "passes", "", derived, of{"n", "layers", "", countLimit}, overlap)

// Passes is the number of whole passes that lay at least n layers,
//
//	p = ceil(n·(1 − o))
//
// at least 1. Errors: *InputError. Source: derived.
func Passes(n int, o float64, w *Working) (int, error) {
	a := passes.on(float64(n), o)
	raw, err := a.raw()
	if err != nil {
		return 0, err
	}
	whole := max(1, int(RoundUp(raw, 1)))
	w.note(func() trace.Step {
		s := a.Step("", float64(whole), a.values())
		s.Raw, s.Rounding = raw, "up to whole passes"
		return s
	})
	return whole, nil
}

var wrapThickness = lawOf("design.layers.thickness", "thickness of the finished wrap", "t_wrap = p·t_ply/(1 − o)", "wrap thickness", "mm", derived,
	of{"p", "passes", "", countLimit},
	of{"t_ply", "thickness of one layer", "mm", positive},
	overlap)

// WrapThickness is the thickness of the finished wrap,
//
//	t_wrap = p·t_ply/(1 − o)
//
// p passes, t_ply thickness of one layer in mm, o overlap. Whole passes often
// lay more layers than were asked for; the thickness counts them all. Errors:
// *InputError. Source: derived.
func WrapThickness(passes int, o, tPly float64, w *Working) (float64, error) {
	return wrapThickness.on(float64(passes), tPly, o).value(w)
}
