package xlsx_test

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"wraptally/estimate/trace/outside"
	"wraptally/export/table"
	"wraptally/export/xlsx/xlsxtest"
)

var ownHeights = regexp.MustCompile(` ht="[0-9.]+" customHeight="1"|<sheetFormatPr[^>]*></sheetFormatPr>`)

// Rows are as tall as another program finds that their text needs: the heights
// are taken out of the file, LibreOffice sets its own, and ours must not be less
// (text would be cut off), nor much more (pages would be mostly blank).
func TestCrossRowHeights(t *testing.T) {
	outside.Need(t, "soffice")
	latin := strings.Fields("the band and its sheet are laid over the place before the wrap is wound on; see sheet 304-0,4 for widths/lengths of a non-standard circumferential arrangement W MMMM iii")
	scripts := map[string][]string{
		"latin": latin, "arabic": strings.Fields(arabic), "hebrew": strings.Fields(hebrew), "chinese": {cjk, "钢带", "，"},
		"greek": strings.Fields("ο σωλήνας επισκευάζεται με ταινία"), "russian": strings.Fields("труба ремонтируется стальной лентой шириной тридцать миллиметров"),
		"mixed": append(append([]string{}, latin...), strings.Fields(arabic+" "+cjk)...),
	}
	r := rand.New(rand.NewPCG(7, 7)) // a fixed seed: the same texts each time
	looks := []table.Look{table.Body, table.Head, table.Caution, table.Muted, table.Code, table.Total}
	columns := []table.Column{{Width: 9}, {Width: 16}, {Width: 31}, {Width: 60}}
	var rows []table.Row
	var what []string
	for _, name := range []string{"latin", "arabic", "hebrew", "chinese", "greek", "russian", "mixed"} {
		for range 30 {
			words := scripts[name]
			var text []string
			for range 1 + r.IntN(24) {
				text = append(text, words[r.IntN(len(words))])
			}
			cells := make([]table.Cell, len(columns))
			look := looks[r.IntN(len(looks))]
			cells[r.IntN(len(cells))] = table.Text(strings.Join(text, " "), table.Style{Look: look, Wrap: true})
			rows = append(rows, table.Row{Cells: cells})
			what = append(what, fmt.Sprint(name, " look ", look))
		}
	}
	book := one(rows...)
	book.Sheets[0].Columns = columns
	parts, err := xlsxtest.Unpack(written(t, book))
	if err != nil {
		t.Fatal(err)
	}
	sheet := "xl/worksheets/sheet1.xml"
	ours := heights(t, parts[sheet])
	parts[sheet] = ownHeights.ReplaceAll(parts[sheet], nil)
	theirs := heights(t, reopened(t, parts)[sheet])
	var sumOurs, sumTheirs float64
	byScript := map[string][2]float64{}
	for i := range rows {
		a, b := ours[i+1], theirs[i+1]
		if a == 0 {
			a = table.PlainRowHeight
		}
		if a >= table.MaxRowHeight {
			continue
		}
		sumOurs, sumTheirs = sumOurs+a, sumTheirs+b
		script, _, _ := strings.Cut(what[i], " ")
		sums := byScript[script]
		byScript[script] = [2]float64{sums[0] + a, sums[1] + b}
		if a < b-1 {
			t.Errorf("row %d (%s) is %v points tall and needs %v: %v", i+1, what[i], a, b, rows[i].Cells)
		}
	}
	t.Logf("%d rows: %.0f points ours, %.0f theirs; by script %v", len(rows), sumOurs, sumTheirs, byScript)
	if sumTheirs < 1000 || sumOurs > 1.6*sumTheirs {
		t.Errorf("together %.0f points, where %.0f are needed", sumOurs, sumTheirs)
	}
	// Of scripts whose widths are known, less may be given away.
	for _, script := range []string{"latin", "greek", "russian"} {
		if s := byScript[script]; s[0] > 1.35*s[1] {
			t.Errorf("%s: together %.0f points, where %.0f are needed", script, s[0], s[1])
		}
	}
}

func reopened(t *testing.T, parts map[string][]byte) map[string][]byte {
	t.Helper()
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for name, content := range parts {
		w, err := z.Create(name)
		if err == nil {
			_, err = w.Write(content)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(t.TempDir(), "bare.xlsx")
	if err := os.WriteFile(name, out.Bytes(), 0o666); err != nil {
		t.Fatal(err)
	}
	// LibreOffice sets the heights of rows only when it loads its own format.
	again, err := os.ReadFile(xlsxtest.Converted(t, xlsxtest.Converted(t, name, "ods"), "xlsx"))
	if err != nil {
		t.Fatal(err)
	}
	parts, err = xlsxtest.Unpack(again)
	if err != nil {
		t.Fatal(err)
	}
	return parts
}

func heights(t *testing.T, sheet []byte) map[int]float64 {
	t.Helper()
	var s struct {
		Rows []struct {
			Number int    `xml:"r,attr"`
			Height string `xml:"ht,attr"`
		} `xml:"sheetData>row"`
	}
	if err := xml.Unmarshal(sheet, &s); err != nil {
		t.Fatal(err)
	}
	all := map[int]float64{}
	for _, r := range s.Rows {
		if r.Height == "" {
			continue
		}
		h, err := strconv.ParseFloat(r.Height, 64)
		if err != nil {
			t.Fatal(err)
		}
		all[r.Number] = h
	}
	return all
}
