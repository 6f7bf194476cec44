package export

import (
	"fmt"
	"strings"

	"wraptally/estimate"
	"wraptally/estimate/cut"
	"wraptally/estimate/scope"
	"wraptally/export/table"
)

// The columns of the sheet Cutting: what to take from the store, the patterns
// and the labelled pieces stand below each other in the same columns.
var cuttingColumns = []table.Column{{Width: 5}, {Width: 12}, {Width: 11}, {Width: 19}, {Width: 50}, {Width: 13}, {Width: 13}}

const (
	cuttingWidth = 7
	cutTakeCount = 3 // C: how many coils or sheets
	cutTakeItem  = 4 // D: code of the item
	cutTakeFirst = 6 // first row of what to take
)

// cutTake is a number of coils or sheets of one kind, or of offcuts of one lot,
// that the plans use.
type cutTake struct {
	list, stock, item, count int
}

// offcut is the lot of an offcut from store; empty for whole coils and sheets.
func (b *book) offcut(t cutTake) string { return b.p.Cuts[t.list].Lots[t.stock] }

// stockCode names a stock of a cutting list: the item, or the lot of an offcut.
func stockCode(cl *estimate.CutList, stock int) string {
	if lot := cl.Lots[stock]; lot != "" {
		return "lot " + lot
	}
	return cl.Items[stock]
}

// takeName is what is taken, an offcut with its size, and the unit it is counted in.
func (b *book) takeName(t cutTake) (name, unit string) {
	it, cl := &b.p.Catalog.Items[t.item], &b.p.Cuts[t.list]
	if b.offcut(t) == "" {
		return it.Name, it.Unit
	}
	if cl.Linear != nil {
		return cl.Stock + ", offcut of " + b.lengthText(float64(cl.Coils[t.stock].Length)), "offcut"
	}
	return cl.Stock + ", offcut of " + b.sizeText(cl.Plates[t.stock].W, cl.Plates[t.stock].H), "offcut"
}

// takePlace is where it lies in the store.
func (b *book) takePlace(t cutTake) string {
	it := &b.p.Catalog.Items[t.item]
	if lot, ok := b.p.LotInStore(it.Code, b.offcut(t)); ok && lot.Location != "" {
		return lot.Location
	}
	return it.Store
}

// cutTakes are the coils and sheets that all cutting plans use, in their order.
func (b *book) cutTakes() []cutTake {
	var out []cutTake
	items := b.p.Catalog.Items
	for l := range b.p.Cuts {
		cl := &b.p.Cuts[l]
		for i, n := range usedOf(cl) {
			for at := range items {
				if n > 0 && items[at].Code == cl.Items[i] {
					out = append(out, cutTake{l, i, at, n})
				}
			}
		}
	}
	return out
}

func usedOf(cl *estimate.CutList) []int {
	if cl.Linear != nil {
		return cl.Linear.StocksUsed
	}
	return cl.Sheets.SheetsUsed
}

// cutTakeColumn is a column of the list of what to take, "" where nothing is
// cut. Sums by item over it give the whole coils and sheets of an item: offcuts
// stand there under their lots.
func (b *book) cutTakeColumn(column int) string {
	n := len(b.cutTakes())
	if n == 0 {
		return ""
	}
	return table.Cells(column, cutTakeFirst, column, cutTakeFirst+n-1).On(sheetCutting)
}

// cuttingSheet is for the cutting bench: what to take, how each coil and sheet
// is cut with a drawing to scale, what is left, how good the plan is, and where
// each labelled piece comes from.
func (b *book) cuttingSheet() *table.Sheet {
	s := &table.Sheet{Name: sheetCutting, Columns: cuttingColumns, Protected: true, Page: b.page(false), FreezeRows: 2}
	var failed error
	s.Failed = func() error { return failed }
	s.Rows = func(yield func(table.Row) bool) {
		pg := newPager(cuttingColumns, s.Page, yield)
		failed = b.cuttingLayout(pg)
	}
	return s
}

