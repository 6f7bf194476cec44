package catalog

import (
	"cmp"
	"fmt"
	"io"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"wraptally/estimate/trace"
)

// maxBookBytes caps what a workbook may unpack to.
const maxBookBytes = 64 << 20

// readWorkbook reads a sheet for each table: the sheet's name is the table's,
// its first row the column names.
func readWorkbook(path string, faults *Faults) (map[string]*grid, error) {
	f, err := openBook(path, "")
	if err != nil {
		return nil, err
	}
	defer f.Close()
	names, own := sourceNames(), map[string]*grid{}
	var others []string
	for _, sheet := range f.GetSheetList() {
		name, place := strings.ToLower(sheet), trace.Place{File: path, Sheet: sheet}
		switch _, twice := own[name]; {
		case name == "readme":
		case !slices.Contains(names, name):
			others = append(others, sheet)
		case twice: // a workbook has one sheet of a name, whatever its capitals; a file of another program's may not
			faults.add(place, "table-duplicate", sheet, "the table stands in the workbook twice", "take one out")
		default:
			own[name] = readSheet(f, place, faults)
		}
	}
	for _, sheet := range others {
		if rows, err := f.Rows(sheet); err == nil && !rows.Next() {
			continue // an empty sheet, as new workbooks have
		}
		faults.other(trace.Place{File: path, Sheet: sheet}, sheet, sheet, "", own, "the workbook holds a sheet")
	}
	if len(own) == 0 {
		faults.add(trace.Place{File: path}, "table-none", "", "the workbook holds no table of the catalogue", "name each sheet after its table")
	}
	return own, nil
}

// openBook opens a workbook; what is it, as OpenError has it.
func openBook(path, what string) (*excelize.File, error) {
	f, err := excelize.OpenFile(path, excelize.Options{UnzipSizeLimit: maxBookBytes, UnzipXMLSizeLimit: maxBookBytes, RawCellValue: true})
	if err != nil {
		return nil, &OpenError{What: what, Path: path, Err: err}
	}
	return f, nil
}

// readSheet reads one sheet as text.
func readSheet(f *excelize.File, place trace.Place, faults *Faults) *grid {
	g := &grid{place: place, fromSheet: true}
	fail := func(err error) *grid {
		faults.add(place, "file-unreadable", "", "the sheet cannot be read: "+plainError(err), "save the workbook again, or give the table as comma-separated text")
		return nil
	}
	rows, err := f.Rows(place.Sheet)
	if err != nil {
		return fail(err)
	}
	defer rows.Close()
	for line := 1; rows.Next(); line++ {
		texts, err := rows.Columns(excelize.Options{RawCellValue: true})
		if err != nil {
			return fail(err)
		}
		cells := make([]cell, len(texts))
		for i, s := range texts {
			cells[i] = cell{text: s, line: line, column: i + 1}
		}
		switch {
		case blankRow(cells):
		case g.head == nil:
			g.head = cells
		case len(g.rows) == maxTableRows:
			faults.add(g.at(cells[0], ""), "table-too-long", "", fmt.Sprintf("the table has more than %d rows", maxTableRows), "leave out what is not used")
			return g
		default:
			g.rows = append(g.rows, cells)
		}
	}
	if err := rows.Error(); err != nil {
		return fail(err)
	}
	if g.head == nil {
		faults.add(place, "table-empty", "", "the sheet is empty", "put the column names into its first row")
		return nil
	}
	return g
}

// roomBelow is how many rows of a sheet have drop-downs and limits, for what a
// firm adds below the tables.
const roomBelow = 2000

