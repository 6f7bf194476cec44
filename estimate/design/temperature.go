package design

import (
	"math"

	"wraptally/estimate/trace"
)

// TemperatureRule is a factor on the strength of the wrap for service near its
// temperature limit: a parabola in the distance to that limit, capped at 1.
type TemperatureRule struct {
	A, B, C float64 // c_2 of x², c_1 of x, c_0 alone; 1/K², 1/K, pure
	Lowest  float64 // K, the smallest distance at which the rule holds
	Source  string
}

// Factor is the temperature factor
//
//	f_T = min(1, c_2·x² + c_1·x + c_0),  x = T_m − T_d
//
// with T_m the temperature limit of the wrap and T_d the design temperature,
// both °C. The form of the composite-repair standards is 6·10⁻⁵·x² + 0.001·x +
// 0.7014 from x = 0 up (written from memory, purchased text not at hand,
// verified: no), which reaches 1 at x = 62.7 K. Errors: *RangeError where T_d is
// above the limit (x below Lowest); *InputError, also for coefficients that
// would make the factor fall as the margin grows or leave it at 0 or below.
// Source: of the rule.
func (r TemperatureRule) Factor(Tm, Td float64, w *Working) (float64, error) {
	const name = "design.temperature.factor"
	c := rule{name: name}
	c.finite("T_m", "temperature limit of the wrap", Tm, "°C")
	c.finite("T_d", "design temperature", Td, "°C")
	c.notNegative("c_2", "coefficient of x²", r.A, "")
	c.finite("c_1", "coefficient of x", r.B, "")
	c.finite("c_0", "constant", r.C, "")
	c.finite("x_min", "smallest distance", r.Lowest, "K")
	c.want(2*r.A*r.Lowest+r.B >= 0, "c_1", "coefficient of x", r.B, "", "such that the factor rises with x")
	floor := r.A*r.Lowest*r.Lowest + r.B*r.Lowest + r.C
	c.want(floor > 0, "c_0", "constant", r.C, "", "such that the factor is above 0")
	if c.err != nil {
		return 0, c.err
	}
	x := Tm - Td
	if x < r.Lowest {
		return 0, &RangeError{
			Rule: name, Symbol: "x", Name: "temperature limit less design temperature",
			Value: x, Low: r.Lowest, High: math.Inf(1), Unit: "K",
			Advice: "choose a wrap with a higher temperature limit",
		}
	}
	a := temperatureFactor.on(r.A, Tm, Td, r.B, r.C)
	factor, err := a.raw()
	if err != nil {
		return 0, err
	}
	w.note(func() trace.Step {
		s := a.Step("", factor, a.values())
		s.Source = r.Source
		return s
	})
	return factor, nil
}

var temperatureFactor = lawOf("design.temperature.factor", "temperature factor", "f_T = min(1, c_2·(T_m − T_d)² + c_1·(T_m − T_d) + c_0)", "temperature factor", "", "",
	of{"c_2", "coefficient", "1/K²", notNegative},
	of{"T_m", "temperature limit of the wrap", "°C", anyNumber},
	of{"T_d", "design temperature", "°C", anyNumber},
	of{"c_1", "coefficient", "1/K", anyNumber},
	of{"c_0", "constant", "", anyNumber})
