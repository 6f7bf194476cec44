// Package used declares the sheet that a crew fills in after each repair: what was
// used of what was planned, what came back, how long it took, what was measured. It
// is the one place where its columns are said, for the sheet that is written and
// for a reader of the sheet that comes back. Its columns are fixed: one may be
// added at the right, none is renamed or changes its meaning.
package used

import "math"

// Sheet is the name of the sheet.
const Sheet = "Used"

// Below is the heading of the rows under the sheet that tell its columns, and TellsBy
// what their second column may hold: who fills a column in.
const (
	Below  = "What the columns hold"
	ByHand = "hand"
	ByRun  = "the run"
	By     = "By"
)

// TellsBy are the words of the second column of the rows that tell the columns.
var TellsBy = []string{By, ByHand, ByRun}

// Column is a column of the sheet.
type Column struct {
	Heading string
	Unit    string // of its numbers; "row": that of the column Unit of the same row
	Meaning string
	ByHand  bool // filled in by whoever did the repair
}

// Places of the columns.
const (
	Kit = iota
	Record
	Code
	Name
	Unit
	Planned
	Used
	Returned
	Damaged
	Substitute
	Lot
	Remark
	Run
	columns
)

// Columns are the columns of the sheet in their order. A row is known by its Kit,
// Record and Code together; rows may be added for what was not planned.
var Columns = [columns]Column{
	Kit:        {Heading: "Kit", Meaning: "name of the repair and its kit: the key of all its rows"},
	Record:     {Heading: "Record", Meaning: "what the row is about: item, task, work or measured"},
	Code:       {Heading: "Code", Meaning: "of an item or task its code in the catalogue; of work start, finish or crew; of what is measured one of the codes below"},
	Name:       {Heading: "Name", Meaning: "the same in words; not read back"},
	Unit:       {Heading: "Unit", Meaning: "unit of the numbers of the row; blank of a name; date-time is written 2027-03-01 07:30"},
	Planned:    {Heading: "Planned", Unit: "row", Meaning: "by the run whose mark stands in the column Run"},
	Used:       {Heading: "Used", Unit: "row", Meaning: "used up; of a task the minutes it took, of work and what is measured the value found", ByHand: true},
	Returned:   {Heading: "Returned", Unit: "row", Meaning: "of an item: back in the store and fit for use", ByHand: true},
	Damaged:    {Heading: "Damaged", Unit: "row", Meaning: "of an item: spoilt, lost or not fit for use, and not used", ByHand: true},
	Substitute: {Heading: "Substituted by", Meaning: "code of the item used in its place; what was used of it stands in a row of its own", ByHand: true},
	Lot:        {Heading: "Lot", Meaning: "lots used, parted by semicolons; the lot allotted stands there where it is known", ByHand: true},
	Remark:     {Heading: "Remark", Meaning: "anything else", ByHand: true},
	Run:        {Heading: "Run", Meaning: "mark of the run that planned it; blank where it has none"},
}

// Records of the column Record.
const (
	Item     = "item"
	Task     = "task"
	Work     = "work"
	Measured = "measured"
)

// Value is a row of work or of what is measured.
type Value struct {
	Code, Name, Unit string
}

// Codes of work.
const (
	Start  = "start"
	Finish = "finish"
	Crew   = "crew"
)

// Works are the rows of work, in their order.
var Works = []Value{{Start, "work begun", "date-time"}, {Finish, "work finished", "date-time"}, {Crew, "crew that did it", ""}}

// Codes of what is measured.
const (
	Wall        = "wall_mm"
	SurfaceTemp = "surface_temp_c"
	Layers      = "layers"
	Length      = "length_mm"
	Thickness   = "thickness_mm"
)

// Measures are the rows of what is measured, in their order. Planned is what the
// plan rests on: of the wall the least that remains, of the others what is asked for.
var Measures = []Value{
	{Wall, "least wall found beside the leak or under the wrap", "mm"}, {SurfaceTemp, "surface when the wrap was laid", "°C"},
	{Layers, "layers laid", ""}, {Length, "extent of the wrap along the pipe", "mm"}, {Thickness, "thickness of the wrap", "mm"},
}

// Shown is a planned quantity as the sheet shows it, and as what was used is held
// against it: minutes and the thickness to a tenth, the extent of the wrap to a mm.
func Shown(record, code string, v float64) float64 {
	switch {
	case record == Task, code == Thickness:
		return math.Round(v*10) / 10
	case code == Length:
		return math.Round(v)
	}
	return v
}
