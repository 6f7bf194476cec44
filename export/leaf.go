package export

import (
	"fmt"
	"iter"
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"wraptally/export/table"
)

// leaf gathers the rows of a sheet that is small enough to be held, all of the
// same number of columns.
type leaf struct {
	table.Rows
	name    string
	columns []table.Column
	checks  []table.Condition
	failed  int // checks that do not hold as it is written
	open    []table.Validation
	head    int // row of the heads of its first table
}

// The styles of figures that are shown and given (an input).
func shown(f table.Format) table.Style { return table.Style{Look: table.Body, Format: f} }
func given(f table.Format) table.Style { return table.Style{Look: table.Input, Format: f} }

// byHandStyle is that of a number that is worked out and may be set by hand.
var byHandStyle = table.Style{Look: table.ByHand, Format: table.Number(0)}

// nameWidth is the width of a column of repairs' names; the longest go over two
// lines.
const nameWidth = 20

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

// decimalsOf is quantityFormat of a decimal.
func decimalsOf(v decimal.Decimal) table.Format { return quantityFormat(v.InexactFloat64()) }

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

// begin places a table under what the leaf holds, its heads first.
func begin[T any](l *leaf, t *table.Table[T], rows int) {
	if l.head == 0 {
		l.head = l.Next()
	}
	t.Place(l.Next(), rows)
	l.AddRow(t.Head())
}

// put adds a row with the next value of the table.
func put[T any](l *leaf, t *table.Table[T], v T) { l.AddRow(t.Row(l.Next(), v)) }

// section is a table with a heading over it, or a note, if one
// is given, where it has no rows.
func section[T any](l *leaf, heading string, t *table.Table[T], rows []T, none string) {
	l.heading(heading)
	if len(rows) == 0 && none != "" {
		l.note(none)
		return
	}
	list(l, t, rows)
}

// list places a table and writes all its rows.
func list[T any](l *leaf, t *table.Table[T], rows []T) {
	begin(l, t, len(rows))
	for _, v := range rows {
		put(l, t, v)
	}
}

// writeDay writes a day, or in its place what is said where there is none.
func writeDay(p pen, day time.Time, none string) {
	if day.IsZero() {
		p.As(table.TextStyle).By("").Text(none)
		return
	}
	p.Day(day)
}

// then are the rows of the leaf and after them the values of a table, whose rows
// are not held.
func then[T any](l *leaf, t *table.Table[T], values []T) iter.Seq[table.Row] {
	return inTurn(l.All(), func(yield func(table.Row) bool) { t.Stream(slices.Values(values), yield) })
}

// inTurn yields the rows of one after those of the other.
func inTurn(all ...iter.Seq[table.Row]) iter.Seq[table.Row] {
	return func(yield func(table.Row) bool) {
		for _, rows := range all {
			for row := range rows {
				if !yield(row) {
					return
				}
			}
		}
	}
}

// foot writes the label of a row of totals.
func foot(text string) func(pen) { return func(p pen) { p.Text(text) } }

// pen writes a cell of a table.
type pen = *table.Pen

// amount is a number of the workbook: how a formula refers to it, and what it is.
type amount struct {
	src   string
	value decimal.Decimal
}

// total is the amount in the foot of a column.
func total(r table.Ref) amount { return amount{r.Foot().String(), r.Sum()} }

// adds writes whether two amounts are the same, to half of the smallest unit of
// so many decimals. The cell stands out when they are not.
func (l *leaf) adds(p pen, a, b amount, decimals int32) {
	half := decimal.New(5, -decimals-1)
	l.verdict(p, a.value.Sub(b.value).Abs().LessThan(half), fmt.Sprintf("ABS((%s)-(%s))<%s", a.src, b.src, half), addsUp, doesNotAdd)
}

// verdict writes the one word or the other, as the formula and ok, which is its
// value, say.
func (l *leaf) verdict(p pen, ok bool, formula, right, wrong string) {
	l.checks = append(l.checks, alarmAt(table.One(p.At())))
	word := wrong
	if ok {
		word = right
	} else {
		l.failed++
	}
	p.As(table.CheckStyle).Formula("IF(%s,%q,%q)", formula, right, wrong).Text(word)
}

