package design

import "wraptally/estimate/trace"

// law is a rule of one formula, declared once: what it may be applied to, what
// is worked out and how that is written down.
type law struct {
	*trace.Rule
	limits []limit // by input
	gives  string  // for complaints of numbers out of all proportion
}

// limit is what an input has to be.
type limit struct {
	holds func(v float64) bool
	want  string
}

var (
	positive    = limit{func(v float64) bool { return v > 0 && finite(v) }, "a number above 0"}
	notNegative = limit{func(v float64) bool { return v >= 0 && finite(v) }, "0 or more"}
	anyNumber   = limit{finite, "a finite number"}
	strainLimit = limit{func(v float64) bool { return v > 0 && v < 1 }, "above 0 and below 1 (0.25 % is 0.0025)"}
	ratioLimit  = limit{func(v float64) bool { return v >= 0 && v < 1 }, "from 0 to below 1"}
	countLimit  = limit{func(v float64) bool { return v > 0 && v <= maxLayers }, "from 1 to 10000"}
)

// of is an input of a law.
type of struct {
	symbol, name, unit string
	limit
}

// lawOf declares a law: its name in the steps, the formula, what that gives.
func lawOf(id, name, formula, gives, unit, source string, in ...of) law {
	r := trace.Rule{ID: id, Name: name, Formula: formula, Unit: unit, Source: source}
	l := law{gives: gives}
	for _, o := range in {
		r.In = append(r.In, trace.Symbol{Symbol: o.symbol, Name: o.name, Unit: o.unit})
		l.limits = append(l.limits, o.limit)
	}
	l.Rule = trace.NewRule(r)
	return l
}

// applied is a law and the numbers that it is applied to, held by value so that
// applying it allocates nothing.
type applied struct {
	law
	rule
	x [mostInputs]float64
}

// mostInputs is how many inputs a law may have.
const mostInputs = 7

// values are the numbers in the order of the law's inputs.
func (a *applied) values() []float64 { return a.x[:len(a.In)] }

// on applies a law to numbers in the order of its inputs.
func (l law) on(x ...float64) applied {
	a := applied{law: l, rule: rule{name: l.ID}}
	copy(a.x[:], x)
	for i, in := range l.In {
		a.want(l.limits[i].holds(x[i]), in.Symbol, in.Name, x[i], in.Unit, l.limits[i].want)
	}
	return a
}

// value is what the law gives, written down.
func (a applied) value(w *Working) (float64, error) {
	v, err := a.raw()
	if err == nil {
		w.note(func() trace.Step { return a.Step("", v, a.values()) })
	}
	return v, err
}

// raw is what the formula gives.
func (a applied) raw() (float64, error) {
	if a.err != nil {
		return 0, a.err
	}
	v := a.Of(a.values()...)
	if err := a.result(a.law.Result, a.gives, v, a.Unit); err != nil {
		return 0, err
	}
	return v, nil
}

// thickness is what a law of wrap thickness gives, never below 0, written down.
func (a applied) thickness(w *Working) (Thickness, error) {
	raw, err := a.raw()
	if err != nil {
		return Thickness{}, err
	}
	return thickness(&a.rule, raw, w, func() trace.Step { return a.Step("", raw, a.values()) })
}

// finding is whether a law that is a comparison is kept. f says what it is about.
func (a applied) finding(f Finding, w *Working) Finding {
	var least bool
	f.Found, f.Limit, least = a.Sides(a.values())
	f.OK, f.Unit, f.Source = atMost(f.Found, f.Limit), a.Unit, a.Source
	if least {
		f.OK = atLeast(f.Found, f.Limit)
	}
	f.Name = a.Rule.Name
	return f.note(a.ID, a.Formula, w, func() []trace.Input { return a.Step("", 0, a.values()).Inputs })
}
