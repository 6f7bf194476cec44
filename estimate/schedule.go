package estimate

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate/crew"
	"wraptally/estimate/qty"
	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

// Visit is when and by whom a repair is done.
type Visit struct {
	Crew, Shift int       // from 1; the shift in which it is begun
	Last        int       // shift in which it is finished
	Begun, Done time.Time // working days; zero where no start is known
	Start       float64   // minutes from the start of the first shift to its beginning
	Access      bool      // it sets up its access; else it shares one that stands
	Sharing     int       // repairs on one access, itself included
}

// Plan is the work of the campaign: the jobs in the order of their repairs, each
// with its visit, and what they come to.
type Plan struct {
	Jobs       []Job
	Crews      []PlannedCrew // those that are sent
	Spares     []Spare       // of the crews that seal leaks, by crew
	Shifts     []Shift       // attended, by crew and shift
	Slots      []crew.Slot   // who does what when, by crew and time
	CrewShifts int
	Days       int // working days
	Bound      int // working days that no plan with these crews can go below
	Late       int // repairs done after the day they are needed
	Hours      []Hours
	CrewHours  float64 // h of whole crews that are paid
	Paid       float64 // h of all persons
	Mass       float64 // kg, everything that is issued with the kits

	asked []trace.Query
}

// PlannedCrew is a crew with what it costs.
type PlannedCrew struct {
	Name    string
	Members int
	Rate    decimal.Decimal // of the whole crew per hour, base currency
}

// Shift is an attended shift of a crew, both from 1.
type Shift struct {
	Crew, Shift int
	Date        time.Time // zero where no start is known
	Minutes     crew.Shift
	Jobs        []int // worked on in it, in the order of their first work
}

// Hours are paid hours of one kind of one crew.
type Hours struct {
	Crew    int // from 1
	Kind    HourKind
	Hours   float64 // of the whole crew
	Premium float64 // hours that overtime costs beyond its own
}

// HourKind is what attended time goes into.
type HourKind string

// The kinds of attended time.
const (
	Working  HourKind = "working"  // on repairs
	Standing HourKind = "standing" // nothing to do while repairs set
	Setting  HourKind = "setting"  // set-up, clearing up, walking
	Moving   HourKind = "moving"   // to the site and home
)

// schedule plans the jobs: who is sent, when each repair is done, and the hours
// that are paid for it.
func schedule(jobs []Job, dates Dates, m *means) (Plan, error) {
	p := Plan{Jobs: slices.Clone(jobs)}
	crews, rule := m.crews(), m.crewRule(dates)
	work := m.work(p.Jobs, dates, &rule)
	got, err := crew.Make(work, crews, rule)
	if err == nil {
		err = crew.Check(work, crews, rule, got) // nobody is sent by a plan that was not replayed
	}
	if err != nil {
		return p, err
	}
	p.Days, p.Bound, p.CrewShifts, p.Slots, p.Late = got.Days, got.Bound, len(got.Shifts), got.Slots, len(got.Late)
	for i := range crews[:got.Crews] {
		p.Crews = append(p.Crews, m.plannedCrew(crews[i]))
	}
	for i, f := range got.Finish {
		j := &p.Jobs[i]
		j.Crew, j.Shift, j.Last, j.Start = f.Crew+1, f.FirstShift+1, f.Shift+1, f.Begun
		j.Begun, j.Done = rule.Days.Date(f.FirstDay), rule.Days.Date(f.Day)
		p.Mass += j.Mass
	}
	p.Shifts = attended(got, &rule)
	p.Hours = m.hours(got)
	for _, h := range p.Hours {
		p.CrewHours += h.Hours
		p.Paid += h.Hours * float64(p.Crews[h.Crew-1].Members)
	}
	p.asked = m.planQueries(p.Jobs, got, &rule)
	return p, nil
}

