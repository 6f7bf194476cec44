package cut

import "slices"

// clusters plans demand of very many different lengths. Neighbouring lengths
// are gathered into groups, column generation plans the groups at their mean
// lengths, and the coils so planned are then filled with real pieces of the
// groups, the last two chosen to fill the coil best. The groups' worths,
// interpolated, give a bound on the real demand.
type clusters struct {
	p      *problem // the real demand
	groups *problem // one item a group
	first  []int    // first[g] is the first real item of group g; one more at the end
}

// newClusters gathers the lengths into about n groups of equal numbers of
// pieces.
func (p *problem) newClusters(n int) *clusters {
	c := &clusters{p: p}
	q := *p
	q.items = nil
	// A length with many pieces of its own is a group by itself.
	target, light := (p.pieces+n-1)/n, 0
	for _, it := range p.items {
		if it.d <= target {
			light += it.d
		}
	}
	target = (light + n - 1) / n
	for i := 0; i < len(p.items); {
		c.first = append(c.first, i)
		g := item{}
		var width int64
		for ; i < len(p.items) && (g.d == 0 || g.d+p.items[i].d <= target); i++ {
			g.d += p.items[i].d
			width += int64(p.items[i].w) * int64(p.items[i].d)
		}
		g.w = int((width + int64(g.d)/2) / int64(g.d))
		g.length = g.w*p.grid - p.kerf
		q.items = append(q.items, g)
	}
	c.first = append(c.first, len(p.items))
	c.groups = &q
	return c
}

// worths interpolates the groups' worths linearly in the length.
func (c *clusters) worths(y []float64) (worths, bool) {
	p, q := c.p, c.groups
	const scale = 1 << 30
	v := worths{y: make([]int64, len(p.items)), name: "linear relaxation of groups"}
	g := 0
	for i, it := range p.items {
		for g < len(q.items) && q.items[g].w > it.w {
			g++
		}
		var f float64
		switch {
		case g == 0:
			f = y[0]
		case g == len(q.items):
			f = y[g-1] * float64(it.w) / float64(q.items[g-1].w)
		default:
			a, b := q.items[g-1], q.items[g]
			f = y[g] + (y[g-1]-y[g])*float64(it.w-b.w)/float64(a.w-b.w)
		}
		v.y[i] = max(int64(f*scale), 0)
	}
	k, ok := p.knapsackWorths(v.y)
	v.k = k
	return v, ok
}

// pool is the real pieces of a group not yet cut, as items, longest first.
type pool []int

// realise fills the groups' coils with real pieces. pick chooses the pieces
// before the last two: the longest of their group, the middle, or the shortest.
func (c *clusters) realise(uses []use, pick func(n int) int) (done []use, rem, left []int) {
	p := c.p
	pools := make([]pool, len(c.groups.items))
	for g := range pools {
		for i := c.first[g]; i < c.first[g+1]; i++ {
			for range p.items[i].d {
				pools[g] = append(pools[g], i)
			}
		}
	}
	rem, left = p.demand(), p.stockLeft()
	for _, u := range uses {
		var plan []int // groups, longest first
		for j, g := range u.item {
			for range u.qty[j] {
				plan = append(plan, int(g))
			}
		}
		for range u.n {
			if left[u.bin] == 0 {
				break
			}
			items := c.fill(plan, pools, p.bins[u.bin].cap, pick)
			if len(items) == 0 {
				continue
			}
			slices.Sort(items)
			t := &pattern{bin: u.bin}
			for k := 0; k < len(items); {
				n := k
				for n < len(items) && items[n] == items[k] {
					n++
				}
				t.add(p, items[k], n-k)
				k = n
			}
			t.take(rem, 1)
			if left[u.bin] != Unlimited {
				left[u.bin]--
			}
			done = append(done, use{t, 1})
		}
	}
	return done, rem, left
}

