package survey

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// The places near a defect are those that looking at every place finds, in their order.
func TestDonePlacesAreThoseNear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		line := rapid.SampledFrom([]string{"L1", "l1", "Straße", "STRASSE", "ΤΜΉΜΑ Σ", "τμήμα ς"})
		at := rapid.Custom(func(t *rapid.T) float64 {
			return float64(rapid.IntRange(-20, 20).Draw(t, "step"))*100 + rapid.SampledFrom([]float64{0, 0.1, 1.0 / 3}).Draw(t, "rest")
		})
		all := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Done { return Done{Line: line.Draw(t, "line"), At: at.Draw(t, "at")} }), 0, 30).Draw(t, "places")
		d := &Defect{Line: line.Draw(t, "line"), Chainage: Known(at.Draw(t, "x")), Axial: Known(rapid.SampledFrom([]float64{0, 40, 250}).Draw(t, "long"))}
		within := rapid.SampledFrom([]float64{0, 100, 500}).Draw(t, "within")
		var want []*Done
		places := newDonePlaces(all)
		for i := range all {
			if strings.EqualFold(all[i].Line, d.Line) && math.Abs(all[i].At-d.Chainage.V)-d.Axial.V/2 <= within {
				want = append(want, &all[i])
			}
		}
		if got := places.near(d, within); !slices.Equal(got, want) {
			t.Fatalf("%d places, by looking at each %d", len(got), len(want))
		}
	})
}
