package export

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"wraptally/estimate"
	"wraptally/export/table"
)

// kitBook is a workbook that holds the kits of part of the campaign.
type kitBook struct {
	name  string // of the file, without its folder
	holds string // which kits it has: areas, or crew and days
	part  []int
}

// kitWorkbook binds the kits of part of the campaign.
func (b *book) kitWorkbook(number, of int, campaign string) *table.Workbook {
	sheets := []*table.Sheet{b.contentsSheet(number, of, campaign), b.kitsSheet(), b.kitLinesSheet(), b.pickSheet(), b.crewsSheet(), b.mixingSheet(), b.labelsSheet(), b.smallLabelsSheet(), b.usedSheet()}
	if b.p.Store != nil {
		sheets = slices.Insert(sheets, 3, b.packingSheet())
	}
	return b.bind("Kits", sheets...)
}

// contentsSheet lists the kits of a workbook that holds nothing else.
func (b *book) contentsSheet(number, of int, campaign string) *table.Sheet {
	type col = table.Col[int] // of this workbook's kits
	const name = "Contents"
	metres, count := shown(table.Number(3)), table.IntStyle
	t := table.NewTable[int](name)
	t.Add(col{Title: "Kit", Width: nameWidth, Style: table.WrapStyle, Cell: func(p pen, k int) { p.Link(b.repair(k).ID, b.kitTarget(k)) }})
	t.Add(col{Title: "Area", Width: 18, Style: table.WrapStyle, Cell: func(p pen, k int) { p.Text(b.repair(k).Area) }})
	t.Add(col{Title: "Line", Width: 18, Style: table.WrapStyle, Cell: func(p pen, k int) { p.Text(b.repair(k).Line) }})
	t.Add(col{Title: "From", Unit: "m", Width: 11, Style: metres, Cell: func(p pen, k int) { p.Num(b.repair(k).From / 1000) }})
	t.Add(col{Title: "To", Unit: "m", Width: 11, Style: metres, Cell: func(p pen, k int) { p.Num(b.repair(k).To / 1000) }})
	t.Add(col{Title: "Crew", Width: 8, Style: count, Cell: func(p pen, k int) { p.Int(b.job(k).Crew) }})
	t.Add(col{Title: "Shift", Width: 8, Style: count, Cell: func(p pen, k int) { p.Int(b.job(k).Shift) }})
	t.Add(col{Title: "Weight", Unit: "kg", Width: 10, Style: shown(table.Number(1)), Cell: func(p pen, k int) { p.Num(b.job(k).Mass) }})
	if b.p.Store != nil {
		t.Add(col{Title: "Can be packed", Width: 16, Style: table.WrapStyle, Cell: func(p pen, k int) { p.Text(packWord(b.packingOf(k))) }})
	}
	t.Add(col{Title: "Lines", Width: 10, Style: count, Cell: func(p pen, k int) { p.Int(len(b.kits[k].Lines)) }})

	l := newLeaf(name, fmt.Sprintf("Kits, workbook %d of %d", number, of), "Nothing is changed in this workbook, its quantities are as estimated. Order, cutting and cost are in the campaign's workbook:", t.Columns())
	l.AddRow(table.Row{Cells: []table.Cell{table.FileLink(legible(campaign), campaign, table.TextStyle)}})
	l.Blank(1)
	begin(l, t, len(b.part))
	for k := range b.part {
		put(l, t, k)
	}
	return l.headed(b.page(false), 0)
}

// index says in which workbook each kit is.
type index struct {
	rows *table.Table[kitBook]
	name table.Ref
	of   map[int]int // place of the workbook of a kit, by job
}

func (d *desk) newIndex() (s index) {
	type col = table.Col[kitBook]
	wrap := table.WrapStyle
	first := func(k kitBook) string { return d.p.Jobs[k.part[0]].Repair.ID }
	last := func(k kitBook) string { return d.p.Jobs[k.part[len(k.part)-1]].Repair.ID }
	s.rows = table.NewTable[kitBook](sheetKits)
	s.name = s.rows.Add(col{Title: "Workbook", Width: 60, Style: wrap, Foot: foot("Total"), Cell: func(p pen, k kitBook) { p.File(k.name, k.name) }})
	s.rows.Add(col{Title: "Holds", Width: 44, Style: wrap, Cell: func(p pen, k kitBook) { p.Text(k.holds) }})
	s.rows.Add(col{Title: "First kit", Width: nameWidth, Style: table.WrapStyle, Cell: func(p pen, k kitBook) { p.Text(first(k)) }})
	s.rows.Add(col{Title: "Last kit", Width: nameWidth, Style: table.WrapStyle, Cell: func(p pen, k kitBook) { p.Text(last(k)) }})
	s.rows.Add(col{Title: "Kits", Width: 10, Style: table.IntStyle, Sums: true, Cell: func(p pen, k kitBook) { p.Int(len(k.part)) }})
	var weight table.Ref
	sum := func(p pen) { p.Formula("SUM(%s)", weight.Range()).Num(weight.Sum().InexactFloat64()) } // of no round numbers
	weight = s.rows.Add(col{Title: "Weight", Unit: "kg", Width: 12, Style: shown(table.Number(1)), Sums: true, Foot: sum, Cell: func(p pen, k kitBook) {
		sum := 0.0
		for _, n := range k.part {
			sum += d.p.Jobs[n].Mass
		}
		p.Num(sum)
	}})
	const head = 4
	s.rows.Place(head, len(d.apart))
	s.of = map[int]int{}
	for i := range d.apart {
		for _, n := range d.apart[i].part {
			s.of[n] = i
		}
	}
	return s
}

