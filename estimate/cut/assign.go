package cut

import "slices"

// Placed says which coil a demanded piece is cut from.
type Placed struct {
	Coil     int // number of the coil, from 1, in the order of the plan
	Stock    int // index into the stock given
	Pattern  int // index into the plan's patterns
	Position int // place along the coil, from 1
	Offset   int // mm from the trimmed end of the coil to the start of the piece
	Piece    int // index into the pieces given
	Label    string
	Length   int // mm
}

// Assign says for every demanded piece which coil it comes from: coils in the
// order of the plan, pieces longest first along each, pieces of one length
// handed out in the order in which they were demanded. The pieces must be those
// that the plan was made for; what the plan does not hold gets no place.
func (p LinearPlan) Assign(pieces []Piece) []Placed {
	queue := make(map[int][]int) // by length: indices of the pieces wanting it
	left := make([]int, len(pieces))
	for i, pc := range pieces {
		if pc.Count > 0 {
			left[i] = pc.Count
			queue[pc.Length] = append(queue[pc.Length], i)
		}
	}
	out := make([]Placed, 0, p.Pieces)
	coil := 0
	for n, pt := range p.Patterns {
		for range pt.Count {
			coil++
			at, pos := 0, 0
			for _, c := range pt.Cuts {
				q := queue[c.Length]
				for range c.Count {
					pos++
					if len(q) > 0 {
						i := q[0]
						out = append(out, Placed{coil, pt.Stock, n, pos, at, i, pieces[i].Label, c.Length})
						if left[i]--; left[i] == 0 {
							q = q[1:]
						}
					}
					at += c.Length + p.Kerf
				}
				queue[c.Length] = q
			}
		}
	}
	return slices.Clip(out)
}
