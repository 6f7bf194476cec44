package estimate

import (
	"fmt"
	"slices"
	"strings"

	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

// Silence is a field that the survey leaves blank in some of its rows, and what
// that leaves open.
type Silence struct {
	Code    string   // of the assumption
	Name    string   // "the remaining wall"; "" where no end of a range was weighed
	Rows    int      // blank, of those that need it
	Repairs int      // that lean on it
	First   []string // ids of the first of those rows
	// What the kits of these repairs weigh with this field at the easy end of its
	// range and at the hard end, everything else as ordered; of the first Weighed
	// of the repairs, and of those that can be made at both ends.
	Low, High float64 // kg
	Weighed   int
}

// mostWeighed bounds the repairs of a field whose kits are packed again at both
// ends of its range.
const mostWeighed = 500

// mostNamed is how many of the rows with a blank a query names.
const mostNamed = 5

// silences are the fields that the survey leaves blank and that are asked about,
// in the order of the assumptions' codes.
func silences(planned []*scope.Repair, m *means) []Silence {
	texts := scope.Assumptions(&m.Settings)
	at := map[string]*Silence{}
	for _, r := range planned {
		for _, code := range r.Leans {
			if texts[code].Ask == "" {
				continue
			}
			s := at[code]
			if s == nil {
				s = &Silence{Code: code}
				at[code] = s
			}
			s.Repairs++
			for _, d := range r.Defects {
				if survey.Blank(d, texts[code].Field) {
					if s.Rows++; s.Rows <= mostNamed {
						s.First = append(s.First, d.ID)
					}
				}
			}
			if name, ok := scope.RangeName(code); ok && r.Status == scope.Estimated && s.Weighed < mostWeighed {
				s.Name = name
				s.weigh(r, m)
			}
		}
	}
	out := make([]Silence, 0, len(at))
	for _, s := range at {
		out = append(out, *s)
	}
	slices.SortFunc(out, func(a, b Silence) int { return strings.Compare(a.Code, b.Code) })
	return out
}

// weigh packs the kit of a repair with the field at either end.
func (s *Silence) weigh(r *scope.Repair, m *means) {
	easy, hard := scope.Ends(r, s.Code, m.Catalog)
	if easy.Status != scope.Estimated || hard.Status != scope.Estimated {
		return
	}
	s.Weighed++
	s.Low += m.Pack(easy, nil).Mass
	s.High += m.Pack(hard, nil).Mass
}

// Cost says what the blanks leave open, "the remaining wall unknown in 240 rows:
// 1,900 to 9,400 kg"; "" where that is nothing.
func (s *Silence) Cost() string {
	low, high := trace.FormatNumber(s.Low, "kg"), trace.WithUnit(s.High, "kg")
	if s.Name == "" || s.Weighed == 0 || low+" kg" == high {
		return ""
	}
	text := fmt.Sprintf("%s unknown in %d rows: %s to %s of kits", s.Name, s.Rows, low, high)
	if s.Weighed < s.Repairs {
		text += fmt.Sprintf(", of %d of the %d repairs", s.Weighed, s.Repairs)
	}
	return text
}

// ask is one query for all the rows in which the field is blank.
func (s *Silence) ask(m *means, read *survey.Result, name string) trace.Query {
	a := scope.Assumptions(&m.Settings)[s.Code]
	message := strings.TrimSuffix(a.Text, ".")
	if s.Rows > 0 {
		message += fmt.Sprintf(" (blank in %d of %d rows, in %d repairs: %s", s.Rows, read.Account.Kept, s.Repairs, strings.Join(s.First, ", "))
		if s.Rows > mostNamed {
			message += ", …"
		}
		message += ")"
	} else {
		message += fmt.Sprintf(" (%d repairs)", s.Repairs)
	}
	if cost := s.Cost(); cost != "" {
		message += "; " + cost
	}
	advice := a.Ask
	if survey.Settable(a.Field) {
		advice += "; one value for all of them: --set survey." + a.Field + "=VALUE, or as the answer here"
	}
	return trace.Query{
		Code: s.Code, Severity: trace.Ask, Message: message, Advice: advice, Row: survey.AllRows,
		Place: trace.Place{File: name, Sheet: read.Detected.Sheet, Field: survey.HeadingOf(a.Field)},
	}
}
