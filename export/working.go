package export

import (
	"cmp"
	"fmt"
	"io"
	"iter"

	"wraptally/estimate"
	"wraptally/estimate/trace"
	"wraptally/export/table"
	"wraptally/export/xlsx"
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
		p.Text(joined(s.Inputs, "\n", func(in trace.Input) string {
			return fmt.Sprintf("%s = %s: %s (%s)", in.Symbol, cmp.Or(in.Text, trace.WithUnit(in.Value, in.Unit)), in.Name, in.From)
		}))
	}})
	t.Add(col{Title: "Source", Width: 24, Style: table.WrapStyle, Cell: func(p pen, s *trace.Step) { p.Text(s.Source) }})
	return t
}

const sheetWorking = "Working"

// Working writes how every quantity came about as a workbook of its own: of the
// campaign, and of as many repairs as the setting output.working_repairs allows.
func Working(w io.Writer, p *estimate.Campaign, opt Options) error {
	b := newBook(p, opt, nil)
	run := b.runSheet()
	if b.workingShown() == len(p.Repairs) {
		run = b.carried(func(w io.Writer) error { return JSON(w, p, opt) })
	}
	return xlsx.Write(w, b.bind("Working of the campaign", b.workingSheet(), run))
}

// The rows that open a group of steps.
const workingOfCampaign = "Campaign: issued, cut, ordered, charged"

func workingOfRepair(id, line, kind, status string) string {
	return fmt.Sprintf("%s: line %s, %s, %s", id, line, kind, status)
}

func workingHead(text string) string { return table.Shorten(legible(text), table.MaxLiteral) }

// workingShown is of how many repairs the steps are written.
func (b *book) workingShown() int {
	return min(max(0, b.p.Catalog.Settings.StepsInBook), len(b.p.Repairs))
}

// workingSheet writes the steps, those of a repair worked out when they are
// written.
func (b *book) workingSheet() *table.Sheet {
	t := workingTable()
	shown := b.workingShown()
	under := "How every quantity came about. The same steps are given by 'wraptally explain SURVEY REPAIR' and by --json. " + Notice
	if hidden := len(b.p.Repairs) - shown; hidden > 0 {
		under = fmt.Sprintf("How every quantity came about, of the first %d repairs; for the other %d: 'wraptally explain SURVEY REPAIR', or --json, which holds them all (setting output.working_repairs). %s", shown, hidden, Notice)
	}
	l := newLeaf(sheetWorking, "Working", under, t.Columns())
	l.Blank(1)
	begin(l, t, 0)
	s := l.headed(b.page(true), 1)
	s.Rows = inTurn(l.All(), func(yield func(table.Row) bool) {
		group := func(head string, steps []trace.Step) bool {
			if !yield(groupRow(table.Text(workingHead(head), look(table.Group)), t.Wide())) {
				return false
			}
			return t.Stream(each(steps), yield) && yield(table.Row{})
		}
		ok := group(workingOfCampaign, b.p.Steps())
		for i := 0; ok && i < shown; i++ {
			r := b.p.Repairs[i]
			ok = group(workingOfRepair(r.ID, r.Line, r.Kind(), string(r.Status)), b.p.Explain(i))
		}
	})
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
