package export

import (
	"cmp"
	"fmt"
	"slices"

	"wraptally/estimate"
	"wraptally/export/table"
)

// The columns of the sheet Crews. Kits and issues stand in the same columns;
// only issues have a quantity, so that sums by item over the whole sheet are
// right.
var crewsColumns = []table.Column{
	{Width: 5}, {Width: 18}, {Width: 40}, {Width: 16}, {Width: 11}, {Width: 10}, {Width: 13}, {Width: 10}, {Width: 10}, {Width: 10}, {Width: 7},
}

const (
	crewsWidth  = 11
	crewsItem   = 2  // B: code of an item issued
	crewsIssued = 10 // J: quantity issued
	crewsTime   = 8
	crewsMass   = 9
)

// crewsColumn is a column of the sheet Crews from top to foot, for sums by item.
func (b *book) crewsColumn(column int) string {
	return table.Cells(column, 1, column, max(len(b.crews), 3)).On(sheetCrews)
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
		v := b.visit(k)
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
	var at []int
	for _, n := range b.part {
		at = append(at, b.p.IssuesWith(n)...)
	}
	slices.Sort(at)
	out := make([]estimate.Issue, len(at))
	for i, k := range at {
		out[i] = b.p.Issues[k]
	}
	return out
}

// crewsSheet lists by crew and shift which kits are used, in order, and what is
// issued to the campaign, to each crew and for each shift.
func (b *book) crewsSheet() *table.Sheet {
	return &table.Sheet{Name: sheetCrews, Columns: crewsColumns, Protected: true, Page: b.page(false), FreezeRows: 2, Rows: slices.Values(b.crews)}
}

