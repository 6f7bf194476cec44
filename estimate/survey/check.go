package survey

import (
	"fmt"
	"math"
	"strings"

	"wraptally/estimate/trace"
)

// Tolerances of the named checks; common practice, no source. ODs of rolled pipe
// keep to 1 %; half a per cent tells a nominal size given as OD from a measured
// one; mills deliver walls up to 12.5 % off.
const (
	odTolerance      = 0.02
	nominalTolerance = 0.005
	wallTolerance    = 0.125
	tapeTolerance    = 0.02
)

// confirmable are the named checks that the user, or the client by an answer,
// may confirm as right.
var confirmable = map[string]bool{
	"unit-contradicted": true, "od-below-nominal": true, "od-above-nominal": true, "od-is-nominal": true, "od-circumference-differ": true,
	"hole-and-size": true, "row-repeated": true, "id-duplicate": true, "remaining-and-depth": true,
}

// checkRow makes the record whole from what the row says and runs the named
// checks.
func (rd *reader) checkRow() {
	rd.need(fLine, rd.d.Line != "")
	rd.need(fChainage, rd.d.Chainage.OK)
	rd.need(fLeaking, rd.d.Leaking != Unknown)
	rd.checkSize()
	rd.checkDefectSize()
	rd.checkWalls()
	if rd.d.Chainage.OK && rd.d.Chainage.V < 0 && !rd.muted("chainage-negative", trace.Note) {
		rd.query("chainage-negative", fChainage, int(rd.extra.cell[fChainage]), short(rd.d.Chainage.V/1000)+" m", "the defect lies before the zero of its line", "")
	}
}

// need raises the query of a required cell that is blank.
func (rd *reader) need(f fieldID, ok bool) {
	if ok || rd.extra.cell[f] != 0 {
		return // read, or already the matter of another query
	}
	rd.query("cell-missing", f, rd.columnOf(f), "", f.heading()+" is required", "fill the cell, or give one value for all such rows with --set survey."+fieldTable[f].Key+"=VALUE")
}

func (rd *reader) columnOf(f fieldID) int {
	if i := rd.byField[f]; i > 0 {
		return rd.cols[i-1].at + 1
	}
	return 0
}

// checkSize settles outside diameter, nominal size and series.
func (rd *reader) checkSize() {
	d, x := rd.d, &rd.extra
	if x.circumference.OK {
		od := x.circumference.V / math.Pi
		switch {
		case !d.OD.OK:
			d.OD, d.ODFrom = Known(od), "circumference"
		case math.Abs(od-d.OD.V) > tapeTolerance*d.OD.V:
			rd.query("od-circumference-differ", fOD, int(x.cell[fOD]), short(d.OD.V)+" mm", fmt.Sprintf("the circumference gives an OD of %.1f mm; the OD given is used", od), "measure again")
		}
	}
	if d.OD.OK && d.ODFrom == "" {
		d.ODFrom = "od"
	}
	tableOD, wall := rd.checkSeries()
	switch {
	case tableOD > 0 && !d.OD.OK && x.cell[fOD] == 0 && x.cell[fCircumference] == 0:
		d.OD, d.ODFrom = Known(tableOD), "size"
	case !d.OD.OK && x.cell[fOD] == 0 && x.cell[fCircumference] == 0 && d.Size == "" && x.cell[fSize] == 0:
		rd.query("size-missing", fOD, rd.columnOf(fOD), "", "the row gives neither OD, circumference nor nominal size", "fill one of them")
	}
	if d.OD.OK && d.ODFrom == "od" {
		rd.checkOD(tableOD)
	}
	rd.depthWall = wall
}

