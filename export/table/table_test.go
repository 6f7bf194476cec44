package table

import (
	"bytes"
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"pgregory.net/rapid"

	_ "wraptally/estimate/trace/depth"
	"wraptally/estimate/trace/outside"
)

func TestReferences(t *testing.T) {
	// Columns named in ECMA-376 examples and at the edges of the sheet.
	for col, want := range map[int]string{1: "A", 26: "Z", 27: "AA", 52: "AZ", 53: "BA", 702: "ZZ", 703: "AAA", 16384: "XFD", 0: "?"} {
		if got := ColumnName(col); got != want {
			t.Errorf("column %d is %s, want %s", col, got, want)
		}
	}
	at := At{28, 7}
	for got, want := range map[string]string{
		at.String(): "AB7", at.Abs(): "$AB$7", at.AbsRow(): "AB$7",
		at.On("Cost sheet"): "'Cost sheet'!$AB$7", at.On("it's"): "'it''s'!$AB$7",
		Cells(1, 2, 3, 4).String(): "A2:C4", Cells(1, 2, 3, 4).Abs(): "$A$2:$C$4", One(at).String(): "AB7",
		Cells(1, 2, 3, 4).On("S"): "'S'!$A$2:$C$4", StringLiteral(`a"b`): `"a""b"`,
	} {
		if got != want {
			t.Errorf("%s, want %s", got, want)
		}
	}
	if Cells(3, 1, 2, 1).Valid() || Cells(1, 1, MaxColumns+1, 1).Valid() || !Cells(1, 1, MaxColumns, MaxRows).Valid() {
		t.Error("validity of areas")
	}
}

// The limits of a tab's text that spreadsheet programs keep: 31 UTF-16 units,
// none of \ / ? * [ ] :, no apostrophe at its ends, not "History".
func TestSheetNames(t *testing.T) {
	for _, good := range []string{"Kits 1-100", "area (2)", "Größe", strings.Repeat("x", 31), strings.Repeat("长", 31), strings.Repeat("😀", 15), "histories"} {
		if err := CheckSheetName(good); err != nil {
			t.Error(err)
		}
	}
	for _, bad := range []string{"", "  ", " a", "a ", "history", "area/1", `a\b`, "a?", "a*", "[a", "a]", "a:b", "'x'", "a\x00", "a\nb", "\uffff", "\xff", strings.Repeat("x", 32), strings.Repeat("😀", 16)} {
		if CheckSheetName(bad) == nil {
			t.Errorf("%q is allowed", bad)
		}
	}
}

func TestDefinedNames(t *testing.T) {
	for _, good := range []string{"bid_total", "_x", "Größe", "x.y", "ABCD1", "rate_1"} {
		if err := CheckName(good); err != nil {
			t.Error(err)
		}
	}
	for _, bad := range []string{"", "A1", "xfd1", "R", "c", "R1C1", "rc", "1x", "a b", "a-b", "true", strings.Repeat("x", 256), "R12", "C5"} {
		if CheckName(bad) == nil {
			t.Errorf("%q is allowed", bad)
		}
	}
}

// A decimal that Exact accepts reads back as exactly the same decimal, both in
// the shortest form and in the 15 digits that spreadsheets keep.
func TestExactDecimals(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := decimal.New(rapid.Int64().Draw(t, "coefficient"), int32(rapid.IntRange(-30, 20).Draw(t, "exponent")))
		v, err := Exact(d)
		digits := len(strings.TrimRight(strings.TrimLeft(strings.NewReplacer("-", "", ".", "").Replace(d.String()), "0"), "0"))
		if (err == nil) != (digits <= 15) {
			t.Fatalf("%s has %d digits: %v, %v", d, digits, v, err)
		}
		if err != nil {
			return
		}
		for _, text := range []string{strconv.FormatFloat(v, 'f', -1, 64), strconv.FormatFloat(v, 'e', 14, 64)} {
			if back := decimal.RequireFromString(text); !back.Equal(d) {
				t.Fatalf("%s became %s", d, text)
			}
		}
	})
	for _, s := range []string{"0", "0.1", "-0.05", "999999999999999", "123456789012345e-22", "1e300"} {
		if _, err := Exact(decimal.RequireFromString(s)); err != nil {
			t.Error(err)
		}
	}
}

