package survey

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"testing"

	"wraptally/estimate/trace"
	"wraptally/estimate/trace/depth"
)

// checkOutcome holds for whatever is read: an *Error that says something, or a
// result whose account adds up and whose records hold only finite numbers.
func checkOutcome(t *testing.T, r *Result, err error) {
	t.Helper()
	if err != nil {
		var e *Error
		if !errors.As(err, &e) || e.Problem == "" || r != nil {
			t.Fatalf("error %#v with result %v", err, r)
		}
		return
	}
	a := r.Account
	if a.Read != a.Kept+a.Queried+a.Filtered+a.Blank || a.Kept != len(r.Defects) {
		t.Fatalf("the account does not add up: %+v, %d defects", a, len(r.Defects))
	}
	filtered := 0
	for _, f := range a.FilteredBy {
		filtered += f.Rows
	}
	if filtered != a.Filtered {
		t.Fatalf("filtered %d, by rule %d", a.Filtered, filtered)
	}
	stops, total := 0, 0
	for _, c := range r.Counts {
		if _, known := severityOf[c.Code]; !known {
			t.Fatalf("the code %q is in no table", c.Code)
		}
		if c.Severity == trace.Stop {
			stops += c.Count
		}
		total += c.Count
	}
	if a.Queried > stops || (a.Queried == 0) != (stops == 0) {
		t.Fatalf("%d rows stopped by %d queries", a.Queried, stops)
	}
	if total != len(r.Queries)+r.More {
		t.Fatalf("%d counted, %d listed and %d more", total, len(r.Queries), r.More)
	}
	ids := make(map[string]bool)
	for i := range r.Defects {
		d := &r.Defects[i]
		if d.ID == "" || d.Line == "" || d.Leaking == Unknown || !d.Chainage.OK || !d.Axial.OK || !d.Circ.OK || d.Axial.V <= 0 || d.Circ.V <= 0 || d.Line0 < 2 {
			t.Fatalf("an incomplete record was kept: %+v", d)
		}
		if ids[d.ID] {
			t.Fatalf("the id %q was kept twice", d.ID)
		}
		ids[d.ID] = true
		for f := range numFields() {
			if fieldTable[f].at == nil {
				continue
			}
			if n := fieldTable[f].get(d).num; math.IsNaN(n.V) || math.IsInf(n.V, 0) {
				t.Fatalf("%s of %s is %v", f.heading(), d.ID, n.V)
			}
		}
	}
}

// The fuzzer makes each new input as small as it can, for a minute unless told
// otherwise, and tries nothing else meanwhile: with inputs the size of a survey it
// would do no more. Twenty tries are enough; -fuzzminimizetime overrules.
func init() {
	testing.Init()
	if err := flag.Set("test.fuzzminimizetime", "20x"); err != nil {
		panic(err)
	}
}

// FuzzRead reads any bytes as a survey: encoding, delimiter, heading, cells.
func FuzzRead(f *testing.F) {
	files, _ := filepath.Glob(forms + "*")
	files = append(files, "../../testdata/surveys/campaign.csv")
	for _, name := range files {
		data, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		if !bytes.HasPrefix(data, []byte("PK")) {
			f.Add(data)
		}
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		if bytes.HasPrefix(data, []byte("PK")) {
			return
		}
		r, err := readBytes(data, Options{Sizes: testSizes{}, CarryDown: nil})
		checkOutcome(t, r, err)
		again, err2 := readBytes(data, Options{Sizes: testSizes{}})
		if fmt.Sprint(r, err) != fmt.Sprint(again, err2) {
			t.Fatal("the same bytes gave another result")
		}
	})
}

