package export

import (
	"bytes"
	"strings"
	"testing"
	"unicode/utf8"
)

// Plain text of an explanation is no wider than asked for, heading, notice and
// assumptions included.
func TestExplainKeepsItsWidth(t *testing.T) {
	p := trial{path: "../testdata/surveys/campaign.csv", sets: []string{"cut.work_units=2000000", "order.rechoose=no"}}.run(t)
	for _, width := range []int{40, 80} {
		for _, of := range append([]string{"campaign"}, p.Repairs[0].ID, p.Repairs[len(p.Repairs)-1].ID) {
			var out bytes.Buffer
			if err := Explain(&out, p, of, "", ExplainOptions{Width: width}); err != nil {
				t.Fatal(err)
			}
			if !strings.Contains(strings.Join(strings.Fields(out.String()), " "), Notice) {
				t.Errorf("%s lacks the notice", of)
			}
			for _, line := range strings.Split(out.String(), "\n") {
				if n := utf8.RuneCountInString(line); n > width {
					t.Fatalf("%s, %d columns: %d in %q", of, width, n, line)
				}
			}
		}
	}
}
