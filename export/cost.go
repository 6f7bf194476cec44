package export

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/shopspring/decimal"

	"wraptally/estimate"
	"wraptally/estimate/bid"
	"wraptally/export/table"
)

// costs is the sheet Cost being made, and where its splits are.
type costs struct {
	*leaf
	lines *table.Table[costLine]

	stage, title, quantity, unit, rate, base, amount, running, remark table.Ref

	stages, kinds, areas, pipes split
	lineAt                      []int // alongside the jobs: row of its line of pipe, 0 where that is not listed
}

// costLine is a line of the build-up.
type costLine struct {
	*bid.Line
	of      string          // what a percentage is taken of
	running decimal.Decimal // the total up to it
}

// mostLines is how many lines of pipe the cost is listed for one by one.
const mostLines = 250

// costSheet leads from direct cost to bid and splits the bid up by area, line
// and kind of material.
func (d *desk) costSheet() *table.Sheet {
	d.cost = d.newCost()
	d.buildUp()
	d.accuracy()
	d.byStage()
	d.byKind()
	d.byPlace()
	charts := d.costCharts()
	s := d.cost.sheet(d.page(false))
	s.Protected, s.Charts = true, charts
	return s
}

// newCost declares the build-up. The formula of every amount is the same: a
// quantity times a rate, a percentage of a base, or a margin, see bid.Rules.
func (d *desk) newCost() *costs {
	type col = table.Col[costLine]
	cur, money := d.p.Bid.Currency, shown(d.money())
	s := &costs{lines: table.NewTable[costLine](sheetCost)}
	add := s.lines.Add
	s.stage = add(col{Title: "Stage", Width: 13, Style: table.TextStyle, Cell: func(p pen, l costLine) { p.Text(l.Stage) }})
	s.title = add(col{Title: "Line", Width: 30, Style: table.WrapStyle, Cell: func(p pen, l costLine) { p.Text(l.Name) }})
	s.quantity = add(col{Title: "Quantity", Width: 10, Style: shown(table.Number(3)), Cell: func(p pen, l costLine) {
		switch {
		case l.Rule().Percent:
			p.As(table.TextStyle).Text("")
		case l.Basis == "sum" || l.Basis == "campaign":
			p.Int(1)
		default:
			p.By(d.quantityOf(l.Line)).Dec(l.Quantity)
		}
	}})
	s.unit = add(col{Title: "Unit", Width: 11, Style: table.TextStyle, Cell: func(p pen, l costLine) { p.Text(l.Unit) }})
	s.rate = add(col{Title: "Rate", Unit: cur + " or %", Width: 11, Style: money, Cell: func(p pen, l costLine) {
		if l.Rule().Percent {
			p.In(table.Number(3))
		}
		p.By(d.rateOf(l.Line)).Dec(l.Rate)
	}})
	s.base = add(col{Title: "Percentage of", Unit: cur, Width: 13, Style: money, Cell: func(p pen, l costLine) {
		if !l.Rule().Percent {
			p.As(table.TextStyle).Text("")
			return
		}
		p.By(l.of).Dec(l.Base)
	}})
	s.amount = add(col{Title: "Amount", Unit: cur, Width: 13, Style: money, Cell: func(p pen, l costLine) {
		at := map[string]string{"n": p.Beside(s.quantity), "rate": p.Beside(s.rate), "k": p.Beside(s.rate), "base": p.Beside(s.base)}
		percent, margin, count := formulaOf(bid.Percent, at), formulaOf(bid.Margin, at), formulaOf(bid.Count, at)
		p.By(d.rounded("IF(%[1]v=%[2]q,%[3]s,IF(%[1]v=%[4]q,%[5]s,%[6]s))", p.Beside(s.unit), bid.Percent.Unit, percent, bid.Margin.Unit, margin, count)).Dec(l.Amount)
	}})
	s.running = add(col{Title: "Running total", Unit: cur, Width: 13, Style: money, Cell: func(p pen, l costLine) {
		p.Formula("SUM(%s:%v)", s.amount.In(s.lines.First()).AbsRow(), s.amount).Dec(l.running)
	}})
	s.remark = add(col{Title: "Note", Width: 29, Style: table.WrapStyle, Cell: func(p pen, l costLine) { p.Text(d.costNote(l.Line)) }})
	s.leaf = newLeaf(sheetCost, "Cost", "From direct cost to bid. Each line is rounded once, half away from zero, to the smallest unit of "+cur+"; a percentage is of the total before its stage. Rates and percentages: sheet "+sheetInputs+".", s.lines.Columns())
	return s
}

