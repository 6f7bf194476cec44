package scope

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"wraptally/estimate/internal/trial"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

// knownOf is what a run leaves to the next.
func knownOf(repairs []*Repair) (out []Known) {
	for _, r := range repairs {
		k := Known{Name: r.ID, Line: r.Line}
		for _, d := range r.Defects {
			k.Spots = append(k.Spots, Spot{d.Tag, d.Chainage.V})
		}
		if !r.Unnamed {
			out = append(out, k)
		}
	}
	return out
}

// Whatever happens to the rows between two runs: a name that was given stays with
// a repair that holds a defect of the one it was given to, no two repairs have one
// name, no new repair gets a name that was given before, and in whatever order the
// rows come the names are the same. The same survey again keeps every name.
func TestNamesAreKeptAndNeverGivenAgain(t *testing.T) {
	c := mustLoad(t)
	rapid.Check(t, func(t *rapid.T) {
		ds := trial.Survey(trial.Rapid(t), c, rapid.IntRange(1, 10).Draw(t, "rows"))
		first := Plan(ds, c)
		known := knownOf(first)
		held := map[string][]string{} // ids, by name
		for _, k := range known {
			for _, s := range k.Spots {
				held[k.Name] = append(held[k.Name], s.ID)
			}
		}
		for _, r := range Prepare(c).Plan(ds, &Earlier{Known: known}) {
			if len(r.Past.Asked) > 0 || !r.Unnamed && (r.Past.Kept < 0 || held[r.ID] == nil) {
				t.Fatalf("the same survey again: %s is new or asked", r.ID)
			}
		}

		var later []survey.Defect
		for i, d := range ds {
			switch rapid.SampledFrom([]string{"stay", "stay", "gone", "moved", "longer", "again"}).Draw(t, "fate") {
			case "gone":
				continue
			case "moved":
				d.Chainage.V += rapid.Float64Range(-300, 300).Draw(t, "by")
			case "longer":
				d.Axial.V *= 3
			case "again": // the id on another place of the line
				d.Chainage.V += 1e6
				if i%2 == 0 {
					d.Tag, d.ID = "X"+d.Tag, "X"+d.ID
				}
			}
			later = append(later, d)
		}
		later = rapid.Permutation(later).Draw(t, "order")
		got := Prepare(c).Plan(later, &Earlier{Known: known})
		seen := map[string]bool{}
		for _, r := range got {
			if r.Unnamed {
				continue
			}
			if seen[foldName(r.ID)] {
				t.Fatalf("two repairs go by %s", r.ID)
			}
			seen[foldName(r.ID)] = true
			ids, given := held[r.ID]
			if given != (r.Past.Kept >= 0) {
				t.Fatalf("%s was given before: %v, and is kept: %v", r.ID, given, r.Past.Kept >= 0)
			}
			if given && !slices.ContainsFunc(r.Defects, func(d *survey.Defect) bool { return slices.Contains(ids, d.Tag) || r.Past.ByPlace }) {
				t.Fatalf("%s held %v and holds none of them", r.ID, ids)
			}
		}
		turned := slices.Clone(later)
		slices.Reverse(turned)
		if a, b := namesBy(got), namesBy(Prepare(c).Plan(turned, &Earlier{Known: known})); !maps.Equal(a, b) {
			t.Fatalf("%v, and in another order %v", a, b)
		}
	})
}

