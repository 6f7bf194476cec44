package draw

import (
	"fmt"
	"image"
	"image/color"

	"github.com/boombuler/barcode/code128"
)

// Code128 draws a Code 128 bar code (ISO/IEC 15417) of plain ASCII text with its
// quiet zones of ten modules. Every module is a whole number of dots wide, so
// that all are equally wide; the paper size is what was asked for.
func Code128(text string, widthMM, heightMM float64) (Picture, error) {
	if text == "" {
		return Picture{}, fmt.Errorf("draw: a code of nothing")
	}
	code, err := code128.Encode(text)
	if err != nil {
		return Picture{}, fmt.Errorf("draw: Code 128: %w", err)
	}
	const quiet, stretch = 10, 6
	modules := code.Bounds().Dx()
	across := max(dots(widthMM)/(modules+2*quiet), 2)
	// Upright bars need few lines: they are stretched on paper, not in the file.
	wide, tall := (modules+2*quiet)*across, max(dots(heightMM)/stretch, 1)
	if !drawable(wide, tall) {
		return Picture{}, fmt.Errorf("draw: a code of %.4g × %.4g mm is not possible", widthMM, heightMM)
	}
	img := image.NewPaletted(image.Rect(0, 0, wide, tall), color.Palette{color.White, color.Black})
	line := img.Pix[:wide]
	for x := range modules {
		if r, _, _, _ := code.At(code.Bounds().Min.X+x, 0).RGBA(); r < 0x8000 {
			for dot := range across {
				line[(x+quiet)*across+dot] = 1
			}
		}
	}
	for y := 1; y < tall; y++ {
		copy(img.Pix[y*img.Stride:], line)
	}
	return encoded(img, widthMM, heightMM)
}
