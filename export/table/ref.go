package table

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf16"
)

// The size of a sheet (ECMA-376 part 1, 18.18 and the limits its
// implementations share).
const (
	MaxRows    = 1_048_576
	MaxColumns = 16_384
)

// ColumnName is the letters of a column: 1 is A, 27 is AA.
func ColumnName(col int) string {
	if col < 1 {
		return "?"
	}
	var buf [8]byte
	i := len(buf)
	for col > 0 && i > 0 {
		col--
		i--
		buf[i] = byte('A' + col%26)
		col /= 26
	}
	return string(buf[i:])
}

// At is a cell's place.
type At struct{ Column, Row int }

// String is the relative reference, "B7".
func (a At) String() string { return ColumnName(a.Column) + strconv.Itoa(a.Row) }

// Abs is the absolute reference, "$B$7".
func (a At) Abs() string { return "$" + ColumnName(a.Column) + "$" + strconv.Itoa(a.Row) }

// AbsRow keeps the row when copied, "B$7".
func (a At) AbsRow() string { return ColumnName(a.Column) + "$" + strconv.Itoa(a.Row) }

// On is the absolute reference as seen from another sheet, "'Cost sheet'!$B$7".
func (a At) On(sheet string) string { return Quote(sheet) + "!" + a.Abs() }

// Valid reports whether the place is on a sheet.
func (a At) Valid() bool {
	return a.Column >= 1 && a.Column <= MaxColumns && a.Row >= 1 && a.Row <= MaxRows
}

// An Area is a rectangle of cells, both corners included. The zero Area is
// empty.
type Area struct{ First, Last At }

// Cells is the area from one corner to the other.
func Cells(firstColumn, firstRow, lastColumn, lastRow int) Area {
	return Area{At{firstColumn, firstRow}, At{lastColumn, lastRow}}
}

// One is the area of a single cell.
func One(a At) Area { return Area{a, a} }

// Empty reports whether the area holds no cell.
func (a Area) Empty() bool { return a == Area{} }

// Valid reports whether the area lies on a sheet with its corners in order.
func (a Area) Valid() bool {
	return a.First.Valid() && a.Last.Valid() && a.First.Column <= a.Last.Column && a.First.Row <= a.Last.Row
}

// String is the relative reference, "A2:C9", or "A2" for one cell.
func (a Area) String() string {
	if a.First == a.Last {
		return a.First.String()
	}
	return a.First.String() + ":" + a.Last.String()
}

// Abs is the absolute reference, "$A$2:$C$9".
func (a Area) Abs() string {
	if a.First == a.Last {
		return a.First.Abs()
	}
	return a.First.Abs() + ":" + a.Last.Abs()
}

// On is the absolute reference as seen from another sheet.
func (a Area) On(sheet string) string { return Quote(sheet) + "!" + a.Abs() }

// Quote is a sheet's name as it stands in a reference, always in quotes, which
// is right for every name.
func Quote(sheet string) string { return "'" + strings.ReplaceAll(sheet, "'", "''") + "'" }

// StringLiteral is text as it stands inside a formula. A spreadsheet refuses
// literals of more than 255 characters.
func StringLiteral(text string) string { return `"` + strings.ReplaceAll(text, `"`, `""`) + `"` }

// maxSheetName is the longest tab text, in UTF-16 units.
const maxSheetName = 31

// CheckSheetName says what is wrong with a tab's text: it is 1 to 31 characters,
// holds none of \ / ? * [ ] : ' and no control character, does not begin or end
// with a space and is not "History", which is taken.
func CheckSheetName(name string) error {
	switch n := units(name); {
	case n == 0:
		return fmt.Errorf("a sheet without a name")
	case n > maxSheetName:
		return fmt.Errorf("the sheet name %q is longer than %d characters", Shorten(name, 40), maxSheetName)
	case strings.ContainsFunc(name, notInSheetName):
		return fmt.Errorf(`the sheet name %q holds one of \ / ? * [ ] : ' or a control character`, name)
	case strings.TrimSpace(name) != name:
		return fmt.Errorf("the sheet name %q begins or ends with a space", name)
	case strings.EqualFold(name, "History"):
		return fmt.Errorf("the sheet name %q is taken by the spreadsheet program", name)
	}
	return nil
}

func notInSheetName(r rune) bool {
	return strings.ContainsRune(`\/?*[]:'`, r) || unicode.IsControl(r) || r == unicode.ReplacementChar || !xmlRune(r)
}

// CheckName says what is wrong with a defined name: it begins with a letter or
// underscore, goes on with letters, digits, underscores and points, is at most
// 255 characters and could not be read as a cell ("R1C1", "AB12") or a truth.
func CheckName(name string) error {
	if name == "" || units(name) > 255 {
		return fmt.Errorf("a defined name has 1 to 255 characters, not %d", units(name))
	}
	for i, r := range name {
		if !(r == '_' || unicode.IsLetter(r) || i > 0 && (r == '.' || unicode.IsDigit(r))) {
			return fmt.Errorf("the defined name %q may not hold %q there", Shorten(name, 40), r)
		}
	}
	upper := strings.ToUpper(name)
	if upper == "TRUE" || upper == "FALSE" || looksLikeCell(upper) {
		return fmt.Errorf("the defined name %q could be read as a cell or a value", name)
	}
	return nil
}

func looksLikeCell(upper string) bool {
	letters := strings.TrimRight(upper, "0123456789")
	digits := upper[len(letters):]
	plain := strings.Trim(letters, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") == ""
	if plain && digits != "" && len(letters) <= 3 {
		return true
	}
	// R, C, R1, C5, R1C1
	rest := strings.TrimLeft(strings.TrimPrefix(upper, "R"), "0123456789")
	if upper[0] == 'R' && (rest == "" || rest[0] == 'C' && strings.Trim(rest[1:], "0123456789") == "") {
		return true
	}
	return upper[0] == 'C' && strings.Trim(upper[1:], "0123456789") == ""
}

// units counts UTF-16 units, in which spreadsheets measure text.
func units(s string) int {
	n := 0
	for _, r := range s {
		n += max(utf16.RuneLen(r), 1)
	}
	return n
}

// cutUnits keeps the first n UTF-16 units of the text, never half a character.
func cutUnits(s string, n int) string {
	for i, r := range s {
		n -= max(utf16.RuneLen(r), 1)
		if n < 0 {
			return s[:i]
		}
	}
	return s
}

// Shorten keeps at most n UTF-16 units of the text, the last of them an ellipsis
// when something was left out.
func Shorten(s string, n int) string {
	if units(s) <= n {
		return s
	}
	return cutUnits(s, max(n-1, 0)) + "…"
}
