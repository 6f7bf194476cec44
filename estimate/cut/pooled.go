package cut

import (
	"cmp"
	"math"
	"slices"
)

// pooled completes a plan from patterns already known, by depth-first search:
// the size worth most that still lacks pieces is covered by each pattern that
// holds it, those with the least reduced cost first. What remains to be cut
// costs at least its worth under the relaxation's duals, which ends most
// branches at once where the gap is small.
type pooled struct {
	pool  []*pattern
	cost  []int64   // of each pattern
	with  [][]int   // by item: patterns that hold it, best first
	y, z  []float64 // duals by item and bin, in units of cost
	trim  func(t *pattern, rem []int) *pattern
	work  *meter
	order []int   // items, worth most first
	reach float64 // the most a rest may cost to be searched: a few coils

	rem, left []int
	steps     int
	best      int64
	cur, won  []use
}

// newPooled prepares the search. scale turns the duals' units into those of
// cost.
func newPooled(pool []*pattern, cost func(*pattern) int64, root relaxed, scale float64, trim func(*pattern, []int) *pattern, work *meter) *pooled {
	v := &pooled{pool: pool, trim: trim, work: work, with: make([][]int, len(root.y))}
	v.reach = 6 * scale
	for _, y := range root.y {
		v.y = append(v.y, y*scale)
	}
	for _, z := range root.z {
		v.z = append(v.z, z*scale)
	}
	reduced := make([]float64, len(pool))
	for k, t := range pool {
		v.cost = append(v.cost, cost(t))
		reduced[k] = float64(v.cost[k]) - v.z[t.bin]
		for j, i := range t.item {
			reduced[k] -= float64(t.qty[j]) * v.y[i]
			v.with[i] = append(v.with[i], k)
		}
	}
	for i := range v.with {
		slices.SortStableFunc(v.with[i], func(a, b int) int { return cmp.Compare(reduced[a], reduced[b]) })
		v.order = append(v.order, i)
	}
	slices.SortStableFunc(v.order, func(a, b int) int { return cmp.Compare(v.y[b], v.y[a]) })
	return v
}

// floor is the least that cutting what remains can cost, as far as the duals
// are exact.
func (v *pooled) floor() float64 {
	f := 0.0
	for i, n := range v.rem {
		f += float64(n) * v.y[i]
	}
	for b, n := range v.left {
		if n > 0 {
			f += float64(n) * v.z[b]
		}
	}
	return f
}

// complete cuts what remains for less than toBeat, or returns nothing.
func (v *pooled) complete(rem, left []int, toBeat int64, steps int) []use {
	v.rem, v.left = slices.Clone(rem), slices.Clone(left)
	v.best, v.steps = toBeat, steps
	v.cur, v.won = v.cur[:0], nil
	floor := v.floor()
	if floor > v.reach {
		return nil
	}
	v.cover(0, floor, -1, 0)
	v.work.spend(int64(60 * (steps - v.steps)))
	return v.won
}

// cover goes on from a cost spent; floor is that of what remains. item and from
// are the size covered last and the place of its pattern: for the same size
// only patterns from there on are tried, so that no set is tried twice.
func (v *pooled) cover(spent int64, floor float64, item, from int) {
	if v.steps--; v.steps < 0 {
		return
	}
	if float64(spent)+math.Ceil(floor-1e-6) >= float64(v.best) {
		return
	}
	next := -1
	for _, i := range v.order {
		if v.rem[i] > 0 {
			next = i
			break
		}
	}
	if next < 0 {
		v.best, v.won = spent, slices.Clone(v.cur)
		return
	}
	if next != item {
		from = 0
	}
	for at := from; at < len(v.with[next]) && v.steps > 0; at++ {
		k := v.with[next][at]
		t := v.pool[k]
		if v.left[t.bin] == 0 {
			continue
		}
		cut := make([]int, len(t.item))
		less := 0.0
		limited := v.left[t.bin] != Unlimited
		if limited {
			less = v.z[t.bin] // ≤ 0: one coil fewer, so the rest may cost more
			v.left[t.bin]--
		}
		for j, i := range t.item {
			cut[j] = min(int(t.qty[j]), v.rem[i])
			less += float64(cut[j]) * v.y[i]
		}
		v.cur = append(v.cur, use{v.trim(t, v.rem), 1})
		for j, i := range t.item {
			v.rem[i] -= cut[j]
		}
		v.cover(spent+v.cost[k], floor-less, next, at)
		if limited {
			v.left[t.bin]++
		}
		for j, i := range t.item {
			v.rem[i] += cut[j]
		}
		v.cur = v.cur[:len(v.cur)-1]
	}
}
