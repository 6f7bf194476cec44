package takeoff

import (
	"math"

	"wraptally/catalog"
	"wraptally/estimate/scope"
	"wraptally/estimate/trace"
)

// prepArea is the surface to be prepared, π·D·(L + 2·margin)·α, in m². The
// grade and profile are settings (ISO 8501-1, ISO 8503).
func prepArea(r *scope.Repair, set *catalog.Settings, log *trace.Log) float64 {
	m2 := math.Pi * r.OD * (r.Length + 2*set.PrepMargin) * r.AreaFactor / 1e6
	log.Add(func() trace.Step {
		return trace.Step{
			ID: "prep/area", Name: "surface to be prepared", Rule: "takeoff.prep.area", Formula: "π·D·(L + 2·m)·α/1e6",
			Inputs: []trace.Input{
				trace.In("D", "outside diameter", r.OD, "mm", trace.Survey),
				trace.In("L", "repair length", r.Length, "mm", trace.StepAt("length")),
				trace.In("m", "margin a side", set.PrepMargin, "mm", trace.Setting("prep.margin")),
				trace.In("α", "surface against a straight pipe", r.AreaFactor, "", trace.Table("components", string(r.Component))),
			},
			Value: m2, Unit: "m²", Source: "derived: cylinder; margin " + commonPractice,
		}
	})
	return m2
}
