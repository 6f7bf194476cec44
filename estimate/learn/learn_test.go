package learn

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	_ "wraptally/estimate/trace/depth"
)

var usual = Model{Weight: 20, Spread: 0.3, Certainty: 0.9, Odd: 0.01}

func factor(t testing.TB, m Model, seen []Seen) Factor {
	t.Helper()
	f, err := m.Factor(seen)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func near(a, b, within float64) bool { return math.Abs(a-b) <= within*max(1, math.Abs(b)) }

// Perfect data give back the true factor: (w + n·f)/(w + n), which is f for many, with an
// interval that closes on it; two repairs hardly move it.
func TestPerfectDataGiveTheFactorBack(t *testing.T) {
	for _, f := range []float64{0, 0.5, 1, 1.3, 4} {
		var seen []Seen
		for i := range 20_000 {
			x := 1 + float64(i%17)
			seen = append(seen, Seen{Planned: x, Used: f * x})
		}
		got := factor(t, usual, seen)
		if !near(got.Mean, f, 0.005) || !near(got.Plain, f, 1e-12) || got.High-got.Low > 0.01 || len(got.Odd) > 0 {
			t.Errorf("%v: %+v", f, got)
		}
		if two := factor(t, usual, seen[:2]); !near(two.Mean, (20+2*f)/22, 1e-12) {
			t.Errorf("two repairs of %v: %v", f, two.Mean)
		}
	}
	if two := factor(t, usual, []Seen{{"A", 10, 15}, {"B", 20, 30}}); two.Mean > 1.05 {
		t.Errorf("two repairs that used half as much again move it to %v", two.Mean)
	}
}

// The interval holds the true factor as often as it says, over campaigns whose true
// factors are drawn from the prior: within 4.4 standard deviations of the binomial law.
func TestIntervalHoldsTheTruthAsOftenAsItSays(t *testing.T) {
	for _, c := range []struct {
		m Model
		n int
	}{{usual, 1}, {usual, 12}, {Model{Weight: 5, Spread: 0.6, Certainty: 0.5}, 30}, {Model{Weight: 8, Spread: 0.2, Certainty: 0.8}, 200}} {
		const seeds = 1000
		held := 0
		for seed := range uint64(seeds) {
			r := rand.New(rand.NewPCG(seed, 15))
			sigma := math.Sqrt(distuv.InverseGamma{Alpha: c.m.Weight / 2, Beta: c.m.Weight * c.m.Spread * c.m.Spread / 2, Src: r}.Rand())
			f := 1 + sigma/math.Sqrt(c.m.Weight)*r.NormFloat64()
			seen, total := make([]Seen, c.n), 0.0
			for i := range seen {
				seen[i].Planned = 0.2 + r.Float64()*3
				total += seen[i].Planned
			}
			for i := range seen {
				s := &seen[i]
				s.Planned *= float64(c.n) / total
				// Less than nothing cannot be used: where the law gives that, the end of it is cut off.
				s.Used = max(0, f*s.Planned+sigma*math.Sqrt(s.Planned)*r.NormFloat64())
			}
			if got := factor(t, c.m, seen); got.Low <= f && f <= got.High {
				held++
			}
		}
		if off := math.Abs(float64(held)-c.m.Certainty*seeds) / math.Sqrt(seeds*c.m.Certainty*(1-c.m.Certainty)); off > 4.4 {
			t.Errorf("%+v, %d repairs: %d of %d intervals hold the true factor", c.m, c.n, held, seeds)
		}
	}
}

// Against the normal equations of weighted least squares, to which the mean comes
// where the prior weighs next to nothing [textbook form, from memory]: f = Σwxy/Σwx²
// with w = 1/x, and its standard error √(s²/Σwx²) with n − 0 degrees of freedom, the
// prior's w of which is next to none.
func TestWithoutPriorItIsLeastSquares(t *testing.T) {
	seen := []Seen{{"A", 2, 2.5}, {"B", 4, 3.9}, {"C", 1, 1.6}, {"D", 5, 6.1}}
	m := Model{Weight: 1e-9, Spread: 1e-3, Certainty: 0.9}
	got := factor(t, m, seen)
	f := (2.5 + 3.9 + 1.6 + 6.1) / 12
	if !near(got.Mean, f, 1e-8) {
		t.Errorf("%v, want %v", got.Mean, f)
	}
	rss := 0.0
	for _, s := range seen {
		rss += (s.Used - f*s.Planned) * (s.Used - f*s.Planned) / s.Planned
	}
	half := distuv.StudentsT{Sigma: math.Sqrt(rss / 4 / 12), Nu: 4}.Quantile(0.95)
	if !near(got.High-got.Low, 2*half, 1e-5) {
		t.Errorf("%v to %v, want %v wide", got.Low, got.High, 2*half)
	}
}

// Units and order do not count; more used asks for more; the mean lies between what
// was used and 1; repeating what was seen narrows toward it; what is odd stays in.
func TestFactorProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seen := make([]Seen, rapid.IntRange(1, 12).Draw(t, "n"))
		for i := range seen {
			seen[i] = Seen{fmt.Sprint(i), rapid.Float64Range(0.1, 50).Draw(t, "planned"), rapid.Float64Range(0, 80).Draw(t, "used")}
		}
		get := func(seen []Seen) Factor {
			f, err := usual.Factor(seen)
			if err != nil {
				t.Fatal(err)
			}
			return f
		}
		a := get(seen)
		if a.Mean < min(1, a.Plain)-1e-9 || a.Mean > max(1, a.Plain)+1e-9 || a.Low > a.Mean || a.High < a.Mean || a.N != len(seen) {
			t.Fatalf("%+v", a)
		}
		other, scaled := rapid.Permutation(seen).Draw(t, "order"), make([]Seen, len(seen))
		for i, s := range other {
			scaled[i] = Seen{s.Of, s.Planned * 1000, s.Used * 1000}
		}
		b := get(scaled)
		if !near(a.Mean, b.Mean, 1e-9) || !near(a.Low, b.Low, 1e-6) || !near(a.High, b.High, 1e-6) || len(a.Odd) != len(b.Odd) {
			t.Fatalf("in another order and unit %+v, %+v", a, b)
		}
		more := append([]Seen(nil), seen...)
		more[0].Used += 1
		if get(more).Mean <= a.Mean {
			t.Fatal("more used, less asked")
		}
		if twice := get(append(append([]Seen(nil), seen...), seen...)); math.Abs(twice.Mean-a.Plain) > math.Abs(a.Mean-a.Plain)+1e-9 {
			t.Fatalf("seen twice it is further from what was used: %v, %v of %v", twice.Mean, a.Mean, a.Plain)
		}
	})
}

