package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"wraptally/estimate/trace/depth"
	"wraptally/export"
	"wraptally/export/xlsx/xlsxtest"
)

const twoRepairs = `id,line,chainage_m,nps,schedule,axial_mm,circ_mm,leaking,wall_left_mm,pressure_mpa,medium,surface,surface_temp_c,clock,hazardous,access
A,L-1,12.5,4,40,20,15,yes,0,0.8,water,wet,20,3,no,ground
B,L-2,30,6,40,60,40,no,4,1.2,water,dry,22,6,no,scaffold
`

// audited runs the command on a file.
func audited(t *testing.T, args ...string) (code int, said string) {
	t.Helper()
	var out, wrong bytes.Buffer
	code = run(append([]string{"audit"}, args...), &out, &wrong)
	return code, out.String() + wrong.String()
}

// A run as it was written is sound; any figure that is changed in it is found,
// also one that no other figure printed depends on, since the run is made again.
func TestAuditFindsAnyChange(t *testing.T) {
	t.Chdir(t.TempDir())
	if err := os.WriteFile("s.csv", []byte(twoRepairs), 0o644); err != nil {
		t.Fatal(err)
	}
	var wrong bytes.Buffer
	if run([]string{"estimate", "s.csv", "--json", "run.json", "-q"}, io.Discard, &wrong) != exitOK {
		t.Fatal(wrong.String())
	}
	if code, said := audited(t, "run.json", "--survey", "s.csv"); code != exitOK || !strings.Contains(said, "none differs") || !strings.Contains(said, "every figure the same") {
		t.Fatal(said)
	}
	text, err := os.ReadFile("run.json")
	if err != nil {
		t.Fatal(err)
	}
	figures := regexp.MustCompile(`":[0-9][0-9.]*[,}]`).FindAllIndex(text, -1)
	if len(figures) < 2000 {
		t.Fatal(len(figures), "figures")
	}
	tried := depth.Of(15, 60)
	for i := range tried {
		at := figures[i*len(figures)/tried]
		changed := fmt.Sprintf(`":7%s`, text[at[0]+2:at[1]]) // another digit before it
		if err := os.WriteFile("changed.json", bytes.Join([][]byte{text[:at[0]], []byte(changed), text[at[1]:]}, nil), 0o644); err != nil {
			t.Fatal(err)
		}
		if code, said := audited(t, "changed.json"); code != exitData || !strings.Contains(said, "differ") {
			t.Errorf("%s for %s in …%s: code %d, %s", changed, text[at[0]:at[1]], text[max(0, at[0]-80):at[0]], code, said)
		}
	}
}

