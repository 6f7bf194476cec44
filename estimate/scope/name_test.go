package scope

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"wraptally/catalog"
	"wraptally/estimate/internal/trial"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

func mustLoad(t testing.TB, sets ...string) *catalog.Catalog {
	t.Helper()
	c, err := catalog.Load(catalog.Options{Sets: sets})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// Names as a storeman reads them, off a label and over the radio: worked by hand
// from the rule, which is the firm's own.
func TestNaturalNames(t *testing.T) {
	long := strings.Repeat("CW", 12)
	for _, c := range []struct {
		line, tag string
		mm        float64
		want      string
	}{
		{"CW-101", "P-03", 0, "CW-101-P-03"},
		{"CW-101", "", 12_400, "CW-101-12.4m"},
		{"CW-101", "", 12_400.4, "CW-101-12.4m"},
		{"CW-101", "", -500, "CW-101-minus0.5m"},
		{`6"-P-1001-A1A`, "D 4/2", 0, "6-P-1001-A1A-D-4-2"},
		{"CW-101", "CW-101-7", 0, "CW-101-7"},      // the line is not said twice
		{"CW-101", "CW-1011", 0, "CW-101-CW-1011"}, // which is another line's
		{"12", "3", 0, "L12-3"},                    // a spreadsheet would read a date
		{"=SUM(A1)", "#N/A", 0, "SUM-A1-N-A"},      // nor a formula
		{"Линия 7", "№ 3", 0, "Линия-7-3"},         // the letters of the survey's people
		{"Trasse Süd", "Naht_1", 0, "Trasse-Süd-Naht-1"},
		{"e\u0301", "1", 0, "é-1"}, // written in two ways, it is one name
		{long, "D-1", 0, long + "-D-1"},
	} {
		if got := naturalName(&survey.Defect{Line: c.line, Tag: c.tag, Chainage: survey.Known(c.mm)}); got != c.want {
			t.Errorf("%q, %q: %q, want %q", c.line, c.tag, got, c.want)
		}
	}
	name := func(line, tag string) string {
		return naturalName(&survey.Defect{Line: line, Tag: tag})
	}
	a, b := name(long, "D-0000001"), name(long, "D-0000002")
	for _, n := range []string{a, b, name(strings.Repeat("冷却水", 20), "1")} {
		room := 0
		for _, r := range n {
			room += 1 + wide(r)
		}
		if room > LongestName {
			t.Errorf("%q takes %d", n, room)
		}
	}
	if a == b {
		t.Error("names cut short are one:", a)
	}
}

// Rows in another order change no name, and neither do rows elsewhere: on another
// line, or on this one farther away than a repair reaches.
func TestNamesStay(t *testing.T) {
	c := mustLoad(t)
	rapid.Check(t, func(t *rapid.T) {
		ds := trial.Survey(trial.Rapid(t), c, rapid.IntRange(1, 10).Draw(t, "rows"))
		before := namesBy(Plan(ds, c))

		mixed := rapid.Permutation(ds).Draw(t, "order")
		for i := range mixed {
			mixed[i].Line0 = i + 2 // the place in the file moves as well
		}
		after := namesBy(Plan(mixed, c))
		for id, name := range before {
			if after[id] != name {
				t.Fatalf("%s was %s, and in another order %s", id, name, after[id])
			}
		}

		far := ds[0]
		far.ID, far.Tag, far.Line0 = "far", "far", 1
		far.Chainage.V += rapid.SampledFrom([]float64{-1e7, 1e7}).Draw(t, "away")
		elsewhere := far
		elsewhere.ID, elsewhere.Line = "elsewhere", "A-0" // before all others
		more := namesBy(Plan(append(slices.Clone(ds), far, elsewhere), c))
		for id, name := range before {
			if more[id] != name {
				t.Fatalf("%s was %s, and with rows elsewhere %s", id, name, more[id])
			}
		}
	})
}

// namesBy is the name of the repair of each row.
func namesBy(repairs []*Repair) map[string]string {
	out := map[string]string{}
	for _, r := range repairs {
		for _, d := range r.Defects {
			out[d.ID] = r.ID
		}
	}
	return out
}

// Two repairs of one name: neither is packed, and the query says where the other
// is and what to do. With the setting they are told apart by their chainage,
// which no other row decides either.
func TestEqualNames(t *testing.T) {
	ds := trial.Plant(2, mustLoad(t))
	a, b := ds[0], ds[0]
	b.ID, b.Line0, b.Chainage.V = "P-000001#2", 3, a.Chainage.V+50_000
	b.Tag = "p-000001" // said alike
	for _, rows := range [][]survey.Defect{{a, b}, {b, a}} {
		for _, r := range Plan(rows, mustLoad(t)) {
			asked := slices.ContainsFunc(r.Queries, func(q trace.Query) bool {
				other := map[int]string{2: "line 3", 3: "line 2"}[q.Place.Line]
				return q.Code == "name-equal" && q.Severity == trace.Stop && strings.Contains(q.Message, other) && q.Repair == r.ID
			})
			if r.Status != Queried || !asked || r.ID != naturalName(r.Defects[0])+" ("+r.Defects[0].ID+")" {
				t.Errorf("%s: %s, %v", r.ID, r.Status, r.Queries)
			}
		}
		got := Plan(rows, mustLoad(t, "name.equal=chainage"))
		if got[0].Status != Estimated || got[1].Status != Estimated || !strings.HasSuffix(got[0].ID, "-"+chainageWord(&a)) || !strings.HasSuffix(got[1].ID, "-"+chainageWord(&b)) {
			t.Errorf("%s and %s", got[0].ID, got[1].ID)
		}
	}
}
