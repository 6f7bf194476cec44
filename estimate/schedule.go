package estimate

import (
	"math"
	"slices"
)

// Visit is when and by whom a repair is done.
type Visit struct {
	Crew, Shift int     // from 1; the shift in which it is begun
	Last        int     // shift in which it is finished
	Start       float64 // working minutes of the crew before it
}

// Plan is the work of the campaign: the jobs in the order of their repairs, each
// with its visit, and what they come to.
type Plan struct {
	Jobs       []Job
	CrewShifts int
	Days       int
	Minutes    float64 // of all crews, repairs and shift tasks
	CrewHours  float64 // of a whole crew that are paid: the minutes over the productive share of a shift
	Mass       float64 // kg, everything that is issued with the kits
}

// schedule gives the jobs, in their order, to the crew that is free first (ties
// to the lower number). A repair is begun only in a shift in which it can be
// finished, unless it is longer than a whole shift. A shift holds its hours
// times the productive share, less the tasks of each shift. Source: common
// practice, no source.
func schedule(jobs []Job, m *means) Plan {
	set := &m.Settings
	perShift := 0.0
	for _, t := range m.Tasks {
		if t.Per == "crew-shift" {
			perShift += t.Minutes
		}
	}
	shift := math.Max(1, set.ShiftHours*60*set.Productive-perShift)
	crews := max(1, set.Crews)
	free := make([]float64, crews) // minutes of work already given to each crew, shifts filled up
	worked := make(map[[2]int]bool)
	p := Plan{Jobs: slices.Clone(jobs)}
	for i := range p.Jobs {
		j := &p.Jobs[i]
		crew := 0
		for i := range free {
			if free[i] < free[crew] {
				crew = i
			}
		}
		start := free[crew]
		left := shift - math.Mod(start, shift)
		if j.Minutes > left+1e-9 && left < shift && j.Minutes <= shift {
			start += left
		}
		free[crew] = start + j.Minutes
		first := int(math.Floor(start/shift+1e-9)) + 1
		j.Visit = Visit{Crew: crew + 1, Shift: first, Last: max(first, int(math.Ceil(free[crew]/shift-1e-9))), Start: start}
		for s := j.Shift; s <= j.Last; s++ {
			if !worked[[2]int{j.Crew, s}] {
				worked[[2]int{j.Crew, s}] = true
				p.CrewShifts++
			}
			p.Days = max(p.Days, s)
		}
		p.Minutes += j.Minutes
		p.Mass += j.Mass
	}
	p.Minutes += perShift * float64(p.CrewShifts)
	for _, t := range m.Tasks {
		if t.Per == "campaign" && len(jobs) > 0 {
			p.Minutes += t.Minutes
		}
	}
	p.CrewHours = p.Minutes / 60 / set.Productive
	return p
}
