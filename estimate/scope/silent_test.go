package scope

import (
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"wraptally/estimate/survey"
	"wraptally/estimate/trace/depth"
)

// cell is a field of which one cell may be blanked: what may stand in it instead,
// drawn from its stated range.
type cell struct {
	name string
	at   func(*survey.Defect) any // *survey.Num, *survey.Tri, *string
	draw func(t *rapid.T, k *Rules, d *survey.Defect) any
}

// cells are the fields whose blank takes a value: from a range, or the harder of
// two words. A blank that stops its row is outside.
func cells() []cell {
	var out []cell
	for i := range blanks {
		b := &blanks[i]
		if b.at == nil { // a word, below
			continue
		}
		out = append(out, cell{b.key, func(d *survey.Defect) any { return b.at(d) }, func(t *rapid.T, k *Rules, d *survey.Defect) any {
			// The range as it is with every other cell as it stands, at a point of the
			// blanks before it.
			filled := *d
			for j := range i {
				n := blanks[j].at(&filled)
				if _, hard, ok := blanks[j].ends(k, d, &filled); ok && !n.OK {
					*n = survey.Known(hard)
				}
			}
			easy, hard, ok := b.ends(k, d, &filled)
			if !ok {
				easy, hard = k.set.PipeStress, k.set.StressHigh // not needed by this defect; a stress may still be by its neighbour
			}
			return survey.Known(easy + (hard-easy)*rapid.SampledFrom([]float64{0, 1, rapid.Float64Range(0, 1).Draw(t, "x")}).Draw(t, "share"))
		}})
	}
	words := func(name string, at func(*survey.Defect) any, from ...any) {
		out = append(out, cell{name, at, func(t *rapid.T, _ *Rules, _ *survey.Defect) any { return rapid.SampledFrom(from).Draw(t, name) }})
	}
	words("hazardous", func(d *survey.Defect) any { return &d.Hazardous }, survey.No, survey.Yes)
	words("mechanism", func(d *survey.Defect) any { return (*string)(&d.Mechanism) }, "mechanical", "external", "internal", "erosion", "unknown")
	words("substrate", func(d *survey.Defect) any { return &d.Substrate }, "steel", "stainless")
	words("access", func(d *survey.Defect) any { return &d.Access }, "ground", "scaffold", "lift", "rope", "confined")
	words("surface", func(d *survey.Defect) any { return (*string)(&d.Surface) }, "dry", "wet")
	out = append(out,
		cell{"clock", func(d *survey.Defect) any { return &d.Clock }, func(t *rapid.T, _ *Rules, _ *survey.Defect) any {
			return survey.Known(rapid.Float64Range(0, 360).Draw(t, "clock"))
		}},
		cell{"bend_angle", func(d *survey.Defect) any { return &d.BendAngle }, func(t *rapid.T, _ *Rules, _ *survey.Defect) any {
			return survey.Known(rapid.Float64Range(1, 180).Draw(t, "angle"))
		}})
	return out
}

func set(at, v any) {
	switch at := at.(type) {
	case *survey.Num:
		*at, _ = v.(survey.Num)
	case *survey.Tri:
		*at, _ = v.(survey.Tri)
	case *string:
		*at, _ = v.(string)
	}
}

// A blank never lowers the answer: for any survey, blanking one cell never gives
// fewer layers, a shorter repair, less that is repairable or less protection than
// any value that may stand in the cell, in the repair that holds the defect.
// Where both repairs hold the same defects: a longer repair may take its
// neighbour in, and is then as repairable as that one. And where not even
// with the cell filled all of several blanks can be at their hard ends together,
// since the method does not reach so far: then only what is repairable is
// compared.
func TestBlankNeverLowersTheAnswer(t *testing.T) {
	c := builtin(t)
	k := Prepare(c)
	compared := map[string]int{}
	for _, f := range cells() {
		t.Run(f.name, rapid.MakeCheck(func(t *rapid.T) {
			ds := surveyOf(t, c, 6)
			at := rapid.IntRange(0, len(ds)-1).Draw(t, "row")
			blank := append([]survey.Defect(nil), ds...)
			set(f.at(&blank[at]), nil)
			v := f.draw(t, k, &blank[at])
			said := append([]survey.Defect(nil), blank...)
			set(f.at(&said[at]), v)
			holding := func(ds []survey.Defect) *Repair {
				for _, r := range Plan(ds, c) {
					for _, d := range r.Defects {
						if d.ID == ds[at].ID {
							return r
						}
					}
				}
				t.Fatal("no repair holds the defect")
				return nil
			}
			b, s := holding(blank), holding(said)
			if s.Status != Estimated || len(b.Defects) != len(s.Defects) && b.Status != Estimated {
				return
			}
			compared[f.name]++
			if f.name == "bend_angle" && b.Status == Queried {
				return // it has no range: a bend as long as may be can need more free pipe than there is, and the row is asked about
			}
			less := b.Layers < s.Layers || b.Length < s.Length
			// Neither can be at all its hard ends together: which of the blanks gives way to
			// which is a choice, and the two may have chosen otherwise.
			if b.MayNotBe && s.MayNotBe {
				less = false
			}
			if x, ok := c.AccessOf(s.Access); ok { // nor cheaper or quicker to reach
				y, _ := c.AccessOf(b.Access)
				less = less || y.Cost.LessThan(x.Cost) || f.name == "access" && (y.Time < x.Time || y.SetUp < x.SetUp || y.Share > x.Share)
			}
			if b.Status != Estimated || less || s.Hazardous && !b.Hazardous {
				t.Fatalf("%s = %v: %s %d layers %v mm; blank: %s (%s) %d layers %v mm\n%s\n%s", f.name, v, s.Status, s.Layers, s.Length, b.Status, b.Reason, b.Layers, b.Length,
					fmt.Sprintf("%+v", said), fmt.Sprintf("blank %v, may not be %v; said: blank %v, may not be %v", b.Blank, b.MayNotBe, s.Blank, s.MayNotBe))
			}
		}))
		if compared[f.name] == 0 {
			t.Errorf("%s: never compared", f.name)
		}
	}
}