// crews are the firm's crews: those of its table, else as many alike as the
// setting crew.count says.
func (m *means) crews() []crew.Crew {
	var out []crew.Crew
	for _, row := range m.Catalog.Crews {
		at := slices.IndexFunc(out, func(c crew.Crew) bool { return c.Name == row.Crew })
		if at < 0 {
			at = len(out)
			out = append(out, crew.Crew{Name: row.Crew})
		}
		if row.Area != "" {
			out[at].Areas = append(out[at].Areas, row.Area)
		}
	}
	for len(m.Catalog.Crews) == 0 && len(out) < m.Settings.Crews {
		out = append(out, crew.Crew{Name: fmt.Sprintf("crew %d", len(out)+1)})
	}
	for i := range out {
		out[i].Members = m.plannedCrew(out[i]).Members
	}
	return out
}

// plannedCrew counts the members of a crew and what they cost.
func (m *means) plannedCrew(c crew.Crew) PlannedCrew {
	out := PlannedCrew{Name: c.Name}
	for _, l := range m.Labour {
		if l.Crew == "" || l.Crew == c.Name {
			out.Members += l.Count
			out.Rate = out.Rate.Add(l.Rate.Mul(qty.Whole(l.Count)))
		}
	}
	return out
}

// weekends are the days of the week without work, by the words of the setting.
var weekends = map[string][]time.Weekday{
	"saturday-sunday": {time.Saturday, time.Sunday}, "friday-saturday": {time.Friday, time.Saturday}, "sunday": {time.Sunday}, "friday": {time.Friday},
}

// crewRule is what holds for every crew and shift of the campaign.
func (m *means) crewRule(dates Dates) crew.Rule {
	set := &m.Settings
	r := crew.Rule{
		Shift: set.ShiftHours * 60, ShiftsPerDay: set.ShiftsPerDay, WalkSpeed: set.WalkSpeed, BetweenLines: set.BetweenLines,
		BetweenAreas: set.BetweenAreas, Near: set.Near, Overlap: set.WorkOn == "yes", Piece: set.Piece, Days: m.calendar(dates.Need),
	}
	for _, t := range m.Tasks {
		switch t.Per {
		case "shift-start":
			r.Before += t.Minutes
		case "shift-end":
			r.After += t.Minutes
		case "crew-start":
			r.Mobilise += t.Minutes
		case "crew-end":
			r.Demobilise += t.Minutes
		}
	}
	return r
}

// calendar tells the working days from the first day of the work.
func (m *means) calendar(start time.Time) crew.Calendar {
	c := crew.Calendar{Start: start, Holidays: map[time.Time]string{}}
	for _, d := range weekends[m.Settings.Weekend] {
		c.Free[d] = true
	}
	for _, h := range m.Holidays {
		c.Holidays[h.Day] = h.Name
	}
	return c
}

// work turns jobs into work for the planner: near repairs of one kind of access
// share one, the first of them sets it up, and each is due on its need date. Where
// no first day is given the work begins on the earliest need date, and what is
// needed on that very day comes first without being called late.
func (m *means) work(jobs []Job, dates Dates, rule *crew.Rule) []crew.Job {
	out := make([]crew.Job, len(jobs))
	shared := m.shareAccess(jobs)
	for i := range jobs {
		j := &jobs[i]
		r := j.Repair
		w := crew.Job{ID: r.ID, Area: r.Area, Line: r.Line, At: r.From / 1000, Due: crew.NoDue, Group: shared[i].group, Activities: j.work}
		if need := neededBy(r); !need.IsZero() && (dates.Given || need.After(dates.Need)) {
			w.Due = rule.Days.Index(need)
		}
		j.Access, j.Sharing = shared[i].first, shared[i].of
		if a, ok := m.AccessOf(r.Access); ok && a.SetUp > 0 && j.Access {
			j.work = append([]crew.Activity{{Name: "set up: " + a.Name, Minutes: a.SetUp / m.Settings.Productive, Access: true}}, j.work...)
			w.Activities = j.work
		}
		out[i] = w
	}
	return out
}

