package table

import (
	"math"
	"strings"
	"unicode"

	"golang.org/x/text/width"
)

// BodySize is the size of the body text in points.
const BodySize = 10

const (
	// PlainRowHeight is that of a row with nothing special in it: one line of body
	// text in points, with the leading that spreadsheet programs give it.
	PlainRowHeight = 12.75
	// cellPadding in points is what a cell keeps free at its two sides together.
	cellPadding = 3.75
	// pointsPerChar is the width of one digit of the body text on a screen of
	// 96 dots an inch (7 dots), the unit of column widths.
	pointsPerChar = 5.25
	// slack widens measured text a little: programs round glyphs to pixels.
	slack = 1.04
	// MaxRowHeight is the tallest row in points.
	MaxRowHeight = 409
	bold         = 1.08 // how much wider bold text is, at most
)

// advance is how wide a character is in 1/2048 of the size. Characters that the
// font lacks count by their kind: East Asian wide ones a full em, marks nothing,
// Arabic letters 0.63 em, all others 0.72 em, more than most letters of
// Devanagari or Thai take.
func advance(r rune) int {
	if r < 0x17f && r >= ' ' {
		return int(bodyWidths[0].widths[r-' '])
	}
	if w := inBody(r); w > 0 {
		return w
	}
	switch {
	case unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf, unicode.Cc):
		return 0
	case wide(r):
		return 2048
	case unicode.Is(unicode.Arabic, r):
		return 1300
	}
	return 1475
}

// inBody is the width of a character of the body font, 0 where it has none.
func inBody(r rune) int {
	for i := range bodyWidths {
		run := &bodyWidths[i]
		if r >= run.first && int(r-run.first) < len(run.widths) {
			return int(run.widths[r-run.first])
		}
	}
	return 0
}

// wide tells the characters that fill an em, by Unicode Standard Annex 11.
func wide(r rune) bool {
	if r < 0x1100 {
		return false
	}
	switch width.LookupRune(r).Kind() {
	case width.EastAsianWide, width.EastAsianFullwidth:
		return true
	}
	return r >= 0x1F000 // pictographs
}

// fixedAdvance is that of a fixed-pitch font: 0.6 em, and an em for wide
// characters.
func fixedAdvance(r rune) int {
	switch a := advance(r); {
	case a == 0:
		return 0
	case wide(r):
		return 2048
	}
	return 1229
}

// Lines is how many lines the text takes in a cell of the given width in
// points, broken at spaces, after hyphens, between wide characters, and inside
// words that are longer than a line.
func Lines(text string, points, size float64) int {
	return linesOf(text, points, size, advance)
}

func linesOf(text string, points, size float64, advance func(rune) int) int {
	room := points * 2048 / size
	lines := 0
	for text != "" {
		var paragraph string
		paragraph, text, _ = strings.Cut(text, "\n")
		lines += paragraphLines(paragraph, room, advance)
		if text == "" {
			break
		}
	}
	return max(lines, 1)
}

func paragraphLines(text string, room float64, advance func(rune) int) int {
	lines := 1
	line, word := 0.0, 0.0 // what stands on the line, and the word being read
	for _, r := range text {
		w := float64(advance(r)) * slack
		switch {
		case r == ' ' || r == '\t':
			// A space that does not fit hangs over the edge unseen.
			line, word = line+word+w, 0
		case wide(r):
			if line+word+w > room && line+word > 0 {
				lines++
				line, word = w, 0
			} else {
				line, word = line+word+w, 0
			}
		default:
			word += w
			if line+word > room {
				if line > 0 && word <= room {
					lines++
					line = 0
				} else {
					// The word alone is longer than a line: it is cut.
					lines++
					line, word = 0, w
				}
			}
			if r == '-' {
				line, word = line+word, 0
			}
		}
	}
	return lines
}

// CellWidth is the width in points that text may take in a column so many
// characters wide.
func CellWidth(characters float64) float64 {
	return math.Max(characters*pointsPerChar-cellPadding, 1)
}

// MM turns a column width in characters into millimetres on paper at full size.
func MM(characters float64) float64 { return characters * pointsPerChar * 25.4 / 72 }

// printedChar is the width in points of one digit of the body text as it is
// printed: 0.556 of its size of 10 points, by the metrics of the font Helvetica, from
// memory. A program that keeps to the pixels of a screen prints up to 6 % narrower.
const printedChar = 5.56

// Characters is the width of a column that is to be so many millimetres wide on
// paper, and is no wider in any program.
func Characters(mm float64) float64 { return mm * 72 / 25.4 / printedChar }

