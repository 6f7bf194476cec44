package estimate_test

import (
	"fmt"
	"slices"
	"testing"

	"wraptally/estimate"
	"wraptally/estimate/internal/trial"
	"wraptally/estimate/trace"
)

// Where only queries are wanted of a large survey, all that the whole road asks of
// rows, repairs and kits is asked, word for word, and the account is the same; what
// the later stops ask is left out, and that is said.
func TestAskOnly(t *testing.T) {
	c := builtin(t)
	c.Settings.IntakeQueries = 1_000_000
	s := trial.Result(trial.Plant(800, c))
	c.Settings.CheckWhole = len(s.Defects)
	opt := estimate.Options{Name: "plant.csv", QueriesOnly: true}
	whole, err := estimate.Run(s, c, opt)
	if err != nil {
		t.Fatal(err)
	}
	if whole.NotLooked != "" || len(whole.Orders) == 0 {
		t.Fatal("a survey of as many rows as the setting was not looked at:", whole.NotLooked)
	}
	c.Settings.CheckWhole--
	only, err := estimate.Run(s, c, opt)
	if err != nil {
		t.Fatal(err)
	}
	if only.NotLooked == "" {
		t.Error("it is not said what was left out")
	}
	if only.Account != whole.Account {
		t.Errorf("%+v, by the whole road %+v", only.Account, whole.Account)
	}
	later := []string{"shelf-life-short", "work-over-shift", "need-date-missed", "campaign-long"}
	known := map[trace.Query]int{}
	for _, q := range only.Queries {
		known[q]++
	}
	for _, q := range whole.Queries {
		if known[q]--; known[q] < 0 && !slices.Contains(later, q.Code) {
			t.Errorf("not asked: %v", q)
		}
	}
	for q, n := range known {
		if n > 0 {
			t.Errorf("asked by this way alone: %v", q)
		}
	}
	c.Settings.IntakeQueries = 10
	few, err := estimate.Run(s, c, opt)
	if err != nil {
		t.Fatal(err)
	}
	if few.QueryTotal() != only.QueryTotal() || len(few.Queries) > 30 || len(few.Queries) == 0 {
		t.Errorf("%d queries counted, %d without a bound; %d listed", few.QueryTotal(), only.QueryTotal(), len(few.Queries))
	}
}

// BenchmarkAskOnly measures how much less is done where only queries are wanted:
//
//	go test -run '^$' -bench AskOnly -benchtime 1x ./estimate
//
// ns/defect and B/defect of the two ways, in one run, are compared.
func BenchmarkAskOnly(b *testing.B) {
	const n = 20_000
	for _, only := range []bool{false, true} {
		b.Run(fmt.Sprintf("only=%v/defects=%d", only, n), func(b *testing.B) {
			c := builtin(b)
			s := trial.Result(trial.Plant(n, c))
			b.ReportAllocs()
			for b.Loop() {
				if _, err := estimate.Run(s, c, estimate.Options{QueriesOnly: only}); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/n, "ns/defect")
		})
	}
}
