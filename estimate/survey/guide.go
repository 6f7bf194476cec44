package survey

import (
	"slices"
	"strconv"
	"strings"
)

// Guide is the way into a survey whose headings do not say all that is needed:
// what each column holds and may mean, what is still missing, and the options
// under which it can be read.
type Guide struct {
	Columns []GuideColumn
	Lacks   []string    // what no column gives, nor may, in words
	Options [][2]string // name and value: with these the survey is read and its blanks are asked about
	Fill    [][2]string // what to give in their place as soon as it is known; the value is a word for it
}

// GuideColumn is a column of such a survey.
type GuideColumn struct {
	Column
	Values []string // the first three different ones
	Maybe  string   // own heading of the field that it may mean
}

// guide works out the way in. Columns that the headings give keep their field;
// the others go to the fields that they are most like, each once.
func (rd *reader) guide(doubles map[fieldID]int) *Guide {
	g := &Guide{}
	if rd.head.twins != nil {
		g.Options = append(g.Options, [2]string{"sheet", AllSheets})
	}
	every := make([]column, rd.width)
	for i := range every {
		every[i] = newColumn(i, fOD, nil)
	}
	rd.decimal = '.'
	if m := sniffDecimal(rd.head.below, every); m.comma > m.point {
		rd.decimal = ','
	}
	for _, c := range rd.det.Columns {
		gc := GuideColumn{Column: c}
		for _, v := range rd.sampleOf(c.Index - 1) {
			if v = clip(strings.Join(strings.Fields(printable(v)), " ")); !slices.Contains(gc.Values, v) && len(gc.Values) < 3 {
				gc.Values = append(gc.Values, v)
			}
		}
		g.Columns = append(g.Columns, gc)
	}
	have := make(map[fieldID]bool)
	for i := range rd.cols {
		c := &rd.cols[i]
		if have[c.field] = !rd.otherWords(c); !have[c.field] {
			gc := &g.Columns[c.at]
			gc.Field, gc.Why = "", "no word below it is one of "+c.field.heading()
			g.Options = append(g.Options, [2]string{"map", fieldTable[c.field].Key + "=" + noColumn})
		}
	}
	for f := range numFields() {
		have[f] = have[f] || rd.defaults[f] != nil
	}
	var maps []guess
	for f, at := range doubles {
		maps = append(maps, guess{at: at, field: f})
	}
	used := make(map[int]bool)
	for _, s := range rd.guesses(func(f fieldID) bool { return have[f] }) {
		if used[s.at] || rd.needless(s, have) {
			continue
		}
		used[s.at], have[s.field] = true, true
		g.Columns[s.at].Maybe, g.Columns[s.at].Why = s.field.heading(), s.why
		maps = append(maps, s)
	}
	for at := range g.Columns { // in the order of the columns
		for _, m := range maps {
			if m.at == at {
				g.take(rd, m)
			}
		}
	}
	g.Lacks = missing(func(f fieldID) bool { return have[f] })
	g.blanks(rd, have)
	return g
}

// needless reports whether a guess adds nothing to what the survey has: of depth and
// remaining wall one tells the other, a note says nothing that is worked with, and an
// id has to tell the rows apart.
func (rd *reader) needless(g guess, have map[fieldID]bool) bool {
	switch g.field {
	case fNote:
		return true
	case fID:
		return have[fID] || !rd.allDiffer(g.at)
	case fDepth, fRemaining:
		return have[fDepth] || have[fRemaining]
	}
	return have[g.field]
}

// otherWords reports whether a column headed as a field that takes words holds none
// of them, as "surface" also heads what lies on the ground.
func (rd *reader) otherWords(c *column) bool {
	read, filled, _ := rd.reads(c.at, c.field, c.unit)
	return len(fieldTable[c.field].choice) > 0 && filled > 0 && read == 0
}

// inOneLine is a heading as it can be given on a command line.
func (h *header) inOneLine(at int) string { return strings.Join(strings.Fields(h.texts[at]), " ") }

// alike counts the columns with the same heading.
func (h *header) alike(at int) (n int) {
	for _, text := range h.texts {
		if normHeading(text) == normHeading(h.texts[at]) {
			n++
		}
	}
	return n
}

