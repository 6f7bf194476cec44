package main

import (
	"archive/zip"
	"bytes"
	"cmp"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"wraptally/catalog"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

// zipped is an archive of parts, given as name and text in turn; flag marks them
// encrypted.
func zipped(t *testing.T, flag uint16, parts ...string) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for i := 0; i+1 < len(parts); i += 2 {
		w, err := z.CreateHeader(&zip.FileHeader{Name: parts[i], Flags: flag, Method: zip.Deflate})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write([]byte(parts[i+1])); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// workbookOf is a workbook with sheets of rows of cells.
func workbookOf(t *testing.T, sheets ...[][]any) []byte {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	for i, rows := range sheets {
		name := "Sheet" + strconv.Itoa(i+1)
		if _, err := f.NewSheet(name); err != nil {
			t.Fatal(err)
		}
		for j, row := range rows {
			if err := f.SetSheetRow(name, "A"+strconv.Itoa(j+1), &row); err != nil {
				t.Fatal(err)
			}
		}
	}
	b, err := f.WriteToBuffer()
	if err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// TestEveryHintReachesTheUser runs each error of the reader through the program
// and looks for its hint on the screen. It fails for a hint in the reader's
// source that none of the cases shows.
func TestEveryHintReachesTheUser(t *testing.T) {
	const head, row = "id,line,chainage_m,od_mm,axial_mm,circ_mm,leaking\n", "A,L1,1,168.3,30,30,yes\n"
	good := []byte(head + row)
	asAnswers := func(b []byte) map[string][]byte { return map[string][]byte{"survey.csv": good, "answers.xlsx": b} }
	sheet := [][]any{{"id", "line", "chainage_m", "od_mm", "axial_mm", "circ_mm", "leaking"}, {"A", "L1", 1, 168.3, 30, 30, "yes"}}
	types := "[Content_Types].xml"
	cases := []struct {
		problem, hint string // parts of what the user must see
		files         map[string][]byte
		args          []string
	}{
		{"no heading with row, field and answer", "as it was given", asAnswers(workbookOf(t, [][]any{{"a", "b"}})), []string{"--answers", "answers.xlsx"}},
		{"no sheet \"Q\"", "its sheets are Sheet1", asAnswers(workbookOf(t, sheet)), []string{"--answers", "answers.xlsx", "--answers-sheet", "Q"}},
		{"neither text nor a workbook", "a survey is a CSV file", map[string][]byte{"survey.csv": []byte("\x01\x00\x02\x03\x00\x09rubbish")}, nil},
		{"no encoding is called", "windows-1251", nil, []string{"--encoding", "utf-9"}},
		{"a byte that is not UTF-8", "give the encoding", map[string][]byte{"survey.csv": []byte(head + "A,L\xe9,1,168.3,30,30,yes\n")}, []string{"--encoding", "utf-8"}},
		{"the encoding \"iso-2022-cn\" cannot be read", "save the survey as UTF-8", nil, []string{"--encoding", "iso-2022-cn"}},
		{"no query has the code", "in brackets behind the queries", nil, []string{"--accept", "x"}},
		{"one id for all rows", "leave survey.id out", nil, []string{"--set", "survey.id=A"}},
		{"survey.line is empty", "give a value", nil, []string{"--set", "survey.line="}},
		{"no such column", "map one with --map", nil, []string{"--carry-down", "clock"}},
		{"does not fit the field od_mm", "units of it: mm", nil, []string{"--map", "od=Dia [MPa]"}},
		{"the file is empty", "is it the right file?", map[string][]byte{"survey.csv": {}}, nil},
		{"nothing but blanks", "is it the right file?", map[string][]byte{"survey.csv": []byte(" \n\n")}, nil},
		{"a heading and no row below it", "sheet (--sheet)", map[string][]byte{"survey.csv": []byte(head)}, nil},
		{"rows of answers", "Give only the rows that are answered", map[string][]byte{"survey.csv": good, "answers.csv": []byte("row,field,answer\n" + strings.Repeat("A,clock,3\n", 100_001))}, []string{"--answers", "answers.csv"}},
		{"has 12 parts, more than the limit of 10", "on its own", map[string][]byte{"survey.csv": zipped(t, 0, types, "", "1", "", "2", "", "3", "", "4", "", "5", "", "6", "", "7", "", "8", "", "9", "", "10", "", "11", "")}, []string{"--set", "intake.zip_parts=10"}},
		{"holds the part \"x\" twice", "save it again", map[string][]byte{"survey.csv": zipped(t, 0, types, "", "x", "", "x", "")}, nil},
		{"the filter names a column", "the columns are id, line", nil, []string{"--only", "Type=defect"}},
		{"no field is called \"odd\"", "the fields are id", nil, []string{"--map", "odd=od_mm"}},
		{"both give od_mm", "say which with --map od", map[string][]byte{"survey.csv": []byte("id,line,chainage_m,od_mm,od_in,axial_mm,circ_mm,leaking\n")}, nil},
		{"the heading lacks leaking", "--set survey.FIELD=VALUE", map[string][]byte{"survey.csv": []byte("line,chainage_m,od_mm,axial_mm,circ_mm\nL1,1,168.3,30,30\n")}, nil},
		{"no heading was found", "--header-row", map[string][]byte{"survey.csv": []byte("a,b\n1,2\n")}, nil},
		{"is no unit of length", "units: mm, cm", nil, []string{"--length-unit", "bar"}},
		{"no field is called \"x\"", "the fields are id", nil, []string{"--set", "survey.x=1"}},
		{"there is no heading \"Pipe OD\"", "the headings most like it", nil, []string{"--map", "od=Pipe OD"}},
		{"contradict the one taken", "state them: --map wall", map[string][]byte{"survey.csv": []byte("line,chainage_m,od_mm,WT,axial_mm,circ_mm,leaking\nL1,1,168.3,0.28,30,30,yes\n")}, nil},
		{"no row is left by the rule", "the column holds \"A\" (1)", nil, []string{"--only", "id=B"}},
		{"cannot be left open", "a blank means", nil, []string{"--set", "survey.wall=ask"}},
		{"cannot be used", "write yes or no", nil, []string{"--set", "survey.hazardous=maybe"}},
		{"no field is called \"x\"", "the fields are id", nil, []string{"--carry-down", "x"}},
		{"more than 1 rows", "intake.rows", map[string][]byte{"survey.csv": []byte(head + row + row)}, []string{"--set", "intake.rows=1"}},
		{"never closed", "close it, or double it", map[string][]byte{"survey.csv": []byte(head + row + "B,\"L1,1,168.3,30,30,yes\n")}, nil},
		{"bytes, more than the limit", "split the survey", map[string][]byte{"survey.csv": bytes.Repeat(good, 30_000)}, []string{"--set", "intake.file_mb=1"}},
		{"old-style (.xls)", "save it as .xlsx", map[string][]byte{"survey.csv": []byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1 and so on")}, nil},
		{"a picture or a PDF", "a survey is a CSV file", map[string][]byte{"survey.csv": []byte("%PDF-1.7 and so on")}, nil},
		{"the workbook cannot be read", "save it again", map[string][]byte{"survey.csv": zipped(t, 0, types, "<a>")}, nil},
		{"this text is UTF-32", "save it as UTF-8", map[string][]byte{"survey.csv": []byte("\xff\xfe\x00\x00l\x00\x00\x00i\x00\x00\x00")}, nil},
		{"this text is UTF-32", "save it as UTF-8", map[string][]byte{"survey.csv": []byte("\x00\x00\x00l\x00\x00\x00i\x00\x00\x00n\x00\x00\x00e\x00\x00\x00,")}, nil},
		{"lists 50000 sheets", "on its own", map[string][]byte{"survey.csv": zipped(t, 0, types, "", "xl/workbook.xml", "<workbook>"+strings.Repeat("<sheet/>", 50_000)+"</workbook>")}, nil},
		{"a cell refers to text 8 of 1", "save it again", map[string][]byte{"survey.csv": zipped(t, 0, types, "", "xl/worksheets/sheet1.xml", `<worksheet><row><c t="s"><v>7</v></c></row></worksheet>`,
			"xl/sharedStrings.xml", "<sst><si><t>a</t></si></sst>")}, nil},
		{"2 sheets look like a survey", "all of them in order with --sheet all", map[string][]byte{"survey.csv": workbookOf(t, sheet, sheet)}, nil},
		{"no sheet \"East\"", "its sheets are Sheet1", map[string][]byte{"survey.csv": workbookOf(t, sheet)}, []string{"--sheet", "East"}},
		{"the workbook is damaged", "save it again", map[string][]byte{"survey.csv": workbookOf(t, sheet)[:2000]}, nil},
		{"the workbook is encrypted", "without a password", map[string][]byte{"survey.csv": zipped(t, 1, types, "")}, nil},
		{"a zip archive and not a workbook", "a survey is a CSV file", map[string][]byte{"survey.csv": zipped(t, 0, "a.txt", "a")}, nil},
		{"unpacks to more than the limit", "zip bomb", map[string][]byte{"survey.csv": zipped(t, 0, types, "", "x", strings.Repeat("0", 3<<20))}, []string{"--set", "intake.unzip_mb=2"}},
		{"part \"xl/worksheets/sheet1.xml\" is damaged", "save it again", map[string][]byte{"survey.csv": zipped(t, 0, types, "", "xl/worksheets/sheet1.xml", "<a></b>")}, nil},
	}
	var seen strings.Builder
	for _, c := range cases {
		t.Run(c.problem, func(t *testing.T) {
			t.Chdir(t.TempDir())
			if c.files == nil {
				c.files = map[string][]byte{"survey.csv": good}
			}
			for name, data := range c.files {
				if err := os.WriteFile(name, data, 0o644); err != nil {
					t.Fatal(err)
				}
			}
			var out, errOut bytes.Buffer
			if code := run(append([]string{"check", "survey.csv"}, c.args...), &out, &errOut); code != exitData {
				t.Fatalf("exit %d\n%s%s", code, out.String(), errOut.String())
			}
			said := errOut.String()
			problem, hint, _ := strings.Cut(said, "\nhint: ")
			if !strings.Contains(problem, c.problem) || !strings.Contains(hint, c.hint) {
				t.Errorf("want %q and the hint %q, got\n%s", c.problem, c.hint, said)
			}
			seen.WriteString(said)
		})
	}
	hints, bare := adviceOfTheReader(t)
	for _, at := range bare {
		t.Errorf("%s: nothing says what to do", at)
	}
	for text, at := range hints {
		if !strings.Contains(seen.String(), text) {
			t.Errorf("%s: no case shows the hint %q", at, text)
		}
	}
}

// text is the string that an expression begins with.
func text(e ast.Expr) string {
	for {
		b, ok := e.(*ast.BinaryExpr)
		if !ok {
			break
		}
		e = b.X
	}
	l, ok := e.(*ast.BasicLit)
	if !ok {
		return ""
	}
	s, _ := strconv.Unquote(l.Value)
	return s
}

// adviceOfTheReader gives the first words of every hint in the reader's source,
// with their places, and the places of errors and of queries that keep a row out
// or ask, but do not say what to do. Exempt are errors of a cause from outside
// and those that the program refuses before.
func adviceOfTheReader(t *testing.T) (hints map[string]string, bare []string) {
	t.Helper()
	hints = map[string]string{}
	notes := map[string]bool{}
	for _, c := range survey.Codes() {
		notes[c.Code] = c.Severity == trace.Note
	}
	refusedBefore := regexp.MustCompile("^(mapping table: |the delimiter must|the decimal mark must)")
	fset := token.NewFileSet()
	files, err := filepath.Glob(filepath.FromSlash("../../estimate/survey/*.go"))
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		p, err := parser.ParseFile(fset, name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(p, func(n ast.Node) bool {
			at := func() string { return fset.Position(n.Pos()).String() }
			switch n := n.(type) {
			case *ast.CompositeLit:
				if k, ok := n.Type.(*ast.Ident); !ok || k.Name != "Error" {
					break
				}
				given := map[string]string{}
				for _, e := range n.Elts {
					kv := e.(*ast.KeyValueExpr)
					given[kv.Key.(*ast.Ident).Name] = cmp.Or(text(kv.Value), "?")
				}
				if h := given["Hint"]; h != "" && h != "?" {
					hints[h] = at()
				} else if h == "" && given["Err"] == "" && !refusedBefore.MatchString(given["Problem"]) {
					bare = append(bare, at())
				}
			case *ast.CallExpr:
				name := ""
				switch f := n.Fun.(type) {
				case *ast.Ident:
					name = f.Name
				case *ast.SelectorExpr:
					name = f.Sel.Name
				}
				switch name {
				case "fail":
					hints[text(n.Args[1])] = at()
				case "query", "cellQuery", "unreadable", "ask":
					if l, ok := n.Args[len(n.Args)-1].(*ast.BasicLit); ok && l.Value == `""` && text(n.Args[0]) != "" && !notes[text(n.Args[0])] {
						bare = append(bare, at())
					}
				}
			}
			return true
		})
	}
	if len(hints) < 15 {
		t.Fatalf("only %d hints in the source", len(hints))
	}
	return hints, bare
}

// TestReaderDefaults holds what the reader takes without a catalogue to the
// settings of the built-in one.
func TestReaderDefaults(t *testing.T) {
	c, err := catalog.Load(catalog.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got := *doubts(&c.Settings); got != survey.DefaultDoubts {
		t.Errorf("the settings say %+v, the reader %+v", got, survey.DefaultDoubts)
	}
	if got := limits(&c.Settings); got != survey.DefaultLimits {
		t.Errorf("the settings say %+v, the reader %+v", got, survey.DefaultLimits)
	}
}