// rateOf is the cell with the rate of a line of the build-up.
func (d *desk) rateOf(l *bid.Line) string {
	switch l.Code {
	case "materials", "stock", "tools":
		return l.Code + "_charged"
	case codeAccess:
		return "access_total"
	}
	if name := d.chargedBy(l.Code); name != "" {
		return name
	}
	return d.inputs.rate[l.Code]
}

// quantityOf is what a line of the build-up counts.
func (d *desk) quantityOf(l *bid.Line) string {
	switch l.Basis {
	case "hour":
		return d.inputs.hours[l.Code]
	case "kg":
		return "mass_delivered"
	}
	return countName(l.Basis)
}

// formulaOf is the formula of a rule of the build-up with cells for its symbols.
func formulaOf(r bid.Rule, at map[string]string) string {
	return strings.NewReplacer("base", at["base"], "rate", at["rate"], "k", at["k"], "n", at["n"], "·", "*", " − ", "-").Replace(r.Formula)
}

// buildUp writes the lines of the bid.
func (d *desk) buildUp() {
	s, b := d.cost, d.p.Bid
	s.heading("Build-up")
	begin(s.leaf, s.lines, len(b.Lines))
	before, last := "0", ""
	running := decimal.Zero
	for i := range b.Lines {
		line, r := &b.Lines[i], s.Next()
		if line.Stage != last && i > 0 {
			before = s.running.In(r - 1).String()
		}
		last = line.Stage
		of, stage := before, map[string]string{"percent-materials": "materials", "percent-stage": line.Of}[line.Basis]
		switch {
		case line.Basis == "percent-order":
			of = materialsTotal
		case stage != "" && s.amount.In(r).Row > s.lines.First():
			of = fmt.Sprintf("SUMIFS(%s:%s,%s:%s,%q)", s.amount.In(s.lines.First()).Abs(), s.amount.In(r-1).AbsRow(), s.stage.In(s.lines.First()).Abs(), s.stage.In(r-1).AbsRow(), stage)
		}
		running = running.Add(line.Amount)
		put(s.leaf, s.lines, costLine{line, of, running})
	}
	d.totals(running)
}

func (d *desk) costNote(l *bid.Line) string {
	switch l.Code {
	case "materials", "stock", "tools":
		return "sheet " + sheetNeeds
	case codeAccess:
		return "by way of access"
	}
	if d.chargedBy(l.Code) != "" {
		return "sheet " + sheetOrder
	}
	if l.Stage == "labour" {
		return "hours and rate of the whole crew"
	}
	return l.Note
}

// The stages whose end is a headline figure.
const (
	lastDirect = "freight"
	lastNet    = "profit"
)

// totals are the headline figures, each under its defined name.
func (d *desk) totals(running decimal.Decimal) {
	s, b := d.cost, d.p.Bid
	upTo := func(stage string) int { // row of the last line up to the stage
		order := slices.Index(bid.Stages, stage)
		row := s.lines.First() - 1
		for i := range b.Lines {
			if slices.Index(bid.Stages, b.Lines[i].Stage) <= order {
				row = s.lines.First() + i
			}
		}
		return row
	}
	line := func(name, title string, row int, v decimal.Decimal, l table.Look) amount {
		at := s.amount.On(s.Next())
		s.AddRow(s.lines.Line(s.Next(), s.remark, look(l), func(in func(table.Ref) pen) {
			in(s.stage).Text(name)
			in(s.title).Text(title)
			in(s.amount).In(d.money()).Formula("SUM(%v:%v)", s.amount.In(s.lines.First()), s.amount.In(row)).Dec(v)
		}))
		return d.define(name, at, v)
	}
	line("direct_cost", "Direct cost", upTo(lastDirect), b.Direct, table.Subtotal)
	d.net = line("bid_net", "Bid before tax", upTo(lastNet), b.Net, table.Subtotal)
	d.total = line("bid_total", "Bid with tax", s.lines.Last(), b.Total, table.Total)
	s.AddRow(s.lines.Line(s.Next(), s.running, table.Style{}, func(in func(table.Ref) pen) {
		in(s.title).As(look(table.Label)).Text("The running total ends at the bid")
		s.adds(in(s.amount), amount{s.running.In(s.lines.Last()).String(), running}, d.total, b.Minor)
	}))
}

