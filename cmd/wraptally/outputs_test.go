package main

import (
	"io"
	"os"
	"testing"

	"wraptally/export"
)

// The workbook of the campaign is put in place after everything that belongs to
// it, so that a run that was stopped halfway never leaves a new one among old
// workbooks of kits.
func TestTheCampaignIsPutInPlaceLast(t *testing.T) {
	t.Chdir(t.TempDir())
	if err := os.WriteFile("s.csv", []byte(twoRepairs), 0o644); err != nil {
		t.Fatal(err)
	}
	w := work{}
	w.define(newFlags("estimate", "", io.Discard))
	w.sets = []string{"output.kits_per_book=1"}
	job, err := w.run("s.csv", export.NewProgress(io.Discard))
	if err != nil {
		t.Fatal(err)
	}
	list, books := outputs(job, nil, export.Options{}, &targets{workbook: "c.xlsx", json: "c.json", orderCSV: "c.csv", calendar: "c.ics", offer: "o.xlsx", working: "w.xlsx"})
	if len(books) < 3 || books[0] != "c.xlsx" {
		t.Fatal(books)
	}
	if last := list[len(list)-1].Path; last != "c.xlsx" || len(list) != len(books)+5 {
		t.Errorf("the last of %d outputs is %s", len(list), last)
	}
}
