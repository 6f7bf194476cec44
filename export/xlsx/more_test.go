package xlsx_test

import (
	"fmt"
	"io"
	"math"
	"testing"
	"time"

	"wraptally/estimate/trace/outside"
	"wraptally/export/draw"
	"wraptally/export/table"
	"wraptally/export/xlsx"
	"wraptally/export/xlsx/xlsxtest"
)

// Every kind of chart, emphasis, paper and validation makes a valid file, not
// only those of the demonstration.
func TestCrossEverythingIsValid(t *testing.T) {
	outside.Need(t, "ooxml-validator", "soffice", "pdfinfo")
	numbers := &table.Sheet{Name: "Numbers"}
	var rows table.Rows
	for i := range 14 {
		rows.Add(table.Text(fmt.Sprint("item ", i), table.TextStyle), table.Int(i*i+1, table.IntStyle), table.Int(20-i, table.IntStyle))
	}
	numbers.Rows = rows.All()
	book := &table.Workbook{Sheets: []*table.Sheet{numbers}}
	for kind := range 4 {
		stacked, labels := kind%2 == 1, kind > 1
		s := &table.Sheet{Name: fmt.Sprintf("chart %v %v", stacked, labels), Page: table.Page{Paper: table.Paper(kind % 2)},
			FreezeColumns: kind % 2, TitleColumns: table.Span{First: 1, Last: 2}}
		series := []table.Series{{Name: "squares", Categories: "'Numbers'!$A$1:$A$14", Numbers: "'Numbers'!$B$1:$B$14"}, {Name: "falling", Categories: "'Numbers'!$A$1:$A$14", Numbers: "'Numbers'!$C$1:$C$14"}}
		if kind == 0 {
			series = series[:1]
		}
		s.Charts = []table.Chart{{Stacked: stacked, At: table.At{Column: 2, Row: 2}, WidthMM: 120, HeightMM: 80, Title: "A <chart> & more", ValueTitle: "y", Series: series, Labels: labels, Alt: `said "so"`}}
		s.Conditions = []table.Condition{{Area: table.Cells(1, 1, 3, 3), Formula: "=A1>1", Show: table.Emphasis(kind % 2)}}
		s.Validations = []table.Validation{
			{Area: table.Cells(6, 1, 6, 9), Min: math.Inf(-1), Max: 5.5, Whole: false},
			{Area: table.Cells(7, 1, 7, 9), Min: -3, Max: math.Inf(1), Whole: true},
		}
		book.Sheets = append(book.Sheets, s)
	}
	xlsxtest.Valid(t, keep(t, written(t, book)))
	if pdf, pages := xlsxtest.PDF(t, keep(t, written(t, book))); pages < 5 {
		t.Errorf("%d pages in %s", pages, pdf)
	}
}

// Looks and formats in every combination make a valid file.
func TestCrossEveryStyleIsValid(t *testing.T) {
	outside.Need(t, "ooxml-validator")
	var rows table.Rows
	for look := range table.Looks {
		for format := range table.Formats {
			s := table.Style{Look: table.Look(look), Format: table.Format(format)}
			rows.Add(table.Num(46082.25, s), table.Num(-0.5, s.To(table.Right)), table.Text("=x", s.To(table.Centre)), table.Text("y", s.Wrapped().To(table.Left)),
				table.Empty(s), table.Link("z", "'S'!$A$1", s), table.Day(time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC), s))
		}
	}
	book := one()
	book.Sheets[0].Rows = rows.All()
	xlsxtest.Valid(t, keep(t, written(t, book)))
}

// labels is a sheet of n labels, each with its own code.
func labels(tb testing.TB, n int) *table.Workbook {
	codes := make([][]byte, n)
	for i := range codes {
		p, err := draw.Code128(fmt.Sprintf("K-%05d", i), 20, 12)
		if err != nil {
			tb.Fatal(err)
		}
		codes[i] = p.PNG
	}
	b := one()
	b.Sheets[0].Rows = func(yield func(table.Row) bool) {
		for _, code := range codes {
			if !yield(table.Row{Height: 60, Cells: []table.Cell{table.Text("label", table.TextStyle)}, Pictures: []table.Picture{{At: table.At{Column: 2}, PNG: code, WidthMM: 20, Alt: "code"}}}) {
				return
			}
		}
	}
	return b
}

func BenchmarkPictures(b *testing.B) {
	for _, n := range []int{100, 1000, 4000} {
		book := labels(b, n)
		b.Run(fmt.Sprintf("pictures=%d", n), func(b *testing.B) {
			for b.Loop() {
				if err := xlsx.Write(io.Discard, book); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
