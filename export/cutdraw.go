package export

import (
	"fmt"
	"strconv"

	"wraptally/estimate"
	"wraptally/estimate/cut"
	"wraptally/export/draw"
	"wraptally/export/table"
)

// Pictures are for the eye: the lists below them hold every coil and sheet. So
// that a workbook stays light, no more than these are drawn of one stock.
const (
	mostBars        = 36
	barsInPicture   = 12
	mostSheets      = 12
	sheetsInRow     = 2
	coilPictureMM   = 222
	sheetPictureMM  = 105
	sheetPictureMMH = 95
)

// coilPictures draws the patterns of a coil plan to scale.
func (b *book) coilPictures(pg *pager, cl *estimate.CutList) error {
	plan := cl.Linear
	trim := int(b.p.Catalog.Settings.CutTrim)
	var bars []draw.Bar
	coil := 1
	for i, pt := range plan.Patterns {
		if i == mostBars {
			break
		}
		bar := draw.Bar{Label: barName("coil", coil, pt.Count), Length: float64(cl.Coils[pt.Stock].Length)}
		at := 0
		add := func(length int, label string, kind draw.Kind) {
			if length = min(length, cl.Coils[pt.Stock].Length-at); length > 0 {
				bar.Segments = append(bar.Segments, draw.Segment{Length: float64(length), Label: label, Kind: kind})
				at += length
			}
		}
		for _, c := range pt.Cuts {
			for range c.Count {
				add(c.Length, b.bareUp(float64(c.Length)), draw.Piece)
				add(plan.Kerf, "", draw.Loss)
			}
		}
		kind := draw.Scrap
		if pt.Keep {
			kind = draw.Keep
		}
		left := ""
		if pt.Keep {
			left = b.bare(pt.Left)
		}
		add(pt.Left, left, kind)
		add(trim, "", draw.Trim)
		bars = append(bars, bar)
		coil += pt.Count
	}
	for at := 0; at < len(bars); at += barsInPicture {
		part := bars[at:min(at+barsInPicture, len(bars))]
		p, err := draw.Bars(part, coilPictureMM, b.units().length, nil)
		if err != nil {
			return err
		}
		pictureRows(pg, []draw.Picture{p}, coilPictureMM, fmt.Sprintf("How the coils of %s are cut, to scale", clip(cl.Stock, 80)))
	}
	b.undrawn(pg, len(plan.Patterns)-len(bars), "pattern", "patterns")
	return nil
}

func barName(what string, first, count int) string {
	if count == 1 {
		return what + " " + strconv.Itoa(first)
	}
	return fmt.Sprintf("%ss %d–%d", what, first, first+count-1)
}

func (b *book) undrawn(pg *pager, n int, one, many string) {
	if n > 0 {
		pg.rows(table.Spread(fmt.Sprintf("%s more not drawn; all are listed below.", countOf(n, one, many)), look(table.Muted), cuttingWidth))
	}
}

// sheetPictures draws the layouts of a sheet plan to scale, two beside each
// other.
func (b *book) sheetPictures(pg *pager, cl *estimate.CutList) error {
	plan := cl.Sheets
	placed := map[int][]cut.PlacedRect{} // by number of the sheet
	wanted := map[int]bool{}
	number := 1
	for i, lay := range plan.Layouts {
		if i < mostSheets {
			wanted[number] = true
		}
		number += lay.Count
	}
	for _, at := range plan.Assign(cl.Rects) {
		if wanted[at.Sheet] {
			placed[at.Sheet] = append(placed[at.Sheet], at)
		}
	}
	var pictures []draw.Picture
	number = 1
	for i := range plan.Layouts {
		if i == mostSheets {
			break
		}
		lay := &plan.Layouts[i]
		stock := cl.Plates[lay.Sheet]
		p, err := draw.SheetLayout(b.sheetDrawing(lay, stock, placed[number], barName("sheet", number, lay.Count)), sheetPictureMM, sheetPictureMMH, b.units().length)
		if err != nil {
			return err
		}
		pictures = append(pictures, p)
		number += lay.Count
	}
	alt := fmt.Sprintf("How the sheets of %s are cut, to scale", clip(cl.Stock, 80))
	for at := 0; at < len(pictures); at += sheetsInRow {
		pictureRows(pg, pictures[at:min(at+sheetsInRow, len(pictures))], sheetPictureMM+4, alt)
	}
	b.undrawn(pg, len(plan.Layouts)-len(pictures), "layout", "layouts")
	return nil
}

// sheetDrawing lays the longer side across the page. Places in a plan are
// measured from the lower left corner, in a drawing from the upper left.
func (b *book) sheetDrawing(lay *cut.Layout, stock cut.Sheet, placed []cut.PlacedRect, name string) draw.Sheet {
	out := draw.Sheet{Label: name, Width: float64(stock.W), Height: float64(stock.H)}
	add := func(x, y, w, h int, label string, kind draw.Kind) {
		out.Parts = append(out.Parts, draw.Rect{
			X: float64(x), Y: float64(stock.H - y - h), Width: float64(w), Height: float64(h), Label: label, Kind: kind,
		})
	}
	if trim := int(b.p.Catalog.Settings.SheetTrim); trim > 0 {
		add(0, 0, stock.W, trim, "", draw.Trim)
		add(0, stock.H-trim, stock.W, trim, "", draw.Trim)
		add(0, trim, trim, stock.H-2*trim, "", draw.Trim)
		add(stock.W-trim, trim, trim, stock.H-2*trim, "", draw.Trim)
	}
	for _, p := range placed {
		add(p.X, p.Y, p.W, p.H, strconv.Itoa(p.Position), draw.Piece)
	}
	kept(lay.Cuts, func(n *cut.Node) { add(n.X, n.Y, n.W, n.H, "", draw.Keep) })
	return out
}

// pictureRows leaves room for pictures beside each other, a step of mm apart,
// and puts them there.
func pictureRows(pg *pager, pictures []draw.Picture, step float64, alt string) {
	tallest := 0.0
	for _, p := range pictures {
		tallest = max(tallest, p.HeightMM)
	}
	const gap = 8 // points below
	points := tallest/mmPerInch*72 + gap
	rows := int(points/table.MaxRowHeight) + 1
	pg.room(min(points, pg.capacity))
	for i := range rows {
		row := table.Row{Height: points / float64(rows)}
		if i == 0 {
			for n, p := range pictures {
				// A picture is tied to the column it begins in.
				column, offset := 1, float64(n)*step
				for column < len(pg.columns) && offset >= table.MM(pg.columns[column-1].Width) {
					offset -= table.MM(pg.columns[column-1].Width)
					column++
				}
				row.Pictures = append(row.Pictures, table.Picture{
					At: table.At{Column: column}, OffsetXMM: offset, PNG: p.PNG, WidthMM: p.WidthMM, HeightMM: p.HeightMM, Alt: alt,
				})
			}
		}
		pg.rows(row)
	}
}
