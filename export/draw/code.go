package draw

import (
	"fmt"
	"image"
	"image/color"

	"github.com/boombuler/barcode"
	"github.com/boombuler/barcode/code128"
	"github.com/boombuler/barcode/qr"
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

// Square draws a square code (QR code, ISO/IEC 18004, from memory) of a text with its quiet zone
// of four modules, a quarter of which may be dirty or torn. It is read from any side,
// off a print on which the bars of a long name are too thin.
func Square(text string, sideMM float64) (Picture, error) {
	if text == "" {
		return Picture{}, fmt.Errorf("draw: a code of nothing")
	}
	var code barcode.Barcode
	var err error
	for _, mode := range []qr.Encoding{qr.AlphaNumeric, qr.Unicode} { // the first takes less room, and no small letters
		if code, err = qr.Encode(text, qr.Q, mode); err == nil {
			break
		}
	}
	if err != nil {
		return Picture{}, fmt.Errorf("draw: square code: %w", err)
	}
	const quiet = 4
	modules := code.Bounds().Dx()
	across := max(dots(sideMM)/(modules+2*quiet), 2)
	side := (modules + 2*quiet) * across
	if !drawable(side, side) {
		return Picture{}, fmt.Errorf("draw: a code of %.4g mm is not possible", sideMM)
	}
	img := image.NewPaletted(image.Rect(0, 0, side, side), color.Palette{color.White, color.Black})
	for y := range side {
		for x := range side {
			at := image.Pt(x/across-quiet, y/across-quiet)
			if !at.In(image.Rect(0, 0, modules, modules)) {
				continue
			}
			if r, _, _, _ := code.At(code.Bounds().Min.X+at.X, code.Bounds().Min.Y+at.Y).RGBA(); r < 0x8000 {
				img.Pix[y*img.Stride+x] = 1
			}
		}
	}
	return encoded(img, sideMM, sideMM)
}
