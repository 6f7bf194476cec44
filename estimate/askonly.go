package estimate

import (
	"fmt"
	"slices"

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
	set := &m.Settings
	dates, err := needDate(s.Parts(), set.Start)
	if err != nil {
		return nil, err
	}
	m = m.by(dates)
	m.rules = m.rules.Brief()
	lines := m.rules.Each(s.Lines())
	if m.given.Earlier != nil {
		lines = func(yield func([]*scope.Repair) bool) { yield(m.rules.Plan(s.Defects, m.given.Earlier)) }
	}
	found := newFindings(s, m, set.IntakeQueries)
	spots := map[string]string{}
	for _, q := range s.Queries {
		spots[q.Row] = ""
	}
	done := 0
	for repairs := range lines {
		for _, r := range repairs {
			if done%1000 == 0 {
				tell("rows", done, s.Kept())
			}
			done += len(r.Defects)
			if r.Status == scope.Estimated {
				k, _ := m.packLike(r)
				r = asking(r, k)
			}
			found.add(r)
			for _, d := range r.Defects {
				if _, asked := spots[d.ID]; asked {
					spots[d.ID] = d.Spot()
				}
			}
		}
	}
	tell("blanks", 0, 1)
	asked := slices.Concat(m.Warnings, found.asked())
	list := firstOf(found.list(asked), set.IntakeQueries)
	for i := range list {
		if q := &list[i]; q.Spot == "" {
			q.Spot = spots[q.Row]
		}
	}
	return &Campaign{
		Catalog: m.Catalog, Survey: s, Name: m.given.Name, Dates: dates,
		Queries: list, Counts: found.count(asked),
		Assumptions: found.assumptions(nil, dates), Silences: found.silences(), Account: found.account,
		NotLooked: fmt.Sprintf("what the plan of work, the cutting, the order and the bid ask: the survey has %d rows to estimate, more than %d (setting check.whole_rows); --set check.whole_rows=%d looks at it, and an estimate does",
			s.Kept(), set.CheckWhole, s.Kept()),
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
