package file_test

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"wraptally/export/file"
)

func writes(text string) func(io.Writer) error {
	return func(w io.Writer) error { _, err := io.WriteString(w, text); return err }
}

func put(t *testing.T, path, text string) string {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// holds checks a file's content and that nothing else lies in its folder.
func holds(t *testing.T, folder string, want map[string]string) {
	t.Helper()
	entries, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		text, expected := want[e.Name()]
		if !expected {
			t.Errorf("left behind: %s", e.Name())
			continue
		}
		got, err := os.ReadFile(filepath.Join(folder, e.Name()))
		if err != nil || string(got) != text {
			t.Errorf("%s holds %q (%v), want %q", e.Name(), got, err, text)
		}
	}
	if len(entries) < len(want) {
		t.Errorf("%d files, want %d", len(entries), len(want))
	}
}

func TestReplace(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "out")
	for _, text := range []string{"first", "second, longer", "3"} {
		if err := file.Replace(path, nil, writes(text)); err != nil {
			t.Fatal(err)
		}
		holds(t, dir, map[string]string{"out": text})
	}
}

func TestPermissionsStay(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("no such permissions")
	}
	dir := t.TempDir()
	path := put(t, filepath.Join(dir, "out"), "old")
	if err := os.Chmod(path, 0o640); err != nil {
		t.Fatal(err)
	}
	if err := file.Replace(path, nil, writes("new")); err != nil {
		t.Fatal(err)
	}
	fresh := filepath.Join(dir, "fresh")
	if err := file.Replace(fresh, nil, writes("new")); err != nil {
		t.Fatal(err)
	}
	plain := put(t, filepath.Join(dir, "plain"), "") // what the user's mask gives
	mode := func(p string) os.FileMode {
		i, err := os.Stat(p)
		if err != nil {
			t.Fatal(err)
		}
		return i.Mode().Perm()
	}
	if m := mode(path); m != 0o640 {
		t.Errorf("the replaced file has mode %v", m)
	}
	if a, b := mode(fresh)&0o644, mode(plain); a != b {
		t.Errorf("a new file has mode %v, want %v", a, b)
	}
}

func TestFailureKeepsTheOldFile(t *testing.T) {
	dir := t.TempDir()
	path := put(t, filepath.Join(dir, "out"), "old")
	trouble := errors.New("the writer gave up")
	err := file.Replace(path, nil, func(w io.Writer) error {
		_, _ = io.WriteString(w, strings.Repeat("x", 1<<20))
		return trouble
	})
	if !errors.Is(err, trouble) {
		t.Errorf("error %v", err)
	}
	holds(t, dir, map[string]string{"out": "old"})
}

func TestPanicLeavesNothing(t *testing.T) {
	dir := t.TempDir()
	func() {
		defer func() { _ = recover() }()
		_ = file.Replace(filepath.Join(dir, "out"), nil, func(io.Writer) error { panic("in the writer") })
	}()
	if runtime.GOOS == "linux" { // elsewhere the unfinished file has a name
		holds(t, dir, nil)
	}
}

func TestOutputIsNotAnInput(t *testing.T) {
	dir := t.TempDir()
	in := put(t, filepath.Join(dir, "in"), "data")
	hard, soft := filepath.Join(dir, "hard"), filepath.Join(dir, "soft")
	if err := os.Link(in, hard); err != nil {
		t.Skip(err)
	}
	if err := os.Symlink("in", soft); err != nil {
		t.Skip(err)
	}
	for _, out := range []string{in, dir + "/./in", hard, soft} {
		err := file.Replace(out, []string{"elsewhere", in}, writes("new"))
		var same *file.SameFileError
		if !errors.As(err, &same) {
			t.Errorf("%s: %v", out, err)
		}
	}
	holds(t, dir, map[string]string{"in": "data", "hard": "data", "soft": "data"})
}

func TestLinkStaysALink(t *testing.T) {
	dir, elsewhere := t.TempDir(), t.TempDir()
	real := put(t, filepath.Join(elsewhere, "real"), "old")
	link := filepath.Join(dir, "link")
	if err := os.Symlink(real, link); err != nil {
		t.Skip(err)
	}
	if err := file.Replace(link, nil, writes("new")); err != nil {
		t.Fatal(err)
	}
	if to, err := os.Readlink(link); err != nil || to != real {
		t.Errorf("the link leads to %q (%v)", to, err)
	}
	holds(t, elsewhere, map[string]string{"real": "new"})
}

func TestRefusedTargets(t *testing.T) {
	dir := t.TempDir()
	readOnly := put(t, filepath.Join(dir, "readonly"), "old")
	if err := os.Chmod(readOnly, 0o444); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(dir, "folder"), 0o777); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("nowhere", filepath.Join(dir, "dangling")); err != nil {
		t.Skip(err)
	}
	for path, want := range map[string]string{
		"":                                   "no name",
		readOnly:                             "read-only",
		filepath.Join(dir, "folder"):         "is a folder",
		dir + "/new/":                        "names a folder",
		filepath.Join(dir, "missing", "out"): "cannot find the folder of",
		filepath.Join(readOnly, "out"):       "not a directory",
		filepath.Join(dir, "dangling"):       "does not exist",
		filepath.Join(dir, strings.Repeat("x", 300)): "name too long",
	} {
		err := file.Replace(path, nil, writes("new"))
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: error %v does not tell %q", path, err, want)
		}
	}
	if got, _ := os.ReadFile(readOnly); string(got) != "old" {
		t.Errorf("the read-only file holds %q", got)
	}
}

