package survey

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"wraptally/estimate/trace"
)

// column is a column of the file that feeds a field.
type column struct {
	at        int // index of the cell
	field     fieldID
	unit      *Unit
	unitGiven bool   // by the heading or a mapping, not by assumption
	series    string // what the heading says of the pipe series
	heading   string

	number bool          // of the field: a number
	plain  bool          // and one that in its usual range raises no question
	usual  span          // that range, within what the field can hold
	sample *columnSample // where the unit is to be judged, or helps to judge another

	carry     bool
	carried   []byte // the value above
	carriedOK bool   // there is one
	seen      map[string]*cellSeen
	last      *cellSeen // the cell of the row above
}

func newColumn(at int, f fieldID, unit *Unit) column {
	t := &fieldTable[f]
	c := column{at: at, field: f, unit: unit, number: t.Kind == KindNumber, seen: make(map[string]*cellSeen)}
	c.usual = span{max(t.usual[0], t.beyond[0]), min(t.usual[1], t.beyond[1])}
	c.plain = c.number && !t.whole && t.or == DimNone && f != fOD
	return c
}

// plan turns the heading into columns, or says why it cannot.
func (rd *reader) plan(h *header) error {
	rd.head = h
	rd.width = len(h.texts)
	if h.rows == 0 {
		return rd.noHeading()
	}
	place := trace.Place{File: rd.opts.Name, Sheet: rd.det.Sheet, Line: h.line}
	p := planning{head: h, place: place, byField: make(map[fieldID]int), doubles: make(map[fieldID]int), mapped: make(map[fieldID]bool)}
	for _, mp := range h.unused {
		if f, _ := fieldOf(mp.Field); mp.Heading == noColumn {
			p.mapped[f] = true
			continue
		}
		if !slices.Contains(rd.opts.SavedMap, mp) {
			return &Error{Place: place, Problem: "--map " + mp.Field + ": there is no heading " + quote(mp.Heading), Hint: "the headings most like it: " + strings.Join(nearest(mp.Heading, h.texts), ", ")}
		}
	}
	for _, mt := range h.matches {
		if mt.taken() && mt.via == viaMapping {
			p.mapped[mt.field] = true
		}
	}
	for i := range h.matches {
		rd.det.Columns = append(rd.det.Columns, rd.planColumn(&p, i))
	}
	rd.noteIgnored(p)
	rd.assumeUnits()
	has := func(f fieldID) bool {
		_, ok := p.byField[f]
		return ok || rd.defaults[f] != nil
	}
	for f := range numFields() {
		if !has(f) {
			rd.det.Missing = append(rd.det.Missing, f.heading())
		}
	}
	lacks := missing(has)
	switch {
	case p.double != nil:
		p.double.Guide = rd.guide(p.doubles)
		return p.double
	case len(lacks) > 0:
		return &Error{Place: place, Problem: "the heading lacks " + strings.Join(lacks, ", "), Guide: rd.guide(nil),
			Hint: "map a column with --map FIELD=\"Their heading [unit]\", or give one value for all rows with --set survey.FIELD=VALUE"}
	case h.twins != nil:
		return h.twins
	}
	return nil
}

// planning is what is known of the heading's columns while they are gone through.
type planning struct {
	head             *header
	place            trace.Place
	byField, doubles map[fieldID]int  // columns; of doubles the one to keep
	double           *Error           // the first field that two columns give
	mapped           map[fieldID]bool // by the user
	ignored          []string         // headings that no field takes
}

// planColumn tells what becomes of the i-th column of the heading, and opens it
// where its field is read.
func (rd *reader) planColumn(p *planning, i int) Column {
	h, mt := p.head, p.head.matches[i]
	at := p.place
	at.Column, at.Field = i+1, h.texts[i]
	col := Column{Index: i + 1, Heading: h.texts[i]}
	if mt.taken() && p.mapped[mt.field] && mt.via != viaMapping {
		mt = match{field: noField}
		col.Why = "its field is mapped to another column, or to none"
	}
	if mt.taken() && mt.via != viaMapping && fieldTable[mt.field].Kind == KindClock && rd.noClock(i, mt) {
		mt = match{field: noField}
		col.Why = "its cells hold no clock positions"
	}
	if !mt.taken() {
		if mt.via == "" && col.Why == "" {
			if f := nearHeading(h.texts[i]); f != noField {
				mt = match{field: noField, via: viaMisspelt, may: []fieldID{f}, text: "is it " + f.heading() + "?"}
				h.matches[i] = mt
			}
		}
		rd.ignored(p, at, &col, mt)
		return col
	}
	if first, ok := p.byField[mt.field]; ok {
		col.Why = fmt.Sprintf("column %d gives %s too", first+1, mt.field.heading())
		rd.twice(p, at, first, i, mt)
		return col
	}
	p.byField[mt.field] = i
	rd.cols = append(rd.cols, rd.opened(i, mt, &col))
	return col
}

