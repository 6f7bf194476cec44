package kit

import (
	"math"
	"strconv"

	"wraptally/estimate/trace"
)

// Knead is sealant that is kneaded at once for one sealing set or several, one
// after the other.
type Knead struct {
	Sets  []int   // numbers, from 1
	Count int     // whole sticks
	Draw  float64 // min from the end of kneading until the last band presses
	net   float64 // sticks
}

// InTime reports whether the last band presses before the sealant is tack-free.
func (k *Kit) InTime(n Knead) bool { return n.Draw <= k.Open }

var drawRule = trace.NewRule(trace.Rule{
	ID: "kit.draw", Name: "minutes to press the sets of one kneading", Formula: "f·(n·t_set + n_f·t_band)", Unit: "min", Source: "common practice, no source",
	In: []trace.Symbol{
		{Symbol: "f", Name: "time factor of the access"},
		{Symbol: "n", Name: "sets of one kneading"},
		{Symbol: "t_set", Name: "pad and sheet put on", Unit: "min", From: trace.Setting("sealant.place_time")},
		{Symbol: "n_f", Name: "fasteners of them", From: trace.StepsEach("seal", "/bands")},
		{Symbol: "t_band", Name: "a fastener drawn until its band presses", Unit: "min", From: trace.Setting("sealant.draw_time")},
	},
})

// kneads parts the sets, in their order along the pipe, into kneadings: the fewest
// sticks, then the fewest kneadings, such that sets share sticks only where the
// last of them is pressed before the sealant is tack-free. A set that takes longer
// by itself has its own, and is told by InTime. Source: common practice, no source.
func (p *Packer) kneads(k *Kit, log *trace.Log) {
	seals := k.Net.Seals
	access := 1.0
	if a, ok := p.accessOf(k.Repair); ok {
		access = a.Time
	}
	input := func(from, to int) []float64 {
		fasteners := 0
		for i := from; i < to; i++ {
			fasteners += seals[i].Fasteners()
		}
		return []float64{access, float64(to - from), p.set.PlaceTime, float64(fasteners), p.set.DrawTime}
	}
	type way struct{ sticks, from, count int }
	best := make([]way, len(seals)+1) // of the sets before
	for to := 1; to <= len(seals); to++ {
		best[to].sticks = math.MaxInt
		net := 0.0
		for from := to - 1; from >= 0; from-- {
			if from < to-1 && drawRule.Of(input(from, to)...) > k.Open {
				break
			}
			net += seals[from].Volume / seals[from].Sealant.Volume
			sticks, count := best[from].sticks+int(whole(net)), best[from].count+1
			if sticks < best[to].sticks || sticks == best[to].sticks && count <= best[to].count {
				best[to] = way{sticks, from, count}
			}
		}
	}
	k.Kneads = make([]Knead, best[len(seals)].count)
	for to := len(seals); to > 0; to = best[to].from {
		from := best[to].from
		n := Knead{Draw: drawRule.Of(input(from, to)...)}
		for i := from; i < to; i++ {
			n.Sets = append(n.Sets, i+1)
			n.net += seals[i].Volume / seals[i].Sealant.Volume
		}
		n.Count = int(whole(n.net))
		k.Kneads[best[to].count-1] = n
	}
	for i := range k.Kneads {
		n := &k.Kneads[i]
		if !k.InTime(*n) {
			k.ask("seal-slow", trace.WithUnit(math.Ceil(n.Draw-1e-9), "min"),
				"sealing set "+strconv.Itoa(n.Sets[0])+" is pressed more slowly than its sealant gets tack-free, in "+trace.WithUnit(math.Floor(k.Open+1e-9), "min")+" at "+trace.WithUnit(k.Repair.SurfaceTemp, "°C"),
				"plan more hands, a cooler hour or a slower sealant; the times are the settings sealant.place_time and sealant.draw_time")
		}
		log.Add(func() trace.Step {
			return drawRule.Step("draw"+strconv.Itoa(i+1), n.Draw, input(n.Sets[0]-1, n.Sets[len(n.Sets)-1])).
				Knowing("f", trace.Table("accesses", k.Repair.Access)).Knowing("n", trace.StepsEach("seal", "/sealant"))
		})
	}
}

// sticks are the whole sticks of each kneading.
func (p *Packer) sticks(k *Kit, log *trace.Log) {
	s := Sticks{Sealant: k.Net.Seals[0].Sealant}
	for _, n := range k.Kneads {
		s.Net, s.Count = s.Net+n.net, s.Count+n.Count
	}
	k.Sticks = []Sticks{s}
	asked := s.Net
	if len(k.Kneads) > 1 { // each is rounded by itself
		asked = float64(s.Count)
	}
	if it, ok := p.c.Item(s.Sealant.Item); ok {
		k.add(it, asked, forSealant)
	}
	log.Add(func() trace.Step {
		stick := trace.In("V_stick", "volume of one stick", s.Sealant.Volume, "mm³", trace.Table("sealants", s.Sealant.Item))
		if len(k.Kneads) == 1 {
			return trace.Step{
				ID: "sticks/" + s.Sealant.Item, Name: "sticks of sealant in the kit", Rule: "kit.sticks", Formula: "Σ V/V_stick",
				Inputs: []trace.Input{trace.In("V", "sealant of all patches", s.Net*s.Sealant.Volume, "mm³", trace.StepsEach("seal", "/sealant")), stick},
				Raw:    s.Net, Value: float64(s.Count), Unit: "stick", Rounding: "up to whole sticks", Source: "common practice, no source",
			}
		}
		out := trace.Step{
			ID: "sticks/" + s.Sealant.Item, Name: "sticks of sealant in the kit, whole ones for each kneading", Rule: "kit.sticks.each",
			Value: float64(s.Count), Unit: "stick", Source: "common practice, no source",
		}
		for i, n := range k.Kneads {
			symbol := "V_" + strconv.Itoa(i+1)
			if i > 0 {
				out.Formula += " + "
			}
			out.Formula += "ceil(" + symbol + "/V_stick)"
			out.Inputs = append(out.Inputs, trace.In(symbol, "sealant of kneading "+strconv.Itoa(i+1), n.net*s.Sealant.Volume, "mm³", trace.StepsEach("seal", "/sealant")))
		}
		out.Inputs = append(out.Inputs, stick)
		return out
	})
}
