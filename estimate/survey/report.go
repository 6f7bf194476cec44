package survey

import (
	"slices"
	"sort"
	"strconv"

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
		return nil, &Error{Place: trace.Place{Sheet: rd.det.Sheet, Line: rd.head.line}, Problem: "there is a heading and no row below it", Hint: "is it the right file, sheet (--sheet) and heading (--header-row)?"}
	}
	rd.betweenRows()
	if err := rd.columnQueries(); err != nil {
		return nil, err
	}
	rd.ids.askIDs(rd.rep)
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
	first := rd
	for r := rd; r != nil; r = r.before {
		first = r
		rd.account.FilteredBy = append(r.filtered(), rd.account.FilteredBy...)
		if r.before != nil {
			rd.further = append([]Detected{r.det}, rd.further...)
		}
	}
	first.det.Further = rd.further
	if err := rd.nothingLeft(); err != nil {
		return nil, err
	}
	return &Result{
		Defects:     rd.defects, // empty where packed
		Queries:     rd.rep.queries,
		More:        rd.rep.more,
		Counts:      rd.rep.sortedCounts(),
		Assumptions: rd.rep.assumed,
		Account:     rd.account,
		Detected:    first.det,
		packed:      rd.packed,
	}, nil
}

// columnQueries asks what the columns of a file or sheet raise as a whole.
func (rd *reader) columnQueries() error {
	rd.columnDoubts()
	rd.askBlanks()
	rd.askEvents()
	rd.askWall()
	return rd.judgeUnits()
}

// filtered are the rows that the rules left out.
func (rd *reader) filtered() (list []FilterCount) {
	for i := range rd.filters {
		f := &rd.filters[i]
		if f.rows > 0 || f.column >= 0 {
			list = append(list, FilterCount{Rule: f.rule, Rows: f.rows, Values: f.topValues()})
		}
	}
	return list
}

func rowName(line int) string { return "row " + strconv.Itoa(line) }
