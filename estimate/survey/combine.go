package survey

import (
	"cmp"
	"slices"
	"strings"
)

// Rule is how what the defects of one repair say of a field combines. A value
// that is not known never replaces one that is, but for yes or no: there
// silence is worse than no.
type Rule string

// The rules.
const (
	Apart    Rule = "each keeps its own" // a place, a size of the defect, or what a table of the catalogue ranks
	Agree    Rule = "must agree"         // else they share no repair
	First    Rule = "the first given"
	Greatest Rule = "greatest"
	Least    Rule = "least" // of dates the earliest
	Worst    Rule = "worst of the list"
)

// Together is what the defects of one repair, one at least, say together: each
// field by its rule. A field that each keeps for itself is blank in it.
func Together(ds []*Defect) Defect {
	all := *ds[0]
	all.Line0, all.ODFrom, all.Hole, all.Depth, all.Leans = 0, "", false, Depth{}, nil
	for i := range fieldTable {
		f := &fieldTable[i]
		switch {
		case f.at == nil:
			continue
		case f.Combine == Apart:
			f.put(&all, value{})
			continue
		case len(ds) == 1: // most repairs
			continue
		}
		v := f.get(ds[0])
		for _, d := range ds[1:] {
			v = f.join(v, f.get(d))
		}
		f.put(&all, v)
	}
	return all
}

// join is what two defects say of a field together.
func (f *Field) join(a, b value) value {
	takeB := false
	switch f.Combine {
	case Agree, First:
		takeB = a == value{}
	case Greatest:
		takeB = b.num.OK && (!a.num.OK || b.num.V > a.num.V)
	case Least:
		takeB = b.num.OK && (!a.num.OK || b.num.V < a.num.V) || !b.date.IsZero() && (a.date.IsZero() || b.date.Before(a.date))
	case Worst:
		takeB = f.rank(b) > f.rank(a)
	}
	if takeB {
		return b
	}
	return a
}

// rank is the place of an answer among those of the field, the most demanding
// last. Silence counts below every word, and between no and yes.
func (f *Field) rank(v value) int {
	if f.Kind == KindYesNo {
		return slices.Index([]Tri{No, Unknown, Yes}, v.tri)
	}
	return slices.IndexFunc(f.list, func(meaning string) bool {
		own, _, _ := strings.Cut(meaning, ";")
		return own == v.text
	})
}

// Compare puts two defects in an order that depends on nothing but what the
// survey says of them: not on their names, remarks or places in the file. What
// is not known comes first.
func Compare(a, b *Defect) int {
	for i := range fieldTable {
		f := &fieldTable[i]
		if f.at == nil || fieldID(i) == fID || fieldID(i) == fNote {
			continue
		}
		if c := f.get(a).compare(f.get(b)); c != 0 {
			return c
		}
	}
	return 0
}

func (v value) compare(o value) int {
	return cmp.Or(v.num.Compare(o.num), cmp.Compare(v.text, o.text), cmp.Compare(v.tri, o.tri), v.date.Compare(o.date))
}
