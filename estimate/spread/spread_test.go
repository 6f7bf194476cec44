package spread_test

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"

	"wraptally/estimate/spread"
	_ "wraptally/estimate/trace/depth"
)

var shapes = []spread.Shape{spread.PERT, spread.Triangular, spread.Even}

// three draws three numbers that rise, within bounds.
func three(t *rapid.T) spread.Three {
	low := rapid.Float64Range(-50, 50).Draw(t, "low")
	likely := low + rapid.Float64Range(0, 40).Draw(t, "up")
	return spread.Three{Low: low, Likely: likely, High: likely + rapid.Float64Range(0.1, 60).Draw(t, "further"), Shape: rapid.SampledFrom(shapes).Draw(t, "shape")}
}

// The mean of a PERT estimate is (a + 4m + b)/6 and its variance (μ−a)(b−μ)/7
// (D. G. Malcolm and others, 1959, for the mean; the beta distribution's own
// variance; both from memory), that of a triangle (a+b+c)/3 and
// (a²+b²+c²−ab−ac−bc)/18 (handbooks of statistics, from memory). Held against the
// quantile function, integrated by another hand: mean = ∫Q(u)du.
func TestMomentsAreThoseOfTheQuantiles(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := three(t)
		mean := quad.Fixed(v.Quantile, 0, 1, 400, nil, 0)
		square := quad.Fixed(func(u float64) float64 { q := v.Quantile(u) - mean; return q * q }, 0, 1, 400, nil, 0)
		width := v.High - v.Low
		if math.Abs(mean-meanOf(v)) > 1e-3*width {
			t.Fatalf("%+v: mean %g, by its quantiles %g", v, meanOf(v), mean)
		}
		if math.Abs(square-varianceOf(v)) > 2e-3*width*width {
			t.Fatalf("%+v: variance %g, by its quantiles %g", v, varianceOf(v), square)
		}
	})
}

// By hand: low 2, likely 5, high 14 has the mean (2+20+14)/6 = 6 and, as a beta
// distribution, the variance 4·8/7.
func TestPERTByHand(t *testing.T) {
	v := spread.Three{Low: 2, Likely: 5, High: 14, Shape: spread.PERT}
	if meanOf(v) != 6 || math.Abs(varianceOf(v)-32.0/7) > 1e-12 {
		t.Fatalf("mean %g, variance %g", meanOf(v), varianceOf(v))
	}
}

// sums are many draws of the sum over the members of an input.
func sums(t testing.TB, v spread.Three, alike float64, members, draws int) []float64 {
	in, err := spread.NewInput("x", v, alike)
	if err != nil {
		t.Fatal(err)
	}
	out := make([]float64, draws)
	for i := range out {
		d := in.Draw(7, i)
		for range members {
			out[i] += d.Next()
		}
		if math.Abs(d.Mean()*float64(members)-out[i]) > 1e-9*(1+math.Abs(out[i])) {
			t.Fatal("the mean of a draw is not that of its members")
		}
	}
	return out
}

// The sum of n independent members has n times the mean and n times the variance
// of one, that of n members that are all alike n² times; the correlation between
// is that of the normal scores.
func TestSumsHaveTheirMeanAndVariance(t *testing.T) {
	v := spread.Three{Low: -10, Likely: 0, High: 25, Shape: spread.PERT}
	const n, draws = 12, 20_000
	for _, c := range []struct{ alike, times float64 }{{0, n}, {1, n * n}} {
		mean, variance := stat.MeanVariance(sums(t, v, c.alike, n, draws), nil)
		if want := n * meanOf(v); math.Abs(mean-want) > 5*math.Sqrt(c.times*varianceOf(v)/draws) {
			t.Errorf("alike %g: mean %g, not %g", c.alike, mean, want)
		}
		if want := c.times * varianceOf(v); math.Abs(variance/want-1) > 0.05 {
			t.Errorf("alike %g: variance %g, not %g", c.alike, variance, want)
		}
	}
}

// A wider spread of inputs that are added never narrows P10 to P90: the densities
// are log-concave and the draws the same.
func TestAWiderSpreadIsNoNarrower(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := three(t)
		wide := v
		wide.Low -= rapid.Float64Range(0, 20).Draw(t, "lower")
		wide.High += rapid.Float64Range(0, 20).Draw(t, "higher")
		width := func(v spread.Three) float64 {
			const draws = 400
			all := sums2(v, 3, draws)
			low, _, _ := spread.Percentile(all, 0.1)
			high, _, _ := spread.Percentile(all, 0.9)
			return high - low
		}
		a, b := width(v), width(wide)
		if b < a*(1-0.06) { // what 400 draws leave uncertain
			t.Fatalf("%+v spans %g, wider %+v spans %g", v, a, wide, b)
		}
	})
}

