package export

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"wraptally/estimate/scope"
	"wraptally/export/draw"
	"wraptally/export/table"
)

// mostStrips is how many lines of pipe are drawn on the summary.
const mostStrips = 8

// The marks of a strip map: what a repair is, told by shape.
var stripLegend = map[draw.Shape]string{
	draw.Disc: "sealing + reinforcement", draw.Ring: "reinforcement only", draw.Triangle: "left out, queried", draw.Cross: "left out, NOT REPAIRABLE",
}

func stripShape(r *scope.Repair) draw.Shape {
	switch {
	case r.Status == scope.NotRepairable:
		return draw.Cross
	case r.Status == scope.Queried:
		return draw.Triangle
	case r.Leaking:
		return draw.Disc
	}
	return draw.Ring
}

// strips draws where along each line its repairs are, the lines with the most
// repairs first where there are too many to draw.
func (d *desk) strips(l *leaf) error {
	type line struct {
		area, name string
		repairs    []*scope.Repair
	}
	type place struct{ area, line string }
	at := map[place]int{}
	var lines []line
	for _, r := range d.p.Repairs {
		key := place{r.Area, r.Line}
		i, ok := at[key]
		if !ok {
			i = len(lines)
			at[key] = i
			lines = append(lines, line{area: r.Area, name: r.Line})
		}
		lines[i].repairs = append(lines[i].repairs, r)
	}
	if len(lines) == 0 {
		return nil
	}
	l.heading("Where the repairs are")
	l.Row(l.Next() - 1).Break = d.paper() == table.A4 // of a shorter page the summary takes two
	if len(lines) > mostStrips {
		slices.SortStableFunc(lines, func(a, b line) int { return len(b.repairs) - len(a.repairs) })
		l.note(fmt.Sprintf("The %d lines with the most repairs of %d; places of all are on the sheet %s.", mostStrips, len(lines), sheetRepairs))
		lines = lines[:mostStrips]
	}
	wide := 0.0
	for _, c := range l.columns {
		wide += table.MM(c.Width)
	}
	for _, ln := range lines {
		// The title is a cell: the drawing's letters do not cover every script.
		title := clip(lineTitle(ln.area, ln.name), 100)
		l.AddRow(table.Spread(title, look(table.Label).To(table.Left), len(l.columns)))
		s := draw.Strip{Legend: stripLegend}
		for _, r := range ln.repairs {
			if middle := (r.From + r.To) / 2; !math.IsNaN(middle) {
				s.Marks = append(s.Marks, draw.Mark{At: middle, Length: math.Max(0, r.To-r.From), Label: r.ID, Shape: stripShape(r)})
			}
		}
		pic, err := draw.StripMap(s, wide-2, d.units().along)
		if err != nil {
			return fmt.Errorf("strip map of line %s: %w", ln.name, err)
		}
		d.picture(l, pic, fmt.Sprintf("%s: %s along the line", title, countOf(len(ln.repairs), "repair", "repairs")))
	}
	return nil
}

func lineTitle(area, line string) string {
	return cmp.Or(line, "line not named") + orBlank(", ", area)
}

// picture gives a picture rows of its height.
func (d *desk) picture(l *leaf, pic draw.Picture, alt string) {
	const most = 400.0 // points, below what a row can be
	left := (pic.HeightMM + 3) / mmPerInch * 72
	row := table.Row{Pictures: []table.Picture{{At: table.At{Column: 1}, OffsetXMM: 0.5, OffsetYMM: 1, PNG: pic.PNG, WidthMM: pic.WidthMM, HeightMM: pic.HeightMM, Alt: alt}}}
	for left > 0 {
		row.Height = math.Min(left, most)
		row.Cells = []table.Cell{table.Empty(look(table.Label))}
		l.AddRow(row)
		left -= most
		row = table.Row{}
	}
}
