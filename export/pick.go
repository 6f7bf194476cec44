package export

import (
	"fmt"

	"github.com/shopspring/decimal"

	"wraptally/export/table"
)

// The columns of the pick list. The name lies over three of them, so that the
// list of kits by item below can stand in pairs of kit and quantity.
var pickColumns = []table.Column{
	{Title: "", Width: 5},
	{Title: "From", Width: 11},
	{Title: "Item", Width: 18},
	{Title: "Name", Width: 13},
	{Title: "", Width: 13},
	{Title: "", Width: 13},
	{Title: "Unit", Width: 8},
	{Title: "For kits", Width: 10, Style: table.IntStyle},
	{Title: "For crews and campaign", Width: 12, Style: table.IntStyle},
	{Title: "For cutting", Width: 10, Style: table.IntStyle},
	{Title: "Take", Width: 10, Style: table.IntStyle},
	{Title: "Kits", Width: 8, Style: table.IntStyle},
}

const (
	pickWidth    = 12
	pickPairs    = 5 // pairs of kit and quantity in a row, from column B
	pickKits     = 8 // H
	pickCrews    = 9
	pickCutting  = 10
	pickTake     = 11
	pickHeadRow  = 4
	pickNameFrom = 4
	pickNameTo   = 6
)

// pick is one item of the pick list.
type pick struct {
	item, kits                   int
	forKits, forCrews, toCutting float64
}

// picks are the items that go out of the store, sorted by where they lie.
func (b *book) picks() []pick {
	items := b.p.Catalog.Items
	sums := make([]pick, len(items))
	for k := range b.part {
		for item, qty := range b.job(k).Lines() {
			if items[item].Issue == levelKit && qty > 0 {
				sums[item].forKits += qty
				sums[item].kits++
			}
		}
	}
	for _, is := range b.issues() {
		sums[is.Item].forCrews += is.Qty
	}
	if b.complete() {
		for _, t := range b.cutTakes() {
			if b.offcut(t) == "" { // offcuts are listed by lot
				sums[t.item].toCutting += float64(t.count)
			}
		}
	}
	var list []int
	for i := range sums {
		sums[i].item = i
		if sums[i].forKits+sums[i].forCrews+sums[i].toCutting > 0 {
			list = append(list, i)
		}
	}
	byStore(items, list)
	out := make([]pick, len(list))
	for i, at := range list {
		out[i] = sums[at]
	}
	return out
}

// pickSheet is one walk through the store: every item across the kits, for the
// crews and for the cutting bench; below it which kit takes how much.
func (b *book) pickSheet() *table.Sheet {
	picks := b.picks()
	s := &table.Sheet{
		Name: sheetPick, Columns: pickColumns, Protected: true, Page: b.page(false), FreezeRows: pickHeadRow,
	}
	s.Rows = func(yield func(table.Row) bool) {
		pg := newPager(pickColumns, s.Page, yield)
		pg.rows(table.Spread("Pick list", look(table.Title), pickWidth),
			table.Spread(b.pickNote(), look(table.Muted), pickWidth), table.Row{}, pickHead())
		pg.heading = pickHead
		for i := range picks {
			pg.add(func(row int) table.Row { return b.pickLine(&picks[i], row) })
		}
		if b.complete() {
			b.pickLots(pg)
		}
		b.pickByKit(pg, picks)
	}
	return s
}

func (b *book) pickNote() string {
	text := fmt.Sprintf("For %s, sorted by place in the store. Quantities follow the sheets %s and %s.",
		countOf(len(b.part), "kit", "kits"), sheetKitLines, sheetCrews)
	if b.complete() && b.lotsMatter() {
		text += " What is in store already is listed by lot below."
	}
	if !b.complete() {
		text += " Coils and sheets for cutting are taken once for the whole campaign: see the main workbook."
	}
	return text
}

func pickHead() table.Row {
	row := table.HeadRow(pickColumns)
	row.Merge = []table.Span{{First: pickNameFrom, Last: pickNameTo}}
	return row
}

func (b *book) pickLine(p *pick, row int) table.Row {
	it := &b.p.Catalog.Items[p.item]
	code := cell(3, row)
	toCutting := table.Num(p.toCutting, table.IntStyle)
	if b.complete() && len(b.cutTakes()) > 0 {
		toCutting = table.FormulaNum(b.sumOf(b.cutTakeColumn(cutTakeCount), b.cutTakeColumn(cutTakeItem), code), p.toCutting, table.IntStyle)
	}
	return rowOf(pickWidth,
		over(1, 1, table.Text("☐", table.TickStyle)),
		over(2, 2, table.Text(legible(it.Store), table.TextStyle)),
		over(3, 3, table.Text(legible(it.Code), look(table.Code))),
		over(pickNameFrom, pickNameTo, table.Text(legible(it.Name), table.WrapStyle)),
		over(7, 7, table.Text(legible(it.Unit), table.TextStyle)),
		over(pickKits, pickKits, table.FormulaNum(b.packedSum(code), p.forKits, table.IntStyle)),
		over(pickCrews, pickCrews, table.FormulaNum(b.sumOf(b.crews.issued.All(), b.crews.item.All(), code), p.forCrews, table.IntStyle)),
		over(pickCutting, pickCutting, toCutting),
		over(pickTake, pickTake, table.FormulaNum(fmt.Sprintf("SUM(%s:%s)", cell(pickKits, row), cell(pickCutting, row)),
			p.forKits+p.forCrews+p.toCutting, table.IntStyle.As(table.Subtotal))),
		over(12, 12, table.FormulaNum(b.packedKits(code), float64(p.kits), table.IntStyle)))
}

