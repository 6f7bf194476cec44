package design

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// within draws a number spread evenly over the decades between low and high.
func within(t *rapid.T, name string, low, high float64) float64 {
	return math.Exp(rapid.Float64Range(math.Log(low), math.Log(high)).Draw(t, name))
}

func drawHole(t *rapid.T) Hole {
	return Hole{
		D: within(t, "d", 1, 200), Gamma: within(t, "γ", 20, 1000), Eac: within(t, "Eac", 2e3, 1e5),
		G: within(t, "G", 500, 1e4), Nu: rapid.Float64Range(0, 0.5).Draw(t, "ν"), F: rapid.Float64Range(0.1, 1).Draw(t, "f"),
	}
}

func value(t *rapid.T) func(float64, error) float64 {
	return func(v float64, err error) float64 {
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func same(t *rapid.T, what string, got, want, tol float64) {
	if !(math.Abs(got-want) <= tol*math.Max(math.Abs(got), math.Abs(want))) {
		t.Fatalf("%s: %.15g, want %.15g", what, got, want)
	}
}

// A thicker wrap never holds less, a larger hole never more, and nothing holds
// more than the ceiling.
func TestHoleMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h, thick := drawHole(t), within(t, "t", 0.1, 1e4)
		p := value(t)(h.Pressure(thick, nil))
		if more := value(t)(h.Pressure(thick*rapid.Float64Range(1, 3).Draw(t, "thicker"), nil)); more < p {
			t.Fatalf("thicker holds %v, less than %v", more, p)
		}
		if top := value(t)(h.Ceiling(nil)); p > top {
			t.Fatalf("holds %v, above the ceiling %v", p, top)
		}
		h.D *= rapid.Float64Range(1, 3).Draw(t, "larger")
		if less := value(t)(h.Pressure(thick, nil)); less > p {
			t.Fatalf("a larger hole holds %v, more than %v", less, p)
		}
	})
}

// t → ∞: the pressure held tends to the ceiling. d → 0: the thickness needed
// tends to nothing.
func TestHoleLimits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := drawHole(t)
		same(t, "thick wrap", value(t)(h.Pressure(1e9*h.D, nil)), value(t)(h.Ceiling(nil)), 1e-6)
		p := value(t)(h.Ceiling(nil)) * rapid.Float64Range(0.01, 0.99).Draw(t, "share")
		last := math.Inf(1)
		for range 12 {
			got, err := h.Thickness(p, nil)
			if err != nil {
				t.Fatal(err)
			}
			if got.T > last {
				t.Fatalf("hole %v needs %v, the larger one needed %v", h.D, got.T, last)
			}
			last, h.D = got.T, h.D/10
		}
		if last > 1e-3 {
			t.Fatalf("a vanishing hole still needs %v mm", last)
		}
	})
}

// The thickness solved for holds exactly the pressure it was solved for, and
// the ceiling divides what is repairable from what is not.
func TestHoleSolves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := drawHole(t)
		top := value(t)(h.Ceiling(nil))
		p := top * rapid.Float64Range(1e-4, 0.999).Draw(t, "share")
		got, err := h.Thickness(p, nil)
		if err != nil {
			t.Fatal(err)
		}
		same(t, "pressure held", value(t)(h.Pressure(got.T, nil)), p, 1e-12)
		_, err = h.Thickness(top*rapid.Float64Range(1, 10).Draw(t, "above"), nil)
		var no *NotRepairable
		if !errors.As(err, &no) || no.Ceiling != top {
			t.Fatalf("at or above the ceiling: %v", err)
		}
	})
}

// lengths and pressures in other units: k multiplies every length, c every
// pressure. Forces go with k²·c, energies of fracture with k·c.
type scale struct{ k, c float64 }

func (s scale) length(v float64) float64 { return v * s.k }
func (s scale) stress(v float64) float64 { return v * s.c }
func (s scale) hole(h Hole) Hole {
	h.D, h.Eac, h.G, h.Gamma = s.length(h.D), s.stress(h.Eac), s.stress(h.G), h.Gamma*s.k*s.c
	return h
}
func (s scale) load(l load) load {
	for _, v := range []*float64{&l.D, &l.Rem} {
		*v = s.length(*v)
	}
	for _, v := range []*float64{&l.P, &l.Stress, &l.Ps.V, &l.Es, &l.Ec, &l.Ea} {
		*v = s.stress(*v)
	}
	l.F.V *= s.k * s.k * s.c
	l.hole = s.hole(l.hole)
	return l
}

