package catalog

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// WriteBuiltin writes the built-in tables and their README into a folder, byte
// for byte, making the folder if need be. Unless overwrite is set it refuses
// where any of the files exists, and then writes none.
func WriteBuiltin(dir string, overwrite bool) error {
	entries, err := fs.ReadDir(book, "book")
	if err != nil {
		return err
	}
	if !overwrite {
		var there []string
		for _, e := range entries {
			if _, err := os.Lstat(filepath.Join(dir, e.Name())); err == nil {
				there = append(there, e.Name())
			} else if !errors.Is(err, fs.ErrNotExist) {
				return fmt.Errorf("the folder %s cannot be used: %s", dir, plainError(err))
			}
		}
		if len(there) > 0 {
			return fmt.Errorf("the folder %s holds %s already: %w", dir, strings.Join(there, ", "), fs.ErrExist)
		}
	}
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return fmt.Errorf("the folder %s cannot be made: %s", dir, plainError(err))
	}
	for _, e := range entries {
		text, err := book.ReadFile("book/" + e.Name())
		if err != nil {
			return err
		}
		if err := writeFile(filepath.Join(dir, e.Name()), text); err != nil {
			return fmt.Errorf("%s cannot be written: %s", filepath.Join(dir, e.Name()), plainError(err))
		}
	}
	return nil
}

// writeFile writes beside the target and renames, so that no half file is left.
func writeFile(path string, text []byte) error {
	tmp, err := os.CreateTemp(filepath.Dir(path), ".wraptally-*")
	if err != nil {
		return err
	}
	defer os.Remove(tmp.Name())
	_, err = tmp.Write(text)
	if err == nil {
		err = tmp.Chmod(0o644)
	}
	if err == nil {
		err = tmp.Sync()
	}
	if closeErr := tmp.Close(); err == nil {
		err = closeErr
	}
	if err != nil {
		return err
	}
	return os.Rename(tmp.Name(), path)
}
