// Package spread draws the inputs of an estimate from what they may be and reads
// percentiles off what the draws came to. It knows numbers only: a low, a likely
// and a high value, how far the members of one input go together, and a seed.
//
// Draws are repeatable: what an input comes to in a draw follows from the seed,
// the number of the draw and the name of the input alone, so that one input that
// is spread wider leaves what the others come to as it was.
package spread

import (
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Shape is how a value lies between its low and its high end.
type Shape string

// The shapes. All have log-concave densities.
const (
	PERT       Shape = "pert"       // a beta distribution with mean (low + 4·likely + high)/6
	Triangular Shape = "triangular" // straight up to the likely value and down from it
	Even       Shape = "even"       // none likelier than another; Likely is only shown
)

// Three is a value of which the low, the likely and the high are known, in any
// one unit. Low ≤ Likely ≤ High; where all three are the same it is certain.
type Three struct {
	Low, Likely, High float64
	Shape             Shape
}

// Check says what is wrong with the three, if anything.
func (t Three) Check() error {
	switch {
	case math.IsNaN(t.Low+t.Likely+t.High) || math.IsInf(t.Low, 0) || math.IsInf(t.High, 0):
		return fmt.Errorf("low %g, likely %g and high %g must be numbers", t.Low, t.Likely, t.High)
	case !(t.Low <= t.Likely && t.Likely <= t.High):
		return fmt.Errorf("low %g, likely %g and high %g must rise", t.Low, t.Likely, t.High)
	case t.Shape != PERT && t.Shape != Triangular && t.Shape != Even:
		return fmt.Errorf("the shape %q is not known", t.Shape)
	}
	return nil
}

// Certain reports whether the value is one number.
func (t Three) Certain() bool { return t.Low == t.High }

// Quantile is the value that is not exceeded with probability u, from 0 to 1, in
// the unit of the three, which must pass Check.
func (t Three) Quantile(u float64) float64 {
	if t.Certain() {
		return t.Likely
	}
	switch t.Shape {
	case Triangular:
		return distuv.NewTriangle(t.Low, t.High, t.Likely, nil).Quantile(u)
	case Even:
		return distuv.Uniform{Min: t.Low, Max: t.High}.Quantile(u)
	}
	width := t.High - t.Low
	of := distuv.Beta{Alpha: 1 + 4*(t.Likely-t.Low)/width, Beta: 1 + 4*(t.High-t.Likely)/width}
	return t.Low + width*of.Quantile(u)
}

// Input is an input of the estimate with many members: the defects whose size is
// measured, the tasks, the prices.
type Input struct {
	Name  string
	Value Three
	alike float64   // correlation between any two members, by their normal scores
	steps []float64 // quantiles, worked out once for all members and draws
}

// quantiles is into how many steps a distribution is divided.
const quantiles = 4096

// NewInput makes an input. Alike, from 0 to 1, is the correlation between any two
// of its members: 1, all are off by the same; 0, each by its own.
func NewInput(name string, value Three, alike float64) (*Input, error) {
	if err := value.Check(); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if !(alike >= 0 && alike <= 1) {
		return nil, fmt.Errorf("%s: alike is %g, not from 0 to 1", name, alike)
	}
	in := &Input{Name: name, Value: value, alike: alike}
	if !value.Certain() {
		in.steps = make([]float64, quantiles+1)
		for i := range in.steps {
			in.steps[i] = value.Quantile(float64(i) / quantiles)
		}
	}
	return in, nil
}

// at is the quantile at u, from 0 to 1, straight between two steps.
func (in *Input) at(u float64) float64 {
	if in.Value.Certain() {
		return in.Value.Likely
	}
	x := u * quantiles
	i := min(int(x), quantiles-1)
	return in.steps[i] + (x-float64(i))*(in.steps[i+1]-in.steps[i])
}

// Draw is what one input comes to in one draw, member after member.
type Draw struct {
	of     *Input
	rand   *rand.Rand
	common float64 // normal score that all members share
	sum    float64
	n      int
}

// Draw begins the n-th draw of an input.
func (in *Input) Draw(seed uint64, n int) *Draw {
	h := fnv.New64a()
	fmt.Fprint(h, in.Name)
	d := &Draw{of: in, rand: rand.New(rand.NewPCG(seed^h.Sum64(), uint64(n)+1))}
	d.common = d.rand.NormFloat64()
	return d
}

// Next is what the next member of the input comes to.
func (d *Draw) Next() float64 {
	score := math.Sqrt(d.of.alike)*d.common + math.Sqrt(1-d.of.alike)*d.rand.NormFloat64()
	v := d.of.at(distuv.UnitNormal.CDF(score))
	d.sum, d.n = d.sum+v, d.n+1
	return v
}

// Pick is a whole number from 0 to n−1 by chance.
func (d *Draw) Pick(n int) int { return d.rand.IntN(n) }

// Even is a number from 0 to 1 by chance, none likelier than another.
func (d *Draw) Even() float64 { return d.rand.Float64() }

// Mean is the mean of the members drawn so far; the likely value before the first.
func (d *Draw) Mean() float64 {
	if d.n == 0 {
		return d.of.Value.Likely
	}
	return d.sum / float64(d.n)
}

// Percentile is the value that a share p, from 0 to 1, of the sample does not
// exceed, straight between its members, and the two members between which the
// true one lies with 95 % of certainty (order statistics, the binomial count by
// its normal approximation; common practice in non-parametric statistics).
// The sample must not be empty.
func Percentile(sample []float64, p float64) (value, low, high float64) {
	sorted := slices.Sorted(slices.Values(sample))
	n := float64(len(sorted))
	value = stat.Quantile(p, stat.LinInterp, sorted, nil)
	half := 1.959963984540054 * math.Sqrt(n*p*(1-p))
	at := func(rank float64) float64 { return sorted[int(math.Max(0, math.Min(n-1, rank)))] }
	return value, at(math.Floor(n*p-half) - 1), at(math.Ceil(n*p + half))
}

// Weight is how much of the spread of a sample goes with an input: the square of
// their rank correlation, from 0 to 1, and the means of the sample over the fifth
// of the draws in which the input is lowest and that in which it is highest.
func Weight(input, sample []float64) (share, low, high float64) {
	if slices.Min(input) == slices.Max(input) || slices.Min(sample) == slices.Max(sample) {
		return 0, stat.Mean(sample, nil), stat.Mean(sample, nil)
	}
	r := stat.Correlation(ranks(input), ranks(sample), nil)
	order := byValue(input)
	fifth := max(1, len(order)/5)
	mean := func(of []int) float64 {
		sum := 0.0
		for _, i := range of {
			sum += sample[i]
		}
		return sum / float64(len(of))
	}
	return r * r, mean(order[:fifth]), mean(order[len(order)-fifth:])
}

func byValue(v []float64) []int {
	order := make([]int, len(v))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case v[a] < v[b]:
			return -1
		case v[a] > v[b]:
			return 1
		}
		return 0
	})
	return order
}

// ranks are the places of the values in their order, the mean place where several
// are the same.
func ranks(v []float64) []float64 {
	order := byValue(v)
	out := make([]float64, len(v))
	for first := 0; first < len(order); {
		past := first + 1
		for past < len(order) && v[order[past]] == v[order[first]] {
			past++
		}
		for _, i := range order[first:past] {
			out[i] = float64(first+past-1) / 2
		}
		first = past
	}
	return out
}
