package draw

import (
	"cmp"
	"fmt"
	"image"
	"math"
	"slices"
)

// Shape tells kinds of mark apart without colour.
type Shape uint8

// The shapes.
const (
	Disc Shape = iota
	Ring
	Triangle
	Cross
	shapes
)

// A Mark is something at a place along a line. A mark with a Length is also
// drawn as a thick stretch of the line, the place at its middle.
type Mark struct {
	At, Length float64
	Label      string
	Shape      Shape
}

// A Strip is the stretch of a line that its marks take.
type Strip struct {
	Marks []Mark
	// Legend says what each shape in use means.
	Legend map[Shape]string
}

const (
	mostLevels = 8   // labels above each other before the strip is broken
	mostRows   = 6   // rows a strip is broken into, so that it fits on one page
	mostLabels = 400 // labels on a picture; beyond it, neighbours share one
	markMM     = 2.2
	leastSpan  = 10.0 // of a strip, in units of its scale
)

// StripMap draws a line with its marks, widthMM wide on paper. Labels never
// overlap: they climb above each other, then the line is broken into rows, and
// at last neighbouring marks share a label that gives the first, the last and
// how many they are.
func StripMap(s Strip, widthMM float64, scale Scale) (Picture, error) {
	marks, err := orderedMarks(s)
	if err != nil {
		return Picture{}, fmt.Errorf("draw: strip: %w", err)
	}
	from, to := reach(marks)
	if least := leastSpan * scale.Per; to-from < least {
		middle := (from + to) / 2
		from, to = middle-least/2, middle+least/2
	}
	left, room := dots(4), dots(widthMM)-dots(8)
	if room < dots(30) {
		return Picture{}, fmt.Errorf("draw: %v mm is too narrow for a strip map", widthMM)
	}
	rows, room := fitStrip(marks, from, to, room)

	height := boldType.leading() + dots(2)
	for i := range rows {
		rows[i].top = height
		height += rows[i].height()
	}
	height += dots(keyMM)
	c, err := newCanvas(widthMM, float64(height)/dotsPerMM)
	if err != nil {
		return Picture{}, err
	}
	for i := range rows {
		c.stripRow(&rows[i], left, room, scale)
	}
	c.legend(left, height, marks, s.Legend)
	return c.picture()
}

func orderedMarks(s Strip) ([]Mark, error) {
	marks := slices.Clone(s.Marks)
	for _, m := range marks {
		if math.IsNaN(m.At) || math.IsInf(m.At, 0) || !(m.Length >= 0) || m.Shape >= shapes {
			return nil, fmt.Errorf("mark %q at %v, length %v, shape %d", m.Label, m.At, m.Length, m.Shape)
		}
	}
	slices.SortStableFunc(marks, func(a, b Mark) int {
		return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(a.Label, b.Label), cmp.Compare(a.Shape, b.Shape), cmp.Compare(a.Length, b.Length))
	})
	return marks, nil
}

func reach(marks []Mark) (from, to float64) {
	if len(marks) == 0 {
		return 0, 0
	}
	from, to = marks[0].At, marks[0].At
	for _, m := range marks {
		from, to = math.Min(from, m.At-m.Length/2), math.Max(to, m.At+m.Length/2)
	}
	air := (to - from) * 0.02
	return from - air, to + air
}

// stripRow is one row of a strip map.
type stripRow struct {
	from, to float64
	marks    []Mark
	tags     []tag
	levels   int
	top      int
}

// tag is a label on its staff.
type tag struct {
	x     int // of the staff
	width int
	level int // 1 is the lowest
	text  string
}

func (r *stripRow) height() int {
	return r.levels*labelType.leading() + dots(markMM+4+5.5)
}

// fitStrip lays the strip out so that the labels at its right end, which stand at
// the right of their staffs, stay on the paper: the line is drawn shorter as
// needed, to two thirds at least, and what still would not fit is cut.
func fitStrip(marks []Mark, from, to float64, whole int) (rows []stripRow, room int) {
	room = whole
	for {
		rows = layStrip(marks, from, to, room)
		over := 0
		for _, r := range rows {
			for _, t := range r.tags {
				over = max(over, t.x+t.width-whole)
			}
		}
		if over <= 0 {
			return rows, room
		}
		if room <= whole*2/3 {
			break
		}
		room = max(room-over, whole*2/3)
	}
	for _, r := range rows {
		for i := range r.tags {
			t := &r.tags[i]
			t.text = labelType.shorten(t.text, whole-t.x)
			t.width = labelType.width(t.text)
		}
	}
	return rows, room
}

func layStrip(marks []Mark, from, to float64, room int) []stripRow {
	var rows []stripRow
	for n := 1; ; n++ {
		rows = rows[:0]
		levels := 0
		next := 0
		for i := range n {
			r := stripRow{from: from + (to-from)*float64(i)/float64(n), to: from + (to-from)*float64(i+1)/float64(n)}
			for next < len(marks) && (marks[next].At < r.to || i == n-1) {
				r.marks = append(r.marks, marks[next])
				next++
			}
			r.tags = tagsOf(r, room, max(mostLabels/n, 4))
			r.levels = levelTags(r.tags)
			levels = max(levels, r.levels)
			rows = append(rows, r)
		}
		if levels <= mostLevels {
			return rows
		}
		if n == mostRows {
			break
		}
	}
	// Too crowded for rows alone: neighbours share labels, fewer and fewer.
	for i := range rows {
		for most := len(rows[i].marks); rows[i].levels > mostLevels; most = most * 3 / 4 {
			rows[i].tags = tagsOf(rows[i], room, max(most, 1))
			rows[i].levels = levelTags(rows[i].tags)
		}
	}
	return rows
}

