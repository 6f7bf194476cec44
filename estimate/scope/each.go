package scope

import (
	"hash/maphash"
	"iter"
	"slices"

	"wraptally/estimate/survey"
)

// Each yields the repairs of Plan where no earlier run has given names, a line or a
// stretch of one at a time, so that they need not be held: a large survey's do not
// fit into memory. The lines are gone through up to three times.
func (k *Rules) Each(lines iter.Seq[survey.Line]) iter.Seq[[]*Repair] {
	return func(yield func([]*Repair) bool) {
		named := k.namesakes(lines)
		for repairs := range k.stretches(lines) {
			for _, r := range repairs {
				r.ID = naturalName(r.Defects[0])
				if like := named[r.Defects[0].ID]; like != nil {
					r.ID, r.Unnamed, r.Queries = like.ID, like.Unnamed, append(r.Queries, like.Queries...)
					if r.Status == Estimated {
						r.Status, r.Reason = like.Status, like.Reason
					}
				}
				for i := range r.Queries {
					r.Queries[i].Repair = r.ID
				}
			}
			if !yield(repairs) {
				return
			}
		}
	}
}

// stretches yields the repairs of the lines, of a long one a stretch at a time.
func (k *Rules) stretches(lines iter.Seq[survey.Line]) iter.Seq[[]*Repair] {
	return func(yield func([]*Repair) bool) {
		for l := range lines {
			pipes := diameters(l)
			parts := []stretch{{past: l.Len()}}
			if l.Len() > k.stretch {
				parts = k.stretchesOf(l, pipes)
			}
			for _, s := range parts {
				if repairs, _, _ := k.line(l.Read(s.first, s.past), pipes); !yield(repairs) {
					return
				}
			}
		}
	}
}

// stretch is rows of a line, and how far their repairs reach.
type stretch struct {
	first, past int
	from, to    float64
}

// stretchesOf parts a line between rows far from each other, and only where the
// repairs on both sides, worked out apart, do not meet, be it by what rounding may
// take from a joined one; where they do the two are worked out as one. Nothing may be
// handed on before, since one that is joined may reach farther back.
func (k *Rules) stretchesOf(l survey.Line, pipes []float64) (out []stretch) {
	for past := 0; past < l.Len(); past = out[len(out)-1].past {
		s := stretch{first: past, past: k.parted(l, past+k.stretch)}
		_, s.from, s.to = k.line(l.Read(s.first, s.past), pipes)
		for n := len(out) - 1; n >= 0 && s.from <= out[n].to+k.set.LengthStep; n-- {
			s.first, s.past = out[n].first, k.parted(l, 2*s.past-out[n].first)
			_, s.from, s.to = k.line(l.Read(s.first, s.past), pipes)
			out = out[:n]
		}
		out = append(out, s)
	}
	return out
}

// parted is the place at which a line is best parted near a row, before it: where two
// neighbours lie farthest apart.
func (k *Rules) parted(l survey.Line, row int) int {
	if row >= l.Len() {
		return l.Len()
	}
	best, most := row, 0.0
	for i := row; i > row-k.stretch/4; i-- {
		before, _ := l.At(i - 1)
		after, _ := l.At(i)
		if after-before > most {
			best, most = i, after-before
		}
	}
	return best
}

// namesakes are what those repairs are named, and what that asks, of which the name
// may be another's too; by the id of their first defects. Only lines with rows
// that could give such names are planned for it.
func (k *Rules) namesakes(lines iter.Seq[survey.Line]) map[string]*Repair {
	seed := maphash.MakeSeed()
	mayBe := func(d *survey.Defect) []uint64 {
		name := naturalName(d)
		out := []uint64{maphash.String(seed, foldName(name))}
		if k.set.EqualNames == "chainage" {
			out = append(out, maphash.String(seed, foldName(longName(name, d))))
		}
		return out
	}
	var names []uint64
	for l := range lines {
		for ds := range l.Parts() {
			for _, d := range ds {
				names = append(names, mayBe(d)...)
			}
		}
	}
	slices.Sort(names)
	twice := map[uint64]bool{}
	for i := 1; i < len(names); i++ {
		if names[i] == names[i-1] {
			twice[names[i]] = true
		}
	}
	if len(twice) == 0 {
		return nil
	}
	shared := func(d *survey.Defect) bool {
		return slices.ContainsFunc(mayBe(d), func(name uint64) bool { return twice[name] })
	}
	var alike []*Repair
	for repairs := range k.stretches(having(lines, shared)) {
		for _, r := range repairs {
			if d := r.Defects[0]; shared(d) {
				first := *d
				alike = append(alike, &Repair{Line: r.Line, Defects: []*survey.Defect{&first}, Status: Estimated})
			}
		}
	}
	name(alike, k.set, nil)
	named := make(map[string]*Repair, len(alike))
	for _, r := range alike {
		named[r.Defects[0].ID] = r
	}
	return named
}

// having are the lines with a defect of which something is so.
func having(lines iter.Seq[survey.Line], is func(*survey.Defect) bool) iter.Seq[survey.Line] {
	return func(yield func(survey.Line) bool) {
		for l := range lines {
			for ds := range l.Parts() {
				if !slices.ContainsFunc(ds, is) {
					continue
				}
				if !yield(l) {
					return
				}
				break
			}
		}
	}
}
