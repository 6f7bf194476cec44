package draw

import (
	"errors"
	"fmt"
	"image"
	"math"
	"strconv"
)

// Kind is what part of a bar or sheet an area is.
type Kind uint8

// The kinds, told apart by their hatch.
const (
	Piece Kind = iota // white, labelled
	Scrap             // dense strokes
	Keep              // sparse dots: an offcut worth keeping
	Loss              // black: what the saw takes
)

func (k Kind) String() string {
	switch k {
	case Piece:
		return "piece"
	case Scrap:
		return "scrap"
	case Keep:
		return "offcut to keep"
	case Loss:
		return "saw cut"
	}
	return "?"
}

// A Segment is part of a bar, from where the one before it ends.
type Segment struct {
	Length float64
	Label  string
	Kind   Kind
}

// A Bar is a length of stock and how it is cut.
type Bar struct {
	Label    string // beside the bar, "coil 1 (× 3)"
	Length   float64
	Segments []Segment
}

// Scale is how lengths are written on a ruler: a length divided by Per, with
// Unit after it (Per 1000 and Unit "m" for lengths in mm).
type Scale struct {
	Per  float64
	Unit string
}

func (s Scale) per() float64 {
	if s.Per > 0 {
		return s.Per
	}
	return 1
}

var (
	labelType = typeface{7, false}
	smallType = typeface{5.5, false}
	tinyType  = typeface{4.5, false}
	boldType  = typeface{7.5, true}
)

const (
	barMM   = 9.0 // height of a bar
	gapMM   = 3.0 // between bars
	rulerMM = 7.0
	keyMM   = 4.5
)

// Bars draws bars one below the other on one scale, widthMM wide on paper, with
// a ruler below. A piece too short for its label is named in a line under its
// bar, from left to right, so that no label is lost.
func Bars(bars []Bar, widthMM float64, scale Scale) (Picture, error) {
	longest := 0.0
	for i, b := range bars {
		if err := checkBar(b); err != nil {
			return Picture{}, fmt.Errorf("draw: bar %d (%s): %w", i+1, b.Label, err)
		}
		longest = math.Max(longest, b.Length)
	}
	if len(bars) == 0 {
		return Picture{}, errors.New("draw: no bar to draw")
	}
	width := dots(widthMM)
	left := dots(2)
	for _, b := range bars {
		left = max(left, boldType.width(b.Label)+dots(3))
	}
	left = min(left, width/3)
	room := width - left - dots(4)
	if room < dots(20) {
		return Picture{}, fmt.Errorf("draw: %v mm is too narrow for bars", widthMM)
	}
	perDot := longest / float64(room)

	plans := make([]barPlan, len(bars))
	height := dots(1)
	for i, b := range bars {
		plans[i] = planBar(b, left, height, room, perDot)
		height += plans[i].height() + dots(gapMM)
	}
	ruler := height
	height += dots(rulerMM + keyMM)
	c, err := newCanvas(widthMM, float64(height)/dotsPerMM)
	if err != nil {
		return Picture{}, err
	}
	for i, b := range bars {
		c.bar(b, plans[i])
	}
	c.ruler(left, ruler, room, longest, scale)
	c.key(left, height, kindsOf(bars))
	return c.picture()
}

// barPlan is where a bar goes on the picture.
type barPlan struct {
	row     image.Rectangle
	areas   []image.Rectangle // of its segments
	unnamed []string          // lines naming what is too short for a label
}

func planBar(b Bar, left, top, room int, perDot float64) barPlan {
	end := left + int(math.Round(b.Length/perDot))
	p := barPlan{row: image.Rect(left, top, end, top+dots(barMM))}
	var names []string
	at := 0.0
	for _, s := range b.Segments {
		from := left + int(math.Round(at/perDot))
		at += s.Length
		area := image.Rect(from, top, left+int(math.Round(at/perDot)), top+dots(barMM))
		p.areas = append(p.areas, area)
		if s.Label != "" && s.Kind == Piece && fit(area, s.Label) == nil {
			names = append(names, s.Label)
		}
	}
	if len(names) > 0 {
		p.unnamed = smallType.wrap(append([]string{"too short to label, from left:"}, withCommas(names)...), room)
	}
	return p
}

func (p barPlan) height() int {
	h := p.row.Dy()
	if n := len(p.unnamed); n > 0 {
		h += n*smallType.leading() + dots(1)
	}
	return h
}

func (c *canvas) bar(b Bar, p barPlan) {
	// What no segment covers is left over and must not look like a piece.
	c.hatch(p.row, Scrap)
	for i, s := range b.Segments {
		c.part(p.areas[i], s.Kind, s.Label)
	}
	c.frame(p.row, 2)
	name := boldType.shorten(b.Label, p.row.Min.X-dots(2))
	c.text(0, (p.row.Min.Y+p.row.Max.Y+boldType.height())/2, boldType, name)
	for i, line := range p.unnamed {
		c.text(p.row.Min.X, p.row.Max.Y+dots(0.5)+(i+1)*smallType.leading(), smallType, line)
	}
}

