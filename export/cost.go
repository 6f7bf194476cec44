package export

import (
	"fmt"
	"slices"

	"github.com/shopspring/decimal"

	"wraptally/estimate/bid"
	"wraptally/export/table"
)

// The columns of the build-up on the sheet Cost.
const (
	costStage    = 1
	costLine     = 2
	costQuantity = 3
	costUnit     = 4
	costRate     = 5
	costBase     = 6
	costAmount   = 7
	costRunning  = 8
	costNote     = 9
)

// mostLines is how many lines of pipe the cost is listed for one by one.
const mostLines = 250

// costSheet leads from direct cost to bid and splits the bid up by area, line
// and kind of material.
func (d *desk) costSheet() *table.Sheet {
	l := newLeaf(sheetCost, "Cost", "From direct cost to bid. Each line is rounded once, half away from zero, to the smallest unit of "+d.p.Bid.Currency+"; a percentage is of the total before its stage. Rates and percentages: sheet "+sheetInputs+".",
		widths(17, 36, 12, 14, 13, 14, 15, 15, 30))
	first, last := d.buildUp(l)
	d.accuracy(l)
	d.byStage(l, first, last)
	d.byKind(l)
	d.byPlace(l)
	d.costCharts(l)
	s := l.sheet(d.page(true))
	s.Protected, s.Charts = true, d.charts
	return s
}

// rateOf is the cell with the rate of a line of the build-up.
func (d *desk) rateOf(l *bid.Line) string {
	switch l.Code {
	case "materials":
		return materialsTotal
	case "labour":
		return "crew_rate"
	case codeAccess:
		return "access_total"
	}
	return ref(sheetInputs, priceValue, d.inputs.cost[l.Code])
}

// quantityOf is what a line of the build-up counts.
func quantityOf(l *bid.Line) string {
	switch l.Basis {
	case "hour":
		return "crew_hours"
	case "repair":
		return "repair_count"
	case "crew-shift":
		return "crew_shifts"
	case "kg":
		return "mass_sent"
	}
	return "1"
}

// buildUp writes the lines with the formula of every amount the same: a quantity
// times a rate, a percentage of a base, or a margin, which is a share of the
// price: base·k/(100 − k).
func (d *desk) buildUp(l *leaf) (first, last int) {
	b, cur := d.p.Bid, d.p.Bid.Currency
	l.heading("Build-up")
	l.heads("Stage", "Line", "#Quantity", "Unit", "#Rate\n("+cur+" or %)", "#Taken of\n("+cur+")", "#Amount\n("+cur+")", "#Total so far\n("+cur+")", "Note")
	first = l.Next()
	before, running, stage := "0", decimal.Zero, ""
	materialsAt := 0
	for i := range b.Lines {
		line := &b.Lines[i]
		r := l.Next()
		if line.Stage != stage {
			if i > 0 {
				before = cell(costRunning, r-1)
			}
			stage = line.Stage
		}
		if line.Code == "materials" {
			materialsAt = r
		}
		percent := line.Unit == "%" || line.Unit == "% margin"
		running = running.Add(line.Amount)
		c := make([]table.Cell, costNote)
		c[costStage-1] = table.Text(line.Stage, table.TextStyle)
		c[costLine-1] = table.Text(legible(line.Name), table.WrapStyle)
		c[costUnit-1] = table.Text(line.Unit, table.TextStyle)
		c[costRate-1] = table.FormulaDec(d.rateOf(line), line.Rate, shown(d.money()))
		if percent {
			c[costRate-1].Style.Format = table.Number(3)
			c[costQuantity-1] = table.Empty(table.TextStyle)
			from := before
			if line.Basis == "percent-materials" {
				from = cell(costAmount, materialsAt)
			}
			c[costBase-1] = table.FormulaDec(from, line.Base, shown(d.money()))
		} else {
			c[costQuantity-1] = table.FormulaDec(quantityOf(line), line.Quantity, shown(table.Number(3)))
			if line.Basis == "sum" || line.Basis == "campaign" {
				c[costQuantity-1] = table.Int(1, shown(table.Number(3)))
			}
			c[costBase-1] = table.Empty(table.TextStyle)
		}
		c[costAmount-1] = table.FormulaDec(fmt.Sprintf(`ROUND(IF(%[1]s="%%",%[2]s*%[3]s/100,IF(%[1]s="%% margin",%[2]s*%[3]s/(100-%[3]s),%[4]s*%[3]s)),%[5]d)`,
			cell(costUnit, r), cell(costBase, r), cell(costRate, r), cell(costQuantity, r), b.Minor), line.Amount, shown(d.money()))
		c[costRunning-1] = table.FormulaDec(fmt.Sprintf("SUM(%s:%s)", table.At{Column: costAmount, Row: first}.AbsRow(), cell(costAmount, r)), running, shown(d.money()))
		c[costNote-1] = table.Text(legible(d.costNote(line)), table.WrapStyle)
		l.Add(c...)
	}
	last = l.Next() - 1
	d.totals(l, first, last)
	return first, last
}

