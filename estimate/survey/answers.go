package survey

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"wraptally/estimate/trace"
)

// Answer is the client's answer to a query of an earlier run.
type Answer struct {
	Row   string // as the query named it: the row's id, or "row 12"
	Field string // own heading of the field: "od_mm"
	Code  string // of the query; may be empty
	Value string // the cell's new value, with or without a unit; "confirm"; "drop"

	Stored bool // from a workbook and written as a sheet stores numbers, so its decimal mark is a point
	Place  trace.Place
}

// Words with which a client answers other than by a value.
var (
	confirmWords = map[string]bool{"confirm": true, "confirmed": true, "correct as is": true, "ok": true}
	dropWords    = map[string]bool{"drop": true, "leave out": true}
)

// answerSheet holds the answers by row.
type answerSheet struct {
	byRow map[string][]*heldAnswer
	all   []*heldAnswer
}

type heldAnswer struct {
	Answer
	field         fieldID
	confirm, drop bool
	used          bool
}

func newAnswerSheet(answers []Answer) *answerSheet {
	s := &answerSheet{}
	if len(answers) == 0 {
		return s
	}
	s.byRow = make(map[string][]*heldAnswer)
	for _, a := range answers {
		word := strings.ToLower(strings.TrimSpace(a.Value))
		if word == "" {
			continue
		}
		h := &heldAnswer{Answer: a, field: noField, confirm: confirmWords[word], drop: dropWords[word]}
		if f, ok := fieldOf(a.Field); ok {
			h.field = f
		}
		h.sizeOrSeries()
		s.all = append(s.all, h)
		s.byRow[a.Row] = append(s.byRow[a.Row], h)
	}
	return s
}

// sizeOrSeries sees to it that a question about the pipe series can be answered
// as one would: by the series where the size is named, "DN-ASME", or by the size
// with its series where the series is, "NPS 4" or "4 in".
func (h *heldAnswer) sizeOrSeries() {
	if h.field != fSize && h.field != fSeries || h.confirm || h.drop {
		return
	}
	text := strings.TrimSpace(h.Value)
	size, isSize := parseSize([]byte(text), '.')
	switch {
	case h.field == fSize && !isSize && !strings.ContainsAny(text, "0123456789"):
		h.field = fSeries
	case h.field == fSeries && isSize && size.series != "":
		h.field = fSize
	}
	h.Field = fieldTable[h.field].Key
}

func (s *answerSheet) forRow(id string) []*heldAnswer {
	if s.byRow == nil {
		return nil
	}
	return s.byRow[id]
}

// forAll are the answers that fill every blank of a field.
func (s *answerSheet) forAll() []*heldAnswer {
	var out []*heldAnswer
	for _, a := range s.forRow(AllRows) {
		if a.field != noField && !a.confirm && !a.drop {
			out = append(out, a)
		}
		a.used = a.field != noField && !a.drop
	}
	return out
}

// drops reports whether the client took the row out.
func (s *answerSheet) drops(id string) bool {
	for _, a := range s.forRow(id) {
		if a.drop {
			a.used = true
			return true
		}
	}
	return false
}

// confirmed gives the codes that the client confirmed for the row, or for all rows.
func (s *answerSheet) confirmed(id string) map[string]bool {
	var codes map[string]bool
	for _, a := range append(slices.Clip(s.forRow(id)), s.forRow(AllRows)...) {
		if a.confirm && confirmable[a.Code] {
			if codes == nil {
				codes = make(map[string]bool)
			}
			codes[a.Code] = true
			a.used = true
		}
	}
	return codes
}

// answer reads the client's value in place of a cell, where there is one. An
// answer without a unit is in the unit of the survey's column; where that is
// not the field's own unit, which the query sheet names, the answer must say.
func (rd *reader) answer(as []*heldAnswer, c *column, cell []byte) bool {
	for _, a := range as {
		if a.field != c.field || a.confirm || a.drop {
			continue
		}
		a.used = true
		text := []byte(strings.TrimSpace(a.Value))
		decimal, sure := rd.decimal, rd.sure
		rd.decimal, rd.sure = answerMark(a, decimal), a.Stored
		ok := rd.unitStated(a, c, text)
		if ok {
			rd.rep.assume("answered", "Cells are replaced by the client's answers to earlier queries.", "answers of the client", 1, rd.d.ID)
			rd.d.Leans = append(rd.d.Leans, "answered")
			rd.query("answer-used", c.field, c.at+1, clip(string(cell)), "the client's answer is used: "+quote(a.Value), "")
			with := *c
			with.unitGiven = false // the answer's own unit decides
			with.last, with.seen = nil, make(map[string]*cellSeen)
			rd.value(&with, text)
		}
		rd.decimal, rd.sure = decimal, sure
		if ok {
			return true
		}
	}
	return false
}

