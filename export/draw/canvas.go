package draw

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
)

// A Picture is a PNG and its size on paper.
type Picture struct {
	PNG               []byte
	WidthMM, HeightMM float64
}

const (
	dotsPerMM = 8 // about 200 dots an inch: crisp in print, small in the file
	ptPerMM   = 72 / 25.4

	// mostDots bounds a picture, so that absurd input gives an error and not a
	// machine without memory.
	mostDots = 60_000_000
)

// canvas is a grey picture measured in dots.
type canvas struct {
	img *image.Gray
	w   int
	h   int
}

func newCanvas(widthMM, heightMM float64) (*canvas, error) {
	w, h := dots(widthMM), dots(heightMM)
	if !(widthMM > 0 && heightMM > 0) || !drawable(w, h) {
		return nil, fmt.Errorf("draw: a picture of %.4g × %.4g mm is not possible", widthMM, heightMM)
	}
	return blank(w, h), nil
}

func blank(w, h int) *canvas {
	c := &canvas{img: image.NewGray(image.Rect(0, 0, w, h)), w: w, h: h}
	c.fill(c.img.Rect, 255)
	return c
}

// drawable reports whether a picture of so many dots can be made.
func drawable(w, h int) bool {
	return w >= 1 && h >= 1 && w <= 30_000 && h <= 30_000 && w*h <= mostDots
}

func dots(mm float64) int { return int(math.Round(min(mm, 1e6) * dotsPerMM)) }

// picture encodes the canvas in sixteen greys.
func (c *canvas) picture() (Picture, error) {
	greys := make(color.Palette, 16)
	for i := range greys {
		greys[i] = color.Gray{uint8(i * 17)}
	}
	small := image.NewPaletted(c.img.Rect, greys)
	for i, v := range c.img.Pix {
		small.Pix[i] = (v + 8) / 17
		if v > 247 {
			small.Pix[i] = 15
		}
	}
	return encoded(small, float64(c.w)/dotsPerMM, float64(c.h)/dotsPerMM)
}

func encoded(img image.Image, widthMM, heightMM float64) (Picture, error) {
	var out bytes.Buffer
	if err := encoder.Encode(&out, img); err != nil {
		return Picture{}, err
	}
	return Picture{PNG: out.Bytes(), WidthMM: widthMM, HeightMM: heightMM}, nil
}

// encoder keeps its buffers, which cost more to make than a small picture.
var encoder = png.Encoder{BufferPool: buffers{new(sync.Pool)}}

type buffers struct{ *sync.Pool }

func (b buffers) Get() *png.EncoderBuffer {
	kept, _ := b.Pool.Get().(*png.EncoderBuffer)
	return kept
}

func (b buffers) Put(e *png.EncoderBuffer) { b.Pool.Put(e) }

func (c *canvas) dot(x, y int, v uint8) {
	if x >= 0 && y >= 0 && x < c.w && y < c.h {
		c.img.Pix[y*c.img.Stride+x] = v
	}
}

// fill paints a rectangle, ends excluded.
func (c *canvas) fill(r image.Rectangle, v uint8) {
	r = r.Intersect(c.img.Rect)
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			c.img.Pix[y*c.img.Stride+x] = v
		}
	}
}

// frame draws the outline of a rectangle inwards.
func (c *canvas) frame(r image.Rectangle, thick int) {
	c.fill(image.Rect(r.Min.X, r.Min.Y, r.Max.X, r.Min.Y+thick), 0)
	c.fill(image.Rect(r.Min.X, r.Max.Y-thick, r.Max.X, r.Max.Y), 0)
	c.fill(image.Rect(r.Min.X, r.Min.Y, r.Min.X+thick, r.Max.Y), 0)
	c.fill(image.Rect(r.Max.X-thick, r.Min.Y, r.Max.X, r.Max.Y), 0)
}

// hatch fills a rectangle by kind.
func (c *canvas) hatch(r image.Rectangle, k Kind) {
	r = r.Intersect(c.img.Rect)
	c.fill(r, 255)
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			if inked(x, y, k) {
				c.img.Pix[y*c.img.Stride+x] = 0
			}
		}
	}
}

// inked is the pattern of each kind. It depends on the place on the picture, so
// neighbouring areas of a kind run on into each other.
func inked(x, y int, k Kind) bool {
	switch k {
	case Scrap: // dense strokes rising to the right
		return (x+y)%8 < 2
	case Keep: // sparse dots
		return x%8 < 2 && y%8 < 2
	case Loss: // solid
		return true
	case Trim: // wide strokes falling to the right
		return ((x-y)%14+14)%14 < 4
	}
	return false
}

