package xlsx_test

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	_ "wraptally/estimate/trace/depth"
	"wraptally/estimate/trace/outside"
	"wraptally/export/table"
	"wraptally/export/xlsx"
	"wraptally/export/xlsx/xlsxtest"
)

func TestDemoLooksAsKept(t *testing.T) {
	xlsxtest.Golden(t, written(t, demo(t)), filepath.Join("testdata", "demo"))
}

// hashRequest makes the test binary print the demonstration's hash and nothing
// else.
const hashRequest = "XLSX_TEST_PRINT_HASH"

// slowRequest makes it write a large sheet and never end.
const slowRequest = "XLSX_TEST_WRITE_SLOWLY"

func TestMain(m *testing.M) {
	if os.Getenv(slowRequest) != "" {
		writeForever()
	}
	if os.Getenv(hashRequest) != "" {
		book := &bytes.Buffer{}
		if err := xlsx.Write(book, demo(&testing.T{})); err != nil {
			fmt.Println(err)
			os.Exit(1)
		}
		fmt.Printf("%x", sha256.Sum256(book.Bytes()))
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// Map order differs between processes, so one process alone proves little.
func TestSameBytesInTwentyProcesses(t *testing.T) {
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	want := fmt.Sprintf("%x", sha256.Sum256(written(t, demo(t))))
	for i := range 20 {
		cmd := exec.Command(self)
		cmd.Env = append(os.Environ(), hashRequest+"=1", "GOMAXPROCS="+strconv.Itoa(1+i%4))
		out, err := cmd.Output()
		if err != nil {
			t.Fatal(err, string(out))
		}
		if got := string(out); got != want {
			t.Fatalf("process %d wrote other bytes: %s, want %s", i+1, got, want)
		}
	}
}

func writeForever() {
	cells := make([]table.Cell, 20)
	for i := range cells {
		cells[i] = table.Text("some text in a cell", table.TextStyle)
	}
	b := one()
	b.Sheets[0].Rows = func(yield func(table.Row) bool) {
		for i := 0; yield(table.Row{Cells: cells}); i++ {
			if i == 30_000 {
				fmt.Println("half way")
			}
			if i >= 30_000 {
				time.Sleep(time.Millisecond)
			}
		}
	}
	_ = xlsx.Write(io.Discard, b)
	os.Exit(1)
}

// A large sheet waits in a file of its own; nothing is left of it when the
// process is killed, nor after an orderly end.
func TestKilledLeavesNoScratch(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("other systems do not take the name off an open file")
	}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	cmd := exec.Command(self)
	cmd.Env = append(os.Environ(), slowRequest+"=1", "TMPDIR="+dir)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	if line, err := bufio.NewReader(out).ReadString('\n'); line != "half way\n" {
		t.Fatal(line, err)
	}
	open, err := filepath.Glob(fmt.Sprintf("/proc/%d/fd/*", cmd.Process.Pid))
	if err != nil {
		t.Fatal(err)
	}
	waits := false
	for _, fd := range open {
		if to, _ := os.Readlink(fd); strings.HasPrefix(to, dir) {
			waits = true
		}
	}
	if !waits {
		t.Errorf("the sheet does not wait in a file in %s", dir)
	}
	if err := cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = cmd.Wait()
	if left, err := os.ReadDir(dir); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}

	t.Setenv("TMPDIR", dir)
	book := big(15_000)
	book.Sheets = append(book.Sheets, big(15_000).Sheets[0])
	book.Sheets[1].Name = "T"
	written(t, book)
	if left, err := os.ReadDir(dir); err != nil || len(left) > 0 {
		t.Errorf("left behind after writing: %v, %v", left, err)
	}
	t.Setenv("TMPDIR", filepath.Join(dir, "missing"))
	if a, b := written(t, big(15_000)), written(t, big(15_000)); !bytes.Equal(a, b) {
		t.Error("without a scratch folder the bytes differ")
	}
}

