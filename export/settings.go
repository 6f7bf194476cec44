package export

import (
	"fmt"
	"strings"

	"wraptally/export/table"
)

// settingsSheet lists the rules in force and how the survey was understood.
func (b *book) settingsSheet() *table.Sheet {
	l := newLeaf(sheetSettings, "Settings in force", "Every rule by which the estimate was made. \"Verified: no\" means from memory or by custom: check it before leaning on it. Change one with --set NAME=VALUE.", widths(27, 24, 11, 46, 10, 28, 64))
	l.Blank(1)
	l.heads("Setting", "Value", "Unit", "Basis", "Verified", "Changed by", "Meaning")
	for _, s := range b.p.Catalog.SettingRows {
		value := s.Value
		if value == "" {
			value = "(open)"
		}
		style := table.WrapStyle
		if s.Changed != "" {
			style = look(table.Caution).Wrapped()
		}
		l.Add(table.Text(legible(s.Name), look(table.Code)), table.Text(legible(value), style), table.Text(legible(s.Unit), table.TextStyle), table.Text(legible(s.Basis), table.WrapStyle),
			table.Text(legible(s.Verified), table.TextStyle), table.Text(legible(s.Changed), table.WrapStyle), table.Text(legible(s.Meaning), table.WrapStyle))
	}
	b.surveyAsRead(l)
	s := l.sheet(b.page(true))
	s.FreezeRows = 4
	return s
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
	l.heads("Heading found", "Field", "Unit", "Understood by", "Column", "Unit from", "Left aside because")
	for _, c := range d.Columns {
		field, why := c.Field, c.Why
		if field == "" {
			field = "(not used)"
			if why == "" {
				why = "no field takes it"
			}
		}
		l.Add(table.Text(legible(c.Heading), table.WrapStyle), table.Text(field, table.WrapStyle), table.Text(c.Unit, table.TextStyle), table.Text(c.Via, table.WrapStyle), table.Int(c.Index, table.IntStyle.To(table.Left)),
			table.Text(c.UnitFrom, table.TextStyle), table.Text(legible(why), table.WrapStyle))
	}
	for _, f := range b.p.Survey.Account.FilteredBy {
		var values []string
		for _, v := range f.Values {
			values = append(values, fmt.Sprintf("%q ×%d", v.Value, v.Rows))
		}
		fact("rows left out by rule", fmt.Sprintf("%s: %d rows (%s)", f.Rule, f.Rows, strings.Join(values, ", ")))
	}
}
