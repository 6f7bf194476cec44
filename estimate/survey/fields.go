package survey

import "math"

// fieldID numbers the fields of a survey row.
type fieldID int8

const (
	noField fieldID = iota - 1
	fID
	fLine
	fArea
	fChainage
	fOD
	fCircumference
	fSize
	fSeries
	fWall
	fAxial
	fCirc
	fHole
	fRemaining
	fDepth
	fLeaking
	fClock
	fPressure
	fLivePressure
	fStress
	fAxialForce
	fSurfaceTemp
	fDesignTemp
	fAirTemp
	fHumidity
	fSurface
	fMedium
	fHazardous
	fLayers
	fFreeRunBefore
	fFreeRunAfter
	fComponent
	fBendRadius
	fBendAngle
	fAccess
	fLife
	fNeedDate
	fNote
	numFields
)

// Kind is how the cells of a field are read.
type Kind string

// The kinds of field.
const (
	KindText   Kind = "text"
	KindNumber Kind = "number"
	KindSize   Kind = "nominal size"
	KindYesNo  Kind = "yes or no"
	KindClock  Kind = "clock position"
	KindDate   Kind = "date"
	KindWord   Kind = "word of a list"
)

// Field documents one field of a survey: its own heading, and what may stand
// below it.
type Field struct {
	Key      string // "od": the name without the unit
	Heading  string // "od_mm": the project's own heading
	Unit     string // of the own heading; empty where there is none
	Kind     Kind
	Dim      Dim
	Required string // "yes", "no", or the rule: "od, circumference or size with series"
	Meaning  string
	Example  string

	// usual is the range, in the base unit, that practically every survey stays
	// in; outside it the heading's unit is doubted. beyond is what no pipework
	// reaches: a value there stops its row. Both "common practice, no source".
	usual, beyond [2]float64
	grave         bool // an unreadable cell stops the row; otherwise the cell alone is left out
}

// Length limits in mm, 9.7 m diameter being the largest pipe a band set reaches.
var (
	anyRange = [2]float64{math.Inf(-1), math.Inf(1)}
	oneSize  = "one of od, circumference, or size with series"
	oneDef   = "axial with circ, or hole"
)