// one is a workbook of a single sheet with the given rows.
func one(rows ...table.Row) *table.Workbook {
	return &table.Workbook{Sheets: []*table.Sheet{{Name: "S", Rows: func(yield func(table.Row) bool) {
		for _, r := range rows {
			if !yield(r) {
				return
			}
		}
	}}}}
}

func cells(c ...table.Cell) table.Row { return table.Row{Cells: c} }

func many(n int, r table.Row) *table.Workbook {
	b := one()
	b.Sheets[0].Rows = func(yield func(table.Row) bool) {
		for range n {
			if !yield(r) {
				return
			}
		}
	}
	return b
}

// What cannot be kept is refused with its place, and nothing is written.
func TestRefusals(t *testing.T) {
	plain := table.Style{}
	broken := one()
	broken.Sheets[0].Failed = func() error { return errors.New("the source broke off") }
	withSheet := func(s table.Sheet) *table.Workbook { return &table.Workbook{Sheets: []*table.Sheet{&s}} }
	for name, c := range map[string]struct {
		book *table.Workbook
		want string
	}{
		"not a number":        {one(cells(), cells(table.Empty(plain), table.Num(math.NaN(), plain))), `sheet "S" cell B2: the number NaN`},
		"infinite":            {one(cells(table.Num(math.Inf(-1), plain))), `cell A1: the number -Inf`},
		"cached infinite":     {one(cells(table.FormulaNum("1/0", math.Inf(1), plain))), `cell A1: the number +Inf`},
		"16 digits":           {one(cells(table.Dec(decimal.RequireFromString("1234567890.123456"), plain))), "15 significant digits"},
		"16 digits in cache":  {one(cells(table.FormulaDec("A2", decimal.RequireFromString("0.1234567890123456"), plain))), "15 significant digits"},
		"absurd exponent":     {one(cells(table.Dec(decimal.New(1, 9999999), plain))), "cannot be kept exactly"},
		"long whole number":   {one(cells(table.Int(1234567890123456, plain))), "more than 15 digits"},
		"control character":   {one(cells(table.Text("a\x01b", plain))), "U+0001"},
		"not a character":     {one(cells(table.Text("a\ufffeb", plain))), "U+FFFE"},
		"carriage return":     {one(cells(table.Text("a\rb", plain))), "U+000D"},
		"broken UTF-8":        {one(cells(table.Text("a\xff", plain))), "not UTF-8"},
		"long text":           {one(cells(table.Text(strings.Repeat("x", 32768), plain))), "32768 characters"},
		"long in UTF-16":      {one(cells(table.Text(strings.Repeat("😀", 16384), plain))), "32768 characters"},
		"long link":           {one(cells(table.Link(strings.Repeat("x", 256), "'S'!$A$1", plain))), "text of the link"},
		"long formula":        {one(cells(table.FormulaNum(strings.Repeat("1+", 5000)+"1", 1, plain))), "formula: text of 10001"},
		"empty formula":       {one(cells(table.FormulaNum("", 1, plain))), "formula without text"},
		"old date":            {one(cells(table.Day(time.Date(1900, 2, 28, 0, 0, 0, 0, time.UTC), plain))), "1900-02-28"},
		"space in cache":      {one(cells(table.FormulaText("A2", " x", plain))), "white space"},
		"no such style":       {one(cells(table.Text("x", table.Style{Look: 200}))), "style that does not exist"},
		"tall row":            {one(table.Row{Height: 500}), "row height"},
		"height not a number": {one(table.Row{Height: math.NaN(), Cells: []table.Cell{table.Text("x", plain)}}), ""},
		"too many rows":       {many(table.MaxRows+1, table.Row{}), "more than 1048576 rows"},
		"too many breaks":     {many(table.MaxBreaks+2, table.Row{Break: true}), "more than 1026 page breaks"},
		"too many cells":      {one(table.Row{Cells: make([]table.Cell, table.MaxColumns+1)}), "a row of 16385 cells"},
		"bad merge":           {one(table.Row{Merge: []table.Span{{First: 3, Last: 2}}}), "cannot merge"},
		"broken source":       {broken, "the source broke off"},
		"no sheet":            {&table.Workbook{}, "no sheet"},
		"sheet name":          {withSheet(table.Sheet{Name: "a/b"}), "sheet name"},
		"long sheet name":     {withSheet(table.Sheet{Name: strings.Repeat("x", 32)}), "longer than 31"},
		"twin sheets":         {&table.Workbook{Sheets: []*table.Sheet{{Name: "a"}, {Name: "A"}}}, "two sheets"},
		"bad width":           {withSheet(table.Sheet{Name: "a", Columns: []table.Column{{Width: math.NaN()}}}), "column width"},
		"long banner":         {withSheet(table.Sheet{Name: "a", Page: table.Page{Header: table.Banner{Left: strings.Repeat("x", 250), Right: "yyyyyyy"}}}), "page header"},
		"control in banner":   {withSheet(table.Sheet{Name: "a", Page: table.Page{Footer: table.Banner{Left: "\x02"}}}), "header or footer"},
		"bad picture":         {withSheet(table.Sheet{Name: "a", Pictures: []table.Picture{{At: table.At{Column: 1, Row: 1}, PNG: []byte("no")}}}), "not a PNG"},
		"list with a comma":   {withSheet(table.Sheet{Name: "a", Validations: []table.Validation{{Area: table.Cells(1, 1, 1, 1), Items: []string{"a,b"}}}}), "list of choices"},
		"crossed limits":      {withSheet(table.Sheet{Name: "a", Validations: []table.Validation{{Area: table.Cells(1, 1, 1, 1), Min: 2, Max: 1}}}), "no number lies"},
		"empty chart":         {withSheet(table.Sheet{Name: "a", Charts: []table.Chart{{At: table.At{Column: 1, Row: 1}}}}), "nothing to draw"},
		"bad name":            {&table.Workbook{Sheets: []*table.Sheet{{Name: "a"}}, Names: []table.Name{{Name: "A1", Refers: "'a'!$A$1"}}}, "could be read as a cell"},
		"twin names":          {&table.Workbook{Sheets: []*table.Sheet{{Name: "a"}}, Names: []table.Name{{Name: "x_y", Refers: "'a'!$A$1"}, {Name: "X_Y", Refers: "'a'!$A$1"}}}, "twice"},
	} {
		t.Run(name, func(t *testing.T) {
			var out bytes.Buffer
			err := xlsx.Write(&out, c.book)
			var fault *table.Fault
			switch {
			case c.want == "" && err == nil:
				return
			case err == nil:
				t.Fatal("was written")
			case !strings.Contains(err.Error(), c.want):
				t.Errorf("error %q does not tell %q", err, c.want)
			case !errors.As(err, &fault):
				t.Errorf("not a *table.Fault: %v", err)
			}
			if out.Len() > 0 {
				t.Errorf("%d bytes were written", out.Len())
			}
		})
	}
}

