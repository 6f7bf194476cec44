package table

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// Limits of text in a cell, shared by spreadsheet programs. Lengths are in
// UTF-16 units.
const (
	MaxText    = 32_767
	MaxFormula = 8_192
	MaxLiteral = 255
	// MaxBreaks is the most page breaks one sheet may hold.
	MaxBreaks = 1_026
)

// A Fault is what makes a workbook impossible to write, with its place.
type Fault struct {
	Sheet   string
	Cell    string // "C5", or empty when it concerns the whole sheet
	Problem string
}

func (f *Fault) Error() string {
	switch {
	case f.Sheet == "":
		return "workbook: " + f.Problem
	case f.Cell == "":
		return fmt.Sprintf("sheet %q: %s", f.Sheet, f.Problem)
	}
	return fmt.Sprintf("sheet %q cell %s: %s", f.Sheet, f.Cell, f.Problem)
}

// CheckCell says what would be lost or changed if the cell were written, or ""
// when it can be written as it is.
func CheckCell(c *Cell) string {
	switch c.Kind {
	case KindEmpty, KindNumber:
		return ""
	case KindFault:
		return c.Text
	case KindText:
		return checkText(c.Text, MaxText)
	case KindLink:
		if p := checkText(c.Text, MaxLiteral); p != "" {
			return "text of the link: " + p
		}
		if p := checkText(c.Src, MaxLiteral); p != "" {
			return "target of the link: " + p
		}
		return ""
	}
	if p := checkText(c.Src, MaxFormula); p != "" {
		return "formula: " + p
	}
	if c.Kind == KindFormulaText {
		if p := checkText(c.Text, MaxText); p != "" {
			return "value of the formula: " + p
		}
		if strings.TrimFunc(c.Text, isXMLSpace) != c.Text {
			return "value of the formula begins or ends with white space"
		}
	}
	return ""
}

func isXMLSpace(r rune) bool { return r == ' ' || r == '\t' || r == '\n' || r == '\r' }

func checkText(s string, most int) string {
	// Bytes bound UTF-16 units from above, so most texts need no counting.
	if len(s) > most && units(s) > most {
		return fmt.Sprintf("text of %d characters, where a spreadsheet holds %d", units(s), most)
	}
	ascii := true
	for i := 0; i < len(s); i++ {
		if b := s[i]; b < ' ' || b >= utf8.RuneSelf {
			ascii = false
			break
		}
	}
	if ascii {
		return ""
	}
	if !utf8.ValidString(s) {
		return fmt.Sprintf("text that is not UTF-8: %q", Shorten(s, 40))
	}
	for i, r := range s {
		if !xmlRune(r) || r == '\r' {
			return fmt.Sprintf("control or forbidden character U+%04X after %d bytes in %q", r, i, Shorten(s, 40))
		}
	}
	return ""
}

// xmlRune reports whether XML 1.0 (production 2, Char) lets the character stand
// in a document.
func xmlRune(r rune) bool {
	return r == '\t' || r == '\n' || r == '\r' ||
		r >= 0x20 && r <= 0xD7FF || r >= 0xE000 && r <= 0xFFFD || r >= 0x10000 && r <= 0x10FFFF
}

// Verify says what is wrong with the workbook before a row is asked for: names of
// sheets, widths, frozen parts. Cells are checked as they are written.
func Verify(w *Workbook) error {
	if len(w.Sheets) == 0 {
		return &Fault{Problem: "no sheet"}
	}
	seen := map[string]bool{}
	for _, s := range w.Sheets {
		if err := CheckSheetName(s.Name); err != nil {
			return &Fault{Problem: err.Error()}
		}
		if key := strings.ToLower(s.Name); seen[key] {
			return &Fault{Problem: fmt.Sprintf("two sheets are named %q", s.Name)}
		} else {
			seen[key] = true
		}
		if len(s.Columns) > MaxColumns {
			return &Fault{Sheet: s.Name, Problem: fmt.Sprintf("%d columns, where a sheet holds %d", len(s.Columns), MaxColumns)}
		}
		for i, c := range s.Columns {
			if !(c.Width >= 0 && c.Width <= 255) {
				return &Fault{Sheet: s.Name, Cell: ColumnName(i + 1), Problem: fmt.Sprintf("a column width of %v characters; 0 to 255 are possible", c.Width)}
			}
		}
		if s.FreezeRows < 0 || s.FreezeColumns < 0 || s.FreezeRows >= MaxRows || s.FreezeColumns >= MaxColumns {
			return &Fault{Sheet: s.Name, Problem: fmt.Sprintf("cannot freeze %d rows and %d columns", s.FreezeRows, s.FreezeColumns)}
		}
		for _, banner := range []Banner{s.Page.Header, s.Page.Footer} {
			for _, part := range []string{banner.Left, banner.Centre, banner.Right} {
				if p := checkText(part, MaxLiteral); p != "" {
					return &Fault{Sheet: s.Name, Problem: "header or footer: " + p}
				}
			}
		}
	}
	p := &w.Properties
	for _, text := range []string{p.Title, p.Subject, p.Description, p.Creator, p.Keywords} {
		if problem := checkText(text, MaxLiteral); problem != "" {
			return &Fault{Problem: "properties: " + problem}
		}
	}
	return nil
}

// VerifyNames says what is wrong with the defined names.
func VerifyNames(w *Workbook) error {
	seen := map[string]bool{}
	for _, n := range w.Names {
		if err := CheckName(n.Name); err != nil {
			return &Fault{Problem: err.Error()}
		}
		key := strings.ToLower(n.Name)
		if seen[key] {
			return &Fault{Problem: fmt.Sprintf("the name %q is defined twice", n.Name)}
		}
		seen[key] = true
		if n.Refers == "" {
			return &Fault{Problem: fmt.Sprintf("the name %q refers to nothing", n.Name)}
		}
	}
	return nil
}
