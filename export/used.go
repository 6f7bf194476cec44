package export

import (
	"wraptally/catalog"
	"wraptally/estimate/kit"
	"wraptally/estimate/survey"
	"wraptally/estimate/used"
	"wraptally/export/table"
)

// usedRow is a row of the sheet that is filled in after a repair.
type usedRow struct {
	kit, record, code, name, unit string
	planned                       func(p pen)
	lot                           string
	goods                         bool // may come back, be spoilt or be replaced
}

// usedTable declares the sheet by the columns of package used.
func (b *book) usedTable() *table.Table[usedRow] {
	t := table.NewTable[usedRow](used.Sheet)
	fill, text := look(table.FillIn), table.TextStyle
	widths := map[int]float64{used.Kit: nameWidth, used.Record: 10, used.Code: 19, used.Name: 36, used.Unit: 9, used.Planned: 12, used.Used: 13, used.Returned: 9, used.Damaged: 9, used.Substitute: 16, used.Lot: 15, used.Remark: 20, used.Run: 9}
	cells := map[int]func(p pen, v usedRow){
		used.Kit:     func(p pen, v usedRow) { p.Text(v.kit) },
		used.Record:  func(p pen, v usedRow) { p.Text(v.record) },
		used.Code:    func(p pen, v usedRow) { p.Text(v.code) },
		used.Name:    func(p pen, v usedRow) { p.Text(v.name) },
		used.Unit:    func(p pen, v usedRow) { p.Text(v.unit) },
		used.Planned: func(p pen, v usedRow) { v.planned(p) },
		used.Lot:     func(p pen, v usedRow) { p.Text(v.lot) },
		used.Run:     func(p pen, _ usedRow) { p.Text(b.opt.Run) },
	}
	styles := map[int]table.Style{used.Code: look(table.Code), used.Planned: table.IntStyle, used.Name: table.WrapStyle, used.Kit: table.WrapStyle}
	for i, c := range used.Columns {
		style, cell := text, cells[i]
		if s, ok := styles[i]; ok {
			style = s
		}
		if c.ByHand {
			style = fill.Wrapped()
		}
		onlyGoods := i == used.Returned || i == used.Damaged || i == used.Substitute || i == used.Lot
		t.Add(table.Col[usedRow]{Title: c.Heading, Width: widths[i], Style: style, Cell: func(p pen, v usedRow) {
			switch {
			case onlyGoods && !v.goods:
				p.As(text).Text("")
			case cell != nil:
				cell(p, v)
			}
		}})
	}
	return t
}

// usedRows are the rows of each kit of this workbook.
func (b *book) usedRows() (out []usedRow) {
	for k, kt := range b.kits {
		out = append(out, b.usedOf(k, kt)...)
	}
	return out
}

// usedOf are the rows of a kit: when and by whom, what went into it, how long each
// task took, what was measured.
func (b *book) usedOf(k int, kt *kit.Kit) (out []usedRow) {
	j, r := b.job(k), kt.Repair
	none := func(p pen) { p.Text("") }
	number := func(v float64) func(p pen) { return func(p pen) { p.In(quantityFormat(v)).Num(v) } }
	add := func(record string, v used.Value, planned func(p pen)) {
		out = append(out, usedRow{kit: r.ID, record: record, code: v.Code, name: v.Name, unit: v.Unit, planned: planned})
	}
	for _, v := range used.Works {
		planned := none
		switch v.Code {
		case used.Start:
			planned = func(p pen) { writeDay(p.As(dayStyle), j.Begun, "") }
		case used.Finish:
			planned = func(p pen) { writeDay(p.As(dayStyle), j.Done, "") }
		case used.Crew:
			planned = func(p pen) { p.As(table.TextStyle).Text(b.p.Crews[j.Crew-1].Name) }
		}
		add(used.Work, v, planned)
	}
	for i := range kt.Lines {
		l := &kt.Lines[i]
		if l.Item.Returns && l.Item.Issue != catalog.LevelKit {
			continue // tools that stay with the crew
		}
		row := usedRow{kit: r.ID, record: used.Item, code: l.Item.Code, name: l.Item.Name, unit: l.Item.Unit, planned: number(l.Qty), goods: true}
		if l.Item.Issue == catalog.LevelKit {
			row.lot = b.heldFor(k, l.Item).names
		}
		out = append(out, row)
	}
	for _, t := range kt.Times {
		add(used.Task, used.Value{Code: t.Task.Task, Name: t.Task.Name, Unit: "min"}, number(used.Shown(used.Task, t.Task.Task, t.Minutes)))
	}
	for _, v := range used.Measures {
		planned := none
		switch v.Code {
		case used.Wall:
			if wall := survey.Together(r.Defects).Remaining; wall.OK {
				planned = number(wall.V)
			}
		case used.SurfaceTemp:
			planned = number(r.SurfaceTemp)
		case used.Layers:
			planned = number(float64(r.Layers))
		case used.Length:
			planned = number(used.Shown(used.Measured, v.Code, r.Length))
		case used.Thickness:
			planned = number(used.Shown(used.Measured, v.Code, r.WrapThickness))
		}
		add(used.Measured, v, planned)
	}
	return out
}

// usedSheet is filled in after each repair, and its columns are said below it.
func (b *book) usedSheet() *table.Sheet {
	t := b.usedTable()
	l := newLeaf(used.Sheet, "Used, returned, damaged, measured: to be filled in after each repair", b.runText()+orBlank(", ", b.dated())+". A row is known by Kit, Record and Code; add a row for what was not planned. Send it back as it is: the columns are told at its end and stay as they are.", t.Columns())
	l.Blank(1)
	rows := b.usedRows()
	begin(l, t, len(rows))
	s := l.headed(b.page(true), 1)
	s.Filter = t.Area()
	s.Rows = inTurn(then(l, t, rows), b.usedColumns(t.HeadRow()+len(rows)).All())
	return s
}

// usedColumns tells the columns, under so many rows.
func (b *book) usedColumns(after int) *leaf {
	l := &leaf{name: used.Sheet, columns: b.usedTable().Columns()}
	type col = table.Col[used.Column]
	t := table.NewTable[used.Column](used.Sheet)
	t.Add(col{Title: "Column", Style: table.WrapStyle, Cell: func(p pen, c used.Column) { p.Text(c.Heading) }})
	t.Add(col{Title: used.By, Style: table.TextStyle, Cell: func(p pen, c used.Column) {
		if c.ByHand {
			p.Text(used.ByHand)
			return
		}
		p.Text(used.ByRun)
	}})
	t.Add(col{Title: "Unit", Style: table.TextStyle, Cell: func(p pen, c used.Column) {
		if c.Unit == "row" {
			p.Text("as the column Unit")
		}
	}})
	t.Add(col{Title: "Meaning", Span: 9, Style: table.WrapStyle, Cell: func(p pen, c used.Column) { p.Text(c.Meaning) }})
	l.heading(used.Below)
	t.Place(after+l.Next(), len(used.Columns))
	l.AddRow(t.Head())
	for _, c := range used.Columns {
		l.AddRow(t.Row(after+l.Next(), c))
	}
	return l
}