// What is not clear is asked, with the names it may be: an id that lies elsewhere
// than it did, and rows without an id of which several may be the one.
func TestDoubtfulNamesAreAsked(t *testing.T) {
	c := mustLoad(t)
	d := trial.Plant(1, c)[0]
	row := func(tag string, at float64) survey.Defect {
		e := d
		e.Tag, e.ID, e.Chainage.V = tag, tag, at
		if tag == "" {
			e.ID = "row at " + chainageWord(&e)
		}
		return e
	}
	known := []Known{
		{Name: "N-1", Line: d.Line, Spots: []Spot{{"P-1", 1_000}}},
		{Name: "N-2", Line: d.Line, Spots: []Spot{{"", 50_000}}},
		{Name: "N-3", Line: d.Line, Spots: []Spot{{"", 80_000}}},
		{Name: "N-4", Line: d.Line, Spots: []Spot{{"", 80_800}}},
	}
	for what, x := range map[string]struct {
		rows []survey.Defect
		same map[string]string
		want string // names or, in brackets, what is asked
	}{
		"an id where it was":        {[]survey.Defect{row("P-1", 1_000)}, nil, "N-1"},
		"an id moved a little":      {[]survey.Defect{row("P-1", 1_300)}, nil, "N-1"},
		"an id elsewhere":           {[]survey.Defect{row("P-1", 30_000)}, nil, "(N-1)"},
		"that is answered":          {[]survey.Defect{row("P-1", 30_000)}, map[string]string{"P-1": "N-1"}, "N-1"},
		"that is another":           {[]survey.Defect{row("P-1", 30_000)}, map[string]string{"P-1": Anew}, "NEW"},
		"no id, moved a little":     {[]survey.Defect{row("", 50_400)}, nil, "N-2"},
		"no id, too far":            {[]survey.Defect{row("", 50_600)}, nil, "NEW"},
		"no id, between two":        {[]survey.Defect{row("", 80_400)}, nil, "(N-3, N-4)"},
		"no id, two for one":        {[]survey.Defect{row("", 49_600), row("", 50_400)}, nil, "(N-2) (N-2)"},
		"another line":              {[]survey.Defect{func() survey.Defect { e := row("P-1", 1_000); e.Line = "elsewhere"; return e }()}, nil, "NEW"},
		"id first, then the place":  {[]survey.Defect{row("P-1", 1_000), row("Q-1", 1_450)}, nil, "N-1 NEW"},
		"a new id where one was":    {[]survey.Defect{row("Q-1", 1_200)}, nil, "N-1"},
		"answered by the row's id":  {[]survey.Defect{row("", 80_400)}, map[string]string{"row at 80.4m": "N-4"}, "N-4"},
		"answered in another case":  {[]survey.Defect{row("P-1", 30_000)}, map[string]string{"P-1": "n-1"}, "N-1"},
		"an id said in another way": {[]survey.Defect{row("p-1", 1_000)}, nil, "N-1"},
	} {
		var got []string
		for _, r := range Prepare(c).Plan(x.rows, &Earlier{Known: known, Same: x.same}) {
			switch {
			case len(r.Past.Asked) > 0:
				i := slices.IndexFunc(r.Queries, func(q trace.Query) bool { return q.Code == "name-earlier" && strings.Contains(q.Advice, "--same") })
				if i < 0 || r.Status != Queried || !r.Unnamed {
					t.Errorf("%s: not asked: %v", what, r.Queries)
					continue
				}
				got = append(got, "("+r.Queries[i].Found+")")
			case r.Past.Kept < 0:
				got = append(got, "NEW")
			default:
				got = append(got, r.ID)
			}
		}
		if strings.Join(got, " ") != x.want {
			t.Errorf("%s: %v, want %s", what, got, x.want)
		}
	}
}

// A repair that comes apart leaves its name to the part with its first defect; the
// other part does not get the name that was given up when they were joined, unless
// it is that repair again.
func TestNamesOfPartsAndJoins(t *testing.T) {
	c := mustLoad(t)
	d := trial.Plant(1, c)[0]
	row := func(tag string, at float64) survey.Defect {
		e := d
		e.Tag, e.ID, e.Chainage.V = tag, tag, at
		return e
	}
	apart := []survey.Defect{row("A", 10_000), row("B", 20_000)}
	together := []Known{
		{Name: "X-A", Line: d.Line, Spots: []Spot{{"A", 10_000}, {"B", 20_000}}},
	}
	got := Prepare(c).Plan(apart, &Earlier{Known: together})
	if got[0].ID != "X-A" || got[1].ID == "X-A" || got[1].Past.From != 0 {
		t.Errorf("apart: %s and %s of %d", got[0].ID, got[1].ID, got[1].Past.From)
	}
	before := []Known{
		{Name: "X-A", Line: d.Line, Spots: []Spot{{"A", 10_000}}}, {Name: "X-B", Line: d.Line, Spots: []Spot{{"B", 10_060}}},
		{Name: d.Line + "-C", Line: d.Line, Spots: []Spot{{"old", 90_000}}, Retired: true},
	}
	got = Prepare(c).Plan([]survey.Defect{row("A", 10_000), row("B", 10_060), row("C", 50_000)}, &Earlier{Known: before})
	if len(got) != 2 || got[0].ID != "X-A" || !slices.Equal(got[0].Past.Joined, []int{1}) {
		t.Errorf("joined: %s %v", got[0].ID, got[0].Past.Joined)
	}
	if want := spoken(d.Line) + "-C-50m"; got[1].ID != want || got[1].Past.Taken != spoken(d.Line)+"-C" {
		t.Errorf("a name given before: %s, %q; want %s", got[1].ID, got[1].Past.Taken, want)
	}
}
