package estimate

import (
	"slices"

	"github.com/shopspring/decimal"

	"wraptally/estimate/cut"
	"wraptally/estimate/kit"
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

	owner  []int                 // alongside Pieces or Rects: place of the job it is cut for
	places map[string]PiecePlace // by label
}

// PiecePlace is where a labelled piece comes from.
type PiecePlace struct {
	List   int // index into Cuts
	Coil   int // number of the coil or sheet, from 1
	Number int // of the piece on it, from 1
	Job    int // index into the jobs: whose kit it is cut for
}

// cutAll plans the cutting of every banding and sheet the kits need.
func cutAll(jobs []Job, m *means) ([]CutList, error) {
	pieces, owner := map[string][]kit.Piece{}, map[string][]int{}
	var names []string
	for n := range jobs {
		for _, piece := range jobs[n].pieces {
			name := piece.Kind + "\x00" + piece.Stock
			if _, ok := pieces[name]; !ok {
				names = append(names, name)
			}
			pieces[name] = append(pieces[name], piece)
			owner[name] = append(owner[name], n)
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
		cl, err := cutting(list, m)
		if err != nil {
			return nil, err
		}
		cl.owner = owner[name]
		cl.places = cl.place(len(cuts))
		cuts = append(cuts, cl)
	}
	return cuts, nil
}

func cutBands(list []kit.Piece, m *means) (CutList, error) {
	set := &m.Settings
	cl := CutList{Kind: "band", Stock: list[0].Stock}
	for _, piece := range list {
		cl.Pieces = append(cl.Pieces, cut.Piece{Length: piece.A, Count: 1, Label: piece.Label})
	}
	for i := range m.Bands {
		if b := &m.Bands[i]; b.Band == cl.Stock && !slices.Contains(cl.Items, b.Item) {
			cl.Items, cl.Lots = append(cl.Items, b.Item), append(cl.Lots, "")
			cl.Coils = append(cl.Coils, cut.Stock{Length: int(b.CoilLength), Count: cut.Unlimited, Cost: m.Price(b.Item), Name: b.Item})
		}
	}
	fresh := cl.Items
	for _, l := range m.store {
		if n := int(l.Quantity.IntPart()); n > 0 && l.Length > 0 && slices.Contains(fresh, l.Item) {
			cl.Items, cl.Lots = append(cl.Items, l.Item), append(cl.Lots, l.ID)
			cl.Coils = append(cl.Coils, cut.Stock{Length: l.Length, Count: n, Name: l.ID, Offcut: true})
		}
	}
	rule := cut.LinearRule{Kerf: int(set.CutKerf), Trim: int(set.CutTrim), KeepOver: int(set.CutKeep), OffcutsFirst: true, Budget: int64(set.CutBudget)}
	plan, err := cut.Linear(cl.Pieces, cl.Coils, rule)
	if err == nil {
		err = cut.CheckLinear(cl.Pieces, cl.Coils, rule, plan) // nobody cuts by a plan that was not replayed
	}
	cl.Linear = &plan
	return cl, err
}

func cutSheets(list []kit.Piece, m *means) (CutList, error) {
	set := &m.Settings
	cl := CutList{Kind: "sheet", Stock: list[0].Stock}
	for _, piece := range list {
		cl.Rects = append(cl.Rects, cut.Rect{W: piece.A, H: piece.C, Count: 1, Label: piece.Label})
	}
	for i := range m.Sheets {
		if s := &m.Sheets[i]; s.Sheet == cl.Stock && !slices.Contains(cl.Items, s.Item) {
			cl.Items, cl.Lots = append(cl.Items, s.Item), append(cl.Lots, "")
			cl.Plates = append(cl.Plates, cut.Sheet{W: int(s.Width), H: int(s.Length), Count: cut.Unlimited, Cost: m.Price(s.Item), Name: s.Item})
		}
	}
	fresh := cl.Items
	for _, l := range m.store {
		if n := int(l.Quantity.IntPart()); n > 0 && l.Length > 0 && l.Width > 0 && slices.Contains(fresh, l.Item) {
			cl.Items, cl.Lots = append(cl.Items, l.Item), append(cl.Lots, l.ID)
			// A cent, so that it is used before anything bought.
			cl.Plates = append(cl.Plates, cut.Sheet{W: l.Width, H: l.Length, Count: n, Cost: decimal.New(1, -2), Name: l.ID})
		}
	}
	rule := cut.SheetRule{Kerf: int(set.SheetKerf), Trim: int(set.SheetTrim), Rotate: set.SheetTurn == "yes", KeepOver: int(set.SheetKeep), Budget: int64(set.CutBudget)}
	plan, err := cut.Sheets(cl.Rects, cl.Plates, rule)
	if err == nil {
		err = cut.CheckSheets(cl.Rects, cl.Plates, rule, plan)
	}
	cl.Sheets = &plan
	return cl, err
}

// place says for each label where its piece comes from, in the list of that
// number.
func (cl *CutList) place(list int) map[string]PiecePlace {
	out := make(map[string]PiecePlace, len(cl.owner))
	for i, job := range cl.owner {
		if cl.Linear != nil {
			out[cl.Pieces[i].Label] = PiecePlace{List: list, Job: job}
		} else {
			out[cl.Rects[i].Label] = PiecePlace{List: list, Job: job}
		}
	}
	cutFrom := func(label string, coil, number int) {
		at := out[label]
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

// sizes is what is cut for each of n kits: mm of a band, mm² of a sheet.
func (cl *CutList) sizes(n int) (each []float64, total float64) {
	each = make([]float64, n)
	for i, at := range cl.owner {
		size := 0.0
		if cl.Linear != nil {
			size = float64(cl.Pieces[i].Length)
		} else {
			size = float64(cl.Rects[i].W) * float64(cl.Rects[i].H)
		}
		each[at] += size
		total += size
	}
	return each, total
}
