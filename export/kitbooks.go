package export

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"unicode"

	"wraptally/estimate"
	"wraptally/export/table"
)

// kitBook is a workbook that holds the kits of part of the campaign.
type kitBook struct {
	name  string // of the file, without its folder
	areas []string
	part  []int
}

// kitWorkbook binds the kits of part of the campaign.
func (b *book) kitWorkbook(number, of int, campaign string) *table.Workbook {
	sheets := []*table.Sheet{b.contentsSheet(number, of, campaign), b.kitsSheet(), b.kitLinesSheet(), b.pickSheet(), b.crewsSheet(), b.mixingSheet(), b.labelsSheet(), b.smallLabelsSheet(), b.transportSheet(), b.usedSheet()}
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
	t.Add(col{Title: "Lines", Width: 10, Style: count, Cell: func(p pen, k int) { p.Int(len(b.kits[k].Lines)) }})

	l := newLeaf(name, fmt.Sprintf("Kits, workbook %d of %d", number, of), "The order, the cutting and the cost are in the workbook "+legible(campaign)+". Quantities changed here change these kits' pages, not the order: see "+sheetInputs+" there.", t.Columns())
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
}

func (d *desk) newIndex() (s index) {
	type col = table.Col[kitBook]
	wrap := table.WrapStyle
	first := func(k kitBook) string { return d.p.Jobs[k.part[0]].Repair.ID }
	last := func(k kitBook) string { return d.p.Jobs[k.part[len(k.part)-1]].Repair.ID }
	s.rows = table.NewTable[kitBook](sheetKits)
	s.name = s.rows.Add(col{Title: "Workbook", Width: 60, Style: wrap, Foot: foot("Total"), Cell: func(p pen, k kitBook) { p.Text(k.name) }})
	s.rows.Add(col{Title: "Areas", Width: 44, Style: wrap, Cell: func(p pen, k kitBook) { p.Text(strings.Join(k.areas, ", ")) }})
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
	return s
}

// indexSheet stands in the place of the kits where they have workbooks of their
// own.
func (d *desk) indexSheet() *table.Sheet {
	t := d.index.rows
	l := newLeaf(sheetKits, "Kits", fmt.Sprintf("The campaign has %d kits, more than the %d of setting output.kits_per_book: they are in workbooks of their own, in the same folder.", len(d.p.Jobs), d.p.Catalog.Settings.KitsPerBook), t.Columns())
	l.Blank(1)
	begin(l, t, len(d.apart))
	for _, k := range d.apart {
		put(l, t, k)
	}
	l.AddRow(t.Foot(table.Total))
	return l.sheet(d.page(true))
}

// kitPlace is where the page of the n-th job's kit stands.
func (d *desk) kitPlace(n int) string {
	if n < len(d.part) {
		return d.kitTarget(n)
	}
	for i, k := range d.apart {
		if n <= k.part[len(k.part)-1] {
			return d.index.name.Nth(i)
		}
	}
	return ""
}

// splitByArea shares the kits out over workbooks: whole areas as long as they
// fit, an area that is larger than one workbook over several.
func splitByArea(p *estimate.Campaign, path string, limit int) []kitBook {
	var out []kitBook
	area := func(n int) string { return p.Jobs[n].Repair.Area }
	for n := 0; n < len(p.Jobs); {
		end := n
		for end < len(p.Jobs) && area(end) == area(n) {
			end++
		}
		last := len(out) - 1
		if last >= 0 && len(out[last].part)+end-n <= limit {
			out[last].areas = append(out[last].areas, area(n))
			for ; n < end; n++ {
				out[last].part = append(out[last].part, n)
			}
			continue
		}
		books := (end - n + limit - 1) / limit
		for k := range books {
			to := n + (end-n)/(books-k)
			b := kitBook{areas: []string{area(n)}}
			for ; n < to; n++ {
				b.part = append(b.part, n)
			}
			out = append(out, b)
		}
	}
	base := filepath.Base(path)
	base = strings.TrimSuffix(base, filepath.Ext(base))
	for i := range out {
		name := fileWord(out[i].areas[0])
		if n := len(out[i].areas); n > 1 {
			name += "-to-" + fileWord(out[i].areas[n-1])
		}
		out[i].name = fmt.Sprintf("%s-kits-%02d-%s.xlsx", base, i+1, name)
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
