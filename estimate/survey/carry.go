package survey

import (
	"bytes"
	"fmt"

	"wraptally/estimate/trace"
)

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
