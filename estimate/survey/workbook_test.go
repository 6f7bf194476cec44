package survey

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"wraptally/estimate/trace"
)

// book makes a workbook by hand with the given first sheet.
func book(t testing.TB, sheet string) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	part := func(name, text string) {
		w, err := z.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write([]byte(text)); err != nil {
			t.Fatal(err)
		}
	}
	part("[Content_Types].xml", `<?xml version="1.0"?><Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/><Override PartName="/xl/worksheets/sheet1.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/></Types>`)
	part("_rels/.rels", `<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>`)
	part("xl/workbook.xml", `<?xml version="1.0"?><workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="S" sheetId="1" r:id="rId1"/></sheets></workbook>`)
	part("xl/_rels/workbook.xml.rels", `<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/></Relationships>`)
	part("xl/worksheets/sheet1.xml", sheet)
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// sheetOf writes rows of inline text as a sheet.
func sheetOf(rows ...string) string {
	var b strings.Builder
	b.WriteString(`<?xml version="1.0"?><worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>`)
	for i, r := range rows {
		fmt.Fprintf(&b, `<row r="%d">`, i+1)
		for j, c := range strings.Split(r, ",") {
			name, _ := excelize.CoordinatesToCellName(j+1, i+1)
			fmt.Fprintf(&b, `<c r="%s" t="inlineStr"><is><t>%s</t></is></c>`, name, c)
		}
		b.WriteString(`</row>`)
	}
	b.WriteString(`</sheetData></worksheet>`)
	return b.String()
}

const (
	plainHead = "id,line,chainage_m,od_mm,axial_mm,circ_mm,leaking"
	plainRow  = "P1,L1,1.5,168.3,40,30,no"
)

func readBytes(data []byte, opts Options) (*Result, error) {
	if opts.Name == "" {
		opts.Name = "s"
	}
	return Read(bytes.NewReader(data), int64(len(data)), opts)
}

func TestWorkbookByHand(t *testing.T) {
	r, err := readBytes(book(t, sheetOf(plainHead, plainRow)), Options{})
	if err != nil || len(r.Defects) != 1 || r.Defects[0].Chainage != Known(1500) {
		t.Fatalf("%v %+v", err, r)
	}
}

// TestDamagedWorkbooks refuses what is damaged, with a word on where.
func TestDamagedWorkbooks(t *testing.T) {
	good := book(t, sheetOf(plainHead, plainRow))
	whole := sheetOf(plainHead, plainRow)
	tests := []struct {
		name string
		data []byte
		want string
	}{
		{"cut in the middle", good[:len(good)/2], "damaged"},
		{"without its directory", good[:len(good)-60], "damaged"},
		{"only a signature", []byte("PK\x03\x04"), "damaged"},
		{"an empty archive", []byte("PK\x05\x06" + strings.Repeat("\x00", 18)), "not a workbook"},
		{"a flipped byte", flipSheetByte(t, good), "damaged"},
		// The streaming reader takes bad XML for the end of the sheet: rows would vanish.
		{"a sheet that is cut", book(t, whole[:len(whole)-40]), "damaged"},
		{"a sheet with bad XML", book(t, strings.Replace(whole, "</row><row", "</row><&<row", 1)), "damaged"},
		{"an entity", book(t, strings.Replace(whole, "P1", "&boom;", 1)), "damaged"},
		{"nested too deeply", book(t, strings.Repeat("<a>", 5000)), "damaged"},
		{"no sheet at all", book(t, ""), ""},
		{"a zip that is no workbook", zipOf(t, map[string]string{"a.txt": "hello"}), "not a workbook"},
		{"a part twice", twice(t), "twice"},
		{"old format", []byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"), "old-style"},
	}
	for _, tt := range tests {
		r, err := readBytes(tt.data, Options{})
		var e *Error
		if r != nil || !errors.As(err, &e) || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: %v, %v; want an error with %q", tt.name, r, err, tt.want)
		} else {
			t.Logf("%s: %v (%s)", tt.name, err, e.Hint)
		}
	}
}

// flipSheetByte changes one byte of the packed sheet.
func flipSheetByte(t *testing.T, data []byte) []byte {
	t.Helper()
	out := bytes.Clone(data)
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range z.File {
		if strings.HasSuffix(f.Name, "sheet1.xml") {
			at, err := f.DataOffset()
			if err != nil {
				t.Fatal(err)
			}
			out[at+int64(f.CompressedSize64)/2] ^= 0x55
		}
	}
	return out
}

