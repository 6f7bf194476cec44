package export

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"wraptally/catalog"
	"wraptally/estimate/kit"
	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
	"wraptally/export/table"
)

// The columns of a kit's page. The upper part is one table; below it two blocks
// stand side by side, over columns A to E and F to J.
var kitColumns = []table.Column{
	{Title: "", Width: 5},
	{Title: "Item", Width: 17},
	{Title: "What", Width: 39},
	{Title: "How many", Width: 9, Style: table.IntStyle},
	{Title: "Unit", Width: 7},
	{Title: "From", Width: 11},
	{Title: "Batch or lot", Width: 15},
	{Title: "Use by", Width: 12},
	{Title: "Each", Unit: "kg", Width: 8, Style: table.TextStyle.In(table.Number(3))},
	{Title: "All", Unit: "kg", Width: 9, Style: table.TextStyle.In(table.Number(2))},
}

const (
	kitWidth = 10
	leftEnd  = 5 // last column of the left block
	rightAt  = 6 // first column of the right block
)

// kitsSheet is one printed page a kit: what to pack, how to mix and lay it, what
// to check.
func (b *book) kitsSheet() *table.Sheet {
	s := &table.Sheet{Name: sheetKits, Columns: kitColumns, Protected: true, Page: b.pages.paper}
	s.Rows = func(yield func(table.Row) bool) {
		pg := newPager(kitColumns, s.Page, yield)
		for _, page := range b.pages.kits {
			pg.page()
			page.on(pg)
		}
		s.Conditions = []table.Condition{{
			Area:    table.Cells(rightAt, 1, rightAt, max(pg.next-1, 1)),
			Formula: `LEFT($` + table.At{Column: rightAt, Row: 1}.String() + `,5)="over "`,
			Show:    table.Alarm,
		}}
	}
	return s
}

// kitPages are the pages of the kits of a workbook, each laid out once: their
// rows are measured to choose the paper, and written as they are.
type kitPages struct {
	kits  []page
	paper table.Page
	rows  []int // of the sheet Kits, in which each kit begins
}

func (b *book) kitPages() kitPages {
	out := kitPages{kits: make([]page, len(b.part)), rows: make([]int, len(b.part))}
	tall, rows := make([]float64, len(b.part)), make([]int, len(b.part))
	for k := range b.part {
		out.kits[k] = b.kitPage(k)
		pg := newPager(kitColumns, b.page(false), nowhere)
		pg.capacity = math.Inf(1)
		out.kits[k].on(pg)
		tall[k], rows[k] = pg.used, pg.next-1
	}
	out.paper = b.kitPaper(tall)
	pg := newPager(kitColumns, out.paper, nowhere)
	for k := range b.part {
		out.rows[k] = pg.next
		if tall[k] <= pg.capacity {
			pg.next += rows[k]
			continue
		}
		pg.page() // its heading is repeated, which takes more rows
		out.kits[k].on(pg)
	}
	return out
}

// kitPaper is the page of a kit, shrunk to the width. Wider margins at the sides
// shrink it further and so make room for more lines: the narrowest are taken with
// which the most kits, so many points tall, stay on one page each.
func (b *book) kitPaper(tall []float64) table.Page {
	page := b.page(false)
	page.CentreAcross = true
	fewest := len(tall) + 1
	best := page
	for _, side := range []float64{10, 13, 16, 19, 22} {
		page.Margins = &table.Margins{Left: side, Right: side, Top: 14, Bottom: 12, Header: 6, Footer: 6}
		capacity, over := newPager(kitColumns, page, nowhere).capacity, 0
		for _, points := range tall {
			if points > capacity {
				over++
			}
		}
		if over < fewest {
			fewest, best = over, page
		}
	}
	return best
}

// kitTarget is where the page of the k-th kit of this workbook begins.
func (b *book) kitTarget(k int) string {
	return table.At{Column: 1, Row: b.pages.rows[k]}.On(sheetKits)
}

