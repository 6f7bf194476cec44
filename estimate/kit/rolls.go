package kit

import (
	"math"
	"slices"
	"strconv"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate/order"
	"wraptally/estimate/qty"
	"wraptally/estimate/scope"
	"wraptally/estimate/takeoff"
	"wraptally/estimate/trace"
)

// coverer prepares the question which mix of a set of rolls is cheapest, each roll
// with what goes with it. It is remembered: sets repeat from repair to repair.
func (p *Packer) coverer(rolls []*catalog.Wrap, each decimal.Decimal) (*order.Coverer, error) {
	key := coverKey{rolls[0], rolls[len(rolls)-1], len(rolls), each.String()}
	p.mu.Lock()
	defer p.mu.Unlock()
	if c, ok := p.coverers[key]; ok {
		return c, nil
	}
	packs := make([]order.Roll, len(rolls))
	for i, r := range rolls {
		packs[i] = order.Roll{Name: r.Item, Length: int(r.Length), Cost: p.prices[r.Item].Add(each)}
	}
	c, err := order.NewRollCoverer(packs, int(p.set.Splice))
	if err == nil {
		p.coverers[key] = c
	}
	return c, err
}

// RollCost is what each roll of a repair costs beside its price: the crew's time
// to soak and lay it, at an hourly value of its own, and the consumables that go
// with a roll. It compares mixes of rolls; what is paid is the crew's whole time by
// the labour table, whose rates may so be changed without another choice of rolls,
// and the order.
func (p *Packer) RollCost(r *scope.Repair) decimal.Decimal {
	removal := p.set.Removal == "yes"
	sum := decimal.Zero
	for _, c := range p.rules {
		if c.rule.Per == "roll" && Asked(c.rule, r, removal) {
			sum = sum.Add(c.cost)
		}
	}
	minutes := 0.0
	for _, t := range p.c.Tasks {
		if t.Per == "roll" && Applies(t.When, r, removal) {
			minutes += t.Minutes
		}
	}
	if a, ok := p.accessOf(r); ok {
		minutes *= a.Time
	}
	return sum.Add(qty.Decimal(p.set.RollHour).Mul(qty.Decimal(minutes / 60))).Round(4)
}

// RollChoice is one mix of rolls of one width for a repair.
type RollChoice struct {
	Tape  *takeoff.Tape
	Rolls []*catalog.Wrap // alongside Mix.Counts
	Mix   order.Mix       // its cost with what goes with each roll
}

// Choices are the mixes of rolls in each width that a repair may be wrapped with:
// the cheapest in each, cheapest first, ties to the wider tape; then others that
// can spare no roll, up to a number in each width, the fewest rolls first.
func (p *Packer) Choices(r *scope.Repair, net *takeoff.Net, others int) ([]RollChoice, error) {
	var best, more []RollChoice
	each := p.RollCost(r)
	for i := len(net.Tapes) - 1; i >= 0; i-- { // widest first, so that ties go to it
		t := &net.Tapes[i]
		cover, err := p.coverer(t.Rolls, each)
		if err != nil {
			return nil, err
		}
		need := int(math.Ceil(t.Net - 1e-6))
		mixes, err := cover.Alternatives(need, 1)
		if err != nil {
			return nil, err
		}
		best = append(best, RollChoice{Tape: t, Rolls: t.Rolls, Mix: mixes[0]})
		if others > 0 {
			for _, m := range cover.Mixes(need, others) {
				if !slices.Equal(m.Counts, mixes[0].Counts) {
					more = append(more, RollChoice{Tape: t, Rolls: t.Rolls, Mix: m})
				}
			}
		}
	}
	slices.SortStableFunc(best, func(a, b RollChoice) int { return a.Mix.Cost.Cmp(b.Mix.Cost) })
	return append(best, more...), nil
}

// rolls chooses the cheapest mix of whole rolls among the widths.
func (p *Packer) rolls(k *Kit, log *trace.Log) {
	choices, err := p.Choices(k.Repair, k.Net, 0)
	if err != nil {
		k.stop("wrap-cover", "", "the rolls cannot cover the tape: "+err.Error(), "check the wraps table")
		return
	}
	if len(choices) == 0 {
		return // a Stop says why
	}
	k.choose(p, choices[0], log)
}

// choose puts a mix of rolls into the kit.
func (k *Kit) choose(p *Packer, ch RollChoice, log *trace.Log) {
	k.Tape, k.Laid = ch.Tape, ch.Mix.Quantity
	for i, n := range ch.Mix.Counts {
		if n == 0 {
			continue
		}
		k.Rolls = append(k.Rolls, Rolls{Roll: ch.Rolls[i], Count: n})
		if it, ok := p.c.Item(ch.Rolls[i].Item); ok {
			k.add(it, float64(n), forWrap)
		}
	}
	log.Add(func() trace.Step {
		text := ""
		var laid trace.Sum
		for i, r := range k.Rolls {
			if i > 0 {
				text += " + "
			}
			text += strconv.Itoa(r.Count) + " × " + trace.WithUnit(r.Roll.Length/1000, "m")
			laid.Product(trace.In("n", "rolls of this length", float64(r.Count), "roll", trace.Words("this step")),
				trace.In("l", "length of a roll", r.Roll.Length/1000, "m", trace.Table("wraps", r.Roll.Item)))
		}
		return trace.Step{
			ID: "wrap/rolls", Name: "rolls: " + text + ", width " + trace.WithUnit(k.Tape.Width, "mm"), Rule: "kit.rolls",
			Formula: "cheapest Σ n_i with Σ n_i·l_i − (Σ n_i − 1)·splice ≥ tape",
			Inputs: append([]trace.Input{
				trace.In("tape", "tape of all passes", k.Tape.Net/1000, "m", trace.StepAt("wrap/"+strconv.FormatFloat(k.Tape.Width, 'f', -1, 64)+"/net")),
				trace.In("splice", "lost by each roll after the first", p.set.Splice/1000, "m", trace.Setting("wrap.splice")),
				trace.In("laid", "length that the rolls give", float64(k.Laid)/1000, "m", trace.Words("this step")),
			}, laid.Inputs...),
			Raw: float64(ch.Mix.Packs), Value: float64(ch.Mix.Packs), Unit: "roll", Rounding: "whole rolls: an opened pouch is used up",
			Source: "exact search over whole rolls, each at its price, the crew's time to lay it and what goes with it; common practice, no source",
		}
	})
}
