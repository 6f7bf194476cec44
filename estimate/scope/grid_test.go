package scope

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"wraptally/catalog"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace/depth"
)

// grid is the values of each input over which the layers are held to be smooth.
type grid struct {
	od, pressure, temp, size []float64
	left                     []float64 // share of the wall; below 0: a leak
}

var wholeGrid = grid{
	od:       []float64{60.3, 88.9, 114.3, 168.3, 219.1, 273, 323.8, 406.4, 610, 914, 1219},
	pressure: []float64{0.1, 0.25, 0.5, 0.75, 1, 1.5, 2, 2.5, 3, 3.5, 4, 6, 8},
	temp:     []float64{20, 30, 40, 50, 60, 70, 80},
	size:     []float64{2, 4, 8, 15, 25, 40, 60},
	left:     []float64{-1, 0.8, 0.6, 0.45, 0.3, 0.2, 0.1},
}

// gridRepair is the repair at a point of the grid.
func gridRepair(c *catalog.Catalog, at [5]float64) *Repair {
	wall := c.WallLike(at[0])
	d := pit("a", 0, at[0], wall, at[3])
	d.Circ, d.Pressure, d.DesignTemp = known(at[3]), known(at[1]), known(at[2])
	// A pipe strong enough that the full wall carries all pressures of the grid.
	d.Stress = known(math.Max(137.9, 1.05*8*at[0]/2/wall))
	if d.Remaining = known(at[4] * wall); at[4] < 0 {
		d.Leaking, d.Remaining, d.Surface = survey.Yes, known(0), survey.Wet
	}
	return Plan([]survey.Defect{d}, c)[0]
}

// axes name the inputs; rises says whether more of it asks for more wrap.
var axes = [5]struct {
	name  string
	rises bool
}{1: {"pressure", true}, 2: {"temperature", true}, 3: {"size", true}, 4: {"wall left", false}}

// explained says why the layers jump between two points that are as good as one:
// the list of what is not smooth, each with its reason.
func explained(c *catalog.Catalog, axis int, a, b *Repair) string {
	firm := strings.HasPrefix(a.LayersFrom, "the firm's minimum") || strings.HasPrefix(b.LayersFrom, "the firm's minimum")
	switch {
	case axis == 1 && firm:
		return "the firm's minimum rises in steps of pressure"
	case axis == 4 && strings.HasPrefix(a.Method, "through-wall") != strings.HasPrefix(b.Method, "through-wall"):
		return "a wall under design.min_wall is designed as gone"
	}
	return ""
}

// check walks every line of the grid along every axis: layers never fall where
// more is asked, what cannot be made stays impossible, and no jump of more than
// one layer is without a reason of the list. It returns the points seen and the
// jumps by their reason.
func (g grid) check(fail func(string, ...any), c *catalog.Catalog) (points int, jumps map[string]int) {
	jumps = map[string]int{}
	values := [5][]float64{g.od, g.pressure, g.temp, g.size, g.left}
	var walk func(at [5]float64, axis, level int)
	line := func(at [5]float64, axis int) {
		// Along the axis, in the order in which more is asked.
		vs := append([]float64(nil), values[axis]...)
		if !axes[axis].rises {
			vs = vs[1:] // leaks are another question
		}
		var last *Repair
		var lastAt float64
		var worst [2]float64
		most := 1
		for _, v := range vs {
			at[axis] = v
			r := gridRepair(c, at)
			points++
			if last != nil && r.Status == Estimated && (last.Status != Estimated || r.Layers < last.Layers) {
				fail("%v along %s: %s with %d layers after %s with %d at %v", at, axes[axis].name, r.Status, r.Layers, last.Status, last.Layers, lastAt)
			}
			if last != nil && r.Status == Estimated && r.Layers-last.Layers > most {
				most, worst = r.Layers-last.Layers, [2]float64{lastAt, v}
			}
			last, lastAt = r, v
		}
		if most == 1 {
			return
		}
		// Close in on the largest jump of the line.
		repairAt := func(v float64) *Repair { at[axis] = v; return gridRepair(c, at) }
		lo, hi := repairAt(worst[0]), repairAt(worst[1])
		for range 40 {
			v := (worst[0] + worst[1]) / 2
			mid := repairAt(v)
			if hi.Layers-mid.Layers >= mid.Layers-lo.Layers {
				lo, worst[0] = mid, v
			} else {
				hi, worst[1] = mid, v
			}
		}
		if hi.Layers-lo.Layers > 1 {
			why := explained(c, axis, lo, hi)
			if why == "" {
				fail("%v along %s: from %d layers (%s) to %d (%s) at %v", at, axes[axis].name, lo.Layers, lo.Method, hi.Layers, hi.Method, worst[1])
			}
			jumps[why]++
		}
	}
	walk = func(at [5]float64, axis, level int) {
		if level == 5 {
			line(at, axis)
			return
		}
		if level == axis {
			walk(at, axis, level+1)
			return
		}
		for _, v := range values[level] {
			if axis == 4 && level == 4 {
				continue
			}
			at[level] = v
			walk(at, axis, level+1)
		}
	}
	for axis := 1; axis < 5; axis++ {
		walk([5]float64{}, axis, 0)
	}
	return points, jumps
}

// A corner of the grid; the whole of it is BenchmarkGrid.
func TestGridCorner(t *testing.T) {
	g := wholeGrid
	g.od, g.temp, g.size = []float64{60.3, 323.8, 1219}, []float64{20, 50, 80}, []float64{2, 15, 60}
	if !depth.Full() {
		g.od, g.temp, g.size = []float64{60.3, 1219}, []float64{20, 80}, []float64{2, 60}
	}
	points, jumps := g.check(func(format string, args ...any) { t.Errorf(format, args...) }, builtin(t))
	if points < depth.Of(300, 1000) || len(jumps) == 0 {
		t.Errorf("%d points, jumps %v", points, jumps)
	}
	t.Log(points, jumps)
}

// The whole grid: diameters × pressures × temperatures × sizes × leak or walls.
func BenchmarkGrid(b *testing.B) {
	c := builtin(b)
	for b.Loop() {
		failed := 0
		points, jumps := wholeGrid.check(func(format string, args ...any) {
			if failed++; failed <= 20 {
				b.Errorf(format, args...)
			}
		}, c)
		b.ReportMetric(float64(points), "points")
		b.Log(fmt.Sprint(points, " points, jumps ", jumps, ", failures ", failed))
	}
}
