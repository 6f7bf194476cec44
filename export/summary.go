package export

import (
	"cmp"
	"fmt"
	"path/filepath"
	"strings"

	"wraptally/estimate/qty"
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
	l := newLeaf(sheetSummary, "Repair campaign", legible(filepath.Base(p.Name))+". "+Notice, []table.Column{{Width: 17}, {Width: 15}, {Width: 16}, {Width: 18}, {Width: 18}, {Width: 22}})
	l.note(d.dates())
	l.Blank(1)
	if len(p.Jobs) > 0 {
		d.headline(l)
		d.orderFirst(l)
	} else {
		l.AddRow(table.Spread("NOTHING COULD BE ESTIMATED. The rows below say why; the sheet "+sheetQueries+" says what to do.", look(table.Caution), summaryWidth))
	}
	d.account(l)
	d.leftOut(l)
	d.addUpChecks(l)
	l.heading("Cautions")
	for _, c := range Cautions {
		l.AddRow(table.Spread(c, look(table.Caution), summaryWidth))
	}
	s := l.sheet(d.page(false))
	s.Protected = true
	err := d.strips(l)
	s.Failed = func() error { return err }
	s.Rows = l.All()
	return s
}

// dates says of each date of the estimate what it is the date of.
func (b *book) dates() string {
	set := &b.p.Catalog.Settings
	or := func(name, date string) string { return name + " " + cmp.Or(date, "not stated") }
	text := []string{or("survey of", set.SurveyDay), or("prices of", set.PricesDay)}
	if need := day(b.p.Dates.Need); need != "" {
		text = append(text, "work from "+need+" to "+cmp.Or(day(b.p.Dates.End), "not known"))
	} else {
		text = append(text, "work from not stated")
	}
	if !b.opt.Printed.IsZero() {
		text = append(text, "printed "+day(b.opt.Printed))
	}
	return strings.Join(text, "; ") + "."
}

// headline are the figures that everyone asks for first.
func (d *desk) headline(l *leaf) {
	p, b := d.p, d.p.Bid
	money := look(table.Figure).In(d.money()).To(table.Left)
	number := func(decimals int) table.Style { return look(table.Figure).In(table.Number(decimals)).To(table.Left) }
	noteOf := func(text string) table.Cell { return table.Text(text, look(table.FigureNote).Wrapped()) }
	figures := func(cells [3]table.Cell, notes [3]table.Cell) {
		row := table.Row{Height: 28, Merge: []table.Span{{First: 1, Last: 2}, {First: 3, Last: 4}, {First: 5, Last: 6}}}
		under := table.Row{Merge: row.Merge}
		for i := range 3 {
			row.Cells = append(row.Cells, cells[i], table.Empty(cells[i].Style))
			under.Cells = append(under.Cells, notes[i], table.Empty(look(table.FigureNote)))
		}
		l.AddRow(row)
		l.AddRow(under)
	}
	figures([3]table.Cell{table.FormulaDec("bid_total", b.Total, money), table.FormulaDec("bid_net", b.Net, money), table.FormulaDec("direct_cost", b.Direct, money)},
		[3]table.Cell{noteOf(b.Currency + ", bid with tax"), noteOf(b.Currency + ", bid before tax"), noteOf(b.Currency + ", direct cost")})
	figures([3]table.Cell{table.Int(len(p.Jobs), number(0)), table.FormulaNum(countName("crew-shift"), float64(p.CrewShifts), number(0)), table.FormulaDec("materials_total", sumBase(d.rows), money)},
		[3]table.Cell{
			d.kitsWeigh(),
			noteOf(fmt.Sprintf("crew-shifts over %s, %s of a crew", countOf(p.Days, "day", "days"), trace.WithUnit(p.CrewHours, "h"))),
			noteOf(b.Currency + ", materials to be ordered"),
		})
	l.Blank(1)
	row := table.Row{Merge: []table.Span{{First: 1, Last: 2}, {First: 5, Last: 6}}}
	row.Cells = []table.Cell{
		table.Text("Range, "+b.Currency+" before tax", look(table.Label)), table.Empty(look(table.Label)),
		table.FormulaDec("range_low", b.Low, look(table.Plain).In(d.money())), table.FormulaDec("range_high", b.High, look(table.Plain).In(d.money())),
		table.Text(classText(p)+"; contingency is apart", look(table.Muted).Wrapped()), table.Empty(look(table.Muted)),
	}
	l.AddRow(row)
}

