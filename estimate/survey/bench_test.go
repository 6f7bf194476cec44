package survey

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"math/rand/v2"
	"testing"
)

// generated is a generated survey of n rows: twenty columns, hand-sized numbers.
func generated(n int) []byte {
	var b bytes.Buffer
	r := rand.New(rand.NewPCG(1, 2))
	b.WriteString("id,line,area,chainage_m,od_mm,size,series,wall_mm,axial_mm,circ_mm,remaining_mm,leaking,clock,pressure_mpa,surface_temp_c,surface,medium,component,access,note\n")
	pipes := [][4]string{{"60.3", "2", "NPS", "3.91"}, {"114.3", "4", "NPS", "6.02"}, {"168.3", "6", "NPS", "7.11"}, {"323.8", "12", "NPS", "9.53"}}
	leak := []string{"yes", "no", "no", "no"}
	surface := []string{"dry", "dry", "wet"}
	for i := range n {
		p := pipes[r.IntN(4)]
		l := r.IntN(4)
		left := fmt.Sprintf("%d.%d", 1+r.IntN(2), r.IntN(10))
		if l == 0 {
			left = "0"
		}
		fmt.Fprintf(&b, "P-%07d,L-%03d,Unit %d,%d.%03d,%s,%s,%s,%s,%d,%d,%s,%s,%d:%02d,1.%d,%d,%s,cooling water,pipe,scaffold,n%d\n",
			i, i/5000, i/100000, i%5000, r.IntN(1000), p[0], p[1], p[2], p[3], 5+r.IntN(90), 5+r.IntN(60), left,
			leak[l], 1+r.IntN(12), r.IntN(60), r.IntN(10), 10+r.IntN(40), surface[r.IntN(3)], i%977)
	}
	return b.Bytes()
}

// BenchmarkIntake compares the intake of a million rows with encoding/csv alone
// parting the same bytes, in one run. The target is three times its time.
func BenchmarkIntake(b *testing.B) {
	for _, n := range []int{10_000, 1_000_000} {
		data := generated(n)
		b.Run(fmt.Sprintf("encoding-csv/%d", n), func(b *testing.B) {
			b.SetBytes(int64(len(data)))
			b.ReportAllocs()
			for b.Loop() {
				r := csv.NewReader(bytes.NewReader(data))
				r.ReuseRecord = true
				rows := 0
				for {
					if _, err := r.Read(); err == io.EOF {
						break
					} else if err != nil {
						b.Fatal(err)
					}
					rows++
				}
				if rows != n+1 {
					b.Fatal(rows)
				}
			}
		})
		b.Run(fmt.Sprintf("split/%d", n), func(b *testing.B) {
			b.SetBytes(int64(len(data)))
			b.ReportAllocs()
			for b.Loop() {
				s := newSplitter(bytes.NewReader(data), ',', false, 1<<15, 512)
				for {
					if _, err := s.next(); err == io.EOF {
						break
					} else if err != nil {
						b.Fatal(err)
					}
				}
			}
		})
		b.Run(fmt.Sprintf("survey/%d", n), func(b *testing.B) {
			b.SetBytes(int64(len(data)))
			b.ReportAllocs()
			for b.Loop() {
				r, err := Read(bytes.NewReader(data), int64(len(data)), Options{Name: "bench.csv", Sizes: testSizes{}})
				if err != nil {
					b.Fatal(err)
				}
				if r.Account.Kept != n {
					b.Fatalf("%+v %v", r.Account, r.Queries[:1])
				}
			}
		})
	}
}
