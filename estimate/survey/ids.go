package survey

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"wraptally/estimate/trace"
)

// idSet remembers the names that rows go by and the row and line that each was
// first used in. As long as they rise, P-1, P-2, ... P-10, as in most surveys,
// none can repeat and only the last is remembered; from the first one that does
// not, all are held.
type idSet struct {
	last  string
	aside []usedName         // names of rows that were not kept, while they rise
	names map[string]nameUse // nil while they rise
	uses  map[string]int     // of ids used more than once on their line
	lines map[string]int32   // each line's number, from 1
	twice []string           // the first ids used again on one line, and how their rows are called
	again int                // how many rows
	first trace.Place        // of them
}

// usedName is the name of a row, and its place.
type usedName struct {
	name string
	nameUse
}

// nameUse is the row of the file that a name was first used in, and the number of its line.
type nameUse struct {
	row  int
	line int32
}

// lineNumber numbers the lines, 0 where a row says none.
func (s *idSet) lineNumber(line string) int32 {
	if line == "" || strings.HasPrefix(line, unknownLine) {
		return 0
	}
	if s.lines == nil {
		s.lines = make(map[string]int32)
	}
	n := s.lines[line]
	if n == 0 {
		n = int32(len(s.lines) + 1)
		s.lines[line] = n
	}
	return n
}

// use tells where the name was first used; rd has the records so far.
func (s *idSet) use(name []byte, rd *reader) (nameUse, bool) {
	if s.names == nil {
		if len(name) > len(s.last) || len(name) == len(s.last) && string(name) > s.last {
			return nameUse{}, false
		}
		s.names = make(map[string]nameUse, rd.kept()+len(s.aside))
		var room Defect
		for i := range rd.kept() {
			d := rd.record(i, &room)
			s.names[d.ID] = nameUse{d.Line0, s.lineNumber(d.Line)}
		}
		for _, u := range s.aside {
			s.names[u.name] = u.nameUse
		}
		s.aside = nil
	}
	use, used := s.names[string(name)]
	return use, used
}

// add takes in a name that a row has just found new.
func (s *idSet) add(name string, row int, line string) {
	s.last = name
	if s.names != nil { // else the records hold it, or notKept will
		s.names[name] = nameUse{row, s.lineNumber(line)}
	}
}

// notKept remembers the name of a row that does not become a record.
func (s *idSet) notKept(name string, row int, line string) {
	if s.names == nil {
		s.aside = append(s.aside, usedName{name, nameUse{row, s.lineNumber(line)}})
	}
}

// next gives the next name for a row whose id was used before: "P-3#2".
func (s *idSet) next(id string) string {
	if s.uses == nil {
		s.uses = make(map[string]int)
	}
	n := max(s.uses[id], 1) + 1
	s.uses[id] = n
	return id + "#" + strconv.Itoa(n)
}

// nameRow names the row by its id, which many surveys begin anew on each line:
// the same id on another line is called "3 on L-201". One used again on its own
// line is numbered, and noted.
func (rd *reader) nameRow(id []byte, at int) {
	line := rd.lineAhead()
	name, n := string(id), rd.ids.lineNumber(line)
	rd.d.ID, rd.d.Tag = name, name
	use, used := rd.ids.use(id, rd)
	other := func() bool { return used && n > 0 && use.line > 0 && use.line != n }
	if other() {
		name = string(id) + " on " + line
		use, used = rd.ids.use([]byte(name), rd)
	}
	again := used && !other()
	for used {
		name = rd.ids.next(string(id))
		_, used = rd.ids.use([]byte(name), rd)
	}
	rd.d.ID = name
	rd.ids.add(name, rd.now.line, line)
	if again {
		rd.noteAgain(use.row, at)
	}
}

// mostTold is how many of the rows that raise a query of the whole survey it names.
const mostTold = 5

// noteAgain notes that the id of the row in hand was used before on its line, unless that was confirmed.
func (rd *reader) noteAgain(first, at int) {
	if rd.accepts["id-duplicate"] || rd.answers.confirmed(rd.d.ID)["id-duplicate"] {
		return
	}
	s := &rd.ids
	if s.again++; s.again == 1 {
		s.first = trace.Place{File: rd.opts.Name, Sheet: rd.det.Sheet, Line: rd.now.line, Column: at, Field: fID.heading()}
	}
	if len(s.twice) < mostTold {
		s.twice = append(s.twice, fmt.Sprintf("%s of line %d in line %d, called %s", quote(rd.d.Tag), first, rd.now.line, rd.d.ID))
	}
}

// askIDs asks, once, about the ids that were used again on their line.
func (s *idSet) askIDs(rep *report) {
	if s.again == 0 {
		return
	}
	list := slices.Clone(s.twice)
	if s.again > len(list) {
		list = append(list, "...")
	}
	where := "on the same line"
	if s.lines == nil {
		where = "too, and no line tells them apart"
	}
	rep.add(trace.Query{Code: "id-duplicate", Severity: severityOf["id-duplicate"], Place: s.first, Row: AllRows,
		Message: trace.Count(s.again, "row has", "rows have") + " an id that a row before has " + where + ": " + strings.Join(list, "; "),
		Advice:  "give each row of a line its own id, or confirm that they are different defects with --accept id-duplicate"})
}

// lineAhead is the line that the row in hand says, before its other cells are read.
func (rd *reader) lineAhead() string {
	if i := rd.byField[fLine] - 1; i >= 0 {
		c := &rd.cols[i]
		if cell := rd.cellOf(c); len(cell) > 0 && !isNA(cell) {
			return string(cell)
		} else if c.carry && c.carriedOK {
			return string(c.carried)
		}
	}
	if dv := rd.defaults[fLine]; dv != nil && !dv.ask {
		return string(dv.text)
	}
	return ""
}
