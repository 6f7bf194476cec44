package export

import (
	"cmp"
	"fmt"
	"slices"

	"wraptally/estimate"
	"wraptally/estimate/kit"
	"wraptally/export/table"
)

// crews is the sheet Crews, laid out. Kits and issues are two tables in the same
// columns; only issues have a quantity, so that sums by item over the whole sheet
// are right.
type crews struct {
	kits       *table.Table[int] // of this workbook
	issues     *table.Table[estimate.Issue]
	spares     *table.Table[[]kit.Piece] // runs of pieces alike, of no item
	minutes    table.Ref                 // of a kit
	mass       table.Ref                 // of a kit and of what is issued
	issued, no table.Ref
	rows       []table.Row
}

// newCrews declares the two tables and lays the sheet out.
func (b *book) newCrews() crews {
	s := crews{kits: table.NewTable[int](sheetCrews), issues: table.NewTable[estimate.Issue](sheetCrews), spares: table.NewTable[[]kit.Piece](sheetCrews)}
	kg := table.TextStyle.In(table.Number(2))
	text, centred := table.TextStyle, table.TextStyle.To(table.Centre)

	type kitCol = table.Col[int]
	const kitWide, lineWidth, areaWidth = 16, 40, 12
	_, unit := b.along(0)
	add := s.kits.Add
	add(tickColumn[int]())
	add(kitCol{Title: "Kit", Width: kitWide, Style: table.WrapStyle, Cell: func(p pen, k int) { p.Link(b.repair(k).ID, b.kitTarget(k)) }})
	add(kitCol{Title: "Line", Width: lineWidth, Style: table.WrapStyle, Cell: func(p pen, k int) { p.Text(fitLines(lineName(b.repair(k)), lineWidth, 2)) }})
	add(kitCol{Title: "Area", Width: areaWidth, Style: table.WrapStyle, Cell: func(p pen, k int) { p.Text(fitLines(b.repair(k).Area, areaWidth, 2)) }})
	add(kitCol{Title: "Chainage, " + unit, Width: 14, Style: kg, Cell: func(p pen, k int) {
		at, _ := b.along((b.repair(k).From + b.repair(k).To) / 2)
		p.Num(at)
	}})
	add(kitCol{Title: "Size", Width: 10, Style: table.WrapStyle.To(table.Centre), Cell: func(p pen, k int) {
		p.Text(clip(cmp.Or(b.repair(k).Size, b.lengthText(b.repair(k).OD)), 14))
	}})
	add(kitCol{Title: "Kind", Width: 11, Style: text, Cell: func(p pen, k int) {
		if b.repair(k).Leaking {
			p.Text("leak + wrap")
			return
		}
		p.Text("wrap only")
	}})
	s.minutes = add(kitCol{Title: "Minutes", Width: 10, Style: table.IntStyle, Cell: func(p pen, k int) { p.Num(b.job(k).Minutes) }})
	s.mass = add(kitCol{Title: "Weight, " + b.massUnit(), Width: 12, Style: kg, Cell: func(p pen, k int) { p.By(b.kitWeight(k)).Num(b.mass(b.job(k).Mass)) }})
	pack := kitCol{Width: 9, Style: text}
	if b.p.Store != nil {
		pack.Title, pack.Style, pack.Cell = "Can be packed", table.WrapStyle, func(p pen, k int) { p.Text(packWord(b.packingOf(k))) }
	}
	add(pack)
	add(kitCol{Title: "Done", Width: 7, Style: table.TickStyle, Cell: func(p pen, _ int) { p.Text("☐") }})

	type issueCol = table.Col[estimate.Issue]
	items := b.p.Catalog.Items
	issue := s.issues.Add
	issue(tickColumn[estimate.Issue]())
	issue(issueCol{Title: "Item", Style: look(table.Code), Cell: func(p pen, is estimate.Issue) { p.Text(items[is.Item].Code) }})
	issue(issueCol{Title: "Name", Style: table.WrapStyle, Cell: func(p pen, is estimate.Issue) { p.Text(items[is.Item].Name) }})
	issue(issueCol{Title: "From", Style: text, Cell: func(p pen, is estimate.Issue) { p.Text(b.from(is.Item, b.given(is.Item))) }})
	issue(issueCol{Title: "Unit", Style: text, Cell: func(p pen, is estimate.Issue) { p.Text(items[is.Item].Unit) }})
	s.no = issue(issueCol{Title: itemNo, Style: table.IntStyle.To(table.Centre), Cell: func(p pen, is estimate.Issue) { p.Int(b.number[items[is.Item].Code]) }})
	issue(issueCol{Style: text})
	each := issue(issueCol{Title: "Each, " + b.massUnit(), Style: text.In(table.Number(3)), Cell: func(p pen, is estimate.Issue) { p.Num(b.mass(items[is.Item].UnitMass)) }})
	issue(issueCol{Title: "Weight, " + b.massUnit(), Style: kg, Cell: func(p pen, is estimate.Issue) {
		p.Formula("%v*%v", s.issued, each).Num(is.Qty * b.mass(items[is.Item].UnitMass))
	}})
	s.issued = issue(issueCol{Title: "Issued", Style: table.IntStyle, Cell: func(p pen, is estimate.Issue) { p.Num(is.Qty) }})
	issue(issueCol{Title: "Back", Style: centred, Cell: func(p pen, is estimate.Issue) {
		if items[is.Item].Returns {
			p.As(table.TickStyle).Text("☐")
			return
		}
		p.Text("–")
	}})

	b.declareSpares(&s)
	b.crewsLayout(&s)
	s.issues.Place(0, len(s.rows))
	return s
}

