package survey

import (
	"math"
	"strconv"
	"unicode/utf8"
)

// maxDigits is the most digits a number may have: no measurement has more, and
// a run of 200 digits is damage or mischief.
const maxDigits = 40

// numStatus says how a cell failed to be a number.
type numStatus int8

const (
	numOK       numStatus = iota
	numNone               // no number at its start
	numRange              // not finite, or too many digits
	numUnclear            // "1,234": a thousand or one and a bit
	numFraction           // an inch fraction with a denominator that is no power of two up to 64
)

// pow10 holds the powers of ten that float64 represents exactly.
var pow10 = [...]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// plainNumber reads the commonest form, digits with at most one decimal mark
// and nothing else, without allocation. With at most 15 digits the mantissa and
// the power of ten are exact, so that the one division rounds correctly and the
// result equals strconv.ParseFloat's.
func plainNumber(b []byte, decimal byte) (float64, bool) {
	i, neg := 0, false
	if len(b) > 0 && b[0] == '-' {
		neg, i = true, 1
	}
	if len(b)-i > 16 || len(b) == i {
		return 0, false
	}
	var m uint64
	mark, digits := -1, 0
	for ; i < len(b); i++ {
		c := b[i]
		switch {
		case c-'0' <= 9:
			m = m*10 + uint64(c-'0')
			digits++
		case c == decimal && mark < 0:
			mark = digits
		default:
			return 0, false
		}
	}
	if digits == 0 || digits > 15 || mark == 0 || mark == digits {
		return 0, false // ".5" and "5." take the slow road
	}
	v := float64(m)
	if mark >= 0 {
		v /= pow10[digits-mark]
	}
	if neg {
		v = -v
	}
	return v, true
}

// scanNumber reads the number at the start of b and returns what follows it. It
// takes a sign, decimal mark, thousands marks in groups of three (blank,
// no-break or thin blank, apostrophe, or the mark that is not the decimal one)
// and an exponent. Where a sole mark that is not the decimal one is followed by
// exactly three digits ("1,234" in a file with points), it is a thousands mark
// only if sure is set; otherwise the number is unclear.
func scanNumber(b []byte, decimal byte, sure bool) (v float64, rest []byte, st numStatus) {
	other := byte(',')
	if decimal == ',' {
		other = '.'
	}
	var buf [maxDigits + 32]byte
	out := buf[:0]
	i := 0
	if i < len(b) && (b[i] == '-' || b[i] == '+') {
		if b[i] == '-' {
			out = append(out, '-')
		}
		i++
	} else if n := minusSign(b); n > 0 {
		out = append(out, '-')
		i += n
	}
	digits, group, groups := 0, 0, 0 // group: digits since the last thousands mark
	marked := false                  // the decimal mark was seen
	var sep string                   // the thousands mark in use
	for i < len(b) {
		c := b[i]
		if c-'0' <= 9 {
			digits++
			if digits > maxDigits {
				return 0, nil, numRange
			}
			out = append(out, c)
			group++
			i++
			continue
		}
		if c == decimal && !marked {
			if groups > 0 && group != 3 {
				return 0, nil, numNone
			}
			if i+1 >= len(b) || b[i+1]-'0' > 9 { // "5." ends the number
				if digits == 0 {
					return 0, nil, numNone
				}
				i++
				break
			}
			out = append(out, '.')
			marked = true
			i++
			continue
		}
		if n := thousandsMark(b[i:], other); n > 0 && digits > 0 && !marked && threeDigits(b[i+n:]) && (groups == 0 && group <= 3 || group == 3) {
			if s := string(b[i : i+n]); groups == 0 {
				sep = s
			} else if s != sep {
				break
			}
			groups++
			group = 0
			i += n
			continue
		}
		if c == other {
			return 0, nil, numNone // "10,5" in a file with decimal points
		}
		break
	}
	if digits == 0 {
		return 0, nil, numNone
	}
	if groups > 0 && group != 3 && !marked {
		return 0, nil, numNone
	}
	if groups == 1 && !marked && sep == string(other) && !sure {
		return 0, nil, numUnclear
	}
	i, out = scanExponent(b, i, out)
	f, err := strconv.ParseFloat(string(out), 64)
	if err != nil || math.IsInf(f, 0) || math.IsNaN(f) {
		return 0, nil, numRange
	}
	return f, b[i:], numOK
}

