package order

import (
	"fmt"
	"math/big"
	"slices"
)

// orderCombos is how many ways of choosing one price segment an offer are looked
// at for a need too large for the table.
const orderCombos = 50_000

// combo is one segment, or none, for every choice.
type combo struct {
	segments []int // -1 for none
	bound    *big.Rat
}

// cheapestBulk serves needs too large for the table. With one segment chosen
// for each offer the costs are straight lines, and an integer optimum lies
// near the optimum of the linear relaxation: together the counts differ from it
// by at most 2·Δ+1, Δ being the largest step (the proximity theorem of
// Eisenbrand and Weismantel, ACM Transactions on Algorithms 16 (2020), for one
// constraint [from memory]). So most of the order is fixed by the relaxation
// and the table settles the rest. The combinations are taken by rising bound
// until the bound passes the best found.
func cheapestBulk(need int64, choices []choice) (answer, error) {
	combos, err := combosOf(need, choices)
	if err != nil {
		return answer{}, err
	}
	var best answer
	for _, c := range combos {
		if best.found && c.bound.Cmp(new(big.Rat).SetInt64(best.value.cost)) > 0 {
			break
		}
		a, err := comboBest(need, choices, c.segments)
		if err != nil {
			return answer{}, err
		}
		if a.found {
			best.offer(a.picks, a.value)
		}
	}
	return best, nil
}

// combosOf lists the combinations that can cover, by rising bound.
func combosOf(need int64, choices []choice) ([]combo, error) {
	number := 1
	for i := range choices {
		if number *= len(choices[i].segments) + 1; number > orderCombos {
			return nil, fmt.Errorf("%w: %d units of the common pack step, and too many offers and price breaks", ErrTooLarge, need)
		}
	}
	var all []combo
	now := make([]int, len(choices))
	var walk func(i int)
	walk = func(i int) {
		if i == len(choices) {
			if r := relax(need, choices, now); r.covers {
				all = append(all, combo{slices.Clone(now), r.cost})
			}
			return
		}
		for now[i] = -1; now[i] < len(choices[i].segments); now[i]++ {
			if j := now[i]; j >= 0 && choices[i].segments[j].low > choices[i].segments[j].high {
				continue
			}
			walk(i + 1)
		}
	}
	walk(0)
	slices.SortStableFunc(all, func(a, b combo) int { return a.bound.Cmp(b.bound) })
	return all, nil
}

// relaxed is the optimum of a combination with counts that need not be whole.
type relaxed struct {
	covers bool
	cost   *big.Rat
	whole  []int64 // each count rounded down
	rest   int64   // need beyond the least counts
}

// relax fills the need at the least price per unit first.
func relax(need int64, choices []choice, segments []int) relaxed {
	r := relaxed{cost: new(big.Rat), whole: make([]int64, len(choices)), rest: need}
	var order []int
	for i, j := range segments {
		if j < 0 {
			continue
		}
		c, s := &choices[i], &choices[i].segments[j]
		order = append(order, i)
		r.whole[i] = s.low
		if q, ok := mulDivUp(s.low, c.step, 1); !ok || q >= r.rest {
			r.rest = 0
		} else {
			r.rest -= q
		}
		r.cost.Add(r.cost, line(s, s.low))
	}
	slices.SortStableFunc(order, func(a, b int) int {
		return cheaperPerUnit(&choices[a], segments[a], &choices[b], segments[b])
	})
	left := r.rest
	for _, i := range order {
		if left == 0 {
			break
		}
		c, s := &choices[i], &choices[i].segments[segments[i]]
		n := left / c.step
		if room := s.high - s.low; n >= room {
			r.whole[i] += room
			left -= room * c.step
			r.cost.Add(r.cost, new(big.Rat).SetInt(product(s.price, room)))
			continue
		}
		r.whole[i] += n
		r.cost.Add(r.cost, new(big.Rat).SetFrac(product(s.price, left), big.NewInt(c.step)))
		left = 0
	}
	r.covers = left == 0
	return r
}

// cheaperPerUnit compares price per quantity, then packs per quantity.
func cheaperPerUnit(a *choice, i int, b *choice, j int) int {
	if c := cmpProducts(a.segments[i].price, b.step, b.segments[j].price, a.step); c != 0 {
		return c
	}
	return cmpProducts(a.carton, b.step, b.carton, a.step)
}

func line(s *segment, m int64) *big.Rat {
	p := product(s.price, m)
	return new(big.Rat).SetInt(p.Add(p, big.NewInt(s.fixed)))
}

func product(a, b int64) *big.Int { return new(big.Int).Mul(big.NewInt(a), big.NewInt(b)) }

// comboBest is the integer optimum of one combination.
func comboBest(need int64, choices []choice, segments []int) (answer, error) {
	r := relax(need, choices, segments)
	largest := int64(0)
	for i, j := range segments {
		if j >= 0 {
			largest = max(largest, choices[i].step)
		}
	}
	if largest > orderCells {
		return answer{}, fmt.Errorf("%w: packs of %d common steps", ErrTooLarge, largest)
	}
	window := 2*largest + 1
	rest := need
	base := make([]int64, len(choices))
	var near []choice
	for i, j := range segments {
		if j < 0 {
			continue
		}
		s := choices[i].segments[j]
		base[i] = max(s.low, r.whole[i]-window)
		high := s.high
		if r.whole[i] < unlimited-window-1 {
			high = min(high, r.whole[i]+1+window)
		}
		rest -= min(rest, base[i]*choices[i].step)
		c := choice{offer: i, step: choices[i].step, carton: choices[i].carton}
		if high > base[i] {
			c.segments = []segment{{low: 1, high: high - base[i], price: s.price}}
		}
		near = append(near, c)
	}
	if !fits(rest, near) {
		return answer{}, fmt.Errorf("%w: %d units of the common pack step", ErrTooLarge, need)
	}
	small := cheapestTable(rest, near)
	if !small.found {
		return answer{}, nil
	}
	for _, p := range small.picks {
		base[near[p.choice].offer] += p.cartons
	}
	var picks []pick
	for i, j := range segments {
		if j >= 0 {
			picks = append(picks, pick{i, j, base[i]})
		}
	}
	v, ok := valueOf(choices, picks)
	if !ok {
		return answer{}, fmt.Errorf("%w: need of %d units of the common pack step", ErrTooFine, need)
	}
	return answer{picks, v, true}, nil
}
