package catalog

import (
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/shopspring/decimal"

	"wraptally/estimate/trace"
)

// loaded is a table after reading: its rows and where each cell stands.
type loaded struct {
	def    *tableDef
	grid   *grid
	rows   reflect.Value // the slice of rows
	at     []int         // for each column, its index in the grid; -1 where missing
	bad    map[[2]int]bool
	broken bool // the file or a column is missing
}

// sound reports whether every cell was read.
func (l *loaded) sound() bool { return !l.broken && len(l.bad) == 0 }

// usable reports whether a cell was read; its value may be looked at.
func (l *loaded) usable(row, col int) bool { return !l.broken && !l.bad[[2]int{row, col}] }

// cell is the text cell behind a row and column.
func (l *loaded) cell(row, col int) cell {
	cells := l.grid.rows[row]
	if at := l.at[col]; at >= 0 && at < len(cells) {
		return cells[at]
	}
	return cell{line: cells[0].line, column: cells[len(cells)-1].column, from: cells[0].from}
}

// value is the decoded field behind a row and column.
func (l *loaded) value(row, col int) reflect.Value {
	return l.rows.Index(row).Field(l.def.cols[col].field)
}

// len is the number of rows that were read.
func (l *loaded) len() int {
	if l.grid == nil {
		return 0
	}
	return len(l.grid.rows)
}

// place is where a cell stands.
func (l *loaded) place(row, col int) trace.Place {
	return l.grid.at(l.cell(row, col), l.def.cols[col].name)
}

// placeOf is where the cell of a named column stands.
func (l *loaded) placeOf(row int, column string) trace.Place {
	return l.place(row, l.def.column(column))
}

// decode turns a grid into the rows of a table, in the field of holder that
// declares it. Every cell that cannot be read is a fault; its field keeps the
// zero value and later checks pass over it.
func decode(def *tableDef, g *grid, holder any, faults *Faults) *loaded {
	slice := reflect.ValueOf(holder).Elem().Field(def.field)
	l := &loaded{def: def, grid: g, rows: slice, bad: map[[2]int]bool{}}
	if g == nil {
		l.broken = true
		return l
	}
	l.findColumns(faults)
	l.broken = l.broken || g.torn
	if len(g.rows) == 0 && !def.empty && !g.torn {
		faults.add(g.place, "table-empty", "", "the table has no row", "put in at least one row, or leave the file out to use the built-in table")
		l.broken = true
	}
	slice.Set(reflect.MakeSlice(slice.Type(), len(g.rows), len(g.rows)))
	for row, cells := range g.rows {
		for i := len(g.head); i < len(cells); i++ {
			if strings.TrimSpace(cells[i].text) != "" {
				faults.add(g.at(cells[i], ""), "cell-surplus", cells[i].text, fmt.Sprintf("the row has a cell beyond the %d columns of the table", len(g.head)), "put a cell with a comma between quotes, or take the cell out")
				break
			}
		}
		for col, spec := range def.cols {
			if l.at[col] < 0 {
				continue
			}
			cl := l.cell(row, col)
			if g.fromSheet && spec.mixed {
				cl.text = plainNumber(strings.TrimSpace(cl.text))
			}
			if code, message, advice := setField(l.value(row, col), cl.text, spec.optional, g.fromSheet); code != "" {
				if code == "cell-blank" && len(spec.words) > 0 {
					advice = "write one of " + strings.Join(spec.words, ", ")
				}
				l.bad[[2]int{row, col}] = true
				faults.add(l.place(row, col), code, cl.text, spec.name+" "+message, advice)
			}
		}
	}
	return l
}

