package survey

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/htmlindex"
	"golang.org/x/text/encoding/unicode"

	"wraptally/estimate/trace"
)

// sampleBytes of decoded text decide delimiter, heading and decimal mark.
const sampleBytes = 256 << 10

// textForm is how the bytes of a text file become text.
type textForm struct {
	name string            // "utf-8"
	enc  encoding.Encoding // nil for UTF-8
	skip int64             // bytes of the byte order mark
	sure bool              // by mark, by proof or by the user, not by guess
}

// reader gives the decoded text from the start.
func (f textForm) reader(r io.ReaderAt, size int64) io.Reader {
	return f.decode(io.NewSectionReader(r, f.skip, size-f.skip))
}

func (f textForm) decode(in io.Reader) io.Reader {
	if f.enc != nil {
		return f.enc.NewDecoder().Reader(in)
	}
	return in
}

// sniffEncoding decides the encoding: the user's word, a byte order mark, the
// zero bytes of UTF-16, valid UTF-8 throughout; failing these the Windows code
// page, Cyrillic where high bytes stand in runs as letters of a word do,
// Western where they stand alone among plain letters.
func sniffEncoding(r io.ReaderAt, size int64, opts *Options) (textForm, error) {
	head := make([]byte, min(size, 4096))
	if _, err := r.ReadAt(head, 0); err != nil && err != io.EOF {
		return textForm{}, &Error{Problem: "cannot read the survey", Err: err}
	}
	mark := byteOrderMark(head)
	if opts.Encoding != "" {
		return namedEncoding(r, size, opts, mark)
	}
	if mark.name != "" {
		if mark.name == "utf-8" {
			if err := checkUTF8(r, size); err != nil {
				return textForm{}, err
			}
		}
		return mark, nil
	}
	if order, ok := zeroBytes(head); ok {
		name := "utf-16le"
		if order == unicode.BigEndian {
			name = "utf-16be"
		}
		return textForm{name: name, enc: unicode.UTF16(order, unicode.IgnoreBOM)}, nil
	}
	if bytes.IndexByte(head, 0) >= 0 {
		return textForm{}, &Error{Problem: "this is neither text nor a workbook", Hint: "a survey is a CSV file or an .xlsx workbook"}
	}
	bad, err := firstBadUTF8(r, size)
	if err != nil {
		return textForm{}, &Error{Problem: "cannot read the survey", Err: err}
	}
	if bad == 0 {
		return textForm{name: "utf-8", sure: true}, nil
	}
	runs, err := cyrillic(r, size)
	if err != nil {
		return textForm{}, &Error{Problem: "cannot read the survey", Err: err}
	}
	if runs {
		return textForm{name: "windows-1251", enc: charmap.Windows1251}, nil
	}
	return textForm{name: "windows-1252", enc: charmap.Windows1252}, nil
}

func namedEncoding(r io.ReaderAt, size int64, opts *Options, mark textForm) (textForm, error) {
	e, err := htmlindex.Get(strings.TrimSpace(opts.Encoding))
	if err != nil {
		return textForm{}, &Error{Problem: "no encoding is called " + quote(opts.Encoding), Hint: "utf-8, utf-16le, windows-1251, windows-1252, ..."}
	}
	name, _ := htmlindex.Name(e)
	if name == "replacement" {
		return textForm{}, &Error{Problem: "the encoding " + quote(opts.Encoding) + " cannot be read"}
	}
	f := textForm{name: name, enc: e, sure: true}
	if mark.name != "" && mark.name == name {
		f.skip = mark.skip
	}
	if name == "utf-8" {
		f.enc = nil
		if err := checkUTF8(r, size); err != nil {
			return textForm{}, err
		}
	}
	return f, nil
}

// checkUTF8 refuses a file that says it is UTF-8 and is not.
func checkUTF8(r io.ReaderAt, size int64) error {
	line, err := firstBadUTF8(r, size)
	if err != nil {
		return &Error{Problem: "cannot read the survey", Err: err}
	}
	if line == 0 {
		return nil
	}
	return &Error{Place: trace.Place{Line: line}, Problem: "a byte that is not UTF-8", Hint: "give the encoding: --encoding windows-1252, windows-1251, ..."}
}

// byteOrderMark recognises the mark that some programs put first.
func byteOrderMark(head []byte) textForm {
	switch {
	case bytes.HasPrefix(head, []byte("\xef\xbb\xbf")):
		return textForm{name: "utf-8", skip: 3, sure: true}
	case bytes.HasPrefix(head, []byte("\xff\xfe")):
		return textForm{name: "utf-16le", skip: 2, sure: true, enc: unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM)}
	case bytes.HasPrefix(head, []byte("\xfe\xff")):
		return textForm{name: "utf-16be", skip: 2, sure: true, enc: unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM)}
	}
	return textForm{}
}

