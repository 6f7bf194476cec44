package crew

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"sort"
)

// eps is what two times, in minutes, may differ by and still be the same.
const eps = 1e-6

// Make plans the jobs with the crews given, or with the first few of them where
// that finishes earlier. It refuses a rule under which no work can be done.
// Jobs that no crew can do are left out and listed.
func Make(jobs []Job, crews []Crew, rule Rule) (*Plan, error) {
	if err := rule.check(crews); err != nil {
		return nil, err
	}
	order := sequence(jobs)
	most := len(crews)
	best := lay(jobs, order, crews[:most], &rule)
	least := newBounds(jobs, best, &rule)
	// Fewer crews can only be earlier where their own bound allows it, and crews
	// that differ may not be able to do all jobs without the last of them.
	for k := most - 1; k >= 1 && (least.days(k) < best.Days || len(best.Unplaced) > 0); k-- {
		if p := lay(jobs, order, crews[:k], &rule); p.before(best) {
			best = p
		}
	}
	best.Bound, best.LateBound = least.days(most), least.late(most)
	return best, nil
}

// before reports whether a plan is to be preferred: more jobs done, fewer days,
// fewer jobs late, fewer attended shifts.
func (p *Plan) before(q *Plan) bool {
	return cmp.Or(cmp.Compare(len(p.Unplaced), len(q.Unplaced)), cmp.Compare(p.Days, q.Days),
		cmp.Compare(len(p.Late), len(q.Late)), cmp.Compare(len(p.Shifts), len(q.Shifts))) < 0
}

func (r *Rule) check(crews []Crew) error {
	from, to := r.Window()
	switch {
	case len(crews) == 0:
		return errors.New("no crew is given")
	case !(r.Before >= 0 && r.After >= 0 && r.Mobilise >= 0 && r.Demobilise >= 0):
		return errors.New("set-up, clearing up and mobilisation cannot take less than no time")
	case !(to-from >= 1):
		return fmt.Errorf("a shift of %g min leaves no time for repairs: %g min go into setting up and %g min into clearing up", r.Shift, r.Before, r.After)
	case r.ShiftsPerDay < 1 || float64(r.ShiftsPerDay)*r.Shift > minutesADay+eps:
		return fmt.Errorf("%d shifts of %g min do not fit into a day", r.ShiftsPerDay, r.Shift)
	case !r.Days.Start.IsZero() && r.Days.Date(0).IsZero():
		return errors.New("the calendar holds no working day in ten years from the start")
	}
	return nil
}

const minutesADay = 24 * 60

// sequence is the order of the list: by the day a job, or the earliest of its
// access group, is due; then by place.
func sequence(jobs []Job) []int {
	due := make(map[int]int)
	for i := range jobs {
		if g := jobs[i].Group; g > 0 {
			if d, ok := due[g]; !ok || jobs[i].Due < d {
				due[g] = jobs[i].Due
			}
		}
	}
	key := func(i int) int {
		if g := jobs[i].Group; g > 0 {
			return due[g]
		}
		return jobs[i].Due
	}
	order := make([]int, len(jobs))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(x, y int) bool {
		a, b := &jobs[order[x]], &jobs[order[y]]
		return cmp.Or(cmp.Compare(key(order[x]), key(order[y])), cmp.Compare(a.Area, b.Area), cmp.Compare(a.Line, b.Line), cmp.Compare(a.At, b.At), cmp.Compare(a.ID, b.ID)) < 0
	})
	return order
}

// layer lays jobs on the time of crews.
type layer struct {
	jobs  []Job
	rule  *Rule
	crews []*roster
	plan  *Plan
	group map[int]access
	days  []float64 // start of each working day in minutes from the start of the first
}

// access is who has set up the access of a group, and when it stands.
type access struct {
	crew  int
	ready float64
}

// roster is the time of one crew that is taken.
type roster struct {
	crew   Crew
	at     int // index of the crew
	first  int // shift in which mobilisation leaves time for work
	lost   float64
	shifts [][]stretch // by shift, in the order of time
	last   int         // last shift with work; −1 before there is any
	over   float64     // end of work that runs over the end of a shift
}

// stretch is time of a crew given to one activity.
type stretch struct {
	from, to float64 // minutes from the start of the first day
	job, act int
}

func lay(jobs []Job, order []int, crews []Crew, rule *Rule) *Plan {
	l := &layer{jobs: jobs, rule: rule, group: map[int]access{}, plan: &Plan{Crews: len(crews), Finish: make([]Finish, len(jobs))}}
	from, to := rule.Window()
	for i, c := range crews {
		whole := math.Floor((rule.Mobilise + eps) / (to - from))
		l.crews = append(l.crews, &roster{crew: c, at: i, first: int(whole), lost: max(0, rule.Mobilise-whole*(to-from)), last: -1})
	}
	for _, j := range order {
		l.place(j)
	}
	l.finish()
	return l.plan
}

