package audit

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
)

// step is a derivation as it is printed.
type step struct {
	ID, Rule, Formula string
	Inputs            []input
	Raw, Value        any
	Unit, Rounding    string
}

type input struct {
	Symbol     string
	Value      any
	Unit, From string
}

// figure is a quantity beside the derivations.
type figure struct {
	Value     float64
	Unit, Why string
}

// near is how far two figures may lie apart that are the same: the order of
// operations moves the last digits of a floating-point number.
const near = 1e-9

func same(a, b float64) bool {
	return a == b || math.Abs(a-b) <= near*math.Max(math.Abs(a), math.Abs(b))
}

// agrees is same for a quantity that may have been rounded to a millionth of its
// unit on its way, as what is multiplied by money is.
func agrees(a, b float64) bool { return same(a, b) || math.Abs(a-b) <= 0.5000001e-6 }

// number is a printed value as a number.
func number(v any) (float64, bool) {
	x, ok := v.(float64)
	return x, ok
}

// values are the inputs that are numbers, by symbol. A symbol that is printed
// twice with two values is none.
func (s *step) values() map[string]float64 {
	out := make(map[string]float64, len(s.Inputs))
	for _, in := range s.Inputs {
		if x, ok := number(in.Value); ok {
			out[in.Symbol] = x
		}
	}
	return out
}

// evaluate reckons a step again. kind is what was done with it; says is what is
// wrong, empty where nothing is.
func (s *step) evaluate(formulas *reader) (kind kind, says string) {
	f, err := formulas.read(s.Formula)
	if err != nil {
		return unread, "the formula cannot be read: " + err.Error()
	}
	v := s.values()
	value, isNumber := number(s.Value)
	switch {
	case len(f.chain) > 0:
		ok, err := f.holds(v)
		if err != nil {
			return unread, err.Error()
		}
		if said := s.Value == "passed"; said != ok || isNumber {
			return compared, fmt.Sprintf("it is printed as %q, while %s is %v", show(s.Value), s.Formula, ok)
		}
		return compared, ""
	case !isNumber:
		return unread, fmt.Sprintf("%q is no number", show(s.Value))
	case f.solved != "":
		v[f.solved] = value
		got, err := f.value(v)
		if err != nil {
			return unread, err.Error()
		}
		if math.Abs(got-v[f.known]) > solved*math.Abs(v[f.known]) {
			return putBack, fmt.Sprintf("%s = %v gives %s = %v, not %v", f.solved, value, f.known, got, v[f.known])
		}
		return putBack, ""
	}
	got, err := f.value(v)
	if err != nil {
		return unread, err.Error()
	}
	raw := value
	if x, ok := number(s.Raw); ok {
		raw = x
	}
	if s.Raw == nil && s.Rounding != "" {
		raw = got // printed only where rounding changed it
	}
	if !same(got, raw) {
		return evaluated, fmt.Sprintf("%s gives %v, not %v", s.Formula, got, raw)
	}
	if s.Rounding != "" && !same(s.rounded(raw), value) {
		return evaluated, fmt.Sprintf("%v %s is %v, not %v", raw, s.Rounding, s.rounded(raw), value)
	}
	return evaluated, ""
}

// solved is how near the equation of a solved value must come, by iteration.
const solved = 1e-6

var (
	upTo   = regexp.MustCompile(`^up to ([0-9.]+) `)
	toUnit = regexp.MustCompile(`^to ([0-9.]+) [A-Z]{3}, half away from zero$`)
)

// rounded is what the printed rounding makes of a value.
func (s *step) rounded(x float64) float64 {
	slack := near * math.Max(1, math.Abs(x)) // 3.0000000000000004 is three whole units
	switch {
	case s.Rounding == "":
		return x
	case strings.HasPrefix(s.Rounding, "up to whole"), strings.HasPrefix(s.Rounding, "whole"):
		return math.Ceil(x - slack)
	case strings.HasPrefix(s.Rounding, "down to whole"):
		return math.Floor(x + slack)
	case strings.HasPrefix(s.Rounding, "up to 0;"):
		return math.Max(x, 0)
	case strings.HasPrefix(s.Rounding, "each already whole"):
		return x
	}
	if m := toUnit.FindStringSubmatch(s.Rounding); m != nil {
		if by, err := strconv.ParseFloat(m[1], 64); err == nil && by > 0 {
			return by * math.Round(x/by+math.Copysign(near, x)) // a half that lost its last digit is a half
		}
	}
	if m := upTo.FindStringSubmatch(s.Rounding); m != nil {
		if by, err := strconv.ParseFloat(m[1], 64); err == nil && by > 0 {
			return by * math.Ceil((x-slack)/by)
		}
	}
	return math.NaN() // not known: never the same
}

// raw is the value before rounding.
func (s *step) raw() float64 {
	x, _ := number(s.Raw)
	return x
}

func show(v any) string { return fmt.Sprint(v) }

// kind is what was done to check a step.
type kind int

const (
	evaluated kind = iota // its formula, with its inputs
	putBack               // a solved value, into its equation
	compared              // a comparison
	byPlan                // a choice, by replaying what was chosen
	unread                // nothing
)
