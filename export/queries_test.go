package export

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"wraptally/catalog"
	"wraptally/estimate/survey"
)

// columnOf is the number of a column of the query sheet.
func columnOf(t testing.TB, title string) int {
	t.Helper()
	for i, c := range queryTable().Head().Cells {
		if c.Text == title {
			return i + 1
		}
	}
	t.Fatalf("the query sheet has no column %q", title)
	return 0
}

// checkAnswers answers the width of row P-09, which the demo survey gives wider
// than the pipe is round, and drops P-14.
func checkAnswers(t *testing.T, path string, tr trial) {
	t.Helper()
	filled := filepath.Join(t.TempDir(), "filled.xlsx")
	edits := `[{"sheet": "Queries", "find": ` + itoa(columnOf(t, "Row")) + `, "text": "P-09", "set": ` + itoa(columnOf(t, "Answer")) + `, "value": "90"},
		{"sheet": "Queries", "find": ` + itoa(columnOf(t, "Row")) + `, "text": "P-14", "set": ` + itoa(columnOf(t, "Answer")) + `, "value": "drop"}]`
	runPython(t, changeScript, path, filled, edits)
	answers, err := survey.OpenAnswers(filled, "")
	if err != nil {
		t.Fatal(err)
	}
	if len(answers) != 2 || answers[0].Row != "P-09" || answers[0].Field != "circ_mm" || answers[0].Value != "90" || answers[0].Code == "" || answers[1].Value != "drop" {
		t.Fatalf("read back: %+v", answers)
	}
	c, err := catalog.Load(catalog.Options{})
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(tr.path)
	if err != nil {
		t.Fatal(err)
	}
	s, err := survey.Read(strings.NewReader(string(text)), int64(len(text)), survey.Options{Name: "survey.csv", Sizes: c, Answers: answers})
	if err != nil {
		t.Fatal(err)
	}
	if s.Account.Queried != 0 || s.Account.Filtered != 1 {
		t.Errorf("with the answers: %+v, want none queried and one left out", s.Account)
	}
	for _, d := range s.Defects {
		if d.ID == "P-09" && d.Circ.V != 90 {
			t.Errorf("P-09 is %v mm wide, want 90", d.Circ)
		}
	}
}

func itoa(n int) string { return strconv.Itoa(n) }