// declareSpares declares the rows of pieces that are cut for spare sealing sets, in
// the columns of what is issued.
func (b *book) declareSpares(s *crews) {
	type col = table.Col[[]kit.Piece]
	text, add := table.TextStyle, s.spares.Add
	add(tickColumn[[]kit.Piece]())
	add(col{Title: "Spare pieces", Style: text, Cell: func(p pen, _ []kit.Piece) { p.Text("cut pieces") }})
	add(col{Title: "Labels", Span: 2, Style: table.WrapStyle, Cell: func(p pen, v []kit.Piece) { p.Text(pieceNames(v)) }})
	add(col{Title: "Cut from", Span: 3, Style: table.WrapStyle, Cell: func(p pen, v []kit.Piece) { p.Text(v[0].Stock + ", " + b.cutFromAll(v)) }})
	add(col{Title: "Each", Style: table.WrapStyle, Cell: func(p pen, v []kit.Piece) { p.Text(b.pieceSize(v[0])) }})
	add(col{Title: "Weight, " + b.massUnit(), Style: text.In(table.Number(2)), Cell: func(p pen, v []kit.Piece) {
		p.Num(b.mass(float64(len(v)) * b.p.PieceMass(v[0])))
	}})
	add(col{Title: "Issued", Style: table.IntStyle, Cell: func(p pen, v []kit.Piece) { p.Int(len(v)) }})
	add(col{Title: "Back", Style: table.TickStyle, Cell: func(p pen, _ []kit.Piece) { p.Text("☐") }})
}

// spares are the spare sealing sets that go out with this workbook, as issues do.
func (b *book) spares() []estimate.Spare {
	return slices.DeleteFunc(slices.Clone(b.p.Spares), func(s estimate.Spare) bool { return !b.complete() && !slices.Contains(b.part, s.With) })
}

// crewsSpares lists the pieces of a crew's spare sealing sets.
func (b *book) crewsSpares(pg *pager, s *crews, crew int) {
	for _, v := range b.spares() {
		if v.Crew != crew {
			continue
		}
		crewsTop(pg, fmt.Sprintf("Crew %d, %s for an attempt that fails, each good for any one leak of the crew: cut strips and sheet down, never join them", crew, countOf(v.Sets, "spare sealing set", "spare sealing sets")), s.spares.Head())
		for _, run := range alikePieces(v.Pieces) {
			pg.add(func(n int) table.Row { return s.spares.Row(n, run) })
		}
		pg.heading = nil
	}
}

// turn is a crew's shift with the kits of this workbook that belong to it.
type turn struct {
	crew, shift int
	kits        []int // in the order of the work
}

// turns are the shifts in which the kits of this workbook are begun, by crew and
// shift.
func (b *book) turns() []turn {
	type key struct{ crew, shift int }
	at := map[key]int{}
	var list []turn
	for k := range b.part {
		v := b.job(k)
		i, ok := at[key{v.Crew, v.Shift}]
		if !ok {
			i = len(list)
			at[key{v.Crew, v.Shift}] = i
			list = append(list, turn{crew: v.Crew, shift: v.Shift})
		}
		list[i].kits = append(list[i].kits, k)
	}
	slices.SortStableFunc(list, func(a, b turn) int { return cmp.Or(cmp.Compare(a.crew, b.crew), cmp.Compare(a.shift, b.shift)) })
	return list
}

// issues are the issues to crews and campaign that go out with this workbook.
// Where the kits are spread over several workbooks, an issue goes with the one
// that holds the first kit of its crew and shift, of its crew, or of the
// campaign, so that nothing is issued twice.
func (b *book) issues() []estimate.Issue {
	if b.complete() {
		return b.p.Issues
	}
	return slices.DeleteFunc(slices.Clone(b.p.Issues), func(is estimate.Issue) bool {
		return !slices.Contains(b.part, is.With)
	})
}

