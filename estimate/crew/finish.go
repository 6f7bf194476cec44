package crew

import (
	"cmp"
	"math"
	"slices"
)

// finish turns the rosters into the plan: slots in the order of time, attended
// shifts with what became of their minutes, and the number of days.
func (l *layer) finish() {
	p := l.plan
	for _, c := range l.crews {
		l.attend(c)
	}
	slices.SortStableFunc(p.Slots, func(a, b Slot) int {
		return cmp.Or(cmp.Compare(a.Crew, b.Crew), cmp.Compare(a.From, b.From), cmp.Compare(a.To, b.To), cmp.Compare(a.Job, b.Job), cmp.Compare(a.Activity, b.Activity))
	})
	for i := range p.Slots {
		s := &p.Slots[i]
		start := l.start(s.Shift)
		s.FromStart, s.ToStart = s.From-start, s.To-start
	}
	slices.SortFunc(p.Late, func(a, b Late) int { return cmp.Compare(a.Job, b.Job) })
	for _, s := range p.Shifts {
		p.Days = max(p.Days, s.Day+1)
		p.Work += s.Work
		p.Standing += s.Stand
	}
}

// attend writes the attended shifts of one crew: those of its mobilisation, of
// its work and of its way home.
func (l *layer) attend(c *roster) {
	if c.last < 0 {
		return // the crew is not sent
	}
	fixed := l.rule.Before + l.rule.After
	from, to := l.rule.Window()
	for s := range c.first { // nothing but the way to the site
		l.add(Shift{Crew: c.at, Shift: s, Fixed: l.rule.Shift})
	}
	end := 0.0 // of the work in the last shift
	for s := c.first; s <= c.last; s++ {
		busy := []stretch(nil)
		if s < len(c.shifts) {
			busy = c.shifts[s]
		}
		if len(busy) == 0 && !(s == c.first && c.lost > 0) {
			continue
		}
		got := Shift{Crew: c.at, Shift: s, Fixed: fixed}
		if s == c.first {
			got.Fixed += c.lost
		}
		_, close := l.window(&roster{first: -1}, s)
		for i, b := range busy {
			got.Work += b.to - b.from
			if i > 0 {
				got.Walk += l.rule.walk(&l.jobs[busy[i-1].job], &l.jobs[b.job])
			}
			got.Over = max(got.Over, b.to-close)
			over := b.to > close+eps
			l.plan.Slots = append(l.plan.Slots, Slot{Job: b.job, Activity: b.act, Crew: c.at, Shift: s, From: b.from, To: b.to, Over: over})
			end = b.to
		}
		if got.Over < eps {
			got.Over = 0
		}
		l.add(got)
	}
	// The way home: in what is left of the last shift, then in further ones.
	last := &l.plan.Shifts[len(l.plan.Shifts)-1]
	_, close := l.window(&roster{first: -1}, c.last)
	home := l.rule.Demobilise
	part := min(home, max(0, close-end))
	last.Fixed += part
	for s := c.last + 1; home-part > eps; s++ {
		home -= part
		part = min(home, to-from)
		l.add(Shift{Crew: c.at, Shift: s, Fixed: fixed + part})
	}
	for i := range l.plan.Shifts {
		if s := &l.plan.Shifts[i]; s.Crew == c.at {
			s.Stand = math.Max(0, l.rule.Shift+s.Over-s.Fixed-s.Work-s.Walk)
		}
	}
}

func (l *layer) add(s Shift) {
	s.Day = l.dayOf(s.Shift)
	l.plan.Shifts = append(l.plan.Shifts, s)
}
