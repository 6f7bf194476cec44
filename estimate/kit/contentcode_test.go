package kit_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"wraptally/catalog"
	"wraptally/estimate/kit"
	"wraptally/estimate/scope"
	"wraptally/estimate/takeoff"
	_ "wraptally/estimate/trace/depth"
)

// Each thing that is packed and each thing that a card says changes the code when
// it changes; the name, the line, the chainage, weight, times and what asks for a
// line do not.
func TestCodeOfContents(t *testing.T) {
	c := builtin(t)
	p := kit.NewPacker(c)
	rapid.Check(t, func(t *rapid.T) {
		for _, k := range packed(t, c, 4) {
			code := p.Contents(k)
			// with is the code of a copy in which something is changed.
			with := func(change func(k *kit.Kit)) string {
				like, r, net := *k, *k.Repair, *k.Net
				like.Repair, like.Net = &r, &net
				like.Lines, like.Pieces, like.Sticks, like.Rolls = slices.Clone(k.Lines), slices.Clone(k.Pieces), slices.Clone(k.Sticks), slices.Clone(k.Rolls)
				like.Net.Seals, like.Putty.Batches = slices.Clone(k.Net.Seals), slices.Clone(k.Putty.Batches)
				for i := range like.Putty.Batches {
					like.Putty.Batches[i].Packs = slices.Clone(k.Putty.Batches[i].Packs)
				}
				change(&like)
				return p.Contents(&like)
			}
			for what, change := range same {
				if with(change) != code {
					t.Fatalf("%s: another code by %s", k.Repair.ID, what)
				}
			}
			for what, change := range others(k) {
				if with(change) == code {
					t.Fatalf("%s: the same code whatever %s", k.Repair.ID, what)
				}
			}
		}
	})
}

// same are changes that leave a box as it is.
var same = map[string]func(k *kit.Kit){
	"nothing":     func(*kit.Kit) {},
	"the name":    func(k *kit.Kit) { k.Repair.ID += "-X" },
	"the line":    func(k *kit.Kit) { k.Repair.Line, k.Repair.Area = "elsewhere", "elsewhere" },
	"the place":   func(k *kit.Kit) { move(k, 300) },
	"the times":   func(k *kit.Kit) { k.Minutes++; k.Waiting++ },
	"the labels":  func(k *kit.Kit) { relabel(k.Pieces) },
	"the net":     func(k *kit.Kit) { k.Lines[0].Net += 0.01 },
	"the queries": func(k *kit.Kit) { k.Queries, k.Repair.Queries = nil, nil },
}

// move is the same repair elsewhere along its line, with all that lies in it.
func move(k *kit.Kit, mm float64) {
	r := k.Repair
	r.From, r.To = r.From+mm, r.To+mm
	r.Patches, r.Pits = slices.Clone(r.Patches), slices.Clone(r.Pits)
	for i := range r.Patches {
		r.Patches[i].X += mm
	}
	for i := range k.Net.Seals {
		p := *k.Net.Seals[i].Patch
		p.X += mm
		k.Net.Seals[i].Patch = &p
	}
	for i := range r.Pits {
		d := *r.Pits[i].Defect
		d.Chainage.V += mm
		r.Pits[i].Defect = &d
	}
}

func relabel(pieces []kit.Piece) {
	for i := range pieces {
		pieces[i].Label += "-X"
	}
}

// others are changes of what a kit holds and of what its card says.
func others(k *kit.Kit) map[string]func(k *kit.Kit) {
	out := map[string]func(k *kit.Kit){
		"the layers":    func(k *kit.Kit) { k.Repair.Layers++ },
		"the passes":    func(k *kit.Kit) { k.Repair.Passes++ },
		"the length":    func(k *kit.Kit) { k.Repair.Length += 5 },
		"the diameter":  func(k *kit.Kit) { k.Repair.OD += 0.1 },
		"the surface":   func(k *kit.Kit) { k.Repair.Surface += "x" },
		"the hazard":    func(k *kit.Kit) { k.Repair.Hazardous = !k.Repair.Hazardous },
		"a temperature": func(k *kit.Kit) { k.Repair.SurfaceTemp += 0.5 },
		"the tape":      func(k *kit.Kit) { tape := *k.Tape; tape.Width++; k.Tape = &tape },
		"that it leaks": func(k *kit.Kit) { k.Repair.Leaking = !k.Repair.Leaking },
	}
	for i, l := range k.Lines {
		if l.Item.Issue == catalog.LevelKit && l.Qty > 0 {
			out["the number of "+l.Item.Code] = func(k *kit.Kit) { k.Lines[i].Qty++ }
			out["there is no "+l.Item.Code] = func(k *kit.Kit) { k.Lines = slices.Delete(k.Lines, i, i+1) }
			out["what is called "+l.Item.Code] = func(k *kit.Kit) { it := *k.Lines[i].Item; it.Name += " x"; k.Lines[i].Item = &it }
		}
	}
	if n := len(k.Pieces); n > 0 {
		out["a piece is long"] = func(k *kit.Kit) { k.Pieces[n-1].A++ }
		out["a piece is of"] = func(k *kit.Kit) { k.Pieces[n-1].Stock += "x" }
		out["a piece is there"] = func(k *kit.Kit) { k.Pieces = k.Pieces[:n-1] }
		out["a pad is wide"] = func(k *kit.Kit) { patch := *k.Net.Seals[0].Patch; patch.PadC += 1; k.Net.Seals[0].Patch = &patch }
		out["the bands are many"] = func(k *kit.Kit) { k.Net.Seals[0].Bands++ }
		out["the sets are many"] = func(k *kit.Kit) { k.Net.Seals = append(k.Net.Seals, takeoff.Seal{Patch: &scope.Patch{}}) }
		out["the sticks are many"] = func(k *kit.Kit) { k.Sticks[0].Count++ }
	}
	if n := len(k.Putty.Batches); n > 0 {
		out["a batch weighs"] = func(k *kit.Kit) { k.Putty.Batches[n-1].Mass += 0.001 }
		out["a batch lasts"] = func(k *kit.Kit) { k.Putty.Batches[n-1].Minutes-- }
		out["a pack weighs"] = func(k *kit.Kit) { k.Putty.Batches[n-1].Packs[0].Count++ }
		out["a batch is weighed"] = func(k *kit.Kit) { k.Putty.Batches[n-1].Packs[0].Weighed = !k.Putty.Batches[n-1].Packs[0].Weighed }
	}
	if len(k.Rolls) > 0 {
		out["the rolls are many"] = func(k *kit.Kit) { k.Rolls[0].Count++ }
		out["a roll is long"] = func(k *kit.Kit) { roll := *k.Rolls[0].Roll; roll.Length++; k.Rolls[0].Roll = &roll }
	}
	return out
}
