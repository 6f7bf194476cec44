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

func (w *sheetWriter) addChart(c table.Chart) error {
	switch {
	case !c.At.Valid():
		return fmt.Errorf("no such place: column %d, row %d", c.At.Column, c.At.Row)
	case len(c.Series) == 0:
		return fmt.Errorf("nothing to draw")
	case !(c.WidthMM >= 10 && c.HeightMM >= 10 && c.WidthMM <= 2000 && c.HeightMM <= 2000):
		return fmt.Errorf("a size of %v × %v mm", c.WidthMM, c.HeightMM)
	}
	gap, varied, whole := uint(60), false, 100
	out := &excelize.Chart{
		Type: excelize.Bar, GapWidth: &gap, VaryColors: &varied,
		Dimension: excelize.ChartDimension{Width: uint(math.Round(c.WidthMM * pixelsPerMM)), Height: uint(math.Round(c.HeightMM * pixelsPerMM))},
		Format:    excelize.GraphicOptions{AltText: c.Alt},
		Title:     excelize.ChartTitle{Paragraph: text(c.Title, 11, true)},
		Legend:    excelize.ChartLegend{Position: "bottom", Font: &excelize.Font{Family: bodyFont, Size: 9, Color: ink}},
		XAxis:     axis("", table.General),
		YAxis:     axis(c.ValueTitle, c.Values),
		PlotArea:  excelize.ChartPlotArea{ShowVal: c.Labels, NumFmt: numberFormat(c.Values)},
		Border:    line(0.5, rule),
	}
	out.XAxis.ReverseOrder = true                            // the first category on top
	out.XAxis.TickLabelPosition = excelize.ChartTickLabelLow // beside bars to the left of 0 too
	out.YAxis.MajorGridLines = true
	if len(c.Series) == 1 {
		out.Legend.Position = "none"
	}
	if c.Stacked {
		out.Type, out.Overlap = excelize.BarStacked, &whole
	}
	if c.Curve {
		out.Type, out.GapWidth = excelize.Scatter, nil
		out.XAxis = axis(c.CategoryTitle, c.Categories)
		out.XAxis.MajorGridLines, out.XAxis.TickLabelPosition = true, excelize.ChartTickLabelLow
		if c.Most > 0 {
			out.YAxis.Maximum = &c.Most
		}
	}
	for i, s := range c.Series {
		series := excelize.ChartSeries{
			Name: s.Name, Categories: s.Categories, Values: s.Numbers, Fill: solid(hatchColour(i)), Line: line(0.75, ink),
			DataLabel: excelize.ChartDataLabel{Font: excelize.Font{Family: bodyFont, Size: 8, Color: ink}},
		}
		if s.Unseen {
			series.Fill, series.Line = excelize.Fill{Type: "pattern", Pattern: 0}, excelize.LineOptions{Type: excelize.LineNone}
		}
		if c.Curve {
			series.Fill, series.Line, series.Marker = excelize.Fill{}, line(1.75, ink), excelize.ChartMarker{Symbol: "none"}
		}
		out.Series = append(out.Series, series)
	}
	return w.file.AddChart(w.sheet.Name, c.At.String(), out)
}

func line(width float64, colour string) excelize.LineOptions {
	return excelize.LineOptions{Type: excelize.LineSolid, Width: width, Fill: solid(colour)}
}

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