// kitPage is the page of one kit.
func (b *book) kitPage(k int) page {
	kt := b.kits[k]
	r := kt.Repair
	return page{
		again: rowOf(kitWidth, over(1, kitWidth, table.Text("Kit "+r.ID+", continued", table.Style{Look: table.Heading}))),
		parts: []stretch{
			loose(b.kitHead(k, kt)), b.kitTable(k, kt), whole(b.widerIssues(kt)), whole(openPoints(r)),
			whole(spaced(append(beside(kitWidth, b.mixingCard(kt), b.potTable(kt)), b.mixingNote(kt)))),
			whole(spaced(beside(kitWidth, b.sealingSteps(kt), b.wrapCard(kt)))),
			pairUp(b.pieceList(kt), b.acceptance(kt)),
			whole(spaced(b.transportLines(kt))), whole(spaced([]table.Row{kitCautions(r)})), whole(spaced(signatures())),
		},
	}
}

// kitGap is the space between the parts of a page.
var kitGap = table.Row{Height: 5}

func spaced(rows []table.Row) []table.Row { return append([]table.Row{kitGap}, rows...) }

// pairUp puts two blocks side by side and goes on to another page where they are
// longer than one.
func pairUp(left, right block) stretch {
	rows := spaced(beside(kitWidth, left, right))
	for i := range rows {
		tight(&rows[i])
	}
	const least = 4 // the gap, the heads and the first line stay together
	return func(pg *pager) {
		n := min(least, len(rows))
		if pg.heightOf(rows) <= pg.capacity*0.6 {
			n = len(rows)
		}
		pg.together(rows[:n]...)
		pg.rows(rows[n:]...)
	}
}

// kitHead names the kit and the place.
func (b *book) kitHead(k int, kt *kit.Kit) []table.Row {
	r, v := kt.Repair, b.job(k)
	title := rowOf(kitWidth,
		over(1, 3, table.Text("Kit "+r.ID, table.Style{Look: table.Title})),
		over(4, kitWidth, table.Text(r.Kind(), table.Style{Look: table.Subtitle, Align: table.Right})))
	title.Height = 26
	left := block{
		pair(1, "Line", fitLines(lineName(r), totalWidth(kitColumns, 3, leftEnd), 3)),
		pair(1, "Area", fitLines(r.Area, totalWidth(kitColumns, 3, leftEnd), 2)),
		pair(1, "Where", "chainage "+b.alongText(r)+", length "+b.lengthText(r.Length)),
		pair(1, "Position", clocksText(r)),
		pair(1, "Survey rows", fitLines(surveyRows(r), totalWidth(kitColumns, 3, leftEnd), 2)),
		pair(1, "Remarks", fitLines(remarks(r), totalWidth(kitColumns, 3, leftEnd), 2)),
	}
	right := block{
		pair(rightAt, "Pipe", b.pipeText(r)),
		pair(rightAt, "Medium", fitLines(mediumText(r), totalWidth(kitColumns, rightAt+1, kitWidth), 2)),
		pair(rightAt, "Pressure", pressureText(r)),
		pair(rightAt, "Surface", fmt.Sprintf("%s, %s °C", surfaceWord(r), trimmed(r.SurfaceTemp, 1))),
		pair(rightAt, "Access", b.accessText(r)),
		pair(rightAt, "Planned", fmt.Sprintf("crew %d, shift %d, about %s min", v.Crew, v.Shift, trimmed(kt.Minutes, 0))),
	}
	rows := append([]table.Row{title}, beside(kitWidth, left, right)...)
	return append(rows, kitGap)
}

// clocksText is where the defects lie round the pipe, looking along rising
// chainage, as far as the survey says.
func clocksText(r *scope.Repair) string {
	var at []string
	for _, d := range r.Defects {
		if !d.Clock.OK {
			continue
		}
		minutes := int(math.Round(d.Clock.V*2)) % 720 // half a degree is a minute of the clock
		text := fmt.Sprintf("%d:%02d", (minutes/60+11)%12+1, minutes%60)
		if !slices.Contains(at, text) {
			at = append(at, text)
		}
	}
	const most = 6
	switch {
	case len(at) == 0:
		return ""
	case len(at) > most:
		at = append(at[:most], "…")
	}
	return strings.Join(at, ", ") + " o'clock"
}

