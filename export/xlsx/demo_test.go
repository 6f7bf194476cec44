package xlsx_test

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"wraptally/export/table"
	"wraptally/export/xlsx"
)

// The demonstration workbook uses everything the model has. Its words and
// numbers are invented and mean nothing.

const (
	arabic = "شريط لاصق من الفولاذ المقاوم للصدأ بعرض ثلاثين مليمتراً مع براغي التثبيت"
	hebrew = "רצועת פלדת אל-חלד ברוחב שלושים מילימטר עם ברגים"
	cjk    = "不锈钢带三十毫米宽，含紧固件，随箱附说明书；存放于阴凉干燥处，避免阳光直射，使用前请检查有效期"
)

func body(f table.Format) table.Style { return table.Style{Look: table.Body, Format: f} }

func demo(t testing.TB) *table.Workbook {
	book := &table.Workbook{Properties: table.Properties{
		Title: "Demonstration", Creator: "demo", Created: time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC),
	}}
	book.Sheets = []*table.Sheet{demoSummary(t), demoCost(book), demoKits(), demoLong()}
	return book
}

func demoSummary(t testing.TB) *table.Sheet {
	columns := []table.Column{{Width: 30}, {Width: 14}, {Width: 14}, {Width: 14}, {Width: 18}}
	s := &table.Sheet{Name: "Summary", Columns: columns, Page: table.Page{FitWide: 1,
		Header: table.Banner{Left: "Demonstration & trial", Right: "estimate, not a design"},
		Footer: table.Banner{Left: "{sheet}", Right: "page {page} of {pages}"}}}
	var rows table.Rows
	plain := table.Style{}
	rows.Add(table.Text("A demonstration", plain.As(table.Title)))
	rows.Add(table.Text("every look and every kind of cell, on one page", plain.As(table.Subtitle)))
	rows.Blank(1)
	figures := rows.Add(
		table.Num(128, plain.As(table.Figure).In(table.Number(0)).To(table.Left)),
		table.FormulaDec("'Cost & more'!E10", demoTotal, plain.As(table.Figure).In(table.Money(2)).To(table.Left)),
		table.Empty(plain.As(table.Figure)), table.Empty(plain.As(table.Figure)),
		table.FormulaText(`IF('Cost & more'!E10>0,"OK","LOOK")`, "OK", table.CheckStyle))
	rows.Row(figures).Merge = []table.Span{{First: 2, Last: 4}}
	rows.Add(table.Text("pieces", plain.As(table.FigureNote)), table.Text("total, in the currency of the prices", plain.As(table.FigureNote)))
	rows.Blank(1)
	rows.AddRow(table.Spread("CAUTION: this is a demonstration. The text of a caution may be long and then takes as many lines as it needs, over all the columns of the sheet, and none of it is cut off at the bottom.", plain.As(table.Caution), 5))
	rows.Blank(1)
	rows.AddRow(table.Spread("Kinds of cell", plain.As(table.Heading), 5))
	pair := func(label string, c table.Cell, note string) {
		rows.Add(table.Text(label, plain.As(table.Label)), c, table.Text(note, plain.As(table.Muted)))
	}
	pair("text like a formula", table.Text("=1+1", plain), "stays text")
	pair("decimal", table.Dec(decimal.RequireFromString("1234567890.12345"), body(table.Number(5))), "15 digits, exact")
	pair("day", table.Day(time.Date(2026, 7, 14, 23, 0, 0, 0, time.FixedZone("", 5*3600)), body(table.General)), "")
	pair("whole number", table.Int(-42, plain), "")
	pair("percentage", table.Num(0.075, body(table.Percent(1))), "")
	pair("input", table.Dec(decimal.RequireFromString("12.5"), table.Style{Look: table.Input, Format: table.Money(2)}), "boxed and marked")
	pair("input text", table.Text("choose", table.Style{Look: table.Input}), "")
	pair("failing check", table.FormulaText(`IF(1=1,"LOOK","OK")`, "LOOK", table.CheckStyle), "white on black")
	pair("link", table.Link("to kit 2", table.At{Column: 1, Row: 21}.On("Kits"), plain), "")
	pair("code", table.Text("B30-0042", plain.As(table.Code)), "")
	pair("to tick", table.Text("☐", table.TickStyle), "")
	pair("fill in", table.Empty(plain.As(table.FillIn)), "")
	rows.Add(table.Text("arabic", plain.As(table.Label)), table.Text(arabic, plain.Wrapped()))
	rows.Add(table.Text("hebrew", plain.As(table.Label)), table.Text(hebrew, plain.Wrapped()))
	rows.Add(table.Text("chinese", plain.As(table.Label)), table.Text(cjk, plain.Wrapped()))
	rows.Blank(1)
	at := rows.AddRow(table.Spread("Charts and a picture", plain.As(table.Heading), 5))
	rows.Blank(2)
	s.Rows = rows.All()
	s.Conditions = []table.Condition{{Area: table.Cells(2, 1, 5, at), Formula: `B1="LOOK"`, Show: table.Alarm},
		{Area: table.Cells(5, 1, 5, at), Formula: `E1="LOOK"`, Show: table.Alarm}}
	cost := "'Cost & more'!"
	s.Charts = []table.Chart{
		{At: table.At{Column: 1, Row: at + 2}, WidthMM: 82, HeightMM: 60, Title: "Cost by item", Values: table.Number(0), Labels: true, Alt: "cost by item",
			Series: []table.Series{{Name: cost + "$E$3", Categories: cost + "$A$4:$A$8", Numbers: cost + "$E$4:$E$8"}}},
		{Stacked: true, At: table.At{Column: 1, Row: at + 20}, WidthMM: 82, HeightMM: 60, Title: "Stacked", Values: table.Number(0), ValueTitle: "amount", Labels: true, Alt: "stacked",
			Series: []table.Series{{Name: cost + "$B$3", Categories: cost + "$A$4:$A$8", Numbers: cost + "$B$4:$B$8"}, {Name: cost + "$C$3", Categories: cost + "$A$4:$A$8", Numbers: cost + "$C$4:$C$8"}}},
	}
	s.Pictures = []table.Picture{{At: table.At{Column: 3, Row: at + 20}, PNG: squares(t), WidthMM: 60, Alt: "chequered squares"}}
	return s
}

