package export

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"wraptally/catalog"
	"wraptally/estimate/gate"
	"wraptally/estimate/kit"
	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
	"wraptally/export/table"
)

// The columns of a kit's page. The upper part is one table; below it two blocks
// stand side by side, over columns A to E and F to J.
var kitColumns = widths(4, 14, 32, 8, 9, 11, 12, 12, 10, 11)

const (
	kitWidth = 10
	leftEnd  = 5 // last column of the left block
	rightAt  = 6 // first column of the right block

	// A page is shrunk to no less than this, so that its text has 8 points, and a
	// row that is written on by hand has 7 mm on paper, also where a program makes
	// columns wider by 6 %, as some do: common practice, no source.
	leastScale = 0.85
	handRow    = 25 // points
)

// kitsSheet is one printed page a kit: what to pack, how to mix and lay it, what
// to check.
func (b *book) kitsSheet() *table.Sheet {
	s := &table.Sheet{Name: sheetKits, Columns: kitColumns, Protected: true, Page: b.pages.paper}
	return paged(s, func(pg *pager) error {
		for _, page := range b.pages.kits {
			pg.page()
			page.on(pg)
		}
		s.Conditions = []table.Condition{{
			Area:    table.Cells(rightAt, 1, rightAt, max(pg.next-1, 1)),
			Formula: `LEFT($` + table.At{Column: rightAt, Row: 1}.String() + `,5)="over "`,
			Show:    table.Alarm,
		}}
		return nil
	})
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
	t := b.newPackTable()
	for k := range b.part {
		out.kits[k] = b.kitPage(t, k)
		pg := newPager(kitColumns, b.page(false), nowhere)
		pg.capacity = math.Inf(1)
		out.kits[k].on(pg)
		out.kits[k].tall = pg.used
	}
	out.paper = b.kitPaper(out.kits)
	pg := newPager(kitColumns, out.paper, nowhere)
	for k := range b.part {
		pg.page()
		out.rows[k] = pg.next
		out.kits[k].on(pg)
	}
	return out
}

// kitPaper is the page of a kit, shrunk to the width. Wider margins at the sides
// shrink it further and so make room for more lines: the narrowest are taken with
// which the kits take the fewest pages, as long as they are legible.
func (b *book) kitPaper(kits []page) table.Page {
	page := b.page(false)
	page.CentreAcross = true
	fewest, best := math.MaxInt, page
	for _, side := range []float64{8, 9.5, 11} {
		page.Margins = &table.Margins{Left: side, Right: side, Top: 12, Bottom: 10, Header: 5, Footer: 5}
		if page.Scale(kitColumns) < leastScale {
			break
		}
		pg := newPager(kitColumns, page, nowhere)
		for k := range kits {
			pg.page()
			kits[k].on(pg)
		}
		if pg.breaks < fewest {
			fewest, best = pg.breaks, page
		}
	}
	return best
}

// kitTarget is where the page of the k-th kit of this workbook begins.
func (b *book) kitTarget(k int) string {
	return table.At{Column: 1, Row: b.pages.rows[k]}.On(sheetKits)
}

// kitPage is the page of one kit.
func (b *book) kitPage(t packTable, k int) page {
	kt := b.kits[k]
	r := kt.Repair
	out := page{
		again: rowOf(kitWidth, over(1, leftEnd, table.Text("Kit "+r.ID+", continued", look(table.Heading))), over(rightAt, kitWidth, table.Text(b.runText(), look(table.Muted).To(table.Right)))),
		parts: []stretch{
			loose(b.kitHead(k, kt)), whole(assumedRow(kt)), whole(b.openPoints(r)), whole(b.gateRows(kt)),
			whole(spaced([]table.Row{kitCautions(r)})), whole(b.permitRows(kt)), loose([]table.Row{kitGap}),
			b.kitTable(t, k, kt), whole(b.pieceRows(kt)), whole(b.widerIssues(k, kt)), whole(b.packingRows(k)), whole(b.transportLines(kt)), whole([]table.Row{signRow("Packed by", "Checked by")}),
		},
	}
	out.work = len(out.parts)
	for i, s := range b.workSteps(kt) {
		out.parts = append(out.parts, whole(spaced(stepRows(i+1, s))))
	}
	return out
}

