package xlsxtest

import (
	"archive/zip"
	"bytes"
	"flag"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
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
	got, err := Unpack(workbook)
	if err != nil {
		t.Fatal(err)
	}
	if *update {
		renew(t, got, folder)
		return
	}
	want := kept(t, folder)
	for _, name := range union(got, want) {
		g, inGot := got[name]
		w, inWant := want[name]
		switch {
		case !inGot:
			t.Errorf("%s: the part is gone", name)
		case !inWant:
			t.Errorf("%s: a new part of %d bytes", name, len(g))
		case !bytes.Equal(g, w):
			t.Errorf("%s differs from the one kept in %s (renew with -update):\n%s", name, folder, Difference(w, g))
		}
	}
}

// Unpack gives the parts of a workbook by name.
func Unpack(workbook []byte) (map[string][]byte, error) {
	archive, err := zip.NewReader(bytes.NewReader(workbook), int64(len(workbook)))
	if err != nil {
		return nil, err
	}
	parts := map[string][]byte{}
	for _, f := range archive.File {
		in, err := f.Open()
		if err != nil {
			return nil, err
		}
		content, err := io.ReadAll(in)
		_ = in.Close()
		if err != nil {
			return nil, fmt.Errorf("%s: %w", f.Name, err)
		}
		parts[f.Name] = content
	}
	return parts, nil
}

func renew(t testing.TB, parts map[string][]byte, folder string) {
	t.Helper()
	if err := os.RemoveAll(folder); err != nil {
		t.Fatal(err)
	}
	for name, content := range parts {
		path := filepath.Join(folder, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, content, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	t.Logf("renewed %d parts in %s", len(parts), folder)
}

func kept(t testing.TB, folder string) map[string][]byte {
	t.Helper()
	parts := map[string][]byte{}
	err := filepath.WalkDir(folder, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		name, err := filepath.Rel(folder, path)
		if err != nil {
			return err
		}
		parts[filepath.ToSlash(name)], err = os.ReadFile(path)
		return err
	})
	if err != nil {
		t.Fatalf("no kept workbook (make it with -update): %v", err)
	}
	return parts
}

func union(a, b map[string][]byte) []string {
	var names []string
	for n := range a {
		names = append(names, n)
	}
	for n := range b {
		if _, both := a[n]; !both {
			names = append(names, n)
		}
	}
	slices.Sort(names)
	return names
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
