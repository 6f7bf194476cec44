package xlsxtest

import (
	"archive/zip"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"os"
	"path"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// A Value is a cell as it stands in the file.
type Value struct {
	Sheet, Cell string
	Type        string // the file's own: "" or "n" number, "str", "b", "e", "inlineStr", "s"
	Formula     string
	Text        string // the value, shared strings resolved
}

// Values are all cells of a workbook file, as Read yields them.
func Values(t testing.TB, file string) (all []Value) {
	t.Helper()
	content, err := os.ReadFile(file)
	if err == nil {
		err = Read(content, func(v Value) error { all = append(all, v); return nil })
	}
	if err != nil {
		t.Fatalf("%s: %v", file, err)
	}
	return all
}

// Read yields every cell of a workbook, sheet by sheet in the order of the tabs.
// It reads the XML itself, sharing no code with the writer.
func Read(workbook []byte, yield func(Value) error) error {
	archive, err := opened(workbook)
	if err != nil {
		return err
	}
	parts := map[string]*zip.File{}
	for _, f := range archive.File {
		parts[f.Name] = f
	}
	shared, err := sharedStrings(parts["xl/sharedStrings.xml"])
	if err != nil {
		return err
	}
	sheets, err := sheetParts(parts)
	if err != nil {
		return err
	}
	for _, s := range sheets {
		if err := readSheet(parts[s.part], s.name, shared, yield); err != nil {
			return fmt.Errorf("sheet %q: %w", s.name, err)
		}
	}
	return nil
}

type sheetPart struct{ name, part string }

func sheetParts(parts map[string]*zip.File) (list []sheetPart, err error) {
	var book struct {
		Sheets []struct {
			Name string `xml:"name,attr"`
			ID   string `xml:"http://schemas.openxmlformats.org/officeDocument/2006/relationships id,attr"`
		} `xml:"sheets>sheet"`
	}
	var links struct {
		Links []struct {
			ID     string `xml:"Id,attr"`
			Target string `xml:"Target,attr"`
		} `xml:"Relationship"`
	}
	if err := errors.Join(unmarshal(parts["xl/workbook.xml"], &book), unmarshal(parts["xl/_rels/workbook.xml.rels"], &links)); err != nil {
		return nil, err
	}
	targets := map[string]string{}
	for _, l := range links.Links {
		targets[l.ID] = l.Target
	}
	for _, s := range book.Sheets {
		part := strings.TrimPrefix(targets[s.ID], "/")
		if !strings.HasPrefix(part, "xl/") {
			part = path.Join("xl", part)
		}
		if parts[part] == nil {
			return nil, fmt.Errorf("sheet %q has no part %s", s.Name, part)
		}
		list = append(list, sheetPart{s.Name, part})
	}
	return list, nil
}

// text is a string item: plain, or in runs.
type text struct {
	Plain string   `xml:"t"`
	Runs  []string `xml:"r>t"`
}

func (t text) String() string { return t.Plain + strings.Join(t.Runs, "") }

func sharedStrings(f *zip.File) ([]string, error) {
	if f == nil {
		return nil, nil
	}
	var table struct {
		Items []text `xml:"si"`
	}
	if err := unmarshal(f, &table); err != nil {
		return nil, err
	}
	list := make([]string, len(table.Items))
	for i, item := range table.Items {
		list[i] = item.String()
	}
	return list, nil
}

func readSheet(f *zip.File, name string, shared []string, yield func(Value) error) error {
	in, err := f.Open()
	if err != nil {
		return err
	}
	defer in.Close()
	dec := xml.NewDecoder(in)
	for {
		token, err := dec.Token()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		start, ok := token.(xml.StartElement)
		if !ok || start.Name.Local != "c" {
			continue
		}
		var c struct {
			Ref     string `xml:"r,attr"`
			Type    string `xml:"t,attr"`
			Formula string `xml:"f"`
			Value   string `xml:"v"`
			Inline  text   `xml:"is"`
		}
		if err := dec.DecodeElement(&c, &start); err != nil {
			return err
		}
		v := Value{Sheet: name, Cell: c.Ref, Type: c.Type, Formula: c.Formula, Text: c.Value}
		switch c.Type {
		case "inlineStr":
			v.Text = c.Inline.String()
		case "s":
			var n int
			if _, err := fmt.Sscanf(c.Value, "%d", &n); err != nil || n < 0 || n >= len(shared) {
				return fmt.Errorf("cell %s: no shared string %q", c.Ref, c.Value)
			}
			v.Text = shared[n]
		}
		v.Text = unescape(v.Text)
		if err := yield(v); err != nil {
			return err
		}
	}
}

var escaped = regexp.MustCompile(`_x([0-9A-Fa-f]{4})_`)

// unescape undoes the escapes of ECMA-376 part 1, 22.9.2.19 (ST_Xstring), by
// which _x000D_ stands for a carriage return and _x005F_ for an underscore.
func unescape(s string) string {
	if !strings.Contains(s, "_x") {
		return s
	}
	return escaped.ReplaceAllStringFunc(s, func(code string) string {
		n, err := strconv.ParseUint(code[2:6], 16, 16)
		if err != nil {
			return code
		}
		return string(rune(n))
	})
}

func unmarshal(f *zip.File, into any) error {
	if f == nil {
		return errors.New("a part is missing")
	}
	in, err := f.Open()
	if err != nil {
		return err
	}
	defer in.Close()
	return xml.NewDecoder(in).Decode(into)
}
