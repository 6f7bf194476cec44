package survey

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// guess is a field that a heading which no field takes may mean.
type guess struct {
	at    int // index of the column
	field fieldID
	score float64 // 0 to 1
	unit  *Unit   // that the heading names, or in which its values are likely; nil for none
	given bool    // the heading names the unit
	below bool    // by what stands below it alone
	why   string
}

// guessFloor is the least likeness at which a guess is worth showing; common
// practice, no source.
const guessFloor = 0.5

// abbreviations of headings, written out.
var abbreviations = map[string]string{
	"dia": "diameter", "diam": "diameter", "od": "outside diameter", "external": "outside", "outer": "outside", "ext": "outside",
	"wt": "wall thickness", "thk": "thickness", "thick": "thickness", "nom": "nominal", "min": "remaining", "minimum": "remaining", "rem": "remaining", "residual": "remaining",
	"dist": "distance", "odometer": "distance chainage", "chain": "chainage", "sta": "station", "stn": "station", "len": "length", "lgth": "length", "lg": "length",
	"wid": "width", "circ": "circumferential", "circumf": "circumferential", "ax": "axial", "temp": "temperature", "press": "pressure", "pres": "pressure",
	"des": "design", "op": "operating", "oper": "operating", "pos": "position", "orient": "orientation", "orientation": "clock", "o'clock": "clock", "oclock": "clock",
	"maop": "design pressure", "mop": "design pressure", "loss": "depth", "weeping": "leaking", "seeping": "leaking", "fluid": "medium", "product": "medium", "commodity": "medium", "mat": "material", "p": "pressure", "hh": "clock", "hour": "clock", "cr": "rate",
}

// fillers say nothing about which field a heading means.
var fillers = wordSet("asset main as found of the to at in from for and pipe pipeline defect anomaly feature corrosion max maximum peak reported measured meas actual calculated no number y n yes ja nein")

// owners are the fillers that name what a heading is about.
var owners = wordSet("asset main pipe pipeline")

// qualifiers say which of several things is meant, and alone make no likeness.
var qualifiers = wordSet("point length design operating nominal surface axial circumferential outside remaining air free bend service type condition method date needed required allowable")

// elsewhere are words of headings that belong to other things than a defect.
var elsewhere = wordSet("safe psafe failure allowed permissible clamp sleeve crew kerb curb property boundary offset x coord coordinate coordinates rechtswert hochwert joint jt j weld girth seam latitude longitude lat lon long northing easting elevation height gps erf burst grade coating upstream downstream us ds date time photo cover retire retirement retired req reqd required")

func wordSet(s string) map[string]bool {
	m := make(map[string]bool)
	for w := range strings.FieldsSeq(s) {
		m[w] = true
	}
	return m
}

// tokens are the words of a heading that tell fields apart, abbreviations
// written out.
func tokens(heading string) (list []string, other bool) {
	n := " " + strings.Join(englishWords(heading), " ") + " "
	for _, dotted := range []string{"o d", "w t", "o clock"} {
		n = strings.ReplaceAll(n, " "+dotted+" ", " "+strings.ReplaceAll(dotted, " ", "")+" ")
	}
	for w := range strings.FieldsSeq(n) {
		w = strings.Trim(w, "#\"'")
		if long := abbreviations[w]; long != "" {
			list = append(list, strings.Fields(long)...)
		} else if !fillers[w] {
			list = append(list, w)
		}
		other = other || elsewhere[w]
	}
	slices.Sort(list)
	return slices.Compact(list), other
}

// essence is a heading without what says nothing: "As-Found Length" is a length. Whose
// it is does say something: the length of a pipe is none of a defect.
func essence(heading string) string {
	return strings.Join(slices.DeleteFunc(englishWords(heading), func(w string) bool { return fillers[w] && !owners[w] }), " ")
}

// alike is how much the sorted words of a heading have in common with those of a
// name: twice what both have over what they have together, nothing where they share
// qualifiers only. What remains of a wall or a life is another thing than either.
func alike(a, b []string) float64 {
	if len(a)+len(b) == 0 || slices.Contains(a, "remaining") && !slices.Contains(b, "remaining") {
		return 0
	}
	both, telling := 0, false
	for _, w := range a {
		if _, ok := slices.BinarySearch(b, w); ok {
			both++
			telling = telling || !qualifiers[w]
		}
	}
	if !telling && !slices.Equal(a, b) {
		return 0
	}
	return 2 * float64(both) / float64(len(a)+len(b))
}

// fieldTokens are the words of each way of naming a field.
var fieldTokens = func() (all [][][]string) {
	for i := range fieldTable {
		var names [][]string
		for _, w := range append(semicolons(fieldTable[i].words), fieldTable[i].Key) {
			t, _ := tokens(strings.ReplaceAll(w, "_", " "))
			names = append(names, t)
		}
		all = append(all, names)
	}
	return all
}()

