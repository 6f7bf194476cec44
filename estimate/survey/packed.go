package survey

import (
	"cmp"
	"encoding/binary"
	"iter"
	"math"
	"slices"
	"time"
)

// packed are the records of a survey too large to hold them as they are, in the
// order of the file: what a row does not say takes no room, and a text that rows
// share is held once.
type packed struct {
	places
	blocks [][]byte
	at     []uint64 // of each row: its block and its place there
	texts  []string
	textAt map[string]uint64
	row    []byte // the one being packed
}

// blockBits is how many bits tell a place in a block of rows.
const blockBits = 20

// Where a packed row has its tag from.
const (
	noTag byte = iota
	tagIsID
	ownTag
)

// What a packed row says besides its fields.
const (
	packedHole byte = 1 << iota
	packedDepth
	packedPercent
)

// add packs a record.
func (p *packed) add(d *Defect) {
	p.places.add(d)
	var said uint64
	row := append(p.row[:0], make([]byte, 8)...) // of the fields said
	for i := range fieldTable {
		f := &fieldTable[i]
		if f.at == nil {
			continue
		}
		was := len(row)
		switch at := f.at(d).(type) {
		case *Num:
			if at.OK {
				row = binary.LittleEndian.AppendUint64(row, math.Float64bits(at.V))
			}
		case *string:
			switch {
			case *at == "":
			case fieldID(i) == fID || fieldID(i) == fNote: // hardly shared
				row = append(binary.AppendUvarint(row, uint64(len(*at))), *at...)
			default:
				row = p.share(row, *at)
			}
		case *Tri:
			if *at != Unknown {
				row = append(row, byte(*at))
			}
		case *time.Time:
			if !at.IsZero() {
				row = binary.AppendVarint(row, at.Unix())
			}
		}
		if len(row) > was {
			said |= 1 << i
		}
	}
	binary.LittleEndian.PutUint64(row, said)
	switch d.Tag {
	case "":
		row = append(row, noTag)
	case d.ID:
		row = append(row, tagIsID)
	default:
		row = p.share(append(row, ownTag), d.Tag)
	}
	row = binary.AppendUvarint(row, uint64(d.Line0))
	row = p.share(row, d.ODFrom)
	row = append(row, 0)
	if d.Hole {
		row[len(row)-1] = packedHole
	}
	if d.Depth.OK {
		row[len(row)-1] |= packedDepth
		if d.Depth.Percent {
			row[len(row)-1] |= packedPercent
		}
		row = binary.LittleEndian.AppendUint64(row, math.Float64bits(d.Depth.V))
	}
	row = binary.AppendUvarint(row, uint64(len(d.Leans)))
	for _, code := range d.Leans {
		row = p.share(row, code)
	}
	p.row = row
	last := len(p.blocks) - 1
	if last < 0 || len(p.blocks[last])+len(row) > cap(p.blocks[last]) {
		p.blocks = append(p.blocks, make([]byte, 0, max(1<<blockBits, len(row))))
		last++
	}
	p.at = append(p.at, uint64(last)<<blockBits|uint64(len(p.blocks[last])))
	p.blocks[last] = append(p.blocks[last], row...)
}

// share packs a text that other rows have too.
func (p *packed) share(row []byte, text string) []byte {
	n, known := p.textAt[text]
	if !known {
		if p.textAt == nil {
			p.textAt = make(map[string]uint64)
		}
		n = uint64(len(p.texts))
		p.texts = append(p.texts, text)
		p.textAt[text] = n
	}
	return binary.AppendUvarint(row, n)
}

// unpack gives the i-th record.
func (p *packed) unpack(i int, d *Defect) {
	row := p.blocks[p.at[i]>>blockBits][p.at[i]&(1<<blockBits-1):]
	number := func() uint64 {
		v, n := binary.Uvarint(row)
		row = row[n:]
		return v
	}
	*d = Defect{}
	said := binary.LittleEndian.Uint64(row)
	row = row[8:]
	for i := range fieldTable {
		if said&(1<<i) == 0 {
			continue
		}
		switch at := fieldTable[i].at(d).(type) {
		case *Num:
			*at = Known(math.Float64frombits(binary.LittleEndian.Uint64(row)))
			row = row[8:]
		case *string:
			if fieldID(i) == fID || fieldID(i) == fNote {
				n := number()
				*at, row = string(row[:n]), row[n:]
			} else {
				*at = p.texts[number()]
			}
		case *Tri:
			*at, row = Tri(row[0]), row[1:]
		case *time.Time:
			v, n := binary.Varint(row)
			*at, row = time.Unix(v, 0).UTC(), row[n:]
		}
	}
	tag := row[0]
	row = row[1:]
	switch tag {
	case tagIsID:
		d.Tag = d.ID
	case ownTag:
		d.Tag = p.texts[number()]
	}
	d.Line0 = int(number())
	d.ODFrom = p.texts[number()]
	has := row[0]
	d.Hole, row = has&packedHole != 0, row[1:]
	if has&packedDepth != 0 {
		d.Depth = Depth{Known(math.Float64frombits(binary.LittleEndian.Uint64(row))), has&packedPercent != 0}
		row = row[8:]
	}
	for range number() {
		d.Leans = append(d.Leans, p.texts[number()])
	}
}

