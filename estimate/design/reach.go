package design

import (
	"fmt"
	"math"

	"wraptally/estimate/trace"
)

// ReachRule is the rule for how far the wrap reaches beyond the defect on each
// side: the greatest of a minimum, the run-out and k·√(D·t/q).
type ReachRule struct {
	Edition string  // the text it follows, as shown to a reader
	K       float64 // factor before the root, k
	N       float64 // divisor under the root, 1 or 2, q in the formula
	Minimum float64 // mm
}

// PCC2Reach is the form 2.5·√(D·t/2), at least 50 mm, of ASME PCC-2 (formula
// written from memory, purchased text not at hand, verified: no).
func PCC2Reach() ReachRule {
	return ReachRule{Edition: "ASME PCC-2 form", K: 2.5, N: 2, Minimum: 50}
}

// ISOReach is the form 2·√(D·t) of ISO 24817 (formula written from memory,
// purchased text not at hand, verified: no), with the same minimum of 50 mm.
func ISOReach() ReachRule {
	return ReachRule{Edition: "ISO 24817 form", K: 2, N: 1, Minimum: 50}
}

// What governs the reach.
const (
	GovernsMinimum = "minimum"
	GovernsRunOut  = "run-out"
	GovernsWall    = "diameter and wall"
)

// Reach is the length of wrap beyond the defect on one side.
type Reach struct {
	Over        float64 // mm
	Governs     string  // GovernsMinimum, GovernsRunOut or GovernsWall
	WallUnknown bool    // the term with the wall was left out
}

// Over is the reach on each side of the defect,
//
//	L_over = max(L_min, run_out, k·√(D·t/q))
//
// with D the outside diameter in mm, t the wall of the pipe in mm (unknown: the
// term with it is left out, and the result says so), run_out in mm and k, q,
// L_min of the rule. The root is the attenuation length of a bending
// disturbance in a thin cylinder times a factor, so the term holds for D well
// above t; it is refused for t > D/2, which no pipe has.
//
// Errors: *InputError. Source: the rule's Edition; run_out 100 mm is common
// practice, no source.
func (r ReachRule) Over(D float64, t Num, runOut float64, w *Working) (Reach, error) {
	const name = "design.reach.over"
	c := rule{name: name}
	c.positive("D", "outside diameter", D, "mm")
	c.notNegative("run_out", "run-out", runOut, "mm")
	c.notNegative("L_min", "minimum reach", r.Minimum, "mm")
	c.positive("k", "factor before the root", r.K, "")
	c.positive("q", "divisor under the root", r.N, "")
	if t.OK {
		c.positive("t", "wall", t.V, "mm")
		c.want(t.V <= D/2, "t", "wall", t.V, "mm", "at most half the outside diameter")
	}
	if c.err != nil {
		return Reach{}, c.err
	}

	got := Reach{Over: r.Minimum, Governs: GovernsMinimum, WallUnknown: !t.OK}
	if runOut > got.Over {
		got.Over, got.Governs = runOut, GovernsRunOut
	}
	if t.OK {
		if root := r.K * math.Sqrt(D*t.V/r.N); root > got.Over {
			got.Over, got.Governs = root, GovernsWall
		}
	}
	if err := c.result("L_over", "reach", got.Over, "mm"); err != nil {
		return Reach{}, err
	}
	w.note(func() trace.Step {
		s := trace.Step{
			Name: "reach on each side of the defect, governed by the " + got.Governs, Rule: name,
			Formula: "L_over = max(L_min, run_out)",
			Inputs: []trace.Input{
				in("L_min", "minimum reach", r.Minimum, "mm"),
				in("run_out", "run-out", runOut, "mm"),
			},
			Value: got.Over, Unit: "mm",
			Source: fmt.Sprintf("%s; %s; run-out: %s", r.Edition, fromText, practice),
		}
		if !t.OK {
			s.Source += "; the wall is unknown, its term is left out"
			return s
		}
		s.Formula = "L_over = max(L_min, run_out, k·√(D·t/q))"
		s.Inputs = append(s.Inputs,
			in("k", "factor of the edition", r.K, ""),
			in("D", "outside diameter", D, "mm"),
			in("t", "wall", t.V, "mm"),
			in("q", "divisor of the edition", r.N, ""))
		return s
	})
	return got, nil
}

var taper = lawOf("design.reach.taper", "taper at each end", "L_taper = ratio·t_wrap", "taper", "mm", wrapForms,
	of{"ratio", "taper ratio", "", notNegative},
	of{"t_wrap", "wrap thickness", "mm", notNegative})

// Taper is the length over which each end of the wrap runs out to nothing,
//
//	L_taper = ratio·t_wrap
//
// with ratio the run of the taper for a rise of one (5 is common) and t_wrap in
// mm. Errors: *InputError. Source: form of the composite-repair standards,
// written from memory, verified: no.
func Taper(ratio, tWrap float64, w *Working) (float64, error) { return taper.on(ratio, tWrap).value(w) }

// RoundUp is the smallest multiple not below v, taking a v within a billionth
// of a multiple above one as that multiple. A multiple of 0 or less gives v.
func RoundUp(v, multiple float64) float64 {
	if !(multiple > 0) {
		return v
	}
	return math.Ceil(v/multiple-1e-9) * multiple
}
