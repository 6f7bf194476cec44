package survey

import (
	"cmp"
	"math"
	"slices"
	"sort"
	"strings"
)

// Done is a place of a defect whose repair is done, or still open.
type Done struct {
	Repair, Line string
	Open         bool
	ID           string  // the survey's own, "" where it gave none
	At           float64 // mm, chainage of its centre
}

// repaired reports whether the row in hand is what a repair that is done was made
// for, and counts it: its id, at its place, and it does not leak. Whatever else lies
// there is asked about and never left out by itself, since a repair that leaks again
// is the dangerous case.
func (rd *reader) repaired() bool {
	var at *Done
	for _, d := range rd.places.near(rd.d, rd.opts.DoneNear) {
		switch own := d.ID != "" && strings.EqualFold(d.ID, rd.d.Tag); {
		case own && d.Open:
			return false // what another repair is for, beside the one that is done
		case own && rd.d.Leaking == No:
			rd.done.count([]byte(d.Repair))
			return true
		case !d.Open && (at == nil || own || math.Abs(d.At-rd.d.Chainage.V) < math.Abs(at.At-rd.d.Chainage.V)):
			at = d
		}
	}
	if at == nil {
		return false
	}
	found := "no leak"
	if rd.d.Leaking != No {
		found = "leaking"
	}
	rd.query("repair-done", fChainage, 0, found, "a defect where the repair "+at.Repair+" is done: it may be what was repaired, leak again, or be new beside it",
		"have it looked at before anybody works there; answer drop where it is what was repaired and holds, confirm (or --accept repair-done) where it is to be repaired again")
	return false
}

// donePlaces finds places by line and chainage.
type donePlaces struct {
	all    []Done
	onLine map[string][]int // places of each line in all, by rising chainage
}

func newDonePlaces(all []Done) donePlaces {
	p := donePlaces{all: all, onLine: map[string][]int{}}
	for i := range all {
		key := folded(all[i].Line)
		p.onLine[key] = append(p.onLine[key], i)
	}
	for _, list := range p.onLine {
		slices.SortFunc(list, func(a, b int) int { return cmp.Compare(all[a].At, all[b].At) })
	}
	return p
}

// near are the places, in their order, at which a defect begins or within so many mm.
func (p *donePlaces) near(d *Defect, within float64) (out []*Done) {
	list := p.onLine[folded(d.Line)]
	off := func(i int) float64 { return p.all[list[i]].At - d.Chainage.V }
	first := sort.Search(len(list), func(i int) bool { return -off(i)-d.Axial.V/2 <= within })
	last := first
	for last < len(list) && math.Abs(off(last))-d.Axial.V/2 <= within {
		last++
	}
	here := slices.Sorted(slices.Values(list[first:last]))
	for _, i := range here {
		out = append(out, &p.all[i])
	}
	return out
}

// folded is the same for texts that differ in case alone.
func folded(s string) string { return strings.ToLower(strings.ToUpper(s)) }
