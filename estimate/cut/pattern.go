package cut

import (
	"cmp"
	"encoding/binary"
	"slices"
)

// pattern is one way to cut one coil or sheet of a bin: qty[j] pieces of
// size[j], sizes in rising order (largest first).
type pattern struct {
	bin  int
	size []int32
	qty  []int32
	used int // of its pieces: grid units of a coil, mm² of a sheet

	tree  *tree // of a sheet: how it is cut
	scrap int64 // of a sheet: mm² neither piece nor kept, −1 while unknown
}

// use is a pattern cut n times.
type use struct {
	*pattern
	n int
}

// key identifies a pattern, for finding equal ones; it never orders anything.
func (t *pattern) key() string {
	b := make([]byte, 0, 4+6*len(t.size))
	b = binary.AppendUvarint(b, uint64(t.bin))
	for j := range t.size {
		b = binary.AppendUvarint(b, uint64(t.size[j]))
		b = binary.AppendUvarint(b, uint64(t.qty[j]))
	}
	return string(b)
}

// times returns how often the pattern can be cut from the pieces remaining.
func (t *pattern) times(rem []int) int {
	n := -1
	for j, i := range t.size {
		if k := rem[i] / int(t.qty[j]); n < 0 || k < n {
			n = k
		}
	}
	return max(n, 0)
}

// take removes n cuttings of the pattern from the pieces remaining.
func (t *pattern) take(rem []int, n int) {
	for j, i := range t.size {
		rem[i] -= n * int(t.qty[j])
	}
}

// pieces is the number of pieces in one coil or sheet.
func (t *pattern) pieces() int {
	n := 0
	for _, q := range t.qty {
		n += int(q)
	}
	return n
}

// comparePatterns is the order in which patterns are reported: by bin, then by
// the larger pieces first.
func comparePatterns(a, b *pattern) int {
	if c := cmp.Compare(a.bin, b.bin); c != 0 {
		return c
	}
	for j := 0; j < len(a.size) && j < len(b.size); j++ {
		if c := cmp.Or(cmp.Compare(a.size[j], b.size[j]), cmp.Compare(b.qty[j], a.qty[j])); c != 0 {
			return c
		}
	}
	return cmp.Compare(len(b.size), len(a.size))
}

// score ranks solutions; each field counts only among equals in those before.
type score struct {
	missing  int   // pieces without a place
	cost     int64 // in the task's units
	guide    int64 // what the guiding prices make of it; does not count
	bought   int   // coils or sheets; where offcuts go first, the new ones only
	fromOff  int64 // cut from offcuts, where they go first
	scrap    int64 // mm or mm²
	patterns int
}

func (a score) compare(b score) int {
	return cmp.Or(
		cmp.Compare(a.missing, b.missing),
		cmp.Compare(a.cost, b.cost),
		cmp.Compare(a.bought, b.bought),
		cmp.Compare(b.fromOff, a.fromOff),
		cmp.Compare(a.scrap, b.scrap),
		cmp.Compare(a.patterns, b.patterns),
	)
}

// solution is a set of patterns that cuts everything but the missing pieces.
type solution struct {
	uses []use
	score
}

// single lists the coils or sheets of a solution one by one.
func (sol solution) single() []use {
	var out []use
	for _, u := range sol.uses {
		for range u.n {
			out = append(out, use{u.pattern, 1})
		}
	}
	return out
}

// solution merges equal patterns, of which the one with the least scrap stays,
// orders them and scores the result.
func (s *search) solution(uses []use) solution {
	at := make(map[string]int, len(uses))
	var merged []use
	for _, u := range uses {
		if u.n == 0 || len(u.size) == 0 {
			continue
		}
		k := u.key()
		i, ok := at[k]
		if !ok {
			at[k] = len(merged)
			merged = append(merged, u)
			continue
		}
		merged[i].n += u.n
		if s.scrap(u.pattern) < s.scrap(merged[i].pattern) {
			merged[i].pattern = u.pattern
		}
	}
	slices.SortFunc(merged, func(a, b use) int { return comparePatterns(a.pattern, b.pattern) })
	sc := score{missing: s.pieces, patterns: len(merged)}
	used := make([]int, len(s.bins))
	for _, u := range merged {
		b, n := &s.bins[u.bin], int64(u.n)
		used[u.bin] += u.n
		sc.guide += b.cost * n
		switch {
		case !s.offFirst || !b.offcut:
			sc.bought += u.n
		default:
			sc.fromOff += int64(u.used) * n
		}
		sc.scrap += s.scrap(u.pattern) * n
		sc.missing -= u.n * u.pieces()
	}
	for b, n := range used {
		sc.cost += s.bins[b].costOf(n)
	}
	return solution{merged, sc}
}