func (b *book) cuttingLayout(pg *pager) error {
	set := &b.p.Catalog.Settings
	pg.rows(table.Spread("Cutting", look(table.Title), cuttingWidth),
		table.Spread(fmt.Sprintf("Of the whole campaign. Saw cut %s in coils and %s in sheets; ends trimmed %s a coil, edges %s a sheet. Deburr every edge; mark each piece with its label at once.",
			b.lengthText(set.CutKerf), b.lengthText(set.SheetKerf), b.lengthText(set.CutTrim), b.lengthText(set.SheetTrim)), look(table.Muted), cuttingWidth),
		table.Row{})
	takes := b.cutTakes()
	if len(takes) == 0 {
		pg.rows(table.Spread("Nothing is cut: no repair holds a leak.", look(table.Muted), cuttingWidth))
		return nil
	}
	pg.rows(heading(cuttingWidth, "Take from the store"), crewsHead("", "From", "|How many", "Item", "Name", "Unit", ""))
	for _, t := range takes { // begins at cutTakeFirst
		name, unit := b.takeName(t)
		pg.rows(table.Row{Cells: []table.Cell{
			table.Text("☐", table.TickStyle), table.Text(legible(b.takePlace(t)), table.TextStyle), table.Int(t.count, table.IntStyle.To(table.Centre)),
			table.Text(legible(stockCode(&b.p.Cuts[t.list], t.stock)), look(table.Code)), table.Text(legible(name), table.WrapStyle), table.Text(legible(unit), table.TextStyle),
			table.Empty(table.TextStyle),
		}})
	}
	byID := map[string]*scope.Repair{}
	for i := range b.p.Jobs {
		byID[b.p.Jobs[i].Repair.ID] = b.p.Jobs[i].Repair
	}
	for l := range b.p.Cuts {
		cl := &b.p.Cuts[l]
		if l > 0 {
			pg.page()
		} else {
			pg.rows(table.Row{})
		}
		var err error
		if cl.Linear != nil {
			err = b.coilPlan(pg, cl)
		} else {
			err = b.sheetPlan(pg, cl)
		}
		if err != nil {
			return fmt.Errorf("drawing the cutting of %s: %w", cl.Stock, err)
		}
		b.pieceTable(pg, cl, byID)
		if pg.stopped {
			return nil
		}
	}
	return nil
}

// planHead names the stock and says how good the plan is.
func (b *book) planHead(pg *pager, cl *estimate.CutList, pieces int) {
	v := cl.Verdict()
	what := map[cut.Basis]string{
		cut.ByCoils: "coils", cut.ByCost: "cost of stock, " + b.p.Catalog.Settings.Currency, cut.ByLength: "mm of stock", cut.BySheets: "sheets", cut.ByArea: "mm² of stock",
	}[v.Basis]
	pg.together(heading(cuttingWidth, legible(cl.Stock)),
		table.Spread(fmt.Sprintf("%s, cut from %s. Least counted in %s: %s; no plan is below %s: %s.",
			countOf(pieces, "piece", "pieces"), cl.Used(), what, v.Objective, v.Bound, cl.Proof()), table.Style{}, cuttingWidth),
		table.Row{Height: 5})
}

// numbers is "4" or "4 to 9".
func numbers(first, count int) string {
	if count <= 1 {
		return fmt.Sprint(first)
	}
	return fmt.Sprintf("%d to %d", first, first+count-1)
}

func keepWord(keep bool, left int) string {
	switch {
	case left <= 0:
		return "–"
	case keep:
		return "keep"
	}
	return "scrap"
}

