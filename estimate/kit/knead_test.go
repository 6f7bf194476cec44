package kit_test

import (
	"testing"

	"wraptally/estimate/kit"
	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
)

// Three holes of one repair, two bands and two fasteners each, reached from the
// ground, tack-free 26 min at 25 °C. By hand: pressing one takes 2 + 2·2.5 = 7 min,
// three 21 min: one stick serves them. At 4 min a fastener one takes 2 + 2·4 = 10,
// two 20, three 30 min: one stick for two, another for the third. At 13 min a
// fastener one takes 28 min: a stick each, and none is in time.
func TestSticksAreSharedOnlyInTime(t *testing.T) {
	for _, v := range []struct {
		draw   float64
		sticks []int // of each kneading
		late   bool
	}{{2.5, []int{1}, false}, {4, []int{1, 1}, false}, {13, []int{1, 1, 1}, true}} {
		c := builtin(t)
		c.Settings.DrawTime = v.draw
		var holes []survey.Defect
		for i, at := range []float64{10000, 10120, 10300} {
			holes = append(holes, survey.Defect{
				ID: string(rune('a' + i)), Tag: string(rune('a' + i)), Line: "L", Line0: i + 2, Chainage: survey.Known(at), OD: survey.Known(610), Wall: survey.Known(9.53),
				Axial: survey.Known(8), Circ: survey.Known(8), Clock: survey.Known(float64(90 * (i + 1))), Leaking: survey.Yes, Pressure: survey.Known(0.3), LivePressure: survey.Known(0.1),
				SurfaceTemp: survey.Known(25), AirTemp: survey.Known(25), Surface: survey.Wet, Access: "ground",
			})
		}
		k := kit.NewPacker(c).Pack(scope.Plan(holes, c)[0], nil)
		if len(k.Net.Seals) != 3 || k.Net.Seals[0].Fasteners() != 2 || len(k.Kneads) != len(v.sticks) {
			t.Fatalf("%v min: %d sets of %d fasteners, %+v", v.draw, len(k.Net.Seals), k.Net.Seals[0].Fasteners(), k.Kneads)
		}
		asked := false
		for _, q := range k.Queries {
			asked = asked || q.Code == "seal-slow"
		}
		for i, n := range k.Kneads {
			if n.Count != v.sticks[i] || k.InTime(n) == v.late {
				t.Errorf("%v min: kneading %d is %+v", v.draw, i+1, n)
			}
		}
		if asked != v.late {
			t.Errorf("%v min: asked %v", v.draw, asked)
		}
	}
}
