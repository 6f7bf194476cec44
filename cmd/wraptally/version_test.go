package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime/debug"
	"strings"
	"testing"

	"wraptally/export/xlsx/xlsxtest"
)

// licenceFile are the names by which a module states its terms.
var licenceFile = regexp.MustCompile(`(?i)^(licen[cs]e|copying|notice|patents)([.-].*)?$`)

// linked gives, by import path of the module, the licence files of what the
// program is built of on any of the systems it is built for: those at the root of each
// module and beside each package that is linked.
func linked(t *testing.T) map[string]map[string][]byte {
	t.Helper()
	type module struct {
		Path, Dir string
		Main      bool
	}
	texts := map[string]map[string][]byte{}
	for _, system := range []string{"linux", "windows", "darwin"} {
		cmd := exec.Command("go", "list", "-deps", "-json=Dir,Module", ".")
		cmd.Env = append(os.Environ(), "GOOS="+system, "CGO_ENABLED=0")
		list, err := cmd.Output()
		if err != nil {
			t.Fatalf("go list: %v", err)
		}
		for d := json.NewDecoder(bytes.NewReader(list)); ; {
			var p struct {
				Dir    string
				Module *module
			}
			if err := d.Decode(&p); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				t.Fatal(err)
			}
			if p.Module == nil || p.Module.Main {
				continue
			}
			m := texts[p.Module.Path]
			if m == nil {
				m = map[string][]byte{}
				texts[p.Module.Path] = m
			}
			for _, dir := range []string{p.Module.Dir, p.Dir} {
				collect(t, m, p.Module.Dir, dir)
			}
		}
	}
	return texts
}

// collect reads the licence files of a folder into m, by their name within the root.
func collect(t *testing.T, m map[string][]byte, root, dir string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if e.IsDir() || !licenceFile.MatchString(e.Name()) || strings.HasSuffix(e.Name(), ".go") {
			continue
		}
		name, err := filepath.Rel(root, filepath.Join(dir, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		if m[filepath.ToSlash(name)], err = os.ReadFile(filepath.Join(dir, e.Name())); err != nil {
			t.Fatal(err)
		}
	}
}

// The texts that --notices prints are those of the modules linked, each of them
// and no other: source, the module cache, whose content go.sum vouches for.
func TestNoticesAreThoseOfTheModules(t *testing.T) {
	want := map[string][]byte{}
	for module, texts := range linked(t) {
		if len(texts) == 0 {
			t.Errorf("module %s has no licence file: it may not be passed on", module)
		}
		for name, text := range texts {
			want["notices/"+module+"/"+name] = text
		}
	}
	if len(want) < 12 {
		t.Fatalf("only %d licence files found", len(want))
	}
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		t.Fatal(err)
	}
	std := map[string][]byte{}
	goroot := strings.TrimSpace(string(root))
	collect(t, std, goroot, goroot)
	for _, name := range []string{"LICENSE", "PATENTS"} {
		embedded, err := notices.ReadFile("notices/go/" + name)
		switch text, there := std[name]; {
		case there:
			want["notices/go/"+name] = text
		case err != nil:
			t.Errorf("%v, and the standard library here has none to take", err)
		default: // some distributions keep it elsewhere
			want["notices/go/"+name] = embedded
		}
	}
	if xlsxtest.Update() {
		if err := os.RemoveAll("notices"); err != nil {
			t.Fatal(err)
		}
		for name, text := range want {
			if err := os.MkdirAll(filepath.Dir(name), 0o777); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(name, text, 0o666); err != nil {
				t.Fatal(err)
			}
		}
		return
	}
	err = fs.WalkDir(notices, "notices", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := notices.ReadFile(name)
		if err != nil {
			return err
		}
		if linked, ok := want[name]; !ok {
			t.Errorf("%s is of nothing that is linked", name)
		} else if !bytes.Equal(text, linked) {
			t.Errorf("%s is not the text of the module", name)
		}
		delete(want, name)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for name := range want {
		t.Errorf("%s is missing; go test ./cmd/wraptally -run NoticesAre -update takes it over", name)
	}
}

func TestNoticesPrintEachTextOnceUnderAllItsNames(t *testing.T) {
	var out bytes.Buffer
	if err := printNotices(&out); err != nil {
		t.Fatal(err)
	}
	for module := range linked(t) {
		if strings.Count(out.String(), "== "+module+" (LICENSE") != 1 {
			t.Errorf("%s is not named once", module)
		}
	}
	// Two phrases that every BSD and MIT licence asks to be kept.
	for _, phrase := range []string{"THIS SOFTWARE IS PROVIDED BY THE COPYRIGHT HOLDERS", `THE SOFTWARE IS PROVIDED "AS IS"`, "Additional IP Rights Grant"} {
		if !strings.Contains(out.String(), phrase) {
			t.Errorf("nowhere %q", phrase)
		}
	}
	if n := strings.Count(out.String(), "Additional IP Rights Grant"); n != 1 {
		t.Errorf("the grant of patents, the same for all, is printed %d times", n)
	}
}

func TestVersionTellsTheBuild(t *testing.T) {
	var out bytes.Buffer
	printVersion(&out, &debug.BuildInfo{
		GoVersion: "go1.26.0",
		Main:      debug.Module{Path: "wraptally", Version: "v1.2.3"},
		Deps: []*debug.Module{
			{Path: "example.org/a", Version: "v0.1.0"},
			{Path: "example.org/b", Version: "v0.2.0", Replace: &debug.Module{Path: "example.org/c", Version: "v0.3.0"}},
		},
		Settings: []debug.BuildSetting{{Key: "vcs.revision", Value: "0123abcd"}, {Key: "vcs.modified", Value: "true"}},
	})
	want := "wraptally v1.2.3\ncommit 0123abcd, with changes that are not in it\nbuilt with go1.26.0\nmodule example.org/a v0.1.0\nmodule example.org/c v0.3.0\n"
	if out.String() != want {
		t.Errorf("printed\n%swant\n%s", out.String(), want)
	}
	out.Reset()
	printVersion(&out, &debug.BuildInfo{GoVersion: "go1.26.0"})
	if want := "wraptally built from source\ncommit not recorded in this build\nbuilt with go1.26.0\n"; out.String() != want {
		t.Errorf("printed\n%swant\n%s", out.String(), want)
	}
}
