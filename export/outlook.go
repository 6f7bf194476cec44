package export

import (
	"fmt"
	"io"
	"math"
	"text/tabwriter"

	"github.com/shopspring/decimal"

	"wraptally/estimate"
	"wraptally/estimate/trace"
	"wraptally/export/table"
	"wraptally/export/xlsx"
)

const sheetRange = "Range"

// outlookShares are the shares of the draws, in per cent, of which the figures are
// told, and curveShares those that the curve is drawn through.
var (
	outlookShares = []float64{10, 50, 80, 90}
	curveShares   = []float64{1, 5, 10, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 75, 80, 85, 90, 95, 99}
)

// Range writes the outlook of a campaign as a workbook of its own, so that it is
// not printed with the rest.
func Range(w io.Writer, p *estimate.Campaign, o *estimate.Outlook, opt Options) error {
	b := newBook(p, opt, nil)
	return xlsx.Write(w, b.bind("Range of the campaign", b.rangeSheet(o)))
}

// spreadRow is a figure with what its draws came to.
type spreadRow struct {
	estimate.Figure
	*estimate.Spreading
}

func spreadRows(o *estimate.Outlook) []spreadRow {
	rows := make([]spreadRow, len(estimate.OutlookFigures))
	for i, f := range estimate.OutlookFigures {
		rows[i] = spreadRow{f, &o.Figure[i]}
	}
	return rows
}

// bidRow is the figure that the curve and the inputs are told of.
func bidRow(o *estimate.Outlook) spreadRow { return spreadRows(o)[len(estimate.OutlookFigures)-1] }

// rangeSheet is the range of the figures, what matters most, and the curve of the
// bid.
func (b *book) rangeSheet(o *estimate.Outlook) *table.Sheet {
	type col = table.Col[spreadRow]
	cur := b.p.Bid.Currency
	t := table.NewTable[spreadRow](sheetRange)
	t.Add(col{Title: "Figure", Width: 32, Style: table.WrapStyle, Cell: func(p pen, r spreadRow) { p.Text(figureName(r.Figure, cur)) }})
	number := func(title string, width float64, of func(r spreadRow) float64) {
		t.Add(col{Title: title, Width: width, Style: shown(table.Number(0)), Cell: func(p pen, r spreadRow) { p.Num(of(r)) }})
	}
	number("Point", 11, func(r spreadRow) float64 { return r.Point })
	number("Point, by\nrules of draws", 13, func(r spreadRow) float64 { return r.Quick })
	for _, share := range outlookShares {
		number(fmt.Sprintf("P%g", share), 11, func(r spreadRow) float64 { v, _, _ := r.Percentile(share); return v })
	}
	number("P80 lies\nabove", 12, func(r spreadRow) float64 { _, low, _ := r.Percentile(80); return low })
	number("P80 lies\nbelow", 26, func(r spreadRow) float64 { _, _, high := r.Percentile(80); return high })
	l := newLeaf(sheetRange, "Range", "How far the campaign may come out otherwise: "+o.Told(b.p), t.Columns())
	l.AddRow(table.Spread(Notice, look(table.Caution), len(l.columns)))
	for _, text := range outlookFacts(b.p, o) {
		l.AddRow(table.Spread(text, look(table.Plain), len(l.columns)))
	}
	section(l, "Figures", t, spreadRows(o), "")
	names, swings, heads := b.inputsTable(l, o)
	l.Blank(1)
	l.Row(l.Next() - 1).Break = true
	at := l.Next()
	const rowsHigh = 17
	l.Blank(2 * rowsHigh)
	l.Row(l.Next() - 1).Break = true
	shares, bids, title := curveTable(l, o, cur)
	chart := func(row int, title, alt string) table.Chart {
		return table.Chart{At: table.At{Column: 1, Row: row}, WidthMM: 230, HeightMM: 68, Title: title, ValueTitle: cur, Values: table.Number(0), Alt: alt}
	}
	swing := chart(at, "Bid before tax, away from its mean, where each input is lowest and highest", "bars of the bid by input, the widest on top")
	swing.Stacked = true
	for k := range swings {
		swing.Series = append(swing.Series, table.Series{Name: heads[k], Categories: names, Numbers: swings[k]})
	}
	curve := chart(at+rowsHigh, "Share of the draws in which the bid before tax is no higher", "rising curve of the share of draws over the bid")
	curve.Curve, curve.CategoryTitle, curve.Categories, curve.ValueTitle, curve.Most = true, cur, table.Number(0), "% of the draws", 100
	curve.Series = []table.Series{{Name: title, Categories: bids, Numbers: shares}}
	s := l.sheet(b.page(true))
	s.Charts = []table.Chart{swing, curve}
	return s
}

// figureName is a figure with its currency.
func figureName(f estimate.Figure, currency string) string {
	if f.Money {
		return f.Name + ", " + currency
	}
	return f.Name
}