func (d *desk) costNote(l *bid.Line) string {
	switch l.Code {
	case "materials":
		return "sheet " + sheetOrder
	case "labour":
		return "hours and rate of the whole crew"
	case codeAccess:
		return "by way of access"
	}
	return l.Note
}

// The stages whose end is a headline figure.
const (
	lastDirect = "freight"
	lastNet    = "profit"
)

// totals are the headline figures, each under its defined name.
func (d *desk) totals(l *leaf, first, last int) {
	b := d.p.Bid
	upTo := func(stage string) int { // row of the last line up to the stage
		order := slices.Index(bid.Stages, stage)
		row := first - 1
		for i := range b.Lines {
			if slices.Index(bid.Stages, b.Lines[i].Stage) <= order {
				row = first + i
			}
		}
		return row
	}
	line := func(name, title string, row int, v decimal.Decimal, look_ table.Look) {
		d.names = append(d.names, table.Name{Name: name, Refers: ref(sheetCost, costAmount, l.Next())})
		c := make([]table.Cell, costNote)
		for i := range c {
			c[i] = table.Empty(look(look_))
		}
		c[0], c[1] = table.Text(name, look(look_)), table.Text(title, look(look_))
		c[costAmount-1] = table.FormulaDec(fmt.Sprintf("SUM(%s:%s)", cell(costAmount, first), cell(costAmount, row)), v, look(look_).In(d.money()))
		l.Add(c...)
	}
	line("direct_cost", "Direct cost", upTo(lastDirect), b.Direct, table.Subtotal)
	line("bid_net", "Bid before tax", upTo(lastNet), b.Net, table.Subtotal)
	line("bid_total", "Bid with tax", last, b.Total, table.Total)
	c := make([]table.Cell, costRunning)
	c[costLine-1] = table.Text("The total so far ends at the bid", look(table.Label))
	c[costAmount-1] = l.check(costAmount, cell(costRunning, last), "bid_total", b.Minor)
	l.Add(c...)
}

// accuracy says of what class the estimate is and how far off it may be.
func (d *desk) accuracy(l *leaf) {
	b, set := d.p.Bid, &d.p.Catalog.Settings
	l.heading("Accuracy")
	l.AddRow(table.Spread(fmt.Sprintf("Class %s by AACE 18R-97 (from memory; the firm sets class and range). The range is about the bid before tax and is no part of it: contingency is a line of the build-up of its own, for what is expected to be spent on the unforeseen; the range says how far the whole may be off.", set.Class), look(table.Plain), costNote))
	for _, end := range []struct {
		name, title, rate string
		value             decimal.Decimal
	}{{"range_low", "lower end", "accuracy_low", b.Low}, {"range_high", "upper end", "accuracy_high", b.High}} {
		d.names = append(d.names, table.Name{Name: end.name, Refers: ref(sheetCost, costAmount, l.Next())})
		c := make([]table.Cell, costAmount)
		for i := range c {
			c[i] = table.Empty(table.TextStyle)
		}
		c[0], c[1] = table.Text(end.name, table.TextStyle), table.Text(end.title, table.TextStyle)
		c[costUnit-1] = table.Text("%", table.TextStyle)
		share := set.RangeLow
		if end.rate == "accuracy_high" {
			share = set.RangeHigh
		}
		c[costRate-1] = table.FormulaNum(end.rate, share, shown(table.Number(1)))
		c[costBase-1] = table.FormulaDec("bid_net", b.Net, shown(d.money()))
		c[costAmount-1] = table.FormulaDec(fmt.Sprintf("ROUND(%s*(100+%s)/100,%d)", cell(costBase, l.Next()), cell(costRate, l.Next()), b.Minor), end.value, shown(d.money()))
		l.Add(c...)
	}
}

