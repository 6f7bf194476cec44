package export

import (
	"path/filepath"
	"regexp"
	"strings"
	"time"

	"wraptally/estimate"
	"wraptally/estimate/kit"
	"wraptally/estimate/mark"
	"wraptally/estimate/scope"
	"wraptally/export/table"
)

// book is a workbook being made: the campaign and what all its sheets share.
type book struct {
	p       *estimate.Campaign
	opt     Options
	part    []int // which of p.Jobs have their kits in this workbook, in order
	printed time.Time

	measures *regexp.Regexp // in a sentence, see said; nil unless inches are shown
	repairID table.Ref      // on the sheet Repairs, where the workbook has it
	number   map[string]int // of the items, by code: see itemNo

	kits      []*kit.Kit // alongside part: as many as the setting output.kits_per_book lets stand in one workbook
	firstLine []int      // alongside part: number of the kit's first line on the sheet Kit lines, from 0
	lines     kitLines
	pages     kitPages // of the sheet Kits
	crews     crews
	takes     takes // of the sheet Cutting
}

// newBook prepares a workbook that holds the kits of part: several sheets look at
// each kit, and lead to its page or sum over the crews, so these are laid out
// before any sheet is written.
func newBook(p *estimate.Campaign, opt Options, part []int) *book {
	b := &book{p: p, opt: opt, part: part, printed: opt.printed(p), number: map[string]int{}}
	for i := range p.Catalog.Items {
		b.number[p.Catalog.Items[i].Code] = i + 1
	}
	if b.inch() {
		b.measures = measures(p.Catalog)
	}
	lines := 0
	for _, n := range part {
		k := p.Kit(&p.Jobs[n])
		b.kits, b.firstLine = append(b.kits, k), append(b.firstLine, lines)
		lines += len(k.Lines)
	}
	b.lines = b.newKitLines()
	b.pages = b.kitPages()
	b.crews = b.newCrews()
	b.takes = b.newTakes()
	return b
}

// complete reports whether this workbook holds every kit of the campaign. Kits,
// Pick list, Crews, Mixing and Labels stand in the workbook that holds the sheet
// Kit lines of the same kits; Cutting is of the whole campaign.
func (b *book) complete() bool { return len(b.part) == len(b.p.Jobs) }

// repair is the repair of the k-th kit of this workbook.
func (b *book) repair(k int) *scope.Repair { return b.job(k).Repair }

// job is the job of the k-th kit of this workbook.
func (b *book) job(k int) *estimate.Job { return &b.p.Jobs[b.part[k]] }

// paper is the size of printed sheets.
func (b *book) paper() table.Paper {
	if b.p.Catalog.Settings.Paper == "Letter" {
		return table.Letter
	}
	return table.A4
}

// date is the day printed on the sheets, see dated.
func (b *book) date() time.Time {
	if !b.opt.Printed.IsZero() {
		return b.opt.Printed
	}
	return b.printed
}

// dated is the date on the sheets, saying what it is.
func (b *book) dated() string {
	switch {
	case !b.opt.Printed.IsZero():
		return "printed " + day(b.opt.Printed)
	case !b.printed.IsZero():
		return "work from " + day(b.printed)
	}
	return ""
}

// runText tells of which run a page is: its mark, by which pages of another run
// are known at a glance, and the survey.
func (b *book) runText() string {
	const most = 48 // letters, beside the sheet's name and the date
	text := clip(legible(filepath.Base(b.p.Name)), most)
	if run := runWord(b.opt.Run); run != "" {
		text = run + ", " + text
	}
	return text
}

// runWord is "run 7K3F9Q", "" where the run is not known.
func runWord(mark string) string {
	if mark == "" {
		return ""
	}
	return "run " + mark
}

// runOf is the mark in what runWord gave; "" where there is none.
func runOf(word string) string {
	code, ok := strings.CutPrefix(word, "run ")
	if !ok || !mark.Is(code) {
		return ""
	}
	return code
}

// narrowMargins are of sheets that need the width.
var narrowMargins = &table.Margins{Left: 8, Right: 8, Top: 15, Bottom: 12, Header: 6, Footer: 6}

// page is the usual page of a sheet: fitted to the width, with the run, the
// notice and page numbers.
func (b *book) page(landscape bool) table.Page {
	return table.Page{
		Paper: b.paper(), Landscape: landscape, FitWide: 1,
		Header: table.Banner{Left: "{sheet}", Centre: b.runText(), Right: b.dated()},
		Footer: table.Banner{Left: "Estimate, not a design", Right: "{page} of {pages}"},
	}
}

// outward is the page of what leaves the firm: of the run it says the mark alone.
func (b *book) outward(landscape bool) table.Page {
	page := b.page(landscape)
	page.Header.Centre = runWord(b.opt.Run)
	return page
}

// Book is one workbook to be written.
type Book struct {
	Path string
	make func() *table.Workbook // when it is written, so that one at a time is held
}
