package survey

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"wraptally/estimate/trace"
)

// Options say how to read a survey. The zero value detects everything and takes
// the default limits.
type Options struct {
	Name      string    // file name for messages
	Copy      io.Writer // takes the bytes of the file beside the reading; may be nil
	Sheets    []string  // sheets of a workbook, by name or 1-based number, read in this order, or AllSheets; none detects
	Delimiter rune      // of a text file: , ; | or tab; 0 detects
	Encoding  string    // "utf-8", "windows-1251", any name the WHATWG encoding standard knows; "" detects
	Decimal   rune      // '.' or ','; 0 detects
	HeaderRow int       // line of the (first) heading row; 0 detects

	// Units of values whose heading names none. "" takes mm, MPa, °C and m,
	// and each use is listed as an assumption.
	LengthUnit, PressureUnit, TemperatureUnit, ChainageUnit string

	Map       []Mapping // the user's own mapping, before every other
	SavedMap  []Mapping // the mapping kept for this client, of which a survey may lack headings
	Synonyms  []Synonym // the catalogue's mapping table, before the built-in trade words
	Only      []Filter  // rows to keep
	Done      []Done    // places of the repairs of an earlier run of which some are done; empty where none is
	DoneNear  float64   // mm; a defect that begins within it of such a place is taken for what was repaired there, or asked about
	CarryDown []string  // fields whose blank cells take the value above
	Defaults  []Default // values for blank or absent fields
	Accept    []string  // codes of named checks that the user has confirmed: they become notes and stop nothing
	Sizes     PipeSizes // the catalogue's pipe table; nil leaves out the checks that need it
	Limits    Limits
	Doubts    *Doubts  // what is asked about; nil takes DefaultDoubts
	GoneWall  float64  // mm; less wall left without a leak is asked about where its wrap is designed, and not here as well
	Answers   []Answer // the client's answers to queries of an earlier run
	Pack      int      // records of a survey with more of them are kept packed, see Result.Lines; 0 never packs
}

// mappings are the saved ones and the user's own, which come later and so win.
func (o *Options) mappings() []Mapping { return append(slices.Clip(o.SavedMap), o.Map...) }

// Filter keeps the rows whose cell in the column is one of the values, or with
// Not those whose cell is none of them, whatever the case. Filters on one column
// are alternatives; different columns must all fit. The value "*" stands for any
// cell that is not blank.
type Filter struct {
	Column string // heading as in the file, or a field
	Values []string
	Not    bool
}

// Default is a value for the blank cells of a field, and for all rows where the
// survey has no such column.
type Default struct{ Field, Value string }

// PipeSizes is the pipe table that the named checks compare with.
type PipeSizes interface {
	// Series lists the names of the series, "NPS", "DN-EN".
	Series() []string
	// OD gives the outside diameter and the standard wall in mm of a nominal
	// size written as a plain number ("6", "1-1/2", "150").
	OD(series, size string) (od, wall float64, ok bool)
}

// Limits bound what a survey may take. A zero field means the default.
type Limits struct {
	FileBytes  int64   // size of the file
	FieldBytes int     // one cell; a longer one stops its row
	Rows       int     // rows below the heading
	Columns    int     // columns
	UnzipBytes int64   // a workbook's parts, unpacked
	UnzipRatio float64 // unpacked size to packed size of a workbook
	ZipEntries int     // parts of a workbook
	Queries    int     // queries listed for each severity; the rest is counted
}

// DefaultLimits are far above any survey by hand: a million rows of a crawler's
// log pass, a bomb does not. 32,767 characters are what a spreadsheet cell
// holds.
var DefaultLimits = Limits{
	FileBytes:  2 << 30,
	FieldBytes: 32767,
	Rows:       5_000_000,
	Columns:    16384,
	UnzipBytes: 512 << 20,
	UnzipRatio: 200,
	ZipEntries: 2000,
	Queries:    1000,
}

func (l Limits) orDefault() Limits {
	d := &DefaultLimits
	return Limits{
		FileBytes: cmp.Or(l.FileBytes, d.FileBytes), FieldBytes: cmp.Or(l.FieldBytes, d.FieldBytes),
		Rows: cmp.Or(l.Rows, d.Rows), Columns: cmp.Or(l.Columns, d.Columns),
		UnzipBytes: cmp.Or(l.UnzipBytes, d.UnzipBytes), UnzipRatio: cmp.Or(l.UnzipRatio, d.UnzipRatio), ZipEntries: cmp.Or(l.ZipEntries, d.ZipEntries),
		Queries: cmp.Or(l.Queries, d.Queries),
	}
}

