// Package mark gives short codes that stand for long things, to be printed, read
// aloud, typed and scanned: what has another code is another thing.
package mark

import (
	"crypto/sha256"
	"encoding/base32"
	"hash"
	"io"
)

// letters are 32 signs of which none is taken for another in print or in speech:
// no I, L, O or U.
var letters = base32.NewEncoding("0123456789ABCDEFGHJKMNPQRSTVWXYZ").WithPadding(base32.NoPadding)

// Signs is the length of a code: of 30 bits, so that among a thousand things two
// share one once in two thousand times.
const Signs = 6

// A Maker takes in a thing part by part.
type Maker struct{ sum hash.Hash }

// New begins a code.
func New() Maker { return Maker{sha256.New()} }

// Add takes in texts, each kept apart from the next.
func (m Maker) Add(texts ...string) {
	for _, t := range texts {
		_, _ = io.WriteString(m.sum, t)
		_, _ = m.sum.Write([]byte{0})
	}
}

// Code is the code of all that was taken in.
func (m Maker) Code() string { return letters.EncodeToString(m.sum.Sum(nil))[:Signs] }

// Is reports whether a text may be a code.
func Is(text string) bool {
	_, err := letters.DecodeString(text + "00")
	return len(text) == Signs && err == nil
}

// Of is the code of texts.
func Of(texts ...string) string {
	m := New()
	m.Add(texts...)
	return m.Code()
}