// kitGap is the space between the parts of a page.
var kitGap = table.Row{Height: 4}

func spaced(rows []table.Row) []table.Row { return append([]table.Row{kitGap}, rows...) }

// kitHead names the kit and the place.
func (b *book) kitHead(k int, kt *kit.Kit) []table.Row {
	r, v := kt.Repair, b.job(k)
	title := rowOf(kitWidth,
		over(1, 3, table.Text("Kit "+r.ID, table.Style{Look: table.Title})),
		over(4, kitWidth, kindCell(r)))
	title.Height = 26
	wide := totalWidth(kitColumns, 3, leftEnd)
	left := block{
		pair(1, "Line", fitLines(lineName(r)+orBlank(", ", r.Area), wide, 3)),
		pair(1, "Where", "chainage "+b.alongText(r)+", length "+b.lengthText(r.Length)+b.onBend(r)),
		pair(1, "Position", clocksText(r)),
		pair(1, "Survey rows", fitLines(surveyRows(r), wide, 2)),
		pair(1, "Remarks", fitLines(remarks(r), wide, 2)),
		{over(1, 2, table.Text("Contents", table.Style{Look: table.Label})),
			over(3, leftEnd, b.contentsCell(k, v.Code+" (good under any run that prints this code)", "CHANGED BY HAND, no longer "+v.Code, table.Style{Wrap: true}))},
	}
	right := block{
		pair(rightAt, "Pipe", b.pipeText(r)),
		pair(rightAt, "Medium", fitLines(mediumText(r), totalWidth(kitColumns, rightAt+1, kitWidth), 2)),
		pair(rightAt, "Pressure", b.pressureText(r)),
		pair(rightAt, "Surface", surfaceWord(r)+", "+b.surfaceTemp(r)),
		pair(rightAt, "Access way", b.accessText(r)),
		pair(rightAt, "Planned", fmt.Sprintf("%s, %s, %s + %s min", b.p.Crews[v.Crew-1].Name, when(v.Visit), trimmed(kt.Minutes, 0), trimmed(kt.Waiting, 0))),
	}
	rows := append([]table.Row{title}, beside(kitWidth, left, right)...)
	return append(rows, kitGap)
}

// onBend says how much of the length lies on a bend, where it was stretched.
func (b *book) onBend(r *scope.Repair) string {
	if r.OnBend == 0 {
		return ""
	}
	return ", " + b.lengthText(r.OnBend) + " of it on the bend"
}

// kindCell says what kind of repair it is, and first of all that nobody has
// designed it.
func kindCell(r *scope.Repair) table.Cell {
	if by, _ := r.DesignedBy(); by == "" {
		return table.Text(notDesigned+" ("+r.Kind()+")", table.Style{Look: table.Caution, Align: table.Right})
	}
	return table.Text(r.Kind(), table.Style{Look: table.Subtitle, Align: table.Right})
}

// clocksText is where the defects lie round the pipe, looking along rising
// chainage, as far as the survey says.
func clocksText(r *scope.Repair) string {
	at := eachOnce(r.Defects, func(d *survey.Defect) string {
		if !d.Clock.OK {
			return ""
		}
		return clockText(d.Clock.V)
	})
	const most = 6
	switch {
	case len(at) == 0:
		return ""
	case len(at) > most:
		at = append(at[:most], "…")
	}
	return strings.Join(at, ", ") + " o'clock"
}

// clockText is a place round the pipe, "4:30".
func clockText(degrees float64) string {
	minutes := int(math.Round(degrees*2)) % 720 // half a degree is a minute of the clock
	return fmt.Sprintf("%d:%02d", (minutes/60+11)%12+1, minutes%60)
}

// remarks are those of the survey, each once.
func remarks(r *scope.Repair) string {
	return strings.Join(eachOnce(r.Defects, func(d *survey.Defect) string { return d.Note }), "; ")
}

const notKnown = "NOT KNOWN" // nobody may work on such a pipe