// line draws a line along or up the picture, so many dots thick.
func (c *canvas) line(x0, y0, x1, y1, thick int) {
	r := image.Rect(x0, y0, x1, y1)
	r.Min = r.Min.Sub(image.Pt(thick/2, thick/2))
	r.Max = r.Max.Add(image.Pt(thick-thick/2, thick-thick/2))
	c.fill(r, 0)
}

// symbol is a mark so many dots wide whose middle is drawn at y from x on, and
// what it means.
type symbol struct {
	width   int
	draw    func(x, y int)
	meaning string
}

// explain writes what symbols mean along the foot of the picture.
func (c *canvas) explain(x, foot int, symbols []symbol) {
	y := foot - dots(2.2)
	for _, s := range symbols {
		s.draw(x, y)
		x += s.width + dots(1)
		c.text(x, y+smallType.height()/2, smallType, s.meaning)
		x += smallType.width(s.meaning) + dots(4)
	}
}

// typeface is a font at a size.
type typeface struct {
	points float64
	bold   bool
}

var fonts = sync.OnceValues(func() (map[bool]*opentype.Font, error) {
	regular, err := opentype.Parse(goregular.TTF)
	if err != nil {
		return nil, err
	}
	bold, err := opentype.Parse(gobold.TTF)
	if err != nil {
		return nil, err
	}
	return map[bool]*opentype.Font{false: regular, true: bold}, nil
})

// faces are kept, since making one costs more than drawing with it. A face
// serves one drawing at a time.
var faces = struct {
	sync.Mutex
	made map[typeface]font.Face
}{made: map[typeface]font.Face{}}

// face is called with faces locked.
func (t typeface) face() font.Face {
	if f, ok := faces.made[t]; ok {
		return f
	}
	all, err := fonts()
	if err == nil {
		var f font.Face
		f, err = opentype.NewFace(all[t.bold], &opentype.FaceOptions{Size: t.points, DPI: dotsPerMM * 25.4, Hinting: font.HintingFull})
		if err == nil {
			faces.made[t] = f
			return f
		}
	}
	panic("draw: the built-in font cannot be used: " + err.Error()) // it is part of the program
}

func (t typeface) width(s string) int {
	faces.Lock()
	defer faces.Unlock()
	return font.MeasureString(t.face(), s).Ceil()
}

// height is that of a line of capitals and digits.
func (t typeface) height() int { return int(t.points / ptPerMM * dotsPerMM * 0.74) }

// leading is the distance between lines.
func (t typeface) leading() int { return int(t.points / ptPerMM * dotsPerMM * 1.25) }

// text writes a line with its left end at x and its foot at y.
func (c *canvas) text(x, y int, t typeface, s string) {
	faces.Lock()
	defer faces.Unlock()
	d := font.Drawer{Dst: c.img, Src: image.Black, Face: t.face(), Dot: fixed.P(x, y)}
	d.DrawString(s)
}

// centred writes a line in the middle of a rectangle.
func (c *canvas) centred(r image.Rectangle, t typeface, s string) {
	c.text((r.Min.X+r.Max.X-t.width(s))/2, (r.Min.Y+r.Max.Y+t.height())/2, t, s)
}

// upright writes a line in the middle of a rectangle, turned to be read from the
// right.
func (c *canvas) upright(r image.Rectangle, t typeface, s string) {
	w, h := t.width(s)+2, t.leading()+2
	lying := blank(w, h)
	lying.text(1, (h+t.height())/2, t, s)
	x0, y0 := (r.Min.X+r.Max.X-h)/2, (r.Min.Y+r.Max.Y+w)/2
	for y := range h {
		for x := range w {
			if v := lying.img.Pix[y*lying.img.Stride+x]; v < 255 {
				c.dot(x0+y, y0-x, v)
			}
		}
	}
}

// wrap breaks words over lines of at most so many dots.
func (t typeface) wrap(words []string, room int) (lines []string) {
	line := ""
	for _, w := range words {
		switch {
		case line == "":
			line = w
		case t.width(line+" "+w) <= room:
			line += " " + w
		default:
			lines = append(lines, line)
			line = w
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// shorten cuts a text to so many dots, with an ellipsis.
func (t typeface) shorten(s string, room int) string {
	if t.width(s) <= room {
		return s
	}
	r := []rune(s)
	for len(r) > 0 && t.width(string(r)+"…") > room {
		r = r[:len(r)-1]
	}
	return string(r) + "…"
}
