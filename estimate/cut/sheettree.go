package cut

import "slices"

// tree is a rectangle cut by guillotine cuts, in the solver's terms: every
// rectangle carries one kerf along its right and upper edge, so that the two
// parts of a cut add up exactly. A leaf holds a plate, no larger than itself
// in the way it lies, or nothing.
type tree struct {
	w, h     int // mm, with kerf
	vertical bool
	a, b     *tree // left or lower, right or upper; nil in a leaf
	way      int   // index into sheetTask.ways, −1 for none
}

func leaf(w, h, way int) *tree { return &tree{w: w, h: h, way: way} }

// cutAt parts the tree, a leaf, at the given distance.
func (t *tree) cutAt(vertical bool, at int) (a, b *tree) {
	t.vertical = vertical
	if vertical {
		t.a, t.b = leaf(at, t.h, -1), leaf(t.w-at, t.h, -1)
	} else {
		t.a, t.b = leaf(t.w, at, -1), leaf(t.w, t.h-at, -1)
	}
	return t.a, t.b
}

// side by side, or one on the other: a tree of the two with what is left of
// w × h as waste.
func beside(a, b *tree) *tree {
	return &tree{w: a.w + b.w, h: a.h, vertical: true, a: a, b: b, way: -1}
}

func above(a, b *tree) *tree {
	return &tree{w: a.w, h: a.h + b.h, a: a, b: b, way: -1}
}

// padded is the tree inside a rectangle at least as large, waste to the right
// and above.
func padded(t *tree, w, h int) *tree {
	if t.w < w {
		t = beside(t, leaf(w-t.w, t.h, -1))
	}
	if t.h < h {
		t = above(t, leaf(w, h-t.h, -1))
	}
	return t
}

// plates appends the plates in the tree.
func (t *tree) plates(p *sheetTask, to []int32) []int32 {
	switch {
	case t.a != nil:
		return t.b.plates(p, t.a.plates(p, to))
	case t.way >= 0:
		return append(to, int32(p.ways[t.way].plate))
	}
	return to
}

// limited is the tree without pieces beyond those remaining; rem is reduced by
// the pieces kept.
func (t *tree) limited(p *sheetTask, rem []int) *tree {
	if t.a != nil {
		a, b := t.a.limited(p, rem), t.b.limited(p, rem)
		if a.a == nil && b.a == nil && a.way < 0 && b.way < 0 {
			return leaf(t.w, t.h, -1)
		}
		return &tree{w: t.w, h: t.h, vertical: t.vertical, a: a, b: b, way: -1}
	}
	if t.way >= 0 {
		if i := p.ways[t.way].plate; rem[i] > 0 {
			rem[i]--
			return t
		}
		return leaf(t.w, t.h, -1)
	}
	return t
}

// layout is a tree as the cutter sees it, without kerf in the sizes.
type layout struct {
	root             *Node
	parts            []Part
	cut, kept, scrap int64 // mm² of one sheet
}

// realise lays the tree out in the usable rectangle of a sheet.
func (p *sheetTask) realise(t *tree, bin int) layout {
	var l layout
	b, k := p.bins[bin], p.rule.Kerf
	var lay func(t *tree, x, y, w, h int) *Node
	waste := func(x, y, w, h int) *Node {
		n := &Node{X: x, Y: y, W: w, H: h, Part: -1, Keep: p.rule.Keeps(w, h)}
		if n.Keep {
			l.kept += int64(w) * int64(h)
		} else {
			l.scrap += int64(w) * int64(h)
		}
		return n
	}
	split := func(n *Node, dir Dir, at int, first, second func(x, y, w, h int) *Node) *Node {
		n.Cut, n.At, n.Part = dir, at, -1
		if dir == Vertical {
			n.First = first(n.X, n.Y, at, n.H)
			if beyond := n.W - at - k; beyond > 0 {
				n.Second = second(n.X+at+k, n.Y, beyond, n.H)
			}
			return n
		}
		n.First = first(n.X, n.Y, n.W, at)
		if beyond := n.H - at - k; beyond > 0 {
			n.Second = second(n.X, n.Y+at+k, n.W, beyond)
		}
		return n
	}
	piece := func(w0, h0 int) func(x, y, w, h int) *Node {
		var cutOut func(x, y, w, h int) *Node
		cutOut = func(x, y, w, h int) *Node {
			n := &Node{X: x, Y: y, W: w, H: h}
			// Cut off first the strip whose remainder is the larger.
			switch dw, dh := w-w0, h-h0; {
			case dw == 0 && dh == 0:
				n.Part = len(l.parts)
				l.parts = append(l.parts, Part{x, y, w, h})
				l.cut += int64(w) * int64(h)
				return n
			case dw > 0 && (dh == 0 || dw*h >= dh*w):
				return split(n, Vertical, w0, cutOut, waste)
			default:
				return split(n, Horizontal, h0, cutOut, waste)
			}
		}
		return cutOut
	}
	lay = func(t *tree, x, y, w, h int) *Node {
		switch {
		case t.a != nil:
			dir, at, side := Horizontal, t.a.h-k, h
			if t.vertical {
				dir, at, side = Vertical, t.a.w-k, w
			}
			if at >= side { // all beyond is less than a kerf
				return lay(t.a, x, y, w, h)
			}
			return split(&Node{X: x, Y: y, W: w, H: h}, dir, at,
				func(x, y, w, h int) *Node { return lay(t.a, x, y, w, h) },
				func(x, y, w, h int) *Node { return lay(t.b, x, y, w, h) })
		case t.way >= 0:
			v := p.ways[t.way]
			return piece(v.w-k, v.h-k)(x, y, w, h)
		default:
			return waste(x, y, w, h)
		}
	}
	l.root = lay(t, p.rule.Trim, p.rule.Trim, b.w-k, b.h-k)
	return l
}

// pattern is that of a tree: one way to cut one sheet.
func (p *sheetTask) pattern(bin int, t *tree) *pattern {
	all := t.plates(p, nil)
	slices.Sort(all)
	r := &pattern{bin: bin, tree: t, scrap: -1}
	for _, i := range all {
		if n := len(r.size); n == 0 || r.size[n-1] != i {
			r.size, r.qty = append(r.size, i), append(r.qty, 0)
		}
		r.qty[len(r.qty)-1]++
		r.used += p.plates[i].size.W * p.plates[i].size.H
	}
	return r
}

// limited implements cutter.
func (p *sheetTask) limited(t *pattern, rem []int) *pattern {
	if t.times(rem) > 0 {
		return t
	}
	return p.pattern(t.bin, t.tree.limited(p, slices.Clone(rem)))
}

// scrap implements cutter: the area of one sheet that is neither piece nor worth
// keeping, kerf included, in mm².
func (p *sheetTask) scrap(t *pattern) int64 {
	if t.scrap < 0 {
		b, k := p.bins[t.bin], p.rule.Kerf
		t.scrap = int64(b.w-k)*int64(b.h-k) - int64(t.used)
		if p.rule.KeepOver > 0 {
			t.scrap -= p.realise(t.tree, t.bin).kept
		}
	}
	return t.scrap
}
