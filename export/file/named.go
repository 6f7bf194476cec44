package file

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// named is a temporary file with a name of its own.
type named struct{ *os.File }

// createNamed makes a new file that nobody else has, with the permissions that
// the user's mask gives to a new file.
func createNamed(folder, base string) (temporary, error) {
	for i := range 10_000 {
		f, err := os.OpenFile(temporaryName(folder, base, i), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
		if err == nil {
			return named{f}, nil
		}
		if !errors.Is(err, fs.ErrExist) {
			return nil, err
		}
	}
	return nil, fmt.Errorf("too many unfinished files of %s; remove those named .%s.*.part", base, base)
}

// temporaryName is beside the target, because only there can it be renamed over
// it. A long name is cut so that the added letters fit.
func temporaryName(folder, base string, i int) string {
	if len(base) > 200 {
		base = base[:200]
	}
	return filepath.Join(folder, fmt.Sprintf(".%s.%d-%d.part", base, os.Getpid(), i))
}

func (n named) rename(target string) error {
	if err := n.Close(); err != nil {
		_ = os.Remove(n.Name())
		return err
	}
	if err := os.Rename(n.Name(), target); err != nil {
		_ = os.Remove(n.Name())
		return err
	}
	return nil
}

func (n named) drop() {
	_ = n.Close()
	_ = os.Remove(n.Name())
}
