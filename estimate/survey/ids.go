package survey

import (
	"hash/maphash"
	"strconv"
)

// idSet remembers the ids of a survey and the line each was first used in. A
// million ids may pass through it. As long as they rise, P-1, P-2, ... P-10,
// none can repeat and nothing is looked up; from the first one that does not,
// a hash table is kept. A slot of it holds half the hash beside the index, so
// that a new id costs one look at memory. The seed differs from run to run;
// answers do not depend on it, since names are compared.
type idSet struct {
	names []string
	lines []int32
	seed  maphash.Seed
	slots []uint64       // upper half: hash; lower half: index+1, 0 for an empty slot; nil while ids rise
	uses  map[string]int // of ids used more than once
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

// rises reports whether the id comes after the last one: longer, or as long and
// greater.
func (s *idSet) rises(id []byte) bool {
	if len(s.names) == 0 {
		return true
	}
	last := s.names[len(s.names)-1]
	return len(id) > len(last) || len(id) == len(last) && string(id) > last
}

// line gives the line in which the id was first used.
func (s *idSet) line(id []byte) (int, bool) {
	if s.slots == nil {
		if s.rises(id) {
			return 0, false
		}
		s.seed = maphash.MakeSeed()
		s.grow(len(s.names))
	}
	h := maphash.Bytes(s.seed, id)
	for i := h & uint64(len(s.slots)-1); s.slots[i] != 0; i = (i + 1) & uint64(len(s.slots)-1) {
		if e := s.slots[i]; e>>32 == h>>32 && s.names[uint32(e)-1] == string(id) {
			return int(s.lines[uint32(e)-1]), true
		}
	}
	return 0, false
}

// add takes in an id that line has just found new.
func (s *idSet) add(id string, line int) {
	s.names = append(s.names, id)
	s.lines = append(s.lines, int32(line))
	if s.slots == nil {
		return
	}
	if 2*len(s.names) > len(s.slots) {
		s.grow(len(s.names))
		return
	}
	s.place(id, len(s.names))
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
