package survey

import (
	"fmt"
	"math"
	"strings"

	"wraptally/estimate/trace"
)

// nominalTolerance tells a nominal size given as OD from a measured one; common
// practice, no source.
const nominalTolerance = 0.005

// confirmable are the named checks that the user, or the client by an answer,
// may confirm as right.
var confirmable = map[string]bool{
	"unit-contradicted": true, "od-below-nominal": true, "od-above-nominal": true, "od-is-nominal": true, "od-circumference-differ": true,
	"hole-and-size": true, "no-wall-left": true, "defect-long": true, "row-repeated": true, "id-duplicate": true, "remaining-and-depth": true, "event-other": true, "row-of-several": true, "repair-done": true,
}

// checkRow makes the record whole from what the row says and runs the named
// checks.
func (rd *reader) checkRow() {
	if rd.noDefect() {
		return
	}
	rd.need(fLine, rd.d.Line != "")
	rd.need(fChainage, rd.d.Chainage.OK)
	rd.need(fLeaking, rd.d.Leaking != Unknown)
	rd.checkSize()
	rd.checkDefectSize()
	rd.checkWalls()
	if dv := rd.defaults[fLeaking]; dv != nil && dv.ask && rd.leakAsked && (rd.d.Remaining.V > rd.opts.Doubts.WallGone/100*rd.d.Wall.Or(rd.depthWall) ||
		rd.d.Depth.OK && rd.d.Depth.Percent && rd.d.Depth.V < 100-rd.opts.Doubts.WallGone) {
		rd.d.Leaking = No // metal was measured there, and not a mere skin
	}
	rd.makesSense()
	if rd.d.Chainage.OK && rd.d.Chainage.V < 0 && !rd.muted("chainage-negative", trace.Note) {
		rd.query("chainage-negative", fChainage, int(rd.extra.cell[fChainage]), short(rd.d.Chainage.V/1000)+" m", "the defect lies before the zero of its line", "")
	}
}

// noDefect queries, once and not cell by cell, a row that leaves blank nearly all
// that makes a defect: the sum or the remarks below a list. Common practice, no
// source.
func (rd *reader) noDefect() bool {
	given, blank, at := 0, 0, -1
	for _, group := range [][]fieldID{{fLine}, {fChainage}, {fOD, fCircumference, fSize}, {fAxial, fCirc, fHole}, {fLeaking}} {
		in, filled := -1, false
		for _, f := range group {
			if i := rd.byField[f] - 1; i >= 0 {
				in = rd.cols[i].at
				filled = filled || len(rd.cellOf(&rd.cols[i])) > 0
			}
		}
		switch {
		case filled:
			given++
		case in >= 0:
			if blank++; at < 0 {
				at = in
			}
		}
	}
	if given > 1 {
		return false
	}
	found := ""
	for _, c := range rd.now.cells {
		if found = clip(string(trim(c))); found != "" {
			break
		}
	}
	first := strings.Fields(normHeading(found))
	sum := len(first) > 0 && (sumWords[first[0]] || len(first) > 1 && sumWords[first[0]+first[1]])
	if !sum && blank < 3 {
		return false
	}
	advice := "take it out, or fill its cells"
	if at >= 0 {
		advice = "take it out, fill its cells, or leave such rows out with --only " + quoted(rd.head.inOneLine(at)+"=*")
	}
	rd.query("row-no-defect", noField, 0, found, "the row gives hardly anything of a defect: a sum or a remark?", advice)
	return true
}

// sumWords begin the row of a sum.
var sumWords = wordSet("total totals subtotal sum summe zwischensumme gesamt gesamtsumme soustotal totaux suma razem subtotaal totaal soma totale итого всего")

// makesSense asks about rows whose values can be read and can hardly be meant.
func (rd *reader) makesSense() {
	d, x := rd.d, &rd.extra
	wall := d.Wall.Or(rd.depthWall)
	if d.Leaking == No && d.Remaining.OK && (d.Remaining.V == 0 || d.Remaining.V <= rd.opts.Doubts.WallGone/100*wall) && d.Remaining.V >= rd.opts.GoneWall {
		f := fRemaining
		if x.cell[f] == 0 {
			f = fDepth
		}
		rd.query("no-wall-left", f, int(x.cell[f]), short(d.Remaining.V)+" mm", "hardly any wall is left, and the row does not leak", "does it leak, or will it once cleaned? Else correct the wall")
	}
	if d.Leaking == No && d.Depth.OK && d.Depth.Percent && d.Depth.V >= 100-rd.opts.Doubts.WallGone {
		rd.query("no-wall-left", fDepth, int(x.cell[fDepth]), short(d.Depth.V)+" %", "hardly any wall is left, and the row does not leak", "does it leak, or will it once cleaned? Else correct the wall")
	}
	if longest := rd.opts.Doubts.DefectLong; d.Axial.OK && d.Axial.V > longest {
		rd.query("defect-long", fAxial, int(x.cell[fAxial]), short(d.Axial.V)+" mm", fmt.Sprintf("the defect is longer than %s m along the pipe", short(longest/1000)), "is the unit right, and is it one defect? A stretch that long is rather replaced")
	}
}

// need raises the query of a required cell that is blank.
func (rd *reader) need(f fieldID, ok bool) {
	if ok || rd.extra.cell[f] != 0 {
		return // read, or already the matter of another query
	}
	advice := "fill the cell, or give one value for all such rows with --set survey." + fieldTable[f].Key + "=VALUE"
	switch f {
	case fLine:
		advice += ", or that of the row above with --carry-down line"
	case fChainage: // one for all rows means nothing
		advice = "fill the cell, or take such defects as lying apart with --set survey.chainage=ask"
	}
	rd.query("cell-missing", f, rd.columnOf(f), "", f.heading()+" is required", advice)
}

