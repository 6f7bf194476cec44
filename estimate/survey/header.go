package survey

import (
	"strings"
	"unicode"
)

// headRows is how many rows are searched for the heading and for the decimal
// mark.
const headRows = 200

// headRow is one of the first rows of the file, copied.
type headRow struct {
	line, last int
	cells      []string
	raw        []string // a workbook's cells as stored
}

// header is the heading found: which rows it takes, and what each column means.
type header struct {
	line, lastLine int // of the heading
	rows           int // 1 or 2; 0 where no heading was found
	preamble       int // rows above it
	texts          []string
	matches        []match
	score          int
	unused         []Mapping // the user's mappings that no column has
	below          []headRow // rows of the sample below the heading
	matcher        *matcher
	twins          *Error // that other sheets of the workbook have the same headings
}

// findHeader finds the row, or the two rows, in which the most cells name
// fields. A survey's heading may follow lines of title and may take two rows:
// units below the names, or names below the names of groups. A HeaderRow given
// by the user fixes the first row. One cell that equals a word makes no heading:
// a row must name two fields.
func findHeader(rows []headRow, m *matcher, fixed int) *header {
	best := &header{score: leastFields - 1}
	for i := range rows {
		if fixed > 0 && rows[i].line != fixed {
			continue
		}
		if fixed > 0 {
			best = &header{score: -1}
		}
		if fixed == 0 && mostlyNumbers(rows[i].cells) {
			continue
		}
		single := tryHeader(rows, i, 1, m)
		if single.score > best.score {
			best = single
		}
		if i+1 == len(rows) || len(rows[i+1].cells) == 0 {
			continue
		}
		// A second row must add something: units, or fields that neither row
		// names alone. Else it is the first row of data, or the heading itself.
		double := tryHeader(rows, i, 2, m)
		units := allUnits(rows[i+1].cells)
		if units && double.score >= best.score && double.score >= single.score ||
			double.score > best.score && double.score > tryHeader(rows, i+1, 1, m).score {
			best = double
		}
	}
	best.score = max(best.score, 0)
	if best.rows == 0 {
		best.score = 0
	}
	return best
}

// leastFields is how many fields a row must name to be taken for the heading.
const leastFields = 2

// orLikely is the heading found, or else the row that looks most like one, so that
// the user can be shown what it holds: the one whose cells are most like words for
// fields; where none is, the first with several words and a row as full below it.
func (h *header) orLikely(rows []headRow, m *matcher, fixed int) *header {
	if h.rows > 0 || fixed > 0 {
		return h
	}
	best, most := -1, 0.99
	rows = rows[:min(len(rows), 50)]
	for i, r := range rows {
		if mostlyNumbers(r.cells) {
			continue
		}
		like := 0.0
		for _, c := range r.cells {
			said, other := tokens(c)
			if other || len(c) > maxHeading {
				continue
			}
			one := 0.0
			for f := range fieldTokens {
				for _, name := range fieldTokens[f] {
					one = max(one, alike(said, name))
				}
			}
			if one >= guessFloor {
				like += one
			}
		}
		if like > most {
			best, most = i, like
		}
	}
	for i := 0; best < 0 && i+1 < len(rows); i++ {
		if n := filled(rows[i].cells); n >= 3 && !mostlyNumbers(rows[i].cells) && 2*filled(rows[i+1].cells) >= n {
			best = i
		}
	}
	if best < 0 {
		return h
	}
	return asMapped(rows, best, m)
}

// asMapped reads the row at i as the heading that it will be once it is mapped:
// with the units in the row below.
func asMapped(rows []headRow, i int, m *matcher) *header {
	if i+1 < len(rows) && allUnits(rows[i+1].cells) {
		return tryHeader(rows, i, 2, m)
	}
	return tryHeader(rows, i, 1, m)
}

// filled counts the cells that are not blank.
func filled(cells []string) (n int) {
	for _, c := range cells {
		if strings.TrimSpace(c) != "" {
			n++
		}
	}
	return n
}

