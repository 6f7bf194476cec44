package survey

import (
	"bytes"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"wraptally/catalog"
)

// trim takes blanks of every kind off both ends.
func trim(b []byte) []byte {
	for len(b) > 0 && (b[0] == ' ' || b[0] == '\t') {
		b = b[1:]
	}
	for len(b) > 0 && (b[len(b)-1] == ' ' || b[len(b)-1] == '\t') {
		b = b[:len(b)-1]
	}
	if len(b) > 0 && (b[0] <= ' ' || b[0] >= utf8.RuneSelf || b[len(b)-1] <= ' ' || b[len(b)-1] >= utf8.RuneSelf) {
		return bytes.TrimFunc(b, func(r rune) bool { return unicode.IsSpace(r) || r == '\ufeff' })
	}
	return b
}

// notGiven are the ways of writing that there is no value.
var notGiven = map[string]bool{
	"n/a": true, "na": true, "n.a.": true, "#n/a": true, "-": true, "--": true, "---": true, "–": true, "—": true,
	"none": true, "null": true, "nil": true, "?": true, "tbc": true, "tba": true, "tbd": true, "unknown": true,
	"not measured": true, "not known": true, "not available": true, "not applicable": true, "n/m": true, "н/д": true, "k.a.": true,
}

// isNotGiven reports whether a cell says that there is no value.
func isNotGiven(b []byte) bool {
	return len(b) <= 16 && notGiven[strings.ToLower(string(b))]
}

// clockWords are places round the pipe by their names.
var clockWords = map[string]float64{
	"top": 0, "tdc": 0, "top dead centre": 0, "top dead center": 0, "top of pipe": 0, "crown": 0, "12 o'clock": 0,
	"bottom": 180, "bdc": 180, "bottom dead centre": 180, "bottom dead center": 180, "bottom of pipe": 180, "invert": 180,
}

// parseClock reads a position round the pipe in degrees: hours on the clock
// face ("4:30", "4:30 PM", "6h30", "3 o'clock", "10.48" and "10,48" as hours and
// minutes), by name ("top", "BDC") or degrees with their sign. Whole numbers are hours up to 12 under a
// heading of hours or none, degrees under a heading of degrees. "10.5" may be
// ten past ten or half past, and is left unclear.
func parseClock(b []byte, unit *Unit, decimal byte) (deg float64, ok bool) {
	s := strings.ToLower(string(b))
	if deg, ok := clockWords[s]; ok {
		return deg, true
	}
	degrees := unit != nil && unit.Name == "deg"
	for _, sign := range []string{"°", "º", "degrees", "deg"} {
		if t, found := strings.CutSuffix(s, sign); found {
			s, degrees = strings.TrimSpace(t), true
			break
		}
	}
	if degrees {
		v, rest, st := scanNumber([]byte(s), decimal, true)
		if st != numOK || len(rest) > 0 || v < 0 || v > 360 {
			return 0, false
		}
		return math.Mod(v, 360), true
	}
	return parseHours(s)
}

// parseHours reads hours on the clock face in degrees.
func parseHours(s string) (deg float64, ok bool) {
	if h, m, found := strings.Cut(s, "h"); found && wholeUpTo(strings.TrimSpace(h), 24) && wholeUpTo(strings.TrimSpace(m), 59) {
		s = strings.TrimSpace(h) + ":" + strings.TrimSpace(m) // 6h30
	}
	for _, word := range []string{"o'clock", "o’clock", "oclock", "o clock", "hrs", "hr", "h", "am", "pm"} {
		s = strings.TrimSpace(strings.TrimSuffix(s, word))
	}
	h, rest, found := strings.Cut(s, ":")
	m := ""
	switch {
	case found:
		m, rest, _ = strings.Cut(rest, ":") // seconds do not matter
		if rest != "" && !wholeUpTo(rest, 59) {
			return 0, false
		}
	default:
		if i := strings.IndexAny(s, ".,"); i >= 0 {
			h, m = s[:i], s[i+1:]
			if len(m) != 2 { // "10,5"
				return 0, false
			}
		}
	}
	if m == "" && found || !wholeUpTo(h, 24) || m != "" && !wholeUpTo(m, 59) {
		return 0, false
	}
	hours, _ := strconv.Atoi(h)
	minutes, _ := strconv.Atoi(m)
	if m == "" && hours > 12 || hours == 24 && minutes > 0 {
		return 0, false
	}
	return float64(hours%12)*30 + float64(minutes)/2, true
}

func wholeUpTo(s string, top int) bool {
	if s == "" || len(s) > 2 {
		return false
	}
	n, err := strconv.ParseUint(s, 10, 8)
	return err == nil && int(n) <= top
}

// parseDate reads a date: 2027-03-15, 15.03.2027 (with dots the day is always
// first), 15-Mar-2027, or with strokes where only one reading is a date.
func parseDate(b []byte) (time.Time, bool) {
	s := string(b)
	if i := strings.IndexAny(s, "T "); i == 10 && s[0] >= '0' && s[0] <= '9' { // a time of day follows
		s = s[:10]
	}
	for _, layout := range []string{"2006-01-02", "2006/01/02", "02.01.2006", "2.1.2006", "2-Jan-2006", "2 Jan 2006", "2 January 2006",
		"Jan 2, 2006", "January 2, 2006", "Jan 2 2006", "January 2 2006", "Jan-2-2006", "2-January-2006", "2-Jan-06", "2 Jan 06", "2.Jan.2006"} {
		if t, err := time.Parse(layout, s); err == nil {
			return t, catalog.PlausibleDate(t)
		}
	}
	dayFirst, err1 := time.Parse("2/1/2006", s)
	monthFirst, err2 := time.Parse("1/2/2006", s)
	switch {
	case err1 == nil && (err2 != nil || dayFirst.Equal(monthFirst)):
		return dayFirst, catalog.PlausibleDate(dayFirst)
	case err2 == nil && err1 != nil:
		return monthFirst, catalog.PlausibleDate(monthFirst)
	}
	return time.Time{}, false
}

