package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"wraptally/estimate/survey"
	"wraptally/estimate/trace/depth"
)

// TestEveryFieldReachesTheUser takes every field through the program: the list
// of fields, the JSON of what was read, and the query sheet, whose answer for
// the field is read back.
func TestEveryFieldReachesTheUser(t *testing.T) {
	dir := t.TempDir()
	ask := func(args ...string) string {
		var out, errOut bytes.Buffer
		if code := run(args, &out, &errOut); code == exitUsage || strings.Contains(errOut.String(), "error:") {
			t.Fatalf("%v: exit %d, %s", args, code, errOut.String())
		}
		return out.String()
	}
	listed := ask("fields")
	sound := map[string]string{"line": "L1", "chainage": "1", "od": "168.3", "axial": "40", "circ": "30", "leaking": "no"}
	for n, f := range survey.Fields() {
		if !strings.Contains(listed, fmt.Sprintf("%-22s %-9s %s, %s\n", f.Heading, f.Required, f.Meaning, f.Example)) {
			t.Errorf("%s is not among the fields", f.Heading)
		}
		if n%depth.Of(3, 1) != 0 {
			continue
		}
		var head, cells []string
		for _, o := range survey.Fields() {
			if cell := sound[o.Key]; cell != "" && o.Key != f.Key {
				head, cells = append(head, o.Heading), append(cells, cell)
			}
		}
		bad := "1\x01%"
		path, book := filepath.Join(dir, f.Key+".csv"), filepath.Join(dir, f.Key+".xlsx")
		text := strings.Join(append(head, f.Heading), ";") + "\n" + strings.Join(append(cells, bad), ";") + "\n"
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		if got := ask("check", path, "--json", "-", "-o", book); !strings.Contains(got, fmt.Sprintf("%q: %q", "field", f.Heading)) {
			t.Errorf("a bad cell of %s is not in the JSON: %s", f.Key, got)
		}
		if f.Key == "id" {
			continue // a row is not renamed by an answer
		}
		answered := answer(t, book, f.Heading, f.Example)
		if got := ask("check", path, "--answers", answered); !strings.Contains(got, "answer-used") || strings.Contains(got, "answer-unused") {
			t.Errorf("the answer for %s is not used: %s", f.Key, got)
		}
	}
}

// answer writes an answer beside the query of a field, as a client does, and
// gives the file sent back.
func answer(t *testing.T, book, heading, value string) string {
	t.Helper()
	f, err := excelize.OpenFile(book)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := f.GetRows("Queries")
	if err != nil {
		t.Fatal(err)
	}
	at := map[string]int{}
	for i, row := range rows {
		if len(at) == 0 {
			for j, c := range row {
				at[c] = j
			}
			if _, ok := at["Answer"]; !ok {
				clear(at)
			}
			continue
		}
		if len(row) > at["Field"] && row[at["Field"]] == heading {
			cell, err := excelize.CoordinatesToCellName(at["Answer"]+1, i+1)
			if err != nil {
				t.Fatal(err)
			}
			if err := f.SetCellStr("Queries", cell, value); err != nil {
				t.Fatal(err)
			}
			back := strings.TrimSuffix(book, ".xlsx") + "-answered.xlsx"
			if err := f.SaveAs(back); err != nil {
				t.Fatal(err)
			}
			return back
		}
	}
	t.Fatalf("%s is not on the query sheet", heading)
	return ""
}