func (b *book) crewsRows() (rows []table.Row) {
	pg := newPager(crewsColumns, b.page(false), func(row table.Row) bool { rows = append(rows, row); return true })
	pg.rows(table.Spread("Crews and shifts", look(table.Title), crewsWidth),
		table.Spread("Kits in the order of the work, and what is issued beside them, whole at its own level. A kit stands in the shift in which it is begun; work that is longer than the shift runs on into the next. Minutes are of the whole crew and hold no reserve.", look(table.Muted), crewsWidth))
	issues := b.issues()
	b.crewsIssue(pg, "For the campaign", of(issues, 0, 0))
	crew := 0
	for _, t := range b.turns() {
		if t.crew != crew {
			if crew > 0 {
				pg.page()
			}
			crew = t.crew
			pg.rows(heading(crewsWidth, fmt.Sprintf("Crew %d", crew)))
			b.crewsIssue(pg, fmt.Sprintf("Crew %d, for the whole campaign", crew), of(issues, crew, 0))
		}
		title := fmt.Sprintf("Crew %d, shift %d", t.crew, t.shift)
		b.crewsKits(pg, title, t.kits)
		b.crewsIssue(pg, title+", issued beside the kits", of(issues, t.crew, t.shift))
	}
	return rows
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

// crewsHead is a row of column heads; a "#" before a head sets it to the right, a "|"
// in the middle.
func crewsHead(titles ...string) table.Row {
	cells := make([]table.Cell, len(titles))
	for i, t := range titles {
		align := table.Left
		if t != "" && t[0] == '#' {
			t, align = t[1:], table.Right
		} else if t != "" && t[0] == '|' {
			t, align = t[1:], table.Centre
		}
		cells[i] = table.Text(t, table.HeadStyle.To(align))
	}
	return table.Row{Cells: cells}
}

func (b *book) crewsKits(pg *pager, title string, kits []int) {
	_, unit := b.along(0)
	top := subhead(title, 1, crewsWidth)
	heads := crewsHead("", "Kit", "Line", "Area", "#Chainage\n("+unit+")", "|Size", "Kind", "#Minutes", "#Weight\n(kg)", "", "|Done")
	pg.room(pg.heightOf([]table.Row{top, heads}) + 2*18)
	pg.rows(table.Row{Height: 6}, top, heads)
	pg.heading = func() table.Row {
		return rowOf(crewsWidth, over(1, crewsWidth, table.Text(title+", continued", look(table.Subheading))))
	}
	first, minutes, mass := pg.next, 0.0, 0.0
	for _, k := range kits {
		v := b.visit(k)
		minutes += v.Minutes
		mass += v.Mass
		pg.add(func(int) table.Row { return b.crewsKit(k) })
	}
	pg.add(func(row int) table.Row {
		total := look(table.Subtotal)
		sum := func(column int, value float64, f table.Format) laid {
			return over(column, column, table.FormulaNum(fmt.Sprintf("SUM(%s:%s)", cell(column, first), cell(column, row-1)), value, total.In(f)))
		}
		return rowOf(crewsWidth, over(1, 7, table.Text(countOf(len(kits), "kit", "kits"), total)),
			sum(crewsTime, minutes, table.Number(0)), sum(crewsMass, mass, table.Number(2)), over(10, 11, table.Empty(total)))
	})
	pg.heading = nil
}

func (b *book) crewsKit(k int) table.Row {
	r, v := b.repair(k), b.visit(k)
	at, _ := b.along((r.From + r.To) / 2)
	kind := "wrap only"
	if r.Leaking {
		kind = "leak + wrap"
	}
	size := r.Size
	if size == "" {
		size = b.lengthText(r.OD)
	}
	return table.Row{Cells: []table.Cell{
		table.Text("☐", table.TickStyle), b.kitLink(k),
		table.Text(fitLines(lineName(r), crewsColumns[2].Width, 2), table.WrapStyle),
		table.Text(fitLines(r.Area, crewsColumns[3].Width, 2), table.WrapStyle),
		table.Num(at, table.TextStyle.In(table.Number(2))),
		table.Text(clip(size, 14), table.WrapStyle.To(table.Centre)), table.Text(kind, table.TextStyle),
		table.Num(v.Minutes, table.IntStyle), table.Num(v.Mass, table.TextStyle.In(table.Number(2))),
		table.Empty(table.TextStyle), table.Text("☐", table.TickStyle),
	}}
}

// crewsIssue lists what is issued, in the order of the store.
func (b *book) crewsIssue(pg *pager, title string, issues []estimate.Issue) {
	if len(issues) == 0 {
		return
	}
	items := b.p.Catalog.Items
	byItem := map[int]estimate.Issue{}
	var order []int
	for _, is := range issues {
		byItem[is.Item] = is
		order = append(order, is.Item)
	}
	byStore(items, order)
	top := subhead(title, 1, crewsWidth)
	heads := crewsHead("", "Item", "Name", "From", "Unit", "", "", "#Each\n(kg)", "#Weight\n(kg)", "#Issued", "|Back")
	pg.room(pg.heightOf([]table.Row{top, heads}) + 2*18)
	pg.rows(table.Row{Height: 6}, top, heads)
	pg.heading = func() table.Row {
		return rowOf(crewsWidth, over(1, crewsWidth, table.Text(title+", continued", look(table.Subheading))))
	}
	for _, item := range order {
		it, is := &items[item], byItem[item]
		pg.add(func(row int) table.Row {
			back := table.Text("–", table.TextStyle.To(table.Centre))
			if it.Returns {
				back = table.Text("☐", table.TickStyle)
			}
			return rowOf(crewsWidth,
				over(1, 1, table.Text("☐", table.TickStyle)),
				over(crewsItem, crewsItem, table.Text(legible(it.Code), look(table.Code))),
				over(3, 3, table.Text(legible(it.Name), table.WrapStyle)),
				over(4, 4, table.Text(legible(it.Store), table.TextStyle)),
				over(5, 5, table.Text(legible(it.Unit), table.TextStyle)),
				over(6, 7, table.Empty(table.TextStyle)),
				over(8, 8, table.Num(it.UnitMass, table.TextStyle.In(table.Number(3)))),
				over(crewsMass, crewsMass, table.FormulaNum(fmt.Sprintf("%s*%s", cell(crewsIssued, row), cell(8, row)),
					is.Qty*it.UnitMass, table.TextStyle.In(table.Number(2)))),
				over(crewsIssued, crewsIssued, table.Num(is.Qty, table.IntStyle)),
				over(11, 11, back))
		})
	}
	pg.heading = nil
}