// remarks are those of the survey, each once.
func remarks(r *scope.Repair) string {
	var out []string
	for _, d := range r.Defects {
		if d.Note != "" && !slices.Contains(out, d.Note) {
			out = append(out, d.Note)
		}
	}
	return strings.Join(out, "; ")
}

const notKnown = "NOT KNOWN" // nobody may work on such a pipe

// mediumText is what flows in the pipe.
func mediumText(r *scope.Repair) string {
	var media []string
	for _, d := range r.Defects {
		if d.Medium != "" && !slices.Contains(media, d.Medium) {
			media = append(media, d.Medium)
		}
	}
	if len(media) == 0 {
		return notKnown
	}
	return strings.Join(media, ", ")
}

// pressureText is the highest pressure, gauge, of the defects: at the time of the
// work and for the design.
func pressureText(r *scope.Repair) string {
	all := survey.Together(r.Defects)
	known := func(p survey.Num) string {
		if !p.OK {
			return notKnown
		}
		return trimmed(p.V, 3) + " MPa"
	}
	return "at the work " + known(all.LivePressure) + ", design " + known(all.Pressure)
}

// pair is a label and its value in the left (column 1) or right block.
func pair(column int, label, value string) []laid {
	value = orDash(value)
	if column == 1 {
		return []laid{over(1, 2, table.Text(label, table.Style{Look: table.Label})), over(3, leftEnd, table.Text(value, table.Style{Wrap: true}))}
	}
	return []laid{over(column, column, table.Text(label, table.Style{Look: table.Label})), over(column+1, kitWidth, table.Text(value, table.Style{Wrap: true}))}
}

func orDash(text string) string {
	if text == "" {
		return "–"
	}
	return text
}

// surveyRows names the rows of the survey that the repair holds.
func surveyRows(r *scope.Repair) string {
	const most = 12
	var ids []string
	for i, d := range r.Defects {
		if i == most {
			ids = append(ids, fmt.Sprintf("and %d more", len(r.Defects)-most))
			break
		}
		ids = append(ids, clip(d.ID, 30))
	}
	return strings.Join(ids, ", ")
}

func surfaceWord(r *scope.Repair) string {
	if r.Surface == "" {
		return "surface not stated"
	}
	return string(r.Surface)
}

func (b *book) accessText(r *scope.Repair) string {
	text := r.Access
	if a, ok := b.p.Catalog.AccessOf(r.Access); ok {
		text = a.Name
	}
	if r.Hazardous {
		if text != "" {
			text += "; "
		}
		text += "hazardous area: permit, no sparks"
	}
	return text
}

// kitTable lists what is packed, its weight and whether one person may carry it.
func (b *book) kitTable(k int, kt *kit.Kit) stretch {
	head := table.HeadRow(kitColumns)
	var lines []func(row int) table.Row
	mass := 0.0
	for j := range kt.Lines {
		if l := &kt.Lines[j]; l.Item.Issue == levelKit {
			mass += l.Qty * l.Item.UnitMass
			lines = append(lines, packLine(l, b.issuedCell(k, j)))
		}
	}
	if n := len(kt.Pieces); n > 0 {
		// What the lines do not weigh is the pieces' share of coil and sheet.
		each := math.Max(0, kt.Mass-mass) / float64(n)
		mass += each * float64(n)
		lines = append(lines, pieceLine(n, each))
	}
	limit := b.p.Catalog.Settings.CarryLimit
	return func(pg *pager) {
		pg.rows(head)
		first := pg.next
		for _, line := range lines {
			pg.add(line)
		}
		pg.add(func(row int) table.Row {
			sum := table.Style{Look: table.Total, Format: table.Number(2)}
			return rowOf(kitWidth,
				over(1, 3, table.Text("Weight of the kit (kg); one person carries at most", table.Style{Look: table.Total})),
				over(4, leftEnd, table.Num(limit, sum.In(quantityFormat(limit)).To(table.Left))),
				over(rightAt, 9, table.FormulaText(carryFormula(row), carryWord(mass, limit), table.Style{Look: table.Check, Align: table.Centre})),
				over(kitWidth, kitWidth, table.FormulaNum(fmt.Sprintf("SUM(J%d:J%d)", first, row-1), mass, sum)))
		})
	}
}

