package survey

import (
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
	rows   int
	seen   map[string]*int
}

const (
	repeatedHeading = "repeated heading"
	droppedByAnswer = "answer: drop"
	maxSeenValues   = 200
)

// passes reports whether the rule keeps the row, and counts it if not.
func (f *rowFilter) passes(cells [][]byte) bool {
	var cell []byte
	if f.column < len(cells) {
		cell = trim(cells[f.column])
	}
	if f.any && len(cell) > 0 && !isNotGiven(cell) {
		return true
	}
	for _, v := range f.values {
		if strings.EqualFold(v, string(cell)) {
			return true
		}
	}
	f.rows++
	if n := f.seen[string(cell)]; n != nil {
		*n++
	} else if len(f.seen) < maxSeenValues && len(cell) <= 80 {
		n = new(int)
		*n = 1
		f.seen[string(cell)] = n
	}
	return false
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
		value := strings.TrimSpace(o.Value)
		i := slices.IndexFunc(rd.filters, func(f rowFilter) bool { return f.column == at })
		if i < 0 {
			rd.filters = append(rd.filters, rowFilter{rule: "only " + rd.head.texts[at] + " = " + value, column: at, seen: make(map[string]*int)})
			i = len(rd.filters) - 1
		} else {
			rd.filters[i].rule += " or " + value
		}
		if value == "*" {
			rd.filters[i].any = true
		} else {
			rd.filters[i].values = append(rd.filters[i].values, value)
		}
	}
	return nil
}
