package table

// A Style is how a cell looks: a look from a small fixed set, a number format,
// and where needed another alignment. Nothing is told by colour alone: inputs
// are boxed and carry a mark, failing checks turn white on black.
type Style struct {
	Look   Look
	Format Format
	Align  Align
	Wrap   bool // break long text over several lines
}

// Look is the dress of a cell apart from its number format.
type Look uint8

// The looks. Those from Body on are for cells of a table and have a rule below.
const (
	Plain      Look = iota // no border
	Title                  // the sheet's title
	Subtitle               // a line under the title
	Heading                // opens a section; ruled below, so give it to a whole row
	Subheading             // opens part of a section
	Label                  // the name of a value beside it
	Muted                  // notes, sources, units
	Caution                // must be read: bold, boxed at the left
	Figure                 // a headline figure
	FigureNote             // what a headline figure means, under it
	Head                   // the head of a column
	Body                   // a cell of a table
	Group                  // a line that opens a group of rows in a table
	Subtotal               // the sum of a group
	Total                  // the sum of all
	Input                  // an input of the run: boxed, marked », unlocked
	ByHand                 // may be set by hand over what was worked out: boxed with dashes, marked ±, unlocked
	Check                  // OK, or what does not add up
	Checkbox               // ☐ to be ticked by hand
	FillIn                 // a line to be written on by hand, unlocked
	Code                   // part codes and labels, fixed pitch
	BigLabel               // large text on a label
	CutAcross              // where labels are cut apart: a line above the cell
	CutDown                // a line left of it
	CutCorner              // both
	looks
)

// Looks is how many looks there are.
const Looks = int(looks)

// Align is where the content of a cell lies across it.
type Align uint8

// The alignments. Auto sets text left and numbers right.
const (
	Auto Align = iota
	Left
	Centre
	Right
)

// Format is how a number, date or text is shown.
type Format uint8

// Formats. Use Number, Money and Percent for those that take decimals.
const (
	General Format = iota
	Literal        // text that must stay text, even when edited
	Date           // 2026-03-01
	number0
	number1
	number2
	number3
	number4
	number5
	number6
	percent0
	percent1
	percent2
	percent3
	formats
)

// Formats is how many formats there are.
const Formats = int(formats)

// Number shows a number with the given decimals (0 to 6; others are clamped)
// and thousands set apart.
func Number(decimals int) Format { return number0 + Format(min(max(decimals, 0), 6)) }

// Money shows an amount with a currency's minor units (0 to 4, others are
// clamped). The currency itself stands in the column's head or beside it.
func Money(minorUnits int) Format { return Number(min(minorUnits, 4)) }

// Percent shows a fraction (0.075) as a percentage (7.5 %) with the given
// decimals (0 to 3, others are clamped).
func Percent(decimals int) Format { return percent0 + Format(min(max(decimals, 0), 3)) }

// Decimals of a number or percent format, and whether it is one of
// these.
func (f Format) Decimals() (n int, ok bool) {
	switch {
	case f >= number0 && f <= number6:
		return int(f - number0), true
	case f >= percent0 && f <= percent3:
		return int(f - percent0), true
	}
	return 0, false
}

// IsPercent reports whether the format shows a percentage.
func (f Format) IsPercent() bool { return f >= percent0 && f <= percent3 }

// In is the same style with another number format.
func (s Style) In(f Format) Style { s.Format = f; return s }

// To is the same style aligned otherwise.
func (s Style) To(a Align) Style { s.Align = a; return s }

// Wrapped is the same style with long text broken over several lines.
func (s Style) Wrapped() Style { s.Wrap = true; return s }

// As is the same style in another look (a total instead of a body cell).
func (s Style) As(l Look) Style { s.Look = l; return s }

// The styles most cells need.
var (
	TextStyle  = Style{Look: Body}
	WrapStyle  = Style{Look: Body, Wrap: true}
	HeadStyle  = Style{Look: Head, Wrap: true}
	DateStyle  = Style{Look: Body, Format: Date}
	IntStyle   = Style{Look: Body, Format: number0}
	CheckStyle = Style{Look: Check, Align: Centre}
	TickStyle  = Style{Look: Checkbox, Align: Centre}
)
