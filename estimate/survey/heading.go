package survey

import (
	"strconv"
	"strings"
	"unicode"
)

// Mapping names the field that a heading of the client's stands for:
// --map od="Ext. dia [mm]". The unit in brackets may be the client's own or
// added by the user.
type Mapping struct {
	Field   string // key or own heading: "od", "od_mm"
	Heading string // as the client writes it, with or without the unit; "none" where no column holds the field
}

// noColumn, in place of a heading, says that no column holds the field, though one
// bears its name.
const noColumn = "none"

// Synonym is a row of a mapping table: a word for a field, and the unit it
// stands for where the heading itself carries none.
type Synonym struct{ Field, Heading, Unit string }

// via says what made a heading mean its field.
type via string

const (
	viaMapping  via = "mapping"
	viaTable    via = "mapping table"
	viaOwn      via = "own heading"
	viaBuiltin  via = "trade word"
	viaUnclear  via = "unclear"
	viaMisspelt via = "misspelt"
	viaUnitless via = "without unit"
	viaUnit     via = "unit unknown"
)

// match is what a heading was found to mean.
type match struct {
	field  fieldID
	unit   *Unit // nil: the heading carries none
	series string
	via    via
	byMap  int       // by the user's mapping of this number, from 1
	text   string    // for a heading not taken: what is wrong with it
	may    []fieldID // the fields it may mean
}

func (m match) taken() bool { return m.field != noField }

// matcher knows the words for fields.
type matcher struct {
	maps   []Mapping
	mapped map[string]match // normalised full heading → field
	table  map[string]match // normalised words → field
}

// newMatcher prepares the words. The error tells of a mapping to a field that
// does not exist or a unit that is not known.
func newMatcher(maps []Mapping, table []Synonym) (*matcher, error) {
	m := &matcher{maps: maps, mapped: make(map[string]match), table: make(map[string]match)}
	for i, mp := range maps {
		f, ok := fieldOf(mp.Field)
		if !ok {
			return nil, &Error{Problem: "no field is called " + quote(mp.Field), Hint: "the fields are " + fieldKeys()}
		}
		words, unit, bad := bracketUnit(mp.Heading)
		if hasUnit := fieldTable[f].Dim != DimNone || f == fSize; hasUnit && bad != "" || !hasUnit {
			words, unit = mp.Heading, nil // no unit, or of a field that has none
		}
		if unit != nil && !fits(f, unit) {
			return nil, &Error{Problem: "the unit of " + quote(mp.Heading) + " does not fit the field " + f.heading(), Hint: "units of it: " + strings.Join(append(UnitNames(fieldTable[f].Dim), UnitNames(fieldTable[f].or)...), ", ")}
		}
		if h, u := ownWithUnit(mp.Field); unit == nil && h && u != nil && !strings.EqualFold(mp.Field, f.heading()) {
			unit = u // --map od_in="Dia"
		}
		mt := match{field: f, unit: unit, via: viaMapping, byMap: i + 1}
		if _, shared := m.mapped[normHeading(words)]; shared {
			delete(m.mapped, normHeading(words)) // two headings that differ in their units alone
		} else {
			m.mapped[normHeading(words)] = mt
		}
		m.mapped[normHeading(mp.Heading)] = mt
	}
	for _, s := range table {
		f, ok := fieldOf(s.Field)
		if !ok {
			return nil, &Error{Problem: "mapping table: no field is called " + quote(s.Field), Hint: "the fields are " + fieldKeys()}
		}
		var unit *Unit
		if s.Unit != "" {
			if unit = lookUnit(s.Unit); unit == nil || !fits(f, unit) {
				return nil, &Error{Problem: "mapping table: the unit " + quote(s.Unit) + " of " + quote(s.Heading) + " does not fit the field " + f.heading()}
			}
		}
		m.table[normHeading(s.Heading)] = match{field: f, unit: unit, via: viaTable}
	}
	return m, nil
}

