package catalog

import (
	"embed"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"wraptally/estimate/trace"
)

//go:embed book
var book embed.FS

// Options say where a catalogue comes from.
type Options struct {
	// Dir is a folder of tables (NAME.csv) that replace the built-in tables one
	// by one, or a workbook (.xlsx) with a sheet for each of them. Empty: only
	// built-in tables.
	Dir string
	// Under is a folder of tables that come between those of Dir and the built-in
	// ones: an earlier run is made again with the tables that were built in then.
	Under string
	// Sets are settings given by name, "wrap.overlap=0.55"; they come after Dir.
	Sets []string
	// SetFile is a CSV file with the columns name and value; it comes last.
	SetFile string
}

// read reads the tables that are given, by name.
func (o Options) read(faults *Faults) (map[string]*grid, error) {
	own, err := readSource(o.Dir, faults)
	if err != nil {
		return nil, err
	}
	under, err := readSource(o.Under, faults)
	if err != nil {
		return nil, err
	}
	return fillFromProducts(own, under, faults), nil
}

// Book is the built-in tables as files, NAME.csv each, the headings of those that
// stand beside a catalogue, and their README.md.
func Book() fs.FS {
	sub, err := fs.Sub(book, "book")
	if err != nil {
		panic(err) // the name of the folder is ours
	}
	return sub
}

// builtinFile is how the place of a built-in table is named.
func builtinFile(table string) string { return "built-in " + table + ".csv" }

// Load reads and checks a catalogue. A *Faults error lists everything that is
// wrong with it; an *OpenError says that Dir or Book cannot be opened at all.
func Load(o Options) (*Catalog, error) {
	faults := &Faults{}
	own, err := o.read(faults)
	if err != nil {
		return nil, err
	}
	named, err := readSets(o.SetFile, faults)
	if err != nil {
		return nil, err
	}
	c := build(own, [][]given{givenBySet(o.Sets, faults), named}, faults)
	if err := faults.err(); err != nil {
		return nil, err
	}
	return c, nil
}

// Check reads a catalogue and lists everything that there is to say of it:
// faults for which it is refused, questions and notes, by place; the tables in
// which invented rows are in force; and the number of faults. An *OpenError says that Dir cannot be opened at all.
func Check(o Options) (said []trace.Query, invented []string, refused int, err error) {
	faults := &Faults{}
	own, err := o.read(faults)
	if err != nil {
		return nil, nil, 0, err
	}
	c := build(own, [][]given{givenBySet(o.Sets, faults)}, faults)
	said = slices.Concat(faults.List, c.Warnings)
	sortQueries(said)
	return said, c.Invented, faults.Total, nil
}

// build makes a catalogue of the user's tables, the built-in ones in place of
// those not given, and the settings given by name.
// The result is of use only where no fault was found.
func build(own map[string]*grid, sets [][]given, faults *Faults) *Catalog {
	c := &Catalog{}
	all := make(map[string]*loaded, len(tables))
	for i := range tables {
		def := &tables[i]
		g, given := own[def.name]
		if !given {
			g = readBuiltin(def.name, faults)
		}
		all[def.name] = decode(def, g, c, faults)
		if def.invented && (!given || all[def.name].sharesRows()) {
			c.Invented = append(c.Invented, def.name)
		}
	}
	c.indexItems()
	c.settleLevels()
	_, ownSettings := own["settings"]
	check(c, all, settle(c, all["settings"], ownSettings, sets, faults), faults)
	c.Warnings = append(c.Warnings, faults.notes...)
	sortQueries(c.Warnings)
	if faults.Total == 0 {
		c.settleCosts()
		c.index()
	}
	return c
}

// sharesRows reports whether a row of the table is one of the built-in table.
func (l *loaded) sharesRows() bool {
	if l.broken {
		return false
	}
	names := make([]string, len(l.def.cols))
	for i := range names {
		names[i] = l.def.cols[i].name
	}
	own := map[string]bool{}
	for row := range l.len() {
		key, _ := l.key(row, names)
		own[key] = true
	}
	builtin := decode(l.def, readBuiltin(l.def.name, &Faults{}), &Catalog{}, &Faults{})
	for row := range builtin.len() {
		if key, _ := builtin.key(row, names); own[key] {
			return true
		}
	}
	return false
}

