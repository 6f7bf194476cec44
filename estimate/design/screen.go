package design

import (
	"math"

	"wraptally/estimate/trace"
)

// Finding is the outcome of one named check, made before anything is counted.
type Finding struct {
	Code   string  // stable, kebab-case: "dew-point"
	OK     bool    // the check passed
	Name   string  // what was compared: "surface temperature above the dew point"
	Found  float64 // in Unit
	Limit  float64 // in Unit
	Unit   string
	Advice string // what to do; given whether or not the check passed
	Source string
}

// note writes the check down as a step whose result is a word.
func (f Finding) note(rule, formula string, w *Working, inputs func() []trace.Input) Finding {
	w.note(func() trace.Step {
		s := trace.Step{
			Name: "check: " + f.Name, Rule: rule, Formula: formula, Inputs: inputs(),
			Text: "passed", Source: f.Source,
		}
		if !f.OK {
			s.Text = "not passed: " + f.Advice
		}
		return s
	})
	return f
}

// atLeast and atMost compare the usual ways. What is not a number passes no
// check. The billionth of slack keeps a limit computed another way from
// failing the value that equals it.
func atLeast(found, limit float64) bool { return found >= limit-slack(limit) }
func atMost(found, limit float64) bool  { return found <= limit+slack(limit) }
func slack(limit float64) float64 {
	if math.IsInf(limit, 0) {
		return 0
	}
	return 1e-9 * math.Abs(limit)
}

// Magnus are the coefficients of the Magnus form of the saturation vapour
// pressure over water, e_s = E0·exp(A·T/(B + T)). E0 cancels out of the dew
// point.
type Magnus struct {
	A         float64 // pure
	B         float64 // °C
	Low, High float64 // °C, range of the fit
	Source    string
}

// WMOMagnus are the coefficients 17.62 and 243.12 °C that the WMO guide on
// instruments recommends, after Sonntag (1990), from -45 to +60 °C over water.
// Checked against the documentation of pvlib (tdew_from_rh, rh_from_tdew) and
// of bigleaf (Esat.slope), which cite the guide; the guide itself was not at
// hand.
func WMOMagnus() Magnus {
	return Magnus{
		A: 17.62, B: 243.12, Low: -45, High: 60,
		Source: "Magnus form, coefficients recommended by WMO (No. 8) after Sonntag (1990), as cited by the pvlib documentation",
	}
}

// DewPoint is the temperature at which air of temperature T_air and relative
// humidity RH becomes saturated,
//
//	T_dew = B·h/(A − h),  h = ln(RH/100) + A·T_air/(B + T_air)
//
// T_air and T_dew in °C, RH in %. Valid within the range of the coefficients, over
// water (below 0 °C supercooled), 0 < RH ≤ 100. Errors: *RangeError outside the
// range; *InputError. Source: the coefficients' own.
func (m Magnus) DewPoint(air, humidity float64, w *Working) (float64, error) {
	const name = "design.screen.dewpoint"
	c := rule{name: name}
	c.positive("A", "coefficient A", m.A, "")
	c.positive("B", "coefficient B", m.B, "°C")
	c.want(m.Low > -m.B, "B", "coefficient B", m.B, "°C", "above the lowest temperature of the range, sign changed")
	c.finite("T_air", "air temperature", air, "°C")
	c.want(humidity > 0 && humidity <= 100, "RH", "relative humidity", humidity, "%", "above 0 and at most 100 %")
	if c.err != nil {
		return 0, c.err
	}
	if air < m.Low || air > m.High {
		return 0, &RangeError{Rule: name, Symbol: "T_air", Name: "air temperature", Value: air, Low: m.Low, High: m.High,
			Unit: "°C", Advice: "measure the dew point"}
	}
	h := math.Log(humidity/100) + m.A*air/(m.B+air)
	dew := m.B * h / (m.A - h)
	if err := c.result("T_dew", "dew point", dew, "°C"); err != nil {
		return 0, err
	}
	w.note(func() trace.Step {
		return trace.Step{
			Name: "dew point", Rule: name,
			Formula: "T_dew = B·(ln(RH/100) + A·T_air/(B + T_air))/(A − ln(RH/100) − A·T_air/(B + T_air))",
			Inputs: []trace.Input{
				in("T_air", "air temperature", air, "°C"),
				in("RH", "relative humidity", humidity, "%"),
				in("A", "coefficient", m.A, ""),
				in("B", "coefficient", m.B, "°C"),
			},
			Value: dew, Unit: "°C", Source: m.Source,
		}
	})
	return dew, nil
}

var aboveDewPoint = lawOf("design.screen.abovedew", "surface temperature against the dew point plus a margin", "T_surface ≥ T_dew + margin", "", "°C",
	"common practice; ISO 8502-4 from memory, text not at hand",
	of{"T_surface", "surface temperature", "°C", anyNumber},
	of{"T_dew", "dew point", "°C", anyNumber},
	of{"margin", "margin", "K", anyNumber})

