package survey

import (
	"strings"

	"wraptally/estimate/trace"
)

// reader turns rows of cells into defects.
type reader struct {
	opts    Options
	det     Detected
	before  *reader // of the sheet before
	rep     *report
	head    *header
	width   int // columns of the heading
	cols    []column
	byField [maxFields]int // index into cols, from 1; 0 where the survey has no such column
	idCol   int            // index into cols of the id, -1
	decimal byte
	sure    bool // thousands marks are known to be in use
	units   struct{ length, pressure, temperature, chainage *Unit }

	unitless  []column
	events    []events
	defaults  [maxFields]*defaultValue
	absent    []fieldID // fields with a default and no column
	carries   bool
	filters   []rowFilter
	repeated  *rowFilter
	dropped   *rowFilter
	done      *rowFilter
	places    donePlaces
	accepts   map[string]bool
	answers   *answerSheet
	doubts    [maxFields]doubt
	account   Account
	further   []Detected
	notGiven  int
	defects   []Defect
	packed    *packed        // in their place, from the number of them that Options.Pack says
	progress  func() float64 // share of the file read; nil where unknown
	ids       idSet
	tableODs  []tableSize
	series    []string // of the pipe table
	lastLine  string
	date1904  bool                     // the workbook counts days from 1904
	formulaAt func(line, col int) bool // a cell holds a formula; nil where every formula has its value
	depthWall float64                  // standard wall of the row's nominal size
	noWall    int                      // rows with a depth and no wall
	noWallAt  trace.Place              // of the first of them

	// of the row in hand
	now       *textRow
	d         *Defect // see slot
	used      bool    // the slot has been written to
	extra     rowExtra
	stopped   bool
	leakAsked bool            // the row does not say whether it leaks, and the user lets it be asked
	rowAcc    map[string]bool // codes that the client's answers confirm for this row
}

// rowExtra is what a row says that a Defect does not hold.
type rowExtra struct {
	circumference, hole, depth Num
	depthPercent               bool
	holeWord                   bool // the hole cell says yes instead of a size
	odCell                     []byte
	odUnit                     *Unit
	remainPercent              Num
	size                       *sizeSeen
	cell                       [maxFields]int32 // 1-based column of each field with a value
}

// defaultValue is the text that stands in for blank cells of a field.
type defaultValue struct {
	Default
	text    []byte
	col     column
	asked   int // rows that took it where the user set "ask"
	ask     bool
	answer  *heldAnswer // of the client, nil for what the user set
	decimal byte        // mark of the text
	sure    bool        // that it is this mark
}

// name is what the user or the client wrote, for a message.
func (dv *defaultValue) name() string {
	if a := dv.answer; a != nil {
		return "the answer " + quote(a.Value) + " for all rows to " + a.Field
	}
	return "the setting survey." + dv.Field + " = " + quote(dv.Value)
}

// unknownLine begins the name of the line that a row lies on, alone, while it is
// asked which: "? P-3".
const unknownLine = "? "

// askWord is the setting with which blanks of a field are asked about and the
// worst of a stated range is taken.
const askWord = "ask"

// newReader prepares for the rows below the heading.
// Before is the reader of the sheet before this one, nil for the first: its rows,
// queries and counts are carried on.
func newReader(opts Options, det Detected, head *header, before *reader) (*reader, error) {
	if opts.Doubts == nil {
		opts.Doubts = &DefaultDoubts
	}
	rd := &reader{opts: opts, det: det, rep: newReport(opts.Limits.Queries), idCol: -1, answers: newAnswerSheet(opts.Answers), before: before, tableODs: tableSizes(opts.Sizes), places: newDonePlaces(opts.Done)}
	if before != nil {
		if err := before.columnQueries(); err != nil {
			return nil, err
		}
		rd.rep, rd.ids, rd.answers, rd.account, rd.notGiven = before.rep, before.ids, before.answers, before.account, before.notGiven
		rd.defects, rd.packed, rd.used = before.defects, before.packed, before.used
	}
	rd.det.HeaderRow, rd.det.HeaderRows, rd.det.Preamble = head.line, head.rows, head.preamble
	if opts.HeaderRow > 0 {
		rd.det.Set = append(rd.det.Set, "header row")
	}
	if err := rd.setUnits(); err != nil {
		return nil, err
	}
	if err := rd.setDefaults(); err != nil {
		return nil, err
	}
	if err := rd.plan(head); err != nil {
		return nil, err
	}
	if err := rd.setDecimal(); err != nil {
		return nil, err
	}
	for i := range rd.cols {
		c := &rd.cols[i]
		rd.byField[c.field] = i + 1
		if c.field == fID {
			rd.idCol = i
		}
	}
	if err := rd.settleAnswers(); err != nil {
		return nil, err
	}
	for f := range numFields() {
		if dv := rd.defaults[f]; dv != nil && !rd.hasColumn(f) {
			rd.absent = append(rd.absent, f)
		}
	}
	if err := rd.setCarries(); err != nil {
		return nil, err
	}
	if err := rd.newFilters(opts.Only); err != nil {
		return nil, err
	}
	rd.watchEvents()
	n := len(rd.filters)
	rd.filters = append(rd.filters, rowFilter{rule: repeatedHeading, column: -1}, rowFilter{rule: droppedByAnswer, column: -1}, rowFilter{rule: repairDone, column: -1, seen: make(map[string]*int)})
	rd.repeated, rd.dropped, rd.done = &rd.filters[n], &rd.filters[n+1], &rd.filters[n+2]
	rd.accepts = make(map[string]bool)
	for _, code := range opts.Accept {
		if _, ok := severityOf[code]; !ok {
			return nil, &Error{Problem: "no query has the code " + quote(code), Hint: "the codes are those in brackets behind the queries, and at the end of wraptally fields"}
		}
		rd.accepts[code] = true
	}
	return rd, nil
}