// part is a row of a split of the bid.
type part struct {
	name   string
	sum    decimal.Decimal
	count  int
	shares [4]decimal.Decimal // materials, labour, access, other
}

func (p *part) add(q part) {
	p.sum, p.count = p.sum.Add(q.sum), p.count+q.count
	for i := range p.shares {
		p.shares[i] = p.shares[i].Add(q.shares[i])
	}
}

// byStage sums the build-up by stage.
func (d *desk) byStage(l *leaf, first, last int) {
	b := d.p.Bid
	var parts []part
	for _, stage := range bid.Stages {
		p := part{name: stage}
		for i := range b.Lines {
			if b.Lines[i].Stage == stage {
				p.sum = p.sum.Add(b.Lines[i].Amount)
				p.count++
			}
		}
		if p.count > 0 {
			parts = append(parts, p)
		}
	}
	stages, amounts := table.Cells(costStage, first, costStage, last).Abs(), table.Cells(costAmount, first, costAmount, last).Abs()
	d.split(l, "By stage", "Stage", "lines", parts, "bid_total", b.Total, func(row int) string {
		return fmt.Sprintf("SUMIFS(%s,%s,%s)", amounts, stages, cell(1, row))
	})
	d.stageRows = table.Span{First: l.Next() - 1 - len(parts), Last: l.Next() - 2}
}

// byKind sums the order by kind of material.
func (d *desk) byKind(l *leaf) {
	at := map[string]int{}
	var parts []part
	for i, n := range d.p.Needs {
		k, ok := at[n.Item.Kind]
		if !ok {
			k = len(parts)
			at[n.Item.Kind] = k
			parts = append(parts, part{name: n.Item.Kind})
		}
		parts[k].sum = parts[k].sum.Add(d.p.Orders[i].Cost(d.p.Bid.Minor))
		parts[k].count++
	}
	kinds, costs := d.needs.kind.All(), d.needs.cost.All()
	d.split(l, "Materials by kind", "Kind", "items", parts, materialsTotal, sumBase(d.rows), func(row int) string {
		return fmt.Sprintf("SUMIFS(%s,%s,%s)", costs, kinds, cell(1, row))
	})
	d.kindRows = table.Span{First: l.Next() - 1 - len(parts), Last: l.Next() - 2}
}

