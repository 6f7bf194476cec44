package export

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"wraptally/catalog"
	"wraptally/estimate/scope"
	"wraptally/export/draw"
	"wraptally/export/table"
)

// form is a sheet of labels: so many across and down, from edge to edge so many mm,
// within margins that go with the paper. Each label is a margin, its text and, where
// it has one, its code, a column each.
type form struct {
	across, down int
	wide, tall   float64 // mm
	left, top    float64 // mm
	code         float64 // width of the column of the code; 0 where there is none
}

const (
	codeMM     = 26
	codeTallMM = 18   // a tall bar code is read at a slant, on a curved bag, with a streak across it
	codeWidth  = 15.0 // characters, of the column that holds it
	cutWidth   = 2.0  // characters, between the line to cut along and the text
	pointsMM   = 72 / mmPerInch
)

// form is the sheet of the labels of kits; smallForm that of the others.
func (b *book) form() form {
	s := &b.p.Catalog.Settings
	f := form{across: s.LabelAcross, down: s.LabelDown, wide: s.LabelWide, tall: s.LabelTall, left: s.LabelLeftA4, top: s.LabelTopA4, code: codeWidth}
	if b.paper() == table.Letter {
		f.left, f.top = s.LabelLeftLetter, s.LabelTopLetter
	}
	return f
}

func (b *book) smallForm() form {
	s, f := &b.p.Catalog.Settings, b.form()
	f.across, f.down, f.wide, f.tall, f.code = s.SmallLabelAcross, s.SmallLabelDown, s.SmallLabelWide, s.SmallLabelTall, 0
	return f
}

// text is the width of the column of a label's text, in characters.
func (f form) text() float64 { return table.Characters(f.wide) - cutWidth - f.code }

// span is how many columns of the sheet a label has.
func (f form) span() int {
	if f.code > 0 {
		return 3
	}
	return 2
}

// onPage is how many labels a page holds.
func (f form) onPage() int { return f.across * f.down }

// columns are those of the sheet, with a narrow one at the right for the last line
// to cut along.
func (f form) columns() (out []table.Column) {
	for range f.across {
		out = append(out, table.Column{Width: cutWidth}, table.Column{Width: f.text()})
		if f.code > 0 {
			out = append(out, table.Column{Width: f.code})
		}
	}
	return append(out, table.Column{Width: 1})
}

// page is the page of the sheet: at full size, since neither a code nor a label may
// shrink.
func (f form) page(b *book) table.Page {
	page := b.page(false)
	page.FitWide = 0
	page.Header = table.Banner{}
	page.Margins = &table.Margins{Left: f.left, Right: 4, Top: f.top, Bottom: 4, Header: 4, Footer: 3}
	page.Footer = table.Banner{}
	return page
}

// rows are the empty rows of labels beside each other, the first so many of which
// are there, with the lines to cut along; stretch is the row that takes what height
// the others leave.
func (f form) rows(heights []float64, stretch, labels int) []table.Row {
	rows, rest := make([]table.Row, len(heights)), f.tall*pointsMM
	for _, h := range heights {
		rest -= h
	}
	n := len(f.columns())
	for i := range rows {
		rows[i] = table.Row{Cells: make([]table.Cell, n), Height: heights[i]}
		if i == stretch {
			rows[i].Height += rest
		}
		for c := range n {
			edge, across := c%f.span() == 0 && c/f.span() <= labels, i == 0 && c < labels*f.span()
			switch {
			case edge && across:
				rows[i].Cells[c] = table.Empty(look(table.CutCorner))
			case edge:
				rows[i].Cells[c] = table.Empty(look(table.CutDown))
			case across:
				rows[i].Cells[c] = table.Empty(look(table.CutAcross))
			}
		}
	}
	return rows
}

// end is the line under the last labels of a page.
func (f form) end(labels int) table.Row {
	row := table.Row{Cells: make([]table.Cell, len(f.columns())), Height: 2}
	for c := range min(labels, f.across) * f.span() {
		row.Cells[c] = table.Empty(look(table.CutAcross))
	}
	return row
}

// sheet lays out so many labels: beside writes those from one on, side by side, into
// rows of the form.
func (f form) sheet(b *book, name string, count int, beside func(at, n int) ([]table.Row, error)) *table.Sheet {
	return paged(&table.Sheet{Name: name, Columns: f.columns(), Page: f.page(b), Protected: true}, func(pg *pager) error {
		pg.capacity = math.Inf(1) // pages are full by their number of labels
		for at := 0; at < count; at += f.across {
			n := min(f.across, count-at)
			if at%f.onPage() == 0 {
				pg.page()
			}
			rows, err := beside(at, n)
			if err != nil {
				return err
			}
			pg.rows(rows...)
			if at+n == count || (at+n)%f.onPage() == 0 {
				pg.rows(f.end(n))
			}
			if pg.stopped {
				break
			}
		}
		return nil
	})
}

