package estimate

import (
	"errors"
	"fmt"
	"maps"
	"slices"

	"github.com/shopspring/decimal"

	"wraptally/estimate/cut"
	"wraptally/estimate/kit"
	"wraptally/estimate/order"
	"wraptally/estimate/qty"
)

// CutList is the cutting of one banding or one sheet material.
type CutList struct {
	Kind   string   // "band" or "sheet"
	Stock  string   // name of the banding or sheet
	Items  []string // item codes, alongside the stock of the plan
	Lots   []string // lots of the offcuts from store, alongside Items; empty for new stock
	Linear *cut.LinearPlan
	Sheets *cut.SheetPlan
	Pieces []cut.Piece // of a band plan
	Rects  []cut.Rect  // of a sheet plan
	Coils  []cut.Stock
	Plates []cut.Sheet

	made   []kit.Piece           // the first Pieces or Rects; the others are the reserve
	owner  []int                 // alongside made: place of the job each is cut for, or with whose kit a spare goes out
	kits   int                   // of these, the first, that are for kits; the others are spare
	places map[string]PiecePlace // by label
}

// PiecePlace is where a labelled piece comes from.
type PiecePlace struct {
	List   int // index into Cuts
	Coil   int // number of the coil or sheet, from 1
	Number int // of the piece on it, from 1
	Job    int // index into the jobs: whose kit it is cut for, or with whose kit a spare goes out
	Spare  int // crew of whose spare sealing sets it is; 0: of a kit
}

// cutAll plans the cutting of every banding and sheet that kits and spare sealing
// sets need, from others than some suppliers.
func cutAll(plan *Plan, dates Dates, avoid map[string]bool, m *means) ([]CutList, error) {
	pieces, owner := map[string][]kit.Piece{}, map[string][]int{}
	var names []string
	kits := map[string]int{}
	add := func(list []kit.Piece, job int) {
		for _, piece := range list {
			name := piece.Kind + "\x00" + piece.Stock
			if _, ok := pieces[name]; !ok {
				names = append(names, name)
			}
			pieces[name] = append(pieces[name], piece)
			owner[name] = append(owner[name], job)
		}
	}
	for n := range plan.Jobs {
		add(plan.Jobs[n].pieces, n)
	}
	for name, list := range pieces {
		kits[name] = len(list)
	}
	crew := map[string]int{}
	for _, s := range plan.Spares {
		add(s.Pieces, s.With)
		for _, piece := range s.Pieces {
			crew[piece.Label] = s.Crew
		}
	}
	slices.Sort(names)
	var cuts []CutList
	for _, name := range names {
		list := pieces[name]
		cutting := cutSheets
		if list[0].Kind == "band" {
			cutting = cutBands
		}
		cl, err := cutting(list, kits[name], dates, avoid, m)
		if err != nil {
			return nil, err
		}
		cl.made, cl.owner, cl.kits = list, owner[name], kits[name]
		cl.places = cl.place(len(cuts), crew)
		cuts = append(cuts, cl)
	}
	return cuts, nil
}

// Reserve labels a piece that no kit has: the allowance for growth of the survey.
const Reserve = "reserve"

// reserve is how many pieces of each of some sizes are cut beside those of the
// kits, so that the survey may grow: n pieces of an item become ceil(n·(1 + growth)),
// the sizes growing alike (largest remainder).
func (m *means) reserve(numbers []int) []int64 {
	all, weights := 0, make([]float64, len(numbers))
	for i, n := range numbers {
		all += n
		weights[i] = float64(n)
	}
	more := qty.Whole(all).Mul(qty.Decimal(m.Settings.Growth)).Shift(-2).Ceil()
	return qty.Share(more.IntPart(), weights)
}

// costs is what any number of a coil or sheet costs to order, up to a number or
// to what the suppliers have; without limit, what it would cost if they had it.
func (m *means) costs(code string, most int, limit bool, dates Dates, avoid map[string]bool) (cut.Curve, error) {
	it, ok := m.Item(code)
	if !ok {
		return nil, fmt.Errorf("item %s is not in the items table", code)
	}
	offers := m.offers(it, m.OffersOf(code))
	for i := range offers {
		offers[i].Elsewhere = avoid[offers[i].Supplier]
		if !limit {
			offers[i].MaxPacks = 0
		}
	}
	return order.Costs(m.orderNeed(it, decimal.Zero, true), offers, m.lotsOf(code), m.orderRule(dates), most)
}

