package crew

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Check replays a plan against its jobs, crews and rule, and says what is wrong
// first. It shares nothing with the planner but the types. It holds that every
// activity of every job in the plan is there for its full time and in its order,
// that nothing tied is torn apart, that no crew does two things at once or walks
// in no time, works outside its shifts and working days or its areas, leaves a
// repair that sets for one that is too far, or begins on a shared access before
// it stands; and that the days, shifts and sums are what the slots say.
func Check(jobs []Job, crews []Crew, rule Rule, p *Plan) error {
	c := checker{jobs: jobs, crews: crews, rule: &rule, plan: p}
	for _, check := range []func() error{c.slots, c.activities, c.rosters, c.accesses, c.days} {
		if err := check(); err != nil {
			return err
		}
	}
	return nil
}

type checker struct {
	jobs  []Job
	crews []Crew
	rule  *Rule
	plan  *Plan
}

// tolerance in minutes: a thousand times what planning rounds by.
const tolerance = 1e-3

// opens is when a shift begins, in minutes from the start of the first.
func (c *checker) opens(shift int) float64 {
	day := shift / c.rule.ShiftsPerDay
	at := float64(day) * minutesADay
	if !c.rule.Days.Start.IsZero() {
		at = c.rule.Days.Date(day).Sub(c.rule.Days.Date(0)).Minutes()
	}
	return at + float64(shift%c.rule.ShiftsPerDay)*c.rule.Shift
}

// slots checks each slot by itself.
func (c *checker) slots() error {
	overlong := map[int]bool{}
	for _, f := range c.plan.Overlong {
		overlong[f.Job] = true
	}
	opens := map[int]float64{}
	for _, s := range c.plan.Slots {
		if s.Job < 0 || s.Job >= len(c.jobs) || s.Activity < 0 || s.Activity >= len(c.jobs[s.Job].Activities) || s.Crew < 0 || s.Crew >= len(c.crews) || s.Shift < 0 {
			return fmt.Errorf("a slot names job %d, activity %d, crew %d, shift %d: there is no such thing", s.Job, s.Activity, s.Crew, s.Shift)
		}
		job, a := &c.jobs[s.Job], &c.jobs[s.Job].Activities[s.Activity]
		if s.Waits != a.Waits {
			return fmt.Errorf("%s, %s: waiting and work are mixed up", job.ID, a.Name)
		}
		if _, ok := opens[s.Shift]; !ok {
			opens[s.Shift] = c.opens(s.Shift)
		}
		open := opens[s.Shift]
		if s.To < s.From-tolerance {
			return fmt.Errorf("%s, %s ends before it begins", job.ID, a.Name)
		}
		if !s.Waits && s.From < open+c.rule.Before-tolerance {
			return fmt.Errorf("%s, %s begins before shift %d is set up", job.ID, a.Name, s.Shift+1)
		}
		tied := !a.Waits || a.Tie != Untied
		if tied && s.To > open+c.rule.Shift-c.rule.After+tolerance && !overlong[s.Job] && !c.outlasts(s) {
			return fmt.Errorf("%s, %s runs over the end of shift %d", job.ID, a.Name, s.Shift+1)
		}
		if k := c.crews[s.Crew]; len(k.Areas) > 0 && !slices.Contains(k.Areas, job.Area) {
			return fmt.Errorf("%s: crew %s does not work in area %q", job.ID, k.Name, job.Area)
		}
		if k := c.crews[s.Crew]; !a.Waits && k.Members > 0 && max(1, a.Hands) > k.Members && !slices.ContainsFunc(c.plan.ShortHands, func(f Fault) bool { return f.Job == s.Job }) {
			return fmt.Errorf("%s, %s: %d pairs of hands, the crew has %d", job.ID, a.Name, a.Hands, k.Members)
		}
	}
	return nil
}

// outlasts reports whether a wait may outlast its shift although it is tied in
// name: nothing can be tied to a wait that itself is untied or comes first.
func (c *checker) outlasts(s Slot) bool {
	if !s.Waits {
		return false
	}
	acts := c.jobs[s.Job].Activities
	for i := s.Activity - 1; i >= 0; i-- {
		if acts[i].Minutes > 0 {
			return acts[i].Waits && (acts[i].Tie == Untied || c.outlasts(Slot{Job: s.Job, Activity: i, Waits: true}))
		}
	}
	return true
}

