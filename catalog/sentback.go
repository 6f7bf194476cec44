package catalog

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"

	"wraptally/estimate/trace"
)

// sentBack is a form that went out to be filled in: a request for quotation, the
// sheet of what was used. It comes back as a workbook or as text, with numbers and
// days as people write them.
type sentBack struct {
	def   tableDef
	what  string   // in what is said of a file
	needs []string // headings by which the row of the headings is known
}

// read reads one of its tables into the struct that holds the rows, and checks
// the cells.
func (s *sentBack) read(g *grid, into any, c *Catalog, faults *Faults) (*loaded, *checker) {
	l := decode(&s.def, s.plain(g, faults), into, faults)
	k := &checker{c: c, all: map[string]*loaded{s.def.name: l}, faults: faults}
	for row := range l.len() {
		for col := range l.def.cols {
			if l.usable(row, col) {
				k.checkCell(l, row, col)
			}
		}
	}
	return l, k
}

// grids are the tables of a file that have its headings.
func (s *sentBack) grids(path string, faults *Faults) (out []*grid, err error) {
	if !strings.EqualFold(filepath.Ext(path), ".xlsx") {
		f, err := os.Open(path)
		if err != nil {
			return nil, &OpenError{What: s.what, Path: path, Err: err}
		}
		defer f.Close()
		if g := readSeparated(filepath.Base(path), f, 0, faults); s.headed(g) {
			out = append(out, g)
		}
		return out, nil
	}
	f, err := openBook(path, s.what)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	for _, sheet := range f.GetSheetList() {
		rows, err := f.Rows(sheet)
		if err != nil {
			return nil, &OpenError{What: s.what, Path: path, Err: err}
		}
		filled := rows.Next()
		if err := rows.Close(); err != nil || !filled {
			continue
		}
		if g := readSheet(f, trace.Place{File: filepath.Base(path), Sheet: sheet}, faults); s.headed(g) {
			s.asWritten(f, g)
			out = append(out, g)
		}
	}
	return out, nil
}

// heading is a heading without what stands below or behind it: "Price\n(of a pack)"
// and "Price, (of a pack)" are Price.
func heading(text string) string {
	text, _, _ = strings.Cut(text, "(")
	text, _, _ = strings.Cut(text, "\n")
	return strings.Trim(text, " ,\r\t\u00a0")
}

// headed makes the row of the headings the head of a grid; false where there is none.
func (s *sentBack) headed(g *grid) bool {
	if g == nil {
		return false
	}
	for i, row := range append([][]cell{g.head}, g.rows...) {
		lacks := func(name string) bool {
			return !slices.ContainsFunc(row, func(c cell) bool { return strings.EqualFold(heading(c.text), name) })
		}
		if !slices.ContainsFunc(s.needs, lacks) {
			g.head, g.rows = row, g.rows[i:]
			return true
		}
	}
	return false
}

// column is the column of a heading; nil for one of somebody's own.
func (s *sentBack) column(text string) *column {
	if text = heading(text); strings.EqualFold(text, "Least packs") {
		text = "Minimum order" // as requests had it before
	}
	if at := slices.IndexFunc(s.def.cols, func(c column) bool { return strings.EqualFold(c.name, text) }); at >= 0 {
		return &s.def.cols[at]
	}
	return nil
}

// isDay reports whether a column holds days.
func (c *column) isDay() bool { return c.kind == timeType }

// asWritten marks the numbers of a sheet: a cell that holds a number is one without
// doubt, and is a day where a day is asked; text is read as text.
func (s *sentBack) asWritten(f *excelize.File, g *grid) {
	props, _ := f.GetWorkbookProps()
	epoch := props.Date1904 != nil && *props.Date1904
	for col, h := range g.head {
		c := s.column(h.text)
		if c == nil || c.isText() && !c.isDay() {
			continue
		}
		for _, cells := range g.rows {
			if col < len(cells) && cells[col].text != "" {
				cells[col].asWritten(f, g.place.Sheet, c.isDay(), epoch)
			}
		}
	}
}