// checkSeries finds the series of the nominal size, and the OD and standard
// wall of the table, zero where the table has none.
func (rd *reader) checkSeries() (od, wall float64) {
	d, x := rd.d, &rd.extra
	if d.Size == "" {
		return 0, 0
	}
	if name, ok := rd.seriesName(d.Series); ok {
		d.Series = name
	}
	named := x.sizeSeries // what the size cell or its heading names
	switch {
	case d.Series == "" && named == "NPS":
		d.Series = "NPS"
	case d.Series == "" && named == "\"":
		d.Series = "NPS"
		rd.rep.assume("size-inch-nps", "Nominal sizes with an inch mark and without a series are NPS.", "common practice, no source", 1, d.ID)
		d.Leans = append(d.Leans, "size-inch-nps")
	case d.Series == "":
		if x.cell[fSeries] != 0 {
			return 0, 0
		}
		if d.OD.OK || x.cell[fOD] != 0 || x.cell[fCircumference] != 0 {
			rd.ask("series-missing", fSize, named+" "+d.Size, "the nominal size has no pipe series; the OD given is used and not checked against the table", rd.seriesAdvice())
		} else {
			rd.query("series-missing", fSize, int(x.cell[fSize]), strings.TrimSpace(named+" "+d.Size), "the nominal size has no pipe series, and the series differ in their ODs", rd.seriesAdvice())
		}
		return 0, 0
	case named == "NPS" && !strings.EqualFold(d.Series, "NPS"), named == "\"" && strings.HasPrefix(d.Series, "DN"), named == "DN" && !strings.HasPrefix(d.Series, "DN"):
		word := map[string]string{"\"": "inches"}[named]
		if word == "" {
			word = named
		}
		rd.query("series-contradicted", fSize, int(x.cell[fSize]), d.Size, fmt.Sprintf("the size is in %s, the series is %s", word, d.Series), "correct one of them")
		return 0, 0
	}
	if rd.opts.Sizes == nil {
		return 0, 0
	}
	if x.size != nil && x.size.known && x.size.asked == d.Series {
		d.Series = x.size.table.series
		return x.size.table.od, x.size.table.wall
	}
	asked := d.Series
	series, ok := rd.seriesName(d.Series)
	if !ok {
		rd.query("series-unknown", fSeries, int(x.cell[fSeries]), clip(d.Series), "the pipe table has no such series", rd.seriesAdvice())
		return 0, 0
	}
	d.Series = series
	od, wall, ok = rd.opts.Sizes.OD(series, d.Size)
	if !ok {
		const what = "the pipe table has no such size in the series "
		if d.OD.OK || x.cell[fOD] != 0 || x.cell[fCircumference] != 0 {
			rd.ask("size-unknown", fSize, d.Size, what+series+"; the OD given is used", "")
		} else {
			rd.query("size-unknown", fSize, int(x.cell[fSize]), d.Size, what+series, "correct the size, or give the OD")
		}
		return 0, 0
	}
	if x.size != nil {
		x.size.known, x.size.asked, x.size.table = true, asked, tableSize{series: series, size: d.Size, od: od, wall: wall}
	}
	return od, wall
}

// ask raises a query that would stop a row where the row has another way.
func (rd *reader) ask(code string, f fieldID, found, message, advice string) {
	rd.rep.add(trace.Query{Code: code, Severity: trace.Ask,
		Place: trace.Place{File: rd.opts.Name, Sheet: rd.det.Sheet, Line: rd.now.line, Column: int(rd.extra.cell[f]), Field: f.heading()},
		Found: strings.TrimSpace(found), Message: message, Advice: advice, Row: rd.d.ID})
}

func (rd *reader) seriesName(s string) (string, bool) {
	for _, name := range rd.seriesNames() {
		if strings.EqualFold(name, s) {
			return name, true
		}
	}
	return "", false
}

func (rd *reader) seriesNames() []string {
	if rd.opts.Sizes == nil {
		return nil
	}
	return rd.opts.Sizes.Series()
}

func (rd *reader) seriesAdvice() string {
	s := "fill the series, or give it for all rows with --set survey.series=SERIES"
	if names := rd.seriesNames(); len(names) > 0 {
		s += "; the pipe table has " + strings.Join(names, ", ")
	}
	return s
}