// load is a pipe, its wrap and what acts on them: all that the formulas of the
// thickness ask for.
type load struct {
	D, P, Stress, Rem, Es, Ec, Ea, Strain float64
	F                                     Num // unknown: EndThrust
	Ps                                    Num // unknown: SubstratePressure
	hole                                  Hole
}

func drawLoad(t *rapid.T) load {
	h := drawHole(t)
	D := within(t, "D", 30, 2000)
	stress := within(t, "s", 50, 400)
	rem := D * rapid.Float64Range(0, 0.05).Draw(t, "t_rem/D")
	l := load{
		D: D, P: within(t, "P", 0.05, 40), F: Known(within(t, "F", 1, 1e7)), Stress: stress, Rem: rem, Es: within(t, "Es", 7e4, 2.1e5),
		Ec: within(t, "Ec", 3e3, 1.5e5), Ea: within(t, "Ea", 3e3, 1.5e5), Strain: within(t, "ε", 5e-4, 1e-2), hole: h,
	}
	if rapid.Bool().Draw(t, "Ps given") {
		l.Ps = Known(within(t, "Ps", 0.01, 20))
	}
	return l
}

// bases are the ways to count on the pipe: it shares the load and stays elastic,
// it may yield, it carries nothing, or it has a hole. Each gives the thicknesses
// of which the greatest is needed.
var bases = map[string]func(load) ([]Thickness, error){
	"sound": func(l load) ([]Thickness, error) {
		s, F, err := l.sound()
		if err != nil {
			return nil, err
		}
		hoop, err := s.Hoop(l.Ec, l.P, nil)
		axial, err2 := s.Axial(l.Ea, F, nil)
		return []Thickness{hoop, axial}, errors.Join(err, err2)
	},
	"yield": func(l load) ([]Thickness, error) {
		s, F, err := l.sound()
		if err != nil {
			return nil, err
		}
		hoop, err := Yielding(l.D, l.P, l.Stress, l.Rem, l.Strain, l.Ec, nil)
		axial, err2 := s.Axial(l.Ea, F, nil)
		return []Thickness{hoop, axial}, errors.Join(err, err2)
	},
	"ignored": func(l load) ([]Thickness, error) {
		_, F, err := l.sound()
		if err != nil {
			return nil, err
		}
		g := Ignored{D: l.D, P: l.P, F: F, Nu: l.hole.Nu, Ec: l.Ec, Ea: l.Ea}
		hoop, err := g.Hoop(l.Strain, nil)
		axial, err2 := g.Axial(l.Strain, nil)
		return []Thickness{hoop, axial}, errors.Join(err, err2)
	},
	"hole": func(l load) ([]Thickness, error) {
		h, err := l.hole, error(nil)
		if h.Eac, err = MeanModulus(l.Ea, l.Ec, nil); err != nil {
			return nil, err
		}
		got, err := h.Thickness(l.P, nil)
		return []Thickness{got}, err
	},
}

// sound gathers the inputs of the elastic pipe, and the axial force.
func (l load) sound() (Sound, float64, error) {
	var err error
	if !l.Ps.OK {
		if l.Ps.V, err = SubstratePressure(l.D, l.Stress, l.Rem, nil); err != nil {
			return Sound{}, 0, err
		}
	}
	if !l.F.OK {
		if l.F.V, err = EndThrust(l.D, l.P, nil); err != nil {
			return Sound{}, 0, err
		}
	}
	return Sound{D: l.D, S: l.Stress, Es: l.Es, Ps: l.Ps.V}, l.F.V, nil
}

// need is the thickness on a basis, the greatest of them.
func (l load) need(t *rapid.T, basis string) float64 {
	got, err := bases[basis](l)
	if err != nil {
		t.Fatal(err)
	}
	most := 0.0
	for _, g := range got {
		most = max(most, g.T)
	}
	return most
}

