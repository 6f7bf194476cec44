package export

import (
	"cmp"
	"fmt"
	"iter"
	"strings"

	"wraptally/estimate/trace"
	"wraptally/export/table"
)

// workingTable declares the steps by which quantities came about.
func workingTable() *table.Table[*trace.Step] {
	type col = table.Col[*trace.Step]
	t := table.NewTable[*trace.Step](sheetWorking)
	t.Add(col{Title: "Step", Width: 27, Style: look(table.Code).Wrapped(), Cell: func(p pen, s *trace.Step) { p.Text(s.ID) }})
	t.Add(col{Title: "What", Width: 26, Style: table.WrapStyle, Cell: func(p pen, s *trace.Step) { p.Text(s.Name) }})
	t.Add(col{Title: "Formula", Width: 30, Style: table.WrapStyle, Cell: func(p pen, s *trace.Step) { p.Text(s.Formula) }})
	t.Add(col{Title: "With the numbers", Width: 32, Style: table.WrapStyle, Cell: func(p pen, s *trace.Step) {
		if numbers := trace.Substitute(s.Formula, s.Inputs); numbers != s.Formula {
			p.Text(numbers)
		}
	}})
	t.Add(col{Title: "Result", Width: 12, Style: table.TextStyle.To(table.Right), Cell: func(p pen, s *trace.Step) {
		p.Text(cmp.Or(s.Text, trace.FormatNumber(s.Value, s.Unit)))
	}})
	t.Add(col{Title: "Unit", Width: 8, Style: unitStyle, Cell: func(p pen, s *trace.Step) { p.Text(s.Unit) }})
	t.Add(col{Title: "Rounding", Width: 17, Style: table.WrapStyle, Cell: func(p pen, s *trace.Step) {
		rounding := s.Rounding
		if rounding != "" && s.Text == "" && s.Raw != s.Value {
			rounding += ", from " + trace.FormatNumber(s.Raw, s.Unit)
		}
		p.Text(rounding)
	}})
	t.Add(col{Title: "Inputs", Width: 52, Style: table.WrapStyle, Cell: func(p pen, s *trace.Step) {
		var inputs []string
		for _, in := range s.Inputs {
			inputs = append(inputs, fmt.Sprintf("%s = %s: %s (%s)", in.Symbol, cmp.Or(in.Text, trace.WithUnit(in.Value, in.Unit)), in.Name, in.From))
		}
		p.Text(strings.Join(inputs, "\n"))
	}})
	t.Add(col{Title: "Source", Width: 24, Style: table.WrapStyle, Cell: func(p pen, s *trace.Step) { p.Text(s.Source) }})
	return t
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

// newWorking declares the sheet and finds the rows at which the workings begin: a
// head, the steps and a blank row each, after those of the campaign.
func (d *desk) newWorking() {
	t := workingTable()
	under := "How every quantity came about. "
	if hidden := len(d.p.Repairs) - d.shownWorkings(); hidden > 0 {
		under += fmt.Sprintf("Of the first %d repairs; for the other %d: 'wraptally explain SURVEY REPAIR', or --json, which holds them all (setting output.working_repairs).", d.shownWorkings(), hidden)
	} else {
		under += "The same steps are given by 'wraptally explain SURVEY REPAIR' and by --json."
	}
	l := newLeaf(sheetWorking, "Working", under, t.Columns())
	l.Blank(1)
	begin(l, t, 0)
	row := l.Next() + 1 + len(d.p.Steps()) + 1
	for i := range d.shownWorkings() {
		w := working{row, d.p.Explain(i)}
		d.workings = append(d.workings, w)
		row += 1 + len(w.steps) + 1
	}
	d.steps, d.stepTop = t, l
}

// workingSheet writes how every quantity came about: of the campaign, and of as
// many repairs as the setting output.working_repairs allows.
func (d *desk) workingSheet() *table.Sheet {
	t, l := d.steps, d.stepTop
	s := l.headed(d.page(true), 1)
	s.Rows = func(yield func(table.Row) bool) {
		group := func(head table.Cell, steps []trace.Step) bool {
			if !yield(groupRow(head, t.Wide())) {
				return false
			}
			return t.Stream(each(steps), yield) && yield(table.Row{})
		}
		for row := range l.All() {
			if !yield(row) {
				return
			}
		}
		ok := group(table.Text("Campaign: issued, cut, ordered, charged", look(table.Group)), d.p.Steps())
		for i := 0; ok && i < len(d.workings); i++ {
			r := d.p.Repairs[i]
			head := fmt.Sprintf("%s: line %s, %s, %s", r.ID, r.Line, r.Kind(), r.Status)
			ok = group(table.Link(table.Shorten(legible(head), table.MaxLiteral), d.repairs.id.Nth(i), look(table.Group)), d.workings[i].steps)
		}
	}
	return s
}

// each yields where each step is.
func each(steps []trace.Step) iter.Seq[*trace.Step] {
	return func(yield func(*trace.Step) bool) {
		for i := range steps {
			if !yield(&steps[i]) {
				return
			}
		}
	}
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
