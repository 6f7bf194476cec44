package xlsx

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"github.com/xuri/excelize/v2"

	"wraptally/export/table"
)

// sheetWriter streams one sheet. The stream takes things only in a fixed order:
// properties, then widths and panes, then the rows, then all that surrounds
// them, then the flush; what comes later is dropped without a word.
type sheetWriter struct {
	file    *excelize.File
	dress   *dresser
	scratch *scratch
	sheet   *table.Sheet
	stream  *excelize.StreamWriter

	row      int
	breaks   int
	pictures []table.Picture
	heights  []rowHeight // of the rows that differ from the usual height

	cells  []excelize.Cell
	values []any
}

type rowHeight struct {
	row    int
	points float64
}

func writeSheet(f *excelize.File, dress *dresser, scratch *scratch, s *table.Sheet) error {
	w := &sheetWriter{file: f, dress: dress, scratch: scratch, sheet: s}
	scratch.next()
	for _, step := range []func() error{w.open, w.layOut, w.writeRows, w.surround, w.draw} {
		if err := step(); err != nil {
			return w.locate(err)
		}
	}
	return w.locate(w.stream.Flush())
}

// locate names the sheet in an error that does not name it yet.
func (w *sheetWriter) locate(err error) error {
	var fault *table.Fault
	if err == nil || errors.As(err, &fault) {
		return err
	}
	return &table.Fault{Sheet: w.sheet.Name, Problem: err.Error()}
}

func (w *sheetWriter) fault(cell string, format string, args ...any) error {
	return &table.Fault{Sheet: w.sheet.Name, Cell: cell, Problem: fmt.Sprintf(format, args...)}
}

func (w *sheetWriter) open() error {
	s, name := w.sheet, w.sheet.Name
	// How many rows there will be is not known yet, so no dimension is given
	// rather than a wrong one.
	if err := w.file.SetSheetDimension(name, ""); err != nil {
		return err
	}
	fit, grid := s.Page.FitWide > 0, false
	height, custom := table.PlainRowHeight, true
	if err := w.file.SetSheetProps(name, &excelize.SheetPropsOptions{
		FitToPage: &fit, DefaultRowHeight: &height, CustomHeight: &custom,
	}); err != nil {
		return err
	}
	if err := w.file.SetSheetView(name, 0, &excelize.ViewOptions{ShowGridLines: &grid}); err != nil {
		return err
	}
	var err error
	w.stream, err = w.file.NewStreamWriter(name)
	return err
}

func (w *sheetWriter) layOut() error {
	for i, c := range w.sheet.Columns {
		width := c.Width
		if width == 0 {
			width = table.DefaultWidth
		}
		if err := w.stream.SetColWidth(i+1, i+1, width); err != nil {
			return err
		}
	}
	rows, columns := w.sheet.FreezeRows, w.sheet.FreezeColumns
	if rows == 0 && columns == 0 {
		return nil
	}
	pane := "bottomRight"
	switch {
	case columns == 0:
		pane = "bottomLeft"
	case rows == 0:
		pane = "topRight"
	}
	corner := table.At{Column: columns + 1, Row: rows + 1}.String()
	return w.stream.SetPanes(&excelize.Panes{
		Freeze: true, XSplit: columns, YSplit: rows, TopLeftCell: corner, ActivePane: pane,
		Selection: []excelize.Selection{{SQRef: corner, ActiveCell: corner, Pane: pane}},
	})
}

func (w *sheetWriter) writeRows() error {
	if w.sheet.Rows != nil {
		for row := range w.sheet.Rows {
			if err := w.writeRow(&row); err != nil {
				return err
			}
		}
	}
	if w.sheet.Failed != nil {
		return w.sheet.Failed()
	}
	return nil
}

