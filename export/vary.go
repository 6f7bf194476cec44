package export

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"wraptally/estimate/design"
	"wraptally/estimate/qty"
	"wraptally/estimate/trace"
	"wraptally/export/table"
)

// varied is a row of the sheet Vary: the outputs with one input changed, or
// why there are none.
type varied struct {
	name, change string
	outputs      []float64
	err          error
}

// varySheet shows what a change of each input of the survey does, the largest
// swing of the bid first. Its figures come from whole runs, so they are values.
func (d *desk) varySheet() *table.Sheet {
	type col = table.Col[varied]
	v := d.opt.Vary
	last := len(v.Outputs) - 1
	t := table.NewTable[varied](sheetVary)
	t.Add(col{Title: "Input", Width: 26, Style: table.TextStyle, Cell: func(p pen, r varied) { p.Text(r.name) }})
	t.Add(col{Title: "Change", Width: 11, Style: table.TextStyle, Cell: func(p pen, r varied) { p.Text(r.change) }})
	var bid table.Ref
	for i, name := range v.Outputs {
		bid = t.Add(col{Title: name, Width: 13, Style: table.IntStyle, Cell: func(p pen, r varied) {
			switch {
			case r.err != nil && i == 0:
				p.As(table.TextStyle).Text(r.err.Error())
			case r.err == nil && i >= last-1:
				p.In(d.money()).Num(r.outputs[i])
			case r.err == nil:
				p.In(quantityFormat(r.outputs[i])).Num(r.outputs[i])
			}
		}})
	}
	t.Add(col{Title: "Change of the " + v.Outputs[last], Width: 15, Style: shown(d.money()), Cell: func(p pen, r varied) {
		if r.err == nil && p.Row() > t.First() {
			p.Formula("%v-%s", bid, bid.In(t.First()).Abs()).Num(r.outputs[last] - v.Base[last])
		}
	}})
	by := percentOf(v)
	l := newLeaf(sheetVary, "Vary", "Each input of the survey changed by −"+by+" and +"+by+", the others as they are, and the whole estimate made again each time. Whole packs make the figures move in steps; a repair that a change pushes out of the method falls out of the totals, as the number of repairs shows.", t.Columns())
	l.Blank(1)
	list(l, t, variations(v))
	return l.headed(d.page(true), 1)
}

// percentOf is by how much each input is changed.
func percentOf(v *design.Variations) string { return trace.FormatNumber(v.Fraction*100, "%") + " %" }

// variations are the rows: as surveyed, then each input changed either way, the
// largest swing of the bid first.
func variations(v *design.Variations) []varied {
	rows := []varied{{name: "as surveyed", outputs: v.Base}}
	by := percentOf(v)
	for _, e := range v.ByOutput(len(v.Outputs) - 1) {
		rows = append(rows,
			varied{e.Variable.Name, "−" + by, e.Low.Outputs, e.Low.Err},
			varied{e.Variable.Name, "+" + by, e.High.Outputs, e.High.Err})
	}
	return rows
}

// PrintVary writes the same table as text, money with so many decimals.
func PrintVary(out io.Writer, v *design.Variations, minor int32) error {
	by := percentOf(v)
	fmt.Fprintf(out, "Each input changed by −%s and +%s, the others as they are. Whole packs make\nthe figures move in steps.\n%s\n", by, by, folded(Notice, 80))
	tab := tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(tab, "input\tchange\t%s\t\n", strings.Join(v.Outputs, "\t"))
	for _, r := range variations(v) {
		fmt.Fprintf(tab, "%s\t%s\t", r.name, r.change)
		if r.err != nil {
			fmt.Fprintf(tab, "%v\t", r.err)
		}
		for i, x := range r.outputs {
			text := trace.FormatNumber(x, "")
			if name := v.Outputs[i]; strings.Contains(name, "cost") || strings.Contains(name, "bid") {
				text = money(qty.Decimal(x), minor)
			}
			fmt.Fprintf(tab, "%s\t", text)
		}
		fmt.Fprintln(tab)
	}
	return tab.Flush()
}
