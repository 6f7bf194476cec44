package scope

import (
	"math"
	"math/bits"
	"slices"
	"strings"

	"wraptally/catalog"
	"wraptally/estimate/survey"
)

// A number that the survey leaves blank and that bears on quantity or safety is
// taken from a stated range, whose ends are settings. blanks declares them: the
// field, where it is kept, and the ends, of which the hard one asks for more
// wrap, a longer repair or more of anything than every other value of the range.
// They are filled in this order, since some ends lean on values before them.
type blank struct {
	key  string // of the survey's field
	name string // as in "until the wall is known"
	code string // of the assumption
	at   func(*survey.Defect) *survey.Num
	// ends are what may stand in the cell of the defect as given, once those
	// before it are taken; ok is false where the defect does not need it.
	ends func(k *Rules, given, d *survey.Defect) (easy, hard float64, ok bool)
}

const (
	blankWall = iota
	blankRemaining
	blankPressure
	blankStress
	blankSurfaceTemp
	blankAirTemp
	blankDesignTemp
	blankRate
	blankBend
	blankClock
	blankMechanism
	blankSubstrate
	numBlanks
)

var blanks = [numBlanks]blank{
	blankWall: {"wall", "the wall", WallRange, func(d *survey.Defect) *survey.Num { return &d.Wall },
		func(k *Rules, _, d *survey.Defect) (easy, hard float64, ok bool) {
			usual := k.usualWall(d)
			easy, hard = k.set.WallLow*usual, k.set.WallHigh*usual
			if d.Remaining.OK && !leaks(d) {
				easy = math.Max(easy, d.Remaining.V)
			}
			return easy, math.Max(easy, hard), true
		}},
	blankRemaining: {"remaining", "the remaining wall", RemainingRange, func(d *survey.Defect) *survey.Num { return &d.Remaining },
		func(k *Rules, given, d *survey.Defect) (easy, hard float64, ok bool) {
			low, high := given.Wall.V, given.Wall.V
			if !given.Wall.OK { // not known either: from the least of the thinnest to the most of the thickest
				usual := k.usualWall(d)
				low, high = k.set.WallLow*usual, k.set.WallHigh*usual
			}
			if given.Depth.OK {
				return given.Depth.Of(high), given.Depth.Of(low), !leaks(d)
			}
			return math.Max(k.set.RemainingHigh, k.set.RemainingLow) / 100 * high, k.set.RemainingLow / 100 * low, !leaks(d)
		}},
	blankPressure: {"pressure", "the pressure", PressureRange, func(d *survey.Defect) *survey.Num { return &d.Pressure },
		func(k *Rules, _, d *survey.Defect) (easy, hard float64, ok bool) {
			live := d.LivePressure.Or(0)
			return math.Max(k.set.PressureLow, live), math.Max(k.set.PressureHigh, live), true
		}},
	blankStress: {"stress", "the allowable stress", StressRange, func(d *survey.Defect) *survey.Num { return &d.Stress },
		func(k *Rules, _, d *survey.Defect) (easy, hard float64, ok bool) {
			return math.Max(k.set.PipeStress, k.set.StressHigh), k.set.PipeStress, !leaks(d)
		}},
	blankSurfaceTemp: {"surface_temp", "the surface temperature", SurfaceTempRange, func(d *survey.Defect) *survey.Num { return &d.SurfaceTemp },
		func(k *Rules, _, d *survey.Defect) (easy, hard float64, ok bool) {
			return k.set.WorkTemp, math.Max(k.set.WorkTemp, k.set.WorkTempHigh), true
		}},
	blankAirTemp: {"air_temp", "the air temperature", AirTempRange, func(d *survey.Defect) *survey.Num { return &d.AirTemp },
		func(k *Rules, given, d *survey.Defect) (easy, hard float64, ok bool) {
			if !given.SurfaceTemp.OK { // its own range holds how hot the place may be
				return d.SurfaceTemp.V, d.SurfaceTemp.V, true
			}
			return d.SurfaceTemp.V, d.SurfaceTemp.V + k.set.AirAbove, true
		}},
	blankDesignTemp: {"design_temp", "the design temperature", DesignTempRange, func(d *survey.Defect) *survey.Num { return &d.DesignTemp },
		func(k *Rules, _, d *survey.Defect) (easy, hard float64, ok bool) {
			return k.set.DesignTempLow, math.Max(k.set.DesignTempHigh, d.SurfaceTemp.V), true
		}},
	blankRate: {"corrosion_rate", "the corrosion rate", RateRange, func(d *survey.Defect) *survey.Num { return &d.CorrosionRate },
		func(k *Rules, _, d *survey.Defect) (easy, hard float64, ok bool) {
			return 0, k.set.RateHigh, d.Mechanism.GoesOn()
		}},
	blankBend: {"bend_radius", "the bend radius", BendRange, func(d *survey.Defect) *survey.Num { return &d.BendRadius },
		func(k *Rules, _, d *survey.Defect) (easy, hard float64, ok bool) {
			return math.Max(k.set.BendHigh, k.set.BendLow) * d.OD.V, k.set.BendLow * d.OD.V, d.Component == survey.Bend
		}},
	// What is no number of the defect alone has ends too: the distance of a clock
	// position to its neighbours, from half way round the pipe to none (damages);
	// whether the damage goes on (damages); the pipe's data in the table of
	// substrates (loadsOf).
	blankClock:     {"clock", "the clock position", ClockUnknown, nil, nil},
	blankMechanism: {"mechanism", "what takes the wall", MechanismUnknown, nil, nil},
	blankSubstrate: {"substrate", "what the pipe is made of", SubstrateTaken, nil, nil},
}

