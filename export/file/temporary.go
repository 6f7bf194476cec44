package file

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// temporary is a file beside the target, which is where it can be renamed over
// it.
type temporary struct {
	*os.File
	link   func(name string) error // gives a file without a name one; nil where it has one
	closed string                  // its name, once it is closed
}

// createNamed makes a new file that nobody else has, with the permissions that
// the user's mask gives to a new file.
func createNamed(folder, base string) (t temporary, err error) {
	_, err = unused(folder, base, func(name string) (err error) {
		t.File, err = os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
		return err
	})
	return t, err
}

// unused takes a name beside the target that nobody has. A long name is cut so
// that the added letters fit.
func unused(folder, base string, take func(name string) error) (string, error) {
	short := base[:min(len(base), 200)]
	for i := range 10_000 {
		name := filepath.Join(folder, fmt.Sprintf(".%s.%d-%d.part", short, os.Getpid(), i))
		if err := take(name); !errors.Is(err, fs.ErrExist) {
			return name, err
		}
	}
	return "", fmt.Errorf("too many unfinished files of %s; remove those named .%s.*.part", base, short)
}

// close closes the file, which gets a name beside the target if it has none.
func (t *temporary) close(target string) (err error) {
	name := t.Name()
	if t.link != nil {
		name, err = unused(filepath.Dir(target), filepath.Base(target), t.link)
	}
	if err = errors.Join(err, t.Close()); err != nil {
		_ = os.Remove(name)
		return err
	}
	t.closed = name
	return nil
}

// rename closes the file and puts it in the target's place.
func (t *temporary) rename(target string) (err error) {
	if t.closed == "" {
		if err := t.close(target); err != nil {
			return err
		}
	}
	if err = os.Rename(t.closed, target); err != nil {
		_ = os.Remove(t.closed)
	}
	return err
}

// drop closes the file and removes it.
func (t *temporary) drop() {
	switch {
	case t.File == nil: // never made
	case t.closed != "":
		_ = os.Remove(t.closed)
	default:
		_ = t.Close()
		if t.link == nil {
			_ = os.Remove(t.Name())
		}
	}
}