// carryFormula compares the total in a row with the limit in the same row.
func carryFormula(row int) string {
	w, l := cell(kitWidth, row), cell(4, row)
	return fmt.Sprintf(`IF(%s<=%s,"OK, one bag","over the limit: at least "&ROUNDUP(%s/%s,0)&" bags")`, w, l, w, l)
}

func carryWord(mass, limit float64) string {
	if mass <= limit {
		return "OK, one bag"
	}
	return fmt.Sprintf("over the limit: at least %.0f bags", math.Ceil(mass/limit))
}

// packLine is a line of the table: the quantity is that of the sheet Kit lines.
func packLine(l *kit.Line, issued string) func(row int) table.Row {
	lot, useBy := table.Empty(table.Style{Look: table.FillIn}), table.Empty(table.Style{Look: table.FillIn})
	if l.Item.ShelfDays == 0 {
		useBy = table.Text("–", table.TextStyle.To(table.Centre))
		if l.Item.Transport == "" && !keepsLot(l.Item) {
			lot = table.Text("–", table.TextStyle.To(table.Centre))
		}
	}
	return weighed(
		table.Text("☐", table.TickStyle),
		table.Text(legible(l.Item.Code), look(table.Code)),
		table.Text(legible(l.Item.Name), table.WrapStyle),
		table.FormulaNum(issued, l.Qty, table.IntStyle),
		table.Text(legible(l.Item.Unit), table.TextStyle),
		table.Text(legible(l.Item.Store), table.TextStyle),
		lot, useBy, l.Item.UnitMass, l.Qty*l.Item.UnitMass)
}

// weighed is a row of the table that weighs each and all of its things. It has
// just room for a hand, so that the kit stays on its page.
func weighed(tick, item, name, count, unit, from, lot, useBy table.Cell, each, all float64) func(row int) table.Row {
	kg := table.TextStyle.In(table.Number(3))
	line := table.Row{Cells: []table.Cell{tick, item, name, count, unit, from, lot, useBy, table.Num(each, kg), table.Num(all, kg)}}
	tight(&line)
	return func(row int) table.Row {
		line.Cells[kitWidth-1] = table.FormulaNum(fmt.Sprintf("D%d*I%d", row, row), all, table.TextStyle.In(table.Number(2)))
		return line
	}
}

// tight lowers a row of one line that is ticked or filled in by hand.
func tight(row *table.Row) {
	const hand, low = 18, 15.5
	if h, _ := table.RowHeight(kitColumns, row); h <= hand && h > low {
		row.Height = low
	}
}

// keepsLot tells the metal parts whose certificate goes by the lot.
func keepsLot(it *catalog.Item) bool { return it.Kind == "fastener" }

// pieceLine is the line of what was cut for the kit.
func pieceLine(n int, each float64) func(row int) table.Row {
	return weighed(
		table.Text("☐", table.TickStyle),
		table.Text("cut pieces", table.TextStyle),
		table.Text("strips and sheets cut for it, see below", table.WrapStyle),
		table.Int(n, table.IntStyle),
		table.Text("pc", table.TextStyle),
		table.Text("cutting", table.TextStyle),
		table.Empty(table.Style{Look: table.FillIn}),
		table.Text("–", table.TextStyle.To(table.Centre)),
		each, each*float64(n))
}

// widerIssues reminds of what this repair uses and the kit does not hold.
func (b *book) widerIssues(kt *kit.Kit) []table.Row {
	var names []string
	for _, l := range kt.Lines {
		if l.Item.Issue != levelKit {
			names = append(names, l.Item.Name)
		}
	}
	text := "Tools and protection"
	if len(names) > 0 {
		text += "; " + strings.Join(names, "; ")
	}
	text += " – issued with the crew or the campaign, see the sheet " + sheetCrews + "."
	return []table.Row{kitGap, rowOf(kitWidth,
		over(1, 2, table.Text("Not in this kit", table.Style{Look: table.Label})),
		over(3, kitWidth, table.Text(text, table.Style{Wrap: true})))}
}

