package scope

import (
	"fmt"
	"testing"

	"wraptally/estimate/internal/trial"
	"wraptally/estimate/survey"
)

// BenchmarkPlan measures scope alone on a plant survey, and on the worst of
// lines: one long run of leaks and pits that all join.
func BenchmarkPlan(b *testing.B) {
	c := builtin(b)
	for _, n := range []int{100, 10_000, 100_000} {
		chain := make([]survey.Defect, n)
		for i := range chain {
			x := float64(i) * 40
			if chain[i] = pit(fmt.Sprint(i), x, 168.3, 7.11, 10); i%2 == 0 {
				chain[i] = leak(fmt.Sprint(i), x, float64(i*37%360), 168.3, 7.11, 8)
			}
		}
		for _, v := range []struct {
			name string
			ds   []survey.Defect
		}{{"plant", trial.Plant(n, c)}, {"chain", chain}} {
			b.Run(fmt.Sprintf("%s/defects=%d", v.name, n), func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					if len(Plan(v.ds, c)) == 0 {
						b.Fatal("no repair")
					}
				}
				b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/defect")
			})
		}
	}
}
