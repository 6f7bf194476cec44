package design

import (
	"fmt"
	"math"
	"strings"

	"wraptally/estimate/trace"
)

// InputError is a number that the rule cannot be applied to at all: a length
// below zero, a fraction of one or more, something that is not a number.
type InputError struct {
	Rule   string // "design.reach.over"
	Symbol string // "D"
	Name   string // "outside diameter"
	Value  float64
	Unit   string
	Want   string // "above 0"
}

// Error names the input, what it is and what it must be.
func (e *InputError) Error() string {
	return fmt.Sprintf("%s: %s (%s) is %s, must be %s",
		e.Rule, e.Name, e.Symbol, trace.WithUnit(e.Value, e.Unit), e.Want)
}

// RangeError is a number outside the range in which the rule holds. The rule
// gives no result there rather than one that nobody has tested.
type RangeError struct {
	Rule      string
	Symbol    string
	Name      string
	Value     float64
	Low, High float64 // the range, inclusive; an infinity is open
	Unit      string
	Advice    string
}

// Error names the input, its value and the range.
func (e *RangeError) Error() string {
	var limits []string
	if !math.IsInf(e.Low, -1) {
		limits = append(limits, "from "+trace.WithUnit(e.Low, e.Unit))
	}
	if !math.IsInf(e.High, 1) {
		limits = append(limits, "to "+trace.WithUnit(e.High, e.Unit))
	}
	s := fmt.Sprintf("%s: %s (%s) is %s; the rule holds %s",
		e.Rule, e.Name, e.Symbol, trace.WithUnit(e.Value, e.Unit), strings.Join(limits, " "))
	if e.Advice != "" {
		s += "; " + e.Advice
	}
	return s
}

// NotRepairable says that no thickness of wrap holds the pressure. It is a
// result with a reason, not a failure of the arithmetic.
type NotRepairable struct {
	Rule    string
	Reason  string
	P       float64 // MPa, pressure asked for
	Ceiling float64 // MPa, pressure that no thickness exceeds; 0 where there is none
}

// Error gives the reason and the ceiling.
func (e *NotRepairable) Error() string {
	return fmt.Sprintf("not repairable by this method: %s (asked for %s, no thickness holds %s or more)",
		e.Reason, trace.WithUnit(e.P, "MPa"), trace.WithUnit(e.Ceiling, "MPa"))
}

// rule checks the inputs of one rule and keeps the first complaint.
type rule struct {
	name string
	err  error
}

func (r *rule) want(ok bool, symbol, name string, v float64, unit, want string) {
	if r.err == nil && !ok {
		r.err = &InputError{Rule: r.name, Symbol: symbol, Name: name, Value: v, Unit: unit, Want: want}
	}
}

func (r *rule) positive(symbol, name string, v float64, unit string) {
	r.want(v > 0 && finite(v), symbol, name, v, unit, "a number above 0")
}

func (r *rule) notNegative(symbol, name string, v float64, unit string) {
	r.want(v >= 0 && finite(v), symbol, name, v, unit, "0 or more")
}

func (r *rule) finite(symbol, name string, v float64, unit string) {
	r.want(finite(v), symbol, name, v, unit, "a finite number")
}

// result is the check of what came out: inputs each in range can still
// overflow together.
func (r *rule) result(symbol, name string, v float64, unit string) error {
	r.want(finite(v), symbol, name, v, unit, "a finite number; the inputs are out of all proportion")
	return r.err
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// Sources as they stand in the steps.
const (
	derived   = "derived"
	practice  = "common practice, no source"
	fromText  = "formula written from memory, purchased text not at hand, verified: no"
	wrapForms = "form of the composite-repair standards (ASME PCC-2, ISO 24817); " + fromText
)