// accuracy says of what class the estimate is and how far off it may be.
func (d *desk) accuracy() {
	s, b, set := d.cost, d.p.Bid, &d.p.Catalog.Settings
	s.heading("Accuracy")
	s.AddRow(table.Spread(classText(d.p)+". The range is about the bid before tax and is no part of it: contingency is a line of the build-up of its own, for what is expected to be spent on the unforeseen; the range says how far the whole may be off.", look(table.Plain), s.lines.Wide()))
	end := func(name, title, rate string, share float64, v decimal.Decimal) {
		d.define(name, s.amount.On(s.Next()), v)
		s.AddRow(s.lines.Line(s.Next(), s.amount, table.TextStyle, func(in func(table.Ref) pen) {
			in(s.stage).Text(name)
			in(s.title).Text(title)
			in(s.unit).Text("%")
			in(s.rate).In(table.Number(1)).By(rate).Num(share)
			in(s.base).In(d.money()).By(d.net.src).Dec(d.net.value)
			p := in(s.amount).In(d.money())
			p.By(d.rounded("%s*(100+%s)/100", p.Beside(s.base), p.Beside(s.rate))).Dec(v)
		}))
	}
	end("range_low", "lower end", "accuracy_low", set.RangeLow, b.Low)
	end("range_high", "upper end", "accuracy_high", set.RangeHigh, b.High)
}

// part is a row of a split of the bid.
type part struct {
	name, area string
	no         int // of an area or line
	sum        decimal.Decimal
	count      int
	shares     [4]decimal.Decimal // materials, labour, access, other
}

func (p *part) add(q part) {
	p.sum, p.count = p.sum.Add(q.sum), p.count+q.count
	for i := range p.shares {
		p.shares[i] = p.shares[i].Add(q.shares[i])
	}
}

// split is where a split of the bid stands.
type split struct {
	names, amounts table.Ref
	shares         [4]table.Ref
	first, rows    int // row of the first part, and how many there are
}

// byStage sums the build-up by stage.
func (d *desk) byStage() {
	b := d.p.Bid
	var parts []part
	for _, stage := range bid.Stages {
		p := part{name: stage}
		for i := range b.Lines {
			if b.Lines[i].Stage == stage {
				p.add(part{sum: b.Lines[i].Amount, count: 1})
			}
		}
		if p.count > 0 {
			parts = append(parts, p)
		}
	}
	d.cost.stages = d.split("By stage", "Stage", "lines", parts, d.total, d.cost.stage.Rows().Abs(), d.cost.amount.Rows().Abs())
}

// byKind sums the order by kind of material.
func (d *desk) byKind() {
	at := map[string]int{}
	var parts []part
	for _, n := range d.items {
		k, ok := at[n.Item.Kind]
		if !ok {
			k = len(parts)
			at[n.Item.Kind] = k
			parts = append(parts, part{name: n.Item.Kind})
		}
		parts[k].add(part{sum: n.order.Cost(d.p.Bid.Minor), count: 1})
	}
	d.cost.kinds = d.split("What is ordered, by kind", "Kind", "items", parts, d.materials, d.needs.kind.All(), d.needs.cost.All())
}

