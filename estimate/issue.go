package estimate

import (
	"cmp"
	"math"
	"slices"

	"wraptally/catalog"
	"wraptally/estimate/kit"
)

// Issue is a quantity issued to a crew for a shift, to a crew for the whole
// campaign (Shift 0), or to the campaign (Crew 0).
type Issue struct {
	Crew, Shift int
	Item        int // position in the catalogue
	Net, Qty    float64
	Grown       float64 // Net with the allowance for growth, of what is issued to the whole campaign
	With        int     // place of the job with whose kit it goes out
}

// issue sums up what is issued at the level of the crew's shift, the crew and
// the campaign, and rounds each up once, at its own level.
func issue(plan Plan, m *means) ([]Issue, error) {
	jobs := plan.Jobs
	type key struct{ crew, shift, item int }
	sums := map[key]float64{}
	var order []key
	add := func(k key, q float64) {
		if _, ok := sums[k]; !ok {
			order = append(order, k)
		}
		sums[k] += q
	}
	items := m.Items
	level := func(item, crew, shift int) key {
		switch {
		case items[item].Issue == catalog.LevelCampaign:
			return key{0, 0, item}
		case items[item].Issue == catalog.LevelCrew || items[item].Returns: // what comes back serves all shifts
			return key{crew, 0, item}
		}
		return key{crew, shift, item}
	}
	for i := range jobs {
		j := &jobs[i]
		for _, u := range j.lines {
			if items[u.item].Issue != catalog.LevelKit && !m.shared[int(u.item)] {
				add(level(int(u.item), j.Crew, j.Shift), u.qty)
			}
		}
	}
	wideRules(plan, m, func(crew, shift, item int, q float64) { add(level(item, crew, shift), q) })
	for i := range plan.Spares {
		for _, x := range plan.Spares[i].set.Items {
			at := m.Position(x.Item.Code)
			add(level(at, plan.Spares[i].Crew, 0), plan.Spares[i].Of(x.Item.Code))
		}
	}
	slices.SortFunc(order, func(a, b key) int { // never the order of the map
		return cmp.Or(cmp.Compare(a.crew, b.crew), cmp.Compare(a.shift, b.shift), cmp.Compare(a.item, b.item))
	})
	issues := make([]Issue, len(order))
	for i, k := range order {
		grown := sums[k]
		if it := &items[k.item]; it.Issue == catalog.LevelCampaign && !it.Returns {
			// Rounded once for the whole campaign, so that growth goes before it.
			grown *= 1 + m.Settings.Growth/100
		}
		issues[i] = Issue{Crew: k.crew, Shift: k.shift, Item: k.item, Net: sums[k], Grown: grown, Qty: math.Ceil(grown - 1e-9)}
	}
	pooled, err := poolIssues(jobs, m)
	issues = append(issues, pooled...)
	with := goesWith(jobs)
	for i := range issues {
		issues[i].With = with(issues[i].Crew, issues[i].Shift)
	}
	return issues, err
}

// wideRules applies the consumable rules by crew-shift, crew, person and campaign.
// A condition holds for a crew-shift, a crew or the campaign when it holds for one
// of the repairs worked on in it. What a shift needs goes out with the first of
// them that is begun in it; where none is, with the first worked on.
func wideRules(plan Plan, m *means, add func(crew, shift, item int, q float64)) {
	removal := m.Settings.Removal == "yes"
	jobs := plan.Jobs
	for i := range m.Consumables {
		rule := &m.Consumables[i]
		item := m.Position(rule.Item)
		if item < 0 {
			continue
		}
		applies := func(n int) bool { return kit.Asked(rule, jobs[n].Repair, removal) }
		qty := func(crew int) float64 {
			if rule.Per == "person-shift" || rule.Per == "person" {
				return rule.Qty * float64(plan.Crews[crew-1].Members)
			}
			return rule.Qty
		}
		switch rule.Per {
		case "crew-shift", "person-shift":
			for _, s := range plan.Shifts {
				if n := slices.IndexFunc(s.Jobs, applies); n >= 0 {
					add(s.Crew, jobs[issuedWith(s, jobs, n)].Shift, item, qty(s.Crew))
				}
			}
		case "crew", "person":
			done := map[int]bool{}
			for n := range jobs {
				if c := jobs[n].Crew; !done[c] && applies(n) {
					done[c] = true
					add(c, jobs[n].Shift, item, qty(c))
				}
			}
		case "campaign":
			if n := slices.IndexFunc(jobs, func(j Job) bool { return kit.Asked(rule, j.Repair, removal) }); n >= 0 {
				add(jobs[n].Crew, jobs[n].Shift, item, rule.Qty)
			}
		}
	}
}

// issuedWith is the job of a shift with whose kit it gets what it needs: the first
// that is begun in it, else the n-th worked on, begun before.
func issuedWith(s Shift, jobs []Job, n int) int {
	for _, j := range s.Jobs {
		if jobs[j].Shift == s.Shift {
			return j
		}
	}
	return s.Jobs[n]
}

// goesWith says with which job's kit an issue goes out: the first that is begun of
// its crew and shift, of its crew, or of the campaign.
func goesWith(jobs []Job) func(crew, shift int) int {
	first := map[[2]int]int{}
	for n := range jobs {
		j := &jobs[n]
		for _, key := range [][2]int{{j.Crew, j.Shift}, {j.Crew, 0}, {}} {
			at, ok := first[key]
			if was := &jobs[at]; !ok || cmp.Or(cmp.Compare(j.Shift, was.Shift), cmp.Compare(j.Start, was.Start)) < 0 {
				first[key] = n
			}
		}
	}
	return func(crew, shift int) int { return first[[2]int{crew, shift}] }
}
