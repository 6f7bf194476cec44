package survey

import (
	"bytes"
	"fmt"
	"strings"
	"unicode/utf8"

	"wraptally/estimate/trace"
)

// reader turns rows of cells into defects.
type reader struct {
	opts    Options
	det     Detected
	rep     *report
	head    *header
	width   int // columns of the heading
	cols    []column
	byField [numFields]int // index into cols, from 1; 0 where the survey has no such column
	idCol   int            // index into cols of the id, -1
	decimal byte
	sure    bool // thousands marks are known to be in use
	units   struct{ length, pressure, temperature, chainage *Unit }

	unitless  []column
	defaults  [numFields]*defaultValue
	absent    []fieldID // fields with a default and no column
	carries   bool
	filters   []rowFilter
	repeated  *rowFilter
	dropped   *rowFilter
	accepts   map[string]bool
	answers   *answerSheet
	doubts    [numFields]doubt
	account   Account
	notGiven  int
	defects   []Defect
	progress  func() float64 // share of the file read; nil where unknown
	ids       *idSet
	tableODs  []tableSize
	lastLine  string
	date1904  bool                     // the workbook counts days from 1904
	formulaAt func(line, col int) bool // a cell holds a formula; nil where every formula has its value
	depthWall float64                  // standard wall of the row's nominal size

	// of the row in hand
	now     *textRow
	d       *Defect // = &rec: filled in one place and copied when whole
	rec     Defect
	extra   rowExtra
	stopped bool
	rowAcc  map[string]bool // codes that the client's answers confirm for this row
}

// rowExtra is what a row says that a Defect does not hold.
type rowExtra struct {
	circumference, hole, depth Num
	depthPercent               bool
	holeWord                   bool // the hole cell says yes instead of a size
	sizeSeries                 string
	odCell                     []byte
	odUnit                     *Unit
	remainPercent              Num
	size                       *sizeSeen
	cell                       [numFields]int32 // 1-based column of each field with a value
}

// defaultValue is the text that stands in for blank cells of a field.
type defaultValue struct {
	text []byte
	col  column
}

// newReader prepares for the rows below the heading.
func newReader(opts Options, det Detected, head *header) (*reader, error) {
	rd := &reader{opts: opts, det: det, rep: newReport(opts.Limits.Queries), idCol: -1}
	rd.det.HeaderRow, rd.det.HeaderRows, rd.det.Preamble = head.line, head.rows, head.preamble
	if opts.HeaderRow > 0 {
		rd.det.Set = append(rd.det.Set, "header row")
	}
	if err := rd.setUnits(); err != nil {
		return nil, err
	}
	if err := rd.setDefaults(); err != nil {
		return nil, err
	}
	if err := rd.plan(head); err != nil {
		return nil, err
	}
	if err := rd.setDecimal(); err != nil {
		return nil, err
	}
	for i := range rd.cols {
		c := &rd.cols[i]
		rd.byField[c.field] = i + 1
		if c.field == fID {
			rd.idCol = i
		}
	}
	for f := range numFields {
		if dv := rd.defaults[f]; dv != nil && !rd.hasColumn(f) {
			rd.absent = append(rd.absent, f)
		}
	}
	if err := rd.setCarries(); err != nil {
		return nil, err
	}
	if err := rd.newFilters(opts.Only); err != nil {
		return nil, err
	}
	n := len(rd.filters)
	rd.filters = append(rd.filters, rowFilter{rule: repeatedHeading, column: -1}, rowFilter{rule: droppedByAnswer, column: -1})
	rd.repeated, rd.dropped = &rd.filters[n], &rd.filters[n+1]
	rd.accepts = make(map[string]bool)
	for _, code := range opts.Accept {
		if _, ok := severityOf[code]; !ok {
			return nil, &Error{Problem: "no query has the code " + quote(code)}
		}
		rd.accepts[code] = true
	}
	rd.answers = newAnswerSheet(opts.Answers)
	rd.tableODs = tableSizes(opts.Sizes)
	return rd, nil
}

func (rd *reader) hasColumn(f fieldID) bool {
	return rd.byField[f] > 0
}