// scanExponent takes "e+03" after a number; an "e" that no digits follow is
// left for the unit.
func scanExponent(b []byte, i int, out []byte) (int, []byte) {
	if i >= len(b) || b[i] != 'e' && b[i] != 'E' {
		return i, out
	}
	j := i + 1
	if j < len(b) && (b[j] == '+' || b[j] == '-') {
		j++
	}
	k := j
	for k < len(b) && b[k]-'0' <= 9 {
		k++
	}
	if k == j || k-j > 6 {
		return i, out
	}
	return k, append(out, b[i:k]...)
}

// minusSign recognises the typographic minus U+2212 and the en dash that word
// processors put in its place.
func minusSign(b []byte) int {
	if r, n := utf8.DecodeRune(b); (r == '−' || r == '–') && n < len(b) && b[n]-'0' <= 9 {
		return n
	}
	return 0
}

// thousandsMark gives the length of the thousands mark that b starts with.
func thousandsMark(b []byte, other byte) int {
	switch b[0] {
	case ' ', '\'', other:
		return 1
	}
	if b[0] < utf8.RuneSelf {
		return 0
	}
	switch r, n := utf8.DecodeRune(b); r {
	case '\u00a0', '\u2009', '\u202f', '’':
		return n
	}
	return 0
}

// threeDigits reports whether b starts with exactly three digits.
func threeDigits(b []byte) bool {
	return len(b) >= 3 && b[0]-'0' <= 9 && b[1]-'0' <= 9 && b[2]-'0' <= 9 && (len(b) == 3 || b[3]-'0' > 9)
}

// vulgar are the fractions that have a character of their own.
var vulgar = map[rune]float64{
	'½': 0.5, '¼': 0.25, '¾': 0.75,
	'⅛': 0.125, '⅜': 0.375, '⅝': 0.625, '⅞': 0.875,
	'⅓': 1.0 / 3, '⅔': 2.0 / 3, '⅙': 1.0 / 6, '⅚': 5.0 / 6,
	'⅕': 0.2, '⅖': 0.4, '⅗': 0.6, '⅘': 0.8,
}

// scanFraction reads an inch measure with a fraction: "3/4", "1-1/2", "1 1/2",
// "1½", "1-½". It reports numNone where b is no such thing.
func scanFraction(b []byte) (v float64, rest []byte, st numStatus) {
	whole, i := digitsAt(b, 0)
	if i > 6 {
		return 0, nil, numNone
	}
	base := 0.0
	if i > 0 {
		if n, r := slashAt(b, i); n > 0 { // "3/4"
			return quotient(whole, r)
		}
		base = float64(whole)
		j := i
		for j < len(b) && (b[j] == ' ' || b[j] == '-') {
			j++
		}
		if j < len(b) {
			if r, n := utf8.DecodeRune(b[j:]); vulgar[r] > 0 {
				return base + vulgar[r], b[j+n:], numOK
			}
		}
		num, k := digitsAt(b, j)
		if k == j || j == i {
			return 0, nil, numNone
		}
		n, r := slashAt(b, k)
		if n == 0 {
			return 0, nil, numNone
		}
		f, rest, st := quotient(num, r)
		return base + f, rest, st
	}
	if r, n := utf8.DecodeRune(b); vulgar[r] > 0 {
		return vulgar[r], b[n:], numOK
	}
	return 0, nil, numNone
}

// quotient completes "num/" with the denominator at the start of rest.
func quotient(num int, b []byte) (float64, []byte, numStatus) {
	den, k := digitsAt(b, 0)
	if k == 0 {
		return 0, nil, numNone
	}
	// A rule divides the inch by halving; 1/3 written out is a slip of the pen.
	if den < 2 || den > 64 || den&(den-1) != 0 || num >= den || num == 0 {
		return 0, nil, numFraction
	}
	return float64(num) / float64(den), b[k:], numOK
}

func digitsAt(b []byte, i int) (int, int) {
	n := 0
	for i < len(b) && b[i]-'0' <= 9 && n < 1e8 {
		n = n*10 + int(b[i]-'0')
		i++
	}
	return n, i
}

// slashAt gives the length of the fraction stroke at i, and what follows it.
func slashAt(b []byte, i int) (int, []byte) {
	if i >= len(b) {
		return 0, nil
	}
	if b[i] == '/' {
		return 1, b[i+1:]
	}
	if r, n := utf8.DecodeRune(b[i:]); r == '⁄' || r == '∕' {
		return n, b[i+n:]
	}
	return 0, nil
}
