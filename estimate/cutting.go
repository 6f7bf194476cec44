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
	owner  []int       // alongside Pieces or Rects: place in Counted of the kit it is cut for
	Coils  []cut.Stock
	Plates []cut.Sheet
}

// PiecePlace is where a labelled piece comes from.
type PiecePlace struct {
	List   int // index into Cuts
	Coil   int // number of the coil or sheet, from 1
	Number int // of the piece on it, from 1
}

// Place finds where a labelled piece of a kit is cut from.
func (p *Campaign) Place(label string) (PiecePlace, bool) {
	at, ok := p.places[label]
	return at, ok
}

// cut plans the cutting of every banding and sheet the kits need.
func (p *Campaign) cut() error {
	pieces, owner := map[string][]kit.Piece{}, map[string][]int{}
	var names []string
	for n := range p.Counted {
		for _, piece := range p.packer.Pieces(p.repair(n)) {
			name := piece.Kind + "\x00" + piece.Stock
			if _, ok := pieces[name]; !ok {
				names = append(names, name)
			}
			pieces[name] = append(pieces[name], piece)
			owner[name] = append(owner[name], n)
		}
	}
	slices.Sort(names)
	p.places = map[string]PiecePlace{}
	for _, name := range names {
		list := pieces[name]
		var cl CutList
		var err error
		if list[0].Kind == "band" {
			cl, err = p.cutBands(list)
		} else {
			cl, err = p.cutSheets(list)
		}
		if err != nil {
			return err
		}
		cl.owner = owner[name]
		p.Cuts = append(p.Cuts, cl)
		p.remember(len(p.Cuts) - 1)
	}
	return nil
}

func (p *Campaign) cutBands(list []kit.Piece) (CutList, error) {
	set := &p.Catalog.Settings
	cl := CutList{Kind: "band", Stock: list[0].Stock}
	for _, piece := range list {
		cl.Pieces = append(cl.Pieces, cut.Piece{Length: piece.A, Count: 1, Label: piece.Label})
	}
	for i := range p.Catalog.Bands {
		if b := &p.Catalog.Bands[i]; b.Band == cl.Stock && !slices.Contains(cl.Items, b.Item) {
			cl.Items, cl.Lots = append(cl.Items, b.Item), append(cl.Lots, "")
			cl.Coils = append(cl.Coils, cut.Stock{Length: int(b.CoilLength), Count: cut.Unlimited, Cost: p.packer.Price(b.Item), Name: b.Item})
		}
	}
	fresh := cl.Items
	for _, l := range p.stock {
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

func (p *Campaign) cutSheets(list []kit.Piece) (CutList, error) {
	set := &p.Catalog.Settings
	cl := CutList{Kind: "sheet", Stock: list[0].Stock}
	for _, piece := range list {
		cl.Rects = append(cl.Rects, cut.Rect{W: piece.A, H: piece.C, Count: 1, Label: piece.Label})
	}
	for i := range p.Catalog.Sheets {
		if s := &p.Catalog.Sheets[i]; s.Sheet == cl.Stock && !slices.Contains(cl.Items, s.Item) {
			cl.Items, cl.Lots = append(cl.Items, s.Item), append(cl.Lots, "")
			cl.Plates = append(cl.Plates, cut.Sheet{W: int(s.Width), H: int(s.Length), Count: cut.Unlimited, Cost: p.packer.Price(s.Item), Name: s.Item})
		}
	}
	fresh := cl.Items
	for _, l := range p.stock {
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

// remember notes for each label where its piece comes from.
func (p *Campaign) remember(list int) {
	cl := &p.Cuts[list]
	if cl.Linear != nil {
		for _, at := range cl.Linear.Assign(cl.Pieces) {
			p.places[at.Label] = PiecePlace{list, at.Coil, at.Position}
		}
		return
	}
	for _, at := range cl.Sheets.Assign(cl.Rects) {
		p.places[at.Label] = PiecePlace{list, at.Sheet, at.Position}
	}
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
