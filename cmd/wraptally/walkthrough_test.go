package main

import (
	"bytes"
	"errors"
	"image"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode"

	"github.com/xuri/excelize/v2"

	"wraptally/estimate/used"
	"wraptally/export/xlsx/xlsxtest"
)

const (
	walkCommand = "    $ wraptally "
	walkShown   = "    "
	walkLeftOut = "…"
	walkStatus  = "exit status "
)

// A picture of the walk-through, with the workbook, the sheet and its number there.
var walkPicture = regexp.MustCompile(`^!\[[^\]]*\]\((.+)\) <!-- (.+), (.+), (\d+) -->$`)

// TestWalkthrough runs the commands of the campaign that is told through, in their
// order, with the program as it is built, and holds what the document shows of
// their output, and its pictures, against what came out.
func TestWalkthrough(t *testing.T) {
	home, err := filepath.Abs("../../testdata/walkthrough")
	if err != nil {
		t.Fatal(err)
	}
	at := filepath.Join(t.TempDir(), "walk")
	if err := os.CopyFS(at, os.DirFS(home)); err != nil {
		t.Fatal(err)
	}
	t.Chdir(at)
	text, err := os.ReadFile("README.md")
	if err != nil {
		t.Fatal(err)
	}
	var renewed, printed []string
	commands, pictures := 0, 0
	for n, line := range strings.Split(string(text), "\n") {
		switch picture := walkPicture.FindStringSubmatch(line); {
		case strings.HasPrefix(line, walkCommand):
			commands++
			printed = walkRun(t, strings.Fields(strings.TrimPrefix(line, walkCommand)))
		case strings.HasPrefix(line, walkShown) && strings.TrimSpace(line) != walkLeftOut:
			want := strings.TrimPrefix(line, walkShown)
			i := walkFind(printed, want)
			if i < 0 {
				t.Fatalf("README.md:%d: %q is not printed, or not here; what is: %s", n+1, want, strings.Join(printed, "\n"))
			}
			line, printed = strings.TrimRight(walkShown+printed[i], " "), printed[i+1:]
		case picture != nil:
			pictures++
			number, _ := strconv.Atoi(picture[4]) // digits
			walkSame(t, filepath.Join(home, picture[1]), walkPictureOf(t, picture[2], picture[3], number))
		}
		if strings.HasPrefix(line, walkCommand) || !strings.HasPrefix(line, walkShown) {
			if i := slices.IndexFunc(printed, func(s string) bool { return strings.HasPrefix(s, walkStatus) }); i >= 0 && !strings.HasPrefix(line, walkCommand) {
				t.Errorf("README.md:%d: the command before ends with %s, which is not shown", n+1, printed[i])
			}
		}
		renewed = append(renewed, line)
	}
	if commands < 8 || pictures < 3 {
		t.Errorf("%d commands and %d pictures found", commands, pictures)
	}
	walkUsed(t)
	if out := strings.Join(renewed, "\n"); out != string(text) {
		if !xlsxtest.Update() {
			t.Fatalf("README.md of the walk-through shows what is not printed any more; -update renews it:\n%s", xlsxtest.Difference(text, []byte(out)))
		}
		if err := os.WriteFile(filepath.Join(home, "README.md"), []byte(out), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// walkRun runs the program and gives the lines that it printed, the last of them
// its status where it is not 0.
func walkRun(t *testing.T, args []string) []string {
	t.Helper()
	var out, wrong bytes.Buffer
	c := exec.Command("wraptally", args...)
	c.Env = append(os.Environ(), "SOURCE_DATE_EPOCH=")
	c.Stdout, c.Stderr = &out, &wrong
	err := c.Run()
	all := out.String() + wrong.String()
	var failed *exec.ExitError
	switch {
	case errors.As(err, &failed):
		all += walkStatus + strconv.Itoa(failed.ExitCode()) + "\n"
	case err != nil:
		t.Fatal(err)
	}
	return strings.Split(strings.TrimSuffix(all, "\n"), "\n")
}

// walkFind is where the line shown stands among those printed: the line itself, or
// the one that begins most like it, its numbers aside; -1 where none does.
func walkFind(printed []string, shown string) int {
	if i := slices.Index(printed, shown); i >= 0 {
		return i
	}
	words := func(s string) string {
		return strings.TrimLeft(strings.Map(func(r rune) rune {
			if unicode.IsDigit(r) || unicode.IsSpace(r) {
				return -1
			}
			return r
		}, s), " ")
	}
	best, most := -1, 2
	for i, line := range printed {
		a, b := words(line), words(shown)
		k := 0
		for k < len(a) && k < len(b) && a[k] == b[k] {
			k++
		}
		if k > most {
			best, most = i, k
		}
	}
	return best
}

// walkPictureOf is the n-th picture of a sheet of a workbook.
func walkPictureOf(t *testing.T, book, sheet string, n int) []byte {
	t.Helper()
	f, err := excelize.OpenFile(book)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	cells, err := f.GetPictureCells(sheet)
	if err != nil || len(cells) < n {
		t.Fatalf("%s, %s: %d pictures, %v", book, sheet, len(cells), err)
	}
	slices.SortFunc(cells, func(a, b string) int {
		_, x, _ := excelize.CellNameToCoordinates(a) // names that the library gave
		_, y, _ := excelize.CellNameToCoordinates(b)
		return x - y
	})
	list, err := f.GetPictures(sheet, cells[n-1])
	if err != nil || len(list) != 1 {
		t.Fatal(book, sheet, cells[n-1], len(list), err)
	}
	return list[0].File
}

// walkSame holds a picture that is kept against the one made, point by point: how
// it is packed may differ from one release of Go to another.
func walkSame(t *testing.T, kept string, made []byte) {
	t.Helper()
	points := func(data []byte) image.Image {
		p, err := png.Decode(bytes.NewReader(data))
		if err != nil {
			t.Fatal(kept, err)
		}
		return p
	}
	if xlsxtest.Update() {
		if err := os.WriteFile(kept, made, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	data, err := os.ReadFile(kept)
	if err != nil {
		t.Fatal(err)
	}
	a, b := points(data), points(made)
	if a.Bounds() != b.Bounds() {
		t.Fatalf("%s is %v; it is made %v", kept, a.Bounds(), b.Bounds())
	}
	for y := a.Bounds().Min.Y; y < a.Bounds().Max.Y; y++ {
		for x := a.Bounds().Min.X; x < a.Bounds().Max.X; x++ {
			if a.At(x, y) != b.At(x, y) {
				t.Fatalf("%s is not the picture that is made, first at %d, %d", kept, x, y)
			}
		}
	}
}

// walkUsed holds the sheet that came back filled against the one that went out:
// what stands there already is what the run planned.
func walkUsed(t *testing.T) {
	t.Helper()
	book, err := excelize.OpenFile("order.xlsx")
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	sent, err := book.GetRows(used.Sheet, excelize.Options{RawCellValue: true})
	if err != nil {
		t.Fatal(err)
	}
	planned := map[string]string{}
	for _, r := range sent {
		if len(r) > used.Planned {
			planned[strings.Join(r[:used.Name], " ")] = r[used.Planned]
		}
	}
	for i, r := range table(t, "used.csv") {
		key := r["Kit"] + " " + r["Record"] + " " + r["Code"]
		was, ok := planned[key]
		a, wrong := strconv.ParseFloat(was, 64)
		b, wrong2 := strconv.ParseFloat(r["Planned"], 64)
		if !ok || wrong == nil && wrong2 == nil && (a-b > 0.001 || b-a > 0.001) {
			t.Errorf("used.csv:%d: %s is planned as %s, not %s", i+2, key, was, r["Planned"])
		}
	}
}
