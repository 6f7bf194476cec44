package export

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"wraptally/export/xlsx/xlsxtest"
)

// The kept JSON of a leak and a pit guards every figure and derivation; renew it
// with -update and read the difference.
func TestJSONIsAsKept(t *testing.T) {
	p := trial{text: storeSurvey(2, true, "L-1"), sets: []string{"campaign.start=2027-03-15"}}.run(t)
	var out bytes.Buffer
	if err := JSON(&out, p, Options{Version: "test"}); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join("testdata", "campaign.json")
	if xlsxtest.Update() {
		if err := os.WriteFile(file, out.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	kept, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(kept, out.Bytes()) {
		t.Errorf("the JSON differs from %s (renew with -update):\n%s", file, xlsxtest.Difference(byLine(kept), byLine(out.Bytes())))
	}
}

// byLine breaks JSON after every object, so that a difference is shown small.
func byLine(text []byte) []byte { return bytes.ReplaceAll(text, []byte("},"), []byte("},\n")) }
