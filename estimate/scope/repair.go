// Package scope turns the defects of a survey into repairs: how far each
// repair reaches, which defects share one, what has to be sealed, how many
// layers of wrap go round, and whether the method fits at all.
package scope

import (
	"slices"
	"strconv"
	"strings"

	"wraptally/catalog"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

// Status says what became of a repair.
type Status string

// The states of a repair.
const (
	Estimated     Status = "estimated"      // counted in order and cost
	Queried       Status = "queried"        // left out until its query is answered
	NotRepairable Status = "not repairable" // left out: the method cannot hold it
)

// Repair is one length of pipe to be prepared, sealed where it leaks, built up
// and wrapped. Lengths are in mm along or round the pipe.
type Repair struct {
	ID      string // its name, "CW-101-P-03": of its line and its first defect
	Line    string
	Area    string
	Defects []*survey.Defect // in the order of chainage

	OD      float64 // outside diameter used
	Wall    float64 // nominal wall used; 0 where unknown
	Size    string  // nominal size where given
	Leaking bool

	DefectFrom, DefectTo float64 // chainage of the outer edges of the defects
	Reach, Taper         float64 // each side
	ShearReach           float64 // each side, that the axial load of the wrap asks for
	runsOff              bool    // not all of it beyond its defects fits on the bend
	Length               float64 // rounded up to the length step
	OnBend               float64 // of the length, on the bend: stretched so that it holds on the inside
	From, To             float64 // chainage of the ends, centred on the defects

	System        string // wrap system, by name
	Ply           float64
	Layers        int    // layers asked for
	LayersFrom    string // why that many
	Method        string // design method stated on the kit
	LayersPerPass float64
	Passes        int
	WrapThickness float64 // laid: passes · layers per pass · ply
	Ceiling       float64 // MPa: least pressure of its leaks above which no thickness holds; 0 without a leak
	NearCeiling   bool    // the pressure is near it: the thickness runs away with any error

	Blank      Blanks   // fields taken from a range because the survey is silent
	taken      []Blanks // those of each defect
	point      point    // of the ranges, at which it is worked out
	matters    Blanks   // those of them that alone change layers or status
	Easy, Hard End      // what the ends of those ranges ask for
	MayNotBe   bool     // not repairable at the hard end: the hardest values that are were taken

	Patches []Patch // one sealing set each; empty without a leak
	Pits    []Pit   // metal lost at defects that are not sealed

	SurfaceTemp, SurfaceTempLow  float64        // °C, hottest and coldest of its defects
	Hottest, Coldest, HottestPot *survey.Defect // those at which the temperatures are
	governs, lowest              *survey.Defect // that which asks for the layers; the leak with the least ceiling
	PotTemp                      float64        // °C, of the putty until it is laid: the hotter of surface and air
	Surface                      survey.Surface
	Component                    survey.Component
	ComponentFactor              float64
	AreaFactor                   float64 // surface relative to a straight pipe
	BendRadius, BendAngle        float64
	Hazardous                    bool
	Access                       string
	Pressure                     survey.Num
	Live, SeatWall               survey.Num // MPa during the work, mm under the bands; of a repair that leaks
	DesignTemp, Stress           float64    // °C, MPa
	Media                        []string   // classes of what flows in the pipe

	*working // while it is worked out

	Status  Status
	Reason  string        // why it is not estimated
	Queries []trace.Query // about this repair
	Leans   []string      // codes of the assumptions it leans on
	Past    *Past         // what it was in earlier runs; nil where none is given
	Unnamed bool          // its name is still to be asked; ID tells its row as well
	attempt bool          // only status and layers are wanted
}

// End is what one end of the ranges of the blanks asks for.
type End struct {
	Layers int
	Status Status
}

func (r *Repair) end() End { return End{r.Layers, r.Status} }

// String is "6 layers", or the status where there are none.
func (e End) String() string {
	switch e.Status {
	case Queried:
		return "kept out by a query"
	case NotRepairable:
		return string(e.Status)
	}
	return strconv.Itoa(e.Layers) + " layers"
}

// decisive are the blanks on which layers or status turn.
func (r *Repair) decisive() Blanks {
	if r.matters == 0 {
		return r.Blank // only together
	}
	return r.matters
}

// Until says what the blanks leave open, "6 to 51 layers until the wall is
// known"; "" where nothing is open.
func (r *Repair) Until() string {
	open := r.decisive()
	switch {
	case r.Blank == 0 || r.Easy == r.Hard || r.Easy.Status == r.Hard.Status && r.Easy.Status != Estimated:
		return ""
	case r.Easy.Status == Estimated && r.Hard.Status == Estimated:
		return strconv.Itoa(r.Easy.Layers) + " to " + r.Hard.String() + " until " + open.are("known")
	}
	made, not := r.Easy, r.Hard
	if made.Status != Estimated {
		made, not = not, made
	}
	return made.String() + ", or " + not.String() + ", until " + open.are("known")
}

// Kind is "sealing + reinforcement" for a repair that holds a leak and
// "reinforcement only" otherwise.
func (r *Repair) Kind() string {
	if r.Leaking {
		return "sealing + reinforcement"
	}
	return "reinforcement only"
}

// WrapOD is the diameter on which the wrap is laid: the pipe with the putty of
// the repair length on it.
func (r *Repair) WrapOD(s *catalog.Settings) float64 { return r.OD + 2*s.PuttyHeight }

// Patch is what one sealing set covers: the defect or the bounding box of
// defects (A axial, C round the pipe), the pad of sealant over it and the
// sheet over the pad.
type Patch struct {
	Defects    []*survey.Defect
	X          float64 // chainage of the centre
	Clock      float64 // degrees of the centre
	ClockKnown bool
	A, C       float64 // of the defect box
	PadA, PadC float64 // of the sealant
	SheetA     float64 // of the sheet, rounded up to the sheet step
	SheetC     float64
}

// Pit is metal lost that is filled but not sealed.
type Pit struct {
	Defect     *survey.Defect
	A, C, Deep float64 // mm
}

// DesignedBy is who has designed the repair, with the numbers of the design; ""
// unless somebody has for every one of its defects.
func (r *Repair) DesignedBy() (by, reference string) {
	var who, refs []string
	for _, d := range r.Defects {
		if d.DesignedBy == "" {
			return "", ""
		}
		if !slices.Contains(who, d.DesignedBy) {
			who = append(who, d.DesignedBy)
		}
		if d.DesignRef != "" && !slices.Contains(refs, d.DesignRef) {
			refs = append(refs, d.DesignRef)
		}
	}
	return strings.Join(who, ", "), strings.Join(refs, ", ")
}

// working is what is worked out once for a repair and dropped with its filled blanks.
type working struct {
	all      survey.Defect // what its defects say together
	damages  []damage
	refused  error // why there are none
	measured bool  // they have been worked out
}

// over reports whether nothing more is to be worked out: of an attempt that fails.
func (r *Repair) over() bool { return r.attempt && r.Status != Estimated }

// because words why the repair cannot be made.
func (r *Repair) because(err error) {
	if !r.attempt {
		r.Reason = err.Error()
	}
}

// lean records that the repair leans on an assumption, once.
func (r *Repair) lean(code string) {
	if r.attempt || slices.Contains(r.Leans, code) {
		return
	}
	r.Leans = append(r.Leans, code)
}

// query records a question about the repair. A Stop keeps it out of the totals.
func (r *Repair) query(sev trace.Severity, code, found, message, advice string) {
	r.queryOf(r.Defects[0], sev, code, found, message, advice)
}

// worst is the first defect of which a number is greatest.
func (r *Repair) worst(of func(*survey.Defect) float64) *survey.Defect {
	out := r.Defects[0]
	for _, d := range r.Defects[1:] {
		if of(d) > of(out) {
			out = d
		}
	}
	return out
}

// queryOf records a question about one defect of the repair.
func (r *Repair) queryOf(d *survey.Defect, sev trace.Severity, code, found, message, advice string) {
	if !r.attempt {
		r.Queries = append(r.Queries, trace.Query{
			Code: code, Severity: sev, Found: found, Message: message, Advice: advice, Row: d.ID,
			Place: trace.Place{Line: d.Line0},
		})
	}
	if sev == trace.Stop && r.Status == Estimated {
		r.Status, r.Reason = Queried, message
	}
}
