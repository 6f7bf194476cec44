package kit

import (
	"cmp"
	"math"
	"slices"

	"wraptally/catalog"
	"wraptally/estimate/design"
	"wraptally/estimate/gate"
	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

// judged is a line of the gate and the defect whose number it is of.
type judged struct {
	gate.Line
	of *survey.Defect
}

// gate judges whether the leaks of the repair may be sealed under pressure, and
// asks or stops where they may not. What the survey leaves blank in many rows is
// asked once for all of them, see scope.Assumptions; its line still asks.
func (p *Packer) gate(k *Kit) {
	if len(k.Net.Seals) == 0 {
		return
	}
	for _, l := range p.gateLines(k) {
		k.Gate = append(k.Gate, l.Line)
		if l.Verdict == gate.MayGoOn || l.Code == "" {
			continue
		}
		sev := trace.Ask
		if l.Verdict == gate.NotByThisMethod {
			sev = trace.Stop
		}
		k.Queries = append(k.Queries, trace.Query{
			Code: l.Code, Severity: sev, Message: "live-leak gate: " + l.String(), Advice: l.Advice,
			Row: l.of.ID, Repair: k.Repair.ID, Place: trace.Place{Line: l.of.Line0},
		})
	}
}

func (p *Packer) gateLines(k *Kit) []judged {
	r := k.Repair
	first := r.Patches[0].Defects[0]
	live := theWorst(leaksOf(r), func(d *survey.Defect) survey.Num { return d.LivePressure }, false)
	designed := theWorst(r.Defects, func(d *survey.Defect) survey.Num { return d.Pressure }, true)
	lines := []judged{p.pressed(k, live), p.liveLine(live, designed), {p.medium(r), first}}

	// Laying and service temperatures against every product.
	none := func(product string) judged { // the kit is stopped by a query of its own
		return judged{gate.Line{Name: "laying, " + product, Verdict: gate.NotByThisMethod, Said: "none fits temperature and surface",
			Advice: "change the temperature of the work or the product", Source: "product data of the catalogue"}, r.Hottest}
	}
	if sealant := k.Net.Seals[0].Sealant; sealant == nil {
		lines = append(lines, none("sealant"))
	} else {
		lines = append(lines, p.product(r, "sealant", sealant.TempMin, sealant.TempMax, sealant.Service, sealant.Surface)...)
	}
	if packs, _, _ := p.c.PuttyNamed(k.Net.Putty.Name); len(packs) == 0 {
		lines = append(lines, none("putty"))
	} else {
		lines = append(lines, p.product(r, "putty", packs[0].TempMin, packs[0].TempMax, packs[0].Service, packs[0].Surface)...)
	}
	if k.Tape != nil && len(k.Tape.Rolls) > 0 {
		wrap := k.Tape.Rolls[0]
		lines = append(lines, p.product(r, "wrap", wrap.TempMin, wrap.TempMax, wrap.Service, wrap.Surface)...)
	}
	return append(lines, p.seat(r, live))
}

// product is the lines of one product: whether it may be laid at the
// temperatures of the work, serves at the design temperature, and bears the
// state of the surface.
//
// Where a temperature is blank the whole of its range counts, whichever end is
// ordered: where the worst of it fails the line asks, and where all of it does,
// or a neighbour's known temperature, it fails as a known one would.
func (p *Packer) product(r *scope.Repair, name string, low, high, service float64, surface string) []judged {
	const source = "product data of the catalogue"
	serves := gate.Line{Code: "gate-service", Name: "service, " + name, Found: design.Known(math.Inf(-1)), Limit: design.Num{V: service, OK: service != 0}, Unit: "°C",
		Advice: "use another product, or have the temperature confirmed", Source: source}
	laidBest, servesBest := design.Known(math.Inf(1)), serves
	var laid gate.Line
	layOf, serveOf := r.Defects[0], r.Defects[0]
	for i, d := range r.Defects {
		cold, hot := scope.SurfaceTemps(d, p.set)
		l := gate.Line{Code: "gate-laying", Name: "laying, " + name, Unit: "°C", Advice: "change the temperature of the work or the product", Source: source}
		if high-hot < cold-low {
			l.Found, l.Limit = design.Known(hot), design.Known(high)
			l = gate.AtMost(l)
		} else {
			l.Found, l.Limit = design.Known(cold), design.Known(low)
			l = gate.AtLeast(l)
		}
		if i == 0 || l.Margin.V < laid.Margin.V {
			laid, layOf = l, d
		}
		kindest := math.Max(cold, math.Min(hot, (low+high)/2))
		laidBest.V = math.Min(laidBest.V, math.Min(high-kindest, kindest-low))
		least, most := scope.DesignTemps(d, p.set)
		if most > serves.Found.V {
			serves.Found.V, serveOf = most, d
		}
		servesBest.Found.V = math.Max(servesBest.Found.V, least)
	}
	grade := gate.Line{Code: "gate-surface", Name: "surface, " + name, Said: string(r.Surface) + ", the product is for " + cmp.Or(surface, "NOT KNOWN"),
		Advice: "have the place dried, or use a product for it", Source: source}
	switch {
	case surface == "":
		grade.Verdict = gate.Ask
	case !catalog.Bears(surface, string(r.Surface)):
		grade.Verdict = gate.NotByThisMethod
	default:
		grade.Advice = ""
	}
	return []judged{
		{assumed(laid, laidBest.V >= 0, r.Blank.Has("surface_temp")), layOf},
		{assumed(gate.AtMost(serves), gate.AtMost(servesBest).Verdict != gate.NotByThisMethod, r.Blank.Has("design_temp")), serveOf},
		{grade, r.Defects[max(0, slices.IndexFunc(r.Defects, func(d *survey.Defect) bool { return d.Surface == r.Surface }))]},
	}
}

// assumed is the line of the worst of a range, where there is one: what fails
// there and not at the best of it may not fail, and asks.
func assumed(worst gate.Line, bestPasses, ranged bool) gate.Line {
	if ranged {
		worst.Name += " (ASSUMED, measure)"
		if worst.Verdict == gate.NotByThisMethod && bestPasses {
			worst.Verdict = gate.Ask
		}
	}
	return worst
}

// said is the worst of a number over some defects, of those that say it.
type said struct {
	worst  design.Num
	of     *survey.Defect // that with the worst, else the first
	silent *survey.Defect // the first that does not say it; nil where all do
}

// theWorst is the greatest of a number over defects, or the least.
func theWorst(defects []*survey.Defect, number func(*survey.Defect) survey.Num, least bool) said {
	out := said{of: defects[0]}
	for _, d := range defects {
		n := number(d)
		switch {
		case !n.OK:
			if out.silent == nil {
				out.silent = d
			}
		case !out.worst.OK, least && n.V < out.worst.V, !least && n.V > out.worst.V:
			out.worst, out.of = design.Num(n), d
		}
	}
	return out
}

// all is the worst where every defect says the number.
func (s said) all() design.Num {
	if s.silent != nil {
		return design.Num{}
	}
	return s.worst
}

// leaksOf are the leaks of a repair.
func leaksOf(r *scope.Repair) (out []*survey.Defect) {
	for i := range r.Patches {
		out = append(out, r.Patches[i].Defects...)
	}
	return out
}

// liveLine holds the live pressure against the design pressure. What is known
// may fail; that a neighbour does not say it never makes it better, and where
// nothing that is known fails, the silence is asked, once for all rows. The end
// of the range of a design pressure that asks for more wrap would be the one at
// which this line lets more through: no range is taken.
func (p *Packer) liveLine(live, designed said) judged {
	line := func(found, limit design.Num) gate.Line {
		return gate.AtMost(gate.Line{Code: "gate-live", Name: "live against design pressure", Found: found, Limit: limit, Unit: "MPa",
			Advice: "lower the pressure for the work, or have a higher design pressure confirmed", Source: "by definition"})
	}
	l := line(live.worst, designed.worst)
	if l.Verdict != gate.NotByThisMethod && (live.silent != nil || designed.silent != nil) {
		l = line(live.all(), designed.all())
		l.Code = "" // asked once for all rows
		if designed.silent != nil {
			l.Advice = "say what the design pressure of each leak is"
		}
	}
	return judged{l, live.of}
}

// seat holds the thinnest wall under the bands against that which the pressure
// during the work needs. Where a leak does not say its live pressure the line asks
// when the wall would not do for the greatest design pressure, which may be in
// the pipe.
func (p *Packer) seat(r *scope.Repair, live said) judged {
	wall := theWorst(leaksOf(r), func(d *survey.Defect) survey.Num { return d.SeatWall }, true)
	stress, most := math.Inf(1), live.worst.V
	for _, d := range leaksOf(r) { // blanks at the hard ends of their ranges, whichever is ordered
		stress = math.Min(stress, d.Stress.Or(p.set.PipeStress))
		most = math.Max(most, d.LivePressure.Or(d.Pressure.Or(p.set.PressureHigh)))
	}
	line := func(found design.Num, pressure float64) gate.Line {
		least := math.Max(p.set.GateSeat, pressure*r.OD/(2*stress))
		return gate.AtLeast(gate.Line{Code: "gate-seat", Name: "wall under the bands", Found: found, Limit: design.Known(least), Unit: "mm",
			Advice: "choose another seat for the bands, or another method", Source: "thin-walled cylinder, derived; least wall: common practice, no source"})
	}
	l := line(wall.worst, live.worst.V)
	switch {
	case l.Verdict == gate.NotByThisMethod:
	case wall.silent != nil:
		l = line(wall.all(), live.worst.V)
		l.Code = "" // asked once for all rows
	case live.silent != nil:
		if at := line(wall.worst, most); at.Verdict == gate.NotByThisMethod {
			l, l.Verdict = at, gate.Ask
			l.Name += " (live pressure ASSUMED, measure)"
		}
	}
	return judged{l, wall.of}
}

// pressed is the line of the set whose bands press least against the live
// pressure.
func (p *Packer) pressed(k *Kit, live said) judged {
	least := design.Num{}
	for i := range k.Net.Seals {
		c := k.Net.Seals[i].Contact
		if !c.OK {
			return judged{gate.Line{Code: "gate-bands", Verdict: gate.Ask, Name: "bands against live pressure", Unit: "MPa", Limit: live.all(),
				Advice: "give the tension of the fastener in the catalogue", Source: "product data of the catalogue"}, live.of}
		}
		if !least.OK || c.V < least.V {
			least = c
		}
	}
	l := gate.Pressed(least.V, live.worst, p.set.GateFactor)
	if l.Verdict != gate.NotByThisMethod && live.silent != nil {
		l = gate.Pressed(least.V, live.all(), p.set.GateFactor)
		l.Code = "" // asked once for all rows
	}
	return judged{l, live.of}
}

// medium is the worst verdict of the classes of what leaks. The repair has asked
// about it already.
func (p *Packer) medium(r *scope.Repair) gate.Line {
	l := gate.Line{Name: "medium", Source: "table media_classes"}
	for i, class := range r.Media {
		if i > 0 {
			l.Said += ", "
		}
		l.Said += class
		switch p.c.MediaClassOf(class).Leak {
		case "ask":
			l.Verdict = max(l.Verdict, gate.Ask)
		case "stop":
			l.Verdict = gate.NotByThisMethod
		}
	}
	if l.Verdict != gate.MayGoOn {
		l.Advice = "a qualified person decides"
	}
	return l
}
