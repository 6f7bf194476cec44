package export

import (
	"strings"
	"testing"

	"wraptally/estimate/cut"
)

// The cuts of a sheet free every piece once, the part that is kept before any piece
// of its side; pieces are cut by the shift that needs them, strips of a coil one
// behind the other.
func TestOrderOfCutting(t *testing.T) {
	p := campaignOf(t, storeSurvey(60, true, "L-1"))
	b := newBook(p, Options{}, allOf(p))
	kept, strips := 0, 0
	for i := range p.Cuts {
		cl := &p.Cuts[i]
		if cl.Linear != nil {
			last, end := 0, map[int]int{}
			for _, at := range b.byShift(cl.Linear.Assign(cl.Pieces), cl.Linear.Kerf) {
				if s := b.shiftOf(at.Label); s < last {
					t.Errorf("%s of shift %d is cut after shift %d", at.Label, s, last)
				} else {
					last = s
				}
				if at.Offset != end[at.Coil] {
					t.Errorf("%s begins at %d mm of coil %d, the strip before ends at %d", at.Label, at.Offset, at.Coil, end[at.Coil])
				}
				end[at.Coil] = at.Offset + at.Length + cl.Linear.Kerf
				strips++
			}
			continue
		}
		for n := range cl.Sheets.Layouts {
			lay := &cl.Sheets.Layouts[n]
			freed := map[string]bool{}
			for m, c := range b.cutsOf(lay, "1") {
				if c.number != m+1 {
					t.Errorf("cut %d is numbered %d", m+1, c.number)
				}
				for part := range strings.SplitSeq(c.gives, " and ") {
					if strings.HasPrefix(part, "piece ") {
						if freed[part] {
							t.Errorf("%s is cut free twice", part)
						}
						freed[part] = true
					}
					if strings.HasPrefix(part, "KEEP ") {
						kept++
					}
				}
			}
			if lay.Cuts.Cut != cut.Whole && len(freed) != len(lay.Parts) {
				t.Errorf("%d pieces are cut free of %d", len(freed), len(lay.Parts))
			}
		}
	}
	if kept == 0 || strips == 0 {
		t.Errorf("%d parts kept and %d strips: nothing was looked at", kept, strips)
	}
}
