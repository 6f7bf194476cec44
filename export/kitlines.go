package export

import (
	"fmt"
	"math"
	"strconv"

	"wraptally/catalog"
	"wraptally/estimate/kit"
	"wraptally/export/table"
)

// kitLine is a row of the sheet Kit lines: a line of a kit of this workbook.
type kitLine struct {
	kit  int
	line *kit.Line
}

// kitLines is the single home of packed quantities, with the columns that other
// sheets refer to.
type kitLines struct {
	rows                    *table.Table[kitLine]
	item, no, issued, level table.Ref
	crew, shift             table.Ref
	estimated, mass         table.Ref // what was packed as estimated; kg of what is
}

// newKitLines declares the sheet. What is issued whole with the kit is an input;
// what is issued to a crew or to the campaign is shown as asked for, and is rounded
// up there.
func (b *book) newKitLines() (s kitLines) {
	type col = table.Col[kitLine]
	text, count := table.TextStyle, table.IntStyle
	s.rows = table.NewTable[kitLine](sheetKitLines)
	add := s.rows.Add
	add(col{Title: "Kit", Width: nameWidth, Style: text, Cell: func(p pen, l kitLine) { p.Link(b.repair(l.kit).ID, b.repairID.Nth(b.job(l.kit).At)) }})
	add(col{Title: "Area", Width: 16, Style: text, Cell: func(p pen, l kitLine) { p.Text(b.repair(l.kit).Area) }})
	add(col{Title: "Line", Width: 16, Style: text, Cell: func(p pen, l kitLine) { p.Text(b.repair(l.kit).Line) }})
	s.crew = add(col{Title: "Crew", Width: 6, Style: count, Cell: func(p pen, l kitLine) { p.Int(b.job(l.kit).Crew) }})
	s.shift = add(col{Title: "Shift", Width: 6, Style: count, Cell: func(p pen, l kitLine) { p.Int(b.job(l.kit).Shift) }})
	add(col{Title: "Used on", Width: 11, Style: dayStyle, Cell: func(p pen, l kitLine) { writeDay(p, b.job(l.kit).Begun, "not known") }})
	add(col{Title: "From", Width: 10, Style: text, Cell: func(p pen, l kitLine) { p.Text(b.fromOf(l.kit, l.line.Item)) }})
	s.item = add(col{Title: "Item", Width: 17, Style: look(table.Code), Cell: func(p pen, l kitLine) { p.Text(l.line.Item.Code) }})
	add(col{Title: "Name", Width: 40, Style: text, Cell: func(p pen, l kitLine) { p.Text(l.line.Item.Name) }})
	add(col{Title: "Unit", Width: 8, Style: text, Cell: func(p pen, l kitLine) { p.Text(l.line.Item.Unit) }})
	add(col{Title: "Asked for", Unit: "units", Width: 11, Style: shown(table.Number(3)), Cell: func(p pen, l kitLine) { p.Num(l.line.Net) }})
	s.issued = add(col{Title: "Packed", Unit: "units", Width: 11, Style: byHandStyle, Cell: func(p pen, l kitLine) {
		switch {
		case l.line.Item.Issue != catalog.LevelKit:
			p.As(shown(table.Number(3)))
		case !b.byHand(l.line):
			p.As(shown(table.Number(0)))
		}
		p.Num(l.line.Qty)
	}})
	s.level = add(col{Title: "Issued with the", Width: 11, Style: text, Cell: func(p pen, l kitLine) { p.Text(l.line.Item.Issue) }})
	add(col{Title: "Asked for by", Width: 28, Style: text, Cell: func(p pen, l kitLine) { p.Text(l.line.Why()) }})
	add(col{Title: "Lots", Width: 24, Style: text, Cell: func(p pen, l kitLine) {
		if l.line.Item.Issue == catalog.LevelKit {
			p.Text(b.lotsOf(l.kit, b.number[l.line.Item.Code]-1))
		}
	}})
	s.no = add(col{Title: itemNo, Width: 7, Style: count, Cell: func(p pen, l kitLine) { p.Int(b.number[l.line.Item.Code]) }})
	packed := func(l kitLine) bool { return l.line.Item.Issue == catalog.LevelKit }
	s.estimated = add(col{Title: "As estimated", Unit: "units", Width: 10, Style: shown(table.Number(3)), Cell: func(p pen, l kitLine) { p.Num(l.line.Qty) }})
	each := add(col{Title: "Each", Unit: b.massUnit(), Width: 8, Style: shown(table.Number(3)), Cell: func(p pen, l kitLine) {
		if packed(l) {
			p.Num(b.mass(l.line.Item.UnitMass))
		}
	}})
	s.mass = add(col{Title: "Weight", Unit: b.massUnit(), Width: 8, Style: shown(table.Number(2)), Cell: func(p pen, l kitLine) {
		if packed(l) {
			p.Formula("%v*%v", s.issued, each).Num(l.line.Qty * b.mass(l.line.Item.UnitMass))
		}
	}})

	const head = 4
	n := 0
	for _, k := range b.kits {
		n += len(k.Lines)
	}
	s.rows.Place(head, n)
	return s
}

