package survey

import (
	"bytes"
	"cmp"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"wraptally/estimate/trace"
)

// openWorkbook opens a workbook after the guard has passed it. The library has
// panicked on malformed parts before; a panic is a damaged workbook.
func openWorkbook(r io.ReaderAt, size int64, lim Limits) (f *excelize.File, unvalued bool, err error) {
	defer recoverDamage(&err)
	if unvalued, err = guardWorkbook(r, size, lim); err != nil {
		return nil, false, err
	}
	f, err = excelize.OpenReader(io.NewSectionReader(r, 0, size), excelize.Options{UnzipSizeLimit: max(lim.UnzipBytes, 1<<20), UnzipXMLSizeLimit: min(lim.UnzipBytes, 16<<20)})
	if err != nil {
		return nil, false, &Error{Problem: "the workbook cannot be read", Err: err, Hint: "open it in a spreadsheet program and save it again"}
	}
	return f, unvalued, nil
}

// recoverDamage turns a panic of the workbook library into an error.
func recoverDamage(err *error) {
	if p := recover(); p != nil {
		*err = &Error{Problem: fmt.Sprintf("the workbook is damaged (%v)", p), Hint: "open it in a spreadsheet program and save it again"}
	}
}

// sheetRows streams a sheet twice in step: values as stored, for numbers, and
// as displayed, for everything else.
type sheetRows struct {
	stored, displayed *excelize.Rows
	row               textRow
	line              int
	hidden            int // rows that the program does not show, of those read
	lim               Limits
}

func newSheetRows(f *excelize.File, sheet string, lim Limits) (*sheetRows, error) {
	stored, err := f.Rows(sheet)
	if err != nil {
		return nil, sheetError(sheet, 0, err)
	}
	displayed, err := f.Rows(sheet)
	if err != nil {
		stored.Close()
		return nil, sheetError(sheet, 0, err)
	}
	return &sheetRows{stored: stored, displayed: displayed, lim: lim}, nil
}

func sheetError(sheet string, line int, err error) error {
	return &Error{Place: trace.Place{Sheet: sheet, Line: line}, Problem: "the sheet cannot be read", Err: err}
}

func (s *sheetRows) close() {
	s.stored.Close()
	s.displayed.Close()
}

// next gives the next row, or io.EOF.
func (s *sheetRows) next() (*textRow, error) {
	if !s.stored.Next() || !s.displayed.Next() {
		if err := s.stored.Error(); err != nil {
			return nil, err
		}
		return nil, io.EOF
	}
	s.line++
	raw, err := s.stored.Columns(excelize.Options{RawCellValue: true})
	if err != nil {
		return nil, err
	}
	shown, err := s.displayed.Columns()
	if err != nil {
		return nil, err
	}
	r := &s.row
	r.reset(s.line)
	r.raw = r.rawBuf[:0]
	for i := range max(len(raw), len(shown)) {
		if i == s.lim.Columns {
			r.tooMany = true
			break
		}
		stored, display := at(raw, i), at(shown, i)
		if len(display) > s.lim.FieldBytes || len(stored) > s.lim.FieldBytes {
			if r.tooLong == 0 {
				r.tooLong = i + 1
			}
			stored, display = "", display[:min(len(display), s.lim.FieldBytes)]
		}
		if display == "" && stored != "" && storedNumber([]byte(stored)) {
			display = stored // a format that hides the value does not unsay it
		}
		if strings.HasSuffix(display, "%") && storedNumber([]byte(stored)) {
			stored = asPercent(stored)
		}
		r.cells = append(r.cells, []byte(display))
		r.raw = append(r.raw, []byte(stored))
	}
	r.rawBuf = r.raw
	return r, nil
}

func at(cells []string, i int) string {
	if i < len(cells) {
		return cells[i]
	}
	return ""
}