// inputsTable lists the inputs, what matters most first, and gives the references
// to their names, to the two swings of the bid and to the heads of these.
func (b *book) inputsTable(l *leaf, o *estimate.Outlook) (names string, swings, heads [2]string) {
	type col = table.Col[estimate.Moved]
	mean := 0.0
	bid := bidRow(o)
	for _, x := range bid.Drawn {
		mean += x / float64(len(bid.Drawn))
	}
	t := table.NewTable[estimate.Moved](sheetRange)
	name := t.Add(col{Title: "Input", Style: table.WrapStyle, Cell: func(p pen, m estimate.Moved) { p.Text(m.Name) }})
	percent := func(title string, of func(m estimate.Moved) float64) {
		t.Add(col{Title: title, Style: shown(table.Number(0)), Cell: func(p pen, m estimate.Moved) {
			if m.Spread != nil {
				p.Num(of(m))
			}
		}})
	}
	percent("Low\n(%)", func(m estimate.Moved) float64 { return m.Spread.Low })
	percent("Likely\n(%)", func(m estimate.Moved) float64 { return m.Spread.Likely })
	percent("High\n(%)", func(m estimate.Moved) float64 { return m.Spread.High })
	t.Add(col{Title: "Alike", Style: shown(table.Number(1)), Cell: func(p pen, m estimate.Moved) {
		if m.Spread != nil {
			p.Num(m.Spread.Alike)
		}
	}})
	t.Add(col{Title: "Share of the\nspread (%)", Style: shown(table.Number(1)), Cell: func(p pen, m estimate.Moved) { p.Num(100 * m.Share) }})
	low := t.Add(col{Title: "Bid where\nit is lowest", Style: shown(table.Number(0)), Cell: func(p pen, m estimate.Moved) { p.Num(m.Low - mean) }})
	high := t.Add(col{Title: "Bid where\nit is highest", Style: shown(table.Number(0)), Cell: func(p pen, m estimate.Moved) { p.Num(m.High - mean) }})
	t.Add(col{Title: "Rests on", Style: table.WrapStyle, Cell: func(p pen, m estimate.Moved) {
		if m.Spread != nil {
			p.Text(m.Spread.Basis)
			return
		}
		p.Text("range of what is blank, settings blank.…")
	}})
	l.heading("What matters most to the bid")
	l.note("The share is the square of the rank correlation with the bid; the two figures are how far the mean bid of the fifth of the draws in which the input is lowest, or highest, lies from the mean of all.")
	list(l, t, o.Inputs)
	return name.All(), [2]string{low.All(), high.All()}, [2]string{low.Head(), high.Head()}
}

// curveTable lists the bid that a share of the draws does not exceed, and gives
// the references to shares, bids and the title of the shares.
func curveTable(l *leaf, o *estimate.Outlook, currency string) (shares, bids, title string) {
	type col = table.Col[float64]
	bid := bidRow(o)
	t := table.NewTable[float64](sheetRange)
	share := t.Add(col{Title: "Share of the draws (%)", Style: table.IntStyle, Cell: func(p pen, x float64) { p.Num(x) }})
	at := t.Add(col{Title: "Bid no higher\nthan, " + currency, Style: shown(table.Number(0)), Cell: func(p pen, x float64) { v, _, _ := bid.Percentile(x); p.Num(v) }})
	l.heading("The bid before tax by share of the draws")
	list(l, t, curveShares)
	return share.All(), at.All(), share.Head()
}

// outlookFacts are the range in sentences.
func outlookFacts(p *estimate.Campaign, o *estimate.Outlook) []string {
	cur := p.Bid.Currency
	bid := bidRow(o)
	at, low, high := bid.Percentile(o.At)
	facts := []string{
		fmt.Sprintf("In %g %% of the draws the bid before tax is no higher than %s %s (with 95 %% of certainty %s to %s: what more draws, setting range.draws, would make narrower).",
			o.At, toTheUnit(at), cur, toTheUnit(low), toTheUnit(high)),
		fmt.Sprintf("That is a contingency of %s %% on the point bid without one, %s %s; the campaign has %s (%s).",
			trace.FormatNumber(o.Contingency, "%"), toTheUnit(bid.Quick), cur, contingency(p), contingencyFrom(p)),
		fmt.Sprintf("Point: growth and contingency left out, nothing drawn. In draws cutting is searched less and rolls are not chosen again over the campaign; at the point that makes the bid %s %s %s.",
			toTheUnit(math.Abs(bid.Quick-bid.Point)), cur, moreOrLess(bid.Quick-bid.Point)),
	}
	if n := o.InventedInputs(); n > 0 {
		facts = append(facts, fmt.Sprintf("%s invented: put your own in before you rely on this.", countOf(n, "row of the table spreads is", "rows of the table spreads are")))
	}
	if o.Short > 0 {
		facts = append(facts, fmt.Sprintf("In %s of %d suppliers had not all that was needed; it is priced as if they had it.", countOf(o.Short, "draw", "draws"), o.Draws))
	}
	return facts
}

func moreOrLess(difference float64) string {
	if difference < 0 {
		return "less"
	}
	return "more"
}

// toTheUnit writes an amount without decimals.
func toTheUnit(v float64) string { return money(decimal.NewFromFloat(v), 0) }

// PrintRange writes the range as text.
func PrintRange(out io.Writer, p *estimate.Campaign, o *estimate.Outlook) error {
	cur := p.Bid.Currency
	fmt.Fprintf(out, "range, %s\n", o.Told(p))
	tab := tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprint(tab, "\tpoint\t")
	for _, share := range outlookShares {
		fmt.Fprintf(tab, "P%g\t", share)
	}
	fmt.Fprintln(tab)
	for _, r := range spreadRows(o) {
		fmt.Fprintf(tab, "%s\t%s\t", figureName(r.Figure, cur), toTheUnit(r.Point))
		for _, share := range outlookShares {
			v, _, _ := r.Percentile(share)
			fmt.Fprintf(tab, "%s\t", toTheUnit(v))
		}
		fmt.Fprintln(tab)
	}
	if err := tab.Flush(); err != nil {
		return err
	}
	most := o.Inputs[:min(3, len(o.Inputs))]
	for i, m := range most {
		fmt.Fprintf(out, "%s %s: %.0f %% of the spread of the bid\n", []string{"most goes with", "then", "then"}[i], m.Name, 100*m.Share)
	}
	for _, text := range outlookFacts(p, o) {
		fmt.Fprintln(out, text)
	}
	return nil
}
