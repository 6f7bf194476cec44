package kit

import (
	"wraptally/estimate/design"
	"wraptally/estimate/trace"
)

// sense asks about a kit that is more than one crew carries, lays or finishes in
// a shift: each with its number.
func (p *Packer) sense(k *Kit, log *trace.Log) {
	rolls := 0
	for _, r := range k.Rolls {
		rolls += r.Count
	}
	shift := p.set.ShiftHours * 60 * p.set.Productive
	for _, f := range []design.Finding{
		{Code: "kit-heavy", Name: "weight of the kit", Found: k.Mass, Limit: p.set.KitAsk, Unit: "kg",
			Advice: "check the repair, and plan how the kit gets there"},
		{Code: "rolls-many", Name: "rolls of wrap in one repair", Found: float64(rolls), Limit: float64(p.set.RollsAsk), Unit: "rolls",
			Advice: "check the layers, and have the laying planned over several shifts with the maker of the wrap"},
		{Code: "longer-than-shift", Name: "time for the repair against the productive part of a shift", Found: k.Minutes, Limit: shift, Unit: "min",
			Advice: "plan where the work may be broken off: never with a soaked roll, a mixed batch or a seal that is not drawn"},
	} {
		if f = design.Sense(f, design.Show(log, "check/"+f.Code, map[string]trace.Origins{"found": {trace.Words("this kit")}, "most": {trace.Words("settings limit.kit_mass, limit.rolls, crew.…")}})); !f.OK {
			k.ask(f.Code, trace.WithUnit(f.Found, f.Unit), f.Name+": the limit is "+trace.WithUnit(f.Limit, f.Unit), f.Advice)
		}
	}
}
