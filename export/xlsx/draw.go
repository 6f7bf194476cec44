package xlsx

import (
	"bytes"
	"fmt"
	"image/png"
	"math"

	"github.com/xuri/excelize/v2"

	"wraptally/export/table"
)

const pixelsPerMM = 96 / mmPerInch

// draw places pictures and charts. It comes before the flush.
func (w *sheetWriter) draw() error {
	for _, p := range append(w.pictures, w.sheet.Pictures...) {
		if err := w.addPicture(p); err != nil {
			return w.fault(p.At.String(), "picture: %v", err)
		}
	}
	if err := w.tellHeights(); err != nil {
		return err
	}
	for _, c := range w.sheet.Charts {
		if err := w.addChart(c); err != nil {
			return w.fault(c.At.String(), "chart %q: %v", c.Title, err)
		}
	}
	return nil
}

func (w *sheetWriter) addPicture(p table.Picture) error {
	if !p.At.Valid() {
		return fmt.Errorf("no such place: column %d, row %d", p.At.Column, p.At.Row)
	}
	size, err := png.DecodeConfig(bytes.NewReader(p.PNG))
	if err != nil {
		return fmt.Errorf("not a PNG: %w", err)
	}
	if size.Width == 0 || size.Height == 0 {
		return fmt.Errorf("an empty picture")
	}
	wide, tall := p.WidthMM*pixelsPerMM, p.HeightMM*pixelsPerMM
	switch ratio := float64(size.Width) / float64(size.Height); {
	case wide <= 0 && tall <= 0:
		wide, tall = float64(size.Width), float64(size.Height)
	case wide <= 0:
		wide = tall * ratio
	case tall <= 0:
		tall = wide / ratio
	}
	const hair = 1e-6 // the library cuts off fractions of a pixel
	return w.file.AddPictureFromBytes(w.sheet.Name, p.At.String(), &excelize.Picture{
		Extension: ".png", File: p.PNG,
		Format: &excelize.GraphicOptions{
			ScaleX: (math.Round(wide) + hair) / float64(size.Width), ScaleY: (math.Round(tall) + hair) / float64(size.Height),
			OffsetX: int(math.Round(p.OffsetXMM * pixelsPerMM)), OffsetY: int(math.Round(p.OffsetYMM * pixelsPerMM)),
			AltText: p.Alt, Positioning: "oneCell", LockAspectRatio: true,
		},
	})
}

// tellHeights lets the library know the row heights that were streamed, from
// which it finds the cell where a chart ends. It does not write them again.
func (w *sheetWriter) tellHeights() error {
	last := 0
	for _, c := range w.sheet.Charts {
		last = max(last, c.At.Row+int(c.HeightMM*pixelsPerMM/10)+1)
	}
	for _, h := range w.heights {
		if h.row > last {
			break
		}
		if err := w.file.SetRowHeight(w.sheet.Name, h.row, h.points); err != nil {
			return err
		}
	}
	return nil
}

var chartTypes = map[table.ChartKind]excelize.ChartType{
	table.BarChart: excelize.Bar, table.ColumnChart: excelize.Col,
	table.StackedBarChart: excelize.BarStacked, table.StackedColumnChart: excelize.ColStacked,
	table.DoughnutChart: excelize.Doughnut, table.LineChart: excelize.Line,
}

