package export

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"unicode"

	"github.com/shopspring/decimal"

	"wraptally/estimate"
	"wraptally/export/table"
	"wraptally/export/xlsx"
)

// desk is the workbook of the campaign as a whole: what the estimator and the
// procurement office work from, and in all but large campaigns the storeman's
// sheets as well.
type desk struct {
	*book
	apart []kitBook // where the kits are when they have workbooks of their own

	inputs     *inputs
	order      *ordered
	needs      *needs
	cost       *costs
	repairs    *repairs
	items      []need
	rows       []orderRow
	names      []table.Name
	materials  amount    // the cost of the order
	net, total amount    // the bid before and with tax
	workings   []working // of the first repairs
}

// kitBook is a workbook that holds the kits of part of the campaign.
type kitBook struct {
	name  string // of the file, without its folder
	areas []string
	part  []int
}

// Books are the workbooks of a campaign: one, or where it has more kits than the
// setting output.kits_per_book, one for the campaign and several for the kits,
// by area, with an index on the sheet Kits of the first.
func Books(p *estimate.Campaign, opt Options, path string) []Book {
	if len(p.Jobs) == 0 {
		return []Book{{path, func() *table.Workbook { return leftOutBook(p, opt) }}}
	}
	all := make([]int, len(p.Jobs))
	for n := range all {
		all[n] = n
	}
	limit := max(1, p.Catalog.Settings.KitsPerBook)
	if len(all) <= limit {
		return []Book{{path, func() *table.Workbook { return newDesk(p, opt, all, nil).workbook() }}}
	}
	apart := splitByArea(p, path, limit)
	books := []Book{{path, func() *table.Workbook { return newDesk(p, opt, nil, apart).workbook() }}}
	for i, k := range apart {
		books = append(books, Book{filepath.Join(filepath.Dir(path), k.name), func() *table.Workbook {
			return newBook(p, opt, k.part).kitWorkbook(i+1, len(apart), filepath.Base(path))
		}})
	}
	return books
}

// QueriesOnly is a workbook to be answered and sent back.
func QueriesOnly(p *estimate.Campaign, opt Options, path string) Book {
	return Book{path, func() *table.Workbook {
		b := newBook(p, opt, nil)
		return b.bind("Queries", b.queriesSheet(), b.assumptionsSheet(), b.settingsSheet())
	}}
}

// Write writes the workbook; nothing reaches w when it cannot be made.
func (b Book) Write(w io.Writer) error { return xlsx.Write(w, b.make()) }

func newDesk(p *estimate.Campaign, opt Options, part []int, apart []kitBook) *desk {
	d := &desk{book: newBook(p, opt, part), apart: apart}
	d.items = d.needList()
	d.inputs = d.newInputs(d.items)
	d.rows = d.orderRows()
	d.order, d.needs = d.newOrder(), d.newNeeds()
	d.openRepairs()
	d.placeWorkings()
	return d
}

// define names a cell of a sheet and gives the amount for other formulas.
func (d *desk) define(name string, at string, value decimal.Decimal) amount {
	d.names = append(d.names, table.Name{Name: name, Refers: at})
	return amount{name, value}
}

// bind makes a workbook of sheets.
func (b *book) bind(title string, sheets ...*table.Sheet) *table.Workbook {
	return &table.Workbook{
		Properties: table.Properties{
			Title: title, Subject: legible(table.Shorten(filepath.Base(b.p.Name), 100)), Description: Notice, Creator: strings.TrimSpace("wraptally " + b.opt.Version), Created: b.printed,
		},
		Sheets: sheets,
	}
}

// workbook binds the sheets of the campaign in the order of their tabs.
func (d *desk) workbook() *table.Workbook {
	order, needs, cost := d.orderSheet(), d.needsSheet(), d.costSheet()
	repairs, working := d.repairsSheet(), d.workingSheet()
	summary := d.summarySheet()
	sheets := []*table.Sheet{summary, repairs}
	if len(d.apart) > 0 {
		sheets = append(sheets, d.indexSheet(), d.cuttingSheet())
	} else {
		sheets = append(sheets, d.kitsSheet(), d.kitLinesSheet(), d.pickSheet(), d.crewsSheet(), d.mixingSheet(), d.cuttingSheet(), d.labelsSheet())
	}
	sheets = append(sheets, order, needs, cost, d.inputs.sheet())
	if d.opt.Vary != nil {
		sheets = append(sheets, d.varySheet(d.opt.Vary))
	}
	sheets = append(sheets, d.assumptionsSheet(), d.settingsSheet(), d.queriesSheet(), working)
	w := d.bind("Repair campaign", sheets...)
	w.Names = append(append(w.Names, d.inputs.names...), d.names...)
	return w
}