func TestErrorsOfTheTargetAreReported(t *testing.T) {
	full, err := os.OpenFile("/dev/full", os.O_WRONLY, 0)
	if err != nil {
		t.Skip("no /dev/full here")
	}
	defer full.Close()
	if err := xlsx.Write(full, demo(t)); err == nil {
		t.Error("a full disk goes unnoticed")
	}
}

// Whatever can be written is read back the same.
func TestCellsComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows := rapid.SliceOfN(rapid.SliceOfN(anyCell(), 0, 6), 1, 6).Draw(t, "rows")
		var list []table.Row
		want := map[string]table.Cell{}
		for r, row := range rows {
			list = append(list, table.Row{Cells: row})
			for c, cell := range row {
				if cell.Kind != table.KindEmpty {
					want[table.At{Column: c + 1, Row: r + 1}.String()] = cell
				}
			}
		}
		var out bytes.Buffer
		if err := xlsx.Write(&out, one(list...)); err != nil {
			t.Fatal(err)
		}
		err := xlsxtest.Read(out.Bytes(), func(v xlsxtest.Value) error {
			cell, expected := want[v.Cell]
			if !expected {
				if v.Text != "" || v.Formula != "" {
					return fmt.Errorf("%s holds %q from nowhere", v.Cell, v.Text)
				}
				return nil
			}
			delete(want, v.Cell)
			return agrees(cell, v)
		})
		if err != nil {
			t.Fatal(err)
		}
		if len(want) > 0 {
			t.Fatalf("lost: %v", want)
		}
	})
}