// mediumText is what flows in the pipe.
func mediumText(r *scope.Repair) string {
	return cmp.Or(strings.Join(eachOnce(r.Defects, func(d *survey.Defect) string { return d.Medium }), ", "), notKnown)
}

// pressureText is the highest pressure, gauge, of the defects: at the time of the
// work and for the design.
func (b *book) pressureText(r *scope.Repair) string {
	all := survey.Together(r.Defects)
	known := func(p survey.Num) string {
		if !p.OK {
			return notKnown
		}
		return b.pressureOf(p.V)
	}
	design := known(all.Pressure)
	if r.Blank.Has("pressure") {
		design = known(r.Pressure) + " " + assumed
	}
	return "at the work " + known(all.LivePressure) + ", design " + design
}

const assumed = "ASSUMED, find out" // of a number that the survey does not say

// surfaceTemp is the temperature of the surface at the work, the span where its
// defects differ; what nobody has measured is not printed as a fact.
func (b *book) surfaceTemp(r *scope.Repair) string {
	text := b.tempText(r.SurfaceTemp)
	if r.SurfaceTempLow != r.SurfaceTemp {
		text = trimmed(b.temp(r.SurfaceTempLow), 1) + " to " + text
	}
	if r.Blank.Has("surface_temp") {
		text += " ASSUMED, measure"
	}
	return text
}

// pair is a label and its value in the left (column 1) or right block.
func pair(column int, label, value string) []laid {
	value = orDash(value)
	if column == 1 {
		return []laid{over(1, 2, table.Text(label, table.Style{Look: table.Label})), over(3, leftEnd, table.Text(value, table.Style{Wrap: true}))}
	}
	return []laid{over(column, column, table.Text(label, table.Style{Look: table.Label})), over(column+1, kitWidth, table.Text(value, table.Style{Wrap: true}))}
}

func orDash(text string) string { return cmp.Or(text, "–") }

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
	if slices.Contains(r.Leans, scope.SurfaceSetting) {
		return string(r.Surface) + " ASSUMED"
	}
	return string(r.Surface)
}

func (b *book) accessText(r *scope.Repair) string {
	text := r.Access
	if a, ok := b.p.Catalog.AccessOf(r.Access); ok {
		text = a.Name
	}
	if slices.Contains(r.Leans, scope.AccessUnknown) {
		text += " (ASSUMED, find out)"
	}
	if r.Hazardous {
		if text != "" {
			text += "; "
		}
		text += "hazardous area: permit, no sparks"
		if slices.Contains(r.Leans, scope.HazardTaken) {
			text += " (ASSUMED, find out)"
		}
	}
	return text
}

// packed is a row of a kit's table.
type packed struct {
	code, name, unit, from string
	qty                    float64
	by                     string // formula of the quantity; none where it is not changed by hand
	lot, useBy             bool   // to be filled in by hand, unless it is known
	held                   heldLots
}

// packTable is the table of every kit, and the column below which its limit stands.
type packTable struct {
	*table.Table[packed]
	count table.Ref
}

func (b *book) newPackTable() packTable {
	type col = table.Col[packed]
	text := table.TextStyle
	byHand := func(known string, fill bool, p pen) {
		switch {
		case known != "":
			p.As(table.WrapStyle).Text(known)
		case !fill:
			p.As(text.To(table.Centre)).Text("–")
		}
	}
	t := packTable{Table: table.NewTable[packed](sheetKits)}
	t.Add(tickColumn[packed]())
	t.Add(col{Title: "Item", Style: look(table.Code), Cell: func(p pen, v packed) {
		if v.by == "" {
			p.As(text)
		}
		p.Text(v.code)
	}})
	t.Add(col{Title: "What", Style: table.WrapStyle, Cell: func(p pen, v packed) { p.Text(v.name) }})
	t.count = t.Add(col{Title: "How many", Style: table.IntStyle, Cell: func(p pen, v packed) { p.By(v.by).Num(v.qty) }})
	t.Add(col{Title: "Unit", Style: text, Cell: func(p pen, v packed) { p.Text(v.unit) }})
	t.Add(col{Title: "From", Style: text, Cell: func(p pen, v packed) { p.Text(v.from) }})
	t.Add(col{Title: "Batch or lot", Span: 2, Style: look(table.FillIn), Cell: func(p pen, v packed) { byHand(v.held.names, v.lot, p) }})
	t.Add(col{Title: "Use by", Span: 2, Style: look(table.FillIn), Cell: func(p pen, v packed) { byHand(day(v.held.useBy), v.useBy, p) }})
	return t
}

