package scope

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
	"golang.org/x/text/width"

	"wraptally/catalog"
	"wraptally/estimate/mark"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

// LongestName is how much room a repair's name takes, in letters of which those
// of wide scripts count two: what a label holds in large letters.
const LongestName = 32

// naturalName is the name of a repair that nothing else decides, by its first defect: its
// line and the survey's id of the defect, or without an id the chainage of it. It
// says nothing of the other rows of the survey, so that none of them changes it.
func naturalName(d *survey.Defect) string {
	line, own := spoken(d.Line), spoken(d.Tag)
	if own == "" {
		own = chainageWord(d)
	}
	if line == "" || own == line || strings.HasPrefix(own, line+"-") {
		return fitting(own)
	}
	return fitting(line + "-" + own)
}

// longName is a name with the chainage of the first defect.
func longName(name string, d *survey.Defect) string { return fitting(name + "-" + chainageWord(d)) }

// chainageWord is a chainage as part of a name, "12.345m"; to the millimetre.
func chainageWord(d *survey.Defect) string {
	mm := math.Round(d.Chainage.V)
	text := strconv.FormatFloat(math.Abs(mm)/1000, 'f', -1, 64) + "m"
	if mm < 0 {
		return "minus" + text
	}
	return text
}

// spoken keeps of a text what is printed and said alike in a name: letters and
// digits of any script and the point; whatever else stands between them is one
// hyphen.
func spoken(text string) string {
	var out strings.Builder
	gap := false
	for _, r := range norm.NFC.String(text) {
		if !unicode.In(r, unicode.Letter, unicode.Digit, unicode.Mark) && r != '.' {
			gap = true
			continue
		}
		if gap && out.Len() > 0 {
			out.WriteByte('-')
		}
		gap = false
		out.WriteRune(r)
	}
	return out.String()
}

// fitting makes a name that no program takes for a number or a date and that fits
// a label: one too long ends in a code of the whole.
func fitting(name string) string {
	if !strings.ContainsFunc(name, unicode.IsLetter) {
		name = "L" + name
	}
	const code = mark.Signs + 1
	room, short := LongestName, 0
	for i, r := range name {
		if room >= code {
			short = i
		}
		if room -= 1 + wide(r); room < 0 {
			return strings.TrimRight(name[:short], "-.") + "-" + mark.Of(name)
		}
	}
	return name
}

// wide is 1 for a letter that takes the room of two.
func wide(r rune) int {
	switch width.LookupRune(r).Kind() {
	case width.EastAsianWide, width.EastAsianFullwidth:
		return 1
	}
	return 0
}

// ScanName is the name of the repair as a bar code of plain ASCII carries it: the
// name itself, or where that has other letters a code of it.
func (r *Repair) ScanName() string {
	for i := range len(r.ID) {
		if r.ID[i] >= 0x80 {
			return mark.Of(r.ID)
		}
	}
	return r.ID
}

// foldName is a name as it is compared: what sounds alike is one name.
func foldName(name string) string { return strings.ToLower(name) }

// name gives every repair its name, that of an earlier run where it had one. Repairs of one name are told apart by their
// chainage where the firm wants that, and stopped otherwise: a box packed for the
// one must not go to the other. Until that is answered they go by the row.
func name(repairs []*Repair, set *catalog.Settings, e *Earlier) {
	if e != nil {
		e.recognise(repairs, set)
	}
	for _, r := range repairs {
		r.ID = naturalName(r.Defects[0])
		switch p := r.Past; {
		case p == nil:
		case p.Kept >= 0:
			r.ID = e.Known[p.Kept].Name
		case len(p.Asked) == 0 && e.gave(r.ID):
			p.Taken = r.ID
			r.ID = longName(r.ID, r.Defects[0])
		}
	}
	if set.EqualNames == "chainage" {
		for _, same := range alike(repairs) {
			for _, r := range same {
				r.ID = longName(r.ID, r.Defects[0])
			}
		}
	}
	for _, r := range repairs {
		switch p := r.Past; {
		case p == nil:
		case len(p.Asked) > 0:
			r.unname()
		case p.Kept < 0 && e.gave(r.ID):
			r.query(trace.Stop, "name-equal", r.ID, "an earlier run has given this name to another repair", "give the row an id of its own on its line")
			r.unname()
		}
	}
	for _, same := range alike(repairs) {
		for i, r := range same {
			other := same[(i+1)%len(same)]
			equal := r.ID
			r.unname()
			what := fmt.Sprintf("%d repairs would be named so; another begins in line %d of the survey", len(same), other.Defects[0].Line0)
			r.query(trace.Stop, "name-equal", equal, what,
				"give each row an id of its own on its line, or add the chainage to such names with --set name.equal=chainage")
		}
	}
	for _, r := range repairs {
		for j := range r.Queries {
			r.Queries[j].Repair = r.ID
		}
	}
}

// unname marks a repair that has no name yet: nothing is packed under what it goes
// by.
func (r *Repair) unname() {
	r.ID += " (" + strings.ReplaceAll(r.Defects[0].ID, "/", "-") + ")"
	r.Unnamed = true
}

// alike are the repairs that share a name, in their order.
func alike(repairs []*Repair) [][]*Repair {
	by := make(map[string]int, len(repairs))
	var out [][]*Repair
	for i, r := range repairs {
		key := foldName(r.ID)
		switch at, known := by[key]; {
		case !known:
			by[key] = -1 - i // the only one yet
		case at < 0:
			by[key] = len(out)
			out = append(out, []*Repair{repairs[-1-at], r})
		default:
			out[at] = append(out[at], r)
		}
	}
	return out
}