// take maps a column, in the likely unit where its heading names none.
func (g *Guide) take(rd *reader, m guess) {
	heading := rd.head.inOneLine(m.at)
	if rd.head.alike(m.at) > 1 {
		heading = "column " + strconv.Itoa(m.at+1)
	}
	if m.unit != nil && !m.given {
		heading += " [" + m.unit.Name + "]"
	}
	option := [2]string{"map", fieldTable[m.field].Key + "=" + heading}
	if m.below { // what the heading does not say may be the softer end of what is asked about
		g.Fill = append(g.Fill, option)
		return
	}
	g.Options = append(g.Options, option)
}

// blanks are the options for what no column gives, and for the rows of a
// register that hold no defect.
func (g *Guide) blanks(rd *reader, have map[fieldID]bool) {
	ask := func(f fieldID, place string) {
		key := "survey." + fieldTable[f].Key
		g.Options = append(g.Options, [2]string{"set", key + "=" + askWord})
		if place != "" {
			g.Fill = append(g.Fill, [2]string{"set", key + "=" + place})
		}
	}
	if !have[fLine] {
		ask(fLine, "NAME")
	}
	if !have[fChainage] {
		ask(fChainage, "") // one for all rows means nothing
	}
	if !have[fOD] && !have[fCircumference] && !have[fSize] {
		ask(fOD, "MM")
	} else if have[fSize] && !have[fSeries] && !have[fOD] && !have[fCircumference] && !g.seriesNamed(rd) {
		ask(fSeries, "SERIES")
	}
	if have[fDepth] && !have[fWall] && !have[fSize] && !have[fRemaining] {
		g.Fill = append(g.Fill, [2]string{"set", "survey.wall=MM"}) // the depth is lost without it
	}
	if have[fHole] && !have[fAxial] && g.gaps(rd, fHole) {
		ask(fHole, "MM") // a leak whose hole was not measured is a leak
	}
	if !have[fHole] && !have[fAxial] {
		ask(fAxial, "MM")
	}
	if !have[fHole] && !have[fCirc] {
		ask(fCirc, "MM")
	}
	if !have[fLeaking] {
		ask(fLeaking, "yes-or-no")
	}
	g.filter(rd)
}

// seriesNamed reports whether the heading of the nominal sizes, or each of them,
// says of which series they are.
func (g *Guide) seriesNamed(rd *reader) bool {
	for _, gc := range g.Columns {
		if gc.Field != fSize.heading() && gc.Maybe != fSize.heading() {
			continue
		}
		mt := rd.head.matches[gc.Index-1]
		_, unit, _ := bracketUnit(gc.Heading)
		return mt.series == "NPS" || unit != nil && unit.Name == "in" || !slices.ContainsFunc(rd.sampleOf(gc.Index-1), func(cell string) bool {
			n, _, _ := sizeOf([]byte(cell), rd.decimal)
			return n.series == "" || n.series == "DN"
		})
	}
	return false
}

// filter leaves out the rows of a register that hold no defect: those without a
// length.
func (g *Guide) filter(rd *reader) {
	if at := g.columnOf(fAxial); at >= 0 && len(rd.opts.Only) == 0 && g.gaps(rd, fAxial) {
		g.Options = append(g.Options, [2]string{"only", rd.head.inOneLine(at) + "=*"})
	}
}

// columnOf is the index of the column that holds, or may hold, a field; -1 for none.
func (g *Guide) columnOf(f fieldID) int {
	return slices.IndexFunc(g.Columns, func(gc GuideColumn) bool { return gc.Field+gc.Maybe == f.heading() })
}

// gaps reports whether rows leave the column of a field blank.
func (g *Guide) gaps(rd *reader, f fieldID) bool {
	at := g.columnOf(f)
	return at >= 0 && len(rd.sampleOf(at)) < len(rd.filledRows())
}

// filledRows are the rows of the sample that hold anything.
func (rd *reader) filledRows() []headRow {
	return slices.DeleteFunc(slices.Clone(rd.head.below), func(r headRow) bool { return filled(r.cells) == 0 })
}
