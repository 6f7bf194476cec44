package scope

import (
	"math"
	"slices"
	"sort"

	"wraptally/catalog"
	"wraptally/estimate/design"
	"wraptally/estimate/survey"
)

// size gives the patch its pad and sheet from its defect box.
//
// The pad of sealant covers at least k times the defect, read as area, and
// never less than a margin m a side:
//
//	a_p = max(a + 2m, a·√k), c_p likewise
//
// The sheet goes an edge e past the pad on each side, rounded up to the sheet
// step. Source: common practice, no source.
func (p *Patch) size(s *catalog.Settings) {
	root := math.Sqrt(s.SealAreaFactor)
	p.PadA = math.Max(p.A+2*s.SealMargin, p.A*root)
	p.PadC = math.Max(p.C+2*s.SealMargin, p.C*root)
	p.SheetA = design.RoundUp(p.PadA+2*s.SheetEdge, s.SheetStep)
	p.SheetC = design.RoundUp(p.PadC+2*s.SheetEdge, s.SheetStep)
}

// patches gives each leaking defect its sealing set, and one set to those
// whose sheets would overlap on the pipe, until no two do: joining two
// enlarges the sheet. The sets are in the order of chainage. It reports whether
// an overlap could not be judged because a clock position is missing.
func patches(leaks []*survey.Defect, od float64, s *catalog.Settings) (sets []Patch, unjudged bool) {
	for _, d := range leaks {
		p := Patch{
			Defects: []*survey.Defect{d}, X: d.Chainage.V, Clock: d.Clock.V, ClockKnown: d.Clock.OK,
			A: d.Axial.V, C: d.Circ.V,
		}
		p.size(s)
		sets = append(sets, p)
	}
	for joined := true; joined; {
		joined, unjudged = false, false
		sort.SliceStable(sets, func(i, j int) bool { return sets[i].X < sets[j].X })
		neighbours(sets, func(a, b *Patch) {
			switch {
			case !a.ClockKnown || !b.ClockKnown:
				unjudged = true
			case roundOverlap(a, b, od):
				*a = join(a, b, od, s)
				b.Defects = nil // taken
				joined = true
			}
		})
		sets = slices.DeleteFunc(sets, func(p Patch) bool { return p.Defects == nil })
	}
	return sets, unjudged
}

// neighbours shows every pair of sets, given in the order of chainage, that lie
// at the same place along the pipe. A set without defects is passed over.
func neighbours(sets []Patch, show func(a, b *Patch)) {
	longest := 0.0
	for i := range sets {
		longest = math.Max(longest, sets[i].SheetA)
	}
	for i := range sets {
		a := &sets[i]
		for j := i + 1; j < len(sets) && a.Defects != nil; j++ {
			b := &sets[j]
			if b.X-a.X >= (a.SheetA+longest)/2 {
				break
			}
			if b.Defects != nil && axiallyOverlap(a, b) {
				show(a, b)
			}
		}
	}
}

func axiallyOverlap(a, b *Patch) bool {
	return math.Abs(a.X-b.X) < (a.SheetA+b.SheetA)/2
}

// roundOverlap reports whether the sheets overlap round the pipe, on which 0°
// and 360° are the same place.
func roundOverlap(a, b *Patch, od float64) bool {
	apart := math.Abs(turn(b.Clock-a.Clock)) / 360 * math.Pi * od
	return apart < (a.SheetC+b.SheetC)/2
}

// join is the patch over the bounding box of two defect boxes, the shorter way
// round the pipe.
func join(a, b *Patch, od float64, s *catalog.Settings) Patch {
	round := math.Pi * od
	lo := math.Min(a.X-a.A/2, b.X-b.A/2)
	hi := math.Max(a.X+a.A/2, b.X+b.A/2)
	away := turn(b.Clock-a.Clock) / 360 * round // from a's centre to b's
	left := math.Min(-a.C/2, away-b.C/2)
	right := math.Max(a.C/2, away+b.C/2)
	p := Patch{
		Defects:    append(append([]*survey.Defect{}, a.Defects...), b.Defects...),
		X:          (lo + hi) / 2,
		A:          hi - lo,
		C:          math.Min(right-left, round),
		Clock:      math.Mod(a.Clock+(left+right)/2/round*360+720, 360),
		ClockKnown: true,
	}
	p.size(s)
	return p
}

// turn brings an angle into −180 … 180 degrees.
func turn(deg float64) float64 {
	deg = math.Mod(deg, 360)
	if deg > 180 {
		deg -= 360
	}
	if deg < -180 {
		deg += 360
	}
	return deg
}
