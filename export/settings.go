package export

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"wraptally/catalog"
	"wraptally/estimate/survey"
	"wraptally/export/table"
)

// settingsSheet lists the rules in force and how the survey was understood.
func (b *book) settingsSheet() *table.Sheet {
	type col = table.Col[catalog.SettingRow]
	t := table.NewTable[catalog.SettingRow](sheetSettings)
	t.Add(col{Title: "Setting", Width: 27, Style: look(table.Code), Cell: func(p pen, s catalog.SettingRow) { p.Text(s.Name) }})
	t.Add(col{Title: "Value", Width: 24, Style: table.WrapStyle, Cell: func(p pen, s catalog.SettingRow) {
		if s.Changed != "" {
			p.As(look(table.Caution).Wrapped())
		}
		p.Text(cmp.Or(s.Value, "(open)"))
	}})
	t.Add(col{Title: "Unit", Width: 11, Style: table.TextStyle, Cell: func(p pen, s catalog.SettingRow) { p.Text(s.Unit) }})
	t.Add(col{Title: "Basis", Width: 46, Style: table.WrapStyle, Cell: func(p pen, s catalog.SettingRow) { p.Text(s.Basis) }})
	t.Add(col{Title: "Verified", Width: 10, Style: table.TextStyle, Cell: func(p pen, s catalog.SettingRow) { p.Text(s.Verified) }})
	t.Add(col{Title: "Changed by", Width: 28, Style: table.WrapStyle, Cell: func(p pen, s catalog.SettingRow) { p.Text(s.Changed) }})
	t.Add(col{Title: "Meaning", Width: 64, Style: table.WrapStyle, Cell: func(p pen, s catalog.SettingRow) { p.Text(s.Meaning) }})
	l := newLeaf(sheetSettings, "Settings in force", "Every rule by which the estimate was made. \"Verified: no\" means from memory or by custom: check it before you rely on it. Change one with --set NAME=VALUE.", t.Columns())
	changed := slices.DeleteFunc(slices.Clone(b.p.Catalog.SettingRows), func(r catalog.SettingRow) bool { return r.Changed == "" })
	section(l, "Changed from the built-in values", t, changed, "None.")
	b.surveyAsRead(l)
	section(l, "All rules", t, b.p.Catalog.SettingRows, "")
	return l.sheet(b.page(true))
}

// surveyAsRead says what was found of the survey, which column became which
// field and which was left aside.
func (b *book) surveyAsRead(l *leaf) {
	d := b.p.Survey.Detected
	l.heading("The survey as it was read")
	fact := func(name, value string) {
		if value != "" {
			l.AddRow(table.Row{Cells: []table.Cell{table.Text(name, look(table.Label)), table.Text(legible(value), table.WrapStyle)}, Merge: []table.Span{{First: 2, Last: len(l.columns)}}})
		}
	}
	fact("file", b.p.Name)
	fact("form", strings.TrimSpace(d.Form+" "+d.Encoding))
	if d.Delimiter != "" {
		fact("separator, decimal sign", fmt.Sprintf("%q, %q", d.Delimiter, d.Decimal))
	}
	fact("sheet", d.Sheet)
	if others := len(d.Sheets) - 1; others > 0 {
		fact("sheets in the workbook", strings.Join(d.Sheets, ", "))
	}
	fact("heading in row", fmt.Sprint(d.HeaderRow))
	if d.Preamble > 0 {
		fact("rows above it, left out", fmt.Sprint(d.Preamble))
	}
	fact("given by the user", strings.Join(d.Set, ", "))
	fact("fields not in the survey", strings.Join(d.Missing, ", "))
	l.Blank(1)
	list(l, headingTable(), d.Columns)
	for _, f := range b.p.Survey.Account.FilteredBy {
		values := joined(f.Values, ", ", func(v survey.ValueCount) string { return fmt.Sprintf("%q ×%d", v.Value, v.Rows) })
		fact("rows left out by rule", fmt.Sprintf("%s: %s (%s)", f.Rule, countOf(f.Rows, "row", "rows"), values))
	}
}

// headingTable says which heading of the survey became which field.
func headingTable() *table.Table[survey.Column] {
	type col = table.Col[survey.Column]
	t := table.NewTable[survey.Column](sheetSettings)
	t.Add(col{Title: "Heading found", Style: table.WrapStyle, Cell: func(p pen, c survey.Column) { p.Text(c.Heading) }})
	t.Add(col{Title: "Field", Style: table.WrapStyle, Cell: func(p pen, c survey.Column) { p.Text(cmp.Or(c.Field, "(not used)")) }})
	t.Add(col{Title: "Unit", Style: table.TextStyle, Cell: func(p pen, c survey.Column) { p.Text(c.Unit) }})
	t.Add(col{Title: "Understood by", Style: table.WrapStyle, Cell: func(p pen, c survey.Column) { p.Text(c.Via) }})
	t.Add(col{Title: "Column", Style: table.IntStyle.To(table.Left), Cell: func(p pen, c survey.Column) { p.Int(c.Index) }})
	t.Add(col{Title: "Unit from", Style: table.TextStyle, Cell: func(p pen, c survey.Column) { p.Text(c.UnitFrom) }})
	t.Add(col{Title: "Left aside because", Style: table.WrapStyle, Cell: func(p pen, c survey.Column) {
		if c.Field == "" {
			c.Why = cmp.Or(c.Why, "no field takes it")
		}
		p.Text(c.Why)
	}})
	return t
}