// split writes a split of a total that follows every change, with its check: for
// each part the sum of those amounts whose name is the part's.
func (d *desk) split(title, head, counted string, parts []part, whole amount, names, amounts string) (out split) {
	type col = table.Col[part]
	s := d.cost
	t := table.NewTable[part](sheetCost)
	out.names = t.Add(col{Title: head, Style: table.TextStyle, Foot: foot("Total"), Cell: func(p pen, v part) { p.Text(v.name) }})
	t.Add(col{Style: table.TextStyle})
	t.Add(col{Title: "Number of " + counted, Style: table.IntStyle, Cell: func(p pen, v part) { p.Int(v.count) }})
	t.Add(col{Style: table.TextStyle})
	t.Add(col{Style: table.TextStyle})
	t.Add(col{Title: "Share", Unit: "%", Style: shown(table.Number(1)), Cell: func(p pen, v part) { share(p, out.amounts, v.sum, whole) }})
	out.amounts = t.Add(col{Title: "Amount", Unit: d.p.Bid.Currency, Style: shown(d.money()), Sums: true, Cell: func(p pen, v part) {
		p.Formula("SUMIFS(%s,%s,%v)", amounts, names, out.names).Dec(v.sum)
	}})
	t.Add(col{Title: "Check", Style: table.Style{Align: table.Centre}, Foot: func(p pen) { s.adds(p, total(out.amounts), whole, d.p.Bid.Minor) }})
	out.rows = len(parts)
	section(s.leaf, title, t, parts, "")
	s.AddRow(t.Foot(table.Total))
	return out
}

// share writes a part in per cent of the whole.
func share(p pen, of table.Ref, part decimal.Decimal, whole amount) {
	v := 0.0
	if !whole.value.IsZero() {
		v = part.Div(whole.value).InexactFloat64() * 100
	}
	p.Formula("IF(%[1]s=0,0,%[2]v/%[1]s*100)", whole.src, of).Num(v)
}

// places are the areas and the lines of pipe that the jobs lie on, numbered in the
// order in which they come, and of each job (from 0) which they are.
type places struct {
	areas, pipes   []part
	areaOf, pipeOf []int // alongside the jobs
}

// newPlaces sums the repairs' shares by area, and by line of an area.
func newPlaces(p *estimate.Campaign) (out places) {
	type place struct{ area, line string }
	areaAt, pipeAt := map[string]int{}, map[place]int{}
	for n := range p.Jobs {
		r, s := p.Jobs[n].Repair, p.Jobs[n].Share
		mine := part{sum: s.Total, count: 1, shares: sharesOf(&s)}
		a, ok := areaAt[r.Area]
		if !ok {
			a = len(out.areas)
			areaAt[r.Area] = a
			out.areas = append(out.areas, part{name: r.Area, no: a + 1})
		}
		out.areas[a].add(mine)
		k, ok := pipeAt[place{r.Area, r.Line}]
		if !ok {
			k = len(out.pipes)
			pipeAt[place{r.Area, r.Line}] = k
			out.pipes = append(out.pipes, part{name: r.Line, area: r.Area, no: k + 1})
		}
		out.pipes[k].add(mine)
		out.areaOf, out.pipeOf = append(out.areaOf, a), append(out.pipeOf, k)
	}
	return out
}

// byPlace splits the bid by the repairs' shares: by area, and by line of an area.
func (d *desk) byPlace() {
	areas, pipes := d.places.areas, d.places.pipes
	s := d.cost
	note := fmt.Sprintf("Shares of the bid with tax as estimated, %s %s: they do not follow changes. A new run shares the bid out again.", money(d.p.Bid.Total, d.p.Bid.Minor), d.p.Bid.Currency)
	at := s.Next()
	s.areas = d.shares("By area", note, "Area", areas, true)
	s.Row(at).Break = true
	order := upTo(len(pipes))
	if len(pipes) > mostLines {
		slices.SortStableFunc(order, func(a, b int) int { return pipes[b].sum.Cmp(pipes[a].sum) })
		order = order[:mostLines]
		note = fmt.Sprintf("The %d dearest of %d lines; the others are on the sheet %s.", mostLines, len(pipes), sheetRepairs)
	}
	listed, row := make([]part, len(order)), make([]int, len(pipes))
	for i, k := range order {
		listed[i] = pipes[k]
	}
	s.pipes = d.shares("By line", note, "Line", listed, len(listed) == len(pipes))
	for i, k := range order {
		row[k] = s.pipes.first + i
	}
	s.lineAt = make([]int, len(d.p.Jobs))
	for n, k := range d.places.pipeOf {
		s.lineAt[n] = row[k]
	}
}

var shareNames = [...]string{"Materials", "Labour", "Way of access", "Other"}

// sharesOf are what a repair bears of the bid, alongside shareNames.
func sharesOf(s *bid.Share) [4]decimal.Decimal {
	return [4]decimal.Decimal{s.Materials, s.Labour, s.Access, s.Other}
}

