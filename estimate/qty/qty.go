// Package qty is the one place where a measured quantity (float64) becomes a
// decimal that is ordered and paid for, and of dividing whole numbers.
package qty

import "github.com/shopspring/decimal"

// Places is the number of decimals kept: a millionth of a metre, a kilogram or
// an hour, far below anything that is measured or paid.
const Places = 6

// Decimal is v rounded half away from zero to Places decimals.
func Decimal(v float64) decimal.Decimal { return decimal.NewFromFloat(v).Round(Places) }

// Whole is a count.
func Whole(n int) decimal.Decimal { return decimal.NewFromInt(int64(n)) }

// CeilDiv is a/b rounded up, for b > 0.
func CeilDiv(a, b int64) int64 {
	q := a / b
	if a%b > 0 {
		q++
	}
	return q
}

// GCD is the greatest common divisor of numbers that are not negative.
func GCD[T int | int64](a, b T) T {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// Share splits amount, a whole number of minor units, over the weights so that
// the shares add up to it exactly: each gets the whole part of its proportion,
// and what is left goes one by one to the largest remainders (ties to the
// earlier). Weights that are all zero share evenly. Source: the method of
// largest remainders (Hamilton), a published method of apportionment.
func Share(amount int64, weights []float64) []int64 {
	out := make([]int64, len(weights))
	if len(weights) == 0 {
		return out
	}
	sign := int64(1)
	if amount < 0 {
		sign, amount = -1, -amount
	}
	total := 0.0
	for _, w := range weights {
		total += w
	}
	remainders := make([]float64, len(weights))
	left := amount
	for i, w := range weights {
		exact := float64(amount) / float64(len(weights))
		if total > 0 {
			exact = float64(amount) * (w / total)
		}
		whole := min(int64(exact), left) // the sum of the whole parts never exceeds the amount
		out[i] = whole
		remainders[i] = exact - float64(whole)
		left -= whole
	}
	for _, i := range largest(remainders, left) {
		out[i]++
	}
	for i := range out {
		out[i] *= sign
	}
	return out
}