// readBuiltin reads an embedded table.
func readBuiltin(name string, faults *Faults) *grid {
	f, err := book.Open("book/" + name + ".csv")
	if err != nil {
		faults.add(trace.Place{File: builtinFile(name)}, "file-unreadable", "", plainError(err), "build the program again")
		return nil
	}
	defer f.Close()
	return readCSV(builtinFile(name), f, faults)
}

// readSource reads the user's tables by name.
func readSource(path string, faults *Faults) (map[string]*grid, error) {
	if path == "" {
		return nil, nil
	}
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return nil, &OpenError{Path: path, Err: err}
	case info.IsDir():
		return readDir(path, faults)
	case strings.EqualFold(filepath.Ext(path), ".xlsx"):
		return readWorkbook(path, faults)
	default:
		return nil, &OpenError{Path: path, Err: errNoCatalogue}
	}
}

// OpenError says that the place a catalogue should come from cannot be opened.
type OpenError struct {
	What string // "stock list"; empty: the catalogue
	Path string
	Err  error
}

func (e *OpenError) Error() string {
	what := e.What
	if what == "" {
		what = "catalogue"
	}
	return "the " + what + " " + e.Path + " cannot be opened: " + plainError(e.Err)
}

// Unwrap gives the reason.
func (e *OpenError) Unwrap() error { return e.Err }

// Advice is what to do where the place holds something else; "" where the system
// says why.
func (e *OpenError) Advice() string {
	if errors.Is(e.Err, errNoCatalogue) {
		return "'wraptally catalog -o DIR' writes a folder to begin with"
	}
	return ""
}

var errNoCatalogue = errors.New("it is neither a folder nor an .xlsx workbook")

// readDir reads every table of a folder.
func readDir(dir string, faults *Faults) (map[string]*grid, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, &OpenError{Path: dir, Err: err}
	}
	files, own := sourceNames(), map[string]*grid{}
	apart := besideNames()
	for i := range files {
		files[i] += ".csv"
	}
	var others []string
	for _, e := range entries {
		file := e.Name()
		path := filepath.Join(dir, file)
		switch {
		case strings.HasPrefix(file, "."), strings.HasPrefix(file, "~"), file == "README.md":
		case slices.Contains(apart, strings.TrimSuffix(file, ".csv")) && !e.IsDir(): // read on their own
		case !slices.Contains(files, file) || e.IsDir():
			others = append(others, file)
		default:
			own[strings.TrimSuffix(file, ".csv")] = readFile(path, faults)
		}
	}
	for _, file := range others {
		stem := strings.TrimSuffix(file, filepath.Ext(file))
		faults.other(trace.Place{File: filepath.Join(dir, file)}, file, stem, ".csv", own, "the folder holds something")
	}
	if len(own) == 0 {
		faults.add(trace.Place{File: dir}, "table-none", "", "the folder holds no table of the catalogue", "`wraptally catalog -o DIR` writes every table")
	}
	return own, nil
}

// other is about a file or sheet that is no table: one whose name is nearly that
// of a table not given is a slip, any other the firm's own.
func (f *Faults) other(place trace.Place, found, name, ending string, own map[string]*grid, holds string) {
	missing := slices.DeleteFunc(sourceNames(), func(table string) bool { _, given := own[table]; return given })
	if near := nearest(name, missing); near != "" {
		f.add(place, "table-unknown", found, holds+" that is not a table of the catalogue", fmt.Sprintf("is %q meant?", near+ending))
		return
	}
	f.note(place, "table-own", found, holds+" of the firm's own; it is not read", "nothing, unless it should be one of "+strings.Join(sourceNames(), ", "))
}

// readFile reads one table of a folder.
func readFile(path string, faults *Faults) *grid {
	f, err := os.Open(path)
	if err == nil {
		defer f.Close()
		var info fs.FileInfo
		if info, err = f.Stat(); err == nil && !info.Mode().IsRegular() {
			err = errors.New("it is not a plain file")
		}
	}
	if err != nil {
		faults.add(trace.Place{File: path}, "file-unreadable", "", "the table cannot be read: "+plainError(err), "check the file and its permissions")
		return nil
	}
	return readCSV(path, io.Reader(f), faults)
}

// warn records a note or question that does not refuse the catalogue.
func (c *Catalog) warn(severity trace.Severity, place trace.Place, code, found, message, advice string) {
	c.Warnings = append(c.Warnings, query(severity, place, code, found, message, advice))
}
