package survey

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"

	"wraptally/estimate/trace"
)

// value reads a cell that is not blank into the record, or raises the query
// that says why not.
func (rd *reader) value(c *column, cell []byte) {
	rd.extra.cell[c.field] = int32(c.at + 1)
	if c.number {
		rd.number(c, cell)
		return
	}
	switch fieldTable[c.field].Kind {
	case KindText:
		rd.text(c, cell)
	case KindSize:
		rd.size(c, cell)
	case KindYesNo:
		rd.yesNo(c, cell)
	case KindWord:
		rd.word(c, cell)
	case KindClock:
		if deg, ok := quickClock(cell); ok && (c.unit == nil || c.unit.Name == "clock") {
			rd.d.Clock = Known(deg)
			return
		}
		if deg, ok := parseClock(cell, c.unit, rd.decimal); ok {
			rd.d.Clock = Known(deg)
			return
		}
		rd.cellQuery("clock-unclear", c, cell, "the clock position cannot be read, or in two ways; it is left out", "write hours and minutes (10:48), or degrees with their sign (324°)")
	case KindDate:
		if t, ok := parseDate(cell); ok {
			rd.d.NeedDate = t
			return
		}
		rd.cellQuery("date-unclear", c, cell, "the date cannot be read, or in two ways; it is left out", "write it as 2027-03-15")
	}
}

func (rd *reader) cellQuery(code string, c *column, cell []byte, message, advice string) {
	rd.query(code, c.field, c.at+1, clip(string(cell)), message, advice)
}

// unreadable raises the query of a number that cannot be used. In a field that
// bears on no quantity the cell alone is left out.
func (rd *reader) unreadable(code string, c *column, cell []byte, message, advice string) {
	if !fieldTable[c.field].grave {
		code, message = "value-light-bad", message+"; it is left out"
	}
	rd.cellQuery(code, c, cell, message, advice)
}

// number reads a measure into its place in base units.
func (rd *reader) number(c *column, cell []byte) {
	v, ok := plainNumber(cell, rd.decimal)
	unit := c.unit
	if !ok {
		if v, unit, ok = rd.measure(c, cell); !ok {
			return
		}
	}
	if unit != nil {
		v = unit.Base(v)
	}
	if c.plain && v > 0 && v >= c.usual[0] && v <= c.usual[1] {
		*slot(rd.d, &rd.extra, c.field) = Known(v) // nothing to ask
		return
	}
	rd.measured(c, cell, v, unit)
}

// measured checks a value in base units against what its field can hold, and
// stores it.
func (rd *reader) measured(c *column, cell []byte, v float64, unit *Unit) {
	f := c.field
	t := &fieldTable[f]
	percent := unit != nil && unit.Dim == DimPercent
	switch {
	case f == fRemaining && percent:
		rd.remainingPercent(c, cell, v)
		return
	case f == fDepth && percent:
		if v < 0 || v > 100 {
			rd.unreadable("number-range", c, cell, "a depth outside 0 to 100 %", "")
			return
		}
		rd.extra.depth, rd.extra.depthPercent = Known(v), true
		return
	case v < 0 && t.beyond[0] >= 0:
		rd.unreadable("number-negative", c, cell, t.Key+" cannot be negative", "")
		return
	case v == 0 && (f == fAxial || f == fCirc || f == fHole || f == fCircumference || f == fOD || f == fWall || f == fLayers || f == fStress):
		rd.unreadable("number-zero", c, cell, t.Key+" cannot be zero", "leave the cell empty if it was not measured")
		return
	case f == fDepth:
		if v > 500 {
			rd.unreadable("number-range", c, cell, "a depth beyond any pipe wall", "")
			return
		}
		rd.extra.depth = Known(v)
		return
	case f == fLayers && v != math.Trunc(v):
		rd.unreadable("number-bad", c, cell, "layers are a whole number", "")
		return
	}
	if (v < t.usual[0] || v > t.usual[1]) && unit != nil && unit == c.unit && f != fOD {
		if likely := likelyUnits(unit.From(v), unit, t.usual[0], t.usual[1]); len(likely) > 0 {
			rd.doubtUnit(c, cell, v, likely)
			return
		}
	}
	if v < t.beyond[0] || v > t.beyond[1] {
		u := ""
		if o := f.ownUnit(); o != nil {
			u = " " + baseUnitName(o.Dim)
		}
		rd.unreadable("number-range", c, cell, fmt.Sprintf("%s of %s%s is beyond any pipework", t.Key, short(v), u), "")
		return
	}
	if s := slot(rd.d, &rd.extra, f); s != nil {
		*s = Known(v)
	}
	if f == fOD {
		rd.extra.odUnit, rd.extra.odCell = unit, cell
	}
}

