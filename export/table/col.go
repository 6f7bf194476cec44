package table

import (
	"fmt"
	"iter"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/shopspring/decimal"
)

// A Col is a column of a table whose rows show values of type T: all there is to
// say of it stands here. Add it to a Table and keep the Ref where a formula or a
// link of another column, table or sheet needs it.
type Col[T any] struct {
	Title string // the column's head; none leaves it empty
	Unit  string // under the title, "mm"
	Width float64
	Style Style // of its cells; the head is set over them
	Span  int   // columns of the sheet it lies over; 0 is one
	// Cell writes the cell of a row. What it leaves unwritten is an empty cell
	// in the column's style.
	Cell func(p *Pen, v T)
	// Sums says that the numbers of the column are added up, for Ref.Sum and for
	// its cell of the row of totals.
	Sums bool
	// Foot writes the column's cell of the row of totals, where that is something
	// else than the sum.
	Foot func(p *Pen)
}

// A Table is a head of columns with rows beneath it, on a sheet that may hold
// several.
type Table[T any] struct {
	place *place
	cols  []Col[T]
	refs  []Ref
	merge []Span
	wide  int
	pen   Pen
}

// place is where a table stands. It is known once its head is placed.
type place struct {
	sheet      string
	head, rows int
	sums       map[int]decimal.Decimal // by column, of those added up
}

// NewTable begins a table on a sheet, in the sheet's first column.
func NewTable[T any](sheet string) *Table[T] { return NewTableAt[T](sheet, 1) }

// NewTableAt begins a table in the given column of a sheet.
func NewTableAt[T any](sheet string, column int) *Table[T] {
	t := &Table[T]{place: &place{sheet: sheet, sums: map[int]decimal.Decimal{}}, wide: column - 1}
	t.pen.place = t.place
	return t
}

// Add puts a column at the right of those there are.
func (t *Table[T]) Add(c Col[T]) Ref {
	r := Ref{t.place, t.wide + 1}
	t.cols, t.refs = append(t.cols, c), append(t.refs, r)
	t.wide += max(1, c.Span)
	if c.Span > 1 {
		t.merge = append(t.merge, Span{r.column, t.wide})
	}
	return r
}

// Columns are the columns of the sheet as the table has them; only their widths
// are set. A column that lies over several gives each its part of the width.
func (t *Table[T]) Columns() []Column {
	out := make([]Column, t.wide)
	for i, c := range t.cols {
		n := max(1, c.Span)
		for k := range n {
			out[t.refs[i].column-1+k].Width = c.Width / float64(n)
		}
	}
	return out
}

// Wide is the last column of the sheet that the table lies over.
func (t *Table[T]) Wide() int { return t.wide }

// Place says in which row the heads stand and how many rows follow.
func (t *Table[T]) Place(head, rows int) { t.place.head, t.place.rows = head, rows }

// HeadRow and First are the rows of the heads and of the first value; Last is
// that of the last value, First where there is none, so that ranges over the
// rows are never empty.
func (t *Table[T]) HeadRow() int { return t.place.head }
func (t *Table[T]) First() int   { return t.place.head + 1 }
func (t *Table[T]) Last() int    { return t.place.last() }

func (p *place) last() int { return p.head + max(1, p.rows) }

// Area is the table with its heads, for filter buttons.
func (t *Table[T]) Area() Area {
	return Cells(t.refs[0].column, t.place.head, t.wide, t.place.last())
}

// Head is the row of heads: each title with its unit under it, set as the cells
// under it are.
func (t *Table[T]) Head() Row {
	cells := make([]Cell, t.wide)
	for i := range t.cols {
		c := &t.cols[i]
		text := c.Title
		if c.Unit != "" {
			text += "\n(" + c.Unit + ")"
		}
		for k := range max(1, c.Span) {
			cells[t.refs[i].column-1+k] = Empty(HeadStyle)
		}
		if text != "" {
			cells[t.refs[i].column-1] = Text(text, HeadStyle.To(headAlign(c.Style)))
		}
	}
	return Row{Cells: cells, Merge: t.merge}
}

// Row shows a value in the given row of the sheet.
func (t *Table[T]) Row(row int, v T) Row {
	return t.fill(make([]Cell, t.wide), row, v)
}