func (w *sheetWriter) addChart(c table.Chart) error {
	kind, known := chartTypes[c.Kind]
	switch {
	case !known:
		return fmt.Errorf("no such kind of chart: %d", c.Kind)
	case !c.At.Valid():
		return fmt.Errorf("no such place: column %d, row %d", c.At.Column, c.At.Row)
	case len(c.Series) == 0:
		return fmt.Errorf("nothing to draw")
	case !(c.WidthMM >= 10 && c.HeightMM >= 10 && c.WidthMM <= 2000 && c.HeightMM <= 2000):
		return fmt.Errorf("a size of %v × %v mm", c.WidthMM, c.HeightMM)
	}
	lying := c.Kind == table.BarChart || c.Kind == table.StackedBarChart
	stacked := c.Kind == table.StackedBarChart || c.Kind == table.StackedColumnChart
	out := &excelize.Chart{
		Type:      kind,
		Dimension: excelize.ChartDimension{Width: uint(math.Round(c.WidthMM * pixelsPerMM)), Height: uint(math.Round(c.HeightMM * pixelsPerMM))},
		Format:    excelize.GraphicOptions{AltText: c.Alt},
		Title:     excelize.ChartTitle{Paragraph: text(c.Title, 11, true)},
		Legend:    excelize.ChartLegend{Position: "bottom", Font: &excelize.Font{Family: bodyFont, Size: 9, Color: ink}},
		XAxis:     axis(c.XTitle, table.General),
		YAxis:     axis(c.YTitle, c.Values),
		PlotArea:  excelize.ChartPlotArea{ShowVal: c.Labels, NumFmt: numberFormat(c.Values)},
		Border:    excelize.LineOptions{Type: excelize.LineSolid, Width: 0.5, Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{rule}}},
	}
	out.XAxis.ReverseOrder = lying // the first category on top
	out.YAxis.MajorGridLines = c.Kind != table.DoughnutChart
	if len(c.Series) == 1 && c.Kind != table.DoughnutChart {
		out.Legend.Position = "none"
	}
	gap, varied := uint(60), c.Kind == table.DoughnutChart
	out.GapWidth, out.VaryColors = &gap, &varied
	if stacked {
		whole := 100
		out.Overlap = &whole
	}
	if c.Kind == table.DoughnutChart {
		out.HoleSize = 55
		out.Legend.Position = "right"
		out.PlotArea.ShowVal, out.PlotArea.ShowPercent = false, c.Labels
		out.PlotArea.NumFmt = numberFormat(table.Percent(0))
	}
	for i, s := range c.Series {
		series := excelize.ChartSeries{
			Name: s.Name, Categories: s.Categories, Values: s.Numbers, Fill: hatch(i),
			Line:      excelize.LineOptions{Type: excelize.LineSolid, Width: 0.75, Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{ink}}},
			DataLabel: excelize.ChartDataLabel{Font: excelize.Font{Family: bodyFont, Size: 8, Color: ink}},
		}
		if c.Kind == table.DoughnutChart {
			for point := range mostShares {
				series.DataPoint = append(series.DataPoint, excelize.ChartDataPoint{Index: point, Fill: hatch(point)})
			}
		}
		if c.Kind == table.LineChart {
			dark := excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{ink}}
			series.Fill = dark
			series.Marker = excelize.ChartMarker{Symbol: []string{"circle", "square", "triangle", "diamond", "x"}[i%5], Size: 7, Fill: dark,
				Border: excelize.LineOptions{Type: excelize.LineSolid, Width: 0.75, Fill: dark}}
			series.Line.Dash = []excelize.LineDashType{excelize.LineDashSolid, excelize.LineDashDash, excelize.LineDashSysDot, excelize.LineDashLgDashDot}[i%4]
			series.Line.Width = 1.5
		}
		out.Series = append(out.Series, series)
	}
	return w.file.AddChart(w.sheet.Name, c.At.String(), out)
}

// mostShares is how many shares of a doughnut are hatched; a chart of more could
// not be read.
const mostShares = 24

func text(s string, size float64, heavy bool) []excelize.RichTextRun {
	if s == "" {
		return nil
	}
	return []excelize.RichTextRun{{Text: s, Font: &excelize.Font{Family: bodyFont, Size: size, Bold: heavy, Color: ink}}}
}

func axis(title string, f table.Format) excelize.ChartAxis {
	return excelize.ChartAxis{
		Title:  excelize.ChartTitle{Paragraph: text(title, 9, false)},
		Font:   excelize.Font{Family: bodyFont, Size: 9, Color: ink},
		NumFmt: numberFormat(f),
	}
}

func numberFormat(f table.Format) excelize.ChartNumFmt {
	return excelize.ChartNumFmt{CustomNumFmt: formatCode(table.Style{Format: f})}
}

// The library fills shapes with plain colours only. Each series gets a colour of
// its own that retouch then replaces by a black-and-white hatch.
// The first, which most charts need alone, stays plain.
var hatches = []string{"", "wdUpDiag", "pct10", "lgGrid", "ltHorz", "pct50", "ltVert", "diagBrick", "wdDnDiag", "lgConfetti", "dkVert", "weave"}

func hatchColour(i int) string { return fmt.Sprintf("0A0B%02X", 0x10+i%len(hatches)) }

func hatch(i int) excelize.Fill {
	return excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{hatchColour(i)}}
}
