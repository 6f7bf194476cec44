package table

import (
	"iter"
	"time"
)

// A Workbook is what one file holds. Sheets appear in the order given; the
// first is the one that is shown when the file is opened.
type Workbook struct {
	Properties Properties
	Sheets     []*Sheet
	// Names are read after the last sheet is written, so that a row generator
	// may add the names of cells as it places them.
	Names []Name
}

// Properties describe the file. Created is a given moment, never the clock: the
// same workbook must give the same bytes on another day.
type Properties struct {
	Title, Subject, Description, Creator, Keywords string
	Created                                        time.Time
}

// A Name stands for a cell or a range in formulas ("bid_total").
type Name struct {
	Name   string
	Refers string // an absolute, sheet-quoted reference, see Area.On
}

// A Sheet is one tab.
type Sheet struct {
	Name    string // the tab's text, see CheckSheetName
	Columns []Column
	// Rows yields the rows from row 1 downwards. The writer asks for them once
	// and keeps none, so the generator may reuse the slices of a Row.
	Rows iter.Seq[Row]
	// Failed, when set, is asked after the last row: a generator that had to
	// stop early says why here, and nothing is written.
	Failed func() error

	// FreezeRows and FreezeColumns stay in sight while the rest scrolls.
	FreezeRows, FreezeColumns int
	// Protected locks every cell but the inputs and fill-ins against slips;
	// there is never a password.
	Protected bool
	// Hidden keeps it out of sight and out of the print until it is shown.
	Hidden bool
	Page   Page

	// The following are read after the last row.

	// Filter puts filter buttons on the first row of the area; empty for none.
	Filter Area
	// PrintArea limits what is printed; empty prints all that is used.
	PrintArea Area
	// TitleRows are repeated at the head of each printed page ({1, 2} repeats
	// rows 1 and 2), TitleColumns at its left; zero for none.
	TitleRows, TitleColumns Span
	Validations             []Validation
	Conditions              []Condition
	Pictures                []Picture
	Charts                  []Chart
}

// A Column says how wide a column is and how its head reads.
type Column struct {
	Title string // text of the column's head, see HeadRow
	Unit  string // unit shown in the head under the title, "mm"
	Width float64
	Style Style // what a cell of this column usually wears; used by helpers only
}

// A Span is a run of rows or of columns, both ends included.
type Span struct{ First, Last int }

// A Row is one row of cells, from column 1.
type Row struct {
	Cells []Cell
	// Height in points; 0 makes the row as tall as its wrapped text needs.
	Height float64
	// Merge joins runs of cells of this row.
	Merge []Span
	// Break starts a new printed page with this row.
	Break bool
	// Pictures are anchored in this row; their At.Row is filled in by the writer.
	Pictures []Picture
}

// Paper is a paper size.
type Paper uint8

// The paper sizes of ISO 216 and of North America.
const (
	A4 Paper = iota
	Letter
)

// Page is how a sheet is printed.
type Page struct {
	Paper     Paper
	Landscape bool
	// FitWide shrinks the print to so many pages across; 0 prints at full size.
	FitWide int
	// Header and Footer; {page}, {pages} and {sheet} are replaced when printing.
	Header, Footer Banner
	Margins        *Margins // nil for the usual ones
	CentreAcross   bool
}

// A Banner is a printed header or footer in three parts.
type Banner struct{ Left, Centre, Right string }

// Margins of the page in mm; Header and Footer from the paper's edge.
type Margins struct{ Left, Right, Top, Bottom, Header, Footer float64 }

// UsualMargins leave room for a one-line header and footer.
var UsualMargins = Margins{Left: 12, Right: 12, Top: 19, Bottom: 17, Header: 8, Footer: 8}

// PrintableMM is the width and height in mm between the margins.
func (p Page) PrintableMM() (width, height float64) {
	width, height = 210, 297
	if p.Paper == Letter {
		width, height = 215.9, 279.4
	}
	if p.Landscape {
		width, height = height, width
	}
	m := UsualMargins
	if p.Margins != nil {
		m = *p.Margins
	}
	return width - m.Left - m.Right, height - m.Top - m.Bottom
}

// Scale is how far the columns are shrunk on paper, 1 where they are not.
func (p Page) Scale(columns []Column) float64 {
	wide, _ := p.PrintableMM()
	total := 0.0
	for _, c := range columns {
		total += MM(c.Width)
	}
	if p.FitWide == 0 || total <= wide*float64(p.FitWide) {
		return 1
	}
	return wide * float64(p.FitWide) / total
}

// A Validation limits what may be typed into an area.
type Validation struct {
	Area Area
	// Items are a list to choose from, together at most 255 characters.
	Items []string
	// Otherwise a number from Min to Max, both allowed; Whole refuses fractions.
	// An infinite end is open.
	Min, Max float64
	Whole    bool
	// Title and Prompt are shown when the cell is chosen, Complaint when the
	// entry is refused.
	Title, Prompt, Complaint string
}

// A Condition changes the look of cells while its formula is true. The formula
// is written for the area's first cell.
type Condition struct {
	Area    Area
	Formula string
	Show    Emphasis
}

// Emphasis is a look that survives a black-and-white printer.
type Emphasis uint8

// The emphases.
const (
	Alarm Emphasis = iota // white on black, bold: a check that fails
	Alert                 // bold, underlined, boxed: look at this
)

// A Picture is drawn over the cells, its top left corner in the cell At.
type Picture struct {
	At                   At
	OffsetXMM, OffsetYMM float64 // from the cell's corner, to the right and down
	PNG                  []byte
	// WidthMM and HeightMM on paper; when one is 0 it follows from the other,
	// when both are 0 a pixel counts 1/96 inch.
	WidthMM, HeightMM float64
	Alt               string // what it shows, for those who cannot see it
}

// A Chart is lying bars drawn from cells, the first category on top, or a curve.
// Fills are hatched, never told by colour alone.
type Chart struct {
	Stacked           bool // the series are parts of a whole
	Curve             bool // a line through the numbers over the categories, which are numbers too
	At                At
	WidthMM, HeightMM float64
	Title             string
	ValueTitle        string  // what the numbers are, beside their axis
	CategoryTitle     string  // what the categories are, of a curve
	Categories        Format  // how they read on the axis of a curve
	Most              float64 // end of the axis of the numbers of a curve; 0: as they need
	Series            []Series
	Values            Format // how numbers read on the axis and the labels
	Labels            bool   // write each value beside its mark
	Alt               string
}

// A Series is one row or column of numbers. Each reference is absolute and
// sheet-quoted. Name may be a reference or plain text.
// One that is unseen only lifts what is stacked on it.
type Series struct {
	Name, Categories, Numbers string
	Unseen                    bool
}
