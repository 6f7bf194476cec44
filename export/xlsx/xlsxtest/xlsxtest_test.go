package xlsxtest

import (
	"archive/zip"
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

// sheetOf writes one sheet with the given cells in column A.
func sheetOf(t *testing.T, cells ...excelize.Cell) string {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	s, err := f.NewStreamWriter("Sheet1")
	if err != nil {
		t.Fatal(err)
	}
	for i, c := range cells {
		if err := s.SetRow(fmt.Sprintf("A%d", i+1), []any{c}); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.Flush(); err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(t.TempDir(), "book.xlsx")
	if err := f.SaveAs(name); err != nil {
		t.Fatal(err)
	}
	return name
}

// The recalculation must be able to fail: wrong cached values of every kind are
// found, right ones are not.
func TestCrossRecalculationFindsWrongValues(t *testing.T) {
	book := sheetOf(t,
		excelize.Cell{Value: 2.0},
		excelize.Cell{Formula: "A1*3", Value: 6.0},
		excelize.Cell{Formula: "A1*3", Value: 6.01},
		excelize.Cell{Formula: "A1*3", Value: "6"},
		excelize.Cell{Formula: `"a"&A1`, Value: "a2"},
		excelize.Cell{Formula: `"a"&A1`, Value: "a3"},
		excelize.Cell{Formula: "A1>1", Value: true},
		excelize.Cell{Formula: "A1>1", Value: false},
		excelize.Cell{Formula: "A1/0", Value: 1.0},
		excelize.Cell{Formula: "A1*1000000000000", Value: 2000000000100.0},
	)
	for name, again := range calculators {
		compared, differences := recalculate(t, book, again(t, book))
		if compared != 9 {
			t.Errorf("%s: compared %d formulas, want 9", name, compared)
		}
		var wrong []string
		for _, d := range differences {
			wrong = append(wrong, strings.Fields(d)[0])
		}
		if got, want := fmt.Sprint(wrong), "[Sheet1!A3 Sheet1!A4 Sheet1!A6 Sheet1!A8 Sheet1!A9]"; got != want {
			t.Errorf("%s: found %s, want %s\n%s", name, got, want, strings.Join(differences, "\n"))
		}
	}
}

func TestDiffer(t *testing.T) {
	for _, c := range []struct {
		cached, now Value
		differs     bool
	}{
		{Value{Text: "1.004"}, Value{Type: "n", Text: "1.000"}, false},
		{Value{Text: "1.006"}, Value{Type: "n", Text: "1.000"}, true},
		{Value{Text: "1e12"}, Value{Text: "1000000000500"}, false},
		{Value{Text: "1e12"}, Value{Text: "1000000005000"}, true},
		{Value{Type: "str", Text: "x"}, Value{Type: "str", Text: "x"}, false},
		{Value{Type: "str", Text: "x"}, Value{Type: "str", Text: "y"}, true},
		{Value{Type: "str", Text: "1"}, Value{Type: "n", Text: "1"}, true},
		{Value{Type: "b", Text: "1"}, Value{Type: "n", Text: "1"}, true},
		{Value{Type: "b", Text: "1"}, Value{Type: "b", Text: "1"}, false},
		{Value{Text: "1"}, Value{Type: "e", Text: "#N/A"}, true},
		{Value{Type: "str"}, Value{Type: "str"}, false},
	} {
		if d := differ(c.cached, c.now, true); (d != "") != c.differs {
			t.Errorf("%+v and %+v: %q", c.cached, c.now, d)
		}
	}
	if differ(Value{}, Value{}, false) == "" {
		t.Error("a lost cell is not found")
	}
}

// The validation must be able to fail.
func TestCrossValidationFindsBrokenPart(t *testing.T) {
	good := sheetOf(t, excelize.Cell{Value: 1.0})
	if e := schemaErrors(t, good); len(e) != 0 {
		t.Errorf("errors in a good workbook: %v", e)
	}
	content, err := os.ReadFile(good)
	if err != nil {
		t.Fatal(err)
	}
	parts, err := Unpack(content)
	if err != nil {
		t.Fatal(err)
	}
	sheet := "xl/worksheets/sheet1.xml"
	parts[sheet] = bytes.Replace(parts[sheet], []byte("<sheetData>"), []byte(`<pageSetup paperSize="9"/><sheetData>`), 1)
	bad := filepath.Join(t.TempDir(), "bad.xlsx")
	if err := os.WriteFile(bad, pack(t, parts), 0o666); err != nil {
		t.Fatal(err)
	}
	if e := schemaErrors(t, bad); len(e) == 0 {
		t.Error("an element out of order was not found")
	}
}

func pack(t *testing.T, parts map[string][]byte) []byte {
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
	return out.Bytes()
}

// recorder notes failures instead of failing.
type recorder struct {
	testing.TB
	said []string
}

func (r *recorder) Helper() {}
func (r *recorder) Errorf(format string, a ...any) {
	r.said = append(r.said, fmt.Sprintf(format, a...))
}

func TestGoldenFindsChanges(t *testing.T) {
	if Update() {
		t.Skip("renewing")
	}
	folder := t.TempDir()
	was := map[string][]byte{"a.xml": []byte("<r><c>1</c><c>2</c></r>"), "same.xml": []byte("<x/>"), "gone.xml": []byte("<y/>"), "p.png": {0xff, 1}}
	*update = true
	Golden(t, pack(t, was), folder)
	*update = false
	now := map[string][]byte{"a.xml": []byte("<r><c>1</c><c>3</c></r>"), "same.xml": []byte("<x/>"), "new.xml": []byte("<z/>"), "p.png": {0xff, 2}}
	r := &recorder{TB: t}
	Golden(r, pack(t, now), folder)
	all := strings.Join(r.said, "\n")
	for _, want := range []string{"a.xml differs", "- <c>2</c>", "+ <c>3</c>", "gone.xml: the part is gone", "new.xml: a new part", "binary"} {
		if !strings.Contains(all, want) {
			t.Errorf("not told: %q in\n%s", want, all)
		}
	}
	if strings.Contains(all, "same.xml") {
		t.Errorf("an equal part is reported:\n%s", all)
	}
	r = &recorder{TB: t}
	Golden(r, pack(t, was), folder)
	if len(r.said) != 0 {
		t.Errorf("equal workbooks differ: %v", r.said)
	}
}

func TestGridKeepsEveryCell(t *testing.T) {
	book := sheetOf(t, excelize.Cell{Value: "=text"}, excelize.Cell{Value: 1.5}, excelize.Cell{Formula: "A2*2", Value: 3.0}, excelize.Cell{Value: true})
	content, err := os.ReadFile(book)
	if err != nil {
		t.Fatal(err)
	}
	g, err := ReadGrid(content)
	if err != nil {
		t.Fatal(err)
	}
	var again bytes.Buffer
	if err := RawWrite(&again, g); err != nil {
		t.Fatal(err)
	}
	if g.Cells() != 4 {
		t.Errorf("%d cells, want 4", g.Cells())
	}
	if a, b := values(t, content), values(t, again.Bytes()); a != b {
		t.Errorf("written again:\n%s\nwas:\n%s", b, a)
	}
}

func values(t *testing.T, book []byte) string {
	t.Helper()
	var out strings.Builder
	if err := Read(book, func(v Value) error { fmt.Fprintln(&out, v); return nil }); err != nil {
		t.Fatal(err)
	}
	return out.String()
}