func agrees(c table.Cell, v xlsxtest.Value) error {
	isText := c.Kind == table.KindText || c.Kind == table.KindFormulaText
	switch {
	case isText && v.Text != c.Text:
		return fmt.Errorf("%s: text %q became %q", v.Cell, c.Text, v.Text)
	case c.Kind == table.KindText && v.Type != "inlineStr":
		return fmt.Errorf("%s: text %q has type %q", v.Cell, c.Text, v.Type)
	case (c.Kind == table.KindFormulaNum || c.Kind == table.KindFormulaText) && v.Formula != c.Src:
		return fmt.Errorf("%s: formula %q became %q", v.Cell, c.Src, v.Formula)
	case c.Kind == table.KindNumber || c.Kind == table.KindFormulaNum:
		n, err := strconv.ParseFloat(v.Text, 64)
		// The library cuts numbers after the 15 digits that a spreadsheet keeps.
		if err != nil || math.Abs(n-c.Num) > 1e-14*math.Abs(c.Num) || v.Type != "" {
			return fmt.Errorf("%s: number %v became %q (%q)", v.Cell, c.Num, v.Text, v.Type)
		}
	}
	return nil
}

func anyCell() *rapid.Generator[table.Cell] {
	style := rapid.Custom(func(t *rapid.T) table.Style {
		return table.Style{Look: table.Look(rapid.IntRange(0, table.Looks-1).Draw(t, "look")),
			Format: table.Format(rapid.IntRange(0, table.Formats-1).Draw(t, "format")),
			Align:  table.Align(rapid.IntRange(0, 3).Draw(t, "align")), Wrap: rapid.Bool().Draw(t, "wrap")}
	})
	text := rapid.OneOf(rapid.StringOf(rapid.RuneFrom([]rune("=+-@ \t\n<>&\"'_x0041_ab0☐不ש😀"))), rapid.StringMatching(`[=+@-]?[a-z ]{0,20}`),
		rapid.SampledFrom([]string{"_x0041_", "a_x005F_b", "_x000D_x", "x_", "]]>", "&amp;"}))
	return rapid.Custom(func(t *rapid.T) table.Cell {
		s := style.Draw(t, "style")
		switch rapid.IntRange(0, 6).Draw(t, "kind") {
		case 0:
			return table.Empty(s)
		case 1:
			return table.Num(rapid.Float64Range(-1e300, 1e300).Draw(t, "number"), s)
		case 2:
			coefficient := rapid.Int64Range(-999_999_999_999_999, 999_999_999_999_999).Draw(t, "coefficient")
			return table.Dec(decimal.New(coefficient, int32(rapid.IntRange(-15, 3).Draw(t, "exponent"))), s)
		case 3:
			return table.FormulaNum("SUM(A1:B2)&\"<>\"", rapid.Float64().Filter(func(f float64) bool { return !math.IsInf(f, 0) && !math.IsNaN(f) }).Draw(t, "cached"), s)
		case 4:
			return table.FormulaText(`"a"&"b"`, strings.TrimFunc(text.Draw(t, "cached text"), func(r rune) bool { return r <= ' ' }), s)
		}
		return table.Text(text.Draw(t, "text"), s)
	})
}

func keep(t testing.TB, book []byte) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "book.xlsx")
	if err := os.WriteFile(name, book, 0o666); err != nil {
		t.Fatal(err)
	}
	return name
}

func TestCrossRecalculation(t *testing.T) {
	n := xlsxtest.Recalculated(t, keep(t, written(t, demo(t))))
	t.Logf("%d formulas agree with their cached values", n)
}

func TestCrossSchemas(t *testing.T) { xlsxtest.Valid(t, keep(t, written(t, demo(t)))) }

