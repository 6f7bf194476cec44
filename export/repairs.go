package export

import (
	"strings"

	"wraptally/estimate/scope"
	"wraptally/estimate/trace"
	"wraptally/export/table"
)

// The columns of the sheet Repairs.
const (
	repairID     = 1
	repairArea   = 2
	repairLine   = 3
	repairFrom   = 4
	repairTo     = 5
	repairOD     = 6
	repairSize   = 7
	repairKind   = 8
	repairStatus = 9
	repairRows   = 10
	repairLayers = 11
	repairPasses = 12
	repairWrap   = 13
	repairLength = 14
	repairMethod = 15
	repairReason = 16

	repairCrew      = 17
	repairShift     = 18
	repairMass      = 19
	repairMinutes   = 20
	repairMaterials = 21
	repairLabour    = 22
	repairAccess    = 23
	repairOther     = 24
	repairTotal     = 25
	repairKit       = 26
	repairCost      = 27
	repairWorking   = 28
)

// repairsHead is the number of rows above the first repair.
const repairsHead = 4

// repairRow is the row of a repair on the sheet Repairs.
func repairRow(i int) int { return repairsHead + 1 + i }

func (d *desk) repairColumns() []table.Column {
	length := shown(d.lengthFormat())
	money, unit := shown(d.money()), d.p.Bid.Currency
	return []table.Column{
		repairID - 1:        {Title: "Repair", Width: 9, Style: table.TextStyle},
		repairArea - 1:      {Title: "Area", Width: 15, Style: table.WrapStyle},
		repairLine - 1:      {Title: "Line", Width: 15, Style: table.WrapStyle},
		repairFrom - 1:      {Title: "From", Unit: "m", Width: 10, Style: shown(table.Number(3))},
		repairTo - 1:        {Title: "To", Unit: "m", Width: 10, Style: shown(table.Number(3))},
		repairSize - 1:      {Title: "Size", Width: 8, Style: unitStyle},
		repairOD - 1:        {Title: "Outside diameter", Unit: d.lengthUnit(), Width: 10, Style: shown(d.odFormat())},
		repairKind - 1:      {Title: "Kind", Width: 15, Style: table.WrapStyle},
		repairStatus - 1:    {Title: "Status", Width: 13, Style: table.WrapStyle},
		repairRows - 1:      {Title: "Survey rows", Width: 16, Style: table.WrapStyle},
		repairLayers - 1:    {Title: "Layers", Width: 7, Style: table.IntStyle},
		repairPasses - 1:    {Title: "Passes", Width: 7, Style: table.IntStyle},
		repairWrap - 1:      {Title: "Wrap", Unit: d.lengthUnit(), Width: 8, Style: shown(d.odFormat())},
		repairLength - 1:    {Title: "Length", Unit: d.lengthUnit(), Width: 9, Style: length},
		repairMethod - 1:    {Title: "Layers by", Width: 22, Style: table.WrapStyle},
		repairReason - 1:    {Title: "Left out because", Width: 40, Style: table.WrapStyle},
		repairCrew - 1:      {Title: "Crew", Width: 6, Style: table.IntStyle},
		repairShift - 1:     {Title: "Shift", Width: 6, Style: table.IntStyle},
		repairMass - 1:      {Title: "Kit", Unit: "kg", Width: 8, Style: shown(table.Number(1))},
		repairMinutes - 1:   {Title: "Time", Unit: "min", Width: 8, Style: shown(table.Number(0))},
		repairMaterials - 1: {Title: "Materials", Unit: unit, Width: 12, Style: money},
		repairLabour - 1:    {Title: "Labour", Unit: unit, Width: 12, Style: money},
		repairAccess - 1:    {Title: "Access", Unit: unit, Width: 12, Style: money},
		repairOther - 1:     {Title: "Other", Unit: unit, Width: 12, Style: money},
		repairTotal - 1:     {Title: "Total with tax", Unit: unit, Width: 13, Style: money},
		repairKit - 1:       {Title: "Kit page", Width: 10, Style: unitStyle},
		repairCost - 1:      {Title: "Cost", Width: 8, Style: unitStyle},
		repairWorking - 1:   {Title: "Working", Width: 10, Style: unitStyle},
	}
}

// odFormat shows diameters and thicknesses, which are measured finer than
// lengths along the pipe.
func (b *book) odFormat() table.Format {
	if b.inch() {
		return table.Number(3)
	}
	return table.Number(1)
}

