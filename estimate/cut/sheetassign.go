package cut

// PlacedRect says where a demanded rectangle is cut.
type PlacedRect struct {
	Sheet      int // number of the sheet, from 1, in the order of the plan
	Stock      int // index into the sheets given
	Layout     int // index into the plan's layouts
	Position   int // place in the layout's parts, from 1
	X, Y, W, H int // mm, as it lies in the sheet
	Rotated    bool
	Rect       int // index into the rectangles given
	Label      string
}

// Assign says for every demanded rectangle where it is cut: sheets in the order
// of the plan, pieces of one size handed out in the order in which they were
// demanded. The rectangles must be those that the plan was made for; what the
// plan does not hold gets no place.
func (p SheetPlan) Assign(rects []Rect) []PlacedRect {
	norm := func(w, h int) Size {
		if p.Rotate && w < h {
			w, h = h, w
		}
		return Size{w, h}
	}
	queue := make(map[Size][]int)
	left := make([]int, len(rects))
	for i, r := range rects {
		if r.Count > 0 {
			left[i] = r.Count
			z := norm(r.W, r.H)
			queue[z] = append(queue[z], i)
		}
	}
	out := make([]PlacedRect, 0, p.Pieces)
	sheet := 0
	for n, l := range p.Layouts {
		for range l.Count {
			sheet++
			for k, pt := range l.Parts {
				z := norm(pt.W, pt.H)
				q := queue[z]
				if len(q) == 0 {
					continue
				}
				i := q[0]
				out = append(out, PlacedRect{
					Sheet: sheet, Stock: l.Sheet, Layout: n, Position: k + 1, X: pt.X, Y: pt.Y, W: pt.W, H: pt.H,
					Rotated: pt.W != rects[i].W || pt.H != rects[i].H, Rect: i, Label: rects[i].Label,
				})
				if left[i]--; left[i] == 0 {
					queue[z] = q[1:]
				}
			}
		}
	}
	return out
}
