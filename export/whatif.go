package export

import (
	"fmt"

	"wraptally/estimate/design"
	"wraptally/estimate/trace"
	"wraptally/export/table"
)

// varySheet shows what a change of each input of the survey does, the largest
// swing of the bid first. Its figures come from whole runs, so they are values.
func (d *desk) varySheet(t *design.SensitivityTable) *table.Sheet {
	by := trace.FormatNumber(t.Fraction*100, "%")
	wide := []float64{26, 11}
	for range t.Outputs {
		wide = append(wide, 13)
	}
	wide = append(wide, 15)
	l := newLeaf(sheetVary, "What if", "Each input of the survey changed by −"+by+" % and +"+by+" %, the others as they are, and the whole estimate made again each time. Whole packs make the figures move in steps; a repair that a change pushes out of the method falls out of the totals, as the number of repairs shows.", widths(wide...))
	l.Blank(1)
	last := len(t.Outputs) - 1
	heads := []string{"Input", "Change"}
	for _, name := range t.Outputs {
		heads = append(heads, "#"+name)
	}
	l.heads(append(heads, "#Change of the "+t.Outputs[last])...)
	values := func(name, change string, v []float64, base int) int {
		c := []table.Cell{table.Text(name, table.TextStyle), table.Text(change, table.TextStyle)}
		for i, x := range v {
			f := quantityFormat(x)
			if i >= last-1 {
				f = d.money()
			}
			c = append(c, table.Num(x, shown(f)))
		}
		r := l.Next()
		if base > 0 {
			c = append(c, table.FormulaNum(fmt.Sprintf("%s-%s", cell(3+last, r), table.At{Column: 3 + last, Row: base}.Abs()), v[last]-t.Base[last], shown(d.money())))
		}
		return l.Add(c...)
	}
	base := values("as surveyed", "", t.Base, 0)
	rows := t.ByOutput(last)
	for _, e := range rows {
		for _, end := range []struct {
			sign  string
			trial design.Trial
		}{{"−", e.Low}, {"+", e.High}} {
			if end.trial.Err != nil {
				l.Add(table.Text(e.Variable.Name, table.TextStyle), table.Text(end.sign+by+" %", table.TextStyle), table.Text(legible(end.trial.Err.Error()), table.TextStyle))
				continue
			}
			values(e.Variable.Name, end.sign+by+" %", end.trial.Outputs, base)
		}
	}
	s := l.sheet(d.page(true))
	s.FreezeRows, s.FreezeColumns, s.TitleRows = 4, 1, table.Span{First: 4, Last: 4}
	return s
}