func cutBands(list []kit.Piece, kits int, dates Dates, avoid map[string]bool, m *means) (CutList, error) {
	set := &m.Settings
	cl := CutList{Kind: "band", Stock: list[0].Stock}
	at := map[int]int{} // by length
	var numbers []int
	total := 0
	for i, piece := range list {
		if _, ok := at[piece.A]; !ok {
			at[piece.A] = len(numbers)
			numbers = append(numbers, 0)
		}
		if i < kits {
			numbers[at[piece.A]]++
		}
		total += piece.A + int(set.CutKerf)
		cl.Pieces = append(cl.Pieces, cut.Piece{Length: piece.A, Count: 1, Label: piece.Label})
	}
	more := m.reserve(numbers)
	for _, l := range slices.Sorted(maps.Keys(at)) {
		cl.Pieces = append(cl.Pieces, cut.Piece{Length: l, Count: int(more[at[l]]), Label: Reserve})
		total += (l + int(set.CutKerf)) * int(more[at[l]])
	}
	rule := cut.LinearRule{Kerf: int(set.CutKerf), Trim: int(set.CutTrim), KeepOver: int(set.CutKeep), OffcutsFirst: true, Budget: int64(set.CutBudget)}
	plan := func(limit bool) (p cut.LinearPlan, err error) {
		cl.Items, cl.Lots, cl.Coils = nil, nil, nil
		for i := range m.Bands {
			b := &m.Bands[i]
			if b.Band != cl.Stock || slices.Contains(cl.Items, b.Item) {
				continue
			}
			s := cut.Stock{Length: int(b.CoilLength), Count: cut.Unlimited, Name: b.Item}
			// Coils filled one after the other are, but for the last, more than half full.
			if room := s.Length - rule.Trim; room > 0 {
				if s.Costs, err = m.costs(b.Item, 2*total/room+2, limit, dates, avoid); err != nil {
					return p, err
				}
			}
			cl.Items, cl.Lots, cl.Coils = append(cl.Items, b.Item), append(cl.Lots, ""), append(cl.Coils, s)
		}
		fresh := cl.Items
		for _, l := range m.store {
			if n := int(l.Quantity.IntPart()); n > 0 && l.Length > 0 && slices.Contains(fresh, l.Item) {
				cl.Items, cl.Lots = append(cl.Items, l.Item), append(cl.Lots, l.ID)
				cl.Coils = append(cl.Coils, cut.Stock{Length: l.Length, Count: n, Name: l.ID, Offcut: true})
			}
		}
		p, err = cut.Linear(cl.Pieces, cl.Coils, rule)
		if err == nil {
			err = cut.CheckLinear(cl.Pieces, cl.Coils, rule, p) // nobody cuts by a plan that was not replayed
		}
		return p, err
	}
	p, err := orMore(plan)
	cl.Linear = &p
	return cl, err
}

// orMore plans with what the suppliers have and, where that is too little, as if
// they had more; what is short is asked when it is ordered.
func orMore[P any](plan func(limit bool) (P, error)) (P, error) {
	p, err := plan(true)
	var few *cut.NotEnoughError
	var long *cut.TooLongError
	var large *cut.TooLargeError
	if errors.As(err, &few) || errors.As(err, &long) || errors.As(err, &large) {
		return plan(false)
	}
	return p, err
}

