package scope

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"wraptally/catalog"
	"wraptally/estimate/design"
	"wraptally/estimate/survey"
)

// sameOD is the difference of diameter, in mm, up to which two defects of one
// line are taken to sit on the same pipe: measured diameters scatter by about
// the tolerance of a pipe, 1 % of the diameter.
func sameOD(a, b float64) bool {
	if a < b {
		a, b = b, a
	}
	return a-b <= 0.015*a
}

// byPlace puts defects in the order of the work: area, line, chainage. Defects at
// one place go by what the survey says of them, the clock position first, and
// only those alike in all by id and place in the file, so that the order of the
// rows never matters, not even that of rows named by their place.
func byPlace(ds []*survey.Defect) {
	slices.SortStableFunc(ds, func(a, b *survey.Defect) int {
		if c := cmp.Or(cmp.Compare(a.Area, b.Area), cmp.Compare(a.Line, b.Line), cmp.Compare(a.Chainage.V, b.Chainage.V), a.Clock.Compare(b.Clock)); c != 0 {
			return c
		}
		return cmp.Or(survey.Compare(a, b), cmp.Compare(a.ID, b.ID), cmp.Compare(a.Line0, b.Line0))
	})
}

// byDiameter parts the defects of a line by the pipe they sit on: sorted by
// diameter, two neighbours that are not the same part the line. Each part keeps
// the order given.
func byDiameter(ds []*survey.Defect) [][]*survey.Defect {
	low, high := math.Inf(1), math.Inf(-1)
	for _, d := range ds {
		low, high = math.Min(low, d.OD.V), math.Max(high, d.OD.V)
	}
	if sameOD(low, high) {
		return [][]*survey.Defect{ds}
	}
	ods := make([]float64, len(ds))
	for i, d := range ds {
		ods[i] = d.OD.V
	}
	sort.Float64s(ods)
	var ends []float64 // largest diameter of each part
	for i, od := range ods {
		if i+1 == len(ods) || !sameOD(od, ods[i+1]) {
			ends = append(ends, od)
		}
	}
	parts := make([][]*survey.Defect, len(ends))
	for _, d := range ds {
		i := sort.SearchFloat64s(ends, d.OD.V)
		parts[i] = append(parts[i], d)
	}
	return parts
}

// span names the defects of one pipe, in the order of chainage, from first to
// before past.
type span struct{ first, past int }

// group is a run of the defects of one line and diameter that one repair covers.
// Its numbers are the largest of its defects'.
type group struct {
	span
	lo, hi  float64 // chainage of the outer edges of the defects
	reach   float64 // each side, mm
	wrap    float64 // wrap thickness, mm
	stretch float64 // on a bend, so that the length holds on the inside; else 1
}

// ends are the ends of the repair of a group: the length of the defects, reach
// and taper on each side, rounded up to the length step and shared out evenly
// to both ends.
func (g *group) ends(s *catalog.Settings) (from, to float64) {
	length := design.RoundUp((g.hi-g.lo+2*(g.reach+s.TaperRatio*g.wrap))*g.stretch, s.LengthStep)
	middle := (g.lo + g.hi) / 2
	return middle - length/2, middle + length/2
}

// touches reports whether the repairs of two groups touch or overlap.
func (g *group) touches(next *group, s *catalog.Settings) bool {
	_, to := g.ends(s)
	from, _ := next.ends(s)
	return to >= from
}

// with is the group of both.
func (g group) with(next group) group {
	return group{
		span: span{g.first, next.past},
		lo:   math.Min(g.lo, next.lo), hi: math.Max(g.hi, next.hi),
		reach:   math.Max(g.reach, next.reach),
		wrap:    math.Max(g.wrap, next.wrap),
		stretch: math.Max(g.stretch, next.stretch),
	}
}

// merged joins the groups of one pipe, given in the order of chainage, until no
// two touch. Joining lengthens a repair, so each result is held against the one
// before it again.
func merged(groups []group, s *catalog.Settings) []group {
	out := groups[:0:0]
	for _, g := range groups {
		for len(out) > 0 && out[len(out)-1].touches(&g, s) {
			g = out[len(out)-1].with(g)
			out = out[:len(out)-1]
		}
		out = append(out, g)
	}
	return out
}
