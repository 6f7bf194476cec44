package scope

// The assumptions that this stage may take. Each is listed in every output with
// the number of repairs that lean on it.
const (
	WallStandard     = "wall-standard"
	WallUnknown      = "wall-unknown"
	RemainingUnknown = "remaining-unknown"
	PitDepthUnknown  = "pit-depth-unknown"
	PressureUnknown  = "pressure-unknown"
	StressSetting    = "stress-setting"
	TempSetting      = "temperature-setting"
	DesignTempTaken  = "design-temperature-setting"
	SurfaceSetting   = "surface-setting"
	ClockUnknown     = "clock-unknown"
	LeakUnknown      = "leak-unknown"
	HoleRound        = "hole-round"
	EndThrustTaken   = "end-thrust"
	BendAngleTaken   = "bend-geometry"
	AccessGround     = "access-ground"
)

// Texts are the assumptions' sentences and basis, by code.
var Texts = map[string][2]string{
	WallStandard:     {"The wall is not in the survey: the standard wall of the nominal size is used.", "ASME B36.10M standard wall"},
	WallUnknown:      {"Neither wall nor nominal size is known: the reach rests on its minimum and the run-out alone, and the metal of the hole is not counted.", "common practice, no source"},
	RemainingUnknown: {"The remaining wall is not in the survey: no preliminary thickness is computed, the firm's minimum layers stand.", "common practice, no source"},
	PitDepthUnknown:  {"The remaining wall of a pit is not in the survey: the pit is filled as deep as the whole wall.", "safe side, no source"},
	PressureUnknown:  {"The design pressure is not in the survey: the firm's minimum layers of the highest pressure row are used and no preliminary thickness is computed.", "safe side, no source"},
	StressSetting:    {"The allowable stress of the pipe is not in the survey: the setting design.pipe_stress is used.", "setting"},
	TempSetting:      {"The surface temperature is not in the survey: the setting work.temperature is used.", "setting"},
	DesignTempTaken:  {"The design temperature is not in the survey: the setting design.temperature is used.", "setting"},
	SurfaceSetting:   {"The state of the surface is not in the survey: the setting work.surface is used; a leak counts as wet.", "setting"},
	ClockUnknown:     {"Patches lie at the same place along the pipe and a clock position is missing: each keeps its own sealing set.", "safe side, no source"},
	LeakUnknown:      {"The survey does not say whether it leaks: counted as leaking.", "safe side, no source"},
	HoleRound:        {"The leak is taken as a round hole as wide as its longer side.", "safe side, no source"},
	EndThrustTaken:   {"The axial force is not in the survey: the end thrust of a closed end is used.", "equilibrium of a closed end"},
	BendAngleTaken:   {"The bend radius is not in the survey: 1.5 times the outside diameter is used.", "long-radius bend, common practice"},
	AccessGround:     {"The way of access is not in the survey: the first row of the access table is used.", "setting"},
}
