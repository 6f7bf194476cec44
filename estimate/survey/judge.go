package survey

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"wraptally/estimate/trace"
)

// wallShare is the share of its diameter that the wall of a pipe is; common
// practice, no source.
var wallShare = span{0.003, 0.3}

// columnSample holds values of a column, spread over all of it, in bounded
// memory: when full, every other one goes and twice as many are passed over.
type columnSample struct {
	values      []float64
	every, next int
}

const mostSampled = 4096

func (s *columnSample) add(v float64) {
	if s.next--; s.next > 0 {
		return
	}
	if len(s.values) == mostSampled {
		for i := range mostSampled / 2 {
			s.values[i] = s.values[2*i]
		}
		s.values = s.values[:mostSampled/2]
		s.every *= 2
	}
	s.values = append(s.values, v)
	s.every = max(s.every, 1)
	s.next = s.every
}

// judgeUnits holds the columns whose headings name no unit against what pipes
// are. A contradiction stops the survey, with the options that mend it; a doubt
// is asked about.
func (rd *reader) judgeUnits() error {
	type doubtful struct {
		c    *column
		alt  *Unit
		why  string
		sure bool
	}
	var list []doubtful
	sure := false
	for i := range rd.unitless {
		c := &rd.unitless[i]
		if rd.unitByOption(c.field) || c.sample == nil || len(c.sample.values) == 0 {
			continue
		}
		if alt, why, contradicted := rd.unitDoubt(c); alt != nil {
			list = append(list, doubtful{c, alt, why, contradicted})
			sure = sure || contradicted
		}
	}
	place := trace.Place{File: rd.opts.Name, Sheet: rd.det.Sheet, Line: rd.head.line}
	var why, maps []string
	for _, d := range list {
		key := fieldTable[d.c.field].Key
		place.Column, place.Field = d.c.at+1, d.c.field.heading()
		maps = append(maps, fmt.Sprintf("--map %s=%q", key, strings.Join(strings.Fields(d.c.heading), " ")+" ["+d.alt.Name+"]"))
		if sure {
			why = append(why, fmt.Sprintf("the unit of %s is likely %s (%s)", quote(d.c.heading), d.alt.Name, d.why))
			continue
		}
		rd.rep.add(trace.Query{Code: "unit-doubtful", Severity: trace.Ask, Place: place, Found: clip(d.c.heading),
			Message: fmt.Sprintf("the heading names no unit; %s is taken, %s is likely: %s", d.c.unit.Name, d.alt.Name, d.why),
			Advice:  "state it: " + maps[len(maps)-1] + ", or [" + d.c.unit.Name + "] if that is right"})
	}
	if !sure {
		return nil
	}
	return &Error{Place: place, Problem: "headings without a unit, whose values contradict the one taken: " + strings.Join(why, "; "), Hint: "state them: " + strings.Join(maps, " ")}
}

// unitByOption reports whether the user gave the unit by option.
func (rd *reader) unitByOption(f fieldID) bool {
	o := &rd.opts
	switch {
	case f == fChainage:
		return o.ChainageUnit != ""
	case fieldTable[f].Dim == DimLength:
		return o.LengthUnit != ""
	case fieldTable[f].Dim == DimPressure:
		return o.PressureUnit != ""
	case fieldTable[f].Dim == DimTemperature:
		return o.TemperatureUnit != ""
	}
	return true
}

// middle is the median of a field's values in the base unit, NaN where there are
// none.
func (rd *reader) middle(f fieldID) float64 {
	if i := rd.byField[f]; i > 0 && rd.cols[i-1].sample != nil {
		return median(rd.cols[i-1].sample.values)
	}
	return math.NaN()
}

// unitDoubt gives the unit in which a column's values are likelier than in the
// one taken, and why; contradicted, where they cannot be in that one.
func (rd *reader) unitDoubt(c *column) (alt *Unit, why string, contradicted bool) {
	v, od, wall := median(c.sample.values), rd.middle(fOD), rd.middle(fWall)
	as := func(u *Unit, v float64) float64 { return u.Base(c.unit.From(v)) }
	inch := lookUnit("in")
	switch c.field {
	case fOD:
		taken, inches := rd.inTable(c.sample.values), 0
		var other []float64
		for _, x := range c.sample.values {
			other = append(other, as(inch, x))
		}
		inches = rd.inTable(other)
		n := len(c.sample.values)
		switch {
		case 10*inches >= 8*n && 10*taken <= 2*n:
			return inch, fmt.Sprintf("%d of %d are outside diameters of the pipe table in inches, %d in %s", inches, n, taken, c.unit.Name), true
		case wall/v > wallShare[1] && wallShare.holds(wall/as(inch, v)):
			return inch, fmt.Sprintf("a wall of %s mm is no part of a diameter of %s mm", short(wall), short(v)), true
		}
	case fWall:
		if !math.IsNaN(od) && !wallShare.holds(v/od) && wallShare.holds(as(inch, v)/od) {
			return inch, fmt.Sprintf("%s mm is no wall of a diameter of %s mm", short(v), short(od)), true
		}
		if v < fieldTable[fWall].usual[0] && fieldTable[fWall].usual.holds(as(inch, v)) {
			return inch, fmt.Sprintf("%s mm is no wall", short(v)), true
		}
	case fPressure:
		bar := lookUnit("bar")
		if hoop := v * od / (2 * wall); hoop > rd.opts.Doubts.HoopHigh {
			return bar, fmt.Sprintf("%s MPa would stress the wall to %.0f MPa", short(v), hoop), true
		}
		if v > rd.opts.Doubts.PressureHigh && c.unit.Name == "MPa" {
			return bar, fmt.Sprintf("half of the values are above %s MPa", short(v)), false
		}
	case fAxial, fCirc:
		if v < rd.opts.Doubts.DefectSmall && c.unit.Name == "mm" {
			return inch, fmt.Sprintf("half of the defects would be smaller than %s mm", short(rd.opts.Doubts.DefectSmall)), false
		}
	}
	if !rd.inInches() {
		return nil, "", false
	}
	name := inchUnits[c.unit.Dim]
	if c.field == fChainage {
		name = "ft"
	}
	if u := lookUnit(name); u != nil && u != c.unit {
		return u, "the other headings are in inches and the like", false
	}
	return nil, "", false
}

// inTable counts the diameters that are those of the pipe table, to 1 %.
func (rd *reader) inTable(ods []float64) (n int) {
	for _, od := range ods {
		if slices.ContainsFunc(rd.tableODs, func(t tableSize) bool { return math.Abs(od-t.od) <= 0.01*t.od }) {
			n++
		}
	}
	return n
}