// unitStated reports whether it is clear which unit an answer is in, and asks
// where it is not.
func (rd *reader) unitStated(a *heldAnswer, c *column, text []byte) bool {
	if !lacksUnit(c, text, rd.decimal) {
		return true
	}
	problem, advice := a.whichUnit(c)
	rd.query("answer-unit", c.field, c.at+1, clip(a.Value), problem, advice)
	return false
}

// lacksUnit reports whether an answer names no unit where that of the survey's
// column is not the field's own.
func lacksUnit(c *column, text []byte, decimal byte) bool {
	own := c.field.ownUnit()
	if own == nil || c.unit == nil || c.unit == own || !c.number {
		return false
	}
	_, rest, st := scanNumber(text, decimal, true)
	return st == numOK && len(trim(rest)) == 0 // else a unit follows, or the cell will raise its own query
}

// whichUnit asks for the unit of an answer.
func (h *heldAnswer) whichUnit(c *column) (problem, advice string) {
	return fmt.Sprintf("the answer has no unit; the survey gives %s in %s", fieldTable[c.field].Key, c.unit.Name),
		"answer with the unit: " + clip(h.Value) + " " + c.unit.Name
}

// settleAnswers says, once columns and decimal mark of the survey are known, how
// the answers for all rows are to be read.
func (rd *reader) settleAnswers() error {
	for f, dv := range rd.defaults {
		if dv == nil || dv.answer == nil {
			continue
		}
		dv.decimal, dv.sure = answerMark(dv.answer, rd.decimal), dv.answer.Stored
		if i := rd.byField[f]; i > 0 && !dv.ask && lacksUnit(&rd.cols[i-1], dv.text, dv.decimal) {
			problem, advice := dv.answer.whichUnit(&rd.cols[i-1])
			return &Error{Place: dv.answer.Place, Problem: problem + " (found " + quote(dv.answer.Value) + ")", Hint: advice}
		}
		if err := rd.tryDefault(fieldID(f)); err != nil {
			return err
		}
	}
	return nil
}

// answerMark is the decimal mark of an answer: a point where a sheet stored it
// as a number, the only mark it has where that can be nothing else, and the
// survey's otherwise.
func answerMark(a *heldAnswer, survey byte) byte {
	if a.Stored {
		return '.'
	}
	var m marks
	m.weigh(a.Value)
	switch {
	case m.point > m.comma:
		return '.'
	case m.comma > m.point:
		return ','
	}
	return survey
}

// answerAbsent takes answers to fields that the survey has no column for.
func (rd *reader) answerAbsent(as []*heldAnswer) {
	for _, a := range as {
		if a.used || a.confirm || a.drop || a.field == noField || a.field == fID || rd.hasColumn(a.field) {
			continue
		}
		c := newColumn(-1, a.field, a.field.ownUnit())
		rd.answer([]*heldAnswer{a}, &c, nil)
	}
}

// unusedAnswers asks about answers that fit no row: a row renamed, a field
// misspelt.
func (rd *reader) unusedAnswers() {
	for _, a := range rd.answers.all {
		if a.used {
			continue
		}
		rd.rep.add(trace.Query{Code: "answer-unused", Severity: trace.Ask, Place: a.Place, Found: clip(printable(a.Value)),
			Message: fmt.Sprintf("the answer for %s of %s fits nothing in the survey", quote(a.Field), quote(a.Row)), Row: clip(printable(a.Row)),
			Advice: "row and field must be as the query sheet gave them"})
	}
}

