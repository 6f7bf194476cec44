package export

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"wraptally/estimate/used"
	"wraptally/export/xlsx"
)

// The sheet is read back from the workbook by its declared columns: every kit has
// its rows, each known by kit, record and code, with what the plan says; what was
// filled in by hand, also in other columns' company, is found where it was written.
func TestUsedSheetIsReadBack(t *testing.T) {
	p := stockedCampaign(t)
	var file bytes.Buffer
	if err := xlsx.Write(&file, newDesk(p, Options{Run: "ABC123"}, allOf(p), nil).workbook()); err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenReader(&file)
	if err != nil {
		t.Fatal(err)
	}
	rows, err := f.GetRows(used.Sheet, excelize.Options{RawCellValue: true})
	if err != nil {
		t.Fatal(err)
	}
	head := 0
	at, err := columnsOfUsed(rows[head])
	for ; err != nil && head+1 < len(rows); at, err = columnsOfUsed(rows[head]) {
		head++
	}
	if err != nil {
		t.Fatal(err)
	}
	key := func(row []string) string {
		return row[at[used.Kit]] + "|" + row[at[used.Record]] + "|" + row[at[used.Code]]
	}
	// As after a repair: a number in Used, a column of the firm's own put in front.
	cell, _ := excelize.CoordinatesToCellName(at[used.Used]+1, head+3)
	if err := f.SetCellValue(used.Sheet, cell, 7); err != nil {
		t.Fatal(err)
	}
	if err := f.InsertCols(used.Sheet, "A", 1); err != nil {
		t.Fatal(err)
	}
	if rows, err = f.GetRows(used.Sheet, excelize.Options{RawCellValue: true}); err != nil {
		t.Fatal(err)
	}
	if at, err = columnsOfUsed(rows[head]); err != nil {
		t.Fatal(err)
	}
	if got := rows[head+2][at[used.Used]]; got != "7" {
		t.Errorf("7 was written, %q is read", got)
	}
	seen, planned := map[string]bool{}, map[string]string{}
	for _, row := range rows[head+1:] {
		if len(row) <= at[used.Run] || row[at[used.Kit]] == "" {
			break // what the columns hold comes after
		}
		k := key(row)
		if seen[k] {
			t.Fatalf("%s stands there twice", k)
		}
		seen[k], planned[k] = true, row[at[used.Planned]]
		if row[at[used.Run]] != "ABC123" {
			t.Fatalf("%s is of run %q", k, row[at[used.Run]])
		}
	}
	for n := range p.Jobs {
		kt := p.Kit(&p.Jobs[n])
		id := kt.Repair.ID
		for i := range kt.Lines {
			if l := &kt.Lines[i]; l.Item.Issue == "kit" && planned[id+"|item|"+l.Item.Code] != trimmed(l.Qty, 3) {
				t.Errorf("%s %s: planned %q, packed %v", id, l.Item.Code, planned[id+"|item|"+l.Item.Code], l.Qty)
			}
		}
		for _, v := range kt.Times {
			if !seen[id+"|task|"+v.Task.Task] {
				t.Errorf("%s: task %s is missing", id, v.Task.Task)
			}
		}
		for _, v := range append(used.Works[:len(used.Works):len(used.Works)], used.Measures...) {
			if !seen[id+"|work|"+v.Code] && !seen[id+"|measured|"+v.Code] {
				t.Errorf("%s: %s is missing", id, v.Code)
			}
		}
		if planned[id+"|measured|layers"] != trimmed(float64(kt.Repair.Layers), 0) {
			t.Errorf("%s: %s layers planned", id, planned[id+"|measured|layers"])
		}
	}
	// Every column is told at the end, and a heading that is gone is named.
	all := strings.Join(textRows(t, sheetOf(t, p, used.Sheet)), "\n")
	for _, c := range used.Columns {
		if !strings.Contains(all, c.Meaning) {
			t.Errorf("column %s is not told", c.Heading)
		}
	}
	bad := append([]string(nil), rows[head]...)
	bad[at[used.Damaged]], bad[at[used.Lot]] = "broken", "Used"
	if _, err := columnsOfUsed(bad); err == nil || !strings.Contains(err.Error(), "Used, Damaged, Lot") {
		t.Errorf("headings that are gone: %v", err)
	}
}

// columnsOfUsed finds the columns in a row of headings, which may stand in another order and
// have others between them; an error names those that are missing or stand there twice.
func columnsOfUsed(head []string) (at [len(used.Columns)]int, err error) {
	var wrong []string
	for i, c := range used.Columns {
		at[i] = -1
		for k, h := range head {
			if heading, _, _ := strings.Cut(h, "\n"); strings.EqualFold(strings.TrimSpace(heading), c.Heading) {
				if at[i] >= 0 && !slices.Contains(wrong, c.Heading) {
					wrong = append(wrong, c.Heading)
				}
				at[i] = k
			}
		}
		if at[i] < 0 {
			wrong = append(wrong, c.Heading)
		}
	}
	if len(wrong) > 0 {
		return at, fmt.Errorf("of the headings of the sheet %s these are missing or stand there twice: %s", used.Sheet, strings.Join(wrong, ", "))
	}
	return at, nil
}
