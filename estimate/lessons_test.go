package estimate_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"wraptally/catalog"
	"wraptally/estimate/internal/trial"
	"wraptally/estimate/used"
)

// Whatever the order in which rows come back, they teach the same; used as planned,
// they teach nothing; and a row left blank says nothing.
func TestLessonsByAnyOrder(t *testing.T) {
	c := builtin(t)
	p := run(t, trial.Survey(trial.Seeded(7), c, 25), c)
	var rows []catalog.UsedRow
	for i := range p.Jobs {
		rows = append(append(rows, p.AsPlanned(&p.Jobs[i])...), catalog.UsedRow{Kit: p.Jobs[i].Repair.ID, Record: used.Item, Code: "BLANK"})
	}
	as, err := p.Learn(rows)
	if err != nil {
		t.Fatal(err)
	}
	if as.Kits != len(p.Jobs) || len(as.List) < 20 || as.Blank == 0 {
		t.Fatalf("%d kits, %d lessons, %d blank", as.Kits, len(as.List), as.Blank)
	}
	for _, l := range as.List {
		if l.Key != "order.growth" && (l.Plain != 1 || l.Mean != 1 || l.Now != l.Was || len(l.Odd) > 0) {
			t.Errorf("used as planned, %s teaches %+v", l.Key, l)
		}
	}
	for i := range rows {
		rows[i].Value *= 1 + float64(i%7)/10
	}
	first, err := p.Learn(rows)
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		again, err := p.Learn(rapid.Permutation(rows).Draw(t, "rows"))
		if err != nil {
			t.Fatal(err)
		}
		for i, a := range first.List {
			if b := again.List[i]; a.Key != b.Key || a.N != b.N || math.Abs(a.Mean-b.Mean) > 1e-9 || math.Abs(a.High-b.High) > 1e-9 || len(a.Odd) != len(b.Odd) {
				t.Fatalf("in another order %+v, %+v", a, b)
			}
		}
	})
}