// normHeading folds what writers vary without meaning it: case, underscores,
// hyphens, dots, line breaks, runs of blanks.
func normHeading(s string) string {
	var b strings.Builder
	b.Grow(len(s))
	blank := false
	for _, r := range strings.ToLower(s) {
		switch {
		case r == '_' || r == '-' || r == '.' || r == ',' || r == ':' || r == ';' || r == '*' || r == '/' || r == '?' || r == '–' ||
			r == '(' || r == ')' || r == '[' || r == ']' || unicode.IsSpace(r):
			blank = true
		case r == '\ufeff' || unicode.IsControl(r):
		default:
			if blank && b.Len() > 0 {
				b.WriteByte(' ')
			}
			blank = false
			b.WriteRune(r)
		}
	}
	return b.String()
}

// bracketUnit parts "Length [mm]" or "Length (mm)" into the words and the unit.
// Bad is a text in square brackets at the end that is no unit.
func bracketUnit(s string) (words string, unit *Unit, bad string) {
	for _, p := range []string{"[]", "()"} {
		open, shut := strings.LastIndexByte(s, p[0]), strings.LastIndexByte(s, p[1])
		if open < 0 || shut < open {
			continue
		}
		inside := s[open+1 : shut]
		if u := lookUnit(inside); u != nil {
			return s[:open] + " " + s[shut+1:], u, ""
		}
		if bad == "" && strings.TrimSpace(s[shut+1:]) == "" {
			bad = strings.TrimSpace(inside)
		}
	}
	return s, nil, bad
}

// tailUnit parts "Length, mm", "length_mm", `Size "` into the words and the unit.
func tailUnit(s string) (words string, unit *Unit) {
	s = strings.TrimSpace(s)
	for _, mark := range []string{"\"", "″", "”", "%", "°C", "°F"} {
		if w, ok := strings.CutSuffix(s, mark); ok {
			return w, lookUnit(mark)
		}
	}
	i := strings.LastIndexAny(s, " _,;:\u00a0\n\t")
	if i <= 0 {
		return s, nil
	}
	j := i + 1
	if strings.HasPrefix(s[i:], "\u00a0") {
		j = i + len("\u00a0")
	}
	if u := lookUnit(strings.TrimSuffix(s[j:], ".")); u != nil {
		return s[:i], u
	}
	if s[j:] == "pct" {
		return s[:i], lookUnit("%")
	}
	return s, nil
}

// headingUnit parts a heading into the words and the unit, in brackets or behind them.
func headingUnit(s string) (words string, unit *Unit) {
	if words, unit, _ = bracketUnit(s); unit == nil {
		words, unit = tailUnit(s)
	}
	return words, unit
}

// fits reports whether a field may be given in a unit.
func fits(f fieldID, u *Unit) bool {
	t := &fieldTable[f]
	if f == fSize {
		return u.Name == "in" || u.Name == "mm"
	}
	if f == fDepth && u.Dim == DimLength && u.Base(1) > 100 {
		return false // in feet or metres it is how deep a pipe lies
	}
	return u.Dim != DimNone && (u.Dim == t.Dim || u.Dim == t.or)
}

// maxHeading is the most bytes that a heading may have to mean a field.
const maxHeading = 200

// likeness says how closely a heading is the one a mapping names: as written,
// but for case and marks, or but for the unit. Zero: by none of these.
func likeness(heading, named string) int {
	switch {
	case strings.EqualFold(strings.TrimSpace(heading), strings.TrimSpace(named)):
		return 3
	case normHeading(heading) == normHeading(named):
		return 2
	}
	return 1
}

// settleMaps leaves a mapping to the column whose heading is most like the one
// it names: "Depth [%]" is not "Depth [in]". It gives the mappings that no
// column has.
func (m *matcher) settleMaps(texts []string, matches []match) (unused []Mapping) {
	for i, mp := range m.maps {
		best := 0
		for c, mt := range matches {
			if mt.byMap == i+1 {
				best = max(best, likeness(texts[c], mp.Heading))
			}
		}
		if best == 0 {
			unused = append(unused, mp)
		}
		for c, mt := range matches {
			if mt.byMap == i+1 && likeness(texts[c], mp.Heading) < best {
				matches[c] = m.plain(texts[c])
			}
		}
	}
	return unused
}

