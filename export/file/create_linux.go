package file

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"golang.org/x/sys/unix"
)

// nameless is a file without a name (open(2), O_TMPFILE): should the process be
// killed, the system takes it away and nothing is left behind.
type nameless struct {
	*os.File
	folder string
}

func create(folder, base string) (temporary, error) {
	fd, err := unix.Open(folder, unix.O_TMPFILE|unix.O_WRONLY|unix.O_CLOEXEC, 0o666)
	if err != nil {
		// Not every file system has nameless files.
		return createNamed(folder, base)
	}
	f := nameless{os.NewFile(uintptr(fd), filepath.Join(folder, base)), folder}
	if _, err := os.Stat(f.proc()); err != nil { // it could not be named later
		_ = f.Close()
		return createNamed(folder, base)
	}
	return f, nil
}

func (n nameless) proc() string { return fmt.Sprintf("/proc/self/fd/%d", n.Fd()) }

func (n nameless) rename(target string) error {
	defer n.Close()
	for i := range 10_000 {
		temp := temporaryName(n.folder, filepath.Base(target), i)
		err := unix.Linkat(unix.AT_FDCWD, n.proc(), unix.AT_FDCWD, temp, unix.AT_SYMLINK_FOLLOW)
		if errors.Is(err, unix.EEXIST) {
			continue
		}
		if err != nil {
			return err
		}
		if err := os.Rename(temp, target); err != nil {
			_ = os.Remove(temp)
			return err
		}
		return nil
	}
	return fmt.Errorf("too many unfinished files in %s", n.folder)
}

func (n nameless) drop() { _ = n.Close() }