func TestRefusals(t *testing.T) {
	head := plainHead + "\n"
	tests := []struct {
		name, text string
		opts       Options
		want       string
	}{
		{name: "empty", text: "", want: "s: the file is empty"},
		{name: "blanks", text: " \n \n", want: "nothing but blanks"},
		{name: "header only", text: head, want: "s:1: there is a heading and no row below it"},
		{name: "header and blanks", text: head + "\n,,,\n", want: "no row below it"},
		{name: "no heading", text: "a,b\n1,2\n", want: "no heading was found"},
		{name: "missing required", text: "id,line,od_mm,axial_mm,circ_mm\nA,B,1,2,3\n", want: "s:1: the heading lacks chainage_m, leaking"},
		{name: "missing size", text: "line,chainage_m,axial_mm,circ_mm,leaking\n", want: "lacks od_mm (or circumference_mm, or size with series)"},
		{name: "missing defect", text: "line,chainage_m,od_mm,axial_mm,leaking\nL,1,2,3,no\n", want: "lacks axial_mm with circ_mm (or hole_mm)"},
		{name: "duplicate heading", text: "line,line," + plainHead + "\n", want: `s:1:2: columns 1 and 2 ("line" and "line") both give line`},
		{name: "two ODs", text: plainHead + ",Outside diameter\n" + plainRow + ",168\n", want: `columns 4 and 8 ("od_mm" and "Outside diameter") both give od_mm`},
		{name: "unclosed", text: head + "P1,L1,1,168.3,40,30,no\nP2,\"L1,2,168.3,40,30,no\nP3,L1,3,168.3,40,30,no\n", want: "s:3:2: a quotation mark is opened here and never closed"},
		{name: "binary", text: "\x00\x01\x02\x03binary", want: "neither text nor a workbook"},
		{name: "picture", text: "\x89PNG\r\n\x1a\n", want: "a picture or a PDF"},
		{name: "BOM and not UTF-8", text: "\ufeff" + head + plainRow + "\nP2,L\xff1,1,2,3,4,no\n", want: "s:3: a byte that is not UTF-8"},
		{name: "said to be UTF-8", text: head + "P1,L\xe41,1,168,3,4,no\n", opts: Options{Encoding: "utf-8"}, want: "s:2: a byte that is not UTF-8"},
		{name: "encoding", text: head, opts: Options{Encoding: "ebcdic-klingon"}, want: `no encoding is called "ebcdic-klingon"`},
		{name: "delimiter", text: head, opts: Options{Delimiter: '€'}, want: "one plain character"},
		{name: "decimal", text: head + plainRow, opts: Options{Decimal: ';'}, want: "must be a point or a comma"},
		{name: "header row", text: head + plainRow, opts: Options{HeaderRow: 2}, want: "s:2: the heading lacks line, chainage_m"},
		{name: "filter", text: head + plainRow, opts: Options{Only: []Filter{{Column: "Type", Values: []string{"x"}}}}, want: `a column that is not there: "Type"`},
		{name: "carry", text: head + plainRow, opts: Options{CarryDown: []string{"wall"}}, want: "no such column"},
		{name: "carry what", text: head + plainRow, opts: Options{CarryDown: []string{"colour"}}, want: `no field is called "colour"`},
		{name: "default", text: head + plainRow, opts: Options{Defaults: []Default{{"wall_mm", "thick"}}}, want: `survey.wall_mm = "thick" cannot be used`},
		{name: "default word", text: head + plainRow, opts: Options{Defaults: []Default{{"surface", "sticky"}}}, want: "cannot be used"},
		{name: "map", text: head + plainRow, opts: Options{Map: []Mapping{{"colour", "x"}}}, want: `no field is called "colour"`},
		{name: "map unit", text: head + plainRow, opts: Options{Map: []Mapping{{"od", "x [bar]"}}}, want: "does not fit the field od_mm"},
		{name: "accept", text: head + plainRow, opts: Options{Accept: []string{"everything"}}, want: `no query has the code "everything"`},
		{name: "length unit", text: head + plainRow, opts: Options{LengthUnit: "bar"}, want: `"bar" is no unit of length`},
		{name: "size of file", text: head + plainRow, opts: Options{Limits: Limits{FileBytes: 20}}, want: "more than the limit of 20"},
		{name: "rows", text: head + strings.Repeat(plainRow+"\n", 5), opts: Options{Limits: Limits{Rows: 4}}, want: "s:6: more than 4 rows"},
	}
	for _, tt := range tests {
		r, err := readBytes([]byte(tt.text), tt.opts)
		if r != nil || err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: %v; want %q", tt.name, err, tt.want)
			continue
		}
		var e *Error
		errors.As(err, &e)
		t.Logf("%s: %v\n\thint: %s", tt.name, err, e.Hint)
	}
	if _, err := Open(filepath.Join(t.TempDir(), "none.csv"), Options{}); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a missing file: %v", err)
	}
	if _, err := Open(t.TempDir(), Options{}); err == nil || !strings.Contains(err.Error(), "is not a file") {
		t.Errorf("a folder: %v", err)
	}
}

// TestLongCell refuses a cell of a million characters with its place, and reads
// the rows round it.
func TestLongCell(t *testing.T) {
	text := plainHead + ",note\n" + plainRow + ",ok\nP2,L1,2,168.3,40,30,no," + strings.Repeat("x", 1_000_000) + "\nP3,L1,3,168.3,40,30,no,ok\n"
	r := read(t, text, Options{})
	q := queryOf(r, "cell-too-long")
	if q == nil || q.Place.String() != "s.csv:3:8" || q.Place.Field != "note" || q.Severity != trace.Stop || r.Account.Kept != 2 || len(q.Found) > 80 {
		t.Errorf("%+v", q)
	}
	// A number as long is refused by its length, not by parsing it.
	r = read(t, plainHead+"\n"+plainRow+"\nP2,L1,2,"+strings.Repeat("9", 1_000_000)+",40,30,no\n", Options{})
	if q := queryOf(r, "cell-too-long"); q == nil || q.Place.Field != "od_mm" {
		t.Errorf("%+v", q)
	}
	r = read(t, plainHead+"\n"+plainRow+strings.Repeat(",", 600)+"x\n"+plainRow+"\n", Options{})
	if q := queryOf(r, "row-ragged"); q == nil || q.Place.Line != 2 {
		t.Errorf("%+v", q)
	}
}