// guesses are the fields that the columns which no field takes may mean, the
// likeliest first: by the words of the heading, held against what stands below
// it.
func (rd *reader) guesses(taken func(fieldID) bool) []guess {
	var list []guess
	for at, mt := range rd.head.matches {
		heading := rd.head.texts[at]
		if mt.taken() || strings.TrimSpace(heading) == "" || len(heading) > maxHeading || countsLeaks(strings.Fields(normHeading(heading))) {
			continue
		}
		words, unit := headingUnit(heading)
		said, other := tokens(words)
		may := mt.may
		if may == nil {
			may = unclearWords[essence(words)]
		}
		for f := range fieldTokens {
			g := guess{at: at, field: fieldID(f), unit: unit, given: unit != nil, why: "by its words"}
			for _, name := range fieldTokens[f] {
				g.score = max(g.score, alike(said, name))
			}
			switch i := slices.Index(may, g.field); {
			case i >= 0:
				g.score, g.why = max(g.score, 0.9-0.1*float64(i)), "it may mean it"
			case g.score < guessFloor && rd.saysIt(at, g.field) && (!other || fieldTable[f].Kind == KindWord):
				g.score, g.why, g.below = guessFloor, "by what stands below it", true
			case other:
				continue
			case g.field == fSize && rd.markedSizes(at):
				g.score, g.why = max(g.score, guessFloor), "by what stands below it"
			}
			floor := guessFloor
			if t := &fieldTable[f]; t.Kind == KindText || t.Bears == Safety {
				floor = 0.8 // any column may hold a text: what stands below says nothing; and no wall is that under the bands by half its name
			}
			if g.score >= floor && !taken(g.field) && rd.suits(&g) {
				list = append(list, g)
			}
		}
	}
	slices.SortStableFunc(list, func(a, b guess) int { return cmp.Compare(b.score, a.score) })
	return list
}

// saysIt reports whether what stands below a heading are words of the field and
// nothing else, as EXT and INT below "orientation" are of what takes the wall, or
// places on a clock, 4:30.
func (rd *reader) saysIt(at int, f fieldID) bool {
	switch fieldTable[f].Kind {
	case KindWord:
	case KindClock:
		if slices.ContainsFunc(rd.sampleOf(at), func(c string) bool { return !strings.Contains(c, ":") }) {
			return false
		}
	default:
		return false
	}
	read, filled, _ := rd.reads(at, f, nil)
	return filled > 0 && read == filled
}

// markedSizes reports whether every cell below a heading is a nominal size with its
// mark: 8", DN150, 150mm.
func (rd *reader) markedSizes(at int) bool {
	cells := rd.sampleOf(at)
	return len(cells) > 0 && !slices.ContainsFunc(cells, func(c string) bool {
		n, _, ok := sizeOf([]byte(c), rd.decimal)
		return !ok || n.series == ""
	})
}

// suits reports whether what stands in a column may be the field guessed, and
// judges the unit where the heading names none.
func (rd *reader) suits(g *guess) bool {
	if g.unit != nil && !fits(g.field, g.unit) {
		return false
	}
	read, filled, values := rd.reads(g.at, g.field, g.unit)
	if filled == 0 || 10*read < 6*filled {
		return false
	}
	if needsUnit(g.field) && g.unit == nil {
		g.unit = rd.likelyUnit(g.field, median(values))
		if g.unit != nil {
			g.why += fmt.Sprintf(", its values are likely in %s", g.unit.Name)
		}
	}
	switch g.field {
	case field("clock"):
		return g.given || !rd.counts(g.at)
	case fDepth: // without a unit it may be how deep the pipe lies
		g.below = g.below || !g.given
		return g.unit != nil
	case fRemaining: // the least wall may be the least allowed, and the current one that beside the defect
		if said, _ := tokens(rd.head.texts[g.at]); slices.Contains(said, "allowable") {
			return false
		}
		g.below = g.below || !slices.ContainsFunc(englishWords(rd.head.texts[g.at]), func(w string) bool {
			return w == "remaining" || w == "measured" || w == "meas" || w == "rem" || w == "residual"
		})
	case fOD:
		return !rd.nominal(g)
	case fAxial, fChainage: // not the length of a pipe, nor a coordinate
		t := &fieldTable[g.field]
		v := median(values)
		return g.unit == nil || t.usual.holds(g.unit.Base(v)) && t.beyond.holds(g.unit.Base(v))
	}
	return true
}

// counts reports whether a column numbers the rows: each a whole number, one more
// than the one above.
func (rd *reader) counts(at int) bool {
	last, rows := 0, 0
	for _, c := range rd.sampleOf(at) {
		n, err := strconv.Atoi(c)
		switch {
		case err != nil: // a remark below the list
		case rows > 0 && n != last+1:
			return false
		default:
			last, rows = n, rows+1
		}
	}
	return rows > 1
}