// WriteWorkbook writes a catalogue as a workbook for editing, a sheet for each
// table: numbers as numbers, text as text (so that a spreadsheet does not turn
// 1-1/2 into a date), the heading in sight with what each column means, and
// drop-downs and limits as declared. The tables are those of a folder or workbook,
// with every column and all else that it holds, and the built-in ones for those
// that it leaves out; without from, the built-in ones. A workbook that is written
// again keeps whatever is in it. The errors are those of Load.
func WriteWorkbook(w io.Writer, from string) error {
	have, err := readWhole(from)
	if err != nil {
		return err
	}
	f := excelize.NewFile()
	if have.book {
		if f, err = openBook(from, ""); err != nil {
			return err
		}
	}
	defer f.Close()
	b := &bookWriter{f: f, tables: have.tables}
	b.text = b.style(&excelize.Style{NumFmt: 49}) // 49 is the text format
	b.head = b.style(&excelize.Style{NumFmt: 49, Font: &excelize.Font{Bold: true}, Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{"DDDDDD"}}})
	for i, def := range sources() {
		switch {
		case have.book && have.given[def.name]:
			continue // it stands there
		case i == 0 && !have.book:
			b.keep(f.SetSheetName("Sheet1", def.name))
		default:
			b.sheet(def.name)
		}
		b.table(def, have.tables[def.name])
	}
	for _, o := range have.others {
		if have.book || o.grid.head == nil {
			continue // it stands there, or is no table
		}
		name := strings.TrimSuffix(o.name, filepath.Ext(o.name))
		b.sheet(name)
		b.plain(name, o.grid)
	}
	if b.err != nil {
		return b.err
	}
	return f.Write(w)
}

// bookWriter writes sheets and keeps the first error.
type bookWriter struct {
	f          *excelize.File
	tables     map[string]*grid // by name, for where their columns stand
	text, head int              // styles
	err        error
}

func (b *bookWriter) keep(err error) { b.err = cmp.Or(b.err, err) }

func (b *bookWriter) style(s *excelize.Style) int {
	id, err := b.f.NewStyle(s)
	b.keep(err)
	return id
}

// sheet adds an empty sheet.
func (b *bookWriter) sheet(name string) {
	_, err := b.f.NewSheet(name)
	b.keep(err)
}

// plain writes cells as they are.
func (b *bookWriter) plain(sheet string, g *grid) {
	for row, cells := range append([][]cell{g.head}, g.rows...) {
		for i, c := range cells {
			b.cell(sheet, b.ref(row+1, i+1), &column{kind: boolType}, c.text)
		}
	}
}

// ref is a cell by row and column, from 1.
func (b *bookWriter) ref(row, col int) string {
	ref, err := excelize.CoordinatesToCellName(col, row)
	b.keep(err)
	return ref
}

// table writes one table.
func (b *bookWriter) table(def *tableDef, g *grid) {
	sheet := def.name
	for i, h := range g.head {
		spec, col := def.columnOrOwn(strings.TrimSpace(h.text)), i+1
		letter, err := excelize.ColumnNumberToName(col)
		b.keep(err)
		width := len(h.text) + 3
		for row, cells := range g.rows {
			if i >= len(cells) {
				continue
			}
			b.cell(sheet, b.ref(row+2, col), spec, cells[i].text)
			width = max(width, min(60, utf8.RuneCountInString(cells[i].text)+2))
		}
		b.keep(b.f.SetColWidth(sheet, letter, letter, float64(width)))
		if spec.isText() {
			b.keep(b.f.SetColStyle(sheet, letter, b.text))
		}
		b.keep(b.f.SetCellStr(sheet, b.ref(1, col), h.text))
		b.keep(b.f.SetCellStyle(sheet, b.ref(1, col), b.ref(1, col), b.head))
		if spec.means == "" {
			continue // the firm's own
		}
		b.keep(b.f.AddComment(sheet, excelize.Comment{Cell: b.ref(1, col), Author: "wraptally", Text: spec.comment(), Width: 300, Height: 140}))
		b.limit(sheet, b.ref(2, col)+":"+b.ref(roomBelow, col), spec)
	}
	panes := &excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}
	switch def.name {
	case "settings":
		b.settingLimits(def, g)
	case productsName:
		panes.XSplit, panes.TopLeftCell, panes.ActivePane = 2, "C2", "bottomRight" // the item stays in sight
		b.greyOut()
	}
	b.keep(b.f.SetPanes(sheet, panes))
}

