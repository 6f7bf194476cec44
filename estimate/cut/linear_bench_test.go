package cut

import (
	"fmt"
	"testing"
)

func coils(lengths ...int) []Stock {
	var out []Stock
	for _, l := range lengths {
		out = append(out, Stock{Length: l, Count: Unlimited})
	}
	return out
}

func benchLinear(b *testing.B, pieces []Piece, stock []Stock, rule LinearRule) {
	var plan LinearPlan
	var err error
	for b.Loop() {
		if plan, err = Linear(pieces, stock, rule); err != nil {
			b.Fatal(err)
		}
	}
	if err := CheckLinear(pieces, stock, rule, plan); err != nil {
		b.Fatal(err)
	}
	n := 0
	for _, k := range plan.StocksUsed {
		n += k
	}
	b.ReportMetric(float64(n), "coils")
	b.ReportMetric(plan.Objective.Sub(plan.Bound).InexactFloat64(), "gap")
	b.ReportMetric(100*plan.Gap, "gap%")
	b.ReportMetric(float64(len(plan.Patterns)), "patterns")
	b.ReportMetric(100*float64(plan.ScrapTotal)/float64(plan.CutTotal), "scrap%")
	b.ReportMetric(float64(plan.Work)/1e6, "Mwork")
	b.ReportMetric(0, "ns/op")
	b.ReportMetric(float64(b.Elapsed().Microseconds())/1000/float64(b.N), "ms/op")
}

func BenchmarkLinear(b *testing.B) {
	rule := LinearRule{Kerf: 2, Trim: 50, KeepOver: 1500}
	for _, mix := range []string{"bands", "strips"} {
		for _, n := range []int{100, 1000, 10000} {
			for _, sizes := range []int{6, 24, 72, 0} {
				name := fmt.Sprintf("%s/%d/%d", mix, n, sizes)
				if sizes == 0 {
					name = fmt.Sprintf("%s/%d/unique", mix, n)
				}
				b.Run(name, func(b *testing.B) {
					r := newRNG(uint64(n + sizes))
					k := sizes
					if k == 0 {
						k = n
					}
					lengths := bandLengths(r, k)
					if mix == "strips" {
						lengths = uniformLengths(r, k, 2000, 15000, 5)
						if sizes == 0 {
							lengths = uniformLengths(r, k, 2000, 15000, 1)
						}
					}
					benchLinear(b, demandFor(r, lengths, n), coils(30000), rule)
				})
			}
		}
	}
}
