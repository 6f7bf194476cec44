package mix

import (
	"cmp"
	"math"
	"slices"

	"wraptally/estimate/trace"
)

const (
	// GasConstant R in J/(mol·K), exact since the 2019 SI (CODATA 2018) [from memory].
	GasConstant = 8.314462618
	// ActivationEnergy is the usual Ea in kJ/mol: the value at which the
	// working life halves from 20 to 30 °C, R·ln 2/(1/293.15 − 1/303.15)
	// = 51.2 (derived; a rule of the trade, no source).
	ActivationEnergy = 51.2
	// Beyond is how far past the tabulated temperatures, in °C, the working
	// life is usually carried on (common practice, no source); see Life.Past.
	Beyond = 10.0

	kelvin = 273.15
)

// Point is one tested working life.
type Point struct {
	Mass        float64 // kg, > 0
	Temperature float64 // °C
	Minutes     float64 // > 0
}

// Basis says how a working life was found.
type Basis string

// The ways.
const (
	AtPoint   Basis = "tabulated"
	Between   Basis = "between points"
	PastPoint Basis = "carried on past the last point"
)

// Working is the working life of a mass.
type Working struct {
	Minutes   float64
	Tabulated float64 // the tested mass it is taken from, ≥ the mass asked for
	Basis     Basis
	From, To  Point // the points used; equal unless Between
}

// Life answers for the working life of one material.
type Life struct {
	curves []curve // by rising mass
	energy float64 // kJ/mol
	beyond float64 // °C past the ends
}

// Past is the same life carried on at most so many °C past the tabulated
// temperatures, instead of Beyond; 0 carries nothing on.
func (l *Life) Past(beyond float64) *Life {
	out := *l
	out.beyond = max(0, beyond)
	return &out
}

// curve is the points of one mass by rising temperature.
type curve struct {
	mass   float64
	points []Point
}

// NewLife prepares the points of one material; energy is the activation energy
// in kJ/mol used past the ends. Refused are points that contradict each other:
// two for one mass and temperature, a life that rises with temperature, or a
// heavier mass that lasts longer than a lighter one.
func NewLife(points []Point, energy float64) (*Life, error) {
	if len(points) == 0 {
		return nil, inputError("no point of working life")
	}
	if !(energy > 0) || math.IsInf(energy, 0) {
		return nil, inputError("activation energy %g kJ/mol", energy)
	}
	sorted := slices.Clone(points)
	slices.SortStableFunc(sorted, func(a, b Point) int {
		return cmp.Or(cmp.Compare(a.Mass, b.Mass), cmp.Compare(a.Temperature, b.Temperature))
	})
	l := &Life{energy: energy, beyond: Beyond}
	for _, p := range sorted {
		if !(p.Mass > 0) || !(p.Minutes > 0) || !(p.Temperature > -kelvin) || math.IsInf(p.Mass+p.Minutes+p.Temperature, 0) {
			return nil, inputError("working life of %g kg at %g °C: %g min", p.Mass, p.Temperature, p.Minutes)
		}
		if n := len(l.curves); n == 0 || l.curves[n-1].mass != p.Mass {
			l.curves = append(l.curves, curve{mass: p.Mass})
		}
		c := &l.curves[len(l.curves)-1]
		if n := len(c.points); n > 0 {
			q := c.points[n-1]
			if q.Temperature == p.Temperature {
				return nil, inputError("two working lives of %g kg at %g °C: %g and %g min", p.Mass, p.Temperature, q.Minutes, p.Minutes)
			}
			if p.Minutes > q.Minutes {
				return nil, inputError("working life of %g kg rises from %g min at %g °C to %g min at %g °C",
					p.Mass, q.Minutes, q.Temperature, p.Minutes, p.Temperature)
			}
		}
		c.points = append(c.points, p)
	}
	return l, l.ordered()
}

// ordered refuses a heavier mass that lasts longer. Both curves are straight in
// the logarithm between their points, so comparing at the points is enough.
func (l *Life) ordered() error {
	for i := 1; i < len(l.curves); i++ {
		light, heavy := &l.curves[i-1], &l.curves[i]
		for _, p := range slices.Concat(light.points, heavy.points) {
			a, inA := light.inside(p.Temperature)
			b, inB := heavy.inside(p.Temperature)
			if inA && inB && b.Minutes > a.Minutes*(1+1e-9) {
				return inputError("at %g °C %g kg last %.1f min, longer than %g kg with %.1f min",
					p.Temperature, heavy.mass, b.Minutes, light.mass, a.Minutes)
			}
		}
	}
	return nil
}

