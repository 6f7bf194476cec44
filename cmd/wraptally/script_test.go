package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/xuri/excelize/v2"
	"golang.org/x/text/encoding/unicode"

	_ "wraptally/estimate/trace/depth"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"wraptally": main})
}

// TestScripts runs the command line as a user would: each script under
// testdata/script is a session with its files.
func TestScripts(t *testing.T) {
	shipped, err := filepath.Abs("../../testdata")
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script",
		Setup: func(env *testscript.Env) error {
			env.Setenv("SHIPPED", shipped)
			env.Setenv("SOURCE_DATE_EPOCH", "")
			env.Setenv("GOGC", os.Getenv("GOGC")) // as package depth has it
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"longcell": longCell,
			"control":  controlCharacters,
			"printed":  runPrinted,
			"shaped":   shapedWorkbook,
			"replace": func(ts *testscript.TestScript, _ bool, args []string) {
				text := ts.ReadFile(args[0])
				if strings.Count(text, args[1]) != 1 {
					ts.Fatalf("%s holds %q %d times, not once", args[0], args[1], strings.Count(text, args[1]))
				}
				ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(strings.Replace(text, args[1], args[2], 1)), 0o644))
			},
			"replaceall": func(ts *testscript.TestScript, _ bool, args []string) {
				text := regexp.MustCompile(args[1]).ReplaceAllString(ts.ReadFile(args[0]), args[2])
				ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(text), 0o644))
			},
			"mixedends": func(ts *testscript.TestScript, _ bool, args []string) {
				text := "id,line,chainage_m,od_mm,axial_mm,circ_mm,leaking\r\n" +
					"A,L1,1,168.3,30,30,yes\rB,L1,11,168.3,30,30,yes\nC,L1,21,168.3,30,30,yes\r\nD,L1,31,168.3,30,30,yes\r"
				ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(text), 0o644))
			},
			"utf16": func(ts *testscript.TestScript, _ bool, args []string) {
				text, err := unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder().String(ts.ReadFile(args[0]))
				ts.Check(err)
				ts.Check(os.WriteFile(ts.MkAbs(args[1]), []byte(text), 0o644))
			},
			"turned": func(ts *testscript.TestScript, _ bool, args []string) {
				ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte("id,line,chainage_m,od_mm,axial_mm,circ_mm,leaking\nA,L1,1,168.3,30,30,no\nB,L\u202e1,1,x,30,30,L\u202e1\nC,M\u202e1,1,168.3,30,30,no\n"), 0o644))
			},
			"wide": func(ts *testscript.TestScript, _ bool, args []string) {
				n, err := strconv.Atoi(args[1])
				ts.Check(err)
				head, row := strings.Repeat("extra,", n), strings.Repeat("1,", n)
				ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(head+"line,chainage_m,od_mm,axial_mm,circ_mm,leaking\n"+row+"L1,1,168.3,30,30,yes\n"), 0o644))
			},
		},
	})
}

// runPrinted runs the command line that the last command printed, the n-th of
// them, as it stands, with more words behind it.
func runPrinted(ts *testscript.TestScript, neg bool, args []string) {
	n, err := strconv.Atoi(args[0])
	ts.Check(err)
	for line := range strings.Lines(ts.ReadFile("stderr")) {
		if !strings.HasPrefix(line, "  wraptally ") {
			continue
		}
		if n--; n == 0 {
			ts.Logf("%s", line)
			if err := ts.Exec("sh", "-c", strings.TrimSpace(line)+" "+strings.Join(args[1:], " ")); (err != nil) != neg {
				ts.Fatalf("%v\n%s", err, ts.ReadFile("stderr"))
			}
			return
		}
	}
	ts.Fatalf("no command line was printed")
}