func (rd *reader) setUnits() error {
	for _, u := range []struct {
		to         **Unit
		name, what string
		fallback   string
		dim        Dim
	}{
		{&rd.units.length, rd.opts.LengthUnit, "length", "mm", DimLength},
		{&rd.units.pressure, rd.opts.PressureUnit, "pressure", "MPa", DimPressure},
		{&rd.units.temperature, rd.opts.TemperatureUnit, "temperature", "°C", DimTemperature},
		{&rd.units.chainage, rd.opts.ChainageUnit, "chainage", "m", DimLength},
	} {
		name := u.name
		if name == "" {
			name = u.fallback
		}
		*u.to = lookUnit(name)
		if *u.to == nil || (*u.to).Dim != u.dim {
			return &Error{Problem: quote(name) + " is no unit of " + u.what, Hint: "units: " + strings.Join(UnitNames(u.dim), ", ")}
		}
	}
	return nil
}

func (rd *reader) setDefaults() error {
	for _, d := range rd.opts.Defaults {
		f, ok := fieldOf(d.Field)
		if !ok {
			return &Error{Problem: "no field is called " + quote(d.Field), Hint: "the fields are " + fieldKeys()}
		}
		_, unit := ownWithUnit(d.Field)
		if unit == nil {
			unit = f.ownUnit()
		}
		rd.defaults[f] = &defaultValue{text: []byte(strings.TrimSpace(d.Value)), col: newColumn(-1, f, unit)}
		if err := rd.tryDefault(f, d); err != nil {
			return err
		}
	}
	return nil
}

// tryDefault refuses a default that no row could use.
func (rd *reader) tryDefault(f fieldID, d Default) error {
	dv := rd.defaults[f]
	if len(dv.text) == 0 {
		return &Error{Problem: "the setting survey." + d.Field + " is empty"}
	}
	trial := &reader{opts: rd.opts, rep: newReport(10), decimal: '.', sure: true, now: &textRow{}, d: &Defect{}, accepts: map[string]bool{}, answers: newAnswerSheet(nil)}
	col := dv.col
	trial.value(&col, dv.text)
	if len(trial.rep.queries) > 0 {
		q := trial.rep.queries[0]
		return &Error{Problem: "the setting survey." + d.Field + " = " + quote(d.Value) + " cannot be used: " + q.Message, Hint: q.Advice}
	}
	return nil
}

func (rd *reader) setCarries() error {
	for _, name := range rd.opts.CarryDown {
		f, ok := fieldOf(name)
		if !ok {
			return &Error{Problem: "no field is called " + quote(name), Hint: "the fields are " + fieldKeys()}
		}
		found := false
		for i := range rd.cols {
			if rd.cols[i].field == f {
				rd.cols[i].carry, found = true, true
			}
		}
		if !found {
			return &Error{Problem: "values of " + f.heading() + " are to be carried down, but the survey has no such column"}
		}
		rd.carries = true
	}
	return nil
}

// setDecimal takes the user's decimal mark, or judges it from the rows of the
// sample.
func (rd *reader) setDecimal() error {
	rd.decimal = '.'
	switch rd.opts.Decimal {
	case 0:
		v := sniffDecimal(rd.head.below, rd.cols)
		rd.sure = v.thousands
		if v.comma > v.point {
			rd.decimal = ','
		}
	case '.', ',':
		rd.decimal, rd.sure = byte(rd.opts.Decimal), true
		rd.det.Set = append(rd.det.Set, "decimal")
	default:
		return &Error{Problem: "the decimal mark must be a point or a comma"}
	}
	rd.det.Decimal = string(rune(rd.decimal))
	return nil
}

// keep adds the row in hand to the records. When room runs out, the share of the
// file read so far says how many records there will be: a million records are
// not copied again and again, and a register of which one row in a hundred is a
// defect takes room for the hundredth part.
func (rd *reader) keep() {
	if n := len(rd.defects); n == cap(rd.defects) {
		room := max(256, 2*n)
		if rd.progress != nil && n > 0 {
			if f := rd.progress(); f > 0 {
				room = min(max(int(float64(n)/f*1.03)+64, n+n/4), 8*n)
			}
		}
		grown := make([]Defect, n, min(room, max(rd.opts.Limits.Rows, n+1)))
		copy(grown, rd.defects)
		rd.defects = grown
	}
	rd.defects = append(rd.defects, rd.rec)
}

