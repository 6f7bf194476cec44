package survey

import (
	"cmp"
	"math"
	"strconv"
	"time"
)

// Num is a number that may be unknown. The zero value is unknown.
type Num struct {
	V  float64
	OK bool
}

// Known is a known number.
func Known(v float64) Num { return Num{V: v, OK: true} }

// Or gives the number, or other where it is unknown.
func (n Num) Or(other float64) float64 {
	if n.OK {
		return n.V
	}
	return other
}

// Compare is negative where n comes before o: unknown numbers first.
func (n Num) Compare(o Num) int {
	if n.OK != o.OK {
		if o.OK {
			return -1
		}
		return 1
	}
	return cmp.Compare(n.V, o.V)
}

// Tri is a yes/no answer that may be missing. The zero value is Unknown.
type Tri int8

// The answers.
const (
	Unknown Tri = iota
	No
	Yes
)

// Component is the part of the pipework that a defect sits on.
type Component string

// The components a survey may name. An empty component is a straight pipe.
const (
	Straight Component = "pipe"
	Bend     Component = "bend"
	Tee      Component = "tee"
	Reducer  Component = "reducer"
	Flange   Component = "flange"
	Nozzle   Component = "nozzle"
)

// Surface is the state of the surface at the time of the repair.
type Surface string

// The surface states. Empty means that the survey does not say.
const (
	Dry       Surface = "dry"
	Wet       Surface = "wet"
	Submerged Surface = "submerged"
)

// Mechanism is what takes the wall away. Empty is unknown.
type Mechanism string

// The mechanisms a survey may name.
const (
	Mechanical       Mechanism = "mechanical"
	External         Mechanism = "external"
	Internal         Mechanism = "internal"
	Erosion          Mechanism = "erosion"
	UnknownMechanism Mechanism = "unknown"
)

// Unknown reports whether it is not known what takes the wall away.
func (m Mechanism) Unknown() bool { return m == "" || m == UnknownMechanism }

// GoesOn reports whether the damage goes on under a wrap: what is not known
// does.
func (m Mechanism) GoesOn() bool { return m != Mechanical && m != External }

// Defect is one row of a survey in the project's own units: lengths in mm,
// pressure in MPa, temperature in °C, angles in degrees clockwise from the top
// looking along rising chainage. It is what the inspector reported, checked
// but not completed: what is unknown here stays unknown, and the scope stage
// fills it by rule and says so.
type Defect struct {
	ID    string // as in the survey, or "row 12" where it has none; tells the rows apart
	Tag   string // the id as in the survey; rows may share one, or have none
	Line  string // line (pipe) name; defects of one line may merge
	Area  string // unit, area or plant section; may be empty
	Line0 int    // line of the file, or row of the sheet, it was read from

	Chainage  Num    // mm, of the defect's centre along the line; may be negative
	OD        Num    // mm, outside diameter measured (or circumference/π)
	ODFrom    string // "od", "circumference" or "size": where OD came from
	Size      string // nominal size as a plain number, "6", "1-1/2", "150"; empty if not given
	Series    string // "NPS" or "DN-EN" or "DN-ASME"…: a series of the catalogue's pipe table; empty if not given
	Wall      Num    // mm, nominal wall
	Axial     Num    // mm, a
	Circ      Num    // mm, c
	Hole      bool   // given as a hole: a = c = diameter
	Remaining Num    // mm, remaining wall
	Depth     Depth  // of the loss, where no wall turns it into the remaining wall
	Leaking   Tri
	Clock     Num // degrees 0..360 of the defect's centre

	Pressure      Num // MPa, design pressure of the repair
	LivePressure  Num // MPa at the time of the work
	Stress        Num // MPa, allowable stress of the pipe
	AxialForce    Num // N, axial force incl. end thrust
	SurfaceTemp   Num // °C at the time of the work
	DesignTemp    Num // °C
	AirTemp       Num // °C
	Humidity      Num // %
	Surface       Surface
	Medium        string
	Hazardous     Tri // hazardous (explosive atmosphere) area
	Layers        Num // the designer's layers of wrap
	FreeRunBefore Num // mm of free straight pipe before the centre of the defect
	FreeRunAfter  Num // mm after it
	Component     Component
	BendRadius    Num    // mm, centre line
	BendAngle     Num    // degrees
	Access        string // "ground", "scaffold", "rope": a word of the catalogue's access table
	Life          Num    // years, service life asked for
	CorrosionRate Num    // mm a year
	Mechanism     Mechanism
	Cycles        Num    // of pressure, over the life of the repair
	Substrate     string // "steel": a word of the catalogue's substrates table
	SeatWall      Num    // mm, thinnest wall where the bands will sit
	DesignedBy    string // blank: not designed
	DesignRef     string
	NeedDate      time.Time // zero if not given
	Note          string
	Leans         []string // codes of the assumptions taken at intake (a default applied, a value carried down)
}

// Depth is how much of a wall that is not known is lost. The zero value is
// unknown.
type Depth struct {
	Num
	Percent bool // of the wall, else mm
}

// Of is what the depth leaves of a wall, mm.
func (d Depth) Of(wall float64) float64 {
	if d.Percent {
		return wall * (1 - d.V/100)
	}
	return math.Max(0, wall-d.V)
}

// Spot is where a defect is, as far as the survey says: "CW-101, 12.4 m".
func (d *Defect) Spot() string {
	switch {
	case d.Line == "" && !d.Chainage.OK:
		return ""
	case !d.Chainage.OK:
		return d.Line
	case d.Line == "":
		return strconv.FormatFloat(math.Round(d.Chainage.V)/1000, 'f', -1, 64) + " m"
	}
	return d.Line + ", " + strconv.FormatFloat(math.Round(d.Chainage.V)/1000, 'f', -1, 64) + " m"
}