// between is a point of all the ranges: the share of the way from the easy end,
// 0, to the hard end, 1, of each blank.
type between [numBlanks]float64

// point is how the blanks of a repair are taken: alike in all of its defects, or
// each defect by its own shares.
type point struct {
	all  between
	each []between // one a defect; nil where they are alike
}

// everywhere is the point with one share for every blank.
func everywhere(share float64) (p point) {
	for i := range p.all {
		p.all[i] = share
	}
	return p
}

// of are the shares of defect i.
func (p point) of(i int) between {
	if p.each != nil {
		return p.each[i]
	}
	return p.all
}

// with is the point with one blank at a share in every defect.
func (p point) with(blank int, share float64) point {
	p.all[blank], p.each = share, slices.Clone(p.each)
	for i := range p.each {
		p.each[i][blank] = share
	}
	return p
}

// only is the point, of n defects, with one blank at a share in those from one up
// to another, the latter not included, and at the hard end in the rest.
func (p point) only(n, blank, from, to int, share float64) point {
	p.each = slices.Repeat([]between{p.all}, n)
	for i := range p.each {
		p.each[i][blank] = 1
		if from <= i && i < to {
			p.each[i][blank] = share
		}
	}
	return p
}

func (p point) is(q point) bool { return p.all == q.all && slices.Equal(p.each, q.each) }

// Blanks is a set of blank fields.
type Blanks uint16

// Has reports whether the field, by its key, is one of those blank.
func (b Blanks) Has(key string) bool {
	for i := range blanks {
		if b&(1<<i) != 0 && blanks[i].key == key {
			return true
		}
	}
	return false
}

// Keys are the fields, by their keys.
func (b Blanks) Keys() []string {
	var keys []string
	for i := range blanks {
		if b&(1<<i) != 0 {
			keys = append(keys, blanks[i].key)
		}
	}
	return keys
}

// String names them, "the wall and the pressure".
func (b Blanks) String() string {
	var names []string
	for i := range blanks {
		if b&(1<<i) != 0 {
			names = append(names, blanks[i].name)
		}
	}
	if n := len(names); n > 1 {
		return strings.Join(names[:n-1], ", ") + " and " + names[n-1]
	}
	return strings.Join(names, "")
}

// are is "the wall and the pressure are known".
func (b Blanks) are(what string) string {
	if bits.OnesCount16(uint16(b)) > 1 {
		return b.String() + " are " + what
	}
	return b.String() + " is " + what
}

// open notes that the repair leans on a value between the ends of a blank of
// defect i that is no number of it alone, and gives the share of the way to the
// hard end.
func (r *Repair) open(blank, i int) float64 {
	r.Blank |= 1 << blank
	r.lean(blanks[blank].code)
	return r.point.of(i)[blank]
}

// take gives the defect with every blank number filled at the point, and which
// were blank.
func (k *Rules) take(out, d *survey.Defect, at between) (which Blanks) {
	*out = *d
	for i := range blanks {
		if blanks[i].at == nil {
			continue
		}
		n := blanks[i].at(out)
		if n.OK {
			continue
		}
		if easy, hard, ok := blanks[i].ends(k, d, out); ok {
			*n = survey.Known(easy + (hard-easy)*at[i])
			which |= 1 << i
		}
	}
	if leaks(out) {
		out.Remaining = survey.Known(0)
	}
	out.Remaining.V = math.Min(out.Remaining.V, out.Wall.V)
	if !out.Life.OK {
		out.Life = survey.Known(k.set.Life)
	}
	return which
}

// usualWall is the standard wall of the defect's nominal size, or of the size
// that is next to its diameter, in proportion.
func (k *Rules) usualWall(d *survey.Defect) float64 {
	if d.Size != "" {
		if _, t, ok := k.c.OD(d.Series, d.Size); ok && t > 0 {
			return t
		}
	}
	return k.c.WallLike(d.OD.V)
}

// RangeName is the name of the blank whose assumption has the code; ok is false
// for an assumption that is no range.
func RangeName(code string) (name string, ok bool) {
	for i := range blanks {
		if blanks[i].code == code {
			return blanks[i].name, true
		}
	}
	return "", false
}

// Ends works a repair out again with the blank of that code at the easy end of
// its range, and at the hard one, the others as they were taken; without a code
// with all of them at those ends.
func (k *Rules) Ends(r *Repair, code string) (easy, hard *Repair) {
	end := func(share float64) *Repair {
		at := r.point
		for i := range blanks {
			if code == "" || blanks[i].code == code {
				at = at.with(i, share)
			}
		}
		out := k.at(r.Defects, at, nil)
		out.ID = r.ID
		return out
	}
	return end(0), end(1)
}

// SurfaceTemps are the coldest and the hottest that the surface at a defect may
// be, °C: what the survey says, else the ends of the range of a blank.
func SurfaceTemps(d *survey.Defect, set *catalog.Settings) (cold, hot float64) {
	if d.SurfaceTemp.OK {
		return d.SurfaceTemp.V, d.SurfaceTemp.V
	}
	return math.Min(set.WorkTemp, set.WorkTempLow), math.Max(set.WorkTemp, set.WorkTempHigh)
}

// DesignTemps are the least and the greatest that the design temperature of a
// defect may be, °C: what the survey says, else the ends of the range of a blank.
func DesignTemps(d *survey.Defect, set *catalog.Settings) (least, most float64) {
	if d.DesignTemp.OK {
		return d.DesignTemp.V, d.DesignTemp.V
	}
	_, hot := SurfaceTemps(d, set)
	return set.DesignTempLow, math.Max(set.DesignTempHigh, hot)
}