// row takes one row below the heading.
func (rd *reader) row(r *textRow) error {
	rd.account.Read++
	if rd.account.Read > rd.opts.Limits.Rows {
		return &Error{Place: trace.Place{Sheet: rd.det.Sheet, Line: r.line}, Problem: fmt.Sprintf("more than %d rows", rd.opts.Limits.Rows), Hint: "split the survey, or raise the limit"}
	}
	if blankRow(r.cells) {
		rd.account.Blank++
		return nil
	}
	if rd.repeatsHeading(r.cells) {
		rd.repeated.rows++
		rd.account.Filtered++
		return nil
	}
	rd.now = r
	if rd.carries {
		rd.noteCarried(r)
	}
	for i := range rd.filters {
		if f := &rd.filters[i]; f.column >= 0 && !f.passes(r.cells) {
			rd.account.Filtered++
			return nil
		}
	}
	rd.rec = Defect{Line0: r.line}
	rd.d, rd.stopped = &rd.rec, false
	rd.extra = rowExtra{}
	rd.rowAcc = nil
	rd.readID()
	if rd.answers.drops(rd.d.ID) {
		rd.dropped.rows++
		rd.account.Filtered++
		return nil
	}
	rd.rowAcc = rd.answers.confirmed(rd.d.ID)
	if rd.whole() {
		rd.cells()
		rd.checkRow()
	}
	if rd.stopped {
		rd.account.Queried++
		return nil
	}
	rd.account.Kept++
	rd.keep()
	return nil
}

func blankRow(cells [][]byte) bool {
	for _, c := range cells {
		if len(c) > 0 && len(trim(c)) > 0 {
			return false
		}
	}
	return true
}

// whole checks that the row's cells are where the heading says.
func (rd *reader) whole() bool {
	r := rd.now
	switch {
	case r.tooMany:
		rd.query("row-ragged", noField, len(r.cells), "", fmt.Sprintf("more cells than the limit of %d columns", rd.opts.Limits.Columns), "")
	case r.tooLong > 0:
		rd.query("cell-too-long", rd.fieldAt(r.tooLong), r.tooLong, clip(string(r.cells[r.tooLong-1])), fmt.Sprintf("the cell is longer than %d bytes", rd.opts.Limits.FieldBytes), rd.span("shorten it"))
	case r.quoteFault > 0:
		rd.query("quote-unclear", rd.fieldAt(r.quoteFault), r.quoteFault, clip(string(r.cells[r.quoteFault-1])), "text follows a closing quotation mark, so the cells may be shifted", rd.span(`double a quotation mark that means inches: "6"""`))
	case len(r.cells) > rd.width:
		for i, c := range r.cells[rd.width:] {
			if len(trim(c)) > 0 {
				rd.query("row-ragged", noField, rd.width+i+1, clip(string(c)), fmt.Sprintf("the row has %d cells, the heading %d", len(r.cells), rd.width), rd.raggedAdvice())
				return false
			}
		}
		return true
	default:
		return true
	}
	return false
}

// span tells how many lines a row took, where a runaway quotation mark may have
// swallowed its neighbours.
func (rd *reader) span(advice string) string {
	if r := rd.now; r.lastLine > r.line {
		return fmt.Sprintf("the row runs from line %d to %d: is a quotation mark not closed? %s", r.line, r.lastLine, advice)
	}
	return advice
}

func (rd *reader) raggedAdvice() string {
	if rd.det.Delimiter == "," {
		return "a decimal comma or a comma in a text needs quotation marks round the cell"
	}
	return "a delimiter inside a text needs quotation marks round the cell"
}

func (rd *reader) fieldAt(column int) fieldID {
	for i := range rd.cols {
		if rd.cols[i].at == column-1 {
			return rd.cols[i].field
		}
	}
	return noField
}