func (w *sheetWriter) writeRow(row *table.Row) error {
	w.row++
	if w.row > table.MaxRows {
		return w.fault("", "more than %d rows, which is all a sheet can hold; split the data over several sheets", table.MaxRows)
	}
	if len(row.Cells) > table.MaxColumns {
		return w.fault(fmt.Sprintf("A%d", w.row), "a row of %d cells, where a sheet has %d columns", len(row.Cells), table.MaxColumns)
	}
	w.grow(len(row.Cells))
	used, bytes := 0, 0
	for i := range row.Cells {
		c := &row.Cells[i]
		if problem := table.CheckCell(c); problem != "" {
			return w.fault(table.At{Column: i + 1, Row: w.row}.String(), "%s", problem)
		}
		if c.Kind == table.KindEmpty && c.Style == (table.Style{}) {
			w.values[i] = nil
			continue
		}
		cell := &w.cells[i]
		if err := w.fill(cell, c); err != nil {
			return w.fault(table.At{Column: i + 1, Row: w.row}.String(), "%v", err)
		}
		w.values[i] = cell
		used = i + 1
		bytes += cellBytes + len(c.Text) + len(c.Src)
	}
	var opts excelize.RowOpts
	height, differs := row.Height, row.Height > 0
	if !differs {
		height, differs = table.RowHeight(w.sheet.Columns, row)
	}
	if !(height >= 0 && height <= table.MaxRowHeight) {
		return w.fault(fmt.Sprintf("A%d", w.row), "a row height of %v points; 0 to %d are possible", height, table.MaxRowHeight)
	}
	if differs {
		opts.Height = height
		if len(w.heights) < mostHeights {
			w.heights = append(w.heights, rowHeight{w.row, height})
		}
	}
	if err := w.rowExtras(row); err != nil {
		return err
	}
	if used == 0 && !differs {
		return nil
	}
	w.scratch.wrote(bytes)
	return w.stream.SetRow(table.At{Column: 1, Row: w.row}.String(), w.values[:used], opts)
}

// mostHeights bounds what is remembered for placing charts.
const mostHeights = 1 << 16

func (w *sheetWriter) grow(n int) {
	for len(w.cells) < n {
		w.cells = append(w.cells, excelize.Cell{})
	}
	if len(w.values) < len(w.cells) {
		w.values = make([]any, len(w.cells))
	}
}

func (w *sheetWriter) fill(out *excelize.Cell, c *table.Cell) error {
	style := c.Style
	if c.Kind == table.KindText && style.Format == table.General && table.LooksLikeFormula(c.Text) {
		// Written as text it is text, but someone who edits the cell would turn
		// it into a formula unless the cell is marked as text.
		style.Format = table.Literal
	}
	id, err := w.dress.id(style, c.Kind == table.KindLink)
	if err != nil {
		return err
	}
	out.StyleID, out.Formula, out.Value = id, "", nil
	switch c.Kind {
	case table.KindText:
		out.Value = c.Text
	case table.KindNumber:
		out.Value = c.Num
	case table.KindLink:
		out.Formula = "HYPERLINK(" + table.StringLiteral(c.LinkTo()) + "," + table.StringLiteral(c.Text) + ")"
		out.Value = c.Text
	case table.KindFormulaNum:
		out.Formula, out.Value = c.Src, c.Num
	case table.KindFormulaText:
		out.Formula, out.Value = c.Src, c.Text
	}
	return nil
}

// rowExtras notes what belongs to a row besides its cells.
func (w *sheetWriter) rowExtras(row *table.Row) error {
	for _, m := range row.Merge {
		if m.First < 1 || m.Last > table.MaxColumns || m.First > m.Last {
			return w.fault(fmt.Sprintf("A%d", w.row), "cannot merge columns %d to %d", m.First, m.Last)
		}
		if m.First == m.Last {
			continue
		}
		area := table.Cells(m.First, w.row, m.Last, w.row)
		if err := w.stream.MergeCell(area.First.String(), area.Last.String()); err != nil {
			return err
		}
	}
	if row.Break && w.row > 1 {
		w.breaks++
		if w.breaks > table.MaxBreaks {
			return w.fault(fmt.Sprintf("A%d", w.row), "more than %d page breaks, which is all a sheet can hold; split it over several sheets", table.MaxBreaks)
		}
		if err := w.stream.InsertPageBreak(table.At{Column: 1, Row: w.row}.String()); err != nil {
			return err
		}
	}
	for _, p := range row.Pictures {
		p.At.Row = w.row
		w.pictures = append(w.pictures, p)
	}
	return nil
}

