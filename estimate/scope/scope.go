package scope

import (
	"math"
	"sort"

	"wraptally/catalog"
	"wraptally/estimate/design"
	"wraptally/estimate/gate"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

// Rules are the catalogue and what is worked out from it once, for all repairs of
// a run. They are only read, so several goroutines may share them.
type Rules struct {
	words   gate.Media      // of the media table
	unknown *catalog.Access // the way of access of which nothing is known; nil without any
	c       *catalog.Catalog
	set     *catalog.Settings
	reach   design.ReachRule
	near    design.Interaction
	life    design.LifeTable // of the strain
	// holeLife is of the pressure over a leak.
	holeLife design.LifeTable
	examined *Design  // where Examine wants it
	drawn    *between // where PlanAt says how the blanks are taken
	brief    bool     // see Brief
	stretch  int      // rows of a line that Each works out at a time
}

// Prepare works out from a catalogue what every repair needs of it.
func Prepare(c *catalog.Catalog) *Rules {
	set := &c.Settings
	reach := design.PCC2Reach()
	reach.K = set.ReachPCC2
	if set.ReachEdition == "iso" {
		reach = design.ISOReach()
		reach.K = set.ReachISO
	}
	reach.Minimum = set.ReachMinimum
	unknown, _ := c.AccessOf(catalog.UnknownAccess)
	return &Rules{
		words: mediaOf(c), unknown: unknown, stretch: 10_000, c: c, set: set, reach: reach, near: design.Interaction{Near: set.HoleNear, Far: set.HoleFar},
		life:     lifeTable(c, func(f *catalog.LifeFactor) float64 { return f.Factor }),
		holeLife: lifeTable(c, func(f *catalog.LifeFactor) float64 { return f.Hole }),
	}
}

// Plan turns the defects of a survey into repairs by the rules of a catalogue,
// where no earlier run has given names; see Rules.Plan.
func Plan(defects []survey.Defect, c *catalog.Catalog) []*Repair {
	return Prepare(c).Plan(defects, nil)
}

// PlanAt is Rules.Plan with each number that the survey leaves blank taken a share of
// the way from the easy end of its range, 0, to the hard end, 1; share is asked
// once for each field, by its key. Where the repair cannot be made there, it is
// taken at the hardest values on the way from the easy ends that can.
func (k *Rules) PlanAt(defects []survey.Defect, e *Earlier, share func(field string) float64) []*Repair {
	at := *k
	at.drawn = &between{}
	for i := range blanks {
		at.drawn[i] = share(blanks[i].key)
	}
	return at.Plan(defects, e)
}

// Plan turns the defects of a survey into repairs, in the order of area, line
// and chainage; e is what earlier runs have named, nil where there were none. The
// order of the rows does not matter.
func (k *Rules) Plan(defects []survey.Defect, e *Earlier) []*Repair {
	var out []*Repair
	for line := range (&survey.Result{Defects: defects}).Lines() {
		repairs, _, _ := k.line(line.Read(0, line.Len()), diameters(line))
		out = append(out, repairs...)
	}
	name(out, k.set, e)
	return out
}

// Brief are the same rules where only what repairs ask is wanted: what the easy ends
// of blanks ask for is left out of a repair that can be made at the hard ones. No
// query depends on it.
func (k *Rules) Brief() *Rules {
	out := *k
	out.brief = true
	return &out
}

// With works a repair out again under other settings, its blanks taken as they
// were.
func (k *Rules) With(r *Repair, change func(*catalog.Settings)) *Repair {
	return k.under(change).at(r.Defects, r.point, nil)
}

// EndWith is what the repair of With comes to.
func (k *Rules) EndWith(r *Repair, change func(*catalog.Settings)) End {
	return k.under(change).attempt(r.Defects).end(r.point)
}

func (k *Rules) under(change func(*catalog.Settings)) *Rules {
	other, set := *k, *k.set
	change(&set)
	other.set = &set
	return &other
}

// Examine is how the repair came to its layers: that of the defect that governs
// them. It works the repair out again; a repair whose wrap is not designed, since
// something else stops it, gives an empty Design.
func (k *Rules) Examine(r *Repair) Design {
	looking := *k
	looking.examined = &Design{}
	looking.at(r.Defects, r.point, nil)
	return *looking.examined
}

// Explain works a repair out again and records every step.
func (k *Rules) Explain(r *Repair, log *trace.Log) {
	k.complete(r.Defects, log)
}

// line is the repairs of defects of one line, in the order of chainage: those of each
// of its diameters, put in order again, and how far they reach. Defects of another
// diameter in between do not keep two of the same pipe apart.
func (k *Rules) line(ds []*survey.Defect, diameters []float64) (repairs []*Repair, from, to float64) {
	byPlace(ds)
	from, to = math.Inf(1), math.Inf(-1)
	for _, pipe := range byDiameter(ds, diameters) {
		made, groups := k.pipe(pipe)
		repairs = append(repairs, made...)
		first, _ := groups[0].ends(k.set)
		_, last := groups[len(groups)-1].ends(k.set)
		from, to = math.Min(from, first), math.Max(to, last)
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
	return repairs, from, to
}

// pipe is the repairs of the defects of one line and diameter, alongside the groups
// that they are of.
func (k *Rules) pipe(ds []*survey.Defect) ([]*Repair, []group) {
	groups := make([]group, len(ds))
	done := make(map[span]*Repair, len(ds))
	for i := range ds {
		r := k.complete(ds[i:i+1:i+1], nil)
		groups[i] = group{span: span{i, i + 1}, extent: r.extent()}
		done[groups[i].span] = r
	}
	// Joining may ask for more than each alone did: leaks near each other count as
	// larger and may need more layers, the tighter bend counts for all. That
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
			if more := g.extent.with(r.extent()); more != g.extent {
				g.extent, settled = more, false
			}
		}
	}
	repairs := make([]*Repair, len(groups))
	for i := range groups {
		repairs[i] = done[groups[i].span]
	}
	return repairs, groups
}

