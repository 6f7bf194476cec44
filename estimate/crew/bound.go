package crew

import (
	"cmp"
	"math"
	"slices"
)

// bounds are what no plan of the jobs can go below. A crew has in each shift
// the time between setting up and clearing up, less its way to the site and
// home. So in D days k crews have at most k·max(0, D·shifts·window − mobilise −
// demobilise), which must hold the attended work; and no job is done sooner
// than on a crew that has nothing else to do, which then has its way home. Source:
// the two bounds of Graham 1969 (critical path; work ÷ machines), with the hours of
// the shift. Since a job is one crew's, of the i·k + 1 jobs with the most work some
// crew has i + 1, and at least the work of the smallest of them: derived, known for
// machines alike (Dell'Amico and Martello 1995, from memory). Waiting, walking and
// the split of work over shifts are left out, which only lowers it.
//
// Work that runs over a shift because none is long enough for it is left out,
// as are jobs that no crew can do.
type bounds struct {
	rule  *Rule
	work  float64
	each  []float64 // work of each job, the most first
	alone int       // days of the job that takes longest with a crew to itself, its way home too
	due   []dueWork
}

// dueWork is the work that has to be done by the end of a working day.
type dueWork struct {
	due   int
	work  float64
	alone int
}

func newBounds(jobs []Job, p *Plan, rule *Rule) *bounds {
	b := &bounds{rule: rule}
	overlong := map[int]bool{}
	for _, f := range p.Overlong {
		overlong[f.Job] = true
	}
	byDue := map[int]*dueWork{}
	for i := range jobs {
		if p.Finish[i].Crew < 0 {
			continue
		}
		days, home := aloneDays(&jobs[i], rule)
		b.alone = max(b.alone, home)
		work := 0.0
		if !overlong[i] {
			for k := range jobs[i].Activities {
				if a := &jobs[i].Activities[k]; !a.Waits {
					work += max(0, a.Minutes)
				}
			}
		}
		b.work += work
		b.each = append(b.each, work)
		if due := jobs[i].Due; due != NoDue {
			d, ok := byDue[due]
			if !ok {
				d = &dueWork{due: due}
				byDue[due] = d
			}
			d.work += work
			d.alone = max(d.alone, days)
		}
	}
	for _, d := range byDue {
		b.due = append(b.due, *d)
	}
	slices.SortFunc(b.each, func(x, y float64) int { return cmp.Compare(y, x) })
	slices.SortFunc(b.due, func(x, y dueWork) int { return cmp.Compare(x.due, y.due) })
	return b
}

// aloneDays is the working day, counted from 1, on which a job is done by a crew
// that does nothing else, and that on which the crew is home.
func aloneDays(job *Job, rule *Rule) (done, home int) {
	one := *job
	one.Group, one.Due = 0, NoDue
	p := lay([]Job{one}, []int{0}, []Crew{{}}, &Rule{Shift: rule.Shift, Before: rule.Before, After: rule.After, Mobilise: rule.Mobilise, Demobilise: rule.Demobilise,
		ShiftsPerDay: rule.ShiftsPerDay, Piece: rule.Piece, Days: rule.Days})
	if len(p.Shifts) == 0 {
		return 0, 0 // nothing but waiting
	}
	done = p.Finish[0].Day + 1
	return done, max(done, p.Days)
}

// days is the fewest working days that k crews need.
func (b *bounds) days(k int) int {
	lost := b.rule.Mobilise + b.rule.Demobilise
	return max(b.alone, b.forWork(k, b.work, lost), b.forWork(1, b.together(k), lost))
}

// together is work that one of k crews has at least.
func (b *bounds) together(k int) float64 {
	upTo := make([]float64, len(b.each)+1) // work of so many jobs
	for n, w := range b.each {
		upTo[n+1] = upTo[n] + w
	}
	most := 0.0
	for i := 1; i*k < len(b.each); i++ {
		most = max(most, upTo[i*k+1]-upTo[i*k-i])
	}
	return most
}

// forWork is the fewest days in which k crews have time for the work, each
// losing so many minutes once.
func (b *bounds) forWork(k int, work, lost float64) int {
	if work <= eps {
		return 0
	}
	from, to := b.rule.Window()
	return int(math.Ceil((work/float64(k)+lost)/((to-from)*float64(b.rule.ShiftsPerDay)) - 1e-9))
}

// late is the number of days by which at least one job is late in any plan of k
// crews.
func (b *bounds) late(k int) int {
	late, work, alone := 0, 0.0, 0
	for _, d := range b.due {
		work += d.work
		alone = max(alone, d.alone)
		late = max(late, d.alone-1-d.due, b.forWork(k, work, b.rule.Mobilise)-1-d.due)
	}
	return late
}
