package kit

import (
	"slices"
	"sort"
	"strconv"

	"wraptally/catalog"
	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

// Applies reports whether a rule's condition holds for a repair: always, leak,
// no-leak, hazardous, not-hazardous, removal, wet.
func Applies(when string, r *scope.Repair, removal bool) bool {
	switch when {
	case "always":
		return true
	case "leak":
		return r.Leaking
	case "no-leak":
		return !r.Leaking
	case "hazardous":
		return r.Hazardous
	case "not-hazardous":
		return !r.Hazardous
	case "removal":
		return removal
	case "wet":
		return r.Surface == survey.Wet || r.Surface == survey.Submerged
	}
	return false
}

// Drivers are what rules multiply: counts of one repair.
func (k *Kit) driver(per string) (n float64, ok bool) {
	switch per {
	case "repair", "kit":
		return 1, true
	case "leak":
		return float64(len(k.Net.Seals)), true
	case "m2":
		return k.Net.Prep, true
	case "batch":
		return float64(len(k.Putty.Batches)), true
	case "roll":
		n := 0
		for _, r := range k.Rolls {
			n += r.Count
		}
		return float64(n), true
	case "pass":
		return float64(k.Repair.Passes), true
	case "stick":
		n := 0
		for _, s := range k.Sticks {
			n += s.Count
		}
		return float64(n), true
	case "band":
		n := 0
		for i := range k.Net.Seals {
			n += k.Net.Seals[i].Fasteners()
		}
		return float64(n), true
	case "tack-minute":
		return k.Tack, true
	}
	return 0, false
}

// Asked reports whether a rule of the table consumables holds for a repair: by its
// condition, and by what flows in the pipe. What is not known may be of any class,
// and takes what each of them says.
func Asked(rule *catalog.Consumable, r *scope.Repair, removal bool) bool {
	return Applies(rule.When, r, removal) &&
		(rule.Class == "" || slices.Contains(r.Media, rule.Class) || slices.Contains(r.Media, scope.UnknownMedium))
}

// consumables applies the rules that count by the repair, then rounds up what
// is issued whole with the kit. Rules by crew-shift, crew and campaign are
// applied when the campaign is planned.
func (p *Packer) consumables(k *Kit, log *trace.Log) {
	removal := p.set.Removal == "yes"
	for _, c := range p.rules {
		n, ok := k.driver(c.rule.Per)
		if !ok || n == 0 || !Asked(c.rule, k.Repair, removal) {
			continue
		}
		k.add(c.item, n*c.rule.Qty, Ask{per: c.rule.Per})
		log.Add(func() trace.Step {
			return trace.Step{
				ID: "rule/" + c.rule.Item + "/" + c.rule.Per + "/" + c.rule.When + c.rule.Class, Name: c.item.Name + ", per " + c.rule.Per, Rule: "kit.consumable", Formula: "q·n",
				Inputs: []trace.Input{
					trace.In("q", "quantity per "+c.rule.Per, c.rule.Qty, c.item.Unit, trace.Table("consumables", c.rule.Item)),
					trace.In("n", "count of: "+c.rule.Per, n, "", trace.Words("this repair")),
				},
				Value: n * c.rule.Qty, Unit: c.item.Unit, Source: "rule of the firm, common practice, no source",
			}
		})
	}
	for i := range k.Lines {
		l := &k.Lines[i]
		l.Qty = l.Net
		if l.Item.Issue == catalog.LevelKit {
			l.Qty = whole(l.Net)
		}
		log.Add(func() trace.Step {
			var asked trace.Sum
			for _, ask := range l.Asks {
				asked.Add("q", "asked for: "+ask.String(), ask.net, l.Item.Unit, ask.origins(k, l.Item.Code)...)
			}
			s := trace.Step{
				ID: "item/" + l.Item.Code, Name: l.Item.Name + ", rounded to whole units for " + catalog.LevelName(l.Item.Issue), Rule: "kit.issue", Formula: asked.Formula(),
				Inputs: asked.Inputs, Raw: l.Net, Value: l.Qty, Unit: l.Item.Unit, Source: "common practice, no source",
			}
			if l.Item.Issue == catalog.LevelKit {
				s.Rounding = "up to whole units with the kit"
			}
			return s
		})
	}
	sort.SliceStable(k.Lines, func(a, b int) bool {
		return p.position[k.Lines[a].Item.Code] < p.position[k.Lines[b].Item.Code]
	})
}

// weigh is the weight of what is issued with the kit. Pieces cut from coil and
// sheet weigh their share of the coil or sheet.
func (p *Packer) weigh(k *Kit, log *trace.Log) {
	for _, l := range k.Lines {
		if l.Item.Issue == catalog.LevelKit {
			k.Mass += l.Qty * l.Item.UnitMass
		}
	}
	goods := k.Mass
	for _, piece := range k.Pieces {
		k.Mass += p.PieceMass(piece)
	}
	log.Add(func() trace.Step {
		return trace.Step{
			ID: "mass", Name: "weight of the kit", Rule: "kit.mass", Formula: "m_goods + m_cut",
			Inputs: []trace.Input{
				trace.In("m_goods", "Σ quantity times unit mass of what is issued with the kit", goods, "kg", trace.StepsUnder("item/"), trace.Table("items", "")),
				trace.In("m_cut", "bands and sheets cut, "+strconv.Itoa(len(k.Pieces))+", each its share of the coil or sheet", k.Mass-goods, "kg", trace.StepsUnder("seal"), trace.Table("items", "")),
			},
			Value: k.Mass, Unit: "kg", Source: "unit masses of the items table",
		}
	})
}

// PieceMass is the share of a piece in the weight of its coil or sheet, kg.
func (p *Packer) PieceMass(piece Piece) float64 {
	if piece.Kind == "band" {
		for i := range p.c.Bands {
			if b := &p.c.Bands[i]; b.Band == piece.Stock {
				if it, ok := p.c.Item(b.Item); ok {
					return it.UnitMass * float64(piece.A) / b.CoilLength
				}
			}
		}
		return 0
	}
	for i := range p.c.Sheets {
		if s := &p.c.Sheets[i]; s.Sheet == piece.Stock {
			if it, ok := p.c.Item(s.Item); ok {
				return it.UnitMass * float64(piece.A) * float64(piece.C) / (s.Width * s.Length)
			}
		}
	}
	return 0
}

// time adds up the tasks that count by the repair: what binds the crew, and what
// it waits for.
func (p *Packer) time(k *Kit, log *trace.Log) {
	removal := p.set.Removal == "yes"
	for i := range p.c.Tasks {
		t := &p.c.Tasks[i]
		n, ok := k.driver(t.Per)
		if !ok || n == 0 || !Applies(t.When, k.Repair, removal) {
			continue
		}
		each, access, warmth := p.taskMinutes(k, t)
		minutes := n * each
		k.Times = append(k.Times, Time{Task: t, Count: n, Minutes: minutes})
		if t.Who == "nobody" {
			k.Waiting += minutes
		} else {
			k.Minutes += minutes
		}
		log.Add(func() trace.Step {
			return trace.Step{
				ID: "time/" + t.Task, Name: t.Name, Rule: "kit.time", Formula: "n·q·f_access·f_T",
				Inputs: []trace.Input{
					trace.In("n", "count of: "+t.Per, n, "", trace.Words("this repair")),
					trace.In("q", "minutes each", t.Minutes, "min", trace.Table("tasks", t.Task)),
					trace.In("f_access", "time factor of the way of access, where it slows the task", access, "", trace.Table("accesses", k.Repair.Access)),
					trace.In("f_T", "of the temperature, where the minutes follow it", warmth, "", trace.Table("tasks", t.Task)),
				},
				Value: minutes, Unit: "min", Source: "task times of the firm",
			}
		})
	}
	k.addTimes(log, "time", "crew time of the repair", "kit.time.total", k.Minutes, false)
	if k.Waiting > 0 {
		k.addTimes(log, "waiting", "time in which the repair sets", "kit.time.waiting", k.Waiting, true)
	}
}

// addTimes records the sum of the tasks that bind the crew, or of those that it
// waits for.
func (k *Kit) addTimes(log *trace.Log, id, name, rule string, sum float64, waits bool) {
	log.Add(func() trace.Step {
		var minutes trace.Sum
		for _, t := range k.Times {
			if (t.Task.Who == "nobody") == waits {
				minutes.Add("t", t.Task.Name, t.Minutes, "min", trace.StepAt("time/"+t.Task.Task))
			}
		}
		return trace.Step{ID: id, Name: name, Rule: rule, Formula: minutes.Formula(), Inputs: minutes.Inputs, Value: sum, Unit: "min", Source: "derived"}
	})
}
