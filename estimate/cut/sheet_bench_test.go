package cut

import (
	"fmt"
	"testing"
)

// patchSizes imitates sheet patches: sides rounded up to 5 mm.
func patchSizes(r *rng, sizes int) []Rect {
	var out []Rect
	for len(out) < sizes {
		w := 80 + 5*r.intn(90)
		h := 80 + 5*r.intn(90)
		out = append(out, Rect{W: w, H: h, Label: fmt.Sprint("r", len(out))})
	}
	return out
}

func patchDemand(r *rng, sizes, n int) []Rect {
	rects := patchSizes(r, sizes)
	weight, sum := make([]float64, sizes), 0.0
	for i := range weight {
		weight[i] = 0.1 + r.float()*r.float()
		sum += weight[i]
	}
	left := n
	for i := range rects {
		k := min(left, max(1, int(float64(n-sizes)*weight[i]/sum)))
		if i == sizes-1 {
			k = left
		}
		rects[i].Count = k
		left -= k
	}
	return rects
}

func benchSheets(b *testing.B, rects []Rect, sheets []Sheet, rule SheetRule) {
	var plan SheetPlan
	var err error
	for b.Loop() {
		if plan, err = Sheets(rects, sheets, rule); err != nil {
			b.Fatal(err)
		}
	}
	if err := CheckSheets(rects, sheets, rule, plan); err != nil {
		b.Fatal(err)
	}
	n := 0
	for _, k := range plan.SheetsUsed {
		n += k
	}
	b.ReportMetric(float64(n), "sheets")
	b.ReportMetric(plan.Objective.Sub(plan.Bound).InexactFloat64(), "gap")
	b.ReportMetric(100*plan.Gap, "gap%")
	b.ReportMetric(float64(len(plan.Layouts)), "layouts")
	b.ReportMetric(100*float64(plan.ScrapArea)/float64(plan.CutArea), "scrap%")
	b.ReportMetric(float64(plan.Work)/1e6, "Mwork")
	b.ReportMetric(0, "ns/op")
	b.ReportMetric(float64(b.Elapsed().Microseconds())/1000/float64(b.N), "ms/op")
}

func BenchmarkSheets(b *testing.B) {
	sheets := []Sheet{{W: 1000, H: 2000, Count: Unlimited}}
	for _, kerf := range []int{0, 3} {
		for _, turn := range []bool{kerf > 0} {
			for _, n := range []int{100, 1000, 2000, 10000} {
				for _, sizes := range []int{6, 12, 20, 72, 0} {
					name := fmt.Sprintf("kerf%d/turn=%v/%d/%d", kerf, turn, n, sizes)
					if sizes == 0 {
						sizes, name = n, fmt.Sprintf("kerf%d/turn=%v/%d/unique", kerf, turn, n)
					}
					b.Run(name, func(b *testing.B) {
						r := newRNG(uint64(n + sizes))
						benchSheets(b, patchDemand(r, sizes, n), sheets, SheetRule{Kerf: kerf, Trim: 5, Rotate: turn, KeepOver: 150})
					})
				}
			}
		}
	}
}