func (b *book) coilPlan(pg *pager, cl *estimate.CutList) error {
	plan := cl.Linear
	b.planHead(pg, cl, plan.Pieces)
	if err := b.coilPictures(pg, cl); err != nil {
		return err
	}
	pg.heading = func() table.Row { return subhead(clip(cl.Stock, 80)+", continued", 1, cuttingWidth) }
	pg.together(subhead("Patterns", 1, cuttingWidth), crewsHead("", "Coils", "|How many", "Item", "How each is cut ("+b.lengthUnit()+")", "#Left of each\n("+b.lengthUnit()+")", "|Left over is"))
	coil := 1
	for _, pt := range plan.Patterns {
		var cuts []string
		for _, c := range pt.Cuts {
			cuts = append(cuts, fmt.Sprintf("%d × %s", c.Count, b.bare(c.Length)))
		}
		pg.rows(table.Row{Cells: []table.Cell{
			table.Text("☐", table.TickStyle), table.Text(numbers(coil, pt.Count), table.TextStyle), table.Int(pt.Count, table.IntStyle.To(table.Centre)),
			table.Text(legible(stockCode(cl, pt.Stock)), look(table.Code)), table.Text(strings.Join(cuts, " + "), table.WrapStyle),
			table.Num(b.length(float64(pt.Left)), table.TextStyle.In(b.lengthFormat())), table.Text(keepWord(pt.Keep, pt.Left), table.TextStyle.To(table.Centre)),
		}})
		coil += pt.Count
	}
	used := 0.0
	for i, n := range plan.StocksUsed {
		used += float64(n) * float64(cl.Coils[i].Length)
	}
	unit, per := "m", 1000.0
	if b.inch() {
		unit, per = "ft", mmPerFoot
	}
	b.cutTotals(pg, unit, used/per, []float64{
		float64(plan.CutTotal) / per, float64(plan.KerfTotal) / per, float64(plan.TrimTotal) / per, float64(plan.KeptTotal) / per, float64(plan.ScrapTotal) / per,
	})
	return nil
}

// bare is a length without its unit.
func (b *book) bare(mm int) string {
	if b.inch() {
		return trimmed(b.length(float64(mm)), 2)
	}
	return fmt.Sprint(mm)
}

// cutTotals shows where all the stock goes, and checks that it adds up.
func (b *book) cutTotals(pg *pager, unit string, used float64, parts []float64) {
	names := []string{"Pieces", "Saw cuts", "Trim", "Left over, kept", "Scrap"}
	rows := len(parts) + 3
	pg.room(float64(rows) * 18)
	pg.rows(table.Row{Height: 5}, rowOf(cuttingWidth, head(5, 5, "Where the stock goes", table.Left),
		head(6, 6, "Amount\n("+unit+")", table.Right), head(7, 7, "Share", table.Right)))
	first := pg.next
	total := first + len(parts)
	for i, v := range parts {
		share := 0.0
		if used > 0 {
			share = v / used
		}
		pg.add(func(row int) table.Row {
			return rowOf(cuttingWidth,
				over(5, 5, table.Text(names[i], table.TextStyle)), over(6, 6, table.Num(v, table.TextStyle.In(table.Number(2)))),
				over(7, 7, table.FormulaNum(fmt.Sprintf("%s/%s", cell(6, row), table.At{Column: 6, Row: total}.AbsRow()), share, table.TextStyle.In(table.Percent(1)))))
		})
	}
	pg.add(func(row int) table.Row {
		s := look(table.Total)
		return rowOf(cuttingWidth,
			over(5, 5, table.Text("All stock used", s)), over(6, 6, table.FormulaNum(fmt.Sprintf("SUM(%s:%s)", cell(6, first), cell(6, row-1)), used, s.In(table.Number(2)))),
			over(7, 7, table.FormulaNum(fmt.Sprintf("SUM(%s:%s)", cell(7, first), cell(7, row-1)), 1, s.In(table.Percent(1)))))
	})
}

func (b *book) sheetPlan(pg *pager, cl *estimate.CutList) error {
	plan := cl.Sheets
	b.planHead(pg, cl, plan.Pieces)
	if err := b.sheetPictures(pg, cl); err != nil {
		return err
	}
	pg.heading = func() table.Row { return subhead(clip(cl.Stock, 80)+", continued", 1, cuttingWidth) }
	unit, per := "m²", 1e6
	if b.inch() {
		unit, per = "ft²", mmPerFoot*mmPerFoot
	}
	pg.together(subhead("Layouts", 1, cuttingWidth), crewsHead("", "Sheets", "|How many", "Item", "What each gives ("+b.lengthUnit()+")", "#Kept of each\n("+unit+")", "|Left over is"))
	sheet := 1
	for _, lay := range plan.Layouts {
		pg.rows(table.Row{Cells: []table.Cell{
			table.Text("☐", table.TickStyle), table.Text(numbers(sheet, lay.Count), table.TextStyle), table.Int(lay.Count, table.IntStyle.To(table.Centre)),
			table.Text(legible(stockCode(cl, lay.Sheet)), look(table.Code)), table.Text(b.layoutText(&lay), table.WrapStyle),
			table.Num(float64(keptArea(lay.Cuts))/per, table.TextStyle.In(table.Number(2))), table.Text(b.keptText(lay.Cuts), table.WrapStyle.To(table.Centre)),
		}})
		sheet += lay.Count
	}
	used := 0.0
	for i, n := range plan.SheetsUsed {
		used += float64(n) * float64(cl.Plates[i].W) * float64(cl.Plates[i].H)
	}
	b.cutTotals(pg, unit, used/per, []float64{
		float64(plan.CutArea) / per, float64(plan.KerfArea) / per, float64(plan.TrimArea) / per, float64(plan.KeptArea) / per, float64(plan.ScrapArea) / per,
	})
	return nil
}

