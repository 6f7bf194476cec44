package cut

import (
	"cmp"
	"slices"
)

// fewerPatterns joins pairs of patterns into one that, cut as often as both
// together, yields the same, where that makes the solution no worse otherwise.
func (p *problem) fewerPatterns(sol solution) solution {
	uses := slices.Clone(sol.uses)
	slices.SortStableFunc(uses, func(a, b use) int { return cmp.Compare(a.n, b.n) })
	end := p.work.used + p.work.limit/20
	for i := 0; i < len(uses); i++ {
		for j := i + 1; j < len(uses) && p.work.used < end; j++ {
			p.work.spend(20)
			t := p.join(uses[i], uses[j])
			if t == nil {
				continue
			}
			next := slices.Clone(uses)
			next[j] = use{t, uses[i].n + uses[j].n}
			next = slices.Delete(next, i, i+1)
			p.work.spend(int64(50 * len(next)))
			if s := p.solution(next); s.compare(sol.score) < 0 {
				sol, uses = s, next
				i-- // another has taken its place
				break
			}
		}
	}
	return sol
}

// join is the pattern that, cut a.n + b.n times, yields the same as a and b
// together; nil if there is none.
func (p *problem) join(a, b use) *pattern {
	if a.bin != b.bin || p.merge(a, b, nil) > p.bins[a.bin].cap {
		return nil
	}
	t := &pattern{bin: a.bin}
	p.merge(a, b, t)
	return t
}

// merge spreads the pieces of a and b evenly over their coils and returns the
// width in each, too much for any coil where they do not divide evenly. Given a
// pattern it writes them there.
func (p *problem) merge(a, b use, t *pattern) int {
	n, used := a.n+b.n, 0
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
			return 1 << 62
		}
		used += sum / n * p.items[it].w
		if t != nil {
			t.add(p, int(it), sum/n)
		}
	}
	return used
}
