package estimate_test

import (
	"fmt"
	"testing"

	"wraptally/estimate"
	"wraptally/estimate/internal/trial"
)

// BenchmarkRun measures the road from defects to bid, without reading and
// writing, on a made-up plant survey held in memory:
//
//	go test -run '^$' -bench Run -benchtime 1x ./estimate
//
// ns/defect shows whether growth is linear.
func BenchmarkRun(b *testing.B) {
	for _, n := range []int{100, 10_000, 100_000} {
		b.Run(fmt.Sprintf("defects=%d", n), func(b *testing.B) {
			c := builtin(b)
			s := trial.Result(trial.Plant(n, c))
			b.ReportAllocs()
			for b.Loop() {
				p, err := estimate.Run(s, c, estimate.Options{})
				if err != nil {
					b.Fatal(err)
				}
				if len(p.Jobs) < n/4 {
					b.Fatalf("only %d repairs counted", len(p.Jobs))
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/defect")
		})
	}
}
