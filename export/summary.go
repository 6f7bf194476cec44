package export

import (
	"fmt"
	"path/filepath"
	"strings"

	"wraptally/estimate/scope"
	"wraptally/estimate/trace"
	"wraptally/export/table"
)

const (
	summaryWidth = 6
	mostLeftOut  = 6 // repairs of each status left out that the summary names
	mostFirst    = 5 // orders to be placed first
)

// summarySheet is read in ten seconds: what it costs, what to order first and by
// when, what became of the survey's rows, what is left out.
func (d *desk) summarySheet() *table.Sheet {
	p := d.p
	l := newLeaf(sheetSummary, "Repair campaign", legible(filepath.Base(p.Name))+". "+Notice, widths(17, 15, 16, 18, 18, 22))
	l.Blank(1)
	if len(p.Jobs) > 0 {
		d.headline(l)
		d.orderFirst(l)
	} else {
		l.AddRow(table.Spread("NOTHING COULD BE ESTIMATED. The rows below say why; the sheet "+sheetQueries+" says what to do.", look(table.Caution), summaryWidth))
	}
	d.account(l)
	d.leftOut(l)
	l.heading("Cautions")
	for _, c := range Cautions {
		l.AddRow(table.Spread(c, look(table.Caution), summaryWidth))
	}
	s := l.sheet(d.page(false))
	s.Protected = true
	if len(p.Jobs) > 0 {
		d.summaryCharts(l, s)
	}
	d.contents(l)
	err := d.strips(l)
	s.Failed = func() error { return err }
	s.Rows = l.All()
	return s
}

// headline are the figures that everyone asks for first.
func (d *desk) headline(l *leaf) {
	p, b := d.p, d.p.Bid
	money := look(table.Figure).In(d.money()).To(table.Left)
	number := func(decimals int) table.Style { return look(table.Figure).In(table.Number(decimals)).To(table.Left) }
	figures := func(cells [3]table.Cell, notes [3]string) {
		row := table.Row{Height: 28, Merge: []table.Span{{First: 1, Last: 2}, {First: 3, Last: 4}, {First: 5, Last: 6}}}
		under := table.Row{Merge: row.Merge}
		for i := range 3 {
			row.Cells = append(row.Cells, cells[i], table.Empty(cells[i].Style))
			under.Cells = append(under.Cells, table.Text(notes[i], look(table.FigureNote).Wrapped()), table.Empty(look(table.FigureNote)))
		}
		l.AddRow(row)
		l.AddRow(under)
	}
	figures([3]table.Cell{table.FormulaDec("bid_total", b.Total, money), table.FormulaDec("bid_net", b.Net, money), table.FormulaDec("direct_cost", b.Direct, money)},
		[3]string{b.Currency + ", bid with tax", b.Currency + ", bid before tax", b.Currency + ", direct cost"})
	figures([3]table.Cell{table.Int(len(p.Jobs), number(0)), table.FormulaNum(countName("crew-shift"), float64(p.CrewShifts), number(0)), table.FormulaDec("materials_total", sumBase(d.rows), money)},
		[3]string{
			fmt.Sprintf("repairs estimated; their kits weigh %s", trace.WithUnit(p.Mass, "kg")),
			fmt.Sprintf("crew-shifts over %s, %s of a crew", countOf(p.Days, "day", "days"), trace.WithUnit(p.CrewHours, "h")),
			b.Currency + ", materials to be ordered",
		})
	l.Blank(1)
	set := &p.Catalog.Settings
	row := table.Row{Merge: []table.Span{{First: 1, Last: 2}, {First: 5, Last: 6}}}
	row.Cells = []table.Cell{
		table.Text("Range, "+b.Currency+" before tax", look(table.Label)), table.Empty(look(table.Label)),
		table.FormulaDec("range_low", b.Low, look(table.Plain).In(d.money())), table.FormulaDec("range_high", b.High, look(table.Plain).In(d.money())),
		table.Text("class "+set.Class+" by AACE 18R-97, from memory; contingency is apart", look(table.Muted).Wrapped()), table.Empty(look(table.Muted)),
	}
	l.AddRow(row)
}