// lotsMatter reports whether lots in store are to be taken or left.
func (b *book) lotsMatter() bool {
	for _, o := range b.p.Orders {
		if len(o.Draws)+len(o.Passed) > 0 {
			return true
		}
	}
	for _, t := range b.cutTakes() {
		if b.offcut(t) != "" {
			return true
		}
	}
	return false
}

// pickLots says which lots in store are used first, which offcuts are cut, and
// which lots must stay where they are. Take of a lot may exceed what the kits
// take, since it covers the allowance for growth also.
func (b *book) pickLots(pg *pager) {
	if !b.lotsMatter() {
		return
	}
	const title = "Lots in store: use these first"
	lotHead := func() table.Row {
		return rowOf(pickWidth, head(1, 1, "", table.Left), head(2, 2, "From", table.Left), head(3, 3, "Item", table.Left),
			head(pickNameFrom, pickNameTo, "Name", table.Left), head(7, 7, "Unit", table.Left), head(8, 9, "Lot", table.Left),
			head(10, 11, "Use by", table.Left), head(12, 12, "Up to", table.Right))
	}
	lot := func(from, item, name, unit, id string, useBy table.Cell, n decimal.Decimal) {
		pg.rows(rowOf(pickWidth,
			over(1, 1, table.Text("☐", table.TickStyle)), over(2, 2, table.Text(legible(from), table.TextStyle)),
			over(3, 3, table.Text(legible(item), look(table.Code))), over(pickNameFrom, pickNameTo, table.Text(legible(name), table.WrapStyle)),
			over(7, 7, table.Text(legible(unit), table.TextStyle)), over(8, 9, table.Text(legible(id), table.WrapStyle)),
			over(10, 11, useBy), over(12, 12, table.Dec(n, shown(quantityFormat(n.InexactFloat64()))))))
	}
	pg.heading = func() table.Row { return heading(pickWidth, title+", continued") }
	pg.together(table.Row{}, heading(pickWidth, title), lotHead())
	noDate := table.Text("no date", table.TextStyle)
	for i, o := range b.p.Orders {
		it := b.p.Needs[i].Item
		for _, d := range o.Draws {
			useBy, from := noDate, d.Lot.Location
			if !d.UseBy.IsZero() {
				useBy = table.Day(d.UseBy, dayStyle)
			}
			if from == "" {
				from = it.Store
			}
			lot(from, it.Code, it.Name, it.Unit, d.Lot.ID, useBy, d.Quantity)
		}
	}
	for _, t := range b.cutTakes() {
		if id := b.offcut(t); id != "" {
			name, unit := b.takeName(t)
			lot(b.takePlace(t), b.p.Catalog.Items[t.item].Code, name, unit, id, noDate, decimal.NewFromInt(int64(t.count)))
		}
	}
	first := true
	for i, o := range b.p.Orders {
		it := b.p.Needs[i].Item
		for _, left := range o.Passed {
			from := left.Lot.Location
			if from == "" {
				from = it.Store
			}
			if first {
				pg.heading = nil
				pg.together(table.Row{}, heading(pickWidth, "Leave these lots in the store"), rowOf(pickWidth, head(1, 1, "", table.Left),
					head(2, 2, "From", table.Left), head(3, 3, "Item", table.Left), head(pickNameFrom, pickWidth, "Lot, quantity and why", table.Left)))
				first = false
			}
			row := rowOf(pickWidth,
				over(1, 1, table.Empty(table.TextStyle)), over(2, 2, table.Text(legible(from), table.TextStyle)),
				over(3, 3, table.Text(legible(it.Code), look(table.Code))),
				over(pickNameFrom, pickWidth, table.Text(legible(it.Name+": "+left.String()), table.WrapStyle)))
			h, _ := table.RowHeight(pickColumns, &row)
			row.Height = h + 3
			pg.rows(row)
		}
	}
	pg.heading = nil
}

// pickByKit lists for each item which kit takes how much, several kits a row.
func (b *book) pickByKit(pg *pager, picks []pick) {
	type take struct {
		kit, line int
		qty       float64
	}
	takes := make(map[int][]take)
	items := b.p.Catalog.Items
	for k := range b.part {
		j := 0
		for item, qty := range b.job(k).Lines() {
			if items[item].Issue == levelKit && qty > 0 {
				takes[item] = append(takes[item], take{k, j, qty})
			}
			j++
		}
	}
	if len(takes) == 0 {
		return
	}
	const title = "Which kit takes how much"
	pg.page()
	pg.rows(heading(pickWidth, title))
	pg.heading = func() table.Row { return heading(pickWidth, title+", continued") }
	for _, p := range picks {
		list := takes[p.item]
		if len(list) == 0 {
			continue
		}
		it := &items[p.item]
		pg.room(3 * 18)
		pg.rows(rowOf(pickWidth,
			over(1, 1, table.Empty(look(table.Group))), over(2, 2, table.Text(legible(it.Store), look(table.Group))),
			over(3, 3, table.Text(legible(it.Code), look(table.Group))),
			over(4, 10, table.Text(legible(it.Name), look(table.Group))), over(11, 12, table.Text(legible(it.Unit), look(table.Group)))))
		for at := 0; at < len(list); at += pickPairs {
			var spans []laid
			for i := at; i < min(at+pickPairs, len(list)); i++ {
				t, column := list[i], 2+2*(i-at)
				spans = append(spans,
					over(column, column, table.Text(b.repair(t.kit).ID, table.TextStyle.To(table.Right))),
					over(column+1, column+1, table.FormulaNum(b.issuedCell(t.kit, t.line), t.qty, table.IntStyle.To(table.Left))))
			}
			pg.rows(rowOf(pickWidth, spans...))
		}
	}
}
