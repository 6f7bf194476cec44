package export

import (
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"wraptally/export/table"
)

// No number or day of the workbook is too wide for its column: it would be
// printed as ###, and a storeman cannot count that.
func TestNoNumberTooWide(t *testing.T) {
	p := trial{path: "../testdata/surveys/campaign.csv", sets: []string{"cut.work_units=2000000", "order.rechoose=no"}}.run(t)
	numbers := 0
	for _, b := range Books(p, Options{}, "campaign.xlsx") {
		for _, s := range b.make().Sheets {
			at := 0
			for row := range s.Rows {
				at++
				for _, c := range row.Cells {
					if c.Kind == table.KindNumber || c.Kind == table.KindFormulaNum {
						numbers++
					}
				}
				for _, col := range tooNarrow(s.Columns, &row) {
					t.Errorf("%s %s: %s is wider than its column of %.1f characters", s.Name, table.At{Column: col, Row: at}, shownNumber(&row.Cells[col-1]), s.Columns[col-1].Width)
				}
			}
		}
	}
	if numbers < 1000 {
		t.Errorf("only %d numbers looked at", numbers)
	}
}

func TestTooNarrow(t *testing.T) {
	for want, c := range map[string]table.Cell{
		"1,234,567.50": table.Num(1234567.5, table.Style{Format: table.Money(2)}), "-999": table.Num(-999, table.Style{Format: table.Number(0)}), "-1,000.0": table.Num(-1000, table.Style{Format: table.Number(1)}),
		"7.5 %": table.Num(0.075, table.Style{Format: table.Percent(1)}), "2026-03-01": table.Num(46082, table.Style{Format: table.Date}),
	} {
		if got := shownNumber(&c); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	columns := []table.Column{{Width: 8}, {Width: 8}, {Width: 8}, {Width: 12}, {Width: 8}, {Width: 8}}
	money := table.Style{Format: table.Money(2)}
	row := table.Row{Cells: []table.Cell{
		table.Num(1234567.5, money), table.Num(12.5, money), table.Text("long text is not a number", table.Style{}), table.Num(1e7, table.Style{Format: table.Number(0)}), table.Num(1234567.5, money), table.Empty(money)},
		Merge: []table.Span{{First: 5, Last: 6}}}
	if got := tooNarrow(columns, &row); len(got) != 1 || got[0] != 1 {
		t.Errorf("too narrow: %v", got)
	}
}

// tooNarrow lists the cells of a row (from 1) whose number or day would show as
// ### because the column is not wide enough. Text never shows so, and a number
// without a format is shortened instead.
func tooNarrow(columns []table.Column, row *table.Row) (cells []int) {
	for i := range row.Cells {
		c := &row.Cells[i]
		number := c.Kind == table.KindNumber || c.Kind == table.KindFormulaNum
		if !number || c.Style.Format == table.General || c.Style.Format == table.Literal {
			continue
		}
		last := i + 1
		for _, m := range row.Merge {
			if m.First == i+1 {
				last = m.Last
			}
		}
		text := shownNumber(c)
		if c.Style.Look == table.Input {
			text = "» " + text
		}
		if c.Style.Format != table.Date {
			text += ")" // the gap after a number is as wide as a bracket
		}
		const slack, bold = 1.04, 1.08 // lines are measured with the first; bold text is wider by the second
		size, heavy := c.Style.Look.Size()
		room := slack * table.CellWidth(math.Ceil(totalWidth(columns, i+1, last)*100)/100)
		if heavy {
			room /= bold
		}
		unbroken := strings.NewReplacer(" ", "\u00a0", "-", "\u2010").Replace(text) // equally wide
		if table.Lines(unbroken, room, size) > 1 {
			cells = append(cells, i+1)
		}
	}
	return cells
}

// shownNumber is the text that a spreadsheet shows for a number in its format.
func shownNumber(c *table.Cell) string {
	n, _ := c.Style.Format.Decimals()
	switch {
	case c.Style.Format == table.Date:
		return time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC).AddDate(0, 0, int(c.Num)).Format(time.DateOnly)
	case c.Style.Format.IsPercent():
		return strconv.FormatFloat(100*c.Num, 'f', n, 64) + " %"
	}
	whole, fraction, _ := strings.Cut(strconv.FormatFloat(math.Abs(c.Num), 'f', n, 64), ".")
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + "," + whole[i:]
	}
	if n > 0 {
		whole += "." + fraction
	}
	if c.Num < 0 {
		whole = "-" + whole
	}
	return whole
}
