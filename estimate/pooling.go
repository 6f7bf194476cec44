package estimate

import (
	"slices"

	"wraptally/catalog"
	"wraptally/estimate/kit"
	"wraptally/estimate/mix"
)

// PoolByShift is the setting mix.pooling under which the packs that may be weighed
// out are shared by what a crew lays in a shift. Within one kit they are always
// shared: its batches are planned together.
const PoolByShift = "crew-shift"

// sharedPacks gives the catalogue with the packs that may be weighed out issued
// to the crew for a shift instead of with the kit, where they are shared by the crew-shift,
// and says which items these are, by their places.
func sharedPacks(c *catalog.Catalog) (*catalog.Catalog, map[int]bool) {
	if c.Settings.MixPooling != PoolByShift {
		return c, nil
	}
	split := map[string]bool{}
	for _, p := range c.Putties {
		if p.Splittable {
			split[p.Item] = true
		}
	}
	out, shared := c.Clone(), map[int]bool{}
	for i := range out.Items {
		if split[out.Items[i].Code] {
			shared[i] = true
			if out.Items[i].Issue == catalog.LevelKit {
				out.Items[i].Issue = catalog.LevelCrewShift
			}
		}
	}
	return out, shared
}

// pot is what one batch weighs out of packs that may be shared.
type pot struct {
	putty string
	mass  float64 // kg
}

// weighedOut is what the batches of a kit weigh out of shared packs.
func (m *means) weighedOut(k *kit.Kit) []pot {
	if m.Settings.MixPooling != PoolByShift {
		return nil
	}
	var out []pot
	for _, b := range k.Putty.Batches {
		for _, part := range b.Packs {
			if part.Weighed {
				out = append(out, pot{part.Putty.Putty, part.Mass})
			}
		}
	}
	return out
}

// poolIssues issues to each crew and shift the packs from which its kits weigh
// out their batches: the cheapest that serve them within the life of an opened
// pack.
func poolIssues(jobs []Job, m *means) (issues []Issue, err error) {
	if m.Settings.MixPooling != PoolByShift {
		return nil, nil
	}
	demands := map[[2]int]map[string][]mix.Demand{}
	var shifts [][2]int
	for i := range jobs {
		v := &jobs[i]
		at := [2]int{v.Crew, v.Shift}
		for j, pot := range v.pots {
			if demands[at] == nil {
				demands[at] = map[string][]mix.Demand{}
				shifts = append(shifts, at)
			}
			// Batches of one kit follow each other.
			demands[at][pot.putty] = append(demands[at][pot.putty], mix.Demand{At: v.Start + float64(j), Mass: pot.mass})
		}
	}
	slices.SortFunc(shifts, func(a, b [2]int) int { return slices.Compare(a[:], b[:]) })
	var names []string // of the putties, in the order of the catalogue
	for _, pk := range m.Putties {
		if !slices.Contains(names, pk.Putty) {
			names = append(names, pk.Putty)
		}
	}
	for _, at := range shifts {
		for _, putty := range names {
			shared, err := poolShift(at, putty, demands[at][putty], m)
			if err != nil {
				return nil, err
			}
			issues = append(issues, shared...)
		}
	}
	return issues, nil
}

func poolShift(at [2]int, putty string, demands []mix.Demand, m *means) (issues []Issue, err error) {
	if len(demands) == 0 {
		return nil, nil
	}
	var packs []mix.PoolPack
	var items []int
	var mass []float64
	life := 0.0
	for i := range m.Putties {
		if pk := &m.Putties[i]; pk.Putty == putty && pk.Splittable {
			packs = append(packs, mix.PoolPack{Name: pk.Item, Mass: pk.Pack, Cost: m.Price(pk.Item)})
			items, mass = append(items, m.Position(pk.Item)), append(mass, pk.Pack)
			life = pk.OpenLife * 60
		}
	}
	got, err := mix.Pool(demands, packs, life)
	if err != nil {
		return nil, err
	}
	used := make([]float64, len(packs))
	for _, o := range got.Opened {
		for _, u := range o.Uses {
			used[o.Pack] += u.Mass
		}
	}
	for i, n := range got.Packs {
		if n > 0 {
			issues = append(issues, Issue{Crew: at[0], Shift: at[1], Item: items[i], Net: used[i] / mass[i], Grown: used[i] / mass[i], Qty: float64(n)})
		}
	}
	return issues, nil
}
