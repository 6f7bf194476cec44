package mix

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	"wraptally/estimate/qty"
)

// poolStates is how many ways of having packs open are carried from one demand
// to the next. Beyond it the dearest are let go, and the answer is proven only
// if it meets the bound.
const poolStates = 2_000

// poolCompared is with how many cheaper states each is compared.
const poolCompared = 100

// remainder is what is left of packs opened at one time.
type remainder struct {
	until float64 // last moment of use; +Inf where that is past the scope's last demand
	mass  int64   // mg
}

// state is one way of having served the demands so far.
type state struct {
	open   []remainder // by rising until
	cost   int64
	packs  int64
	opened int64 // steps opened in all
	now    int64 // steps opened at the last demand
	before *state
}

func compareState(a, b *state) int {
	return cmp.Or(cmp.Compare(a.cost, b.cost), cmp.Compare(a.packs, b.packs), cmp.Compare(a.opened, b.opened))
}

// search finds, for each demand, the steps of mass to open. Packs are opened
// only when those open do not suffice (later is never worse, for a pack keeps
// from its opening), and open packs are used first opened first. What matters
// afterwards is only how much is left to what moment, so states alike in that
// are one, and a state that has no more left than a cheaper one is dropped.
func (p *pool) search(members []int) (openings []int64, cost int64, exhaustive bool) {
	states := []*state{{}}
	exhaustive = true
	last := p.demands[members[len(members)-1]].At
	for _, i := range members {
		until := p.demands[i].At + p.open
		if until >= last {
			until = math.Inf(1)
		}
		best := map[string]*state{}
		var keys []string
		for _, s := range states {
			for _, n := range p.serve(s, p.demands[i].At, p.need[i], until) {
				key := n.key()
				if old, ok := best[key]; !ok {
					keys = append(keys, key)
					best[key] = n
				} else if compareState(n, old) < 0 {
					best[key] = n
				}
			}
		}
		next := make([]*state, len(keys))
		for k, key := range keys {
			next[k] = best[key]
		}
		slices.SortStableFunc(next, compareState)
		states = undominated(next)
		if len(states) > poolStates {
			states, exhaustive = states[:poolStates], false
		}
	}
	end := slices.MinFunc(states, compareState)
	cost = end.cost
	openings = make([]int64, len(members))
	for k, s := len(members)-1, end; k >= 0; k, s = k-1, s.before {
		openings[k] = s.now
	}
	return openings, cost, exhaustive
}

// serve is the ways of going on from a state through one demand.
func (p *pool) serve(s *state, at float64, need int64, until float64) []*state {
	var open []remainder
	for _, r := range s.open {
		if at > r.until {
			continue
		}
		take := min(need, r.mass)
		need -= take
		if r.mass -= take; r.mass > 0 {
			open = append(open, r)
		}
	}
	if need == 0 {
		return []*state{{open: open, cost: s.cost, packs: s.packs, opened: s.opened, before: s}}
	}
	var ways []*state
	from := qty.CeilDiv(need, p.step)
	// A heavier opening holds a pack that is not needed yet.
	for x := from; x < from+p.most/p.step; x++ {
		f := p.fill[x]
		if !f.ok {
			continue
		}
		n := &state{open: slices.Clone(open), cost: s.cost + f.cost, packs: s.packs + f.count, opened: s.opened + x, now: x, before: s}
		if left := x*p.step - need; left > 0 {
			if k := len(n.open); k > 0 && n.open[k-1].until == until {
				n.open[k-1].mass += left
			} else {
				n.open = append(n.open, remainder{until, left})
			}
		}
		ways = append(ways, n)
	}
	return ways
}

func (s *state) key() string {
	var b []byte
	for _, r := range s.open {
		b = strconv.AppendUint(b, math.Float64bits(r.until), 16)
		b = append(b, ':')
		b = strconv.AppendInt(b, r.mass, 16)
		b = append(b, ' ')
	}
	return string(b)
}

// undominated keeps, of states by rising cost, those that have something left
// longer than every one before.
func undominated(states []*state) []*state {
	var kept []*state
	for _, s := range states {
		if slices.ContainsFunc(kept[:min(len(kept), poolCompared)], func(k *state) bool { return k.serves(s) }) {
			continue
		}
		kept = append(kept, s)
	}
	return kept
}

// serves reports whether a has, to every moment, at least as much left as b.
func (a *state) serves(b *state) bool {
	i, sum := len(a.open)-1, int64(0)
	want := int64(0)
	for j := len(b.open) - 1; j >= 0; j-- {
		want += b.open[j].mass
		for ; i >= 0 && a.open[i].until >= b.open[j].until; i-- {
			sum += a.open[i].mass
		}
		if sum < want {
			return false
		}
	}
	return true
}