// Scaling all lengths by k with pressures fixed scales every thickness by k;
// changing the unit of pressure (MPa to psi: 145.0377) changes no thickness.
func TestDimensions(t *testing.T) {
	for name, s := range map[string]scale{
		"lengths": {k: 3.7, c: 1}, "mm to inches": {k: 1 / 25.4, c: 1}, "MPa to psi": {k: 1, c: 145.0377}, "both": {k: 1 / 25.4, c: 145.0377},
	} {
		t.Run(name, rapid.MakeCheck(func(t *rapid.T) {
			l := drawLoad(t)
			for _, basis := range []string{"sound", "yield", "ignored", "hole"} {
				before, err := bases[basis](l)
				after, err2 := bases[basis](s.load(l))
				if (err == nil) != (err2 == nil) {
					t.Fatalf("%s: %v, then %v", basis, err, err2)
				}
				if err != nil {
					continue
				}
				// The differences in the formulas cancel digits: compare against
				// the largest term, not against what is left of it.
				size := 1e-3 * s.length(l.D)
				for _, b := range before {
					size += s.length(math.Abs(b.Raw))
				}
				for i := range before {
					b, a := s.length(before[i].Raw), after[i].Raw
					if math.Abs(b-a) > 1e-9*size && a < 1e3*s.length(l.D) {
						t.Fatalf("%s: %v scales to %v", basis, before[i].Raw, a)
					}
				}
			}
			h := drawHole(t)
			same(t, "ceiling", value(t)(s.hole(h).Ceiling(nil)), s.stress(value(t)(h.Ceiling(nil))), 1e-12)

			r := PCC2Reach()
			wall := l.D * 0.03
			got, err := r.Over(l.D, Known(wall), 100, nil)
			if err != nil {
				t.Fatal(err)
			}
			r.Minimum = s.length(r.Minimum)
			other, err := r.Over(s.length(l.D), Known(s.length(wall)), s.length(100), nil)
			if err != nil {
				t.Fatal(err)
			}
			same(t, "reach", other.Over, s.length(got.Over), 1e-12)
		}))
	}
}

// More pressure never needs less wrap, more remaining wall never more.
func TestThicknessMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := drawLoad(t)
		l.F = Num{} // end thrust follows the pressure
		more := l
		more.P *= rapid.Float64Range(1, 2).Draw(t, "pressure")
		for _, basis := range []string{"sound", "yield"} {
			low, high := l.need(t, basis), more.need(t, basis)
			if high < low*(1-1e-12) {
				t.Fatalf("%s: more pressure needs %v, less than %v", basis, high, low)
			}
			sound := l
			sound.Rem *= rapid.Float64Range(1, 2).Draw(t, "wall")
			if thin := sound.need(t, basis); thin > low*(1+1e-12) {
				t.Fatalf("%s: more wall needs %v, more than %v", basis, thin, low)
			}
		}
		// On the ignored basis the greater of the two is what grows.
		if low, high := l.need(t, "ignored"), more.need(t, "ignored"); high < low*(1-1e-12) {
			t.Fatalf("ignored: %v, then %v", low, high)
		}
	})
}

