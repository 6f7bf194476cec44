package survey

import (
	"hash/maphash"
	"strconv"
)

// idSet remembers the ids of a survey and the line each was first used in. A
// million ids may pass through it. As long as they rise, P-1, P-2, ... P-10,
// none can repeat, and only the last is remembered; from the first one that does
// not, a hash table is kept. A slot of it holds half the hash beside the index,
// so that a new id costs one look at memory. The seed differs from run to run;
// answers do not depend on it, since names are compared.
type idSet struct {
	last  string
	aside []usedID // ids of rows that were not kept, while ids rise
	names []string
	lines []int32
	seed  maphash.Seed
	slots []uint64       // upper half: hash; lower half: index+1, 0 for an empty slot; nil while ids rise
	uses  map[string]int // of ids used more than once
}

// usedID is an id and the line it was used in.
type usedID struct {
	id   string
	line int
}

// line gives the line in which the id was first used; kept are the records so
// far.
func (s *idSet) line(id []byte, kept []Defect) (int, bool) {
	if s.slots == nil {
		if s.rises(id) {
			return 0, false
		}
		s.index(kept)
	}
	h := maphash.Bytes(s.seed, id)
	for i := h & uint64(len(s.slots)-1); s.slots[i] != 0; i = (i + 1) & uint64(len(s.slots)-1) {
		if e := s.slots[i]; e>>32 == h>>32 && s.names[uint32(e)-1] == string(id) {
			return int(s.lines[uint32(e)-1]), true
		}
	}
	return 0, false
}

// rises reports whether the id comes after the last one: longer, or as long and
// greater.
func (s *idSet) rises(id []byte) bool {
	return len(id) > len(s.last) || len(id) == len(s.last) && string(id) > s.last
}

// index makes the table of the ids used so far.
func (s *idSet) index(kept []Defect) {
	s.seed = maphash.MakeSeed()
	n := len(kept) + len(s.aside)
	s.names, s.lines = make([]string, 0, n+n/2), make([]int32, 0, n+n/2)
	for i := range kept {
		s.names, s.lines = append(s.names, kept[i].ID), append(s.lines, int32(kept[i].Line0))
	}
	for _, u := range s.aside {
		s.names, s.lines = append(s.names, u.id), append(s.lines, int32(u.line))
	}
	s.aside = nil
	s.grow(n)
}

// add takes in an id that line has just found new.
func (s *idSet) add(id string, line int) {
	s.last = id
	if s.slots == nil {
		return // the records hold it, or notKept will
	}
	s.names, s.lines = append(s.names, id), append(s.lines, int32(line))
	if 2*len(s.names) > len(s.slots) {
		s.grow(len(s.names))
		return
	}
	s.place(id, len(s.names))
}

// notKept remembers the id of a row that does not become a record.
func (s *idSet) notKept(id string, line int) {
	if s.slots == nil {
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

func (s *idSet) place(id string, index int) {
	h := maphash.String(s.seed, id)
	i := h & uint64(len(s.slots)-1)
	for s.slots[i] != 0 {
		i = (i + 1) & uint64(len(s.slots)-1)
	}
	s.slots[i] = h&^(1<<32-1) | uint64(uint32(index))
}

// grow makes room for more than n ids.
func (s *idSet) grow(n int) {
	size := 64
	for size < 4*n {
		size *= 2
	}
	s.slots = make([]uint64, size)
	for i, name := range s.names {
		s.place(name, i+1)
	}
}