// zeroBytes recognises UTF-16 without a mark: digits, delimiters and Latin
// letters have a zero byte on one side, and always on the same.
func zeroBytes(head []byte) (unicode.Endianness, bool) {
	even, odd := 0, 0
	for i, c := range head {
		if c != 0 {
			continue
		}
		if i%2 == 0 {
			even++
		} else {
			odd++
		}
	}
	half := len(head) / 2
	switch {
	case half >= 4 && odd > half/3 && even*20 < odd:
		return unicode.LittleEndian, true
	case half >= 4 && even > half/3 && odd*20 < even:
		return unicode.BigEndian, true
	}
	return unicode.LittleEndian, false
}

// firstBadUTF8 passes once over the whole file, in constant memory, and gives the
// line of the first byte that is not UTF-8, 0 where there is none: a code page
// betrays itself by a single byte, perhaps in the last row.
func firstBadUTF8(r io.ReaderAt, size int64) (line int, err error) {
	in := io.NewSectionReader(r, 0, size)
	buf := make([]byte, 256<<10)
	keep, line := 0, 1
	for {
		n, err := in.Read(buf[keep:])
		if err != nil && err != io.EOF {
			return 0, err
		}
		b := buf[:keep+n]
		last := err == io.EOF
		whole := len(b)
		if !last { // a character may be cut at the end of the block
			for whole > 0 && whole > len(b)-utf8.UTFMax && !utf8.RuneStart(b[whole-1]) {
				whole--
			}
			if whole > 0 && b[whole-1] >= utf8.RuneSelf {
				whole--
			}
		}
		if !utf8.Valid(b[:whole]) {
			return line + linesBefore(b[:whole]), nil
		}
		if last {
			return 0, nil
		}
		line += bytes.Count(b[:whole], []byte{'\n'})
		keep = copy(buf, b[whole:])
	}
}

// cyrillic reports whether the letters above 0xC0 stand in runs, as those of a
// Russian word do, rather than alone among plain letters.
func cyrillic(r io.ReaderAt, size int64) (bool, error) {
	in := bufio.NewReaderSize(io.NewSectionReader(r, 0, size), 256<<10)
	pairs, alone, run := 0, 0, 0
	for {
		x, err := in.ReadByte()
		if err == nil && (x >= 0xC0 || x == 0xA8 || x == 0xB8) { // the two are Ё and ё
			run++
			continue
		}
		if run > 1 {
			pairs += run
		} else {
			alone += run
		}
		run = 0
		if err == io.EOF {
			return pairs > alone, nil
		}
		if err != nil {
			return false, err
		}
	}
}

func linesBefore(b []byte) int {
	for i := 0; i < len(b); {
		r, n := utf8.DecodeRune(b[i:])
		if r == utf8.RuneError && n <= 1 {
			return bytes.Count(b[:i], []byte{'\n'})
		}
		i += n
	}
	return 0
}

// lineEndsOf names the line ends of the sample; those inside quotation marks do
// not count.
func lineEndsOf(sample []byte) string {
	lf, crlf, cr := 0, 0, 0
	quoted := false
	for i, c := range sample {
		switch {
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == '\n' && i > 0 && sample[i-1] == '\r':
			crlf++
		case c == '\n':
			lf++
		case c == '\r' && (i+1 == len(sample) || sample[i+1] != '\n'):
			cr++
		}
	}
	switch {
	case lf+crlf == 0 && cr > 0:
		return "CR"
	case lf == 0 && crlf > 0:
		return "CRLF"
	case crlf > 0:
		return "mixed"
	default:
		return "LF"
	}
}

var delimiters = []byte{',', ';', '\t', '|'}

func delimiterName(c byte) string {
	if c == '\t' {
		return "tab"
	}
	return string(rune(c))
}

// separatorLine reads the line "sep=;" that some programs put first.
func separatorLine(sample []byte) (byte, bool) {
	line, _, _ := bytes.Cut(sample, []byte{'\n'})
	line = bytes.TrimRight(line, "\r")
	if rest, ok := bytes.CutPrefix(bytes.ToLower(line), []byte("sep=")); ok && len(rest) == 1 {
		return rest[0], true
	}
	return 0, false
}

// sampleRows splits the sample, leaving out a last line that may be cut short.
func sampleRows(sample []byte, whole bool, delim byte, cr bool, lim Limits) []headRow {
	s := newSplitter(bytes.NewReader(sample), delim, cr, lim.FieldBytes, lim.Columns)
	var rows []headRow
	for len(rows) < headRows {
		r, err := s.next()
		if err != nil {
			break
		}
		rows = append(rows, headRow{line: r.line, last: r.lastLine, cells: cellStrings(r.cells)})
	}
	if !whole && len(rows) > 1 && len(rows) < headRows {
		rows = rows[:len(rows)-1]
	}
	return rows
}

