package xlsxtest

import (
	"archive/zip"
	"bytes"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"
)

var update = flag.Bool("update", false, "renew the kept outputs that tests compare with")

// Update reports whether the test was run with -update.
func Update() bool { return *update }

// Golden compares a workbook part by part with the one kept unpacked in a
// folder, byte for byte. With -update the folder is renewed instead. A
// difference is shown at its place, with the lines around it.
func Golden(t testing.TB, workbook []byte, folder string) {
	t.Helper()
	archive, err := opened(workbook)
	if err != nil {
		t.Fatal(err)
	}
	if *update {
		if err := errors.Join(os.RemoveAll(folder), os.CopyFS(folder, archive)); err != nil {
			t.Fatal(err)
		}
		return
	}
	got, err := contents(archive)
	if err != nil {
		t.Fatal(err)
	}
	want, err := contents(os.DirFS(folder))
	if err != nil {
		t.Fatalf("no kept workbook (make it with -update): %v", err)
	}
	for _, name := range slices.Sorted(maps.Keys(want)) {
		switch g, there := got[name]; {
		case !there:
			t.Errorf("%s: the part is gone", name)
		case !bytes.Equal(g, want[name]):
			t.Errorf("%s differs from the one kept in %s (renew with -update):\n%s", name, folder, Difference(want[name], g))
		}
	}
	for _, name := range slices.Sorted(maps.Keys(got)) {
		if _, known := want[name]; !known {
			t.Errorf("%s: a new part of %d bytes", name, len(got[name]))
		}
	}
}

func opened(workbook []byte) (*zip.Reader, error) {
	return zip.NewReader(bytes.NewReader(workbook), int64(len(workbook)))
}

// Unpack gives the parts of a workbook by name.
func Unpack(workbook []byte) (map[string][]byte, error) {
	archive, err := opened(workbook)
	if err != nil {
		return nil, err
	}
	return contents(archive)
}

// contents are the files of a folder or an archive by name.
func contents(folder fs.FS) (map[string][]byte, error) {
	files := map[string][]byte{}
	err := fs.WalkDir(folder, ".", func(name string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			files[name], err = fs.ReadFile(folder, name)
		}
		return err
	})
	return files, err
}

// Difference shows the first place where two texts differ. XML is broken into a
// line for each element first.
func Difference(want, got []byte) string {
	if !utf8.Valid(want) || !utf8.Valid(got) {
		return fmt.Sprintf("binary: %d bytes kept, %d now", len(want), len(got))
	}
	w, g := lines(want), lines(got)
	at := 0
	for at < len(w) && at < len(g) && w[at] == g[at] {
		at++
	}
	// The same lines from the end bound the difference.
	tail := 0
	for tail < len(w)-at && tail < len(g)-at && w[len(w)-1-tail] == g[len(g)-1-tail] {
		tail++
	}
	var out strings.Builder
	const around, most = 3, 12
	for i := max(0, at-around); i < at; i++ {
		fmt.Fprintf(&out, "  %s\n", w[i])
	}
	show := func(mark string, from []string) {
		for i, line := range from {
			if i == most {
				fmt.Fprintf(&out, "%s … %d more lines\n", mark, len(from)-i)
				break
			}
			fmt.Fprintf(&out, "%s %s\n", mark, line)
		}
	}
	show("-", w[at:len(w)-tail])
	show("+", g[at:len(g)-tail])
	return out.String()
}

func lines(b []byte) []string {
	return strings.Split(strings.ReplaceAll(string(b), "><", ">\n<"), "\n")
}