func zipOf(t *testing.T, parts map[string]string) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for name, text := range parts {
		w, err := z.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		w.Write([]byte(text))
	}
	z.Close()
	return b.Bytes()
}

func twice(t *testing.T) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, name := range []string{"[Content_Types].xml", "xl/Workbook.xml", "xl/workbook.xml"} {
		if _, err := z.Create(name); err != nil {
			t.Fatal(err)
		}
	}
	z.Close()
	return b.Bytes()
}

// TestZipBombs refuses bombs by what they unpack to, whatever they declare.
func TestZipBombs(t *testing.T) {
	bomb := book(t, sheetOf(plainHead, plainRow)+strings.Repeat(" ", 24<<20))
	if len(bomb) > 1<<20 {
		t.Fatalf("the bomb has %d bytes", len(bomb))
	}
	for name, data := range map[string][]byte{"honest": bomb, "lying": declareSmall(t, bomb)} {
		if r, err := readBytes(data, Options{}); r != nil || err == nil {
			t.Errorf("%s bomb: %v", name, err)
		} else {
			t.Logf("%s: %v", name, err)
		}
	}
	if r, err := readBytes(bomb, Options{Limits: Limits{UnzipRatio: 1e6}}); err != nil || len(r.Defects) != 1 {
		t.Errorf("with the ratio raised it is a workbook: %v", err)
	}
	if _, err := readBytes(bomb, Options{Limits: Limits{UnzipRatio: 1e6, UnzipBytes: 20 << 20}}); err == nil || !strings.Contains(err.Error(), "limit") {
		t.Errorf("unzip size: %v", err)
	}
	many := make(map[string]string)
	for i := range 30 {
		many[fmt.Sprint("part", i)] = ""
	}
	if _, err := readBytes(zipOf(t, many), Options{Limits: Limits{ZipEntries: 20}}); err == nil || !strings.Contains(err.Error(), "parts") {
		t.Errorf("parts: %v", err)
	}
}

// declareSmall writes a small unpacked size for the sheet into the directory.
func declareSmall(t *testing.T, data []byte) []byte {
	t.Helper()
	out := bytes.Clone(data)
	at := 0
	for {
		i := bytes.Index(out[at:], []byte("PK\x01\x02"))
		if i < 0 {
			t.Fatal("no directory entry for the sheet")
		}
		at += i
		n := int(binary.LittleEndian.Uint16(out[at+28:]))
		if strings.HasSuffix(string(out[at+46:at+46+n]), "sheet1.xml") {
			binary.LittleEndian.PutUint32(out[at+24:], 100)
			return out
		}
		at += 46
	}
}

func TestSheetChoice(t *testing.T) {
	path := filepath.Join(t.TempDir(), "b.xlsx")
	f := excelize.NewFile()
	fill := func(sheet string, rows ...string) {
		if _, err := f.NewSheet(sheet); err != nil {
			t.Fatal(err)
		}
		for i, r := range rows {
			for j, c := range strings.Split(r, ",") {
				name, _ := excelize.CoordinatesToCellName(j+1, i+1)
				f.SetCellValue(sheet, name, c)
			}
		}
	}
	fill("Welds", "weld,line", "W1,L1")
	fill("North", plainHead, plainRow)
	fill("South", plainHead, "P9,L9,2,60.3,10,10,yes")
	fill("Hidden", plainHead, plainRow)
	f.SetSheetVisible("Hidden", false)
	if err := f.SaveAs(path); err != nil {
		t.Fatal(err)
	}
	_, err := Open(path, Options{})
	e, ok := err.(*Error)
	if !ok || e.Problem != `3 sheets look like a survey: "North", "South", "Hidden" (hidden)` ||
		e.Hint != `read one with --sheet "North", several with --sheet "North" --sheet "South", all of them in order with --sheet all` {
		t.Fatalf("%v", err)
	}
	for _, name := range []string{"South", "south", "4"} {
		if r, err := Open(path, Options{Sheets: []string{name}}); err != nil || r.Defects[0].ID != "P9" || len(r.Queries) > 0 {
			t.Errorf("%s: %v", name, err)
		}
	}
	// Several in the order named: ids are told apart across them, the hidden one is said.
	r, err := Open(path, Options{Sheets: []string{"South", "North", "Hidden"}})
	if err != nil || len(r.Defects) != 3 || r.Defects[0].ID != "P9" || r.Defects[2].ID != "P1#2" || r.Account.Read != 3 || r.Account.Kept != 3 {
		t.Fatalf("%v %+v", err, r)
	}
	if q := queryOf(r, "hidden-read"); q == nil || q.Place.Sheet != "Hidden" || q.Found != "the sheet itself" {
		t.Errorf("%+v", q)
	}
	if d := r.Detected; d.Sheet != "South" || len(d.Further) != 2 || d.Further[0].Sheet != "North" || len(d.Further[1].Columns) != 7 {
		t.Errorf("%+v", d)
	}
	if r, err = Open(path, Options{Sheets: []string{AllSheets}}); err != nil || len(r.Defects) != 3 || r.Defects[0].ID != "P1" {
		t.Fatalf("%v %+v", err, r)
	}
	if _, err := Open(path, Options{Sheets: []string{"East"}}); err == nil || !strings.Contains(err.Error(), "no sheet") {
		t.Errorf("East: %v", err)
	}
	if _, err := Open(path, Options{Sheets: []string{"Welds"}}); err == nil || !strings.Contains(err.Error(), "lacks") {
		t.Errorf("Welds: %v", err)
	}
}

