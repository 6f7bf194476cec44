package export

import (
	"math"

	"wraptally/export/table"
)

// This file lays rows out on paper: cells over several columns, blocks beside each
// other, pages that are filled.

// laid is a cell laid over the columns from first to last of a row.
type laid struct {
	first, last int
	cell        table.Cell
}

// over lays a cell over columns.
func over(first, last int, cell table.Cell) laid { return laid{first, last, cell} }

// rowOf is a row so many columns wide with the spans laid out in it. Cells under
// a span wear its style, so that rules run through.
func rowOf(columns int, spans ...laid) table.Row {
	row := table.Row{Cells: make([]table.Cell, columns)}
	for _, s := range spans {
		row.Cells[s.first-1] = s.cell
		for c := s.first + 1; c <= s.last; c++ {
			row.Cells[c-1] = table.Empty(s.cell.Style)
		}
		if s.last > s.first {
			row.Merge = append(row.Merge, table.Span{First: s.first, Last: s.last})
		}
	}
	return row
}

// block is a part of a page that stands beside another: its rows as spans.
type block [][]laid

// add puts a row at the end.
func (k *block) add(spans ...laid) { *k = append(*k, spans) }

// beside lays blocks side by side.
func beside(columns int, blocks ...block) []table.Row {
	n := 0
	for _, k := range blocks {
		n = max(n, len(k))
	}
	rows := make([]table.Row, n)
	for i := range rows {
		var spans []laid
		for _, k := range blocks {
			if i < len(k) {
				spans = append(spans, k[i]...)
			}
		}
		rows[i] = rowOf(columns, spans...)
	}
	return rows
}

// pager yields rows and knows how full the printed page is: a part that does
// not fit goes on a new page under a repeated heading.
type pager struct {
	columns  []table.Column
	capacity float64 // points of height on one page, at the scale it is printed in
	yield    func(table.Row) bool
	heading  func() table.Row // repeated where a page runs over; nil for none

	next    int // number of the next row
	used    float64
	fresh   bool // the next row begins a page
	breaks  int
	stopped bool
}

// paged is a sheet whose pages are filled as it is written.
func paged(s *table.Sheet, fill func(pg *pager) error) *table.Sheet {
	var failed error
	s.Failed = func() error { return failed }
	s.Rows = func(yield func(table.Row) bool) { failed = fill(newPager(s.Columns, s.Page, yield)) }
	return s
}

// newPager fills pages of a sheet whose width fits the paper.
func newPager(columns []table.Column, page table.Page, yield func(table.Row) bool) *pager {
	_, tall := page.PrintableMM()
	scale := page.Scale(columns)
	const safety = 0.97 // programs and printers round row heights
	return &pager{columns: columns, capacity: tall / mmPerInch * 72 / scale * safety, yield: yield, next: 1}
}

// page begins a new page, unless nothing stands on this one.
func (p *pager) page() {
	if p.used > 0 {
		p.fresh, p.used = true, 0
	}
}

// room begins a new page with the heading repeated unless so many points of
// height are left.
func (p *pager) room(points float64) {
	if p.used == 0 || p.used+points <= p.capacity {
		return
	}
	p.page()
	if p.heading != nil {
		p.put(p.heading())
	}
}

// add puts a row, which is made when its number is known.
func (p *pager) add(make func(row int) table.Row) {
	row := make(p.next)
	h := p.height(&row)
	if p.used > 0 && p.used+h > p.capacity {
		p.room(h)
		row = make(p.next)
	}
	p.put(row)
}

// rows puts rows that need no number.
func (p *pager) rows(rows ...table.Row) {
	for _, r := range rows {
		p.add(func(int) table.Row { return r })
	}
}

// together puts rows that are not parted, where a page can hold them.
func (p *pager) together(rows ...table.Row) {
	p.room(math.Min(p.heightOf(rows), p.capacity))
	p.rows(rows...)
}

func (p *pager) put(row table.Row) {
	if p.stopped {
		return
	}
	if p.fresh && p.breaks < table.MaxBreaks {
		p.breaks++
		row.Break = true
	}
	p.fresh = false
	p.used += p.height(&row)
	p.next++
	p.stopped = !p.yield(row)
}

// height measures a row and writes the height into it, so that it is measured
// once.
func (p *pager) height(row *table.Row) float64 {
	if row.Height > 0 {
		return row.Height
	}
	h, differs := table.RowHeight(p.columns, row)
	if differs {
		row.Height = h
	}
	return h
}

func (p *pager) heightOf(rows []table.Row) float64 {
	total := 0.0
	for i := range rows {
		total += p.height(&rows[i])
	}
	return total
}

// nowhere takes the rows of a pager that only counts and measures.
func nowhere(table.Row) bool { return true }

// page is what stands on a printed page, laid out before it is known on which row
// it begins: its parts in order, and the heading that is repeated where it runs
// on.
type page struct {
	again table.Row
	parts []stretch

	// Of a kit that is longer than a page the work begins a new one, unless what is
	// before it did: the first of those parts, and the height of all, points.
	work int
	tall float64
}

// stretch puts rows that are laid out where the pager is.
type stretch func(*pager)

// loose rows may be parted by the end of a page, whole ones are not where a page
// can hold them.
func loose(rows []table.Row) stretch { return func(pg *pager) { pg.rows(rows...) } }
func whole(rows []table.Row) stretch { return func(pg *pager) { pg.together(rows...) } }

func (p page) on(pg *pager) {
	pg.heading = func() table.Row { return p.again }
	first := 0 // the page that it begins on
	for i, put := range p.parts {
		if pg.stopped {
			return
		}
		if i == p.work && p.work > 0 && p.tall > pg.capacity && pg.breaks == first {
			pg.room(pg.capacity)
		}
		put(pg)
		if i == 0 {
			first = pg.breaks
		}
	}
	pg.heading = nil
}

// totalWidth is the width of columns in characters.
func totalWidth(columns []table.Column, first, last int) float64 {
	total := 0.0
	for c := first; c <= last; c++ {
		total += columns[c-1].Width
	}
	return total
}
