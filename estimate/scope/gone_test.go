package scope

import (
	"testing"

	"wraptally/estimate/survey"
)

// A wall that is gone never asks for less wrap than one of which a little is
// left, also where an axial force is given, which spreads over more wrap on the
// larger diameter that the fluid then reaches.
func TestAWallThatIsGoneNeverAsksForLess(t *testing.T) {
	c := builtin(t)
	layers := func(wall, force float64) int {
		d := leak("a", 0, 0, 340, 4, 10)
		d.Leaking, d.Remaining = survey.No, survey.Known(wall)
		d.Pressure, d.AxialForce, d.Stress = survey.Known(0), survey.Known(force), survey.Known(60)
		d.Mechanism, d.CorrosionRate = "mechanical", survey.Known(0)
		return Plan([]survey.Defect{d}, c)[0].Layers
	}
	most := 0
	for force := 20_000.0; force < 200_000; force += 1000 {
		little, none := layers(c.Settings.MinWall+0.001, force), layers(0.5, force)
		if none < little {
			t.Errorf("%g N, a wall of %g mm: %d layers; of 0.5 mm, designed as through the wall: %d", force, c.Settings.MinWall+0.001, little, none)
		}
		most = max(most, little)
	}
	if most < 10 {
		t.Errorf("no more than %d layers: the force does not govern", most)
	}
}