// checkOD runs the named checks of a measured outside diameter.
func (rd *reader) checkOD(tableOD float64) {
	d, x := rd.d, &rd.extra
	od := d.OD.V
	agrees := tableOD > 0 && math.Abs(od-tableOD) <= 0.05*tableOD
	if t := &fieldTable[fOD]; !agrees && (od < t.usual[0] || od > t.usual[1]) && x.odUnit != nil && rd.byField[fOD] > 0 && x.odUnit == rd.cols[rd.byField[fOD]-1].unit {
		if likely := likelyUnits(x.odUnit.From(od), x.odUnit, t.usual[0], t.usual[1]); len(likely) > 0 {
			rd.doubtUnit(&rd.cols[rd.byField[fOD]-1], x.odCell, od, likely)
			return
		}
	}
	if math.Abs(od-tableOD) <= odTolerance*tableOD {
		return
	}
	at := int(x.cell[fOD])
	found := short(od) + " mm"
	if tableOD > 0 {
		nominal := nominalMM(d.Series, d.Size)
		switch {
		case math.Abs(od-nominal) <= nominalTolerance*nominal:
			rd.query("od-is-nominal", fOD, at, found, fmt.Sprintf("this is the nominal size %s %s; its outside diameter is %s mm", d.Series, d.Size, short(tableOD)), "give the measured OD, or leave the cell empty to take the table's")
		case od < tableOD:
			rd.query("od-below-nominal", fOD, at, found, fmt.Sprintf("the OD is below the %s mm of %s %s; the OD given is used", short(tableOD), d.Series, d.Size), "check the size and measure again")
		default:
			rd.query("od-above-nominal", fOD, at, found, fmt.Sprintf("the OD is above the %s mm of %s %s; the OD given is used", short(tableOD), d.Series, d.Size), "check the size, and whether a coating was measured too")
		}
		return
	}
	if d.Size == "" {
		rd.checkNominalAlone(od, at, found)
	}
}

// checkNominalAlone asks about an OD that is exactly a nominal size of the
// table and near no outside diameter of it.
func (rd *reader) checkNominalAlone(od float64, at int, found string) {
	var like *tableSize
	for i := range rd.tableODs {
		t := &rd.tableODs[i]
		if math.Abs(od-t.od) <= 0.01*t.od {
			return
		}
		if like == nil && math.Abs(od-t.nominal) <= 0.001*t.nominal {
			like = t
		}
	}
	if like != nil {
		rd.ask("od-is-nominal", fOD, found, fmt.Sprintf("this is the nominal size %s %s, whose outside diameter is %s mm; the OD given is used", like.series, like.size, short(like.od)), "was the outside diameter measured?")
	}
}

// tableSize is one size of the pipe table.
type tableSize struct {
	series, size string
	od, wall     float64 // mm
	nominal      float64 // mm
}

// sizeSeen is a text of a size column: what it means, and what the pipe table
// said of it in the series last asked for.
type sizeSeen struct {
	nominalSize
	known bool
	asked string
	table tableSize
}

// nominalMM is the length that a nominal size names: NPS in inches, DN in mm.
func nominalMM(series, size string) float64 {
	v := sizeValue(size)
	if strings.HasPrefix(series, "DN") {
		return v
	}
	return v * 25.4
}

// tableSizes looks the usual nominal sizes up in the pipe table.
func tableSizes(sizes PipeSizes) []tableSize {
	if sizes == nil {
		return nil
	}
	const nps = "1/8 1/4 3/8 1/2 3/4 1 1-1/4 1-1/2 2 2-1/2 3 3-1/2 4 5 6 8 10 12 14 16 18 20 22 24 26 28 30 32 34 36 38 40 42 44 46 48"
	const dn = "6 8 10 15 20 25 32 40 50 65 80 90 100 125 150 200 250 300 350 400 450 500 550 600 650 700 750 800 850 900 950 1000 1050 1100 1150 1200"
	var out []tableSize
	for _, series := range sizes.Series() {
		list := nps
		if strings.HasPrefix(series, "DN") {
			list = dn
		}
		for size := range strings.FieldsSeq(list) {
			if od, _, ok := sizes.OD(series, size); ok {
				out = append(out, tableSize{series: series, size: size, od: od, nominal: nominalMM(series, size)})
			}
		}
	}
	return out
}

