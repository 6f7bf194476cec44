package design

import (
	"cmp"
	"math"
	"slices"
)

// Lever is an input that Sensitivity moves.
type Lever struct {
	Name  string
	Unit  string
	Value float64
	Step  float64 // moves by this much either way; 0: by the given fraction of Value
	Low   Num     // is not moved below this
	High  Num     // is not moved above this
}

// ends are the values that the lever is moved to.
func (l Lever) ends(fraction float64) (low, high float64) {
	step := math.Abs(l.Step)
	if step == 0 {
		step = math.Abs(l.Value) * fraction
	}
	low, high = l.Value-step, l.Value+step
	if l.Low.OK {
		low = max(low, min(l.Low.V, l.Value))
	}
	if l.High.OK {
		high = min(high, max(l.High.V, l.Value))
	}
	return low, high
}

// Trial is one run of the function with one lever moved.
type Trial struct {
	Value   float64   // of the lever
	Outputs []float64 // nil where Err is set
	Err     error     // the function has no result there
}

// Sway is what moving one lever does to the outputs.
type Sway struct {
	Lever     Lever
	Low, High Trial
}

// Swing is the largest distance between output i at any of the three points and
// at any other, infinite where the function has no result at one end.
func (s Sway) Swing(base []float64, i int) float64 {
	if s.Low.Err != nil || s.High.Err != nil {
		return math.Inf(1)
	}
	a, b, c := base[i], s.Low.Outputs[i], s.High.Outputs[i]
	return max(a, b, c) - min(a, b, c)
}

// Sways is the table that Sensitivity gives.
type Sways struct {
	Fraction float64
	Outputs  []string
	Base     []float64
	Rows     []Sway // in the order of the levers
}

// ByOutput gives the rows with the largest swing of output i first, ties in
// the order of the levers: what to measure again first.
func (t Sways) ByOutput(i int) []Sway {
	rows := slices.Clone(t.Rows)
	slices.SortStableFunc(rows, func(a, b Sway) int {
		return cmp.Compare(b.Swing(t.Base, i), a.Swing(t.Base, i))
	})
	return rows
}

// Sensitivity moves one lever at a time by the fraction (0.1 for ±10 %) either
// way, the others staying where they are, and tabulates the outputs of f. f is
// given the values of the levers in their order, in a slice that it may keep,
// and returns one value for each name in outputs; it is to be pure. An error of
// f at a moved point is a row of the table (what became impossible is worth
// knowing); an error at the base point is returned.
//
// Where quantities are bought in whole packs the outputs move in steps, so that
// a swing of 0 says that the pack count holds, not that the input is idle.
func Sensitivity(levers []Lever, fraction float64, outputs []string, f func([]float64) ([]float64, error)) (Sways, error) {
	const name = "design.sensitivity"
	c := rule{name: name}
	c.want(fraction > 0 && fraction < 1, "fraction", "change of each input", fraction, "", "above 0 and below 1")
	values := make([]float64, len(levers))
	for i, l := range levers {
		c.finite(l.Name, "input", l.Value, l.Unit)
		c.finite(l.Name, "change of the input", l.Step, l.Unit)
		values[i] = l.Value
	}
	if c.err != nil {
		return Sways{}, c.err
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
		return Sways{}, err
	}
	table := Sways{Fraction: fraction, Outputs: slices.Clone(outputs), Base: base, Rows: make([]Sway, len(levers))}
	for i, l := range levers {
		try := func(v float64) Trial {
			moved := slices.Clone(values)
			moved[i] = v
			got, err := run(moved)
			return Trial{Value: v, Outputs: got, Err: err}
		}
		low, high := l.ends(fraction)
		table.Rows[i] = Sway{Lever: l, Low: try(low), High: try(high)}
		if c.err != nil { // the function, not the point, is at fault
			return Sways{}, c.err
		}
	}
	return table, nil
}
