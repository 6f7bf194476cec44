package export

import (
	"fmt"

	"wraptally/estimate/kit"
	"wraptally/export/table"
)

// mixed is a row of the sheet Mixing: the n-th batch of a kit of this workbook,
// from 0.
type mixed struct {
	k, n  int
	kit   *kit.Kit
	batch *kit.Batch
}

// mixingTable declares the sheet.
func (b *book) mixingTable() *table.Table[mixed] {
	type col = table.Col[mixed]
	const lineWidth = 24
	count, centred := table.IntStyle, table.TextStyle.To(table.Centre)
	t := table.NewTable[mixed](sheetMixing)
	t.Add(col{Width: 5, Style: table.TickStyle, Cell: func(p pen, _ mixed) { p.Text("☐") },
		Foot: func(p pen) { p.Text(countOf(t.Last()-t.HeadRow(), "batch", "batches")) }})
	t.Add(col{Title: "Kit", Width: nameWidth, Style: table.WrapStyle, Cell: func(p pen, m mixed) { p.Link(m.kit.Repair.ID, b.kitTarget(m.k)) }})
	t.Add(col{Title: "Line", Width: lineWidth, Style: table.WrapStyle, Cell: func(p pen, m mixed) { p.Text(fitLines(lineName(m.kit.Repair), lineWidth, 2)) }})
	t.Add(col{Title: "Crew", Width: 7, Style: count, Cell: func(p pen, m mixed) { p.Int(b.job(m.k).Crew) }})
	t.Add(col{Title: "Shift", Width: 7, Style: count, Cell: func(p pen, m mixed) { p.Int(b.job(m.k).Shift) }})
	t.Add(col{Title: "Hotter of air and pipe", Unit: b.tempUnit(), Width: 7, Style: count, Cell: func(p pen, m mixed) {
		at := b.temp(m.kit.Putty.Temp)
		p.In(quantityFormat(at)).Num(at)
	}})
	t.Add(col{Title: "Batch", Width: 10, Style: centred, Cell: func(p pen, m mixed) { p.Text(fmt.Sprintf("%d of %d", m.n+1, len(m.kit.Putty.Batches))) }})
	t.Add(col{Title: "Packs", Width: 48, Style: table.WrapStyle, Cell: func(p pen, m mixed) { p.Text(b.packsText(m.batch)) }})
	t.Add(col{Title: "Mix", Unit: "g", Width: 10, Style: count, Sums: true, Cell: func(p pen, m mixed) { p.Num(grams(m.batch.Mass)) }})
	t.Add(col{Title: "Use within", Unit: "min", Width: 9, Style: count, Cell: func(p pen, m mixed) { p.Int(minutesDown(m.batch.Minutes)) }})
	t.Add(col{Title: "Waste", Unit: "g", Width: 9, Style: count, Sums: true, Cell: func(p pen, m mixed) { p.Num(grams(m.batch.Waste)) }})
	for _, byHand := range []string{"Mixed at", "By"} {
		t.Add(col{Title: byHand, Width: 11, Style: look(table.FillIn).To(table.Centre)})
	}
	return t
}

// mixingSheet lists every batch of every kit of this workbook, to be filled in
// when it is mixed.
func (b *book) mixingSheet() *table.Sheet {
	set, t := &b.p.Catalog.Settings, b.mixingTable()
	l := newLeaf(sheetMixing, "Mixing", fmt.Sprintf("Each batch is mixed about %s min and used within the minutes shown, counted from the end of mixing; %s min are kept in hand. "+
		"Minutes hold at the hotter of air and pipe: where it is hotter or colder see the kit's page.", trimmed(set.MixTime, 1), trimmed(set.MixReserve, 1)), t.Columns())
	l.Blank(1)
	batches := b.batches()
	begin(l, t, len(batches))
	s := l.headed(b.page(true), 2)
	s.Protected, s.Filter = true, t.Area()
	s.Rows = inTurn(then(l, t, batches), func(yield func(table.Row) bool) { yield(t.Foot(table.Total)) })
	return s
}

// batches are those of every kit, in the order of the kits.
func (b *book) batches() (out []mixed) {
	for k, kt := range b.kits {
		for n := range kt.Putty.Batches {
			out = append(out, mixed{k, n, kt, &kt.Putty.Batches[n]})
		}
	}
	return out
}
