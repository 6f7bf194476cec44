package main

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"wraptally/estimate/used"
)

const demo = "../../testdata/surveys/campaign.csv"

// said runs a command and gives what it says.
func said(args ...string) (code int, out, errOut string) {
	var o, e bytes.Buffer
	code = run(args, &o, &e)
	return code, o.String(), e.String()
}

// filled fills the sheet Used of a workbook with a share of what was planned.
func filled(t *testing.T, from, to string, share func(record, code string) float64) {
	t.Helper()
	f, err := excelize.OpenFile(from, excelize.Options{RawCellValue: true})
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := f.GetRows(used.Sheet)
	if err != nil {
		t.Fatal(err)
	}
	for i, row := range rows {
		if len(row) <= used.Planned || row[used.Record] == used.Work {
			continue
		}
		v, err := strconv.ParseFloat(row[used.Planned], 64)
		if err != nil {
			continue
		}
		cell, _ := excelize.CoordinatesToCellName(used.Used+1, i+1)
		if err := f.SetCellValue(used.Sheet, cell, v*share(row[used.Record], row[used.Code])); err != nil {
			t.Fatal(err)
		}
	}
	if err := f.SaveAs(to); err != nil {
		t.Fatal(err)
	}
}

// column reads a column of a table by its keys; of several rows of a key the first.
func column(t *testing.T, path, key, name string) map[string]float64 {
	t.Helper()
	out := map[string]float64{}
	for _, row := range table(t, path) {
		if _, ok := out[row[key]]; !ok {
			out[row[key]], _ = strconv.ParseFloat(row[name], 64)
		}
	}
	return out
}

// A sheet that is filled with what was planned changes nothing. Filled with another
// share, each number that may follow is drawn toward it by (w + n·f)/(w + n), and those
// that the product or the procedure asks for stay. The tables it gives are read by the
// next run, whose minutes follow them.
func TestWhatWasUsedIsLearned(t *testing.T) {
	dir := t.TempDir()
	in := func(name string) string { return filepath.Join(dir, name) }
	must := func(args ...string) string {
		t.Helper()
		code, out, errOut := said(args...)
		if code != exitOK {
			t.Fatalf("%v: %s", args, errOut)
		}
		return out
	}
	must("estimate", demo, "-o", in("c.xlsx"), "--json", in("c.json"), "--set", "learn.weight=4", "-q")
	filled(t, in("c.xlsx"), in("as-planned.xlsx"), func(string, string) float64 { return 1 })
	if out := must("learn", in("c.json"), in("as-planned.xlsx")); !strings.Contains(out, "no table is to be changed by it") || !strings.Contains(out, "11 kits of 11") {
		t.Errorf("used as planned it tells:\n%s", out)
	}
	share := map[string]float64{"prep": 1.5, "mix": 0.7, "cure": 0.5, "hold": 0.5, "SOLVENT": 2, "WIPE": 0.5}
	filled(t, in("c.xlsx"), in("used.xlsx"), func(_, code string) float64 {
		if f, ok := share[code]; ok {
			return f
		}
		return 1
	})
	out := must("learn", in("c.json"), in("used.xlsx"), "-o", in("learned"))
	for _, want := range []string{"not written, since the product or the procedure asks for these minutes", "leave those that protect people as they were:\n  WIPE", "Nothing changes by itself"} {
		if !strings.Contains(out, want) {
			t.Errorf("%q is not told:\n%s", want, out)
		}
	}
	drawn := func(f float64) float64 { return (4 + 11*f) / 15 }
	now, was := column(t, in("learned/tasks.csv"), "task", "minutes"), column(t, "../../catalog/book/tasks.csv", "task", "minutes")
	for task, v := range was {
		want := v
		if f, ok := share[task]; ok && task != "cure" && task != "hold" {
			want *= drawn(f)
		}
		if math.Abs(now[task]-want) > 0.005*want {
			t.Errorf("%s: %v min, want %v", task, now[task], want)
		}
	}
	now, was = column(t, in("learned/consumables.csv"), "item", "qty"), column(t, "../../catalog/book/consumables.csv", "item", "qty")
	for _, item := range []string{"SOLVENT", "WIPE", "GLOVE"} {
		want := was[item]
		if f, ok := share[item]; ok {
			want *= drawn(f)
		}
		if math.Abs(now[item]-want) > 0.005*want {
			t.Errorf("%s: %v, want %v", item, now[item], want)
		}
	}
	if _, err := os.Stat(in("learned/settings.csv")); err == nil {
		t.Error("growth is written though nobody told of repairs found later")
	}
	if got := must("explain", demo, "CW-101-P-01", "--catalog", in("learned")); !strings.Contains(got, "81.9") && !strings.Contains(got, "82") {
		t.Errorf("the next run does not follow the table:\n%s", got)
	}
	if code, _, errOut := said("learn", in("c.json"), in("used.xlsx"), "-o", in("learned")); code == exitOK || !strings.Contains(errOut, "--overwrite") {
		t.Errorf("tables are written over: %s", errOut)
	}
}
