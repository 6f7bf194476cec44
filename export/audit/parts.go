package audit

import (
	"fmt"
	"math"
)

// The types below name of the JSON what is audited; a name of one word needs no tag.

// repair is what is audited of a repair.
type repair struct {
	ID      string
	Figures map[string]figure
	Kit     *struct {
		Lines []struct {
			Item   string
			Issued figure
		}
		Pieces  []piece
		Batches []struct {
			Mass, Waste figure
			UseWithin   figure `json:"use_within"`
			Packs       []struct{ Resin, Hardener *figure }
		}
		Mass, Time, Prepared figure
	}
	Cost       map[string]figure
	Derivation []step
}

type piece struct {
	Length, Along, Round *figure
}

// campaign is what is audited beside the repairs.
type campaign struct {
	Issues []struct {
		Item   string
		Issued figure
	}
	Spares []struct {
		Crew   int
		Pieces []piece
	}
	Rolls   *struct{ Before, After, Bound figure }
	Cutting []cutting
	Order   []order
	Offcuts []struct {
		Lot   string
		Stock figure
	}
	Bid        bid
	Derivation []step
}

type order struct {
	Item                   string
	Issued, Needed, Excess figure
	Charged                struct{ Bought, Stock, Tool *figure }
	Lines                  []struct {
		Packs    figure
		CostBase figure `json:"cost_base"`
	}
}

type bid struct {
	Lines []struct {
		Code   string
		Amount figure
	}
	Direct, Total, Low, High figure
	Net                      figure `json:"before_tax"`
	CrewShifts               figure `json:"crew_shifts"`
}

// cutting is a plan of coils, with patterns, or of sheets, with layouts.
type cutting struct {
	Stock    string
	Patterns []struct {
		Count float64
		Cuts  []struct {
			Length figure
			Count  float64
		}
	}
	Layouts []struct {
		Count float64
		Parts []struct {
			X float64 `json:"x_mm"`
			Y float64 `json:"y_mm"`
			W float64 `json:"w_mm"`
			H float64 `json:"h_mm"`
		}
	}
	Proof struct {
		Total, Bound float64
		Proven       bool
	}
	Used []struct {
		Item, Lot string
		Count     figure
	}
	Totals map[string]figure
}

// shares are the sums over the repairs of what each bears of the bid, by kind.
type shares map[string]float64

// is holds a figure against the step that it names, where both are the same
// quantity.
func (a *auditor) is(where string, f figure) {
	a.report.Summed++
	v, ok := a.values[f.Why]
	by, comparable := factor(a.units[f.Why], f.Unit)
	switch {
	case !ok:
		a.report.fault(where, "there is no step %q with a number", f.Why)
	case !comparable:
		a.report.fault(where, "its unit is %q, that of the step %s %q", f.Unit, f.Why, a.units[f.Why])
	case !same(v*by, f.Value):
		a.report.fault(where, "it is %v; the step %s gives %v %s", f.Value, f.Why, v, a.units[f.Why])
	}
}

// adds holds a figure against the sum of others.
func (a *auditor) adds(where string, f, sum float64) {
	a.report.Summed++
	if !same(f, sum) {
		a.report.fault(where, "it is %v; what it is made of adds up to %v", f, sum)
	}
}

func (a *auditor) repair(r *repair) {
	a.repairs = append(a.repairs, r.ID)
	a.steps = r.Derivation
	a.take(r.Derivation)
	a.follow(r.Derivation, r.ID+"/", r.Kit != nil)
	at := "repairs/" + r.ID + "/"
	for _, name := range []string{"reach", "taper", "length", "layers", "passes", "wrap_thickness", "pressure_ceiling"} {
		if f, ok := r.Figures[name]; ok && (name == "length" || a.hasNumber(f.Why)) {
			a.is(at+"figures/"+name, f)
		}
	}
	if from, to := r.Figures["from"], r.Figures["to"]; to.Unit != "" {
		a.adds(at+"figures/to", to.Value, from.Value+r.Figures["length"].Value/1000)
	}
	if r.Kit != nil {
		a.kit(at+"kit/", r)
	}
	if total, ok := r.Cost["total"]; ok {
		sum := 0.0
		for _, kind := range []string{"materials", "labour", "access", "other"} {
			sum += r.Cost[kind].Value
			a.shares[kind] += r.Cost[kind].Value
		}
		a.adds(at+"cost/total", total.Value, sum)
		a.shares["total"] += total.Value
	}
}

