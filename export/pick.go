package export

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"wraptally/catalog"
	"wraptally/export/table"
)

// The columns of the pick list. The name lies over three of them, so that the
// list of kits by item below can stand in pairs of kit and quantity.
var pickColumns = widths(5, 11, 18, 13, 13, 13, 8, 10, 12, 10, 10, 8, 10)

const (
	pickWidth   = 13
	pickPairs   = 5 // pairs of kit and quantity in a row, from column B
	pickHeadRow = 2
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
			if items[item].Issue == catalog.LevelKit && qty > 0 {
				sums[item].forKits += qty
				sums[item].kits++
			}
		}
	}
	for _, is := range b.issues() {
		sums[is.Item].forCrews += is.Qty
	}
	if b.complete() {
		for _, t := range b.takes.list {
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

// pickSheet is what leaves the store, shift by shift in the order of the bins, with
// what the campaign takes of each item beside it; below it the lots that are used
// first and those that stay. Which kit takes how much stands on the sheet Kit lines.
func (b *book) pickSheet() *table.Sheet {
	s := &table.Sheet{Name: sheetPick, Columns: pickColumns, Protected: true, Page: b.page(false), FreezeRows: pickHeadRow}
	return paged(s, func(pg *pager) error {
		pg.rows(table.Spread("Pick list", look(table.Title), pickWidth),
			table.Spread(b.pickNote(), look(table.Muted), pickWidth))
		b.pickByDay(pg)
		if b.complete() {
			b.pickLots(pg)
		}
		return nil
	})
}

func (b *book) pickNote() string {
	text := fmt.Sprintf("For %s, shift by shift, each sorted by place in the store; what the whole campaign takes of each item stands beside. Quantities follow the sheets %s and %s; which kit takes how much: filter %[2]s by item.",
		countOf(len(b.part), "kit", "kits"), sheetKitLines, sheetCrews)
	if b.complete() && b.lotsMatter() {
		text += " What is in store already is listed by lot below."
	}
	if !b.complete() {
		text += " Coils and sheets for cutting are taken once for the whole campaign: see the main workbook."
	}
	return text
}

// lotsMatter reports whether lots in store are to be taken or left.
func (b *book) lotsMatter() bool { return len(b.drawnLots())+len(b.passedLots()) > 0 }

// pickLots says which lots in store are used first, which offcuts are cut, and
// which lots must stay where they are.
func (b *book) pickLots(pg *pager) {
	if !b.lotsMatter() {
		return
	}
	type col = table.Col[lot]
	where := col{Title: "From", Style: table.TextStyle, Cell: func(p pen, l lot) {
		if it, ok := b.p.Catalog.Item(l.item); ok && l.place == "" {
			l.place = it.Store
		}
		p.Text(l.place)
	}}
	item := col{Title: "Item", Style: look(table.Code), Cell: func(p pen, l lot) { p.Text(l.item) }}

	const title = "Lots in store: use these first"
	first := table.NewTable[lot](sheetPick)
	first.Add(tickColumn[lot]())
	first.Add(where)
	first.Add(item)
	first.Add(col{Title: "Name", Span: 3, Style: table.WrapStyle, Cell: func(p pen, l lot) { p.Text(l.name) }})
	first.Add(col{Title: "Unit", Style: table.TextStyle, Cell: func(p pen, l lot) { p.Text(l.unit) }})
	first.Add(col{Title: "Lot", Span: 2, Style: table.WrapStyle, Cell: func(p pen, l lot) { p.Text(l.id) }})
	first.Add(col{Title: "Use by", Span: 2, Style: dayStyle, Cell: func(p pen, l lot) { writeDay(p, l.useBy, "no date") }})
	first.Add(col{Title: "At most", Style: shown(table.Number(0)), Cell: func(p pen, l lot) { p.In(decimalsOf(l.taken)).Dec(l.taken) }})
	pg.together(table.Row{}, heading(pickWidth, title), first.Head())
	pg.heading = func() table.Row { return heading(pickWidth, title+", continued") }
	for _, l := range b.lotsAtHand() {
		pg.add(func(row int) table.Row { return first.Row(row, l) })
	}
	pg.heading = nil

	left := table.NewTable[lot](sheetPick)
	left.Add(col{Style: table.TextStyle})
	left.Add(where)
	left.Add(item)
	left.Add(col{Title: "Lot, quantity and why", Span: 9, Style: table.WrapStyle, Cell: func(p pen, l lot) { p.Text(l.name + ": " + l.why) }})
	for i, l := range b.passedLots() {
		if i == 0 {
			pg.together(table.Row{}, heading(pickWidth, "Leave these lots in the store"), left.Head())
		}
		pg.add(func(n int) table.Row {
			row := left.Row(n, l)
			row.Height = pg.height(&row) + 3
			return row
		})
	}
}

// byStore sorts places in the catalogue by where the items lie in the store.
func byStore(items []catalog.Item, list []int) {
	slices.SortFunc(list, func(x, y int) int {
		return cmp.Or(strings.Compare(items[x].Store, items[y].Store), cmp.Compare(x, y))
	})
}
