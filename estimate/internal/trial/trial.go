// Package trial serves the tests of the road: it throws plausible surveys, with
// their extremes and gaps, and evaluates formulas as they are printed.
package trial

import (
	"fmt"
	"math/rand/v2"
	"time"

	"pgregory.net/rapid"

	"wraptally/catalog"
	"wraptally/estimate/survey"
)

// Dice is where chance comes from: rapid in properties, a seeded generator
// where a fixed survey is wanted.
type Dice interface {
	Int(low, high int) int           // both ends included
	Float(low, high float64) float64 // both ends included
}

// Rapid takes chance from a property.
func Rapid(t *rapid.T) Dice { return rapidDice{t} }

type rapidDice struct{ t *rapid.T }

func (d rapidDice) Int(low, high int) int { return rapid.IntRange(low, high).Draw(d.t, "n") }
func (d rapidDice) Float(low, high float64) float64 {
	const steps = 100_000 // as fine as anything is measured, and no number that is next to nothing
	return low + (high-low)*float64(rapid.IntRange(0, steps).Draw(d.t, "x"))/steps
}

// Seeded takes chance from a seed: the same each time.
func Seeded(seed uint64) Dice { return seededDice{rand.New(rand.NewPCG(seed, 2027))} }

type seededDice struct{ r *rand.Rand }

func (d seededDice) Int(low, high int) int           { return low + d.r.IntN(high-low+1) }
func (d seededDice) Float(low, high float64) float64 { return low + (high-low)*d.r.Float64() }

// oneIn is true once in n.
func oneIn(d Dice, n int) bool { return d.Int(1, n) == n }

func pick[T any](d Dice, from ...T) T { return from[d.Int(0, len(from)-1)] }

// maybe is a number that is missing once in n.
func maybe(d Dice, n int, low, high float64) survey.Num {
	if oneIn(d, n) {
		return survey.Num{}
	}
	return survey.Known(d.Float(low, high))
}

// pipe is what the defects of one line share.
type pipe struct {
	line, area, size, series string
	od                       float64
	wall                     survey.Num
	pressure                 survey.Num
	medium                   string
	span                     float64 // mm over which its defects lie
}

func newPipe(d Dice, c *catalog.Catalog, number int) pipe {
	p := pipe{line: fmt.Sprintf("L-%d", number), area: pick(d, "", "Area 1", "Area 2"), medium: pick(d, "water", "steam", "", "brine")}
	switch {
	case oneIn(d, 4): // a size of no series, from the smallest to the largest pipe
		p.od = d.Float(21, 3000)
		p.wall = maybe(d, 4, 0.01*p.od, 0.08*p.od)
	default:
		row := c.Pipes[d.Int(0, len(c.Pipes)-1)]
		for row.OD < 21 {
			row = c.Pipes[d.Int(0, len(c.Pipes)-1)]
		}
		p.size, p.series, p.od = row.Size, row.Series, row.OD
		if row.Wall > 0 && !oneIn(d, 3) {
			p.wall = survey.Known(row.Wall)
		}
	}
	p.pressure = maybe(d, 6, 0, 4)
	if oneIn(d, 8) {
		p.pressure = survey.Known(d.Float(4, 15))
	}
	p.span = pick(d, 300.0, 3000, 30000)
	return p
}

// Survey throws n defects over a few lines of the catalogue's pipes, and of
// sizes in no table, with gaps in every optional value.
func Survey(d Dice, c *catalog.Catalog, n int) []survey.Defect {
	var pipes []pipe
	for i := range d.Int(1, 4) {
		pipes = append(pipes, newPipe(d, c, i+1))
	}
	out := make([]survey.Defect, n)
	for i := range out {
		out[i] = defect(d, c, &pipes[d.Int(0, len(pipes)-1)], i)
	}
	return out
}

func defect(d Dice, c *catalog.Catalog, p *pipe, i int) survey.Defect {
	out := survey.Defect{
		ID: fmt.Sprintf("D-%d", i+1), Tag: pick(d, fmt.Sprintf("D-%d", i+1), ""), Line0: i + 2, Line: p.line, Area: p.area, Size: p.size, Series: p.series,
		Chainage: survey.Known(d.Float(-p.span/10, p.span)),
		OD:       survey.Known(p.od * pick(d, 1, 1, 1, 0.997, 1.004)),
		Wall:     p.wall, Pressure: p.pressure, Medium: p.medium,
		Axial: survey.Known(pick(d, 0, 3, 25, 60, d.Float(0, 400))),
		Circ:  survey.Known(pick(d, 0, 3, 25, 60, d.Float(0, 1))),
	}
	if c := out.Circ.V; c > 0 && c <= 1 {
		out.Circ.V = c * 1.8 * p.od // up to more than half the circumference
	}
	if oneIn(d, 30) {
		out.OD.V *= pick(d, 0.8, 1.3) // a reducer, or a slip of the tape
	}
	if oneIn(d, 3) {
		out.Hole, out.Circ = true, out.Axial
	}
	out.Leaking = pick(d, survey.No, survey.No, survey.Yes, survey.Yes, survey.Unknown)
	if p.wall.OK && !oneIn(d, 3) {
		out.Remaining = survey.Known(p.wall.V * d.Float(0, 1))
	}
	if !p.wall.OK && oneIn(d, 3) {
		out.Depth = survey.Depth{Num: survey.Known(d.Float(0, 100)), Percent: true}
	}
	out.Clock = maybe(d, 4, 0, 360)
	place(d, c, &out)
	designed(d, &out)
	return out
}

