package cut

import (
	"cmp"
	"math"
	"slices"
)

// knapsack is the bounded integer knapsack: the most value in a capacity, at
// most b[i] copies of each item.
type knapsack struct {
	w, b []int
	v    []float64
	idx  []int // items worth packing, best value for width first
	minW []int // least width from each place of idx on
	work *meter
}

// newKnapsack orders the items; those without value or copies are left out.
func newKnapsack(w, b []int, v []float64, work *meter) *knapsack {
	k := &knapsack{w: w, b: b, v: v, work: work}
	for i := range w {
		if b[i] > 0 && v[i] > 1e-12 {
			k.idx = append(k.idx, i)
		}
	}
	slices.SortFunc(k.idx, func(i, j int) int {
		return cmp.Or(cmp.Compare(v[j]*float64(w[i]), v[i]*float64(w[j])), cmp.Compare(i, j))
	})
	k.minW = make([]int, len(k.idx)+1)
	k.minW[len(k.idx)] = math.MaxInt
	for j := len(k.idx) - 1; j >= 0; j-- {
		k.minW[j] = min(k.minW[j+1], w[k.idx[j]])
	}
	work.spend(int64(8 * len(w)))
	return k
}

// branch searches depth first, best ratio first, for packings worth more than
// floor and returns the last few improvements, best first: copies by place in
// idx, possibly shorter. whole is false when the step limit ended the search.
func (k *knapsack) branch(capacity int, floor float64, steps int) (found [][]int, whole bool) {
	const tiny = 1e-10
	n := len(k.idx)
	qty := make([]int, n)
	best, cur, room := floor, 0.0, capacity
	j, spent := 0, 0
	for {
		// Forward.
		for j < n && room >= k.minW[j] {
			i := k.idx[j]
			if cur+float64(room)*k.v[i]/float64(k.w[i]) <= best+tiny {
				break
			}
			q := min(k.b[i], room/k.w[i])
			qty[j] = q
			room -= q * k.w[i]
			cur += float64(q) * k.v[i]
			j++
			spent++
		}
		if cur > best+tiny {
			best = cur
			found = append(found, slices.Clone(qty[:j]))
		}
		if spent > steps {
			k.work.spend(int64(4 * spent))
			return lastFirst(found), false
		}
		// Back.
		for {
			j--
			for j >= 0 && qty[j] == 0 {
				j--
			}
			spent++
			if j < 0 {
				k.work.spend(int64(4 * spent))
				return lastFirst(found), true
			}
			i := k.idx[j]
			qty[j]--
			room += k.w[i]
			cur -= k.v[i]
			if j+1 < n {
				if l := k.idx[j+1]; cur+float64(room)*k.v[l]/float64(k.w[l]) > best+tiny {
					j++
					break
				}
			}
			// No better with fewer of this one either.
			room += qty[j] * k.w[i]
			cur -= float64(qty[j]) * k.v[i]
			qty[j] = 0
		}
	}
}

// lastFirst keeps the last few, the best first.
func lastFirst(f [][]int) [][]int {
	slices.Reverse(f)
	return f[:min(len(f), 4)]
}

// tableCost estimates the steps of table.
func (k *knapsack) tableCost(capacity int) int64 {
	n := int64(0)
	for _, i := range k.idx {
		for c := min(k.b[i], capacity/k.w[i]); c > 0; c /= 2 {
			n++
		}
	}
	return n * int64(capacity)
}

// table is the dynamic programme over all capacities up to the one given, with
// one bit a capacity and lot to trace choices back.
type table struct {
	k     *knapsack
	best  []float64
	lots  []lot
	taken [][]uint64
}

type lot struct{ place, n int }

func (k *knapsack) table(capacity int) *table {
	t := &table{k: k, best: make([]float64, capacity+1)}
	words := capacity/64 + 1
	for place, i := range k.idx {
		copies := min(k.b[i], capacity/k.w[i])
		for n := 1; copies > 0; n *= 2 {
			n = min(n, copies)
			copies -= n
			w, v := n*k.w[i], float64(n)*k.v[i]
			bits := make([]uint64, words)
			for x := capacity; x >= w; x-- {
				if c := t.best[x-w] + v; c > t.best[x] {
					t.best[x] = c
					bits[x/64] |= 1 << (x % 64)
				}
			}
			t.lots = append(t.lots, lot{place, n})
			t.taken = append(t.taken, bits)
		}
	}
	k.work.spend(k.tableCost(capacity))
	return t
}

// at returns a best packing of one capacity.
func (t *table) at(capacity int) []int {
	qty := make([]int, len(t.k.idx))
	x := capacity
	for l := len(t.lots) - 1; l >= 0; l-- {
		if t.taken[l][x/64]>>(x%64)&1 == 1 {
			qty[t.lots[l].place] += t.lots[l].n
			x -= t.lots[l].n * t.k.w[t.k.idx[t.lots[l].place]]
		}
	}
	return qty
}