func TestDays(t *testing.T) {
	// Serial numbers of ECMA-376 part 1, 18.17.4.1 (1900 date base): 1 March 1900
	// is 61, 1 January 2000 is 36526 [from memory]; the zone must not move a day.
	for serial, day := range map[float64]time.Time{
		61:    time.Date(1900, 3, 1, 0, 0, 0, 0, time.UTC),
		36526: time.Date(2000, 1, 1, 23, 59, 0, 0, time.FixedZone("east", 14*3600)),
		46082: time.Date(2026, 3, 1, 1, 0, 0, 0, time.FixedZone("west", -12*3600)),
	} {
		if c := Day(day, Style{}); c.Num != serial || c.Style.Format != Date {
			t.Errorf("%v is %+v", day, c)
		}
	}
}

func TestFifteenDigits(t *testing.T) {
	for v, want := range map[float64]float64{0.1 + 0.2: 0.3, 1.0 / 3: 0.333333333333333, 0.1 + 0.7: 0.8, 5e-324: 0, 1e300: 1e300, 12.5: 12.5, -2.5e-7: -2.5e-7} {
		if c := Num(v, Style{}); c.Num != want {
			t.Errorf("%v became %v, want %v", v, c.Num, want)
		}
	}
}

func TestLines(t *testing.T) {
	for _, c := range []struct {
		text  string
		chars float64
		want  int
	}{
		{"", 10, 1}, {"word", 10, 1}, {"a\nb", 10, 2}, {"a\n\nb", 10, 3}, {"two words", 6, 2},
		{strings.Repeat("x", 100), 10, 11}, {strings.Repeat("漢", 20), 10, 5},
	} {
		if got := Lines(c.text, CellWidth(c.chars), BodySize); got < c.want || got > c.want+1 {
			t.Errorf("%q takes %d lines, want about %d", c.text, got, c.want)
		}
	}
}

// Longer text never takes fewer lines, nor does a narrower cell.
func TestLinesGrow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		letters := rapid.StringOf(rapid.RuneFrom([]rune("ab -/\nWש漢م")))
		a, b := letters.Draw(t, "a"), letters.Draw(t, "b")
		width := rapid.Float64Range(20, 300).Draw(t, "width")
		if Lines(a+b, width, BodySize) < Lines(a, width, BodySize) {
			t.Fatal("longer text takes fewer lines")
		}
		if Lines(a, width/2, BodySize) < Lines(a, width, BodySize) {
			t.Fatal("a narrower cell takes fewer lines")
		}
	})
}

func TestSplitText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringOf(rapid.RuneFrom([]rune("abc \nش漢"))).Draw(t, "text")
		pieces := SplitText(text, 12, 2)
		if strings.Join(pieces, "") != text {
			t.Fatalf("%q became %q", text, pieces)
		}
		for _, p := range pieces {
			if n := Lines(p, CellWidth(12), BodySize); n > 2 {
				t.Fatalf("%q takes %d lines", p, n)
			}
		}
	})
}

// The widths in this package are those of the font they are said to be of.
func TestCrossWidths(t *testing.T) {
	outside.Need(t)
	const path = "/usr/share/fonts/truetype/liberation/LiberationSans-Regular.ttf"
	data, err := os.ReadFile(path)
	if err != nil {
		outside.Missing(t, "fonts-liberation")
	}
	f, err := sfnt.Parse(data)
	if err != nil {
		t.Fatal(err)
	}
	var buf sfnt.Buffer
	checked := 0
	for _, run := range bodyWidths {
		for i, want := range run.widths {
			r := run.first + rune(i)
			glyph, err := f.GlyphIndex(&buf, r)
			if err != nil {
				t.Fatal(err)
			}
			got := fixed.Int26_6(0)
			if glyph != 0 {
				if got, err = f.GlyphAdvance(&buf, glyph, fixed.I(2048), font.HintingNone); err != nil {
					t.Fatal(err)
				}
				checked++
			}
			if got.Round() != int(want) {
				t.Errorf("%U is %d wide, want %d", r, want, got.Round())
			}
		}
	}
	if checked < 400 {
		t.Errorf("only %d characters checked", checked)
	}
}

