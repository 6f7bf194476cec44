package survey

import (
	"bytes"
	"io"
)

// splitter parts delimited text into rows of cells. It follows the rules of
// encoding/csv with LazyQuotes and is tested against it; it exists because a
// survey needs four things more: lone CR as a line end, memory that does not
// grow with a runaway cell, the place of a quotation mark that never closes
// (encoding/csv takes the rest of the file as one cell without a word), and
// cells as bytes, without a string per row.
//
// Two rules differ, both for hand-padded files: blanks before an opening and
// after a closing quotation mark are skipped.
type splitter struct {
	src        io.Reader
	delim      byte
	cr         bool // lone CR ends a line
	fieldBytes int  // longer cells are cut and marked
	columns    int  // further cells are dropped and marked

	buf        []byte
	start, end int // unread part of buf
	eof        bool
	err        error // of src, not io.EOF

	line    int // of the next byte, 1-based
	number  int // of the last row, as a spreadsheet counts them
	row     textRow
	scratch []byte // cells of rows with quotation marks
	bounds  []int  // ends of the cells in scratch
}

// textRow is one row of cells. The cells are only valid until the next row.
type textRow struct {
	line, lastLine int
	number         int // of the row as a spreadsheet shows it: a cell may run over several lines
	cells          [][]byte
	raw            [][]byte // a workbook's cells as stored, beside cells as displayed; nil for text
	rawBuf         [][]byte // kept for reuse
	tooLong        int      // 1-based number of the first cell over the limit, 0 if none
	tooMany        bool     // more cells than the limit of columns
	quoteFault     int      // 1-based number of the first cell with a stray quotation mark after its closing one
}

// reset empties the row for reuse.
func (r *textRow) reset(line int) {
	r.line, r.lastLine, r.number = line, line, line
	r.cells = r.cells[:0]
	r.raw = nil
	r.tooLong, r.quoteFault, r.tooMany = 0, 0, false
}

// unclosedError says where a quotation mark was opened that nothing closes.
type unclosedError struct{ line, column int }

func (e *unclosedError) Error() string { return "a quotation mark is opened and never closed" }

const splitBuffer = 128 << 10

func newSplitter(src io.Reader, delim byte, cr bool, fieldBytes, columns int) *splitter {
	return &splitter{src: src, delim: delim, cr: cr, fieldBytes: fieldBytes, columns: columns,
		buf: make([]byte, splitBuffer), line: 1}
}

// fill reads more input behind the unread part, moving that to the front of the
// buffer first. It reports false at the end of the input or with a full buffer.
func (s *splitter) fill() bool {
	if s.eof || s.err != nil {
		return false
	}
	if s.start > 0 {
		copy(s.buf, s.buf[s.start:s.end])
		s.end -= s.start
		s.start = 0
	}
	if s.end == len(s.buf) {
		return false
	}
	for range 100 {
		n, err := s.src.Read(s.buf[s.end:])
		s.end += n
		if err == io.EOF {
			s.eof = true
			return n > 0
		}
		if err != nil {
			s.err = err
			return n > 0
		}
		if n > 0 {
			return true
		}
	}
	s.err = io.ErrNoProgress
	return false
}

// next gives the next row, or io.EOF. An empty line is a row of one empty cell.
func (s *splitter) next() (*textRow, error) {
	stop := byte('\n')
	if s.cr {
		stop = '\r'
	}
	from := s.start
	for {
		if i := bytes.IndexByte(s.buf[from:s.end], stop); i >= 0 {
			line := s.buf[s.start : from+i]
			if bytes.IndexByte(line, '"') >= 0 {
				return s.quoted()
			}
			s.start = from + i + 1
			return s.plain(line), nil
		}
		seen := s.end - s.start
		if !s.fill() {
			break
		}
		from = s.start + seen
	}
	if s.err != nil {
		return nil, s.err
	}
	rest := s.buf[s.start:s.end]
	if len(rest) == 0 {
		return nil, io.EOF
	}
	if !s.eof || bytes.IndexByte(rest, '"') >= 0 {
		return s.quoted()
	}
	s.start = s.end
	return s.plain(rest), nil
}

// plain parts a whole line without quotation marks; the cells lie in buf.
func (s *splitter) plain(line []byte) *textRow {
	r := &s.row
	r.reset(s.line)
	s.number++
	r.number = s.number
	s.line++
	if !s.cr && len(line) > 0 && line[len(line)-1] == '\r' {
		line = line[:len(line)-1]
	}
	// The cells are a few bytes each: a plain loop beats a search for each.
	delim, from := s.delim, 0
	for i := 0; i <= len(line); i++ {
		if i < len(line) && line[i] != delim {
			continue
		}
		cell := line[from:i]
		from = i + 1
		if len(r.cells) == s.columns {
			r.tooMany = true
			return r
		}
		if len(cell) > s.fieldBytes {
			if r.tooLong == 0 {
				r.tooLong = len(r.cells) + 1
			}
			cell = cell[:s.fieldBytes]
		}
		r.cells = append(r.cells, cell)
	}
	return r
}