// inside is the life at a temperature between the ends of the curve.
func (c *curve) inside(temperature float64) (Working, bool) {
	i, hit := slices.BinarySearchFunc(c.points, temperature, func(p Point, t float64) int { return cmp.Compare(p.Temperature, t) })
	if hit {
		return Working{c.points[i].Minutes, c.mass, AtPoint, c.points[i], c.points[i]}, true
	}
	if i == 0 || i == len(c.points) {
		return Working{}, false
	}
	p, q := c.points[i-1], c.points[i]
	share := (temperature - p.Temperature) / (q.Temperature - p.Temperature)
	return Working{p.Minutes * math.Pow(q.Minutes/p.Minutes, share), c.mass, Between, p, q}, true
}

// Arrhenius carries a time t at the temperature from, °C, to the temperature
// to: t·exp(Ea/R·(1/T_to − 1/T_from)) with T in kelvin and Ea in kJ/mol.
func Arrhenius(t, from, to, energy float64) float64 {
	return t * math.Exp(energy*1000/GasConstant*(1/(to+kelvin)-1/(from+kelvin)))
}

// at is the life of the curve's mass, carried on at most beyond past the ends.
func (c *curve) at(temperature, energy, beyond float64) (Working, bool) {
	if w, ok := c.inside(temperature); ok {
		return w, true
	}
	end := c.points[0]
	if temperature > end.Temperature {
		end = c.points[len(c.points)-1]
	}
	if !(math.Abs(temperature-end.Temperature) <= beyond) {
		return Working{}, false
	}
	return Working{Arrhenius(end.Minutes, end.Temperature, temperature, energy), c.mass, PastPoint, end, end}, true
}

// all is the life of each tested mass known at the temperature, by rising mass.
func (l *Life) all(temperature float64) []Working {
	var known []Working
	for i := range l.curves {
		w, ok := l.curves[i].at(temperature, l.energy, l.beyond)
		if !ok {
			continue
		}
		// Past the ends curves may cross; a heavier mass never lasts longer.
		if n := len(known); n > 0 && known[n-1].Minutes < w.Minutes {
			w.Minutes = known[n-1].Minutes
		}
		known = append(known, w)
	}
	return known
}

// outside says between which temperatures there is an answer for the mass.
func (l *Life) outside(mass, temperature float64) error {
	e := &RangeError{temperature, math.Inf(1), math.Inf(-1)}
	for _, c := range l.curves {
		if c.mass >= mass {
			e.Low = min(e.Low, c.points[0].Temperature-l.beyond)
			e.High = max(e.High, c.points[len(c.points)-1].Temperature+l.beyond)
		}
	}
	return e
}

func (l *Life) step(mass, temperature float64, w Working) trace.Step {
	s := trace.Step{
		ID: "life", Name: "working life", Rule: "mix.life", Value: w.Minutes, Unit: "min",
		Inputs: []trace.Input{
			trace.In("m", "mass", mass, "kg"),
			trace.In("M", "tested mass it is taken from", w.Tabulated, "kg", trace.Words("working life points")),
			trace.In("T", "temperature", temperature, "°C"),
			trace.In("t1", "working life at T1", w.From.Minutes, "min", trace.Words("working life points")),
			trace.In("T1", "temperature of the point", w.From.Temperature, "°C", trace.Words("working life points")),
		},
	}
	switch w.Basis {
	case AtPoint:
		s.Formula, s.Source = "t1", "tabulated"
	case Between:
		s.Formula, s.Source = "t1·(t2/t1)^((T − T1)/(T2 − T1))", "log-linear between points, common practice, no source"
		s.Inputs = append(s.Inputs,
			trace.In("t2", "working life at T2", w.To.Minutes, "min", trace.Words("working life points")),
			trace.In("T2", "temperature of the next point", w.To.Temperature, "°C", trace.Words("working life points")))
	default:
		s.Formula, s.Source = "t1·exp(Ea/R·(1/(T + 273.15) − 1/(T1 + 273.15)))", "Arrhenius, past the last point"
		s.Inputs = append(s.Inputs,
			trace.In("Ea", "activation energy", l.energy, "kJ/mol", trace.Setting("mix.activation_energy")),
			trace.In("R", "gas constant", GasConstant/1000, "kJ/(mol·K)", trace.Words("CODATA")))
	}
	return s
}
