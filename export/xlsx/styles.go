package xlsx

import (
	"cmp"
	"fmt"
	"strings"

	"github.com/xuri/excelize/v2"

	"wraptally/export/table"
)

// The colours are few and dark enough, or light enough, to keep their meaning
// when printed in black and white.
const (
	ink    = "1B2B34" // text
	accent = "22505C" // titles and strong rules
	grey   = "5A6770" // notes
	rule   = "B4BDC2" // rules between rows
	ground = "E4E9EB" // heads of columns
	pale   = "F3F6F7" // groups, headline figures
	white  = "FFFFFF"

	bodyFont = "Arial"
	codeFont = "Courier New"
)

// Border styles of the file format's list.
const (
	none = iota
	thin
	medium
	dashed
	dotted
	thick
	double
	hair
)

// dresser makes each style of the file when it is first worn, so that their
// order, too, depends on the workbook alone.
type dresser struct {
	file     *excelize.File
	ids      [table.Looks * table.Formats * 16]int // 1 + the file's number; 0 when not made
	emphases map[table.Emphasis]int
}

func newDresser(f *excelize.File) (*dresser, error) {
	if f.Styles == nil || f.Styles.Fonts == nil || len(f.Styles.Fonts.Font) == 0 {
		return nil, fmt.Errorf("xlsx: the new workbook has no default font")
	}
	// The default font sets the unit of column widths. The theme's font would
	// overrule it.
	font, family, size := f.Styles.Fonts.Font[0], bodyFont, float64(table.BodySize)
	font.Name.Val, font.Sz.Val, font.Scheme = &family, &size, nil
	return &dresser{file: f, emphases: map[table.Emphasis]int{}}, nil
}

func (d *dresser) id(s table.Style, link bool) (int, error) {
	if s == (table.Style{}) && !link {
		return 0, nil
	}
	if int(s.Look) >= table.Looks || int(s.Format) >= table.Formats || s.Align > table.Right {
		return 0, fmt.Errorf("a style that does not exist: %+v", s)
	}
	slot := (int(s.Look)*table.Formats+int(s.Format))*16 + int(s.Align)*4
	if s.Wrap {
		slot += 2
	}
	if link {
		slot++
	}
	if id := d.ids[slot]; id > 0 {
		return id - 1, nil
	}
	id, err := d.file.NewStyle(design(s, link))
	if err != nil {
		return 0, fmt.Errorf("making a style: %w", err)
	}
	d.ids[slot] = id + 1
	return id, nil
}

// emphasis is the number of a conditional style.
func (d *dresser) emphasis(e table.Emphasis) (int, error) {
	if id, made := d.emphases[e]; made {
		return id, nil
	}
	style := &excelize.Style{}
	switch e {
	case table.Alarm:
		style.Font = &excelize.Font{Bold: true, Color: white}
		style.Fill = excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{"000000"}}
	case table.Alert:
		style.Font = &excelize.Font{Bold: true, Underline: "single", Color: "000000"}
		style.Border = box(thin, "000000") // conditional borders can only be thin
	}
	id, err := d.file.NewConditionalStyle(style)
	if err != nil {
		return 0, err
	}
	d.emphases[e] = id
	return id, nil
}

// dress is how a look is drawn.
type dress struct {
	colour   string // of the text; ink where it is not said
	vertical string // top where it is not said
	ground   string
	border   []excelize.Border
	open     bool // may be changed on a protected sheet
}

func edge(side, colour string, style int) excelize.Border {
	return excelize.Border{Type: side, Color: colour, Style: style}
}

var (
	bodyRule = edge("bottom", rule, thin)
	topLine  = edge("top", ink, thin)
	note     = dress{colour: grey}
	body     = dress{vertical: "center", border: []excelize.Border{bodyRule}}
)