// openPoints are the questions about the repair that are still open when its kit
// is packed; whoever does the work has to settle them.
func openPoints(r *scope.Repair) []table.Row {
	var rows []table.Row
	for _, q := range r.Queries {
		if q.Severity != trace.Ask {
			continue
		}
		label := ""
		if rows == nil {
			label = "Settle first"
		}
		text := q.Message
		if q.Advice != "" {
			text += "; " + q.Advice
		}
		rows = append(rows, rowOf(kitWidth,
			over(1, 2, table.Text(label, table.Style{Look: table.Label})),
			over(3, kitWidth, table.Text(clip(text, 300), table.Style{Wrap: true}))))
	}
	return rows
}

// transportLines are the transport classes of what the kit holds.
func (b *book) transportLines(kt *kit.Kit) []table.Row {
	var codes []string
	items := map[string][]string{}
	lines := map[string]*catalog.Transport{}
	for _, l := range kt.Lines {
		if l.Item.Issue != levelKit {
			continue
		}
		if t, ok := b.p.Catalog.TransportOf(l.Item.Code); ok {
			if lines[t.Code] == nil {
				codes = append(codes, t.Code)
				lines[t.Code] = t
			}
			items[t.Code] = append(items[t.Code], l.Item.Code)
		}
	}
	if len(codes) == 0 {
		return nil
	}
	rows := []table.Row{subhead("Transport and hazards: confirm with the safety data sheet", 1, kitWidth)}
	for _, code := range codes {
		t := lines[code]
		text := transportText(t)
		rows = append(rows, rowOf(kitWidth,
			over(1, 2, table.Text(strings.Join(items[code], ", "), table.Style{Look: table.Muted, Wrap: true})),
			over(3, kitWidth, table.Text(text, table.Style{Look: table.Muted, Wrap: true}))))
	}
	return rows
}

// transportText is a transport class in one line. What the heading says already
// is not said again.
func transportText(t *catalog.Transport) string {
	text := fmt.Sprintf("%s, %s, class %s, packing group %s", t.UN, t.Name, t.Class, t.Group)
	if t.UN == t.Class && t.Class == t.Group { // "not stated"
		text = t.Name + ", UN number, class and packing group " + t.UN
	}
	note := t.Note
	if rest, ok := strings.CutPrefix(note, "confirm with the safety data sheet"); ok && (rest == "" || rest[0] == ';') {
		note = strings.TrimLeft(rest, "; ")
	}
	if note != "" {
		text += "; " + note
	}
	return legible(text)
}

// subhead is a heading over some columns.
func subhead(text string, first, last int) table.Row {
	row := rowOf(last, over(first, last, table.Text(text, table.Style{Look: table.Subheading})))
	row.Height = 18
	return row
}

// kitCautions are short and always the same, so that they are known by sight.
func kitCautions(r *scope.Repair) table.Row {
	text := "Permit, gas test and isolation come first. "
	if r.Leaking {
		text += "A repair on a live leak can kill: a qualified person decides whether it may be done under pressure. "
	}
	if r.Hazardous {
		text += "Hazardous area: no power tools, no steel brushes, no striking tools without a permit; spark-free tools. "
	}
	text += "Epoxy, hardener and isocyanate sensitise skin and lungs: gloves, goggles, sleeves, ventilation or respirator. " +
		"Mixed putty heats up in the pot: never mix more than the card says. Estimate, not a design."
	row := rowOf(kitWidth, over(1, kitWidth, table.Text(text, table.Style{Look: table.Caution, Wrap: true})))
	h, _ := table.RowHeight(kitColumns, &row)
	row.Height = h + 3
	return row
}

// signatures are lines to be signed.
func signatures() []table.Row {
	line := func(left, right string) table.Row {
		label, fill := table.Style{Look: table.Label}, table.Empty(table.Style{Look: table.FillIn})
		row := rowOf(kitWidth,
			over(1, 2, table.Text(left, label)), over(3, 3, fill), over(4, 4, table.Text("date", label.To(table.Right))), over(5, 5, fill),
			over(6, 6, table.Text(right, label)), over(7, 8, fill), over(9, 9, table.Text("date", label.To(table.Right))), over(10, 10, fill))
		row.Height = 22
		return row
	}
	return []table.Row{line("Packed by", "Checked by")}
}