// Nothing in a CSV can be taken for a formula, and all of it can be read back.
func TestCSV(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		texts := rapid.SliceOfN(rapid.OneOf(rapid.StringOf(rapid.RuneFrom([]rune("=+-@,\"' \tא漢x\n＝"))), rapid.StringMatching(`[=+@-][a-z]{1,4}`)), 1, 6).Draw(t, "texts")
		var cells []Cell
		for _, s := range texts {
			cells = append(cells, Text(s, Style{}))
		}
		var out bytes.Buffer
		if err := WriteCSV(&out, "S", func(yield func(Row) bool) { yield(Row{Cells: cells}) }); err != nil {
			t.Fatal(err)
		}
		r := csv.NewReader(&out)
		records, err := r.ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		if len(records) == 0 { // encoding/csv skips a blank line
			if strings.Join(texts, "") != "" {
				t.Fatalf("%q is lost", texts)
			}
			return
		}
		if len(records) != 1 || len(records[0]) != len(texts) {
			t.Fatalf("%q became %q", texts, records)
		}
		for i, got := range records[0] {
			bare := strings.TrimLeft(got, " \t\n")
			if bare != "" && strings.ContainsRune("=+-@＝＋－＠", []rune(bare)[0]) || got != "" && strings.ContainsRune("\t\n", rune(got[0])) {
				t.Fatalf("%q can be taken for a formula", got)
			}
			if want := texts[i]; got != want && got != "'"+want {
				t.Fatalf("%q became %q", want, got)
			}
		}
	})
}

func TestCSVValues(t *testing.T) {
	row := Row{Cells: []Cell{
		Text("=1+1", Style{}), Dec(decimal.RequireFromString("-1234.50"), Style{Format: Money(2)}), Day(time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC), Style{}),
		FormulaNum("A1", 2.5, Style{}), FormulaText("A1", "@x", Style{}), Empty(Style{}), Num(0.075, Style{Format: Percent(1)}), Link("+x", "'S'!A1", Style{}), Num(1e21, Style{}),
	}}
	var out bytes.Buffer
	if err := WriteCSV(&out, "S", func(yield func(Row) bool) {
		_ = yield(row) && yield(Row{}) && yield(Row{Cells: []Cell{Text(`a,"b"`, Style{})}})
	}); err != nil {
		t.Fatal(err)
	}
	want := "'=1+1,-1234.5,2026-03-01,2.5,'@x,,0.075,'+x,1000000000000000000000\r\n\r\n\"a,\"\"b\"\"\"\r\n"
	if out.String() != want {
		t.Errorf("wrote %q, want %q", out.String(), want)
	}
	err := WriteCSV(&out, "Orders", func(yield func(Row) bool) { yield(Row{Cells: []Cell{Empty(Style{}), Num(math.NaN(), Style{})}}) })
	if err == nil || !strings.Contains(err.Error(), `sheet "Orders" cell B1`) {
		t.Errorf("error %v", err)
	}
}

func TestRows(t *testing.T) {
	var r Rows
	if n := r.Add(Text("a", Style{})); n != 1 || r.Next() != 2 {
		t.Error(n, r.Next())
	}
	r.Blank(2)
	if n := r.AddRow(Spread("b", Style{}, 3)); n != 4 || len(r.Row(4).Merge) != 1 || len(r.Row(4).Cells) != 3 {
		t.Error(n, r.Row(4))
	}
	n := 0
	for range r.All() {
		n++
	}
	if n != 4 {
		t.Errorf("%d rows", n)
	}
	head := HeadRow([]Column{{Title: "Length", Unit: "mm", Style: Style{Look: Body, Format: Number(1)}}, {Title: "Item"}})
	if head.Cells[0].Text != "Length\n(mm)" || head.Cells[0].Style.Align != Right || head.Cells[1].Style.Align != Left {
		t.Errorf("%+v", head)
	}
}