// places are the lines that rows lie on, each of an area.
type places struct {
	of    []int32 // of each row
	where []spot  // of each row
	names []place
	known map[place]int32
}

type place struct{ area, line string }

type spot struct{ chainage, od float64 }

func (p *places) add(d *Defect) {
	at := place{d.Area, d.Line}
	n, known := int32(0), false
	if last := len(p.of) - 1; last >= 0 && p.names[p.of[last]] == at {
		n, known = p.of[last], true
	} else {
		n, known = p.known[at]
	}
	if !known {
		if p.known == nil {
			p.known = make(map[place]int32)
		}
		n = int32(len(p.names))
		p.names = append(p.names, at)
		p.known[at] = n
	}
	p.of, p.where = append(p.of, n), append(p.where, spot{d.Chainage.V, d.OD.V})
}

// rows are the numbers of the rows of each place, by area and line, in the order of
// chainage and, at one chainage, of the file.
func (p *places) rows() [][]int32 {
	count := make([]int, len(p.names))
	for _, at := range p.of {
		count[at]++
	}
	order := make([]int32, len(p.names))
	for i := range order {
		order[i] = int32(i)
	}
	slices.SortFunc(order, func(i, j int32) int {
		return cmp.Or(cmp.Compare(p.names[i].area, p.names[j].area), cmp.Compare(p.names[i].line, p.names[j].line))
	})
	all := make([]int32, 0, len(p.of))
	of := make([][]int32, len(p.names))
	for _, at := range order {
		first := len(all)
		of[at] = all[first : first : first+count[at]]
		all = all[:first+count[at]]
	}
	for i, at := range p.of {
		of[at] = append(of[at], int32(i))
	}
	out := make([][]int32, len(order))
	for i, at := range order {
		out[i] = of[at]
		slices.SortStableFunc(out[i], func(a, b int32) int { return cmp.Compare(p.where[a].chainage, p.where[b].chainage) })
	}
	return out
}

// Kept is how many defects there are.
func (s *Result) Kept() int {
	if s.packed != nil {
		return len(s.packed.at)
	}
	return len(s.Defects)
}

// Line is the rows of one line of an area, in the order of chainage and, at one
// chainage, of the file. It is only read.
type Line struct {
	of   *Result
	at   *places
	rows []int32
}

// Len is how many rows there are.
func (l Line) Len() int { return len(l.rows) }

// At is where the i-th row lies and the diameter there, mm.
func (l Line) At(i int) (chainage, od float64) {
	s := l.at.where[l.rows[i]]
	return s.chainage, s.od
}

// Read gives the defects of the rows from one up to another, the latter not
// included. Those of a packed survey are made anew each time.
func (l Line) Read(from, to int) []*Defect {
	out := make([]*Defect, to-from)
	if l.of.packed == nil {
		for i, row := range l.rows[from:to] {
			out[i] = &l.of.Defects[row]
		}
		return out
	}
	room := make([]Defect, len(out))
	for i, row := range l.rows[from:to] {
		out[i] = &room[i]
		l.of.packed.unpack(int(row), out[i])
	}
	return out
}

// Parts yields all defects, so few at a time that they take no room.
func (l Line) Parts() iter.Seq[[]*Defect] {
	return func(yield func([]*Defect) bool) {
		const few = 1000
		for at := 0; at < l.Len(); at += few {
			if !yield(l.Read(at, min(l.Len(), at+few))) {
				return
			}
		}
	}
}

// Parts yields all defects, those of one line after those of the other.
func (s *Result) Parts() iter.Seq[[]*Defect] {
	return func(yield func([]*Defect) bool) {
		for l := range s.Lines() {
			for ds := range l.Parts() {
				if !yield(ds) {
					return
				}
			}
		}
	}
}

// Lines yields the lines of each area, by area and line.
func (s *Result) Lines() iter.Seq[Line] {
	return func(yield func(Line) bool) {
		p := &places{}
		if s.packed != nil {
			p = &s.packed.places
		} else {
			for i := range s.Defects {
				p.add(&s.Defects[i])
			}
		}
		for _, rows := range p.rows() {
			if !yield(Line{s, p, rows}) {
				return
			}
		}
	}
}
