// Package export shows a campaign: as a workbook to work from, as JSON with
// every derivation, as a plain order list, as a page on the terminal. It turns
// the campaign into the plain table model; the writers under it know nothing of
// pipes.
package export

import (
	"time"

	"wraptally/estimate"
	"wraptally/estimate/design"
)

// Options are what an output needs beside the campaign.
type Options struct {
	Printed time.Time // date printed on the sheets; zero: the first day of the work, else none
	Version string    // of the program
	// Vary, where it is given, is shown on the sheet Vary.
	Vary *design.Variations
	// Alternatives are the same survey estimated with other settings, to be set
	// beside the campaign.
	Alternatives []Alternative
	// Run is the mark of the run, see Made.Mark; none where it is not known.
	Run string
	// Earlier are the names that an earlier run left; nil where none was given.
	Earlier *NamesOf
	// Made, where it is given, is kept in the JSON.
	Made *Made
}

// Notice stands on every output.
const Notice = "Estimate, not a design. A qualified person designs each repair; local codes and the safety data sheets come first."

// Cautions stand on the summary, the kit and in the JSON.
var Cautions = []string{
	"A repair on a live leak can kill. A qualified person designs it and decides whether it may be done under pressure.",
	"Pressure, temperature and medium must be known; the isolation must be ready to be closed, and a way out kept free.",
	"Permit to work, gas test and local codes come before anything printed here.",
	"Epoxy and amine hardener sensitise skin; isocyanate in the wrap sensitises the lungs: gloves, goggles, sleeves, ventilation or a respirator as the safety data sheet says.",
	"Sparks: no power tools, no steel brushes and no striking tools in a hazardous area without a permit; spark-free tools.",
	"Mixed epoxy heats up in the pot: never mix more than the card says, never leave a pot standing.",
}

// printed is the date on the sheets.
func (o Options) printed(p *estimate.Campaign) time.Time {
	if !o.Printed.IsZero() {
		return o.Printed
	}
	return p.Dates.Need
}