// TestHiddenParts: hidden rows and columns are read like the rest, and said with
// their count.
func TestHiddenParts(t *testing.T) {
	f := excelize.NewFile()
	defer f.Close()
	for i, r := range []string{plainHead, plainRow, "P2,L1,2,168.3,40,30,no", "P3,L1,3,168.3,40,30,no"} {
		for j, c := range strings.Split(r, ",") {
			name, _ := excelize.CoordinatesToCellName(j+1, i+1)
			f.SetCellValue("Sheet1", name, c)
		}
	}
	f.SetRowVisible("Sheet1", 3, false)
	f.SetRowVisible("Sheet1", 4, false)
	f.SetColVisible("Sheet1", "D", false)
	b, err := f.WriteToBuffer()
	if err != nil {
		t.Fatal(err)
	}
	r, err := readBytes(b.Bytes(), Options{})
	if err != nil || len(r.Defects) != 3 {
		t.Fatalf("%v %+v", err, r)
	}
	if q := queryOf(r, "hidden-read"); q == nil || q.Found != "2 rows, 1 column" || q.Severity != trace.Ask {
		t.Errorf("%+v", r.Queries)
	}
}

// TestWorkbookErrorCells queries error values where a number should be, and
// reads #N/A as not given.
func TestWorkbookErrorCells(t *testing.T) {
	sheet := sheetOf(plainHead+",wall_mm", plainRow+",7.11", "P2,L1,2,168.3,40,30,no,7.11", "P3,L1,3,168.3,40,30,no,7.11")
	sheet = strings.Replace(sheet, `<c r="D3" t="inlineStr"><is><t>168.3</t></is></c>`, `<c r="D3" t="e"><v>#REF!</v></c>`, 1)
	sheet = strings.Replace(sheet, `<c r="H4" t="inlineStr"><is><t>7.11</t></is></c>`, `<c r="H4" t="e"><v>#N/A</v></c>`, 1)
	r, err := readBytes(book(t, sheet), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if q := queryOf(r, "cell-error"); q == nil || q.Row != "P2" || q.Place.Line != 3 || q.Place.Column != 4 || r.Account.Queried != 1 {
		t.Errorf("%+v", r.Queries)
	}
	if len(r.Defects) != 2 || r.Defects[1].Wall.OK {
		t.Errorf("%+v", r.Defects)
	}
}

// FuzzWorkbook mutates a sheet's XML, and the archive round it.
func FuzzWorkbook(f *testing.F) {
	good := sheetOf(plainHead, plainRow, "P2,L1,2,1½,40,30,maybe")
	f.Add([]byte(good), false)
	f.Add([]byte(strings.Replace(good, "168.3", "1e400", 1)), false)
	f.Add([]byte(strings.Replace(good, `r="A2"`, `r="XFD1048576"`, 1)), false)
	f.Add([]byte(strings.Replace(good, `<c r="C2" t="inlineStr"><is><t>1.5</t></is></c>`, `<c r="C2"><f>1+1</f></c>`, 1)), false)
	for _, name := range []string{"workbook.xlsx", "workbook-cells.xlsx"} {
		data, err := os.ReadFile(forms + name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data, true)
	}
	f.Fuzz(func(t *testing.T, data []byte, archive bool) {
		if !archive {
			data = book(t, string(data))
		} else if !bytes.HasPrefix(data, []byte("PK")) {
			return
		}
		r, err := readBytes(data, Options{Sizes: testSizes{}, Limits: Limits{UnzipBytes: 8 << 20, Rows: 20000}})
		checkOutcome(t, r, err)
	})
}