// kitWorkbook binds the kits of part of the campaign.
func (b *book) kitWorkbook(number, of int, campaign string) *table.Workbook {
	l := newLeaf("Contents", fmt.Sprintf("Kits, workbook %d of %d", number, of), "The order, the cutting and the cost are in the workbook "+legible(campaign)+". Quantities changed here change these kits' pages, not the order: see "+sheetInputs+" there.", widths(9, 18, 18, 11, 11, 8, 8, 10, 10))
	l.Blank(1)
	l.heads("Kit", "Area", "Line", "#From\n(m)", "#To\n(m)", "#Crew", "#Shift", "#Weight\n(kg)", "#Lines")
	for i := range b.part {
		r, v := b.repair(i), b.job(i)
		l.Add(table.Link(r.ID, b.kitTarget(i), table.TextStyle), table.Text(legible(r.Area), table.WrapStyle), table.Text(legible(r.Line), table.WrapStyle), table.Num(r.From/1000, shown(table.Number(3))), table.Num(r.To/1000, shown(table.Number(3))),
			table.Int(v.Crew, table.IntStyle), table.Int(v.Shift, table.IntStyle), table.Num(v.Mass, shown(table.Number(1))), table.Int(len(b.kits[i].Lines), table.IntStyle))
	}
	s := l.sheet(b.page(false))
	s.FreezeRows, s.TitleRows = 4, table.Span{First: 4, Last: 4}
	return b.bind("Kits", s, b.kitsSheet(), b.kitLinesSheet(), b.pickSheet(), b.crewsSheet(), b.mixingSheet(), b.labelsSheet())
}

// indexSheet says in which workbook each kit is.
func (d *desk) indexSheet() *table.Sheet {
	l := newLeaf(sheetKits, "Kits", fmt.Sprintf("The campaign has %d kits, more than the %d of setting output.kits_per_book: they are in workbooks of their own, in the same folder.", len(d.p.Jobs), d.p.Catalog.Settings.KitsPerBook), widths(60, 44, 12, 12, 10, 12))
	l.Blank(1)
	l.heads("Workbook", "Areas", "First kit", "Last kit", "#Kits", "#Weight\n(kg)")
	first := l.Next()
	total, mass := 0, 0.0
	for _, k := range d.apart {
		sum := 0.0
		for _, n := range k.part {
			sum += d.p.Jobs[n].Mass
		}
		total, mass = total+len(k.part), mass+sum
		l.Add(table.Text(legible(k.name), table.WrapStyle), table.Text(legible(strings.Join(k.areas, ", ")), table.WrapStyle), table.Text(d.p.Jobs[k.part[0]].Repair.ID, table.TextStyle),
			table.Text(d.p.Jobs[k.part[len(k.part)-1]].Repair.ID, table.TextStyle), table.Int(len(k.part), table.IntStyle), table.Num(sum, shown(table.Number(1))))
	}
	t := look(table.Total)
	l.Add(table.Text("Total", t), table.Empty(t), table.Empty(t), table.Empty(t), table.FormulaNum(fmt.Sprintf("SUM(E%d:E%d)", first, l.Next()-1), float64(total), summed(table.Number(0))),
		table.FormulaNum(fmt.Sprintf("SUM(F%d:F%d)", first, l.Next()-1), mass, summed(table.Number(1))))
	return l.sheet(d.page(true))
}

// kitPlace is where the page of the n-th job's kit stands.
func (d *desk) kitPlace(n int) string {
	if n < len(d.part) {
		return d.kitTarget(n)
	}
	if len(d.apart) > 0 {
		for i, k := range d.apart {
			if n <= k.part[len(k.part)-1] {
				return table.At{Column: 1, Row: 5 + i}.On(sheetKits)
			}
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

// leftOutBook is the workbook of a survey of which nothing could be estimated.
func leftOutBook(p *estimate.Campaign, opt Options) *table.Workbook {
	d := &desk{book: newBook(p, opt, nil)}
	d.openRepairs()
	return d.bind("Repair campaign", d.summarySheet(), d.repairsSheet(), d.assumptionsSheet(), d.settingsSheet(), d.queriesSheet())
}
