package export

import (
	"bytes"
	"os"
	"strings"
	"testing"
	"time"
)

// Progress is for terminals only: nothing reaches a pipe or a file.
func TestProgressIsSilentWhenPiped(t *testing.T) {
	r, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	p := NewProgress(w)
	p.started = time.Now().Add(-time.Minute)
	p.Tell("kits", 1, 2)
	p.Done()
	w.Close()
	var got bytes.Buffer
	if _, err := got.ReadFrom(r); err != nil || got.Len() > 0 {
		t.Errorf("wrote %q to a pipe, %v", got.String(), err)
	}
}

// On a terminal it begins after a second; where colour is not wanted it writes
// plain lines without any control sequence.
func TestProgressLines(t *testing.T) {
	for _, plain := range []bool{true, false} {
		var out bytes.Buffer
		p := &Progress{out: &out, plain: plain, started: time.Now()}
		p.Tell("kits", 1, 2)
		if out.Len() > 0 {
			t.Errorf("plain %v: %q within the first second", plain, out.String())
		}
		p.started = p.started.Add(-time.Minute)
		p.Tell("kits", 1, 2)
		p.Tell("kits", 2, 2) // too soon after the last
		p.Done()
		if got := out.String(); strings.Count(got, "kits") != 1 || strings.Contains(got, "\x1b") == plain {
			t.Errorf("plain %v: %q", plain, got)
		}
	}
}
