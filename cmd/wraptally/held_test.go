package main

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"wraptally/export/file"
)

// While another run writes the same workbook this one says so and writes nothing;
// once it has ended, this one goes on.
func TestTwoRunsDoNotMix(t *testing.T) {
	path := filepath.Join(t.TempDir(), "c.xlsx")
	other, err := file.Hold(path)
	if err != nil || other == nil {
		t.Fatal(err)
	}
	args := []string{"estimate", "../../testdata/surveys/campaign.csv", "-o", path, "-q"}
	var said bytes.Buffer
	if code := run(args, io.Discard, &said); code != exitData || !strings.Contains(said.String(), "c.xlsx is being written by another run of this program; nothing is written\nhint: wait") {
		t.Errorf("exit %d: %s", code, &said)
	}
	if _, err := os.Stat(path); err == nil {
		t.Error("written all the same")
	}
	other.Release()
	if code := run(args, io.Discard, io.Discard); code != exitOK {
		t.Errorf("exit %d once the other has ended", code)
	}
	if left, err := filepath.Glob(filepath.Join(filepath.Dir(path), ".*")); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}
