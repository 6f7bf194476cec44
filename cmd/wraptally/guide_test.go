package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"wraptally/estimate/trace/outside"
)

const root = "../.."

func guide(t *testing.T) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(root, "DEVELOPERS.md"))
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

var quoted = regexp.MustCompile("`([^`]+)`")

// allowed reads the guide's table of packages: what each may import.
func allowed(text string) map[string][]string {
	may := map[string][]string{}
	var above []string
	for line := range strings.SplitSeq(text, "\n") {
		cells := strings.Split(strings.Trim(line, "| "), " | ")
		if !strings.HasPrefix(line, "| `") || len(cells) < 2 || !regexp.MustCompile("^(`[a-z/]+`(, )?)+$").MatchString(cells[0]) {
			continue
		}
		var imports, names []string
		if len(cells) > 2 && strings.Contains(cells[2], "all of the above") {
			imports = slices.Clone(above)
		} else if len(cells) > 2 {
			for _, m := range quoted.FindAllStringSubmatch(cells[2], -1) {
				imports = append(imports, m[1])
			}
		}
		for _, m := range quoted.FindAllStringSubmatch(cells[0], -1) {
			names = append(names, m[1])
		}
		for _, n := range names {
			may[n] = imports
		}
		above = append(above, names...)
	}
	return may
}

// Packages import what the guide's table says and nothing else of this module,
// no package is missing there, and none stands there that is gone.
func TestImportsFollowTheGuide(t *testing.T) {
	may := allowed(guide(t))
	list := exec.Command("go", "list", "-json=ImportPath,Imports,TestImports,XTestImports", "./...")
	list.Dir = root
	out, err := list.Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	// For tests only: what others import of them is their tests.
	helper := []string{"estimate/internal/trial", "estimate/trace/depth", "estimate/trace/outside", "export/xlsx/xlsxtest"}
	found := map[string]bool{}
	for d := json.NewDecoder(bytes.NewReader(out)); ; {
		var p struct {
			ImportPath                         string
			Imports, TestImports, XTestImports []string
		}
		if err := d.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		name := strings.TrimPrefix(p.ImportPath, "wraptally/")
		tests := slices.Concat(p.TestImports, p.XTestImports)
		if slices.Contains(tests, "pgregory.net/rapid") && !slices.Contains(tests, "wraptally/estimate/trace/depth") {
			t.Errorf("the tests of %s draw without estimate/trace/depth, which says how often", name)
		}
		if slices.Contains(helper, name) {
			continue
		}
		found[name] = true
		imports, listed := may[name]
		if !listed {
			t.Errorf("the package %s is not in the table of DEVELOPERS.md", name)
		}
		for _, i := range p.Imports {
			i, ours := strings.CutPrefix(i, "wraptally/")
			if ours && !slices.Contains(imports, i) {
				t.Errorf("%s imports %s, which its row in DEVELOPERS.md does not allow", name, i)
			}
		}
	}
	for name := range may {
		if !found[name] {
			t.Errorf("DEVELOPERS.md lists the package %s, which is not there", name)
		}
	}
	if len(found) < 15 {
		t.Errorf("only %d packages found", len(found))
	}
}

// step is a piece of code of a recipe and where it goes.
type step struct{ file, before, code string }

var block = regexp.MustCompile("(?s)```go\n// ([^,\n]+), (?:before: ([^\n]+)|new)\n(.*?)```")

// recipe takes the steps out of a section of the guide.
func recipe(t *testing.T, heading string) (steps []step) {
	t.Helper()
	_, text, ok := strings.Cut(guide(t), "\n### "+heading+"\n")
	if !ok {
		t.Fatalf("DEVELOPERS.md has no recipe %q", heading)
	}
	text, _, _ = strings.Cut(text, "\n### ")
	for _, m := range block.FindAllStringSubmatch(text, -1) {
		steps = append(steps, step{m[1], m[2], m[3]})
	}
	return steps
}

// The recipes for a field and a sheet, carried out word by word on a copy of the
// tree: it builds, the tests of fields pass, the field is read and said on the
// kit's page, and the sheet is in the workbook.
func TestCrossRecipes(t *testing.T) {
	outside.Need(t, "go")
	tree := t.TempDir()
	for _, part := range []string{"cmd", "estimate", "catalog", "export", "testdata", "go.mod", "go.sum", "DEVELOPERS.md"} {
		from := filepath.Join(root, part)
		info, err := os.Stat(from)
		if err != nil {
			t.Fatal(err)
		}
		if info.IsDir() {
			err = os.CopyFS(filepath.Join(tree, part), os.DirFS(from))
		} else {
			var data []byte
			if data, err = os.ReadFile(from); err == nil {
				err = os.WriteFile(filepath.Join(tree, part), data, 0o666)
			}
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	steps := append(recipe(t, "A field of the survey"), recipe(t, "A sheet")...)
	if len(steps) != 5 {
		t.Fatalf("%d steps in the two recipes", len(steps))
	}
	for _, s := range steps {
		file := filepath.Join(tree, s.file)
		code := s.code
		if s.before != "" {
			text, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			if n := strings.Count(string(text), s.before); n != 1 {
				t.Fatalf("%s has %d places like %q", s.file, n, s.before)
			}
			code = strings.Replace(string(text), s.before, s.code+s.before, 1)
		}
		if err := os.WriteFile(file, []byte(code), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	in := func(name string, args ...string) string {
		t.Helper()
		cmd := exec.Command(name, args...)
		cmd.Dir = tree
		said, err := cmd.CombinedOutput()
		if err != nil {
			t.Fatalf("%s %s: %v\n%s", name, strings.Join(args, " "), err, said)
		}
		return string(said)
	}
	in("go", "build", "-buildvcs=false", "-o", "made", "./cmd/wraptally")
	in("go", "vet", "./estimate/survey", "./export")
	in("go", "test", "./estimate/survey", "-run", "Field|Combine|Together|Heading|Template|Answer")
	if said := in("./made", "fields"); !strings.Contains(said, "insulated") {
		t.Errorf("the new field is not listed:\n%s", said)
	}
	const survey = "id,line,chainage_m,od_mm,axial_mm,circ_mm,leaking,Under insulation\nA,L1,1,168.3,30,30,yes,yes\nB,L1,9,168.3,30,30,yes,no\n"
	if err := os.WriteFile(filepath.Join(tree, "survey.csv"), []byte(survey), 0o666); err != nil {
		t.Fatal(err)
	}
	in("./made", "estimate", "survey.csv", "-o", "out.xlsx", "-q")
	book, err := excelize.OpenFile(filepath.Join(tree, "out.xlsx"))
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	rows, err := book.GetRows("Surfaces")
	if err != nil || len(rows) < 4 || !slices.Contains(rows[2], "Repair") && !slices.Contains(rows[3], "Repair") {
		t.Errorf("the new sheet: %v, %q", err, rows)
	}
	kits, err := book.GetRows("Kits")
	if err != nil {
		t.Fatal(err)
	}
	said := 0
	for _, row := range kits {
		said += strings.Count(strings.Join(row, "\n"), "insulation off first")
	}
	if said != 1 {
		t.Errorf("%d kits of two say that insulation comes off, want one", said)
	}
}
