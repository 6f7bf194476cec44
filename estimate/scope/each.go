package scope

import (
	"hash/maphash"
	"iter"
	"slices"

	"wraptally/estimate/survey"
)

// Each yields the repairs of Plan where no earlier run has given names, a line at a
// time, so that they need not be held: a large survey's do not fit into memory.
// The lines, as survey.Result.Lines gives them, are gone through up to three times.
func (k *Rules) Each(lines iter.Seq[[]*survey.Defect]) iter.Seq[[]*Repair] {
	return func(yield func([]*Repair) bool) {
		named := k.namesakes(lines)
		for ds := range lines {
			repairs := k.line(ds)
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

// namesakes are what those repairs are named, and what that asks, of which the name
// may be another's too; by the id of their first defects. Only lines with rows
// that could give such names are planned for it.
func (k *Rules) namesakes(lines iter.Seq[[]*survey.Defect]) map[string]*Repair {
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
	for ds := range lines {
		for _, d := range ds {
			names = append(names, mayBe(d)...)
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
	for ds := range lines {
		if !slices.ContainsFunc(ds, shared) {
			continue
		}
		for _, r := range k.line(ds) {
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
