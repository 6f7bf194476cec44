// Package takeoff works out what one repair takes, net, before anything is
// rounded up to sticks, packs or rolls. One file a material.
package takeoff

import (
	"slices"

	"wraptally/catalog"
	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

// Net is what one repair takes.
type Net struct {
	Seals []Seal // one a patch; empty for reinforcement only
	Putty Putty
	Tapes []Tape  // one a width of wrap that suits the diameter, narrowest first
	Prep  float64 // m², surface to be prepared

	Queries []trace.Query // what cannot be taken off, each a Stop
}

// Measure takes off a repair with the first putty that mixes accepts, where nil
// accepts any. It is a pure function of its arguments; the log may be nil.
func Measure(r *scope.Repair, c *catalog.Catalog, mixes Mixes, log *trace.Log) *Net {
	n := Sealing(r, c, log)
	n.Putty = n.putty(r, c, mixes, log)
	n.Tapes = n.tapes(r, c, log)
	n.Prep = prepArea(r, &c.Settings, log)
	return n
}

// Sealing is the part of Measure that takes off the sealing sets alone.
func Sealing(r *scope.Repair, c *catalog.Catalog, log *trace.Log) *Net {
	n := &Net{}
	if len(r.Patches) > 0 {
		n.Seals = make([]Seal, 0, len(r.Patches))
	}
	for i := range r.Patches {
		n.Seals = append(n.Seals, n.seal(r, i, c, log))
	}
	return n
}

// stop records why a quantity cannot be given.
func (n *Net) stop(r *scope.Repair, code, found, message, advice string) {
	n.stopOf(r, nil, code, found, message, advice)
}

// tooCold stops a repair whose product, chosen for its hottest place, may not be
// laid at its coldest, which is below least.
func (n *Net) tooCold(r *scope.Repair, product string, least float64) {
	message, advice := "the "+product+" for the hottest place of this repair may not be used at its coldest", "bring the surface to one temperature, or make two repairs of it"
	of := r.Coldest
	if r.Blank.Has("surface_temp") {
		of = r.Defects[slices.IndexFunc(r.Defects, func(d *survey.Defect) bool { return !d.SurfaceTemp.OK })]
		message = "the surface temperature is not in the survey, and the " + product + " for the hot end of its range may not be used at the cold end"
		advice = "measure it, or say it for all such rows with --set survey.surface_temp=VALUE"
	}
	n.stopOf(r, of, product+"-cold", trace.WithUnit(r.SurfaceTempLow, "°C"), message+", which is below "+trace.WithUnit(least, "°C"), advice)
}

// stopOf names the defect that the number found is of; nil where it is of all.
func (n *Net) stopOf(r *scope.Repair, d *survey.Defect, code, found, message, advice string) {
	if d == nil {
		d = r.Defects[0]
	}
	n.Queries = append(n.Queries, trace.Query{
		Code: code, Severity: trace.Stop, Found: found, Message: message, Advice: advice,
		Row: d.ID, Place: trace.Place{Line: d.Line0},
	})
}

// metres turns mm into m, the unit in which lengths are reported.
func metres(mm float64) float64 { return mm / 1000 }

// litres turns mm³ into L.
func litres(mm3 float64) float64 { return mm3 / 1e6 }
