package export

import (
	"bytes"
	"slices"
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

// The steps that an origin names.
func TestStepsNamed(t *testing.T) {
	for from, want := range map[string][]string{
		"survey":                 nil,
		"setting mix.time":       nil,
		"step wrap/75/net":       {"wrap/75/net"},
		"survey, or step thrust": nil,
		"step seal1/sheet-axial, setting putty.footprint": {"seal1/sheet-axial"},
		"steps seal1/bands times seal1/strips":            {"seal1/bands", "seal1/strips"},
	} {
		if got := stepsNamed(from); !slices.Equal(got, want) {
			t.Errorf("%q names %q, want %q", from, got, want)
		}
	}
	for _, v := range []struct {
		id, name string
		want     bool
	}{
		{"R0001/wrap/75/net", "wrap/75/net", true}, {"R0001/rule/GLOVE/roll/always", "rule/GLOVE/roll/…", true},
		{"campaign/bid/tax", "campaign/bid/…", true}, {"campaign/bid/tax", "R…/time", false}, {"R0001/time/prep", "time", false},
	} {
		if isStep(v.id, v.name) != v.want {
			t.Errorf("%s is %s: %v", v.id, v.name, !v.want)
		}
	}
}