func baseUnitName(d Dim) string {
	switch d {
	case DimLength:
		return "mm"
	case DimPressure:
		return "MPa"
	case DimTemperature:
		return "°C"
	case DimForce:
		return "N"
	case DimPercent:
		return "%"
	case DimAngle:
		return "deg"
	case DimTime:
		return "years"
	}
	return ""
}

// short prints a number for a message.
func short(v float64) string { return strconv.FormatFloat(v, 'g', 6, 64) }

// slot is where a number field is kept.
func slot(d *Defect, x *rowExtra, f fieldID) *Num {
	switch f {
	case fChainage:
		return &d.Chainage
	case fOD:
		return &d.OD
	case fCircumference:
		return &x.circumference
	case fWall:
		return &d.Wall
	case fAxial:
		return &d.Axial
	case fCirc:
		return &d.Circ
	case fHole:
		return &x.hole
	case fRemaining:
		return &d.Remaining
	case fPressure:
		return &d.Pressure
	case fLivePressure:
		return &d.LivePressure
	case fStress:
		return &d.Stress
	case fAxialForce:
		return &d.AxialForce
	case fSurfaceTemp:
		return &d.SurfaceTemp
	case fDesignTemp:
		return &d.DesignTemp
	case fAirTemp:
		return &d.AirTemp
	case fHumidity:
		return &d.Humidity
	case fLayers:
		return &d.Layers
	case fFreeRunBefore:
		return &d.FreeRunBefore
	case fFreeRunAfter:
		return &d.FreeRunAfter
	case fBendRadius:
		return &d.BendRadius
	case fBendAngle:
		return &d.BendAngle
	case fLife:
		return &d.Life
	}
	return nil
}

// measure reads a number written in any other way than plainly: with its unit,
// thousands marks, as an inch fraction, in feet and inches.
func (rd *reader) measure(c *column, cell []byte) (v float64, unit *Unit, ok bool) {
	if rd.det.Form == "XLSX" && storedNumber(cell) {
		if f, err := strconv.ParseFloat(string(cell), 64); err == nil && !math.IsInf(f, 0) {
			return f, c.unit, true // a sheet stores numbers with a point, whatever it displays
		}
	}
	if fieldTable[c.field].Dim == DimLength {
		if v, ok := feetAndInches(cell, rd.decimal, rd.sure); ok {
			inch := lookUnit("in")
			if c.unitGiven && c.unit != inch && c.unit.Name != "ft" {
				rd.contradictsHeading(c, cell, "feet and inches")
				return 0, nil, false
			}
			return v, inch, true
		}
	}
	v, rest, st := rd.scan(c, cell)
	if st != numOK {
		rd.badNumber(c, cell, st)
		return 0, nil, false
	}
	rest = trim(rest)
	if len(rest) == 0 {
		return v, c.unit, true
	}
	if len(rest) > 24 {
		rd.badNumber(c, cell, numNone)
		return 0, nil, false
	}
	u := lookUnit(string(rest))
	switch {
	case u == nil && fieldTable[c.field].Dim == DimNone:
		rd.badNumber(c, cell, numNone)
	case u == nil || !fits(c.field, u):
		rd.unreadable("unit-unknown", c, cell, fmt.Sprintf("%s is no unit of %s", quote(string(rest)), fieldTable[c.field].Key), "units: "+strings.Join(UnitNames(fieldTable[c.field].Dim), ", "))
	case u == c.unit || !c.unitGiven || u.Dim != c.unit.Dim && c.field == fDepth || c.field == fRemaining && u.Dim == DimPercent:
		return v, u, true
	default:
		rd.contradictsHeading(c, cell, u.Name)
	}
	return 0, nil, false
}

// scan reads the number at the start of a cell; fractions are for inches only.
func (rd *reader) scan(c *column, cell []byte) (float64, []byte, numStatus) {
	if fieldTable[c.field].Dim == DimLength {
		if v, rest, st := scanFraction(cell); st != numNone {
			inches := c.unit != nil && c.unit.Name == "in"
			if u := lookUnit(string(trim(rest))); u != nil {
				inches = u.Name == "in"
			}
			if st == numOK && !inches {
				return 0, nil, numFraction
			}
			return v, rest, st
		}
	}
	return scanNumber(cell, rd.decimal, rd.sure)
}

