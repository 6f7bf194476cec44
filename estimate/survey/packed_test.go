package survey

import (
	"cmp"
	"slices"
	"strings"
	"testing"
	"time"

	gocmp "github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// A packed record comes back as it was, whatever it says: every field of the table
// and what no field holds.
func TestPackedComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.SampledFrom([]string{"", "", "a", "wet", "Süd №7", strings.Repeat("long ", 1<<14)})
		rows := make([]Defect, rapid.IntRange(1, 30).Draw(t, "rows"))
		p := &packed{}
		for i := range rows {
			d := &rows[i]
			for f := range fieldTable {
				if fieldTable[f].at == nil {
					continue
				}
				v := value{text: text.Draw(t, "text"), tri: rapid.SampledFrom([]Tri{Unknown, No, Yes}).Draw(t, "tri")}
				if rapid.Bool().Draw(t, "known") {
					v.num = Known(rapid.Float64().Draw(t, "number"))
					v.date = time.Date(1900, 1, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, rapid.IntRange(0, 110_000).Draw(t, "days"))
				}
				fieldTable[f].put(d, v)
			}
			d.Tag, d.ODFrom = rapid.SampledFrom([]string{"", d.ID, "x"}).Draw(t, "tag"), text.Draw(t, "od from")
			d.Hole, d.Line0 = rapid.Bool().Draw(t, "hole"), rapid.IntRange(0, 1<<31).Draw(t, "line")
			if rapid.Bool().Draw(t, "depth") {
				d.Depth = Depth{Known(rapid.Float64().Draw(t, "lost")), rapid.Bool().Draw(t, "percent")}
			}
			d.Leans = rapid.SampledFrom([][]string{nil, {"one"}, {"one", "another"}}).Draw(t, "leans")
			p.add(d)
		}
		var got Defect
		for i := range rows {
			p.unpack(i, &got)
			if d := gocmp.Diff(rows[i], got); d != "" {
				t.Fatal(d)
			}
		}
	})
}

// A survey of more rows than are held as they are gives the same lines, queries and
// account, whether its ids and chainages rise or not.
func TestPackedSurveyIsTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var b strings.Builder
		b.WriteString("id,line,area,chainage_m,od_mm,wall_mm,axial_mm,circ_mm,remaining_mm,leaking,note\n")
		digit := rapid.StringMatching(`[1-9]`)
		for range rapid.IntRange(1, 40).Draw(t, "rows") {
			id := rapid.SampledFrom([]string{"", "P-1", "P-2", "P-" + digit.Draw(t, "id") + digit.Draw(t, "id")}).Draw(t, "id")
			b.WriteString(id + ",L" + rapid.StringMatching(`[1-3]`).Draw(t, "line") + "," + rapid.SampledFrom([]string{"", "A", "B"}).Draw(t, "area") + "," + digit.Draw(t, "chainage") +
				"," + rapid.SampledFrom([]string{"168.3", "219.1", "wide"}).Draw(t, "od") + ",7.11,20,20,3,no," + digit.Draw(t, "note") + "\n")
		}
		read := func(pack int) *Result {
			r, err := Read(strings.NewReader(b.String()), int64(b.Len()), Options{Name: "s.csv", Pack: pack})
			if err != nil {
				t.Skip(err)
			}
			return r
		}
		whole, small := read(0), read(rapid.IntRange(1, 10).Draw(t, "pack"))
		if whole.Kept() != small.Kept() {
			t.Fatalf("%d rows kept, packed %d", whole.Kept(), small.Kept())
		}
		lines := func(r *Result) (out [][]*Defect) {
			for l := range r.Lines() {
				out = append(out, l.Read(0, l.Len()))
			}
			return out
		}
		if d := gocmp.Diff(lines(whole), lines(small)); d != "" {
			t.Fatal(d)
		}
		if !slices.IsSortedFunc(lines(whole), func(a, b []*Defect) int {
			return cmp.Or(cmp.Compare(a[0].Area, b[0].Area), cmp.Compare(a[0].Line, b[0].Line))
		}) {
			t.Fatal("lines are out of their order")
		}
		whole.Defects, whole.packed, small.Defects, small.packed = nil, nil, nil, nil
		if d := gocmp.Diff(whole, small, gocmp.AllowUnexported(Result{})); d != "" {
			t.Fatal(d)
		}
	})
}