func cellStrings(cells [][]byte) []string {
	out := make([]string, len(cells))
	for i, c := range cells {
		out[i] = string(c)
	}
	return out
}

// readText reads a delimited text file.
func readText(r io.ReaderAt, size int64, opts Options) (*Result, error) {
	form, err := sniffEncoding(r, size, &opts)
	if err != nil {
		return nil, err
	}
	sample := make([]byte, sampleBytes)
	n, err := io.ReadFull(form.reader(r, size), sample)
	sample = sample[:n]
	if err != nil && err != io.EOF && err != io.ErrUnexpectedEOF {
		return nil, &Error{Problem: "cannot decode the survey as " + form.name, Err: err}
	}
	whole := err != nil
	if len(bytes.TrimSpace(sample)) == 0 {
		return nil, &Error{Problem: "the file holds nothing but blanks"}
	}
	ends := lineEndsOf(sample)
	delim, head, err := chooseDelimiter(sample, whole, ends == "CR", &opts)
	if err != nil {
		return nil, err
	}
	det := Detected{Form: "CSV", Encoding: form.name, BOM: form.skip > 0, LineEnds: ends, Delimiter: delimiterName(delim)}
	if opts.Encoding != "" {
		det.Set = append(det.Set, "encoding")
	}
	if opts.Delimiter != 0 {
		det.Set = append(det.Set, "delimiter")
	}
	rd, err := newReader(opts, det, head)
	if err != nil {
		return nil, err
	}
	if !form.sure {
		rd.rep.assume("encoding-guess", fmt.Sprintf("The text is read as %s, judged from its bytes; --encoding states another.", form.name), "common practice, no source", 1, opts.Name)
	}
	raw := &countReader{r: io.NewSectionReader(r, form.skip, size-form.skip), budget: size}
	s := newSplitter(form.decode(raw), delim, ends == "CR", opts.Limits.FieldBytes, opts.Limits.Columns)
	rd.progress = func() float64 { return float64(raw.n-int64(s.end-s.start)) / float64(size) }
	for {
		row, err := s.next()
		if err == io.EOF {
			return rd.finish()
		}
		if err != nil {
			return nil, textError(err, form.name)
		}
		if row.lastLine <= head.lastLine {
			continue
		}
		if err := rd.row(row); err != nil {
			return nil, err
		}
	}
}

func textError(err error, encoding string) error {
	if u, ok := err.(*unclosedError); ok {
		return &Error{Place: trace.Place{Line: u.line, Column: u.column}, Problem: "a quotation mark is opened here and never closed, so the rows after it cannot be told apart",
			Hint: `close it, or double it where it means inches: "6"""`}
	}
	return &Error{Problem: "cannot decode the survey as " + encoding, Err: err}
}

// chooseDelimiter takes the delimiter under which the most headings mean a
// field; where none does, the one that parts the most rows into the same number
// of cells.
func chooseDelimiter(sample []byte, whole, cr bool, opts *Options) (byte, *header, error) {
	m, err := newMatcher(opts.Map, opts.Synonyms)
	if err != nil {
		return 0, nil, err
	}
	candidates := delimiters
	if sep, ok := separatorLine(sample); ok {
		candidates = []byte{sep}
	}
	if opts.Delimiter != 0 {
		if opts.Delimiter >= utf8.RuneSelf || opts.Delimiter == '"' || opts.Delimiter == '\n' || opts.Delimiter == '\r' {
			return 0, nil, &Error{Problem: "the delimiter must be one plain character"}
		}
		candidates = []byte{byte(opts.Delimiter)}
	}
	var best byte
	var bestHead *header
	bestEven := -1
	for _, d := range candidates {
		rows := sampleRows(sample, whole, d, cr, opts.Limits)
		h := findHeader(rows, m, opts.HeaderRow)
		even := evenness(rows)
		if bestHead == nil || h.score > bestHead.score || h.score == bestHead.score && even > bestEven {
			best, bestHead, bestEven = d, h, even
		}
	}
	bestHead.matcher = m
	return best, bestHead, nil
}

// evenness counts the rows that have as many cells, two or more, as the most
// rows have.
func evenness(rows []headRow) int {
	counts := make(map[int]int)
	most := 0
	for _, r := range rows {
		if len(r.cells) > 1 {
			counts[len(r.cells)]++
			most = max(most, counts[len(r.cells)])
		}
	}
	return most
}