// mostlyNumbers tells a row of data from a heading at a glance.
func mostlyNumbers(cells []string) bool {
	numbers, words := 0, 0
	for _, c := range cells {
		switch c = strings.TrimSpace(c); {
		case c == "":
		case c[0] >= '0' && c[0] <= '9' || c[0] == '-':
			numbers++
		default:
			words++
		}
	}
	return numbers >= words
}

// tryHeader reads n rows from i as the heading. Its score is the number of
// fields named.
func tryHeader(rows []headRow, i, n int, m *matcher) *header {
	h := &header{line: rows[i].line, lastLine: rows[i+n-1].last, rows: n, preamble: i, below: rows[i+n:]}
	width := len(rows[i].cells)
	if n == 2 {
		width = max(width, len(rows[i+1].cells))
	}
	units := n == 2 && allUnits(rows[i+1].cells)
	group := ""
	seen := make(map[fieldID]bool)
	for c := range width {
		upper := cellAt(rows[i].cells, c)
		text := upper
		var mt match
		switch {
		case n == 1:
			mt = m.find(upper)
		case units:
			text, mt = withUnit(upper, cellAt(rows[i+1].cells, c), m)
		default:
			lower := cellAt(rows[i+1].cells, c)
			if upper != "" {
				group = upper
			}
			text, mt = inGroup(upper, group, lower, m)
		}
		h.texts = append(h.texts, text)
		h.matches = append(h.matches, mt)
	}
	h.unused = m.settleMaps(h.texts, h.matches)
	telling := 0
	for at, mt := range h.matches {
		if mt.taken() && !seen[mt.field] {
			seen[mt.field] = true
			h.score++
			if mt.via != viaBuiltin || len(normHeading(h.texts[at])) > 2 {
				telling++
			}
		}
	}
	if telling < leastFields { // "no" and "nr" are words of many rows
		h.score = telling
	}
	h.unused = m.byNumber(h.unused, h.texts, h.matches) // which say nothing of where the heading is
	if n == 2 && !units && !groupWorthwhile(rows[i+1].cells) {
		h.score = 0
	}
	return h
}

// groupWorthwhile rejects a row of data as the second heading row: a row of
// names has no numbers.
func groupWorthwhile(cells []string) bool {
	for _, c := range cells {
		c = strings.TrimSpace(c)
		if c != "" && (c[0] >= '0' && c[0] <= '9' || c[0] == '-' && len(c) > 1) {
			return false
		}
	}
	return true
}

func cellAt(cells []string, i int) string {
	if i < len(cells) {
		return strings.TrimSpace(strings.TrimFunc(cells[i], unicode.IsSpace))
	}
	return ""
}

// withUnit reads a heading whose unit stands in the row below.
func withUnit(name, unit string, m *matcher) (string, match) {
	if unit == "" || unit == "-" || unit == "–" {
		return name, m.find(name)
	}
	if name == "" {
		return "[" + unit + "]", match{field: noField}
	}
	text := name + " [" + strings.Trim(unit, "[]()") + "]"
	return text, m.find(text)
}

// inGroup reads a heading below the name of a group: "Defect" over "length".
func inGroup(upper, group, lower string, m *matcher) (string, match) {
	if lower == "" {
		return upper, m.find(upper)
	}
	if u := lookUnit(strings.Trim(lower, "[]()")); u != nil && upper != "" {
		return withUnit(upper, lower, m)
	}
	for _, text := range []string{group + " " + lower, lower + " " + group, lower} {
		text = strings.TrimSpace(text)
		if mt := m.find(text); mt.taken() {
			return text, mt
		}
	}
	if upper != "" {
		if mt := m.find(upper); mt.taken() && group == upper {
			return strings.TrimSpace(upper + " " + lower), match{field: noField}
		}
	}
	text := strings.TrimSpace(group + " " + lower)
	return text, m.find(text)
}
