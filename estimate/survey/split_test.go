package survey

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/google/go-cmp/cmp"
)

// splitAll parts a text whole. Empty lines are left out, as encoding/csv leaves
// them out. Faults are the numbers of the cells with stray quotation marks.
func splitAll(r io.Reader, delim byte, cr bool) (rows [][]string, faults []int, err error) {
	s := newSplitter(r, delim, cr, 1<<20, 4096)
	for {
		row, err := s.next()
		if err == io.EOF {
			return rows, faults, nil
		}
		if err != nil {
			return rows, faults, err
		}
		if row.quoteFault > 0 {
			faults = append(faults, row.quoteFault)
		}
		if len(row.cells) == 1 && len(row.cells[0]) == 0 {
			continue
		}
		rows = append(rows, cellStrings(row.cells))
	}
}

// TestSplitGoInputs holds the inputs of the Go project's own reader tests
// (encoding/csv/reader_test.go of Go 1.26, the Go Authors, BSD licence), typed
// again. Left out are those about comment lines, delimiters beyond ASCII and
// the count of fields, which the splitter does not have. Where that test
// expects an error, the splitter must name the same cell or refuse.
func TestSplitGoInputs(t *testing.T) {
	tests := []struct {
		name, input string
		delim       byte
		want        [][]string
		fault       int  // cell with a stray quotation mark
		unclosed    bool // refused
		trim        bool // compare without leading blanks
	}{
		{name: "Simple", input: "a,b,c\n", want: [][]string{{"a", "b", "c"}}},
		{name: "CRLF", input: "a,b\r\nc,d\r\n", want: [][]string{{"a", "b"}, {"c", "d"}}},
		{name: "BareCR", input: "a,b\rc,d\r\n", want: [][]string{{"a", "b\rc", "d"}}},
		{name: "RFC4180test", input: "#field1,field2,field3\n\"aaa\",\"bb\nb\",\"ccc\"\n\"a,a\",\"b\"\"bb\",\"ccc\"\nzzz,yyy,xxx\n",
			want: [][]string{{"#field1", "field2", "field3"}, {"aaa", "bb\nb", "ccc"}, {"a,a", `b"bb`, "ccc"}, {"zzz", "yyy", "xxx"}}},
		{name: "NoEOLTest", input: "a,b,c", want: [][]string{{"a", "b", "c"}}},
		{name: "Semicolon", input: "a;b;c\n", delim: ';', want: [][]string{{"a", "b", "c"}}},
		{name: "MultiLine", input: "\"two\nline\",\"one line\",\"three\nline\nfield\"", want: [][]string{{"two\nline", "one line", "three\nline\nfield"}}},
		{name: "BlankLine", input: "a,b,c\n\nd,e,f\n\n", want: [][]string{{"a", "b", "c"}, {"d", "e", "f"}}},
		{name: "TrimSpace", input: " a,  b,   c\n", want: [][]string{{"a", "b", "c"}}, trim: true},
		{name: "LeadingSpace", input: " a,  b,   c\n", want: [][]string{{" a", "  b", "   c"}}},
		{name: "LazyQuotes", input: `a "word","1"2",a","b`, want: [][]string{{`a "word"`, `1"2`, `a"`, `b`}}, fault: 2, unclosed: true},
		{name: "BareQuotes", input: `a "word","1"2",a"`, want: [][]string{{`a "word"`, `1"2`, `a"`}}, fault: 2},
		{name: "BareDoubleQuotes", input: `a""b,c`, want: [][]string{{`a""b`, `c`}}},
		{name: "TrimQuote", input: ` "a"," b",c`, want: [][]string{{"a", " b", "c"}}},
		{name: "ExtraneousQuote", input: `"a "word","b"`, want: [][]string{{`a "word`, "b"}}, fault: 1},
		{name: "TrailingCommaEOF", input: "a,b,c,", want: [][]string{{"a", "b", "c", ""}}},
		{name: "TrailingCommaEOL", input: "a,b,c,\n", want: [][]string{{"a", "b", "c", ""}}},
		{name: "TrailingCommaSpaceEOF", input: "a,b,c, ", want: [][]string{{"a", "b", "c", ""}}, trim: true},
		{name: "TrailingCommaSpaceEOL", input: "a,b,c, \n", want: [][]string{{"a", "b", "c", ""}}, trim: true},
		{name: "TrailingCommaLine3", input: "a,b,c\nd,e,f\ng,hi,", want: [][]string{{"a", "b", "c"}, {"d", "e", "f"}, {"g", "hi", ""}}},
		{name: "NotTrailingComma3", input: "a,b,c, \n", want: [][]string{{"a", "b", "c", " "}}},
		{name: "CommaFieldTest", input: "x,y,z,w\nx,y,z,\nx,y,,\nx,,,\n,,,\n\"x\",\"y\",\"z\",\"w\"\n\"x\",\"y\",\"z\",\"\"\n\"x\",\"y\",\"\",\"\"\n\"x\",\"\",\"\",\"\"\n\"\",\"\",\"\",\"\"\n",
			want: [][]string{{"x", "y", "z", "w"}, {"x", "y", "z", ""}, {"x", "y", "", ""}, {"x", "", "", ""}, {"", "", "", ""},
				{"x", "y", "z", "w"}, {"x", "y", "z", ""}, {"x", "y", "", ""}, {"x", "", "", ""}, {"", "", "", ""}}},
		{name: "TrailingCommaIneffective1", input: "a,b,\nc,d,e", want: [][]string{{"a", "b", ""}, {"c", "d", "e"}}},
		{name: "StartLine1", input: "a,\"b\nc\"d,e", fault: 2, unclosed: true},
		{name: "StartLine2", input: "a,b\n\"d\n\n,e", want: [][]string{{"a", "b"}}, unclosed: true},
		{name: "CRLFInQuotedField", input: "A,\"Hello\r\nHi\",B\r\n", want: [][]string{{"A", "Hello\nHi", "B"}}},
		{name: "BinaryBlobField", input: "x09\x41\xb4\x1c,aktau", want: [][]string{{"x09A\xb4\x1c", "aktau"}}},
		{name: "TrailingCR", input: "field1,field2\r", want: [][]string{{"field1", "field2"}}},
		{name: "QuotedTrailingCR", input: "\"field\"\r", want: [][]string{{"field"}}},
		{name: "QuotedTrailingCRCR", input: "\"field\"\r\r", fault: 1, unclosed: true},
		{name: "FieldCR", input: "field\rfield\r", want: [][]string{{"field\rfield"}}},
		{name: "FieldCRCR", input: "field\r\rfield\r\r", want: [][]string{{"field\r\rfield\r"}}},
		{name: "FieldCRCRLF", input: "field\r\r\nfield\r\r\n", want: [][]string{{"field\r"}, {"field\r"}}},
		{name: "FieldCRCRLFCR", input: "field\r\r\n\rfield\r\r\n\r", want: [][]string{{"field\r"}, {"\rfield\r"}}},
		{name: "FieldCRCRLFCRCR", input: "field\r\r\n\r\rfield\r\r\n\r\r", want: [][]string{{"field\r"}, {"\r\rfield\r"}, {"\r"}}},
		{name: "MultiFieldCRCRLFCRCR", input: "field1,field2\r\r\n\r\rfield1,field2\r\r\n\r\r,", want: [][]string{{"field1", "field2\r"}, {"\r\rfield1", "field2\r"}, {"\r\r", ""}}},
		{name: "QuotedFieldMultipleLF", input: "\"\n\n\n\n\"", want: [][]string{{"\n\n\n\n"}}},
		{name: "MultipleCRLF", input: "\r\n\r\n\r\n\r\n"},
		{name: "HugeLines", input: strings.Repeat("ignore\n", 3) + strings.Repeat("@", 300_000) + "," + strings.Repeat("*", 5000),
			want: [][]string{{"ignore"}, {"ignore"}, {"ignore"}, {strings.Repeat("@", 300_000), strings.Repeat("*", 5000)}}},
		{name: "LazyQuoteWithTrailingCRLF", input: "\"foo\"bar\"\r\n", want: [][]string{{`foo"bar`}}, fault: 1},
		{name: "DoubleQuoteWithTrailingCRLF", input: "\"foo\"\"bar\"\r\n", want: [][]string{{`foo"bar`}}},
		{name: "EvenQuotes", input: `""""""""`, want: [][]string{{`"""`}}},
		{name: "LazyOddQuotes", input: `"""""""`, unclosed: true},
	}
	for _, tt := range tests {
		if tt.delim == 0 {
			tt.delim = ','
		}
		for _, how := range []struct {
			name string
			r    io.Reader
		}{{"whole", strings.NewReader(tt.input)}, {"byte by byte", iotest.OneByteReader(strings.NewReader(tt.input))}, {"data with error", iotest.DataErrReader(strings.NewReader(tt.input))}} {
			rows, faults, err := splitAll(how.r, tt.delim, false)
			if tt.unclosed {
				var u *unclosedError
				if !errors.As(err, &u) {
					t.Errorf("%s, %s: error %v, want an unclosed quotation mark", tt.name, how.name, err)
				}
				continue
			}
			if err != nil {
				t.Errorf("%s, %s: %v", tt.name, how.name, err)
				continue
			}
			if tt.trim {
				for _, r := range rows {
					for i := range r {
						r[i] = strings.TrimLeft(r[i], " ")
					}
				}
			}
			if d := cmp.Diff(tt.want, rows); d != "" {
				t.Errorf("%s, %s: (-want +got)\n%s", tt.name, how.name, d)
			}
			if tt.fault > 0 && (len(faults) != 1 || faults[0] != tt.fault) || tt.fault == 0 && len(faults) > 0 {
				t.Errorf("%s, %s: stray quotation marks %v, want %d", tt.name, how.name, faults, tt.fault)
			}
		}
	}
}