// Doubts bound the values that are taken without asking.
type Doubts struct {
	WallGone      float64 // % of the nominal wall; as little or less is a hole that has not been found yet
	DefectLong    float64 // mm along the pipe; more is a stretch of pipe rather than a defect
	DefectSmall   float64 // mm; a smaller median is likelier inches
	ODLow, ODHigh float64 // mm; outside them the unit of an outside diameter is doubted
	ODOff         float64 // % by which an outside diameter may be off the pipe table's, or a taped one off the measured
	WallOver      float64 // % by which a wall may be above the nominal
	PressureHigh  float64 // MPa; a median above it is likelier bar where nobody says
	HoopHigh      float64 // MPa; no pipe stands more
}

// DefaultDoubts are the settings doubt.… of the built-in catalogue, which a test
// holds them to. Common practice, no source: ODs of rolled pipe keep to 1 %,
// mills deliver walls up to 12.5 % off.
var DefaultDoubts = Doubts{WallGone: 5, DefectLong: 3000, DefectSmall: 2.5, ODLow: 10, ODHigh: 1250, ODOff: 2, WallOver: 12.5, PressureHigh: 3, HoopHigh: 700}

// usual is the range of a field outside which the unit is doubted.
func (d *Doubts) usual(f fieldID) span {
	if f == fOD {
		return span{d.ODLow, d.ODHigh}
	}
	return fieldTable[f].usual
}

// Result is a survey read.
type Result struct {
	Defects     []Defect      // nil where they are packed: only Lines gives them
	Queries     []trace.Query // in the order of the file, at most Limits.Queries of each severity
	More        int           // queries raised and counted but not listed
	Counts      []CodeCount   // every query raised, by code, in the order of Codes
	Assumptions []trace.Assumption
	Account     Account
	Detected    Detected

	packed *packed
}

// CodeCount is how many queries of one code were raised with one severity.
type CodeCount struct {
	Code     string
	Severity trace.Severity
	Count    int
}

// Account is what became of the rows below the heading:
// Read = Kept + Queried + Filtered + Blank, always.
type Account struct {
	Read, Kept, Queried, Filtered, Blank int
	FilteredBy                           []FilterCount
}

// FilterCount is how many rows one rule left out.
type FilterCount struct {
	Rule   string // "Type = defect"
	Rows   int
	Values []ValueCount // what stood in the column, the most frequent first; at most 20
}

// ValueCount is how many rows held a value.
type ValueCount struct {
	Value string
	Rows  int
}

// Detected is how the file was understood.
type Detected struct {
	Form       string // "CSV" or "XLSX"
	Encoding   string // of text: "utf-8", "windows-1251"
	BOM        bool
	LineEnds   string   // "LF", "CRLF", "CR", "mixed", "mixed, CR among them"
	Delimiter  string   // ",", ";", "tab", "|"
	Decimal    string   // "." or ","
	Sheet      string   // of a workbook; of several the first
	Sheets     []string // all of them
	HeaderRow  int      // line of the file or row of the sheet
	HeaderRows int      // 1 or 2
	Preamble   int      // lines above the heading, left out
	Set        []string // which of these the user gave: "delimiter", "decimal"
	Columns    []Column
	Missing    []string   // own headings that no column and no setting gives
	Further    []Detected // the other sheets that were read, in their order
}

// Column is one column of the survey and what became of it.
type Column struct {
	Index    int    // 1-based
	Heading  string // as found, the rows of a two-row heading joined
	Field    string // own heading of the field; "" where ignored
	Unit     string // of the values; "" where there is none
	UnitFrom string // "heading", "mapping", "assumed"
	Via      string // "own heading", "trade word", "mapping", "mapping table"
	Why      string // why it was ignored, where there is more to say
}

// Error is why a survey as a whole cannot be read.
type Error struct {
	Place   trace.Place
	Problem string
	Hint    string // what to do; may be empty
	Guide   *Guide // where the headings do not say all that is needed
	Err     error  // the cause, may be nil
}