// surround writes all that stands around the rows.
func (w *sheetWriter) surround() error {
	for _, step := range []func() error{w.setPage, w.setPrintNames, w.setFilter, w.validate, w.setConditions, w.protect} {
		if err := step(); err != nil {
			return err
		}
	}
	return nil
}

func (w *sheetWriter) setFilter() error {
	if w.sheet.Filter.Empty() {
		return nil
	}
	if !w.sheet.Filter.Valid() {
		return w.fault("", "cannot filter %s", w.sheet.Filter)
	}
	return w.file.AutoFilter(w.sheet.Name, w.sheet.Filter.String(), nil)
}

func (w *sheetWriter) validate() error {
	for _, v := range w.sheet.Validations {
		if !v.Area.Valid() {
			return w.fault("", "cannot validate %s", v.Area)
		}
		d := excelize.NewDataValidation(true)
		d.SetSqref(v.Area.String())
		if err := setRule(d, v); err != nil {
			return w.fault(v.Area.First.String(), "validation: %v", err)
		}
		if v.Title != "" || v.Prompt != "" {
			d.SetInput(table.Shorten(v.Title, 32), table.Shorten(v.Prompt, 255))
		}
		complaint := v.Complaint
		if complaint == "" {
			complaint = v.Prompt
		}
		d.SetError(excelize.DataValidationErrorStyleStop, table.Shorten(v.Title, 32), table.Shorten(complaint, 255))
		if err := w.file.AddDataValidation(w.sheet.Name, d); err != nil {
			return w.fault(v.Area.First.String(), "validation: %v", err)
		}
	}
	return nil
}

func setRule(d *excelize.DataValidation, v table.Validation) error {
	switch {
	case len(v.Items) > 0:
		for _, item := range v.Items {
			if item == "" || strings.ContainsAny(item, ",\n") || table.LooksLikeFormula(item) {
				return fmt.Errorf("%q cannot stand in a list of choices; put the choices in cells", item)
			}
		}
		return d.SetDropList(v.Items)
	case math.IsNaN(v.Min) || math.IsNaN(v.Max) || v.Min > v.Max:
		return fmt.Errorf("no number lies from %v to %v", v.Min, v.Max)
	}
	kind := excelize.DataValidationTypeDecimal
	if v.Whole {
		kind = excelize.DataValidationTypeWhole
	}
	// The file keeps what fits a 32-bit float, so an open end is a huge number.
	const open = 1e37
	return d.SetRange(math.Max(v.Min, -open), math.Min(v.Max, open), kind, excelize.DataValidationOperatorBetween)
}

func (w *sheetWriter) setConditions() error {
	for _, c := range w.sheet.Conditions {
		if !c.Area.Valid() || c.Formula == "" {
			return w.fault("", "a condition without a formula or on no cells (%s)", c.Area)
		}
		id, err := w.dress.emphasis(c.Show)
		if err != nil {
			return err
		}
		if err := w.file.SetConditionalFormat(w.sheet.Name, c.Area.String(), []excelize.ConditionalFormatOptions{
			{Type: "formula", Criteria: strings.TrimPrefix(c.Formula, "="), Format: &id},
		}); err != nil {
			return w.fault(c.Area.First.String(), "condition: %v", err)
		}
	}
	return nil
}

// protect locks the sheet against slips, without a password.
func (w *sheetWriter) protect() error {
	if !w.sheet.Protected {
		return nil
	}
	return w.file.ProtectSheet(w.sheet.Name, &excelize.SheetProtectionOptions{
		SelectLockedCells: true, SelectUnlockedCells: true,
		FormatCells: true, FormatColumns: true, FormatRows: true, AutoFilter: true, Sort: true,
		InsertHyperlinks: true,
	})
}
