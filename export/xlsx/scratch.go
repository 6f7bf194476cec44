package xlsx

import (
	"os"
	"path/filepath"
)

// scratch is the folder in which the library keeps what it streams of a large
// sheet. The folder is there only while it is needed, and each file loses its
// name as soon as it is opened, where the system allows that: should the process
// be killed, the system takes the file away.
type scratch struct {
	folder string
	bytes  int  // written to this sheet, about
	asked  int  // bytes written when the folder was last looked at
	ready  bool // the folder is there
	done   bool // this sheet's file is open
}

const (
	// The library opens its file when 16 MiB are waiting. The folder is made well
	// before and then looked at from time to time.
	bytesBefore  = 4 << 20
	bytesBetween = 1 << 20
	// cellBytes is about what a cell takes in the file besides its content.
	cellBytes = 50
)

func newScratch() *scratch {
	// The name is found free now and taken again when it is needed.
	folder, err := os.MkdirTemp("", "xlsx-")
	if err != nil {
		return &scratch{folder: filepath.Join(os.TempDir(), "xlsx-none")} // it will stay in memory
	}
	_ = os.Remove(folder)
	return &scratch{folder: folder}
}

// next begins another sheet.
func (s *scratch) next() { s.bytes, s.asked, s.done = 0, 0, false }

// wrote counts what a row puts into the file.
func (s *scratch) wrote(bytes int) {
	s.bytes += bytes
	if s.done || s.bytes < bytesBefore || s.bytes-s.asked < bytesBetween {
		return
	}
	s.asked = s.bytes
	if !s.ready {
		s.ready = os.Mkdir(s.folder, 0o700) == nil
		s.done = !s.ready // then it all stays in memory
		return
	}
	if s.unname() {
		s.done = true
		s.remove()
	}
}

// unname takes the names off the files in the folder and tells whether there
// were any.
func (s *scratch) unname() bool {
	files, err := os.ReadDir(s.folder)
	if err != nil {
		return false
	}
	for _, f := range files {
		_ = os.Remove(filepath.Join(s.folder, f.Name()))
	}
	return len(files) > 0
}

func (s *scratch) remove() {
	if s.ready && os.Remove(s.folder) == nil {
		s.ready = false
	}
}

// close removes the folder; the library has closed its files by then.
func (s *scratch) close() {
	if s.ready {
		s.unname()
		s.remove()
	}
}
