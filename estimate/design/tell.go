package design

import (
	"maps"

	"wraptally/estimate/trace"
)

// Num is a number that may be unknown. The zero value is unknown. It converts
// from any type of the same shape.
type Num struct {
	V  float64
	OK bool
}

// Known is a known number.
func Known(v float64) Num { return Num{V: v, OK: true} }

// Working says where a rule writes down how it came to its result, and what
// only the caller knows about the inputs. A nil *Working writes nothing and
// costs nothing.
type Working struct {
	Log    *trace.Log
	ID     string                   // of the step, "wrap/thickness"
	From   map[string]trace.Origins // by symbol: where the value comes from
	Leans  []string                 // codes of the assumptions the step leans on
	Source string                   // instead of the rule's own, "" keeps that
}

// Show prepares the working of one step. It gives nil where log is nil.
func Show(log *trace.Log, id string, from map[string]trace.Origins, leans ...string) *Working {
	if !log.On() {
		return nil
	}
	return &Working{Log: log, ID: id, From: from, Leans: leans}
}

// Under is the working of a step that belongs to another: its ID is the
// parent's with "/name" behind it.
func (w *Working) Under(name string) *Working {
	if w == nil {
		return nil
	}
	child := *w
	child.ID += "/" + name
	return &child
}

// Ref is the step as the origin of another's input, by its whole ID,
// "CW-101-P-03/reach".
func (w *Working) Ref() trace.Origin {
	if w == nil {
		return trace.Origin{}
	}
	return trace.StepAt(w.Log.Prefix + w.ID)
}

// Knowing is the same working that knows where one more symbol comes from.
func (w *Working) Knowing(symbol string, from trace.Origin) *Working {
	if w == nil {
		return nil
	}
	knows := *w
	knows.From = maps.Clone(w.From)
	if knows.From == nil {
		knows.From = map[string]trace.Origins{}
	}
	knows.From[symbol] = trace.Origins{from}
	return &knows
}

// note records the step that f returns, with ID, origins, assumptions and
// source filled in. f is not called where nothing is being recorded.
func (w *Working) note(f func() trace.Step) {
	if w == nil || w.Log == nil {
		return
	}
	w.Log.Add(func() trace.Step {
		s := f()
		s.ID = w.ID
		s.Leans = append(s.Leans, w.Leans...)
		if w.Source != "" {
			s.Source = w.Source
		}
		for i, in := range s.Inputs {
			if from, ok := w.From[in.Symbol]; ok {
				s.Inputs[i].From = from
			}
		}
		return s
	})
}

// in is an input whose origin the Working knows.
func in(symbol, name string, value float64, unit string) trace.Input {
	return trace.In(symbol, name, value, unit)
}
