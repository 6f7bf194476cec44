package survey

import "strconv"

// idSet remembers the ids of a survey and the line each was first used in. As
// long as they rise, P-1, P-2, ... P-10, as in most surveys, none can repeat and
// only the last is remembered; from the first one that does not, all are held.
type idSet struct {
	last  string
	aside []usedID       // ids of rows that were not kept, while ids rise
	lines map[string]int // nil while ids rise
	uses  map[string]int // of ids used more than once
}

// usedID is an id and the line it was used in.
type usedID struct {
	id   string
	line int
}

// line gives the line in which the id was first used; rd has the records so far.
func (s *idSet) line(id []byte, rd *reader) (int, bool) {
	if s.lines == nil {
		if len(id) > len(s.last) || len(id) == len(s.last) && string(id) > s.last {
			return 0, false
		}
		s.lines = make(map[string]int, rd.kept()+len(s.aside))
		var room Defect
		for i := range rd.kept() {
			d := rd.record(i, &room)
			s.lines[d.ID] = d.Line0
		}
		for _, u := range s.aside {
			s.lines[u.id] = u.line
		}
		s.aside = nil
	}
	line, used := s.lines[string(id)]
	return line, used
}

// add takes in an id that line has just found new.
func (s *idSet) add(id string, line int) {
	s.last = id
	if s.lines != nil { // else the records hold it, or notKept will
		s.lines[id] = line
	}
}

// notKept remembers the id of a row that does not become a record.
func (s *idSet) notKept(id string, line int) {
	if s.lines == nil {
		s.aside = append(s.aside, usedID{id, line})
	}
}

// again gives the next name for a row whose id was used before: "P-3#2".
func (s *idSet) again(id string) string {
	if s.uses == nil {
		s.uses = make(map[string]int)
	}
	n := max(s.uses[id], 1) + 1
	s.uses[id] = n
	return id + "#" + strconv.Itoa(n)
}
