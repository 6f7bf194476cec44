package design

import "wraptally/estimate/trace"

var holeLimit = lawOf("design.limits.hole", "size of the leak against the pipe", "d ≤ √(c·D·t)", "", "mm", wrapForms,
	of{"d", "design diameter of the leak", "mm", anyNumber},
	of{"c", "factor of the limit", "", anyNumber},
	of{"D", "outside diameter", "mm", anyNumber},
	of{"t", "wall", "mm", anyNumber})

// HoleLimit checks that a leak is small against the pipe,
//
//	d ≤ √(c·D·t)
//
// d design diameter of the leak, D outside diameter and t wall of the pipe, mm:
// the formula for a leak is that of a flat plate. c 6: source: form of the
// composite-repair standards, written from memory, verified: no.
func HoleLimit(d, D, t, c float64, w *Working) Finding {
	return holeLimit.on(d, c, D, t).finding(Finding{
		Code: "hole-large", Advice: "have the repair designed by a qualified person; the formula for a leak holds for a small one",
	}, w)
}

var nearCeiling = lawOf("design.limits.ceiling", "design pressure against the pressure no thickness of wrap exceeds: near the ceiling", "P ≤ share·P_max", "", "MPa", practice,
	of{"P", "design pressure", "MPa", anyNumber},
	of{"share", "largest share of the ceiling", "", anyNumber},
	of{"P_max", "pressure that no thickness exceeds", "MPa", anyNumber})

// NearCeiling checks that the pressure keeps a distance from what no thickness
// of wrap exceeds, P ≤ share·P_max, MPa; near it the thickness runs away with
// the least error in any input. Share 0.8: common practice, no source.
func NearCeiling(P, ceiling, share float64, w *Working) Finding {
	return nearCeiling.on(P, share, ceiling).finding(Finding{
		Code: "near-ceiling", Advice: "measure the leak again, lower the pressure, or have another method designed",
	}, w)
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

var fullWall = lawOf("design.limits.fullwall", "design pressure against what the full wall carries", "P ≤ 2·s·t/D", "", "MPa", derived+", thin-walled cylinder",
	of{"P", "design pressure", "MPa", anyNumber},
	of{"s", "allowable stress of the pipe", "MPa", anyNumber},
	of{"t", "wall", "mm", anyNumber},
	of{"D", "outside diameter", "mm", anyNumber})

// FullWall checks that the pipe as it was made carries the pressure,
//
//	P ≤ 2·s·t/D
//
// s allowable stress in MPa, t nominal wall and D in mm: where it does not, one
// of the three is wrong. Source: derived, thin-walled cylinder.
func FullWall(P, D, s, t float64, w *Working) Finding {
	return fullWall.on(P, s, t, D).finding(Finding{
		Code: "pressure-above-full-wall", Advice: "check pressure, wall and allowable stress of the pipe",
	}, w)
}

var shearLength = lawOf("design.limits.shear", "length that takes the axial load into the pipe", "L_shear = 3·E_a·ε_a·t_wrap/τ",
	"axial shear length", "mm", wrapForms,
	of{"E_a", "modulus of the wrap, along the pipe", "MPa", positive},
	of{"ε_a", "allowable strain, along the pipe", "", strainLimit},
	of{"t_wrap", "wrap thickness", "mm", notNegative},
	of{"τ", "shear strength of the bond", "MPa", positive})

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
	return shearLength.on(Ea, strainA, tWrap, tau).value(w)
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
