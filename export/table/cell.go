package table

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/shopspring/decimal"
)

// Kind is what a cell holds.
type Kind uint8

// The kinds of cell.
const (
	KindEmpty Kind = iota
	KindText
	KindNumber
	KindLink        // text that leads to another place of the workbook
	KindFormulaNum  // formula whose cached value is a number
	KindFormulaText // formula whose cached value is text
	KindFault       // could not be made; the writer reports why and where
)

// A Cell is one value in its style. Cells are made by the functions below; a
// value that cannot be held exactly becomes a fault that the writer reports
// with its place, so that nothing is silently changed.
type Cell struct {
	Kind  Kind
	Style Style
	Text  string  // text, a link's text, a formula's cached text, or what the fault is
	Num   float64 // number, or a formula's cached number
	Src   string  // formula without its "=", or a link's target
}

// Empty is a cell without a value, but with a style (borders, fill-in lines).
func Empty(s Style) Cell { return Cell{Style: s} }

// Text is text and stays text, also when it begins like a formula.
func Text(text string, s Style) Cell {
	if text == "" {
		return Empty(s)
	}
	return Cell{Kind: KindText, Text: text, Style: s}
}

// Num is a floating-point number, kept to 15 significant digits, which is all
// that a spreadsheet shows or keeps.
func Num(v float64, s Style) Cell {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return fault(s, "the number %v cannot be written", v)
	}
	return Cell{Kind: KindNumber, Num: to15(v), Style: s}
}

// Int is a whole number.
func Int(v int, s Style) Cell {
	if v > maxExact || v < -maxExact {
		return fault(s, "the whole number %d has more than 15 digits", v)
	}
	return Cell{Kind: KindNumber, Num: float64(v), Style: s}
}

// Dec is a decimal, written exactly: a spreadsheet keeps 15 significant digits,
// so a decimal of more is a fault.
func Dec(d decimal.Decimal, s Style) Cell {
	v, err := Exact(d)
	if err != nil {
		return fault(s, "%v", err)
	}
	return Cell{Kind: KindNumber, Num: v, Style: s}
}

// Day is a calendar day; the time of day and the zone are left out. Days before
// 1 March 1900 and after 9999 are faults, since spreadsheets disagree on them.
func Day(t time.Time, s Style) Cell {
	if s.Format == General {
		s.Format = Date
	}
	y, m, d := t.Date()
	day := time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
	serial := day.Sub(time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)).Hours() / 24
	if y > 9999 || serial < 61 {
		return fault(s, "the date %04d-%02d-%02d is outside 1900-03-01 to 9999-12-31", y, m, d)
	}
	return Cell{Kind: KindNumber, Num: math.Round(serial), Style: s}
}

// FormulaNum is a formula with the number it gives now.
func FormulaNum(src string, value float64, s Style) Cell {
	return formula(src, Num(value, s), KindFormulaNum)
}

// FormulaDec is a formula with the decimal it gives now.
func FormulaDec(src string, value decimal.Decimal, s Style) Cell {
	return formula(src, Dec(value, s), KindFormulaNum)
}

// FormulaText is a formula with the text it gives now.
func FormulaText(src string, value string, s Style) Cell {
	return formula(src, Cell{Kind: KindText, Text: value, Style: s}, KindFormulaText)
}

// Link is text that leads to a place of the same workbook (see Area.On and
// At.On). Text of a link is at most 255 characters.
func Link(text, target string, s Style) Cell {
	if target == "" {
		return Text(text, s)
	}
	return Cell{Kind: KindLink, Text: text, Src: target, Style: s}
}

// FileLink is text that leads to another file of the same folder. A name that a
// link would take for something else stays text.
func FileLink(text, file string, s Style) Cell {
	if file == "" || strings.ContainsAny(file, `#%/\:?`) {
		return Text(text, s)
	}
	return Cell{Kind: KindLink, Text: text, Src: fileLink + file, Style: s}
}

// fileLink begins the target of a link that leads out of the workbook: no name of
// a sheet has a colon.
const fileLink = "file:"

// LinkTo is where a link leads, as spreadsheet programs write it.
func (c *Cell) LinkTo() string {
	if file, ok := strings.CutPrefix(c.Src, fileLink); ok {
		return file
	}
	return "#" + strings.ReplaceAll(c.Src, "$", "")
}

// Exact is the floating-point number that a spreadsheet reads back as exactly
// the same decimal: at most 15 significant digits, at most 22 decimals.
func Exact(d decimal.Decimal) (float64, error) {
	coef, exp := d.Coefficient(), d.Exponent()
	if coef.IsInt64() && coef.Int64() < maxExact && coef.Int64() > -maxExact && exp <= 0 && exp >= -22 {
		// Both are whole numbers that a float64 holds exactly, so the quotient
		// is the float64 nearest to the decimal.
		return float64(coef.Int64()) / pow10[-exp], nil
	}
	if exp < -400 || exp > 400 || coef.BitLen() > 1400 {
		return 0, fmt.Errorf("a decimal of %d bits and exponent %d cannot be kept exactly in a spreadsheet", coef.BitLen(), exp)
	}
	v, err := strconv.ParseFloat(d.String(), 64)
	if err == nil {
		back, err := decimal.NewFromString(strconv.FormatFloat(v, 'e', 14, 64))
		if err == nil && back.Equal(d) {
			return v, nil
		}
	}
	return 0, fmt.Errorf("the decimal %s has more than the 15 significant digits a spreadsheet keeps", Shorten(d.String(), 60))
}

// maxExact bounds the whole numbers of at most 15 digits.
const maxExact = 1e15

var pow10 = [23]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
	1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// to15 rounds to 15 significant digits. Numbers so small that a float64 holds
// them with fewer digits become 0, as they do in a spreadsheet.
func to15(v float64) float64 {
	if math.Abs(v) < 1e11 {
		// Most quantities have few decimals: cheap to see.
		if s := v * 1e4; s == math.Trunc(s) {
			return v
		}
	}
	var buf [32]byte
	r, err := strconv.ParseFloat(string(strconv.AppendFloat(buf[:0], v, 'e', 14, 64)), 64)
	const leastNormal = 0x1p-1022
	if err != nil || math.Abs(r) < leastNormal {
		return 0
	}
	return r
}

func formula(src string, value Cell, kind Kind) Cell {
	if value.Kind == KindFault {
		return value
	}
	if src == "" {
		return fault(value.Style, "a formula without text")
	}
	if src[0] == '=' {
		src = src[1:]
	}
	value.Kind, value.Src = kind, src
	return value
}

func fault(s Style, format string, args ...any) Cell {
	return Cell{Kind: KindFault, Text: fmt.Sprintf(format, args...), Style: s}
}
