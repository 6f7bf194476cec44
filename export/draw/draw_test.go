package draw

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"wraptally/estimate/trace/outside"
	"wraptally/export/xlsx/xlsxtest"
)

var metres = Scale{Per: 1000, Unit: "m"}

func demoBars() []Bar {
	return []Bar{
		{Label: "coil 1 (× 3)", Length: 30000, Segments: []Segment{{50, "", Loss}, {5200, "A1", Piece}, {5200, "A2", Piece}, {7450, "B30-112", Piece}, {620, "C1", Piece}, {310, "D7", Piece}, {310, "D8", Piece}, {150, "Q-0001", Piece}, {3000, "keep 3.00", Keep}}},
		{Label: "coil 2", Length: 30000, Segments: []Segment{{29000, "one long piece", Piece}, {1000, "1.00", Scrap}}},
		{Label: "short coil", Length: 15000, Segments: manySegments()},
		{Label: "untouched", Length: 15000},
	}
}

func manySegments() (s []Segment) {
	for i := range 60 {
		s = append(s, Segment{240, fmt.Sprintf("K%02d-long", i), Piece})
	}
	return s
}

func demoSheet() Sheet {
	return Sheet{Label: "sheet 1 of 4, 0.4 mm", Width: 2000, Height: 1000, Parts: []Rect{
		{0, 0, 500, 400, "P1 500×400", Piece}, {503, 0, 500, 400, "P2 500×400", Piece}, {1006, 0, 80, 400, "P3 80×400", Piece},
		{0, 403, 30, 30, "P4", Piece}, {33, 403, 60, 30, "P5", Piece}, {1100, 0, 900, 1000, "keep 900×1000", Keep},
		{0, 500, 1000, 400, "P6", Piece}, {500, 0, 3, 400, "", Loss}}}
}

func demoStrip(n int, clustered bool) Strip {
	r := rand.New(rand.NewPCG(1, uint64(n)))
	s := Strip{Legend: map[Shape]string{Disc: "seal and wrap", Ring: "wrap only", Cross: "query"}}
	for i := range n {
		at := r.Float64() * 850_000
		if clustered {
			at = 100_000 + r.NormFloat64()*2000
		}
		s.Marks = append(s.Marks, Mark{At: at, Length: 400, Label: fmt.Sprintf("R%03d", i+1), Shape: []Shape{Disc, Ring, Cross}[i%3]})
	}
	return s
}

func pictures(t *testing.T) map[string]Picture {
	t.Helper()
	all := map[string]Picture{}
	add := func(name string, p Picture, err error) {
		t.Helper()
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		all[name] = p
	}
	p, err := Bars(demoBars(), 180, metres, nil)
	add("bars", p, err)
	p, err = SheetLayout(demoSheet(), 120, 90, Scale{Per: 1, Unit: "mm"})
	add("sheet", p, err)
	for _, n := range []int{0, 1, 12, 300} {
		p, err = StripMap(demoStrip(n, false), 180, metres)
		add(fmt.Sprintf("strip%d", n), p, err)
	}
	p, err = StripMap(demoStrip(60, true), 180, metres)
	add("cluster", p, err)
	var shapesShown Strip
	shapesShown.Legend = map[Shape]string{}
	for s := range shapes {
		shapesShown.Marks = append(shapesShown.Marks, Mark{At: float64(s) * 1000, Label: fmt.Sprint("shape ", s), Shape: s})
		shapesShown.Legend[s] = fmt.Sprint("shape ", s)
	}
	p, err = StripMap(shapesShown, 150, metres)
	add("shapes", p, err)
	p, err = Code128("K-0042", 50, 12)
	add("code128", p, err)
	p, err = Square("CW-101-P-01 7K3F9Q", 18)
	add("square", p, err)
	return all
}

// The pictures are compared dot by dot with those kept; DRAW_OUT keeps a copy to
// be looked at.
func TestPicturesLookAsKept(t *testing.T) {
	for name, p := range pictures(t) {
		if out := os.Getenv("DRAW_OUT"); out != "" {
			if err := os.WriteFile(filepath.Join(out, name+".png"), p.PNG, 0o666); err != nil {
				t.Fatal(err)
			}
		}
		kept := filepath.Join("testdata", name+".png")
		if xlsxtest.Update() {
			if err := os.MkdirAll("testdata", 0o777); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(kept, p.PNG, 0o666); err != nil {
				t.Fatal(err)
			}
			continue
		}
		want, err := os.ReadFile(kept)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(want, p.PNG) {
			t.Errorf("%s differs from the one kept in %s: %s", name, kept, where(t, want, p.PNG))
		}
	}
}

func where(t *testing.T, a, b []byte) string {
	t.Helper()
	x, y := decoded(t, a), decoded(t, b)
	if x.Bounds() != y.Bounds() {
		return fmt.Sprintf("size %v, was %v", y.Bounds().Size(), x.Bounds().Size())
	}
	n := 0
	var area image.Rectangle
	for py := range x.Bounds().Dy() {
		for px := range x.Bounds().Dx() {
			if x.At(px, py) != y.At(px, py) {
				n++
				area = area.Union(image.Rect(px, py, px+1, py+1))
			}
		}
	}
	return fmt.Sprintf("%d dots within %v", n, area)
}