func (r *stripRow) x(v float64, room int) int {
	return int(math.Round((v - r.from) / (r.to - r.from) * float64(room)))
}

// tagsOf makes at most so many labels for the row's marks; marks at one place on
// the paper share one, too.
func tagsOf(r stripRow, room, most int) (tags []tag) {
	var labelled []Mark
	for _, m := range r.marks {
		if m.Label != "" {
			labelled = append(labelled, m)
		}
	}
	if len(labelled) == 0 {
		return nil
	}
	share := (len(labelled) + most - 1) / most
	for len(labelled) > 0 {
		n := min(share, len(labelled))
		x := r.x(labelled[0].At, room)
		for n < len(labelled) && r.x(labelled[n].At, room) == x {
			n++
		}
		text := labelled[0].Label
		switch {
		case n == 2:
			text += ", " + labelled[1].Label
		case n > 2:
			text = fmt.Sprintf("%s … %s (%d)", text, labelled[n-1].Label, n)
		}
		tags = append(tags, tag{x: x, width: labelType.width(text), text: text})
		labelled = labelled[n:]
	}
	return tags
}

// levelTags gives each label the lowest level on which neither it nor its staff
// meets another, and tells the highest level. Tags go from left to right, and a
// label stands at the right of its staff: so, coming from the right, it must be
// above every label whose staff rises through its stretch.
func levelTags(tags []tag) (highest int) {
	const air = 12 // dots between labels
	for i := len(tags) - 1; i >= 0; i-- {
		t := &tags[i]
		t.level = 1
		for _, o := range tags[i+1:] {
			if o.x > t.x+t.width+air {
				break
			}
			t.level = max(t.level, o.level+1)
		}
		highest = max(highest, t.level)
	}
	return highest
}

func (c *canvas) stripRow(r *stripRow, left, room int, scale Scale) {
	axis := r.top + r.levels*labelType.leading() + dots(markMM+2)
	foot := axis - dots(markMM) // where staffs end, above the marks
	for _, t := range r.tags {
		y := foot - (t.level-1)*labelType.leading() - dots(0.8)
		c.line(left+t.x, foot, left+t.x, y-labelType.height(), 1)
		c.text(left+t.x+4, y, labelType, t.text)
	}
	c.line(left, axis, left+room, axis, 3)
	for _, m := range r.marks {
		if m.Length > 0 {
			a, b := r.x(math.Max(m.At-m.Length/2, r.from), room), r.x(math.Min(m.At+m.Length/2, r.to), room)
			c.fill(image.Rect(left+a, axis-4, left+max(b, a+2), axis+5), 0)
		}
	}
	for _, m := range r.marks {
		c.mark(left+r.x(m.At, room), axis, m.Shape)
	}
	c.chainage(r, left, axis, room, scale)
}

// chainage writes round places below the line.
func (c *canvas) chainage(r *stripRow, left, axis, room int, scale Scale) {
	for at, text := range scale.round(r.from, r.to, room/dots(22)) {
		x := left + r.x(at, room)
		c.line(x, axis+dots(1.4), x, axis+dots(2.6), 2)
		text += " " + scale.Unit
		w := smallType.width(text)
		c.text(min(max(x-w/2, 0), c.w-w), axis+dots(3)+smallType.height(), smallType, text)
	}
}

// mark draws a shape around a point, on a white ground.
func (c *canvas) mark(x, y int, s Shape) {
	radius := dots(markMM) / 2
	for dy := -radius - 2; dy <= radius+2; dy++ {
		for dx := -radius - 2; dx <= radius+2; dx++ {
			switch d := s.distance(dx, dy, radius); {
			case d > 2: // outside
			case d > 0:
				c.dot(x+dx, y+dy, 255)
			case d > -3 || s.solid():
				c.dot(x+dx, y+dy, 0)
			default:
				c.dot(x+dx, y+dy, 255)
			}
		}
	}
}

func (s Shape) solid() bool { return s == Disc || s == Cross }

// distance is how far a point lies outside the shape of the given radius, in
// dots; negative inside.
func (s Shape) distance(x, y, radius int) int {
	fx, fy, r := float64(x), float64(y), float64(radius)
	var d float64
	switch s {
	case Triangle: // point up
		d = math.Max(fy-r*0.75, (2*math.Abs(fx)-fy-r*1.05)/math.Sqrt(5))
	case Cross:
		a, b := math.Abs(fx+fy)/math.Sqrt2, math.Abs(fx-fy)/math.Sqrt2
		d = math.Max(math.Min(a, b)-r*0.28, math.Max(a, b)-r*1.15)
	default:
		d = math.Hypot(fx, fy) - r
	}
	return int(math.Ceil(d))
}

// legend explains the shapes in use, along the foot of the picture.
func (c *canvas) legend(x, foot int, marks []Mark, meaning map[Shape]string) {
	var symbols []symbol
	for s := range shapes {
		if meaning[s] != "" && slices.ContainsFunc(marks, func(m Mark) bool { return m.Shape == s }) {
			symbols = append(symbols, symbol{dots(markMM), func(x, y int) { c.mark(x+dots(markMM)/2, y, s) }, meaning[s]})
		}
	}
	c.explain(x, foot, symbols)
}
