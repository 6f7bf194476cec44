package file

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"

	"github.com/gofrs/flock"
)

// Lock keeps two programs from writing the files of one name at once. The system
// lets go of it when the program ends, however it ends.
type Lock struct {
	name string
	held *flock.Flock
}

// HeldError says that another program is writing there.
type HeldError struct{ Path string }

func (e *HeldError) Error() string {
	return e.Path + " is being written by another run of this program; nothing is written"
}

// Advice is what to do.
func (e *HeldError) Advice() string { return "wait until it has ended, or give another name" }

// LockName is the name of the file by which a file's place is held.
func LockName(base string) string { return "." + base + ".being-written" }

// Hold takes the place of a file for this program. Where the folder takes no lock,
// being missing, closed or on a system without them, it is not held and no error:
// whoever writes there is told what is wrong.
func Hold(path string) (*Lock, error) {
	folder, err := filepath.EvalSymlinks(filepath.Dir(path))
	if err != nil {
		return nil, nil
	}
	name := filepath.Join(folder, LockName(filepath.Base(path)))
	const tries = 100 // one that has just let go takes its file away
	for range tries {
		l := flock.New(name, flock.SetPermissions(0o666))
		ok, err := l.TryLock()
		switch {
		case err != nil:
			return nil, nil
		case !ok:
			_ = l.Close()
			return nil, &HeldError{path}
		}
		mine, errA := l.Stat()
		now, errB := os.Stat(name)
		if errA == nil && errB == nil && os.SameFile(mine, now) {
			return &Lock{name, l}, nil
		}
		_ = l.Close()
	}
	return nil, fmt.Errorf("cannot hold %s", name)
}

// Release lets go; once it has, and for a place that is not held, it does nothing.
func (l *Lock) Release() {
	if l == nil || l.held == nil {
		return
	}
	remove := func() {
		if now, err := os.Stat(l.name); err == nil && now.Size() == 0 { // ours holds nothing
			_ = os.Remove(l.name)
		}
	}
	remove()
	_ = l.held.Close()
	if runtime.GOOS == "windows" {
		remove() // there none that is open goes away, nor does one that is held again
	}
	l.held = nil
}
