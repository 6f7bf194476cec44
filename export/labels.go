package export

import (
	"errors"
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"wraptally/catalog"
	"wraptally/estimate/scope"
	"wraptally/export/draw"
	"wraptally/export/table"
)

// Labels stand two beside each other, each of three columns: a margin, the text
// and the code.
var labelColumns = []table.Column{{Width: 2}, {Width: 28}, {Width: 15}, {Width: 2}, {Width: 28}, {Width: 15}}

const (
	labelsAcross = 2
	labelsDown   = 4
	labelsOnPage = labelsAcross * labelsDown
	labelSpan    = 3 // columns of one label
	codeMM       = 26
	codeTallMM   = 18 // a tall bar code is read at a slant, on a curved bag, with a streak across it
)

// The heights of a label's rows in points: eight labels fill a page of A4 or
// Letter with the same heights.
var labelRows = []float64{5, 27, 14, 14, 14, 54, 14, 20, 12}

// labelsSheet is a sheet of labels to be cut apart: kit, line, size, what has to
// be known of the repair, and a code that a scanner reads.
func (b *book) labelsSheet() *table.Sheet {
	page := b.page(false)
	page.FitWide = 0 // at full size: a code must not shrink
	page.Header = table.Banner{}
	page.Margins = &table.Margins{Left: 12, Right: 12, Top: 8, Bottom: 12, Header: 4, Footer: 5}
	page.CentreAcross = true
	s := &table.Sheet{Name: sheetLabels, Columns: labelColumns, Page: page, Protected: true}
	var failed error
	s.Failed = func() error { return failed }
	s.Rows = func(yield func(table.Row) bool) {
		pg := newPager(labelColumns, page, yield)
		var codes []draw.Picture
		for at := 0; at < len(b.part); at += labelsAcross {
			if on := at % labelsOnPage; on == 0 {
				pg.page()
				if codes, failed = b.codes(at, min(at+labelsOnPage, len(b.part))); failed != nil {
					return
				}
			}
			pg.rows(b.labelRow(at, codes[at%labelsOnPage:])...)
			if pg.stopped {
				return
			}
		}
	}
	return s
}

// codes draws the codes of the kits from one up to but not including another,
// side by side on all processors: drawing them is most of the work.
func (b *book) codes(from, to int) ([]draw.Picture, error) {
	pictures, faults := make([]draw.Picture, to-from), make([]error, to-from)
	var work sync.WaitGroup
	for i := range pictures {
		work.Go(func() {
			r := b.repair(from + i)
			if pictures[i], faults[i] = draw.Code128(b.scanned(r), codeMM, codeTallMM); faults[i] != nil {
				faults[i] = fmt.Errorf("label of kit %s: %w", r.ID, faults[i])
			}
		})
	}
	work.Wait()
	return pictures, errors.Join(faults...)
}

// labelRow is the labels of neighbouring kits, the first of them k.
func (b *book) labelRow(k int, codes []draw.Picture) []table.Row {
	rows := make([]table.Row, len(labelRows))
	for i := range rows {
		rows[i] = table.Row{Cells: make([]table.Cell, len(labelColumns)), Height: labelRows[i]}
	}
	for i := range min(labelsAcross, len(b.part)-k) {
		b.label(rows, k+i, 1+i*labelSpan, codes[i])
	}
	return rows
}

