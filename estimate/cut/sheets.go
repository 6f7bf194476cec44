package cut

import "github.com/shopspring/decimal"

// Rect is a demand for Count rectangles of one size.
type Rect struct {
	W, H  int    // mm, at least 1
	Count int    // pieces, 0 or more
	Label string // whose it is; the solver only carries it
}

// Sheet is one size of sheet that rectangles can be cut from.
type Sheet struct {
	W, H  int             // mm as delivered
	Count int             // how many there are, or Unlimited
	Cost  decimal.Decimal // of one; all zero: area stands for cost
	Name  string          // for messages
}

// SheetRule holds the rules of cutting sheets.
type SheetRule struct {
	Kerf     int   // mm lost by each cut
	Trim     int   // mm lost at each edge of a sheet, the trimming cuts included
	Rotate   bool  // pieces may be turned by a right angle
	KeepOver int   // mm; a rectangular leftover is worth keeping when its shorter side is at least this ...
	KeepArea int64 // ... and its area, mm², at least this; KeepOver 0: nothing is kept
	Budget   int64 // units of work (very roughly nanoseconds); 0: DefaultBudget
}

// Keeps reports whether a leftover of w × h mm is an offcut worth keeping.
func (r SheetRule) Keeps(w, h int) bool {
	return r.KeepOver > 0 && min(w, h) >= r.KeepOver && int64(w)*int64(h) >= r.KeepArea
}

// Dir is the direction of a cut.
type Dir string

const (
	Whole      Dir = ""           // not cut
	Vertical   Dir = "vertical"   // parts left from right
	Horizontal Dir = "horizontal" // parts lower from upper
)

// Node is a rectangle in the course of cutting. Either it is cut through from
// edge to edge, into First (left or lower), a kerf, and Second (right or upper),
// or it is a finished piece, or it is left over.
type Node struct {
	X, Y, W, H    int // mm, of the lower left corner in the sheet, and the size
	Cut           Dir
	At            int   // mm from the left or lower edge of the node to the near side of the kerf
	First, Second *Node // Second is nil where the kerf takes all that is beyond the cut
	Part          int   // index of the piece in Layout.Parts, −1 for none
	Keep          bool  // a leftover worth keeping
}

// Part is a piece in a layout, by size and place; Assign says whose it is.
type Part struct {
	X, Y, W, H int // mm, as it lies in the sheet
}

// Layout says how Count sheets of one size are cut, all alike.
type Layout struct {
	Sheet int   // index into the sheets given
	Count int   // sheets cut this way
	Cuts  *Node // the sheet inside its trim, cut by cut
	Parts []Part
	Kept  int64 // mm² of leftovers worth keeping in one sheet
}

// SheetMethod says why the worths of a certificate bound a sheet.
type SheetMethod string

const (
	// ByAreaOf: Y is the area of a piece with one kerf along two sides, K the
	// area of the usable sheet with the same.
	ByAreaOf SheetMethod = "area"
	// ByPatterns: K is the most worth that guillotine cuts can get out of a
	// sheet when every size may be cut any number of times.
	ByPatterns SheetMethod = "patterns"
)

// SheetCertificate proves a lower bound: no single sheet of size s can yield
// pieces worth more than K[s] together, a piece of Sizes[i] being worth Y[i].
type SheetCertificate struct {
	Method SheetMethod
	Sizes  []Size  // the different sizes demanded, largest area first; W ≥ H where pieces may be turned
	Y      []int64 // worth of one piece of each
	K      []int64 // most worth in one sheet, by index of the sheets given; 0 where nothing fits
	// Grid, for ByPatterns, is the step in mm to which all sizes, with a kerf
	// added, are rounded down before K is worked out. That only helps the
	// pieces to fit, so K is valid with any step; 1 is exact.
	Grid int
}

// Size is a size of rectangle.
type Size struct{ W, H int } // mm

// SheetPlan is a cutting plan for sheets with its proof.
type SheetPlan struct {
	Layouts    []Layout
	SheetsUsed []int // sheets used, by index
	Pieces     int   // pieces cut
	Kerf       int   // mm, of the rule
	Rotate     bool  // of the rule

	// Areas in mm² over all sheets used; CutArea + KerfArea + TrimArea +
	// ScrapArea + KeptArea is the area of the sheets used.
	CutArea, KerfArea, TrimArea, ScrapArea, KeptArea int64

	Cost decimal.Decimal // of the sheets used, in their own costs

	Verdict
	Certificate SheetCertificate
}

// Sheets plans the cutting of rectangles from sheets by guillotine cuts.
//
// With one size of sheet it looks for the fewest sheets; with several for the
// least cost, then the fewest sheets. Ties go to the plan with the least scrap,
// then to the fewest different layouts. Demands are met exactly. The bound holds
// for plans of guillotine cuts.
//
// It returns an *InputError for numbers that make no sense, a *TooLargeError for
// a rectangle that fits no sheet, and a *NoSheetsLeftError where the sheets are
// finite and pieces are left over. The input is not changed.
func Sheets(rects []Rect, sheets []Sheet, rule SheetRule) (SheetPlan, error) {
	p, err := newSheetProblem(rects, sheets, rule)
	if err != nil {
		return SheetPlan{}, err
	}
	s := p.search()
	if s.best.missing > 0 {
		return SheetPlan{}, s.notEnough()
	}
	return s.plan(sheets), nil
}
