package export

import (
	"archive/zip"
	"cmp"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// BookBeside is a workbook that lies where those of a campaign are written: the
// campaign's, or one of kits.
type BookBeside struct {
	Path string
	Run  string // its mark; "" where it has none, as of another program
	Kits bool   // it is one of kits
}

// kitBookName tells the names of workbooks of kits by what follows the campaign's:
// see splitKits.
var kitBookName = regexp.MustCompile(`^-kits-[0-9]{2,}-.+\.xlsx$`)

// stem is the name of a workbook without its folder and ending.
func stem(path string) string {
	base := filepath.Base(path)
	return strings.TrimSuffix(base, filepath.Ext(base))
}

// BooksBeside are the workbooks that lie where those of a campaign are to be
// written, by name.
func BooksBeside(path string) ([]BookBeside, error) {
	folder := filepath.Dir(path)
	list, err := os.ReadDir(folder)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil // who writes there is told
	}
	if err != nil {
		return nil, err
	}
	var out []BookBeside
	for _, f := range list {
		rest, own := strings.CutPrefix(f.Name(), stem(path))
		kits := own && kitBookName.MatchString(rest)
		if f.Type().IsRegular() && (kits || f.Name() == filepath.Base(path)) {
			at := filepath.Join(folder, f.Name())
			out = append(out, BookBeside{at, runOfBook(at), kits})
		}
	}
	return out, nil
}

// runOfBook is the mark of the run that wrote a workbook; "" where it has none or
// cannot be read.
func runOfBook(path string) string {
	z, err := zip.OpenReader(path)
	if err != nil {
		return ""
	}
	defer z.Close()
	f, err := z.Open("docProps/core.xml")
	if err != nil {
		return ""
	}
	defer f.Close()
	var core struct {
		Creator  string `xml:"creator"`
		Keywords string `xml:"keywords"`
	}
	const most = 1 << 16
	if err := xml.NewDecoder(io.LimitReader(f, most)).Decode(&core); err != nil || !strings.HasPrefix(core.Creator, creator) {
		return ""
	}
	return runOf(core.Keywords)
}

// MixedRuns says what is wrong where workbooks of several runs lie together, as
// they do where a run was broken off or had more workbooks; "" where nothing is.
func MixedRuns(books []BookBeside) string {
	runs := map[string]bool{}
	for _, b := range books {
		runs[b.Run] = true
	}
	if len(runs) < 2 {
		return ""
	}
	return "workbooks of several runs lie together: " + ListRuns(books)
}

// ListRuns names workbooks by the run they are of.
func ListRuns(books []BookBeside) string {
	books = slices.Clone(books)
	slices.SortStableFunc(books, func(a, b BookBeside) int { return cmp.Compare(a.Run, b.Run) })
	var parts []string
	for from := 0; from < len(books); {
		to := from + 1
		for to < len(books) && books[to].Run == books[from].Run {
			to++
		}
		of := "of " + runWord(books[from].Run)
		if books[from].Run == "" {
			of = "of no run that is known"
		}
		name := filepath.Base(books[from].Path)
		if n := to - from; n > 1 {
			parts = append(parts, fmt.Sprintf("%d %s (%s to %s)", n, of, name, filepath.Base(books[to-1].Path)))
		} else {
			parts = append(parts, "1 "+of+" ("+name+")")
		}
		from = to
	}
	return strings.Join(parts, ", ")
}

// LeftOver are the workbooks of kits that a run has not written, of those that lie
// beside its own.
func LeftOver(books []BookBeside, written []string) []BookBeside {
	return slices.DeleteFunc(slices.Clone(books), func(b BookBeside) bool {
		return !b.Kits || slices.ContainsFunc(written, func(w string) bool { return filepath.Base(w) == filepath.Base(b.Path) })
	})
}
