package export

import (
	"math"

	"wraptally/export/table"
)

// The columns of the sheet Kit lines.
const (
	kitLineKit    = 1
	kitLineArea   = 2
	kitLineLine   = 3
	kitLineCrew   = 4
	kitLineShift  = 5
	kitLineItem   = 6
	kitLineName   = 7
	kitLineUnit   = 8
	kitLineNet    = 9
	kitLineIssued = 10
	kitLineLevel  = 11
	kitLineRule   = 12
)

var kitLineColumns = []table.Column{
	kitLineKit - 1:    {Title: "Kit", Width: 9, Style: table.TextStyle},
	kitLineArea - 1:   {Title: "Area", Width: 16, Style: table.TextStyle},
	kitLineLine - 1:   {Title: "Line", Width: 16, Style: table.TextStyle},
	kitLineCrew - 1:   {Title: "Crew", Width: 6, Style: table.IntStyle},
	kitLineShift - 1:  {Title: "Shift", Width: 6, Style: table.IntStyle},
	kitLineItem - 1:   {Title: "Item", Width: 17, Style: table.Style{Look: table.Code}},
	kitLineName - 1:   {Title: "Name", Width: 40, Style: table.TextStyle},
	kitLineUnit - 1:   {Title: "Unit", Width: 8, Style: table.TextStyle},
	kitLineNet - 1:    {Title: "Asked for", Unit: "units", Width: 11, Style: shown(table.Number(3))},
	kitLineIssued - 1: {Title: "Packed", Unit: "units", Width: 11, Style: given(table.Number(0))},
	kitLineLevel - 1:  {Title: "Issued whole to", Width: 11, Style: table.TextStyle},
	kitLineRule - 1:   {Title: "Asked for by", Width: 28, Style: table.TextStyle},
}

// lastKitLine is the last row of the sheet Kit lines, at least one below its
// head so that ranges over it are never empty.
func (b *book) lastKitLine() int {
	last := kitLinesHead + 1
	if n := len(b.part); n > 0 {
		last = max(last, b.firstLine[n-1]+b.lineCount[n-1]-1)
	}
	return last
}

// kitLinesSheet is the single home of packed quantities: a line a kit and item.
// What is issued whole with the kit is an input; what is issued to a crew or to
// the campaign is shown as asked for, and is rounded up there.
func (b *book) kitLinesSheet() *table.Sheet {
	n := len(kitLineColumns)
	s := &table.Sheet{
		Name: sheetKitLines, Columns: kitLineColumns, FreezeRows: kitLinesHead, FreezeColumns: 1, Protected: true, Page: b.page(true),
		TitleRows: table.Span{First: kitLinesHead, Last: kitLinesHead},
		Filter:    table.Cells(1, kitLinesHead, n, b.lastKitLine()),
		Validations: []table.Validation{{
			Area: table.Cells(kitLineIssued, kitLinesHead+1, kitLineIssued, b.lastKitLine()), Min: 0, Max: math.Inf(1),
			Title: "Packed", Prompt: "How many go into the kit. Order and cost follow.", Complaint: "A quantity of zero or more.",
		}},
	}
	s.Rows = func(yield func(table.Row) bool) {
		_ = yield(table.Spread("Kit lines", look(table.Title), n)) &&
			yield(table.Spread("Every item of every kit. A packed quantity (marked ») may be changed here and only here: kit pages, order and cost follow it.", look(table.Muted), n)) &&
			yield(table.Row{}) && yield(table.HeadRow(kitLineColumns)) && b.yieldKitLines(yield)
	}
	return s
}

func (b *book) yieldKitLines(yield func(table.Row) bool) bool {
	cells := make([]table.Cell, len(kitLineColumns))
	for k := range b.part {
		kit, v := b.kits[k], b.visit(k)
		for _, l := range kit.Lines {
			c := cells
			c[kitLineKit-1] = linkTo(kit.Repair.ID, sheetRepairs, 1, repairRow(b.p.Counted[b.part[k]]), table.TextStyle)
			c[kitLineArea-1] = table.Text(legible(kit.Repair.Area), table.TextStyle)
			c[kitLineLine-1] = table.Text(legible(kit.Repair.Line), table.TextStyle)
			c[kitLineCrew-1] = table.Int(v.Crew, table.IntStyle)
			c[kitLineShift-1] = table.Int(v.Shift, table.IntStyle)
			c[kitLineItem-1] = table.Text(legible(l.Item.Code), look(table.Code))
			c[kitLineName-1] = table.Text(legible(l.Item.Name), table.TextStyle)
			c[kitLineUnit-1] = table.Text(legible(l.Item.Unit), table.TextStyle)
			c[kitLineNet-1] = table.Num(l.Net, shown(table.Number(3)))
			c[kitLineIssued-1] = table.Num(l.Qty, given(table.Number(0)))
			if l.Item.Issue != levelKit {
				c[kitLineIssued-1] = table.Num(l.Qty, shown(table.Number(3)))
			}
			c[kitLineLevel-1] = table.Text(l.Item.Issue, table.TextStyle)
			c[kitLineRule-1] = table.Text(legible(l.Rule), table.TextStyle)
			if b.elsewhere() {
				c[kitLineKit-1] = table.Text(kit.Repair.ID, table.TextStyle)
			}
			if !yield(table.Row{Cells: c}) {
				return false
			}
		}
	}
	return true
}

// levelKit is the level of issue of what is packed whole with each kit.
const levelKit = "kit"
