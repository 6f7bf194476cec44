package design

import (
	"wraptally/estimate/trace"
)

// Basis is what a wrap over a wall that does not leak counts on.
type Basis string

// The bases.
const (
	OnSound    Basis = "sound substrate"     // pipe and wrap share the load, the pipe stays elastic
	OnYielding Basis = "substrate may yield" // the wall carries its allowable stress, the wrap the rest
	OnNothing  Basis = "substrate ignored"   // the wrap carries all
)

// Setting is the word of the basis in the setting design.basis.
func (b Basis) Setting() string {
	switch b {
	case OnSound:
		return "sound"
	case OnYielding:
		return "yield"
	}
	return "ignored"
}

// Candidate is the wrap that one basis asks for.
type Candidate struct {
	Basis       Basis
	Hoop, Axial Thickness
	Missing     string // what the basis lacks to be worked out; "" where it is complete
	Invalid     string // the limit of its validity that is not kept; "" where it is valid
}

// T is the thickness of the basis, the greater of hoop and axial, mm.
func (c Candidate) T() float64 { return max(c.Hoop.T, c.Axial.T) }

// Counts reports whether the basis is complete and valid, so that a wrap may be
// sized on it.
func (c Candidate) Counts() bool { return c.Missing == "" && c.Invalid == "" }

// Loading is all that the bases ask for.
type Loading struct {
	D       float64 // mm, outside diameter
	P       float64 // MPa, design pressure
	PLow    float64 // MPa, the least it may be: it relieves the wrap along the pipe
	F       float64 // N, axial force including end thrust, tension positive
	FLow    float64 // N, the least it may be: it relieves the wrap round the pipe
	S       float64 // MPa, allowable stress of the pipe
	Es      float64 // MPa, modulus of the pipe
	Rem     Num     // mm, remaining wall at the end of the life
	Wrap    Ignored // Nu, Ec and Ea of the wrap; the rest is not read
	Strain  float64 // allowable strain of the wrap round the pipe
	StrainA float64 // and along it
	MinWall float64 // mm, a thinner wall is not counted on
}

// Candidates works out every basis, side by side. Sound and yielding need the
// remaining wall, and a wall of at least MinWall. Yielding says nothing of the
// axial load and takes the axial thickness of the sound basis with it; it holds
// only where the pipe reaches its allowable stress before the wrap reaches its
// strain,
//
//	s ≤ ε·E_s
//
// since otherwise the wall carries less than the formula credits it with
// (derived). Errors: *InputError. Sources: as Sound, Yielding and Ignored; that
// a wall under a stated thickness is not counted on is common practice, no
// source.
func (l Loading) Candidates(w *Working) ([]Candidate, error) {
	sound, yielding, nothing := Candidate{Basis: OnSound}, Candidate{Basis: OnYielding}, Candidate{Basis: OnNothing}
	var err error
	ignored := Ignored{D: l.D, P: l.P, F: l.FLow, Nu: l.Wrap.Nu, Ec: l.Wrap.Ec, Ea: l.Wrap.Ea}
	if nothing.Hoop, err = ignored.Hoop(l.Strain, w.Under("ignored/hoop")); err != nil {
		return nil, err
	}
	ignored.P, ignored.F = l.PLow, l.F
	if nothing.Axial, err = ignored.Axial(l.StrainA, w.Under("ignored/axial")); err != nil {
		return nil, err
	}
	switch {
	case !l.Rem.OK:
		sound.Missing = "the remaining wall is not known"
		yielding.Missing = sound.Missing
		return []Candidate{sound, yielding, nothing}, nil
	case !atLeast(l.Rem.V, l.MinWall):
		sound.Invalid = "a wall of " + trace.WithUnit(l.Rem.V, "mm") + " at the end of the life is under " + trace.WithUnit(l.MinWall, "mm") + ", which is not counted on"
		yielding.Invalid = sound.Invalid
	case !atMost(l.S, l.Strain*l.Es):
		yielding.Invalid = "the pipe reaches its allowable stress at a strain of " + trace.FormatNumber(l.S/l.Es, "") +
			", above the " + trace.FormatNumber(l.Strain, "") + " allowed to the wrap"
	}
	elastic := Sound{D: l.D, S: l.S, Es: l.Es}
	if elastic.Ps, err = SubstratePressure(l.D, l.S, l.Rem.V, w.Under("substrate")); err != nil {
		return nil, err
	}
	if sound.Hoop, err = elastic.Hoop(l.Wrap.Ec, l.P, w.Under("sound/hoop")); err != nil {
		return nil, err
	}
	if sound.Axial, err = elastic.Axial(l.Wrap.Ea, l.F, w.Under("sound/axial")); err != nil {
		return nil, err
	}
	if yielding.Hoop, err = Yielding(l.D, l.P, l.S, l.Rem.V, l.Strain, l.Wrap.Ec, w.Under("yield/hoop")); err != nil {
		return nil, err
	}
	yielding.Axial = sound.Axial
	return []Candidate{sound, yielding, nothing}, nil
}

// LeastOf is the candidate that asks for the least wrap among those that count,
// the first on a tie; ok is false where none counts. A thinned wall may be
// designed on any basis that is complete and valid for it, so the least of them
// is enough.
func LeastOf(candidates []Candidate) (least Candidate, ok bool) {
	for _, c := range candidates {
		if c.Counts() && (!ok || c.T() < least.T()) {
			least, ok = c, true
		}
	}
	return least, ok
}