// orderFirst names the lines that have to be ordered before the others.
func (d *desk) orderFirst(l *leaf) {
	l.heading("To be ordered first")
	if len(d.rows) == 0 {
		l.note("Nothing has to be bought.")
		return
	}
	l.heads("Order by", "Supplier", "Item", "", "#Packs", "#Cost\n("+d.p.Bid.Currency+")")
	l.Row(l.Next() - 1).Merge = []table.Span{{First: 3, Last: 4}}
	listed := 0
	for i := range d.rows {
		r := &d.rows[i]
		if r.step > 1 {
			continue
		}
		if listed++; listed > mostFirst {
			break
		}
		at := func(column table.Ref) string { return column.Nth(i) }
		by := table.Text("not known", table.TextStyle)
		if !r.got.LatestOrder.IsZero() {
			by = table.FormulaDay(at(d.order.by), r.got.LatestOrder, dayStyle)
		}
		cost := r.base
		src := at(d.order.base)
		for k := i + 1; k < len(d.rows) && d.rows[k].step > 1; k++ {
			cost = cost.Add(d.rows[k].base)
			src += "+" + d.order.base.Nth(k)
		}
		l.AddRow(table.Row{Merge: []table.Span{{First: 3, Last: 4}}, Cells: []table.Cell{
			by, table.Text(legible(r.got.Supplier), table.TextStyle), linkTo(d.p.Needs[r.need].Item.Name, sheetOrder, 1, d.order.rows.First()+i, table.WrapStyle), table.Empty(table.TextStyle),
			table.FormulaNum(at(d.order.all), float64(r.got.Packs), table.IntStyle), table.FormulaDec(src, cost, shown(d.money())),
		}})
	}
	all := 0
	for i := range d.rows {
		if d.rows[i].step == 1 {
			all++
		}
	}
	if d.p.Dates.Need.IsZero() {
		l.note("No need date is known: nothing is said on when to order. Give one with --start.")
	} else {
		l.note(fmt.Sprintf("%d of %s; goods must be there on %s, the work ends on %s.", min(all, mostFirst), countOf(all, "line", "lines"), day(d.p.Dates.Need), day(d.p.Dates.End)))
	}
}

// account says what became of every row of the survey.
func (d *desk) account(l *leaf) {
	a := d.p.Account
	l.heading("What became of the survey's rows")
	l.heads("Rows read", "#Number", "Meaning")
	l.Row(l.Next() - 1).Merge = []table.Span{{First: 3, Last: summaryWidth}}
	line := func(name string, n int, meaning string, s table.Style) int {
		return l.AddRow(table.Row{Merge: []table.Span{{First: 3, Last: summaryWidth}}, Cells: []table.Cell{
			table.Text(name, s), table.Int(n, s.In(table.Number(0))), table.Text(meaning, s.Wrapped()), table.Empty(s), table.Empty(s), table.Empty(s),
		}})
	}
	body := look(table.Body)
	first := line("estimated", a.Estimated, "repairs in order and cost", body)
	line("merged", a.Merged, "share a repair with a row beside them", body)
	bad := func(n int) table.Style {
		if n > 0 {
			return look(table.Subtotal)
		}
		return body
	}
	line("queried", a.Queried, "left out until answered: sheet "+sheetQueries, bad(a.Queried))
	line("NOT REPAIRABLE", a.NotRepairable, "left out: this method cannot hold them", bad(a.NotRepairable))
	line("filtered", a.Filtered, "left out by the user's own rule", body)
	last := line("blank", a.Blank, "empty rows", body)
	l.alarm(3)
	t := look(table.Total)
	check := checkCell(fmt.Sprintf("SUM(B%d:B%d)", first, last), fmt.Sprintf("B%d", l.Next()), 0)
	l.AddRow(table.Row{Merge: []table.Span{{First: 4, Last: summaryWidth}}, Cells: []table.Cell{table.Text("read", t), table.Int(a.Read, t.In(table.Number(0))), check, table.Text(legible(d.p.Name), t), table.Empty(t), table.Empty(t)}})
}

// leftOut names the repairs that are not in the totals, those that the method
// cannot hold before the others.
func (d *desk) leftOut(l *leaf) {
	a := d.p.Account
	l.heading("Left out of every figure above, and why")
	if a.Queried+a.NotRepairable == 0 {
		l.note("Nothing is left out.")
		return
	}
	l.heads("Repair", "Line", "Survey rows", "Why", "", "")
	l.Row(l.Next() - 1).Merge = []table.Span{{First: 4, Last: summaryWidth}}
	inRepairs := 0
	for _, status := range []scope.Status{scope.NotRepairable, scope.Queried} {
		inRepairs += d.leftOutAs(l, status)
	}
	if rows := a.Queried + a.NotRepairable - inRepairs; rows > 0 {
		l.note(fmt.Sprintf("%s could not be read far enough to make a repair of: sheet %s.", countOf(rows, "row", "rows"), sheetQueries))
	}
}

