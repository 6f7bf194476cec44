package design

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	_ "wraptally/estimate/trace/depth"
)

func pair(s float64) []Leak {
	return []Leak{{A: 3, C: 3, Clock: Known(0)}, {X: s + 3, A: 3, C: 3, Clock: Known(0)}}
}

// Two pinholes of 3 mm with s_0 10 and s_1 50: the formula by hand.
func TestCombineTwo(t *testing.T) {
	r := Interaction{Near: 10, Far: 50}
	for _, c := range []struct{ s, d float64 }{
		{0, 16}, {10, 16}, {30, 9.5}, {27, 10.475}, {47, 3.975}, {50, 3}, {80, 3},
	} {
		for i, got := range must[[]Combined](t)(r.Combine(pair(c.s), 168.3)) {
			near(t, "d", got.D, c.d, 1e-9)
			near(t, "W", got.W, c.d, 1e-9)
			if (got.N == 1) != (c.s < 50) {
				t.Errorf("%v mm apart, leak %d: %d neighbours", c.s, i, got.N)
			}
		}
	}
}

// A quarter of the way round a pipe of 168.3 is 132.2 mm; over 0/360° the
// shorter way counts; an unknown position is 0 round the pipe.
func TestClear(t *testing.T) {
	at := func(x, clock float64) Leak { return Leak{X: x, Clock: Known(clock), A: 10, C: 20} }
	for _, c := range []struct {
		a, b Leak
		want float64
	}{
		{at(0, 0), at(0, 90), math.Pi*168.3/4 - 20},
		{at(0, 350), at(0, 20), math.Pi*168.3/12 - 20},
		{at(0, 0), at(0, 700), math.Pi*168.3/18 - 20},
		{at(0, 0), at(50, 0), 40},
		{at(0, 0), at(5, 3), 0},
		{at(0, 0), at(40, 90), math.Hypot(30, math.Pi*168.3/4-20)},
		{at(0, 0), Leak{X: 40, A: 10, C: 20}, 30},
		{at(0, 0), Leak{X: 40, A: 10, C: 20, Apart: 60}, 50},
	} {
		near(t, "clear distance", c.a.Clear(c.b, 168.3), c.want, 1e-9)
		near(t, "the other way", c.b.Clear(c.a, 168.3), c.want, 1e-9)
	}
}

// A row of leaks each 5 mm from the next counts as long as it is, and at 30 mm
// the further ones count less and less.
func TestCombineRow(t *testing.T) {
	r := Interaction{Near: 5, Far: 55}
	row := func(gap float64) []Leak {
		var out []Leak
		for i := range 10 {
			out = append(out, Leak{X: float64(i) * (60 + gap), Clock: Known(90), A: 60, C: 4})
		}
		return out
	}
	got := must[[]Combined](t)(r.Combine(row(5), 610))
	near(t, "ten in a row", got[0].D, 10*60+9*5, 1e-9)
	got = must[[]Combined](t)(r.Combine(row(30), 610))
	sum := 60.0
	for i := 1; i < 10; i++ {
		sum += 65 * math.Pow(0.5, float64(i))
	}
	near(t, "the first of ten, half a share each", got[0].D, sum, 1e-9)
}

func TestCombineRefuses(t *testing.T) {
	for name, r := range map[string]Interaction{"no ramp": {Near: 10, Far: 10}, "backwards": {Near: 20, Far: 10}, "below 0": {Near: -1, Far: 10}} {
		if _, err := r.Combine(pair(5), 168.3); !errors.As(err, new(*InputError)) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := (Interaction{Near: 10, Far: 50}).Combine([]Leak{{A: math.NaN()}}, 168.3); !errors.As(err, new(*InputError)) {
		t.Errorf("not a number: %v", err)
	}
}

func drawLeaks(t *rapid.T) []Leak {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Leak {
		l := Leak{X: rapid.Float64Range(0, 400).Draw(t, "x"), A: within(t, "a", 1, 60), C: within(t, "c", 1, 60)}
		if rapid.IntRange(0, 9).Draw(t, "clock known") > 0 {
			l.Clock = Known(rapid.Float64Range(0, 360).Draw(t, "clock"))
		}
		return l
	}), 1, 12).Draw(t, "leaks")
}

// Leaks that come nearer to one another, without one changing its size or
// passing another, never count as smaller; nor does a blank clock, or a larger
// leak; and none counts as less than itself.
func TestCombineNeverEasier(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const D = 168.3
		s0 := rapid.Float64Range(0, 40).Draw(t, "s0")
		r := Interaction{Near: s0, Far: s0 + within(t, "ramp", 1, 80)}
		leaks := drawLeaks(t)
		combine := func(leaks []Leak) []Combined {
			got, err := r.Combine(leaks, D)
			if err != nil {
				t.Fatal(err)
			}
			return got
		}
		before := combine(leaks)
		for i, l := range leaks {
			if before[i].D < l.size() || before[i].W < l.A {
				t.Fatalf("leak %d of %v counts as %v", i, l, before[i])
			}
		}
		change := rapid.SampledFrom([]string{"nearer along", "nearer round", "blank clock", "larger"}).Draw(t, "change")
		moved := append([]Leak(nil), leaks...)
		one := rapid.IntRange(0, len(leaks)-1).Draw(t, "which")
		switch k := rapid.Float64Range(0, 1).Draw(t, "by"); change {
		case "nearer along": // all in proportion, so that every pair comes nearer
			for i := range moved {
				moved[i].X *= k
			}
		case "nearer round": // within half a turn, for the same reason
			for i := range moved {
				leaks[i].Clock.V /= 2
				moved[i].Clock.V = leaks[i].Clock.V * k
			}
			before = combine(leaks)
		case "blank clock":
			moved[one].Clock = Num{}
		case "larger":
			moved[one].A *= 1 + k
			moved[one].C *= 1 + k
		}
		for i, got := range combine(moved) {
			if got.D < before[i].D-1e-4 || got.W < before[i].W-1e-4 {
				t.Fatalf("%s: leak %d counts as %v, before as %v", change, i, got, before[i])
			}
		}
	})
}

// Two alone never count as less than the circle over both while they are within
// s_0, nor do they jump: moving one by a hair moves the diameter by a hair.
func TestCombineTwoCoversAndIsSmooth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := Interaction{Near: 10, Far: 50}
		a := Leak{A: within(t, "a1", 1, 60), C: 5, Clock: Known(0)}
		b := Leak{A: within(t, "a2", 1, 60), C: 5, Clock: Known(0)}
		s := rapid.Float64Range(0, 80).Draw(t, "s")
		most := func(s float64) float64 {
			b.X = s + (a.A+b.A)/2
			got, err := r.Combine([]Leak{a, b}, 168.3)
			if err != nil {
				t.Fatal(err)
			}
			return max(got[0].D, got[1].D)
		}
		d := most(s)
		if s <= r.Near && d < a.A+b.A+s-1e-9 {
			t.Fatalf("%v mm apart count as %v", s, d)
		}
		if jump := math.Abs(most(s+1e-6) - d); jump > 1e-5 {
			t.Fatalf("at %v mm the diameter jumps by %v", s, jump)
		}
	})
}
