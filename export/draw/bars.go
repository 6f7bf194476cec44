package draw

import (
	"cmp"
	"errors"
	"fmt"
	"image"
	"iter"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Kind is what part of a bar or sheet an area is.
type Kind uint8

// The kinds, told apart by their hatch.
const (
	Piece Kind = iota // white, labelled
	Scrap             // dense strokes
	Keep              // sparse dots: an offcut worth keeping
	Loss              // black: what the saw takes
	Trim              // wide strokes the other way: an end or edge cut off
)

var kindNames = [Trim + 1]string{"piece", "scrap", "offcut to keep", "saw cut", "trim"}

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
// bar, from left to right, so that no label is lost. The key names the kinds by
// meaning, and as for cutting where that says nothing.
func Bars(bars []Bar, widthMM float64, scale Scale, meaning map[Kind]string) (Picture, error) {
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

	plans := make([]plan, len(bars))
	height := dots(1)
	for i, b := range bars {
		plans[i] = planBar(b, left, height, room, perDot)
		height = plans[i].foot() + dots(gapMM)
	}
	ruler := height
	height += dots(rulerMM + keyMM)
	c, err := newCanvas(widthMM, float64(height)/dotsPerMM)
	if err != nil {
		return Picture{}, err
	}
	for i, b := range bars {
		row := plans[i].outline
		c.stock(plans[i], row, 2)
		c.text(0, (row.Min.Y+row.Max.Y+boldType.height())/2, boldType, boldType.shorten(b.Label, row.Min.X-dots(2)))
	}
	c.ruler(left, ruler, room, longest, scale)
	c.key(left, height, meaning, plans...)
	return c.picture()
}

// plan is where a piece of stock and what is cut from it go on a picture.
type plan struct {
	outline image.Rectangle
	parts   []area
	used    [Trim + 1]bool
	unnamed []string // lines below, naming what is too small for a label
}

type area struct {
	image.Rectangle
	label string
	kind  Kind
}

// add puts a part in its place.
func (p *plan) add(r image.Rectangle, label string, k Kind) {
	p.parts = append(p.parts, area{r, label, k})
	p.used[k] = true
}

// finish notes what the parts leave, which is scrap, and names those that are too
// small for a label.
func (p *plan) finish(covered, whole float64, lead string, room int) {
	if covered < whole*(1-1e-9) {
		p.used[Scrap] = true
	}
	words := []string{lead}
	for _, a := range p.parts {
		if a.label != "" && a.kind == Piece && fit(a.Rectangle, a.label) == nil {
			words = append(words, a.label+",")
		}
	}
	if last := len(words) - 1; last > 0 {
		words[last] = strings.TrimSuffix(words[last], ",")
		p.unnamed = smallType.wrap(words, room)
	}
}

// foot is where the plan ends on the picture.
func (p plan) foot() int {
	if n := len(p.unnamed); n > 0 {
		return p.outline.Max.Y + n*smallType.leading() + dots(1)
	}
	return p.outline.Max.Y
}

func planBar(b Bar, left, top, room int, perDot float64) plan {
	at, height := 0.0, dots(barMM)
	x := func() int { return left + int(math.Round(at/perDot)) }
	var p plan
	for _, s := range b.Segments {
		from := x()
		at += s.Length
		p.add(image.Rect(from, top, x(), top+height), s.Label, s.Kind)
	}
	covered := at
	at = b.Length
	p.outline = image.Rect(left, top, x(), top+height)
	p.finish(covered, b.Length, "too short to label, from left:", room)
	return p
}

// stock draws a piece of stock with its parts in a frame.
func (c *canvas) stock(p plan, frame image.Rectangle, thick int) {
	// What no part covers is left over and must not look like a piece.
	c.hatch(p.outline, Scrap)
	for _, a := range p.parts {
		c.part(a.Rectangle, a.kind, a.label)
	}
	c.frame(frame, thick)
	for i, line := range p.unnamed {
		c.text(p.outline.Min.X, p.outline.Max.Y+dots(0.5)+(i+1)*smallType.leading(), smallType, line)
	}
}

// part draws one area with its hatch, its outline and its label where it fits.
func (c *canvas) part(area image.Rectangle, k Kind, label string) {
	c.hatch(area, k)
	if area.Dx() > 2 && area.Dy() > 2 {
		c.frame(area.Inset(-1), 2)
	}
	if write := fit(area, label); write != nil && k < Loss {
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
	y := top + dots(0.5)
	c.line(left, y, left+room, y, 2)
	for at, text := range scale.round(0, end, room/dots(22)) {
		x := left + int(math.Round(at/end*float64(room)))
		c.line(x, y, x, y+dots(1.8), 3)
		if at == 0 {
			text += " " + scale.Unit
		}
		w := labelType.width(text)
		c.text(min(max(x-w/2, left-dots(1)), c.w-w), y+dots(1.8)+labelType.height()+4, labelType, text)
	}
}

// round yields the round lengths of a range, so that there are about as many as
// asked for, each with how it reads on the scale.
func (s Scale) round(from, to float64, steps int) iter.Seq2[float64, string] {
	step := niceStep((to-from)/s.Per, max(steps, 1))
	decimals := max(0, int(math.Ceil(-math.Log10(step)-1e-9))) // no digits that mean nothing
	return func(yield func(float64, string) bool) {
		for i := math.Ceil(from/s.Per/step - 1e-9); i*step <= to/s.Per*(1+1e-12)+step*1e-9; i++ {
			v := i*step + 0 // never "-0"
			if !yield(v*s.Per, strconv.FormatFloat(v, 'f', decimals, 64)) {
				return
			}
		}
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

// key explains the hatches in use, along the foot of the picture.
func (c *canvas) key(x, foot int, meaning map[Kind]string, plans ...plan) {
	var symbols []symbol
	for k := Piece; k <= Trim; k++ {
		if slices.ContainsFunc(plans, func(p plan) bool { return p.used[k] }) {
			symbols = append(symbols, symbol{dots(5), func(x, y int) {
				box := image.Rect(x, y-dots(1.25), x+dots(5), y+dots(1.25))
				c.hatch(box, k)
				c.frame(box, 2)
			}, cmp.Or(meaning[k], kindNames[k])})
		}
	}
	c.explain(x, foot, symbols)
}

func checkBar(b Bar) error {
	if !(b.Length > 0) || math.IsInf(b.Length, 0) {
		return fmt.Errorf("a length of %v", b.Length)
	}
	sum := 0.0
	for _, s := range b.Segments {
		if !(s.Length >= 0) || s.Kind > Trim {
			return fmt.Errorf("a part of kind %d and length %v", s.Kind, s.Length)
		}
		sum += s.Length
	}
	if sum > b.Length*(1+1e-9) {
		return fmt.Errorf("pieces of %v together on a length of %v", sum, b.Length)
	}
	return nil
}
