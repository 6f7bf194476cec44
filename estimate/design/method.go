package design

import "wraptally/estimate/trace"

// Basis is what a preliminary thickness counts on.
type Basis string

// The bases.
const (
	SoundPipe    Basis = "sound"   // pipe and wrap share the load, the pipe stays elastic
	YieldingPipe Basis = "yield"   // the remaining wall may yield, the wrap is kept to its strain
	IgnoredPipe  Basis = "ignored" // the wrap carries everything
	HoleInPipe   Basis = "hole"    // a round hole through the wall, the bond decides
)

// Bases lists the bases.
func Bases() []Basis { return []Basis{SoundPipe, YieldingPipe, IgnoredPipe, HoleInPipe} }

// Text says in words what the basis counts on, for a heading or a column.
func (b Basis) Text() string {
	switch b {
	case SoundPipe:
		return "pipe stays elastic, pipe and wrap share the load"
	case YieldingPipe:
		return "remaining wall may yield, wrap kept to its allowable strain"
	case IgnoredPipe:
		return "pipe not counted on, wrap carries the whole load"
	case HoleInPipe:
		return "round hole through the wall, held by the bond round it"
	default:
		return string(b)
	}
}

// Load is everything that the bases may ask for. What is unknown is missed only
// where the chosen basis needs it.
type Load struct {
	D       Num // mm, outside diameter
	P       Num // MPa, design pressure
	F       Num // N, axial force including end thrust; unknown: EndThrust
	Stress  Num // MPa, allowable stress of the pipe
	Rem     Num // mm, remaining wall
	Ps      Num // MPa, pressure the remaining wall carries; unknown: SubstratePressure
	Es      Num // MPa, modulus of the pipe
	Ec, Ea  Num // MPa, moduli of the wrap round and along the pipe
	Nu      Num // Poisson's ratio of the wrap
	Strain  Num // allowable strain round the pipe
	StrainA Num // allowable strain along the pipe; unknown: as Strain
	Hole    Num // mm, diameter of the hole
	Gamma   Num // J/m², energy release rate of the bond
	G       Num // MPa, shear modulus of the wrap
	Service Num // service factor f of the hole formula
}

// Preliminary is the thickness that a basis asks for.
type Preliminary struct {
	Basis       Basis
	Hoop, Axial Thickness
	Hole        Thickness
	T           float64 // mm, the greatest of them, 0 at the least
	Governs     string  // "hoop", "axial" or "hole"; "" where T is 0
	HoopOnly    bool    // the axial load was left out, its inputs are unknown
}

// Thickness is the preliminary thickness on the basis: the greater of what the
// hoop and the axial load ask for, each by the basis's own formula. On the
// yielding basis the axial load is that of Sound.Axial, where the axial inputs
// are known, since the yielding formula has none of its own; where they are not
// the result says HoopOnly. The hole basis is Hole.Thickness alone: where the
// pipe round the hole is thinned as well, take the greater of it and another
// basis.
//
// Errors: *NotRepairable on the hole basis; *MissingError listing all that the basis needs and the load does not
// have; else those of the formulas. Source: of the formulas.
func (b Basis) Thickness(l Load, w *Working) (Preliminary, error) {
	if err := b.missing(l); err != nil {
		return Preliminary{}, err
	}
	if b == HoleInPipe {
		return l.hole(w)
	}
	got := Preliminary{Basis: b}
	F, err := l.force(w)
	if err != nil {
		return got, err
	}
	// The steps below say that F and P_s come from the steps that made them.
	v := w
	if !l.F.OK {
		v = v.Knowing("F", w.Under("thrust").Ref())
	}
	if !l.Ps.OK {
		v = v.Knowing("P_s", w.Under("substrate").Ref())
	}
	switch b {
	case SoundPipe:
		sound, err := l.sound(w)
		if err != nil {
			return got, err
		}
		if got.Hoop, err = sound.Hoop(l.Ec.V, l.P.V, v.Under("hoop")); err != nil {
			return got, err
		}
		if got.Axial, err = sound.Axial(l.Ea.V, F, v.Under("axial")); err != nil {
			return got, err
		}
	case YieldingPipe:
		if got.Hoop, err = Yielding(l.D.V, l.P.V, l.Stress.V, l.Rem.V, l.Strain.V, l.Ec.V, v.Under("hoop")); err != nil {
			return got, err
		}
		got.HoopOnly = !l.Es.OK || !l.Ea.OK
		if !got.HoopOnly {
			sound, err := l.sound(w)
			if err != nil {
				return got, err
			}
			if got.Axial, err = sound.Axial(l.Ea.V, F, v.Under("axial")); err != nil {
				return got, err
			}
		}
	case IgnoredPipe:
		ignored := Ignored{D: l.D.V, P: l.P.V, F: F, Nu: l.Nu.V, Ec: l.Ec.V, Ea: l.Ea.V}
		if got.Hoop, err = ignored.Hoop(l.Strain.V, v.Under("hoop")); err != nil {
			return got, err
		}
		strainA := l.StrainA
		if !strainA.OK {
			strainA = l.Strain
		}
		if got.Axial, err = ignored.Axial(strainA.V, v.Under("axial")); err != nil {
			return got, err
		}
	}
	got.T = max(got.Hoop.T, got.Axial.T)
	switch {
	case got.T == 0:
	case got.Hoop.T >= got.Axial.T:
		got.Governs = "hoop"
	default:
		got.Governs = "axial"
	}
	w.note(func() trace.Step {
		s := trace.Step{
			Name: "preliminary wrap thickness: " + b.Text(), Rule: "design.method.thickness",
			Formula: "t_req = max(t_hoop, t_axial, 0)",
			Inputs: []trace.Input{
				trace.In("t_hoop", "for the hoop load", got.Hoop.Raw, "mm", w.Under("hoop").Ref()),
				trace.In("t_axial", "for the axial load", got.Axial.Raw, "mm", w.Under("axial").Ref()),
			},
			Value: got.T, Unit: "mm", Source: wrapForms,
		}
		if got.HoopOnly {
			s.Name += ", axial load not checked"
			s.Formula, s.Inputs = "t_req = max(t_hoop, 0)", s.Inputs[:1]
		}
		return s
	})
	return got, nil
}

