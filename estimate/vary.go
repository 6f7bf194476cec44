package estimate

import (
	"fmt"
	"math"
	"slices"

	"wraptally/estimate/design"
	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
)

// VaryOutputs are what Vary tabulates.
var VaryOutputs = []string{"repairs", "putty kg", "rolls", "sticks", "bands", "order cost", "bid before tax"}

// Vary moves each measured input of the named repair, or of all repairs where
// repair is −1, by the fraction either way, the others staying where they are,
// and runs the whole road again each time. Whole packs make the outputs move in
// steps: a swing of nothing says that the pack count holds. An input that the
// survey does not give is not moved; a repair that an input pushes out of the
// method falls out of the totals, which the column "repairs" shows.
func (p *Campaign) Vary(repair int, fraction float64, tell func(done, total int)) (design.Variations, error) {
	var base []survey.Defect
	if repair >= 0 {
		for _, d := range p.Repairs[repair].Defects {
			base = append(base, *d)
		}
	} else {
		base = p.Survey.Defects
	}
	var used []survey.Field
	var variables []design.Variable
	for _, f := range survey.Fields() {
		given := func(d survey.Defect) bool { return f.Number(&d).OK }
		if f.Vary != "" && slices.ContainsFunc(base, given) {
			used = append(used, f)
			variables = append(variables, design.Variable{Name: f.Vary, Unit: "of its value", Value: 1})
		}
	}
	if len(variables) == 0 {
		return design.Variations{}, fmt.Errorf("the survey gives no number to vary")
	}
	runs, total := 0, 2*len(variables)+1
	return design.Vary(variables, fraction, VaryOutputs, func(factors []float64) ([]float64, error) {
		tell(runs, total)
		runs++
		moved := make([]survey.Defect, len(base))
		copy(moved, base)
		for i := range moved {
			for j := range used {
				if n := used[j].Number(&moved[i]); n.OK && factors[j] != 1 {
					n.V *= factors[j]
				}
			}
			if d := &moved[i]; d.Remaining.OK && d.Wall.OK {
				d.Remaining.V = math.Min(d.Remaining.V, d.Wall.V)
			}
		}
		s := *p.Survey
		s.Defects = moved
		got, err := Run(&s, p.Catalog, p.again(nil))
		if err != nil {
			return nil, err
		}
		return got.outputs(), nil
	})
}

// outputs are the figures of VaryOutputs.
func (p *Campaign) outputs() []float64 {
	out := make([]float64, len(VaryOutputs))
	for _, r := range p.Repairs {
		if r.Status == scope.Estimated {
			out[0]++
		}
	}
	for i := range p.Jobs {
		k := p.Kit(&p.Jobs[i])
		out[1] += k.Net.Putty.Mass
		for _, r := range k.Rolls {
			out[2] += float64(r.Count)
		}
		for _, s := range k.Sticks {
			out[3] += float64(s.Count)
		}
		for s := range k.Net.Seals {
			out[4] += float64(k.Net.Seals[s].Bands)
		}
	}
	for _, o := range p.Orders {
		out[5] += o.Cost(p.Bid.Minor).InexactFloat64()
	}
	out[6] = p.Bid.Net.InexactFloat64()
	return out
}
