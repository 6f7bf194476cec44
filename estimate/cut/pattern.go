package cut

import (
	"cmp"
	"encoding/binary"
	"slices"
)

// pattern is one way to cut one coil of a bin: qty[j] pieces of item[j], items
// in rising order (longest first).
type pattern struct {
	bin   int
	item  []int32
	qty   []int32
	used  int   // grid units; 2-D: mm² of pieces
	tree  *tree // 2-D only: how the sheet is cut
	scrap int64 // 2-D only: mm² neither piece nor kept, −1 while unknown
}

// use is a pattern cut n times.
type use struct {
	*pattern
	n int
}

// key identifies a pattern, for finding equal ones; it never orders anything.
func (t *pattern) key() string {
	b := make([]byte, 0, 4+6*len(t.item))
	b = binary.AppendUvarint(b, uint64(t.bin))
	for j := range t.item {
		b = binary.AppendUvarint(b, uint64(t.item[j]))
		b = binary.AppendUvarint(b, uint64(t.qty[j]))
	}
	return string(b)
}

// add appends q pieces of item i; items must come in rising order.
func (t *pattern) add(p *problem, i, q int) {
	if q > 0 {
		t.item = append(t.item, int32(i))
		t.qty = append(t.qty, int32(q))
		t.used += q * p.items[i].w
	}
}

// times returns how often the pattern can be cut from the pieces remaining.
func (t *pattern) times(rem []int) int {
	n := -1
	for j, i := range t.item {
		if k := rem[i] / int(t.qty[j]); n < 0 || k < n {
			n = k
		}
	}
	return max(n, 0)
}

// take removes n cuttings of the pattern from the pieces remaining.
func (t *pattern) take(rem []int, n int) {
	for j, i := range t.item {
		rem[i] -= n * int(t.qty[j])
	}
}

// trimmed returns the pattern without pieces beyond those remaining.
func (t *pattern) trimmed(p *problem, rem []int) *pattern {
	fits := true
	for j, i := range t.item {
		fits = fits && int(t.qty[j]) <= rem[i]
	}
	if fits {
		return t
	}
	r := &pattern{bin: t.bin}
	for j, i := range t.item {
		r.add(p, int(i), min(int(t.qty[j]), rem[i]))
	}
	return r
}

// comparePatterns is the order in which patterns are reported: by bin, then by
// the longer pieces first.
func comparePatterns(a, b *pattern) int {
	if c := cmp.Compare(a.bin, b.bin); c != 0 {
		return c
	}
	for j := 0; j < len(a.item) && j < len(b.item); j++ {
		if c := cmp.Compare(a.item[j], b.item[j]); c != 0 {
			return c
		}
		if c := cmp.Compare(b.qty[j], a.qty[j]); c != 0 {
			return c
		}
	}
	return cmp.Compare(len(b.item), len(a.item))
}

// score ranks solutions; each field counts only among equals in those before.
type score struct {
	missing  int   // pieces without a place
	cost     int64 // in the problem's units
	coils    int   // new coils where offcuts go first, else all coils
	fromOff  int64 // length cut from offcuts, where they go first
	scrap    int64 // mm
	patterns int
}

func (a score) compare(b score) int {
	return cmp.Or(
		cmp.Compare(a.missing, b.missing),
		cmp.Compare(a.cost, b.cost),
		cmp.Compare(a.coils, b.coils),
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

// mergedUses adds up the uses of equal patterns and orders them. Of two patterns
// that are equal but for the way they are cut, better says which to keep.
func mergedUses(uses []use, better func(kept, found *pattern) *pattern) []use {
	at := make(map[string]int, len(uses))
	var merged []use
	for _, u := range uses {
		if u.n == 0 || len(u.item) == 0 {
			continue
		}
		k := u.key()
		if i, ok := at[k]; ok {
			merged[i].n += u.n
			merged[i].pattern = better(merged[i].pattern, u.pattern)
			continue
		}
		at[k] = len(merged)
		merged = append(merged, u)
	}
	slices.SortFunc(merged, func(a, b use) int { return comparePatterns(a.pattern, b.pattern) })
	return merged
}

// solution merges equal patterns, orders them and scores the result.
func (p *problem) solution(uses []use) solution {
	merged := mergedUses(uses, func(kept, _ *pattern) *pattern { return kept })
	return solution{merged, p.rate(merged)}
}

func (p *problem) rate(uses []use) score {
	s := score{missing: p.pieces, patterns: len(uses)}
	for _, u := range uses {
		b := p.bins[u.bin]
		s.cost += b.cost * int64(u.n)
		if !p.offFirst || !b.offcut {
			s.coils += u.n
		}
		if p.offFirst && b.offcut {
			s.fromOff += int64(u.used) * int64(u.n)
		}
		if left, keep := p.rest(u.bin, u.used); !keep {
			s.scrap += int64(left) * int64(u.n)
		}
		for _, q := range u.qty {
			s.missing -= u.n * int(q)
		}
	}
	return s
}
