package export

import (
	"fmt"
	"strings"

	"wraptally/estimate/trace"
	"wraptally/export/table"
)

// workingHead is the number of rows above the first step.
const workingHead = 4

var workingColumns = []table.Column{
	{Title: "Step", Width: 27, Style: table.Style{Look: table.Code, Wrap: true}},
	{Title: "What", Width: 26, Style: table.WrapStyle},
	{Title: "Formula", Width: 30, Style: table.WrapStyle},
	{Title: "With the numbers", Width: 32, Style: table.WrapStyle},
	{Title: "Result", Width: 12, Style: table.Style{Look: table.Body, Align: table.Right}},
	{Title: "Unit", Width: 8, Style: unitStyle},
	{Title: "Rounding", Width: 17, Style: table.WrapStyle},
	{Title: "Inputs", Width: 52, Style: table.WrapStyle},
	{Title: "Source", Width: 24, Style: table.WrapStyle},
}

// shownWorkings is how many repairs have their working in the workbook.
func (d *desk) shownWorkings() int {
	return min(max(0, d.p.Catalog.Settings.StepsInBook), len(d.p.Repairs))
}

// working is how a repair's quantities came about, and the row of the sheet
// Working at which that begins.
type working struct {
	row   int
	steps []trace.Step
}

// workingRow is the row at which the working of a repair begins.
func (d *desk) workingRow(i int) (int, bool) {
	if i >= len(d.workings) {
		return 0, false
	}
	return d.workings[i].row, true
}

// placeWorkings finds the rows at which the workings begin: a head, the steps
// and a blank row each, after those of the campaign.
func (d *desk) placeWorkings() {
	row := workingHead + 1 + 1 + len(d.p.Steps()) + 1
	for i := range d.shownWorkings() {
		w := working{row, d.p.Explain(i)}
		d.workings = append(d.workings, w)
		row += 1 + len(w.steps) + 1
	}
}

// workingSheet writes how every quantity came about: of the campaign, and of as
// many repairs as the setting output.working_repairs allows.
func (d *desk) workingSheet() *table.Sheet {
	n := len(workingColumns)
	under := "How every quantity came about. "
	if hidden := len(d.p.Repairs) - d.shownWorkings(); hidden > 0 {
		under += fmt.Sprintf("Of the first %d repairs; for the other %d: 'wraptally explain SURVEY REPAIR', or --json, which holds them all (setting output.working_repairs).", d.shownWorkings(), hidden)
	} else {
		under += "The same steps are given by 'wraptally explain SURVEY REPAIR' and by --json."
	}
	s := &table.Sheet{Name: sheetWorking, Columns: workingColumns, FreezeRows: workingHead, FreezeColumns: 1, Page: d.page(true), TitleRows: table.Span{First: workingHead, Last: workingHead}}
	s.Rows = func(yield func(table.Row) bool) {
		ok := yield(table.Spread("Working", look(table.Title), n)) && yield(table.Spread(under, look(table.Muted), n)) && yield(table.Row{}) && yield(table.HeadRow(workingColumns)) &&
			yield(groupRow(table.Text("Campaign: issued, cut, ordered, charged", look(table.Group)), n)) && yieldSteps(d.p.Steps(), yield) && yield(table.Row{})
		for i := 0; ok && i < len(d.workings); i++ {
			r := d.p.Repairs[i]
			head := fmt.Sprintf("%s: line %s, %s, %s", r.ID, r.Line, r.Kind(), r.Status)
			ok = yield(groupRow(table.Link(table.Shorten(legible(head), table.MaxLiteral), d.repairs.id.Nth(i), look(table.Group)), n)) && yieldSteps(d.workings[i].steps, yield) && yield(table.Row{})
		}
	}
	return s
}

// groupRow is a row that opens a group.
func groupRow(first table.Cell, n int) table.Row {
	cells := make([]table.Cell, n)
	for i := range cells {
		cells[i] = table.Empty(look(table.Group))
	}
	cells[0] = first
	return table.Row{Cells: cells, Merge: []table.Span{{First: 1, Last: n}}}
}

func yieldSteps(steps []trace.Step, yield func(table.Row) bool) bool {
	cells := make([]table.Cell, len(workingColumns))
	for i := range steps {
		s := &steps[i]
		var inputs []string
		for _, in := range s.Inputs {
			v := in.Text
			if v == "" {
				v = trace.WithUnit(in.Value, in.Unit)
			}
			inputs = append(inputs, fmt.Sprintf("%s = %s: %s (%s)", in.Symbol, v, in.Name, in.From))
		}
		result := s.Text
		if result == "" {
			result = trace.FormatNumber(s.Value, s.Unit)
		}
		rounding := s.Rounding
		if rounding != "" && s.Text == "" && s.Raw != s.Value {
			rounding += ", from " + trace.FormatNumber(s.Raw, s.Unit)
		}
		numbers := trace.Substitute(s.Formula, s.Inputs)
		if numbers == s.Formula {
			numbers = ""
		}
		for j, text := range []string{s.ID, s.Name, s.Formula, numbers, result, s.Unit, rounding, strings.Join(inputs, "\n"), s.Source} {
			cells[j] = table.Text(legible(text), workingColumns[j].Style)
		}
		if !yield(table.Row{Cells: cells}) {
			return false
		}
	}
	return true
}
