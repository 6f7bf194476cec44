package export

import (
	"strings"

	"wraptally/estimate/trace"
	"wraptally/export/table"
)

// assumptionsSheet lists what is taken for granted, with its basis and how much
// leans on it.
func (b *book) assumptionsSheet() *table.Sheet {
	type col = table.Col[trace.Assumption]
	t := table.NewTable[trace.Assumption](sheetAssumptions)
	t.Add(col{Title: "Code", Width: 26, Style: look(table.Code), Cell: func(p pen, a trace.Assumption) { p.Text(a.Code) }})
	t.Add(col{Title: "What is taken for granted", Width: 72, Style: table.WrapStyle, Cell: func(p pen, a trace.Assumption) { p.Text(a.Text) }})
	t.Add(col{Title: "Basis", Width: 44, Style: table.WrapStyle, Cell: func(p pen, a trace.Assumption) { p.Text(a.Basis) }})
	t.Add(col{Title: "Repairs affected", Width: 10, Style: table.IntStyle, Cell: func(p pen, a trace.Assumption) { p.Int(a.Count) }})
	t.Add(col{Title: "Where (the first)", Width: 38, Style: table.WrapStyle, Cell: func(p pen, a trace.Assumption) { p.Text(a.Where) }})
	l := newLeaf(sheetAssumptions, "Assumptions", "What the estimate takes for granted, and how many repairs each affects.", t.Columns())
	l.Blank(1)
	list(l, t, b.p.Assumptions)
	if len(b.p.Assumptions) == 0 {
		l.note("None beyond the settings in force.")
	}
	l.heading("Of this estimate as a whole")
	for _, text := range []string{
		Notice,
		"The formulas of the composite-repair standards were written from memory and in part derived again; nobody here had the purchased text. The setting design.edition names what is meant: " + b.p.Catalog.Settings.DesignEdition + ".",
		invented(b.p.Catalog.Invented),
		"Each item is rounded up to whole units once, for a kit, a shift of a crew, a crew or the campaign; growth comes before rounding, waste goes in once.",
		"Every amount is rounded once a line, half away from zero, to the smallest unit of the currency (ISO 4217).",
	} {
		if text == "" {
			continue
		}
		l.AddRow(table.Spread(text, look(table.Plain), len(l.columns)))
	}
	return l.headed(b.page(true), 0)
}

// invented says which values in use are those of the built-in catalogue; empty
// where none are.
func invented(tables []string) string {
	if len(tables) == 0 {
		return ""
	}
	return "Products, prices, rates and times of the built-in catalogue are invented; a firm's own catalogue takes their place. In use from it: " + strings.Join(tables, ", ") + "."
}
