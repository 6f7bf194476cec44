package survey

import (
	"bytes"
	"fmt"
	"strings"

	"wraptally/estimate/trace"
)

func (rd *reader) useDefault(f fieldID) {
	dv := rd.defaults[f]
	decimal, sure := rd.decimal, rd.sure
	rd.decimal, rd.sure = dv.decimal, dv.sure
	rd.value(&dv.col, dv.text)
	rd.decimal, rd.sure = decimal, sure
	if dv.ask {
		rd.leakAsked = rd.leakAsked || f == fLeaking
		switch dv.asked++; f {
		case fChainage:
			rd.d.Chainage.V *= float64(rd.account.Read)
		case fLine:
			rd.d.Line = unknownLine + rd.d.ID
		}
		code := "asked-" + fieldTable[f].Key
		rd.rep.assume(code, "Where "+fieldTable[f].Key+" is blank, "+dv.worst(f)+".", "the worst of a stated range; asked about", 1, rd.d.ID)
		rd.d.Leans = append(rd.d.Leans, code)
		return
	}
	unit := ""
	if _, rest, st := scanNumber(dv.text, dv.decimal, true); dv.col.unit != nil && (st != numOK || len(rest) == 0) && !isFraction(dv.text) {
		unit = " " + dv.col.unit.Name
	}
	code, basis := "set-"+fieldTable[f].Key, "setting survey."+fieldTable[f].Key
	if dv.answer != nil {
		basis = "answer of the client"
	}
	rd.rep.assume(code, fmt.Sprintf("Where %s is blank, %s%s is taken.", fieldTable[f].Key, dv.text, unit), basis, 1, rd.d.ID)
	rd.d.Leans = append(rd.d.Leans, code)
}

// isFraction reports whether a value is an inch measure with a fraction and what
// follows, which has its unit behind it or is in the field's.
func isFraction(b []byte) bool {
	_, rest, st := scanFraction(b)
	return st == numOK && len(rest) > 0
}

// worst says what a blank is taken for while it is asked about.
func (dv *defaultValue) worst(f fieldID) string {
	of := fieldTable[f].asked[1]
	switch {
	case strings.HasPrefix(of, "that "):
		return "it is taken " + of
	case string(dv.text) == "*":
		return of + " is taken"
	case dv.col.unit != nil:
		return fmt.Sprintf("%s %s is taken, the worst of the range %s", dv.text, dv.col.unit.Name, of)
	}
	return fmt.Sprintf("%s is taken, the worst of %s", dv.text, of)
}

// askBlanks raises one query for each field whose blanks the user lets be asked
// about.
func (rd *reader) askBlanks() {
	for f := range numFields() {
		dv := rd.defaults[f]
		if dv == nil || dv.asked == 0 {
			continue
		}
		key := fieldTable[f].Key
		advice, row := "give it for all of them with --set survey."+key+"=VALUE, or in the rows", AllRows
		switch f {
		case fChainage: // one for all rows means nothing
			advice, row = "give it in the rows", ""
		case fLine:
			advice = "is all of it one line? Then give its name with --set survey.line=NAME; else give the line in the rows"
		}
		rd.rep.add(trace.Query{Code: "blank-asked", Severity: trace.Ask,
			Place:   trace.Place{File: rd.opts.Name, Sheet: rd.det.Sheet, Line: rd.head.line, Column: rd.columnOf(f), Field: f.heading()},
			Message: fmt.Sprintf("%s is blank in %s: %s", key, trace.Count(dv.asked, "row", "rows"), dv.worst(f)), Advice: advice, Row: row})
	}
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
