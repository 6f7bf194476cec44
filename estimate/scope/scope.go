package scope

import (
	"errors"
	"fmt"
	"math"
	"sort"
	"strconv"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate/design"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

// rules are the catalogue and what is worked out from it once.
type rules struct {
	c     *catalog.Catalog
	set   *catalog.Settings
	reach design.ReachRule
	life  design.LifeTable
}

func newRules(c *catalog.Catalog) *rules {
	set := &c.Settings
	reach := design.PCC2Reach()
	reach.K = set.ReachPCC2
	if set.ReachEdition == "iso" {
		reach = design.ISOReach()
		reach.K = set.ReachISO
	}
	reach.Minimum = set.ReachMinimum
	return &rules{c: c, set: set, reach: reach, life: lifeTable(c)}
}

// Plan turns the defects of a survey into repairs, in the order of area, line
// and chainage. The order of the rows does not matter.
func Plan(defects []survey.Defect, c *catalog.Catalog) []*Repair {
	k := newRules(c)
	sorted := make([]*survey.Defect, len(defects))
	for i := range defects {
		sorted[i] = &defects[i]
	}
	byPlace(sorted)
	var out []*Repair
	for first := 0; first < len(sorted); {
		past := first + 1
		for past < len(sorted) && sorted[past].Line == sorted[first].Line && sorted[past].Area == sorted[first].Area {
			past++
		}
		out = append(out, k.line(sorted[first:past])...)
		first = past
	}
	width := max(4, len(strconv.Itoa(len(out))))
	for i, r := range out {
		r.ID = fmt.Sprintf("R%0*d", width, i+1)
		for j := range r.Queries {
			r.Queries[j].Repair = r.ID
		}
	}
	return out
}

// Explain works a repair out again and records every step.
func Explain(r *Repair, c *catalog.Catalog, log *trace.Log) {
	k := newRules(c)
	k.complete(r.Defects, log)
}

// line is the repairs of one line, given in the order of chainage: those of each
// of its diameters, put in order again. Defects of another diameter in between
// do not keep two of the same pipe apart.
func (k *rules) line(ds []*survey.Defect) []*Repair {
	var repairs []*Repair
	for _, pipe := range byDiameter(ds) {
		repairs = append(repairs, k.pipe(pipe)...)
	}
	sort.SliceStable(repairs, func(i, j int) bool { return repairs[i].DefectFrom < repairs[j].DefectFrom })
	for i := 1; i < len(repairs); i++ {
		a, b := repairs[i-1], repairs[i]
		if a.To >= b.From {
			b.query(trace.Ask, "diameters-meet", trace.WithUnit(a.OD, "mm")+" and "+trace.WithUnit(b.OD, "mm"),
				"this repair runs into the one before it on the same line, which has another diameter; they are counted apart",
				"check the diameters; if a reducer lies between them, have the two designed as one")
		}
	}
	return repairs
}

// pipe is the repairs of the defects of one line and diameter.
func (k *rules) pipe(ds []*survey.Defect) []*Repair {
	groups := make([]group, len(ds))
	done := make(map[span]*Repair, len(ds))
	for i := range ds {
		r := k.complete(ds[i:i+1:i+1], nil)
		groups[i] = group{span: span{i, i + 1}, lo: r.DefectFrom, hi: r.DefectTo, reach: r.Reach, wrap: r.WrapThickness, stretch: r.stretch()}
		done[groups[i].span] = r
	}
	// Joining may ask for more than each alone did: a joined patch is a larger
	// hole and may need more layers, the tighter bend counts for all. That
	// lengthens the repair, which may then touch the next: so until nothing
	// changes. Groups that did not change keep their repair.
	for settled := false; !settled; {
		settled = true
		groups = merged(groups, k.set)
		for i := range groups {
			g := &groups[i]
			if done[g.span] != nil {
				continue
			}
			r := k.complete(ds[g.first:g.past:g.past], nil)
			done[g.span] = r
			if r.WrapThickness > g.wrap || r.stretch() > g.stretch {
				g.wrap, g.stretch = math.Max(g.wrap, r.WrapThickness), math.Max(g.stretch, r.stretch())
				settled = false
			}
		}
	}
	repairs := make([]*Repair, len(groups))
	for i := range groups {
		repairs[i] = done[groups[i].span]
	}
	return repairs
}

// complete makes the repair of a group of defects, with every step recorded
// where log is not nil.
func (k *rules) complete(ds []*survey.Defect, log *trace.Log) *Repair {
	first := ds[0]
	r := &Repair{
		Line: first.Line, Area: first.Area, Defects: ds, Size: first.Size, Status: Estimated,
		ComponentFactor: 1, AreaFactor: 1,
	}
	all := survey.Together(ds)
	r.OD, r.Leaking, r.Pressure, r.Hazardous = all.OD.V, leaks(&all), all.Pressure, all.Hazardous == survey.Yes
	k.surroundings(r)
	r.DefectFrom, r.DefectTo = math.Inf(1), math.Inf(-1)
	for _, d := range ds {
		r.DefectFrom = math.Min(r.DefectFrom, d.Chainage.V-d.Axial.V/2)
		r.DefectTo = math.Max(r.DefectTo, d.Chainage.V+d.Axial.V/2)
		wall, lean := k.wall(d)
		if lean != "" {
			r.lean(lean)
		}
		r.Wall = math.Max(r.Wall, wall.V)
	}
	k.reachOf(r, log)
	k.wrapOf(r)
	k.patchesOf(r)
	k.pitsOf(r)
	k.layersOf(r, log)
	k.lengthOf(r, log)
	k.screen(r, log)
	if r.Status == NotRepairable {
		r.query(trace.Stop, "not-repairable", "", r.Reason, "lower the pressure for good, replace the pipe, or have another method designed")
	}
	return r
}

// leaks reports whether a defect counts as leaking: an unknown one does.
func leaks(d *survey.Defect) bool { return d.Leaking != survey.No }

// wall is the nominal wall of a defect's pipe: the survey's, or the standard
// wall of its nominal size, or unknown, with the assumption taken.
func (k *rules) wall(d *survey.Defect) (design.Num, string) {
	if d.Wall.OK {
		return design.Num(d.Wall), ""
	}
	if d.Size != "" {
		if _, t, ok := k.c.OD(d.Series, d.Size); ok && t > 0 {
			return design.Known(t), WallStandard
		}
	}
	return design.Num{}, WallUnknown
}

// surroundings takes the worst of what the defects say of the place.
func (k *rules) surroundings(r *Repair) {
	hot, cold := math.Inf(-1), math.Inf(1)
	for _, d := range r.Defects {
		temp := d.SurfaceTemp.Or(k.set.WorkTemp)
		if !d.SurfaceTemp.OK {
			r.lean(TempSetting)
		}
		hot, cold = math.Max(hot, temp), math.Min(cold, temp)
		if d.Leaking == survey.Unknown {
			r.lean(LeakUnknown)
		}
		r.Surface = worseSurface(r.Surface, k.surface(r, d))
		if f, area := k.component(d.Component); f > r.ComponentFactor || r.Component == "" {
			r.Component, r.ComponentFactor, r.AreaFactor = d.Component, f, area
		}
		if d.Component == survey.Bend {
			k.bend(r, d)
		}
		if r.Access == "" || k.accessCost(d.Access).GreaterThan(k.accessCost(r.Access)) {
			r.Access = d.Access // the dearest way reaches them all
		}
	}
	if r.Component == "" {
		r.Component = survey.Straight
	}
	if r.Access == "" && len(k.c.Accesses) > 0 {
		r.Access = k.c.Accesses[0].Access
		r.lean(AccessGround)
	}
	r.SurfaceTemp, r.SurfaceTempLow = hot, cold
}

// accessCost is what a way of access costs by the repair; nothing where it is
// not in the catalogue.
func (k *rules) accessCost(name string) decimal.Decimal {
	if a, ok := k.c.AccessOf(name); ok {
		return a.Cost
	}
	return decimal.Zero
}

// surface is the state of the surface at a defect. Where the survey is silent a
// leak is wet and the rest is as the setting says.
func (k *rules) surface(r *Repair, d *survey.Defect) survey.Surface {
	if d.Surface != "" {
		return d.Surface
	}
	r.lean(SurfaceSetting)
	if leaks(d) && k.set.WorkSurface == string(survey.Dry) {
		return survey.Wet
	}
	return survey.Surface(k.set.WorkSurface)
}

func worseSurface(a, b survey.Surface) survey.Surface {
	rank := func(s survey.Surface) int {
		switch s {
		case survey.Submerged:
			return 3
		case survey.Wet:
			return 2
		case survey.Dry:
			return 1
		}
		return 0
	}
	if rank(b) > rank(a) {
		return b
	}
	return a
}

// component is the thickness and surface factor of a kind of component.
func (k *rules) component(name survey.Component) (factor, area float64) {
	if name == "" {
		name = survey.Straight
	}
	if row, ok := k.c.ComponentOf(string(name)); ok {
		return row.Factor, row.Area
	}
	return 1, 1
}

// bend takes the tightest bend among the defects.
func (k *rules) bend(r *Repair, d *survey.Defect) {
	radius := d.BendRadius.V
	if !d.BendRadius.OK {
		radius = 1.5 * d.OD.V
		r.lean(BendAngleTaken)
	}
	if r.BendRadius == 0 || radius < r.BendRadius {
		r.BendRadius, r.BendAngle = radius, d.BendAngle.V
	}
}

// reachOf takes the longest reach among the defects.
func (k *rules) reachOf(r *Repair, log *trace.Log) {
	var governs *survey.Defect
	for _, d := range r.Defects {
		wall, _ := k.wall(d)
		got, err := k.reach.Over(d.OD.V, wall, k.set.RunOut, nil)
		if err != nil {
			r.query(trace.Stop, "reach-refused", "", err.Error(), "check diameter and wall")
			continue
		}
		if governs == nil || got.Over > r.Reach {
			r.Reach, governs = got.Over, d
		}
	}
	if governs != nil && log.On() {
		wall, _ := k.wall(governs)
		_, _ = k.reach.Over(governs.OD.V, wall, k.set.RunOut, design.Show(log, "reach", k.origins(governs), r.Leans...))
	}
}

// wrapOf chooses the wrap system for the diameter: the first of the catalogue
// that may be used at the surface temperatures.
func (k *rules) wrapOf(r *Repair) {
	widths := k.c.WrapsFor(r.OD)
	if len(widths) == 0 {
		r.query(trace.Stop, "wrap-none", trace.WithUnit(r.OD, "mm"), "no wrap for this diameter", "add one to the catalogue's wraps table")
		return
	}
	for _, w := range widths {
		roll := w.Rolls[0]
		if r.SurfaceTempLow >= roll.TempMin && r.SurfaceTemp <= roll.TempMax {
			r.System, r.Ply = w.System, roll.Ply
			return
		}
	}
	r.query(trace.Stop, "wrap-temperature", trace.WithUnit(r.SurfaceTemp, "°C"),
		"no wrap may be laid at this surface temperature", "change the temperature of the work, or add a wrap to the catalogue")
}

// wrapRoll is a roll of the chosen system, for its properties.
func (k *rules) wrapRoll(r *Repair) *catalog.Wrap {
	for _, w := range k.c.WrapsFor(r.OD) {
		if w.System == r.System {
			return w.Rolls[0]
		}
	}
	return nil
}

func (k *rules) patchesOf(r *Repair) {
	var holes []*survey.Defect
	for _, d := range r.Defects {
		if leaks(d) {
			holes = append(holes, d)
		}
	}
	if len(holes) == 0 {
		return
	}
	var unjudged bool
	if r.Patches, unjudged = patches(holes, r.OD, k.set); unjudged {
		r.lean(ClockUnknown)
	}
}

func (k *rules) pitsOf(r *Repair) {
	for _, d := range r.Defects {
		if leaks(d) {
			continue
		}
		wall, _ := k.wall(d)
		pit := Pit{Defect: d, A: d.Axial.V, C: d.Circ.V, Deep: wall.V}
		switch {
		case wall.OK && d.Remaining.OK:
			pit.Deep = math.Max(0, wall.V-d.Remaining.V)
		case wall.OK:
			r.lean(PitDepthUnknown)
		case d.Remaining.OK:
			r.query(trace.Ask, "pit-depth-unknown", trace.WithUnit(d.Remaining.V, "mm")+" remaining",
				"the nominal wall is not known: how deep the pit is cannot be said, and the metal lost is not filled in the estimate",
				"give the wall, or size and series")
		default:
			r.query(trace.Ask, "pit-depth-unknown", "", "neither wall nor remaining wall is known: the metal lost at the pit is not filled in the estimate",
				"give wall and remaining wall")
		}
		r.Pits = append(r.Pits, pit)
	}
}

// layersOf takes the most layers that a defect or a patch asks for.
func (k *rules) layersOf(r *Repair, log *trace.Log) {
	roll := k.wrapRoll(r)
	if roll == nil {
		return
	}
	var most demand
	var governs func(*trace.Log) demand
	consider := func(ask func(*trace.Log) demand) {
		got := ask(nil)
		for _, code := range got.leans {
			r.lean(code)
		}
		if got.doubt != "" {
			r.query(trace.Ask, "designer-layers", strconv.Itoa(got.layers)+" layers", "the designer's layers are taken, but "+got.doubt,
				"have the designer confirm layers, pressure and size of the defect before anything is ordered")
		}
		var impossible *design.NotRepairable
		switch {
		case got.refused == nil:
		case errors.As(got.refused, &impossible):
			if r.Status != NotRepairable {
				r.Status, r.Reason, r.Ceiling = NotRepairable, impossible.Error(), impossible.Ceiling
				most, governs = got, ask
			}
			return
		default: // outside the range in which a rule holds: not known, rather than impossible
			r.query(trace.Stop, "design-outside-range", "", got.refused.Error(), "have it designed by a qualified person, or correct the survey")
			return
		}
		if r.Status != NotRepairable && (governs == nil || got.layers > most.layers) {
			most, governs = got, ask
		}
	}
	unitOf := func(d *survey.Defect, leaking bool) unit {
		wall, _ := k.wall(d)
		u := unit{d: d, leaking: leaking, wall: wall, remaining: design.Num(d.Remaining), wrap: roll, factor: r.ComponentFactor}
		if leaking {
			u.remaining = design.Known(0)
		}
		return u
	}
	for _, d := range r.Defects {
		if !leaks(d) {
			u := unitOf(d, false)
			consider(func(log *trace.Log) demand { return k.layersFor(u, 0, log) })
		}
	}
	for i := range r.Patches {
		p := &r.Patches[i]
		hole := math.Max(p.A, p.C)
		for _, d := range p.Defects {
			u := unitOf(d, true)
			consider(func(log *trace.Log) demand { return k.layersFor(u, hole, log) })
		}
		if p.A != p.C {
			r.lean(HoleRound)
		}
	}
	if governs != nil && log.On() {
		governs(log)
	}
	r.Layers, r.LayersFrom, r.Method = most.layers, most.from, most.method
	if most.ceiling > 0 {
		r.Ceiling = most.ceiling
	}
	if r.Status == NotRepairable || r.Layers == 0 {
		return
	}
	var err error
	if r.LayersPerPass, err = design.LayersPerPass(k.set.Overlap, nil); err == nil {
		r.Passes, err = design.Passes(r.Layers, k.set.Overlap, design.Show(log, "passes", fromSurvey))
	}
	if err == nil {
		r.WrapThickness, err = design.WrapThickness(r.Passes, k.set.Overlap, r.Ply, design.Show(log, "wrap-thickness", fromSurvey))
	}
	if err != nil {
		r.query(trace.Stop, "layers-refused", strconv.Itoa(r.Layers), err.Error(), "check the layers and the overlap")
	}
}

// lengthOf is the defects with reach and taper on both sides, stretched on a
// bend so that it holds on the inside, rounded up.
func (k *rules) lengthOf(r *Repair, log *trace.Log) {
	if r.WrapThickness > 0 {
		var err error
		if r.Taper, err = design.Taper(k.set.TaperRatio, r.WrapThickness, design.Show(log, "taper", fromSurvey)); err != nil {
			r.query(trace.Stop, "taper-refused", trace.WithUnit(r.WrapThickness, "mm"), err.Error(), "check the setting taper.ratio")
		}
	}
	defects := r.DefectTo - r.DefectFrom
	raw := (defects + 2*(r.Reach+r.Taper)) * r.stretch()
	r.Length = design.RoundUp(raw, k.set.LengthStep)
	middle := (r.DefectFrom + r.DefectTo) / 2
	r.From, r.To = middle-r.Length/2, middle+r.Length/2
	log.Add(func() trace.Step {
		s := trace.Step{
			ID: "length", Name: "repair length", Rule: "scope.length", Formula: "(L_def + 2·(L_over + L_taper))·R/(R − D_b/2)",
			Inputs: []trace.Input{
				trace.In("L_def", "length over the defects", defects, "mm", trace.Survey),
				trace.In("L_over", "reach each side", r.Reach, "mm", trace.StepAt("reach")),
				trace.In("L_taper", "taper each side", r.Taper, "mm", trace.StepAt("taper")),
				trace.In("R", "radius of the bend along its middle", r.BendRadius, "mm", trace.Survey),
				trace.In("D_b", "diameter of the bend", r.OD, "mm", trace.Survey),
			},
			Raw: raw, Value: r.Length, Unit: "mm", Rounding: "up to " + trace.WithUnit(k.set.LengthStep, "mm"),
			Source: "form of the composite-repair standards, from memory; on a bend derived: the length holds on the inside", Leans: r.Leans,
		}
		if r.stretch() == 1 {
			s.Formula, s.Inputs = "L_def + 2·(L_over + L_taper)", s.Inputs[:3]
		}
		return s
	})
}
