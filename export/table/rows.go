package table

import "iter"

// Rows collects the rows of a small sheet and tells their numbers, which the
// formulas of other rows need. Large sheets yield their rows instead.
type Rows struct{ rows []Row }

// Next is the number that the next row will have.
func (r *Rows) Next() int { return len(r.rows) + 1 }

// Add puts a row of cells at the end and returns its number.
func (r *Rows) Add(cells ...Cell) int { return r.AddRow(Row{Cells: cells}) }

// AddRow puts a row at the end and returns its number.
func (r *Rows) AddRow(row Row) int {
	r.rows = append(r.rows, row)
	return len(r.rows)
}

// Blank leaves n rows free.
func (r *Rows) Blank(n int) {
	for range n {
		r.rows = append(r.rows, Row{})
	}
}

// Row gives access to a row already added, to fill in what was not known then.
func (r *Rows) Row(number int) *Row { return &r.rows[number-1] }

// All yields the rows in order; it is what a Sheet's Rows wants.
func (r *Rows) All() iter.Seq[Row] {
	return func(yield func(Row) bool) {
		for i := range r.rows {
			if !yield(r.rows[i]) {
				return
			}
		}
	}
}

// HeadRow is the row of column heads: each title with its unit under it.
func HeadRow(columns []Column) Row {
	cells := make([]Cell, len(columns))
	for i, c := range columns {
		text := c.Title
		if c.Unit != "" {
			text += "\n(" + c.Unit + ")"
		}
		cells[i] = Text(text, HeadStyle.To(headAlign(c.Style)))
	}
	return Row{Cells: cells}
}

// headAlign sets a head over its numbers.
func headAlign(s Style) Align {
	if s.Align != Auto {
		return s.Align
	}
	if _, isNumber := s.Format.Decimals(); isNumber {
		return Right
	}
	return Left
}

// Spread is a row with one wrapped cell of text over several columns.
func Spread(text string, s Style, columns int) Row {
	cells := make([]Cell, columns)
	for i := range cells {
		cells[i] = Empty(s)
	}
	if columns > 0 {
		cells[0] = Text(text, s.Wrapped())
	}
	row := Row{Cells: cells}
	if columns > 1 {
		row.Merge = []Span{{First: 1, Last: columns}}
	}
	return row
}