func sums2(v spread.Three, members, draws int) []float64 {
	in, err := spread.NewInput("x", v, 0)
	if err != nil {
		panic(err)
	}
	out := make([]float64, draws)
	for i := range out {
		d := in.Draw(3, i)
		for range members {
			out[i] += d.Next()
		}
	}
	return out
}

// What an input comes to hangs on nothing but the seed, the draw and its name.
func TestDrawsAreRepeated(t *testing.T) {
	v := spread.Three{Low: 1, Likely: 2, High: 9, Shape: spread.Triangular}
	if a, b := sums(t, v, 0.5, 5, 50), sums(t, v, 0.5, 5, 50); !slices.Equal(a, b) {
		t.Fatal("the same draws differ")
	}
	certain := spread.Three{Low: 4, Likely: 4, High: 4, Shape: spread.PERT}
	for _, x := range sums(t, certain, 0.5, 5, 50) {
		if x != 20 {
			t.Fatalf("five certain fours came to %g", x)
		}
	}
}

// The 95 % about a percentile hold the true one about 95 times of 100.
func TestPercentilesAreAsSureAsTheySay(t *testing.T) {
	v := spread.Three{Low: 0, Likely: 3, High: 10, Shape: spread.PERT}
	in, err := spread.NewInput("x", v, 0)
	if err != nil {
		t.Fatal(err)
	}
	held, tries := 0, 1000
	for i := range tries {
		d := in.Draw(11, i)
		sample := make([]float64, 200)
		for j := range sample {
			sample[j] = d.Next()
		}
		if _, low, high := spread.Percentile(sample, 0.8); low <= v.Quantile(0.8) && v.Quantile(0.8) <= high {
			held++
		}
	}
	if held < 930 || held > 985 {
		t.Fatalf("%d of %d", held, tries)
	}
}

// By hand: ranks 1 2 3 4 5 against 2 1 4 3 5 have the rank correlation
// 1 − 6·4/(5·24) = 0.8 (Spearman's formula).
func TestWeightByHand(t *testing.T) {
	share, low, high := spread.Weight([]float64{10, 20, 30, 40, 50}, []float64{7, 5, 20, 18, 100})
	if math.Abs(share-0.64) > 1e-12 || low != 7 || high != 100 {
		t.Fatalf("share %g, low %g, high %g", share, low, high)
	}
	if share, _, _ := spread.Weight([]float64{1, 1, 1}, []float64{1, 2, 3}); share != 0 {
		t.Fatalf("an input that does not move has the share %g", share)
	}
}

func TestInputsThatCannotBeAreRefused(t *testing.T) {
	for _, v := range []spread.Three{
		{Low: 2, Likely: 1, High: 3, Shape: spread.PERT}, {Low: 0, Likely: 4, High: 3, Shape: spread.PERT},
		{Low: math.NaN(), Shape: spread.PERT}, {High: math.Inf(1), Shape: spread.PERT}, {Shape: "round"},
	} {
		if _, err := spread.NewInput("x", v, 0); err == nil {
			t.Errorf("%+v is taken", v)
		}
	}
	if _, err := spread.NewInput("x", spread.Three{Shape: spread.Even}, 1.5); err == nil {
		t.Error("alike 1.5 is taken")
	}
}

// meanOf is the mean of the value.
func meanOf(t spread.Three) float64 {
	switch t.Shape {
	case spread.Triangular:
		return (t.Low + t.Likely + t.High) / 3
	case spread.Even:
		return (t.Low + t.High) / 2
	}
	return (t.Low + 4*t.Likely + t.High) / 6
}

// varianceOf is the variance of the value, in the square of its unit.
func varianceOf(t spread.Three) float64 {
	switch t.Shape {
	case spread.Triangular:
		a, b, c := t.Low, t.Likely, t.High
		return (a*a + b*b + c*c - a*b - a*c - b*c) / 18
	case spread.Even:
		return (t.High - t.Low) * (t.High - t.Low) / 12
	}
	mean := meanOf(t)
	return (mean - t.Low) * (t.High - mean) / 7
}