// TestSplitCR reads lone carriage returns as line ends, in quoted cells as line
// feeds.
func TestSplitCR(t *testing.T) {
	rows, _, err := splitAll(strings.NewReader("a|b\rc|\"d\re\"\r\"f\"|g"), '|', true)
	if d := cmp.Diff([][]string{{"a", "b"}, {"c", "d\ne"}, {"f", "g"}}, rows); d != "" || err != nil {
		t.Errorf("%v %s", err, d)
	}
}

// TestSplitPadded skips blanks round quotation marks, in which it differs from
// encoding/csv.
func TestSplitPadded(t *testing.T) {
	rows, faults, err := splitAll(strings.NewReader(`  "a;b"  ; "c"`+"\n"+`"d" ;e`), ';', false)
	if d := cmp.Diff([][]string{{"a;b", "c"}, {"d", "e"}}, rows); d != "" || err != nil || faults != nil {
		t.Errorf("%v %v %s", err, faults, d)
	}
}

func TestSplitLines(t *testing.T) {
	s := newSplitter(strings.NewReader("a\n\"b\n\nc\",d\n\ne"), ',', false, 100, 10)
	var got [][2]int
	for {
		r, err := s.next()
		if err != nil {
			break
		}
		got = append(got, [2]int{r.line, r.lastLine})
	}
	if d := cmp.Diff([][2]int{{1, 1}, {2, 4}, {5, 5}, {6, 6}}, got); d != "" {
		t.Error(d)
	}
}

