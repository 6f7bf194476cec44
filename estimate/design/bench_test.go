package design

import (
	"io"
	"math/rand/v2"
	"testing"

	"wraptally/estimate/trace"
)

func BenchmarkHoleThickness(b *testing.B) {
	h := testHole(25)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := h.Thickness(2, nil); err != nil {
			b.Fatal(err)
		}
	}
}

// Every rule of the package once, with and without writing it down.
func BenchmarkRepair(b *testing.B) {
	repair := drawRepair(rand.New(rand.NewPCG(1, 2)))
	for name, log := range map[string]*trace.Log{"silent": nil, "written": {}} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if log.On() {
					log.Steps = log.Steps[:0]
				}
				if _, err := repair.results(log); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkWriteText(b *testing.B) {
	log := &trace.Log{}
	if _, err := drawRepair(rand.New(rand.NewPCG(1, 2))).results(log); err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if err := trace.WriteText(io.Discard, log.Steps, 80); err != nil {
			b.Fatal(err)
		}
	}
}
