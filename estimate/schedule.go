package estimate

import (
	"cmp"
	"math"
	"slices"

	"wraptally/estimate/kit"
	"wraptally/estimate/scope"
)

// Visit is when and by whom a repair is done.
type Visit struct {
	Crew, Shift int     // from 1; the shift in which it is begun
	Last        int     // shift in which it is finished
	Start       float64 // working minutes of the crew before it
	Minutes     float64
	Mass        float64 // kg of the kit
}

// Issue is a quantity issued to a crew for a shift, to a crew for the whole
// campaign (Shift 0), or to the campaign (Crew 0).
type Issue struct {
	Crew, Shift int
	Item        int // position in the catalogue
	Net, Qty    float64
}

// schedule gives the repairs, in their order, to the crew that is free first
// (ties to the lower number). A repair is begun only in a shift in which it can
// be finished, unless it is longer than a whole shift. A shift holds its hours
// times the productive share, less the tasks of each shift. Source: common
// practice, no source.
func (p *Campaign) schedule() {
	set := &p.Catalog.Settings
	perShift := 0.0
	for _, t := range p.Catalog.Tasks {
		if t.Per == "crew-shift" {
			perShift += t.Minutes
		}
	}
	shift := math.Max(1, set.ShiftHours*60*set.Productive-perShift)
	crews := max(1, set.Crews)
	free := make([]float64, crews) // minutes of work already given to each crew, shifts filled up
	worked := make(map[[2]int]bool)
	for n := range p.Visits {
		v := &p.Visits[n]
		crew := 0
		for i := range free {
			if free[i] < free[crew] {
				crew = i
			}
		}
		start := free[crew]
		left := shift - math.Mod(start, shift)
		if v.Minutes > left+1e-9 && left < shift && v.Minutes <= shift {
			start += left
		}
		v.Start = start
		v.Crew, v.Shift = crew+1, int(math.Floor(start/shift+1e-9))+1
		free[crew] = start + v.Minutes
		v.Last = max(v.Shift, int(math.Ceil(free[crew]/shift-1e-9)))
		for s := v.Shift; s <= v.Last; s++ {
			if !worked[[2]int{v.Crew, s}] {
				worked[[2]int{v.Crew, s}] = true
				p.CrewShifts++
			}
			p.Days = max(p.Days, s)
		}
		p.Minutes += v.Minutes
		p.Mass += v.Mass
	}
	if !p.Dates.Need.IsZero() {
		p.Dates.End = p.Dates.Need.AddDate(0, 0, max(0, p.Days-1)) // one shift a day
	}
	p.Minutes += perShift * float64(p.CrewShifts)
	for _, t := range p.Catalog.Tasks {
		if t.Per == "campaign" && len(p.Counted) > 0 {
			p.Minutes += t.Minutes
		}
	}
}

// issue sums up what is issued at the level of the crew's shift, the crew and
// the campaign, and rounds each up once, at its own level.
func (p *Campaign) issue() error {
	type key struct{ crew, shift, item int }
	sums := map[key]float64{}
	var order []key
	add := func(k key, q float64) {
		if _, ok := sums[k]; !ok {
			order = append(order, k)
		}
		sums[k] += q
	}
	items := p.Catalog.Items
	level := func(item, crew, shift int) key {
		switch {
		case items[item].Issue == "campaign":
			return key{0, 0, item}
		case items[item].Returns:
			return key{crew, 0, item}
		}
		return key{crew, shift, item}
	}
	for n, v := range p.Visits {
		for _, u := range p.lines[n] {
			if items[u.item].Issue != "kit" && !p.shared[int(u.item)] {
				add(level(int(u.item), v.Crew, v.Shift), u.qty)
			}
		}
	}
	p.wideRules(func(crew, shift, item int, q float64) { add(level(item, crew, shift), q) })
	slices.SortFunc(order, func(a, b key) int { // never the order of the map
		return cmp.Or(cmp.Compare(a.crew, b.crew), cmp.Compare(a.shift, b.shift), cmp.Compare(a.item, b.item))
	})
	for _, k := range order {
		p.Issues = append(p.Issues, Issue{Crew: k.crew, Shift: k.shift, Item: k.item, Net: sums[k], Qty: math.Ceil(sums[k] - 1e-9)})
	}
	return p.poolIssues()
}

// wideRules applies the consumable rules by crew-shift, crew and campaign. A
// condition holds for a crew-shift, a crew or the campaign when it holds for one
// of its repairs. A repair that runs on into further shifts takes along what
// those shifts need, where nothing else has been issued to them: it is issued
// to the shift in which the repair is begun.
func (p *Campaign) wideRules(add func(crew, shift, item int, q float64)) {
	removal := p.Catalog.Settings.Removal == "yes"
	for i := range p.Catalog.Consumables {
		rule := &p.Catalog.Consumables[i]
		item := p.packer.Position(rule.Item)
		if item < 0 {
			continue
		}
		done := map[[2]int]bool{}
		once := func(at [2]int, n int) {
			if !done[at] && kit.Applies(rule.When, p.repair(n), removal) {
				done[at] = true
				add(p.Visits[n].Crew, p.Visits[n].Shift, item, rule.Qty)
			}
		}
		switch rule.Per {
		case "crew-shift":
			for n, v := range p.Visits {
				once([2]int{v.Crew, v.Shift}, n)
			}
			for n, v := range p.Visits { // then the shifts in which no repair is begun
				for s := v.Shift + 1; s <= v.Last; s++ {
					once([2]int{v.Crew, s}, n)
				}
			}
		case "crew":
			for n, v := range p.Visits {
				once([2]int{v.Crew, 0}, n)
			}
		case "campaign":
			for n := range p.Visits {
				once([2]int{}, n)
			}
		}
	}
}

// placeIssues notes with which kit each issue goes out: the first of its crew
// and shift, of its crew, or of the campaign.
func (p *Campaign) placeIssues() {
	p.issuesWith = make([][]int, len(p.Counted))
	type key struct{ crew, shift int }
	first := map[key]int{}
	for n, v := range p.Visits {
		for _, k := range []key{{v.Crew, v.Shift}, {v.Crew, 0}, {0, 0}} {
			if _, ok := first[k]; !ok {
				first[k] = n
			}
		}
	}
	for i, is := range p.Issues {
		if n, ok := first[key{is.Crew, is.Shift}]; ok {
			p.issuesWith[n] = append(p.issuesWith[n], i)
		}
	}
}

// repair is the n-th repair that is counted.
func (p *Campaign) repair(n int) *scope.Repair { return p.Repairs[p.Counted[n]] }