// asPercent writes a stored share as the per cent that the cell displays.
func asPercent(stored string) string {
	v, err := strconv.ParseFloat(stored, 64)
	if err != nil {
		return stored
	}
	return strconv.FormatFloat(v*100, 'g', 12, 64) + "%"
}

// headOf copies the first rows of a sheet.
func headOf(f *excelize.File, sheet string, lim Limits) ([]headRow, error) {
	s, err := newSheetRows(f, sheet, lim)
	if err != nil {
		return nil, err
	}
	defer s.close()
	var rows []headRow
	for len(rows) < headRows {
		r, err := s.next()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, sheetError(sheet, s.line, err)
		}
		rows = append(rows, headRow{line: r.line, last: r.line, cells: cellStrings(r.cells), raw: cellStrings(r.raw)})
	}
	return rows, nil
}

// surveyScore is the score of a heading that names four fields: a sheet below
// it does not look like a survey.
const surveyScore = 4

// AllSheets, given as the only sheet, reads every sheet that looks like a survey.
const AllSheets = "all"

// chosenSheet is a sheet to be read, with its heading.
type chosenSheet struct {
	name   string
	head   *header
	hidden bool
}

func (c *chosenSheet) heads() string { return strings.Join(c.head.texts, "\x00") }

// orTwins is the sheet, or all those with the same headings where all are asked for.
func (c *chosenSheet) orTwins(twins []chosenSheet, all bool) []chosenSheet {
	switch {
	case c.head.rows == 0 || len(twins) < 2:
	case all:
		return twins
	default:
		c.head.twins = manySheets(twins)
	}
	return []chosenSheet{*c}
}

// chooseSheets takes the sheets that the user names, by name or number, or the
// one whose heading looks like a survey's, hidden or not. Several of them are a
// question that nobody but the user can answer.
func chooseSheets(f *excelize.File, opts *Options, m *matcher) ([]chosenSheet, error) {
	names := f.GetSheetList()
	headed := func(name string) (chosenSheet, error) {
		rows, err := headOf(f, name, opts.Limits)
		if err != nil {
			return chosenSheet{}, err
		}
		visible, err := f.GetSheetVisible(name)
		return chosenSheet{name, findHeader(rows, m, opts.HeaderRow).orLikely(rows, m, opts.HeaderRow), err == nil && !visible}, nil
	}
	all := len(opts.Sheets) == 1 && strings.EqualFold(opts.Sheets[0], AllSheets) && sheetNamed(names, AllSheets) == ""
	var chosen []chosenSheet
	if len(opts.Sheets) > 0 && !all {
		for _, want := range opts.Sheets {
			name := sheetNamed(names, want)
			if name == "" {
				return nil, &Error{Problem: "the workbook has no sheet " + quote(want), Hint: "its sheets are " + strings.Join(names, ", ")}
			}
			c, err := headed(name)
			if err != nil {
				return nil, err
			}
			chosen = append(chosen, c)
		}
		return chosen, nil
	}
	var best *chosenSheet
	var firstErr error
	alike := map[string][]chosenSheet{} // by their headings
	for _, name := range names {
		c, err := headed(name)
		if err != nil {
			firstErr = cmp.Or(firstErr, err)
			continue // a chart sheet has no rows
		}
		if c.head.score >= surveyScore {
			chosen = append(chosen, c)
		}
		alike[c.heads()] = append(alike[c.heads()], c)
		if best == nil || best.hidden && !c.hidden || best.hidden == c.hidden && c.head.score > best.head.score {
			best = &c
		}
	}
	switch {
	case len(chosen) == 1 || len(chosen) > 1 && all:
		return chosen, nil
	case len(chosen) > 1:
		return nil, manySheets(chosen)
	case best != nil:
		return best.orTwins(alike[best.heads()], all), nil
	case firstErr != nil:
		return nil, firstErr
	}
	return nil, &Error{Problem: "the workbook has no sheet", Hint: formsRead}
}

