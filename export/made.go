package export

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"hash"
	"io"
	"slices"
	"strings"

	"wraptally/estimate/mark"
)

// Made is what a run was made from: the options that bear on its numbers and
// the files it read, whole, so that the run can be made again from its JSON
// alone.
type Made struct {
	Options []string   `json:"options"` // as on the command line, --NAME=VALUE
	Files   []MadeFile `json:"files"`
	Run     string     `json:"-"` // the mark that a JSON bears, from which this was read; blank where it has none
}

// The parts a file can have in a run, beside the name of the option that gave it.
const (
	AsSurvey  = "survey"
	AsBuiltIn = "built-in" // a table of the catalogue that comes with the program
)

// Mark is the short code of a run: by the bytes of its survey, of the catalogue's
// tables and of whatever else was read, the options that bear on its numbers, in
// whatever order they were given, and the version of the program. The day that is
// printed and the survey's name do not count, nor the folders of files.
func (m *Made) Mark(version string) string {
	options := slices.DeleteFunc(slices.Clone(m.Options), func(o string) bool { return strings.HasPrefix(o, dateOption) })
	slices.SortStableFunc(options, func(a, b string) int { // of one option given twice the order counts
		a, _, _ = strings.Cut(a, "=")
		b, _, _ = strings.Cut(b, "=")
		return strings.Compare(a, b)
	})
	made := mark.New()
	made.Add(version)
	made.Add(options...)
	for _, f := range m.Files {
		name := "" // of a table or an alternative it counts
		if f.As == AsBuiltIn || f.As == "catalog" || f.As == "alternative" {
			name = f.Name
		}
		made.Add(f.As, name, f.SHA256)
	}
	return made.Code()
}

// dateOption begins the option that gives the day printed.
const dateOption = "--date="

// MadeFile is one file that was read.
type MadeFile struct {
	As     string `json:"as"`     // AsSurvey, AsBuiltIn or the option that names it
	Name   string `json:"name"`   // without its folder
	SHA256 string `json:"sha256"` // of its bytes
	Gzip   []byte `json:"gzip"`   // its bytes, packed
}

// Packing takes the bytes of a file as they are read.
type Packing struct {
	buf bytes.Buffer
	sum hash.Hash
	z   *gzip.Writer
}

// NewPacking starts the record of a file.
func NewPacking() *Packing {
	p := &Packing{sum: sha256.New()}
	p.z = gzip.NewWriter(&p.buf)
	return p
}

// Write takes the next bytes; it never fails.
func (p *Packing) Write(b []byte) (int, error) {
	p.sum.Write(b)
	return p.z.Write(b) // into memory
}

// File is the record, after the last byte.
func (p *Packing) File(as, name string) MadeFile {
	p.z.Close() // into memory
	return MadeFile{As: as, Name: name, SHA256: hex.EncodeToString(p.sum.Sum(nil)), Gzip: p.buf.Bytes()}
}

// Bytes are the bytes of the file, no more than most of them; a file that is
// longer, damaged or not the one whose sum is told is an error.
func (f *MadeFile) Bytes(most int64) ([]byte, error) {
	z, err := gzip.NewReader(bytes.NewReader(f.Gzip))
	if err != nil {
		return nil, fmt.Errorf("the bytes of %s are damaged: %w", f.Name, err)
	}
	data, err := io.ReadAll(io.LimitReader(z, most+1))
	if err != nil {
		return nil, fmt.Errorf("the bytes of %s are damaged: %w", f.Name, err)
	}
	if int64(len(data)) > most {
		return nil, fmt.Errorf("%s has more than %d bytes", f.Name, most)
	}
	if sum := sha256.Sum256(data); hex.EncodeToString(sum[:]) != f.SHA256 {
		return nil, fmt.Errorf("the bytes of %s are not those its sum was taken of", f.Name)
	}
	return data, nil
}