func decoded(t *testing.T, b []byte) image.Image {
	t.Helper()
	img, err := png.Decode(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	return img
}

func TestSameInputSamePicture(t *testing.T) {
	a, b := pictures(t), pictures(t)
	for name := range a {
		if !bytes.Equal(a[name].PNG, b[name].PNG) {
			t.Errorf("%s differs from one drawing to the next", name)
		}
	}
}

// A bar's pieces are as long on paper as their share of the bar.
func TestBarsAreToScale(t *testing.T) {
	p, err := Bars([]Bar{{Label: "x", Length: 1000, Segments: []Segment{{250, "", Piece}, {500, "", Loss}, {250, "", Piece}}}}, 200, metres, nil)
	if err != nil {
		t.Fatal(err)
	}
	img := decoded(t, p.PNG)
	black := 0
	y := dots(1) + dots(barMM)/2
	for x := range img.Bounds().Dx() {
		if r, _, _, _ := img.At(x, y).RGBA(); r < 0x8000 {
			black++
		}
	}
	// The loss is half the bar; outlines take a few dots more.
	room := dots(200) - dots(4) - (boldType.width("x") + dots(3))
	if math.Abs(float64(black)-float64(room)/2) > 14 {
		t.Errorf("%d black dots, want about %d", black, room/2)
	}
}

// No label or staff of a strip map meets another label, however crowded.
func TestStripLabelsDoNotOverlap(t *testing.T) {
	for _, n := range []int{1, 2, 12, 100, 300, 3000} {
		for _, clustered := range []bool{false, true} {
			marks, err := orderedMarks(demoStrip(n, clustered))
			if err != nil {
				t.Fatal(err)
			}
			from, to := reach(marks)
			whole := dots(172)
			rows, room := fitStrip(marks, from, to, whole)
			seen := 0
			for _, r := range rows {
				seen += len(r.marks)
				for i, a := range r.tags {
					if a.x < 0 || a.x > room || a.x+a.width > whole+2 {
						t.Errorf("n=%d: %q leaves the paper", n, a.text)
					}
					for j, b := range r.tags {
						if i == j {
							continue
						}
						apart := a.x+a.width < b.x || b.x+b.width < a.x
						if a.level == b.level && !apart {
							t.Errorf("n=%d: %q covers %q", n, a.text, b.text)
						}
						if b.level > a.level && b.x >= a.x && b.x <= a.x+a.width {
							t.Errorf("n=%d: the staff of %q crosses %q", n, b.text, a.text)
						}
					}
				}
			}
			if seen != n {
				t.Errorf("n=%d: %d marks drawn", n, seen)
			}
		}
	}
}

func TestRefusedDrawings(t *testing.T) {
	for name, c := range map[string]struct {
		err  error
		want string
	}{
		"no bars":        {second(Bars(nil, 100, metres, nil)), "no bar"},
		"endless bar":    {second(Bars([]Bar{{Length: math.Inf(1)}}, 100, metres, nil)), "a length of"},
		"bar of nothing": {second(Bars([]Bar{{Label: "b", Length: 0}}, 100, metres, nil)), "bar 1 (b)"},
		"too much cut":   {second(Bars([]Bar{{Length: 10, Segments: []Segment{{11, "", Piece}}}}, 100, metres, nil)), "pieces of 11"},
		"negative piece": {second(Bars([]Bar{{Length: 10, Segments: []Segment{{-1, "", Piece}}}}, 100, metres, nil)), "length -1"},
		"narrow paper":   {second(Bars([]Bar{{Length: 10}}, 5, metres, nil)), "too narrow"},
		"outside sheet":  {second(SheetLayout(Sheet{Label: "s", Width: 10, Height: 10, Parts: []Rect{{5, 5, 6, 1, "p", Piece}}}, 80, 80, metres)), "not inside"},
		"flat sheet":     {second(SheetLayout(Sheet{Width: 10, Height: math.NaN()}, 80, 80, metres)), "a size of"},
		"needle":         {second(SheetLayout(Sheet{Width: 1e9, Height: 1}, 80, 80, metres)), "to scale"},
		"mark nowhere":   {second(StripMap(Strip{Marks: []Mark{{At: math.NaN()}}}, 100, metres)), "mark"},
		"empty code":     {second(Code128("", 20, 10)), "nothing"},
		"long code":      {second(Code128(strings.Repeat("x", 5000), 20, 10)), "Code 128"},
		"odd characters": {second(Code128("每", 20, 10)), "Code 128"},
		"empty square":   {second(Square("", 20)), "nothing"},
		"long square":    {second(Square(strings.Repeat("x", 5000), 20)), "square code"},
		"giant square":   {second(Square("x", 1e9)), "not possible"},
		"giant":          {second(Code128("x", 1e9, 1e9)), "not possible"},
	} {
		if c.err == nil || !strings.Contains(c.err.Error(), c.want) {
			t.Errorf("%s: error %v does not tell %q", name, c.err, c.want)
		}
	}
}

func second(_ Picture, err error) error { return err }

// The codes are read back by another program (zbarimg of ZBar).
func TestCrossCodesAreRead(t *testing.T) {
	outside.Need(t, "zbarimg")
	dir := t.TempDir()
	for _, text := range []string{"K-0042", "PART 30/304-A", "1234567890", "Line-7-a-long-name-of-a-repair-12 7K3F9Q"} {
		p, err := Code128(text, 60, 12)
		if err != nil {
			t.Fatal(err)
		}
		if got := scan(t, dir, p); got != "CODE-128:"+text {
			t.Errorf("Code 128 of %q reads %q", text, got)
		}
		if p, err = Square(text, 18); err != nil {
			t.Fatal(err)
		}
		if got := scan(t, dir, p); got != "QR-Code:"+text {
			t.Errorf("the square code of %q reads %q", text, got)
		}
	}
}

func scan(t *testing.T, dir string, p Picture) string {
	t.Helper()
	name := filepath.Join(dir, "code.png")
	if err := os.WriteFile(name, p.PNG, 0o666); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("zbarimg", "--quiet", name).Output()
	if err != nil {
		return err.Error()
	}
	return strings.TrimSpace(string(out))
}