// complete makes the repair of a group of defects, with every step recorded
// where log is not nil. What the survey leaves blank is taken at the end of its
// range that the firm orders by, and the repair knows what the other end asks
// for. Where the hard end cannot be repaired and the easy one can, the repair is
// that of the hardest values that can: there is no use in ordering nothing for
// what may well be repairable, nor in ordering for the best of cases.
func (k *Rules) complete(ds []*survey.Defect, log *trace.Log) *Repair {
	if k.drawn != nil {
		return k.onTheWay(ds, *k.drawn)
	}
	hard := k.at(ds, everywhere(1), nil)
	if hard.Blank == 0 {
		if log.On() {
			return k.at(ds, everywhere(1), log)
		}
		return hard
	}
	if k.brief && hard.Status == Estimated && k.set.BlankEnd != "best" {
		return hard
	}
	try := k.attempt(ds)
	best := everywhere(0)
	easy := try.end(best)
	if easy.Status != Estimated && hard.Blank.Has("wall") {
		// More may be left of a thicker wall: where that is blank too, its thick end
		// may be the easy one.
		thick := best
		thick.all[blankWall] = 1
		if end := try.end(thick); end.Status == Estimated {
			best, easy = thick, end
		}
	}
	at := everywhere(1)
	switch {
	case k.set.BlankEnd == "best":
		at = best
	case hard.Status != Estimated && easy.Status == Estimated:
		at = try.hardest(hard.Blank, best)
	}
	r := hard
	if !at.is(everywhere(1)) || log.On() {
		r = k.at(ds, at, log)
	}
	if r.Easy, r.Hard = easy, hard.end(); r.Easy != r.Hard {
		r.matters = try.matters(r)
	}
	if r.Status == Estimated && hard.Status != Estimated {
		r.MayNotBe = true
		r.query(trace.Ask, "may-not-be-repairable", "", "not repairable if "+r.decisive().are("as bad as may be")+": "+hard.Reason+"; the worst that is repairable is ordered",
			"find out what is open before anything is ordered")
	}
	return r
}

// onTheWay is the repair at a point of the ranges of its blanks, or the hardest
// on the way there from the easy ends that can be made.
func (k *Rules) onTheWay(ds []*survey.Defect, to between) *Repair {
	r := k.at(ds, point{all: to}, nil)
	if r.Status == Estimated || r.Blank == 0 {
		return r
	}
	try := k.attempt(ds)
	if try.end(everywhere(0)).Status != Estimated {
		return r
	}
	part := func(way float64) (p point) {
		for i := range p.all {
			p.all[i] = to[i] * way
		}
		return p
	}
	can, cannot := 0.0, 1.0
	for range 8 { // to half a hundredth of the way
		if way := (can + cannot) / 2; try.can(part(way)) {
			can = way
		} else {
			cannot = way
		}
	}
	return k.at(ds, part(can), nil)
}