// readID names the row, and tells rows of one name apart.
func (rd *reader) readID() {
	var cell []byte
	at := 0
	if rd.idCol >= 0 {
		if c := &rd.cols[rd.idCol]; c.at < len(rd.now.cells) {
			cell, at = trim(rd.now.cells[c.at]), c.at+1
		}
	}
	if len(cell) == 0 || isNA(cell) {
		rd.d.ID = rowName(rd.now.line)
		return
	}
	if len(cell) > 200 {
		cell = cell[:200]
	}
	if r, bad := badRune(cell); bad {
		rd.d.ID = rowName(rd.now.line)
		rd.badCharacter(fID, at, cell, r)
		return
	}
	if rd.ids == nil {
		rd.ids = &idSet{}
	}
	id := string(cell)
	rd.d.ID = id
	if first, used := rd.ids.line(cell); used {
		for used {
			id = rd.ids.again(string(cell))
			_, used = rd.ids.line([]byte(id))
		}
		rd.d.ID = id
		rd.rowAcc = rd.answers.confirmed(id)
		rd.query("id-duplicate", fID, at, string(cell), fmt.Sprintf("the id was used in line %d; this row is called %s", first, id), "give each row its own id")
	}
	rd.ids.add(id, rd.now.line)
}

// cells reads the row's cells into the record.
func (rd *reader) cells() {
	answered := rd.answers.forRow(rd.d.ID)
	for i := range rd.cols {
		c := &rd.cols[i]
		if c.field == fID {
			continue
		}
		cell := rd.cellOf(c)
		if answered != nil {
			if rd.answer(answered, c, cell) {
				continue
			}
		}
		if len(cell) > 0 && c.repeat(rd, cell) {
			continue
		}
		if len(cell) == 0 || c.field != fNote && isNA(cell) && !(c.field == fHazardous && hazardWords[strings.ToLower(string(cell))] != Unknown) {
			if len(cell) > 0 {
				rd.notGiven++
			}
			switch {
			case len(cell) == 0 && rd.formulaAt != nil && rd.formulaAt(rd.now.line, c.at+1):
				rd.extra.cell[c.field] = int32(c.at + 1)
				rd.query("formula-no-value", c.field, c.at+1, "", "the cell holds a formula that was saved without its value", "open the workbook in a spreadsheet program, let it compute, and save it")
			case c.carry && c.carriedOK:
				rd.carryDown(c)
			case rd.defaults[c.field] != nil:
				rd.useDefault(c.field)
			}
			continue
		}
		rd.value(c, cell)
	}
	for _, f := range rd.absent {
		if answered != nil {
			if rd.answer(answered, &rd.defaults[f].col, nil) {
				continue
			}
		}
		rd.useDefault(f)
	}
	if answered != nil {
		rd.answerAbsent(answered)
	}
}

// cellOf gives the row's cell for a column, trimmed: a workbook's number as it is
// stored, everything else as it is displayed.
func (rd *reader) cellOf(c *column) []byte {
	if c.at >= len(rd.now.cells) {
		return nil
	}
	cell := rd.now.cells[c.at]
	if n := len(cell); n == 0 || cell[0] <= ' ' || cell[0] >= utf8.RuneSelf || cell[n-1] <= ' ' || cell[n-1] >= utf8.RuneSelf {
		cell = trim(cell)
	}
	if rd.now.raw == nil {
		return cell
	}
	raw := trim(rd.now.raw[c.at])
	switch k := fieldTable[c.field].Kind; k {
	case KindNumber:
		return raw
	case KindClock, KindDate, KindSize:
		return rd.fromSheet(k, cell, raw)
	}
	return cell
}

// repeat takes a text that equals the one above it, the most frequent case by
// far.
func (c *column) repeat(rd *reader, cell []byte) bool {
	if !c.lastOK || string(cell) != c.last {
		return false
	}
	rd.extra.cell[c.field] = int32(c.at + 1)
	rd.setText(c, c.lastText)
	return true
}

