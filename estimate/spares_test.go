package estimate_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"wraptally/estimate"
	"wraptally/estimate/kit"
)

// A crew with a leak has spares, each set of which can be cut down and drawn to any
// one of its leaks; a crew without has none. More spares lower no need, and none
// gives what there is without.
func TestSpares(t *testing.T) {
	none, one, three := builtin(t, "set.spares=0", "crew.count=3"), builtin(t, "crew.count=3"), builtin(t, "set.spares=3", "crew.count=3")
	rapid.Check(t, func(t *rapid.T) {
		ds := drawn(t, one, 12)
		before, p, more := run(t, ds, none), run(t, ds, one), run(t, ds, three)
		if len(before.Spares) > 0 {
			t.Fatalf("none is asked for, and there are %d", len(before.Spares))
		}
		leaks := map[int]bool{}
		for i := range p.Jobs {
			if j := &p.Jobs[i]; j.Repair.Leaking {
				leaks[j.Crew] = true
				s := p.Spares[slices.IndexFunc(p.Spares, func(s estimate.Spare) bool { return s.Crew == j.Crew })]
				fits(t, &s, p.Kit(j))
			}
		}
		if len(leaks) != len(p.Spares) || len(leaks) != len(more.Spares) {
			t.Fatalf("%d crews seal leaks, %d have spares, %d three of them", len(leaks), len(p.Spares), len(more.Spares))
		}
		for i := range p.Spares {
			if len(more.Spares[i].Pieces) != 3*len(p.Spares[i].Pieces) {
				t.Fatalf("%d pieces are spare, of three sets %d", len(p.Spares[i].Pieces), len(more.Spares[i].Pieces))
			}
			for _, piece := range p.Spares[i].Pieces {
				if at, ok := p.Place(piece.Label); !ok || at.Spare != p.Spares[i].Crew || at.Coil == 0 {
					t.Fatalf("%s is cut from nothing: %+v", piece.Label, at)
				}
			}
		}
		lessen(t, before, p)
		lessen(t, p, more)
	})
}

// fits fails where a set of a kit cannot be made of one spare set.
func fits(t *rapid.T, s *estimate.Spare, k *kit.Kit) {
	for i := range k.Net.Seals {
		seal := &k.Net.Seals[i]
		strips, sheet := 0, false
		for _, piece := range s.Pieces[:len(s.Pieces)/s.Sets] {
			if piece.Kind == "band" && piece.Stock == seal.Band && piece.A >= seal.Strip {
				strips++
			}
			sheet = sheet || piece.Kind == "sheet" && piece.Stock == seal.Sheet && piece.A >= seal.SheetA && piece.C >= seal.SheetC
		}
		fasteners, sticks := s.Of(seal.Fastener.Item)/float64(s.Sets), s.Of(seal.Sealant.Item)/float64(s.Sets)
		if strips < seal.Fasteners() || !sheet || fasteners < float64(seal.Fasteners()) || sticks*seal.Sealant.Volume < seal.Volume-1e-6 {
			t.Fatalf("set %d of %s: %d strips of %d, sheet %v, %v fasteners, %v sticks for %v mm³", i+1, k.Repair.ID, strips, seal.Fasteners(), sheet, fasteners, sticks, seal.Volume)
		}
	}
}

// lessen fails where the second run needs less than the first: of what is not cut
// by the item, of what is by what is cut from each banding and sheet.
func lessen(t *rapid.T, a, b *estimate.Campaign) {
	for _, x := range a.Orders {
		i := slices.IndexFunc(b.Orders, func(y estimate.ItemOrder) bool { return y.Need.Position == x.Need.Position })
		if !x.Need.Cut && (i < 0 || b.Orders[i].Need.Issued < x.Need.Issued) {
			t.Fatalf("less %s is needed with more spares", x.Need.Item.Code)
		}
	}
	for i := range a.Cuts {
		x, y := &a.Cuts[i], &b.Cuts[i]
		if x.Stock != y.Stock || cutOut(x) > cutOut(y) || x.Reserve() != y.Reserve() {
			t.Fatalf("of %s less is cut with more spares", x.Stock)
		}
	}
	if b.Mass != a.Mass || b.Paid != a.Paid {
		t.Fatalf("spares change the kits or the time: %v and %v kg, %v and %v h", a.Mass, b.Mass, a.Paid, b.Paid)
	}
}

func cutOut(cl *estimate.CutList) int64 {
	if cl.Linear != nil {
		return cl.Linear.CutTotal
	}
	return cl.Sheets.CutArea
}
