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

// byPlace puts the defects of a line in the order of chainage. Defects at
// one place go by what the survey says of them, the clock position first, and
// only those alike in all by id and place in the file, so that the order of the
// rows never matters, not even that of rows named by their place.
func byPlace(ds []*survey.Defect) {
	slices.SortStableFunc(ds, func(a, b *survey.Defect) int {
		if c := cmp.Or(cmp.Compare(a.Chainage.V, b.Chainage.V), a.Clock.Compare(b.Clock)); c != 0 {
			return c
		}
		return cmp.Or(survey.Compare(a, b), cmp.Compare(a.ID, b.ID), cmp.Compare(a.Line0, b.Line0))
	})
}

// diameters are the largest diameter of each pipe of a line, rising: sorted by
// diameter, two neighbours that are not the same part the line.
func diameters(l survey.Line) (ends []float64) {
	ods := make([]float64, l.Len())
	for i := range ods {
		_, ods[i] = l.At(i)
	}
	sort.Float64s(ods)
	for i, od := range ods {
		if i+1 == len(ods) || !sameOD(od, ods[i+1]) {
			ends = append(ends, od)
		}
	}
	return ends
}

// byDiameter parts defects of a line by the pipe they sit on, of which ends are the
// largest diameters. Each part keeps the order given.
func byDiameter(ds []*survey.Defect, ends []float64) [][]*survey.Defect {
	parts := make([][]*survey.Defect, len(ends))
	for _, d := range ds {
		i := sort.SearchFloat64s(ends, d.OD.V)
		parts[i] = append(parts[i], d)
	}
	return slices.DeleteFunc(parts, func(part []*survey.Defect) bool { return len(part) == 0 })
}

// span names the defects of one pipe, in the order of chainage, from first to
// before past.
type span struct{ first, past int }

// extent is what the length of a repair follows from: where its defects lie and
// the largest of their numbers.
type extent struct {
	lo, hi             float64 // chainage of the outer edges of the defects
	centreLo, centreHi float64 // chainage of the outer centres
	reach              float64 // each side, mm
	wrap               float64 // wrap thickness, mm
	shear              float64 // each side, mm, for the axial load
	radius             float64 // of the bend, 0 without one
	angle              float64 // of the bend, 0 where unknown
	bendLo, bendHi     float64 // chainage of the outer defects on the bend
	od                 float64
}

// extent gathers what the length follows from.
func (r *Repair) extent() extent {
	e := extent{
		lo: r.DefectFrom, hi: r.DefectTo, centreLo: math.Inf(1), centreHi: math.Inf(-1), reach: r.Reach, wrap: r.WrapThickness, shear: r.ShearReach,
		radius: r.BendRadius, angle: r.BendAngle, bendLo: math.Inf(1), bendHi: math.Inf(-1), od: r.OD,
	}
	for _, d := range r.Defects {
		e.centreLo, e.centreHi = math.Min(e.centreLo, d.Chainage.V), math.Max(e.centreHi, d.Chainage.V)
		if d.Component == survey.Bend {
			e.bendLo, e.bendHi = math.Min(e.bendLo, d.Chainage.V), math.Max(e.bendHi, d.Chainage.V)
		}
	}
	return e
}

// plain is the length of the repair on straight pipe, before rounding.
func (e *extent) plain(s *catalog.Settings) float64 {
	return e.hi - e.lo + 2*(math.Max(e.reach, e.shear)+s.TaperRatio*e.wrap)
}

// length is the length of the repair before rounding, with what lies on a bend
// stretched: of what is measured on the surface, not of the chainage between the
// defects.
func (e *extent) length(s *catalog.Settings, w *design.Working) (float64, design.Stretch) {
	plain := e.plain(s)
	if e.radius == 0 {
		return plain, design.Stretch{Length: plain, Factor: 1}
	}
	between, on := e.centreHi-e.centreLo, e.bendHi-e.bendLo
	bend := design.Bend{D: e.od, Radius: e.radius, Angle: e.angle}
	if arcs, err := bend.Arcs(nil); err == nil && on > arcs.Centre {
		bend.Angle = 0 // more than one bend: how long they are together is not known
	}
	got, err := bend.Stretch(between, on, plain-between, w)
	if err != nil { // too tight: the check of the bend says so
		return plain, design.Stretch{Length: plain, Factor: 1}
	}
	return got.Length, got
}

// with is the extent of both.
func (e extent) with(o extent) extent {
	out := extent{
		lo: math.Min(e.lo, o.lo), hi: math.Max(e.hi, o.hi), centreLo: math.Min(e.centreLo, o.centreLo), centreHi: math.Max(e.centreHi, o.centreHi),
		reach: math.Max(e.reach, o.reach), wrap: math.Max(e.wrap, o.wrap), shear: math.Max(e.shear, o.shear),
		radius: e.radius, angle: e.angle, bendLo: math.Min(e.bendLo, o.bendLo), bendHi: math.Max(e.bendHi, o.bendHi), od: math.Max(e.od, o.od),
	}
	switch {
	case e.radius == 0:
		out.radius, out.angle = o.radius, o.angle
	case o.radius > 0:
		out.radius = math.Min(e.radius, o.radius)
		if out.angle = math.Max(e.angle, o.angle); e.angle == 0 || o.angle == 0 {
			out.angle = 0
		}
	}
	return out
}

// group is a run of the defects of one line and diameter that one repair covers.
type group struct {
	span
	extent
}

// ends are the ends of the repair of a group: its length rounded up to the length
// step and shared out evenly to both ends.
func (g *group) ends(s *catalog.Settings) (from, to float64) {
	length, _ := g.length(s, nil)
	length = design.RoundUp(length, s.LengthStep)
	middle := (g.lo + g.hi) / 2
	return middle - length/2, middle + length/2
}

// touches reports whether the repairs of two groups touch or overlap.
func (g *group) touches(next *group, s *catalog.Settings) bool {
	_, to := g.ends(s)
	from, _ := next.ends(s)
	return to >= from
}

// merged joins the groups of one pipe, given in the order of chainage, until no
// two touch. Joining lengthens a repair, so each result is held against the one
// before it again.
func merged(groups []group, s *catalog.Settings) []group {
	out := groups[:0:0]
	for _, g := range groups {
		for len(out) > 0 && out[len(out)-1].touches(&g, s) {
			g = group{span{out[len(out)-1].span.first, g.past}, out[len(out)-1].with(g.extent)}
			out = out[:len(out)-1]
		}
		out = append(out, g)
	}
	return out
}
