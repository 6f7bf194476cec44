package table

import (
	"math"
	"strconv"
	"strings"
	"time"
)

// Shown is the text that a spreadsheet shows for the cell's value in its format,
// except that a number without a format is given in full.
func Shown(c *Cell) string {
	switch c.Kind {
	case KindText, KindLink, KindFormulaText:
		return c.Text
	case KindNumber, KindFormulaNum:
		return shownNumber(c.Num, c.Style.Format)
	}
	return ""
}

func shownNumber(v float64, f Format) string {
	n, ok := f.Decimals()
	switch {
	case f == Date:
		return time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC).AddDate(0, 0, int(v)).Format(time.DateOnly)
	case !ok:
		return strconv.FormatFloat(v, 'f', -1, 64)
	case f.IsPercent():
		return strconv.FormatFloat(100*v, 'f', n, 64) + " %"
	}
	return thousands(strconv.FormatFloat(v, 'f', n, 64))
}

// thousands sets groups of three digits apart with commas.
func thousands(s string) string {
	whole, fraction, hasFraction := strings.Cut(strings.TrimPrefix(s, "-"), ".")
	var out strings.Builder
	if s[0] == '-' {
		out.WriteByte('-')
	}
	for i, digit := range whole {
		if i > 0 && (len(whole)-i)%3 == 0 {
			out.WriteByte(',')
		}
		out.WriteRune(digit)
	}
	if hasFraction {
		out.WriteString("." + fraction)
	}
	return out.String()
}

// TooNarrow lists the cells of a row (from 1) whose number or day would show as
// ### because the column is not wide enough. Text never shows so, and a number
// without a format is shortened instead.
func TooNarrow(columns []Column, row *Row) (cells []int) {
	for i := range row.Cells {
		c := &row.Cells[i]
		number := c.Kind == KindNumber || c.Kind == KindFormulaNum
		if !number || c.Style.Format == General || c.Style.Format == Literal {
			continue
		}
		if ColumnFor(c) > math.Ceil(mergedWidth(columns, row, i)*100)/100 {
			cells = append(cells, i+1)
		}
	}
	return cells
}

// ColumnFor is the least width in characters of a column that shows the cell on
// one line.
func ColumnFor(c *Cell) float64 {
	text := Shown(c)
	if c.Style.Look == Input {
		text = "» " + text
	}
	if c.Style.Format != Date {
		text += ")" // the gap after a number is as wide as a bracket
	}
	size, heavy := c.Style.Look.size()
	width := TextWidth(text, size)
	if heavy {
		width *= bold
	}
	if c.Style.Look == Code {
		width *= fixedPitch
	}
	return (width + cellPadding) / pointsPerChar
}