// shapedWorkbook writes an invented survey workbook of a shape that clients send.
func shapedWorkbook(ts *testscript.TestScript, _ bool, args []string) {
	f := excelize.NewFile()
	defer f.Close()
	sheet := func(name string, rows ...[]any) {
		_, err := f.NewSheet(name)
		ts.Check(err)
		for i, row := range rows {
			ts.Check(f.SetSheetRow(name, "A"+strconv.Itoa(i+1), &row))
		}
	}
	listing := [][]any{
		{"Inspection listing (invented)"}, {},
		{"Joint", "Log dist. [m]", "Event", "O.D. [mm]", "w.t. [mm]", "Max. depth [%]", "Len. [mm]", "Wid. [mm]", "O'clock", "MAOP [bar]"},
		{10, 0.0, "weld", 323.9, 9.5, nil, nil, nil, nil, 40}, {10, 4.2, "metal loss", 323.9, 9.5, 34, 45, 30, 0.1875, 40},
		{20, 13.7, "metal loss", 323.9, 9.5, 55, 60, 40, 0.25, 40}, {20, 18.0, "metal loss", 323.9, 9.5, 20, 25, 25, 0.375, 40},
	}
	switch args[1] {
	case "hidden-sheet": // last year's listing is hidden behind a cover
		sheet("Cover", []any{"Report (invented)"}, []any{"Date", "2027-03-15"})
		sheet("Listing", listing...)
		sheet("Old", []any{"Remarks"}, []any{"superseded"})
		ts.Check(f.SetSheetVisible("Old", false))
		clock, err := f.NewStyle(&excelize.Style{NumFmt: 20})
		ts.Check(err)
		ts.Check(f.SetCellStyle("Listing", "I4", "I7", clock))
	case "two-surveys":
		sheet("North", listing...)
		sheet("South", listing...)
	case "two-years": // registers of which hardly a heading is known
		heads := []any{"Break #", "Date", "Address", "Pipe Size", "Pipe Type", "Break Type", "Clamp Size", "Repaired?"}
		sheet("2026", heads, []any{1, "2026-01-04", "12 Alder", 6, "CIP", "beam", "6x12", "Y"}, []any{2, "2026-03-04", "14 Alder", 8, "A/C", "pin hole", "8x8", "Y"})
		sheet("2027", heads, []any{1, "2027-01-04", "22 Birch", 6, "steel", "pin hole", "6x8", "N"}, []any{2, "2027-01-09", "9 Cedar", 12, "steel", "pin hole", nil, "N"})
	case "merged": // names of groups over names, in merged cells, and a date of the spreadsheet's
		sheet("Dig", []any{"Dig", "Position", nil, "Pipe", nil, "Defect", nil, nil, "Found"},
			[]any{"no", "line", "chainage [m]", "od [mm]", "wall [mm]", "axial [mm]", "circ [mm]", "depth [mm]", "Leak seen"},
			[]any{"D-1", "GL-3", 120.5, 219.1, 8.2, 40, 30, 3.1, "no"}, []any{"D-2", "GL-3", 188.0, 219.1, 8.2, 55, 20, 2.2, "no"})
		for _, span := range []string{"B1:C1", "D1:E1", "F1:H1"} {
			from, to, _ := strings.Cut(span, ":")
			ts.Check(f.MergeCell("Dig", from, to))
		}
	case "units-row": // units below the names, and a date of the spreadsheet's in each row
		sheet("Breaks", []any{"Break", "Reported", "Main", "Dist.", "Pipe dia. O.D.", "Hole size", "Leaks?"}, []any{nil, nil, nil, "m", "mm", "mm", nil},
			[]any{"B1", 46461, "M-7", 12, 168.3, 6, "y"}, []any{"B2", 46470, "M-7", 77.5, 168.3, 4, "y"})
		date, err := f.NewStyle(&excelize.Style{NumFmt: 14})
		ts.Check(err)
		ts.Check(f.SetCellStyle("Breaks", "B3", "B4", date))
	case "hidden-rows":
		sheet("Leaks", []any{"Tag", "Line", "Distance (m)", "OD (mm)", "Hole dia (mm)", "Leak?"}, []any{"T1", "CW-1", 3, 114.3, 5, "Y"}, []any{"T2", "CW-1", 9, 114.3, 4, "Y"}, []any{"T3", "CW-1", 15, 114.3, 4, "N"})
		ts.Check(f.SetRowVisible("Leaks", 3, false))
		ts.Check(f.SetColVisible("Leaks", "E", false))
	default:
		ts.Fatalf("no shape %q", args[1])
	}
	ts.Check(f.DeleteSheet("Sheet1"))
	ts.Check(f.SaveAs(ts.MkAbs(args[0])))
}

// longCell writes a survey whose second row holds a cell of a million characters.
func longCell(ts *testscript.TestScript, _ bool, args []string) {
	text := "id,line,chainage_m,od_mm,axial_mm,circ_mm,leaking\n" +
		"A,L1,1,168.3,30,30,yes\n" +
		strings.Repeat("x", 1_000_000) + ",L1,9,168.3,30,30,yes\n"
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(text), 0o644))
}

// controlCharacters writes a survey whose second row has a control character in
// the name of its line.
func controlCharacters(ts *testscript.TestScript, _ bool, args []string) {
	text := "id,line,chainage_m,od_mm,axial_mm,circ_mm,leaking\n" +
		"A,L1,1,168.3,30,30,yes\n" +
		"B,L\x071,20,168.3,30,30,yes\n"
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(text), 0o644))
}