// isNA is isNotGiven with a quick refusal by the first letter.
func isNA(b []byte) bool {
	switch b[0] {
	case 'n', 'N':
		return !(len(b) == 2 && b[1] == 'o') && isNotGiven(b)
	case '#', '-', '?', 't', 'T', 'u', 'U', 'k', 'K':
		return isNotGiven(b)
	}
	return b[0] >= utf8.RuneSelf && isNotGiven(b)
}

func (rd *reader) useDefault(f fieldID) {
	dv := rd.defaults[f]
	decimal, sure := rd.decimal, rd.sure
	rd.decimal, rd.sure = '.', true // a setting is written with a point, whatever the survey does
	rd.value(&dv.col, dv.text)
	rd.decimal, rd.sure = decimal, sure
	unit := ""
	if dv.col.unit != nil {
		unit = " " + dv.col.unit.Name
	}
	code := "set-" + fieldTable[f].Key
	rd.rep.assume(code, fmt.Sprintf("Where the survey gives no %s, %s%s is taken.", fieldTable[f].Key, dv.text, unit), "setting survey."+fieldTable[f].Key, 1, rd.d.ID)
	rd.d.Leans = append(rd.d.Leans, code)
}

// noteCarried remembers the values of the row for the rows below it. Filtered
// rows count: a wall may be stated once, on a row that holds no defect. A change
// of line ends what was carried, but for line and area themselves.
func (rd *reader) noteCarried(r *textRow) {
	for i := range rd.cols {
		if c := &rd.cols[i]; c.field == fLine && c.at < len(r.cells) {
			if cell := trim(r.cells[c.at]); len(cell) > 0 && !bytes.Equal(cell, []byte(rd.lastLine)) {
				rd.lastLine = string(cell)
				for j := range rd.cols {
					if o := &rd.cols[j]; o.field != fLine && o.field != fArea {
						o.carriedOK = false
					}
				}
			}
		}
	}
	for i := range rd.cols {
		c := &rd.cols[i]
		if !c.carry || c.at >= len(r.cells) {
			continue
		}
		if cell := rd.cellOf(c); len(cell) > 0 && !isNA(cell) {
			c.carried = append(c.carried[:0], cell...)
			c.carriedOK = true
		}
	}
}

func (rd *reader) carryDown(c *column) {
	code := "carried-" + fieldTable[c.field].Key
	rd.value(c, c.carried)
	rd.rep.assume(code, fmt.Sprintf("Blank cells of %s take the value above them on the same line.", c.field.heading()), "option to carry values down", 1, rd.d.ID)
	rd.d.Leans = append(rd.d.Leans, code)
	if rd.muted("carried-down", trace.Note) {
		return
	}
	rd.query("carried-down", c.field, c.at+1, "", fmt.Sprintf("the blank cell takes %s from above", quote(string(c.carried))), "")
}

// query raises a query about the row in hand. A confirmed one becomes a note.
func (rd *reader) query(code string, f fieldID, col int, found, message, advice string) {
	sev := severityOf[code]
	if sev > trace.Note && (rd.accepts[code] || rd.rowAcc[code]) && confirmable[code] {
		sev = trace.Note
	}
	if sev == trace.Stop {
		rd.stopped = true
	}
	if rd.rep.full(sev) {
		rd.rep.add(trace.Query{Code: code, Severity: sev})
		return
	}
	rd.rep.add(trace.Query{Code: code, Severity: sev,
		Place: trace.Place{File: rd.opts.Name, Sheet: rd.det.Sheet, Line: rd.now.line, Column: col, Field: f.heading()},
		Found: printable(found), Message: message, Advice: advice, Row: rd.d.ID})
}

// muted counts a frequent note that would not be listed any more, to spare the
// writing of it.
func (rd *reader) muted(code string, s trace.Severity) bool {
	if !rd.rep.full(s) {
		return false
	}
	rd.rep.add(trace.Query{Code: code, Severity: s})
	return true
}

// printable makes a raw cell safe to show.
func printable(s string) string {
	if r, bad := badRune([]byte(s)); bad {
		_ = r
		return strings.Map(func(r rune) rune {
			if r < ' ' || r == utf8.RuneError || r >= 0x7f && r < 0xa0 {
				return utf8.RuneError
			}
			return r
		}, s)
	}
	return s
}