// activities checks each job: all of its activities, whole and in order, the
// ties kept, by one crew.
func (c *checker) activities() error {
	of := make([][]Slot, len(c.jobs))
	for _, s := range c.plan.Slots {
		of[s.Job] = append(of[s.Job], s)
	}
	left := map[int]bool{}
	for _, f := range c.plan.Unplaced {
		left[f.Job] = true
	}
	for j := range c.jobs {
		job := &c.jobs[j]
		if left[j] {
			if len(of[j]) > 0 {
				return fmt.Errorf("%s is left out and planned at once", job.ID)
			}
			continue
		}
		slices.SortStableFunc(of[j], func(a, b Slot) int { return cmp.Or(cmp.Compare(a.Activity, b.Activity), cmp.Compare(a.From, b.From)) })
		if err := c.job(job, of[j]); err != nil {
			return err
		}
	}
	return nil
}

func (c *checker) job(job *Job, slots []Slot) error {
	at := 0
	var before *Slot
	for i := range job.Activities {
		a := &job.Activities[i]
		if a.Minutes <= 0 {
			continue
		}
		first, done := at, 0.0
		for at < len(slots) && slots[at].Activity == i {
			done += slots[at].To - slots[at].From
			at++
		}
		if math.Abs(done-a.Minutes) > tolerance {
			return fmt.Errorf("%s, %s takes %g min and is planned for %g", job.ID, a.Name, a.Minutes, done)
		}
		if !a.Splits && at-first > 1 {
			return fmt.Errorf("%s, %s is broken off", job.ID, a.Name)
		}
		for k := first; k < at; k++ {
			s := &slots[k]
			if before != nil {
				tied := k == first && a.Tie != Untied && !c.outlasts(Slot{Job: s.Job, Activity: i, Waits: true})
				if err := follows(job, a, s, before, tied); err != nil {
					return err
				}
			}
			before = s
		}
	}
	if at != len(slots) {
		return fmt.Errorf("%s is planned for more than its activities", job.ID)
	}
	return nil
}

// follows checks a slot of an activity against the one before it of the same job.
func follows(job *Job, a *Activity, s, before *Slot, tied bool) error {
	gap := s.From - before.To
	switch {
	case s.Crew != before.Crew:
		return fmt.Errorf("%s is worked on by two crews", job.ID)
	case gap < -tolerance:
		return fmt.Errorf("%s, %s begins %g min before the step before it is done", job.ID, a.Name, -gap)
	case a.Waits && gap > tolerance:
		return fmt.Errorf("%s, %s begins %g min after what it waits for", job.ID, a.Name, gap)
	case tied && s.Shift != before.Shift:
		return fmt.Errorf("%s, %s is torn from the step before it by the end of a shift", job.ID, a.Name)
	case tied && a.Tie == InTime && gap > a.Within+tolerance:
		return fmt.Errorf("%s, %s begins %g min after the step before it, at most %g are allowed", job.ID, a.Name, gap, a.Within)
	}
	return nil
}

// rosters checks each crew: one thing at a time, with time to walk, and no
// repair that sets left for one too far away.
func (c *checker) rosters() error {
	by := make([][]Slot, len(c.crews))
	for _, s := range c.plan.Slots {
		if !s.Waits {
			by[s.Crew] = append(by[s.Crew], s)
		}
	}
	for k, slots := range by {
		slices.SortStableFunc(slots, func(a, b Slot) int { return cmp.Compare(a.From, b.From) })
		if len(slots) > 0 { // time of the shifts up to the first work, that must hold the way to the site
			s := slots[0]
			room := float64(s.Shift)*(c.rule.Shift-c.rule.Before-c.rule.After) + s.From - c.opens(s.Shift) - c.rule.Before
			if room < c.rule.Mobilise-tolerance {
				return fmt.Errorf("crew %d works %g min after it set out, the way takes %g", k+1, room, c.rule.Mobilise)
			}
		}
		for i := 1; i < len(slots); i++ {
			a, b := &slots[i-1], &slots[i]
			walk := 0.0
			if a.Shift == b.Shift {
				walk = c.walk(a.Job, b.Job)
			}
			if b.From < a.To+walk-tolerance {
				return fmt.Errorf("crew %d is at %s and at %s at once", k+1, c.jobs[a.Job].ID, c.jobs[b.Job].ID)
			}
		}
		if err := c.leavings(slots); err != nil {
			return err
		}
	}
	return nil
}