// hasNumber tells whether a step is known whose value is a number: one that was
// left out may have none.
func (a *auditor) hasNumber(id string) bool { _, ok := a.values[id]; return ok }

// batches holds the batches of a kit against what is needed, and the parts weighed
// against the batch.
func (a *auditor) batches(at string, r *repair) {
	mass := 0.0
	for i, b := range r.Kit.Batches {
		mass += b.Mass.Value - b.Waste.Value
		a.is(fmt.Sprintf("%sbatches/%d/use_within", at, i+1), b.UseWithin)
		weighed, all := 0.0, len(b.Packs) > 0
		for j, p := range b.Packs {
			if p.Resin == nil || p.Hardener == nil {
				all = false
				continue
			}
			weighed += (p.Resin.Value + p.Hardener.Value) / 1000
			if p.Hardener.Value > 0 {
				a.is(fmt.Sprintf("%sbatches/%d/packs/%d/hardener", at, i+1, j+1), *p.Hardener)
			}
		}
		a.report.Summed++
		if weighed > b.Mass.Value+1e-6 || all && math.Abs(weighed-b.Mass.Value) > 1e-6 {
			a.report.fault(fmt.Sprintf("%sbatches/%d", at, i+1), "resin and hardener weighed are %v kg, the batch is %v", weighed, b.Mass.Value)
		}
	}
	for _, s := range r.Derivation {
		if s.Rule == "mix.batches" && len(r.Kit.Batches) > 0 {
			a.report.Summed++
			if need := s.values()["m"]; math.Abs(mass-need) > 1e-6*float64(len(r.Kit.Batches)+1) { // weighed in milligrams
				a.report.fault(at+"batches", "they are %v kg in all without what is left over; %v are needed", mass, need)
			}
			if n, _ := number(s.Value); int(n) != len(r.Kit.Batches) {
				a.report.fault(at+"batches", "there are %d, not %v", len(r.Kit.Batches), n)
			}
		}
	}
}

func (a *auditor) kit(at string, r *repair) {
	for _, l := range r.Kit.Lines {
		a.is(at+"lines/"+l.Item, l.Issued)
	}
	a.pieces(at, r.Kit.Pieces)
	a.batches(at, r)
	a.is(at+"mass", r.Kit.Mass)
	a.is(at+"time", r.Kit.Time)
	a.is(at+"prepared", r.Kit.Prepared)
}

func (a *auditor) pieces(at string, list []piece) {
	for i, p := range list {
		for _, f := range []*figure{p.Length, p.Along, p.Round} {
			if f != nil {
				a.is(fmt.Sprintf("%spieces/%d", at, i+1), *f)
			}
		}
	}
}

// total checks what stands behind the repairs.
func (a *auditor) total() {
	c := a.campaign
	a.steps = c.Derivation
	a.take(c.Derivation)
	a.follow(c.Derivation, "campaign/", true)
	for i, is := range c.Issues {
		a.is(fmt.Sprintf("issues/%d %s", i+1, is.Item), is.Issued)
	}
	for _, s := range c.Spares {
		a.pieces(fmt.Sprintf("spares/crew%d/", s.Crew), s.Pieces)
	}
	if c.Rolls != nil {
		a.is("rolls/after", c.Rolls.After)
		a.adds("rolls/before", c.Rolls.Before.Value, a.inputOf(c.Rolls.After.Why, "before"))
		a.adds("rolls/bound", c.Rolls.Bound.Value, a.inputOf(c.Rolls.After.Why, "bound"))
	}
	for i := range c.Cutting {
		a.cutting(&c.Cutting[i])
	}
	a.orders()
	a.bid()
}

