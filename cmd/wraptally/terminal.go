package main

import (
	"fmt"
	"io"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"
)

// screen shows text from outside as it is: a character that a terminal would act
// on, or that would turn the direction of what follows, is written as its number
// (\u202e), which is also how JSON writes it. The first error is kept, so that a
// failed write is told once, whatever was being written.
type screen struct {
	w    io.Writer
	cut  []byte // the start of a character whose end is still to come
	err  error
	show []byte
}

func (s *screen) Write(p []byte) (int, error) {
	if s.err != nil {
		return 0, s.err
	}
	text := append(s.cut, p...)
	s.cut = nil
	s.show = s.show[:0]
	for len(text) > 0 {
		plain := 0
		for plain < len(text) && text[plain] < utf8.RuneSelf && !acts(rune(text[plain])) {
			plain++
		}
		s.show, text = append(s.show, text[:plain]...), text[plain:]
		r, n := utf8.DecodeRune(text)
		switch {
		case r == utf8.RuneError && n == 1 && !utf8.FullRune(text):
			s.cut = append([]byte(nil), text...)
			text = nil
			continue
		case r == '\r' && len(text) == 1: // does the line end with it?
			s.cut = []byte{'\r'}
			text = nil
			continue
		case r == '\r' && text[1] == '\n':
			s.show = append(s.show, '\r') // the lines of CSV end so
		case r == utf8.RuneError && n == 1:
			s.show = fmt.Appendf(s.show, `\u00%02x`, text[0])
		case acts(r) && r > 0xffff:
			high, low := utf16.EncodeRune(r)
			s.show = fmt.Appendf(s.show, `\u%04x\u%04x`, high, low)
		case acts(r):
			s.show = fmt.Appendf(s.show, `\u%04x`, r)
		default:
			s.show = append(s.show, text[:n]...)
		}
		text = text[n:]
	}
	if _, s.err = s.w.Write(s.show); s.err != nil {
		return 0, s.err
	}
	return len(p), nil
}

// acts reports whether a character does something other than stand there.
func acts(r rune) bool {
	if r < 0x7f {
		return r < ' ' && r != '\n' && r != '\t'
	}
	return unicode.IsControl(r) || unicode.Is(unicode.Cf, r) || r == '\u2028' || r == '\u2029'
}

// written wraps what a command writes for others to read, other than what they
// unpack, in a screen.
func written(write func(io.Writer) error) func(io.Writer) error {
	return func(w io.Writer) error { return write(&screen{w: w}) }
}