// byNumber takes the mappings that name a column by its number, "column 9", where
// no heading reads so: headings may be equal, or blank. It gives those left.
func (m *matcher) byNumber(unused []Mapping, texts []string, matches []match) (left []Mapping) {
	for _, mp := range unused {
		words, unit := headingUnit(mp.Heading)
		number, ok := strings.CutPrefix(normHeading(words), "column ")
		n, err := strconv.Atoi(number)
		if f, _ := fieldOf(mp.Field); ok && err == nil && n > 0 && n <= len(texts) {
			if unit == nil {
				_, unit = headingUnit(texts[n-1])
			}
			if unit != nil && !fits(f, unit) {
				unit = nil
			}
			matches[n-1] = match{field: f, unit: unit, via: viaMapping}
			continue
		}
		left = append(left, mp)
	}
	return left
}

// plain tells what a heading means without the user's mappings.
func (m *matcher) plain(heading string) match {
	return (&matcher{table: m.table}).find(heading)
}

// find tells what a heading means.
func (m *matcher) find(heading string) match {
	if len(heading) > maxHeading {
		return match{field: noField}
	}
	full := normHeading(heading)
	if full == "" {
		return match{field: noField}
	}
	if mt, ok := m.mapped[full]; ok {
		if mt.unit == nil {
			if _, u := headingUnit(heading); u != nil && fits(mt.field, u) {
				mt.unit = u
			}
		}
		return mt
	}
	type reading struct {
		words string
		unit  *Unit
	}
	readings := []reading{{full, nil}}
	bracketed, bu, bad := bracketUnit(heading)
	if bu != nil {
		readings = []reading{{normHeading(bracketed), bu}}
	} else if w, u := tailUnit(heading); u != nil {
		readings = append(readings, reading{normHeading(w), u})
	}
	var unclear match
	unclear.field = noField
	for _, r := range readings {
		if mt, ok := m.mapped[r.words]; ok && (r.unit == nil || fits(mt.field, r.unit)) {
			if mt.unit == nil {
				mt.unit = r.unit
			}
			return mt
		}
		mt := m.word(r.words)
		if mt.may != nil {
			unclear = mt
			continue
		}
		if !mt.taken() {
			continue
		}
		if r.unit != nil {
			if !fits(mt.field, r.unit) {
				continue
			}
			mt.unit = r.unit
		}
		if mt.unit == nil && (mt.field == fDepth) {
			return match{field: noField, via: viaUnitless, may: []fieldID{mt.field}, text: "a depth needs its unit, per cent or a length"}
		}
		if mt.unit == nil && bad != "" && fieldTable[mt.field].Dim != DimNone {
			break
		}
		return mt
	}
	if bad != "" {
		if words, _, ok := strings.Cut(heading, "["); ok || strings.Contains(heading, "(") {
			if !ok {
				words, _, _ = strings.Cut(heading, "(")
			}
			if mt := m.word(normHeading(words)); mt.taken() && fieldTable[mt.field].Dim != DimNone {
				return match{field: noField, via: viaUnit, may: []fieldID{mt.field}, text: "the unit " + quote(bad) + " is not known, or does not fit " + mt.field.heading()}
			}
		}
	}
	if unclear.may != nil {
		return unclear
	}
	return match{field: noField}
}

// word tells what words without a unit mean.
func (m *matcher) word(w string) match {
	if mt, ok := m.table[w]; ok {
		return mt
	}
	if f, ok := fieldByKey[strings.ReplaceAll(w, " ", "_")]; ok {
		mt := match{field: f, via: viaOwn}
		if strings.ReplaceAll(w, " ", "_") != fieldTable[f].Key {
			mt.unit = f.ownUnit()
		}
		return mt
	}
	if f, ok := fieldByWord[w]; ok {
		return match{field: f, via: viaBuiltin, unit: lookUnit(headingUnits[w]), series: headingSeries[w]}
	}
	if may := unclearWords[w]; may != nil {
		return match{field: noField, via: viaUnclear, may: may, text: "it may mean " + headings(may, " or ")}
	}
	return match{field: noField}
}