// addUpChecks says in one line whether all checks of the workbook hold. It is made
// when every sheet has its checks.
func (d *desk) addUpChecks(l *leaf) {
	leaves := []*leaf{l}
	if len(d.p.Jobs) > 0 {
		leaves = append(leaves, d.inputs.leaf, d.order.leaf, d.needs.leaf, d.cost.leaf)
	}
	all, failed, failing, where, which := 0, 0, "", "", ""
	for _, leaf := range leaves {
		if len(leaf.checks) == 0 {
			continue
		}
		n := leaf.failing()
		all += len(leaf.checks)
		if failed += leaf.failed; leaf.failed > 0 {
			which += fmt.Sprintf("; sheet %s: %d", leaf.name, leaf.failed)
		}
		failing += "+" + n
		where += fmt.Sprintf(`&IF(%[1]s>0,"; sheet %[2]s: "&(%[1]s),"")`, n, leaf.name)
	}
	said := fmt.Sprintf("all %d checks of the workbook hold", all)
	words := said
	if failed > 0 {
		said = fmt.Sprintf("CHECK %d of %d checks do not hold%s. Each stands in its row and names it.", failed, all, which)
	}
	l.heading("Checks")
	at := table.At{Column: 1, Row: l.Next()}
	l.AddRow(table.Row{Merge: []table.Span{{First: 1, Last: summaryWidth}}, Cells: []table.Cell{
		table.FormulaText(fmt.Sprintf(`IF(0%[1]s=0,%[2]q,"CHECK "&(0%[1]s)&" of %[3]d checks do not hold"%[4]s&". Each stands in its row and names it.")`, failing, words, all, where), said, table.CheckStyle.To(table.Left)),
	}})
	l.checks = append(l.checks, alarmAt(table.One(at)))
}

// kitsWeigh says what the kits weigh, which follows what is packed.
func (d *desk) kitsWeigh() table.Cell {
	before, after := "repairs estimated; their kits weigh ", " "+d.massUnit()
	text, style := before+trimmed(d.mass(d.p.Mass), 1)+after, look(table.FigureNote).Wrapped()
	if !d.complete() {
		return table.Text(text, style)
	}
	return table.FormulaText(table.StringLiteral(before)+"&ROUND(SUM("+d.repairs.mass.All()+"),1)&"+table.StringLiteral(after), text, style)
}

