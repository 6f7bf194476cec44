package scope

import (
	"slices"

	"wraptally/estimate/survey"
)

// attempt asks what a group of defects comes to at points of the ranges of its blanks,
// where its status and layers are all that is wanted: it words nothing and goes no
// further than what stops the repair. It has one repair, made again each time.
type attempt struct {
	rules  *Rules
	of     []*survey.Defect
	filled []survey.Defect
	repair Repair
}

func (k *Rules) attempt(ds []*survey.Defect) *attempt {
	return &attempt{rules: k, of: ds, filled: make([]survey.Defect, len(ds))}
}

// end is Repair.end of the group at a point.
func (t *attempt) end(at point) End {
	r := &t.repair
	*r = Repair{attempt: true, Defects: r.Defects[:0], taken: r.taken[:0], Pits: r.Pits[:0], Media: r.Media[:0], working: r.working}
	t.rules.work(r, t.filled, t.of, at, nil)
	return r.end()
}

// can reports whether the repair can be made at a point.
func (t *attempt) can(at point) bool { return t.end(at).Status == Estimated }

// matters are the blanks of the repair of which either end alone, the others as
// they were taken, gives other layers or another status.
func (t *attempt) matters(r *Repair) (which Blanks) {
	for i := range blanks {
		if r.Blank&(1<<i) == 0 {
			continue
		}
		for _, share := range [2]float64{0, 1} {
			at := r.point.with(i, share)
			if at.is(r.point) {
				continue // that is the repair itself
			}
			if t.end(at) != r.end() {
				which |= 1 << i
				break
			}
		}
	}
	return which
}

// hardest is the point nearest to the hard ends at which the repair can still be
// made; that which asks for the most is taken. Each blank in turn gives way to all
// the others, which are as hard as they can be: in that defect alone which holds
// the repair back, or where several do, in those that cannot be so hard.
func (t *attempt) hardest(which Blanks, easy point) point {
	var best point
	most := -1
	before, done := easy, -1 // with the blanks up to done as hard as they can be
	for last := range blanks {
		if which&(1<<last) == 0 {
			continue
		}
		if done >= 0 {
			before = t.harden(func(share float64) point { return before.with(done, share) })
		}
		done = last
		at := before
		for i := last + 1; i < len(blanks); i++ {
			if which&(1<<i) != 0 {
				at = t.harden(func(share float64) point { return at.with(i, share) })
			}
		}
		points := []point{t.harden(func(share float64) point { return at.with(last, share) })}
		if n := len(t.of); n > 1 && points[0].all[last] < 1 {
			t.oneAlone(0, n, func(from, to int, share float64) point { return at.only(n, last, from, to, share) }, &points)
			if len(points) == 1 {
				points[0].each = slices.Repeat([]between{points[0].all}, n)
				t.hardenEach(&points[0], last, 0, n)
			}
		}
		for _, at := range points {
			if end := t.end(at); end.Layers > most {
				best, most = at, end.Layers
			}
		}
		if t.full(most) {
			break // no other point asks for more, since all of them can be made
		}
	}
	return best
}

// full reports whether no repair of the defects can be made with more layers than
// those: of every wrap for the diameter the next layer is too thick for the pipe.
func (t *attempt) full(layers int) bool {
	k, od := t.rules, t.repair.OD // the diameter is never blank
	for _, w := range k.c.WrapsFor(od) {
		next := Repair{OD: od, Layers: layers + 1, Ply: w.Rolls[0].Ply}
		if k.lay(&next, nil) == nil && k.wrapLimit(&next, nil).OK {
			return false
		}
	}
	return true
}

// harden is the point farthest on the way to the hard end of a blank at which the
// repair can be made; where it cannot anywhere, the easy end.
func (t *attempt) harden(way func(share float64) point) point {
	can, cannot := 0.0, 1.0
	if at := way(1); t.can(at) {
		return at
	}
	for range 20 {
		if share := (can + cannot) / 2; t.can(way(share)) {
			can = share
		} else {
			cannot = share
		}
	}
	return way(can)
}

// oneAlone adds the points at which one defect, of those from one up to another,
// gives way to all the rest. There is none where not even all of them together,
// at their easy ends, make the repair possible.
func (t *attempt) oneAlone(from, to int, way func(from, to int, share float64) point, points *[]point) {
	if !t.can(way(from, to, 0)) {
		return
	}
	if to-from == 1 {
		*points = append(*points, t.harden(func(share float64) point { return way(from, to, share) }))
		return
	}
	half := (from + to) / 2
	t.oneAlone(from, half, way, points)
	t.oneAlone(half, to, way, points)
}

// hardenEach moves one blank to its hard end in those of the defects from one up
// to another, the latter not included, with which the repair can be made.
func (t *attempt) hardenEach(at *point, blank, from, to int) {
	if to-from < len(t.of) { // not all together: that was tried
		was := slices.Clone(at.each)
		for i := from; i < to; i++ {
			at.each[i][blank] = 1
		}
		if t.can(*at) {
			return
		}
		at.each = was
	}
	if half := (from + to) / 2; half > from {
		t.hardenEach(at, blank, from, half)
		t.hardenEach(at, blank, half, to)
	}
}
