package survey

import (
	"fmt"
	"strings"
)

// cellSeen is a cell that was read without a question, and what it says. The
// cells of a column are few and come again and again: each is read once.
type cellSeen struct {
	cell string
	value
	size *sizeSeen // of a nominal size
}

// Cells remembered for each column, and how long one may be.
const (
	maxSeen    = 4096
	maxSeenLen = 100
)

// value reads a cell that is not blank into the record, or raises the query
// that says why not.
func (rd *reader) value(c *column, cell []byte) {
	rd.extra.cell[c.field] = int32(c.at + 1)
	if c.number {
		rd.number(c, cell)
		return
	}
	s := c.seen[string(cell)]
	if s == nil {
		read, ok, clean := rd.readCell(c, cell)
		if !ok {
			return
		}
		s = read
		if clean && len(c.seen) < maxSeen && len(cell) <= maxSeenLen {
			s.cell = string(cell)
			c.seen[s.cell] = s
		}
	}
	if s.cell != "" {
		c.last = s
	}
	rd.take(c, s)
}

// take keeps what a cell says.
func (rd *reader) take(c *column, s *cellSeen) {
	fieldTable[c.field].put(rd.d, s.value)
	if s.size != nil {
		rd.extra.size = s.size
	}
}

// repeat takes a cell that equals the one above it, the most frequent case by
// far.
func (rd *reader) repeat(c *column, cell []byte) bool {
	if c.last == nil || string(cell) != c.last.cell {
		return false
	}
	rd.extra.cell[c.field] = int32(c.at + 1)
	rd.take(c, c.last)
	return true
}

// readCell reads a cell that holds no number. Ok is false where it cannot be
// used, clean where nothing is to be asked about it.
func (rd *reader) readCell(c *column, cell []byte) (s *cellSeen, ok, clean bool) {
	s = &cellSeen{}
	t := &fieldTable[c.field]
	switch t.Kind {
	case KindText:
		s.text, ok, clean = rd.text(c, cell)
		return s, ok, clean
	case KindSize:
		if s.size = rd.size(c, cell); s.size == nil {
			return nil, false, false
		}
		s.text = s.size.number
	case KindYesNo, KindWord:
		word := t.means(cell)
		switch {
		case word == "" && t.Kind == KindYesNo:
			rd.cellQuery("yes-no-unclear", c, cell, "this is neither yes nor no", "write yes or no")
			return nil, false, false
		case word == "":
			rd.cellQuery("word-unknown", c, cell, "the "+t.Key+" is not known by this word", "write "+either(t.Words())+"; where the column means something else, --map "+t.Key+"="+noColumn)
			return nil, false, false
		case t.Kind == KindWord:
			s.text = word
		case word == "yes":
			s.tri = Yes
		default:
			s.tri = No
		}
	case KindClock:
		deg, ok := parseClock(cell, c.unit, rd.decimal)
		if !ok {
			rd.cellQuery("clock-unclear", c, cell, "the clock position cannot be read, or in two ways; it is left out", "write hours and minutes (10:48), or degrees with their sign (324°)")
			return nil, false, false
		}
		s.num = Known(deg)
	case KindDate:
		if s.date, ok = parseDate(cell); !ok {
			rd.cellQuery("date-unclear", c, cell, "the date cannot be read, or in two ways, or is not from 1900 to 2200; it is left out", "write it as 2027-03-15")
			return nil, false, false
		}
	}
	return s, true, true
}

// either writes a choice: "dry, wet or submerged".
func either(words []string) string {
	n := len(words) - 1
	return strings.Join(words[:n], ", ") + " or " + words[n]
}

func (rd *reader) cellQuery(code string, c *column, cell []byte, message, advice string) {
	rd.query(code, c.field, c.at+1, clip(string(cell)), message, advice)
}

// text reads a text cell.
func (rd *reader) text(c *column, cell []byte) (s string, ok, clean bool) {
	s = string(cell)
	if fieldTable[c.field].lower {
		s = strings.ToLower(s)
	}
	if r, bad := badRune(cell); bad {
		if r != '\ufffd' {
			rd.badCharacter(c.field, c.at+1, cell, r)
			return "", false, false
		}
		rd.cellQuery("cell-damaged", c, cell, "a character was lost in an earlier conversion", "send the text again")
		return s, true, false
	}
	if looksLikeFormula(cell) {
		rd.cellQuery("formula-text", c, cell, "this looks like a formula; it is kept as text", "")
		return s, true, false
	}
	return s, true, true
}

func (rd *reader) badCharacter(f fieldID, col int, cell []byte, r rune) {
	code, message := "cell-control", fmt.Sprintf("the cell holds the control character U+%04X", r)
	if r == '\ufffd' {
		code, message = "cell-damaged", "a character was lost in an earlier conversion"
		if f != fID && f != fNote { // a name is still a name; a number is not
			code = "cell-control"
		}
	}
	rd.query(code, f, col, clip(string(cell)), message, "delete it and send the cell again")
}

// size reads a nominal size; nil where it cannot.
func (rd *reader) size(c *column, cell []byte) *sizeSeen {
	n, material, ok := sizeOf(cell, rd.decimal)
	if !ok {
		rd.cellQuery("size-bad", c, cell, "the nominal size cannot be read", "write it as 6, 1-1/2, NPS 6 or DN 150; a spreadsheet may have turned a fraction into a date")
		return nil
	}
	if n.series == "" {
		n.series = c.series
		if n.series == "" && c.unit != nil {
			n.series = map[string]string{"in": "\"", "mm": "DN"}[c.unit.Name]
		}
	}
	return &sizeSeen{nominalSize: n, material: material}
}