// Where not all defects of a repair can be at their hard ends together, those that
// can stay there: blanking one cell of a pit that then may eat through the wall
// never lowers the answer for a pit beside it, blank too. Such repairs are rare among
// those above.
func TestOneDefectAloneGivesWay(t *testing.T) {
	c := builtin(t)
	k := Prepare(c)
	compared := 0
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.SampledFrom(slices.DeleteFunc(cells(), func(f cell) bool {
			return f.name != "corrosion_rate" && f.name != "mechanism"
		})).Draw(t, "field")
		blank := make([]survey.Defect, rapid.IntRange(2, 4).Draw(t, "pits"))
		apart, near := 250.0, len(blank) == 2 && rapid.Bool().Draw(t, "near")
		if near { // either may become a leak, and both would count as one too large
			apart = 60
		}
		for i := range blank {
			blank[i] = pit(string(rune('a'+i)), apart*float64(i), 323.8, 9.53, rapid.Float64Range(5, 40).Draw(t, "size"))
			if near {
				blank[i].Axial.V *= 1.5
				blank[i].Circ = blank[i].Axial
			} else if i == 0 || rapid.IntRange(0, 3).Draw(t, "big") == 0 {
				blank[i].Axial.V += 60
			}
			blank[i].Pressure, blank[i].Life = survey.Known(2), survey.Known(20)
			blank[i].Remaining = survey.Known(rapid.Float64Range(3, 8).Draw(t, "wall"))
			blank[i].CorrosionRate = survey.Known(rapid.Float64Range(0.3, 1.4).Draw(t, "rate"))
			if i == 0 || rapid.IntRange(0, 3).Draw(t, "blank") > 0 {
				set(f.at(&blank[i]), nil)
			}
		}
		said := slices.Clone(blank)
		set(f.at(&said[0]), f.draw(t, k, &blank[0]))
		b, s := Plan(blank, c)[0], Plan(said, c)[0]
		for _, d := range b.Defects { // and no defect asks for less than alone, whichever holds the repair back
			if own := Plan([]survey.Defect{*d}, c)[0]; b.Status == Estimated && own.Status == Estimated && !own.MayNotBe && b.Layers < own.Layers {
				t.Fatalf("%d layers, %d for %s alone\n%+v", b.Layers, own.Layers, d.ID, blank)
			}
		}
		if s.Status != Estimated || s.MayNotBe || !b.MayNotBe || len(b.Defects) != len(s.Defects) {
			return
		}
		compared++
		if b.Layers < s.Layers || b.Length < s.Length {
			t.Fatalf("%s: %d layers, %v mm; blank: %d layers, %v mm\n%+v", f.name, s.Layers, s.Length, b.Layers, b.Length, said)
		}
	})
	if compared == 0 && depth.Full() {
		t.Error("never compared")
	}
}

// What the search for the hardest values ends by: where no wrap of a diameter holds
// more layers, no point of the ranges that can be made asks for more; and the point
// that it takes can be made.
func TestNoPointIsBeyondTheFullWrap(t *testing.T) {
	c := builtin(t)
	k := Prepare(c)
	made, full := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		ds := make([]survey.Defect, rapid.IntRange(1, 3).Draw(t, "pits"))
		var of []*survey.Defect
		for i := range ds {
			ds[i] = pit(string(rune('a'+i)), 100*float64(i), rapid.SampledFrom([]float64{60.3, 88.9, 323.8}).Draw(t, "od"), 9.53, rapid.Float64Range(5, 60).Draw(t, "size"))
			ds[i].OD = ds[0].OD
			ds[i].Pressure, ds[i].Life = survey.Known(rapid.Float64Range(1, 60).Draw(t, "pressure")), survey.Known(20)
			for _, n := range []*survey.Num{&ds[i].Remaining, &ds[i].CorrosionRate, &ds[i].Pressure, &ds[i].Stress, &ds[i].DesignTemp} {
				if rapid.Bool().Draw(t, "blank") {
					*n = survey.Num{}
				}
			}
			of = append(of, &ds[i])
		}
		try := k.attempt(of)
		look := func(at point) {
			end := try.end(at)
			if end.Status != Estimated {
				return
			}
			if made++; try.full(end.Layers - 1) {
				t.Fatalf("%d layers can be made, one less is said to be all\n%+v", end.Layers, ds)
			}
			if try.full(end.Layers) {
				full++
			}
		}
		for range 20 {
			at := everywhere(0)
			for i := range at.all {
				at.all[i] = rapid.SampledFrom([]float64{0, 1, rapid.Float64Range(0, 1).Draw(t, "x")}).Draw(t, "share")
			}
			look(at)
		}
		hard, easy := k.at(of, everywhere(1), nil), try.end(everywhere(0))
		if hard.Status == Estimated || easy.Status != Estimated || hard.Blank == 0 {
			return
		}
		at := try.hardest(hard.Blank, everywhere(0))
		if !try.can(at) {
			t.Fatalf("the point taken cannot be made\n%+v", ds)
		}
		look(at)
	})
	if (made == 0 || full == 0) && depth.Full() {
		t.Errorf("%d points made, %d of them with as many layers as any wrap holds", made, full)
	}
}