func manySheets(chosen []chosenSheet) *Error {
	var names, flags []string
	for _, c := range chosen {
		name := quote(c.name)
		flags = append(flags, "--sheet "+name)
		if c.hidden {
			name += " (hidden)"
		}
		names = append(names, name)
	}
	return &Error{Problem: fmt.Sprintf("%d sheets look like a survey: %s", len(chosen), strings.Join(names, ", ")),
		Hint: "read one with " + flags[0] + ", several with " + strings.Join(flags[:2], " ") + ", all of them in order with --sheet " + AllSheets}
}

func sheetNamed(names []string, want string) string {
	want = strings.TrimSpace(want)
	for _, n := range names {
		if strings.EqualFold(n, want) {
			return n
		}
	}
	if i, err := strconv.Atoi(want); err == nil && i >= 1 && i <= len(names) {
		return names[i-1]
	}
	return ""
}

// readWorkbook reads a survey from a sheet of a workbook.
func readWorkbook(r io.ReaderAt, size int64, opts Options) (res *Result, err error) {
	f, unvalued, err := openWorkbook(r, size, opts.Limits)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	defer recoverDamage(&err)
	m, err := newMatcher(opts.mappings(), opts.Synonyms)
	if err != nil {
		return nil, err
	}
	chosen, err := chooseSheets(f, &opts, m)
	if err != nil {
		return nil, err
	}
	var rd *reader
	for i := range chosen {
		if rd, err = readSheet(f, &chosen[i], opts, m, unvalued, rd); err != nil {
			return nil, err
		}
	}
	return rd.finish()
}

// readSheet reads one sheet, after those before it.
func readSheet(f *excelize.File, c *chosenSheet, opts Options, m *matcher, unvalued bool, before *reader) (*reader, error) {
	c.head.matcher = m
	det := Detected{Form: "XLSX", Sheet: c.name, Sheets: f.GetSheetList()}
	if len(opts.Sheets) > 0 {
		det.Set = append(det.Set, "sheet")
	}
	rd, err := newReader(opts, det, c.head, before)
	if err != nil {
		return nil, err
	}
	if props, err := f.GetWorkbookProps(); err == nil && props.Date1904 != nil {
		rd.date1904 = *props.Date1904
	}
	if unvalued {
		rd.formulaAt = func(line, col int) bool {
			cell, err := excelize.CoordinatesToCellName(col, line)
			if err != nil {
				return false
			}
			formula, err := f.GetCellFormula(c.name, cell)
			return err == nil && formula != ""
		}
	}
	s, err := newSheetRows(f, c.name, opts.Limits)
	if err != nil {
		return nil, err
	}
	defer s.close()
	if err := rd.sheet(s, c.head.lastLine); err != nil {
		return nil, err
	}
	rd.hiddenParts(f, c, s.hidden)
	return rd, nil
}

// hiddenParts says what of a sheet was read although its program does not show
// it.
func (rd *reader) hiddenParts(f *excelize.File, c *chosenSheet, rows int) {
	var parts []string
	if c.hidden {
		parts = append(parts, "the sheet itself")
	}
	if rows > 0 {
		parts = append(parts, trace.Count(rows, "row", "rows"))
	}
	columns := 0
	for i := range rd.cols {
		name, err := excelize.ColumnNumberToName(rd.cols[i].at + 1)
		if err != nil {
			continue
		}
		if shown, err := f.GetColVisible(c.name, name); err == nil && !shown {
			columns++
		}
	}
	if columns > 0 {
		parts = append(parts, trace.Count(columns, "column", "columns"))
	}
	if len(parts) > 0 {
		rd.rep.add(trace.Query{Code: "hidden-read", Severity: trace.Ask, Place: trace.Place{File: rd.opts.Name, Sheet: c.name}, Found: strings.Join(parts, ", "),
			Message: "what the spreadsheet program hides is read like the rest", Advice: "take it out, or leave its rows out with --only, if it is not meant"})
	}
}