// AboveDewPoint checks that the surface is at least a margin above the dew
// point, T_surface ≥ T_dew + margin, all °C and K. Margin 3 K: common practice
// in coating; ISO 8502-4 gives guidance on the probability of condensation (the
// figure of 3 K is from memory, text not at hand).
func AboveDewPoint(surface, dew, margin float64, w *Working) Finding {
	return aboveDewPoint.on(surface, dew, margin).finding(Finding{
		Code: "dew-point", Advice: "warm the surface, dry the air or wait; water condenses on a colder surface",
	}, w)
}

var defectWidth = lawOf("design.screen.defectwidth", "width of the defect against the circumference", "c ≤ share·π·D", "", "mm", practice,
	of{"c", "width of the defect round the pipe", "mm", anyNumber},
	of{"share", "share of the circumference", "", anyNumber},
	of{"D", "outside diameter", "mm", anyNumber})

// DefectWidth checks that the defect takes up no more than a share of the
// circumference, c ≤ share·π·D, mm; share 0.5. Source: common practice, no
// source.
func DefectWidth(circ, D, share float64, w *Working) Finding {
	return defectWidth.on(circ, share, D).finding(Finding{
		Code: "defect-wide", Advice: "have the repair designed by a qualified person, or replace the pipe",
	}, w)
}

var patchWidth = lawOf("design.screen.patchwidth", "width of the patch against the circumference", "c_s ≤ share_s·π·D", "", "mm", derived,
	of{"c_s", "width of the patch round the pipe", "mm", anyNumber},
	of{"share_s", "share of the circumference", "", anyNumber},
	of{"D", "outside diameter", "mm", anyNumber})

// PatchWidth checks that a sheet patch goes round no more than a share of the
// circumference, c_s ≤ share_s·π·D, mm: at 1 its ends meet. Source: geometry.
func PatchWidth(circ, D, share float64, w *Working) Finding {
	return patchWidth.on(circ, share, D).finding(Finding{
		Code: "patch-wide", Advice: "lay the sheet as a full turn, or seal with putty and band only",
	}, w)
}

var patchBending = lawOf("design.screen.patchbending", "bending strain of the sheet on the pipe", "h/(D + h) ≤ ε_max", "", "", derived,
	of{"h", "thickness of the sheet", "mm", anyNumber},
	of{"D", "diameter it is bent to", "mm", anyNumber},
	of{"ε_max", "largest bending strain", "", anyNumber})

// PatchBending checks that a flat sheet can be bent to the pipe: the strain of
// its outer fibre,
//
//	ε_bend = h/(D + h)
//
// h thickness of the sheet and D diameter it is bent to, mm, is at most the
// limit. Source: derived, bending of a thin strip about its middle; the limit
// is the caller's.
func PatchBending(h, D, limit float64, w *Working) Finding {
	return patchBending.on(h, D, limit).finding(Finding{Code: "patch-stiff", Advice: "use a thinner sheet, or one rolled to the pipe"}, w)
}

// FreeRun checks that there is as much free pipe on a side as the repair needs
// there, mm. Source: geometry.
func FreeRun(side string, have, need float64, w *Working) Finding {
	return Finding{
		Code: "free-run", OK: atLeast(have, need), Name: "free pipe " + side + " the defect",
		Found: have, Limit: need, Unit: "mm",
		Advice: "have a shorter or shaped repair designed, or clear the pipe", Source: derived,
	}.note("design.screen.freerun", "have ≥ need", w, func() []trace.Input {
		return []trace.Input{
			in("have", "free pipe "+side+" the defect", have, "mm"), in("need", "length the repair needs there", need, "mm"),
		}
	})
}

var wrapLimit = lawOf("design.screen.wraplimit", "wrap thickness against the diameter", "t_wrap ≤ D/n_t", "", "mm", wrapForms,
	of{"t_wrap", "wrap thickness", "mm", anyNumber},
	of{"D", "outside diameter", "mm", anyNumber},
	of{"n_t", "divisor", "", anyNumber})

// WrapLimit checks that the wrap is thin against the pipe, t_wrap ≤ D/n_t, mm;
// n_t = 6. Beyond it the thin-wall formulas do not hold. Source: form of the
// composite-repair standards, written from memory, verified: no.
func WrapLimit(tWrap, D, n float64, w *Working) Finding {
	return wrapLimit.on(tWrap, D, n).finding(Finding{Code: "wrap-thick", Advice: "have the repair designed by a qualified person"}, w)
}

// DiameterRange checks that a size lies within what a method covers, mm.
func DiameterRange(D, low, high float64, w *Working) Finding {
	f := Finding{
		Code: "size-range", OK: atLeast(D, low) && atMost(D, high), Name: "outside diameter against the range of the method",
		Found: D, Limit: low, Unit: "mm", Advice: "ask for another method for this size", Source: practice,
	}
	if !atMost(D, high) || atLeast(D, low) && high-D < D-low {
		f.Limit = high
	}
	return f.note("design.screen.size", "D_low ≤ D ≤ D_high", w, func() []trace.Input {
		return []trace.Input{
			in("D_low", "smallest", low, "mm"), in("D", "outside diameter", D, "mm"), in("D_high", "largest", high, "mm"),
		}
	})
}
