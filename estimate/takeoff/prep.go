package takeoff

import (
	"wraptally/catalog"
	"wraptally/estimate/scope"
	"wraptally/estimate/trace"
)

var prepRule = trace.NewRule(trace.Rule{
	ID: "takeoff.prep.area", Name: "surface to be prepared", Formula: "π·D·(L + 2·m)·α/1e6", Unit: "m²", Source: "derived: cylinder; margin " + commonPractice,
	In: []trace.Symbol{
		{Symbol: "D", Name: "outside diameter", Unit: "mm", From: trace.Survey},
		{Symbol: "L", Name: "repair length", Unit: "mm", From: trace.StepAt("length")},
		{Symbol: "m", Name: "margin a side", Unit: "mm", From: trace.Setting("prep.margin")},
		{Symbol: "α", Name: "surface against a straight pipe"},
	},
})

// prepArea is the surface to be prepared, π·D·(L + 2·margin)·α, in m². The
// grade and profile are settings (ISO 8501-1, ISO 8503).
func prepArea(r *scope.Repair, set *catalog.Settings, log *trace.Log) float64 {
	x := []float64{r.OD, r.Length, set.PrepMargin, r.AreaFactor}
	m2 := prepRule.Of(x...)
	log.Add(func() trace.Step {
		return prepRule.Step("prep/area", m2, x).Knowing("α", trace.Table("components", string(r.Component)))
	})
	return m2
}