// repairsSheet has a row a repair, those left out included.
func (d *desk) repairsSheet() *table.Sheet {
	columns := d.repairColumns()
	n, last := len(columns), repairsHead+max(1, len(d.p.Repairs))
	s := &table.Sheet{
		Name: sheetRepairs, Columns: columns, FreezeRows: repairsHead, FreezeColumns: 1, Page: d.page(true),
		TitleRows: table.Span{First: repairsHead, Last: repairsHead}, TitleColumns: table.Span{First: 1, Last: 1},
		Filter: table.Cells(1, repairsHead, n, last),
		Conditions: []table.Condition{{
			Area:    table.Cells(repairStatus, repairsHead+1, repairStatus, last),
			Formula: cell(repairStatus, repairsHead+1) + `<>"` + string(scope.Estimated) + `"`, Show: table.Alert,
		}},
	}
	s.Page.FitWide = 2
	s.Rows = func(yield func(table.Row) bool) {
		_ = yield(besideTitle("Repairs", look(table.Title))) &&
			yield(besideTitle("In the order of area, line and chainage. Shares of cost are as estimated and do not follow changes of prices or quantities; they add up to the bid with tax exactly.", look(table.Muted))) &&
			yield(table.Row{}) && yield(table.HeadRow(columns)) && d.yieldRepairs(columns, yield)
	}
	return s
}

// besideTitle is a row of one text in the second column: the first is repeated on
// every printed page.
func besideTitle(text string, s table.Style) table.Row {
	return table.Row{Cells: []table.Cell{{}, table.Text(text, s)}}
}

func (d *desk) yieldRepairs(columns []table.Column, yield func(table.Row) bool) bool {
	cells := make([]table.Cell, len(columns))
	n := 0 // of the jobs
	for i, r := range d.p.Repairs {
		for j := range cells {
			cells[j] = table.Empty(columns[j].Style)
		}
		d.repairCells(i, r, cells)
		if n < len(d.p.Jobs) && d.p.Jobs[n].At == i {
			d.visitCells(n, cells)
			n++
		}
		if !yield(table.Row{Cells: cells}) {
			return false
		}
	}
	return true
}

func (d *desk) repairCells(i int, r *scope.Repair, c []table.Cell) {
	number := func(column int, v float64, f table.Format) {
		if v != 0 || column == repairFrom || column == repairTo {
			c[column-1] = table.Num(v, shown(f))
		}
	}
	c[repairID-1] = table.Text(r.ID, table.TextStyle)
	c[repairArea-1] = table.Text(legible(r.Area), table.WrapStyle)
	c[repairLine-1] = table.Text(legible(r.Line), table.WrapStyle)
	number(repairFrom, r.From/1000, table.Number(3))
	number(repairTo, r.To/1000, table.Number(3))
	c[repairSize-1] = table.Text(legible(r.Size), unitStyle)
	number(repairOD, d.length(r.OD), d.odFormat())
	c[repairKind-1] = table.Text(r.Kind(), table.WrapStyle)
	c[repairStatus-1] = table.Text(string(r.Status), table.WrapStyle)
	c[repairRows-1] = table.Text(legible(strings.Join(rowIDs(r), ", ")), table.WrapStyle)
	number(repairLayers, float64(r.Layers), table.Number(0))
	number(repairPasses, float64(r.Passes), table.Number(0))
	number(repairWrap, d.length(r.WrapThickness), d.odFormat())
	number(repairLength, d.length(r.Length), d.lengthFormat())
	c[repairMethod-1] = table.Text(legible(r.LayersFrom), table.WrapStyle)
	c[repairReason-1] = table.Text(legible(d.reason(r)), table.WrapStyle)
	if at, ok := d.workingRow(i); ok {
		c[repairWorking-1] = linkTo("working", sheetWorking, 1, at, unitStyle)
	}
}

// reason is why a repair is left out, with the pressure above which the method
// holds nothing where that was worked out.
func (d *desk) reason(r *scope.Repair) string {
	text := r.Reason
	if ceiling := trace.WithUnit(r.Ceiling, "MPa"); r.Status == scope.NotRepairable && r.Ceiling > 0 && !strings.Contains(text, ceiling) {
		text += "; no thickness of this wrap holds more than " + ceiling
	}
	return text
}

func (d *desk) visitCells(n int, c []table.Cell) {
	v, s, money := &d.p.Jobs[n], d.p.Jobs[n].Share, shown(d.money())
	c[repairCrew-1] = table.Int(v.Crew, table.IntStyle)
	c[repairShift-1] = table.Int(v.Shift, table.IntStyle)
	c[repairMass-1] = table.Num(v.Mass, shown(table.Number(1)))
	c[repairMinutes-1] = table.Num(v.Minutes, shown(table.Number(0)))
	c[repairMaterials-1] = table.Dec(s.Materials, money)
	c[repairLabour-1] = table.Dec(s.Labour, money)
	c[repairAccess-1] = table.Dec(s.Access, money)
	c[repairOther-1] = table.Dec(s.Other, money)
	c[repairTotal-1] = table.Dec(s.Total, money)
	if target := d.kitPlace(n); target != "" {
		c[repairKit-1] = table.Link("kit", target, unitStyle)
	}
	c[repairCost-1] = linkTo("cost", sheetCost, 1, 1, unitStyle)
	if row, ok := d.costRows[d.lineOf[n]]; ok {
		c[repairCost-1] = linkTo("cost", sheetCost, 1, row, unitStyle)
	}
}

// lastRepair is the last row of the sheet Repairs.
func (d *desk) lastRepair() int { return repairsHead + max(1, len(d.p.Repairs)) }
