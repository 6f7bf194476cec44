// Package file writes files so that a failure never costs anyone what was there
// before: everything is written beside its target first, brought to the disk,
// and only then renamed over it.
package file

import (
	"bufio"
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
)

// Replace writes one file and puts it in the place of whatever had that name.
// The inputs are files that the output must not be, under any name.
func Replace(path string, inputs []string, write func(io.Writer) error) error {
	s := NewSet(inputs...)
	defer s.Abort()
	if err := s.Add(path, write); err != nil {
		return err
	}
	return s.Commit()
}

// A Set is several files that belong together: all are written first, then all
// are renamed. A Set is used by one goroutine.
type Set struct {
	inputs []string
	drafts []*draft
}

// draft is a file that is written but does not yet have its name.
type draft struct {
	asked  string // as the user named it, for messages
	target string // the real file, links followed
	temp   temporary
}

// NewSet starts a set of outputs none of which may be one of the inputs.
func NewSet(inputs ...string) *Set { return &Set{inputs: slices.Clone(inputs)} }

// An Output is a file to be written.
type Output struct {
	Path  string
	Write func(io.Writer) error
}

// Add writes a file beside its target. The target is not touched before Commit;
// when the target is not a file but a device or a pipe, there is nothing to keep
// and it is written at once.
func (s *Set) Add(path string, write func(io.Writer) error) error {
	return s.AddAll([]Output{{path, write}})
}

// mostOpen bounds the files held open until they are put in place: systems allow
// as few as 256 a program. Of more files those beyond it wait under names of their
// own beside their targets.
const mostOpen = 128

// AddAll is Add for several files, written side by side on the processors there
// are; told is called after each, one call at a time, and may be nil. Of several
// failures the one of the file named first is returned.
func (s *Set) AddAll(outputs []Output, told ...func(done int)) error {
	errs := make([]error, len(outputs))
	before := len(s.drafts)
	work := make(chan func(), len(outputs))
	var mu sync.Mutex
	done := 0
	finish := func(i int, err error) {
		mu.Lock()
		defer mu.Unlock()
		errs[i] = err
		done++
		for _, tell := range told {
			tell(done)
		}
	}
	for i, out := range outputs {
		d, old, err := s.draft(out.Path)
		switch {
		case err != nil:
			finish(i, err)
		case d == nil:
			finish(i, writeStream(out.Path, out.Write))
		default:
			s.drafts = append(s.drafts, d) // dropped by Abort where it is not committed
			hold := len(s.drafts) <= mostOpen
			work <- func() { finish(i, explain(out.Path, d.make(old, out.Write, hold))) }
		}
		if errs[i] != nil {
			break
		}
	}
	close(work)
	if err := sideBySide(work); err != nil {
		panic(err) // in the caller's goroutine, whose Abort cleans up
	}
	for _, err := range errs {
		if err != nil {
			for _, d := range s.drafts[before:] {
				d.temp.drop()
			}
			s.drafts = s.drafts[:before]
			return err
		}
	}
	return nil
}

// sideBySide does the work on as many goroutines as there are processors and
// gives what the first of them to panic panicked with.
func sideBySide(work <-chan func()) (crash any) {
	var group sync.WaitGroup
	var once sync.Once
	for range min(runtime.GOMAXPROCS(0), len(work)) {
		group.Go(func() {
			defer func() {
				if r := recover(); r != nil {
					once.Do(func() { crash = r })
				}
			}()
			for write := range work {
				write()
			}
		})
	}
	group.Wait()
	return crash
}

// NameError says why an output cannot have the name it was given.
type NameError struct{ Why string }

func (e *NameError) Error() string { return e.Why }

// Advice is what to do.
func (e *NameError) Advice() string { return "give the output a file name of its own" }

// draft is the file that an output is written to, not made yet; nil where the
// target is a device or a pipe.
func (s *Set) draft(path string) (*draft, fs.FileInfo, error) {
	switch {
	case path == "":
		return nil, nil, &NameError{"the output file has no name"}
	case strings.HasSuffix(path, "/") || strings.HasSuffix(path, string(filepath.Separator)):
		return nil, nil, &NameError{path + " names a folder, not a file"}
	}
	for _, input := range s.inputs {
		if same(path, input) {
			return nil, nil, &SameFileError{Output: path, Input: input}
		}
	}
	target, old, err := resolve(path)
	switch {
	case err != nil:
		return nil, nil, err
	case old != nil && old.IsDir():
		return nil, nil, &NameError{path + " is a folder, not a file"}
	}
	for _, d := range s.drafts {
		if d.target == target || same(d.target, target) {
			return nil, nil, &NameError{d.asked + " and " + path + " are the same output file"}
		}
	}
	if old != nil {
		if !old.Mode().IsRegular() {
			return nil, nil, nil
		}
		if err := writable(path, target, old); err != nil {
			return nil, nil, err
		}
	}
	return &draft{asked: path, target: target}, old, nil
}

// Check reports why a file could not be written, before long work is done for it.
func Check(path string) error {
	d, _, err := new(Set).draft(path)
	if err != nil || d == nil {
		return err
	}
	f, err := os.CreateTemp(filepath.Dir(d.target), ".wraptally-*")
	if err != nil {
		return cannot("write", path, err)
	}
	return cmp.Or(f.Close(), os.Remove(f.Name()))
}