// labelRows are the heights of the rows of a kit's label in points; the one that
// tells what has to be known takes what is left of the label.
var labelRows = []float64{5, 27, 14, 14, 14, 0, 14, 20, 12}

const labelAbout = 5 // of them

// labelsSheet is a sheet of labels to be cut apart: kit, line, size, what has to
// be known of the repair, and a code that a scanner reads.
func (b *book) labelsSheet() *table.Sheet {
	f := b.form()
	var codes []draw.Picture
	return f.sheet(b, sheetLabels, len(b.part), func(at, n int) (rows []table.Row, err error) {
		on := at % f.onPage()
		if on == 0 {
			if codes, err = b.codes(at, min(at+f.onPage(), len(b.part))); err != nil {
				return nil, err
			}
		}
		rows = f.rows(labelRows, labelAbout, n)
		for i := range n {
			b.label(f, rows, at+i, 1+i*f.span(), codes[on+i])
		}
		return rows, nil
	})
}

// codes draws the codes of the kits from one up to but not including another,
// side by side on all processors: drawing them is most of the work.
func (b *book) codes(from, to int) ([]draw.Picture, error) {
	pictures, faults := make([]draw.Picture, to-from), make([]error, to-from)
	var work sync.WaitGroup
	for i := range pictures {
		work.Go(func() {
			r := b.repair(from + i)
			if pictures[i], faults[i] = b.code(b.scanned(r)); faults[i] != nil {
				faults[i] = fmt.Errorf("label of kit %s: %w", r.ID, faults[i])
			}
		})
	}
	work.Wait()
	return pictures, errors.Join(faults...)
}

// label writes the label of the k-th kit into rows, from a column on.
func (b *book) label(f form, rows []table.Row, k, column int, picture draw.Picture) {
	r, v := b.repair(k), b.job(k)
	text, code := column, column+1 // indexes of the columns after the margin
	narrow, wide := f.text(), f.text()+f.code
	put := func(row int, content string, s table.Style) {
		rows[row].Cells[text] = table.Text(content, s)
	}
	across := func(row int, content string, s table.Style) {
		put(row, content, s)
		rows[row].Cells[code] = table.Empty(s)
		rows[row].Merge = append(rows[row].Merge, table.Span{First: text + 1, Last: code + 1})
	}
	name := look(table.BigLabel)
	if fitLines(r.ID, narrow*0.5, 1) != r.ID { // too long for large letters
		name = look(table.Label)
		name.Wrap = true
	}
	put(1, fitLines(r.ID, narrow, 2), name)
	put(2, fitLines(lineName(r), narrow*0.9, 1), look(table.Label))
	put(3, b.whereText(r, narrow), table.Style{})
	put(4, fitLines(b.sizeLine(r), narrow, 1), table.Style{})
	lines := max(1, int(rows[labelAbout].Height/(table.PlainRowHeight*0.9)))
	across(labelAbout, fitLines(b.about(k), wide, lines), table.Style{Wrap: true})
	rest := fmt.Sprintf(" %s, %s, %s", b.massUnit(), b.p.Crews[v.Crew-1].Name, when(v.Visit))
	across(6, "", look(table.Label))
	rows[6].Cells[text] = table.FormulaText("ROUND("+b.kitWeight(k)+",1)&"+table.StringLiteral(rest), trimmed(b.mass(v.Mass), 1)+rest, look(table.Label))
	across(7, "", look(table.Muted).Wrapped())
	rows[7].Cells[text] = b.contentsCell(k, fitLines(b.marks(v.Code), wide, 2), fitLines(b.marks(strings.ToUpper(setByHand)), wide, 2), look(table.Muted).Wrapped())
	across(8, "Estimate, not a design. Safety data sheets go with the kit.", look(table.Muted))
	rows[1].Pictures = append(rows[1].Pictures, table.Picture{
		At: table.At{Column: code + 1}, OffsetXMM: 1, OffsetYMM: 0.5, PNG: picture.PNG, WidthMM: picture.WidthMM, HeightMM: picture.HeightMM,
		Alt: "bar code: " + b.scanned(r),
	})
}

// code draws what a scanner reads, in the form of the setting label.code.
func (b *book) code(text string) (draw.Picture, error) {
	if b.p.Catalog.Settings.LabelCode == "bars" {
		return draw.Code128(text, codeMM, codeTallMM)
	}
	return draw.Square(text, codeTallMM)
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
	parts := []string{r.Area, mediumText(r), b.pressureText(r), surfaceWord(r) + ", " + b.surfaceTemp(r), b.accessText(r)}
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
			if t.Class != t.UN {
				un += " (class " + t.Class + ")"
			}
			numbers[un] = true
		}
	}
	if len(numbers) > 0 {
		parts = append(parts, "transport: "+strings.Join(slices.Sorted(maps.Keys(numbers)), ", "))
	}
	return strings.Join(slices.DeleteFunc(parts, func(s string) bool { return s == "" }), "; ")
}