// label writes the label of the k-th kit into rows, from a column on.
func (b *book) label(rows []table.Row, k, column int, picture draw.Picture) {
	r, v := b.repair(k), b.job(k)
	text, code := column, column+1 // indexes of the columns after the margin
	narrow, wide := labelColumns[text].Width, labelColumns[text].Width+labelColumns[code].Width
	put := func(row int, content string, s table.Style) {
		rows[row].Cells[text] = table.Text(content, s)
	}
	across := func(row int, content string, s table.Style) {
		put(row, content, s)
		rows[row].Cells[code] = table.Empty(s)
		rows[row].Merge = append(rows[row].Merge, table.Span{First: text + 1, Last: code + 1})
	}
	rows[0].Cells[text], rows[0].Cells[code] = table.Empty(look(table.Subheading)), table.Empty(look(table.Subheading)) // where to cut
	name := look(table.BigLabel)
	if fitLines(r.ID, narrow*0.5, 1) != r.ID { // too long for large letters
		name = look(table.Label)
		name.Wrap = true
	}
	put(1, fitLines(r.ID, narrow, 2), name)
	put(2, fitLines(lineName(r), narrow*0.9, 1), look(table.Label))
	put(3, b.whereText(r, narrow), table.Style{})
	put(4, fitLines(b.sizeLine(r), narrow, 1), table.Style{})
	across(5, fitLines(b.about(k), wide, 4), table.Style{Wrap: true})
	rest := fmt.Sprintf(" kg, %s, %s", b.p.Crews[v.Crew-1].Name, when(v.Visit))
	across(6, "", look(table.Label))
	rows[6].Cells[text] = table.FormulaText("ROUND("+b.kitWeight(k)+",1)&"+table.StringLiteral(rest), trimmed(v.Mass, 1)+rest, look(table.Label))
	across(7, "", look(table.Muted).Wrapped())
	rows[7].Cells[text] = b.contentsCell(k, fitLines(b.marks(v.Code), wide, 2), fitLines(b.marks(strings.ToUpper(setByHand)), wide, 2), look(table.Muted).Wrapped())
	across(8, "Estimate, not a design. Safety data sheets go with the kit.", look(table.Muted))
	rows[1].Pictures = append(rows[1].Pictures, table.Picture{
		At: table.At{Column: code + 1}, OffsetXMM: 1, OffsetYMM: 0.5, PNG: picture.PNG, WidthMM: picture.WidthMM, HeightMM: picture.HeightMM,
		Alt: "bar code: " + b.scanned(r),
	})
}

// scanned is what a scanner reads off a label: the name of the repair, and after
// a blank the run's mark, by which a label of another run is known.
func (b *book) scanned(r *scope.Repair) string {
	return strings.TrimSpace(r.ScanName() + " " + b.opt.Run)
}

// marks are the codes by which a kit is known from that of another run: what is in
// it, and the run.
func (b *book) marks(code string) string {
	return "contents " + code + orBlank("; ", runWord(b.opt.Run)) + orBlank("; ", b.dated()) + orBlank("; ", legible(filepath.Base(b.p.Name)))
}

// whereText says where the repair lies in so many characters. A figure is never
// cut short: the word before it goes first, then the two ends give way to the
// middle.
func (b *book) whereText(r *scope.Repair, characters float64) string {
	middle, unit := b.along((r.From + r.To) / 2)
	ways := []string{"chainage " + b.alongText(r), b.alongText(r), "about " + trimmed(middle, 2) + " " + unit}
	for _, text := range ways {
		if fitLines(text, characters, 1) == text {
			return text
		}
	}
	return fitLines(ways[len(ways)-1], characters, 1)
}

func (b *book) sizeLine(r *scope.Repair) string {
	text := "OD " + b.lengthText(r.OD)
	if r.Size != "" {
		text = "size " + clip(r.Size, 10) + ", " + text
	}
	return text
}

// about is what who carries, opens or checks the bag has to know of its repair:
// place, medium, pressure, surface, access, and the UN numbers of what it holds.
func (b *book) about(k int) string {
	r := b.repair(k)
	parts := []string{r.Area, mediumText(r), pressureText(r), surfaceWord(r) + ", " + surfaceTemp(r), b.accessText(r)}
	if r.Hazardous {
		parts = slices.Insert(parts, 0, "HAZARDOUS AREA")
	}
	numbers := map[string]bool{}
	for _, l := range b.kits[k].Lines {
		if t, ok := b.p.Catalog.TransportOf(l.Item.Code); ok && l.Item.Issue == catalog.LevelKit && l.Qty > 0 && t.UN != "" {
			un := t.UN
			if !strings.HasPrefix(un, "UN ") {
				un = "a class " + un // "not stated"
			}
			numbers[un] = true
		}
	}
	if len(numbers) > 0 {
		parts = append(parts, "transport: "+strings.Join(slices.Sorted(maps.Keys(numbers)), ", "))
	}
	return strings.Join(slices.DeleteFunc(parts, func(s string) bool { return s == "" }), "; ")
}
