package estimate

import (
	"sort"
	"strings"

	"wraptally/catalog"
	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

// queries lists those of the survey, those about catalogue and order and those of each
// repair, which it names.
func queries(s *survey.Result, asked []trace.Query, repairs []*scope.Repair, name string) []trace.Query {
	out := append([]trace.Query(nil), s.Queries...)
	add := func(q trace.Query) {
		if q.Place.File == "" {
			q.Place.File, q.Place.Sheet = name, s.Detected.Sheet
		}
		out = append(out, q)
	}
	for _, q := range asked {
		add(q)
	}
	for _, r := range repairs {
		for _, q := range r.Queries {
			q.Repair = r.ID
			add(q)
		}
	}
	return out
}

// count counts all queries by code and severity, beginning from the survey's,
// which may list fewer than it counts.
func count(counts []survey.CodeCount, asked []trace.Query, repairs []*scope.Repair) []survey.CodeCount {
	out := append([]survey.CodeCount(nil), counts...)
	add := func(list []trace.Query) {
		for _, q := range list {
			at := 0
			for at < len(out) && (out[at].Code != q.Code || out[at].Severity != q.Severity) {
				at++
			}
			if at == len(out) {
				out = append(out, survey.CodeCount{Code: q.Code, Severity: q.Severity})
			}
			out[at].Count++
		}
	}
	add(asked)
	for _, r := range repairs {
		add(r.Queries)
	}
	return out
}

// account says what became of every row.
func account(read survey.Account, repairs []*scope.Repair) Account {
	a := Account{Read: read.Read, Queried: read.Queried, Filtered: read.Filtered, Blank: read.Blank}
	for _, r := range repairs {
		switch r.Status {
		case scope.Estimated:
			a.Estimated++
			a.Merged += len(r.Defects) - 1
		case scope.NotRepairable:
			a.NotRepairable += len(r.Defects)
		default:
			a.Queried += len(r.Defects)
		}
	}
	return a
}

// assumptions counts who leans on what, in the order of the codes.
func assumptions(s *survey.Result, repairs []*scope.Repair, needs []Need, dates Dates, set *catalog.Settings) []trace.Assumption {
	out := append([]trace.Assumption(nil), s.Assumptions...)
	leaning := map[string][]string{}
	estimated := false
	for _, r := range repairs {
		estimated = estimated || r.Status == scope.Estimated
		for _, code := range r.Leans {
			leaning[code] = append(leaning[code], r.ID)
		}
	}
	codes := make([]string, 0, len(leaning))
	for code := range leaning {
		codes = append(codes, code)
	}
	sort.Strings(codes)
	texts := scope.Assumptions(set)
	for _, code := range codes {
		ids := leaning[code]
		where := strings.Join(ids[:min(len(ids), 5)], ", ")
		if len(ids) > 5 {
			where += ", …"
		}
		out = append(out, trace.Assumption{
			Code: code, Text: texts[code].Text, Basis: texts[code].Basis, Count: len(ids), Where: where,
		})
	}
	if tools := chargedInFull(needs); len(tools) > 0 && estimated {
		out = append(out, trace.Assumption{
			Code: "tools-in-full", Text: "These tools come back and are charged in full all the same: the table items gives neither their hire nor what share of them is written off.",
			Basis: "taken at its worst", Count: len(tools), Where: strings.Join(tools[:min(len(tools), 5)], ", ") + more(len(tools)-5),
		})
	}
	if dates.Need.IsZero() && estimated {
		out = append(out, trace.Assumption{
			Code: "need-date-unknown", Text: "No need date is given: latest order dates and shelf life are not checked. Give one with --start.",
			Basis: "no source", Count: len(needs), Where: "order",
		})
	}
	return out
}