// byPlace sums the repairs' shares by area, and by line of an area.
func (d *desk) byPlace(l *leaf) {
	shares := func(column int) string { return span(sheetRepairs, column, repairsHead+1, d.lastRepair()) }
	areas, lines := span(sheetRepairs, repairArea, repairsHead+1, d.lastRepair()), span(sheetRepairs, repairLine, repairsHead+1, d.lastRepair())
	type place struct{ area, line string }
	areaAt, lineAt := map[string]int{}, map[place]int{}
	var byArea, byLine []part
	var places []place
	for n := range d.p.Jobs {
		r, s := d.p.Jobs[n].Repair, d.p.Jobs[n].Share
		share := part{sum: s.Total, count: 1, shares: [4]decimal.Decimal{s.Materials, s.Labour, s.Access, s.Other}}
		a, ok := areaAt[r.Area]
		if !ok {
			a = len(byArea)
			areaAt[r.Area] = a
			byArea = append(byArea, part{name: r.Area})
		}
		byArea[a].add(share)
		key := place{r.Area, r.Line}
		k, ok := lineAt[key]
		if !ok {
			k = len(byLine)
			lineAt[key] = k
			byLine, places = append(byLine, part{name: r.Line}), append(places, key)
		}
		byLine[k].add(share)
		d.lineOf = append(d.lineOf, k)
	}
	note := "Shares of the bid with tax, as estimated: they do not follow changes of prices or quantities, and the check then says so. A new run shares the bid out again."
	d.areaRows = d.shares(l, "By area", note, "Area", byArea, func(row, _, column int) string {
		return fmt.Sprintf("SUMPRODUCT(--EXACT(%s,%s),%s)", areas, cell(1, row), shares(column))
	})
	order := make([]int, len(byLine))
	for i := range order {
		order[i] = i
	}
	if len(byLine) > mostLines {
		slices.SortStableFunc(order, func(a, b int) int { return byLine[b].sum.Cmp(byLine[a].sum) })
		order = order[:mostLines]
		note = fmt.Sprintf("The %d dearest of %d lines; the others are on the sheet %s.", mostLines, len(byLine), sheetRepairs)
	}
	d.costRows = map[int]int{}
	listed := make([]part, len(order))
	for i, k := range order {
		listed[i] = byLine[k]
		listed[i].name = places[k].line
	}
	d.lineRows = d.shares(l, "By line", note, "Line", listed, func(row, i, column int) string {
		if where := places[order[i]].area; where != "" {
			return fmt.Sprintf("SUMPRODUCT(EXACT(%s,%s)*EXACT(%s,%s),%s)", lines, cell(1, row), areas, cell(2, row), shares(column))
		}
		return fmt.Sprintf("SUMPRODUCT(EXACT(%s,%s)*EXACT(%s,\"\"),%s)", lines, cell(1, row), areas, shares(column))
	})
	for i, k := range order {
		row := d.lineRows.First + i
		d.costRows[k] = row
		l.Row(row).Cells[1] = table.Text(legible(places[k].area), table.WrapStyle)
	}
}

// split writes a split of a total that follows every change, with its check.
func (d *desk) split(l *leaf, title, head, counted string, parts []part, whole string, total decimal.Decimal, formula func(row int) string) {
	l.heading(title)
	l.heads(head, "", "#Number of "+counted, "", "", "#Share\n(%)", "#Amount\n("+d.p.Bid.Currency+")", "=Check")
	first := l.Next()
	last := first + len(parts) - 1
	for _, p := range parts {
		r := l.Next()
		l.Add(table.Text(legible(p.name), table.TextStyle), table.Empty(table.TextStyle), table.Int(p.count, table.IntStyle), table.Empty(table.TextStyle), table.Empty(table.TextStyle),
			shareCell(costAmount, r, whole, p.sum, total), table.FormulaDec(formula(r), p.sum, shown(d.money())))
	}
	d.splitTotal(l, first, last, whole, total)
}

// The columns of the splits by place.
const (
	placeCount = 3
	placeParts = 4 // materials, labour, access, other
	placeTotal = 8
	placeShare = 9
)

var shareNames = [...]string{"Materials", "Labour", "Access", "Other"}

// shareColumns are the columns of the shares on the sheet Repairs.
var shareColumns = [...]int{repairMaterials, repairLabour, repairAccess, repairOther}