// neededBy is the earliest need date of a repair's defects; zero where none is
// given.
func neededBy(r *scope.Repair) time.Time {
	var day time.Time
	for _, d := range r.Defects {
		if !d.NeedDate.IsZero() && (day.IsZero() || d.NeedDate.Before(day)) {
			day = d.NeedDate
		}
	}
	return day
}

// sharing is the group of repairs on one access; 0 where a repair has its own.
type sharing struct {
	group int
	first bool // sets it up
	of    int  // repairs on the access
}

// shareAccess groups the repairs of one line and one kind of access that lie
// within its length of the first of them. Jobs are in the order of their places.
func (m *means) shareAccess(jobs []Job) []sharing {
	out := make([]sharing, len(jobs))
	groups := 0
	for first := 0; first < len(jobs); {
		a, ok := m.AccessOf(jobs[first].Repair.Access)
		end := first + 1
		for ok && a.Share > 0 && end < len(jobs) && sameAccess(jobs[first].Repair, jobs[end].Repair) && jobs[end].Repair.To-jobs[first].Repair.From <= a.Share*1000 {
			end++
		}
		group := 0
		if end > first+1 {
			groups++
			group = groups
		}
		at := first // the first in the planner's order sets it up
		for i := first; i < end; i++ {
			out[i] = sharing{group: group, of: end - first}
			if before(jobs[i].Repair, jobs[at].Repair) {
				at = i
			}
		}
		out[at].first = true
		first = end
	}
	return out
}

func sameAccess(a, b *scope.Repair) bool {
	return a.Area == b.Area && a.Line == b.Line && a.Access == b.Access
}

// before is the order in which the planner takes the repairs of one access.
func before(a, b *scope.Repair) bool {
	return cmp.Or(cmp.Compare(a.From, b.From), cmp.Compare(a.ID, b.ID)) < 0
}

// attended lists the shifts with the jobs that are worked on in each.
func attended(p *crew.Plan, rule *crew.Rule) []Shift {
	at := map[[2]int]int{}
	out := make([]Shift, len(p.Shifts))
	for i, s := range p.Shifts {
		out[i] = Shift{Crew: s.Crew + 1, Shift: s.Shift + 1, Date: rule.Days.Date(s.Day), Minutes: s}
		at[[2]int{s.Crew, s.Shift}] = i
	}
	for _, s := range p.Slots {
		if i, ok := at[[2]int{s.Crew, s.Shift}]; ok && !s.Waits && !slices.Contains(out[i].Jobs, s.Job) {
			out[i].Jobs = append(out[i].Jobs, s.Job)
		}
	}
	return out
}

// hours adds up the attended time that is paid, by crew and kind. Where worked
// hours only are paid, standing is not.
func (m *means) hours(p *crew.Plan) []Hours {
	kinds := []HourKind{Working, Standing, Setting, Moving}
	sums := map[int][]Hours{}
	moving := m.movingMinutes()
	for _, s := range p.Shifts {
		if sums[s.Crew] == nil {
			for _, k := range kinds {
				sums[s.Crew] = append(sums[s.Crew], Hours{Crew: s.Crew + 1, Kind: k})
			}
		}
		h := sums[s.Crew]
		h[0].Hours += s.Work / 60
		h[0].Premium += m.premium(s.Over / 60)
		h[1].Hours += s.Stand / 60
		h[2].Hours += (s.Fixed + s.Walk) / 60
	}
	var out []Hours
	for _, c := range slices.Sorted(maps.Keys(sums)) {
		h := sums[c]
		move := math.Min(moving/60, h[2].Hours)
		h[2].Hours, h[3].Hours = h[2].Hours-move, move
		for _, x := range h {
			if x.Hours > 1e-9 && !(x.Kind == Standing && m.Settings.LabourPaid == "worked") {
				out = append(out, x)
			}
		}
	}
	return out
}

// movingMinutes is the way of one crew to the site and home.
func (m *means) movingMinutes() float64 {
	sum := 0.0
	for _, t := range m.Tasks {
		if t.Per == "crew-start" || t.Per == "crew-end" {
			sum += t.Minutes
		}
	}
	return sum
}

