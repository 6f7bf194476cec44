package export

import (
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
	l.Blank(1)
	var rows []tab
	for _, s := range d.tabs() {
		if s.holds != "" {
			rows = append(rows, s)
		}
	}
	list(l, t, rows)
	return l.headed(d.page(false), 0)
}
