package export

import (
	"cmp"
	"fmt"
	"slices"

	"wraptally/estimate"
	"wraptally/estimate/cut"
	"wraptally/export/table"
)

// cutMade is one cut of a sheet at the bench.
type cutMade struct {
	sheets string
	number int
	how    string
	gives  string
}

// cutsOf are the cuts of a layout in the order in which they are made: each goes
// from edge to edge of what is cut, and of its two sides the one that holds a part
// to be kept is gone on with first, so that it is freed before the small cuts.
func (b *book) cutsOf(lay *cut.Layout, sheets string) []cutMade {
	trim := b.p.Catalog.Settings.SheetTrim
	var out []cutMade
	add := func(how, gives string) { out = append(out, cutMade{sheets, len(out) + 1, how, gives}) }
	if trim > 0 {
		add("trim "+b.lengthText(trim)+" off all four edges", "–")
	}
	var walk func(n *cut.Node)
	walk = func(n *cut.Node) {
		if n == nil || n.Cut == cut.Whole {
			return
		}
		from := "left"
		if n.Cut != cut.Vertical {
			from = "lower"
		}
		gives := b.sideText(n.First)
		if n.Second != nil {
			gives += " and " + b.sideText(n.Second)
		}
		add(fmt.Sprintf("the part %s at %s ; %s: cut %s from its %s edge", b.bareText(float64(n.W))+" × "+b.bareText(float64(n.H)), b.bareText(float64(n.X)), b.bareText(float64(n.Y)), b.bareText(float64(n.At)), from), gives)
		first, second := n.First, n.Second
		if holdsKept(second) && !holdsKept(first) {
			first, second = second, first
		}
		walk(first)
		walk(second)
	}
	walk(lay.Cuts)
	return out
}

func holdsKept(n *cut.Node) (any bool) {
	kept(n, func(*cut.Node) { any = true })
	return any
}

// sideText says what one side of a cut is: a piece by its number, a part to keep,
// scrap, or a strip that is cut further.
func (b *book) sideText(n *cut.Node) string {
	size := b.bareText(float64(n.W)) + " × " + b.bareText(float64(n.H))
	switch {
	case n.Cut != cut.Whole:
		return "strip " + size
	case n.Part >= 0:
		return fmt.Sprintf("piece %d", n.Part+1)
	case n.Keep:
		return "KEEP " + size
	}
	return "scrap"
}

// cutsTable lists the cuts of the sheets of a plan.
func (b *book) cutsTable(pg *pager, cl *estimate.CutList) {
	type col = table.Col[cutMade]
	t := table.NewTable[cutMade](sheetCutting)
	t.Add(tickColumn[cutMade]())
	t.Add(col{Title: "Sheets", Style: table.TextStyle, Cell: func(p pen, c cutMade) { p.Text(c.sheets) }})
	t.Add(col{Title: "Cut", Style: table.IntStyle.To(table.Centre), Cell: func(p pen, c cutMade) { p.Int(c.number) }})
	t.Add(col{Title: "Gives", Style: table.WrapStyle, Cell: func(p pen, c cutMade) { p.Text(c.gives) }})
	t.Add(col{Title: "How, places from the lower left corner (" + b.lengthUnit() + ")", Style: table.WrapStyle, Cell: func(p pen, c cutMade) { p.Text(c.how) }})
	pg.together(table.Row{Height: 5}, subhead("Cuts of each sheet, in the order they are made", cuttingWidth), t.Head())
	first := 1
	for i := range cl.Sheets.Layouts {
		lay := &cl.Sheets.Layouts[i]
		for _, c := range b.cutsOf(lay, numbers(first, lay.Count)) {
			pg.add(func(row int) table.Row { return t.Row(row, c) })
		}
		first += lay.Count
	}
}

// shiftOf is the shift of the work that a labelled piece is cut for; what is for no
// kit comes last.
func (b *book) shiftOf(label string) int {
	if at, ok := b.p.Place(label); ok {
		return b.p.Jobs[at.Job].Shift
	}
	return lastShift
}

const lastShift = 1 << 30

// byShift puts what is cut from coils, in the order of the coils, into the order of
// the shifts that need it first, where the setting asks for it. A strip is cut from
// the free end of its coil, so that it begins where the one cut before it ended.
func (b *book) byShift(placed []cut.Placed, kerf int) []cut.Placed {
	if b.p.Catalog.Settings.CutOrder != "shift" {
		return placed
	}
	out := slices.Clone(placed)
	slices.SortStableFunc(out, func(x, y cut.Placed) int { return cmp.Compare(b.shiftOf(x.Label), b.shiftOf(y.Label)) })
	end := map[int]int{}
	for i := range out {
		at := &out[i]
		at.Offset = end[at.Coil]
		end[at.Coil] += at.Length + kerf
	}
	return out
}

// sheetsByShift puts the sheets, each cut as a whole, into the order of the first
// shift that needs a piece of each.
func (b *book) sheetsByShift(placed []cut.PlacedRect) []cut.PlacedRect {
	if b.p.Catalog.Settings.CutOrder != "shift" {
		return placed
	}
	first := map[int]int{}
	for _, at := range placed {
		s := b.shiftOf(at.Label)
		if was, ok := first[at.Sheet]; !ok || s < was {
			first[at.Sheet] = s
		}
	}
	out := slices.Clone(placed)
	slices.SortStableFunc(out, func(x, y cut.PlacedRect) int { return cmp.Compare(first[x.Sheet], first[y.Sheet]) })
	return out
}