// shares writes a split of the repairs' shares by line or, of parts without a
// line, by area. The parts add up to the bid where they are all of them.
func (d *desk) shares(title, note, head string, parts []part, all bool) (out split) {
	type col = table.Col[part]
	s, cur, money, repairs := d.cost, d.p.Bid.Currency, shown(d.money()), d.repairs
	estimated := amount{d.p.Bid.Total.String(), d.p.Bid.Total} // whatever is changed since
	byLine, numbers := head == "Line", repairs.areaNo
	if byLine {
		numbers = repairs.lineNo
	}
	repairsOf := 0
	for _, p := range parts {
		repairsOf += p.count
	}
	t := table.NewTable[part](sheetCost)
	out.names = t.Add(col{Title: head, Style: table.WrapStyle, Foot: foot("Total"), Cell: func(p pen, v part) { p.Text(v.name) }})
	t.Add(col{Style: table.TextStyle, Cell: func(p pen, v part) {
		if byLine {
			p.As(table.WrapStyle).Text(v.area)
		}
	}})
	t.Add(col{Title: "Repairs", Style: table.IntStyle, Cell: func(p pen, v part) { p.Int(v.count) }, Foot: func(p pen) { p.Int(repairsOf) }})
	for k, name := range shareNames {
		out.shares[k] = t.Add(col{Title: name, Unit: cur, Style: money, Sums: true, Cell: func(p pen, v part) {
			p.By(sumOf(repairs.shares[k].All(), numbers.All(), strconv.Itoa(v.no))).Dec(v.shares[k])
		}})
	}
	out.amounts = t.Add(col{Title: "Total with tax", Unit: cur, Style: money, Sums: true, Cell: func(p pen, v part) {
		p.Formula("SUM(%v:%v)", out.shares[0], out.shares[len(out.shares)-1]).Dec(v.sum)
	}})
	t.Add(col{Title: "Share (%)", Style: shown(table.Number(1)), Cell: func(p pen, v part) { share(p, out.amounts, v.sum, estimated) }, Foot: func(p pen) {
		if all {
			s.adds(p, total(out.amounts), estimated, d.p.Bid.Minor)
		}
	}})
	s.heading(title)
	s.note(note)
	out.first, out.rows = s.Next()+1, len(parts)
	list(s.leaf, t, parts)
	s.AddRow(t.Foot(table.Total))
	return out
}

// costCharts stand under the tables, on a page of their own.
func (d *desk) costCharts() (charts []table.Chart) {
	s := d.cost
	s.heading("Cost breakdown")
	const few = 24 // places, with which the charts stand on one page
	s.Row(s.Next() - 1).Break = s.areas.rows+s.pipes.rows > few
	at := s.Next()
	const rowsHigh = 18
	chart := func(title, alt string) table.Chart {
		n := len(charts)
		return table.Chart{At: table.At{Column: 1 + 4*(n%2), Row: at + 1 + rowsHigh*(n/2)}, WidthMM: 116, HeightMM: 74, Title: title, ValueTitle: d.p.Bid.Currency, Values: table.Number(0), Alt: alt}
	}
	bars := func(title string, of split, alt string) {
		c := chart(title, alt)
		c.Labels, c.Series = true, of.series()
		charts = append(charts, c)
	}
	stack := func(title string, of split) {
		if of.rows > mostChartBars {
			return
		}
		c := chart(title, title+" with materials, labour, way of access and other")
		c.Stacked = true
		for k := range shareNames {
			c.Series = append(c.Series, table.Series{Name: of.shares[k].Head(), Categories: of.names.All(), Numbers: of.shares[k].All()})
		}
		charts = append(charts, c)
	}
	bars("Bid by stage", s.stages, "bars of the bid's stages")
	bars("Ordered, by kind", s.kinds, "bars of the order's cost by kind of material")
	stack("Bid by area", s.areas)
	stack("Bid by line", s.pipes)
	s.Blank(2 * rowsHigh)
	return charts
}

// series are the amounts of a split as one row of bars.
func (s split) series() []table.Series {
	return []table.Series{{Name: s.amounts.Head(), Categories: s.names.All(), Numbers: s.amounts.All()}}
}

// mostChartBars is how many bars a chart can hold and be read.
const mostChartBars = 25
