package xlsxtest

import (
	"fmt"
	"io"
	"strconv"

	"github.com/xuri/excelize/v2"
)

// A Grid is the bare content of a workbook, ready to be written again.
type Grid struct {
	rows  []gridRow
	cells int
}

type gridRow struct {
	sheet  string
	number int
	cells  []any
}

// Cells is how many cells hold something.
func (g *Grid) Cells() int { return g.cells }

// ReadGrid takes the values and formulas out of a workbook, without styles,
// widths, pictures or anything else.
func ReadGrid(workbook []byte) (*Grid, error) {
	g := &Grid{}
	err := Read(workbook, func(v Value) error {
		if v.Text == "" && v.Formula == "" {
			return nil // only a style
		}
		content, err := plain(v)
		if err != nil {
			return err
		}
		column, row, err := excelize.CellNameToCoordinates(v.Cell)
		if err != nil {
			return err
		}
		if n := len(g.rows); n == 0 || g.rows[n-1].number != row || g.rows[n-1].sheet != v.Sheet {
			g.rows = append(g.rows, gridRow{sheet: v.Sheet, number: row})
		}
		r := &g.rows[len(g.rows)-1]
		r.cells = append(append(r.cells, make([]any, column-1-len(r.cells))...), content)
		g.cells++
		return nil
	})
	return g, err
}

func plain(v Value) (value any, err error) {
	switch value = v.Text; v.Type {
	case "", "n":
		if value, err = strconv.ParseFloat(v.Text, 64); err != nil {
			return nil, fmt.Errorf("%s!%s: %w", v.Sheet, v.Cell, err)
		}
	case "b":
		value = v.Text == "1"
	}
	if v.Formula != "" {
		value = excelize.Cell{Formula: v.Formula, Value: value}
	}
	return value, nil
}

// RawWrite writes the cells of a grid with the library's stream writer in the
// plainest way there is: the measure that a whole job's time and memory are
// compared with.
func RawWrite(w io.Writer, g *Grid) error {
	f := excelize.NewFile()
	defer f.Close()
	var stream *excelize.StreamWriter
	for i, r := range g.rows {
		if i == 0 || g.rows[i-1].sheet != r.sheet {
			_, err := f.NewSheet(r.sheet)
			if err == nil && i == 0 {
				err = f.DeleteSheet(f.GetSheetName(0))
			}
			if err == nil {
				stream, err = f.NewStreamWriter(r.sheet)
			}
			if err != nil {
				return err
			}
		}
		if err := stream.SetRow("A"+strconv.Itoa(r.number), r.cells); err != nil {
			return err
		}
		if i == len(g.rows)-1 || g.rows[i+1].sheet != r.sheet {
			if err := stream.Flush(); err != nil {
				return err
			}
		}
	}
	return f.Write(w)
}
