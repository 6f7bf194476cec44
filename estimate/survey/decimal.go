package survey

import (
	"strings"
)

// marks is what the numbers of a sample say about the decimal mark.
type marks struct {
	point, comma int
	thousands    bool // thousands marks are in use
}

// sniffDecimal counts the cells that only a decimal point, or only a decimal
// comma, explains. "1,234" and "1.234" count for neither.
func sniffDecimal(rows []headRow, cols []column) marks {
	var m marks
	for _, r := range rows {
		for i := range cols {
			if c := &cols[i]; fieldTable[c.field].Kind == KindNumber && c.at < len(r.cells) {
				if r.raw == nil {
					m.weigh(r.cells[c.at])
				} else if c.at < len(r.raw) && !storedNumber([]byte(r.raw[c.at])) {
					m.weigh(r.raw[c.at]) // a number of the sheet has no mark of its own
				}
			}
		}
	}
	return m
}

func (m *marks) weigh(cell string) {
	cell = strings.TrimSpace(cell)
	if len(cell) > 64 {
		return
	}
	lastPoint, lastComma := strings.LastIndexByte(cell, '.'), strings.LastIndexByte(cell, ',')
	points, commas := strings.Count(cell, "."), strings.Count(cell, ",")
	switch {
	case points == 0 && commas == 0:
	case points > 0 && commas > 0:
		m.thousands = true
		if lastPoint > lastComma && points == 1 {
			m.point++
		} else if lastComma > lastPoint && commas == 1 {
			m.comma++
		}
	case points > 1:
		m.comma++
		m.thousands = true
	case commas > 1:
		m.point++
		m.thousands = true
	case points == 1 && soleMarkIsDecimal(cell, lastPoint):
		m.point++
	case commas == 1 && soleMarkIsDecimal(cell, lastComma):
		m.comma++
	}
}

// soleMarkIsDecimal reports whether the one mark at i cannot be a thousands
// mark: other than three digits follow it, more than three stand before it, or
// a zero leads.
func soleMarkIsDecimal(cell string, i int) bool {
	before, after := 0, 0
	for j := i - 1; j >= 0 && cell[j]-'0' <= 9; j-- {
		before++
	}
	for j := i + 1; j < len(cell) && cell[j]-'0' <= 9; j++ {
		after++
	}
	if after == 0 || before == 0 {
		return before+after > 0 && before == 0 && after > 0
	}
	return after != 3 || before > 3 || cell[i-before] == '0'
}