func (rd *reader) badNumber(c *column, cell []byte, st numStatus) {
	switch st {
	case numRange:
		rd.unreadable("number-range", c, cell, fmt.Sprintf("the number is not finite or has more than %d digits", maxDigits), "")
	case numUnclear:
		rd.unreadable("number-unclear", c, cell, "the number may be a thousand or a fraction", "state the decimal mark with --decimal, or write it without a thousands mark")
	case numFraction:
		rd.unreadable("number-bad", c, cell, "a fraction is read only in inches, with a denominator of 2, 4, 8, 16, 32 or 64", "write it as a decimal number, or with its inch mark")
	default:
		if r, bad := badRune(cell); bad {
			rd.badCharacter(c.field, c.at+1, cell, r)
			return
		}
		if bytes.HasPrefix(cell, []byte("#")) {
			rd.cellQuery("cell-error", c, cell, "the spreadsheet could not compute this cell", "correct the cell in the spreadsheet")
			return
		}
		if c.field == fHole {
			if t := yesNo[strings.ToLower(string(cell))]; t == Yes {
				rd.extra.holeWord = true
				return
			} else if t == No {
				return
			}
		}
		advice := ""
		if bytes.ContainsAny(cell, ".,") {
			advice = fmt.Sprintf("the decimal mark of this survey is %q; --decimal states another", string(rune(rd.decimal)))
		}
		rd.unreadable("number-bad", c, cell, "this is not a number", advice)
	}
}

func (rd *reader) contradictsHeading(c *column, cell []byte, unit string) {
	rd.cellQuery("unit-contradicted", c, cell, fmt.Sprintf("the cell is in %s, the heading %s in %s", unit, quote(c.heading), c.unit.Name), "give the value in the heading's unit, or take the unit out of one of the two")
}

// storedNumber reports whether a cell is written as a sheet stores numbers.
func storedNumber(b []byte) bool {
	for _, c := range b {
		if c-'0' > 9 && c != '.' && c != '-' && c != '+' && c != 'E' {
			return false
		}
	}
	return len(b) > 0 && len(b) <= 32
}

// feetAndInches reads 2'6", 2' 6-1/2", 5ft 3in, 2'-6". A foot measure alone is
// left to the ordinary road.
func feetAndInches(b []byte, decimal byte, sure bool) (inches float64, ok bool) {
	feet, rest, st := scanNumber(b, decimal, sure)
	if st != numOK || feet < 0 {
		return 0, false
	}
	rest = trim(rest)
	n := 0
	for _, mark := range []string{"feet", "foot", "ft.", "ft", "'", "′", "’"} {
		if bytes.HasPrefix(rest, []byte(mark)) {
			n = len(mark)
			break
		}
	}
	if n == 0 || bytes.HasPrefix(rest, []byte("''")) {
		return 0, false
	}
	rest = trim(rest[n:])
	rest = trim(bytes.TrimPrefix(rest, []byte("-")))
	if len(rest) == 0 {
		return 0, false
	}
	in, tail, st := scanFraction(rest)
	if st == numNone {
		in, tail, st = scanNumber(rest, decimal, sure)
	}
	if st != numOK || in < 0 || in >= 12 {
		return 0, false
	}
	if tail = trim(tail); len(tail) > 0 {
		if u := lookUnit(string(tail)); u == nil || u.Name != "in" {
			return 0, false
		}
	}
	return feet*12 + in, true
}

// text reads a text cell. Each different text is stored once, as long as they
// are few.
func (rd *reader) text(c *column, cell []byte) {
	if s, ok := c.words[string(cell)]; ok { // seen, and found clean
		if c.field == fAccess {
			c.last = string(cell)
		} else {
			c.last = s
		}
		c.lastText, c.lastOK = s, true
		rd.setText(c, s)
		return
	}
	if r, bad := badRune(cell); bad {
		if r != '\ufffd' {
			rd.badCharacter(c.field, c.at+1, cell, r)
			return
		}
		rd.cellQuery("cell-damaged", c, cell, "a character was lost in an earlier conversion", "send the text again")
		rd.setText(c, string(cell))
		return
	}
	if looksLikeFormula(cell) {
		rd.cellQuery("formula-text", c, cell, "this looks like a formula; it is kept as text", "")
		rd.setText(c, string(cell))
		return
	}
	s := string(cell)
	if c.field == fAccess { // a word of the catalogue, whatever the case
		s = strings.ToLower(s)
	}
	if len(c.words) < maxWords && c.field != fNote {
		c.words[string(cell)] = s
	}
	rd.setText(c, s)
}

