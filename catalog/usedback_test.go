package catalog

import (
	"testing"

	"wraptally/estimate/used"
)

// What is read back are the columns that are written, in their order.
func TestUsedColumnsAreThoseWritten(t *testing.T) {
	if len(usedForm.def.cols) != len(used.Columns) {
		t.Fatalf("%d columns are read, %d written", len(usedForm.def.cols), len(used.Columns))
	}
	for i, c := range used.Columns {
		if got := usedForm.def.cols[i].name; got != c.Heading {
			t.Errorf("column %d: %q is read, %q written", i, got, c.Heading)
		}
	}
}

// An edit leaves all else of a table as it was, finds its columns wherever the firm has
// put them, and adds a setting that the firm's table leaves out.
func TestEditedTable(t *testing.T) {
	why := func(was string) string { return "was " + was }
	got, err := Edited([]byte("note,minutes,task,ours\nx,60,prep,a\ny,5,mix,\"b,c\"\n"), "task", []Edit{{Key: "prep", Column: "minutes", By: 1.0489, Why: why}})
	if want := "note,minutes,task,ours\nwas 60,62.9,prep,a\ny,5,mix,\"b,c\"\n"; err != nil || string(got) != want {
		t.Errorf("%s, %v", got, err)
	}
	got, err = Edited([]byte("name,value\ncrew.count,2\n"), "name", []Edit{{Key: "order.growth", Column: "value", To: 9.5238, Why: why}})
	if want := "name,value\ncrew.count,2\norder.growth,9.52\n"; err != nil || string(got) != want {
		t.Errorf("%s, %v", got, err)
	}
	if _, err = Edited([]byte("task,min\nprep,60\n"), "task", []Edit{{Key: "prep", Column: "minutes", By: 2, Why: why}}); err == nil {
		t.Error("a column that is not there is edited")
	}
	if _, err = Edited([]byte("task,minutes\nprep,sixty\n"), "task", []Edit{{Key: "prep", Column: "minutes", By: 2, Why: why}}); err == nil {
		t.Error("a word is multiplied")
	}
	for v, want := range map[float64]string{1234.5: "1230", 0.0123456: "0.0123", 99.96: "100", 0: "0"} {
		if got := threeFigures(v); got != want {
			t.Errorf("%v: %s", v, got)
		}
	}
}
