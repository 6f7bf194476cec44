package kit

import (
	"maps"
	"slices"
	"strconv"

	"wraptally/catalog"
	"wraptally/estimate/scope"
	"wraptally/estimate/takeoff"
)

// Spare is what a crew has beside its kits so that any one of its leaks can be
// sealed again where an attempt failed: the fewest things out of which each of its
// sealing sets can be made. A strip or a sheet can be cut down, never made longer;
// what is of another banding, sheet, fastener or sealant stands in for nothing.
// Source: common practice, no source.
type Spare struct {
	Pieces []SparePiece
	Items  []SpareItem // sticks and fasteners, in the order of the catalogue
}

// SparePiece is a piece of the spare sealing set, and the repair that asks for its
// size; "" where several do together.
type SparePiece struct {
	Piece
	Asks string
}

// SpareItem is an item of the spare sealing set, and the repair that asks for most.
type SpareItem struct {
	Item *catalog.Item
	Most float64 // of one sealing set, not rounded
	Asks string
}

// Spare is the spare sealing set for some repairs, of which pieces are labelled
// with a name; it is empty where none of them leaks.
func (p *Packer) Spare(name string, repairs []*scope.Repair) (out Spare) {
	strips, sheets := map[string][]SparePiece{}, map[string][]SparePiece{}
	for _, r := range repairs {
		if !r.Leaking {
			continue
		}
		for i, s := range takeoff.Sealing(r, p.c, nil).Seals {
			if s.Sealant == nil || s.Fastener == nil {
				continue // a Stop says why
			}
			// The n-th longest strip is as long as the n-th longest of any set.
			for n := range s.Fasteners() {
				if n == len(strips[s.Band]) {
					strips[s.Band] = append(strips[s.Band], SparePiece{Piece: Piece{Kind: "band", Stock: s.Band}})
				}
				if at := &strips[s.Band][n]; s.Strip > at.A {
					at.A, at.Set, at.Asks = s.Strip, i+1, r.ID
				}
			}
			sheets[s.Sheet] = append(sheets[s.Sheet], SparePiece{Piece{Kind: "sheet", Stock: s.Sheet, Set: i + 1, A: s.SheetA, C: s.SheetC}, r.ID})
			out.most(p, s.Fastener.Item, float64(s.Fasteners()), r.ID)
			out.most(p, s.Sealant.Item, s.Volume/s.Sealant.Volume, r.ID)
		}
	}
	slices.SortFunc(out.Items, func(a, b SpareItem) int { return p.position[a.Item.Code] - p.position[b.Item.Code] })
	number := map[string]int{}
	add := func(letter string, list []SparePiece) {
		for _, piece := range list {
			number[letter]++
			piece.Label = name + "-" + letter + strconv.Itoa(number[letter])
			out.Pieces = append(out.Pieces, piece)
		}
	}
	for _, stock := range slices.Sorted(maps.Keys(strips)) {
		add("B", strips[stock])
	}
	for _, stock := range slices.Sorted(maps.Keys(sheets)) {
		add("P", p.spareSheets(sheets[stock]))
	}
	return out
}

// most keeps the most that one sealing set takes of an item.
func (s *Spare) most(p *Packer, code string, n float64, asks string) {
	it, ok := p.c.Item(code)
	if !ok {
		return
	}
	i := slices.IndexFunc(s.Items, func(x SpareItem) bool { return x.Item == it })
	if i < 0 {
		i = len(s.Items)
		s.Items = append(s.Items, SpareItem{Item: it})
	}
	if n > s.Items[i].Most {
		s.Items[i].Most, s.Items[i].Asks = n, asks
	}
}

// spareSheets are the sheets out of which each of some of one stock can be cut: one
// with the longest sides, where stock is as large as that, else those that lie
// within no other.
func (p *Packer) spareSheets(list []SparePiece) []SparePiece {
	one := list[0]
	for _, s := range list {
		if s.A > one.A || s.C > one.C {
			if s.A < one.A || s.C < one.C {
				s.Asks = ""
			}
			one.A, one.C, one.Asks, one.Set = max(one.A, s.A), max(one.C, s.C), s.Asks, s.Set
		}
	}
	var stock []*catalog.Sheet
	for i := range p.c.Sheets {
		if p.c.Sheets[i].Sheet == one.Stock {
			stock = append(stock, &p.c.Sheets[i])
		}
	}
	if takeoff.CutFrom(stock, float64(one.A), float64(one.C), p.set) {
		return []SparePiece{one}
	}
	var out []SparePiece
	for i, s := range list {
		if !slices.ContainsFunc(list, func(x SparePiece) bool { return x.A >= s.A && x.C >= s.C && (x.A > s.A || x.C > s.C) }) &&
			!slices.ContainsFunc(list[:i], func(x SparePiece) bool { return x.A == s.A && x.C == s.C }) {
			out = append(out, s)
		}
	}
	return out
}