func TestCrossPrint(t *testing.T) {
	outside.Need(t, "soffice", "pdfinfo", "pdftotext")
	pdf, pages := xlsxtest.PDF(t, keep(t, written(t, demo(t))))
	// Summary 2 (charts run over), cost 1, a page for each of three kits, long 6.
	if pages != 12 {
		t.Errorf("%d pages, want 12", pages)
	}
	said, err := exec.Command("pdftotext", "-layout", pdf, "-").Output()
	if err != nil {
		t.Fatalf("pdftotext: %v", err)
	}
	text := strings.Split(strings.TrimSuffix(string(said), "\f"), "\f")
	all := strings.Join(text, "\n")
	for _, want := range []string{"page 1 of 12", "cut off at the bottom.", "» choose", "检查有效期", "to kit 2"} {
		if !strings.Contains(all, want) {
			t.Errorf("not printed: %q", want)
		}
	}
	if !strings.Contains(text[4], "Kit 2") || strings.Contains(text[4], "Kit 3") {
		t.Errorf("kit 2 does not have page 5 to itself:\n%s", text[4])
	}
	if last := text[len(text)-1]; !strings.Contains(last, "No.") {
		t.Errorf("the heads are not repeated on the last page:\n%s", last)
	}
}

func TestCrossOpenpyxl(t *testing.T) {
	name := keep(t, written(t, demo(t)))
	cells, names := xlsxtest.Openpyxl(t, name)
	if fmt.Sprint(names) != "[grand_total]" {
		t.Errorf("names %v", names)
	}
	got := map[string]xlsxtest.Value{}
	for _, c := range cells {
		got[c.Sheet+"!"+c.Cell] = c
	}
	for at, want := range map[string]xlsxtest.Value{
		"Summary!B10":     {Type: "str", Text: "=1+1"},
		"Summary!B11":     {Type: "float", Text: "1234567890.12345"},
		"Summary!B12":     {Type: "datetime", Text: "2026-07-14T00:00:00"},
		"Summary!B13":     {Type: "int", Text: "-42"},
		"Summary!B14":     {Type: "float", Text: "0.075"},
		"Summary!B22":     {Type: "str", Text: arabic},
		"Summary!B24":     {Type: "str", Text: cjk},
		"Cost & more!E10": {Type: "float", Text: "2587.5"},
		"Long!B300":       {Type: "int", Text: "900"},
	} {
		if c := got[at]; c.Type != want.Type || c.Text != want.Text {
			t.Errorf("%s is %s %v, want %s %v", at, c.Type, c.Text, want.Type, want.Text)
		}
	}
}

// big is a sheet of n rows and 20 columns, a quarter of them formulas.
func big(n int) *table.Workbook {
	number, words := table.Style{Look: table.Body, Format: table.Number(2)}, table.TextStyle
	b := one()
	b.Sheets[0].Columns = make([]table.Column, 20)
	b.Sheets[0].Rows = func(yield func(table.Row) bool) {
		cells := make([]table.Cell, 20)
		for row := 1; row <= n; row++ {
			at := strconv.Itoa(row)
			for c := range cells {
				switch c % 4 {
				case 0:
					cells[c] = table.Text("item "+at, words)
				case 1:
					cells[c] = table.Num(float64(row)*1.25, number)
				case 2:
					cells[c] = table.Int(row, number)
				case 3:
					cells[c] = table.FormulaNum("B"+at+"*C"+at, float64(row)*1.25*float64(row), number)
				}
			}
			if !yield(table.Row{Cells: cells}) {
				return
			}
		}
	}
	return b
}

func BenchmarkWrite(b *testing.B) {
	for _, n := range []int{10_000, 100_000} {
		grid, err := xlsxtest.ReadGrid(written(b, big(n)))
		if err != nil {
			b.Fatal(err)
		}
		b.Run(fmt.Sprintf("table/rows=%d", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if err := xlsx.Write(io.Discard, big(n)); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run(fmt.Sprintf("raw/rows=%d", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if err := xlsxtest.RawWrite(io.Discard, grid); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
