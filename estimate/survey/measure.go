package survey

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// unreadable raises the query of a number that cannot be used. In a field that
// bears on no quantity the cell alone is left out.
func (rd *reader) unreadable(code string, c *column, cell []byte, message, advice string) {
	if fieldTable[c.field].light {
		code, message = "value-light-bad", message+"; it is left out"
	}
	rd.cellQuery(code, c, cell, message, advice)
}

// number reads a measure into its place in base units.
func (rd *reader) number(c *column, cell []byte) {
	v, ok := plainNumber(cell, rd.decimal)
	unit := c.unit
	if !ok {
		if v, unit, ok = rd.measure(c, cell); !ok {
			return
		}
	}
	if unit != nil {
		v = unit.Base(v)
	}
	if c.sample != nil {
		c.sample.add(v)
	}
	if c.plain && v > 0 && c.usual.holds(v) {
		*rd.numberOf(c.field) = Known(v) // nothing to ask
		return
	}
	rd.measured(c, cell, v, unit)
}

// measured checks a value in base units against what its field can hold, and
// stores it.
func (rd *reader) measured(c *column, cell []byte, v float64, unit *Unit) {
	f := c.field
	t := &fieldTable[f]
	percent := unit != nil && unit.Dim == DimPercent
	switch {
	case f == fRemaining && percent:
		rd.remainingPercent(c, cell, v)
		return
	case f == fDepth && percent:
		if v < 0 || v > 100 {
			rd.unreadable("number-range", c, cell, "a depth outside 0 to 100 %", "correct it, or state its unit with --map depth=\"heading [mm]\"")
			return
		}
		rd.extra.depth, rd.extra.depthPercent = Known(v), true
		return
	case v < 0 && t.beyond[0] >= 0:
		rd.unreadable("number-negative", c, cell, t.Key+" cannot be negative", "correct it, or leave the cell empty if it was not measured")
		return
	case v == 0 && t.positive:
		rd.unreadable("number-zero", c, cell, t.Key+" cannot be zero", "leave the cell empty if it was not measured")
		return
	case f == fDepth:
		if !wallLimit.holds(v) {
			rd.unreadable("number-range", c, cell, "a depth beyond any pipe wall", "correct it, or state its unit with --map depth=\"heading [%]\"")
			return
		}
		rd.extra.depth = Known(v)
		return
	case t.whole && v != math.Trunc(v):
		rd.unreadable("number-bad", c, cell, t.Key+" are a whole number", "write it without a fraction")
		return
	}
	if !t.usual.holds(v) && unit != nil && unit == c.unit && f != fOD {
		if likely := likelyUnits(unit.From(v), unit, t.usual); len(likely) > 0 && !rd.doubtUnit(c, cell, v, likely) {
			return
		}
	}
	if !t.beyond.holds(v) {
		u := ""
		if o := f.ownUnit(); o != nil {
			u = " " + baseUnitName(o.Dim)
		}
		rd.unreadable("number-range", c, cell, fmt.Sprintf("%s of %s%s is beyond any pipework", t.Key, short(v), u), "correct it, or state its unit with --map "+t.Key+"=\"heading [unit]\"")
		return
	}
	*rd.numberOf(f) = Known(v)
	if f == fOD {
		rd.extra.odUnit, rd.extra.odCell = unit, cell
	}
}

// short prints a number for a message.
func short(v float64) string { return strconv.FormatFloat(v, 'g', 6, 64) }

// numberOf is where a number is kept: in the record, or beside it for what is
// another way of giving what the record keeps.
func (rd *reader) numberOf(f fieldID) *Num {
	switch f {
	case fCircumference:
		return &rd.extra.circumference
	case fHole:
		return &rd.extra.hole
	case fDepth:
		return &rd.extra.depth
	}
	return fieldTable[f].at(rd.d).(*Num)
}

// measure reads a number written in any other way than plainly: with its unit,
// thousands marks, as an inch fraction, in feet and inches.
func (rd *reader) measure(c *column, cell []byte) (v float64, unit *Unit, ok bool) {
	if rd.det.Form == "XLSX" && storedNumber(cell) {
		if f, err := strconv.ParseFloat(string(cell), 64); err == nil && !math.IsInf(f, 0) {
			return f, c.unit, true // a sheet stores numbers with a point, whatever it displays
		}
	}
	if fieldTable[c.field].Dim == DimLength {
		if v, ok := feetAndInches(cell, rd.decimal, rd.sure); ok {
			inch := lookUnit("in")
			if c.unitGiven && c.unit != inch && c.unit.Name != "ft" {
				rd.contradictsHeading(c, cell, "feet and inches")
				return 0, nil, false
			}
			return v, inch, true
		}
	}
	if c.field == fChainage {
		if v, u, ok := station(cell, rd.decimal); ok {
			if c.unitGiven && c.unit != u && (u.Name != "m" || c.unit.Name != "km") { // 12+345 below KP
				rd.contradictsHeading(c, cell, "stations of "+u.Name)
				return 0, nil, false
			}
			return v, u, true
		}
	}
	v, rest, st := rd.scan(c, cell)
	if st != numOK {
		rd.badNumber(c, cell, st)
		return 0, nil, false
	}
	rest = trim(rest)
	if len(rest) == 0 {
		return v, c.unit, true
	}
	if len(rest) > 24 {
		rd.badNumber(c, cell, numNone)
		return 0, nil, false
	}
	u := lookUnit(string(rest))
	switch {
	case u == nil && fieldTable[c.field].Dim == DimNone:
		rd.badNumber(c, cell, numNone)
	case u == nil || !fits(c.field, u):
		rd.unreadable("unit-unknown", c, cell, fmt.Sprintf("%s is no unit of %s", quote(string(rest)), fieldTable[c.field].Key), "units: "+strings.Join(UnitNames(fieldTable[c.field].Dim), ", "))
	case u == c.unit || !c.unitGiven || u.Dim != c.unit.Dim && c.field == fDepth || c.field == fRemaining && u.Dim == DimPercent:
		return v, u, true
	default:
		rd.contradictsHeading(c, cell, u.Name)
	}
	return 0, nil, false
}