var demoTotal = decimal.RequireFromString("2587.50")

func demoCost(book *table.Workbook) *table.Sheet {
	columns := []table.Column{
		{Title: "Item", Width: 26, Style: table.TextStyle},
		{Title: "Quantity", Unit: "pcs", Width: 12, Style: body(table.Number(0))},
		{Title: "Price", Unit: "EUR", Width: 13, Style: table.Style{Look: table.Input, Format: table.Money(2)}},
		{Title: "Kind", Width: 12, Style: table.TextStyle},
		{Title: "Amount", Unit: "EUR", Width: 14, Style: body(table.Money(2))},
	}
	s := &table.Sheet{Name: "Cost & more", Columns: columns, FreezeRows: 3, FreezeColumns: 1, Protected: true,
		TitleRows: table.Span{First: 3, Last: 3}, Page: table.Page{Paper: table.Letter, Landscape: true, FitWide: 1}}
	var rows table.Rows
	rows.Add(table.Text("Cost", table.Style{Look: table.Title}))
	rows.Blank(1)
	rows.AddRow(table.HeadRow(columns))
	sum := decimal.Zero
	for i, item := range []string{"band", "sheet", "stick", "roll of a rather long name that needs two lines", "wipe"} {
		row, quantity, price := rows.Next(), decimal.NewFromInt(int64(10*(i+1))), decimal.New(int64(575*(i+1)), -2)
		amount := quantity.Mul(price)
		sum = sum.Add(amount)
		rows.Add(table.Text(item, table.WrapStyle), table.Dec(quantity, columns[1].Style), table.Dec(price, columns[2].Style),
			table.Text([]string{"steel", "epoxy"}[i%2], table.Style{Look: table.Input}),
			table.FormulaDec(fmt.Sprintf("ROUND(B%d*C%d,2)", row, row), amount, columns[4].Style))
	}
	rows.Add(table.Text("Subtotal", table.Style{Look: table.Subtotal}), table.Empty(table.Style{Look: table.Subtotal}), table.Empty(table.Style{Look: table.Subtotal}), table.Empty(table.Style{Look: table.Subtotal}),
		table.FormulaDec("SUM(E4:E8)", sum, table.Style{Look: table.Subtotal, Format: table.Money(2)}))
	extra := demoTotal.Sub(sum)
	total := rows.Add(table.Text("Total", table.Style{Look: table.Total}), table.Empty(table.Style{Look: table.Total}), table.Empty(table.Style{Look: table.Total}), table.Empty(table.Style{Look: table.Total}),
		table.FormulaDec("E9+B12", demoTotal, table.Style{Look: table.Total, Format: table.Money(2)}))
	rows.Blank(1)
	rows.Add(table.Text("Extra", table.Style{Look: table.Label}), table.Dec(extra, table.Style{Look: table.Input, Format: table.Money(2)}))
	s.Rows = rows.All()
	s.Filter = table.Cells(1, 3, 5, 8)
	s.PrintArea = table.Cells(1, 1, 5, total+2)
	s.Validations = []table.Validation{
		{Area: table.Cells(3, 4, 3, 8), Min: 0, Max: math.Inf(1), Title: "Price", Prompt: "a price of zero or more"},
		{Area: table.Cells(4, 4, 4, 8), Items: []string{"steel", "epoxy"}, Title: "Kind"},
	}
	book.Names = append(book.Names, table.Name{Name: "grand_total", Refers: table.At{Column: 5, Row: total}.On(s.Name)})
	return s
}

