package survey

import (
	"fmt"
	"strings"
)

// value reads a cell that is not blank into the record, or raises the query
// that says why not.
func (rd *reader) value(c *column, cell []byte) {
	rd.extra.cell[c.field] = int32(c.at + 1)
	if c.number {
		rd.number(c, cell)
		return
	}
	switch fieldTable[c.field].Kind {
	case KindText:
		rd.text(c, cell)
	case KindSize:
		rd.size(c, cell)
	case KindYesNo:
		rd.yesNo(c, cell)
	case KindWord:
		rd.word(c, cell)
	case KindClock:
		if deg, ok := quickClock(cell); ok && (c.unit == nil || c.unit.Name == "clock") {
			rd.d.Clock = Known(deg)
			return
		}
		if deg, ok := parseClock(cell, c.unit, rd.decimal); ok {
			rd.d.Clock = Known(deg)
			return
		}
		rd.cellQuery("clock-unclear", c, cell, "the clock position cannot be read, or in two ways; it is left out", "write hours and minutes (10:48), or degrees with their sign (324°)")
	case KindDate:
		if t, ok := parseDate(cell); ok {
			rd.d.NeedDate = t
			return
		}
		rd.cellQuery("date-unclear", c, cell, "the date cannot be read, or in two ways; it is left out", "write it as 2027-03-15")
	}
}

func (rd *reader) cellQuery(code string, c *column, cell []byte, message, advice string) {
	rd.query(code, c.field, c.at+1, clip(string(cell)), message, advice)
}

// text reads a text cell. Each different text is stored once, as long as they
// are few.
func (rd *reader) text(c *column, cell []byte) {
	if s, ok := c.words[string(cell)]; ok { // seen, and found clean
		if c.field == fAccess {
			c.last = string(cell)
		} else {
			c.last = s
		}
		c.lastText, c.lastOK = s, true
		rd.setText(c, s)
		return
	}
	if r, bad := badRune(cell); bad {
		if r != '\ufffd' {
			rd.badCharacter(c.field, c.at+1, cell, r)
			return
		}
		rd.cellQuery("cell-damaged", c, cell, "a character was lost in an earlier conversion", "send the text again")
		rd.setText(c, string(cell))
		return
	}
	if looksLikeFormula(cell) {
		rd.cellQuery("formula-text", c, cell, "this looks like a formula; it is kept as text", "")
		rd.setText(c, string(cell))
		return
	}
	s := string(cell)
	if c.field == fAccess { // a word of the catalogue, whatever the case
		s = strings.ToLower(s)
	}
	if len(c.words) < maxWords && c.field != fNote {
		c.words[string(cell)] = s
	}
	rd.setText(c, s)
}

// maxWords is how many different texts of a column are remembered.
const maxWords = 4096

func (rd *reader) setText(c *column, s string) {
	d := rd.d
	switch c.field {
	case fLine:
		d.Line = s
	case fArea:
		d.Area = s
	case fSeries:
		d.Series = s
	case fMedium:
		d.Medium = s
	case fAccess:
		d.Access = s
	case fNote:
		d.Note = s
	}
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

func (rd *reader) size(c *column, cell []byte) {
	if n, ok := c.sizes[string(cell)]; ok {
		rd.d.Size, rd.extra.sizeSeries, rd.extra.size = n.number, n.series, n
		return
	}
	n, ok := parseSize(cell, rd.decimal)
	if !ok {
		rd.cellQuery("size-bad", c, cell, "the nominal size cannot be read", "write it as 6, 1-1/2, NPS 6 or DN 150; a spreadsheet may have turned a fraction into a date")
		return
	}
	if n.series == "" {
		n.series = c.series
		if n.series == "" && c.unit != nil && c.unit.Name == "in" {
			n.series = "\""
		}
	}
	if c.sizes == nil {
		c.sizes = make(map[string]*sizeSeen)
	}
	seen := &sizeSeen{nominalSize: n}
	if len(c.sizes) < maxWords {
		c.sizes[string(cell)] = seen
	}
	rd.extra.size = seen
	rd.d.Size, rd.extra.sizeSeries = n.number, n.series
}

func (rd *reader) yesNo(c *column, cell []byte) {
	t := quickYesNo(cell)
	if t == Unknown {
		word := strings.ToLower(string(cell))
		t = yesNo[word]
		if t == Unknown && c.field == fHazardous {
			t = hazardWords[word]
		}
	}
	if t == Unknown {
		rd.cellQuery("yes-no-unclear", c, cell, "this is neither yes nor no", "write yes or no")
		return
	}
	if c.field == fLeaking {
		rd.d.Leaking = t
	} else {
		rd.d.Hazardous = t
	}
}

func quickYesNo(b []byte) Tri {
	switch string(b) {
	case "yes":
		return Yes
	case "no":
		return No
	}
	return Unknown
}

func (rd *reader) word(c *column, cell []byte) {
	var ok bool
	switch string(cell) { // the commonest words
	case "dry":
		rd.d.Surface, ok = Dry, c.field == fSurface
	case "wet":
		rd.d.Surface, ok = Wet, c.field == fSurface
	case "pipe":
		rd.d.Component, ok = Straight, c.field == fComponent
	case "bend":
		rd.d.Component, ok = Bend, c.field == fComponent
	}
	if ok {
		return
	}
	switch c.field {
	case fSurface:
		if rd.d.Surface, ok = surfaceWords[string(cell)]; !ok {
			rd.d.Surface, ok = surfaceWords[strings.ToLower(string(cell))]
		}
		if !ok {
			rd.cellQuery("word-unknown", c, cell, "the surface is not known by this word", "write dry, wet or submerged")
		}
	case fComponent:
		if rd.d.Component, ok = componentWords[string(cell)]; !ok {
			rd.d.Component, ok = componentWords[strings.ToLower(string(cell))]
		}
		if !ok {
			rd.cellQuery("word-unknown", c, cell, "the component is not known by this word", "write pipe, bend, tee, reducer, flange or nozzle")
		}
	}
}