// at is the repair of a group of defects with its blanks taken at a point of
// their ranges.
func (k *Rules) at(given []*survey.Defect, at point, log *trace.Log) *Repair {
	r, filled := &Repair{}, make([]survey.Defect, len(given))
	k.work(r, filled, given, at, log)
	if r.Status == NotRepairable {
		r.queryOf(r.governs, trace.Stop, "not-repairable", "", r.Reason, "lower the pressure for good, replace the pipe, or have another method designed")
	}
	r.restore(given, filled)
	return r
}

// work works out an empty repair of the defects given, of which it fills the blanks;
// the defects of the repair are those filled. An attempt ends with the first that stops
// it: nothing after it changes status or layers.
func (k *Rules) work(r *Repair, filled []survey.Defect, given []*survey.Defect, at point, log *trace.Log) {
	first := given[0]
	r.Line, r.Area, r.Size, r.Status, r.ComponentFactor, r.AreaFactor, r.point = first.Line, first.Area, first.Size, Estimated, 1, 1, at
	if r.working == nil {
		r.working = &working{}
	}
	r.measured = false
	for i, d := range given {
		blank := k.take(&filled[i], d, at.of(i))
		r.Defects = append(r.Defects, &filled[i])
		r.Blank |= blank
		r.taken = append(r.taken, blank)
	}
	for i := range blanks {
		if r.Blank&(1<<i) != 0 {
			r.lean(blanks[i].code)
		}
	}
	r.all = survey.Together(r.Defects)
	r.OD, r.Wall, r.Leaking, r.Pressure = r.all.OD.V, r.all.Wall.V, leaks(&r.all), r.all.Pressure
	k.surroundings(r)
	k.live(r, &r.all)
	r.DefectFrom, r.DefectTo = math.Inf(1), math.Inf(-1)
	for _, d := range r.Defects {
		r.DefectFrom = math.Min(r.DefectFrom, d.Chainage.V-d.Axial.V/2)
		r.DefectTo = math.Max(r.DefectTo, d.Chainage.V+d.Axial.V/2)
	}
	k.reachOf(r, log)
	k.wrapOf(r)
	if r.over() {
		return
	}
	k.patchesOf(r)
	k.pitsOf(r)
	k.layersOf(r, log)
	if r.over() {
		return
	}
	k.lengthOf(r, log)
	k.screen(r, log)
}

// live takes what bears on sealing a leak under pressure: the highest live
// pressure, where every leak says it, and the thinnest wall under the bands.
func (k *Rules) live(r *Repair, all *survey.Defect) {
	r.DesignTemp, r.Stress = all.DesignTemp.V, all.Stress.Or(k.set.PipeStress)
	if !r.Leaking {
		return
	}
	r.Live, r.SeatWall = all.LivePressure, all.SeatWall
	for _, d := range r.Defects {
		if !leaks(d) {
			continue
		}
		if !d.LivePressure.OK {
			r.Live = survey.Num{}
			r.lean(LiveUnknown)
		}
		if !d.SeatWall.OK {
			r.SeatWall = survey.Num{}
			r.lean(SeatUnknown)
		}
	}
}

// restore puts the defects as the survey gives them in the place of those with
// their blanks filled.
func (r *Repair) restore(given []*survey.Defect, filled []survey.Defect) {
	r.working = nil
	as := make(map[*survey.Defect]*survey.Defect, len(given))
	for i := range filled {
		as[&filled[i]] = given[i]
	}
	r.Defects = given
	for _, of := range []**survey.Defect{&r.Hottest, &r.Coldest, &r.HottestPot, &r.governs, &r.lowest} {
		if d, ok := as[*of]; ok {
			*of = d
		}
	}
	for i := range r.Patches {
		for j, d := range r.Patches[i].Defects {
			r.Patches[i].Defects[j] = as[d]
		}
	}
	for i := range r.Pits {
		r.Pits[i].Defect = as[r.Pits[i].Defect]
	}
}

// leaks reports whether a defect counts as leaking: an unknown one does.
func leaks(d *survey.Defect) bool { return d.Leaking != survey.No }

