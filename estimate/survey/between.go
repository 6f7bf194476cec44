package survey

import (
	"fmt"
	"math"

	"wraptally/estimate/trace"
)

// betweenRows runs the checks that need all rows: defects at one chainage. A
// line whose rows rise strictly, as a survey walked from end to end does, has
// none.
func (rd *reader) betweenRows() {
	type walk struct {
		last   float64
		rising bool
		first  map[float64]int
	}
	lines := make(map[string]*walk)
	var w *walk
	name := ""
	var room, other Defect
	each := func(do func(i int, w *walk, d *Defect)) {
		for i := range rd.kept() {
			d := rd.record(i, &room)
			if w == nil || d.Line != name {
				name = d.Line
				if w = lines[name]; w == nil {
					w = &walk{last: math.Inf(-1), rising: true}
					lines[name] = w
				}
			}
			do(i, w, d)
		}
	}
	rising, onePlace, place := true, true, math.NaN()
	each(func(i int, w *walk, d *Defect) {
		x := d.Chainage.V
		onePlace = onePlace && (i == 0 || x == place)
		place = x
		if x <= w.last {
			w.rising, rising = false, false
		}
		w.last = x
	})
	if rising {
		return
	}
	if onePlace && len(lines) > 1 { // an address with a distance of nought, say
		rd.rep.add(trace.Query{Code: "chainage-same", Severity: trace.Ask, Place: trace.Place{File: rd.opts.Name, Sheet: rd.det.Sheet, Line: rd.head.line, Column: rd.columnOf(fChainage), Field: fChainage.heading()},
			Found: short(place/1000) + " m", Message: fmt.Sprintf("all %d rows, on %d lines, lie at one chainage; those of one line are taken to lie at one place and share a repair", rd.kept(), len(lines)),
			Advice: "where it is no distance along the pipe, --map chainage=" + noColumn + " --set survey.chainage=" + askWord})
	}
	each(func(i int, w *walk, d *Defect) {
		if w.rising {
			return
		}
		x := d.Chainage.V
		if w.first == nil {
			w.first = make(map[float64]int)
		}
		if j, ok := w.first[x]; ok {
			rd.sameChainage(rd.record(j, &other), d)
		} else {
			w.first[x] = i
		}
	})
}

// sameChainage judges two defects at one chainage of one line. Two places round
// the pipe are ordinary; the same numbers throughout are likely one defect
// listed twice.
func (rd *reader) sameChainage(a, b *Defect) {
	code, message, advice := "chainage-same", fmt.Sprintf("the defect lies at the chainage of %s (line %d); both are estimated and will merge", a.ID, a.Line0), ""
	if a.Axial == b.Axial && a.Circ == b.Circ && a.OD == b.OD && a.Clock == b.Clock && a.Leaking == b.Leaking {
		code, message, advice = "row-repeated", fmt.Sprintf("the row repeats %s (line %d) in chainage and size; both are estimated and will merge", a.ID, a.Line0), "delete one if it is the same defect"
	}
	sev := severityOf[code]
	if rd.accepts[code] && confirmable[code] || rd.answers.confirmed(b.ID)[code] {
		sev = trace.Note
	}
	rd.rep.add(trace.Query{Code: code, Severity: sev,
		Place: trace.Place{File: rd.opts.Name, Sheet: rd.det.Sheet, Line: b.Line0, Column: rd.columnOf(fChainage), Field: fChainage.heading()},
		Found: short(b.Chainage.V/1000) + " m", Message: message, Advice: advice, Row: b.ID})
}