// orderFirst names the lines that have to be ordered before the others.
func (d *desk) orderFirst(l *leaf) {
	l.heading("Order first")
	if len(d.rows) == 0 {
		l.note("Nothing has to be bought.")
		return
	}
	type col = table.Col[int] // place among the lines of the order
	o := d.order
	t := table.NewTable[int](l.name)
	t.Add(col{Title: "Order by", Style: dayStyle, Cell: func(p pen, i int) { writeDay(p.By(o.by.Nth(i)), d.rows[i].got.LatestOrder, "not known") }})
	t.Add(col{Title: "Supplier", Style: table.TextStyle, Cell: func(p pen, i int) { p.Text(d.rows[i].got.Supplier) }})
	t.Add(col{Title: "Item", Style: table.WrapStyle, Span: 2, Cell: func(p pen, i int) { p.Link(d.item(&d.rows[i]).Name, o.by.Nth(i)) }})
	t.Add(col{Title: "Packs", Style: table.IntStyle, Cell: func(p pen, i int) { p.By(o.all.Nth(i)).Int(d.rows[i].got.Packs) }})
	t.Add(col{Title: "Cost", Unit: d.p.Bid.Currency, Style: shown(d.money()), Cell: func(p pen, i int) {
		cost, src := d.rows[i].base, o.base.Nth(i)
		for k := i + 1; k < len(d.rows) && d.rows[k].step > 1; k++ {
			cost = cost.Add(d.rows[k].base)
			src += "+" + o.base.Nth(k)
		}
		p.By(src).Dec(cost)
	}})
	var lines []int
	for i := range d.rows {
		if d.rows[i].step == 1 {
			lines = append(lines, i)
		}
	}
	all := len(lines)
	list(l, t, lines[:min(all, mostFirst)])
	if short := d.p.ShortLived(); short != "" {
		l.AddRow(table.Spread(short, look(table.Caution), summaryWidth))
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
	type fate struct {
		name, meaning string
		rows          int
		left          bool // out, which has to be seen
	}
	type col = table.Col[fate]
	t := table.NewTable[fate](l.name)
	dress := func(p pen, f fate) pen {
		if f.left && f.rows > 0 {
			return p.As(look(table.Subtotal))
		}
		return p
	}
	t.Add(col{Title: "Rows read", Style: table.TextStyle, Foot: foot("read"), Cell: func(p pen, f fate) { dress(p, f).Text(f.name) }})
	rows := t.Add(col{Title: "Number", Style: table.IntStyle, Sums: true, Foot: func(p pen) { p.Int(a.Read) },
		Cell: func(p pen, f fate) { dress(p, f).In(table.Number(0)).Int(f.rows) }})
	t.Add(col{Title: "Meaning", Style: table.WrapStyle, Span: summaryWidth - 2,
		Cell: func(p pen, f fate) { p.As(dress(p, f).Style().Wrapped()).Text(f.meaning) },
		Foot: func(p pen) {
			l.adds(p, amount{"SUM(" + rows.Range() + ")", rows.Sum()}, amount{rows.Foot().String(), qty.Whole(a.Read)}, 0)
		}})
	list(l, t, []fate{
		{"estimated", "repairs in order and cost", a.Estimated, false},
		{"joined", "joined with a neighbour in one repair", a.Merged, false},
		{"queried", "left out until answered: sheet " + sheetQueries, a.Queried, true},
		{"NOT REPAIRABLE", "left out: this method cannot hold them", a.NotRepairable, true},
		{"filtered", "left out by the user's own rule", a.Filtered, false},
		{"blank", "empty rows", a.Blank, false},
	})
	read := t.Foot(table.Total)
	read.Cells[3] = table.Text(legible(d.p.Name), look(table.Total))
	read.Merge = []table.Span{{First: 4, Last: summaryWidth}}
	l.AddRow(read)
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
	t := d.leftOutTable(l)
	begin(l, t, 0)
	inRepairs := 0
	for _, status := range []scope.Status{scope.NotRepairable, scope.Queried} {
		inRepairs += d.leftOutAs(l, t, status)
	}
	if rows := a.Queried + a.NotRepairable - inRepairs; rows > 0 {
		l.note(fmt.Sprintf("%s could not be read far enough to make a repair of: sheet %s.", countOf(rows, "row", "rows"), sheetQueries))
	}
}

func (d *desk) leftOutTable(l *leaf) *table.Table[repairEntry] {
	type col = table.Col[repairEntry]
	t := table.NewTable[repairEntry](l.name)
	t.Add(col{Title: "Repair", Style: table.WrapStyle, Cell: func(p pen, r repairEntry) { p.Link(r.ID, d.repairs.id.Nth(r.at)) }})
	t.Add(col{Title: "Line", Style: table.WrapStyle, Cell: func(p pen, r repairEntry) { p.Text(r.Line) }})
	t.Add(col{Title: "Survey rows", Style: table.WrapStyle, Cell: func(p pen, r repairEntry) {
		p.Text(fitLines(strings.Join(rowIDs(r.Repair), ", "), l.columns[2].Width, 2))
	}})
	t.Add(col{Title: "Why", Style: table.WrapStyle, Span: summaryWidth - 3, Cell: func(p pen, r repairEntry) { p.Text(d.reason(r.Repair)) }})
	return t
}

// leftOutAs names the repairs of one status, and counts their rows.
func (d *desk) leftOutAs(l *leaf, t *table.Table[repairEntry], status scope.Status) (rows int) {
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
		put(l, t, repairEntry{Repair: r, at: i})
	}
	return rows
}