// sheet reads the rows below the heading. Blank rows count only where a filled
// one follows: a sheet has no last row of its own.
func (rd *reader) sheet(s *sheetRows, lastLine int) error {
	blanks := 0
	for {
		row, err := s.next()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return sheetError(rd.det.Sheet, s.line, err)
		}
		switch {
		case row.line <= lastLine:
		case blankRow(row.cells) && row.tooLong == 0 && !rd.hasFormula(row.line):
			blanks++
		default:
			rd.account.Read += blanks
			rd.account.Blank += blanks
			blanks = 0
			if s.stored.GetRowOpts().Hidden {
				s.hidden++
			}
			if err := rd.row(row); err != nil {
				return err
			}
		}
	}
}

func (rd *reader) hasFormula(line int) bool {
	if rd.formulaAt == nil {
		return false
	}
	for i := range rd.cols {
		if rd.formulaAt(line, rd.cols[i].at+1) {
			return true
		}
	}
	return false
}

// workbookRows reads a small sheet whole: the answers.
func workbookRows(r io.ReaderAt, size int64, opts *Options, most int) (rows []headRow, err error) {
	f, _, err := openWorkbook(r, size, opts.Limits)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	defer recoverDamage(&err)
	names := f.GetSheetList()
	want := append(opts.Sheets, "Queries")[0]
	sheet := sheetNamed(names, want)
	if sheet == "" && len(opts.Sheets) == 0 && len(names) > 0 {
		sheet = names[0]
	}
	if sheet == "" {
		return nil, &Error{Problem: "the workbook has no sheet " + quote(want), Hint: "its sheets are " + strings.Join(names, ", ")}
	}
	opts.Sheets = []string{sheet}
	s, err := newSheetRows(f, sheet, opts.Limits)
	if err != nil {
		return nil, err
	}
	defer s.close()
	for len(rows) < most {
		row, err := s.next()
		if err == io.EOF {
			return rows, nil
		}
		if err != nil {
			return nil, sheetError(sheet, s.line, err)
		}
		// The client's numbers count as stored, not as the column's format rounds them.
		cells := cellStrings(row.cells)
		for i, raw := range row.raw {
			if storedNumber(raw) && storedNumber(row.cells[i]) {
				cells[i] = string(raw)
			}
		}
		rows = append(rows, headRow{line: row.line, cells: cells, raw: cellStrings(row.raw)})
	}
	return nil, &Error{Place: trace.Place{Sheet: sheet}, Problem: fmt.Sprintf("more than %d rows of answers", most), Hint: "is it the sheet of answers? Give only the rows that are answered"}
}

// fromSheet writes a date, a clock position or a nominal size of a sheet as
// text. Sheets store dates and times as days; what the display shows says
// whether a number is one.
func (rd *reader) fromSheet(k Kind, shown, raw []byte) []byte {
	if bytes.Equal(shown, raw) || !storedNumber(raw) {
		return shown
	}
	v, err := strconv.ParseFloat(string(raw), 64)
	if err != nil || math.IsInf(v, 0) {
		return shown
	}
	isDay := v > 20000 && v < 80000 // 1954 to 2119
	switch k {
	case KindClock:
		if bytes.IndexByte(shown, ':') < 0 {
			return raw // a number whose format rounds it
		}
		minutes := int(math.Round((v - math.Floor(v)) * 24 * 60))
		return fmt.Appendf(nil, "%d:%02d", minutes/60%24, minutes%60)
	case KindDate:
		if !isDay {
			return shown
		}
		t, err := excelize.ExcelDateToTime(v, rd.date1904)
		if err != nil {
			return shown
		}
		return t.AppendFormat(nil, "2006-01-02")
	case KindSize:
		if isDay {
			return shown // a fraction that the spreadsheet took for a date: unreadable, and so asked about
		}
		return raw
	}
	return shown
}