// Advice is what to do about it, for the caller to print below the error.
func (e *Error) Advice() string { return e.Hint }

// Error is "place: problem".
func (e *Error) Error() string {
	s := e.Problem
	if p := e.Place.String(); p != "" {
		s = p + ": " + s
	}
	if e.Err != nil {
		s += ": " + e.Err.Error()
	}
	return s
}

// Unwrap gives the cause.
func (e *Error) Unwrap() error { return e.Err }

// Open reads the survey in a file, CSV or XLSX by its content; "-" is standard
// input. What can be read only once, as a pipe, is put by in a file without a name
// first.
func Open(path string, opts Options) (*Result, error) {
	if opts.Name == "" {
		opts.Name = filepath.Base(path)
	}
	f, size, err := openOnce(path, opts.Limits.orDefault().FileBytes)
	if err != nil {
		return nil, &Error{Problem: "cannot open the survey", Err: err}
	}
	defer f.Close()
	if opts.Copy != nil {
		if _, err := io.Copy(opts.Copy, io.NewSectionReader(f, 0, min(size, opts.Limits.orDefault().FileBytes))); err != nil {
			return nil, &Error{Problem: "cannot read the survey", Err: err}
		}
	}
	return Read(f, size, opts)
}

// openOnce opens a file that can be read at any place, and gives its size.
func openOnce(path string, most int64) (*os.File, int64, error) {
	f := os.Stdin
	if path != "-" {
		var err error
		if f, err = os.Open(path); err != nil {
			return nil, 0, err
		}
	}
	info, err := f.Stat()
	switch {
	case err != nil:
		f.Close()
		return nil, 0, err
	case info.Mode().IsRegular():
		return f, info.Size(), nil
	case info.IsDir():
		f.Close()
		return nil, 0, &fs.PathError{Op: "open", Path: path, Err: errors.New("it is not a file but a folder")}
	}
	defer f.Close()
	by, err := os.CreateTemp("", "survey-*")
	if err != nil {
		return nil, 0, err
	}
	_ = os.Remove(by.Name()) // where an open file cannot be removed it stays until the system clears up
	n, err := io.Copy(by, io.LimitReader(f, most+1))
	if err != nil {
		by.Close()
		return nil, 0, err
	}
	return by, n, nil
}

// Read reads a survey of the given size, CSV or XLSX by its content. A survey
// that cannot be read as a whole gives an *Error; faults of single rows are
// queries of the result. CSV is streamed: beyond the kept records, memory does
// not grow with the file.
func Read(r io.ReaderAt, size int64, opts Options) (*Result, error) {
	opts.Limits = opts.Limits.orDefault()
	fail := func(problem, hint string) (*Result, error) {
		return nil, &Error{Place: trace.Place{File: opts.Name}, Problem: problem, Hint: hint}
	}
	if size == 0 {
		return fail("the file is empty", "is it the right file?")
	}
	if size > opts.Limits.FileBytes {
		return fail(fmt.Sprintf("the file has %d bytes, more than the limit of %d", size, opts.Limits.FileBytes), "split the survey, or raise the setting intake.file_mb")
	}
	var magic [8]byte
	if n, err := r.ReadAt(magic[:], 0); err != nil && err != io.EOF || n == 0 {
		return nil, &Error{Place: trace.Place{File: opts.Name}, Problem: "cannot read the survey", Err: err}
	}
	var res *Result
	var err error
	switch {
	case bytes.HasPrefix(magic[:], []byte("PK\x03\x04")), bytes.HasPrefix(magic[:], []byte("PK\x05\x06")):
		res, err = readWorkbook(r, size, opts)
	case bytes.HasPrefix(magic[:], []byte("\xd0\xcf\x11\xe0")):
		return fail("this is an old-style (.xls) or a password-protected workbook", "save it as .xlsx without a password, or as CSV")
	case bytes.HasPrefix(magic[:], []byte("%PDF")), bytes.HasPrefix(magic[:], []byte("\x89PNG")), bytes.HasPrefix(magic[:], []byte("\xff\xd8\xff")):
		return fail("this is a picture or a PDF, not a table", formsRead)
	default:
		res, err = readText(r, size, opts)
	}
	if err != nil {
		var e *Error
		if errors.As(err, &e) && e.Place.File == "" {
			e.Place.File = opts.Name
		}
		return nil, err
	}
	return res, nil
}
