package scope

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"

	"wraptally/catalog"
	"wraptally/estimate/trace"
)

// Earlier is what earlier runs of a campaign have named: a name stays with its
// repair and is never given to another.
type Earlier struct {
	Known []Known
	Same  map[string]string // answers: by row of the survey, the name of the repair that it was part of, or Anew

	once  sync.Once
	place map[string]int // in Known, by name; by way of places
}

// places are the places in Known by name. Draws of one campaign go by it at once.
func (e *Earlier) places() map[string]int {
	e.once.Do(func() {
		e.place = make(map[string]int, len(e.Known))
		for k := range e.Known {
			e.place[foldName(e.Known[k].Name)] = k
		}
	})
	return e.place
}

// Anew answers that a row is a defect that no earlier run knew.
const Anew = "new"

// Known is a repair that an earlier run has named.
type Known struct {
	Name, Line string
	Spots      []Spot // its defects in the order of chainage
	Done       bool   // it is repaired: nothing is recognised as it
	Retired    bool   // the name was in use once: its repair was joined with another, or is gone
	Into       string // name of the repair it was joined with
	Code       string // of the contents of its kit; "" where it had none
}

// Spot is a defect as an earlier run knew it.
type Spot struct {
	ID string  // the survey's own, "" where it gave none
	At float64 // mm, chainage of its centre
}

// Past is what a repair was in earlier runs. Numbers are places in Earlier.Known.
type Past struct {
	Kept    int     // whose name it goes on with; −1 for none
	Back    bool    // which had been given up before
	Joined  []int   // others that are part of it now
	From    int     // that it was part of, whose name another repair keeps; −1 for none
	Moved   float64 // mm, the farthest that a defect of the one kept lies from where it was
	ByPlace bool    // recognised by the place of a defect alone, not by its id
	Asked   []int   // that it may be, or not: it is stopped until somebody says
	Taken   string  // its natural name, where that was another's and it goes by a longer one
}

// sighting is a defect of a repair that was recognised.
type sighting struct {
	spotAt
	away    float64 // mm
	byPlace bool
}

// recogniser finds repairs of earlier runs again.
type recogniser struct {
	*Earlier
	within float64 // mm
	lines  []string
	byTag  map[[2]string][]spotAt // by line and id
	onLine map[string][]spotAt
	seen   map[spotAt]bool // what the survey names by its id
	found  [][]sighting    // by repair
	open   map[string][]pending
}

// spotAt is the place of a spot: of its repair among the known, and of it there.
type spotAt struct{ known, spot int }

// pending is a defect whose id no earlier run knew.
type pending struct{ repair, defect int }

// recognise finds out which repairs earlier runs have named: by the ids of their
// defects within their line first, then by line and chainage. Common practice, no
// source.
func (e *Earlier) recognise(repairs []*Repair, set *catalog.Settings) {
	g := &recogniser{
		Earlier: e, within: set.NameWithin, lines: make([]string, len(repairs)), byTag: map[[2]string][]spotAt{}, onLine: map[string][]spotAt{},
		seen: map[spotAt]bool{}, found: make([][]sighting, len(repairs)), open: map[string][]pending{},
	}
	for k := range e.Known {
		known := &e.Known[k]
		if known.Done {
			continue
		}
		line := foldName(spoken(known.Line))
		for s, spot := range known.Spots {
			at, tag := spotAt{k, s}, [2]string{line, foldName(spot.ID)}
			g.onLine[line] = append(g.onLine[line], at)
			g.byTag[tag] = append(g.byTag[tag], at)
		}
	}
	for i, r := range repairs {
		r.Past = &Past{Kept: -1, From: -1}
		g.lines[i] = foldName(spoken(r.Line))
		for j := range r.Defects {
			g.byID(r, i, j)
		}
	}
	for line, open := range g.open { // what has not moved is clear, whatever lies near it
		g.open[line] = slices.DeleteFunc(open, func(p pending) bool { return g.unmoved(line, p, repairs[p.repair].Defects[p.defect].Chainage.V) })
	}
	for i, r := range repairs {
		for _, p := range g.open[g.lines[i]] {
			if p.repair == i {
				g.byPlace(repairs, r, p)
			}
		}
	}
	g.pass(repairs)
}

// byID recognises a defect by an answer or by its id. An id that is found again
// farther away than a defect is taken to move is asked about: it may have been
// given to another defect.
func (g *recogniser) byID(r *Repair, i, j int) {
	d := r.Defects[j]
	if name, ok := g.Same[d.ID]; ok { // not by its tag, which rows of other lines may share
		if k, known := g.places()[foldName(name)]; known {
			g.found[i] = append(g.found[i], sighting{spotAt: spotAt{known: k}, away: g.away(spotAt{known: k}, d.Chainage.V)})
		}
		return
	}
	known := len(g.found[i])
	for _, retired := range []bool{false, true} { // one given up may be its own again, where it comes apart
		var near []sighting
		far := -1
		for _, at := range g.byTag[[2]string{g.lines[i], foldName(d.Tag)}] {
			if d.Tag == "" || g.Known[at.known].Retired != retired {
				continue
			}
			if away := g.away(at, d.Chainage.V); away <= g.within {
				near = append(near, sighting{spotAt: at, away: away})
			} else {
				far = at.known
			}
			g.seen[at] = true
		}
		switch {
		case len(near) == 1:
			g.found[i] = append(g.found[i], near[0])
		case len(near) > 1 && !retired:
			g.doubt(r, j, "several repairs of the earlier run have a defect of this id here", near)
			return
		case far >= 0 && !retired:
			g.doubt(r, j, fmt.Sprintf("in the earlier run the defect of this id lay %s away: it may be another one", trace.WithUnit(g.away(spotAt{far, 0}, d.Chainage.V)/1000, "m")), []sighting{{spotAt: spotAt{known: far}}})
			return
		}
	}
	if len(g.found[i]) == known {
		g.open[g.lines[i]] = append(g.open[g.lines[i]], pending{i, j})
	}
}