func TestUnwritableFolder(t *testing.T) {
	if os.Geteuid() == 0 {
		t.Skip("the superuser may write everywhere")
	}
	dir := t.TempDir()
	path := put(t, filepath.Join(dir, "out"), "old")
	if err := os.Chmod(dir, 0o555); err != nil {
		t.Fatal(err)
	}
	defer os.Chmod(dir, 0o777)
	if err := file.Replace(path, nil, writes("new")); err == nil {
		t.Error("written into a folder that is closed")
	}
	holds(t, dir, map[string]string{"out": "old"})
}

// A device is written to, never replaced by a file.
func TestDevices(t *testing.T) {
	if _, err := os.Stat("/dev/full"); err != nil {
		t.Skip("no /dev/full here")
	}
	if err := file.Replace("/dev/full", nil, writes("new")); err == nil || !strings.Contains(err.Error(), "no space left") {
		t.Errorf("a full disk: %v", err)
	}
	if err := file.Replace("/dev/null", nil, writes("new")); err != nil {
		t.Error(err)
	}
	for _, dev := range []string{"/dev/full", "/dev/null"} {
		if i, err := os.Stat(dev); err != nil || i.Mode().IsRegular() {
			t.Fatalf("%s is no longer a device", dev)
		}
	}
}

func TestSetIsAllOrNothing(t *testing.T) {
	dir := t.TempDir()
	a, b := put(t, filepath.Join(dir, "a"), "old a"), filepath.Join(dir, "b")
	s := file.NewSet()
	if err := s.Add(a, writes("new a")); err != nil {
		t.Fatal(err)
	}
	if err := s.Add(b, func(io.Writer) error { return errors.New("broken") }); err == nil {
		t.Fatal("no error")
	}
	s.Abort()
	holds(t, dir, map[string]string{"a": "old a"})

	s = file.NewSet()
	for _, p := range []string{a, b} {
		if err := s.Add(p, writes("new "+filepath.Base(p))); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.Add(filepath.Join(dir, ".", "a"), writes("twice")); err == nil || !strings.Contains(err.Error(), "same output") {
		t.Errorf("the same output twice: %v", err)
	}
	if err := s.Add(dir+"/../"+filepath.Base(dir)+"/b", writes("twice")); err == nil || !strings.Contains(err.Error(), "same output") {
		t.Errorf("the same new output twice: %v", err)
	}
	if got, _ := os.ReadFile(a); string(got) != "old a" {
		t.Errorf("replaced before the commit: %q", got)
	}
	if err := s.Commit(); err != nil {
		t.Fatal(err)
	}
	s.Abort() // does nothing now
	holds(t, dir, map[string]string{"a": "new a", "b": "new b"})
}

func TestCommitTellsWhatWasReplaced(t *testing.T) {
	dir := t.TempDir()
	s := file.NewSet()
	for _, n := range []string{"a", "b", "c"} {
		if err := s.Add(filepath.Join(dir, n), writes("new "+n)); err != nil {
			t.Fatal(err)
		}
	}
	// Someone puts a folder in the way before the commit.
	if err := os.Mkdir(filepath.Join(dir, "b"), 0o777); err != nil {
		t.Fatal(err)
	}
	err := s.Commit()
	if err == nil || !strings.Contains(err.Error(), "already replaced: "+filepath.Join(dir, "a")) {
		t.Errorf("error %v", err)
	}
	if err := os.Remove(filepath.Join(dir, "b")); err != nil {
		t.Fatal(err)
	}
	holds(t, dir, map[string]string{"a": "new a"})
}

// The test binary itself plays the process that is killed or runs out of room.
const role = "FILE_TEST_ROLE"

func TestMain(m *testing.M) {
	switch path := os.Getenv("FILE_TEST_PATH"); os.Getenv(role) {
	case "slow":
		_ = file.Replace(path, nil, func(w io.Writer) error {
			for i := 0; ; i++ {
				fmt.Fprintln(w, "line", i)
				if i == 100_000 {
					fmt.Println("half way")
				}
				if i > 100_000 {
					time.Sleep(time.Millisecond)
				}
			}
		})
	case "many":
		s := file.NewSet()
		var list []file.Output
		for i := range 1000 {
			list = append(list, file.Output{Path: filepath.Join(path, fmt.Sprint(i)), Write: writes(fmt.Sprint("new ", i))})
		}
		err := s.AddAll(list)
		if err == nil {
			err = s.Commit()
		}
		fmt.Println(err)
	case "hold":
		l, err := file.Hold(path)
		fmt.Println("held", err)
		time.Sleep(time.Minute)
		l.Release()
	case "fill":
		err := file.Replace(path, nil, writes(strings.Repeat("x", 4<<20)))
		fmt.Println(err)
	default:
		os.Exit(m.Run())
	}
}

func as(t *testing.T, what, path string) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(self)
	cmd.Env = append(os.Environ(), role+"="+what, "FILE_TEST_PATH="+path)
	return cmd
}

