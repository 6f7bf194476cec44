package catalog

import (
	"bytes"
	"encoding/csv"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"

	"wraptally/estimate/trace"
)

// whole is all that a folder or workbook holds, and the built-in tables for those
// that it leaves out.
type whole struct {
	book   bool
	tables map[string]*grid // that of products among them
	given  map[string]bool  // of them, those that are not built in
	others []otherTable     // the firm's own, in the order of their names
}

// otherTable is a file or sheet that is none of the tables.
type otherTable struct {
	name  string
	bytes []byte // of a file
	grid  *grid  // of a sheet, or of a file that is a table
}

// readWhole reads all that a folder or workbook holds. What cannot be read as it is
// meant is an error of type *Faults; what its tables say wrongly is not judged.
func readWhole(from string) (*whole, error) {
	faults := &Faults{}
	own, err := readSource(from, faults)
	if err != nil {
		return nil, err
	}
	w := &whole{tables: own, given: map[string]bool{}, book: strings.EqualFold(filepath.Ext(from), ".xlsx")}
	if own == nil {
		w.tables = map[string]*grid{}
	}
	for _, name := range sourceNames() {
		if _, w.given[name] = w.tables[name]; !w.given[name] {
			w.tables[name] = readBuiltin(name, faults)
		}
	}
	switch {
	case faults.Total > 0 || from == "":
	case w.book:
		err = w.otherSheets(from, faults)
	default:
		err = w.otherFiles(from)
	}
	if err == nil {
		err = faults.err()
	}
	return w, err
}

// otherFiles reads the files of a folder that are none of the tables.
func (w *whole) otherFiles(dir string) error {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return &OpenError{Path: dir, Err: err}
	}
	for _, e := range entries {
		name := e.Name()
		if w.given[strings.TrimSuffix(name, ".csv")] || !e.Type().IsRegular() || name == "README.md" || strings.HasPrefix(name, ".") || strings.HasPrefix(name, "~") {
			continue
		}
		text, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			return &OpenError{Path: filepath.Join(dir, name), Err: err}
		}
		o := otherTable{name: name, bytes: text, grid: &grid{}}
		if g := readCSV(name, bytes.NewReader(text), &Faults{}); g != nil && filepath.Ext(name) == ".csv" {
			o.grid = g
		}
		w.others = append(w.others, o)
	}
	return nil
}

// otherSheets reads the sheets of a workbook that are none of the tables, as they
// are shown.
func (w *whole) otherSheets(path string, faults *Faults) error {
	f, err := openBook(path, "")
	if err != nil {
		return err
	}
	defer f.Close()
	for _, sheet := range f.GetSheetList() {
		if w.given[strings.ToLower(sheet)] {
			continue
		}
		rows, err := f.GetRows(sheet, excelize.Options{RawCellValue: false})
		if err != nil {
			faults.add(trace.Place{File: path, Sheet: sheet}, "file-unreadable", "", "the sheet cannot be read: "+plainError(err), "save the workbook again")
			continue
		}
		g := &grid{}
		for i, row := range rows {
			cells := make([]cell, len(row))
			for k := range row {
				cells[k].text = row[k]
			}
			if i == 0 {
				g.head = cells
			} else {
				g.rows = append(g.rows, cells)
			}
		}
		w.others = append(w.others, otherTable{name: sheet + ".csv", grid: g})
	}
	return nil
}

// Files are the tables of a catalogue as files by name, with their README.md: those
// of a folder or workbook with all else that it holds, and the built-in ones for
// those that it leaves out; without from, the built-in ones. The errors are those of
// Load.
func Files(from string) (map[string][]byte, error) {
	w, err := readWhole(from)
	if err != nil {
		return nil, err
	}
	out := map[string][]byte{}
	names, err := fs.Glob(Book(), "*")
	if err != nil {
		return nil, err
	}
	for _, name := range names {
		if out[name], err = fs.ReadFile(Book(), name); err != nil {
			return nil, err
		}
	}
	for _, def := range sources() {
		switch {
		case !w.given[def.name]:
		case w.book:
			out[def.name+".csv"], err = w.tables[def.name].csv(def)
		default:
			out[def.name+".csv"], err = os.ReadFile(filepath.Join(from, def.name+".csv"))
		}
		if err != nil {
			return nil, err
		}
	}
	for _, o := range w.others {
		if out[o.name] = o.bytes; o.bytes == nil {
			if out[o.name], err = o.grid.csv(&tableDef{}); err != nil {
				return nil, err
			}
		}
	}
	return out, nil
}

// csv writes a table as comma-separated text, with the numbers of a spreadsheet as
// they were seen.
func (g *grid) csv(def *tableDef) ([]byte, error) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	for _, cells := range slices.Concat([][]cell{g.head}, g.rows) {
		row := make([]string, max(len(cells), len(g.head)))
		for i := range cells {
			row[i] = cells[i].text
			if g.fromSheet && i < len(g.head) && !def.columnOrOwn(strings.TrimSpace(g.head[i].text)).isText() {
				row[i] = plainNumber(strings.TrimSpace(row[i]))
			}
		}
		if err := w.Write(row); err != nil {
			return nil, err
		}
	}
	w.Flush()
	return b.Bytes(), w.Error()
}