// surroundings takes the worst of what the defects say of the place.
func (k *Rules) surroundings(r *Repair) {
	hot, cold, air := math.Inf(-1), math.Inf(1), math.Inf(-1)
	for i, d := range r.Defects {
		hot, cold, air = math.Max(hot, d.SurfaceTemp.V), math.Min(cold, d.SurfaceTemp.V), math.Max(air, d.AirTemp.V)
		if r.taken[i].Has("surface_temp") { // the cold end counts as well as the hot one
			cold = math.Min(cold, k.set.WorkTemp-r.point.of(i)[blankSurfaceTemp]*math.Max(0, k.set.WorkTemp-k.set.WorkTempLow))
		}
		if d.Leaking == survey.Unknown {
			r.lean(LeakUnknown)
		}
		if d.Hazardous == survey.Unknown {
			r.lean(HazardTaken)
		}
		r.Hazardous = r.Hazardous || d.Hazardous != survey.No
		if !d.Cycles.OK {
			r.lean(CyclesUnknown)
		}
		if !d.FreeRunBefore.OK || !d.FreeRunAfter.OK {
			r.lean(FreeRunUnknown)
		}
		r.Surface = worseSurface(r.Surface, k.surface(r, d))
		factor, area := k.component(d.Component)
		if factor > r.ComponentFactor || r.Component == "" {
			r.Component = d.Component
		}
		r.ComponentFactor, r.AreaFactor = math.Max(r.ComponentFactor, factor), math.Max(r.AreaFactor, area)
		if d.Component == survey.Bend {
			k.bend(r, d)
		}
		k.access(r, d)
	}
	if r.Component == "" {
		r.Component = survey.Straight
	}
	r.SurfaceTemp, r.SurfaceTempLow, r.PotTemp = hot, cold, math.Max(hot, air)
	r.Hottest = r.worst(func(d *survey.Defect) float64 { return d.SurfaceTemp.V })
	r.Coldest = r.worst(func(d *survey.Defect) float64 { return -d.SurfaceTemp.V })
	r.HottestPot = r.worst(func(d *survey.Defect) float64 { return math.Max(d.SurfaceTemp.V, d.AirTemp.V) })
}

// access takes the dearest way, which reaches all the defects; one that is not
// known is as dear and as slow as any.
func (k *Rules) access(r *Repair, d *survey.Defect) {
	if len(k.c.Accesses) == 0 {
		return
	}
	way, ok := k.accessOf(d.Access)
	if !ok {
		way = k.unknown
	}
	if d.Access == "" {
		r.lean(AccessUnknown)
	}
	before, ok := k.accessOf(r.Access)
	if !ok || r.Access != catalog.UnknownAccess && (way.Access == catalog.UnknownAccess || way.Cost.GreaterThan(before.Cost)) {
		r.Access = way.Access
	}
}

// accessOf is catalog.Catalog.AccessOf, which works the unknown way out each time.
func (k *Rules) accessOf(name string) (*catalog.Access, bool) {
	if name == catalog.UnknownAccess && k.unknown != nil {
		return k.unknown, true
	}
	return k.c.AccessOf(name)
}