// dresses of the looks; Plain and Label wear none. Labels are cut apart along the
// lines of the last three.
var dresses = map[table.Look]dress{
	table.Title:      {colour: accent, vertical: "center"},
	table.Heading:    {colour: accent, vertical: "bottom", border: []excelize.Border{edge("bottom", accent, medium)}},
	table.Subheading: {vertical: "bottom", border: []excelize.Border{edge("bottom", accent, thin)}},
	table.Subtitle:   note,
	table.Muted:      note,
	table.FigureNote: note,
	table.Caution:    {colour: "000000", border: []excelize.Border{edge("left", "000000", thick)}},
	table.Figure:     {colour: accent, vertical: "center", ground: pale, border: []excelize.Border{edge("top", accent, medium)}},
	table.Head:       {vertical: "bottom", ground: ground, border: []excelize.Border{topLine, edge("bottom", ink, medium)}},
	table.Body:       body,
	table.Code:       body,
	table.Group:      {vertical: "center", ground: pale, border: []excelize.Border{topLine, bodyRule}},
	table.Subtotal:   {vertical: "center", border: []excelize.Border{topLine, bodyRule}},
	table.Total:      {vertical: "center", border: []excelize.Border{topLine, edge("bottom", ink, double)}},
	table.Input:      {vertical: "center", border: box(medium, ink), open: true},
	table.ByHand:     {vertical: "center", border: box(dashed, ink), open: true},
	table.Check:      {vertical: "center", border: box(thin, ink)},
	table.Checkbox:   {vertical: "center", border: []excelize.Border{bodyRule}, open: true},
	table.FillIn:     {vertical: "bottom", border: []excelize.Border{edge("bottom", ink, thin)}, open: true},
	table.BigLabel:   {colour: "000000", vertical: "center"},
	table.CutAcross:  {border: []excelize.Border{edge("top", grey, dashed)}},
	table.CutDown:    {border: []excelize.Border{edge("left", grey, dashed)}},
	table.CutCorner:  {border: []excelize.Border{edge("top", grey, dashed), edge("left", grey, dashed)}},
}

// design is a style in the words of the library.
func design(s table.Style, link bool) *excelize.Style {
	size, heavy := s.Look.Size()
	d := dresses[s.Look]
	out := &excelize.Style{
		Font:      &excelize.Font{Family: bodyFont, Size: size, Bold: heavy, Color: cmp.Or(d.colour, ink)},
		Alignment: &excelize.Alignment{Horizontal: horizontal(s), Vertical: cmp.Or(d.vertical, "top"), WrapText: s.Wrap},
		Border:    d.border,
	}
	if link {
		out.Font.Underline = "single"
	}
	if code := formatCode(s); code != "" {
		out.CustomNumFmt = &code
	}
	if d.ground != "" {
		out.Fill = solid(d.ground)
	}
	if d.open {
		out.Protection = &excelize.Protection{Locked: false}
	}
	switch s.Look {
	case table.Caution:
		out.Alignment.Indent = 1
	case table.Code:
		out.Font.Family = codeFont
	}
	return out
}

func horizontal(s table.Style) string {
	switch s.Align {
	case table.Left:
		return "left"
	case table.Centre:
		return "center"
	case table.Right:
		return "right"
	}
	if s.Look == table.Caution {
		return "left" // an indent needs a side
	}
	return ""
}

func solid(colour string) excelize.Fill {
	return excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{colour}}
}

func box(style int, colour string) (b []excelize.Border) {
	for _, side := range []string{"left", "right", "top", "bottom"} {
		b = append(b, excelize.Border{Type: side, Color: colour, Style: style})
	}
	return b
}

// formatCode is the number format of ECMA-376 part 1, 18.8.31. A cell
// that may be changed carries a mark at its left edge, so that it is known as one
// without its box.
func formatCode(s table.Style) string {
	code := ""
	switch n, ok := s.Format.Decimals(); {
	case ok:
		code = "#,##0"
		if s.Format.IsPercent() {
			code = "0"
		}
		if n > 0 {
			code += "." + strings.Repeat("0", n)
		}
		if s.Format.IsPercent() {
			code += " %"
		}
	case s.Format == table.Date:
		code = "yyyy-mm-dd"
	case s.Format == table.Literal:
		code = "@"
	}
	if mark := markOf[s.Look]; mark != "" {
		return markedCode(mark, code)
	}
	if isCell(s.Look) {
		return paddedCode(s, code)
	}
	return code
}

// markOf are the marks of cells that may be changed.
var markOf = map[table.Look]string{table.Input: `"» "`, table.ByHand: `"± "`}

// markedCode puts the mark at the left and the number at the right, with blanks
// between them.
func markedCode(mark, code string) string {
	switch code {
	case "":
		return mark + "* General_);" + mark + "* -General_);" + mark + "* General_);" + mark + "@"
	case "@", "yyyy-mm-dd":
		return mark + code
	}
	return mark + "* " + code + pad + ";" + mark + "* -" + code + pad
}

// pad is a gap as wide as a bracket, which keeps numbers from touching the text
// of the next column.
const pad = "_)"

func paddedCode(s table.Style, code string) string {
	switch {
	case code == "" && s.Align == table.Right:
		return "General_);-General_);General_);@_)"
	case code == "" || code == "@" || code == "yyyy-mm-dd" || s.Align == table.Left || s.Align == table.Centre:
		return code
	}
	return code + pad + ";-" + code + pad
}

// isCell tells the looks that cells of a table wear.
func isCell(l table.Look) bool {
	switch l {
	case table.Head, table.Body, table.Group, table.Subtotal, table.Total, table.Code:
		return true
	}
	return false
}
