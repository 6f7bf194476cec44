package export

import (
	"slices"
	"strings"

	"wraptally/export/table"
)

// contentsSheet leads to the other sheets and says who prints which of them.
func (d *desk) contentsSheet() *table.Sheet {
	type col = table.Col[tab]
	t := table.NewTable[tab](sheetContents)
	t.Add(col{Title: "Sheet", Width: 18, Style: table.TextStyle, Cell: func(p pen, s tab) { p.Link(s.name, table.At{Column: 1, Row: 1}.On(s.name)) }})
	t.Add(col{Title: "What it holds", Width: 46, Style: table.WrapStyle, Cell: func(p pen, s tab) { p.Text(s.holds) }})
	t.Add(col{Title: "Who prints it", Width: 46, Style: table.WrapStyle, Cell: func(p pen, s tab) { p.Text(s.who) }})
	l := newLeaf(sheetContents, "Contents", "The sheets of this workbook, and who prints which. Not in it: how every quantity came about ('wraptally explain', or estimate with --working FILE.xlsx).", t.Columns())
	l.AddRow(table.Spread("Not printed with the whole workbook: "+strings.Join(d.unprinted(), ", ")+". To print one, clear its print area first (page layout, print area, clear). The names of the sheets lead there.", look(table.Label).Wrapped(), t.Wide()))
	l.Blank(1)
	list(l, t, slices.DeleteFunc(d.tabs(), func(s tab) bool { return s.holds == "" }))
	return l.headed(d.page(false), 0)
}

// unprinted are the sheets of this workbook that its print leaves out.
func (d *desk) unprinted() (names []string) {
	for _, s := range d.tabs() {
		if slices.Contains(onScreen, s.name) {
			names = append(names, s.name)
		}
	}
	return names
}
