package xlsx_test

import (
	"os"
	"testing"
)

// TestKeepDemo leaves the demonstration workbook where DEMO_XLSX says, to be
// looked at.
func TestKeepDemo(t *testing.T) {
	path := os.Getenv("DEMO_XLSX")
	if path == "" {
		t.Skip("DEMO_XLSX is not set")
	}
	if err := os.WriteFile(path, written(t, demo(t)), 0o666); err != nil {
		t.Fatal(err)
	}
}