// Who changes the survey and makes a whole new run of it, in itself without a
// fault, is found by the survey that is given beside the run; so for the tables
// of the catalogue.
func TestAuditFindsAConsistentRewriting(t *testing.T) {
	t.Chdir(t.TempDir())
	for name, text := range map[string]string{
		"s.csv": twoRepairs, "other.csv": strings.Replace(twoRepairs, ",0.8,", ",0.4,", 1),
	} {
		if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if run([]string{"catalog", "-o", "tables"}, io.Discard, io.Discard) != exitOK {
		t.Fatal("no tables")
	}
	if run([]string{"estimate", "other.csv", "--catalog", "tables", "--json", "run.json", "-q"}, io.Discard, io.Discard) != exitOK {
		t.Fatal("no run")
	}
	if code, said := audited(t, "run.json", "--survey", "other.csv", "--catalog", "tables"); code != exitOK {
		t.Fatal(said)
	}
	if code, said := audited(t, "run.json", "--survey", "s.csv"); code != exitData || !strings.Contains(said, "made_from/survey") {
		t.Error(said)
	}
	prices, err := os.ReadFile("tables/prices.csv")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile("tables/prices.csv", append(prices, '\n'), 0o644); err != nil {
		t.Fatal(err)
	}
	if code, said := audited(t, "run.json", "--catalog", "tables"); code != exitData || !strings.Contains(said, "made_from/catalog/prices.csv") {
		t.Error(said)
	}
}

// workingBook makes the run of twoRepairs in an empty folder, with its workbook.
func workingBook(t *testing.T) *excelize.File {
	t.Helper()
	t.Chdir(t.TempDir())
	if err := os.WriteFile("s.csv", []byte(twoRepairs), 0o644); err != nil {
		t.Fatal(err)
	}
	var wrong bytes.Buffer
	if run([]string{"estimate", "s.csv", "--json", "run.json", "--working", "w.xlsx", "-q"}, io.Discard, &wrong) != exitOK {
		t.Fatal(wrong.String())
	}
	f, err := excelize.OpenFile("w.xlsx")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	return f
}

// A workbook of the working is audited by the run that it carries, and each of its
// cells is held against it: any that is changed, taken away or added is found.
func TestAuditOfAWorkbook(t *testing.T) {
	f := workingBook(t)
	if code, said := audited(t, "w.xlsx", "--survey", "s.csv"); code != exitOK || !strings.Contains(said, "none differs") || !strings.Contains(said, "every figure the same") {
		t.Fatal(said)
	}
	rows, err := f.GetRows("Working", excelize.Options{RawCellValue: true})
	if err != nil {
		t.Fatal(err)
	}
	head := slices.IndexFunc(rows, func(r []string) bool { return len(r) > 0 && r[0] == "Step" })
	if head < 0 || len(rows) < 100 {
		t.Fatal(head, len(rows))
	}
	// Each cell alone is found; that none is passed over, all of them changed at once show.
	check := func(cell, value string, want int) {
		t.Helper()
		if err := f.SaveAs("changed.xlsx"); err != nil {
			t.Fatal(err)
		}
		in, err := os.Open("run.json")
		if err != nil {
			t.Fatal(err)
		}
		defer in.Close()
		faults, _, err := export.CheckWorking("changed.xlsx", in)
		if err != nil || len(faults) < want || want == 1 && faults[0].Where != "Working!"+cell {
			t.Errorf("%s as %q: %d differ, not %d, %v %v", cell, value, len(faults), want, faults[:min(1, len(faults))], err)
		}
	}
	set := func(cell, value string) {
		if err := f.SetCellStr("Working", cell, value); err != nil {
			t.Fatal(err)
		}
	}
	tried := depth.Of(4, 12)
	all := 0
	for r := head + 1; r < len(rows); r++ {
		for c, was := range rows[r] {
			if was != "" {
				all++
			}
			cell, _ := excelize.CoordinatesToCellName(c+1, r+1)
			if was == "" || r%(len(rows)/tried) != 0 || c != 3+r%5 {
				continue
			}
			for _, value := range []string{was + "1", ""} {
				set(cell, value)
				check(cell, value, 1)
			}
			set(cell, was)
		}
	}
	for r := head + 1; r < len(rows); r++ {
		for c, was := range rows[r] {
			if cell, _ := excelize.CoordinatesToCellName(c+1, r+1); was != "" {
				set(cell, was+"1")
			}
		}
	}
	check("all", "…1", all)
}

// A workbook whose run is damaged, or that carries none, is refused with what to
// give; so is one by compare, where it is no survey either.
func TestAuditRefusesAWorkbook(t *testing.T) {
	f := workingBook(t)
	if err := f.SetCellStr("Run", "B4", strings.Repeat("A", 100)); err != nil {
		t.Fatal(err)
	}
	if err := f.SaveAs("damaged.xlsx"); err != nil {
		t.Fatal(err)
	}
	if err := f.DeleteSheet("Run"); err != nil {
		t.Fatal(err)
	}
	if err := f.SaveAs("none.xlsx"); err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]string{"damaged.xlsx": "its sheet Run is damaged", "none.xlsx": "the workbook carries no run"} {
		code, said := audited(t, name)
		if code != exitData || !strings.Contains(said, name+": "+want) || !strings.Contains(strings.ToLower(said), "json") {
			t.Error(name, code, said)
		}
		var out, wrong bytes.Buffer
		if run([]string{"compare", name, "run.json"}, &out, &wrong) == exitOK || !strings.Contains(wrong.String(), want) {
			t.Error("compare", name, wrong.String())
		}
	}
}

// A spreadsheet program that saves the workbook keeps the run: LibreOffice.
func TestCrossAuditOfASavedWorkbook(t *testing.T) {
	workingBook(t)
	saved := xlsxtest.Converted(t, "w.xlsx", "xlsx")
	if code, said := audited(t, saved, "--survey", "s.csv"); code != exitOK || !strings.Contains(said, "none differs") {
		t.Fatal(said)
	}
	if code := run([]string{"compare", saved, "run.json"}, io.Discard, io.Discard); code != exitOK {
		t.Error("compare", code)
	}
}

// What is no run is refused in words.
func TestAuditRefuses(t *testing.T) {
	t.Chdir(t.TempDir())
	for text, want := range map[string]string{
		"hello":             "not the JSON of an estimate",
		`{"schema": "wrap`:  "damaged",
		`{"repairs": [{"id`: "damaged",
		`{}`:                "does not hold",
	} {
		if err := os.WriteFile("x.json", []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		if code, said := audited(t, "x.json"); code != exitData || !strings.Contains(said, want) || !strings.Contains(said, "hint:") {
			t.Errorf("%s: %d %s", text, code, said)
		}
	}
}
