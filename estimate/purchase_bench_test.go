package estimate

import (
	"fmt"
	"testing"

	"wraptally/catalog"
	"wraptally/estimate/internal/trial"
)

// BenchmarkPurchase measures what cutting and ordering take of the road, for the
// surveys of BenchmarkRun; the whole command is BenchmarkJob of cmd/wraptally:
//
//	go test -run '^$' -bench Purchase -benchtime 1x ./estimate
func BenchmarkPurchase(b *testing.B) {
	for _, n := range []int{100, 1_000, 10_000, 100_000} {
		b.Run(fmt.Sprintf("defects=%d", n), func(b *testing.B) {
			c, err := catalog.Load(catalog.Options{})
			if err != nil {
				b.Fatal(err)
			}
			p, err := Run(trial.Result(trial.Plant(n, c)), c, Options{})
			if err != nil {
				b.Fatal(err)
			}
			for b.Loop() {
				if _, err := p.means.purchase(p.Plan, p.Issues, p.Dates); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