// greyOut greys the cells of a product that its kind has not.
func (b *bookWriter) greyOut() {
	grey, err := b.f.NewConditionalStyle(&excelize.Style{Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{"C0C0C0"}}})
	b.keep(err)
	at, err := excelize.ColumnNumberToName(1 + slices.IndexFunc(productColumns, func(c productColumn) bool { return c.name == "kind" }))
	b.keep(err)
	for i := range productColumns {
		var has []string
		for _, kind := range wordsOf("items", "kind") {
			if slices.ContainsFunc(productColumns[i].fills, func(def *tableDef) bool { return serves(def, kind) }) {
				has = append(has, fmt.Sprintf("$%s2=%q", at, kind))
			}
		}
		if len(has) == 0 || len(has) == len(wordsOf("items", "kind")) {
			continue
		}
		cells := b.ref(2, i+1) + ":" + b.ref(roomBelow, i+1)
		b.keep(b.f.SetConditionalFormat(productsName, cells, []excelize.ConditionalFormatOptions{
			{Type: "formula", Criteria: fmt.Sprintf(`AND($%s2<>"",NOT(OR(%s)))`, at, strings.Join(has, ",")), Format: &grey}}))
	}
}

// isText reports whether the column holds text only.
func (c *column) isText() bool { return c.kind.Kind() == reflect.String && !c.mixed }

// comment says what stands in a column.
func (c *column) comment() string {
	text := c.means
	if c.unit != "" {
		text += "\nUnit: " + c.unit
	}
	text += "\nAccepted: " + c.accepts()
	if c.optional {
		text += "\nMay be left blank."
	}
	return text
}

// cell writes one cell: a number as a number where the column holds some.
func (b *bookWriter) cell(sheet, ref string, spec *column, text string) {
	v, err := parseFloat(text, false)
	if spec.isText() || err != nil {
		b.keep(b.f.SetCellStr(sheet, ref, text))
		return
	}
	b.keep(b.f.SetCellFloat(sheet, ref, v, -1, 64))
}

// limit gives cells the drop-down or limits of a column.
func (b *bookWriter) limit(sheet, cells string, spec *column) {
	dv := excelize.NewDataValidation(true)
	dv.SetSqref(cells)
	switch {
	case len(spec.words) > 0:
		b.keep(dv.SetDropList(spec.words))
	case spec.table != "":
		target := tableNamed(spec.table)
		at := target.column(spec.target)
		if g := b.tables[spec.table]; g != nil {
			at = slices.IndexFunc(g.head, func(h cell) bool { return strings.TrimSpace(h.text) == spec.target })
		}
		letter, err := excelize.ColumnNumberToName(at + 1)
		b.keep(err)
		dv.SetSqrefDropList(fmt.Sprintf("%s!$%s$2:$%s$%d", spec.table, letter, letter, roomBelow))
	case spec.limit != nil:
		b.number(dv, spec.limit, spec.kind.Kind() == reflect.Int)
	default:
		return
	}
	dv.SetError(excelize.DataValidationErrorStyleStop, spec.name, "Accepted: "+spec.accepts())
	b.keep(b.f.AddDataValidation(sheet, dv))
}

func (b *bookWriter) number(dv *excelize.DataValidation, l *limit, whole bool) {
	kind := excelize.DataValidationTypeDecimal
	if whole {
		kind = excelize.DataValidationTypeWhole
	}
	b.keep(dv.SetRange(l.min, l.max, kind, excelize.DataValidationOperatorBetween))
}

// settingLimits gives each setting's value its own words or limits.
func (b *bookWriter) settingLimits(def *tableDef, g *grid) {
	at := func(row int, name string) string {
		return g.rows[row][slices.IndexFunc(g.head, func(h cell) bool { return h.text == name })].text
	}
	for row := range g.rows {
		dv := excelize.NewDataValidation(true)
		dv.SetSqref(b.ref(row+2, def.column("value")+1))
		low, err := parseFloat(at(row, "min"), false)
		high, err2 := parseFloat(at(row, "max"), false)
		switch choices := at(row, "choices"); {
		case isWordList(choices):
			b.keep(dv.SetDropList(strings.Split(choices, "|")))
		case err == nil && err2 == nil:
			b.number(dv, &limit{min: low, max: high}, false)
		default:
			continue
		}
		b.keep(b.f.AddDataValidation(def.name, dv))
	}
}