// crewsSheet lists by crew and shift which kits are used, in order, and what is
// issued to the campaign, to each crew and for each shift.
func (b *book) crewsSheet() *table.Sheet {
	return &table.Sheet{Name: sheetCrews, Columns: b.crews.kits.Columns(), Protected: true, Page: b.crewsPage(), FreezeRows: 2, Rows: slices.Values(b.crews.rows)}
}

func (b *book) crewsPage() table.Page {
	page := b.page(false)
	page.Margins = narrowMargins
	return page
}

func (b *book) crewsLayout(s *crews) {
	pg := newPager(s.kits.Columns(), b.crewsPage(), func(row table.Row) bool { s.rows = append(s.rows, row); return true })
	crewsWidth := s.kits.Wide()
	pg.rows(table.Spread("Crews and shifts", look(table.Title), crewsWidth),
		table.Spread("Kits in the order of the work, and what else to hand out. A kit is listed under the shift it starts in; work that is longer than the shift runs on into the next. Minutes are of the whole crew and hold no reserve.", look(table.Muted), crewsWidth))
	issues := b.issues()
	b.crewsIssue(pg, s, "For the campaign", of(issues, 0, 0))
	crew := 0
	for _, t := range b.turns() {
		if t.crew != crew {
			if crew > 0 {
				pg.page()
			}
			crew = t.crew
			pg.rows(heading(crewsWidth, fmt.Sprintf("Crew %d", crew)))
			b.crewsIssue(pg, s, fmt.Sprintf("Crew %d, for the whole campaign", crew), of(issues, crew, 0))
			b.crewsSpares(pg, s, crew)
		}
		title := fmt.Sprintf("Crew %d, shift %d", t.crew, t.shift)
		b.crewsKits(pg, s, title, t.kits)
		b.crewsIssue(pg, s, title+", also hand out", of(issues, t.crew, t.shift))
	}
	if len(b.part) > 0 {
		b.transportRows(pg, crewsWidth)
	}
}

// of picks the issues to one crew and shift.
func of(issues []estimate.Issue, crew, shift int) []estimate.Issue {
	var out []estimate.Issue
	for _, is := range issues {
		if is.Crew == crew && is.Shift == shift {
			out = append(out, is)
		}
	}
	return out
}

func heading(columns int, text string) table.Row {
	return rowOf(columns, over(1, columns, table.Text(text, look(table.Heading))))
}

// crewsTop opens a table of the sheet and says so again where a page runs over.
func crewsTop(pg *pager, title string, heads table.Row) {
	wide := len(heads.Cells)
	top := subhead(title, wide)
	top.Height = 14
	pg.room(pg.heightOf([]table.Row{top, heads}) + 2*18)
	pg.rows(table.Row{Height: 4}, top, heads)
	pg.heading = func() table.Row {
		return rowOf(wide, over(1, wide, table.Text(title+", continued", look(table.Subheading))))
	}
}

func (b *book) crewsKits(pg *pager, s *crews, title string, kits []int) {
	crewsTop(pg, title, s.kits.Head())
	first, minutes, mass := pg.next, 0.0, 0.0
	for _, k := range kits {
		v := b.job(k)
		minutes += v.Minutes
		mass += b.mass(v.Mass)
		pg.add(func(row int) table.Row { return oneLine(s.kits.Columns(), s.kits.Row(row, k), 15.5) })
	}
	pg.add(func(row int) table.Row {
		total := look(table.Subtotal)
		sum := func(r table.Ref, value float64, f table.Format) laid {
			return over(r.Column(), r.Column(), table.FormulaNum(fmt.Sprintf("SUM(%s:%s)", r.In(first), r.In(row-1)), value, total.In(f)))
		}
		return rowOf(s.kits.Wide(), over(1, s.minutes.Column()-1, table.Text(countOf(len(kits), "kit", "kits"), total)),
			sum(s.minutes, minutes, table.Number(0)), sum(s.mass, mass, table.Number(2)), over(s.mass.Column()+1, s.kits.Wide(), table.Empty(total)))
	})
	pg.heading = nil
}

// oneLine gives a row of one line that height.
func oneLine(columns []table.Column, row table.Row, height float64) table.Row {
	if h, _ := table.RowHeight(columns, &row); h <= 18 {
		row.Height = height
	}
	return row
}

// crewsIssue lists what is issued, in the order of the store.
func (b *book) crewsIssue(pg *pager, s *crews, title string, issues []estimate.Issue) {
	if len(issues) == 0 {
		return
	}
	byItem := map[int]estimate.Issue{}
	var order []int
	for _, is := range issues {
		byItem[is.Item] = is
		order = append(order, is.Item)
	}
	byStore(b.p.Catalog.Items, order)
	crewsTop(pg, title, s.issues.Head())
	for _, item := range order {
		pg.add(func(n int) table.Row {
			return oneLine(s.kits.Columns(), s.issues.Row(n, byItem[item]), 13.5)
		})
	}
	pg.heading = nil
}