// away is how far a spot lies from a chainage, mm.
func (g *recogniser) away(at spotAt, chainage float64) float64 {
	return math.Abs(g.Known[at.known].Spots[at.spot].At - chainage)
}

// gave reports whether an earlier run has given a name.
func (e *Earlier) gave(name string) bool {
	_, known := e.places()[foldName(name)]
	return known
}

// unmoved recognises a defect that lies to the millimetre where one lay.
func (g *recogniser) unmoved(line string, p pending, chainage float64) bool {
	for _, s := range g.near(line, chainage, false) {
		if s.away <= 1 {
			s.byPlace = true
			g.found[p.repair], g.seen[s.spotAt] = append(g.found[p.repair], s), true
			return true
		}
	}
	return false
}

// byPlace recognises a defect that nothing else tells by where it lies. It is asked
// about unless all that lies near enough is of one repair then and of one now.
func (g *recogniser) byPlace(repairs []*Repair, r *Repair, p pending) {
	d, line := r.Defects[p.defect], g.lines[p.repair]
	for _, retired := range []bool{false, true} {
		near := g.near(line, d.Chainage.V, retired)
		if len(near) == 0 {
			continue
		}
		one := true
		for _, s := range near {
			one = one && s.known == near[0].known
			for _, q := range g.open[line] {
				one = one && (q.repair == p.repair || g.away(s.spotAt, repairs[q.repair].Defects[q.defect].Chainage.V) > g.within)
			}
		}
		if !one {
			g.doubt(r, p.defect, "by its place it may be one of several repairs of the earlier run, or several may be that one", near)
			return
		}
		least := slices.MinFunc(near, func(a, b sighting) int { return cmp.Compare(a.away, b.away) })
		least.byPlace = true
		g.found[p.repair] = append(g.found[p.repair], least)
		return
	}
}

// near are the spots of a line near a chainage that no id of the survey names.
func (g *recogniser) near(line string, chainage float64, retired bool) (out []sighting) {
	for _, at := range g.onLine[line] {
		if away := g.away(at, chainage); away <= g.within && !g.seen[at] && g.Known[at.known].Retired == retired {
			out = append(out, sighting{spotAt: at, away: away})
		}
	}
	return out
}

// doubt asks which repair of the earlier run a defect was part of.
func (g *recogniser) doubt(r *Repair, j int, what string, may []sighting) {
	var names []string
	for _, s := range may {
		if name := g.Known[s.known].Name; !slices.Contains(names, name) {
			names = append(names, name)
			r.Past.Asked = append(r.Past.Asked, s.known)
		}
	}
	d := r.Defects[j]
	r.queryOf(d, trace.Stop, "name-earlier", strings.Join(names, ", "), what,
		fmt.Sprintf("say which with --same %q=%s, or --same %q=%s where it is none of them", d.ID, names[0], d.ID, Anew))
}

// pass gives the names of the earlier run to those that have them now: where a
// repair has come apart to the one with its first defect, where several have been
// joined the first one's.
func (g *recogniser) pass(repairs []*Repair) {
	heir, first := make([]int, len(g.Known)), make([]int, len(g.Known))
	for k := range heir {
		heir[k] = -1
	}
	for i := range repairs {
		for _, s := range g.found[i] {
			if heir[s.known] < 0 || s.spot < first[s.known] {
				heir[s.known], first[s.known] = i, s.spot
			}
		}
	}
	for i, r := range repairs {
		past := r.Past
		if len(past.Asked) > 0 { // of what else it holds nothing is known before that is answered
			for _, s := range g.found[i] {
				past.Asked = append(past.Asked, s.known)
			}
			continue
		}
		for _, s := range g.found[i] {
			switch k := s.known; {
			case heir[k] != i:
				past.From = k
			case k == past.Kept:
			case past.Kept < 0 || g.Known[past.Kept].Retired && !g.Known[k].Retired:
				past.Kept, past.Back = k, g.Known[k].Retired
			case !g.Known[k].Retired && !slices.Contains(past.Joined, k):
				past.Joined = append(past.Joined, k)
			}
		}
		for _, s := range g.found[i] {
			if s.known == past.Kept {
				past.Moved = math.Max(past.Moved, s.away)
				past.ByPlace = past.ByPlace || s.byPlace
			}
		}
	}
}
