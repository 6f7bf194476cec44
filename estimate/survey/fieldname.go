package survey

import (
	"cmp"
	"slices"
	"strings"
	"unicode"

	"wraptally/catalog"
)

// nearHeading gives the field that a heading, with or without its unit, seems to
// misspell.
func nearHeading(heading string) fieldID {
	if len(heading) > maxHeading {
		return noField
	}
	if f := near(normHeading(heading)); f != noField {
		return f
	}
	words, unit, _ := bracketUnit(heading)
	if unit == nil {
		words, unit = tailUnit(heading)
	}
	if unit == nil {
		return noField
	}
	if f := near(normHeading(words)); f != noField && fits(f, unit) {
		return f
	}
	return noField
}

// near gives the field whose own heading or key the words miss by one or two
// letters.
func near(w string) fieldID {
	w = strings.ReplaceAll(w, " ", "_")
	if len(w) < 4 {
		return noField
	}
	best, bestD := noField, 3
	for i := range fieldTable {
		for _, own := range []string{fieldTable[i].Key, fieldTable[i].Heading} {
			limit := 1
			if len(own) >= 7 {
				limit = 2
			}
			if d := catalog.Distance(w, own, bestD); d <= limit && d < bestD {
				best, bestD = fieldID(i), d
			}
		}
	}
	return best
}

// nearest gives the three headings most like the one written, quoted.
func nearest(written string, headings []string) []string {
	type like struct {
		heading string
		far     float64
	}
	var list []like
	w := normHeading(written)
	for _, h := range headings {
		if n := normHeading(h); n != "" {
			most := max(len([]rune(w)), len([]rune(n)))
			far := float64(catalog.Distance(w, n, most+1)) / float64(most)
			if strings.Contains(n, w) || strings.Contains(w, n) {
				far /= 4 // a heading cut short, or written with more
			}
			list = append(list, like{quote(h), far})
		}
	}
	slices.SortStableFunc(list, func(a, b like) int { return cmp.Compare(a.far, b.far) })
	var out []string
	for _, l := range list[:min(3, len(list))] {
		out = append(out, l.heading)
	}
	return out
}

// fieldOf finds a field by key, own heading, or key with another unit ("od_in").
func fieldOf(name string) (fieldID, bool) {
	n := strings.ReplaceAll(normHeading(name), " ", "_")
	if f, ok := fieldByKey[n]; ok {
		return f, true
	}
	if ok, u := ownWithUnit(n); ok && u != nil {
		w, _ := tailUnit(n)
		return fieldByKey[w], true
	}
	return noField, false
}

// ownWithUnit reports whether the name is a field's key, and the unit behind it.
func ownWithUnit(name string) (bool, *Unit) {
	n := strings.ToLower(strings.TrimSpace(name))
	if f, ok := fieldByKey[n]; ok {
		if n == fieldTable[f].Key {
			return true, nil
		}
		return true, f.ownUnit()
	}
	w, u := tailUnit(n)
	if f, ok := fieldByKey[w]; ok && u != nil && fits(f, u) {
		return true, u
	}
	return false, nil
}

func headings(fs []fieldID, sep string) string {
	var names []string
	for _, f := range fs {
		names = append(names, f.heading())
	}
	return strings.Join(names, sep)
}

func fieldKeys() string {
	var keys []string
	for i := range fieldTable {
		keys = append(keys, fieldTable[i].Key)
	}
	return strings.Join(keys, ", ")
}

func quote(s string) string {
	if r := []rune(s); len(r) > 60 {
		s = string(r[:57]) + "..."
	}
	return `"` + strings.Map(func(r rune) rune {
		if unicode.IsControl(r) {
			return '\ufffd'
		}
		return r
	}, s) + `"`
}

// allUnits reports whether a row holds nothing but units, at least one: the
// second row of a two-row heading. What stands in brackets is a unit there, known
// or not, as long as most are known.
func allUnits(cells []string) bool {
	known, bracketed := 0, 0
	for _, c := range cells {
		c = strings.TrimSpace(c)
		inside := strings.Trim(c, "[]()")
		switch {
		case c == "" || c == "-" || c == "–":
		case lookUnit(inside) != nil:
			known++
		case len(inside) == len(c)-2:
			bracketed++
		default:
			return false
		}
	}
	return known > bracketed
}