// findColumns matches the headings with the fields: each field once, nothing else.
func (l *loaded) findColumns(faults *Faults) {
	g, others := l.grid, []int(nil)
	l.at = make([]int, len(l.def.cols))
	names := make([]string, len(l.def.cols))
	for i, spec := range l.def.cols {
		l.at[i] = -1
		names[i] = spec.name
	}
	for i, h := range g.head {
		heading := strings.TrimSpace(h.text)
		col := slices.Index(names, heading)
		switch {
		case col < 0 && heading == "":
			if g.columnUsed(i) {
				faults.add(g.at(h, ""), "column-unnamed", "", "a column that holds cells has no name", "name it or take it out")
			}
		case col < 0:
			others = append(others, i)
		case l.at[col] >= 0:
			faults.add(g.at(h, heading), "column-duplicate", heading, "the column stands in the table twice", "take one out")
			l.broken = true
		default:
			l.at[col] = i
		}
	}
	var missing []string
	for i, spec := range l.def.cols {
		if l.at[i] < 0 {
			missing = append(missing, spec.name)
		}
		switch {
		case l.at[i] >= 0:
		case !spec.optional:
			faults.add(g.at(g.head[0], spec.name), "column-missing", "", fmt.Sprintf("the column %s is missing from the table %s", spec.name, l.def.name), "add it; `wraptally catalog -o DIR` writes a pattern")
			l.broken = true
		case !l.def.lax:
			faults.note(g.at(g.head[0], spec.name), "column-left-out", "", fmt.Sprintf("the column %s is missing from the table %s; it is taken as blank in every row", spec.name, l.def.name), "add it if something is to stand in it")
		}
	}
	// what is nearly the name of a missing column is a slip; the rest is the firm's own
	for _, i := range others {
		h, heading := g.head[i], strings.TrimSpace(g.head[i].text)
		if near := nearest(heading, missing); near != "" {
			faults.add(g.at(h, heading), "column-unknown", heading, "no column of that name in the table "+l.def.name, fmt.Sprintf("is %q meant?", near))
			l.broken = true
			continue
		}
		faults.note(g.at(h, heading), "column-own", heading, "a column of the firm's own in the table "+l.def.name+"; it is not read", "nothing, unless it should be one of "+strings.Join(names, ", "))
	}
}

// columnUsed reports whether any row has something in the column.
func (g *grid) columnUsed(col int) bool {
	for _, cells := range g.rows {
		if col < len(cells) && strings.TrimSpace(cells[col].text) != "" {
			return true
		}
	}
	return false
}

// setField puts a cell into a field; code is empty where that went well.
func setField(f reflect.Value, text string, optional, fromSheet bool) (code, message, advice string) {
	if code, message, advice = checkText(text); code != "" {
		return code, message, advice
	}
	text = strings.TrimSpace(text)
	if text == "" {
		if optional {
			return "", "", ""
		}
		return "cell-blank", "is blank", "fill it in"
	}
	switch {
	case f.Type() == decimalType || f.Type() == knownType:
		d, err := parseDecimal(text, fromSheet)
		if err != nil {
			return "number-bad", "is not a number", err.Error()
		}
		if f.Type() == knownType {
			f.Set(reflect.ValueOf(decimal.NewNullDecimal(d)))
		} else {
			f.Set(reflect.ValueOf(d))
		}
	case f.Type() == timeType:
		d, err := time.Parse(time.DateOnly, text)
		if err != nil || !PlausibleDate(d) {
			return "date-bad", "is not a date from 1900 to 2200", "write it as 2027-03-01"
		}
		f.Set(reflect.ValueOf(d))
	case f.Kind() == reflect.Float64:
		v, err := parseFloat(text, fromSheet)
		if err != nil {
			return "number-bad", "is not a number", err.Error()
		}
		f.SetFloat(v)
	case f.Kind() == reflect.Int:
		v, err := parseInt(text, fromSheet)
		if err != nil {
			return "number-bad", "is not a whole number", err.Error()
		}
		f.SetInt(int64(v))
	case f.Kind() == reflect.Bool:
		if text != "yes" && text != "no" {
			return "word-unknown", "is neither yes nor no", "write yes or no"
		}
		f.SetBool(text == "yes")
	case f.Kind() == reflect.String:
		f.SetString(text)
	default:
		panic("catalog: no decoder for " + f.Type().String())
	}
	return "", "", ""
}

