package estimate

import (
	"fmt"
	"strings"

	"wraptally/estimate/cut"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

// Find finds a repair by its id, or by the id of a survey row it holds.
func (p *Campaign) Find(name string) (int, bool) {
	for i, r := range p.Repairs {
		if strings.EqualFold(r.ID, name) {
			return i, true
		}
	}
	for i, r := range p.Repairs {
		for _, d := range r.Defects {
			if d.ID == name {
				return i, true
			}
		}
	}
	return 0, false
}

// RepairNames lists the first repairs for a message.
func (p *Campaign) RepairNames(most int) string {
	var ids []string
	for i, r := range p.Repairs {
		if i == most {
			ids = append(ids, "…")
			break
		}
		ids = append(ids, r.ID)
	}
	if len(ids) == 0 {
		return "none"
	}
	return strings.Join(ids, ", ")
}

// QueryCounts are the numbers of queries by code and severity, those that were
// counted but not listed included.
func (p *Campaign) QueryCounts() []survey.CodeCount {
	out := append([]survey.CodeCount(nil), p.Survey.Counts...)
	for _, q := range p.asked {
		out = addCount(out, q)
	}
	for _, r := range p.Repairs {
		for _, q := range r.Queries {
			out = addCount(out, q)
		}
	}
	return out
}

func addCount(list []survey.CodeCount, q trace.Query) []survey.CodeCount {
	for i := range list {
		if list[i].Code == q.Code && list[i].Severity == q.Severity {
			list[i].Count++
			return list
		}
	}
	return append(list, survey.CodeCount{Code: q.Code, Severity: q.Severity, Count: 1})
}

// QueryTotal is the number of all queries.
func (p *Campaign) QueryTotal() int {
	n := 0
	for _, c := range p.QueryCounts() {
		n += c.Count
	}
	return n
}

// QueryTotalOf is the number of queries of one severity.
func (p *Campaign) QueryTotalOf(sev trace.Severity) int {
	n := 0
	for _, c := range p.QueryCounts() {
		if c.Severity == sev {
			n += c.Count
		}
	}
	return n
}

// FirstOrder is the order that has to be placed first, −1 without dates.
func (p *Campaign) FirstOrder() int {
	first := -1
	for i, o := range p.Orders {
		if len(o.Lines) == 0 || o.LatestOrder.IsZero() {
			continue
		}
		if first < 0 || o.LatestOrder.Before(p.Orders[first].LatestOrder) {
			first = i
		}
	}
	return first
}

// Counts are the numbers of coils or sheets used, alongside Items.
func (cl CutList) Counts() []int {
	if cl.Linear != nil {
		return cl.Linear.StocksUsed
	}
	return cl.Sheets.SheetsUsed
}

// Used says how many coils or sheets of which kind a cut list takes.
func (cl CutList) Used() string {
	var parts []string
	for i, n := range cl.Counts() {
		if n > 0 {
			name := cl.Items[i]
			if cl.Lots[i] != "" {
				name = "offcut " + cl.Lots[i]
			}
			parts = append(parts, fmt.Sprintf("%d × %s", n, name))
		}
	}
	return strings.Join(parts, " + ")
}

// Verdict says how good the plan is.
func (cl CutList) Verdict() cut.Verdict {
	if cl.Linear != nil {
		return cl.Linear.Verdict
	}
	return cl.Sheets.Verdict
}

// Proof says how good the plan is: proven least, or how far from the bound.
func (cl CutList) Proof() string {
	v := cl.Verdict()
	if v.Proven {
		return "proven least"
	}
	return fmt.Sprintf("within %s of the bound, not proven", trace.WithUnit(v.Gap*100, "%"))
}

// CrewHours are the hours of a whole crew that are paid: the minutes of the work
// over the productive share of a shift.
func (p *Campaign) CrewHours() float64 { return p.Minutes / 60 / p.Catalog.Settings.Productive }

// LineCount is the number of lines in the n-th kit counted.
func (p *Campaign) LineCount(n int) int { return len(p.lines[n]) }