// peek gives the next byte without taking it.
func (s *splitter) peek() (byte, bool) {
	if s.start == s.end && !s.fill() {
		return 0, false
	}
	return s.buf[s.start], true
}

// lineEnd reports whether a line ends here and takes the line end.
func (s *splitter) lineEnd() bool {
	c, ok := s.peek()
	if !ok {
		return s.eof // the end of the input ends the line; an error does not
	}
	switch {
	case s.cr && c == '\r', !s.cr && c == '\n':
		s.start++
	case !s.cr && c == '\r':
		if s.end-s.start < 2 {
			s.fill()
		}
		if s.end-s.start < 2 && s.eof { // the input ends in a lone CR, which encoding/csv drops too
			s.start++
			return true
		}
		if s.end-s.start < 2 || s.buf[s.start+1] != '\n' {
			return false
		}
		s.start += 2
	default:
		return false
	}
	s.line++
	return true
}

// quoted parts a row byte by byte: one with quotation marks, or one longer than
// the buffer. The cells are copied to scratch, each cut at the limit, so that
// memory stays bounded.
func (s *splitter) quoted() (*textRow, error) {
	r := &s.row
	r.reset(s.line)
	s.number++
	r.number = s.number
	s.scratch, s.bounds = s.scratch[:0], s.bounds[:0]
	for {
		cellStart := len(s.scratch)
		put := func(c byte) {
			if len(s.bounds) >= s.columns {
				return
			}
			if len(s.scratch)-cellStart >= s.fieldBytes {
				if r.tooLong == 0 {
					r.tooLong = len(s.bounds) + 1
				}
				return
			}
			s.scratch = append(s.scratch, c)
		}
		ended := false // the row ended with this cell
		blanks := 0
		for c, ok := s.peek(); ok && c == ' '; c, ok = s.peek() {
			blanks++
			s.start++
		}
		if c, ok := s.peek(); ok && c == '"' {
			s.start++
			var err error
			if ended, err = s.quotedCell(put, len(s.bounds)+1); err != nil {
				return nil, err
			}
		} else {
			for range blanks {
				put(' ')
			}
			for {
				if s.lineEnd() {
					ended = true
					break
				}
				c, ok := s.peek()
				if !ok {
					return nil, s.err
				}
				s.start++
				if c == s.delim {
					break
				}
				put(c)
			}
		}
		if len(s.bounds) < s.columns {
			s.bounds = append(s.bounds, len(s.scratch))
		} else {
			r.tooMany = true
		}
		if ended {
			break
		}
	}
	from := 0
	for _, to := range s.bounds {
		r.cells = append(r.cells, s.scratch[from:to:to])
		from = to
	}
	if r.lastLine = s.line - 1; r.lastLine < r.line {
		r.lastLine = r.line // the last line of the file has no line end
	}
	return r, nil
}

// quotedCell takes a cell after its opening quotation mark, to the delimiter or
// line end behind the closing one, and reports whether the row ended there.
func (s *splitter) quotedCell(put func(byte), column int) (ended bool, err error) {
	open := unclosedError{s.line, column}
	for {
		c, ok := s.peek()
		if !ok {
			if s.err != nil {
				return false, s.err
			}
			return false, &open
		}
		if c != '"' {
			s.start++
			if c == '\r' && !s.cr { // CRLF inside a cell is one line feed, as encoding/csv has it
				if n, ok := s.peek(); ok && n == '\n' {
					continue
				}
			}
			if c == '\r' && s.cr {
				c = '\n'
			}
			if c == '\n' {
				s.line++
			}
			put(c)
			continue
		}
		s.start++
		if c, ok = s.peek(); ok && c == '"' {
			s.start++
			put('"')
			continue
		}
		blanks := 0
		for ok && c == ' ' {
			blanks++
			s.start++
			c, ok = s.peek()
		}
		if ok && c == s.delim {
			s.start++
			return false, nil
		}
		if s.lineEnd() {
			return true, nil
		}
		if s.err != nil {
			return false, s.err
		}
		// Something stands behind the closing mark: it was no closing mark.
		if s.row.quoteFault == 0 {
			s.row.quoteFault = column
		}
		put('"')
		for range blanks {
			put(' ')
		}
	}
}