// checkText refuses what no output could carry.
func checkText(text string) (code, message, advice string) {
	if !utf8.ValidString(text) {
		return "text-encoding", "is not UTF-8 text", "save the table in UTF-8"
	}
	if utf8.RuneCountInString(text) > maxCellRunes {
		return "text-too-long", fmt.Sprintf("is longer than %d characters", maxCellRunes), "shorten it"
	}
	for _, r := range text {
		if unicode.IsControl(r) || r == '\ufeff' || r == '\ufffd' {
			return "text-control", "holds a control character or line break", "take it out"
		}
	}
	return "", "", ""
}

// maxDigits caps a number's length; exact decimals grow with every digit.
const maxDigits = 30

// numberForm checks that text is [-]digits[.digits], the one form accepted:
// decimal point, no exponent, no thousands separator.
func numberForm(text string) error {
	if len(text) > maxDigits {
		return fmt.Errorf("write it with at most %d characters", maxDigits)
	}
	if strings.Contains(text, ",") {
		return fmt.Errorf("write a decimal point and no thousands separator")
	}
	whole, part, point := strings.Cut(strings.TrimPrefix(text, "-"), ".")
	if !digits(whole) || point && !digits(part) {
		return fmt.Errorf("write digits with a decimal point, such as 12.5, and no unit, blank or exponent")
	}
	return nil
}

// digits reports whether s is one or more ASCII digits.
func digits(s string) bool {
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return s != ""
}

var pointAndSign = strings.NewReplacer(".", "", "-", "")

// plainNumber rewrites a number as spreadsheets store it (1.1000000000000001,
// 6.0000000000000002E-5) with the 15 digits that the user saw.
func plainNumber(text string) string {
	if len(text) > maxDigits {
		return text
	}
	if significant := pointAndSign.Replace(text); digits(significant) && len(significant) <= 15 {
		return text // nothing to repair
	}
	if strings.Trim(text, "0123456789.-+eE") != "" {
		return text // a word, or a form that ParseFloat takes and the catalogue does not
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return text
	}
	v, err = strconv.ParseFloat(strconv.FormatFloat(v, 'g', 15, 64), 64)
	if err != nil {
		return text
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// parseDecimal reads an exact decimal.
func parseDecimal(text string, fromSheet bool) (decimal.Decimal, error) {
	if fromSheet {
		text = plainNumber(text)
	}
	if err := numberForm(text); err != nil {
		return decimal.Decimal{}, err
	}
	return decimal.NewFromString(text)
}

// parseFloat reads a finite number.
func parseFloat(text string, fromSheet bool) (float64, error) {
	if fromSheet {
		text = plainNumber(text)
	}
	if err := numberForm(text); err != nil {
		return 0, err
	}
	return strconv.ParseFloat(text, 64)
}

// parseInt reads a whole number of at most nine digits, which every int holds.
func parseInt(text string, fromSheet bool) (int, error) {
	if fromSheet {
		text = plainNumber(text)
	}
	if err := numberForm(text); err != nil {
		return 0, err
	}
	if strings.Contains(text, ".") {
		return 0, fmt.Errorf("write a whole number")
	}
	if len(strings.TrimPrefix(text, "-")) > 10 {
		return 0, fmt.Errorf("write a number of at most ten digits")
	}
	v, err := strconv.Atoi(text)
	if err != nil || v > 2_000_000_000 || v < -2_000_000_000 {
		return 0, fmt.Errorf("write a number of at most 2000000000")
	}
	return v, nil
}

// PlausibleDate reports whether a date is one that goods or work can have: years
// outside 1900 to 2200 are slips of the pen.
func PlausibleDate(t time.Time) bool { return t.Year() >= 1900 && t.Year() <= 2200 }
