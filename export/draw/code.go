package draw

import (
	"fmt"
	"image"

	"github.com/boombuler/barcode"
	"github.com/boombuler/barcode/code128"
)

// Code128 draws a Code 128 bar code (ISO/IEC 15417) of plain ASCII text with its
// quiet zones of ten modules.
func Code128(text string, widthMM, heightMM float64) (Picture, error) {
	if text == "" {
		return Picture{}, fmt.Errorf("draw: a code of nothing")
	}
	code, err := code128.Encode(text)
	if err != nil {
		return Picture{}, fmt.Errorf("draw: Code 128: %w", err)
	}
	const quiet = 10
	return modulesPicture(code, code.Bounds().Dx()+2*quiet, 1, quiet, 0, widthMM, heightMM)
}

// modulesPicture draws a code with a whole number of dots to a module, so that
// all modules are equally wide; the paper size is what was asked for.
func modulesPicture(code barcode.Barcode, wide, tall, quietX, quietY int, widthMM, heightMM float64) (Picture, error) {
	across := max(dots(widthMM)/wide, 2)
	down := across
	if tall == 1 {
		down = max(dots(heightMM), 1)
	}
	c, err := newCanvas(float64(wide*across)/dotsPerMM, float64(tall*down)/dotsPerMM)
	if err != nil {
		return Picture{}, err
	}
	b := code.Bounds()
	for y := range b.Dy() {
		for x := range b.Dx() {
			if r, _, _, _ := code.At(b.Min.X+x, b.Min.Y+y).RGBA(); r < 0x8000 {
				c.fill(image.Rect((x+quietX)*across, (y+quietY)*down, (x+quietX+1)*across, (y+quietY+1)*down), 0)
			}
		}
	}
	p, err := c.picture()
	p.WidthMM, p.HeightMM = widthMM, heightMM
	return p, err
}
