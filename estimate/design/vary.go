package design

import (
	"cmp"
	"math"
	"slices"
)

// Variable is an input that Vary moves.
type Variable struct {
	Name  string
	Unit  string
	Value float64
	Step  float64 // moves by this much either way; 0: by the given fraction of Value
	Low   Num     // is not moved below this
	High  Num     // is not moved above this
}

// ends are the values that the variable is moved to.
func (v Variable) ends(fraction float64) (low, high float64) {
	step := math.Abs(v.Step)
	if step == 0 {
		step = math.Abs(v.Value) * fraction
	}
	low, high = v.Value-step, v.Value+step
	if v.Low.OK {
		low = max(low, min(v.Low.V, v.Value))
	}
	if v.High.OK {
		high = min(high, max(v.High.V, v.Value))
	}
	return low, high
}

// Trial is one run of the function with one variable moved.
type Trial struct {
	Value   float64   // of the variable
	Outputs []float64 // nil where Err is set
	Err     error     // the function has no result there
}

// Effect is what moving one variable does to the outputs.
type Effect struct {
	Variable  Variable
	Low, High Trial
}

// Swing is the largest distance between output i at any of the three points and
// at any other, infinite where the function has no result at one end.
func (e Effect) Swing(base []float64, i int) float64 {
	if e.Low.Err != nil || e.High.Err != nil {
		return math.Inf(1)
	}
	a, b, c := base[i], e.Low.Outputs[i], e.High.Outputs[i]
	return max(a, b, c) - min(a, b, c)
}

// Variations is the table that Vary gives.
type Variations struct {
	Fraction float64
	Outputs  []string
	Base     []float64
	Rows     []Effect // in the order of the variables
}

// ByOutput gives the rows with the largest swing of output i first, ties in
// the order of the variables: what to measure again first.
func (t Variations) ByOutput(i int) []Effect {
	rows := slices.Clone(t.Rows)
	slices.SortStableFunc(rows, func(a, b Effect) int {
		return cmp.Compare(b.Swing(t.Base, i), a.Swing(t.Base, i))
	})
	return rows
}

// Vary moves one variable at a time by the fraction (0.1 for ±10 %) either
// way, the others staying where they are, and tabulates the outputs of f. f is
// given the values of the variables in their order, in a slice that it may keep,
// and returns one value for each name in outputs; it is to be pure. An error of
// f at a moved point is a row of the table (what became impossible is worth
// knowing); an error at the base point is returned.
//
// Where quantities are bought in whole packs the outputs move in steps, so that
// a swing of 0 says that the pack count holds, not that the input is idle.
func Vary(variables []Variable, fraction float64, outputs []string, f func([]float64) ([]float64, error)) (Variations, error) {
	const name = "design.vary"
	c := rule{name: name}
	c.want(fraction > 0 && fraction < 1, "fraction", "change of each input", fraction, "", "above 0 and below 1")
	values := make([]float64, len(variables))
	for i, l := range variables {
		c.finite(l.Name, "input", l.Value, l.Unit)
		c.finite(l.Name, "change of the input", l.Step, l.Unit)
		values[i] = l.Value
	}
	if c.err != nil {
		return Variations{}, c.err
	}
	run := func(values []float64) ([]float64, error) {
		got, err := f(values)
		if err != nil {
			return nil, err
		}
		c.want(len(got) == len(outputs), "outputs", "results of the function", float64(len(got)), "",
			"as many as there are names")
		return got, c.err
	}

	base, err := run(slices.Clone(values))
	if err != nil {
		return Variations{}, err
	}
	table := Variations{Fraction: fraction, Outputs: slices.Clone(outputs), Base: base, Rows: make([]Effect, len(variables))}
	for i, l := range variables {
		try := func(v float64) Trial {
			moved := slices.Clone(values)
			moved[i] = v
			got, err := run(moved)
			return Trial{Value: v, Outputs: got, Err: err}
		}
		low, high := l.ends(fraction)
		table.Rows[i] = Effect{Variable: l, Low: try(low), High: try(high)}
		if c.err != nil { // the function, not the point, is at fault
			return Variations{}, c.err
		}
	}
	return table, nil
}
