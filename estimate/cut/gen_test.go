package cut

import (
	"fmt"
	"math"
)

// Generators of demand for tests and benchmarks. All from fixed seeds.

// bandLengths imitates cut lengths of bands: so many pipe sizes from 60 mm to
// 1.2 m, π·D and an allowance, rounded up to 5 mm.
func bandLengths(r *rng, sizes int) []int {
	var out []int
	for len(out) < sizes {
		d := 60 * math.Pow(20, r.float())
		l := (int(math.Pi*d+100+60*r.float())/5 + 1) * 5
		out = append(out, l)
	}
	return out
}

// demandFor spreads n pieces over lengths unevenly, at least one each.
func demandFor(r *rng, lengths []int, n int) []Piece {
	pieces := make([]Piece, len(lengths))
	weight, sum := make([]float64, len(lengths)), 0.0
	for i := range weight {
		weight[i] = 0.1 + r.float()*r.float()
		sum += weight[i]
	}
	spare := max(n-len(lengths), 0)
	left := spare
	for i, l := range lengths {
		k := min(left, int(float64(spare)*weight[i]/sum))
		pieces[i] = Piece{Length: l, Count: 1 + k, Label: fmt.Sprint("p", i)}
		left -= k
	}
	pieces[0].Count += left
	return pieces
}

// uniformLengths draws lengths between lo and hi.
func uniformLengths(r *rng, sizes, lo, hi, step int) []int {
	out := make([]int, sizes)
	for i := range out {
		out[i] = lo + r.intn((hi-lo)/step+1)*step
	}
	return out
}
