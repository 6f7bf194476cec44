package xlsxtest

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"strconv"

	"github.com/xuri/excelize/v2"
)

// A Grid is the bare content of a workbook, ready to be written again.
type Grid struct {
	sheets []gridSheet
	cells  int
}

type gridSheet struct {
	name string
	rows []gridRow
}

type gridRow struct {
	first string // reference of its first cell
	cells []any
}

// Cells is how many cells hold something.
func (g *Grid) Cells() int { return g.cells }

// ReadGrid takes the values and formulas out of a workbook, without styles,
// widths, pictures or anything else.
func ReadGrid(workbook []byte) (*Grid, error) {
	archive, err := zip.NewReader(bytes.NewReader(workbook), int64(len(workbook)))
	if err != nil {
		return nil, err
	}
	g := &Grid{}
	at := 0
	err = Read(archive, func(v Value) error {
		content, err := plain(v)
		if err != nil || content == nil {
			return err
		}
		if n := len(g.sheets); n == 0 || g.sheets[n-1].name != v.Sheet {
			g.sheets = append(g.sheets, gridSheet{name: v.Sheet})
			at = 0
		}
		s := &g.sheets[len(g.sheets)-1]
		column, row, err := excelize.CellNameToCoordinates(v.Cell)
		if err != nil {
			return err
		}
		if row != at {
			at = row
			first, err := excelize.CoordinatesToCellName(1, row)
			if err != nil {
				return err
			}
			s.rows = append(s.rows, gridRow{first: first})
		}
		r := &s.rows[len(s.rows)-1]
		for len(r.cells) < column-1 {
			r.cells = append(r.cells, nil)
		}
		r.cells = append(r.cells, content)
		g.cells++
		return nil
	})
	return g, err
}

func plain(v Value) (any, error) {
	var value any = v.Text
	switch v.Type {
	case "", "n":
		if v.Text == "" {
			return nil, nil // only a style
		}
		f, err := strconv.ParseFloat(v.Text, 64)
		if err != nil {
			return nil, fmt.Errorf("%s!%s: %w", v.Sheet, v.Cell, err)
		}
		value = f
	case "b":
		value = v.Text == "1"
	}
	if v.Formula != "" {
		return excelize.Cell{Formula: v.Formula, Value: value}, nil
	}
	return value, nil
}

// RawWrite writes the cells of a grid with the library's stream writer in the
// plainest way there is: the measure that a whole job's time and memory are
// compared with.
func RawWrite(w io.Writer, g *Grid) error {
	f := excelize.NewFile()
	defer f.Close()
	for i, s := range g.sheets {
		if i == 0 {
			if err := f.SetSheetName(f.GetSheetName(0), s.name); err != nil {
				return err
			}
		} else if _, err := f.NewSheet(s.name); err != nil {
			return err
		}
		stream, err := f.NewStreamWriter(s.name)
		if err != nil {
			return err
		}
		for _, r := range s.rows {
			if err := stream.SetRow(r.first, r.cells); err != nil {
				return err
			}
		}
		if err := stream.Flush(); err != nil {
			return err
		}
	}
	return f.Write(w)
}