// leavings checks that between two slots of a job in one shift there is no work
// on a job farther away than a crew goes.
func (c *checker) leavings(slots []Slot) error {
	last := map[[2]int]int{} // job and shift → its last slot
	for i, s := range slots {
		key := [2]int{s.Job, s.Shift}
		if from, ok := last[key]; ok {
			for _, o := range slots[from+1 : i] {
				if o.Job != s.Job && (!c.rule.Overlap || c.walk(s.Job, o.Job) > c.rule.Near+tolerance) {
					return fmt.Errorf("%s is left to set for %s, which is too far", c.jobs[s.Job].ID, c.jobs[o.Job].ID)
				}
			}
		}
		last[key] = i
	}
	return nil
}

func (c *checker) walk(a, b int) float64 {
	x, y := &c.jobs[a], &c.jobs[b]
	if x.Area != y.Area {
		return c.rule.BetweenAreas
	}
	if x.Line != y.Line {
		return c.rule.BetweenLines
	}
	if c.rule.WalkSpeed > 0 {
		return math.Abs(x.At-y.At) / c.rule.WalkSpeed
	}
	return 0
}

// accesses checks that the jobs of a group are one crew's and follow its access.
func (c *checker) accesses() error {
	type stand struct {
		crew  int
		ready float64
		job   int
	}
	groups := map[int]stand{}
	for _, s := range c.plan.Slots {
		if g := c.jobs[s.Job].Group; g > 0 && !s.Waits && c.jobs[s.Job].Activities[s.Activity].Access {
			at := groups[g]
			groups[g] = stand{s.Crew, max(at.ready, s.To), s.Job}
		}
	}
	for _, s := range c.plan.Slots {
		at, ok := groups[c.jobs[s.Job].Group]
		if !ok || s.Job == at.job {
			continue
		}
		if s.Crew != at.crew {
			return fmt.Errorf("%s stands on an access that another crew has set up", c.jobs[s.Job].ID)
		}
		if s.From < at.ready-tolerance {
			return fmt.Errorf("%s is begun before its access stands", c.jobs[s.Job].ID)
		}
	}
	return nil
}

// days checks what the plan says of days, shifts and sums against its slots.
func (c *checker) days() error {
	attended := map[[2]int]bool{}
	minutes := 0.0
	for _, s := range c.plan.Shifts {
		attended[[2]int{s.Crew, s.Shift}] = true
		day := s.Shift / c.rule.ShiftsPerDay
		if s.Day != day || day >= c.plan.Days {
			return fmt.Errorf("shift %d of crew %d lies on working day %d of %d", s.Shift+1, s.Crew+1, s.Day+1, c.plan.Days)
		}
		if d := c.rule.Days.Date(day); !d.IsZero() && !c.rule.Days.Works(d) {
			return fmt.Errorf("crew %d works on %s, which is no working day", s.Crew+1, d.Format("2006-01-02"))
		}
		if sum := s.Work + s.Walk + s.Fixed + s.Stand; math.Abs(sum-c.rule.Shift-s.Over) > tolerance {
			return fmt.Errorf("shift %d of crew %d: %g min are accounted for, it has %g", s.Shift+1, s.Crew+1, sum, c.rule.Shift+s.Over)
		}
		minutes += s.Work
	}
	work, last := 0.0, make([]int, len(c.jobs))
	for _, s := range c.plan.Slots {
		if s.Waits {
			continue
		}
		work += s.To - s.From
		last[s.Job] = max(last[s.Job], s.Shift/c.rule.ShiftsPerDay)
		if !attended[[2]int{s.Crew, s.Shift}] {
			return fmt.Errorf("crew %d works in shift %d, which it does not attend", s.Crew+1, s.Shift+1)
		}
	}
	if math.Abs(work-minutes) > tolerance*float64(1+len(c.plan.Shifts)) || math.Abs(work-c.plan.Work) > tolerance*float64(1+len(c.plan.Shifts)) {
		return fmt.Errorf("the slots hold %g min of work, the shifts %g, the plan says %g", work, minutes, c.plan.Work)
	}
	late := map[int]bool{}
	for _, l := range c.plan.Late {
		late[l.Job] = true
	}
	for j := range c.jobs {
		if c.plan.Finish[j].Crew < 0 {
			continue
		}
		if due := c.jobs[j].Due; due != NoDue && (last[j] > due) != late[j] {
			return fmt.Errorf("%s is done on working day %d, due on %d: the list of late ones says otherwise", c.jobs[j].ID, last[j]+1, due+1)
		}
	}
	if c.plan.Days < c.plan.Bound {
		return fmt.Errorf("the plan takes %d days, less than its lower bound of %d", c.plan.Days, c.plan.Bound)
	}
	return nil
}
