package file

import (
	"fmt"
	"os"
	"path/filepath"

	"golang.org/x/sys/unix"
)

// create makes a file without a name (open(2), O_TMPFILE): should the process be
// killed, the system takes it away and nothing is left behind. Not every file
// system has such files.
func create(folder, base string) (temporary, error) {
	if fd, err := unix.Open(folder, unix.O_TMPFILE|unix.O_WRONLY|unix.O_CLOEXEC, 0o666); err == nil {
		f, here := os.NewFile(uintptr(fd), filepath.Join(folder, base)), fmt.Sprintf("/proc/self/fd/%d", fd)
		if _, err := os.Stat(here); err == nil {
			return temporary{File: f, link: func(name string) error {
				return unix.Linkat(unix.AT_FDCWD, here, unix.AT_FDCWD, name, unix.AT_SYMLINK_FOLLOW)
			}}, nil
		}
		_ = f.Close() // it could not be named later
	}
	return createNamed(folder, base)
}