func cutSheets(list []kit.Piece, kits int, dates Dates, avoid map[string]bool, m *means) (CutList, error) {
	set := &m.Settings
	cl := CutList{Kind: "sheet", Stock: list[0].Stock}
	at := map[[2]int]int{} // by size
	var sizes [][2]int
	var numbers []int
	area, all := 0, len(list)
	for i, piece := range list {
		size := [2]int{piece.A, piece.C}
		if _, ok := at[size]; !ok {
			at[size] = len(sizes)
			sizes, numbers = append(sizes, size), append(numbers, 0)
		}
		if i < kits {
			numbers[at[size]]++
		}
		area += (piece.A + int(set.SheetKerf)) * (piece.C + int(set.SheetKerf))
		cl.Rects = append(cl.Rects, cut.Rect{W: piece.A, H: piece.C, Count: 1, Label: piece.Label})
	}
	rule := cut.SheetRule{Kerf: int(set.SheetKerf), Trim: int(set.SheetTrim), Rotate: set.SheetTurn == "yes", KeepOver: int(set.SheetKeep), Budget: int64(set.CutBudget)}
	for i, n := range m.reserve(numbers) {
		w, h, count := sizes[i][0], sizes[i][1], int(n)
		cl.Rects = append(cl.Rects, cut.Rect{W: w, H: h, Count: count, Label: Reserve})
		area += (w + rule.Kerf) * (h + rule.Kerf) * count
		all += count
	}
	plan := func(limit bool) (p cut.SheetPlan, err error) {
		cl.Items, cl.Lots, cl.Plates = nil, nil, nil
		for i := range m.Sheets {
			b := &m.Sheets[i]
			if b.Sheet != cl.Stock || slices.Contains(cl.Items, b.Item) {
				continue
			}
			s := cut.Sheet{W: int(b.Width), H: int(b.Length), Count: cut.Unlimited, Name: b.Item}
			// Sheets a quarter full, or one for each piece, are enough.
			if room := (s.W - 2*rule.Trim) * (s.H - 2*rule.Trim); room > 0 {
				if s.Costs, err = m.costs(b.Item, min(all, 4*area/room+4), limit, dates, avoid); err != nil {
					return p, err
				}
			}
			cl.Items, cl.Lots, cl.Plates = append(cl.Items, b.Item), append(cl.Lots, ""), append(cl.Plates, s)
		}
		fresh := cl.Items
		for _, l := range m.store {
			if n := int(l.Quantity.IntPart()); n > 0 && l.Length > 0 && l.Width > 0 && slices.Contains(fresh, l.Item) {
				cl.Items, cl.Lots = append(cl.Items, l.Item), append(cl.Lots, l.ID)
				cl.Plates = append(cl.Plates, cut.Sheet{W: l.Width, H: l.Length, Count: n, Name: l.ID, Offcut: true})
			}
		}
		p, err = cut.Sheets(cl.Rects, cl.Plates, rule)
		if err == nil {
			err = cut.CheckSheets(cl.Rects, cl.Plates, rule, p)
		}
		return p, err
	}
	p, err := orMore(plan)
	cl.Sheets = &p
	return cl, err
}

// place says for each label where its piece comes from, in the list of that
// number; those of spare sealing sets are labelled with the number of a crew.
func (cl *CutList) place(list int, crew map[string]int) map[string]PiecePlace {
	out := make(map[string]PiecePlace, len(cl.owner))
	for i, job := range cl.owner {
		label := cl.made[i].Label
		out[label] = PiecePlace{List: list, Job: job, Spare: crew[label]}
	}
	cutFrom := func(label string, coil, number int) {
		at, ok := out[label]
		if !ok {
			return // the reserve
		}
		at.Coil, at.Number = coil, number
		out[label] = at
	}
	if cl.Linear != nil {
		for _, at := range cl.Linear.Assign(cl.Pieces) {
			cutFrom(at.Label, at.Coil, at.Position)
		}
		return out
	}
	for _, at := range cl.Sheets.Assign(cl.Rects) {
		cutFrom(at.Label, at.Sheet, at.Position)
	}
	return out
}

// sizes is what is cut for each of n kits: mm of a band, mm² of a sheet. What is
// spare is for all of them.
func (cl *CutList) sizes(n int) (each []float64, total float64) {
	each = make([]float64, n)
	for i, at := range cl.owner[:cl.kits] {
		size := float64(cl.made[i].A)
		if cl.Sheets != nil {
			size *= float64(cl.made[i].C)
		}
		each[at] += size
		total += size
	}
	return each, total
}