func TestSplitUnclosedPlace(t *testing.T) {
	_, _, err := splitAll(strings.NewReader("a,b\nc,\"d\ne,f\n"), ',', false)
	var u *unclosedError
	if !errors.As(err, &u) || u.line != 2 || u.column != 2 {
		t.Errorf("got %+v", err)
	}
}

// TestSplitLimits cuts long cells and drops cells beyond the limit of columns,
// on both roads, without keeping what it drops.
func TestSplitLimits(t *testing.T) {
	long := strings.Repeat("x", 5000)
	for _, input := range []string{"a," + long + ",c,d\nnext\n", "a,\"" + long + "\",c,d\nnext\n"} {
		s := newSplitter(strings.NewReader(input), ',', false, 100, 3)
		r, err := s.next()
		if err != nil || r.tooLong != 2 || !r.tooMany || len(r.cells) != 3 || len(r.cells[1]) != 100 {
			t.Errorf("%v: tooLong %d tooMany %v cells %d", err, r.tooLong, r.tooMany, len(r.cells))
		}
		if r, err = s.next(); err != nil || string(r.cells[0]) != "next" || r.tooLong != 0 || r.tooMany {
			t.Errorf("after it: %v", err)
		}
	}
	// 64 MB in one cell are read and dropped.
	s := newSplitter(io.MultiReader(strings.NewReader("\""), io.LimitReader(repeat('y'), 64<<20), strings.NewReader("\",b\n")), ',', false, 100, 3)
	r, err := s.next()
	if err != nil || r.tooLong != 1 || string(r.cells[1]) != "b" {
		t.Fatalf("%v %+v", err, r)
	}
	if cap(s.scratch)+cap(s.buf) > 1<<20 {
		t.Errorf("the splitter holds %d bytes", cap(s.scratch)+cap(s.buf))
	}
}

