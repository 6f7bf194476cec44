package estimate

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"wraptally/catalog"
	"wraptally/estimate/kit"
	"wraptally/estimate/learn"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
	"wraptally/estimate/used"
)

// Lesson is what the repairs that are done say of one number of the catalogue.
type Lesson struct {
	Table, Key, Column string // where the number stands: the rows of that key; no table where none stands for it alone
	Name, Unit         string
	Was, Now           float64 // of the first of the rows; 0 without a table
	learn.Factor
	Stays string // why the number is not to be changed by it; blank where it may
}

// Lessons are what came back from a campaign.
type Lessons struct {
	Kits      int      // of the campaign that tell something
	Blank     int      // rows that nobody filled in
	Found     []string // repairs that were done and are not of the campaign
	Unplanned []string // used in a kit in whose plan it does not stand
	Swapped   []string // replaced by something else: what was used of it says nothing
	List      []Lesson // by table and row, those of no table last
}

// thing is what a lesson is about, and pupil what is gathered for it.
type thing struct{ record, code string }

type pupil struct {
	name, unit string
	byRule     bool // the item is asked for by nothing but rules for consumables
	seen       []learn.Seen
}

// Learn holds what was used against what the campaign planned. What was spoilt or
// lost counts as used: it has to be there. A row that nobody filled in says nothing.
// An error says which setting of learn is out of its range.
func (p *Campaign) Learn(rows []catalog.UsedRow) (*Lessons, error) {
	out := &Lessons{}
	told, pupils := map[string]bool{}, map[thing]*pupil{}
	jobs := make(map[string]*Job, len(p.Jobs))
	for i := range p.Jobs {
		jobs[p.Jobs[i].Repair.ID] = &p.Jobs[i]
	}
	slices.SortStableFunc(rows, func(a, b catalog.UsedRow) int { return cmp.Compare(a.Kit, b.Kit) }) // whatever the order of the files
	var plan map[thing]planned
	planOf := (*Job)(nil)
	for i := range rows {
		r := &rows[i]
		j := jobs[r.Kit]
		switch {
		case j == nil && (r.Used != "" || r.Damaged.Valid) && !slices.Contains(out.Found, r.Kit):
			out.Found = append(out.Found, r.Kit)
			continue
		case j == nil || r.Record == used.Work:
			continue
		case j != planOf:
			plan, planOf = p.plannedOf(p.Kit(j)), j
		}
		of := thing{r.Record, r.Code}
		was, known := plan[of]
		spoilt, _ := r.Damaged.Decimal.Float64()
		quantity := r.Value + spoilt
		switch {
		case r.Substitute != "":
			out.Swapped = append(out.Swapped, r.Kit+": "+r.Code+" by "+r.Substitute)
			continue
		case !r.Known && !r.Damaged.Valid:
			out.Blank++
			continue
		case !r.Known && r.Record == used.Item: // what was spoilt is said, what was used is not
			out.Blank++
			continue
		case !known || was.quantity == 0:
			if quantity > 0 && r.Record != used.Measured {
				out.Unplanned = append(out.Unplanned, r.Kit+": "+trace.WithUnit(quantity, r.Unit)+" of "+r.Code)
			}
			continue
		}
		told[r.Kit] = true
		if pupils[of] == nil {
			pupils[of] = &pupil{name: was.name, unit: was.unit, byRule: true}
		}
		pupils[of].byRule = pupils[of].byRule && was.byRule
		pupils[of].seen = append(pupils[of].seen, learn.Seen{Of: r.Kit, Planned: was.quantity, Used: quantity})
	}
	out.Kits = len(told)
	return out, p.conclude(out, pupils)
}

// planned is what a kit's plan says of a thing.
type planned struct {
	name, unit string
	quantity   float64
	byRule     bool
}

