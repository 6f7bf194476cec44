package catalog

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"

	"wraptally/estimate/trace"
)

// maxBookBytes caps what a workbook may unpack to.
const maxBookBytes = 64 << 20

// readWorkbook reads a sheet for each table: the sheet's name is the table's,
// its first row the column names.
func readWorkbook(path string, faults *Faults) (map[string]*grid, error) {
	f, err := excelize.OpenFile(path, excelize.Options{UnzipSizeLimit: maxBookBytes, UnzipXMLSizeLimit: maxBookBytes, RawCellValue: true})
	if err != nil {
		return nil, &OpenError{Path: path, Err: err}
	}
	defer f.Close()
	names, own := tableNames(), map[string]*grid{}
	for _, sheet := range f.GetSheetList() {
		place := trace.Place{File: path, Sheet: sheet}
		switch {
		case strings.EqualFold(sheet, "readme"):
		case !slices.Contains(names, sheet):
			faults.add(place, "table-unknown", sheet, "the workbook holds a sheet that is not a table of the catalogue",
				meant(sheet, names, "take it out of the workbook; the tables are "+strings.Join(names, ", ")))
		default:
			own[sheet] = readSheet(f, place, faults)
		}
	}
	if len(own) == 0 {
		faults.add(trace.Place{File: path}, "table-none", "", "the workbook holds no table of the catalogue", "name each sheet after its table")
	}
	return own, nil
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

// WriteWorkbook writes the built-in tables as a workbook, a sheet for each,
// every cell as text so that a spreadsheet does not turn 1-1/2 into a date.
func WriteWorkbook(w io.Writer) error {
	f := excelize.NewFile()
	defer f.Close()
	text, err := f.NewStyle(&excelize.Style{NumFmt: 49}) // 49 is the text format
	if err != nil {
		return err
	}
	for i := range tables {
		name := tables[i].name
		faults := &Faults{}
		g := readBuiltin(name, faults)
		if err := faults.err(); err != nil {
			return err
		}
		if i == 0 {
			err = f.SetSheetName("Sheet1", name)
		} else {
			_, err = f.NewSheet(name)
		}
		if err != nil {
			return err
		}
		for r, cells := range append([][]cell{g.head}, g.rows...) {
			for col, cl := range cells {
				ref, err := excelize.CoordinatesToCellName(col+1, r+1)
				if err != nil {
					return err
				}
				if err := f.SetCellStr(name, ref, cl.text); err != nil {
					return err
				}
			}
		}
		last, err := excelize.ColumnNumberToName(len(g.head))
		if err != nil {
			return err
		}
		if err := f.SetColStyle(name, "A:"+last, text); err != nil {
			return err
		}
	}
	return f.Write(w)
}