// nominalSize is a size cell read: the number as the pipe table writes it, and
// the series the cell itself names ("DN" leaves open which).
type nominalSize struct {
	number string
	series string // "NPS", "DN-ASME", "DN-EN", "DN", `"` for an inch mark, ""
}

// parseSize reads "6", "NPS 6", `6"`, "DN 150", "DN150", "DN-ASME 150", "150 DN-ASME",
// "150 mm", "1-1/2", "1 1/2", "1½", "1.5".
func parseSize(b []byte, decimal byte) (nominalSize, bool) {
	s := strings.TrimSpace(string(b))
	var n nominalSize
	for _, p := range []string{"NPS", "DN-ASME", "DN-EN", "DN", "ДУ", "Ду", "Ø"} {
		if end := len(s) - len(p); p != "Ø" && end > 0 && strings.EqualFold(s[end:], p) {
			s = p + s[:end] // the series may stand behind the size
		}
		if len(s) > len(p) && strings.EqualFold(s[:len(p)], p) {
			s = strings.TrimSpace(s[len(p):])
			switch p {
			case "NPS", "DN-ASME", "DN-EN":
				n.series = p
			case "DN", "ДУ", "Ду":
				n.series = "DN"
			default:
				return n, false // a diameter, not a nominal size
			}
			break
		}
	}
	for _, mark := range []string{"\"", "″", "”", "''", "inches", "inch", "in.", "in"} {
		if t, ok := strings.CutSuffix(s, mark); ok {
			if strings.HasPrefix(n.series, "DN") {
				return n, false
			}
			s = strings.TrimSpace(t)
			if n.series == "" {
				n.series = "\""
			}
			break
		}
	}
	if t, ok := strings.CutSuffix(s, "mm"); ok && n.series != "NPS" && n.series != "\"" {
		if s = strings.TrimSpace(t); n.series == "" {
			n.series = "DN"
		}
	}
	if s == "" || len(s) > 12 {
		return n, false
	}
	v, rest, st := scanFraction([]byte(s))
	if st == numNone {
		v, rest, st = scanNumber([]byte(s), decimal, false)
	}
	if st != numOK || len(rest) > 0 || !(v > 0 && v < 10000) {
		return n, false
	}
	n.number = sizeNumber(v)
	return n, n.number != ""
}

// sizeOf reads a nominal size behind which the material of the pipe may stand, "150mm
// CI", `6" steel`, as in registers that have one column for both.
func sizeOf(b []byte, decimal byte) (n nominalSize, material string, ok bool) {
	if n, ok = parseSize(b, decimal); ok {
		return n, "", true
	}
	s := strings.TrimSpace(string(b))
	for i := range s {
		if i > 0 && s[i] == ' ' && strings.IndexFunc(s[i:], unicode.IsDigit) < 0 {
			if n, ok = parseSize([]byte(s[:i]), decimal); ok && n.series != "" {
				return n, strings.ToLower(strings.TrimSpace(s[i:])), true
			}
		}
	}
	return n, "", false
}

// sizeNumber writes a nominal size as the pipe tables do: whole, or with an
// eighth in lowest terms ("1-1/2"). Anything finer is no nominal size.
func sizeNumber(v float64) string {
	eighths := v * 8
	if eighths != float64(int(eighths)) {
		return ""
	}
	whole, num, den := int(eighths)/8, int(eighths)%8, 8
	if num == 0 {
		return strconv.Itoa(whole)
	}
	for num%2 == 0 {
		num, den = num/2, den/2
	}
	frac := strconv.Itoa(num) + "/" + strconv.Itoa(den)
	if whole == 0 {
		return frac
	}
	return strconv.Itoa(whole) + "-" + frac
}

// sizeValue is the number that a nominal size stands for.
func sizeValue(number string) float64 {
	v, rest, st := scanFraction([]byte(number))
	if st != numOK || len(rest) > 0 {
		f, err := strconv.ParseFloat(number, 64)
		if err != nil {
			return 0
		}
		return f
	}
	return v
}

// badRune gives the first character that no text cell may hold: a control
// character other than line feed and tab, or the mark of a character lost
// before.
func badRune(b []byte) (rune, bool) {
	for i := 0; i < len(b); {
		c := b[i]
		if c >= ' ' && c < 0x7f {
			i++
			continue
		}
		r, n := utf8.DecodeRune(b[i:])
		if r == utf8.RuneError || unicode.IsControl(r) && r != '\n' && r != '\t' {
			return r, true
		}
		i += n
	}
	return 0, false
}

// looksLikeFormula reports whether a spreadsheet might take the text for a
// formula.
func looksLikeFormula(b []byte) bool {
	if len(b) < 2 {
		return false
	}
	switch b[0] {
	case '=', '@':
		return true
	case '+', '-':
		return b[1] >= 'A' && b[1] <= 'z'
	}
	return false
}

// clip cuts a raw cell for a message.
func clip(s string) string {
	if len(s) <= 80 {
		return s
	}
	n := 77
	for n > 0 && !utf8.RuneStart(s[n]) {
		n--
	}
	return s[:n] + "..."
}
