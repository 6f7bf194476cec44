package kit

import (
	"math"
	"slices"
	"strconv"

	"wraptally/estimate/mark"
	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
	"wraptally/estimate/takeoff"
)

// PotSteps are the temperatures, °C against that of the mixing card, for which the
// card gives the minutes of the same batch.
var PotSteps = []float64{-10, -5, 0, 5, 10}

// Contents is the short code of what is packed into a kit and of what its card
// says to do with it: two boxes of one code are alike, whatever the run. Not in it
// are the name and the place, who does the repair and when, lots, what is paid,
// and from which coil or sheet a piece is cut.
func (p *Packer) Contents(k *Kit) string {
	c := contents{mark.New()}
	c.place(k)
	for _, l := range k.Lines {
		if l.Item.Issue == "kit" && l.Qty > 0 {
			c.part("line", l.Item.Code, l.Item.Name, l.Item.Unit)
			c.numbers(l.Qty)
			if t, ok := p.c.TransportOf(l.Item.Code); ok {
				c.part("transport", t.UN, t.Name, t.Class, t.Group, t.Note)
			}
		}
	}
	for _, piece := range k.Pieces {
		c.part("piece", piece.Kind, piece.Stock)
		c.numbers(float64(piece.Set), float64(piece.A), float64(piece.C))
	}
	c.sealing(k)
	c.mixing(p, k)
	c.wrapping(p, k)
	c.work(p, k)
	return c.Code()
}

// contents takes in what a code stands for: each part under a word of its own, so
// that none is taken for another.
type contents struct{ mark.Maker }

func (c contents) part(word string, texts ...string) {
	c.Add("/" + word)
	c.Add(texts...)
}

// numbers are taken in to the thousandth: the noise of the arithmetic is no other
// kit.
func (c contents) numbers(values ...float64) {
	for _, v := range values {
		c.Add(strconv.FormatFloat(math.Round(v*1000)/1000+0, 'f', -1, 64))
	}
}

func (c contents) whether(facts ...bool) {
	for _, f := range facts {
		c.Add(strconv.FormatBool(f))
	}
}

// place is the pipe for which the kit is right and what whoever opens it has to
// know of it.
func (c contents) place(k *Kit) {
	r := k.Repair
	all := survey.Together(r.Defects)
	by, _ := r.DesignedBy()
	c.part("pipe", r.Size, string(r.Component), string(r.Surface), r.Kind())
	c.numbers(r.OD, r.Wall, r.Length, r.OnBend, r.SurfaceTempLow, r.SurfaceTemp)
	c.whether(r.Hazardous, by != "")
	for _, blank := range []string{"wall", "pressure", "surface_temp", "air_temp"} {
		c.whether(r.Blank.Has(blank))
	}
	for _, taken := range []string{scope.SurfaceSetting, scope.HazardTaken} {
		c.whether(slices.Contains(r.Leans, taken))
	}
	c.part("holds", media(r)...)
	for _, n := range []survey.Num{all.LivePressure, all.Pressure, r.Pressure} {
		c.whether(n.OK)
		c.numbers(n.V)
	}
	for _, l := range k.Gate {
		c.part("gate", l.String(), l.Advice)
		c.whether(l.Margin.OK)
		c.numbers(l.Margin.V)
	}
}

// work is what the steps say beside the cards, as far as it is printed.
func (c contents) work(p *Packer, k *Kit) {
	r := k.Repair
	c.part("cleaned", p.set.PrepGrade)
	c.numbers(p.set.PrepMargin, math.Round(math.Pi*r.OD), p.set.PrepProfile, p.set.DewMargin)
	c.part("filled")
	c.numbers(p.set.PuttyHeight)
	c.whether(len(r.Pits) > 0)
	for i := range k.Net.Seals {
		s := &k.Net.Seals[i]
		if i == 0 {
			c.numbers(p.set.SealHeight, p.set.GateSeat, p.set.PuttyHeightLeak, p.set.PuttyFootprint)
		}
		c.whether(s.Patch.ClockKnown)
		c.numbers(Millimetres(s.Patch.X - r.From))
	}
	for _, f := range p.Fill(k) {
		c.numbers(Millimetres(f.To))
	}
	for _, l := range k.Putty.Left {
		c.part("left", l.Putty.Item)
		c.numbers(math.Round(l.Mass*gramsPerKilogram), l.Putty.OpenLife)
	}
	for _, task := range instructed {
		minutes, ok := k.Takes(task)
		c.whether(ok)
		c.numbers(math.Ceil(minutes - 1e-9))
	}
	for i := range p.c.Tasks {
		if t := &p.c.Tasks[i]; t.Task == "film" {
			c.numbers(t.Within)
		}
	}
}