// rowsReader is a survey of n rows that takes no memory.
type rowsReader struct {
	head, row string
	n         int64
}

func (r rowsReader) size() int64 { return int64(len(r.head)) + r.n*int64(len(r.row)) }

func (r rowsReader) ReadAt(p []byte, off int64) (int, error) {
	n := 0
	for n < len(p) && off < r.size() {
		var from string
		if off < int64(len(r.head)) {
			from = r.head[off:]
		} else {
			from = r.row[(off-int64(len(r.head)))%int64(len(r.row)):]
		}
		k := copy(p[n:], from)
		n += k
		off += int64(k)
	}
	if n < len(p) {
		return n, io.EOF
	}
	return n, nil
}

// TestConstantMemory reads up to 80 MB of rows that a filter leaves out, and rows
// that all raise queries, within a few MB: nothing is kept of a row that
// is not kept.
func TestConstantMemory(t *testing.T) {
	rows := depth.Of(500_000, 2_000_000)
	measure := func(r rowsReader, opts Options) (*Result, uint64) {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		res, err := Read(r, r.size(), opts)
		if err != nil {
			t.Fatal(err)
		}
		runtime.ReadMemStats(&after)
		return res, after.TotalAlloc - before.TotalAlloc
	}
	opts := Options{Name: "big.csv", Only: []Filter{{Column: "kind", Values: []string{"defect"}}}, Limits: Limits{Rows: 10_000_000}}
	big := rowsReader{"kind," + plainHead[3:] + "\ndefect," + plainRow[3:] + "\n", "weld,L1,1.5,168.3,,,,                   \n", int64(rows)}
	r, bytes := measure(big, opts)
	if r.Account.Filtered != rows || r.Account.Kept != 1 {
		t.Errorf("%+v", r.Account)
	}
	t.Logf("%d MB filtered with %d MB allocated in all", big.size()>>20, bytes>>20)
	if bytes > 16<<20 {
		t.Errorf("%d MB allocated", bytes>>20)
	}
	bad := rowsReader{plainHead + "\n" + plainRow + "\n", "P2,L1,1.5,168.3,,,perhaps,              \n", int64(rows / 2)}
	r, bytes = measure(bad, Options{Name: "bad.csv"})
	if r.Account.Queried != rows/2 || len(r.Queries) > 2*DefaultLimits.Queries || r.More == 0 {
		t.Errorf("%+v", r.Account)
	}
	t.Logf("%d rows queried, %d MB allocated in all, %d queries listed", r.Account.Queried, bytes>>20, len(r.Queries))
}

// TestQueryCap lists at most the limit of each severity and counts the rest, so
// that notes never crowd out what stops rows.
func TestQueryCap(t *testing.T) {
	var b strings.Builder
	b.WriteString(plainHead + "\n")
	for i := range 50 {
		fmt.Fprintf(&b, "N%d,L1,-%d,168.3,40,30,no\n", i, i+1)
	}
	for i := range 30 {
		fmt.Fprintf(&b, "S%d,L1,%d,168.3,40,30,perhaps\n", i, i+1)
	}
	r := read(t, b.String(), Options{Limits: Limits{Queries: 10}})
	stops, notes := 0, 0
	for _, q := range r.Queries {
		switch q.Severity {
		case trace.Stop:
			stops++
		case trace.Note:
			notes++
		}
	}
	if stops != 10 || notes != 10 || r.More != 60 || r.Account.Queried != 30 {
		t.Errorf("%d stops, %d notes listed, %d more, %+v", stops, notes, r.More, r.Account)
	}
	want := []CodeCount{{"yes-no-unclear", trace.Stop, 30}, {"chainage-negative", trace.Note, 50}}
	if fmt.Sprint(r.Counts) != fmt.Sprint(want) {
		t.Errorf("counts %v, want %v", r.Counts, want)
	}
}

// TestCodesAreDocumented finds every code that the package raises in the table,
// and every code of the table in the package.
func TestCodesAreDocumented(t *testing.T) {
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	raised := make(map[string]bool)
	pattern := regexp.MustCompile(`"([a-z]+(?:-[a-z]+)+)"`)
	for _, f := range files {
		if strings.HasSuffix(f, "_test.go") || f == "codes.go" {
			continue
		}
		text, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range pattern.FindAllStringSubmatch(string(text), -1) {
			raised[m[1]] = true
		}
	}
	for _, c := range Codes() {
		if !raised[c.Code] {
			t.Errorf("the table has %q, which nothing raises", c.Code)
		}
		if c.Meaning == "" {
			t.Errorf("%s has no meaning", c.Code)
		}
	}
	for code := range confirmable {
		if _, ok := severityOf[code]; !ok {
			t.Errorf("%q can be confirmed and is in no table", code)
		}
	}
}
