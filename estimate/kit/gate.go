package kit

import (
	"cmp"
	"math"

	"wraptally/catalog"
	"wraptally/estimate/design"
	"wraptally/estimate/gate"
	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

// gate judges whether the leaks of the repair may be sealed under pressure, and
// asks or stops where they may not. What the survey leaves blank in many rows is
// asked once for all of them, see scope.Assumptions; its line still asks.
func (p *Packer) gate(k *Kit) {
	if len(k.Net.Seals) == 0 {
		return
	}
	k.Gate = p.gateLines(k)
	for _, l := range k.Gate {
		if l.Verdict == gate.MayGoOn || l.Code == "" {
			continue
		}
		sev := trace.Ask
		if l.Verdict == gate.NotByThisMethod {
			sev = trace.Stop
		}
		d := k.Repair.Patches[0].Defects[0]
		k.Queries = append(k.Queries, trace.Query{
			Code: l.Code, Severity: sev, Message: "live-leak gate: " + l.String(), Advice: l.Advice,
			Row: d.ID, Repair: k.Repair.ID, Place: trace.Place{Line: d.Line0},
		})
	}
}

func (p *Packer) gateLines(k *Kit) gate.Lines {
	r, set := k.Repair, p.set
	live, designed := design.Num(r.Live), leastDesigned(r.Defects)
	lines := gate.Lines{p.pressed(k, live)}
	if !r.Live.OK {
		lines[0].Code = "" // asked once for all rows
	}
	line := gate.AtMost(gate.Line{Code: "gate-live", Name: "live against design pressure", Found: live, Limit: designed, Unit: "MPa",
		Advice: "lower the pressure for the work, or have a higher design pressure confirmed", Source: "by definition"})
	if !live.OK || !designed.OK {
		line.Code = "" // asked once for all rows
	}
	if !designed.OK {
		line.Advice = "say what the design pressure of each leak is"
	}
	lines = append(lines, line, p.medium(r))

	// Laying and service temperatures against every product.
	putty, _, _ := p.c.PuttyNamed(k.Net.Putty.Name)
	var wrap *catalog.Wrap
	if k.Tape != nil && len(k.Tape.Rolls) > 0 {
		wrap = k.Tape.Rolls[0]
	}
	sealant := k.Net.Seals[0].Sealant
	blank := r.Blank.Has("surface_temp")
	laid := func(name string, low, high float64) {
		margin := math.Min(high-r.SurfaceTemp, r.SurfaceTempLow-low)
		l := gate.AtLeast(gate.Line{Code: "gate-laying", Name: "laying, " + name, Found: design.Known(margin), Limit: design.Known(0), Unit: "°C",
			Advice: "change the temperature of the work or the product", Source: "product data of the catalogue"})
		lines = append(lines, assumed(l, blank))
	}
	serves := func(name string, limit float64) {
		l := gate.AtMost(gate.Line{Code: "gate-service", Name: "service, " + name, Found: design.Known(r.DesignTemp), Limit: design.Num{V: limit, OK: limit != 0}, Unit: "°C",
			Advice: "use another product, or have the temperature confirmed", Source: "product data of the catalogue"})
		lines = append(lines, assumed(l, r.Blank.Has("design_temp")))
	}
	grade := func(name, surface string) {
		l := gate.Line{Code: "gate-surface", Name: "surface, " + name, Said: string(r.Surface) + ", the product is for " + cmp.Or(surface, "NOT KNOWN"),
			Advice: "have the place dried, or use a product for it", Source: "product data of the catalogue"}
		switch {
		case surface == "":
			l.Verdict = gate.Ask
		case !catalog.Bears(surface, string(r.Surface)):
			l.Verdict = gate.NotByThisMethod
		default:
			l.Advice = ""
		}
		lines = append(lines, l)
	}
	if sealant != nil {
		laid("sealant", sealant.TempMin, sealant.TempMax)
		serves("sealant", sealant.Service)
		grade("sealant", sealant.Surface)
	}
	if len(putty) > 0 {
		laid("putty", putty[0].TempMin, putty[0].TempMax)
		serves("putty", putty[0].Service)
		grade("putty", putty[0].Surface)
	}
	if wrap != nil {
		laid("wrap", wrap.TempMin, wrap.TempMax)
		serves("wrap", wrap.Service)
		grade("wrap", wrap.Surface)
	}
	least := set.GateSeat
	if live.OK && r.Stress > 0 {
		least = math.Max(least, live.V*r.OD/(2*r.Stress))
	}
	seat := gate.AtLeast(gate.Line{Code: "gate-seat", Name: "wall under the bands", Found: design.Num(r.SeatWall), Limit: design.Known(least), Unit: "mm",
		Advice: "choose another seat for the bands, or another method", Source: "thin-walled cylinder, derived; least wall: common practice, no source"})
	if !r.SeatWall.OK {
		seat.Code = ""
	}
	return append(lines, seat)
}

// leastDesigned is the least design pressure of the defects; not known where any
// is not. The end of its range that asks for more wrap would be the one at which
// this gate lets more through.
func leastDesigned(defects []*survey.Defect) design.Num {
	least := design.Known(math.Inf(1))
	for _, d := range defects {
		if !d.Pressure.OK {
			return design.Num{}
		}
		least.V = math.Min(least.V, d.Pressure.V)
	}
	return least
}

// pressed is the line of the set whose bands press least against the live
// pressure.
func (p *Packer) pressed(k *Kit, live design.Num) gate.Line {
	least := design.Num{}
	for i := range k.Net.Seals {
		c := k.Net.Seals[i].Contact
		if !c.OK {
			return gate.Line{Code: "gate-bands", Verdict: gate.Ask, Name: "bands against live pressure", Unit: "MPa", Limit: live,
				Advice: "give the tension of the fastener in the catalogue", Source: "product data of the catalogue"}
		}
		if !least.OK || c.V < least.V {
			least = c
		}
	}
	return gate.Pressed(least.V, live, p.set.GateFactor)
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

// assumed is a line whose number was taken for a blank: what fails may not be so.
func assumed(l gate.Line, blank bool) gate.Line {
	if blank {
		l.Name += " (ASSUMED, measure)"
		if l.Verdict == gate.NotByThisMethod {
			l.Verdict = gate.Ask
		}
	}
	return l
}