// maxWords is how many different texts of a column are remembered.
const maxWords = 4096

func (rd *reader) setText(c *column, s string) {
	d := rd.d
	switch c.field {
	case fLine:
		d.Line = s
	case fArea:
		d.Area = s
	case fSeries:
		d.Series = s
	case fMedium:
		d.Medium = s
	case fAccess:
		d.Access = s
	case fNote:
		d.Note = s
	}
}

func (rd *reader) badCharacter(f fieldID, col int, cell []byte, r rune) {
	code, message := "cell-control", fmt.Sprintf("the cell holds the control character U+%04X", r)
	if r == '\ufffd' {
		code, message = "cell-damaged", "a character was lost in an earlier conversion"
		if f != fID && f != fNote { // a name is still a name; a number is not
			code = "cell-control"
		}
	}
	rd.query(code, f, col, clip(string(cell)), message, "delete it and send the cell again")
}

func (rd *reader) size(c *column, cell []byte) {
	if n, ok := c.sizes[string(cell)]; ok {
		rd.d.Size, rd.extra.sizeSeries, rd.extra.size = n.number, n.series, n
		return
	}
	n, ok := parseSize(cell, rd.decimal)
	if !ok {
		rd.cellQuery("size-bad", c, cell, "the nominal size cannot be read", "write it as 6, 1-1/2, NPS 6 or DN 150; a spreadsheet may have turned a fraction into a date")
		return
	}
	if n.series == "" {
		n.series = c.series
		if n.series == "" && c.unit != nil && c.unit.Name == "in" {
			n.series = "\""
		}
	}
	if c.sizes == nil {
		c.sizes = make(map[string]*sizeSeen)
	}
	seen := &sizeSeen{nominalSize: n}
	if len(c.sizes) < maxWords {
		c.sizes[string(cell)] = seen
	}
	rd.extra.size = seen
	rd.d.Size, rd.extra.sizeSeries = n.number, n.series
}

func (rd *reader) yesNo(c *column, cell []byte) {
	t := quickYesNo(cell)
	if t == Unknown {
		word := strings.ToLower(string(cell))
		t = yesNo[word]
		if t == Unknown && c.field == fHazardous {
			t = hazardWords[word]
		}
	}
	if t == Unknown {
		rd.cellQuery("yes-no-unclear", c, cell, "this is neither yes nor no", "write yes or no")
		return
	}
	if c.field == fLeaking {
		rd.d.Leaking = t
	} else {
		rd.d.Hazardous = t
	}
}

func quickYesNo(b []byte) Tri {
	switch string(b) {
	case "yes":
		return Yes
	case "no":
		return No
	}
	return Unknown
}

func (rd *reader) word(c *column, cell []byte) {
	var ok bool
	switch string(cell) { // the commonest words
	case "dry":
		rd.d.Surface, ok = Dry, c.field == fSurface
	case "wet":
		rd.d.Surface, ok = Wet, c.field == fSurface
	case "pipe":
		rd.d.Component, ok = Straight, c.field == fComponent
	case "bend":
		rd.d.Component, ok = Bend, c.field == fComponent
	}
	if ok {
		return
	}
	switch c.field {
	case fSurface:
		if rd.d.Surface, ok = surfaceWords[string(cell)]; !ok {
			rd.d.Surface, ok = surfaceWords[strings.ToLower(string(cell))]
		}
		if !ok {
			rd.cellQuery("word-unknown", c, cell, "the surface is not known by this word", "write dry, wet or submerged")
		}
	case fComponent:
		if rd.d.Component, ok = componentWords[string(cell)]; !ok {
			rd.d.Component, ok = componentWords[strings.ToLower(string(cell))]
		}
		if !ok {
			rd.cellQuery("word-unknown", c, cell, "the component is not known by this word", "write pipe, bend, tee, reducer, flange or nozzle")
		}
	}
}

// doubt gathers what the values of a column say against its heading's unit.
type doubt struct {
	rows   int
	likely string
	column column
	found  string
}