// checkDefectSize settles the defect's size and compares it with the pipe.
func (rd *reader) checkDefectSize() {
	d, x := rd.d, &rd.extra
	if x.hole.OK {
		a, c := d.Axial.Or(x.hole.V), d.Circ.Or(x.hole.V)
		if a != x.hole.V || c != x.hole.V {
			rd.query("hole-and-size", fHole, int(x.cell[fHole]), short(x.hole.V)+" mm", fmt.Sprintf("the hole is %s mm, the defect %s × %s mm; the larger of each is used", short(x.hole.V), short(a), short(c)), "")
		}
		d.Hole = d.Axial == Num{} && d.Circ == Num{} || a == x.hole.V && c == x.hole.V
		d.Axial, d.Circ = Known(max(a, x.hole.V)), Known(max(c, x.hole.V))
	}
	unread := x.cell[fHole] != 0 && !x.hole.OK && !x.holeWord
	switch {
	case x.holeWord && !d.Axial.OK && !d.Circ.OK:
		rd.query("hole-without-size", fHole, int(x.cell[fHole]), "yes", "a hole is named without its diameter", "give the diameter")
	case unread:
	case !d.Axial.OK && x.cell[fAxial] == 0 && !d.Circ.OK && x.cell[fCirc] == 0:
		code, message := "defect-size-missing", "the row gives no defect size"
		f := fAxial
		if rd.columnOf(fAxial) == 0 {
			f = fHole
			if d.Leaking == Yes {
				code, message = "hole-without-size", "a leaking row gives no hole diameter"
			}
		}
		rd.query(code, f, rd.columnOf(f), "", message, "give axial and circ, or the hole's diameter; --only leaves out rows that are no defects")
	case !d.Axial.OK && x.cell[fAxial] == 0:
		rd.query("defect-size-missing", fAxial, rd.columnOf(fAxial), "", "the defect has a width and no length", "give the axial length")
	case !d.Circ.OK && x.cell[fCirc] == 0:
		rd.query("defect-size-missing", fCirc, rd.columnOf(fCirc), "", "the defect has a length and no width", "give the width round the pipe")
	}
	if d.OD.OK && d.Circ.OK && d.Circ.V > math.Pi*d.OD.V {
		f := fCirc
		if x.cell[fCirc] == 0 {
			f = fHole
		}
		rd.query("defect-wider-than-circumference", f, int(x.cell[f]), short(d.Circ.V)+" mm", fmt.Sprintf("the pipe is only %.0f mm round", math.Pi*d.OD.V), "correct the width, the diameter or the units")
	}
}

// checkWalls settles nominal wall, remaining wall and depth.
func (rd *reader) checkWalls() {
	d, x := rd.d, &rd.extra
	if x.remainPercent.OK && d.Wall.OK {
		d.Remaining = Known(d.Wall.V * x.remainPercent.V / 100)
	} else if x.remainPercent.OK {
		rd.query("depth-without-wall", fRemaining, int(x.cell[fRemaining]), short(x.remainPercent.V)+" %", "the remaining wall is a share of a wall that the row does not give; it is left out", "give the nominal wall")
	}
	if x.depth.OK {
		rd.fromDepth()
	}
	if d.Remaining.OK && d.Wall.OK && d.Remaining.V > d.Wall.V*(1+wallTolerance) {
		rd.query("remaining-above-nominal", fRemaining, int(x.cell[fRemaining]), short(d.Remaining.V)+" mm", fmt.Sprintf("the remaining wall is above the nominal %s mm; the remaining wall is left out", short(d.Wall.V)), "are the two exchanged, or is the remaining wall a depth?")
		d.Remaining = Num{}
	} else if d.Remaining.OK && d.Wall.OK && d.Remaining.V > d.Wall.V {
		d.Remaining = d.Wall // within the mill's tolerance: nothing is lost
	}
	if d.Leaking == Yes && d.Remaining.OK && d.Remaining.V > 0 && !rd.muted("leak-with-wall", trace.Note) {
		rd.query("leak-with-wall", fRemaining, int(x.cell[fRemaining]), short(d.Remaining.V)+" mm", "the row leaks and gives a remaining wall", "")
	}
}

