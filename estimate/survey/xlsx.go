package survey

import (
	"bytes"
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

// chooseSheet takes the sheet the user names, by name or number, or the first
// visible one whose heading looks like a survey's.
func chooseSheet(f *excelize.File, opts *Options, m *matcher) (sheet string, head *header, others []string, err error) {
	names := f.GetSheetList()
	if opts.Sheet != "" {
		if sheet = sheetNamed(names, opts.Sheet); sheet == "" {
			return "", nil, nil, &Error{Problem: "the workbook has no sheet " + quote(opts.Sheet), Hint: "its sheets are " + strings.Join(names, ", ")}
		}
		rows, err := headOf(f, sheet, opts.Limits)
		if err != nil {
			return "", nil, nil, err
		}
		return sheet, findHeader(rows, m, opts.HeaderRow), nil, nil
	}
	var firstErr error
	for _, name := range names {
		if visible, err := f.GetSheetVisible(name); err != nil || !visible {
			continue
		}
		rows, err := headOf(f, name, opts.Limits)
		if err != nil {
			if firstErr == nil {
				firstErr = err
			}
			continue // a chart sheet has no rows
		}
		h := findHeader(rows, m, opts.HeaderRow)
		switch {
		case head == nil || head.score < surveyScore && h.score > head.score:
			sheet, head = name, h
		case h.score >= surveyScore:
			others = append(others, name)
		}
	}
	if head == nil {
		if firstErr != nil {
			return "", nil, nil, firstErr
		}
		return "", nil, nil, &Error{Problem: "the workbook has no visible sheet"}
	}
	return sheet, head, others, nil
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
	sheet, head, others, err := chooseSheet(f, &opts, m)
	if err != nil {
		return nil, err
	}
	head.matcher = m
	det := Detected{Form: "XLSX", Sheet: sheet, Sheets: f.GetSheetList()}
	if opts.Sheet != "" {
		det.Set = append(det.Set, "sheet")
	}
	rd, err := newReader(opts, det, head)
	if err != nil {
		return nil, err
	}
	if len(others) > 0 {
		rd.rep.add(trace.Query{Code: "sheet-chosen", Severity: trace.Ask, Place: trace.Place{File: opts.Name, Sheet: sheet}, Found: strings.Join(others, ", "),
			Message: "other sheets look like a survey too; only this one is read", Advice: "choose with --sheet"})
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
			formula, err := f.GetCellFormula(sheet, cell)
			return err == nil && formula != ""
		}
	}
	s, err := newSheetRows(f, sheet, opts.Limits)
	if err != nil {
		return nil, err
	}
	defer s.close()
	return rd.sheet(s, head.lastLine)
}

// sheet reads the rows below the heading. Blank rows count only where a filled
// one follows: a sheet has no last row of its own.
func (rd *reader) sheet(s *sheetRows, lastLine int) (*Result, error) {
	blanks := 0
	for {
		row, err := s.next()
		if err == io.EOF {
			return rd.finish()
		}
		if err != nil {
			return nil, sheetError(rd.det.Sheet, s.line, err)
		}
		switch {
		case row.line <= lastLine:
		case blankRow(row.cells) && row.tooLong == 0 && !rd.hasFormula(row.line):
			blanks++
		default:
			rd.account.Read += blanks
			rd.account.Blank += blanks
			blanks = 0
			if err := rd.row(row); err != nil {
				return nil, err
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
	want := opts.Sheet
	if want == "" {
		want = "Queries"
	}
	sheet := sheetNamed(names, want)
	if sheet == "" && opts.Sheet == "" && len(names) > 0 {
		sheet = names[0]
	}
	if sheet == "" {
		return nil, &Error{Problem: "the workbook has no sheet " + quote(want), Hint: "its sheets are " + strings.Join(names, ", ")}
	}
	opts.Sheet = sheet
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
	return nil, &Error{Place: trace.Place{Sheet: sheet}, Problem: fmt.Sprintf("more than %d rows of answers", most)}
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
