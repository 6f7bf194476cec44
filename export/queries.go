package export

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
	"wraptally/export/table"
)

// query is a row of the sheet Queries.
type query struct {
	trace.Query
	number int
	theirs string // heading of the survey that the field was read from
}

// queryRows are the rows of the sheet, and the last column on paper.
type queryRows struct {
	*table.Table[query]
	answer table.Ref
}

// queryTable declares the sheet Queries. The heads row, field, code and answer
// are what the survey package looks for when the sheet is sent back.
func queryTable() queryRows {
	type col = table.Col[query]
	fillIn := look(table.FillIn)
	t := queryRows{Table: table.NewTable[query](sheetQueries)}
	t.Add(col{Title: "No", Width: 5, Style: table.IntStyle.To(table.Left), Cell: func(p pen, q query) { p.Int(q.number) }})
	t.Add(col{Title: "Asks for", Width: 12, Style: table.TextStyle, Cell: func(p pen, q query) { p.Text(q.Severity.Words()) }})
	t.Add(col{Title: "Row", Width: 11, Style: table.WrapStyle, Cell: func(p pen, q query) { p.In(table.Literal).Text(q.Row) }})
	t.Add(col{Title: "Line and place", Width: 14, Style: table.WrapStyle, Cell: func(p pen, q query) { p.In(table.Literal).Text(q.Spot) }})
	t.Add(col{Title: "Your heading", Width: 15, Style: table.WrapStyle, Cell: func(p pen, q query) { p.In(table.Literal).Text(q.theirs) }})
	t.Add(col{Title: "Field", Width: 17, Style: table.WrapStyle, Cell: func(p pen, q query) {
		if q.Place.Field == "" {
			p.As(fillIn)
		}
		p.Text(q.Place.Field)
	}})
	t.Add(col{Title: "Found", Width: 14, Style: table.WrapStyle, Cell: func(p pen, q query) { p.In(table.Literal).Text(q.Found) }})
	t.Add(col{Title: "Problem", Width: 50, Style: table.WrapStyle, Cell: func(p pen, q query) { p.Text(q.Message) }})
	t.Add(col{Title: "What to do", Width: 40, Style: table.WrapStyle, Cell: func(p pen, q query) { p.Text(forClient(q.Advice)) }})
	t.answer = t.Add(col{Title: "Answer", Width: 22, Style: fillIn.In(table.Literal).Wrapped()})
	t.Add(col{Title: "Repair", Width: 13, Style: table.TextStyle, Cell: func(p pen, q query) { p.Text(q.Repair) }})
	t.Add(col{Title: "Where", Width: 26, Style: table.WrapStyle, Cell: func(p pen, q query) { p.Text(q.Place.String()) }})
	t.Add(col{Title: "Code", Width: 24, Style: look(table.Code).Wrapped(), Cell: func(p pen, q query) { p.Text(q.Code) }})
	return t
}

// queriesSheet asks what the survey leaves open, the gravest first, with a
// column to answer in.
func (b *book) queriesSheet() *table.Sheet {
	t := queryTable()
	l := newLeaf(sheetQueries, "Queries", "Fill in the column Answer and send the workbook back. Answer with the value (with its unit where it is not the survey's), with \"confirm\" where the survey is right as it stands, or with \"drop\" to leave the row out. Leave row, field and code as they are; where the field is blank, write the survey's heading that you correct.", t.Columns()[:t.answer.Column()])
	l.note(fmt.Sprintf("%s: not in the totals until answered.  %s: estimated all the same, an answer makes it better.  %s: no answer needed.", trace.Stop.Words(), trace.Ask.Words(), trace.Note.Words()))
	l.AddRow(table.Spread(b.queryCount(), look(table.Label), t.answer.Column()))
	l.Blank(1)
	l.columns = t.Columns()
	begin(l, t.Table, len(b.p.Queries))
	s := l.headed(b.page(true), 0)
	s.Filter, s.Rows = t.Area(), then(l, t.Table, b.queries())
	s.Page.Margins = narrowMargins
	s.PrintArea = table.Cells(1, 1, t.answer.Column(), max(t.Last(), t.HeadRow())) // the rest is for the program that reads it back
	return s
}

func (b *book) queryCount() string {
	text := joined([]trace.Severity{trace.Stop, trace.Ask, trace.Note}, ", ", func(sev trace.Severity) string {
		return fmt.Sprintf("%d %s", b.p.QueryTotalOf(sev), sev.Words())
	})
	if more := b.p.QueryTotal() - len(b.p.Queries); more > 0 {
		text += "; " + countOf(more, "query", "queries") + " counted but not listed"
	}
	if b.p.NotLooked != "" {
		text += "; not looked at: " + forClient(b.p.NotLooked)
	}
	return text
}

// queries are those listed, the gravest first.
func (b *book) queries() (out []query) {
	theirs, spots := map[string]string{}, map[string]string{}
	for _, d := range append([]survey.Detected{b.p.Survey.Detected}, b.p.Survey.Detected.Further...) {
		for _, c := range d.Columns {
			if c.Field != "" {
				theirs[d.Sheet+"\x00"+c.Field] = c.Heading
			}
		}
	}
	for _, r := range b.p.Repairs {
		for i := range r.Defects {
			spots[r.Defects[i].ID] = r.Defects[i].Spot()
		}
	}
	for _, sev := range []trace.Severity{trace.Stop, trace.Ask, trace.Note} {
		for _, q := range b.p.Queries {
			if q.Severity == sev {
				q.Spot = cmp.Or(q.Spot, spots[q.Row])
				out = append(out, query{q, len(out) + 1, theirs[q.Place.Sheet+"\x00"+q.Place.Field]})
			}
		}
	}
	return out
}

// An option of the command line in an advice, with what leads up to it.
var optionInAdvice = regexp.MustCompile(`(?::| with) --[a-z-]+(?: (?:[\w.]+=(?:"[^"]*"|[^\s,;"]+)(?: or [a-z]+)?|[a-z]+-[a-z-]+))?`)

// forClient is an advice for who answers the sheet and has no command line:
// options are taken out, and with them what speaks of nothing else.
func forClient(advice string) string {
	parts := strings.Split(optionInAdvice.ReplaceAllString(advice, ""), "; ")
	parts = slices.DeleteFunc(parts, func(p string) bool { return strings.Contains(p, "--") })
	if len(parts) == 0 {
		return "answer beside"
	}
	return strings.Join(parts, "; ")
}