func (rd *reader) hasColumn(f fieldID) bool {
	return rd.byField[f] > 0
}

func (rd *reader) setUnits() error {
	for _, u := range []struct {
		to         **Unit
		name, what string
		fallback   string
		dim        Dim
	}{
		{&rd.units.length, rd.opts.LengthUnit, "length", "mm", DimLength},
		{&rd.units.pressure, rd.opts.PressureUnit, "pressure", "MPa", DimPressure},
		{&rd.units.temperature, rd.opts.TemperatureUnit, "temperature", "°C", DimTemperature},
		{&rd.units.chainage, rd.opts.ChainageUnit, "chainage", "m", DimLength},
	} {
		name := u.name
		if name == "" {
			name = u.fallback
		}
		*u.to = lookUnit(name)
		if *u.to == nil || (*u.to).Dim != u.dim {
			return &Error{Problem: quote(name) + " is no unit of " + u.what, Hint: "units: " + strings.Join(UnitNames(u.dim), ", ")}
		}
	}
	return nil
}

func (rd *reader) setDefaults() error {
	for _, a := range rd.answers.forAll() {
		if err := rd.setDefault(Default{Field: a.Field, Value: a.Value}, a); err != nil {
			return err
		}
	}
	for _, d := range rd.opts.Defaults { // what the user sets goes before an answer
		if err := rd.setDefault(d, nil); err != nil {
			return err
		}
	}
	return nil
}

// setDefault takes what the user set for the blanks of a field, or a client's
// answer to them, which is tried once the survey's marks are known.
func (rd *reader) setDefault(d Default, answer *heldAnswer) error {
	f, ok := fieldOf(d.Field)
	if !ok {
		return &Error{Problem: "no field is called " + quote(d.Field), Hint: "the fields are " + fieldKeys()}
	}
	if f == fID {
		return &Error{Problem: "one id for all rows would tell none apart", Hint: "leave survey.id out: a row without an id is called by its line"}
	}
	_, unit := ownWithUnit(d.Field)
	if unit == nil {
		unit = f.ownUnit()
	}
	// A setting is written with a point, whatever the survey does.
	dv := &defaultValue{Default: d, text: []byte(strings.TrimSpace(d.Value)), col: newColumn(-1, f, unit), answer: answer, decimal: '.', sure: true}
	dv.ask = strings.EqualFold(string(dv.text), askWord)
	if before := rd.defaults[f]; dv.ask && answer == nil && before != nil && before.answer != nil {
		return nil // it was asked, and this is the answer
	}
	rd.defaults[f] = dv
	if dv.ask {
		worst := fieldTable[f].asked[0]
		if worst == "" {
			return &Error{Problem: "the setting survey." + d.Field + " cannot be left open", Hint: "give a value, or leave it out: a blank means: " + fieldTable[f].Blank}
		}
		dv.text, dv.col.unit = []byte(worst), f.ownUnit()
	}
	if answer != nil {
		return nil
	}
	return rd.tryDefault(f)
}

// tryDefault refuses a default that no row could use.
func (rd *reader) tryDefault(f fieldID) error {
	dv := rd.defaults[f]
	if len(dv.text) == 0 {
		return &Error{Problem: "the setting survey." + dv.Field + " is empty", Hint: "give a value, or leave the setting out"}
	}
	trial := &reader{opts: rd.opts, rep: newReport(10), decimal: dv.decimal, sure: dv.sure, now: &textRow{}, d: &Defect{}, accepts: map[string]bool{}, answers: newAnswerSheet(nil)}
	col := dv.col
	trial.value(&col, dv.text)
	if len(trial.rep.queries) > 0 {
		q := trial.rep.queries[0]
		e := &Error{Problem: dv.name() + " cannot be used: " + q.Message, Hint: q.Advice}
		if dv.answer != nil {
			e.Place = dv.answer.Place
		}
		return e
	}
	return nil
}

func (rd *reader) setCarries() error {
	for _, name := range rd.opts.CarryDown {
		f, ok := fieldOf(name)
		if !ok {
			return &Error{Problem: "no field is called " + quote(name), Hint: "the fields are " + fieldKeys()}
		}
		found := false
		for i := range rd.cols {
			if rd.cols[i].field == f {
				rd.cols[i].carry, found = true, true
			}
		}
		if !found {
			return &Error{Problem: "values of " + f.heading() + " are to be carried down, but the survey has no such column", Hint: "map one with --map FIELD=\"heading\", or give one value for all rows with --set survey.FIELD=VALUE"}
		}
		rd.carries = true
	}
	return nil
}

// setDecimal takes the user's decimal mark, or judges it from the rows of the
// sample.
func (rd *reader) setDecimal() error {
	rd.decimal = '.'
	switch rd.opts.Decimal {
	case 0:
		v := sniffDecimal(rd.head.below, rd.cols)
		rd.sure = v.thousands
		if v.comma > v.point {
			rd.decimal = ','
		}
	case '.', ',':
		rd.decimal, rd.sure = byte(rd.opts.Decimal), true
		rd.det.Set = append(rd.det.Set, "decimal")
	default:
		return &Error{Problem: "the decimal mark must be a point or a comma"}
	}
	rd.det.Decimal = string(rune(rd.decimal))
	return nil
}