// One of many that used five times as much is named, and counts all the same.
func TestWhatIsOddIsNamedAndCounts(t *testing.T) {
	seen := []Seen{{"odd", 10, 50}}
	for i := range 15 {
		seen = append(seen, Seen{fmt.Sprint(i), 10, 10 + float64(i%3) - 1})
	}
	got := factor(t, usual, seen)
	if len(got.Odd) != 1 || got.Odd[0].Of != "odd" || !near(got.Odd[0].Without, 1, 1e-9) || !near(got.Mean, (20+16+4)/36.0, 1e-9) {
		t.Errorf("%+v", got)
	}
}

// The gamma's interval against the exact limits of a Poisson count [Garwood's
// chi-square limits, from memory], to which it comes where the prior weighs little.
func TestShareFound(t *testing.T) {
	got, err := Model{Weight: 1e-9, Certainty: 0.9}.Share(0.05, 7, 100)
	if err != nil {
		t.Fatal(err)
	}
	if low := (distuv.ChiSquared{K: 2 * 7.5}).Quantile(0.05) / 200; !near(got.Low, low, 1e-6) {
		t.Errorf("low %v, want %v", got.Low, low)
	}
	if none, _ := usual.Share(0, 0, 10); none.Mean <= 0 || none.High <= 0 {
		t.Errorf("none found among ten reads as if none could be: %+v", none)
	}
	if as, _ := usual.Share(0.05, 0, 10_000_000); as.Mean > 1e-6 {
		t.Errorf("none among many: %v", as.Mean)
	}
	if _, err := usual.Share(0.05, 0, 0); err == nil {
		t.Error("a share of nothing")
	}
}

func TestOutOfRangeIsRefused(t *testing.T) {
	for _, s := range []Seen{{"A", 0, 1}, {"A", 1, -1}, {"A", math.NaN(), 1}, {"A", 1, math.Inf(1)}} {
		if _, err := usual.Factor([]Seen{s}); err == nil {
			t.Errorf("%+v is taken", s)
		}
	}
	if _, err := (Model{}).Factor(nil); err == nil {
		t.Error("a model without weight is taken")
	}
}
