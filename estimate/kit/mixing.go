package kit

import (
	"math"
	"strconv"

	"wraptally/catalog"
	"wraptally/estimate/mix"
	"wraptally/estimate/trace"
)

// recipe is how one putty is mixed at one temperature; err says why it is not.
type recipe struct {
	packs   []*catalog.Putty
	card    mix.Card
	largest float64 // kg
	planner *mix.Planner
	life    *mix.Life
	err     error
}

type recipeKey struct {
	putty string
	temp  float64
}

// maxRecipes bounds what is remembered: a survey may give every repair another
// temperature.
const maxRecipes = 4096

// putty plans the batches of the kit at the hotter of air and pipe and puts the
// packs into it.
func (p *Packer) putty(k *Kit, log *trace.Log) {
	need := k.Net.Putty
	if need.Name == "" || need.Mass <= 0 {
		return // a Stop says why
	}
	temp := k.Repair.PotTemp
	r := p.recipe(need.Name, temp)
	if r.err != nil {
		k.stop("mix-no-time", trace.WithUnit(temp, "°C"), r.err.Error(), "add points to the putty_lives table")
		return
	}
	mixing := under(log, "mix/")
	if mixing.On() {
		_, _ = r.life.Most(temp, r.card, mixing) // again, for its steps
	}
	plan, err := r.planner.Plan(need.Mass, mixing)
	if err != nil {
		k.stop("mix-packs", trace.WithUnit(need.Mass, "kg"), err.Error(), "check the packs of the putties table")
		return
	}
	k.Putty = Mixing{Temp: temp, Largest: r.largest, Waste: plan.Waste}
	for _, left := range plan.Left {
		k.Putty.Left = append(k.Putty.Left, Left{r.packs[left.Pack], left.Mass})
	}
	for i, b := range plan.Batches {
		out := Batch{Mass: b.Mass, Minutes: p.usableMinutes(r, need.Name, b.Mass, temp, i+1, mixing), Waste: b.Waste}
		for j, part := range b.Portions {
			pack := r.packs[part.Pack]
			count := float64(part.Packs)
			if part.Packs == 0 {
				count = part.Mass / pack.Pack
			}
			packs := Packs{Putty: pack, Count: count, Mass: part.Mass, Weighed: part.Packs == 0, Open: part.Open}
			if packs.Weighed {
				packs.Resin, packs.Hardener = p.scale(pack).Parts(part.Mass)
				if pack.Ratio() > 0 {
					mixing.Add(func() trace.Step { return p.hardenerStep(&packs, i+1, j+1) })
				}
			}
			out.Packs = append(out.Packs, packs)
		}
		k.Putty.Batches = append(k.Putty.Batches, out)
	}
	join(log, mixing)
	for i, n := range plan.Packs {
		it, ok := p.c.Item(r.packs[i].Item)
		if n == 0 || !ok {
			continue
		}
		if it.Issue != catalog.LevelKit && r.packs[i].Splittable {
			// Opened packs are shared: the kit asks for what it weighs out, and the
			// crew's shift is issued the packs.
			k.add(it, k.Putty.weighed(r.packs[i])/r.packs[i].Pack, forPutty)
			continue
		}
		k.add(it, float64(n), forPutty)
	}
}

// weighed is the mass, in kg, weighed out of packs of a size.
func (m *Mixing) weighed(pack *catalog.Putty) float64 {
	sum := 0.0
	for _, b := range m.Batches {
		for _, part := range b.Packs {
			if part.Putty == pack && part.Weighed {
				sum += part.Mass
			}
		}
	}
	return sum
}

// Minutes are those in which a batch of a kit, in kg, is to be used from the end
// of mixing at other temperatures of air and pipe, °C, given from cold to hot.
func (p *Packer) Minutes(k *Kit, mass float64, temps []float64) []mix.Line {
	r := p.recipe(k.Net.Putty.Name, k.Putty.Temp)
	return r.life.Table(mass, temps, r.card)
}

// recipe is remembered: temperatures and putties repeat from repair to repair.
func (p *Packer) recipe(putty string, temp float64) *recipe {
	key := recipeKey{putty, temp}
	p.mu.Lock()
	defer p.mu.Unlock()
	if r, ok := p.recipes[key]; ok {
		return r
	}
	if len(p.recipes) >= maxRecipes {
		clear(p.recipes)
	}
	r := p.newRecipe(putty, temp)
	p.recipes[key] = r
	return r
}