// nominal reports whether a column that does not say outside holds nominal sizes:
// most are some of the pipe table, and no outside diameter of the same name.
func (rd *reader) nominal(g *guess) bool {
	said, _ := tokens(rd.head.texts[g.at])
	if g.unit == nil || slices.Contains(said, "outside") {
		return false
	}
	cells, sizes := rd.sampleOf(g.at), 0
	for _, cell := range cells {
		v, _, _ := scanNumber([]byte(cell), rd.decimal, true)
		dn := g.unit.Name == "mm"
		if n, ok := parseSize([]byte(cell), rd.decimal); ok && n.series != "" { // the cell says in what it is
			v, dn = sizeValue(n.number), strings.HasPrefix(n.series, "DN")
		}
		mm := v
		if !dn {
			mm *= 25.4
		}
		if slices.ContainsFunc(rd.tableODs, func(t tableSize) bool {
			return strings.HasPrefix(t.series, "DN") == dn && math.Abs(mm-t.nominal) <= 0.001*t.nominal && math.Abs(mm-t.od) > 0.01*t.od
		}) {
			sizes++
		}
	}
	return 2*sizes > len(cells)
}

// allDiffer reports whether no two cells of a column in the first rows are the same.
func (rd *reader) allDiffer(at int) bool {
	cells := rd.sampleOf(at)
	filled := len(cells)
	slices.Sort(cells)
	return len(slices.Compact(cells)) == filled
}

// reads counts the cells of a column in the first rows, blanks left out, and those
// that can be read as the field; values are its numbers.
func (rd *reader) reads(at int, f fieldID, unit *Unit) (read, filled int, values []float64) {
	t := &fieldTable[f]
	for _, cell := range rd.sampleOf(at) {
		filled++
		b := []byte(cell)
		ok := true
		switch t.Kind {
		case KindNumber:
			v, rest, st := scanNumber(b, rd.decimal, true)
			rest = trim(rest)
			if ok = st == numOK && (len(rest) == 0 || lookUnit(string(rest)) != nil); ok {
				values = append(values, v)
			}
		case KindYesNo, KindWord:
			ok = t.means(b) != ""
		case KindClock:
			_, ok = parseClock(b, unit, rd.decimal)
		case KindDate:
			_, ok = parseDate(b)
		case KindSize:
			_, _, ok = sizeOf(b, rd.decimal)
		}
		if ok {
			read++
		}
	}
	return read, filled, values
}

// sampleOf are the cells of a column in the first rows, blanks left out.
func (rd *reader) sampleOf(at int) []string {
	var cells []string
	for _, r := range rd.head.below {
		if c := cellAt(r.cells, at); c != "" && !isNotGiven([]byte(c)) {
			cells = append(cells, c)
		}
	}
	return cells
}

func median(v []float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	v = slices.Clone(v)
	slices.Sort(v)
	return v[len(v)/2]
}

// inchUnits are the units of surveys in inches, one for a dimension.
var inchUnits = map[Dim]string{DimLength: "in", DimPressure: "psi", DimTemperature: "°F"}

// inInches reports whether the headings that name their units do so in inches,
// feet, pounds or Fahrenheit.
func (rd *reader) inInches() bool {
	inches, metric := 0, 0
	for _, text := range rd.head.texts {
		_, u := headingUnit(text)
		if u == nil {
			continue
		}
		switch u.Name {
		case "in", "ft", "psi", "°F", "mil":
			inches++
		case "mm", "cm", "m", "bar", "MPa", "kPa", "°C":
			metric++
		}
	}
	return inches > metric
}

// likelyUnit is the unit in which a value of a field is what pipes are, by the
// system of the other headings where several do; nil where none does.
func (rd *reader) likelyUnit(f fieldID, v float64) *Unit {
	t := &fieldTable[f]
	own := rd.assumedUnit(f)
	inches := rd.inInches()
	if f == fChainage {
		if inches {
			return lookUnit("ft")
		}
		return own
	}
	if f == fDepth {
		if v >= 10 && v <= 100 { // below that it is hardly reported; common practice, no source
			return lookUnit("%")
		}
		return nil
	}
	names := []string{own.Name}
	if in := inchUnits[t.Dim]; inches && in != "" {
		names = []string{in, own.Name}
	} else if in != "" {
		names = append(names, in)
	}
	for _, name := range append(names, "bar", "kPa", "cm") {
		if u := lookUnit(name); u != nil && u.Dim == t.Dim && rd.opts.Doubts.usual(f).holds(u.Base(math.Abs(v))) {
			return u
		}
	}
	return nil
}