// place is where and in what state the pipe is.
func place(d Dice, c *catalog.Catalog, out *survey.Defect) {
	out.Surface = pick(d, survey.Surface(""), survey.Dry, survey.Dry, survey.Wet, survey.Submerged)
	if !oneIn(d, 3) {
		out.SurfaceTemp = survey.Known(pick(d, 5, 10, 20, 24, 30, 38, d.Float(-5, 60)))
	}
	out.Mechanism = pick(d, survey.Mechanism(""), survey.External, survey.Mechanical, survey.Internal, survey.Erosion, survey.UnknownMechanism)
	out.CorrosionRate, out.Cycles = maybe(d, 2, 0, 0.3), maybe(d, 2, 0, 9000)
	out.Substrate = pick(d, "", "steel", "steel", "stainless")
	out.SeatWall, out.LivePressure = maybe(d, 2, 0, 12), maybe(d, 2, 0, 2)
	out.AirTemp, out.Humidity = maybe(d, 2, -10, 45), maybe(d, 2, 5, 100)
	out.Hazardous = pick(d, survey.Unknown, survey.No, survey.Yes)
	if !oneIn(d, 3) {
		out.Access = c.Accesses[d.Int(0, len(c.Accesses)-1)].Access
	}
	if oneIn(d, 5) {
		out.Component = pick(d, survey.Bend, survey.Bend, survey.Tee, survey.Reducer, survey.Flange, survey.Nozzle, survey.Straight)
	}
	if out.Component == survey.Bend {
		out.BendRadius = maybe(d, 2, 0.8*out.OD.V, 5*out.OD.V)
		out.BendAngle = maybe(d, 3, 10, 90)
	}
	if oneIn(d, 8) {
		out.FreeRunBefore, out.FreeRunAfter = maybe(d, 2, 0, 1500), maybe(d, 2, 0, 1500)
	}
}

// designed is what a designer may have said.
func designed(d Dice, out *survey.Defect) {
	if oneIn(d, 6) {
		out.Layers = survey.Known(float64(d.Int(1, 24)))
	}
	if oneIn(d, 4) {
		out.DesignTemp = survey.Known(d.Float(-20, 95))
		out.Life = survey.Known(d.Float(1, 42))
		out.Stress = survey.Known(d.Float(60, 300))
	}
	if oneIn(d, 10) {
		out.AxialForce = survey.Known(d.Float(0, 1e6))
	}
	if oneIn(d, 4) {
		out.NeedDate = time.Date(2027, time.Month(d.Int(1, 12)), d.Int(1, 28), 0, 0, 0, 0, time.UTC)
	}
}

// Result is a survey as it would have been read without a fault.
func Result(defects []survey.Defect) *survey.Result {
	return &survey.Result{Defects: defects, Account: survey.Account{Read: len(defects), Kept: len(defects)}}
}

// Plant is n defects as a plant survey has them: lines of the common sizes with
// a dozen defects each, metres apart, small, at low pressure. The same each time.
func Plant(n int, c *catalog.Catalog) []survey.Defect {
	d := Seeded(uint64(n))
	sizes := []string{"2", "3", "4", "6", "8", "10", "12", "16", "24"}
	out := make([]survey.Defect, 0, n)
	for line := 1; len(out) < n; line++ {
		row, _ := c.Pipe("NPS", pick(d, sizes...))
		at, pressure := 0.0, d.Float(0.1, 2)
		for range min(d.Int(6, 18), n-len(out)) {
			at += d.Float(50, 9000)
			one := survey.Defect{
				ID: fmt.Sprintf("P-%06d", len(out)+1), Tag: fmt.Sprintf("P-%06d", len(out)+1), Line0: len(out) + 2, Line: fmt.Sprintf("L-%05d", line), Area: fmt.Sprintf("Area %d", line%20),
				Size: row.Size, Series: row.Series, Chainage: survey.Known(at), OD: survey.Known(row.OD), Wall: survey.Known(row.Wall),
				Axial: survey.Known(float64(d.Int(4, 60))), Circ: survey.Known(float64(d.Int(4, 40))), Clock: survey.Known(float64(d.Int(0, 359))),
				Leaking: survey.No, Remaining: survey.Known(row.Wall * d.Float(0.3, 0.9)), Pressure: survey.Known(pressure),
				Stress: survey.Known(137.9), DesignTemp: survey.Known(40), Mechanism: survey.External, Cycles: survey.Known(100), Substrate: "steel",
				Hazardous: survey.No, FreeRunBefore: survey.Known(2000), FreeRunAfter: survey.Known(2000),
				SurfaceTemp: survey.Known(float64(d.Int(12, 35))), Surface: survey.Dry, Access: pick(d, "ground", "ground", "scaffold", "rope"),
			}
			if oneIn(d, 3) {
				one.Leaking, one.Remaining, one.Surface = survey.Yes, survey.Known(0), survey.Wet
				one.Axial = survey.Known(float64(d.Int(2, 12)))
				one.Circ = one.Axial
			}
			out = append(out, one)
		}
	}
	return out
}