// Size of the text of a look in points, and whether it is bold.
func (l Look) Size() (points float64, heavy bool) {
	switch l {
	case Title:
		return 16, true
	case Subtitle:
		return 11, false
	case Heading:
		return 12, true
	case Figure:
		return 18, true
	case BigLabel:
		return 20, true
	case FigureNote, Muted:
		return 9, false
	case Checkbox:
		return 14, false
	case Subheading, Label, Caution, Head, Total, Subtotal, Group, Check:
		return BodySize, true
	}
	return BodySize, false
}

// RowHeight is how tall a row must be in points so that nothing in it is cut
// off, and whether that differs from the height of a plain row. Text in cells
// that do not wrap counts one line. A row is never taller than MaxRowHeight;
// text that needs more should be laid over several rows with SplitText.
func RowHeight(columns []Column, row *Row) (points float64, differs bool) {
	points = PlainRowHeight
	for i := range row.Cells {
		c := &row.Cells[i]
		if c.Kind == KindEmpty {
			if c.Style.Look == FillIn || c.Style.Look == Checkbox {
				points = math.Max(points, handHeight)
			}
			continue
		}
		if c.Style.Look == Plain && !c.Style.Wrap || c.Style.Look == Body && !c.Style.Wrap {
			continue
		}
		size, heavy := c.Style.Look.Size()
		h := size * PlainRowHeight / BodySize
		if c.Style.Wrap && (c.Kind == KindText || c.Kind == KindLink || c.Kind == KindFormulaText) {
			room := CellWidth(mergedWidth(columns, row, i))
			if c.Style.Look == Caution {
				room -= indent
			}
			if heavy {
				room /= bold
			}
			measure := advance
			if c.Style.Look == Code {
				measure = fixedAdvance
			}
			h *= float64(linesOf(c.Text, room, size, measure))
		}
		h *= leading(c.Text)
		switch c.Style.Look {
		case Head, Heading, Title, Input, ByHand, Total:
			h += 3
		case Checkbox, FillIn:
			h = math.Max(h, handHeight)
		}
		points = math.Max(points, h)
	}
	points = math.Min(math.Ceil(points*4)/4, MaxRowHeight)
	return points, points > PlainRowHeight
}

const (
	handHeight = 18 // room for handwriting, in points
	indent     = 10 // what a caution is set in by, in points
)

// leading is how much taller than the body font's the lines of a text are, when
// parts of it are set in another font because the body font lacks them.
func leading(text string) float64 {
	const eastAsian, other = 1.25, 1.15
	most := 1.0
	for _, r := range text {
		switch {
		case wide(r):
			return eastAsian
		case r > 0x17f && inBody(r) == 0 && unicode.IsLetter(r):
			most = other
		}
	}
	return most
}

// mergedWidth is the width in characters of cell i of the row, with those it is
// merged with.
func mergedWidth(columns []Column, row *Row, i int) float64 {
	first, last := i+1, i+1
	for _, m := range row.Merge {
		if m.First == first {
			last = m.Last
		}
	}
	total := 0.0
	for c := first; c <= last; c++ {
		total += columnWidth(columns, c)
	}
	return total
}

// DefaultWidth is the width in characters of a column that has none of its own.
const DefaultWidth = 10

func columnWidth(columns []Column, col int) float64 {
	if col <= len(columns) && columns[col-1].Width > 0 {
		return columns[col-1].Width
	}
	return DefaultWidth
}

// SplitText breaks text into pieces that each fit in a row of at most the given
// number of lines in a cell so many characters wide, so that text of any length
// can be shown over several rows. Joined with "", the pieces are the text.
func SplitText(text string, characters float64, lines int) []string {
	room := CellWidth(characters)
	var pieces []string
	for text != "" {
		if Lines(text, room, BodySize) <= lines {
			return append(pieces, text)
		}
		// Bisect over the characters for the longest piece that fits.
		runes := []rune(text)
		fits, over := 1, len(runes)
		for over-fits > 1 {
			mid := (fits + over) / 2
			if Lines(string(runes[:mid]), room, BodySize) <= lines {
				fits = mid
			} else {
				over = mid
			}
		}
		piece := string(runes[:fits])
		if at := strings.LastIndexAny(piece, " \n"); at > len(piece)/2 {
			piece = piece[:at+1]
		}
		pieces = append(pieces, piece)
		text = text[len(piece):]
	}
	return pieces
}