// surface is the state of the surface at a defect; where the survey is silent as
// the setting says, and a leak at least wet.
func (k *Rules) surface(r *Repair, d *survey.Defect) survey.Surface {
	if d.Surface != "" {
		return d.Surface
	}
	r.lean(SurfaceSetting)
	if leaks(d) {
		return worseSurface(survey.Wet, survey.Surface(k.set.WorkSurface))
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
func (k *Rules) component(name survey.Component) (factor, area float64) {
	if name == "" {
		name = survey.Straight
	}
	if row, ok := k.c.ComponentOf(string(name)); ok {
		return row.Factor, row.Area
	}
	return 1, 1
}

// bend takes the tightest bend among the defects, and the longest; one of unknown
// angle is as long as may be.
func (k *Rules) bend(r *Repair, d *survey.Defect) {
	first := r.BendRadius == 0
	if !d.BendAngle.OK {
		r.lean(BendAngleTaken)
	}
	if first || d.BendRadius.V < r.BendRadius {
		r.BendRadius = d.BendRadius.V
	}
	if first || r.BendAngle > 0 && (d.BendAngle.V == 0 || d.BendAngle.V > r.BendAngle) {
		r.BendAngle = d.BendAngle.V
	}
}

// reachOf takes the longest reach among the defects.
func (k *Rules) reachOf(r *Repair, log *trace.Log) {
	var governs *survey.Defect
	for _, d := range r.Defects {
		got, err := k.reach.Over(d.OD.V, design.Num(d.Wall), k.set.RunOut, nil)
		if err != nil {
			r.queryOf(d, trace.Stop, "reach-refused", "", err.Error(), "check diameter and wall")
			continue
		}
		if governs == nil || got.Over > r.Reach {
			r.Reach, governs = got.Over, d
		}
	}
	if governs != nil && log.On() {
		_, _ = k.reach.Over(governs.OD.V, design.Num(governs.Wall), k.set.RunOut, design.Show(log, "reach", k.origins(r), r.Leans...))
	}
}

// wrapOf chooses the wrap system for the diameter: the first of the catalogue
// that may be used at the surface temperatures.
func (k *Rules) wrapOf(r *Repair) {
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
	of, temp := r.Hottest, r.SurfaceTemp
	if roll := widths[0].Rolls[0]; temp <= roll.TempMax {
		of, temp = r.Coldest, r.SurfaceTempLow
	}
	r.queryOf(of, trace.Stop, "wrap-temperature", trace.WithUnit(temp, "°C"),
		"no wrap may be laid at this surface temperature", "change the temperature of the work, or add a wrap to the catalogue")
}

// wrapRoll is a roll of the chosen system, for its properties.
func (k *Rules) wrapRoll(r *Repair) *catalog.Wrap {
	for _, w := range k.c.WrapsFor(r.OD) {
		if w.System == r.System {
			return w.Rolls[0]
		}
	}
	return nil
}

func (k *Rules) patchesOf(r *Repair) {
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

func (k *Rules) pitsOf(r *Repair) {
	for _, d := range r.Defects {
		if !leaks(d) {
			r.Pits = append(r.Pits, Pit{Defect: d, A: d.Axial.V, C: d.Circ.V, Deep: math.Max(0, d.Wall.V-d.Remaining.V)})
		}
	}
}

// lengthOf is the defects with reach and taper on both sides, what lies on a bend
// stretched so that it holds on the inside, rounded up. The wrap's axial load
// goes into the pipe by shear of the bond, which may ask for a longer reach.
func (k *Rules) lengthOf(r *Repair, log *trace.Log) {
	if roll := k.wrapRoll(r); roll != nil && r.WrapThickness > 0 {
		var err error
		if r.Taper, err = design.Taper(k.set.TaperRatio, r.WrapThickness, design.Show(log, "taper", fromSurvey)); err != nil {
			r.query(trace.Stop, "taper-refused", trace.WithUnit(r.WrapThickness, "mm"), err.Error(), "check the setting taper.ratio")
		}
		shear, err := design.ShearLength(roll.AxialMod, roll.StrainA, r.WrapThickness, roll.Bond, design.Show(log, "shear-length", fromSurvey).Knowing("ε_a", trace.Table("wraps", "")))
		if err != nil {
			r.query(trace.Stop, "shear-refused", trace.WithUnit(r.WrapThickness, "mm"), err.Error(), "check the wrap's data in the catalogue")
		}
		r.ShearReach = shear
	}
	e := r.extent()
	var from map[string]trace.Origins
	if log.On() {
		from = k.origins(r) // a map made for the steps alone
	}
	raw, stretch := e.length(k.set, design.Show(log, "bend-length", from))
	r.Length = design.RoundUp(raw, k.set.LengthStep)
	if r.BendRadius > 0 {
		whole := stretch.Factor*e.plain(k.set) - (stretch.Factor-1)*(e.centreHi-e.centreLo) // if all beyond the defects lay on it
		if r.runsOff = raw < whole-1e-6; r.runsOff {
			r.OnBend = math.Min(r.Length, stretch.Bend+e.bendHi-e.bendLo)
		} else {
			r.OnBend = r.Length
		}
	}
	middle := (r.DefectFrom + r.DefectTo) / 2
	r.From, r.To = middle-r.Length/2, middle+r.Length/2
	log.Add(func() trace.Step {
		s := trace.Step{
			ID: "length", Name: "repair length", Rule: "scope.length", Formula: "L_def + 2·(max(L_over, L_shear) + L_taper) + L_bend",
			Inputs: []trace.Input{
				trace.In("L_def", "length over the defects", r.DefectTo-r.DefectFrom, "mm", trace.Survey),
				trace.In("L_over", "reach each side", r.Reach, "mm", trace.StepAt("reach")),
				trace.In("L_shear", "length for the axial load each side", r.ShearReach, "mm", trace.StepAt("shear-length")),
				trace.In("L_taper", "taper each side", r.Taper, "mm", trace.StepAt("taper")),
				trace.In("L_bend", "longer on a bend, so that it holds on the inside", raw-e.plain(k.set), "mm", trace.StepAt("bend-length"), trace.Words("less the length on a straight pipe")),
			},
			Raw: raw, Value: r.Length, Unit: "mm", Rounding: "up to " + trace.WithUnit(k.set.LengthStep, "mm"),
			Source: "form of the composite-repair standards, from memory; on a bend derived", Leans: r.Leans,
		}
		if r.BendRadius == 0 {
			s.Formula, s.Inputs = "L_def + 2·(max(L_over, L_shear) + L_taper)", s.Inputs[:4]
		}
		return s
	})
}
