package survey

import (
	"slices"
	"sort"
	"strconv"
	"strings"

	"wraptally/estimate/trace"
)

// report collects queries and assumptions. Queries beyond the limit are
// counted; the limit holds for each severity apart, so that a thousand notes
// never crowd out what stops a row.
type report struct {
	limit   int
	queries []trace.Query
	listed  [3]int
	more    int
	counts  map[CodeCount]int // keyed with Count zero
	assumed []trace.Assumption
	index   map[string]int // code+text → place in assumed
}

func newReport(limit int) *report {
	return &report{limit: limit, counts: make(map[CodeCount]int), index: make(map[string]int)}
}

func (r *report) add(q trace.Query) {
	r.counts[CodeCount{Code: q.Code, Severity: q.Severity}]++
	if r.listed[q.Severity] >= r.limit {
		r.more++
		return
	}
	r.listed[q.Severity]++
	r.queries = append(r.queries, q)
}

// full reports whether a query of this severity would only be counted.
func (r *report) full(s trace.Severity) bool { return r.listed[s] >= r.limit }

// assume counts an assumption; where names what leans on it, and the first few
// are kept.
func (r *report) assume(code, text, basis string, count int, where string) {
	key := code + "\x00" + text
	i, ok := r.index[key]
	if !ok {
		i = len(r.assumed)
		r.index[key] = i
		r.assumed = append(r.assumed, trace.Assumption{Code: code, Text: text, Basis: basis})
	}
	a := &r.assumed[i]
	switch {
	case a.Count == 0:
		a.Where = where
	case a.Count < 5:
		a.Where += ", " + where
	case a.Count == 5:
		a.Where += ", ..."
	}
	a.Count += count
}

// sortedCounts lists the counts in the order of the code table.
func (r *report) sortedCounts() []CodeCount {
	order := make(map[string]int, len(codeTable))
	for i, c := range codeTable {
		order[c.Code] = i
	}
	out := make([]CodeCount, 0, len(r.counts))
	for k, n := range r.counts {
		k.Count = n
		out = append(out, k)
	}
	slices.SortFunc(out, func(a, b CodeCount) int {
		if d := order[a.Code] - order[b.Code]; d != 0 {
			return d
		}
		return int(b.Severity) - int(a.Severity)
	})
	return out
}

// finish closes the result.
func (rd *reader) finish() (*Result, error) {
	if rd.account.Read == rd.account.Blank {
		return nil, &Error{Place: trace.Place{Sheet: rd.det.Sheet, Line: rd.head.line}, Problem: "there is a heading and no row below it"}
	}
	rd.betweenRows()
	rd.columnDoubts()
	rd.unusedAnswers()
	if rd.notGiven > 0 {
		rd.rep.assume("not-given", "Cells such as N/A, - or ? are read as empty.", "common practice, no source", rd.notGiven, rd.opts.Name)
	}
	sort.SliceStable(rd.rep.queries, func(i, j int) bool {
		a, b := rd.rep.queries[i].Place, rd.rep.queries[j].Place
		if a.Line != b.Line {
			return a.Line < b.Line
		}
		return a.Column < b.Column
	})
	for i := range rd.filters {
		f := &rd.filters[i]
		if f.rows > 0 || f.rule != repeatedHeading && f.rule != droppedByAnswer {
			rd.account.FilteredBy = append(rd.account.FilteredBy, FilterCount{Rule: f.rule, Rows: f.rows, Values: f.topValues()})
		}
	}
	return &Result{
		Defects:     rd.defects,
		Queries:     rd.rep.queries,
		More:        rd.rep.more,
		Counts:      rd.rep.sortedCounts(),
		Assumptions: rd.rep.assumed,
		Account:     rd.account,
		Detected:    rd.det,
	}, nil
}

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

func rowName(line int) string { return "row " + strconv.Itoa(line) }