// Move makes a row that shows a value one of another row of the sheet: its formulas
// are written anew.
func (t *Table[T]) Move(row *Row, to int, v T) {
	for i := range t.cols {
		c, at := &t.cols[i], t.refs[i].column
		if cell := &row.Cells[at-1]; cell.Kind == KindFormulaNum || cell.Kind == KindFormulaText {
			t.pen.to(cell, At{at, to}, c.Style)
			c.Cell(&t.pen, v)
		}
	}
}

// Stream shows the values in the rows from First on, each in the same cells as
// the one before, so that nothing is held of what is written. It reports whether
// all were taken.
func (t *Table[T]) Stream(values iter.Seq[T], yield func(Row) bool) bool {
	cells, row := make([]Cell, t.wide), t.First()
	for v := range values {
		if !yield(t.fill(cells, row, v)) {
			return false
		}
		row++
	}
	return true
}

func (t *Table[T]) fill(cells []Cell, row int, v T) Row {
	for i := range t.cols {
		c, at := &t.cols[i], t.refs[i].column
		for k := range max(1, c.Span) {
			cells[at-1+k] = Empty(c.Style)
		}
		if c.Cell == nil {
			continue
		}
		t.pen.to(&cells[at-1], At{at, row}, c.Style)
		c.Cell(&t.pen, v)
		if k := cells[at-1].Kind; c.Sums && (k == KindNumber || k == KindFormulaNum) {
			t.place.sums[at] = t.place.sums[at].Add(decimal.NewFromFloat(cells[at-1].Num))
		}
	}
	return Row{Cells: cells, Merge: t.merge}
}

// Foot is the row of totals, in the given look. It stands right under the last
// value.
func (t *Table[T]) Foot(l Look) Row {
	cells := make([]Cell, t.wide)
	for i := range cells {
		cells[i] = Empty(Style{Look: l})
	}
	for i := range t.cols {
		c, at := &t.cols[i], t.refs[i]
		s := Style{Look: l}
		if _, isNumber := c.Style.Format.Decimals(); isNumber {
			s.Format = c.Style.Format
		}
		t.pen.to(&cells[at.column-1], at.Foot(), s)
		switch {
		case c.Foot != nil:
			c.Foot(&t.pen)
		case c.Sums:
			t.pen.sum()
		}
	}
	return Row{Cells: cells, Merge: t.merge}
}

// Line is a row of the table's shape that shows no value of it, up to a last
// column: empty in the style but for what write puts in the columns it names.
func (t *Table[T]) Line(row int, last Ref, s Style, write func(in func(Ref) *Pen)) Row {
	cells := make([]Cell, last.column)
	for i := range cells {
		cells[i] = Empty(s)
	}
	write(func(r Ref) *Pen {
		t.pen.to(&cells[r.column-1], r.In(row), s)
		return &t.pen
	})
	return Row{Cells: cells}
}

// A Ref is a column of a table on a sheet, by which formulas and links name it.
type Ref struct {
	on     *place
	column int
}

// Column is the number of the column on its sheet.
func (r Ref) Column() int { return r.column }

// In is the cell of a row of the sheet.
func (r Ref) In(row int) At { return At{r.column, row} }

// On refers to the cell of a row from any sheet.
func (r Ref) On(row int) string { return r.In(row).On(r.on.sheet) }

// Nth refers to the cell of the i-th value, from 0, from any sheet; to nothing
// where the workbook has no such table.
func (r Ref) Nth(i int) string {
	if r.on == nil {
		return ""
	}
	return r.On(r.on.head + 1 + i)
}

// Some refers to n cells from the i-th value, from 0, on, from any sheet.
func (r Ref) Some(i, n int) string {
	return r.Part(r.on.head+1+i, r.on.head+i+n).On(r.on.sheet)
}

// Part is the part of the column from row to row.
func (r Ref) Part(first, last int) Area { return Cells(r.column, first, r.column, last) }

// Rows is the part of the column that holds values.
func (r Ref) Rows() Area { return r.Part(r.on.head+1, r.on.last()) }

// Range refers to the part of the column that holds values from its own sheet,
// as "B2:B9" also where it is one cell.
func (r Ref) Range() string { return r.In(r.on.head+1).String() + ":" + r.In(r.on.last()).String() }

// All refers to the part of the column that holds values from any sheet.
func (r Ref) All() string { return r.Rows().On(r.on.sheet) }

// Head is the cell of its title, on its sheet.
func (r Ref) Head() string { return r.On(r.on.head) }