// station reads a chainage written as a station: 1+234.5 with three digits is
// 1 km and 234.5 m, 12+34.5 with two is twelve hundred and 34.5 ft.
func station(b []byte, decimal byte) (v float64, u *Unit, ok bool) {
	head, tail, ok := bytes.Cut(b, []byte("+"))
	if !ok || len(head) == 0 || len(head) > 7 || !onlyDigits(head) {
		return 0, nil, false
	}
	past, rest, st := scanNumber(tail, decimal, true)
	whole, _, _ := bytes.Cut(tail, []byte{decimal})
	if st != numOK || len(rest) > 0 || !onlyDigits(whole) {
		return 0, nil, false
	}
	many, _ := strconv.ParseFloat(string(head), 64)
	switch len(whole) {
	case 3:
		return many*1000 + past, lookUnit("m"), true
	case 2:
		return many*100 + past, lookUnit("ft"), true
	}
	return 0, nil, false
}

func onlyDigits(b []byte) bool {
	return len(b) > 0 && len(bytes.Trim(b, "0123456789")) == 0
}

// scan reads the number at the start of a cell; fractions are for inches only.
func (rd *reader) scan(c *column, cell []byte) (float64, []byte, numStatus) {
	if fieldTable[c.field].Dim == DimLength {
		if v, rest, st := scanFraction(cell); st != numNone {
			inches := c.unit != nil && c.unit.Name == "in"
			if u := lookUnit(string(trim(rest))); u != nil {
				inches = u.Name == "in"
			}
			if st == numOK && !inches {
				return 0, nil, numFraction
			}
			return v, rest, st
		}
	}
	return scanNumber(cell, rd.decimal, rd.sure)
}

func (rd *reader) badNumber(c *column, cell []byte, st numStatus) {
	switch st {
	case numRange:
		rd.unreadable("number-range", c, cell, fmt.Sprintf("the number is not finite or has more than %d digits", maxDigits), "write it as a plain number")
	case numUnclear:
		rd.unreadable("number-unclear", c, cell, "the number may be a thousand or a fraction", "state the decimal mark with --decimal, or write it without a thousands mark")
	case numFraction:
		rd.unreadable("number-bad", c, cell, "a fraction is read only in inches, with a denominator of 2, 4, 8, 16, 32 or 64", "write it as a decimal number, or with its inch mark")
	default:
		if r, bad := badRune(cell); bad {
			rd.badCharacter(c.field, c.at+1, cell, r)
			return
		}
		if bytes.HasPrefix(cell, []byte("#")) {
			rd.cellQuery("cell-error", c, cell, "the spreadsheet could not compute this cell", "correct the cell in the spreadsheet")
			return
		}
		if c.field == fHole {
			if word := fieldTable[fLeaking].means(cell); word != "" {
				rd.extra.holeWord = word == "yes"
				return
			}
		}
		advice := "write a plain number, with its unit behind it where it is another than the heading's, or leave the cell empty if it was not measured"
		if bytes.ContainsAny(cell, ".,") {
			advice = fmt.Sprintf("the decimal mark of this survey is %q; --decimal states another", string(rune(rd.decimal)))
		}
		rd.unreadable("number-bad", c, cell, "this is not a number", advice)
	}
}

func (rd *reader) contradictsHeading(c *column, cell []byte, unit string) {
	rd.cellQuery("unit-contradicted", c, cell, fmt.Sprintf("the unit of the cell is %s, that of the heading %s is %s", unit, quote(c.heading), c.unit.Name), "give the value in the heading's unit, or take the unit out of one of the two")
}

// storedNumber reports whether a cell is written as a sheet stores numbers.
func storedNumber(b []byte) bool {
	for _, c := range b {
		if c-'0' > 9 && c != '.' && c != '-' && c != '+' && c != 'E' {
			return false
		}
	}
	return len(b) > 0 && len(b) <= 32
}

// feetAndInches reads 2'6", 2' 6-1/2", 5ft 3in, 2'-6". A foot measure alone is
// left to the ordinary road.
func feetAndInches(b []byte, decimal byte, sure bool) (inches float64, ok bool) {
	feet, rest, st := scanNumber(b, decimal, sure)
	if st != numOK || feet < 0 {
		return 0, false
	}
	rest = trim(rest)
	n := 0
	for _, mark := range []string{"feet", "foot", "ft.", "ft", "'", "′", "’"} {
		if bytes.HasPrefix(rest, []byte(mark)) {
			n = len(mark)
			break
		}
	}
	if n == 0 || bytes.HasPrefix(rest, []byte("''")) {
		return 0, false
	}
	rest = trim(rest[n:])
	rest = trim(bytes.TrimPrefix(rest, []byte("-")))
	if len(rest) == 0 {
		return 0, false
	}
	in, tail, st := scanFraction(rest)
	if st == numNone {
		in, tail, st = scanNumber(rest, decimal, sure)
	}
	if st != numOK || in < 0 || in >= 12 {
		return 0, false
	}
	if tail = trim(tail); len(tail) > 0 {
		if u := lookUnit(string(tail)); u == nil || u.Name != "in" {
			return 0, false
		}
	}
	return feet*12 + in, true
}