// part draws one area with its hatch, its outline and its label where it fits.
func (c *canvas) part(area image.Rectangle, k Kind, label string) {
	c.hatch(area, k)
	if area.Dx() > 2 && area.Dy() > 2 {
		c.frame(area.Inset(-1), 2)
	}
	if write := fit(area, label); write != nil && k != Loss {
		write(c, k)
	}
}

// fit finds how a label can be written in an area: in a smaller and smaller
// type, along it or across it. It returns nil when it cannot.
func fit(area image.Rectangle, label string) func(*canvas, Kind) {
	if label == "" {
		return nil
	}
	const air = 6 // dots kept free around a label
	for _, t := range []typeface{labelType, smallType, tinyType} {
		w, h := t.width(label), t.height()
		if w+air <= area.Dx() && h+air <= area.Dy() {
			return func(c *canvas, k Kind) { c.plate(area, w, h, k); c.centred(area, t, label) }
		}
		if w+air <= area.Dy() && h+air <= area.Dx() {
			return func(c *canvas, k Kind) { c.plate(area, h, w, k); c.upright(area, t, label) }
		}
	}
	return nil
}

// plate clears the ground under a label that stands on a hatch.
func (c *canvas) plate(area image.Rectangle, w, h int, k Kind) {
	if k == Piece {
		return
	}
	x, y := (area.Min.X+area.Max.X)/2, (area.Min.Y+area.Max.Y)/2
	c.fill(image.Rect(x-w/2-3, y-h/2-3, x+(w+1)/2+3, y+(h+1)/2+3), 255)
}

// ruler draws a scale from 0 to the end, ticked at round lengths.
func (c *canvas) ruler(left, top, room int, end float64, scale Scale) {
	per := scale.per()
	step := niceStep(end/per, max(room/dots(18), 1))
	y := top + dots(0.5)
	c.line(left, y, left+room, y, 2)
	for i := 0; float64(i)*step <= end/per*(1+1e-9); i++ {
		v := float64(i) * step
		x := left + int(math.Round(v*per/end*float64(room)))
		c.line(x, y, x, y+dots(1.2), 2)
		text := number(v, step)
		if i == 0 {
			text += " " + scale.Unit
		}
		at := x - smallType.width(text)/2
		c.text(min(max(at, left-dots(1)), c.w-smallType.width(text)), y+dots(1.2)+smallType.height()+4, smallType, text)
	}
}

// niceStep is 1, 2 or 5 times a power of ten, so that at most so many steps
// cover the range.
func niceStep(span float64, steps int) float64 {
	raw := span / float64(steps)
	power := math.Pow(10, math.Floor(math.Log10(raw)))
	for _, m := range []float64{1, 2, 5} {
		if m*power >= raw {
			return m * power
		}
	}
	return 10 * power
}

// number writes a multiple of a step without digits that mean nothing.
func number(v, step float64) string {
	decimals := max(0, int(math.Ceil(-math.Log10(step)-1e-9)))
	return strconv.FormatFloat(v, 'f', decimals, 64)
}

func kindsOf(bars []Bar) (used [Loss + 1]bool) {
	for _, b := range bars {
		sum := 0.0
		for _, s := range b.Segments {
			if s.Kind <= Loss {
				used[s.Kind] = true
			}
			sum += s.Length
		}
		if sum < b.Length*(1-1e-9) {
			used[Scrap] = true
		}
	}
	return used
}

// key explains the hatches in use, along the foot of the picture.
func (c *canvas) key(x, foot int, used [Loss + 1]bool) {
	y := foot - dots(1)
	for k := Piece; k <= Loss; k++ {
		if !used[k] {
			continue
		}
		box := image.Rect(x, y-dots(2.5), x+dots(5), y)
		c.hatch(box, k)
		c.frame(box, 2)
		c.text(box.Max.X+dots(1), y-dots(1.25)+smallType.height()/2, smallType, k.String())
		x = box.Max.X + dots(1) + smallType.width(k.String()) + dots(4)
	}
}

func checkBar(b Bar) error {
	if !(b.Length > 0) || math.IsInf(b.Length, 0) {
		return fmt.Errorf("a length of %v", b.Length)
	}
	sum := 0.0
	for _, s := range b.Segments {
		if !(s.Length >= 0) || s.Kind > Loss {
			return fmt.Errorf("a part of kind %d and length %v", s.Kind, s.Length)
		}
		sum += s.Length
	}
	if sum > b.Length*(1+1e-9) {
		return fmt.Errorf("pieces of %v together on a length of %v", sum, b.Length)
	}
	return nil
}

func withCommas(names []string) []string {
	out := make([]string, len(names))
	for i, n := range names {
		out[i] = n
		if i < len(names)-1 {
			out[i] += ","
		}
	}
	return out
}
