package design

import (
	"math"

	"wraptally/estimate/trace"
)

// HoleLimit checks that a leak is small against the pipe,
//
//	d ≤ √(6·D·t)
//
// d design diameter of the leak, D outside diameter and t wall of the pipe, mm:
// the formula for a leak is that of a flat plate. Source: form of the
// composite-repair standards, written from memory, verified: no.
func HoleLimit(d, D, t float64, w *Working) Finding {
	limit := math.Sqrt(6 * D * t)
	return Finding{
		Code: "hole-large", OK: atMost(d, limit), Name: "size of the leak against the pipe",
		Found: d, Limit: limit, Unit: "mm",
		Advice: "have the repair designed by a qualified person; the formula for a leak holds for a small one", Source: wrapForms,
	}.note("design.limits.hole", "d ≤ √(6·D·t)", w, func() []trace.Input {
		return []trace.Input{in("d", "design diameter of the leak", d, "mm"), in("D", "outside diameter", D, "mm"), in("t", "wall", t, "mm")}
	})
}

// NearCeiling checks that the pressure keeps a distance from what no thickness
// of wrap exceeds, P ≤ share·P_max, MPa; near it the thickness runs away with
// the least error in any input. Share 0.8: common practice, no source.
func NearCeiling(P, ceiling, share float64, w *Working) Finding {
	return Finding{
		Code: "near-ceiling", OK: atMost(P, share*ceiling), Name: "design pressure against the pressure no thickness of wrap exceeds: near the ceiling",
		Found: P, Limit: share * ceiling, Unit: "MPa",
		Advice: "measure the leak again, lower the pressure, or have another method designed", Source: practice,
	}.note("design.limits.ceiling", "P ≤ share·P_max", w, func() []trace.Input {
		return []trace.Input{
			in("P", "design pressure", P, "MPa"), in("share", "largest share of the ceiling", share, ""),
			in("P_max", "pressure that no thickness exceeds", ceiling, "MPa"),
		}
	})
}

// ThrustCounted checks that a stated axial force is at least the end thrust of
// the pressure, F ≥ F_end, N. Less is right only where the thrust is taken up by
// something else. Source: derived, equilibrium of a closed end.
func ThrustCounted(F, thrust float64, w *Working) Finding {
	return Finding{
		Code: "axial-force-low", OK: atLeast(F, thrust), Name: "axial force against the end thrust",
		Found: F / 1000, Limit: thrust / 1000, Unit: "kN",
		Advice: "give the axial force with the end thrust in it, or say what takes the thrust up", Source: derived,
	}.note("design.limits.thrust", "F ≥ F_end", w, func() []trace.Input {
		return []trace.Input{in("F", "axial force", F, "N"), in("F_end", "end thrust", thrust, "N")}
	})
}

// FullWall checks that the pipe as it was made carries the pressure,
//
//	P ≤ 2·s·t/D
//
// s allowable stress in MPa, t nominal wall and D in mm: where it does not, one
// of the three is wrong. Source: derived, thin-walled cylinder.
func FullWall(P, D, s, t float64, w *Working) Finding {
	return Finding{
		Code: "pressure-above-full-wall", OK: atMost(P, 2*s*t/D), Name: "design pressure against what the full wall carries",
		Found: P, Limit: 2 * s * t / D, Unit: "MPa",
		Advice: "check pressure, wall and allowable stress of the pipe", Source: derived + ", thin-walled cylinder",
	}.note("design.limits.fullwall", "P ≤ 2·s·t/D", w, func() []trace.Input {
		return []trace.Input{
			in("P", "design pressure", P, "MPa"), in("s", "allowable stress of the pipe", s, "MPa"),
			in("t", "wall", t, "mm"), in("D", "outside diameter", D, "mm"),
		}
	})
}

// ShearLength is the length of wrap beyond the defect that takes the axial load
// of the wrap into the pipe by shear of the bond,
//
//	L_shear = 3·E_a·ε_a·t_wrap/τ
//
// E_a in MPa, ε_a allowable strain along the pipe, t_wrap in mm, τ shear strength
// of the bond in MPa. Where it is longer than the reach, it is the reach.
// Errors: *InputError. Source: form of the composite-repair standards (ASME
// PCC-2, ISO 24817), formula written from memory, purchased text not at hand,
// verified: no.
func ShearLength(Ea, strainA, tWrap, tau float64, w *Working) (float64, error) {
	c := rule{name: "design.limits.shear"}
	c.positive("E_a", "modulus of the wrap, along the pipe", Ea, "MPa")
	checkStrain(&c, "ε_a", "allowable strain of the wrap, along the pipe", strainA)
	c.notNegative("t_wrap", "wrap thickness", tWrap, "mm")
	c.positive("τ", "shear strength of the bond", tau, "MPa")
	length := 3 * Ea * strainA * tWrap / tau
	if err := c.result("L_shear", "axial shear length", length, "mm"); err != nil {
		return 0, err
	}
	w.note(func() trace.Step {
		return trace.Step{
			Name: "length that takes the axial load into the pipe", Rule: c.name, Formula: "L_shear = 3·E_a·ε_a·t_wrap/τ",
			Inputs: []trace.Input{
				in("E_a", "modulus of the wrap, along the pipe", Ea, "MPa"), in("ε_a", "allowable strain, along the pipe", strainA, ""),
				in("t_wrap", "wrap thickness", tWrap, "mm"), in("τ", "shear strength of the bond", tau, "MPa"),
			},
			Value: length, Unit: "mm", Source: wrapForms,
		}
	})
	return length, nil
}

// Sense checks a number against the most that a repair has in practice. Code,
// name, unit and advice are the caller's, as is the limit, a setting. Source:
// common practice, no source.
func Sense(f Finding, w *Working) Finding {
	f.OK = atMost(f.Found, f.Limit)
	if f.Source == "" {
		f.Source = practice
	}
	return f.note("design.limits.sense", "found ≤ most", w, func() []trace.Input {
		return []trace.Input{in("found", f.Name, f.Found, f.Unit), in("most", "most without a question", f.Limit, f.Unit)}
	})
}
