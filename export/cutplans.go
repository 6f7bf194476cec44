package export

import (
	"fmt"
	"strings"

	"github.com/shopspring/decimal"

	"wraptally/estimate"
	"wraptally/estimate/cut"
	"wraptally/export/draw"
	"wraptally/export/table"
)

// The sheet Cutting: what to take from the store, the patterns and the labelled
// pieces stand below each other, as tables in the same columns.
const (
	cuttingWidth = 7
	takesHead    = 5 // row of the heads of what to take

	headsRoom = 90 // points, of a table's headings and its first rows
)

var cuttingColumns = widths(5, 12, 11, 19, 50, 13, 13)

// cutTake is a number of coils or sheets of one kind, or of offcuts of one lot,
// that the plans use.
type cutTake struct {
	list, stock, item, count int
}

// takes are what the cutting takes from the store, with the columns that the pick
// list sums up: whole coils and sheets stand under their items, offcuts under
// their lots.
type takes struct {
	list      []cutTake
	rows      *table.Table[cutTake]
	count, no table.Ref
}

func (b *book) newTakes() takes {
	type col = table.Col[cutTake]
	s := takes{list: b.cutTakes(), rows: table.NewTable[cutTake](sheetCutting)}
	add := s.rows.Add
	add(tickColumn[cutTake]())
	add(col{Title: "From", Style: table.TextStyle, Cell: func(p pen, t cutTake) { p.Text(b.takePlace(t)) }})
	s.count = add(col{Title: "How many", Style: table.IntStyle.To(table.Centre), Cell: func(p pen, t cutTake) { p.Int(t.count) }})
	add(col{Title: "Item", Style: look(table.Code), Cell: func(p pen, t cutTake) { p.Text(stockCode(&b.p.Cuts[t.list], t.stock)) }})
	add(col{Title: "Name", Style: table.WrapStyle, Cell: func(p pen, t cutTake) {
		name, _ := b.takeName(t)
		p.Text(name)
	}})
	add(col{Title: "Unit", Style: table.TextStyle, Cell: func(p pen, t cutTake) {
		_, unit := b.takeName(t)
		p.Text(unit)
	}})
	s.no = add(col{Title: itemNo, Style: table.IntStyle.To(table.Centre), Cell: func(p pen, t cutTake) { p.Int(b.number[stockCode(&b.p.Cuts[t.list], t.stock)]) }})
	s.rows.Place(takesHead, len(s.list))
	return s
}

// tickColumn is a column to be ticked by hand.
func tickColumn[T any]() table.Col[T] {
	return table.Col[T]{Width: 5, Style: table.TickStyle, Cell: func(p pen, _ T) { p.Text("☐") }}
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
		for i, n := range cl.Counts() {
			for at := range items {
				if n > 0 && items[at].Code == cl.Items[i] {
					out = append(out, cutTake{l, i, at, n})
				}
			}
		}
	}
	return out
}

// cuttingSheet is for the cutting bench: what to take, how each coil and sheet
// is cut with a drawing to scale, what is left, how good the plan is, and where
// each labelled piece comes from.
func (b *book) cuttingSheet() *table.Sheet {
	return paged(&table.Sheet{Name: sheetCutting, Columns: cuttingColumns, Protected: true, Page: b.page(false), FreezeRows: 2}, b.cuttingLayout)
}

