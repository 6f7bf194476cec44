package survey

import (
	"archive/zip"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"path"
	"slices"
	"strconv"
	"strings"

	"wraptally/estimate/trace"
)

// ratioFloor is the unpacked size below which the packing ratio is not looked
// at: a small sheet of equal rows packs very well and harms nobody.
const ratioFloor = 16 << 20

// guardWorkbook unpacks every part of a workbook once, into nothing, before a
// library that holds parts in memory sees it. It refuses what is damaged
// (checksums, cut ends, sheets that are not well-formed XML: the streaming
// reader of excelize takes those for the end of the sheet), encrypted, or
// unpacks to more than the limits, whatever sizes the archive declares. It
// reports whether a sheet holds formulas saved without a value.
func guardWorkbook(r io.ReaderAt, size int64, lim Limits) (unvalued bool, err error) {
	zr, err := zip.NewReader(r, size)
	if err != nil {
		return false, &Error{Problem: "the workbook is damaged", Err: err, Hint: "open it in a spreadsheet program and save it again"}
	}
	if len(zr.File) > lim.ZipEntries {
		return false, &Error{Problem: fmt.Sprintf("the workbook has %d parts, more than the limit of %d", len(zr.File), lim.ZipEntries), Hint: "save the sheet with the survey on its own, or raise the setting intake.zip_parts"}
	}
	budget := lim.UnzipBytes
	if byRatio := max(ratioFloor, int64(float64(size)*lim.UnzipRatio)); byRatio < budget {
		budget = byRatio
	}
	seen := make(map[string]bool, len(zr.File))
	workbook, marks := false, partMarks{highest: -1}
	for _, f := range zr.File {
		name := strings.ToLower(path.Clean(f.Name))
		if seen[name] {
			return false, &Error{Problem: "the workbook holds the part " + quote(f.Name) + " twice", Hint: "open it in a spreadsheet program and save it again"}
		}
		seen[name] = true
		workbook = workbook || name == "[content_types].xml"
		if f.Flags&1 != 0 {
			return false, &Error{Problem: "the workbook is encrypted", Hint: "save it without a password"}
		}
		n, err := unpack(f, budget, &marks)
		if err != nil {
			return false, err
		}
		budget -= n
	}
	switch {
	case marks.sheets > lim.ZipEntries:
		return false, &Error{Problem: fmt.Sprintf("the workbook lists %d sheets, more than the limit of %d", marks.sheets, lim.ZipEntries), Hint: "save the sheet with the survey on its own"}
	case marks.highest >= marks.strings:
		return false, &Error{Problem: fmt.Sprintf("the workbook is damaged: a cell refers to text %d of %d", marks.highest+1, marks.strings), Hint: "open it in a spreadsheet program and save it again"}
	}
	if !workbook {
		return false, &Error{Problem: "this is a zip archive and not a workbook", Hint: formsRead}
	}
	return marks.unvalued, nil
}

// partMarks are what the guard notes of a workbook's parts.
type partMarks struct {
	unvalued bool // a cell has a formula and no value
	sheets   int  // listed
	strings  int  // shared texts
	highest  int  // number of the last shared text that a cell refers to, −1 for none
}

// unpack reads one part to its end and gives its size.
func unpack(f *zip.File, budget int64, marks *partMarks) (n int64, err error) {
	in, err := f.Open()
	if err != nil {
		return 0, damagedPart(f, err)
	}
	defer in.Close()
	c := &countReader{r: in, budget: budget}
	if isSheet(f.Name) {
		err = marks.scan(c)
	}
	if err == nil {
		_, err = io.Copy(io.Discard, c)
	}
	switch {
	case errors.Is(err, errOverBudget):
		return c.n, &Error{Problem: "the workbook unpacks to more than the limit", Hint: "it may be a zip bomb; if it is not, save the sheet as CSV, or raise the settings intake.unzip_mb and intake.unzip_ratio"}
	case err != nil:
		return c.n, damagedPart(f, err)
	}
	return c.n, nil
}

func damagedPart(f *zip.File, err error) error {
	return &Error{Place: trace.Place{}, Problem: "the workbook's part " + quote(f.Name) + " is damaged", Err: err, Hint: "open it in a spreadsheet program and save it again"}
}

func isSheet(name string) bool {
	name = strings.ToLower(name)
	return strings.HasPrefix(name, "xl/worksheets/") && strings.HasSuffix(name, ".xml") || name == "xl/sharedstrings.xml" || name == "xl/workbook.xml"
}

var errOverBudget = errors.New("over the limit")

// countReader counts what is read and stops at the budget.
type countReader struct {
	r         io.Reader
	n, budget int64
}

func (c *countReader) Read(p []byte) (int, error) {
	if c.n > c.budget {
		return 0, errOverBudget
	}
	n, err := c.r.Read(p)
	c.n += int64(n)
	return n, err
}

// scan checks that a sheet, the shared texts or the list of sheets is well-formed
// XML, and notes what the guard has to know.
func (m *partMarks) scan(r io.Reader) error {
	d := xml.NewDecoder(r)
	d.CharsetReader = func(string, io.Reader) (io.Reader, error) { return nil, errors.New("a sheet must be UTF-8") }
	formula, value, shared := false, false, false
	inValue := false
	depth := 0
	for {
		t, err := d.Token()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		switch t := t.(type) {
		case xml.StartElement:
			if depth++; depth > 100 {
				return errors.New("nested too deeply")
			}
			switch t.Name.Local {
			case "c":
				formula, value = false, false
				shared = slices.ContainsFunc(t.Attr, func(a xml.Attr) bool { return a.Name.Local == "t" && a.Value == "s" })
			case "f":
				formula = true
			case "v", "t":
				inValue = true
			case "si":
				m.strings++
			case "sheet":
				m.sheets++
			}
		case xml.EndElement:
			depth--
			switch t.Name.Local {
			case "c":
				m.unvalued = m.unvalued || formula && !value
			case "v", "t":
				inValue = false
			}
		case xml.CharData:
			value = value || inValue && len(t) > 0
			if n, err := strconv.Atoi(string(t)); inValue && shared && err == nil {
				m.highest = max(m.highest, n)
			}
		}
	}
}
