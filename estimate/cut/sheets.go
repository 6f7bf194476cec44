package cut

import (
	"cmp"
	"fmt"
	"slices"

	"github.com/shopspring/decimal"
)

// Rect is a demand for Count rectangles of one size.
type Rect struct {
	W, H  int    // mm, at least 1
	Count int    // pieces, 0 or more
	Label string // whose it is; the solver only carries it
}

// Sheet is one size of sheet that rectangles can be cut from.
type Sheet struct {
	W, H   int             // mm as delivered
	Count  int             // how many there are, or Unlimited
	Cost   decimal.Decimal // of one; all zero: area stands for cost
	Costs  Curve           // of any number of them; where it is given, Cost is not looked at
	Name   string          // for messages
	Offcut bool            // left from earlier work: finite
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
	// ByAreaOf: a sheet holds at most one piece that is big in it, longer than
	// half of the sheet both ways, however it may lie. All others together are
	// worth no more than the area left, at the best worth for its area of any of
	// them. Areas are those of pieces with one kerf along two sides, and of the
	// usable sheet with the same.
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

// sizeOf is the size of a piece; where it may be turned, its long side first.
func sizeOf(w, h int, turn bool) Size {
	if turn && w < h {
		w, h = h, w
	}
	return Size{w, h}
}

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
// a rectangle that fits no sheet, and a *NotEnoughError where the sheets are
// finite and pieces are left over. The input is not changed.
func Sheets(rects []Rect, sheets []Sheet, rule SheetRule) (SheetPlan, error) {
	p, err := newPlates(rects, sheets, rule)
	if err != nil {
		return SheetPlan{}, err
	}
	s := &search{task: &p.task, cutter: p}
	s.run()
	if s.best.missing > 0 {
		e := &NotEnoughError{Stock: "sheets", Proven: s.tooFew}
		for i, n := range s.missing() {
			if n > 0 {
				e.Missing = append(e.Missing, fmt.Sprintf("%d × %d×%d mm", n, p.plates[i].size.W, p.plates[i].size.H))
			}
		}
		return SheetPlan{}, e
	}
	return p.plan(s, sheets), nil
}

// PlacedRect says where a demanded rectangle is cut.
type PlacedRect struct {
	Sheet      int // number of the sheet, from 1, in the order of the plan
	Stock      int // index into the sheets given
	Layout     int // index into the plan's layouts
	Position   int // place in the layout's parts, from 1
	X, Y, W, H int // mm, as it lies in the sheet
	Rotated    bool
	Rect       int // index into the rectangles given
	Label      string
}

// Assign says for every demanded rectangle where it is cut: sheets in the order
// of the plan, pieces of one size handed out in the order in which they were
// demanded. The rectangles must be those that the plan was made for; what the
// plan does not hold gets no place.
func (p SheetPlan) Assign(rects []Rect) []PlacedRect {
	next := dealer(len(rects), func(i int) (Size, int) { return sizeOf(rects[i].W, rects[i].H, p.Rotate), rects[i].Count })
	out := make([]PlacedRect, 0, p.Pieces)
	sheet := 0
	for n, l := range p.Layouts {
		for range l.Count {
			sheet++
			for k, pt := range l.Parts {
				if i, ok := next(sizeOf(pt.W, pt.H, p.Rotate)); ok {
					out = append(out, PlacedRect{
						Sheet: sheet, Stock: l.Sheet, Layout: n, Position: k + 1, X: pt.X, Y: pt.Y, W: pt.W, H: pt.H,
						Rotated: pt.W != rects[i].W || pt.H != rects[i].H, Rect: i, Label: rects[i].Label,
					})
				}
			}
		}
	}
	return out
}

// plan turns the best solution into the plan handed out.
func (p *sheetTask) plan(s *search, sheets []Sheet) SheetPlan {
	sp := SheetPlan{
		SheetsUsed: make([]int, p.stocks),
		Pieces:     p.pieces,
		Kerf:       p.rule.Kerf,
		Rotate:     p.rule.Rotate,
		Verdict:    s.verdict(),
	}
	for _, u := range s.best.uses {
		b := p.bins[u.bin]
		sh := sheets[b.stock]
		l := p.realise(u.tree, u.bin)
		n := int64(u.n)
		usable := int64(b.w-p.rule.Kerf) * int64(b.h-p.rule.Kerf)
		sp.Layouts = append(sp.Layouts, Layout{Sheet: b.stock, Count: u.n, Cuts: l.root, Parts: l.parts, Kept: l.kept})
		sp.SheetsUsed[b.stock] += u.n
		sp.CutArea += n * l.cut
		sp.KerfArea += n * (usable - l.cut - l.kept - l.scrap)
		sp.TrimArea += n * (int64(sh.W)*int64(sh.H) - usable)
		sp.ScrapArea += n * l.scrap
		sp.KeptArea += n * l.kept
	}
	for i, n := range sp.SheetsUsed {
		sp.Cost = sp.Cost.Add(sheets[i].Costs.of(n, sheets[i].Cost))
	}
	slices.SortStableFunc(sp.Layouts, func(a, b Layout) int {
		return cmp.Or(offcutsFirst(sheets[a.Sheet].Offcut, sheets[b.Sheet].Offcut), cmp.Compare(a.Sheet, b.Sheet), cmp.Compare(b.Count, a.Count))
	})
	sp.Certificate = SheetCertificate{Method: s.proof.method, Grid: s.proof.grid, Y: s.proof.y, K: make([]int64, p.stocks)}
	for _, pl := range p.plates {
		sp.Certificate.Sizes = append(sp.Certificate.Sizes, pl.size)
	}
	for b, k := range s.proof.k {
		sp.Certificate.K[p.bins[b].stock] = k
	}
	return sp
}