// media are what flows at the defects, each once.
func media(r *scope.Repair) (out []string) {
	for _, d := range r.Defects {
		if !slices.Contains(out, d.Medium) {
			out = append(out, d.Medium)
		}
	}
	return out
}

// sealing are the sealing sets and how their sealant is kneaded.
func (c contents) sealing(k *Kit) {
	for i := range k.Net.Seals {
		s := &k.Net.Seals[i]
		c.part("set", s.Sheet, s.Band)
		c.numbers(math.Ceil(s.Patch.PadA), math.Ceil(s.Patch.PadC), float64(s.SheetA), float64(s.SheetC), float64(s.Bands), float64(s.Strips))
	}
	for _, n := range k.Kneads {
		c.part("kneading")
		c.numbers(float64(n.Count), float64(len(n.Sets)), math.Ceil(n.Draw), math.Floor(k.Open))
	}
	for _, s := range k.Sticks {
		c.part("sticks", s.Sealant.Item)
		c.numbers(float64(s.Count), s.Sealant.Knead, s.Sealant.Tack, s.Sealant.TimedAt)
	}
}

// mixing is the mixing card.
func (c contents) mixing(p *Packer, k *Kit) {
	c.part("mixing", k.Net.Putty.Name)
	c.numbers(k.Putty.Temp, k.Putty.Waste, p.set.MixTime)
	temps := make([]float64, len(PotSteps))
	for i, step := range PotSteps {
		temps[i] = k.Putty.Temp + step
	}
	before := -1.0 // batches alike to the gram stand in one line of the card
	for _, b := range k.Putty.Batches {
		c.part("batch")
		c.numbers(b.Mass, b.Minutes, b.Waste)
		for _, pk := range b.Packs {
			c.part("packs", pk.Putty.Item)
			c.whether(pk.Weighed)
			c.numbers(pk.Count, pk.Mass, pk.Putty.Pack, pk.Resin, pk.Hardener, float64(pk.Open))
		}
		grams := math.Round(b.Mass * 1000)
		if grams == before {
			continue
		}
		before = grams
		for _, at := range p.Minutes(k, b.Mass, temps) {
			if c.whether(at.Mix); at.Mix {
				c.numbers(math.Floor(at.Minutes)) // as printed
			}
		}
	}
}

// wrapping is the card of the wrap.
func (c contents) wrapping(p *Packer, k *Kit) {
	r := k.Repair
	c.part("wrap", r.System)
	c.numbers(float64(r.Layers), float64(r.Passes), r.WrapThickness, p.set.Overlap, p.set.EndTurns)
	if k.Tape != nil {
		c.numbers(k.Tape.Width, float64(k.Tape.Hands))
	}
	for _, x := range k.Rolls {
		c.part("rolls", x.Roll.Item)
		c.numbers(float64(x.Count), x.Roll.Length, x.Roll.Soak, x.Roll.Hardness, math.Floor(takeoff.WorkSeconds(x.Roll, r.SurfaceTemp, p.set)/6+1e-9)) // tenths of a minute, as printed
	}
}

// instructed are the tasks whose minutes stand on the card as an instruction.
var instructed = []string{"firm", "cure", "hold"}

// Instructs reports whether the minutes of a task are an instruction to the crew,
// rather than what it is expected to take.
func Instructs(task string) bool { return slices.Contains(instructed, task) }
