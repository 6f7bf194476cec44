package crew

import (
	"math"
	"slices"
)

// placing is what laying one job on one roster came to.
type placing struct {
	first, last int // shifts in which it is begun and finished
	begun, done float64
	access      float64 // when the access stands
	walk        float64 // to it from the work before
	over        bool    // runs over the end of a shift
	laid        []laid
	waits       []Slot

	lastBefore int // of the roster, to undo
	overBefore float64
}

// laid is where a stretch was put, to be taken back.
type laid struct {
	shift int
	from  float64
	act   int
}

// step is an activity, or a part of one that may be broken off, as it is laid.
type step struct {
	act     int
	minutes float64
	waits   bool
	tie     Tie
	within  float64
}

// blocks cuts the activities of a job into rows of steps that lie in one shift
// each. Work that may be broken off is cut into parts of equal length, none
// longer than a piece.
func (j *Job) blocks(piece float64) [][]step {
	var out [][]step
	outlasts := true // the step before may outlast its shift: nothing can be tied to it
	add := func(s step) {
		if s.tie == Untied || outlasts {
			s.tie = Untied
			out = append(out, []step{s})
		} else {
			out[len(out)-1] = append(out[len(out)-1], s)
		}
		outlasts = s.waits && s.tie == Untied
	}
	for i := range j.Activities {
		a := &j.Activities[i]
		if a.Minutes <= 0 {
			continue
		}
		s := step{act: i, minutes: a.Minutes, waits: a.Waits, tie: a.Tie, within: math.Inf(1)}
		if a.Tie == InTime {
			s.within = max(0, a.Within)
		}
		parts := 1.0
		if a.Splits && !a.Waits && piece > 0 {
			parts = math.Max(1, math.Ceil(a.Minutes/piece-eps))
		}
		s.minutes = a.Minutes / parts
		for range int(parts) {
			add(s)
			s.tie = Untied
		}
	}
	return out
}

// lookBack is how many shifts before a crew's last one are searched for room.
const lookBack = 3

// try lays a job on a roster at the earliest times. The caller takes it back
// with undo, or keeps it.
func (l *layer) try(c *roster, j int) placing {
	job := &l.jobs[j]
	p := placing{first: -1, lastBefore: c.last, overBefore: c.over}
	ready := 0.0
	if a, ok := l.group[job.Group]; ok && job.Group > 0 {
		ready = a.ready
	}
	shift := max(c.first, c.last-lookBack)
	for _, block := range job.blocks(l.rule.Piece) {
		if s := block[0]; s.waits { // it begins at once and may outlast the shift
			if p.first < 0 {
				from, _ := l.window(c, shift)
				ready = max(ready, from)
			}
			p.waits = append(p.waits, Slot{Job: j, Activity: s.act, Crew: c.at, Shift: shift, From: ready, To: ready + s.minutes, Waits: true})
			ready += s.minutes
			p.done = ready
			continue
		}
		shift, ready = l.layBlock(c, j, block, shift, ready, &p)
	}
	if p.first < 0 { // nothing but waits, or nothing at all
		p.first, p.last = 0, 0
	}
	return p
}

// layBlock puts a block into the first shift, from the one given on, that has
// room for it after the time ready, and gives the shift and the block's end.
func (l *layer) layBlock(c *roster, j int, block []step, shift int, ready float64, p *placing) (int, float64) {
	for ; ; shift++ {
		for len(c.shifts) <= shift {
			c.shifts = append(c.shifts, nil)
		}
		from, to := l.window(c, shift)
		if to < ready {
			continue
		}
		if got, end, ok := l.fit(c, shift, j, block, max(from, ready), to); ok {
			l.keep(c, shift, j, got, block, p)
			return shift, end
		}
		if shift > c.last && len(c.shifts[shift]) == 0 && ready <= from {
			// An empty shift does not hold it: it runs over.
			got, end, _ := l.fit(c, shift, j, block, from, math.Inf(1))
			c.over = end
			p.over = true
			l.keep(c, shift, j, got, block, p)
			return shift, end
		}
	}
}