func (p *Packer) newRecipe(putty string, temp float64) *recipe {
	packs, lives, _ := p.c.PuttyNamed(putty)
	r := &recipe{packs: packs, card: mix.Card{
		Usage: mix.Usage{Mixing: p.set.MixTime, Reserve: p.set.MixReserve, Rate: packs[0].ApplyRate},
		Least: p.set.MixLeast,
	}}
	if r.life, r.err = p.life(lives); r.err != nil {
		return r
	}
	if r.largest, r.err = r.life.Most(temp, r.card, nil); r.err != nil {
		return r
	}
	// Temperatures of the same largest batch share a planner and its tables.
	key := plannerKey{putty, r.largest}
	if shared, ok := p.planners[key]; ok {
		r.planner = shared
		return r
	}
	sizes := make([]mix.Pack, len(packs))
	for i, k := range packs {
		sizes[i] = mix.Pack{Name: k.Item, Mass: k.Pack, Cost: p.prices[k.Item], Splittable: k.Splittable}
	}
	if r.planner, r.err = mix.NewPlanner(sizes, r.largest, packs[0].ApplyRate, p.scale(packs[0])); r.err == nil {
		if len(p.planners) >= maxRecipes {
			clear(p.planners)
		}
		p.planners[key] = r.planner
	}
	return r
}

// scale is what the parts of a putty are weighed on.
func (p *Packer) scale(putty *catalog.Putty) mix.Scale {
	return mix.Scale{Reading: p.set.ScaleStep / gramsPerKilogram, Least: p.set.ScaleLeast / gramsPerKilogram, Hardener: putty.Ratio()}
}

const gramsPerKilogram = 1000

// hardenerStep explains the hardener of what a batch, counted from 1, weighs out of
// one pack.
func (p *Packer) hardenerStep(packs *Packs, batch, part int) trace.Step {
	x := []float64{math.Round(packs.Mass*gramsPerKilogram*1000) / 1000, packs.Putty.Ratio(), p.set.ScaleStep}
	s := mix.HardenerRule.Step("hardener"+strconv.Itoa(batch)+"-"+strconv.Itoa(part), mix.HardenerRule.Of(x...), x).
		Knowing("r", trace.Table("putties", packs.Putty.Item))
	s.Name += " of batch " + strconv.Itoa(batch) + " out of " + packs.Putty.Item
	return s
}

type plannerKey struct {
	putty   string
	largest float64
}

func (p *Packer) life(lives []catalog.PuttyLife) (*mix.Life, error) {
	points := make([]mix.Point, len(lives))
	for i, l := range lives {
		points[i] = mix.Point{Mass: l.Mass, Temperature: l.Temp, Minutes: l.Minutes}
	}
	life, err := mix.NewLife(points, p.set.MixEnergy)
	if err != nil {
		return nil, err
	}
	return life.Past(p.set.MixPastEnds), nil
}

// usableMinutes is how long the n-th batch may be used after mixing, in whole
// minutes as its card says it. Source: common practice, no source.
func (p *Packer) usableMinutes(r *recipe, putty string, mass, temp float64, n int, log *trace.Log) float64 {
	minutes, _ := r.life.Usable(mass, temp, r.card)
	log.Add(func() trace.Step {
		life, _ := r.life.Lasts(mass, temp, nil)
		return trace.Step{
			ID: "usable" + strconv.Itoa(n), Name: "time to use batch " + strconv.Itoa(n) + " after mixing", Rule: "mix.usable", Formula: "life − mixing − reserve",
			Inputs: []trace.Input{
				trace.In("life", "working life of "+trace.WithUnit(mass, "kg")+" at "+trace.WithUnit(temp, "°C"), life, "min", trace.Table("putty_lives", putty)),
				trace.In("mixing", "mixing", p.set.MixTime, "min", trace.Setting("mix.time")),
				trace.In("reserve", "kept in hand", p.set.MixReserve, "min", trace.Setting("mix.reserve")),
			},
			Raw: life - p.set.MixTime - p.set.MixReserve, Value: minutes, Unit: "min", Rounding: "down to whole minutes", Source: "common practice, no source",
		}
	})
	return minutes
}

// under is a log whose steps stand below a name in log; join brings them back.
func under(log *trace.Log, name string) *trace.Log {
	if !log.On() {
		return nil
	}
	return &trace.Log{Prefix: log.Prefix + name}
}

func join(log, part *trace.Log) {
	if log.On() {
		log.Steps = append(log.Steps, part.Steps...)
	}
}
