package design

import (
	"errors"
	"math"
)

// errNoRoot is the fault of a caller: the ends do not bracket a root.
var errNoRoot = errors.New("no change of sign between the ends")

// maxBisections is above what doubles need: an interval with ends of one sign
// is halved to neighbouring doubles in under 1100 steps at the very worst, and
// in about 55 where the ends are within a factor of a few.
const maxBisections = 1100

// bisect finds the root of a continuous f that rises from f(lo) ≤ 0 to
// f(hi) ≥ 0, to neighbouring doubles. Bisection is chosen over faster methods
// because its result depends on nothing but the signs of f.
func bisect(f func(float64) float64, lo, hi float64) (float64, error) {
	flo, fhi := f(lo), f(hi)
	switch {
	case flo == 0:
		return lo, nil
	case fhi == 0:
		return hi, nil
	case !(flo < 0 && fhi > 0):
		return 0, errNoRoot
	}
	for range maxBisections {
		mid := lo + (hi-lo)/2
		if mid <= lo || mid >= hi {
			break
		}
		if f(mid) < 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	if math.Abs(f(lo)) < math.Abs(f(hi)) {
		return lo, nil
	}
	return hi, nil
}
