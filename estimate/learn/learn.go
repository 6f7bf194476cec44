// Package learn draws a number of the catalogue toward what crews used, the more
// so the more repairs tell of it. It knows quantities only.
//
// What repair i uses, y, of what was planned for it, x, in units of the mean of
// all x, is taken as f·x with a variance of σ²·x: use adds up, and so does its
// scatter. f and σ² have the conjugate prior of a straight line through the origin,
// normal-inverse-gamma: f about 1, what the catalogue says, with the variance σ²/w;
// σ² with w/2 and s²·w/2. Then f about (w + Σy)/(w + Σx) follows Student's t. w is
// the weight of the catalogue, in repairs of mean size, and s the scatter expected of
// one such repair. Form of the update from memory (Bayesian linear regression).
package learn

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Model says how much is believed before anything is seen.
type Model struct {
	Weight    float64 // of what the catalogue says, in repairs of mean size; above 0
	Spread    float64 // expected scatter of one repair, as a share of what is planned; above 0
	Certainty float64 // of the interval, above 0 and below 1
	Odd       float64 // a repair less likely than this, of both ends together, is named; from 0 to below 1
}

// Seen is what one repair used of what was planned for it, in any one unit.
type Seen struct {
	Of            string
	Planned, Used float64 // above 0; from 0
}

// Factor is what a number of the catalogue is to be multiplied by.
type Factor struct {
	N         int     // repairs that tell of it
	Plain     float64 // all that was used over all that was planned
	Mean      float64 // drawn toward 1
	Low, High float64 // ends of the interval; Low is never below 0
	Odd       []Odd   // those that do not go with the others; they count all the same
}

// Odd is a repair that used far more or less than the others say.
type Odd struct {
	Seen
	Without float64 // Mean if it did not count
}

// posterior is what is believed after something was seen.
type posterior struct{ mean, weight, shape, scale float64 }

// after is the posterior of sums over what was seen: of x, of y, and of y²/x.
func (m Model) after(n int, x, y, yyx float64) posterior {
	p := posterior{weight: m.Weight + x, shape: (m.Weight + float64(n)) / 2}
	p.mean = (m.Weight + y) / p.weight
	p.scale = (m.Weight*m.Spread*m.Spread + m.Weight + yyx - p.weight*p.mean*p.mean) / 2
	return p
}

// of is the distribution of a value that is off the mean by a variance of σ²·v.
func (p posterior) of(mean, v float64) distuv.StudentsT {
	return distuv.StudentsT{Mu: mean, Sigma: math.Sqrt(max(0, p.scale) / p.shape * v), Nu: 2 * p.shape}
}

// Factor is the factor that the repairs tell of. An error says which of the values
// of the model or of the repairs is out of its range.
func (m Model) Factor(seen []Seen) (out Factor, err error) {
	if !(m.Weight > 0 && m.Spread > 0 && m.Certainty > 0 && m.Certainty < 1 && m.Odd >= 0 && m.Odd < 1) {
		return out, fmt.Errorf("a model out of its range: %+v", m)
	}
	if len(seen) == 0 {
		return Factor{Plain: 1, Mean: 1, Low: 1, High: 1}, nil
	}
	var planned, used float64
	for _, s := range seen {
		if !(s.Planned > 0 && s.Used >= 0) || math.IsInf(s.Planned+s.Used, 0) {
			return out, fmt.Errorf("%s: %v used of %v", s.Of, s.Used, s.Planned)
		}
		planned, used = planned+s.Planned, used+s.Used
	}
	n := len(seen)
	unit := planned / float64(n)
	y, yyx := used/unit, 0.0
	for _, s := range seen {
		yyx += s.Used * s.Used / s.Planned / unit
	}
	p := m.after(n, float64(n), y, yyx)
	t := p.of(p.mean, 1/p.weight)
	tail := (1 - m.Certainty) / 2
	out = Factor{N: n, Plain: used / planned, Mean: p.mean, Low: max(0, t.Quantile(tail)), High: t.Quantile(1 - tail)}
	for _, s := range seen {
		// Each is held against what all the others say of it.
		a, b := s.Planned/unit, s.Used/unit
		rest := m.after(n-1, float64(n)-a, y-b, yyx-b*b/a)
		t := rest.of(rest.mean*a, a+a*a/rest.weight)
		if side := t.CDF(b); 2*min(side, 1-side) < m.Odd {
			out.Odd = append(out.Odd, Odd{Seen: s, Without: rest.mean})
		}
	}
	return out, nil
}

// Share is how many come on top of so many, as a share: found of those planned,
// drawn toward what the catalogue says. What is found follows Poisson's law, its
// rate the conjugate prior, gamma with the mean of the catalogue and the weight of the
// model; a catalogue that says none counts as half a one in that weight, since what was
// never looked for is not known to be none. An error says which value is out of range.
func (m Model) Share(says float64, found, planned int) (out Factor, err error) {
	if !(m.Weight > 0 && m.Certainty > 0 && m.Certainty < 1 && says >= 0) || found < 0 || planned <= 0 {
		return out, fmt.Errorf("%d found beside %d, the catalogue says %v", found, planned, says)
	}
	g := distuv.Gamma{Alpha: max(says*m.Weight, 0.5) + float64(found), Beta: m.Weight + float64(planned)}
	tail := (1 - m.Certainty) / 2
	return Factor{N: planned, Plain: float64(found) / float64(planned), Mean: g.Mean(), Low: g.Quantile(tail), High: g.Quantile(1 - tail)}, nil
}
