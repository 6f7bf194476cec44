package export

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"wraptally/export/table"
)

// leaf gathers the rows of a sheet that is small enough to be held, all of the
// same number of columns.
type leaf struct {
	table.Rows
	name    string
	columns []table.Column
	checks  []table.Condition
}

// The styles of figures that are shown, given (an input) and summed.
func shown(f table.Format) table.Style  { return table.Style{Look: table.Body, Format: f} }
func given(f table.Format) table.Style  { return table.Style{Look: table.Input, Format: f} }
func summed(f table.Format) table.Style { return table.Style{Look: table.Total, Format: f} }

// dayStyle sets days left, so that they do not run into the text that follows.
var dayStyle = table.DateStyle.To(table.Left)

// unitStyle keeps a unit apart from the number before it.
var unitStyle = table.TextStyle.To(table.Centre)

func look(l table.Look) table.Style { return table.Style{Look: l} }

// quantityFormat shows a quantity with no more decimals than it has.
func quantityFormat(v float64) table.Format {
	for d := range 3 {
		if s := v * pow10(d); s == float64(int64(s)) {
			return table.Number(d)
		}
	}
	return table.Number(3)
}

func pow10(n int) float64 { return [...]float64{1, 10, 100, 1000}[n] }

// newLeaf begins a sheet with its title and a line under it.
func newLeaf(name, title, under string, columns []table.Column) *leaf {
	l := &leaf{name: name, columns: columns}
	l.AddRow(table.Spread(title, look(table.Title), len(columns)))
	l.AddRow(table.Spread(under, look(table.Muted), len(columns)))
	return l
}

// heading opens a section and gives its row.
func (l *leaf) heading(text string) int {
	l.Blank(1)
	return l.AddRow(table.Spread(text, look(table.Heading), len(l.columns)))
}

// note writes a muted line over all columns.
func (l *leaf) note(text string) { l.AddRow(table.Spread(text, look(table.Muted), len(l.columns))) }

// heads writes the heads of columns, each "title" or "title\n(unit)". One over
// numbers is marked "#", one over centred text "=".
func (l *leaf) heads(titles ...string) int {
	cells := make([]table.Cell, len(titles))
	for i, t := range titles {
		align := table.Left
		if rest, number := strings.CutPrefix(t, "#"); number {
			t, align = rest, table.Right
		} else if rest, centred := strings.CutPrefix(t, "="); centred {
			t, align = rest, table.Centre
		}
		if t == "" {
			cells[i] = table.Empty(table.HeadStyle)
			continue
		}
		cells[i] = table.Text(t, table.HeadStyle.To(align))
	}
	return l.Add(cells...)
}

// check puts a check of two formulas that must give the same, to half of the
// smallest unit of so many decimals, and remembers to alarm when they do not.
func (l *leaf) check(column int, a, b string, decimals int32) table.Cell {
	l.alarm(column)
	return checkCell(a, b, decimals)
}

// The words of a check.
const (
	addsUp      = "adds up"
	doesNotAdd  = "does not add up"
	coveredText = "covered"
	shortText   = "SHORT"
)

func checkCell(a, b string, decimals int32) table.Cell {
	tolerance := "0.5"
	if decimals > 0 {
		tolerance = "0." + strings.Repeat("0", int(decimals)) + "5"
	}
	return table.FormulaText(fmt.Sprintf("IF(ABS((%s)-(%s))<%s,%q,%q)", a, b, tolerance, addsUp, doesNotAdd), addsUp, table.CheckStyle)
}

// alarm makes the cell of the next row in this column stand out when it says
// that something is wrong.
func (l *leaf) alarm(column int) {
	at := table.At{Column: column, Row: l.Next()}
	l.checks = append(l.checks, alarmAt(table.One(at)))
}

func alarmAt(area table.Area) table.Condition {
	first := area.First.String()
	return table.Condition{Area: area, Formula: fmt.Sprintf("OR(LEFT(%s,%d)=%q,%s=%q)", first, len(doesNotAdd), doesNotAdd, first, shortText), Show: table.Alarm}
}

// sheet is the finished leaf.
func (l *leaf) sheet(page table.Page) *table.Sheet {
	return &table.Sheet{Name: l.name, Columns: l.columns, Rows: l.All(), Page: page, Conditions: l.checks}
}

// widths makes columns of which only the widths matter.
func widths(w ...float64) []table.Column {
	out := make([]table.Column, len(w))
	for i := range w {
		out[i].Width = w[i]
	}
	return out
}

// longest is how much of one survey text a cell shows.
const longest = 2000

// legible is text from outside as a cell can hold it: what no cell may hold is
// shown as a replacement mark, and text beyond reason is shortened with an
// ellipsis.
func legible(s string) string {
	clean := true
	for _, r := range s {
		if r == utf8.RuneError || r != '\n' && unicode.IsControl(r) || r == 0xFFFE || r == 0xFFFF {
			clean = false
			break
		}
	}
	if !clean {
		s = strings.Map(func(r rune) rune {
			if r != '\n' && unicode.IsControl(r) || r == 0xFFFE || r == 0xFFFF {
				return utf8.RuneError
			}
			return r
		}, strings.ToValidUTF8(s, string(utf8.RuneError)))
	}
	if len(s) > longest {
		s = table.Shorten(s, longest)
	}
	return s
}

// linkTo is a link whose text is cut to what a link may hold.
func linkTo(text, sheet string, column, row int, s table.Style) table.Cell {
	return table.Link(table.Shorten(legible(text), table.MaxLiteral), table.At{Column: column, Row: row}.On(sheet), s)
}

// ref is an absolute reference to a cell of another sheet.
func ref(sheet string, column, row int) string { return table.At{Column: column, Row: row}.On(sheet) }

// span is an absolute reference to part of a column of another sheet.
func span(sheet string, column, first, last int) string {
	return table.Cells(column, first, column, last).On(sheet)
}

// cell is a relative reference within the sheet.
func cell(column, row int) string { return table.At{Column: column, Row: row}.String() }
