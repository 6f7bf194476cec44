package cut

import (
	"cmp"
	"slices"
)

// fewerPatterns joins patterns where two can be replaced by one cut as often as
// both together, or by their exchange, without touching the rest of the score.
func (p *problem) fewerPatterns(sol solution) solution {
	uses := slices.Clone(sol.uses)
	slices.SortStableFunc(uses, func(a, b use) int { return cmp.Compare(a.n, b.n) })
	for again := true; again && !p.work.out(); {
		again = false
	pairs:
		for i := range uses {
			for j := i + 1; j < len(uses); j++ {
				p.work.spend(8)
				t := p.join(uses[i], uses[j])
				if t == nil {
					continue
				}
				next := slices.Clone(uses)
				next[j] = use{t, uses[i].n + uses[j].n}
				next = slices.Delete(next, i, i+1)
				if s := p.solution(next); s.compare(sol.score) < 0 {
					sol, uses, again = s, next, true
					break pairs
				}
			}
		}
	}
	return sol
}

// join is the pattern that, cut a.n + b.n times, yields the same as a and b
// together; nil if there is none.
func (p *problem) join(a, b use) *pattern {
	if a.bin != b.bin {
		return nil
	}
	n := a.n + b.n
	t := &pattern{bin: a.bin}
	for i, j := 0, 0; i < len(a.item) || j < len(b.item); {
		var it int32
		sum := 0
		switch {
		case j == len(b.item) || i < len(a.item) && a.item[i] < b.item[j]:
			it, sum = a.item[i], int(a.qty[i])*a.n
			i++
		case i == len(a.item) || b.item[j] < a.item[i]:
			it, sum = b.item[j], int(b.qty[j])*b.n
			j++
		default:
			it, sum = a.item[i], int(a.qty[i])*a.n+int(b.qty[j])*b.n
			i++
			j++
		}
		if sum%n != 0 {
			return nil
		}
		t.add(p, int(it), sum/n)
	}
	if t.used > p.bins[t.bin].cap {
		return nil
	}
	return t
}
