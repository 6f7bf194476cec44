package qty

import "sort"

// largest is the indexes of the n largest values, ties to the earlier; more
// than there are values start again from the largest.
func largest(values []float64, n int64) []int {
	if n <= 0 {
		return nil
	}
	order := make([]int, len(values))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(a, b int) bool { return values[order[a]] > values[order[b]] })
	out := make([]int, 0, n)
	for int64(len(out)) < n {
		out = append(out, order[:min(int64(len(order)), n-int64(len(out)))]...)
	}
	return out
}