func (a *auditor) cutting(c *cutting) {
	at := "cutting/" + c.Stock + "/"
	used, taken, pieces, cut := 0.0, 0.0, 0.0, 0.0
	for _, u := range c.Used {
		used += u.Count.Value
		if u.Lot == "" {
			a.is(at+"used/"+u.Item, figure{u.Count.Value, a.units["campaign/cut/"+u.Item], "campaign/cut/" + u.Item})
		}
	}
	for _, p := range c.Patterns {
		taken += p.Count
		for _, k := range p.Cuts {
			pieces += p.Count * k.Count
			cut += p.Count * k.Count * k.Length.Value
		}
	}
	for _, l := range c.Layouts {
		taken += l.Count
		pieces += l.Count * float64(len(l.Parts))
		for i, p := range l.Parts {
			cut += l.Count * p.W * p.H
			for _, q := range l.Parts[:i] {
				if p.X < q.X+q.W && q.X < p.X+p.W && p.Y < q.Y+q.H && q.Y < p.Y+p.H {
					a.report.fault(at+"layouts", "two pieces lie one over the other at %v, %v mm", p.X, p.Y)
				}
			}
		}
	}
	a.adds(at+"used", used, taken)
	a.adds(at+"totals/pieces", c.Totals["pieces"].Value, pieces)
	a.adds(at+"totals/cut", c.Totals["cut"].Value, cut)
	a.report.Summed++
	if c.Proof.Bound > c.Proof.Total*(1+near) || c.Proof.Proven && !same(c.Proof.Bound, c.Proof.Total) {
		a.report.fault(at+"proof", "a total of %v with a bound of %v, proven: %v", c.Proof.Total, c.Proof.Bound, c.Proof.Proven)
	}
}

func (a *auditor) orders() {
	charged := map[string]float64{}
	for _, o := range a.campaign.Offcuts {
		a.is("offcuts/"+o.Lot, o.Stock)
		charged["stock"] += o.Stock.Value
	}
	for _, o := range a.campaign.Order {
		at := "order/" + o.Item + "/"
		a.is(at+"issued", o.Issued)
		a.is(at+"needed", o.Needed)
		bought := 0.0
		for i, l := range o.Lines {
			a.is(fmt.Sprintf("%sline%d/packs", at, i+1), l.Packs)
			a.is(fmt.Sprintf("%sline%d/cost", at, i+1), l.CostBase)
			bought += l.Packs.Value * a.inputOf(l.Packs.Why, "pack")
		}
		for line, f := range map[string]*figure{"materials": o.Charged.Bought, "stock": o.Charged.Stock, "tools": o.Charged.Tool} {
			if f != nil {
				a.is(at+"charged/"+line, *f)
				charged[line] += f.Value
			}
		}
		if len(o.Lines) > 0 {
			a.adds(at+"excess", o.Excess.Value, bought-o.Needed.Value)
		}
	}
	for line, sum := range charged {
		a.adds("order, charged as "+line, a.values["campaign/bid/"+line], sum)
	}
}

// inputOf is an input of a step of the campaign.
func (a *auditor) inputOf(id, symbol string) float64 {
	for i := range a.steps {
		if a.steps[i].ID == id {
			return a.steps[i].values()[symbol]
		}
	}
	return 0
}

func (a *auditor) bid() {
	b := &a.campaign.Bid
	for _, l := range b.Lines {
		a.is("bid/lines/"+l.Code, l.Amount)
	}
	a.is("bid/direct", b.Direct)
	a.is("bid/before_tax", b.Net)
	a.is("bid/total", b.Total)
	a.is("bid/low", b.Low)
	a.is("bid/high", b.High)
	a.is("bid/crew_shifts", b.CrewShifts)
	a.report.Summed++
	if b.Low.Value > b.Net.Value || b.High.Value < b.Net.Value {
		a.report.fault("bid", "the bid %v does not lie between %v and %v", b.Net.Value, b.Low.Value, b.High.Value)
	}
	if len(a.shares) > 0 {
		a.adds("repairs/cost/total", a.shares["total"], b.Total.Value)
		for kind, step := range map[string]string{"materials": "campaign/bid/stage-materials", "labour": "campaign/bid/labour", "access": "campaign/bid/access-repairs"} {
			if v, ok := a.values[step]; ok {
				a.adds("repairs/cost/"+kind, a.shares[kind], v)
			}
		}
	}
}
