package export

import (
	"fmt"
	"sort"
	"strconv"

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

// pickSheet is one walk through the store: every item across the kits, for the
// crews and for the cutting bench; below it which kit takes how much.
func (b *book) pickSheet() *table.Sheet {
	picks := b.picks()
	s := &table.Sheet{
		Name: sheetPick, Columns: pickColumns, Protected: true, Page: b.page(false), FreezeRows: pickHeadRow,
	}
	s.Rows = func(yield func(table.Row) bool) {
		pg, t := newPager(pickColumns, s.Page, yield), b.pickTable()
		pg.rows(table.Spread("Pick list", look(table.Title), pickWidth),
			table.Spread(b.pickNote(), look(table.Muted), pickWidth))
		b.pickByDay(pg)
		pg.page()
		pg.rows(heading(pickWidth, "The whole, all shifts together"), t.Head())
		pg.heading = t.Head
		for _, p := range picks {
			pg.add(func(row int) table.Row { return t.Row(row, p) })
		}
		if b.complete() {
			b.pickLots(pg)
		}
		b.pickByKit(pg, picks)
	}
	return s
}

// pickTable declares the list. Quantities follow the sheets that hold them.
func (b *book) pickTable() *table.Table[pick] {
	type col = table.Col[pick]
	items := b.p.Catalog.Items
	text, count := table.TextStyle, table.IntStyle
	no := func(v pick) string { return strconv.Itoa(b.number[items[v.item].Code]) }
	t := table.NewTable[pick](sheetPick)
	t.Add(tickColumn[pick]())
	t.Add(col{Title: "From", Style: text, Cell: func(p pen, v pick) { p.Text(items[v.item].Store) }})
	t.Add(col{Title: "Item", Style: look(table.Code), Cell: func(p pen, v pick) { p.Text(items[v.item].Code) }})
	t.Add(col{Title: "Name", Span: 3, Style: table.WrapStyle, Cell: func(p pen, v pick) { p.Text(items[v.item].Name) }})
	t.Add(col{Title: "Unit", Style: text, Cell: func(p pen, v pick) { p.Text(items[v.item].Unit) }})
	forKits := t.Add(col{Title: "For kits", Style: count, Cell: func(p pen, v pick) { p.By(b.packedSum(no(v))).Num(v.forKits) }})
	t.Add(col{Title: "For crews and campaign", Style: count, Cell: func(p pen, v pick) {
		p.By(sumOf(b.crews.issued.All(), b.crews.no.All(), no(v))).Num(v.forCrews)
	}})
	toCutting := t.Add(col{Title: "For cutting", Style: count, Cell: func(p pen, v pick) {
		if b.complete() && len(b.takes.list) > 0 {
			p.By(sumOf(b.takes.count.All(), b.takes.no.All(), no(v)))
		}
		p.Num(v.toCutting)
	}})
	t.Add(col{Title: "Pick", Style: count, Cell: func(p pen, v pick) {
		p.As(count.As(table.Subtotal)).Formula("SUM(%v:%v)", forKits, toCutting).Num(v.forKits + v.forCrews + v.toCutting)
	}})
	t.Add(col{Title: "Kits", Style: count, Cell: func(p pen, v pick) { p.By(b.packedKits(no(v))).Int(v.kits) }})
	return t
}

func (b *book) pickNote() string {
	text := fmt.Sprintf("For %s, shift by shift, each sorted by place in the store; below it the whole. Quantities follow the sheets %s and %s.",
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
	pg.heading = func() table.Row { return heading(pickWidth, title+", continued") }
	pg.together(table.Row{}, heading(pickWidth, title), first.Head())
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
			if items[item].Issue == catalog.LevelKit && qty > 0 {
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

// byStore sorts places in the catalogue by where the items lie in the store.
func byStore(items []catalog.Item, list []int) {
	sort.SliceStable(list, func(i, j int) bool {
		a, b := &items[list[i]], &items[list[j]]
		if a.Store != b.Store {
			return a.Store < b.Store
		}
		return list[i] < list[j]
	})
}