// kitTable lists what is packed, its weight and whether one person may carry it.
// The quantities are those of the sheet Kit lines.
func (b *book) kitTable(t packTable, k int, kt *kit.Kit) stretch {
	var lines []packed
	for j, l := range kt.Lines {
		if it := l.Item; it.Issue == catalog.LevelKit {
			expires := it.ShelfDays > 0
			lines = append(lines, packed{it.Code, it.Name, it.Unit, b.fromOf(k, it), l.Qty, b.issuedCell(k, j), expires || it.Transport != "" || keepsLot(it), expires, b.heldFor(k, it)})
		}
	}
	if n := float64(len(kt.Pieces)); n > 0 {
		lines = append(lines, packed{code: "cut pieces", name: "strips and sheets, named below", unit: "pc", from: "cutting", qty: n, lot: true})
	}
	rows := make([]table.Row, len(lines))
	for i, v := range lines {
		rows[i] = t.Row(1, v)
		if v.lot && v.held.names == "" || v.useBy && v.held.useBy.IsZero() {
			byHand(&rows[i])
		} else {
			tight(&rows[i])
		}
	}
	limit, mass, weight := b.mass(b.p.Catalog.Settings.CarryLimit), b.mass(kt.Mass), b.kitWeight(k)
	return func(pg *pager) {
		pg.rows(t.Head())
		for i, v := range lines {
			pg.add(func(row int) table.Row { t.Move(&rows[i], row, v); return rows[i] })
		}
		pg.add(func(row int) table.Row {
			sum, held, all := table.Style{Look: table.Total, Format: table.Number(2)}, t.count.In(row), cell(kitWidth, row)
			return rowOf(kitWidth,
				over(1, 3, table.Text("Weight of the kit ("+b.massUnit()+"); one person carries at most", table.Style{Look: table.Total})),
				over(t.count.Column(), leftEnd, table.Num(limit, sum.In(quantityFormat(limit)).To(table.Left))),
				over(rightAt, kitWidth-1, table.FormulaText(fmt.Sprintf(`IF(%[1]s<=%[2]s,"OK, one bag","over the limit: at least "&ROUNDUP(%[1]s/%[2]s,0)&" bags")`, all, held),
					carryWord(mass, limit), table.Style{Look: table.Check, Align: table.Centre})),
				over(kitWidth, kitWidth, table.FormulaNum(weight, mass, sum)))
		})
	}
}

func carryWord(mass, limit float64) string {
	if mass <= limit {
		return "OK, one bag"
	}
	return fmt.Sprintf("over the limit: at least %.0f bags", math.Ceil(mass/limit))
}

// tight lowers a row of one line that is ticked and not written on.
func tight(row *table.Row) {
	const hand, low = 18, 14.5
	if h, _ := table.RowHeight(kitColumns, row); h <= hand && h > low {
		row.Height = low
	}
}

// byHand gives a row the height to be written on.
func byHand(row *table.Row) {
	h, _ := table.RowHeight(kitColumns, row)
	row.Height = math.Max(h, handRow)
}

// keepsLot tells the metal parts whose certificate goes by the lot.
func keepsLot(it *catalog.Item) bool { return it.Kind == "fastener" }

