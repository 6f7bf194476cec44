package draw

import (
	"errors"
	"fmt"
	"image"
	"math"
)

// A Rect is an area of a sheet, measured from its top left corner.
type Rect struct {
	X, Y, Width, Height float64
	Label               string
	Kind                Kind
}

// A Sheet is a rectangle of stock and what is cut from it. What no Rect covers
// is drawn as scrap.
type Sheet struct {
	Label         string
	Width, Height float64
	Parts         []Rect
}

// SheetLayout draws one sheet to scale within widthMM by heightMM on paper, its
// label above and its size along its sides. Parts too small for their label are
// numbered by a line below.
func SheetLayout(s Sheet, widthMM, heightMM float64, scale Scale) (Picture, error) {
	if err := checkSheet(s); err != nil {
		return Picture{}, fmt.Errorf("draw: sheet %s: %w", s.Label, err)
	}
	wide := measure(s.Width, scale)
	tall := measure(s.Height, scale)
	left, top := smallType.leading()+dots(1), boldType.leading()+smallType.leading()+dots(1.5)
	room := image.Pt(dots(widthMM)-left-dots(1), dots(heightMM)-top-dots(keyMM+1))
	if room.X < dots(10) || room.Y < dots(10) {
		return Picture{}, fmt.Errorf("draw: %v × %v mm is too small for a sheet", widthMM, heightMM)
	}
	perDot := math.Max(s.Width/float64(room.X), s.Height/float64(room.Y))
	at := func(v float64) int { return int(math.Round(v / perDot)) }
	sheet := image.Rect(left, top, left+at(s.Width), top+at(s.Height))
	if sheet.Dx() < 2 || sheet.Dy() < 2 {
		return Picture{}, errors.New("draw: a sheet far longer than wide cannot be drawn to scale")
	}
	p := plan{outline: sheet}
	covered := 0.0
	for _, r := range s.Parts {
		p.add(image.Rect(left+at(r.X), top+at(r.Y), left+at(r.X+r.Width), top+at(r.Y+r.Height)), r.Label, r.Kind)
		covered += r.Width * r.Height
	}
	p.finish(covered, s.Width*s.Height, "too small to label:", dots(widthMM)-left)
	height := sheet.Max.Y + dots(1) + len(p.unnamed)*smallType.leading() + dots(keyMM)
	c, err := newCanvas(widthMM, float64(height)/dotsPerMM)
	if err != nil {
		return Picture{}, err
	}
	c.stock(p, sheet.Inset(-1), 3)
	c.text(left, boldType.height()+dots(1), boldType, boldType.shorten(s.Label, c.w-left))
	c.text(sheet.Min.X+(sheet.Dx()-smallType.width(wide))/2, top-dots(1), smallType, wide)
	c.upright(image.Rect(0, sheet.Min.Y, left-dots(1), sheet.Max.Y), smallType, tall)
	c.key(left, height, nil, p)
	return c.picture()
}

func measure(v float64, scale Scale) string {
	return fmt.Sprintf("%.6g %s", v/scale.Per, scale.Unit)
}

// slackLength forgives rounding of coordinates, relative to the sheet.
const slackLength = 1e-6

func checkSheet(s Sheet) error {
	if !(s.Width > 0 && s.Height > 0) || math.IsInf(s.Width, 0) || math.IsInf(s.Height, 0) {
		return fmt.Errorf("a size of %v × %v", s.Width, s.Height)
	}
	slack := slackLength * math.Max(s.Width, s.Height)
	for i, p := range s.Parts {
		inside := p.X >= -slack && p.Y >= -slack && p.Width >= 0 && p.Height >= 0 &&
			p.X+p.Width <= s.Width+slack && p.Y+p.Height <= s.Height+slack
		if !inside || p.Kind > Trim {
			return fmt.Errorf("part %d (%s) at %v,%v of %v × %v is not inside %v × %v", i+1, p.Label, p.X, p.Y, p.Width, p.Height, s.Width, s.Height)
		}
	}
	return nil
}
