package estimate

import (
	"fmt"
	"strings"

	"wraptally/estimate/scope"
	"wraptally/estimate/trace"
)

// Fate is what has become of a name since the earlier run.
type Fate string

// The fates of names. Without an earlier run every name is Fresh.
const (
	Fresh  Fate = "new"
	Kept   Fate = "kept"
	Back   Fate = "back"   // it had been given up before
	Joined Fate = "joined" // its repair is part of another
	Done   Fate = "done"   // it is repaired
	Gone   Fate = "gone"   // none of its defects is in the survey any more
	Asked  Fate = "asked"  // it is not clear which repair has it now
	Past   Fate = "past"   // it was given up before the earlier run
)

// Name is a name of a repair that this run or an earlier one has given. None is
// ever given to another repair.
type Name struct {
	scope.Known        // as this run leaves it to the next
	Fate        Fate   // since the earlier run
	Was         string // code of the contents in the earlier run; "" where there was no kit
	Note        string // what else has to be known of it, "" for nothing
	job         bool   // it has a kit in this run
}

// StaysValid is said of a box that nobody has to open.
const StaysValid = "stays valid"

// Box says what to do with a box that was packed under the name for the earlier
// run, and whether that is to open it; "" where there was none or nobody knows of any.
func (n *Name) Box() (say string, open bool) {
	switch {
	case n.Fate == Past || n.Fate == Done || n.Fate == Fresh || n.Was == "" && n.Fate != Asked:
		return "", false
	case n.Fate == Joined:
		return "open: it is part of " + n.Into + " now", true
	case n.Fate == Gone:
		return "open: the repair is no longer in the survey", true
	case n.Fate == Back:
		return "open: the name had been given up, and its box with it", true
	case n.Fate == Asked:
		return "hold until it is answered which repair it is for", false
	case !n.job:
		return "hold: the repair is left out of this run", false
	case n.Was != n.Code:
		return "open: its contents were " + n.Was + " and are " + n.Code, true
	}
	return StaysValid, false
}

// names are those of this run's repairs, in their order, and after them those that
// earlier runs gave to others.
func names(repairs []*scope.Repair, jobs []Job, e *scope.Earlier) (out []Name) {
	codes := make(map[*scope.Repair]string, len(jobs))
	for i := range jobs {
		codes[jobs[i].Repair] = jobs[i].Code
	}
	for _, r := range repairs {
		if !r.Unnamed {
			code, job := codes[r]
			out = append(out, nameOf(r, code, job, e))
		}
	}
	if e != nil {
		out = append(out, others(repairs, e)...)
	}
	return out
}

// nameOf is the name of a repair, whose kit has contents of a code if it has one.
func nameOf(r *scope.Repair, code string, job bool, e *scope.Earlier) Name {
	n := Name{Known: scope.Known{Name: r.ID, Line: r.Line, Code: code}, Fate: Fresh, job: job}
	for _, d := range r.Defects {
		n.Spots = append(n.Spots, scope.Spot{ID: d.Tag, At: d.Chainage.V})
	}
	p := r.Past
	if p == nil {
		return n
	}
	n.Note = pastNote(p, e)
	if p.Kept >= 0 {
		n.Fate, n.Was = Kept, e.Known[p.Kept].Code
		if p.Back {
			n.Fate = Back
		}
		if !job {
			n.Code = n.Was // a box may lie there still
		}
	}
	return n
}

// others are the names that earlier runs gave and no repair of this one goes by.
func others(repairs []*scope.Repair, e *scope.Earlier) (out []Name) {
	kept, into, asked := map[int]bool{}, map[int]string{}, map[int]bool{}
	for _, r := range repairs {
		for _, k := range r.Past.Asked {
			asked[k] = true
		}
		for _, k := range r.Past.Joined {
			into[k] = r.ID
		}
		kept[r.Past.Kept] = true
	}
	for k, known := range e.Known {
		n := Name{Known: known, Fate: Gone, Was: known.Code}
		switch {
		case kept[k]:
			continue
		case asked[k]:
			n.Fate = Asked
		case into[k] != "":
			n.Fate, n.Into = Joined, into[k]
		case known.Done:
			n.Fate = Done
		case known.Retired:
			n.Fate = Past
		}
		n.Retired = n.Fate != Asked || known.Retired
		out = append(out, n)
	}
	return out
}

// pastNote says what has to be known of a repair beside its name.
func pastNote(p *scope.Past, e *scope.Earlier) string {
	var notes []string
	add := func(format string, args ...any) { notes = append(notes, fmt.Sprintf(format, args...)) }
	if p.Moved >= 1 { // mm, to which chainages are kept
		add("it lies %s from where it was: put the new page and label on", trace.WithUnit(p.Moved/1000, "m"))
	}
	if p.ByPlace {
		add("recognised by its place alone")
	}
	for _, k := range p.Joined {
		add("%s is part of it", e.Known[k].Name)
	}
	if p.Kept < 0 && p.From >= 0 {
		add("it was part of %s", e.Known[p.From].Name)
	}
	if p.Taken != "" {
		add("an earlier run gave the name %s to another repair", p.Taken)
	}
	return strings.Join(notes, "; ")
}

// NameCount is how many names have each fate, and what becomes of the boxes packed
// for the earlier run.
type NameCount struct {
	Of                map[Fate]int
	Valid, Open, Hold int
	ToOpen            []string // names
}

// CountNames counts the names by what has become of them.
func (p *Campaign) CountNames() NameCount {
	c := NameCount{Of: map[Fate]int{}}
	for i := range p.Names {
		n := &p.Names[i]
		c.Of[n.Fate]++
		switch say, open := n.Box(); {
		case open:
			c.Open++
			c.ToOpen = append(c.ToOpen, n.Name)
		case say == StaysValid:
			c.Valid++
		case say != "":
			c.Hold++
		}
	}
	return c
}