type repeat byte

func (r repeat) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = byte(r)
	}
	return len(p), nil
}

func TestSplitReadError(t *testing.T) {
	boom := errors.New("boom")
	for _, input := range []string{"a,b\nc", "a,b\n\"c", "a,b\n\"c\""} {
		_, _, err := splitAll(io.MultiReader(strings.NewReader(input), iotest.ErrReader(boom)), ',', false)
		if !errors.Is(err, boom) {
			t.Errorf("%q: %v", input, err)
		}
	}
}

// FuzzSplit compares the splitter with encoding/csv on every input on which
// their rules agree: no blanks beside quotation marks, all marks closed.
func FuzzSplit(f *testing.F) {
	for _, s := range []string{"a,b\n1,2\n", "\"a\nb\",c\r\n", "a\"b,\"c\"\"d\"", "\"a\"b\",c\n", "a,\"\"\r\r\n,,\n\n", "\"", "x,\"y\n"} {
		f.Add([]byte(s), byte(0))
	}
	f.Fuzz(func(t *testing.T, data []byte, d byte) {
		delim := delimiters[int(d)%len(delimiters)]
		got, _, err := splitAll(bytes.NewReader(data), delim, false)
		slow, _, slowErr := splitAll(iotest.OneByteReader(bytes.NewReader(data)), delim, false)
		if diff := cmp.Diff(got, slow); diff != "" || (err == nil) != (slowErr == nil) {
			t.Fatalf("the result depends on how the input arrives: %v %v %s", err, slowErr, diff)
		}
		if bytes.Contains(data, []byte(" \"")) || bytes.Contains(data, []byte("\" ")) {
			return
		}
		if err != nil {
			return
		}
		r := csv.NewReader(bytes.NewReader(data))
		r.Comma, r.LazyQuotes, r.FieldsPerRecord = rune(delim), true, -1
		want, err := r.ReadAll()
		if err != nil {
			t.Fatalf("encoding/csv refuses it: %v", err)
		}
		var rows [][]string
		for _, row := range want {
			if len(row) == 1 && row[0] == "" {
				continue // a line of an empty quoted cell
			}
			rows = append(rows, row)
		}
		if diff := cmp.Diff(rows, got); diff != "" {
			t.Fatalf("(-encoding/csv +splitter)\n%s", diff)
		}
	})
}