// doubtUnit raises the query of a value that its heading's unit makes
// impossible and another makes likely.
func (rd *reader) doubtUnit(c *column, cell []byte, base float64, likely []string) {
	f := c.field
	u := baseUnitName(c.unit.Dim)
	alt, _ := ParseUnit(likely[0])
	meaning := strings.Join(likely, " or ")
	rd.query("unit-contradicted", f, c.at+1, clip(string(cell)),
		fmt.Sprintf("%s %s is %s %s, outside the usual %s to %s %s; likely meant: %s (%s %s)",
			short(c.unit.From(base)), c.unit.Name, short(base), u, short(fieldTable[f].usual[0]), short(fieldTable[f].usual[1]), u, meaning, short(alt.Base(c.unit.From(base))), u),
		"state the unit with --map "+fieldTable[f].Key+"=\"heading [unit]\", or confirm the value with --accept unit-contradicted")
	d := &rd.doubts[f]
	d.rows++
	if d.rows == 1 {
		d.likely, d.column, d.found = meaning, *c, clip(string(cell))
	}
	if !rd.stopped { // confirmed
		if s := slot(rd.d, &rd.extra, f); s != nil {
			*s = Known(base)
		}
	}
}

// columnDoubts raises, for a column whose values contradict its heading more
// than once, one query at the heading.
func (rd *reader) columnDoubts() {
	for f := range numFields {
		d := &rd.doubts[f]
		if d.rows < 2 {
			continue
		}
		rd.rep.add(trace.Query{Code: "unit-contradicted", Severity: trace.Ask,
			Place: trace.Place{File: rd.opts.Name, Sheet: rd.det.Sheet, Line: rd.head.line, Column: d.column.at + 1, Field: f.heading()},
			Found: clip(d.column.heading), Message: fmt.Sprintf("%d rows contradict the unit %s of this heading; likely meant: %s", d.rows, d.column.unit.Name, d.likely),
			Advice: "state the unit with --map " + fieldTable[f].Key + "=\"heading [unit]\""})
	}
}

// marks is what the numbers of a sample say about the decimal mark.
type marks struct {
	point, comma int
	thousands    bool // thousands marks are in use
}

// sniffDecimal counts the cells that only a decimal point, or only a decimal
// comma, explains. "1,234" and "1.234" count for neither.
func sniffDecimal(rows []headRow, cols []column) marks {
	var m marks
	for _, r := range rows {
		for i := range cols {
			if c := &cols[i]; fieldTable[c.field].Kind == KindNumber && c.at < len(r.cells) {
				if r.raw == nil {
					m.weigh(r.cells[c.at])
				} else if c.at < len(r.raw) && !storedNumber([]byte(r.raw[c.at])) {
					m.weigh(r.raw[c.at]) // a number of the sheet has no mark of its own
				}
			}
		}
	}
	return m
}

func (m *marks) weigh(cell string) {
	cell = strings.TrimSpace(cell)
	if len(cell) > 64 {
		return
	}
	lastPoint, lastComma := strings.LastIndexByte(cell, '.'), strings.LastIndexByte(cell, ',')
	points, commas := strings.Count(cell, "."), strings.Count(cell, ",")
	switch {
	case points == 0 && commas == 0:
	case points > 0 && commas > 0:
		m.thousands = true
		if lastPoint > lastComma && points == 1 {
			m.point++
		} else if lastComma > lastPoint && commas == 1 {
			m.comma++
		}
	case points > 1:
		m.comma++
		m.thousands = true
	case commas > 1:
		m.point++
		m.thousands = true
	case points == 1 && soleMarkIsDecimal(cell, lastPoint):
		m.point++
	case commas == 1 && soleMarkIsDecimal(cell, lastComma):
		m.comma++
	}
}

// soleMarkIsDecimal reports whether the one mark at i cannot be a thousands
// mark: other than three digits follow it, more than three stand before it, or
// a zero leads.
func soleMarkIsDecimal(cell string, i int) bool {
	before, after := 0, 0
	for j := i - 1; j >= 0 && cell[j]-'0' <= 9; j-- {
		before++
	}
	for j := i + 1; j < len(cell) && cell[j]-'0' <= 9; j++ {
		after++
	}
	if after == 0 || before == 0 {
		return before+after > 0 && before == 0 && after > 0
	}
	return after != 3 || before > 3 || cell[i-before] == '0'
}