// Foot is the cell under the last value.
func (r Ref) Foot() At { return r.In(r.on.last() + 1) }

// Sum is the sum of the numbers written so far, of a column that is added up.
func (r Ref) Sum() decimal.Decimal { return r.on.sums[r.column] }

// A Pen writes one cell of a table: p.Text("a"), or with the formula that gives
// the value, p.Formula("%v*%v", count, price).Dec(cost).
type Pen struct {
	place *place
	cell  *Cell
	at    At
	style Style
	src   string
	wrong string // with the formula
}

func (p *Pen) to(c *Cell, at At, s Style) { p.cell, p.at, p.style, p.src, p.wrong = c, at, s, "", "" }

// At is the place of the cell; Row is its row.
func (p *Pen) At() At   { return p.at }
func (p *Pen) Row() int { return p.at.Row }

// Beside refers to the cell of another column in this row.
func (p *Pen) Beside(r Ref) string { return r.In(p.at.Row).String() }

// Style is what the pen writes in.
func (p *Pen) Style() Style { return p.style }

// As writes in another style than the column's.
func (p *Pen) As(s Style) *Pen { p.style = s; return p }

// In writes in another format than the column's.
func (p *Pen) In(f Format) *Pen { p.style.Format = f; return p }

// Formula gives the formula of the value that is written next. It is a format of
// package fmt, in which a Ref stands for the cell of that column in this row.
func (p *Pen) Formula(format string, args ...any) *Pen {
	for i, a := range args {
		r, ok := a.(Ref)
		switch {
		case ok && r.on == p.place:
			args[i] = r.In(p.at.Row)
		case ok:
			p.wrong = fmt.Sprintf("column %s of sheet %q stands in a formula without its row", ColumnName(r.column), r.on.sheet)
		}
	}
	return p.By(fmt.Sprintf(format, args...))
}

// By gives the formula of the value that is written next as it is.
func (p *Pen) By(src string) *Pen { p.src = src; return p }

// sum writes the sum of the column's values.
func (p *Pen) sum() {
	r := Ref{p.place, p.at.Column}
	if p.place.rows > 0 {
		p.Formula("SUM(%s)", r.Range())
	}
	p.Dec(r.Sum())
}

func (p *Pen) put(c Cell, asFormula Kind) {
	if p.src != "" {
		c = formula(p.src, c, asFormula)
	}
	if p.wrong != "" {
		c = fault(p.style, "%s", p.wrong)
	}
	*p.cell = c
}

// Int, Num, Dec and Day write what the functions of these names make.
func (p *Pen) Int(v int)             { p.put(Int(v, p.style), KindFormulaNum) }
func (p *Pen) Num(v float64)         { p.put(Num(v, p.style), KindFormulaNum) }
func (p *Pen) Dec(v decimal.Decimal) { p.put(Dec(v, p.style), KindFormulaNum) }
func (p *Pen) Day(v time.Time)       { p.put(Day(v, p.style), KindFormulaNum) }

// Text writes text, made legible.
func (p *Pen) Text(text string) { p.put(Text(Legible(text), p.style), KindFormulaText) }

// Link writes text that leads to a place of the workbook, cut to what a link may
// hold.
func (p *Pen) Link(text, target string) {
	*p.cell = Link(Shorten(Legible(text), MaxLiteral), target, p.style)
}

// File writes text that leads to another file of the same folder.
func (p *Pen) File(text, file string) {
	*p.cell = FileLink(Shorten(Legible(text), MaxLiteral), file, p.style)
}

// longest is how much of one text from outside a cell shows.
const longest = 2000

// Legible is text from outside as a cell can hold it: what no cell may hold is
// shown as a replacement mark, and text beyond reason is shortened with an
// ellipsis.
func Legible(s string) string {
	bad := func(r rune) bool { return r != '\n' && unicode.IsControl(r) || r == 0xFFFE || r == 0xFFFF }
	clean := true
	for _, r := range s {
		if r == utf8.RuneError || bad(r) {
			clean = false
			break
		}
	}
	if !clean {
		s = strings.Map(func(r rune) rune {
			if bad(r) {
				return utf8.RuneError
			}
			return r
		}, strings.ToValidUTF8(s, string(utf8.RuneError)))
	}
	if len(s) > longest {
		s = Shorten(s, longest)
	}
	return s
}
