package mix

import (
	"cmp"
	"slices"

	"wraptally/estimate/qty"
	"wraptally/estimate/trace"
)

// Scale is what parts are weighed on, and how a product is parted. The zero value
// weighs whatever is asked, of a product of one part.
type Scale struct {
	Reading  float64 // kg that it shows at least: masses are weighed in multiples of it
	Least    float64 // kg; no part lighter than this is weighed
	Hardener float64 // g of hardener to 100 g of resin; 0: the product is one part
}

// HardenerRule is the hardener in a mass that is weighed out, in the steps of the
// scale; the rest is resin. Half a step too much or too little is what a scale of
// that step cannot show.
var HardenerRule = trace.NewRule(trace.Rule{
	ID: "mix.hardener", Name: "hardener", Formula: "s·ceil(m·r/((100 + r)·s) − 0.5)", Unit: "g", Source: "derived: the ratio by mass, to the nearest step of the scale",
	In: []trace.Symbol{
		{Symbol: "m", Name: "weighed out, both parts", Unit: "g", From: trace.StepAt("mix/batches")},
		{Symbol: "r", Name: "hardener to 100 g of resin", Unit: "g", From: trace.Table("putties", "")},
		{Symbol: "s", Name: "step of the scale", Unit: "g", From: trace.Setting("mix.scale_reading")},
	},
})

// Parts are the resin and the hardener, kg, of a mass that is a multiple of the
// scale's reading. Together they are the mass.
func (s Scale) Parts(mass float64) (resin, hardener float64) {
	unit := s.unit()
	mg := milligramsUp(mass)
	h := s.hardener(mg/unit) * unit
	return kilograms(mg - h), kilograms(h)
}

// unit is the reading in milligrams, 1 where there is none.
func (s Scale) unit() int64 { return max(1, milligramsUp(s.Reading)) }

// hardener is that of a mass, both in readings.
func (s Scale) hardener(mass int64) int64 {
	if s.Hardener == 0 {
		return 0
	}
	const grams = 1000 // the rule is in grams
	step := float64(s.unit()) / perKilogram * grams
	return int64(HardenerRule.Of(float64(mass)*step, s.Hardener, step)/step + 0.5)
}

// least is the lightest mass of which no part is too light, in readings.
func (s Scale) least() int64 {
	light := qty.CeilDiv(milligramsUp(s.Least), s.unit())
	if light <= 0 {
		return 1
	}
	if s.Hardener == 0 {
		return light
	}
	parts := func(w int64) int64 { h := s.hardener(w); return min(h, w-h) }
	about := float64(light) * (100 + s.Hardener) / min(s.Hardener, 100)
	if about > heaviest {
		return heaviest // a ratio of which no part is ever weighed
	}
	w := int64(about)
	for parts(w) < light {
		w++
	}
	for w > light && parts(w-1) >= light {
		w--
	}
	return w
}

// source is a pack that is opened.
type source struct {
	pack int
	left int64 // readings
}

// weighing is how many readings of each opened pack go into which pot.
type weighing struct {
	pots  []pot
	parts [][]taken // by pot
	open  []source  // with what stays in them
}

type taken struct {
	from int // among the opened packs
	mass int64
}

// weighOut weighs mg out of the opened packs: into n pots, evenly, or one or two
// more where some part would be too light; where that does not serve either, each
// pack into pots of its own, which always does.
func (p *Planner) weighOut(pots []pot, n int, open []source, mg, total int64) weighing {
	need := max(qty.CeilDiv(mg, p.unit), p.least)
	for more := range 3 {
		all := slices.Clone(pots)
		for len(all) < n+more {
			all = append(all, pot{counts: make([]int, len(p.packs))})
		}
		slices.SortStableFunc(all, heavier)
		shares, ok := p.shares(all, need, total)
		if !ok {
			continue
		}
		if w, ok := p.from(all, shares, slices.Clone(open)); ok {
			return w.filled()
		}
	}
	return p.packByPack(pots, open, need)
}

// filled is the weighing without the pots into which nothing goes.
func (w weighing) filled() weighing {
	out := weighing{open: w.open}
	for i, t := range w.pots {
		if t.mass > 0 || len(w.parts[i]) > 0 {
			out.pots, out.parts = append(out.pots, t), append(out.parts, w.parts[i])
		}
	}
	return out
}

func heavier(a, b pot) int {
	return cmp.Or(cmp.Compare(b.mass, a.mass), slices.Compare(b.counts, a.counts))
}

// shares levels the pots: what is weighed into each, none of it too light. It
// fails where the pots do not hold what is needed.
func (p *Planner) shares(pots []pot, need, total int64) (shares []int64, ok bool) {
	shares = make([]int64, len(pots))
	left := total // mg still to be laid
	for i, t := range pots {
		room := (p.limit - t.mass) / p.unit
		add := min(need, room, qty.CeilDiv(max(0, qty.CeilDiv(left, int64(len(pots)-i))-t.mass), p.unit))
		if rest := need - add; add > 0 && rest > 0 && rest < p.least { // too light for the pots that follow
			if need <= room {
				add = need
			} else {
				add -= p.least - rest
			}
		}
		if add > 0 && add < p.least {
			add = p.least
		}
		if add < 0 || add > room {
			add = 0
		}
		shares[i] = add
		need = max(0, need-add)
		left -= min(left, t.mass+add*p.unit)
	}
	return shares, need == 0
}

// from takes the shares out of the opened packs in turn. What stays in a pack and
// is too light to be weighed stays there.
func (p *Planner) from(pots []pot, shares []int64, open []source) (weighing, bool) {
	w := weighing{pots: pots, parts: make([][]taken, len(pots)), open: open}
	j := 0
	for i, need := range shares {
		for need > 0 {
			if j == len(open) {
				return w, false
			}
			take := min(need, open[j].left)
			if rest := need - take; rest > 0 && rest < p.least {
				take -= p.least - rest
			}
			if take < min(need, p.least) || take <= 0 {
				j++
				continue
			}
			open[j].left -= take
			need -= take
			w.parts[i] = append(w.parts[i], taken{j, take})
			if need > 0 {
				j++
			}
		}
	}
	return w, true
}

// packByPack mixes what is weighed out of a pack in pots of their own. The largest
// batch is at least twice the lightest that is weighed, so that even shares of
// more than one batch are never too light.
func (p *Planner) packByPack(pots []pot, open []source, need int64) weighing {
	w := weighing{pots: slices.Clone(pots), parts: make([][]taken, len(pots)), open: slices.Clone(open)}
	batch := p.limit / p.unit
	for j := range w.open {
		take := min(need, w.open[j].left)
		if rest := need - take; rest > 0 && rest < p.least { // the next pack gives the least
			take -= p.least - rest
		}
		take = min(max(take, p.least), w.open[j].left)
		need -= take
		w.open[j].left -= take
		for n := qty.CeilDiv(take, batch); n > 0; n-- {
			share := qty.CeilDiv(take, n)
			take -= share
			w.pots = append(w.pots, pot{counts: make([]int, len(p.packs))})
			w.parts = append(w.parts, []taken{{j, share}})
		}
		if need <= 0 {
			break
		}
	}
	return w
}