func demoKits() *table.Sheet {
	columns := []table.Column{{Width: 6}, {Width: 40}, {Width: 12}, {Width: 18}, {Width: 18}}
	s := &table.Sheet{Name: "Kits", Columns: columns, Page: table.Page{FitWide: 1, Footer: table.Banner{Centre: "{page}"}}}
	s.Rows = func(yield func(table.Row) bool) {
		for kit := 1; kit <= 3; kit++ {
			head := table.Spread(fmt.Sprintf("Kit %d", kit), table.Style{Look: table.Heading}, 5)
			head.Break = kit > 1
			if !yield(head) {
				return
			}
			for i := range 19 {
				if !yield(table.Row{Cells: []table.Cell{
					table.Text("☐", table.TickStyle), table.Text(strings.Repeat("item of the kit ", 1+i%4), table.WrapStyle), table.Int(i+1, table.IntStyle),
					table.Empty(table.Style{Look: table.FillIn}), table.Empty(table.Style{Look: table.FillIn}),
				}}) {
					return
				}
			}
		}
	}
	return s
}

func demoLong() *table.Sheet {
	columns := []table.Column{{Title: "No.", Width: 8, Style: table.IntStyle}, {Title: "Square", Width: 12, Style: body(table.Number(2))}, {Title: "Word", Width: 20}}
	s := &table.Sheet{Name: "Long", Columns: columns, FreezeRows: 1, TitleRows: table.Span{First: 1, Last: 1}, Page: table.Page{FitWide: 1}}
	const last = 300
	s.Rows = func(yield func(table.Row) bool) {
		if !yield(table.HeadRow(columns)) {
			return
		}
		cells := make([]table.Cell, 3)
		for row := 2; row <= last; row++ {
			cells[0] = table.Int(row, columns[0].Style)
			cells[1] = table.FormulaNum(fmt.Sprintf("A%d^2/100", row), float64(row*row)/100, columns[1].Style)
			cells[2] = table.Text(fmt.Sprint("word ", row), table.TextStyle)
			if !yield(table.Row{Cells: cells}) {
				return
			}
		}
	}
	s.Filter = table.Cells(1, 1, 3, last)
	return s
}

// squares is a small picture.
func squares(t testing.TB) []byte {
	t.Helper()
	img := image.NewGray(image.Rect(0, 0, 120, 60))
	for y := range 60 {
		for x := range 120 {
			if (x/10+y/10)%2 == 0 {
				img.SetGray(x, y, color.Gray{255})
			}
		}
	}
	var out bytes.Buffer
	if err := png.Encode(&out, img); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func written(t testing.TB, book *table.Workbook) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := xlsx.Write(&out, book); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}