// fromDepth turns a depth into a remaining wall.
func (rd *reader) fromDepth() {
	d, x := rd.d, &rd.extra
	at := int(x.cell[fDepth])
	wall := d.Wall.V
	if !d.Wall.OK {
		if rd.depthWall <= 0 {
			rd.query("depth-without-wall", fDepth, at, short(x.depth.V), "the depth has no nominal wall to be taken from; it is left out", "give the nominal wall, or the nominal size with its series")
			return
		}
		wall = rd.depthWall
		rd.rep.assume("depth-standard-wall", "Depths without a nominal wall are taken from the standard wall of the nominal size.", "pipe table of the catalogue", 1, d.ID)
		d.Leans = append(d.Leans, "depth-standard-wall")
	}
	lost := x.depth.V
	if x.depthPercent {
		lost = wall * x.depth.V / 100
	}
	if lost > wall*(1+wallTolerance) {
		rd.query("depth-above-wall", fDepth, at, short(lost)+" mm", fmt.Sprintf("the depth is above the nominal wall of %s mm", short(wall)), "is it in per cent, or the remaining wall?")
		return
	}
	left := max(0, wall-lost)
	if d.Remaining.OK && math.Abs(d.Remaining.V-left) > 0.05*wall {
		rd.query("remaining-and-depth", fDepth, at, short(lost)+" mm", fmt.Sprintf("the depth leaves %s mm, the remaining wall says %s mm; the lesser is used", short(left), short(d.Remaining.V)), "")
		left = min(left, d.Remaining.V)
	} else if d.Remaining.OK {
		return
	}
	d.Remaining = Known(left)
}

// remainingPercent takes a remaining wall in per cent: under a heading that says
// so it is a share of the nominal wall; a lone per cent sign in a column of
// lengths is asked about.
func (rd *reader) remainingPercent(c *column, cell []byte, v float64) {
	if c.unit != nil && c.unit.Dim == DimPercent {
		if v < 0 || v > 100 {
			rd.unreadable("number-range", c, cell, "a remaining wall outside 0 to 100 %", "")
			return
		}
		rd.extra.remainPercent = Known(v)
		return
	}
	rd.cellQuery("remaining-percent", c, cell, "a remaining wall in per cent: of what is left, or of what is lost? It is left out", "give the wall as a length, or head the column remaining_pct or depth_pct")
}

// betweenRows runs the checks that need all rows: defects at one chainage. A
// line whose rows rise strictly, as a survey walked from end to end does, has
// none.
func (rd *reader) betweenRows() {
	type walk struct {
		last   float64
		rising bool
		first  map[float64]int
	}
	lines := make(map[string]*walk)
	var w *walk
	name := ""
	each := func(do func(i int, w *walk, x float64)) {
		for i := range rd.defects {
			d := &rd.defects[i]
			if w == nil || d.Line != name {
				name = d.Line
				if w = lines[name]; w == nil {
					w = &walk{last: math.Inf(-1), rising: true}
					lines[name] = w
				}
			}
			do(i, w, d.Chainage.V)
		}
	}
	rising := true
	each(func(_ int, w *walk, x float64) {
		if x <= w.last {
			w.rising, rising = false, false
		}
		w.last = x
	})
	if rising {
		return
	}
	each(func(i int, w *walk, x float64) {
		if w.rising {
			return
		}
		if w.first == nil {
			w.first = make(map[float64]int)
		}
		if j, ok := w.first[x]; ok {
			rd.sameChainage(&rd.defects[j], &rd.defects[i])
		} else {
			w.first[x] = i
		}
	})
}

// sameChainage judges two defects at one chainage of one line. Two places round
// the pipe are ordinary; the same numbers throughout are likely one defect
// listed twice.
func (rd *reader) sameChainage(a, b *Defect) {
	code, message, advice := "chainage-same", fmt.Sprintf("the defect lies at the chainage of %s (line %d); both are estimated and will merge", a.ID, a.Line0), ""
	if a.Axial == b.Axial && a.Circ == b.Circ && a.OD == b.OD && a.Clock == b.Clock && a.Leaking == b.Leaking {
		code, message, advice = "row-repeated", fmt.Sprintf("the row repeats %s (line %d) in chainage and size; both are estimated and will merge", a.ID, a.Line0), "delete one if it is the same defect"
	}
	sev := severityOf[code]
	if rd.accepts[code] && confirmable[code] || rd.answers.confirmed(b.ID)[code] {
		sev = trace.Note
	}
	rd.rep.add(trace.Query{Code: code, Severity: sev,
		Place: trace.Place{File: rd.opts.Name, Sheet: rd.det.Sheet, Line: b.Line0, Column: rd.columnOf(fChainage), Field: fChainage.heading()},
		Found: short(b.Chainage.V/1000) + " m", Message: message, Advice: advice, Row: b.ID})
}
