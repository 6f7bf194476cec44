package export

import (
	"testing"

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
				for _, col := range table.TooNarrow(s.Columns, &row) {
					c := &row.Cells[col-1]
					t.Errorf("%s %s: %s needs %.1f characters, the column has %.1f", s.Name, table.At{Column: col, Row: at}, table.Shown(c), table.ColumnFor(c), s.Columns[col-1].Width)
				}
			}
		}
	}
	if numbers < 1000 {
		t.Errorf("only %d numbers looked at", numbers)
	}
}
