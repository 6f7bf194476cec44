package xlsx

import (
	"fmt"
	"strings"
	"unicode/utf16"

	"github.com/xuri/excelize/v2"

	"wraptally/export/table"
)

// Paper codes of ECMA-376 part 1, 18.3.1.63 (pageSetup, paperSize).
var paperCodes = map[table.Paper]int{table.Letter: 1, table.A4: 9}

const mmPerInch = 25.4

func (w *sheetWriter) setPage() error {
	p, name := w.sheet.Page, w.sheet.Name
	paper, orientation := paperCodes[p.Paper], "portrait"
	if p.Landscape {
		orientation = "landscape"
	}
	layout := &excelize.PageLayoutOptions{Size: &paper, Orientation: &orientation}
	if p.FitWide > 0 {
		asLongAsNeeded := 0
		layout.FitToWidth, layout.FitToHeight = &p.FitWide, &asLongAsNeeded
	}
	if err := w.file.SetPageLayout(name, layout); err != nil {
		return err
	}
	m := table.UsualMargins
	if p.Margins != nil {
		m = *p.Margins
	}
	inch := func(mm float64) *float64 { v := mm / mmPerInch; return &v }
	if err := w.file.SetPageMargins(name, &excelize.PageLayoutMarginsOptions{
		Left: inch(m.Left), Right: inch(m.Right), Top: inch(m.Top), Bottom: inch(m.Bottom),
		Header: inch(m.Header), Footer: inch(m.Footer), Horizontally: &p.CentreAcross,
	}); err != nil {
		return err
	}
	header, err := banner(p.Header)
	if err != nil {
		return w.fault("", "page header: %v", err)
	}
	footer, err := banner(p.Footer)
	if err != nil {
		return w.fault("", "page footer: %v", err)
	}
	if header == "" && footer == "" {
		return nil
	}
	return w.file.SetHeaderFooter(name, &excelize.HeaderFooterOptions{OddHeader: header, OddFooter: footer})
}

// banner codes a header or footer as ECMA-376 part 1, 18.3.1.46 lays down.
func banner(b table.Banner) (string, error) {
	var out strings.Builder
	for _, part := range []struct{ code, text string }{{"&L", b.Left}, {"&C", b.Centre}, {"&R", b.Right}} {
		if part.text == "" {
			continue
		}
		out.WriteString(part.code + "&8")
		if c := part.text[0]; c >= '0' && c <= '9' {
			out.WriteByte(' ') // or the digits would be read as the size
		}
		text := strings.ReplaceAll(part.text, "&", "&&")
		out.WriteString(strings.NewReplacer("{page}", "&P", "{pages}", "&N", "{sheet}", "&A").Replace(text))
	}
	if n := len(utf16.Encode([]rune(out.String()))); n > 255 {
		return "", fmt.Errorf("%d characters with their codes, where 255 are possible", n)
	}
	return out.String(), nil
}

// setPrintNames sets the print area and the titles, which are names local to
// the sheet.
func (w *sheetWriter) setPrintNames() error {
	s := w.sheet
	if !s.PrintArea.Empty() {
		if !s.PrintArea.Valid() {
			return w.fault("", "cannot print %s", s.PrintArea)
		}
		if err := w.define("_xlnm.Print_Area", s.PrintArea.On(s.Name)); err != nil {
			return err
		}
	}
	var titles []string
	if t := s.TitleColumns; t.First > 0 {
		titles = append(titles, fmt.Sprintf("%s!$%s:$%s", table.Quote(s.Name), table.ColumnName(t.First), table.ColumnName(t.Last)))
	}
	if t := s.TitleRows; t.First > 0 {
		titles = append(titles, fmt.Sprintf("%s!$%d:$%d", table.Quote(s.Name), t.First, t.Last))
	}
	if len(titles) == 0 {
		return nil
	}
	return w.define("_xlnm.Print_Titles", strings.Join(titles, ","))
}

func (w *sheetWriter) define(name, refers string) error {
	return w.file.SetDefinedName(&excelize.DefinedName{Name: name, RefersTo: refers, Scope: w.sheet.Name})
}