// place gives a job to the crew that has it done first; of equals the one with
// the shorter walk to it, then the lower number.
func (l *layer) place(j int) {
	job := &l.jobs[j]
	l.plan.Finish[j] = Finish{Crew: -1}
	candidates, short := l.candidates(job)
	if len(candidates) == 0 {
		l.plan.Unplaced = append(l.plan.Unplaced, Fault{Job: j, Text: fmt.Sprintf("no crew works in area %q", job.Area)})
		return
	}
	var best *roster
	var least placing
	for _, c := range candidates {
		p := l.try(c, j)
		c.undo(p)
		if best == nil || cmp.Or(compareTimes(p.done, least.done), compareTimes(p.walk, least.walk), cmp.Compare(c.at, best.at)) < 0 {
			best, least = c, p
		}
	}
	p := l.try(best, j)
	if job.Group > 0 {
		if _, ok := l.group[job.Group]; !ok {
			l.group[job.Group] = access{best.at, p.access}
		}
	}
	if p.over {
		l.plan.Overlong = append(l.plan.Overlong, Fault{Job: j, Text: "work that must not be interrupted is longer than a shift"})
	}
	if short > 0 {
		l.plan.ShortHands = append(l.plan.ShortHands, Fault{j, fmt.Sprintf("%d pairs of hands are needed, the crew has %d", short, best.crew.Members), short - best.crew.Members})
	}
	f := Finish{Crew: best.at, FirstShift: p.first, Shift: p.last, FirstDay: l.dayOf(p.first), Day: l.dayOf(p.last), Begun: p.begun, Done: p.done}
	l.plan.Finish[j] = f
	l.plan.Slots = append(l.plan.Slots, p.waits...)
	if job.Due != NoDue && f.Day > job.Due {
		l.plan.Late = append(l.plan.Late, Late{Job: j, Due: job.Due, Done: f.Day})
	}
}

func compareTimes(a, b float64) int {
	if math.Abs(a-b) <= eps {
		return 0
	}
	return cmp.Compare(a, b)
}

// tried is how many crews are tried for a job: those that are free first, and
// the one that is nearest.
const tried = 3

// candidates are the crews that may do a job. Where none has the hands, those
// with the most are taken and short is what is asked for.
func (l *layer) candidates(job *Job) (out []*roster, short int) {
	if a, ok := l.group[job.Group]; ok && job.Group > 0 {
		c := l.crews[a.crew]
		if n := job.hands(); c.crew.Members > 0 && n > c.crew.Members {
			short = n
		}
		return []*roster{c}, short
	}
	for _, c := range l.crews {
		if len(c.crew.Areas) == 0 || slices.Contains(c.crew.Areas, job.Area) {
			out = append(out, c)
		}
	}
	able := slices.DeleteFunc(slices.Clone(out), func(c *roster) bool { return c.crew.Members > 0 && c.crew.Members < job.hands() })
	if len(able) == 0 && len(out) > 0 {
		most := slices.MaxFunc(out, func(a, b *roster) int { return cmp.Compare(a.crew.Members, b.crew.Members) }).crew.Members
		able = slices.DeleteFunc(out, func(c *roster) bool { return c.crew.Members < most })
		short = job.hands()
	}
	if len(able) <= tried+1 {
		return able, short
	}
	slices.SortStableFunc(able, func(a, b *roster) int { return compareTimes(l.free(a), l.free(b)) })
	near := slices.MinFunc(able, func(a, b *roster) int { return compareTimes(l.away(a, job), l.away(b, job)) })
	able = able[:tried:tried]
	if !slices.Contains(able, near) {
		able = append(able, near)
	}
	return able, short
}

// hands is the most pairs of hands that a job asks for.
func (j *Job) hands() int {
	most := 0
	for i := range j.Activities {
		if a := &j.Activities[i]; !a.Waits {
			most = max(most, max(1, a.Hands))
		}
	}
	return most
}

// free is when a crew has done all that it has.
func (l *layer) free(c *roster) float64 {
	if c.last < 0 {
		from, _ := l.window(c, c.first)
		return from
	}
	s := c.shifts[c.last]
	return s[len(s)-1].to
}

// away is the walk from a crew's last work to a job.
func (l *layer) away(c *roster, job *Job) float64 {
	if c.last < 0 {
		return math.Inf(1)
	}
	s := c.shifts[c.last]
	return l.rule.walk(&l.jobs[s[len(s)-1].job], job)
}

// walk is the minutes from one job to another.
func (r *Rule) walk(a, b *Job) float64 {
	switch {
	case a == b:
		return 0
	case a.Area != b.Area:
		return r.BetweenAreas
	case a.Line != b.Line:
		return r.BetweenLines
	case !(r.WalkSpeed > 0):
		return 0
	}
	return math.Abs(a.At-b.At) / r.WalkSpeed
}

// dayOf is the working day of a shift.
func (l *layer) dayOf(shift int) int { return shift / l.rule.ShiftsPerDay }

// start of a shift, in minutes from the start of the first.
func (l *layer) start(shift int) float64 {
	day := l.dayOf(shift)
	for len(l.days) <= day {
		n := max(64, 2*len(l.days), day+1)
		l.days = l.rule.Days.starts(n)
	}
	return l.days[day] + float64(shift%l.rule.ShiftsPerDay)*l.rule.Shift
}

// starts are the starts of the first n working days, in minutes from the first.
func (c *Calendar) starts(n int) []float64 {
	out := make([]float64, n)
	first := c.Date(0)
	for i := range out {
		if c.Start.IsZero() {
			out[i] = float64(i) * minutesADay
		} else {
			out[i] = c.Date(i).Sub(first).Minutes()
		}
	}
	return out
}

// window is when a crew can work on repairs in a shift.
func (l *layer) window(c *roster, shift int) (from, to float64) {
	from, to = l.rule.Window()
	at := l.start(shift)
	from, to = from+at, to+at
	if shift == c.first {
		from += c.lost
	}
	return max(from, c.over), to
}
