// Package gate judges whether a pipe that leaks may be sealed while it is under
// pressure: line by line, each with what was found, its limit, its margin and a
// verdict. What is not known is asked; it never passes.
//
// A gate that is passed is no permit to work: it says that nothing known to this
// program speaks against planning the job.
package gate

import (
	"wraptally/estimate/design"
	"wraptally/estimate/trace"
)

// Verdict is what a line of the gate says.
type Verdict int

// The verdicts, the worst last.
const (
	MayGoOn Verdict = iota
	Ask
	NotByThisMethod
)

// Words are the verdict as a reader sees it.
func (v Verdict) Words() string {
	if v == Ask {
		return "answer first"
	}
	return v.String()
}

// String is the verdict's name in data.
func (v Verdict) String() string {
	switch v {
	case MayGoOn:
		return "may go on"
	case Ask:
		return "ask"
	default:
		return "not by this method"
	}
}

// Line is one line of a gate.
type Line struct {
	Code    string // of the query that it raises
	Name    string
	Verdict Verdict
	Found   design.Num // in Unit; unknown where the line is of words
	Limit   design.Num
	Margin  design.Num // in Unit, what is left to the limit; below 0 it is overstepped
	Unit    string
	Said    string // what was found, in words, where it is not a number
	Advice  string // what to do; "" where the line may go on
	Source  string
}

// Lines is a whole gate.
type Lines []Line

// Verdict is the worst of the lines; a gate without lines has judged nothing
// and asks.
func (ls Lines) Verdict() Verdict {
	if len(ls) == 0 {
		return Ask
	}
	worst := MayGoOn
	for _, l := range ls {
		worst = max(worst, l.Verdict)
	}
	return worst
}

// AtMost is the line of a number that is not to exceed a limit. A number or a
// limit that is not known is asked.
func AtMost(l Line) Line {
	return l.judge(l.Limit.V - l.Found.V)
}

// AtLeast is the line of a number that is not to fall below a limit.
func AtLeast(l Line) Line {
	return l.judge(l.Found.V - l.Limit.V)
}

func (l Line) judge(margin float64) Line {
	switch {
	case !l.Found.OK || !l.Limit.OK:
		l.Verdict = Ask
		return l
	case margin >= 0:
		l.Verdict, l.Advice = MayGoOn, ""
	default: // not a number either
		l.Verdict = NotByThisMethod
	}
	l.Margin = design.Known(margin)
	return l
}

// Pressed is the line of the contact pressure p of the bands against the live
// pressure, both MPa: below the live pressure the seal is lifted, and below
// factor times it the line asks. The limit shown is factor times the live
// pressure. Source: derived; the factor is common practice, no source.
func Pressed(p float64, live design.Num, factor float64) Line {
	l := Line{
		Code: "gate-bands", Name: "bands against live pressure", Unit: "MPa", Found: design.Known(p),
		Limit:  design.Num{V: factor * live.V, OK: live.OK},
		Advice: "lower the pressure for the work, or use more bands or another method",
		Source: "derived, equilibrium of a band; factor on the live pressure: common practice, no source",
	}
	if !live.OK {
		l.Advice = "say what pressure is in the pipe during the work"
	}
	l = AtLeast(l)
	if l.Verdict == NotByThisMethod && p >= live.V {
		l.Verdict = Ask
	}
	return l
}

// String is the line in words: what was found, its limit, the margin and the
// verdict.
func (l Line) String() string {
	text := l.Name + ": " + l.Said
	if l.Said == "" {
		text += show(l.Found, l.Unit) + " against " + show(l.Limit, l.Unit)
		if l.Margin.OK {
			text += ", margin " + trace.WithUnit(l.Margin.V, l.Unit)
		}
	}
	return text + ": " + l.Verdict.Words()
}

func show(n design.Num, unit string) string {
	if !n.OK {
		return "NOT KNOWN"
	}
	return trace.WithUnit(n.V, unit)
}
