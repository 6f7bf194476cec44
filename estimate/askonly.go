package estimate

import (
	"fmt"

	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

// askOnly is the campaign of a large survey of which only the queries are wanted:
// those of the rows, of the repairs and of their kits, and of what the survey
// leaves blank. Nothing is planned, cut, ordered or charged, and NotLooked says
// so. Of the queries as many of each severity are listed as the setting
// intake.queries says; all are counted.
func askOnly(s *survey.Result, m *means, tell func(string, int, int)) (*Campaign, error) {
	name, set := m.given.Name, &m.Settings
	m.rules = m.rules.Brief()
	repairs := m.rules.Plan(s.Defects, m.earlier)
	dates, err := needDate(repairs, set.Start)
	if err != nil {
		return nil, err
	}
	m.placed, m.dates = m.given.Placed, dates
	for i, r := range repairs {
		if i%1000 == 0 {
			tell("kits", i, len(repairs))
		}
		if r.Status == scope.Estimated {
			k, _ := m.packLike(r)
			repairs[i] = asking(r, k)
		}
	}
	tell("blanks", 0, 1)
	silent := silences(repairs, m)
	asked := m.Warnings
	for i := range silent {
		asked = append(asked, silent[i].ask(m, s, name))
	}
	asked = append(asked, holes(repairs, m, name)...)
	asked = append(asked, byHand(repairs, set, name)...)
	return &Campaign{
		Catalog: m.Catalog, Survey: s, Name: name, Repairs: repairs, Dates: dates,
		Queries: firstOf(queries(s, asked, repairs, name), set.IntakeQueries), Counts: count(s.Counts, asked, repairs),
		Assumptions: assumptions(s, repairs, nil, dates, set), Silences: silent, Account: account(s.Account, repairs),
		NotLooked: fmt.Sprintf("what the plan of work, the cutting, the order and the bid ask: the survey has %d rows to estimate, more than %d (setting check.whole_rows); --set check.whole_rows=%d looks at it, and an estimate does",
			len(s.Defects), set.CheckWhole, len(s.Defects)),
		means: m,
	}, nil
}

// firstOf are the first queries of each severity.
func firstOf(list []trace.Query, most int) []trace.Query {
	kept := list[:0]
	seen := map[trace.Severity]int{}
	for _, q := range list {
		if seen[q.Severity]++; seen[q.Severity] <= most {
			kept = append(kept, q)
		}
	}
	return kept
}