// leftOutAs names the repairs of one status, and counts their rows.
func (d *desk) leftOutAs(l *leaf, status scope.Status) (rows int) {
	repairs := 0
	for _, r := range d.p.Repairs {
		if r.Status == status {
			repairs++
			rows += len(r.Defects)
		}
	}
	if repairs == 0 {
		return 0
	}
	head := fmt.Sprintf("Queried: %s, until answered", countOf(repairs, "repair", "repairs"))
	if status == scope.NotRepairable {
		head = fmt.Sprintf("NOT REPAIRABLE by this method: %s", countOf(repairs, "repair", "repairs"))
	}
	l.AddRow(groupRow(table.Text(head, look(table.Group)), summaryWidth))
	listed := 0
	for i, r := range d.p.Repairs {
		if r.Status != status {
			continue
		}
		if listed++; listed > mostLeftOut {
			l.note(fmt.Sprintf("and %d more: sheet %s, column Status.", repairs-mostLeftOut, sheetRepairs))
			break
		}
		l.AddRow(table.Row{Merge: []table.Span{{First: 4, Last: summaryWidth}}, Cells: []table.Cell{
			table.Link(r.ID, d.repairs.id.Nth(i), table.TextStyle), table.Text(legible(r.Line), table.WrapStyle), table.Text(fitLines(strings.Join(rowIDs(r), ", "), l.columns[2].Width, 2), table.WrapStyle),
			table.Text(legible(d.reason(r)), table.WrapStyle), table.Empty(table.TextStyle), table.Empty(table.TextStyle),
		}})
	}
	return rows
}

// contents leads to the other sheets.
func (d *desk) contents(l *leaf) {
	l.heading("Where to look")
	entries := [][2]string{
		{sheetRepairs, "every repair with its place, layers, kit, time and share of the cost"},
	}
	if len(d.p.Jobs) > 0 {
		entries = append(entries, [2]string{sheetKits, "a page a kit for the storeman"})
		if len(d.apart) == 0 {
			entries = append(entries, [2]string{sheetKitLines, "packed quantities, to be changed here"}, [2]string{sheetPick, "by item over all kits"}, [2]string{sheetCrews, "by crew and shift"},
				[2]string{sheetMixing, "batches and the minutes to use them"}, [2]string{sheetLabels, "to be cut apart"})
		}
		entries = append(entries, [2]string{sheetCutting, "coils and sheets with drawings"}, [2]string{sheetOrder, "what to buy, where, by when and why"}, [2]string{sheetNeeds, "from issued to bought, and the store"},
			[2]string{sheetCost, "from direct cost to bid, by stage, area, line and kind"}, [2]string{sheetInputs, "prices, rates and percentages, to be changed here"})
	}
	entries = append(entries, [2]string{sheetAssumptions, "what is taken for granted"}, [2]string{sheetSettings, "rules in force, and the survey as it was read"}, [2]string{sheetQueries, "open questions, to be answered"})
	if len(d.p.Jobs) > 0 {
		entries = append(entries, [2]string{sheetWorking, "how every quantity came about"})
	}
	for _, e := range entries {
		l.AddRow(table.Row{Merge: []table.Span{{First: 2, Last: summaryWidth}}, Cells: []table.Cell{linkTo(e[0], e[0], 1, 1, look(table.Plain)), table.Text(e[1], look(table.Muted))}})
	}
}

// summaryCharts stand on a page of their own under the text.
func (d *desk) summaryCharts(l *leaf, s *table.Sheet) {
	l.heading("Where the money goes")
	l.Row(l.Next() - 1).Break = true
	at := l.Next()
	const rowsHigh = 20
	place := func(n int) table.At { return table.At{Column: 1 + 3*(n%2), Row: at + 1 + rowsHigh*(n/2)} }
	n := 0
	add := func(title string, of split, alt string) {
		if of.rows == 0 || of.rows > mostChartBars {
			return
		}
		s.Charts = append(s.Charts, table.Chart{At: place(n), WidthMM: 94, HeightMM: 72, Title: title, ValueTitle: d.p.Bid.Currency, Values: table.Number(0), Labels: true, Alt: alt, Series: of.series()})
		n++
	}
	add("Bid by stage", d.cost.stages, "bars of the bid's stages")
	add("Materials by kind", d.cost.kinds, "bars of the order's cost by kind of material")
	add("Bid by area", d.cost.areas, "bars of the repairs' shares by area")
	add("Bid by line", d.cost.pipes, "bars of the repairs' shares by line")
	l.Blank(rowsHigh * ((n + 1) / 2))
}
