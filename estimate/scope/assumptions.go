package scope

import (
	"fmt"

	"wraptally/catalog"
	"wraptally/estimate/trace"
)

// The assumptions that this stage may take. Each is listed in every output with
// the number of repairs that lean on it.
const (
	WallRange        = "wall-range"
	RemainingRange   = "remaining-range"
	PressureRange    = "pressure-range"
	StressRange      = "stress-range"
	SurfaceTempRange = "surface-temperature-range"
	AirTempRange     = "air-temperature-range"
	DesignTempRange  = "design-temperature-range"
	RateRange        = "corrosion-rate-range"
	BendRange        = "bend-radius-range"

	SurfaceSetting   = "surface-setting"
	HazardTaken      = "hazard-unknown"
	MechanismUnknown = "mechanism-unknown"
	CyclesUnknown    = "cycles-unknown"
	FreeRunUnknown   = "free-run-unknown"
	SubstrateTaken   = "substrate-taken"
	ClockUnknown     = "clock-unknown"
	LeakUnknown      = "leak-unknown"
	HoleRound        = "hole-round"
	EndThrustTaken   = "end-thrust"
	BendAngleTaken   = "bend-angle-unknown"
	AccessUnknown    = "access-unknown"
	MediumUnknown    = "medium-blank"
	LiveUnknown      = "live-pressure-blank"
	SeatUnknown      = "seat-wall-blank"
	FullWallExceeded = "pressure-above-full-wall"
	WallGoneTaken    = "wall-gone-taken"
)

// UnknownMedium is the class of media that no word of the media table names.
const UnknownMedium = "unknown"

// Assumption is what is taken where the survey is silent.
type Assumption struct {
	Text  string // a sentence
	Basis string
	// Field is that which an answer fills, and Ask what to do about it, for those
	// assumptions that are asked: once for the whole survey, with their count.
	Field, Ask string
}

// Assumptions are the sentences of the assumptions with the ranges in force, by
// code.
func Assumptions(s *catalog.Settings) map[string]Assumption {
	ranged := func(what, from, field string) Assumption {
		end := "the end that asks for more is ordered"
		if s.BlankEnd == "best" {
			end = "the end that asks for less is ordered (setting blank.end)"
		}
		return Assumption{
			Text:  fmt.Sprintf("%s is not in the survey: %s, %s.", what, from, end),
			Basis: "range set by the settings blank.…, no source", Field: field, Ask: "measure it or find it out",
		}
	}
	return map[string]Assumption{
		WallRange:        ranged("The wall", trace.Span(s.WallLow, s.WallHigh, "times the standard wall of the size"), "wall"),
		RemainingRange:   ranged("The remaining wall", trace.Span(s.RemainingLow, s.RemainingHigh, "%")+" of the wall, or what the loss that is given leaves of it", "remaining"),
		PressureRange:    ranged("The design pressure", trace.Span(s.PressureLow, s.PressureHigh, "MPa"), "pressure"),
		StressRange:      ranged("The allowable stress of the pipe", trace.Span(s.PipeStress, max(s.PipeStress, s.StressHigh), "MPa"), "stress"),
		SurfaceTempRange: ranged("The surface temperature", trace.Span(s.WorkTempLow, s.WorkTempHigh, "°C"), "surface_temp"),
		AirTempRange:     ranged("The air temperature, at which putty is mixed,", "up to "+trace.WithUnit(s.AirAbove, "°C")+" above that of the surface where that is given", "air_temp"),
		DesignTempRange:  ranged("The design temperature", trace.Span(s.DesignTempLow, s.DesignTempHigh, "°C")+" or the surface temperature where that is above", "design_temp"),
		RateRange:        ranged("The corrosion rate", trace.Span(0, s.RateHigh, "mm/year"), "corrosion_rate"),
		BendRange:        ranged("The bend radius", trace.Span(s.BendLow, s.BendHigh, "times the outside diameter"), "bend_radius"),

		SurfaceSetting: {"The state of the surface is not in the survey: as the setting work.surface says, and a leak at least wet.", "setting", "surface", "say dry, wet or submerged"},
		HazardTaken:    {"The survey does not say whether the area is hazardous: it counts as hazardous.", "the harder case", "hazardous", "say yes or no"},
		MechanismUnknown: {"What takes the wall away is not in the survey: it counts as going on under the wrap, at the corrosion rate, to the end of the life.",
			"the harder case", "mechanism", "say internal, external, erosion or mechanical"},
		CyclesUnknown: {fmt.Sprintf("The pressure cycles are not in the survey: no factor is taken; above %g over the life the wrap has to be designed for them.", s.CyclesAsk),
			"composite-repair standards, from memory", "cycles", "say how often the pressure goes up and down"},
		FreeRunUnknown: {"The free pipe beside a defect is not in the survey: whether the repair has room is not checked.", "no source", "free_run_before", "measure the free pipe before and after each defect"},
		SubstrateTaken: {"What the pipe is made of is not in the survey: the stiffest and the least like the wrap of the substrates table is taken.", "the harder case", "substrate", "say what the pipe is made of"},
		ClockUnknown: {"A clock position is missing: each leak keeps its own sealing set, and for the design leaks are as near to each other round the pipe as can be.",
			"the harder case", "clock", "give the clock position of each leak"},
		LeakUnknown:    {"The survey does not say whether it leaks: counted as leaking.", "the harder case", "leaking", "say yes or no"},
		HoleRound:      {"A leak that is longer along the pipe than round it is taken as a round hole as wide as it is long.", "contains the leak; no formula for a slot along the pipe", "axial", "have the leak measured and its shape designed"},
		EndThrustTaken: {"The axial force is not in the survey: the end thrust of a closed end is used.", "equilibrium of a closed end", "", ""},
		BendAngleTaken: {"The angle of a bend is not in the survey: all of the repair beyond its defects is taken to lie on the bend.", "the harder case", "bend_angle", "measure the angle of the bend"},
		MediumUnknown:  {"What flows in the line is not in the survey: it counts as the class unknown of the media_classes table.", "the harder case", "medium", "say what is in the line; nobody works on what is not known"},
		LiveUnknown:    {"The pressure during the work is not in the survey: bands are counted for the design pressure, and the live-leak gate asks.", "the harder case", "live_pressure", "say what pressure is in the pipe during the work"},
		SeatUnknown:    {"The wall under the bands is not in the survey: whether it carries them is not known, and the live-leak gate asks.", "no source", "seat_wall", "measure the wall beside each leak before a band is drawn"},
		AccessUnknown:  {"The way of access is not in the survey: as dear and as slow as the " + accessEnd(s) + " of the access table in each number.", "setting blank.end", "access", "say how each place is reached"},
		WallGoneTaken: {fmt.Sprintf("By what is blank less than %g mm of wall may be left at the end of the life, where nothing leaks: there the wrap is designed as over a leak, and no sealing set is counted.", s.MinWall),
			"the harder case", "remaining", "measure wall and corrosion rate; where the wall is gone say that the row leaks, and a sealing set is counted"},
		FullWallExceeded: {"The pressure is above what the full wall carries at the allowable stress of the setting design.pipe_stress: pressure, wall or stress is not right.",
			"thin-walled cylinder, derived", "stress", "give the allowable stress of the pipe, and check pressure and wall"},
	}
}

// accessEnd is which end of the access table is taken where the survey is silent.
func accessEnd(s *catalog.Settings) string {
	if s.BlankEnd == "best" {
		return "best"
	}
	return "worst"
}