// indexSheet stands in the place of the kits where they have workbooks of their
// own.
func (d *desk) indexSheet() *table.Sheet {
	t := d.index.rows
	l := newLeaf(sheetKits, "Kits", fmt.Sprintf("The campaign has %d kits, more than the %d of setting output.kits_per_book: they are in workbooks of their own, in the same folder; those of this run say run %s at the head of each page.", len(d.p.Jobs), d.p.Catalog.Settings.KitsPerBook, cmp.Or(d.opt.Run, "as here")), t.Columns())
	l.Blank(1)
	begin(l, t, len(d.apart))
	for _, k := range d.apart {
		put(l, t, k)
	}
	l.AddRow(t.Foot(table.Total))
	return l.sheet(d.page(true))
}

// kitPlace is where the page of the n-th job's kit stands, or of the workbook that
// holds it.
func (d *desk) kitPlace(n int) string {
	if n < len(d.part) {
		return d.kitTarget(n)
	}
	if i, ok := d.index.of[n]; ok {
		return d.index.name.Nth(i)
	}
	return ""
}

// splitKits shares the kits out over workbooks: by area, or by crew and date, as the
// setting output.books_by says.
func splitKits(p *estimate.Campaign, path string, limit int) (out []kitBook) {
	if p.Catalog.Settings.BooksBy == "crew" {
		out = splitByCrew(p, limit)
	} else {
		out = splitByArea(p, limit)
	}
	for i := range out {
		out[i].name = fmt.Sprintf("%s-kits-%02d-%s.xlsx", stem(path), i+1, out[i].name)
	}
	return out
}

// splitByCrew gives each crew workbooks of its own, its kits in the order of the
// work: whole shifts as long as they fit.
func splitByCrew(p *estimate.Campaign, limit int) []kitBook {
	order := upTo(len(p.Jobs))
	slices.SortStableFunc(order, func(a, b int) int {
		x, y := &p.Jobs[a], &p.Jobs[b]
		return cmp.Or(cmp.Compare(x.Crew, y.Crew), cmp.Compare(x.Shift, y.Shift), cmp.Compare(x.Start, y.Start))
	})
	var out []kitBook
	crew := 0
	for from := 0; from < len(order); {
		first, to := &p.Jobs[order[from]], from+1
		for to < len(order) && p.Jobs[order[to]].Crew == first.Crew && p.Jobs[order[to]].Shift == first.Shift {
			to++
		}
		to = min(to, from+limit) // a shift with more kits goes on in the next
		last := len(out) - 1
		if last < 0 || crew != first.Crew || len(out[last].part)+to-from > limit {
			out = append(out, kitBook{})
			last, crew = last+1, first.Crew
		}
		out[last].part = append(out[last].part, order[from:to]...)
		from = to
	}
	for i := range out {
		b := &out[i]
		first, last := &p.Jobs[b.part[0]], &p.Jobs[b.part[len(b.part)-1]]
		b.holds = p.Crews[first.Crew-1].Name + ", " + when(first.Visit)
		b.name = fileWord(p.Crews[first.Crew-1].Name + " " + whenWord(first.Visit))
		if last.Shift != first.Shift {
			b.holds += " to " + when(last.Visit)
			b.name += "-to-" + fileWord(whenWord(last.Visit))
		}
	}
	return out
}

// whenWord is the day of a visit, or where none is known its shift.
func whenWord(v estimate.Visit) string {
	if v.Begun.IsZero() {
		return fmt.Sprintf("shift %d", v.Shift)
	}
	return day(v.Begun)
}

// splitByArea shares the kits out by area: whole areas as long as they fit, an area
// that is larger than one workbook over several.
func splitByArea(p *estimate.Campaign, limit int) []kitBook {
	var out []kitBook
	var areas [][]string // alongside
	area := func(n int) string { return p.Jobs[n].Repair.Area }
	for n := 0; n < len(p.Jobs); {
		end := n
		for end < len(p.Jobs) && area(end) == area(n) {
			end++
		}
		last := len(out) - 1
		if last >= 0 && len(out[last].part)+end-n <= limit {
			areas[last] = append(areas[last], area(n))
			for ; n < end; n++ {
				out[last].part = append(out[last].part, n)
			}
			continue
		}
		books := (end - n + limit - 1) / limit
		for k := range books {
			to := n + (end-n)/(books-k)
			areas = append(areas, []string{area(n)})
			b := kitBook{}
			for ; n < to; n++ {
				b.part = append(b.part, n)
			}
			out = append(out, b)
		}
	}
	for i, list := range areas {
		out[i].holds, out[i].name = strings.Join(list, ", "), fileWord(list[0])
		if n := len(list); n > 1 {
			out[i].name += "-to-" + fileWord(list[n-1])
		}
	}
	return out
}

// fileWord is text as part of a file's name: letters and digits of any script,
// all else a hyphen.
func fileWord(text string) string {
	var b strings.Builder
	gap := false
	for _, r := range text {
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '_' {
			gap = true
			continue
		}
		if gap && b.Len() > 0 {
			b.WriteByte('-')
		}
		gap = false
		b.WriteRune(r)
		if b.Len() > 36 {
			break
		}
	}
	if b.Len() == 0 {
		return "no-area"
	}
	return b.String()
}
