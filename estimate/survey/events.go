package survey

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"wraptally/estimate/trace"
)

// eventHeadings are words of headings below which a register says what a row is.
var eventHeadings = wordSet("event type feature anomaly class classification identification category kind description comment comments remark remarks status state condition " +
	"art typ merkmal befund zustand bemerkung bemerkungen nature état remarque remarques тип вид состояние примечание")

// otherEvents are words for what the rules of a thinned wall do not hold for, and
// for what is repaired already. Common practice, no source.
var otherEvents = wordSet("dent dents dented gouge gouges crack cracks cracked cracking scc buckle wrinkle lamination blister weld welds valve tee tap sleeve sleeved clamp clamped patch patched " +
	"repaired wrapped replaced break broken burst rupture split joint closed done completed fixed " +
	"beule beulen riss risse bruch schweißnaht muffe schelle repariert saniert fissure bosse soudure collier réparé réparée вмятина трещина разрыв шов муфта хомут отремонтирован отремонтировано")

// mostEvents bounds what is kept of a column, so that one of free text takes no room.
const mostEvents = 12

// events counts, of a column that no field takes, the rows estimated that say they
// are something else than a loss of wall.
type events struct {
	at     int // index of the cell
	rows   int
	values []string        // the first of them, as they stand
	known  map[string]bool // cells judged before, the first few
}

// watchEvents finds the columns of events among those that no field takes and no
// filter chooses by.
func (rd *reader) watchEvents() {
	for at, text := range rd.head.texts {
		taken := slices.ContainsFunc(rd.cols, func(c column) bool { return c.at == at })
		chosen := slices.ContainsFunc(rd.filters, func(f rowFilter) bool { return f.column == at })
		if !taken && !chosen && slices.ContainsFunc(strings.Fields(normHeading(text)), func(w string) bool { return eventHeadings[w] }) {
			rd.events = append(rd.events, events{at: at, known: make(map[string]bool)})
		}
	}
}

// noteEvents looks at the row in hand, which is estimated.
func (rd *reader) noteEvents() {
	for i := range rd.events {
		e := &rd.events[i]
		if e.at >= len(rd.now.cells) {
			continue
		}
		cell := trim(rd.now.cells[e.at])
		other, seen := e.known[string(cell)]
		if !seen {
			other = slices.ContainsFunc(bytes.FieldsFunc(bytes.ToLower(cell), noLetter), func(w []byte) bool { return otherEvents[string(w)] })
			if len(e.known) < maxSeenValues {
				e.known[string(cell)] = other
			}
		}
		if !other {
			continue
		}
		e.rows++
		if v := clip(string(cell)); len(e.values) < mostEvents && !slices.Contains(e.values, v) {
			e.values = append(e.values, v)
		}
	}
}

func noLetter(r rune) bool { return !unicode.IsLetter(r) }

// askEvents asks once a column what such rows do among the defects.
func (rd *reader) askEvents() {
	for _, e := range rd.events {
		if e.rows == 0 || rd.accepts["event-other"] {
			continue
		}
		rd.rep.add(trace.Query{Code: "event-other", Severity: trace.Ask,
			Place: trace.Place{File: rd.opts.Name, Sheet: rd.det.Sheet, Line: rd.head.line, Column: e.at + 1},
			Found: clip(strings.Join(e.values, ", ")),
			Message: fmt.Sprintf("%s by this column something else than a loss of wall, or repaired already; estimated like the rest, and a wrap sized for a thinned wall may not hold there",
				trace.Count(e.rows, "row is", "rows are")),
			Advice: fmt.Sprintf("leave out what is not to be repaired so, with --only \"%s!=%s\", and have the others designed; --accept event-other when that is done", rd.head.inOneLine(e.at), strings.Join(e.values, "|"))})
	}
}
