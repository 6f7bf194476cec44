package scope

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"wraptally/catalog"
	"wraptally/estimate/survey"
	_ "wraptally/estimate/trace/depth"
)

// Made a line or a stretch of one at a time, the repairs are those of the whole plan, with their names,
// queries and states: ids are drawn from few, so that names meet, on one line and on
// lines of one name in two areas.
func TestEachIsPlan(t *testing.T) {
	c := builtin(t)
	rapid.Check(t, func(t *rapid.T) {
		ds := surveyOf(t, c, 12)
		for i := range ds {
			ds[i].Tag = rapid.SampledFrom([]string{"", "P-1", "P-2", ds[i].ID}).Draw(t, "tag")
			ds[i].Area = rapid.SampledFrom([]string{"", "A"}).Draw(t, "area")
		}
		k := Prepare(c.With(func(c *catalog.Catalog) {
			c.Settings.EqualNames = rapid.SampledFrom([]string{c.Settings.EqualNames, "chainage"}).Draw(t, "equal names")
		}))
		want := k.Plan(ds, nil)
		k.stretch = rapid.SampledFrom([]int{1, 2, 5, 10_000}).Draw(t, "rows at a time")
		var got []*Repair
		for line := range k.Each((&survey.Result{Defects: ds}).Lines()) {
			got = append(got, line...)
		}
		if d := cmp.Diff(want, got, cmp.AllowUnexported(Repair{}, point{})); d != "" {
			t.Fatal(d)
		}
	})
}