// wrong is what may be wrong with a row: when it is, as a formula and as a value,
// and what is then said.
type wrong struct {
	when string
	is   bool
	says string
}

// lookAt writes what is wrong with the row of a thing, the first of several, or
// that it is in order.
func (l *leaf) lookAt(p pen, thing string, wrongs ...wrong) {
	l.checks = append(l.checks, alarmAt(table.One(p.At())))
	formula, word := fmt.Sprintf("%q", inOrder), inOrder
	for i := len(wrongs) - 1; i >= 0; i-- {
		w := &wrongs[i]
		says := checkMark + fitLines(strings.ReplaceAll(thing, `"`, "''"), 40, 1) + ": " + w.says
		formula = fmt.Sprintf(`IF(%s,"%s",%s)`, w.when, says, formula)
		if w.is {
			word = says
		}
	}
	if word != inOrder {
		l.failed++
	}
	p.As(table.CheckStyle.Wrapped()).Formula("%s", formula).Text(word)
}

// notGiven are what is wrong with a number that must be there and, but where it may
// be nothing, be above 0.
func notGiven(cell string, v decimal.Decimal, mayBeNothing bool, what string) []wrong {
	out := []wrong{{"NOT(ISNUMBER(" + cell + "))", false, "no " + what}, {cell + "<0", v.IsNegative(), what + " below 0"}}
	if !mayBeNothing {
		out = append(out, wrong{cell + "=0", v.IsZero(), what + " 0"})
	}
	return out
}

// failing counts the checks of the leaf that do not hold, as a formula.
func (l *leaf) failing() string {
	rows := map[int]table.Span{}
	for _, c := range l.checks {
		at := c.Area.First
		s, ok := rows[at.Column]
		if !ok {
			s = table.Span{First: at.Row, Last: at.Row}
		}
		rows[at.Column] = table.Span{First: min(s.First, at.Row), Last: max(s.Last, at.Row)}
	}
	var counts []string
	for _, column := range slices.Sorted(maps.Keys(rows)) {
		area := table.Cells(column, rows[column].First, column, rows[column].Last).On(l.name)
		counts = append(counts, fmt.Sprintf("COUNTIF(%s,%q)", area, checkMark+"*"))
	}
	return strings.Join(counts, "+")
}

// The words of a check.
const (
	checkMark   = "CHECK "
	inOrder     = "in order"
	addsUp      = "adds up"
	doesNotAdd  = checkMark + "does not add up"
	coveredText = "covered"
	shortText   = checkMark + "SHORT"
)

// alarmAt makes a cell stand out that says that something is wrong.
func alarmAt(area table.Area) table.Condition {
	first := area.First.String()
	return table.Condition{Area: area, Formula: fmt.Sprintf("LEFT(%s,%d)=%q", first, len(checkMark), checkMark), Show: table.Alarm}
}

// sheet is the finished leaf.
func (l *leaf) sheet(page table.Page) *table.Sheet {
	return &table.Sheet{Name: l.name, Columns: l.columns, Rows: l.All(), Page: page, Conditions: l.checks, Validations: l.open}
}

// headed is the finished leaf of one table, whose heads and first columns stay in
// sight and whose heads are repeated on every printed page.
func (l *leaf) headed(page table.Page, columns int) *table.Sheet {
	s := l.sheet(page)
	s.FreezeRows, s.FreezeColumns, s.TitleRows = l.head, columns, table.Span{First: l.head, Last: l.head}
	return s
}

// widths makes columns of which only the widths matter.
func widths(w ...float64) []table.Column {
	out := make([]table.Column, len(w))
	for i := range w {
		out[i].Width = w[i]
	}
	return out
}

// legible is text from outside as a cell can hold it.
func legible(s string) string { return table.Legible(s) }

// ref is an absolute reference to a cell of another sheet.
func ref(sheet string, column, row int) string { return table.At{Column: column, Row: row}.On(sheet) }

// cell is a relative reference within the sheet.
func cell(column, row int) string { return table.At{Column: column, Row: row}.String() }
