package design

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// loading610 is a pipe 610 × 9.53 at 3 MPa and 40 °C with so much wall left, under
// a wrap of 0.36 mm a layer with an allowable strain of 0.0025 before its
// temperature factor of 0.9014.
func loading610(rem Num) Loading {
	const strain = 0.0025 * 0.9014
	return Loading{
		D: 610, P: 3, PLow: 3, F: math.Pi * 610 * 610 * 3 / 4, FLow: math.Pi * 610 * 610 * 3 / 4, S: 137.9, Es: 207000, Rem: rem, MinWall: 1,
		Wrap: Ignored{Nu: 0.2, Ec: 20000, Ea: 12000}, Strain: strain, StrainA: strain,
	}
}

// Half of the wall lost: 54 layers with the pipe elastic, 16 where it may yield,
// 51 without it (worked outside this program). The least counts.
func TestCandidates(t *testing.T) {
	layers := func(c Candidate) int { return int(math.Ceil(c.T() / 0.36)) }
	got := must[[]Candidate](t)(loading610(Known(4.76)).Candidates(nil))
	for i, want := range []int{54, 16, 51} {
		if n := layers(got[i]); n != want || !got[i].Counts() {
			t.Errorf("%s: %d layers, want %d; %q %q", got[i].Basis, n, want, got[i].Missing, got[i].Invalid)
		}
	}
	if least, ok := LeastOf(got); !ok || least.Basis != OnYielding {
		t.Errorf("least %v %v", least, ok)
	}
	if got[1].Axial != got[0].Axial || got[0].Axial.Raw == 0 {
		t.Errorf("yielding takes %v along the pipe, sound %v", got[1].Axial, got[0].Axial)
	}
}

// A basis that is not complete or not valid is shown with its reason and does
// not count.
func TestCandidatesThatDoNotCount(t *testing.T) {
	for name, l := range map[string]Loading{"no wall left": loading610(Known(0)), "wall unknown": loading610(Num{}), "under 1 mm": loading610(Known(0.9))} {
		got := must[[]Candidate](t)(l.Candidates(nil))
		if got[0].Counts() || got[1].Counts() || !got[2].Counts() {
			t.Errorf("%s: %+v", name, got)
		}
		if least, ok := LeastOf(got); !ok || least.Basis != OnNothing || math.Ceil(least.T()/0.36) != 51 {
			t.Errorf("%s: %v", name, least)
		}
	}
	stiff := loading610(Known(4.76))
	stiff.S = 500 // reached at a strain of 0.0024, above 0.00225
	if got := must[[]Candidate](t)(stiff.Candidates(nil)); got[1].Counts() || !got[0].Counts() {
		t.Errorf("a pipe that does not yield first: %+v", got[1])
	}
	if _, ok := LeastOf(nil); ok {
		t.Error("the least of nothing")
	}
}

// More pressure or less wall never needs less wrap, whichever basis is the
// least, with the end thrust following the pressure.
func TestLeastMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawLoad(t)
		l := Loading{
			D: d.D, P: d.P, S: d.Stress, Es: d.Es, Rem: Known(d.Rem), MinWall: 1,
			Wrap: Ignored{Nu: d.hole.Nu, Ec: d.Ec, Ea: d.Ea}, Strain: d.Strain, StrainA: d.Strain,
		}
		least := func(l Loading) float64 {
			l.PLow, l.F = l.P, value(t)(EndThrust(l.D, l.P, nil))
			l.FLow = l.F
			got, err := l.Candidates(nil)
			if err != nil {
				t.Fatal(err)
			}
			c, ok := LeastOf(got)
			if !ok {
				t.Fatal("no basis counts")
			}
			return c.T()
		}
		low := least(l)
		harder := l
		harder.P *= rapid.Float64Range(1, 2).Draw(t, "pressure")
		harder.Rem.V *= rapid.Float64Range(0, 1).Draw(t, "wall")
		harder.Rem.OK = rapid.IntRange(0, 9).Draw(t, "wall known") > 0
		if high := least(harder); high < low*(1-1e-12) {
			t.Fatalf("%+v needs %v, harder %+v needs %v", l, low, harder, high)
		}
	})
}
