package survey

import (
	"fmt"
	"slices"
	"strings"

	"wraptally/estimate/trace"
)

// rowFilter is a rule that leaves rows out.
type rowFilter struct {
	rule   string
	column int // index of the cell; -1 for a rule that looks at the whole row
	values []string
	any    bool // any cell that is not blank will do
	not    bool // the rows with these values are left out, rather than kept
	rows   int
	seen   map[string]*int
}

const (
	repeatedHeading = "repeated heading"
	droppedByAnswer = "answer: drop"
	repairDone      = "the repair is done"
	maxSeenValues   = 200
)

// passes reports whether the rule keeps the row, and counts it if not.
func (f *rowFilter) passes(cells [][]byte) bool {
	var cell []byte
	if f.column < len(cells) {
		cell = trim(cells[f.column])
	}
	listed := f.any && len(cell) > 0 && !isNotGiven(cell) ||
		slices.ContainsFunc(f.values, func(v string) bool { return strings.EqualFold(v, string(cell)) })
	if listed != f.not {
		return true
	}
	f.count(cell)
	return false
}

// count counts a row that is left out, with the value that it is left out for.
func (f *rowFilter) count(cell []byte) {
	f.rows++
	if n := f.seen[string(cell)]; n != nil {
		*n++
	} else if len(f.seen) < maxSeenValues && len(cell) <= 80 {
		n = new(int)
		*n = 1
		f.seen[string(cell)] = n
	}
}

func (f *rowFilter) topValues() []ValueCount {
	var out []ValueCount
	for v, n := range f.seen {
		out = append(out, ValueCount{printable(v), *n})
	}
	slices.SortFunc(out, func(a, b ValueCount) int {
		if a.Rows != b.Rows {
			return b.Rows - a.Rows
		}
		return strings.Compare(a.Value, b.Value)
	})
	return out[:min(len(out), 20)]
}

// newFilters gathers the filters, those on one column into one rule.
func (rd *reader) newFilters(only []Filter) error {
	for _, o := range only {
		at := rd.columnFor(o.Column)
		if at < 0 {
			return &Error{Place: trace.Place{Sheet: rd.det.Sheet, Line: rd.head.line}, Problem: "the filter names a column that is not there: " + quote(o.Column),
				Hint: "the columns are " + strings.Join(rd.head.texts, ", ")}
		}
		i := slices.IndexFunc(rd.filters, func(f rowFilter) bool { return f.column == at && f.not == o.Not })
		if i < 0 {
			rule := "only " + rd.head.texts[at] + " = "
			if o.Not {
				rule = "only " + rd.head.texts[at] + " other than "
			}
			rd.filters = append(rd.filters, rowFilter{rule: rule, column: at, not: o.Not, seen: make(map[string]*int)})
			i = len(rd.filters) - 1
		} else {
			rd.filters[i].rule += " or "
		}
		f := &rd.filters[i]
		f.rule += strings.Join(o.Values, " or ")
		for _, value := range o.Values {
			if value == "*" {
				f.any = true
			} else {
				f.values = append(f.values, value)
			}
		}
	}
	return nil
}

// nothingLeft is the error of rules that leave no row of the survey, with what
// stands in the columns instead.
func (rd *reader) nothingLeft() error {
	if rd.account.Kept > 0 || rd.account.Queried > 0 {
		return nil
	}
	for _, f := range rd.account.FilteredBy {
		if len(f.Values) > 0 {
			return &Error{Place: trace.Place{Sheet: rd.det.Sheet, Line: rd.head.line}, Problem: "no row is left by the rule " + quote(f.Rule), Hint: "the column holds " + f.Held()}
		}
	}
	return nil
}

// Held says what stood in the rows left out: "weld (7), joint (3)".
func (f FilterCount) Held() string {
	var parts []string
	for _, v := range f.Values {
		name := quote(v.Value)
		if v.Value == "" {
			name = "nothing"
		}
		parts = append(parts, fmt.Sprintf("%s (%d)", name, v.Rows))
	}
	if len(parts) > 12 {
		parts = append(parts[:12], "...")
	}
	return strings.Join(parts, ", ")
}
