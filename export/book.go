package export

import (
	"time"

	"wraptally/estimate"
	"wraptally/estimate/kit"
	"wraptally/estimate/scope"
	"wraptally/export/table"
)

// The sheets, in the order of their tabs.
const (
	sheetSummary     = "Summary"
	sheetRepairs     = "Repairs"
	sheetKits        = "Kits"
	sheetKitLines    = "Kit lines"
	sheetPick        = "Pick list"
	sheetCrews       = "Crews"
	sheetMixing      = "Mixing"
	sheetCutting     = "Cutting"
	sheetLabels      = "Labels"
	sheetOrder       = "Order"
	sheetCost        = "Cost"
	sheetInputs      = "Prices and rates"
	sheetVary        = "What if"
	sheetAssumptions = "Assumptions"
	sheetSettings    = "Settings"
	sheetQueries     = "Queries"
	sheetWorking     = "Working"
)

// book is a workbook being made: the campaign and what all its sheets share.
type book struct {
	p       *estimate.Campaign
	opt     Options
	part    []int // which of p.Counted have their kits in this workbook, in order
	printed time.Time

	firstLine []int // alongside part: row of the kit's first line on the sheet Kit lines
	lineCount []int // alongside part: number of lines there

	kits  []*kit.Kit  // alongside part: as many as the setting output.kits_per_book lets stand in one workbook
	pages kitPages    // of the sheet Kits
	crews []table.Row // of the sheet Crews
}

// kitLinesHead is the number of rows above the first line of the sheet Kit
// lines.
const kitLinesHead = 4

// newBook prepares a workbook that holds the kits of part: several sheets look at
// each kit, and lead to its page or sum over the crews, so these are laid out
// before any sheet is written.
func newBook(p *estimate.Campaign, opt Options, part []int) *book {
	b := &book{p: p, opt: opt, part: part, printed: opt.printed(p)}
	row := kitLinesHead + 1
	for _, n := range part {
		k := p.Kit(p.Counted[n], nil)
		b.kits = append(b.kits, k)
		b.firstLine = append(b.firstLine, row)
		b.lineCount = append(b.lineCount, len(k.Lines))
		row += len(k.Lines)
	}
	b.pages = b.kitPages()
	b.crews = b.crewsRows()
	return b
}

// repair is the repair of the k-th kit of this workbook.
func (b *book) repair(k int) *scope.Repair { return b.p.Repairs[b.p.Counted[b.part[k]]] }

// visit is when the k-th kit of this workbook is used.
func (b *book) visit(k int) estimate.Visit { return b.p.Visits[b.part[k]] }

// paper is the size of printed sheets.
func (b *book) paper() table.Paper {
	if b.p.Catalog.Settings.Paper == "Letter" {
		return table.Letter
	}
	return table.A4
}

// inch reports whether lengths are shown in inches.
func (b *book) inch() bool { return b.p.Catalog.Settings.Units == "inch" }

// mmPerInch is exact by definition (1959).
const mmPerInch = 25.4

// length is a length in the unit of the presentation.
func (b *book) length(mm float64) float64 {
	if b.inch() {
		return mm / mmPerInch
	}
	return mm
}

// lengthUnit is the unit of length, and lengthFormat its number format.
func (b *book) lengthUnit() string {
	if b.inch() {
		return "in"
	}
	return "mm"
}

func (b *book) lengthFormat() table.Format {
	if b.inch() {
		return table.Number(2)
	}
	return table.Number(0)
}

// page is the usual page of a sheet: fitted to the width, with the campaign's
// name, the notice and page numbers.
func (b *book) page(landscape bool) table.Page {
	date := ""
	if !b.printed.IsZero() {
		date = b.printed.Format(time.DateOnly)
	}
	return table.Page{
		Paper: b.paper(), Landscape: landscape, FitWide: 1,
		Header: table.Banner{Left: "{sheet}", Centre: "", Right: date},
		Footer: table.Banner{Left: "Estimate, not a design", Right: "{page} of {pages}"},
	}
}

// Book is one workbook to be written.
type Book struct {
	Path string
	make func() *table.Workbook // when it is written, so that one at a time is held
}
