package export

import (
	"fmt"
	"math"

	"wraptally/export/table"
)

var mixingColumns = []table.Column{
	{Title: "", Width: 5},
	{Title: "Kit", Width: 11, Style: table.TextStyle},
	{Title: "Line", Width: 24, Style: table.TextStyle},
	{Title: "Crew", Width: 7, Style: table.IntStyle},
	{Title: "Shift", Width: 7, Style: table.IntStyle},
	{Title: "Pipe", Unit: "°C", Width: 7, Style: table.IntStyle},
	{Title: "Batch", Width: 10, Style: table.TextStyle.To(table.Centre)},
	{Title: "Packs", Width: 48, Style: table.TextStyle},
	{Title: "Mix", Unit: "g", Width: 10, Style: table.IntStyle},
	{Title: "Use within", Unit: "min", Width: 9, Style: table.IntStyle},
	{Title: "Waste", Unit: "g", Width: 9, Style: table.IntStyle},
	{Title: "Mixed at", Width: 11, Style: table.TextStyle.To(table.Centre)},
	{Title: "By", Width: 11, Style: table.TextStyle.To(table.Centre)},
}

const (
	mixingHeadRow = 4
	mixingMass    = 9
	mixingWaste   = 11
)

// mixingSheet lists every batch of every kit of this workbook, to be filled in
// when it is mixed.
func (b *book) mixingSheet() *table.Sheet {
	n := len(mixingColumns)
	s := &table.Sheet{
		Name: sheetMixing, Columns: mixingColumns, Protected: true, Page: b.page(true), FreezeRows: mixingHeadRow, FreezeColumns: 2,
		TitleRows: table.Span{First: mixingHeadRow, Last: mixingHeadRow},
	}
	s.Rows = func(yield func(table.Row) bool) {
		set := &b.p.Catalog.Settings
		pg := newPager(mixingColumns, s.Page, yield)
		pg.capacity = math.Inf(1) // one table: the heads are repeated by the program that prints
		pg.rows(table.Spread("Mixing", look(table.Title), n),
			table.Spread(fmt.Sprintf("Each batch is mixed about %s min and used within the minutes shown, counted from the end of mixing; %s min are kept in hand. "+
				"Minutes hold at the temperature of the pipe: on a hotter pipe see the kit's page.", trimmed(set.MixTime, 1), trimmed(set.MixReserve, 1)), look(table.Muted), n),
			table.Row{}, table.HeadRow(mixingColumns))
		mass, waste, count := 0.0, 0.0, 0
		for k := range b.part {
			if pg.stopped {
				return
			}
			kt, v := b.kits[k], b.job(k)
			for i := range kt.Putty.Batches {
				batch := &kt.Putty.Batches[i]
				mass, waste, count = mass+grams(batch.Mass), waste+grams(batch.Waste), count+1
				fill := table.Empty(look(table.FillIn))
				pg.rows(table.Row{Cells: []table.Cell{
					table.Text("☐", table.TickStyle),
					table.Link(kt.Repair.ID, b.kitTarget(k), table.TextStyle),
					table.Text(fitLines(lineName(kt.Repair), mixingColumns[2].Width, 2), table.WrapStyle),
					table.Int(v.Crew, table.IntStyle), table.Int(v.Shift, table.IntStyle),
					table.Num(kt.Putty.Temp, table.TextStyle.In(quantityFormat(kt.Putty.Temp))),
					table.Text(fmt.Sprintf("%d of %d", i+1, len(kt.Putty.Batches)), table.TextStyle.To(table.Centre)),
					table.Text(legible(packsText(batch)), table.WrapStyle),
					table.Num(grams(batch.Mass), table.IntStyle),
					table.Int(minutesDown(batch.Minutes), table.IntStyle),
					table.Num(grams(batch.Waste), table.IntStyle),
					fill, fill,
				}})
			}
		}
		last := pg.next - 1
		s.Filter = table.Cells(1, mixingHeadRow, n, max(last, mixingHeadRow))
		total := look(table.Total)
		sum := func(column int, value float64) laid {
			return over(column, column, table.FormulaNum(fmt.Sprintf("SUM(%s:%s)", cell(column, mixingHeadRow+1), cell(column, last)), value, total.In(table.Number(0))))
		}
		pg.rows(rowOf(n, over(1, 8, table.Text(countOf(count, "batch", "batches"), total)), sum(mixingMass, mass),
			over(10, 10, table.Empty(total)), sum(mixingWaste, waste), over(12, n, table.Empty(total))))
	}
	return s
}