var fieldTable = [numFields]Field{
	fID:            text("id", "no", "name of the row; without it the row is called by its number in the file", "P-014"),
	fLine:          grave(text("line", "yes", "line (pipe) name; defects of one line whose repairs touch become one repair", "100-CW-001")),
	fArea:          text("area", "no", "unit, area or section of the plant", "Unit 1"),
	fChainage:      num("chainage", "m", DimLength, "yes", "distance of the defect's centre along the line; may be negative", "12.35", anyRange, [2]float64{-1e9, 1e9}),
	fOD:            num("od", "mm", DimLength, oneSize, "outside diameter, measured", "168.3", [2]float64{10, 1250}, [2]float64{1, 1e5}),
	fCircumference: num("circumference", "mm", DimLength, oneSize, "circumference, taped", "529", [2]float64{30, 3930}, [2]float64{3, 3.2e5}),
	fSize:          {Key: "size", Heading: "size", Kind: KindSize, Required: oneSize, Meaning: "nominal size, NPS or DN", Example: "6", grave: true},
	fSeries:        grave(text("series", "with size", "pipe series of the nominal size, as the catalogue's pipe table names it", "NPS")),
	fWall:          num("wall", "mm", DimLength, "no", "nominal wall thickness; without it the standard wall of the size is assumed", "7.11", [2]float64{0.5, 60}, [2]float64{0.05, 500}),
	fAxial:         num("axial", "mm", DimLength, oneDef, "length of the defect along the pipe", "40", [2]float64{0, 6000}, [2]float64{0, 1e5}),
	fCirc:          num("circ", "mm", DimLength, oneDef, "width of the defect round the pipe", "25", [2]float64{0, 4000}, [2]float64{0, 1e5}),
	fHole:          num("hole", "mm", DimLength, oneDef, "diameter of a through hole", "6", [2]float64{0, 600}, [2]float64{0, 1e4}),
	fRemaining:     num("remaining", "mm", DimLength, "no", "remaining wall at the thinnest place", "3.2", [2]float64{0, 60}, [2]float64{0, 500}),
	fDepth:         num("depth", "pct", DimPercent, "no", "depth of the loss in per cent of the nominal wall, or as a length (depth_mm); gives the remaining wall", "45", [2]float64{0, 100}, [2]float64{0, 1000}),
	fLeaking:       {Key: "leaking", Heading: "leaking", Kind: KindYesNo, Required: "yes", Meaning: "does it leak, or will it once cleaned: yes or no", Example: "yes", grave: true},
	fClock:         {Key: "clock", Heading: "clock", Kind: KindClock, Dim: DimAngle, Required: "no", Meaning: "position round the pipe looking along rising chainage: hours (4:30) or, with °, degrees from the top", Example: "4:30"},
	fPressure:      num("pressure", "mpa", DimPressure, "no", "design pressure of the repair, gauge", "1.6", [2]float64{0, 45}, [2]float64{0, 1000}),
	fLivePressure:  num("live_pressure", "mpa", DimPressure, "no", "pressure at the time of the work, gauge", "0.4", [2]float64{0, 45}, [2]float64{0, 1000}),
	fStress:        num("stress", "mpa", DimPressure, "no", "allowable stress of the pipe", "137.9", [2]float64{20, 600}, [2]float64{0.1, 5000}),
	fAxialForce:    num("axial_force", "kn", DimForce, "no", "axial force, end thrust included", "25", anyRange, [2]float64{-1e9, 1e9}),
	fSurfaceTemp:   num("surface_temp", "c", DimTemperature, "no", "surface temperature at the time of the work", "30", [2]float64{-50, 350}, [2]float64{-200, 1000}),
	fDesignTemp:    num("design_temp", "c", DimTemperature, "no", "design temperature of the repair", "60", [2]float64{-50, 350}, [2]float64{-200, 1000}),
	fAirTemp:       light(num("air_temp", "c", DimTemperature, "no", "air temperature at the time of the work", "22", [2]float64{-50, 60}, [2]float64{-80, 100})),
	fHumidity:      light(num("humidity", "pct", DimPercent, "no", "relative humidity", "65", [2]float64{0, 100}, [2]float64{0, 100})),
	fSurface:       {Key: "surface", Heading: "surface", Kind: KindWord, Required: "no", Meaning: "surface at the time of the work: dry, wet or submerged", Example: "wet", grave: true},
	fMedium:        text("medium", "no", "what flows in the line", "cooling water"),
	fHazardous:     {Key: "hazardous", Heading: "hazardous", Kind: KindYesNo, Required: "no", Meaning: "hazardous (explosive atmosphere) area: yes or no", Example: "no", grave: true},
	fLayers:        num("layers", "", DimNone, "no", "the designer's layers of wrap, a whole number", "6", [2]float64{1, 100}, [2]float64{1, 1000}),
	fFreeRunBefore: num("free_run_before", "mm", DimLength, "no", "free straight pipe before the defect's centre", "600", anyRange, [2]float64{0, 1e8}),
	fFreeRunAfter:  num("free_run_after", "mm", DimLength, "no", "free straight pipe after the defect's centre", "450", anyRange, [2]float64{0, 1e8}),
	fComponent:     {Key: "component", Heading: "component", Kind: KindWord, Required: "no", Meaning: "pipe, bend, tee, reducer, flange or nozzle; empty is straight pipe", Example: "bend", grave: true},
	fBendRadius:    num("bend_radius", "mm", DimLength, "no", "radius of the bend's centre line", "229", anyRange, [2]float64{1, 1e6}),
	fBendAngle:     num("bend_angle", "deg", DimAngle, "no", "angle of the bend", "90", anyRange, [2]float64{0, 360}),
	fAccess:        text("access", "no", "how the place is reached: a word of the catalogue's access table", "scaffold"),
	fLife:          light(num("life", "years", DimTime, "no", "service life asked of the repair", "10", [2]float64{0, 50}, [2]float64{0, 200})),
	fNeedDate:      {Key: "need_date", Heading: "need_date", Kind: KindDate, Required: "no", Meaning: "date the material is needed on site, YYYY-MM-DD", Example: "2027-03-15"},
	fNote:          text("note", "no", "remark; carried to the output", "under support"),
}

func text(key, required, meaning, example string) Field {
	return Field{Key: key, Heading: key, Kind: KindText, Required: required, Meaning: meaning, Example: example}
}

func num(key, unit string, dim Dim, required, meaning, example string, usual, beyond [2]float64) Field {
	f := Field{Key: key, Heading: key, Kind: KindNumber, Dim: dim, Required: required, Meaning: meaning, Example: example,
		usual: usual, beyond: beyond, grave: true}
	if unit != "" {
		f.Heading += "_" + unit
		u := lookUnit(unit)
		f.Unit = u.Name
	}
	return f
}

func grave(f Field) Field { f.grave = true; return f }
func light(f Field) Field { f.grave = false; return f }

// Fields lists the fields of a survey with their own headings, in the order in
// which a template should hold them.
func Fields() []Field { return append([]Field(nil), fieldTable[:]...) }

var fieldByKey = func() map[string]fieldID {
	m := make(map[string]fieldID, 2*numFields)
	for i := range fieldTable {
		m[fieldTable[i].Key] = fieldID(i)
		m[fieldTable[i].Heading] = fieldID(i)
	}
	return m
}()

func (f fieldID) heading() string {
	if f == noField {
		return ""
	}
	return fieldTable[f].Heading
}

// ownUnit is the unit of the field's own heading, nil where it has none.
func (f fieldID) ownUnit() *Unit {
	if u := fieldTable[f].Unit; u != "" {
		return lookUnit(u)
	}
	return nil
}