// kitLinesSheet lists every item of every kit.
func (b *book) kitLinesSheet() *table.Sheet {
	t := b.lines.rows
	under := "Every item of every kit. A packed quantity marked ± may be set by hand, here and only here: page, label, weight and contents code of the kit, pick list, order and cost follow it, with the offers as they were chosen. Sealant, putty, wrap and fasteners stand on the cards too: change survey or settings and run again. A new run knows nothing of what is set here and chooses anew."
	if !b.complete() {
		under = "Every item of the kits of this workbook, as estimated. Nothing is changed here: order and cost stand in the campaign's workbook. Change survey, tables or settings and run again."
	}
	l := newLeaf(sheetKitLines, "Kit lines", under, t.Columns())
	l.Blank(1)
	begin(l, t, t.Last()-t.HeadRow())
	s := l.headed(b.page(true), 1)
	s.Protected, s.Filter = true, t.Area()
	if b.complete() {
		s.Validations = []table.Validation{{
			Area: b.lines.issued.Rows(), Min: 0, Max: math.Inf(1),
			Title: "Packed", Prompt: "How many go into the kit, where it is marked ±. Order and cost follow.", Complaint: "A quantity of zero or more.",
		}}
	}
	s.Rows = then(l, t, b.eachKitLine())
	return s
}

func (b *book) eachKitLine() (out []kitLine) {
	for k, kt := range b.kits {
		for j := range kt.Lines {
			out = append(out, kitLine{k, &kt.Lines[j]})
		}
	}
	return out
}

// issuedCell is where the packed quantity of line j of the k-th kit stands.
func (b *book) issuedCell(k, j int) string { return b.lines.issued.Nth(b.firstLine[k] + j) }

// byHand reports whether the packed quantity of a line may be set by hand: all that
// rests on it follows, which needs the whole campaign in one workbook.
func (b *book) byHand(l *kit.Line) bool {
	return b.complete() && l.Item.Issue == catalog.LevelKit && l.ByRule()
}

// changes reports whether any line of the k-th kit may be set by hand.
func (b *book) changes(k int) bool {
	for i := range b.kits[k].Lines {
		if b.byHand(&b.kits[k].Lines[i]) {
			return true
		}
	}
	return false
}

// some are the lines of the k-th kit in a column.
func (b *book) some(r table.Ref, k int) string { return r.Some(b.firstLine[k], len(b.kits[k].Lines)) }

// kitWeight is the formula of the weight of the k-th kit, as masses are shown: its lines, and what
// they do not weigh, its pieces' share of coil and sheet.
func (b *book) kitWeight(k int) string {
	src := "SUM(" + b.some(b.lines.mass, k) + ")"
	rest := b.job(k).Mass
	for _, l := range b.kits[k].Lines {
		if l.Item.Issue == catalog.LevelKit {
			rest -= l.Qty * l.Item.UnitMass
		}
	}
	if rest > 1e-9 && len(b.kits[k].Pieces) > 0 {
		src += "+" + strconv.FormatFloat(b.mass(rest), 'g', 12, 64)
	}
	return src
}

// contentsCell is a text about the contents of the k-th kit, and another where
// something was set by hand in it.
func (b *book) contentsCell(k int, as, changed string, s table.Style) table.Cell {
	if !b.changes(k) {
		return table.Text(as, s)
	}
	src := fmt.Sprintf("IF(SUMPRODUCT(--(%s<>%s))=0,%s,%s)", b.some(b.lines.issued, k), b.some(b.lines.estimated, k), table.StringLiteral(as), table.StringLiteral(changed))
	return table.FormulaText(src, as, s)
}

// setByHand stands in place of the code of contents that were set by hand.
const setByHand = "changed by hand"

// itemNo heads a column of numbers of items: their places in the catalogue. Sums
// over the rows of an item go by its number, never by its code, which SUMIFS would
// read as a pattern (* ? ~), without regard to capitals, or as a number.
const itemNo = "Item no."

// packedSum sums what is packed of an item with the kits, by the cell or number
// of its number.
func (b *book) packedSum(no string) string {
	l := b.lines
	return fmt.Sprintf("SUMIFS(%s,%s,%s,%s,%q)", l.issued.All(), l.no.All(), no, l.level.All(), catalog.LevelKit)
}

// sumOf sums amounts over the rows that have a number.
func sumOf(amounts, numbers, no string) string {
	return fmt.Sprintf("SUMIFS(%s,%s,%s)", amounts, numbers, no)
}