// fit finds the earliest times of a block's steps in a shift, none before from
// and all ended by to.
func (l *layer) fit(c *roster, shift, j int, block []step, from, to float64) (starts []float64, end float64, ok bool) {
	starts = make([]float64, len(block))
	for try := from; ; {
		t, late := try, math.Inf(1)
		again := math.Inf(1) // earliest time at which a start of the first step may do better
		ok = true
		for i, s := range block {
			if s.waits {
				starts[i] = t
				t += s.minutes
				if t > to+eps {
					return nil, 0, false
				}
				continue
			}
			if i > 0 {
				late = t + s.within
			}
			at, found := l.gap(c, shift, j, s.minutes, t, to)
			if !found {
				return nil, 0, false
			}
			if at > late+eps { // the step before has to begin later by that much
				again = try + (at - late)
				ok = false
				break
			}
			starts[i] = at
			t = at + s.minutes
		}
		if ok {
			if again, ok = l.near(c.shifts[shift], j, starts[0], starts[len(block)-1]); ok {
				return starts, t, true
			}
		}
		try = again
	}
}

// near reports whether all that is worked on between two times is near enough
// to job j to leave it to set; if not, it gives the end of what is too far.
func (l *layer) near(busy []stretch, j int, from, to float64) (end float64, ok bool) {
	for _, s := range busy {
		if s.from > from && s.from < to && s.job != j && l.far(s.job, j) {
			return s.to, false
		}
	}
	return 0, true
}

// far reports whether a crew does not leave one job, while it sets, for another.
func (l *layer) far(a, b int) bool {
	return !l.rule.Overlap || l.rule.walk(&l.jobs[a], &l.jobs[b]) > l.rule.Near+eps
}

// gap is the earliest time, not before from, at which a job has room for so many
// minutes in a shift, with the walks to it and away, ended by to.
func (l *layer) gap(c *roster, shift, j int, minutes, from, to float64) (float64, bool) {
	job := &l.jobs[j]
	busy := c.shifts[shift]
	for i := 0; i <= len(busy); i++ {
		left, right := from, to
		if i > 0 {
			left = max(left, busy[i-1].to+l.rule.walk(&l.jobs[busy[i-1].job], job))
		}
		if i < len(busy) {
			right = min(right, busy[i].from-l.rule.walk(job, &l.jobs[busy[i].job]))
		}
		if left+minutes > right+eps || !l.mayLeave(busy, i, j) {
			continue
		}
		return left, true
	}
	return 0, false
}

// mayLeave reports whether job j may be worked on between the stretches i−1 and
// i of a shift: jobs left to set meanwhile must be near it, and where j itself
// was left to set, what was done meanwhile must be near j.
func (l *layer) mayLeave(busy []stretch, i, j int) bool {
	begun := false // j lies before the gap
	for x := range i {
		open := busy[x].job
		if open == j {
			begun = true
			continue
		}
		if !l.far(open, j) {
			continue
		}
		if begun || slices.ContainsFunc(busy[i:], func(s stretch) bool { return s.job == open }) {
			return false
		}
	}
	return true
}

// keep enters the times found on the roster.
func (l *layer) keep(c *roster, shift, j int, starts []float64, block []step, p *placing) {
	for i, s := range block {
		end := starts[i] + s.minutes
		if s.waits {
			p.waits = append(p.waits, Slot{Job: j, Activity: s.act, Crew: c.at, Shift: shift, From: starts[i], To: end, Waits: true})
		} else {
			at := c.insert(shift, stretch{starts[i], end, j, s.act})
			if p.first < 0 {
				p.first, p.begun = shift, starts[i]
				if at > 0 {
					p.walk = l.rule.walk(&l.jobs[c.shifts[shift][at-1].job], &l.jobs[j])
				}
			}
			p.last = shift
			p.laid = append(p.laid, laid{shift, starts[i], s.act})
			if l.jobs[j].Activities[s.act].Access {
				p.access = end
			}
		}
		p.done = end
	}
	c.last = max(c.last, shift)
}

// insert puts a stretch in its place and says where that is.
func (c *roster) insert(shift int, s stretch) int {
	busy := c.shifts[shift]
	at := len(busy)
	for at > 0 && busy[at-1].from > s.from {
		at--
	}
	busy = append(busy, stretch{})
	copy(busy[at+1:], busy[at:])
	busy[at] = s
	c.shifts[shift] = busy
	return at
}

// undo takes a placing back.
func (c *roster) undo(p placing) {
	for i := len(p.laid) - 1; i >= 0; i-- {
		at := p.laid[i]
		busy := c.shifts[at.shift]
		for k := len(busy) - 1; k >= 0; k-- {
			if busy[k].from == at.from && busy[k].act == at.act {
				c.shifts[at.shift] = append(busy[:k], busy[k+1:]...)
				break
			}
		}
	}
	c.last, c.over = p.lastBefore, p.overBefore
}