// premium is what hours beyond a shift cost more, in hours: each stretch at the
// factor from which it lies on.
func (m *means) premium(over float64) float64 {
	rows := slices.SortedFunc(slices.Values(m.Overtime), func(a, b catalog.Overtime) int { return cmp.Compare(a.From, b.From) })
	sum := 0.0
	for i, row := range rows {
		to := over
		if i+1 < len(rows) {
			to = math.Min(over, rows[i+1].From)
		}
		sum += math.Max(0, to-row.From) * (row.Factor - 1)
	}
	return sum
}

// handsCost is what the hands that the crew lacks would cost, whole shifts at the
// dearest rate of the labour table: all the shifts of the repairs that need them.
func (m *means) handsCost(p *crew.Plan) string {
	dearest, hours := decimal.Zero, 0.0
	for _, l := range m.Labour {
		dearest = decimal.Max(dearest, l.Rate)
	}
	for _, f := range p.ShortHands {
		at := p.Finish[f.Job]
		hours += float64(f.More*(at.Shift-at.FirstShift+1)) * m.Settings.ShiftHours
	}
	cur := m.Catalog.Currency()
	return dearest.Mul(qty.Decimal(hours)).StringFixed(int32(cur.Minor)) + " " + cur.Code
}

// planQueries asks about what the plan cannot keep, one query a matter, at the
// repair in which it is worst.
func (m *means) planQueries(jobs []Job, p *crew.Plan, rule *crew.Rule) []trace.Query {
	var out []trace.Query
	ask := func(code string, count, worst int, found, message, advice string) {
		if count == 0 {
			return
		}
		r := jobs[worst].Repair
		if count > 1 {
			message = fmt.Sprintf("%d repairs, first %s: %s", count, r.ID, message)
		}
		out = append(out, trace.Query{Code: code, Severity: trace.Ask, Place: trace.Place{Line: r.Defects[0].Line0}, Found: found, Message: message, Advice: advice, Row: r.Defects[0].ID, Repair: r.ID})
	}
	if most := m.Settings.MostDays; p.Days > most {
		out = append(out, trace.Query{
			Code: "campaign-long", Severity: trace.Ask, Found: fmt.Sprintf("%d working days", p.Days), Row: survey.AllRows, Place: trace.Place{File: "settings"},
			Message: fmt.Sprintf("with these crews the work takes more than %d working days: prices, stock and the survey will not hold that long", most),
			Advice:  "check the number of crews (crew.count or the labour table) and of shifts a day (crew.shifts_per_day), or part the campaign; campaign.most_days is the limit",
		})
	}
	if len(p.Late) > 0 {
		worst := slices.MaxFunc(p.Late, func(a, b crew.Late) int { return cmp.Compare(a.Done-a.Due, b.Done-b.Due) })
		need, done := neededBy(jobs[worst.Job].Repair).Format(time.DateOnly), rule.Days.Date(worst.Done).Format(time.DateOnly)
		ask("need-date-missed", len(p.Late), worst.Job, need, fmt.Sprintf("needed by %s, done on %s by this plan, the latest of them; no plan with these crews is less than %d working days late", need, done, p.LateBound),
			"start earlier, send more crews (crew.count), work more shifts a day (crew.shifts_per_day), or agree on later days")
	}
	if len(p.Overlong) > 0 {
		ask("work-over-shift", len(p.Overlong), p.Overlong[0].Job, "", p.Overlong[0].Text+"; it is planned and paid as overtime", "plan a longer shift (crew.shift_hours), or a second crew that takes over")
	}
	if len(p.ShortHands) > 0 {
		ask("hands-short", len(p.ShortHands), p.ShortHands[0].Job, "", p.ShortHands[0].Text+"; with them wages grow by "+m.handsCost(p)+", which is not in the bid", "send a larger crew (labour table), or use shorter rolls")
	}
	return out
}