// fill takes pieces for one coil out of the pools.
func (c *clusters) fill(plan []int, pools []pool, room int, pick func(n int) int) []int {
	p := c.p
	var items []int
	take := func(g, k int) {
		i := pools[g][k]
		items = append(items, i)
		room -= p.items[i].w
		pools[g] = slices.Delete(pools[g], k, k+1)
	}
	// fitting is the place of the longest piece of a group within a width.
	fitting := func(g, width int) int {
		k, _ := slices.BinarySearchFunc(pools[g], width, func(i, width int) int {
			if p.items[i].w > width {
				return -1
			}
			return 1
		})
		return k
	}
	for len(plan) > 2 {
		g := plan[0]
		plan = plan[1:]
		if n := len(pools[g]); n > 0 {
			if k := max(pick(n), fitting(g, room)); k < n {
				take(g, k)
			}
		}
	}
	if len(plan) == 2 {
		// The pair that fills the room best: one pointer down each group.
		a, b := plan[0], plan[1]
		bestA, bestB, bestSum := -1, -1, 0
		for ka, kb := 0, len(pools[b])-1; ka < len(pools[a]) && kb >= 0; {
			if a == b && ka >= kb {
				break
			}
			sum := p.items[pools[a][ka]].w + p.items[pools[b][kb]].w
			if sum > room {
				ka++
				continue
			}
			if sum > bestSum {
				bestA, bestB, bestSum = ka, kb, sum
			}
			kb--
		}
		p.work.spend(int64(len(pools[a]) + len(pools[b])))
		if bestA >= 0 {
			if a == b && bestB > bestA {
				bestB--
			}
			take(a, bestA)
			take(b, bestB)
			return items
		}
	}
	for _, g := range plan {
		if k := fitting(g, room); k < len(pools[g]) {
			take(g, k)
		}
	}
	return items
}

// topUp adds remaining pieces to coils with room for them, longest first, each
// to the coil it fills best.
func (p *problem) topUp(done []use, rem []int) []use {
	room := make([]int, len(done))
	for k, u := range done {
		room[k] = p.bins[u.bin].cap - u.used
	}
	order := make([]int, len(done))
	for k := range order {
		order[k] = k
	}
	extra := make([][]int, len(done))
	slices.SortStableFunc(order, func(a, b int) int { return room[a] - room[b] })
	for i := range rem {
		for rem[i] > 0 {
			k, _ := slices.BinarySearchFunc(order, p.items[i].w, func(k, w int) int {
				if room[k] < w {
					return -1
				}
				return 1
			})
			if k == len(order) {
				break
			}
			c := order[k]
			extra[c] = append(extra[c], i)
			room[c] -= p.items[i].w
			rem[i]--
			order = slices.Delete(order, k, k+1)
			at, _ := slices.BinarySearchFunc(order, room[c], func(k, r int) int {
				if room[k] < r {
					return -1
				}
				return 1
			})
			order = slices.Insert(order, at, c)
		}
	}
	for k, more := range extra {
		if len(more) == 0 {
			continue
		}
		qty := map[int]int{}
		var items []int
		for j, i := range done[k].item {
			qty[int(i)] += int(done[k].qty[j])
			items = append(items, int(i))
		}
		for _, i := range more {
			qty[i]++
			items = append(items, i)
		}
		slices.Sort(items)
		t := &pattern{bin: done[k].bin}
		for _, i := range slices.Compact(items) {
			t.add(p, i, qty[i])
		}
		done[k] = use{t, 1}
	}
	return done
}

// gathered plans by clusters and offers what comes of it.
func (s *search) gathered(groups, dives int) {
	p := s.p
	c := p.newClusters(groups)
	g := &search{p: c.groups}
	g.offer("", c.groups.solution(nil))
	g.thumb()
	r := g.newRelax(c.groups.newCoilPricer(0, 0), nil)
	if v, ok := c.worths(r.root.y); ok {
		s.prove(v)
	}
	rand := newRNG(4)
	for n := 0; n < dives && !s.proven() && !p.work.out(); n++ {
		before := g.best
		r.dive("groups", 0.3*float64(n), rand)
		if n > 0 && g.best.compare(before.score) == 0 {
			break
		}
		for _, pick := range []func(n int) int{
			func(int) int { return 0 },
			func(n int) int { return n / 2 },
			func(n int) int { return n - 1 },
		} {
			done, rem, left := c.realise(g.best.uses, pick)
			s.finish("column generation over groups of lengths", p.topUp(done, rem), rem, left)
		}
	}
}
