package export

import (
	"fmt"
	"strings"

	"wraptally/estimate/trace"
	"wraptally/export/table"
)

// The heads row, field, code and answer are what the survey package looks for
// when the sheet is sent back.
var queryColumns = []table.Column{
	{Title: "No", Width: 6, Style: table.IntStyle.To(table.Left)},
	{Title: "Severity", Width: 10, Style: table.TextStyle},
	{Title: "Row", Width: 16, Style: table.WrapStyle},
	{Title: "Field", Width: 18, Style: table.WrapStyle},
	{Title: "Found", Width: 20, Style: table.WrapStyle},
	{Title: "What is the matter", Width: 44, Style: table.WrapStyle},
	{Title: "What to do", Width: 40, Style: table.WrapStyle},
	{Title: "Answer", Width: 26, Style: look(table.FillIn)},
	{Title: "Repair", Width: 9, Style: table.TextStyle},
	{Title: "Where", Width: 26, Style: table.WrapStyle},
	{Title: "Code", Width: 24, Style: table.Style{Look: table.Code, Wrap: true}},
}

// queriesHead is the number of rows above the first query.
const queriesHead = 6

// queriesSheet asks what the survey leaves open, the gravest first, with a
// column to answer in.
func (b *book) queriesSheet() *table.Sheet {
	n := len(queryColumns)
	s := &table.Sheet{
		Name: sheetQueries, Columns: queryColumns, FreezeRows: queriesHead, Page: b.page(true),
		TitleRows: table.Span{First: queriesHead, Last: queriesHead},
		Filter:    table.Cells(1, queriesHead, n, queriesHead+max(1, len(b.p.Queries))),
	}
	s.Rows = func(yield func(table.Row) bool) {
		_ = yield(table.Spread("Queries", look(table.Title), n)) &&
			yield(table.Spread("Fill in the column Answer and send the workbook back; it is read with --answers FILE. Answer with the value (with its unit where it is not the survey's), with \"confirm\" where the survey is right as it stands, or with \"drop\" to leave the row out. Leave row, field and code as they are; where the field is blank, write the survey's heading that you correct.", look(table.Muted), n)) &&
			yield(table.Spread("stop: stays out of the totals until answered.  ask: estimated all the same, an answer makes it better.  note: worth knowing.", look(table.Muted), n)) &&
			yield(table.Spread(b.queryCount(), look(table.Label), n)) &&
			yield(table.Row{}) && yield(table.HeadRow(queryColumns)) && b.yieldQueries(yield)
	}
	return s
}

func (b *book) queryCount() string {
	var parts []string
	for _, sev := range []trace.Severity{trace.Stop, trace.Ask, trace.Note} {
		parts = append(parts, fmt.Sprintf("%d %s", b.p.QueryTotalOf(sev), sev))
	}
	text := strings.Join(parts, ", ")
	if more := b.p.Survey.More; more > 0 {
		text += "; " + countOf(more, "query", "queries") + " of the survey counted but not listed"
	}
	return text
}

func (b *book) yieldQueries(yield func(table.Row) bool) bool {
	at := 0
	for _, sev := range []trace.Severity{trace.Stop, trace.Ask, trace.Note} {
		for _, q := range b.p.Queries {
			if q.Severity != sev {
				continue
			}
			at++
			field := table.Text(legible(q.Place.Field), table.WrapStyle)
			if q.Place.Field == "" {
				field = table.Empty(look(table.FillIn))
			}
			if !yield(table.Row{Cells: []table.Cell{
				table.Int(at, table.IntStyle.To(table.Left)), table.Text(q.Severity.String(), table.TextStyle), table.Text(legible(q.Row), table.WrapStyle.In(table.Literal)), field,
				table.Text(legible(q.Found), table.WrapStyle.In(table.Literal)), table.Text(legible(q.Message), table.WrapStyle), table.Text(legible(q.Advice), table.WrapStyle),
				table.Empty(look(table.FillIn).In(table.Literal).Wrapped()), table.Text(q.Repair, table.TextStyle), table.Text(legible(q.Place.String()), table.WrapStyle), table.Text(q.Code, look(table.Code).Wrapped()),
			}}) {
				return false
			}
		}
	}
	return true
}
