package table

import (
	"encoding/csv"
	"io"
	"iter"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

// WriteCSV writes rows as comma-separated values in UTF-8 without a byte order
// mark, lines ended by CR LF (RFC 4180), for import elsewhere. Formulas are
// written as their values, numbers in full with a decimal point, days as
// 2026-03-01. Text that a spreadsheet would take for a formula gets an
// apostrophe before it.
func WriteCSV(w io.Writer, name string, rows iter.Seq[Row]) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	number := 0
	var record []string
	for row := range rows {
		number++
		record = record[:0]
		for i := range row.Cells {
			c := &row.Cells[i]
			if problem := CheckCell(c); problem != "" {
				return &Fault{Sheet: name, Cell: At{i + 1, number}.String(), Problem: problem}
			}
			record = append(record, csvField(c))
		}
		if len(record) == 0 {
			record = append(record, "")
		}
		if err := out.Write(record); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

func csvField(c *Cell) string {
	switch c.Kind {
	case KindNumber, KindFormulaNum:
		if c.Style.Format == Date {
			return time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC).AddDate(0, 0, int(c.Num)).Format(time.DateOnly)
		}
		return strconv.FormatFloat(c.Num, 'f', -1, 64)
	}
	return SafeText(c.Text)
}

// SafeText puts an apostrophe before text that a spreadsheet opening a CSV file
// would take for a formula: that begins, after any white space, with one of
// = + - @ or their full-width forms, or that begins with a tab, carriage return
// or line feed.
func SafeText(text string) string {
	if text == "" {
		return text
	}
	if strings.ContainsRune("\t\r\n", rune(text[0])) || LooksLikeFormula(text) {
		return "'" + text
	}
	return text
}

// LooksLikeFormula reports whether a spreadsheet would take the text for a
// formula if it were typed in.
func LooksLikeFormula(text string) bool {
	trimmed := strings.TrimLeft(text, " \t\r\n\u00a0")
	first, _ := utf8.DecodeRuneInString(trimmed)
	return trimmed != "" && strings.ContainsRune("=+-@＝＋－＠", first)
}