func (b *book) cuttingLayout(pg *pager) error {
	set := &b.p.Catalog.Settings
	pg.rows(table.Spread("Cutting", look(table.Title), cuttingWidth),
		table.Spread(fmt.Sprintf("Of the whole campaign. Saw cut %s in coils and %s in sheets; ends trimmed %s a coil, edges %s a sheet. Deburr every edge; mark each piece with its label at once.",
			b.lengthText(set.CutKerf), b.lengthText(set.SheetKerf), b.lengthText(set.CutTrim), b.lengthText(set.SheetTrim)), look(table.Muted), cuttingWidth),
		table.Row{})
	if len(b.takes.list) == 0 {
		pg.rows(table.Spread("Nothing is cut: no repair holds a leak.", look(table.Muted), cuttingWidth))
		return nil
	}
	pg.rows(heading(cuttingWidth, "Pick from the store"), b.takes.rows.Head())
	for _, t := range b.takes.list {
		pg.add(func(row int) table.Row { return b.takes.rows.Row(row, t) })
	}
	for l := range b.p.Cuts {
		cl := &b.p.Cuts[l]
		pg.room(0.42 * pg.capacity) // its heading and its picture
		pg.rows(table.Row{})
		var err error
		if cl.Linear != nil {
			err = b.coilPlan(pg, cl)
		} else {
			err = b.sheetPlan(pg, cl)
		}
		if err != nil {
			return fmt.Errorf("drawing the cutting of %s: %w", cl.Stock, err)
		}
		b.pieceTable(pg, cl)
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
	reserve := ""
	if n := cl.Reserve(); n > 0 {
		reserve = fmt.Sprintf(" Labelled %s (%s): the allowance for defects found after the survey, left uncut until asked for.", estimate.Reserve, countOf(n, "piece", "pieces"))
	}
	said := decimal.Decimal.String
	if v.Basis == cut.ByCost {
		said = func(d decimal.Decimal) string { return money(d, b.p.Bid.Minor) }
	}
	pg.together(heading(cuttingWidth, legible(cl.Stock)),
		table.Spread(fmt.Sprintf("%s, cut from %s. Counted in %s: %s; no plan is below %s: %s.",
			countOf(pieces, "piece", "pieces"), cl.Used(), what, said(v.Objective), said(v.Bound), cl.Proof())+reserve, table.Style{}, cuttingWidth),
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
	rows := make([]cutAlike, len(plan.Patterns))
	for i, pt := range plan.Patterns {
		cuts := joined(pt.Cuts, " + ", func(c cut.Cut) string { return fmt.Sprintf("%d × %s", c.Count, b.bareUp(float64(c.Length))) })
		rows[i] = cutAlike{pt.Count, pt.Stock, cuts, b.length(float64(pt.Left)), keepWord(pt.Keep, pt.Left)}
	}
	alikeTable(pg, cl, "Patterns", "Coils", "How each is cut ("+b.lengthUnit()+")", table.Col[cutAlike]{Title: "Left of each", Unit: b.lengthUnit(), Style: table.TextStyle.In(b.units().lengths)}, rows)
	used := 0.0
	for i, n := range plan.StocksUsed {
		used += float64(n) * float64(cl.Coils[i].Length)
	}
	b.cutTotals(pg, b.units().along, used, []int64{plan.CutTotal, plan.KerfTotal, plan.TrimTotal, plan.KeptTotal, plan.ScrapTotal})
	return nil
}

// cutAlike is a run of coils or sheets that are cut alike.
type cutAlike struct {
	count, stock int
	how          string
	left         float64
	keep         string
}

// alikeTable lists how the coils or sheets of a plan are cut.
func alikeTable(pg *pager, cl *estimate.CutList, title, what, how string, left table.Col[cutAlike], rows []cutAlike) {
	type col = table.Col[cutAlike]
	t := table.NewTable[cutAlike](sheetCutting)
	first := 1
	t.Add(tickColumn[cutAlike]())
	t.Add(col{Title: what, Style: table.TextStyle, Cell: func(p pen, c cutAlike) { p.Text(numbers(first, c.count)) }})
	t.Add(col{Title: "How many", Style: table.IntStyle.To(table.Centre), Cell: func(p pen, c cutAlike) { p.Int(c.count) }})
	t.Add(col{Title: "Item", Style: look(table.Code), Cell: func(p pen, c cutAlike) { p.Text(stockCode(cl, c.stock)) }})
	t.Add(col{Title: how, Style: table.WrapStyle, Cell: func(p pen, c cutAlike) { p.Text(c.how) }})
	keep := table.TextStyle
	if cl.Linear == nil {
		keep = table.WrapStyle // the sizes of what is kept
	}
	left.Cell = func(p pen, c cutAlike) { p.Num(c.left) }
	t.Add(left)
	t.Add(col{Title: "Left over is", Style: keep.To(table.Centre), Cell: func(p pen, c cutAlike) { p.Text(c.keep) }})
	pg.heading = func() table.Row { return subhead(clip(cl.Stock, 80)+", continued", cuttingWidth) }
	pg.room(headsRoom)
	pg.together(subhead(title, cuttingWidth), t.Head())
	for _, c := range rows {
		pg.add(func(row int) table.Row { return t.Row(row, c) })
		first += c.count
	}
}

// bare is a length without its unit.
func (b *book) bare(mm int) string {
	return b.bareText(float64(mm))
}

// cutTotals shows where all the stock goes, and checks that it adds up.
func (b *book) cutTotals(pg *pager, unit draw.Scale, used float64, parts []int64) {
	used /= unit.Per
	names := []string{"Pieces", "Saw cuts", "Trim", "Left over, kept", "Scrap"}
	rows := len(parts) + 3
	pg.room(float64(rows) * 18)
	pg.rows(table.Row{Height: 5}, rowOf(cuttingWidth, head(5, 5, "Where the stock goes", table.Left),
		head(6, 6, "Amount\n("+unit.Unit+")", table.Right), head(7, 7, "Share", table.Right)))
	first := pg.next
	total := first + len(parts)
	for i, part := range parts {
		v, share := float64(part)/unit.Per, 0.0
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
	unit := b.units().area
	rows := make([]cutAlike, len(plan.Layouts))
	for i := range plan.Layouts {
		lay := &plan.Layouts[i]
		rows[i] = cutAlike{lay.Count, lay.Sheet, b.layoutText(lay), float64(keptArea(lay.Cuts)) / unit.Per, b.keptText(lay.Cuts)}
	}
	alikeTable(pg, cl, "Layouts", "Sheets", "What each gives ("+b.lengthUnit()+")", table.Col[cutAlike]{Title: "Kept of each", Unit: unit.Unit, Style: table.TextStyle.In(table.Number(2))}, rows)
	b.cutsTable(pg, cl)
	used := 0.0
	for i, n := range plan.SheetsUsed {
		used += float64(n) * float64(cl.Plates[i].W) * float64(cl.Plates[i].H)
	}
	b.cutTotals(pg, unit, used, []int64{plan.CutArea, plan.KerfArea, plan.TrimArea, plan.KeptArea, plan.ScrapArea})
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
	return joined(order, " + ", func(s size) string {
		return fmt.Sprintf("%d × (%s × %s)", count[s], b.bareUp(float64(s.w)), b.bareUp(float64(s.h)))
	})
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

// cutPiece is a labelled piece: the coil or sheet it is cut from, its number there,
// where on it, and its size.
type cutPiece struct {
	number, position int
	label            string
	begins           float64 // mm along a coil
	corner           string  // on a sheet
	size             string
}

// pieceTable says for every labelled piece which coil or sheet it is cut from,
// in the order in which it is cut.
func (b *book) pieceTable(pg *pager, cl *estimate.CutList) {
	type col = table.Col[cutPiece]
	unit, right := b.lengthUnit(), table.TextStyle.To(table.Right)
	t := table.NewTable[cutPiece](sheetCutting)
	what, place, size := "Coil", col{Title: "Begins at", Unit: unit, Style: table.TextStyle.In(b.units().lengths), Cell: func(p pen, c cutPiece) {
		if b.inch() { // as on a rule
			p.As(right).Text(b.bareText(c.begins))
			return
		}
		p.Num(c.begins)
	}}, "Length"
	if cl.Linear == nil {
		what, place, size = "Sheet", col{Title: "Corner, from lower left", Unit: unit, Style: right, Cell: func(p pen, c cutPiece) { p.Text(c.corner) }}, "Size"
	}
	t.Add(tickColumn[cutPiece]())
	t.Add(col{Title: what, Style: table.IntStyle.To(table.Left), Cell: func(p pen, c cutPiece) { p.Int(c.number) }})
	t.Add(col{Title: "Piece no.", Style: table.IntStyle.To(table.Centre), Cell: func(p pen, c cutPiece) { p.Int(c.position) }})
	t.Add(col{Title: "Label", Style: table.TextStyle, Cell: func(p pen, c cutPiece) { p.Text(c.label) }})
	t.Add(col{Title: "For", Style: table.TextStyle, Cell: func(p pen, c cutPiece) {
		if at, ok := b.p.Place(c.label); ok {
			if at.Spare > 0 {
				p.Text(fmt.Sprintf("shift %d, spare of %s", b.p.Jobs[at.Job].Shift, b.p.Crews[at.Spare-1].Name))
				return
			}
			p.Text(fmt.Sprintf("shift %d, %s", b.p.Jobs[at.Job].Shift, clip("line "+lineName(b.p.Jobs[at.Job].Repair), 36)))
		}
	}})
	t.Add(place)
	t.Add(col{Title: size, Unit: unit, Style: right, Cell: func(p pen, c cutPiece) { p.Text(c.size) }})

	pg.room(headsRoom)
	pg.rows(table.Row{Height: 5}, subhead(b.orderText(), cuttingWidth), t.Head())
	for _, c := range b.cutPieces(cl) {
		pg.add(func(n int) table.Row {
			row := t.Row(n, c)
			row.Height = 15.5
			return row
		})
		if pg.stopped {
			return
		}
	}
	pg.heading = nil
}

// orderText heads the labelled pieces.
func (b *book) orderText() string {
	if b.p.Catalog.Settings.CutOrder == "shift" {
		return "Labelled pieces, by the shift that needs them first, then by coil or sheet"
	}
	return "Labelled pieces, in the order of cutting"
}

// cutPieces are the pieces of a plan in the order in which they are cut.
func (b *book) cutPieces(cl *estimate.CutList) (out []cutPiece) {
	if cl.Linear != nil {
		for _, at := range b.byShift(cl.Linear.Assign(cl.Pieces), cl.Linear.Kerf) {
			out = append(out, cutPiece{at.Coil, at.Position, at.Label, float64(at.Offset), "", b.bareUp(float64(at.Length))})
		}
		return out
	}
	for _, at := range b.sheetsByShift(cl.Sheets.Assign(cl.Rects)) {
		out = append(out, cutPiece{at.Sheet, at.Position, at.Label, 0, b.bare(at.X) + " ; " + b.bare(at.Y), b.bareUp(float64(at.W)) + " × " + b.bareUp(float64(at.H))})
	}
	return out
}
