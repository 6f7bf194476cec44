//go:build !linux

package file

func create(folder, base string) (temporary, error) { return createNamed(folder, base) }
