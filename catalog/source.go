package catalog

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"

	"wraptally/estimate/trace"
)

// Limits on what is read, so that a wrong file is refused before it hurts.
const (
	maxTableBytes = 16 << 20
	maxTableRows  = 200_000
	maxCellRunes  = 500
)

// cell is the text of one cell and where it stands.
type cell struct {
	text         string
	line, column int          // 1-based; the column in bytes of a text file, of the sheet in a workbook
	from         *trace.Place // file and sheet, where they are not those of the grid
}

// grid is one table as text, before it is known what its cells mean.
type grid struct {
	place trace.Place // File and Sheet
	head  []cell
	rows  [][]cell
	// workbook numbers come as written by the spreadsheet, with 17 digits or an exponent
	fromSheet bool
	// a line could not be parted into cells, so that rows are missing
	torn bool
}

// at is the place of a cell.
func (g *grid) at(c cell, field string) trace.Place {
	p := g.place
	if c.from != nil {
		p = *c.from
	}
	p.Line, p.Column, p.Field = c.line, c.column, field
	return p
}

// readCSV reads a comma-separated table in UTF-8, with or without a byte-order
// mark. Faults of form are recorded with their place; what can be read is read.
func readCSV(file string, r io.Reader, faults *Faults) *grid {
	g := &grid{place: trace.Place{File: file}}
	text, err := io.ReadAll(io.LimitReader(r, maxTableBytes+1))
	if err != nil {
		faults.add(g.place, "file-unreadable", "", "the file cannot be read: "+plainError(err), "check the disk and the file")
		return nil
	}
	if len(text) > maxTableBytes {
		faults.add(g.place, "file-too-large", "", fmt.Sprintf("the table is larger than %d MB", maxTableBytes>>20), "give a table of the catalogue, not a whole survey")
		return nil
	}
	text = bytes.TrimPrefix(text, []byte("\xef\xbb\xbf"))
	cr := csv.NewReader(bytes.NewReader(text))
	cr.FieldsPerRecord = -1
	for {
		record, err := cr.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			place := g.place
			var pe *csv.ParseError
			if errors.As(err, &pe) {
				place.Line, place.Column = pe.Line, pe.Column
			}
			faults.add(place, "csv-malformed", "", "the line is not comma-separated text: "+csvReason(err), "put a cell with a quote or comma between quotes and double each quote in it")
			if g.head == nil {
				return nil
			}
			g.torn = true
			continue
		}
		cells := make([]cell, len(record))
		for i, s := range record {
			line, col := cr.FieldPos(i)
			cells[i] = cell{text: s, line: line, column: col}
		}
		if g.head == nil {
			g.head = cells
			continue
		}
		if blankRow(cells) {
			continue
		}
		if len(g.rows) == maxTableRows {
			faults.add(g.at(cells[0], ""), "table-too-long", "", fmt.Sprintf("the table has more than %d rows", maxTableRows), "leave out what is not used")
			break
		}
		g.rows = append(g.rows, cells)
	}
	if g.head == nil {
		faults.add(g.place, "table-empty", "", "the file is empty", "put the column names into the first line; `wraptally catalog -o DIR` writes a pattern")
		return nil
	}
	if len(g.head) == 1 {
		for _, sep := range []string{";", "\t", "|"} {
			if strings.Contains(g.head[0].text, sep) {
				faults.add(g.at(g.head[0], ""), "separator-wrong", g.head[0].text, "the columns are not separated by commas", "save the table as comma-separated text in UTF-8, with decimal points")
				return nil
			}
		}
	}
	return g
}

// blankRow reports whether a row holds nothing, as spreadsheets leave below a table.
func blankRow(cells []cell) bool {
	for _, c := range cells {
		if strings.TrimSpace(c.text) != "" {
			return false
		}
	}
	return true
}

// csvReason is the reason of a parse error without the place, which stands beside it.
func csvReason(err error) string {
	var pe *csv.ParseError
	if errors.As(err, &pe) {
		return pe.Err.Error()
	}
	return plainError(err)
}

// plainError is the innermost reason of an error, without paths.
func plainError(err error) string {
	for {
		inner := errors.Unwrap(err)
		if inner == nil {
			return err.Error()
		}
		err = inner
	}
}
