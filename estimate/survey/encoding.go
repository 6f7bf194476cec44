package survey

import (
	"bufio"
	"bytes"
	"io"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/htmlindex"
	"golang.org/x/text/encoding/unicode"

	"wraptally/estimate/trace"
)

// formsRead is what to send instead of a file that cannot be read.
const formsRead = "a survey is a CSV file or an .xlsx workbook"

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
// Central European where signs of the Western one stand within words, Western
// where high bytes stand alone among plain letters.
func sniffEncoding(r io.ReaderAt, size int64, opts *Options) (textForm, error) {
	head := make([]byte, min(size, 4096))
	if _, err := r.ReadAt(head, 0); err != nil && err != io.EOF {
		return textForm{}, &Error{Problem: "cannot read the survey", Err: err}
	}
	if bytes.HasPrefix(head, []byte("\xff\xfe\x00\x00")) || bytes.HasPrefix(head, []byte("\x00\x00\xfe\xff")) || utf32(head) {
		return textForm{}, &Error{Problem: "this text is UTF-32", Hint: "save it as UTF-8 (or UTF-16); " + formsRead}
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
	if 50*bytes.Count(head, []byte{0}) > len(head) { // a stray one is queried where it stands
		return textForm{}, &Error{Problem: "this is neither text nor a workbook", Hint: formsRead}
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
	if centralEuropean(head) {
		return textForm{name: "windows-1250", enc: charmap.Windows1250}, nil
	}
	return textForm{name: "windows-1252", enc: charmap.Windows1252}, nil
}

// centralEuropean reports whether letters of Polish and its neighbours stand within
// words, where the Western code page has signs that no word holds: ł ą ż ź as ³ ¹ ¿ Ÿ.
func centralEuropean(head []byte) bool {
	letter := func(b byte) bool { return b|0x20 >= 'a' && b|0x20 <= 'z' || b >= 0xC0 }
	for i := 1; i+1 < len(head); i++ {
		if b := head[i]; (b == 0xB3 || b == 0xB9 || b == 0xBF || b == 0x9F) && letter(head[i-1]) && letter(head[i+1]) {
			return true
		}
	}
	return false
}

func namedEncoding(r io.ReaderAt, size int64, opts *Options, mark textForm) (textForm, error) {
	e, err := htmlindex.Get(strings.TrimSpace(opts.Encoding))
	if err != nil {
		return textForm{}, &Error{Problem: "no encoding is called " + quote(opts.Encoding), Hint: "utf-8, utf-16le, windows-1251, windows-1252, ..."}
	}
	name, _ := htmlindex.Name(e)
	if name == "replacement" {
		return textForm{}, &Error{Problem: "the encoding " + quote(opts.Encoding) + " cannot be read", Hint: "save the survey as UTF-8"}
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

// utf32 recognises UTF-32 without a mark: three bytes of four are zero.
func utf32(head []byte) bool {
	if len(head) < 16 {
		return false
	}
	for _, at := range []int{0, 3} { // where the letter stands in its four bytes
		letters := 0
		for i := 0; i+4 <= len(head); i += 4 {
			if head[i+at] != 0 && head[i+(at+1)%4] == 0 && head[i+(at+2)%4] == 0 && head[i+(at+3)%4] == 0 {
				letters++
			}
		}
		if 10*letters > 9*(len(head)/4) {
			return true
		}
	}
	return false
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
