package design

import (
	"fmt"
	"math"

	"wraptally/estimate/trace"
)

// LifePoint is one line of a table of service lives: the factor on the strain
// of the wrap, or the strain itself, that holds for that life.
type LifePoint struct {
	Years float64
	Value float64
	Basis string
}

// LifeTable is a table of service lives, shortest first. A longer life never
// has a larger value.
type LifeTable []LifePoint

// Life is a value read from a LifeTable.
type Life struct {
	Value float64
	Held  bool   // asked for less than the shortest life: that life's value was taken
	Basis string // of the points it was read from
}

// At is the value for a service life in years, linear between two points of the
// table. Below the shortest life the value of the shortest is taken, which
// never lowers the answer; above the longest nothing is given, because nobody has
// tested it.
//
//	v = v_1 + (v_2 − v_1)·(y − y_1)/(y_2 − y_1)
//
// Errors: *RangeError above the longest life; *InputError, also for a table
// that is empty, out of order or rises with the years. Source: the table's own.
func (tbl LifeTable) At(years float64, w *Working) (Life, error) {
	const name = "design.life.value"
	c := rule{name: name}
	c.positive("y", "service life", years, "years")
	c.want(len(tbl) > 0, "table", "points of the service-life table", 0, "", "at least 1")
	for i, p := range tbl {
		c.positive("y", "service life in the table", p.Years, "years")
		c.positive("v", "value in the table", p.Value, "")
		if i > 0 {
			c.want(p.Years > tbl[i-1].Years, "y", "service life in the table", p.Years, "years",
				"above the line before it")
			c.want(p.Value <= tbl[i-1].Value, "v", "value in the table", p.Value, "",
				"no larger than for the shorter life before it")
		}
	}
	if c.err != nil {
		return Life{}, c.err
	}

	last := tbl[len(tbl)-1]
	if years > last.Years {
		return Life{}, &RangeError{
			Rule: name, Symbol: "y", Name: "service life", Value: years,
			Low: math.Inf(-1), High: last.Years, Unit: "years",
			Advice: "ask for a shorter life, or get test data for this one",
		}
	}
	if years <= tbl[0].Years {
		got := Life{Value: tbl[0].Value, Held: years < tbl[0].Years, Basis: tbl[0].Basis}
		w.note(func() trace.Step {
			return trace.Step{
				Name: "value for the service life, that of the shortest in the table", Rule: name,
				Formula: "v = v_1",
				Inputs: []trace.Input{
					in("v_1", "value for "+trace.WithUnit(tbl[0].Years, "years")+", asked for "+
						trace.WithUnit(years, "years"), tbl[0].Value, ""),
				},
				Value: got.Value, Source: got.Basis,
			}
		})
		return got, nil
	}
	i := 1
	for tbl[i].Years < years {
		i++
	}
	a, b := tbl[i-1], tbl[i]
	got := Life{Value: b.Value, Basis: b.Basis}
	if years < b.Years {
		got.Value = a.Value + (b.Value-a.Value)*(years-a.Years)/(b.Years-a.Years)
		if a.Basis != b.Basis {
			got.Basis = a.Basis + "; " + b.Basis
		}
	}
	w.note(func() trace.Step {
		return trace.Step{
			Name: "value for the service life", Rule: name,
			Formula: "v = v_1 + (v_2 − v_1)·(y − y_1)/(y_2 − y_1)",
			Inputs: []trace.Input{
				in("v_1", "value of the shorter life", a.Value, ""),
				in("v_2", "value of the longer life", b.Value, ""),
				in("y", "service life", years, "years"),
				in("y_1", "shorter life in the table", a.Years, "years"),
				in("y_2", "longer life in the table", b.Years, "years"),
			},
			Value: got.Value, Source: got.Basis,
		}
	})
	return got, nil
}

// Strain are the inputs of the allowable strain of the wrap.
type Strain struct {
	Base       float64 // strain before any factor, ε_0
	FT         float64 // temperature factor, f_T
	FLife      float64 // service-life factor, f_y; 1 where Base is already for the life
	DeltaAlpha float64 // 1/K, thermal expansion of wrap less that of pipe, Δα
	DeltaT     float64 // K, design less installation temperature, ΔT
}

// Allowable is the strain that the wrap may take in service,
//
//	ε = f_T·f_y·ε_0 − |Δα·ΔT|
//
// pure numbers, Δα in 1/K and ΔT in K. Errors: *RangeError where the
// temperature change uses up the whole strain; *InputError. Source: form of the
// composite-repair standards (ASME PCC-2, ISO 24817), formula written from
// memory, purchased text not at hand, verified: no; the service-life factor is
// the table's.
func (s Strain) Allowable(w *Working) (float64, error) {
	const name = "design.life.strain"
	c := rule{name: name}
	checkStrain(&c, "ε_0", "strain before factors", s.Base)
	c.want(s.FT > 0 && s.FT <= 1, "f_T", "temperature factor", s.FT, "", "above 0 and at most 1")
	c.want(s.FLife > 0 && s.FLife <= 1, "f_y", "service-life factor", s.FLife, "", "above 0 and at most 1")
	c.finite("Δα", "difference of thermal expansion", s.DeltaAlpha, "1/K")
	c.finite("ΔT", "temperature change", s.DeltaT, "K")
	if c.err != nil {
		return 0, c.err
	}
	used := math.Abs(s.DeltaAlpha * s.DeltaT)
	strain := s.FT*s.FLife*s.Base - used
	if !(strain > 0) {
		return 0, &RangeError{
			Rule: name, Symbol: "ε", Name: "allowable strain", Value: strain,
			Low: 0, High: math.Inf(1),
			Advice: fmt.Sprintf("the temperature change alone strains the wrap by %s", trace.FormatNumber(used, "")),
		}
	}
	w.note(func() trace.Step {
		return trace.Step{
			Name: "allowable strain", Rule: name, Formula: "ε = f_T·f_y·ε_0 − |Δα·ΔT|",
			Inputs: []trace.Input{
				in("f_T", "temperature factor", s.FT, ""),
				in("f_y", "service-life factor", s.FLife, ""),
				in("ε_0", "strain before factors", s.Base, ""),
				in("Δα", "thermal expansion, wrap less pipe", s.DeltaAlpha, "1/K"),
				in("ΔT", "design less installation temperature", s.DeltaT, "K"),
			},
			Value: strain, Source: wrapForms,
		}
	})
	return strain, nil
}