// Whatever the numbers, a rule gives a finite result or a typed error: never a
// panic, a silent NaN or an error of the solver.
func TestAnyNumber(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		any := func(name string) float64 {
			if rapid.Bool().Draw(t, name+" sane") {
				return math.Exp(rapid.Float64Range(-700, 700).Draw(t, name))
			}
			return rapid.Float64().Draw(t, name)
		}
		check := func(rule string, v float64, err error) {
			if err == nil {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Fatalf("%s gives %v", rule, v)
				}
				return
			}
			if !errors.As(err, new(*InputError)) && !errors.As(err, new(*RangeError)) && !errors.As(err, new(*NotRepairable)) {
				t.Fatalf("%s: untyped error %v", rule, err)
			}
		}
		h := Hole{D: any("d"), Gamma: any("γ"), Eac: any("Eac"), G: any("G"), Nu: rapid.Float64Range(0, 0.99).Draw(t, "ν"), F: 1}
		thick, err := h.Thickness(any("P"), nil)
		check("hole", thick.T, err)
		p, err := h.Pressure(any("t"), nil)
		check("pressure", p, err)
		s := Sound{D: any("D"), S: any("s"), Es: any("Es"), Ps: any("Ps")}
		thick, err = s.Hoop(any("Ec"), any("P"), nil)
		check("sound hoop", thick.T, err)
		thick, err = s.Axial(any("Ea"), any("F"), nil)
		check("sound axial", thick.T, err)
		thick, err = Yielding(any("D"), any("P"), any("s"), any("trem"), 0.0025, any("Ec"), nil)
		check("yielding", thick.T, err)
		reach, err := PCC2Reach().Over(any("D"), Known(any("t")), any("run"), nil)
		check("reach", reach.Over, err)
		f, err := usualTemperature().Factor(any("Tm"), any("Td"), nil)
		check("temperature", f, err)
		f, err = WMOMagnus().DewPoint(any("T"), any("RH"), nil)
		check("dew point", f, err)
		arcs, err := Bend{D: any("D"), Radius: any("R"), Angle: any("θ")}.Arcs(nil)
		check("bend", arcs.Outer, err)
		f, err = WrapThickness(rapid.IntRange(-1, 100).Draw(t, "p"), rapid.Float64Range(0, 0.99).Draw(t, "o"), any("ply"), nil)
		check("wrap", f, err)
		f, err = Taper(any("ratio"), any("t_wrap"), nil)
		check("taper", f, err)
		life, err := lives.At(any("n"), nil)
		check("life", life.Value, err)
	})
}

// The temperature factor rises with the margin and never leaves (0, 1].
func TestTemperatureMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(0, 200).Draw(t, "x")
		more := x + rapid.Float64Range(0, 50).Draw(t, "more")
		r := usualTemperature()
		a, b := value(t)(r.Factor(100, 100-x, nil)), value(t)(r.Factor(100, 100-more, nil))
		if b < a || a <= 0 || b > 1 {
			t.Fatalf("factor %v at %v, %v at %v", a, x, b, more)
		}
	})
}

// A longer life never has more strain, and between two points the value lies
// between theirs.
func TestLifeMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.Float64Range(0.1, 20).Draw(t, "years")
		b := rapid.Float64Range(a, 20).Draw(t, "longer")
		short, err := lives.At(a, nil)
		long, err2 := lives.At(b, nil)
		if err != nil || err2 != nil || long.Value > short.Value || long.Value < 0.5 || short.Value > 0.8 {
			t.Fatalf("%v years: %v %v; %v years: %v %v", a, short, err, b, long, err2)
		}
	})
}

// Passes lay at least the layers asked for, and one pass fewer would not.
func TestPassesEnough(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 60).Draw(t, "layers")
		o := rapid.Float64Range(0, 0.9).Draw(t, "overlap")
		p, err := Passes(n, o, nil)
		if err != nil {
			t.Fatal(err)
		}
		laid := func(p int) float64 { return float64(p) / (1 - o) }
		if laid(p) < float64(n)*(1-1e-6) || p > 1 && laid(p-1) > float64(n)*(1+1e-6) {
			t.Fatalf("%d layers at %v: %d passes lay %v", n, o, p, laid(p))
		}
	})
}

// The dew point is never above the air temperature and rises with the humidity.
func TestDewPointMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		air := rapid.Float64Range(-40, 50).Draw(t, "air")
		rh := rapid.Float64Range(1, 100).Draw(t, "RH")
		more := rapid.Float64Range(rh, 100).Draw(t, "more")
		for _, m := range []Magnus{WMOMagnus(), alduchovMagnus()} {
			a, b := value(t)(m.DewPoint(air, rh, nil)), value(t)(m.DewPoint(air, more, nil))
			if a > b+1e-12 || b > air+1e-9 {
				t.Fatalf("%v °C: dew point %v at %v %%, %v at %v %%", air, a, rh, b, more)
			}
		}
	})
}

// Bisection finds the root of a straight line to neighbouring doubles, and says
// so where there is none.
func TestBisect(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		root := within(t, "root", 1e-12, 1e12)
		got, err := bisect(func(x float64) float64 { return x - root }, root/3, root*2)
		if err != nil || got != root {
			t.Fatalf("%v, %v; want %v", got, err, root)
		}
		if _, err := bisect(func(x float64) float64 { return x - root }, root*2, root*3); err == nil {
			t.Fatal("a root where there is none")
		}
	})
}
