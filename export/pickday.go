package export

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"wraptally/catalog"
	"wraptally/estimate"
	"wraptally/export/table"
)

// This file is the part of the pick list that is walked day by day: for each shift
// what leaves the store, in the order of the bins.

// walk is one way through the store: for the cutting bench, or for a crew's shift.
type walk struct {
	title       string
	day         time.Time
	crew, shift int // 0 for the cutting bench
	list        []dayPick
}

// dayPick is an item that is picked on a walk.
type dayPick struct {
	item         int
	kits, others float64 // with the kits; to the crew or the campaign, or to be cut
	lots         string  // where they are known
	from         string  // where it is picked
	all          float64 // what the campaign, or this workbook, takes of it
}

// walks are the ways through the store of this workbook, in the order of days and
// shifts; what is cut goes first.
func (b *book) walks() (out []walk) {
	all := map[int]float64{}
	for _, p := range b.picks() {
		all[p.item] = p.forKits + p.forCrews + p.toCutting
	}
	if w := b.cuttingWalk(); len(w.list) > 0 {
		out = append(out, w)
	}
	type key struct{ crew, shift int }
	issues, here := map[key][]int{}, map[int]bool{}
	for _, n := range b.part {
		here[n] = true
	}
	for i, is := range b.p.Issues {
		if here[is.With] {
			j := &b.p.Jobs[is.With]
			issues[key{j.Crew, j.Shift}] = append(issues[key{j.Crew, j.Shift}], i)
		}
	}
	turns := b.turns()
	slices.SortStableFunc(turns, func(x, y turn) int { return cmp.Or(cmp.Compare(x.shift, y.shift), cmp.Compare(x.crew, y.crew)) })
	for _, t := range turns {
		out = append(out, b.shiftWalk(t, issues[key{t.crew, t.shift}]))
	}
	for i := range out {
		out[i].list = b.inBinOrder(out[i].list)
		for k := range out[i].list {
			out[i].list[k].all = all[out[i].list[k].item]
		}
	}
	return out
}

// shiftWalk is what a crew's shift takes: the kits that are begun in it, and the
// issues that go out with them.
func (b *book) shiftWalk(t turn, issues []int) walk {
	w := walk{title: fmt.Sprintf("Shift %d, %s", t.shift, b.p.Crews[t.crew-1].Name), day: b.job(t.kits[0]).Begun, crew: t.crew, shift: t.shift}
	at, portions := map[int]int{}, map[int][]estimate.Portion{}
	of := func(item int) *dayPick {
		i, ok := at[item]
		if !ok {
			i = len(w.list)
			at[item] = i
			w.list = append(w.list, dayPick{item: item})
		}
		return &w.list[i]
	}
	gets := func(list []estimate.Portion) {
		for _, x := range list {
			if !x.Cut {
				portions[x.Item] = append(portions[x.Item], x)
			}
		}
	}
	for _, k := range t.kits {
		for item, qty := range b.job(k).Lines() {
			if b.p.Catalog.Items[item].Issue == catalog.LevelKit && qty > 0 {
				of(item).kits += qty
			}
		}
		if b.p.Store != nil {
			gets(b.p.Store.Kit(b.part[k]))
		}
	}
	for _, i := range issues {
		of(b.p.Issues[i].Item).others += b.p.Issues[i].Qty
		if b.p.Store != nil {
			gets(b.p.Store.Issue(i))
		}
	}
	for i := range w.list {
		list := merged(portions[w.list[i].item])
		w.list[i].lots, w.list[i].from = b.allotted(list), b.from(w.list[i].item, list)
	}
	return w
}

// cuttingWalk is what goes to the cutting bench before the first shift.
func (b *book) cuttingWalk() (w walk) {
	if !b.complete() {
		return w
	}
	w.title = "For the cutting bench, before the first shift"
	for _, t := range b.takes.list {
		if b.offcut(t) != "" {
			continue // by lot, below
		}
		if i := slices.IndexFunc(w.list, func(p dayPick) bool { return p.item == t.item }); i >= 0 {
			w.list[i].others += float64(t.count)
			continue
		}
		w.list = append(w.list, dayPick{item: t.item, others: float64(t.count)})
	}
	for i := range w.list {
		list := b.given(w.list[i].item)
		w.list[i].lots, w.list[i].from = b.allotted(list), b.from(w.list[i].item, list)
	}
	return w
}