// OpenAnswers reads the answers from a query sheet that the client has filled
// in: a CSV file or a workbook (the sheet named, else the one named "Queries",
// else the first), with the headings row, field and answer, and perhaps code.
// Rows without an answer are passed over.
func OpenAnswers(path, sheet string) ([]Answer, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, &Error{Problem: "cannot open the answers", Err: err}
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, &Error{Problem: "cannot read the answers", Err: err}
	}
	opts := Options{Name: filepath.Base(path)}
	if sheet != "" {
		opts.Sheets = []string{sheet}
	}
	return ReadAnswers(f, info.Size(), opts)
}

// ReadAnswers is OpenAnswers on an open file.
func ReadAnswers(r io.ReaderAt, size int64, opts Options) ([]Answer, error) {
	opts.Limits = opts.Limits.orDefault()
	rows, err := allRows(r, size, &opts)
	if err != nil {
		return nil, err
	}
	var out []Answer
	var at map[string]int
	for _, row := range rows {
		if at == nil {
			at = answerColumns(row.cells)
			continue
		}
		a := Answer{Row: named(row.cells, at, "row"), Field: named(row.cells, at, "field"), Code: named(row.cells, at, "code"), Value: named(row.cells, at, "answer"),
			Place: trace.Place{File: opts.Name, Sheet: opts.sheet(), Line: row.line, Column: at["answer"] + 1, Field: "answer"}}
		if i := at["answer"]; i < len(row.raw) {
			a.Stored = storedNumber([]byte(row.raw[i]))
		}
		if a.Value != "" && a.Row != "" {
			out = append(out, a)
		}
	}
	if at == nil {
		return nil, &Error{Place: trace.Place{File: opts.Name, Sheet: opts.sheet()}, Problem: "no heading with row, field and answer was found", Hint: "send back the query sheet as it was given, with the column answer filled in"}
	}
	return out, nil
}

// sheet is the one sheet that answers are read from, "" for a text file.
func (o *Options) sheet() string { return append(o.Sheets, "")[0] }

func answerColumns(cells []string) map[string]int {
	at := make(map[string]int)
	for i, c := range cells {
		switch w := normHeading(c); w {
		case "row", "field", "answer", "code":
			if _, ok := at[w]; !ok {
				at[w] = i
			}
		}
	}
	if _, ok := at["row"]; !ok {
		return nil
	}
	if _, ok := at["answer"]; !ok {
		return nil
	}
	return at
}

func named(cells []string, at map[string]int, name string) string {
	i, ok := at[name]
	if !ok {
		return ""
	}
	return cellAt(cells, i)
}

// allRows reads a small table whole: the answers.
func allRows(r io.ReaderAt, size int64, opts *Options) ([]headRow, error) {
	const most = 100_000
	var magic [4]byte
	if _, err := r.ReadAt(magic[:], 0); err != nil && err != io.EOF {
		return nil, &Error{Place: trace.Place{File: opts.Name}, Problem: "cannot read the answers", Err: err}
	}
	if bytes.HasPrefix(magic[:], []byte("PK")) {
		return workbookRows(r, size, opts, most)
	}
	form, err := sniffEncoding(r, size, opts)
	if err != nil {
		return nil, err
	}
	head := make([]byte, 64<<10)
	n, _ := io.ReadFull(form.reader(r, size), head)
	head = head[:n]
	ends := lineEndsOf(head)
	delim := byte(opts.Delimiter)
	for _, d := range delimiters {
		if delim != 0 {
			break
		}
		for _, row := range sampleRows(head, true, d, ends == "CR", opts.Limits) {
			if answerColumns(row.cells) != nil {
				delim = d
				break
			}
		}
	}
	if delim == 0 {
		delim = ','
	}
	s := newSplitter(form.reader(r, size), delim, ends == "CR", opts.Limits.FieldBytes, opts.Limits.Columns)
	var rows []headRow
	for len(rows) < most {
		row, err := s.next()
		if err == io.EOF {
			return rows, nil
		}
		if err != nil {
			return nil, textError(err, form.name)
		}
		rows = append(rows, headRow{line: row.line, cells: cellStrings(row.cells)})
	}
	return nil, &Error{Place: trace.Place{File: opts.Name}, Problem: fmt.Sprintf("more than %d rows of answers", most), Hint: "is it the sheet of answers? Give only the rows that are answered"}
}