// shares writes a split of the repairs' shares and gives its rows. The formula
// sums a column of the sheet Repairs for a row.
func (d *desk) shares(l *leaf, title, note, head string, parts []part, formula func(row, i, column int) string) table.Span {
	cur := "\n(" + d.p.Bid.Currency + ")"
	l.heading(title)
	l.note(note)
	l.heads(head, "", "#Repairs", "#"+shareNames[0]+cur, "#"+shareNames[1]+cur, "#"+shareNames[2]+cur, "#"+shareNames[3]+cur, "#Total with tax"+cur, "#Share (%)")
	rows := table.Span{First: l.Next(), Last: l.Next() + len(parts) - 1}
	var whole part
	for i, p := range parts {
		r := l.Next()
		c := []table.Cell{table.Text(legible(p.name), table.WrapStyle), table.Empty(table.TextStyle), table.Int(p.count, table.IntStyle)}
		for k, column := range shareColumns {
			c = append(c, table.FormulaDec(formula(r, i, column), p.shares[k], shown(d.money())))
		}
		c = append(c, table.FormulaDec(fmt.Sprintf("SUM(%s:%s)", cell(placeParts, r), cell(placeTotal-1, r)), p.sum, shown(d.money())), shareCell(placeTotal, r, "bid_total", p.sum, d.p.Bid.Total))
		whole.add(p)
		l.Add(c...)
	}
	t := look(table.Total)
	c := []table.Cell{table.Text("Total", t), table.Empty(t), table.Int(whole.count, t.In(table.Number(0)))}
	for k := range shareColumns {
		at := placeParts + k
		c = append(c, table.FormulaDec(fmt.Sprintf("SUM(%s:%s)", cell(at, rows.First), cell(at, rows.Last)), whole.shares[k], summed(d.money())))
	}
	c = append(c, table.FormulaDec(fmt.Sprintf("SUM(%s:%s)", cell(placeTotal, rows.First), cell(placeTotal, rows.Last)), whole.sum, summed(d.money())))
	if whole.sum.Equal(d.p.Bid.Total) {
		c = append(c, l.check(placeShare, cell(placeTotal, l.Next()), "bid_total", d.p.Bid.Minor))
	}
	l.Add(c...)
	return rows
}

func (d *desk) splitTotal(l *leaf, first, last int, whole string, total decimal.Decimal) {
	t := look(table.Total)
	l.Add(table.Text("Total", t), table.Empty(t), table.Empty(t), table.Empty(t), table.Empty(t), table.Empty(t),
		table.FormulaDec(fmt.Sprintf("SUM(%s:%s)", cell(costAmount, first), cell(costAmount, max(first, last))), total, summed(d.money())),
		l.check(costAmount+1, cell(costAmount, l.Next()), whole, d.p.Bid.Minor))
}

// shareCell is a part in per cent of the whole.
func shareCell(column, row int, whole string, part, total decimal.Decimal) table.Cell {
	v := 0.0
	if !total.IsZero() {
		v = part.Div(total).InexactFloat64() * 100
	}
	return table.FormulaNum(fmt.Sprintf("IF(%s=0,0,%s/%s*100)", whole, cell(column, row), whole), v, shown(table.Number(1)))
}

// costCharts stand under the tables, on a page of their own.
func (d *desk) costCharts(l *leaf) {
	l.heading("Charts")
	l.Row(l.Next() - 1).Break = true
	at := l.Next()
	const rowsHigh = 18
	bars := func(n int, title string, rows table.Span, column int, alt string) {
		d.charts = append(d.charts, table.Chart{At: table.At{Column: 1 + 4*(n%2), Row: at + 1 + rowsHigh*(n/2)}, WidthMM: 128, HeightMM: 74, Title: title, ValueTitle: d.p.Bid.Currency,
			Values: table.Number(0), Labels: true, Alt: alt, Series: []table.Series{{Name: "Amount", Categories: span(sheetCost, 1, rows.First, rows.Last), Numbers: span(sheetCost, column, rows.First, rows.Last)}}})
	}
	bars(0, "Bid by stage", d.stageRows, costAmount, "bars of the bid's stages")
	bars(1, "Materials by kind", d.kindRows, costAmount, "bars of the order's cost by kind of material")
	stack := func(n int, title string, rows table.Span) {
		if rows.Last-rows.First >= mostChartBars {
			return
		}
		c := table.Chart{Stacked: true, At: table.At{Column: 1 + 4*(n%2), Row: at + 1 + rowsHigh*(n/2)}, WidthMM: 128, HeightMM: 74, Title: title, ValueTitle: d.p.Bid.Currency, Values: table.Number(0), Alt: title + " with materials, labour, access and other"}
		for k, name := range shareNames {
			c.Series = append(c.Series, table.Series{Name: name, Categories: span(sheetCost, 1, rows.First, rows.Last), Numbers: span(sheetCost, placeParts+k, rows.First, rows.Last)})
		}
		d.charts = append(d.charts, c)
	}
	stack(2, "Bid by area", d.areaRows)
	stack(3, "Bid by line", d.lineRows)
	l.Blank(2 * rowsHigh)
}

// mostChartBars is how many bars a chart can hold and be read.
const mostChartBars = 25