// twice notes that the i-th column gives a field that the first gives already.
func (rd *reader) twice(p *planning, at trace.Place, first, i int, mt match) {
	if p.double == nil {
		problem := fmt.Sprintf("columns %d and %d (%s and %s) both give %s", first+1, i+1, quote(p.head.texts[first]), quote(p.head.texts[i]), mt.field.heading())
		p.double = &Error{Place: at, Problem: problem, Hint: "say which with --map " + fieldTable[mt.field].Key + "=\"heading\" (or \"column " + strconv.Itoa(i+1) + "\"), or take one out"}
	}
	if _, chosen := p.doubles[mt.field]; !chosen {
		p.doubles[mt.field] = first
	}
	switch kept := p.doubles[mt.field]; {
	case mt.field == fDepth && mt.unit.Dim == DimPercent: // the wall is not needed to compare it
		p.doubles[mt.field] = i
	case mt.field == fID && !rd.allDiffer(kept) && rd.allDiffer(i): // a dig has several features
		p.doubles[mt.field] = i
	}
}

// opened is the column of a field that is read, with its unit and where that
// comes from, which col tells.
func (rd *reader) opened(i int, mt match, col *Column) column {
	c := newColumn(i, mt.field, mt.unit)
	c.unitGiven, c.series, c.heading = mt.unit != nil, mt.series, col.Heading
	col.Field, col.Via = mt.field.heading(), string(mt.via)
	col.UnitFrom = "heading"
	if mt.via == viaMapping || mt.via == viaTable {
		col.UnitFrom = "mapping"
	}
	if fieldTable[mt.field].Kind == KindClock && c.unit == nil && rd.inDegrees(i) {
		c.unit, col.UnitFrom = lookUnit("deg"), "values"
		rd.rep.assume("clock-degrees", "Clock positions most of which are above 12 are read in degrees: "+quote(col.Heading)+".", "common practice, no source", 1, rd.opts.Name)
	}
	if c.unit == nil && needsUnit(mt.field) {
		c.unit = rd.assumedUnit(mt.field)
		col.UnitFrom = "assumed"
		c.sample = &columnSample{}
		rd.unitless = append(rd.unitless, c)
	} else if mt.field == fOD || mt.field == fWall {
		c.sample = &columnSample{}
	}
	if c.unit != nil {
		col.Unit = c.unit.Name
	} else {
		col.UnitFrom = ""
	}
	return c
}

func needsUnit(f fieldID) bool {
	t := &fieldTable[f]
	return t.Kind == KindNumber && t.Dim != DimNone
}

// assumedUnit is the unit of a field whose heading names none.
func (rd *reader) assumedUnit(f fieldID) *Unit {
	switch {
	case f == fChainage:
		return rd.units.chainage
	case fieldTable[f].Dim == DimLength:
		return rd.units.length
	case fieldTable[f].Dim == DimPressure:
		return rd.units.pressure
	case fieldTable[f].Dim == DimTemperature:
		return rd.units.temperature
	}
	return f.ownUnit()
}

// assumeUnits lists the headings without a unit, a line for each unit taken.
func (rd *reader) assumeUnits() {
	for _, u := range unitTable {
		var names []string
		for _, c := range rd.unitless {
			if c.unit.Name == u.Name {
				names = append(names, c.heading)
			}
		}
		if len(names) > 0 {
			rd.rep.assume("unit-assumed", fmt.Sprintf("Headings without a unit are read in %s: %s.", u.Name, strings.TrimSuffix(strings.Join(names, ", "), ".")),
				"setting; state the unit in the heading or by option", len(names), rd.opts.Name)
		}
	}
}

// inDegrees reports whether most of the plain numbers below a heading are more
// than the hours of a clock.
func (rd *reader) inDegrees(at int) bool {
	numbers, above := 0, 0
	for _, c := range rd.sampleOf(at) {
		if v, err := strconv.ParseFloat(strings.Replace(c, ",", ".", 1), 64); err == nil {
			if numbers++; v > 12 {
				above++
			}
		}
	}
	return 2*above > numbers
}

// noClock reports whether a column headed as a clock position hardly holds one:
// "orientation" also heads columns that say inside or outside.
func (rd *reader) noClock(at int, mt match) bool {
	read, cells := 0, rd.sampleOf(at)
	for _, c := range cells {
		if _, ok := parseClock([]byte(c), mt.unit, '.'); ok || strings.IndexFunc(c, unicode.IsDigit) >= 0 {
			read++
		}
	}
	return len(cells) > 0 && 10*read < len(cells)
}

