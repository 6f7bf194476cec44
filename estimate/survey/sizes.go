package survey

import (
	"fmt"
	"math"
	"strings"
)

// checkSize settles outside diameter, nominal size and series.
func (rd *reader) checkSize() {
	d, x := rd.d, &rd.extra
	if x.circumference.OK {
		od := x.circumference.V / math.Pi
		switch {
		case !d.OD.OK:
			d.OD, d.ODFrom = Known(od), "circumference"
		case math.Abs(od-d.OD.V) > rd.opts.Doubts.ODOff/100*d.OD.V:
			rd.query("od-circumference-differ", fOD, int(x.cell[fOD]), short(d.OD.V)+" mm", fmt.Sprintf("the circumference gives an OD of %.1f mm; the OD given is used", od), "measure again")
		}
	}
	if d.OD.OK && d.ODFrom == "" {
		d.ODFrom = "od"
	}
	if x.size != nil && x.size.material != "" && x.size.material != d.Substrate {
		if x.cell[field("substrate")] != 0 {
			d.Substrate += " / " // the table holds no such: it is for the user to say which
		} else {
			d.Substrate = ""
		}
		d.Substrate += x.size.material
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
	named := "" // what the size cell or its heading names
	if x.size != nil {
		named = x.size.nominalSize.series
	}
	if d.Series == fieldTable[fSeries].asked[0] {
		if d.Series = rd.widestSeries(d.Size, named); d.Series == "" && !d.OD.OK && x.cell[fOD] == 0 && x.cell[fCircumference] == 0 {
			rd.query("size-unknown", fSize, int(x.cell[fSize]), strings.TrimSpace(named+" "+d.Size), "the pipe table has no such size in any series", "correct the size, or give the OD")
			return 0, 0
		}
	}
	if name, ok := rd.seriesName(d.Series); ok {
		d.Series = name
	}
	switch {
	case d.Series == "" && (named == "NPS" || strings.HasPrefix(named, "DN-")):
		d.Series = named
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
	case contradicts(named, d.Series):
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
			rd.ask("size-unknown", fSize, d.Size, what+series+"; the OD given is used", "correct the size if the OD is not right")
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

// contradicts reports whether a size said to be of the series named, of one in DN or
// in inches, is none of another.
func contradicts(named, series string) bool {
	dn := strings.HasPrefix(series, "DN")
	return named == "\"" && dn || named == "DN" && !dn || (named == "NPS" || strings.HasPrefix(named, "DN-")) && !strings.EqualFold(series, named)
}

// widestSeries is the series in which a size has the largest outside diameter,
// of those that what is named allows; empty where none holds it.
func (rd *reader) widestSeries(size, named string) (widest string) {
	most := 0.0
	for _, name := range rd.seriesNames() {
		if od, _, ok := rd.opts.Sizes.OD(name, size); ok && od > most && !contradicts(named, name) {
			widest, most = name, od
		}
	}
	return widest
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
	if rd.series == nil && rd.opts.Sizes != nil {
		rd.series = rd.opts.Sizes.Series()
	}
	return rd.series
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
	if usual := rd.opts.Doubts.usual(fOD); !agrees && !usual.holds(od) && x.odUnit != nil && rd.byField[fOD] > 0 && x.odUnit == rd.cols[rd.byField[fOD]-1].unit {
		if likely := likelyUnits(x.odUnit.From(od), x.odUnit, usual); len(likely) > 0 && !rd.doubtUnit(&rd.cols[rd.byField[fOD]-1], x.odCell, od, likely) {
			return
		}
	}
	if math.Abs(od-tableOD) <= rd.opts.Doubts.ODOff/100*tableOD {
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
	material string // of the pipe, where the text says it too
	known    bool
	asked    string
	table    tableSize
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