func (rd *reader) columnOf(f fieldID) int {
	if i := rd.byField[f]; i > 0 {
		return rd.cols[i-1].at + 1
	}
	return 0
}

// ask raises a query that would stop a row where the row has another way.
func (rd *reader) ask(code string, f fieldID, found, message, advice string) {
	rd.rep.add(trace.Query{Code: code, Severity: trace.Ask,
		Place: trace.Place{File: rd.opts.Name, Sheet: rd.det.Sheet, Line: rd.now.line, Column: int(rd.extra.cell[f]), Field: f.heading()},
		Found: strings.TrimSpace(found), Message: message, Advice: advice, Row: rd.d.ID})
}

// checkDefectSize settles the defect's size and compares it with the pipe.
func (rd *reader) checkDefectSize() {
	d, x := rd.d, &rd.extra
	if x.hole.OK {
		a, c := d.Axial.Or(x.hole.V), d.Circ.Or(x.hole.V)
		if a != x.hole.V || c != x.hole.V {
			rd.query("hole-and-size", fHole, int(x.cell[fHole]), short(x.hole.V)+" mm", fmt.Sprintf("the hole is %s mm, the defect %s × %s mm; the larger of each is used", short(x.hole.V), short(a), short(c)), "correct one of them, or confirm with --accept hole-and-size")
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
		rd.withoutWall(Depth{Known(100 - x.remainPercent.V), true}, fRemaining)
	}
	if x.depth.OK {
		rd.fromDepth()
	}
	if d.Remaining.OK && d.Wall.OK && d.Remaining.V > d.Wall.V*(1+rd.opts.Doubts.WallOver/100) {
		rd.query("remaining-above-nominal", fRemaining, int(x.cell[fRemaining]), short(d.Remaining.V)+" mm", fmt.Sprintf("the remaining wall is above the nominal %s mm; the remaining wall is left out", short(d.Wall.V)), "are the two exchanged, or is the remaining wall a depth?")
		d.Remaining = Num{}
	} else if d.Remaining.OK && d.Wall.OK && d.Remaining.V > d.Wall.V {
		d.Remaining = d.Wall // within the mill's tolerance: nothing is lost
	}
	if d.Leaking == Yes && !rd.leakAsked && d.Remaining.OK && d.Remaining.V > 0 && !rd.muted("leak-with-wall", trace.Note) {
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
			if !d.Remaining.OK {
				rd.withoutWall(Depth{x.depth, x.depthPercent}, fDepth)
			}
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
	if lost > wall*(1+rd.opts.Doubts.WallOver/100) {
		rd.query("depth-above-wall", fDepth, at, short(lost)+" mm", fmt.Sprintf("the depth is above the nominal wall of %s mm", short(wall)), "is it in per cent, or the remaining wall?")
		return
	}
	left := max(0, wall-lost)
	if d.Remaining.OK && math.Abs(d.Remaining.V-left) > 0.05*wall {
		rd.query("remaining-and-depth", fDepth, at, short(lost)+" mm", fmt.Sprintf("the depth leaves %s mm, the remaining wall says %s mm; the lesser is used", short(left), short(d.Remaining.V)), "correct one of them, or confirm with --accept remaining-and-depth")
		left = min(left, d.Remaining.V)
	} else if d.Remaining.OK {
		return
	}
	d.Remaining = Known(left)
}

// withoutWall keeps a depth that has no wall to be taken from: what it leaves of
// the walls from the stated range is taken, the worst of it, and asked about once.
func (rd *reader) withoutWall(depth Depth, f fieldID) {
	rd.d.Depth = depth
	if rd.noWall++; rd.noWall == 1 {
		rd.noWallAt = trace.Place{File: rd.opts.Name, Sheet: rd.det.Sheet, Line: rd.now.line, Column: int(rd.extra.cell[f]), Field: fWall.heading()}
	}
}

// askWall asks for the wall that depths are to be taken from.
func (rd *reader) askWall() {
	if rd.noWall == 0 {
		return
	}
	rd.rep.add(trace.Query{Code: "depth-without-wall", Severity: severityOf["depth-without-wall"], Place: rd.noWallAt, Row: AllRows,
		Message: trace.Count(rd.noWall, "row gives", "rows give") + " how much wall is lost and no nominal wall: the least that this leaves of any wall from the range of a blank one is taken",
		Advice:  "give the nominal wall, for all rows with --set survey.wall=MM, or the nominal size with its series"})
}

// remainingPercent takes a remaining wall in per cent: under a heading that says
// so it is a share of the nominal wall; a lone per cent sign in a column of
// lengths is asked about.
func (rd *reader) remainingPercent(c *column, cell []byte, v float64) {
	if c.unit != nil && c.unit.Dim == DimPercent {
		if v < 0 || v > 100 {
			rd.unreadable("number-range", c, cell, "a remaining wall outside 0 to 100 %", "correct it, or state its unit with --map remaining=\"heading [mm]\"")
			return
		}
		rd.extra.remainPercent = Known(v)
		return
	}
	rd.cellQuery("remaining-percent", c, cell, "a remaining wall in per cent: of what is left, or of what is lost? It is left out", "give the wall as a length, or head the column remaining_pct or depth_pct")
}