func TestKilledHalfway(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("only Linux has files without a name")
	}
	dir := t.TempDir()
	path := put(t, filepath.Join(dir, "out"), "old")
	cmd := as(t, "slow", path)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	if line, err := bufio.NewReader(out).ReadString('\n'); line != "half way\n" {
		t.Fatal(line, err)
	}
	if err := cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = cmd.Wait()
	holds(t, dir, map[string]string{"out": "old"})
}

// However many files belong together, 200 open ones are enough.
func TestManyFiles(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("needs a shell's ulimit")
	}
	dir := t.TempDir()
	cmd := as(t, "many", dir)
	limited := exec.Command("sh", "-c", `ulimit -n 200; exec "$0"`, cmd.Path)
	limited.Env = cmd.Env
	said, err := limited.CombinedOutput()
	if err != nil || strings.TrimSpace(string(said)) != "<nil>" {
		t.Fatalf("%v: %s", err, said)
	}
	want := map[string]string{}
	for i := range 1000 {
		want[fmt.Sprint(i)] = fmt.Sprint("new ", i)
	}
	holds(t, dir, want)
}

// What one of many files fails by leaves none of them behind, those that are
// closed already neither.
func TestManyFilesFailTogether(t *testing.T) {
	dir := t.TempDir()
	old := put(t, filepath.Join(dir, "0"), "old")
	s := file.NewSet()
	list := []file.Output{{Path: old, Write: writes("new")}}
	for i := range 300 {
		list = append(list, file.Output{Path: filepath.Join(dir, fmt.Sprint(i+1)), Write: writes("new")})
	}
	list = append(list, file.Output{Path: filepath.Join(dir, "last"), Write: func(io.Writer) error { return errors.New("broken") }})
	if err := s.AddAll(list); err == nil {
		t.Fatal("no error")
	}
	s.Abort()
	holds(t, dir, map[string]string{"0": "old"})
}

// While one program holds a file's place another is told so; a program that is
// killed blocks nobody, and nothing is left behind.
func TestOneAtATime(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "out.xlsx")
	cmd := as(t, "hold", path)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	if line, _ := bufio.NewReader(out).ReadString('\n'); line != "held <nil>\n" {
		t.Fatal(line)
	}
	_, err = file.Hold(path)
	var held *file.HeldError
	if !errors.As(err, &held) || held.Path != path {
		t.Errorf("held by another: %v", err)
	}
	other, err := file.Hold(filepath.Join(dir, "other.xlsx"))
	if err != nil {
		t.Errorf("another file: %v", err)
	}
	other.Release()
	if err := cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = cmd.Wait()
	mine, err := file.Hold(path)
	if err != nil {
		t.Errorf("after the other was killed: %v", err)
	}
	mine.Release()
	mine.Release() // again does nothing
	holds(t, dir, nil)
	if err := os.WriteFile(filepath.Join(dir, file.LockName("out.xlsx")), []byte("somebody's"), 0o666); err != nil {
		t.Fatal(err)
	}
	if mine, err = file.Hold(path); err != nil {
		t.Fatal(err)
	}
	mine.Release()
	holds(t, dir, map[string]string{file.LockName("out.xlsx"): "somebody's"})
}

// A limit on the size of files stands in for a full disk: the write fails in the
// middle in the same way.
func TestRoomRunsOut(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("needs a shell's ulimit")
	}
	dir := t.TempDir()
	path := put(t, filepath.Join(dir, "out"), "old")
	cmd := as(t, "fill", path)
	limited := exec.Command("sh", "-c", `trap "" XFSZ; ulimit -f 1024; exec "$0"`, cmd.Path)
	limited.Env = cmd.Env
	said, err := limited.CombinedOutput()
	if err != nil || !strings.Contains(string(said), "cannot write "+path) {
		t.Errorf("%v: %s", err, said)
	}
	holds(t, dir, map[string]string{"out": "old"})
}

// A small disk that is really full, where the machine lets us have one.
func TestFullDisk(t *testing.T) {
	dir := t.TempDir()
	if runtime.GOOS != "linux" || exec.Command("mount", "-t", "tmpfs", "-o", "size=1m", "tmpfs", dir).Run() != nil {
		t.Skip("cannot have a small disk here")
	}
	defer func() { _ = exec.Command("umount", dir).Run() }()
	path := put(t, filepath.Join(dir, "out"), "old")
	err := file.Replace(path, nil, writes(strings.Repeat("x", 4<<20)))
	if err == nil || !strings.Contains(err.Error(), "no space left") {
		t.Errorf("error %v", err)
	}
	holds(t, dir, map[string]string{"out": "old"})
}
