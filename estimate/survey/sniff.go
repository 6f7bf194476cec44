package survey

import (
	"bytes"
	"fmt"
	"io"
	"unicode/utf8"

	"wraptally/estimate/trace"
)

// sampleBytes of decoded text decide delimiter, heading and decimal mark.
const sampleBytes = 256 << 10

// lineEndsOf names the line ends of the sample. Those between quotation marks do
// not count, unless there are no others: a mark may be a lone inch sign.
func lineEndsOf(sample []byte) string {
	if ends := countLineEnds(sample, true); ends != "" {
		return ends
	}
	if ends := countLineEnds(sample, false); ends != "" {
		return ends
	}
	return "LF"
}

// mixedWithCR are line ends of which some are lone carriage returns, as where
// parts of several files were put together.
const mixedWithCR = "mixed, CR among them"

// crReader turns lone carriage returns into line feeds.
type crReader struct {
	in   io.Reader
	held bool // a carriage return at the end of the last block
}

func (c *crReader) Read(p []byte) (int, error) {
	if len(p) < 2 {
		return 0, io.ErrShortBuffer
	}
	n := 0
	if c.held {
		p[0], n, c.held = '\r', 1, false
	}
	m, err := c.in.Read(p[n:])
	n += m
	for i := range n {
		switch {
		case p[i] != '\r' || i+1 < n && p[i+1] == '\n':
		case i+1 < n || err == io.EOF:
			p[i] = '\n'
		default:
			c.held = true
			return n - 1, err
		}
	}
	return n, err
}

func countLineEnds(sample []byte, skipQuoted bool) string {
	lf, crlf, cr := 0, 0, 0
	quoted := false
	for i, c := range sample {
		switch {
		case c == '"':
			quoted = !quoted
		case quoted && skipQuoted:
		case c == '\n' && i > 0 && sample[i-1] == '\r':
			crlf++
		case c == '\n':
			lf++
		case c == '\r' && (i+1 == len(sample) || sample[i+1] != '\n'):
			cr++
		}
	}
	switch {
	case lf+crlf+cr == 0:
		return ""
	case lf+crlf == 0:
		return "CR"
	case cr > 0:
		return mixedWithCR
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
		return nil, &Error{Problem: "the file holds nothing but blanks", Hint: "is it the right file?"}
	}
	ends := lineEndsOf(sample)
	decode := form.decode
	if ends == mixedWithCR {
		decode = func(in io.Reader) io.Reader { return &crReader{in: form.decode(in)} }
		if sample, err = io.ReadAll(&crReader{in: bytes.NewReader(sample)}); err != nil {
			return nil, &Error{Problem: "cannot read the survey", Err: err}
		}
	}
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
	rd, err := newReader(opts, det, head, nil)
	if err != nil {
		return nil, err
	}
	if !form.sure {
		rd.rep.assume("encoding-guess", fmt.Sprintf("The text is read as %s, judged from its bytes; --encoding states another.", form.name), "common practice, no source", 1, opts.Name)
	}
	raw := &countReader{r: io.NewSectionReader(r, form.skip, size-form.skip), budget: size}
	s := newSplitter(decode(raw), delim, ends == "CR", opts.Limits.FieldBytes, opts.Limits.Columns)
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
	m, err := newMatcher(opts.mappings(), opts.Synonyms)
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
	if bestHead.rows == 0 {
		bestHead = bestHead.orLikely(sampleRows(sample, whole, best, cr, opts.Limits), m, opts.HeaderRow)
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