// widerIssues reminds of what this repair uses and the kit does not hold.
func (b *book) widerIssues(k int, kt *kit.Kit) []table.Row {
	var names []string
	for _, s := range b.p.Spares {
		if kt.Repair.Leaking && s.Crew == b.job(k).Crew {
			names = append(names, countOf(s.Sets, "spare sealing set", "spare sealing sets"))
		}
	}
	for _, l := range kt.Lines {
		if l.Item.Issue != catalog.LevelKit {
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
func (b *book) openPoints(r *scope.Repair) []table.Row {
	var rows []table.Row
	for _, q := range r.Queries {
		if q.Severity != trace.Ask {
			continue
		}
		label := ""
		if rows == nil {
			label = "Do not start until answered"
		}
		text := b.said(q.Message)
		if q.Advice != "" {
			text += "; " + b.said(q.Advice)
		}
		rows = append(rows, rowOf(kitWidth,
			over(1, 2, table.Text(label, table.Style{Look: table.Label, Wrap: true})),
			over(3, kitWidth, table.Text(clip(text, 300), table.Style{Wrap: true}))))
	}
	return rows
}

// gateRows are the lines of the live-leak gate: those that may go on together,
// each with its margin, the others one by one.
func (b *book) gateRows(kt *kit.Kit) []table.Row {
	if len(kt.Gate) == 0 {
		return nil
	}
	var passed []string
	var open []table.Row
	for _, l := range kt.Gate {
		switch {
		case l.Verdict != gate.MayGoOn:
			open = append(open, rowOf(kitWidth, over(1, kitWidth, table.Text(b.said(l.String()+orBlank("; ", l.Advice)), table.Style{Look: table.Label, Wrap: true}))))
		case l.Margin.OK:
			passed = append(passed, l.Name+" "+b.marginText(l.Margin.V, l.Unit))
		default:
			passed = append(passed, b.said(l.Name+" "+l.Said))
		}
	}
	text := "Live-leak gate: " + kt.Gate.Verdict().Words() + ". It is no permit: a qualified person decides."
	if len(passed) > 0 {
		text += " May go on, with margin: " + strings.Join(passed, "; ") + "."
	}
	return append([]table.Row{rowOf(kitWidth, over(1, kitWidth, table.Text(text, table.Style{Wrap: true})))}, open...)
}

// transportLines are the transport classes of what the kit holds and of what
// travels with the crew for it.
func (b *book) transportLines(kt *kit.Kit) []table.Row {
	var codes, beside []string
	items := map[string][]string{}
	lines := map[string]*catalog.Transport{}
	for _, l := range kt.Lines {
		if t, ok := b.p.Catalog.TransportOf(l.Item.Code); ok {
			if l.Item.Issue != catalog.LevelKit {
				beside = append(beside, fmt.Sprintf("%s (%s, class %s, %s)", l.Item.Code, t.UN, t.Class, t.Group))
				continue
			}
			if lines[t.Code] == nil {
				codes = append(codes, t.Code)
				lines[t.Code] = t
			}
			items[t.Code] = append(items[t.Code], l.Item.Code)
		}
	}
	if len(codes)+len(beside) == 0 {
		return nil
	}
	text := "TRANSPORT AND HAZARDS, to be confirmed with the safety data sheet. "
	for _, code := range codes {
		text += strings.Join(items[code], ", ") + ": " + transportText(lines[code]) + ". "
	}
	if len(beside) > 0 {
		text += "With the crew travels " + legible(strings.Join(beside, ", ")) + "."
	}
	return []table.Row{kitGap, rowOf(kitWidth, over(1, kitWidth, table.Text(text, table.Style{Wrap: true})))}
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

// subhead is a heading over the columns up to the last.
func subhead(text string, last int) table.Row {
	row := rowOf(last, over(1, last, table.Text(text, table.Style{Look: table.Subheading})))
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

// signRow is a line to be signed by two.
func signRow(left, right string) table.Row {
	label, fill := table.Style{Look: table.Label}, table.Empty(table.Style{Look: table.FillIn})
	row := rowOf(kitWidth,
		over(1, 2, table.Text(left, label)), over(3, 3, fill), over(4, 4, table.Text("date", label.To(table.Right))), over(5, 5, fill),
		over(6, 6, table.Text(right, label)), over(7, 8, fill), over(9, 9, table.Text("date", label.To(table.Right))), over(10, 10, fill))
	byHand(&row)
	return row
}