// layoutText counts the pieces of a layout by size.
func (b *book) layoutText(lay *cut.Layout) string {
	type size struct{ w, h int }
	count := map[size]int{}
	var order []size
	for _, p := range lay.Parts {
		s := size{p.W, p.H}
		if count[s] == 0 {
			order = append(order, s)
		}
		count[s]++
	}
	var parts []string
	for _, s := range order {
		parts = append(parts, fmt.Sprintf("%d × (%s × %s)", count[s], b.bare(s.w), b.bare(s.h)))
	}
	return strings.Join(parts, " + ")
}

// kept yields the leftovers worth keeping of a layout.
func kept(n *cut.Node, yield func(*cut.Node)) {
	if n == nil {
		return
	}
	if n.Cut == cut.Whole {
		if n.Keep {
			yield(n)
		}
		return
	}
	kept(n.First, yield)
	kept(n.Second, yield)
}

func keptArea(n *cut.Node) (area int64) {
	kept(n, func(n *cut.Node) { area += int64(n.W) * int64(n.H) })
	return area
}

func (b *book) keptText(n *cut.Node) string {
	var parts []string
	kept(n, func(n *cut.Node) { parts = append(parts, "keep "+b.bare(n.W)+" × "+b.bare(n.H)) })
	if len(parts) == 0 {
		return "scrap"
	}
	return strings.Join(parts, ", ")
}

// pieceTable says for every labelled piece which coil or sheet it is cut from,
// in the order in which it is cut.
func (b *book) pieceTable(pg *pager, cl *estimate.CutList, byID map[string]*scope.Repair) {
	unit := b.lengthUnit()
	pg.together(table.Row{Height: 5}, subhead("Labelled pieces, in the order of cutting", 1, cuttingWidth))
	row := func(number, position int, label, what string, at table.Cell, size string) bool {
		pg.rows(table.Row{Cells: []table.Cell{
			table.Text("☐", table.TickStyle), table.Int(number, table.IntStyle.To(table.Left)), table.Int(position, table.IntStyle.To(table.Centre)),
			table.Text(label, table.TextStyle), table.Text(what, table.TextStyle), at, table.Text(size, table.TextStyle.To(table.Right)),
		}, Height: 15.5})
		return !pg.stopped
	}
	whose := func(label string) string {
		id, _, _ := strings.Cut(label, "-")
		if r := byID[id]; r != nil {
			return clip("line "+lineName(r), 46)
		}
		return ""
	}
	if cl.Linear != nil {
		pg.rows(crewsHead("", "Coil", "|Piece no.", "Label", "For", "#Begins at\n("+unit+")", "#Length\n("+unit+")"))
		for _, at := range cl.Linear.Assign(cl.Pieces) {
			begins := table.Num(b.length(float64(at.Offset)), table.TextStyle.In(b.lengthFormat()))
			if !row(at.Coil, at.Position, at.Label, whose(at.Label), begins, b.bare(at.Length)) {
				return
			}
		}
	} else {
		pg.rows(crewsHead("", "Sheet", "|Piece no.", "Label", "For", "#Corner, from lower left\n("+unit+")", "#Size\n("+unit+")"))
		for _, at := range cl.Sheets.Assign(cl.Rects) {
			corner := table.Text(b.bare(at.X)+" ; "+b.bare(at.Y), table.TextStyle.To(table.Right))
			if !row(at.Sheet, at.Position, at.Label, whose(at.Label), corner, b.bare(at.W)+" × "+b.bare(at.H)) {
				return
			}
		}
	}
	pg.heading = nil
}