// asWritten marks a cell as a number, or writes a day that was kept as one.
func (c *cell) asWritten(f *excelize.File, sheet string, isDay, epoch bool) {
	ref, err := excelize.CoordinatesToCellName(c.column, c.line)
	if err != nil {
		return
	}
	kind, err := f.GetCellType(sheet, ref)
	if err != nil || kind == excelize.CellTypeSharedString || kind == excelize.CellTypeInlineString {
		return
	}
	v, err := strconv.ParseFloat(c.text, 64)
	switch {
	case err != nil:
	case !isDay:
		c.text = exactly + plainNumber(c.text)
	default:
		if d, err := excelize.ExcelDateToTime(v, epoch); err == nil {
			c.text = d.Format(time.DateOnly)
		}
	}
}

// exactly begins a cell that was a number before it became text.
const exactly = "\x00"

// plain is the grid with the headings as declared and numbers and days in the form
// that tables have.
func (s *sentBack) plain(g *grid, faults *Faults) *grid {
	out := *g
	out.fromSheet = false
	out.head = slices.Clone(g.head)
	cols := make([]*column, len(g.head))
	for i := range out.head {
		if cols[i] = s.column(out.head[i].text); cols[i] != nil {
			out.head[i].text = cols[i].name
		} else {
			out.head[i].text = heading(out.head[i].text)
		}
	}
	out.rows = nil
	for _, row := range g.rows {
		row = slices.Clone(row)
		for i := range min(len(row), len(cols)) {
			c := &row[i]
			c.text = strings.Trim(c.text, " \t\u00a0")
			switch {
			case cols[i] != nil && cols[i].isDay():
				c.text = plainDay(c.text)
			case cols[i] != nil && !cols[i].isText():
				text, sure := plainQuoted(c.text)
				if !sure {
					faults.add(g.at(*c, cols[i].name), "number-ambiguous", c.text, cols[i].name+" may be thousands or decimals", "write it without a sign for thousands, and decimals with two or four digits")
				}
				c.text = text
			case strings.ContainsAny(c.text, "\r\n"): // a remark over several lines
				c.text = strings.Join(strings.Fields(c.text), " ")
			}
		}
		if !blankRow(row) {
			out.rows = append(out.rows, row)
		}
	}
	return &out
}

var (
	threeDigits = regexp.MustCompile(`^[1-9][0-9]{0,2}[.,][0-9]{3}$`)
	thousands   = []*regexp.Regexp{
		regexp.MustCompile(`^[1-9][0-9]{0,2}(?:\.[0-9]{3})+(?:,[0-9]+)?$`), // 1.234,50
		regexp.MustCompile(`^[1-9][0-9]{0,2}(?:,[0-9]{3})+(?:\.[0-9]+)?$`), // 1,234.50
		regexp.MustCompile(`^[1-9][0-9]{0,2}(?:[ '\x{a0}\x{202f}’][0-9]{3})+(?:[.,][0-9]+)?$`),
	}
	decimalComma = regexp.MustCompile(`^[0-9]+,[0-9]+$`)
	dottedDay    = regexp.MustCompile(`^([0-9]{1,2})\.([0-9]{1,2})\.([0-9]{4})$`)
)

// plainQuoted writes a number with a decimal point and nothing else; sure is false
// where its only sign may stand for thousands. What is no number stays as it is.
func plainQuoted(text string) (plain string, sure bool) {
	if exact, ok := strings.CutPrefix(text, exactly); ok {
		return exact, true
	}
	if threeDigits.MatchString(text) {
		return strings.Replace(text, ",", ".", 1), false
	}
	switch {
	case thousands[0].MatchString(text):
		return strings.Replace(strings.ReplaceAll(text, ".", ""), ",", ".", 1), true
	case thousands[1].MatchString(text):
		return strings.ReplaceAll(text, ",", ""), true
	case thousands[2].MatchString(text):
		return strings.NewReplacer(" ", "", "'", "", "\u00a0", "", "\u202f", "", "’", "", ",", ".").Replace(text), true
	case decimalComma.MatchString(text):
		return strings.Replace(text, ",", ".", 1), true
	}
	return text, true
}

// plainDay writes 1.3.2027, which is read in one way only, as 2027-03-01.
func plainDay(text string) string {
	if m := dottedDay.FindStringSubmatch(text); m != nil {
		return fmt.Sprintf("%s-%02s-%02s", m[3], m[2], m[1])
	}
	return text
}
