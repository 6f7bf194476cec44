package survey

import (
	"fmt"
	"strings"

	"wraptally/estimate/trace"
)

// doubt gathers what the values of a column say against its heading's unit.
type doubt struct {
	rows   int
	likely string
	column column
	found  string
}

// doubtUnit raises the query of a value that its heading's unit makes
// impossible and another makes likely. It reports whether the value is confirmed
// all the same, by the user or the client.
func (rd *reader) doubtUnit(c *column, cell []byte, base float64, likely []string) (confirmed bool) {
	f, usual := c.field, rd.opts.Doubts.usual(c.field)
	u := baseUnitName(c.unit.Dim)
	alt, _ := ParseUnit(likely[0])
	meaning := strings.Join(likely, " or ")
	value := short(c.unit.From(base)) + " " + c.unit.Name
	if c.unit.Name == u {
		value += " is"
	} else {
		value += " is " + short(base) + " " + u + ","
	}
	rd.query("unit-contradicted", f, c.at+1, clip(string(cell)),
		fmt.Sprintf("%s outside the usual %s to %s %s; likely meant: %s (%s %s)",
			value, short(usual[0]), short(usual[1]), u, meaning, short(alt.Base(c.unit.From(base))), u),
		"state the unit with --map "+fieldTable[f].Key+"=\"heading [unit]\", or confirm the value with --accept unit-contradicted")
	if rd.confirmed("unit-contradicted") {
		return true
	}
	d := &rd.doubts[f]
	d.rows++
	if d.rows == 1 {
		d.likely, d.column, d.found = meaning, *c, clip(string(cell))
	}
	return false
}

// columnDoubts raises, for a column whose values contradict its heading more
// than once, one query at the heading.
func (rd *reader) columnDoubts() {
	for f := range numFields() {
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