// hole is the thickness on the hole basis.
func (l Load) hole(w *Working) (Preliminary, error) {
	got := Preliminary{Basis: HoleInPipe}
	mean, err := MeanModulus(l.Ea.V, l.Ec.V, w.Under("modulus"))
	if err != nil {
		return got, err
	}
	h := Hole{D: l.Hole.V, Gamma: l.Gamma.V, Eac: mean, G: l.G.V, Nu: l.Nu.V, F: l.Service.V}
	if got.Hole, err = h.Thickness(l.P.V, w.Knowing("E_ac", w.Under("modulus").Ref())); err != nil {
		return got, err
	}
	if got.T = got.Hole.T; got.T > 0 {
		got.Governs = "hole"
	}
	return got, nil
}

// force is the axial force, or the end thrust where it is not given.
func (l Load) force(w *Working) (float64, error) {
	if l.F.OK {
		return l.F.V, nil
	}
	return EndThrust(l.D.V, l.P.V, w.Under("thrust"))
}

// sound gathers the inputs of the sound basis.
func (l Load) sound(w *Working) (Sound, error) {
	ps := l.Ps
	if !ps.OK {
		p, err := SubstratePressure(l.D.V, l.Stress.V, l.Rem.V, w.Under("substrate"))
		if err != nil {
			return Sound{}, err
		}
		ps = Known(p)
	}
	return Sound{D: l.D.V, S: l.Stress.V, Es: l.Es.V, Ps: ps.V}, nil
}

// missing lists what the basis needs and the load does not have.
func (b Basis) missing(l Load) error {
	const name = "design.method.thickness"
	e := &MissingError{Rule: name}
	need := func(n Num, symbol, what string) {
		if !n.OK {
			e.Symbols, e.Names = append(e.Symbols, symbol), append(e.Names, what)
		}
	}
	if b != HoleInPipe {
		need(l.D, "D", "outside diameter")
	}
	need(l.P, "P", "design pressure")
	switch b {
	case SoundPipe:
		need(l.Stress, "s", "allowable stress of the pipe")
		if !l.Ps.OK {
			need(l.Rem, "t_rem", "remaining wall")
		}
		need(l.Es, "E_s", "modulus of the pipe")
		need(l.Ec, "E_c", "modulus of the wrap, round the pipe")
		need(l.Ea, "E_a", "modulus of the wrap, along the pipe")
	case YieldingPipe:
		need(l.Stress, "s", "allowable stress of the pipe")
		need(l.Rem, "t_rem", "remaining wall")
		need(l.Strain, "ε", "allowable strain, round the pipe")
		need(l.Ec, "E_c", "modulus of the wrap, round the pipe")
	case IgnoredPipe:
		need(l.Nu, "ν", "Poisson's ratio of the wrap")
		need(l.Strain, "ε", "allowable strain, round the pipe")
		need(l.Ec, "E_c", "modulus of the wrap, round the pipe")
		need(l.Ea, "E_a", "modulus of the wrap, along the pipe")
	case HoleInPipe:
		need(l.Hole, "d", "diameter of the hole")
		need(l.Gamma, "γ", "energy release rate of the bond")
		need(l.Ec, "E_c", "modulus of the wrap, round the pipe")
		need(l.Ea, "E_a", "modulus of the wrap, along the pipe")
		need(l.G, "G", "shear modulus of the wrap")
		need(l.Nu, "ν", "Poisson's ratio of the wrap")
		need(l.Service, "f", "service factor")
	default:
		need(Num{}, "basis", "one of sound, yield, ignored, hole")
	}
	if len(e.Symbols) == 0 {
		return nil
	}
	return e
}
