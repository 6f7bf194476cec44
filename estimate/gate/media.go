package gate

import (
	"cmp"
	"slices"
	"strings"
	"unicode"
)

// Word is a word or phrase that names a medium, with its classes: "hydrogen
// sulphide" is toxic, flammable and corrosive. A word without a class says
// nothing of the medium ("line", "return").
type Word struct {
	Phrase  string
	Classes []string
}

// Media reads media by whole words, so that "deoxygenated water" is not oxygen.
type Media struct {
	words map[string]Word // by phrase, its words in small letters
	most  int             // words in the longest phrase
}

// NewMedia prepares the words. Of two entries for one phrase the classes add up.
func NewMedia(words []Word) Media {
	m := Media{words: make(map[string]Word, len(words))}
	for _, w := range words {
		parts := split(w.Phrase)
		if len(parts) == 0 {
			continue
		}
		k := strings.Join(parts, " ")
		old := m.words[k]
		m.words[k] = Word{Phrase: k, Classes: union(old.Classes, w.Classes)}
		m.most = max(m.most, len(parts))
	}
	return m
}

// Reading is what is known of a medium from its name.
type Reading struct {
	Classes []string // in alphabetical order, each once
	Strange []string // words that no entry has: what they mean is not known
	Known   bool     // some entry with a class was found
}

// Read finds the classes of a medium: at each word the longest phrase that
// starts there. Upper and lower case, hyphens and other punctuation and plain
// numbers make no difference, and small figures (H₂S) are figures.
func (m Media) Read(medium string) Reading {
	var r Reading
	parts := split(medium)
	for i := 0; i < len(parts); {
		n := min(m.most, len(parts)-i)
		for ; n > 0; n-- {
			if w, ok := m.words[strings.Join(parts[i:i+n], " ")]; ok {
				r.Classes = union(r.Classes, w.Classes)
				r.Known = r.Known || len(w.Classes) > 0
				break
			}
		}
		if n == 0 {
			if strings.ContainsFunc(parts[i], unicode.IsLetter) {
				r.Strange = append(r.Strange, parts[i])
			}
			n = 1
		}
		i += n
	}
	return r
}

// split gives the words of a text in small letters: runs of letters and figures.
func split(text string) []string {
	small := strings.Map(func(r rune) rune {
		if r >= '₀' && r <= '₉' {
			return r - '₀' + '0'
		}
		return unicode.ToLower(r)
	}, text)
	return strings.FieldsFunc(small, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsNumber(r) })
}

func union(a, b []string) []string {
	out := slices.Concat(a, b)
	slices.SortFunc(out, cmp.Compare[string])
	return slices.Compact(out)
}
