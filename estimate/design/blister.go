package design

import (
	"math"

	"wraptally/estimate/trace"
)

// blister is a wrap that lifts off the pipe over a leak. Its compliance is
// bend/t³ + plate + shear/t with t the thickness of the wrap, and it grows where
//
//	P = f·√(toughness/(bend/t³ + plate + shear/t))
//
// is exceeded. Holes and slots differ in the three terms only.
type blister struct {
	bend, plate, shear float64
	toughness          float64 // of the bond, N/mm
	f                  float64 // service factor
}

// ceiling is the limit of pressure for a thick wrap.
func (b blister) ceiling() float64 { return b.f * math.Sqrt(b.toughness/b.plate) }

// thickness is the thinnest wrap that holds P; held is false where none does.
// With u = 1/t the formula reads
//
//	bend·u³ + shear·u = toughness·f²/P² − plate
//
// whose left side rises from 0, so that there is exactly one root where the
// right side is above 0, and none where P is at or above the ceiling. One of
// the two terms on the left is at least half of the right side, and neither is
// above it: that brackets u within a factor of two, and bisection does the
// rest. Numbers out of all proportion are complained of in c, the size of the
// leak as the hole h names it.
func (b blister) thickness(P float64, c *rule, h Hole) (t float64, held bool) {
	if P == 0 {
		return 0, true
	}
	spare := b.toughness*(b.f/P)*(b.f/P) - b.plate
	c.want(!math.IsInf(spare, 0), "P", "design pressure", P, "MPa", "in proportion to what the wrap can hold")
	if c.err != nil {
		return 0, true
	}
	if P >= b.ceiling() || spare <= 0 {
		return 0, false
	}
	bracket := func(part float64) float64 { return min(math.Cbrt(part/b.bend), part/b.shear) }
	// A part in 1e9 wider at each end, against rounding at the ends themselves.
	u, err := bisect(func(u float64) float64 { return b.bend*u*u*u + b.shear*u - spare },
		bracket(spare/2)*(1-1e-9), bracket(spare)*(1+1e-9))
	c.want(err == nil, h.words().symbol, h.words().name, h.D, "mm", "in proportion to the other inputs")
	return 1 / u, true
}

// notRepairable is the result where P is at or above the ceiling of what, "a
// hole of 25 mm".
func notRepairable(name, what string, P, ceiling float64, w *Working) error {
	no := &NotRepairable{
		Rule: name, P: P, Ceiling: ceiling,
		Reason: what + " lifts the wrap off the pipe whatever its thickness",
	}
	w.note(func() trace.Step {
		return trace.Step{
			Name: "wrap thickness over the hole", Rule: name, Formula: "P < P_max",
			Inputs: []trace.Input{
				in("P", "design pressure", P, "MPa"),
				trace.In("P_max", "pressure that no thickness exceeds", ceiling, "MPa", w.Under("ceiling").Ref()),
			},
			Text: "not so: not repairable by this method, " + no.Reason, Source: wrapForms,
		}
	})
	return no
}