// ignored records a column that no field takes: of itself what is to be asked
// about, the others together.
func (rd *reader) ignored(p *planning, at trace.Place, col *Column, mt match) {
	col.Why = cmp.Or(col.Why, mt.text)
	code, what, advice := "heading-ignored", "the column is ignored: "+col.Why, "map it with --map FIELD=\"heading\" if it matters"
	switch mt.via {
	case viaUnclear:
		code, what = "heading-unclear", "the heading is not clear; "+what
		advice = "say which with --map FIELD=\"heading\""
	case viaMisspelt:
		code, what = "heading-misspelt", "no field has this name; "+what
	case viaUnitless:
		code = "heading-without-unit"
	case viaUnit:
		code = "heading-unclear"
	}
	switch {
	case col.Heading == "" && !rd.holdsValues(col.Index-1):
	case col.Why != "":
		rd.rep.add(trace.Query{Code: code, Severity: severityOf[code], Place: at, Found: clip(col.Heading), Message: what, Advice: advice})
	case col.Heading == "":
		p.ignored = append(p.ignored, "column "+strconv.Itoa(col.Index)+", which has no heading")
	default:
		p.ignored = append(p.ignored, quote(col.Heading))
	}
}

// mostIgnored is how many columns that no field takes are named.
const mostIgnored = 20

// noteIgnored notes the columns that no field takes.
func (rd *reader) noteIgnored(p planning) {
	n := len(p.ignored)
	if n == 0 {
		return
	}
	if n > mostIgnored {
		p.ignored = append(p.ignored[:mostIgnored], "...")
	}
	rd.rep.add(trace.Query{Code: "heading-ignored", Severity: severityOf["heading-ignored"], Place: p.place,
		Message: trace.Count(n, "column is", "columns are") + " ignored: " + strings.Join(p.ignored, ", "), Advice: "map what matters with --map FIELD=\"heading\""})
}

// holdsValues reports whether a column of the sample holds anything.
func (rd *reader) holdsValues(at int) bool {
	for _, r := range rd.head.below {
		if cellAt(r.cells, at) != "" {
			return true
		}
	}
	return false
}

// missing are the fields that an estimate needs and the survey has not, in words.
func missing(has func(fieldID) bool) (lacks []string) {
	need := func(ok bool, what string) {
		if !ok {
			lacks = append(lacks, what)
		}
	}
	need(has(fLine), fLine.heading())
	need(has(fChainage), fChainage.heading())
	need(has(fOD) || has(fCircumference) || has(fSize), "od_mm (or circumference_mm, or size with series)")
	need(has(fHole) || has(fAxial) && has(fCirc), "axial_mm with circ_mm (or hole_mm)")
	need(has(fLeaking), fLeaking.heading())
	return lacks
}

func (rd *reader) noHeading() error {
	e := &Error{Place: trace.Place{File: rd.opts.Name, Sheet: rd.det.Sheet},
		Problem: fmt.Sprintf("no heading was found in the first %d rows", headRows),
		Hint:    "a heading names at least line, chainage_m, od_mm, axial_mm, circ_mm and leaking; state its row with --header-row, the client's names with --map"}
	if rd.opts.HeaderRow > 0 {
		e.Place.Line = rd.opts.HeaderRow
		e.Problem = fmt.Sprintf("there is no such line among the first %d rows", headRows)
	}
	return e
}

// repeatsHeading reports whether a row repeats the heading, as a new page of a
// printed register does.
func (rd *reader) repeatsHeading(cells [][]byte) bool {
	if rd.head.rows != 1 || len(rd.cols) == 0 {
		return false
	}
	for i := range rd.cols {
		c := &rd.cols[i]
		if c.at >= len(cells) || string(trim(cells[c.at])) != c.heading {
			return false
		}
	}
	return true
}

// columnFor finds the column that a filter names, by its heading or by its
// field.
func (rd *reader) columnFor(name string) int {
	want := normHeading(name)
	if i := slices.IndexFunc(rd.head.texts, func(t string) bool { return strings.EqualFold(strings.TrimSpace(t), strings.TrimSpace(name)) }); i >= 0 {
		return i
	}
	if i := slices.IndexFunc(rd.head.texts, func(t string) bool { return normHeading(t) == want && want != "" }); i >= 0 {
		return i
	}
	if f, ok := fieldOf(name); ok {
		for i := range rd.cols {
			if rd.cols[i].field == f {
				return rd.cols[i].at
			}
		}
	}
	return -1
}
