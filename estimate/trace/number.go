package trace

import (
	"math"
	"strconv"
	"strings"
)

// significant is how many digits a number is shown with, at the least, unless
// its unit needs fewer decimals.
const significant = 5

// decimals are the most decimals worth showing in a unit. A unit that is not
// listed is shown with as many as the significant digits ask for.
var decimals = map[string]int{
	"mm": 3, "mm²": 1, "mm³": 0, "m": 3, "m²": 3, "m³": 4, "L": 3, "mL": 1,
	"kg": 3, "g": 1, "MPa": 4, "bar": 2, "N": 0, "°C": 2, "K": 2, "%": 2,
	"min": 1, "s": 1, "h": 2, "°": 2, "years": 2, "J/m²": 1,
}

// FormatNumber writes v for reading: about five significant digits, never
// fewer than the whole digits before the point, no more decimals than its unit
// is worth, trailing zeros dropped, no exponent from 10⁻⁶ to 10¹⁵. A value too
// small for its unit's decimals keeps three significant digits, so that only
// zero is shown as 0. The decimal sign is a point and there are no thousands
// separators, whatever the locale.
func FormatNumber(v float64, unit string) string {
	switch a := math.Abs(v); {
	case math.IsNaN(v):
		return "not a number"
	case math.IsInf(v, 1):
		return "infinite"
	case math.IsInf(v, -1):
		return "-infinite"
	case v == 0:
		return "0"
	case a < 1e-6 || a >= 1e15:
		return strconv.FormatFloat(v, 'g', significant, 64)
	}
	if isCurrency(unit) {
		return amount(v)
	}
	places := significant - 1 - exponent(v)
	if most, ok := decimals[unit]; ok && places > most {
		places = most
		if math.Abs(v) < 0.5*math.Pow10(-most) {
			places = 2 - exponent(v)
		}
	}
	return trimZeros(strconv.FormatFloat(v, 'f', max(0, places), 64))
}

// isCurrency reports whether a unit is a currency by its ISO 4217 code.
func isCurrency(unit string) bool {
	if len(unit) != 3 {
		return false
	}
	for i := range 3 {
		if unit[i] < 'A' || unit[i] > 'Z' {
			return false
		}
	}
	return true
}

// amount writes money to the last minor unit, so that a sum can be done again to
// the cent: whole amounts as they are, others with two decimals or as many more
// as they have, four at the most.
func amount(v float64) string {
	s := strconv.FormatFloat(v, 'f', 4, 64)
	whole, part, _ := strings.Cut(s, ".")
	part = strings.TrimRight(part, "0")
	switch {
	case part == "" && strings.Trim(whole, "-0") == "":
		return "0"
	case part == "":
		return whole
	case len(part) == 1:
		part += "0"
	}
	return whole + "." + part
}

// WithUnit is FormatNumber with the unit behind it.
func WithUnit(v float64, unit string) string {
	s := FormatNumber(v, unit)
	if unit == "" {
		return s
	}
	if unit == "°" {
		return s + unit
	}
	return s + " " + unit
}

// Span is "6 to 51 layers"; what prints alike at both ends is said once, "6
// layers".
func Span(low, high float64, unit string) string {
	from, to := FormatNumber(low, unit), WithUnit(high, unit)
	if WithUnit(low, unit) == to {
		return to
	}
	return from + " to " + to
}

// exponent is the power of ten of the first digit of v, which is not 0.
func exponent(v float64) int {
	s := strconv.FormatFloat(v, 'e', significant-1, 64) // rounds 9.99999 up to 1e1
	e, _ := strconv.Atoi(s[strings.IndexByte(s, 'e')+1:])
	return e
}

func trimZeros(s string) string {
	if strings.IndexByte(s, '.') >= 0 {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}