// plannedOf is the plan of a kit as its sheet shows it, in the units in which it is
// issued: what is rounded up to whole pieces is no waste.
func (p *Campaign) plannedOf(kt *kit.Kit) map[thing]planned {
	plan := map[thing]planned{}
	for i := range kt.Lines {
		l := &kt.Lines[i]
		plan[thing{used.Item, l.Item.Code}] = planned{l.Item.Name, l.Item.Unit, l.Qty, l.ByRule()}
	}
	for _, t := range kt.Times {
		plan[thing{used.Task, t.Task.Task}] = planned{t.Task.Name, "min", used.Shown(used.Task, t.Task.Task, t.Minutes), true}
	}
	r := kt.Repair
	for _, m := range used.Measures {
		v := map[string]float64{used.Wall: survey.Together(r.Defects).Remaining.Or(0), used.Layers: float64(r.Layers), used.Length: r.Length, used.Thickness: r.WrapThickness}[m.Code]
		plan[thing{used.Measured, m.Code}] = planned{m.Name, m.Unit, used.Shown(used.Measured, m.Code, v), true}
	}
	return plan
}

// conclude makes the lessons of what was gathered.
func (p *Campaign) conclude(out *Lessons, pupils map[thing]*pupil) error {
	set := p.Catalog.Settings
	model := learn.Model{Weight: set.LearnWeight, Spread: set.LearnSpread / 100, Certainty: set.LearnCertainty / 100, Odd: set.LearnOdd / 100}
	for _, of := range slices.SortedFunc(maps.Keys(pupils), func(a, b thing) int {
		return cmp.Or(cmp.Compare(a.record, b.record), cmp.Compare(a.code, b.code))
	}) {
		from := pupils[of]
		f, err := model.Factor(from.seen)
		if err != nil {
			return fmt.Errorf("%s %s: %w", of.record, of.code, err)
		}
		l := Lesson{Name: from.name, Unit: from.unit, Factor: f, Key: of.code}
		p.placeOf(&l, of, from.byRule)
		l.Now = l.Was * l.Mean
		out.List = append(out.List, l)
	}
	if out.Kits > 0 {
		f, err := model.Share(set.Growth/100, len(out.Found), out.Kits)
		if err != nil {
			return fmt.Errorf("order.growth: %w", err)
		}
		l := Lesson{Table: "settings", Key: "order.growth", Column: "value", Name: "repairs found after the survey", Unit: "%", Was: set.Growth, Now: 100 * f.Mean, Factor: f}
		if len(out.Found) == 0 { // the sheet comes with the kits that were planned: silence is not none
			l.Stays = "nobody told of a repair found after the survey, or that there was none to find: add its rows under a new name of a kit"
		}
		out.List = append(out.List, l)
	}
	last := func(l Lesson) string { return cmp.Or(l.Table, "~") }
	slices.SortStableFunc(out.List, func(a, b Lesson) int { return cmp.Compare(last(a), last(b)) })
	return nil
}

// placeOf says where the number that a lesson is about stands, and whether it may
// follow.
func (p *Campaign) placeOf(l *Lesson, of thing, byRule bool) {
	switch of.record {
	case used.Task:
		l.Table, l.Column = "tasks", "minutes"
		for i := range p.Catalog.Tasks {
			if t := &p.Catalog.Tasks[i]; t.Task == of.code {
				l.Was, l.Unit = t.Minutes, "min/"+t.Per
				if t.Who == "nobody" || kit.Instructs(t.Task) {
					l.Stays = "the product or the procedure asks for these minutes, however long was waited"
				}
			}
		}
	case used.Item:
		if !byRule {
			l.Stays = "no number of the catalogue stands for it alone: what is planned follows sizes, layers, packs and rolls"
			return
		}
		l.Table, l.Column = "consumables", "qty"
		for i := range p.Catalog.Consumables {
			if c := &p.Catalog.Consumables[i]; c.Item == of.code {
				l.Was, l.Unit = c.Qty, l.Unit+"/"+c.Per
				break
			}
		}
	case used.Measured:
		l.Stays = "how far what is found is from the survey: for the table spreads, by which a range is drawn"
	}
}
