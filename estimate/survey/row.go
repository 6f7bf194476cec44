package survey

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"wraptally/estimate/trace"
)

// slot is the record that the next row is read into, in its place among those
// kept: a row that is not kept leaves the place to the next. When room runs out,
// the share of the file read so far says how many records there will be: a
// million records are not copied again and again, and a register of which one
// row in a hundred is a defect takes room for the hundredth part.
func (rd *reader) slot() *Defect {
	n := len(rd.defects)
	if n == cap(rd.defects) {
		room := max(256, 2*n)
		if rd.progress != nil && n > 0 {
			if f := rd.progress(); f > 0 {
				most := 8 * n // the first rows are a poor sample
				if n >= 10_000 {
					most = 64 * n
				}
				room = min(max(int(float64(n)/f*1.03)+64, n+n/4), most)
			}
		}
		room = min(room, max(rd.opts.Limits.Rows, n+1))
		if rd.opts.Pack > 0 {
			room = min(room, rd.opts.Pack+1)
		}
		grown := make([]Defect, n, room)
		copy(grown, rd.defects)
		rd.defects, rd.used = grown, false
	}
	d := &rd.defects[:n+1][n]
	if rd.used {
		*d = Defect{}
	}
	rd.used = true
	return d
}

// keep keeps the row in hand.
func (rd *reader) keep() {
	if rd.packed != nil {
		rd.packed.add(rd.d)
		return
	}
	rd.defects, rd.used = rd.defects[:len(rd.defects)+1], false
	if rd.opts.Pack > 0 && len(rd.defects) > rd.opts.Pack {
		rd.packed = &packed{}
		for i := range rd.defects {
			rd.packed.add(&rd.defects[i])
		}
		rd.defects = make([]Defect, 0, 1)
	}
}

// kept is how many records are kept.
func (rd *reader) kept() int {
	if rd.packed != nil {
		return len(rd.packed.at)
	}
	return len(rd.defects)
}

// record is the i-th record kept. Of packed ones it is good until the next is asked for
// with the same room.
func (rd *reader) record(i int, room *Defect) *Defect {
	if rd.packed == nil {
		return &rd.defects[i]
	}
	rd.packed.unpack(i, room)
	return room
}

// row takes one row below the heading.
func (rd *reader) row(r *textRow) error {
	rd.account.Read++
	if rd.account.Read > rd.opts.Limits.Rows {
		return &Error{Place: trace.Place{Sheet: rd.det.Sheet, Line: r.line}, Problem: fmt.Sprintf("more than %d rows", rd.opts.Limits.Rows), Hint: "split the survey, or raise the setting intake.rows"}
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
	rd.d, rd.stopped, rd.leakAsked = rd.slot(), false, false
	rd.d.Line0 = r.line
	rd.extra = rowExtra{}
	rd.rowAcc = nil
	rd.readID()
	if rd.answers.drops(rd.d.ID) {
		rd.dropped.rows++
		rd.account.Filtered++
		rd.ids.notKept(rd.d.ID, r.line, rd.lineAhead())
		return nil
	}
	rd.rowAcc = rd.answers.confirmed(rd.d.ID)
	if rd.whole() {
		rd.cells()
		rd.checkRow()
	}
	if !rd.stopped && len(rd.opts.Done) > 0 && rd.repaired() {
		rd.account.Filtered++
		rd.ids.notKept(rd.d.ID, r.line, rd.lineAhead())
		return nil
	}
	if rd.stopped {
		rd.account.Queried++
		rd.ids.notKept(rd.d.ID, r.line, rd.lineAhead())
		return nil
	}
	rd.account.Kept++
	rd.noteEvents()
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
		rd.query("row-ragged", noField, len(r.cells), "", fmt.Sprintf("more cells than the limit of %d columns", rd.opts.Limits.Columns), "take out what is no part of the survey, or raise the setting intake.columns")
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

// rowName is the name of a row without one: by its line, and by its sheet where
// several are read.
func (rd *reader) rowName() string {
	if rd.before != nil {
		return rd.det.Sheet + " " + rowName(rd.now.line)
	}
	return rowName(rd.now.line)
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
		rd.d.ID = rd.rowName()
		return
	}
	if len(cell) > 200 {
		cell = cell[:200]
	}
	if r, bad := badRune(cell); bad {
		rd.d.ID = rd.rowName()
		rd.badCharacter(fID, at, cell, r)
		return
	}
	rd.nameRow(cell, at)
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
		if len(cell) > 0 && rd.repeat(c, cell) {
			continue
		}
		if len(cell) == 0 || c.field != fNote && isNA(cell) && fieldTable[c.field].means(cell) == "" {
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

// query raises a query about the row in hand. A confirmed one becomes a note.
func (rd *reader) query(code string, f fieldID, col int, found, message, advice string) {
	sev := severityOf[code]
	if sev > trace.Note && rd.confirmed(code) {
		sev = trace.Note
	}
	if sev == trace.Stop {
		rd.stopped = true
	}
	if rd.rep.full(sev) {
		rd.rep.add(trace.Query{Code: code, Severity: sev})
		return
	}
	if n := rd.now.number; n > 0 && n != rd.now.line {
		message += fmt.Sprintf(" (row %d in a spreadsheet)", n)
	}
	rd.rep.add(trace.Query{Code: code, Severity: sev,
		Place: trace.Place{File: rd.opts.Name, Sheet: rd.det.Sheet, Line: rd.now.line, Column: col, Field: f.heading()},
		Found: printable(found), Message: message, Advice: advice, Row: rd.d.ID, Spot: rd.d.Spot()})
}

// confirmed reports whether the user, or the client for this row, has confirmed
// what a named check asks.
func (rd *reader) confirmed(code string) bool {
	return confirmable[code] && (rd.accepts[code] || rd.rowAcc[code])
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