// given are the lots that anything of an item is taken from.
func (b *book) given(item int) (list []estimate.Portion) {
	if b.p.Store == nil {
		return nil
	}
	for i := range b.p.Store.Lots {
		if l := &b.p.Store.Lots[i]; l.Item == b.p.Catalog.Items[item].Code && l.Given.IsPositive() {
			list = append(list, estimate.Portion{Item: item, Lot: i, Quantity: l.Given})
		}
	}
	return list
}

// merged adds up portions of one lot.
func merged(list []estimate.Portion) (out []estimate.Portion) {
	for _, x := range list {
		if i := slices.IndexFunc(out, func(y estimate.Portion) bool { return y.Lot == x.Lot }); i >= 0 {
			out[i].Quantity = out[i].Quantity.Add(x.Quantity)
			continue
		}
		out = append(out, x)
	}
	return out
}

// inBinOrder sorts what is picked by where it lies.
func (b *book) inBinOrder(list []dayPick) []dayPick {
	slices.SortStableFunc(list, func(x, y dayPick) int {
		return cmp.Or(strings.Compare(x.from, y.from), cmp.Compare(x.item, y.item))
	})
	return list
}

// walkTable declares the list of a walk.
func (b *book) walkTable(w *walk) *table.Table[dayPick] {
	type col = table.Col[dayPick]
	items := b.p.Catalog.Items
	text, count, fill := table.TextStyle, table.IntStyle, look(table.FillIn)
	t := table.NewTable[dayPick](sheetPick)
	t.Add(tickColumn[dayPick]())
	t.Add(col{Title: "From", Style: text, Cell: func(p pen, v dayPick) { p.Text(v.from) }})
	t.Add(col{Title: "Item", Style: look(table.Code), Cell: func(p pen, v dayPick) { p.Text(items[v.item].Code) }})
	t.Add(col{Title: "Name", Span: 3, Style: table.WrapStyle, Cell: func(p pen, v dayPick) { p.Text(items[v.item].Name) }})
	t.Add(col{Title: "Pick", Style: count.As(table.Subtotal), Cell: func(p pen, v dayPick) {
		if v.kits > 0 && w.crew > 0 {
			p.By(b.walkSum(w, &v))
		}
		p.Num(v.kits + v.others)
	}})
	t.Add(col{Title: "Unit", Style: text, Cell: func(p pen, v dayPick) { p.Text(items[v.item].Unit) }})
	t.Add(col{Title: "Lot, use by", Span: 2, Style: fill, Cell: func(p pen, v dayPick) {
		if v.lots != "" {
			p.As(table.WrapStyle).Text(v.lots)
		}
	}})
	t.Add(col{Title: "Picked", Style: fill})
	t.Add(col{Title: "Short", Style: fill})
	t.Add(col{Title: "Campaign", Style: count, Cell: func(p pen, v dayPick) { p.By(b.wholeSum(v.item)).Num(v.all) }})
	return t
}

// walkSum is the formula of what is picked of an item for a crew's shift: what is
// packed with its kits, and what goes out beside them.
func (b *book) walkSum(w *walk, v *dayPick) string {
	l := b.lines
	sum := fmt.Sprintf("SUMIFS(%s,%s,%d,%s,%q,%s,%d,%s,%d)", l.issued.All(), l.no.All(), v.item+1, l.level.All(), catalog.LevelKit, l.crew.All(), w.crew, l.shift.All(), w.shift)
	if v.others > 0 {
		sum += "+" + strconv.FormatFloat(v.others, 'f', -1, 64)
	}
	return sum
}

// wholeSum is the formula of what all shifts and the cutting take of an item.
func (b *book) wholeSum(item int) string {
	no := strconv.Itoa(item + 1)
	sum := b.packedSum(no) + "+" + sumOf(b.crews.issued.All(), b.crews.no.All(), no)
	if b.complete() && len(b.takes.list) > 0 {
		sum += "+" + sumOf(b.takes.count.All(), b.takes.no.All(), no)
	}
	return sum
}

// pickByDay lists walk by walk what is picked, in the order of the bins.
func (b *book) pickByDay(pg *pager) {
	for _, w := range b.walks() {
		t := b.walkTable(&w)
		title := w.title
		if !w.day.IsZero() {
			title += ", " + day(w.day)
		}
		pg.together(table.Row{Height: 4}, heading(pickWidth, title), t.Head())
		pg.heading = func() table.Row { return heading(pickWidth, title+", continued") }
		for _, v := range w.list {
			pg.add(func(n int) table.Row {
				return oneLine(pickColumns, t.Row(n, v), 14.5)
			})
		}
		pg.heading = nil
	}
}
