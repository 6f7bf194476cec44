package crew

import (
	"math"
	"time"
)

// Activity is one step of a job.
type Activity struct {
	Name    string
	Minutes float64 // attended, or elapsed where it waits
	Waits   bool    // nobody is bound; it begins when the activity before ends
	Hands   int     // pairs of hands it takes; 0 counts as 1, a wait takes none
	Splits  bool    // may be broken off and gone on with later, also in another shift

	// Tie says how it hangs on the activity before it; Within is for InTime only.
	Tie    Tie
	Within float64 // most minutes from the end of the activity before to the start of this one
	// Access marks what is set up once for all jobs of an access group.
	Access bool
}

// Tie is how an activity hangs on the one before it in its job.
type Tie uint8

// The ties. What is tied lies in one shift with the activity before it, and a
// wait that is tied ends before the crew clears up.
const (
	Untied  Tie = iota // any time after
	InShift            // later in the same shift
	InTime             // in the same shift, begun within so many minutes
)

// Job is the work on one repair, done by one crew.
type Job struct {
	ID         string
	Area, Line string
	At         float64 // m along the line
	Due        int     // working day, from 0, by whose end it is to be finished; NoDue where there is none
	Group      int     // jobs of one group above 0 share an access: the same crew, after the group's access is set up
	Activities []Activity
}

// NoDue is the due day of a job that is due on no particular day.
const NoDue = math.MaxInt32

// Crew is who can be sent.
type Crew struct {
	Name    string
	Members int      // pairs of hands; 0 is no limit
	Areas   []string // areas it works in; none is all
}

// Rule is what holds for every crew and shift. Times are in minutes.
type Rule struct {
	Shift        float64 // from its start to its end
	Before       float64 // at its start: travel, safety talk, setting up
	After        float64 // at its end: clearing up, travel
	Mobilise     float64 // of each crew before its first work
	Demobilise   float64 // of each crew after its last work
	ShiftsPerDay int     // one after the other

	WalkSpeed    float64 // m a minute along a line; 0 walks in no time
	BetweenLines float64 // from one line to another of the same area
	BetweenAreas float64
	Near         float64 // longest walk for which a crew leaves a repair that sets

	// Overlap says whether a crew works elsewhere while a repair sets.
	Overlap bool
	// Piece is the longest part in which work that may be broken off is laid.
	Piece float64
	Days  Calendar
}

// Window is the time of a shift in which repairs are worked on, from its start.
func (r *Rule) Window() (from, to float64) { return r.Before, r.Shift - r.After }

// Slot is a stretch of time of a job in the plan.
type Slot struct {
	Job                int     // index into the jobs
	Activity           int     // index into the job's activities
	Crew               int     // index into the crews
	Shift              int     // from 0, of the crew's campaign
	From, To           float64 // minutes from the start of the first shift
	FromStart, ToStart float64 // minutes from the start of its own shift
	Waits              bool    // then To may lie beyond the shift's end
	Over               bool    // runs over the end of the shift, because no shift is long enough for it
}

// Plan is when each activity is done, with the bound on what any plan needs.
type Plan struct {
	Crews      int      // crews used, the first ones of those given
	Slots      []Slot   // by crew, shift and time
	Finish     []Finish // by job
	Shifts     []Shift  // attended, by crew and shift
	Days       int      // working days from the first to the last
	Bound      int      // working days that no plan with these crews can go below
	Work       float64  // minutes of activities that bind a crew
	Standing   float64  // attended minutes in which a crew has nothing to do
	Late       []Late   // by job
	LateBound  int      // days by which at least one job is late in any plan
	Unplaced   []Fault  // jobs that no crew can do, with the reason; they are left out
	Overlong   []Fault  // jobs with a block longer than a shift; they run over
	ShortHands []Fault  // jobs that ask for more hands than the largest crew has
}

// Finish is when a job begins and ends.
type Finish struct {
	Crew              int // −1 where the job is in no plan
	FirstShift, Shift int // in which it is begun and finished
	FirstDay, Day     int // working days, from 0
	Begun, Done       float64
}

// Shift is one attended shift of a crew.
type Shift struct {
	Crew, Shift, Day         int
	Work, Walk, Fixed, Stand float64 // minutes: activities, walking, set-up and the like, nothing to do
	Over                     float64 // minutes beyond the end of the shift
}

// Late is a job that is finished after the day it was due.
type Late struct{ Job, Due, Done int }

// Fault is what is the matter with a job.
type Fault struct {
	Job  int
	Text string
	More int // pairs of hands that the largest crew lacks
}

// Calendar tells which days are worked.
type Calendar struct {
	Start    time.Time            // first day; zero where it is not known, and then every day counts as worked
	Free     [7]bool              // weekdays without work, Sunday first
	Holidays map[time.Time]string // dates at midnight UTC, with their names
}

// Works reports whether a date is worked.
func (c *Calendar) Works(d time.Time) bool {
	if c.Free[d.Weekday()] {
		return false
	}
	_, holiday := c.Holidays[d]
	return !holiday
}

// week lists the days that are worked of the seven from the start, by their
// distance from it, holidays aside.
func (c *Calendar) week() (worked []int) {
	for i := range 7 {
		if !c.Free[(int(c.Start.Weekday())+i)%7] {
			worked = append(worked, i)
		}
	}
	return worked
}

// holidays counts the days up to one, by its distance from the start, that would
// be worked were they no holidays.
func (c *Calendar) holidays(until int) (n int) {
	for d := range c.Holidays {
		if i := c.distance(d); i >= 0 && i <= until && !c.Free[d.Weekday()] {
			n++
		}
	}
	return n
}

// distance is the number of days from the start to a date.
func (c *Calendar) distance(d time.Time) int {
	const day = 24 * 60 * 60 // in UTC all days are as long
	return int(midnight(d).Unix()-midnight(c.Start).Unix()) / day
}

// Date is the n-th working day, from 0. It is zero where the start is not known
// or no day is worked. A plan asks for it once a day and more, so it counts by
// weeks and holidays, not day by day.
func (c *Calendar) Date(n int) time.Time {
	week := c.week()
	if c.Start.IsZero() || n < 0 || len(week) == 0 {
		return time.Time{}
	}
	// Each holiday up to the day pushes it one worked day on, perhaps past another.
	for k := n; ; {
		day := k/len(week)*7 + week[k%len(week)]
		pushed := n + c.holidays(day)
		if pushed == k {
			return midnight(c.Start).AddDate(0, 0, day)
		}
		k = pushed
	}
}

// Index is the number, from 0, of the last working day up to a date: the last
// day on which work due by that date can be finished. It is −1 before the first.
func (c *Calendar) Index(d time.Time) int {
	until := c.distance(d)
	if until < 0 {
		return -1
	}
	week := c.week()
	n := until / 7 * len(week)
	for _, i := range week {
		if i <= until%7 {
			n++
		}
	}
	return n - c.holidays(until) - 1
}

func midnight(t time.Time) time.Time {
	y, m, d := t.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}
