package export

import (
	"wraptally/export/table"
)

// assumptionsSheet lists what is taken for granted, with its basis and how much
// leans on it.
func (b *book) assumptionsSheet() *table.Sheet {
	l := newLeaf(sheetAssumptions, "Assumptions", "What the estimate takes for granted, and how much leans on each.", widths(26, 72, 44, 10, 38))
	l.Blank(1)
	l.heads("Code", "What is taken for granted", "Basis", "#How many lean on it", "Where (the first)")
	for _, a := range b.p.Assumptions {
		l.Add(table.Text(legible(a.Code), look(table.Code)), table.Text(legible(a.Text), table.WrapStyle), table.Text(legible(a.Basis), table.WrapStyle), table.Int(a.Count, table.IntStyle), table.Text(legible(a.Where), table.WrapStyle))
	}
	if len(b.p.Assumptions) == 0 {
		l.note("None beyond the settings in force.")
	}
	l.heading("Of this estimate as a whole")
	for _, text := range []string{
		Notice,
		"The formulas of the composite-repair standards were written from memory and in part derived again; nobody here had the purchased text. The setting design.edition names what is meant: " + b.p.Catalog.Settings.DesignEdition + ".",
		"Products, prices, rates and times of the built-in catalogue are invented; a firm's own catalogue takes their place.",
		"Each item is issued whole at one level (kit, crew or campaign), once; growth comes before rounding, waste goes in once.",
		"Every amount is rounded once a line, half away from zero, to the smallest unit of the currency (ISO 4217).",
	} {
		l.AddRow(table.Spread(text, look(table.Plain), len(l.columns)))
	}
	s := l.sheet(b.page(true))
	s.FreezeRows, s.TitleRows = 4, table.Span{First: 4, Last: 4}
	return s
}
