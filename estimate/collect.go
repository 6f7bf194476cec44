package estimate

import (
	"slices"
	"sort"
	"strings"

	"wraptally/estimate/scope"
	"wraptally/estimate/trace"
)

// collect gathers queries and assumptions and closes the account of rows.
func (p *Campaign) collect() {
	s := p.Survey
	p.Account = Account{Read: s.Account.Read, Queried: s.Account.Queried, Filtered: s.Account.Filtered, Blank: s.Account.Blank}
	p.Queries = slices.Concat(s.Queries, p.asked)
	for _, r := range p.Repairs {
		for _, q := range r.Queries {
			q.Repair = r.ID
			if q.Place.File == "" {
				q.Place.File, q.Place.Sheet = p.Name, s.Detected.Sheet
			}
			p.Queries = append(p.Queries, q)
		}
		switch r.Status {
		case scope.Estimated:
			p.Account.Estimated++
			p.Account.Merged += len(r.Defects) - 1
		case scope.NotRepairable:
			p.Account.NotRepairable += len(r.Defects)
		default:
			p.Account.Queried += len(r.Defects)
		}
	}
	p.assume()
}

// assume counts who leans on what, in the order of the codes.
func (p *Campaign) assume() {
	p.Assumptions = append(p.Assumptions, p.Survey.Assumptions...)
	leaning := map[string][]string{}
	for _, r := range p.Repairs {
		for _, code := range r.Leans {
			leaning[code] = append(leaning[code], r.ID)
		}
	}
	codes := make([]string, 0, len(leaning))
	for code := range leaning {
		codes = append(codes, code)
	}
	sort.Strings(codes)
	for _, code := range codes {
		ids := leaning[code]
		where := strings.Join(ids[:min(len(ids), 5)], ", ")
		if len(ids) > 5 {
			where += ", …"
		}
		p.Assumptions = append(p.Assumptions, trace.Assumption{
			Code: code, Text: scope.Texts[code][0], Basis: scope.Texts[code][1], Count: len(ids), Where: where,
		})
	}
	if p.Dates.Need.IsZero() && len(p.Counted) > 0 {
		p.Assumptions = append(p.Assumptions, trace.Assumption{
			Code: "need-date-unknown", Text: "No need date is given: latest order dates and shelf life are not checked. Give one with --start.",
			Basis: "no source", Count: len(p.Needs), Where: "order",
		})
	}
}