// make writes the draft, and closes it unless it is to be held open.
func (d *draft) make(old fs.FileInfo, write func(io.Writer) error, hold bool) (err error) {
	if d.temp, err = create(filepath.Dir(d.target), filepath.Base(d.target)); err != nil {
		return cannot("create a file in the folder of", d.asked, err)
	}
	if err = fill(d.temp, old, write); err == nil && !hold {
		err = d.temp.close(d.target)
	}
	return err
}

// Commit gives every file its name. When one cannot be renamed, those renamed
// before it stay and the error tells them; the others keep what they held.
func (s *Set) Commit() error {
	drafts := s.drafts
	s.drafts = nil
	for i, d := range drafts {
		if err := d.temp.rename(d.target); err != nil {
			for _, rest := range drafts[i+1:] {
				rest.temp.drop()
			}
			return partly(drafts[:i], cannot("put the new file in place of", d.asked, err))
		}
	}
	syncFolders(drafts)
	return nil
}

// Abort removes what was written and not committed. After Commit it does
// nothing, so it can always be deferred.
func (s *Set) Abort() {
	for _, d := range s.drafts {
		d.temp.drop()
	}
	s.drafts = nil
}

// SameFileError says that writing the output would destroy an input.
type SameFileError struct{ Output, Input string }

func (e *SameFileError) Error() string {
	if e.Output == e.Input {
		return fmt.Sprintf("%s is an input; it will not be written over", e.Output)
	}
	return fmt.Sprintf("%s is the same file as the input %s; it will not be written over", e.Output, e.Input)
}

// same reports whether two names lead to one file, through symbolic links and
// hard links alike.
func same(a, b string) bool {
	ia, errA := os.Stat(a)
	ib, errB := os.Stat(b)
	return errA == nil && errB == nil && os.SameFile(ia, ib)
}

// resolve follows symbolic links, so that a link goes on pointing to the file it
// pointed to. Old is nil when there is no such file yet.
func resolve(path string) (target string, old fs.FileInfo, err error) {
	old, err = os.Stat(path)
	switch {
	case err == nil && !old.Mode().IsRegular():
		return path, old, nil
	case err == nil:
		target, err = filepath.EvalSymlinks(path)
		if err != nil {
			return "", nil, cannot("follow the links to", path, err)
		}
	case errors.Is(err, fs.ErrNotExist):
		if link, err := os.Readlink(path); err == nil {
			return "", nil, fmt.Errorf("%s is a link to %s, which does not exist", path, link)
		}
		// The folder may be reached through links; the file is new.
		folder, err := filepath.EvalSymlinks(filepath.Dir(path))
		if err != nil {
			return "", nil, cannot("find the folder of", path, err)
		}
		target, old = filepath.Join(folder, filepath.Base(path)), nil
	default:
		return "", nil, cannot("look at", path, err)
	}
	if target, err = filepath.Abs(target); err != nil {
		return "", nil, cannot("find", path, err)
	}
	return target, old, nil
}

// writable refuses a file that its owner has set read-only or that may not be
// written: a rename would replace it all the same.
func writable(path, target string, old fs.FileInfo) error {
	if old.Mode().Perm()&0o222 == 0 {
		return fmt.Errorf("%s is read-only; it will not be written over", path)
	}
	f, err := os.OpenFile(target, os.O_WRONLY, 0)
	if err != nil {
		return cannot("write", path, err)
	}
	return f.Close()
}

func fill(temp temporary, old fs.FileInfo, write func(io.Writer) error) error {
	if err := through(temp, write); err != nil {
		return err
	}
	if old != nil {
		if err := temp.Chmod(old.Mode().Perm()); err != nil {
			return err
		}
	}
	return temp.Sync()
}

func writeStream(path string, write func(io.Writer) error) error {
	f, err := os.OpenFile(path, os.O_WRONLY, 0)
	if err != nil {
		return cannot("open", path, err)
	}
	return explain(path, errors.Join(through(f, write), f.Close()))
}

// through writes to a file in large blocks.
func through(f io.Writer, write func(io.Writer) error) error {
	buffered := bufio.NewWriterSize(f, 1<<16)
	if err := write(buffered); err != nil {
		return err
	}
	return buffered.Flush()
}

// syncFolders makes the renames last through a power cut. Systems that cannot
// do this for a folder are left alone.
func syncFolders(drafts []*draft) {
	var done []string
	for _, d := range drafts {
		folder := filepath.Dir(d.target)
		if slices.Contains(done, folder) {
			continue
		}
		done = append(done, folder)
		if f, err := os.Open(folder); err == nil {
			_ = f.Sync()
			_ = f.Close()
		}
	}
}

// partly says what had been replaced when something went wrong.
func partly(done []*draft, err error) error {
	if len(done) == 0 {
		return err
	}
	names := make([]string, len(done))
	for i, d := range done {
		names[i] = d.asked
	}
	return fmt.Errorf("%w (already replaced: %s)", err, strings.Join(names, ", "))
}

// explain leaves errors of the writer as they are and puts those of the file
// system into words.
func explain(path string, err error) error {
	var trouble *fs.PathError
	if errors.As(err, &trouble) {
		return cannot("write", path, err)
	}
	return err
}

func cannot(do, path string, err error) error {
	var trouble *fs.PathError
	if errors.As(err, &trouble) {
		err = trouble.Err
	}
	var link *os.LinkError
	if errors.As(err, &link) {
		err = link.Err
	}
	return fmt.Errorf("cannot %s %s: %w", do, path, err)
}
