package estimate

import (
	"slices"
	"sort"
	"strings"

	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

// findings are what the repairs come to and ask, taken in one after the other, so
// that none need be held.
type findings struct {
	survey  *survey.Result
	means   *means
	account Account // of every row
	queries []trace.Query
	most    int // queries of the repairs kept, of each severity; all are counted
	kept    map[trace.Severity]int
	counts  []survey.CodeCount
	leaning map[string]*leaners
	silent  map[string]*Silence
	texts   map[string]scope.Assumption
	holes   holes
	byHand  int // repairs where no powered tool may be used
}

// leaners are the repairs that lean on an assumption.
type leaners struct {
	n     int
	first []string // ids, at most mostNamed
}

func newFindings(s *survey.Result, m *means, most int) *findings {
	read := s.Account
	return &findings{
		survey: s, means: m, texts: scope.Assumptions(&m.Settings), most: most, kept: map[trace.Severity]int{}, leaning: map[string]*leaners{}, silent: map[string]*Silence{},
		account: Account{Read: read.Read, Queried: read.Queried, Filtered: read.Filtered, Blank: read.Blank},
	}
}

// find takes in all repairs.
func find(repairs []*scope.Repair, s *survey.Result, m *means, most int) *findings {
	f := newFindings(s, m, most)
	for _, r := range repairs {
		f.add(r)
	}
	return f
}

// add takes in the next repair.
func (f *findings) add(r *scope.Repair) {
	switch r.Status {
	case scope.Estimated:
		f.account.Estimated++
		f.account.Merged += len(r.Defects) - 1
	case scope.NotRepairable:
		f.account.NotRepairable += len(r.Defects)
	default:
		f.account.Queried += len(r.Defects)
	}
	for _, q := range r.Queries {
		f.counts = counted(f.counts, survey.CodeCount{Code: q.Code, Severity: q.Severity, Count: 1})
		if f.kept[q.Severity]++; f.kept[q.Severity] <= f.most {
			q.Repair = r.ID
			if i := slices.IndexFunc(r.Defects, func(d *survey.Defect) bool { return d.ID == q.Row }); i >= 0 && q.Spot == "" {
				q.Spot = r.Defects[i].Spot()
			}
			f.queries = append(f.queries, q)
		}
	}
	for _, code := range r.Leans {
		l := f.leaning[code]
		if l == nil {
			l = &leaners{}
			f.leaning[code] = l
		}
		if l.n++; l.n <= mostNamed {
			l.first = append(l.first, r.ID)
		}
		f.silence(r, code)
	}
	f.holes.add(r, f.means)
	if r.Hazardous {
		f.byHand++
	}
}

// asked are the queries about all repairs together.
func (f *findings) asked() (out []trace.Query) {
	for _, s := range f.silences() {
		out = append(out, s.ask(f.means, f.survey, f.means.given.Name))
	}
	out = append(out, f.holes.ask(f.means)...)
	return append(out, f.askByHand()...)
}

// list lists the queries of the survey, those about catalogue and order and those of
// each repair, which it names.
func (f *findings) list(asked []trace.Query) []trace.Query {
	read := len(f.survey.Queries)
	out := slices.Concat(f.survey.Queries, asked, f.queries)
	for i := range out[read:] {
		if p := &out[read+i].Place; p.File == "" {
			p.File, p.Sheet = f.means.given.Name, f.survey.Detected.Sheet
		}
	}
	return out
}

// count counts all queries by code and severity, beginning from the survey's,
// which may list fewer than it counts.
func (f *findings) count(asked []trace.Query) []survey.CodeCount {
	out := slices.Clone(f.survey.Counts)
	for _, q := range asked {
		out = counted(out, survey.CodeCount{Code: q.Code, Severity: q.Severity, Count: 1})
	}
	for _, c := range f.counts {
		out = counted(out, c)
	}
	return out
}

// counted adds to the counts.
func counted(counts []survey.CodeCount, more survey.CodeCount) []survey.CodeCount {
	for i := range counts {
		if c := &counts[i]; c.Code == more.Code && c.Severity == more.Severity {
			c.Count += more.Count
			return counts
		}
	}
	return append(counts, more)
}

// assumptions counts who leans on what, in the order of the codes.
func (f *findings) assumptions(needs []Need, dates Dates) []trace.Assumption {
	out := slices.Clone(f.survey.Assumptions)
	estimated := f.account.Estimated > 0
	codes := make([]string, 0, len(f.leaning))
	for code := range f.leaning {
		codes = append(codes, code)
	}
	sort.Strings(codes)
	for _, code := range codes {
		l := f.leaning[code]
		where := strings.Join(l.first, ", ")
		if l.n > mostNamed {
			where += ", …"
		}
		out = append(out, trace.Assumption{
			Code: code, Text: f.texts[code].Text, Basis: f.texts[code].Basis, Count: l.n, Where: where,
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
