package order

import (
	"fmt"

	"github.com/shopspring/decimal"

	"wraptally/estimate/trace"
)

// Explain records how the order came about: growth, stock, packs and cost of
// each line. The figures are binary copies for showing; the order itself holds
// the exact decimals.
func (o *Order) Explain(growthPercent decimal.Decimal, log *trace.Log) {
	f := decimal.Decimal.InexactFloat64
	log.Add(func() trace.Step {
		s := trace.Step{
			ID: "needed", Name: o.Item + ", needed", Rule: "order.needed", Formula: "q·(1 + g/100)",
			Inputs: []trace.Input{
				trace.In("q", "issued", f(o.Issued), o.Unit, ""),
				trace.In("g", "growth allowance", f(growthPercent), "%", "setting"),
			},
			Raw: f(o.Raised), Value: f(o.Needed), Unit: o.Unit, Source: "common practice, no source",
		}
		if !o.Needed.Equal(o.Raised) {
			s.Rounding = "up to a whole " + o.Unit
		}
		return s
	})
	log.Add(func() trace.Step {
		return trace.Step{
			ID: "net", Name: o.Item + ", to be bought", Rule: "order.net", Formula: "n − s",
			Inputs: []trace.Input{
				trace.In("n", "needed", f(o.Needed), o.Unit, "step needed"),
				trace.In("s", fmt.Sprintf("from stock, %d lots, earliest expiry first", len(o.Draws)), f(o.Drawn), o.Unit, "stock"),
			},
			Value: f(o.Net), Unit: o.Unit, Source: "common practice, no source",
		}
	})
	for i := range o.Lines {
		log.Add(func() trace.Step { return o.packsStep(i) })
		log.Add(func() trace.Step { return o.costStep(i) })
	}
}

func (o *Order) packsStep(i int) trace.Step {
	l := &o.Lines[i]
	s := trace.Step{
		ID: fmt.Sprintf("packs%d", i+1), Name: fmt.Sprintf("%s, packs of %s %s", o.Item, l.Supplier, l.Part), Rule: "order.packs",
		Formula: "least cost of whole packs covering n over all suppliers, counts and price breaks",
		Inputs: []trace.Input{
			trace.In("n", "to be bought", o.Net.InexactFloat64(), o.Unit, "step net"),
			trace.In("p", "pack", l.PackQuantity.InexactFloat64(), o.Unit, "offer"),
		},
		Value: float64(l.Packs), Unit: "packs", Source: "exact dynamic programme",
	}
	for _, r := range o.Reasons {
		if r.Line == i || r.Line < 0 {
			s.Inputs = append(s.Inputs, trace.InText("why", string(r.Code), r.String(), "result"))
		}
	}
	return s
}

func (o *Order) costStep(i int) trace.Step {
	l := &o.Lines[i]
	s := trace.Step{
		ID: fmt.Sprintf("cost%d", i+1), Name: fmt.Sprintf("%s, cost of %s %s", o.Item, l.Supplier, l.Part), Rule: "order.cost",
		Formula: "(n1·c1 + n2·c2 + …)·r",
		Value:   l.BaseCost.InexactFloat64(), Unit: o.Base, Source: "price list, " + l.Scheme.String(),
	}
	for k, t := range l.Tiers {
		s.Inputs = append(s.Inputs,
			trace.In(fmt.Sprintf("n%d", k+1), "packs", float64(t.Packs), "packs", fmt.Sprintf("step packs%d", i+1)),
			trace.In(fmt.Sprintf("c%d", k+1), fmt.Sprintf("price from %d packs", t.FromPacks), t.Price.InexactFloat64(), l.Currency, "offer"))
	}
	s.Inputs = append(s.Inputs, trace.In("r", fmt.Sprintf("%s for one %s", o.Base, l.Currency), l.Rate.InexactFloat64(), "", "offer"))
	return s
}
