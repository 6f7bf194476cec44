package kit

import (
	"errors"
	"fmt"
	"strconv"

	"wraptally/catalog"
	"wraptally/estimate/mix"
	"wraptally/estimate/trace"
)

// recipe is how one putty is mixed at one temperature.
type recipe struct {
	packs   []*catalog.Putty
	largest mix.Largest
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

// putty plans the batches of the kit at the hottest of its surface temperatures
// and puts the packs into it.
func (p *Packer) putty(k *Kit, log *trace.Log) {
	need := k.Net.Putty
	if need.Name == "" || need.Mass <= 0 {
		return // a Stop says why
	}
	temp := k.Repair.SurfaceTemp
	r := p.recipe(need.Name, temp)
	if r.err != nil {
		k.stop("mix-no-time", trace.WithUnit(temp, "°C"), r.err.Error(), "work when the pipe is cooler, use another putty, or add points to the putty_lives table")
		return
	}
	mixing := under(log, "mix/")
	if mixing.On() {
		_, _ = r.life.Largest(temp, p.usage(r.packs[0]), mixing) // again, for its steps
	}
	plan, err := r.planner.Plan(need.Mass, mixing)
	if err != nil {
		k.stop("mix-packs", trace.WithUnit(need.Mass, "kg"), err.Error(), "check the packs of the putties table")
		return
	}
	k.Putty = Mixing{Temp: temp, Usable: r.largest.Usable, Largest: r.largest.Mass, Waste: plan.Waste}
	for i, b := range plan.Batches {
		out := Batch{Mass: b.Mass, Minutes: p.usableMinutes(r, need.Name, b.Mass, temp, i+1, mixing), Waste: b.Waste}
		for _, part := range b.Portions {
			pack := r.packs[part.Pack]
			count := float64(part.Packs)
			if part.Packs == 0 {
				count = part.Mass / pack.Pack
			}
			out.Packs = append(out.Packs, Packs{Putty: pack, Count: count, Mass: part.Mass, Weighed: part.Packs == 0})
		}
		k.Putty.Batches = append(k.Putty.Batches, out)
	}
	join(log, mixing)
	for i, n := range plan.Packs {
		it, ok := p.c.Item(r.packs[i].Item)
		if n == 0 || !ok {
			continue
		}
		if it.Issue != "kit" && r.packs[i].Splittable {
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

// Largest is the largest batch of a putty at a temperature, °C. Errors: those of
// mix.Life.Largest, and one where the temperature is outside the putty's range.
func (p *Packer) Largest(putty string, temp float64) (mix.Largest, error) {
	packs, _, ok := p.c.PuttyNamed(putty)
	if !ok || temp < packs[0].TempMin || temp > packs[0].TempMax {
		return mix.Largest{}, fmt.Errorf("%w: %s at %s", ErrPuttyRange, putty, trace.WithUnit(temp, "°C"))
	}
	r := p.recipe(putty, temp)
	return r.largest, r.err
}

// ErrPuttyRange is a temperature at which a putty may not be used.
var ErrPuttyRange = errors.New("outside the putty's range of temperature")

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
	r := &recipe{packs: packs}
	life, err := p.life(lives)
	if err != nil {
		r.err = err
		return r
	}
	r.life = life
	if r.largest, err = life.Largest(temp, p.usage(packs[0]), nil); err != nil {
		r.err = err
		return r
	}
	// Temperatures of the same largest batch share a planner and its tables.
	key := plannerKey{putty, r.largest.Mass}
	if shared, ok := p.planners[key]; ok {
		r.planner = shared
		return r
	}
	sizes := make([]mix.Pack, len(packs))
	for i, k := range packs {
		sizes[i] = mix.Pack{Name: k.Item, Mass: k.Pack, Cost: p.prices[k.Item], Splittable: k.Splittable}
	}
	if r.planner, r.err = mix.NewPlanner(sizes, r.largest.Mass, packs[0].ApplyRate); r.err == nil {
		if len(p.planners) >= maxRecipes {
			clear(p.planners)
		}
		p.planners[key] = r.planner
	}
	return r
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

func (p *Packer) usage(putty *catalog.Putty) mix.Usage {
	return mix.Usage{Mixing: p.set.MixTime, Reserve: p.set.MixReserve, Rate: putty.ApplyRate}
}

// usableMinutes is how long the n-th batch may be used after mixing: the life of
// the lightest tested mass that is not lighter, less mixing and reserve. It is
// never shorter than that of the largest batch. Source: common practice, no
// source.
func (p *Packer) usableMinutes(r *recipe, putty string, mass, temp float64, n int, log *trace.Log) float64 {
	life := r.largest.Working.Minutes
	if w, err := r.life.At(mass, temp, nil); err == nil {
		life = max(life, w.Minutes)
	}
	minutes := life - p.set.MixTime - p.set.MixReserve
	log.Add(func() trace.Step {
		return trace.Step{
			ID: "usable" + strconv.Itoa(n), Name: "time to use batch " + strconv.Itoa(n) + " after mixing", Rule: "mix.usable", Formula: "life − mixing − reserve",
			Inputs: []trace.Input{
				trace.In("life", "working life of "+trace.WithUnit(mass, "kg")+" at "+trace.WithUnit(temp, "°C"), life, "min", trace.Table("putty_lives", putty)),
				trace.In("mixing", "mixing", p.set.MixTime, "min", trace.Setting("mix.time")),
				trace.In("reserve", "kept in hand", p.set.MixReserve, "min", trace.Setting("mix.reserve")),
			},
			Value: minutes, Unit: "min", Source: "common practice, no source",
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
