// Package trace holds the records that let every result say where it came
// from: the Step (how a quantity was computed), the Query (what in the input
// stopped or weakened the estimate) and the Assumption (what was taken for
// granted). They are data: the command line, the workbook and the JSON print
// the same records.
package trace

import "strconv"

// Input is one symbol of a formula with the value it had.
type Input struct {
	Symbol string  // as it stands in the formula, "D"
	Name   string  // "outside diameter"
	Value  float64 // in Unit
	Unit   string  // "mm", "" for a pure number
	From   Origins // where it comes from
	Text   string  // a value that is not a number ("wet"); Value is then unused
}

// In is an input with a numeric value.
func In(symbol, name string, value float64, unit string, from ...Origin) Input {
	return Input{Symbol: symbol, Name: name, Value: value, Unit: unit, From: from}
}

// InText is an input whose value is a word.
func InText(symbol, name, text string, from ...Origin) Input {
	return Input{Symbol: symbol, Name: name, Text: text, From: from}
}

// Step is one line of a derivation.
type Step struct {
	ID       string  // unique in the campaign, "CW-101-P-03/wrap/net"
	Name     string  // "wrap tape, net"
	Rule     string  // stable name of the rule, "takeoff.wrap.helix"
	Formula  string  // with symbols, "π·D_p·L/(w·(1−o))"
	Inputs   []Input // in the order of the formula
	Raw      float64 // before rounding; equal to Value where Rounding is empty
	Value    float64 // in Unit
	Unit     string
	Text     string   // a result that is not a number; Value is then unused
	Rounding string   // "up to 5 mm"; empty where nothing was rounded
	Source   string   // standard, derivation or "common practice, no source"
	Leans    []string // codes of the assumptions it leans on
}

// Names reports whether an input of the step comes from the step of that ID.
func (s *Step) Names(id string) bool {
	for _, in := range s.Inputs {
		for _, from := range in.From {
			if from.Refers(id) {
				return true
			}
		}
	}
	return false
}

// Log collects the steps of one repair. A nil *Log records nothing and costs
// nothing, so that the same functions serve the fast road and the explained one.
type Log struct {
	Prefix string // put before each ID, "CW-101-P-03/"
	Steps  []Step
}

// On reports whether steps are being recorded.
func (l *Log) On() bool { return l != nil }

// Add records the step that f returns. f is not called on a nil log.
func (l *Log) Add(f func() Step) {
	if l != nil {
		l.Put(f())
	}
}

// Put records a step on a log that is not nil.
func (l *Log) Put(s Step) {
	s.ID = l.Prefix + s.ID
	if s.Rounding == "" && s.Text == "" {
		s.Raw = s.Value
	}
	l.Steps = append(l.Steps, s)
}

// Severity says what a query does to the estimate.
type Severity int

// The severities, in rising order.
const (
	Note Severity = iota // worth knowing; nothing changes
	Ask                  // estimated all the same; an answer would make it better
	Stop                 // what it names stays out of the totals until answered
)

// Words say what a query asks of its reader: data have the names of String.
func (s Severity) Words() string {
	switch s {
	case Stop:
		return "left out"
	case Ask:
		return "please confirm"
	}
	return "for information"
}

// String is the name in data.
func (s Severity) String() string {
	switch s {
	case Note:
		return "note"
	case Ask:
		return "ask"
	default:
		return "stop"
	}
}

// Place is where in an input something stands. Zero parts are unknown.
type Place struct {
	File   string
	Sheet  string // of a workbook
	Line   int    // 1-based line of a text file or row of a sheet
	Column int    // 1-based
	Field  string // the field's own name, "od_mm", or the heading found
}

// String is "file:line:column", or "file!sheet:line:column" for a workbook,
// leaving out the parts that are not known.
func (p Place) String() string {
	s := p.File
	if p.Sheet != "" {
		s += "!" + p.Sheet
	}
	if p.Line > 0 {
		s += ":" + strconv.Itoa(p.Line)
		if p.Column > 0 {
			s += ":" + strconv.Itoa(p.Column)
		}
	}
	return s
}

// Query is a question that the input raises. It is a value, not an error: the
// rest of the survey goes on.
type Query struct {
	Code     string // stable, kebab-case: "od-missing"
	Severity Severity
	Place    Place
	Found    string // the raw cell, or the value, that raised it
	Message  string // what is wrong
	Advice   string // what to do
	Row      string // id of the survey row it concerns, where there is one
	Repair   string // id of the repair it concerns, where there is one
	Spot     string // where that is, as far as the survey says: "CW-101, 12.4 m"
}

// means says what it asks of its reader. What stops and is of no row or repair is a
// table or a file that cannot be used.
func (q Query) means() string {
	if q.Severity == Stop && q.Row == "" && q.Repair == "" {
		return "wrong"
	}
	return q.Severity.Words()
}

// String is "place: severity: message (found "…"); advice".
func (q Query) String() string {
	s := q.Place.String()
	if s != "" {
		s += ": "
	}
	s += q.means() + ": "
	if q.Repair != "" {
		s += q.Repair + ": "
	} else if q.Row != "" {
		s += q.Row + ": "
	}
	s += q.Message
	if q.Found != "" {
		s += " (found " + strconv.Quote(q.Found) + ")"
	}
	if q.Advice != "" {
		s += "; " + q.Advice
	}
	return s + " [" + q.Code + "]"
}

// Assumption is something taken for granted, listed in every output.
type Assumption struct {
	Code  string // stable, kebab-case: "wall-standard"
	Text  string // one sentence a reader understands
	Basis string // source, or "common practice, no source"
	Count int    // how many repairs, rows or items lean on it
	Where string // the first few of them
}
