package scope

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"

	"wraptally/catalog"
	"wraptally/estimate/design"
	"wraptally/estimate/gate"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

// screen holds the repair against the limits of the method before anything is
// counted, each limit a named check with its advice. A check that is failed as
// a Stop keeps the repair out of the totals.
func (k *Rules) screen(r *Repair, log *trace.Log) {
	for _, check := range []func(*Repair, *trace.Log){
		k.sizeInRange, k.notTooWide, k.patchFits, k.wrapNotTooThick, k.freeRun, k.bendNotTooTight,
		k.mediumAllowed, k.dryEnough, k.accessKnown, k.pressureInTable, k.componentCounted, k.bandsApart,
		k.potLikePipe, k.metalLost, k.pipeHolds, k.leaksSmall, k.forceCounted, k.cyclesFew, k.layersFew,
	} {
		if check(r, log); r.over() {
			return
		}
	}
}

// finding raises a query where a check is not passed.
func (r *Repair) finding(sev trace.Severity, f design.Finding) {
	r.findingOf(r.Defects[0], sev, f)
}

// findingOf raises a query about the defect that the number is of.
func (r *Repair) findingOf(d *survey.Defect, sev trace.Severity, f design.Finding) {
	switch {
	case f.OK:
		return
	case r.attempt:
		r.queryOf(d, sev, f.Code, "", f.Name, "")
		return
	}
	r.queryOf(d, sev, f.Code, trace.WithUnit(f.Found, f.Unit), f.Name+": the limit is "+trace.WithUnit(f.Limit, f.Unit), f.Advice)
}

func (k *Rules) sizeInRange(r *Repair, log *trace.Log) {
	if r.Leaking {
		r.finding(trace.Stop, design.DiameterRange(r.OD, k.set.SetODMin, k.set.SetODMax, design.Show(log, "check/size", fromSurvey)))
	}
}

// notTooWide refuses a leak that takes up so much of the circumference that no
// patch seals it. A thinned wall may go all the way round.
func (k *Rules) notTooWide(r *Repair, log *trace.Log) {
	for i := range r.Patches {
		r.findingOf(r.Patches[i].Defects[0], trace.Stop, design.DefectWidth(r.Patches[i].C, r.OD, k.set.PatchMaxArc, numbered(log, "check/leak-width", i)))
	}
}

// numbered is the working of the i-th of several like checks.
func numbered(log *trace.Log, id string, i int) *design.Working {
	if !log.On() {
		return nil
	}
	return design.Show(log, id+strconv.Itoa(i+1), fromSurvey)
}

// patchFits checks that each sheet goes round the pipe at most once and can be
// bent to it by hand.
func (k *Rules) patchFits(r *Repair, log *trace.Log) {
	if len(r.Patches) == 0 {
		return
	}
	for i := range r.Patches {
		r.findingOf(r.Patches[i].Defects[0], trace.Stop, design.PatchWidth(r.Patches[i].SheetC, r.OD, 1, numbered(log, "check/patch-width", i).Knowing("c_s", trace.StepAt("seal"+strconv.Itoa(i+1)+"/sheet-round"))))
	}
	if _, sheets, ok := k.c.SheetFor(r.OD); ok {
		limit := 1 / (k.set.PatchCurve + 1) // D/h at least so much, as a strain of the outer fibre
		r.finding(trace.Stop, design.PatchBending(sheets[0].Thickness, r.OD, limit, design.Show(log, "check/patch-bending", fromSurvey)))
	}
}

func (k *Rules) wrapNotTooThick(r *Repair, log *trace.Log) {
	if r.WrapThickness > 0 {
		r.finding(trace.Stop, k.wrapLimit(r, log))
	}
}

func (k *Rules) wrapLimit(r *Repair, log *trace.Log) design.Finding {
	return design.WrapLimit(r.WrapThickness, r.OD, k.set.ThicknessLimit, design.Show(log, "check/wrap-limit", fromSurvey))
}

// freeRun checks the free pipe before and after each defect, where the survey
// gives it.
func (k *Rules) freeRun(r *Repair, log *trace.Log) {
	for i, d := range r.Defects {
		if d.FreeRunBefore.OK {
			r.findingOf(d, trace.Stop, design.FreeRun("before "+d.ID, d.FreeRunBefore.V, d.Chainage.V-r.From, numbered(log, "check/free-before", i)))
		}
		if d.FreeRunAfter.OK {
			r.findingOf(d, trace.Stop, design.FreeRun("after "+d.ID, d.FreeRunAfter.V, r.To-d.Chainage.V, numbered(log, "check/free-after", i)))
		}
	}
}

// bendNotTooTight checks that the bend has an inside, and asks where the repair
// runs past the end of the bend.
func (k *Rules) bendNotTooTight(r *Repair, log *trace.Log) {
	if r.BendRadius == 0 {
		return
	}
	tightest := r.worst(func(d *survey.Defect) float64 {
		if d.Component != survey.Bend {
			return math.Inf(-1)
		}
		return -d.BendRadius.V
	})
	if r.BendRadius <= r.OD/2 {
		r.queryOf(tightest, trace.Stop, "bend-too-tight", trace.WithUnit(r.BendRadius, "mm"), "the centre line of a bend must be more than half the diameter",
			"check the radius; it is measured to the middle of the pipe")
		return
	}
	if r.BendAngle <= 0 {
		return
	}
	b := design.Bend{D: r.OD, Radius: r.BendRadius, Angle: r.BendAngle}
	arcs, err := b.Arcs(design.Show(log, "bend", fromSurvey))
	if err != nil {
		r.queryOf(tightest, trace.Stop, "bend-refused", "", err.Error(), "check radius and angle of the bend")
		return
	}
	if r.runsOff {
		r.queryOf(tightest, trace.Ask, "bend-runs-out", trace.WithUnit(r.Length, "mm"),
			"the repair is longer than the bend, "+trace.WithUnit(arcs.Centre, "mm")+" along its middle: "+trace.WithUnit(r.OnBend, "mm")+" of it are counted as on the bend and stretched",
			"have the part on the straight pipe designed with it")
	}
}

// mediumAllowed holds what flows in the pipe against the table of media: by
// whole words, each with its classes, and each class with what it asks of a leak
// and of a pipe that does not leak. A word that the table does not hold is not
// known to be harmless.
func (k *Rules) mediumAllowed(r *Repair, _ *trace.Log) {
	said := map[string]bool{}
	for _, d := range r.Defects {
		if d.Medium == "" {
			r.lean(MediumUnknown)
			k.mediumClass(r, d, UnknownMedium, said)
			continue
		}
		read := k.words.Read(d.Medium)
		for _, class := range read.Classes {
			k.mediumClass(r, d, class, said)
		}
		if !read.Known || len(read.Strange) > 0 {
			k.mediumClass(r, d, UnknownMedium, said)
			if found := "unknown " + d.Medium; !said[found] {
				said[found] = true
				r.queryOf(d, trace.Ask, "medium-unknown", d.Medium, "the media table does not hold: "+strings.Join(read.Strange, ", "),
					"find out what is in the line, or add the words with their classes to the media table")
			}
		}
	}
	slices.Sort(r.Media)
}

// mediumClass takes up a class of the medium at a defect, and asks or stops, once
// a repair.
func (k *Rules) mediumClass(r *Repair, d *survey.Defect, class string, said map[string]bool) {
	row := k.c.MediaClassOf(class)
	if !slices.Contains(r.Media, class) {
		r.Media = append(r.Media, class)
	}
	verdict := row.NoLeak
	if leaks(d) {
		verdict = row.Leak
		r.Hazardous = r.Hazardous || row.Hazardous
	}
	sev := trace.Ask
	if verdict == "stop" {
		sev = trace.Stop
	}
	if verdict == "go" || said[class+verdict] || class == UnknownMedium && verdict == "ask" { // asked by its own query
		return
	}
	said[class+verdict] = true
	if sev == trace.Stop {
		r.queryOf(d, sev, "medium-refused", d.Medium, class+": not by this method (table media_classes)", "have it designed by a qualified person with the makers' resistance data")
		return
	}
	r.queryOf(d, sev, "medium-class", d.Medium, class+": "+cmp.Or(row.Caution, "ask before it is repaired")+equipmentOf(row), "have a qualified person decide whether it may be repaired in service")
}

func equipmentOf(row *catalog.MediaClass) string {
	if row.Equipment == "" {
		return ""
	}
	return " At hand: " + row.Equipment + "."
}

// mediaOf are the words of the media table, prepared for reading.
func mediaOf(c *catalog.Catalog) gate.Media {
	words := make([]gate.Word, len(c.Media))
	for i, m := range c.Media {
		words[i].Phrase = m.Phrase
		if m.Class != "" {
			words[i].Classes = []string{m.Class}
		}
	}
	return gate.NewMedia(words)
}

// dryEnough checks a dry surface against the dew point where the survey gives
// air temperature and humidity.
func (k *Rules) dryEnough(r *Repair, log *trace.Log) {
	if r.Surface != survey.Dry {
		return
	}
	magnus := design.WMOMagnus()
	magnus.A, magnus.B = k.set.MagnusA, k.set.MagnusB
	for i, d := range r.Defects {
		if !d.Humidity.OK || !d.AirTemp.OK {
			continue
		}
		dew, err := magnus.DewPoint(d.AirTemp.V, d.Humidity.V, numbered(log, "check/dew-point", i))
		if err != nil {
			r.queryOf(d, trace.Ask, "dew-point-unknown", "", err.Error(), "measure the dew point on the day")
			continue
		}
		surface := d.SurfaceTemp.V
		w := numbered(log, "check/above-dew", i).Knowing("T_dew", trace.StepAt("check/dew-point"+strconv.Itoa(i+1)))
		r.findingOf(d, trace.Ask, design.AboveDewPoint(surface, dew, k.set.DewMargin, w))
	}
}

// potLikePipe asks where the air in which putty is mixed and the pipe on which it
// is laid differ so much that one temperature does not serve for both.
func (k *Rules) potLikePipe(r *Repair, log *trace.Log) {
	for i, d := range r.Defects {
		f := design.Sense(design.Finding{
			Code: "pot-and-pipe", Name: "air and pipe differ; the putty's life is taken at the hotter, its curing at the pipe's", Found: math.Abs(d.AirTemp.V - d.SurfaceTemp.V), Limit: k.set.AirDiffer, Unit: "°C",
			Advice: "mix where it is as cool as the pipe, or bring the pipe to the temperature of the air; else have the maker say which minutes hold",
		}, numbered(log, "check/pot", i))
		if !f.OK {
			r.queryOf(d, trace.Ask, f.Code, trace.WithUnit(d.AirTemp.V, "°C")+" and "+trace.WithUnit(d.SurfaceTemp.V, "°C"), f.Name+": the limit is "+trace.WithUnit(f.Limit, f.Unit), f.Advice)
		}
	}
}

// accessKnown asks about a way of access that is not in the catalogue.
func (k *Rules) accessKnown(r *Repair, _ *trace.Log) {
	names := make([]string, len(k.c.Accesses))
	for i, a := range k.c.Accesses {
		names[i] = a.Access
	}
	var asked []string
	for _, d := range r.Defects {
		if len(names) == 0 || d.Access == "" || slices.Contains(names, d.Access) || slices.Contains(asked, d.Access) {
			continue
		}
		asked = append(asked, d.Access)
		r.queryOf(d, trace.Ask, "access-unknown", d.Access, "the catalogue has no such way of access; the "+accessEnd(k.set)+" of its table is priced in each number", "use one of: "+strings.Join(names, ", "))
	}
}

func (k *Rules) pressureInTable(r *Repair, _ *trace.Log) {
	if !r.Pressure.OK {
		return
	}
	if _, _, ok := k.c.LayersFor(r.Leaking, r.Pressure.V); !ok {
		r.queryOf(r.worst(func(d *survey.Defect) float64 { return d.Pressure.V }), trace.Ask, "pressure-above-table", trace.WithUnit(r.Pressure.V, "MPa"),
			"the firm's table of minimum layers ends below this pressure; its last row was used", "have it designed by a qualified person")
	}
}

// componentCounted asks about components that have a factor but no geometry of
// their own, and about those the catalogue does not know: of every component of
// the repair, not only of the one with the greatest factor.
func (k *Rules) componentCounted(r *Repair, _ *trace.Log) {
	var seen []survey.Component
	for _, d := range r.Defects {
		if d.Component == "" || slices.Contains(seen, d.Component) {
			continue
		}
		seen = append(seen, d.Component)
		if _, ok := k.c.ComponentOf(string(d.Component)); !ok {
			r.queryOf(d, trace.Stop, "component-unknown", string(d.Component), "the catalogue's components table has no such component", "add it with its factors, or correct the survey")
			continue
		}
		if slices.Contains([]survey.Component{survey.Tee, survey.Flange, survey.Nozzle, survey.Reducer}, d.Component) {
			r.queryOf(d, trace.Ask, "component-by-factor", string(d.Component), "thickness and surface of this component are counted by the factors of the components table",
				"have its shape designed and measured")
		}
	}
}

// bandsApart asks about sets at the same place along the pipe but on different
// sides of it: their bands would lie on one another.
func (k *Rules) bandsApart(r *Repair, _ *trace.Log) {
	n := 0
	neighbours(r.Patches, func(_, _ *Patch) { n++ })
	if n > 0 {
		r.query(trace.Ask, "bands-meet", strconv.Itoa(n), "sealing sets lie at the same place along the pipe; their bands would lie on one another, and all are counted",
			"decide on site whether one set of bands presses both")
	}
}

// metalLost asks what is to be repaired where no metal is lost and nothing
// leaks, and says where so little wall is left at the end of the life that the
// place is designed as a leak.
func (k *Rules) metalLost(r *Repair, log *trace.Log) {
	all, err := k.damages(r)
	if err != nil {
		return // the design has said so
	}
	for i := range all {
		d := all[i].d
		if leaks(d) {
			continue
		}
		if d.Remaining.V >= d.Wall.V {
			r.queryOf(d, trace.Ask, "no-metal-loss", trace.WithUnit(d.Remaining.V, "mm")+" of "+trace.WithUnit(d.Wall.V, "mm"), "no metal is lost and nothing leaks: what is to be repaired is not in the survey",
				"say what the damage is, or take the row out")
		}
		if all[i].gone {
			k.wallGone(r, &all[i], r.taken[i])
		}
	}
}

// wallGone asks whether a place that does not leak, and whose wall is designed as
// gone, gets a sealing set. None is counted, since its bands would be drawn over a
// wall that may not carry them; a row that says it leaks gets one. Where the
// wall is gone only by what is blank, that is asked once for all rows.
func (k *Rules) wallGone(r *Repair, u *damage, taken Blanks) {
	d := u.d
	designed := "less than " + trace.WithUnit(k.set.MinWall, "mm") + ": the wrap is designed as over a leak of " + trace.WithUnit(u.now.D, "mm") + ", and no sealing set is counted"
	switch {
	case !taken.Has("remaining") && d.Remaining.V < k.set.MinWall:
		r.queryOf(d, trace.Ask, "wall-gone", trace.WithUnit(d.Remaining.V, "mm"), "the row does not leak, and the wall left is "+designed,
			"does it leak, or will it once it is cleaned? Then say so in the row, and a sealing set is counted; else measure the wall again")
	case taken.Has("remaining") || taken.Has("corrosion_rate") || u.wear.Rate > 0 && d.Mechanism.Unknown():
		r.lean(WallGoneTaken)
	default:
		r.queryOf(d, trace.Ask, "wall-gone", trace.WithUnit(u.wall, "mm"), "the wall left after "+trace.WithUnit(d.Life.V, "years")+" is "+designed,
			"have the designer say whether it gets a sealing set now (say that the row leaks, and one is counted), or a shorter life; measure wall and corrosion rate")
	}
}

// pipeHolds checks that the pipe as it was made carries the pressure. Where the
// allowable stress is not the survey's own, that is asked once for all.
func (k *Rules) pipeHolds(r *Repair, log *trace.Log) {
	for i, d := range r.Defects {
		f := design.FullWall(d.Pressure.V, d.OD.V, d.Stress.Or(k.set.PipeStress), d.Wall.V, numbered(log, "check/full-wall", i))
		switch {
		case f.OK:
		case r.taken[i].Has("stress") || r.taken[i].Has("wall") || !d.Stress.OK:
			r.lean(FullWallExceeded)
		default:
			r.findingOf(d, trace.Stop, f)
		}
	}
}

// leaksSmall asks where a leak is large against its pipe, or the pressure near
// what no thickness holds.
func (k *Rules) leaksSmall(r *Repair, log *trace.Log) {
	all, err := k.damages(r)
	if err != nil {
		return
	}
	for i := range all {
		if u := &all[i]; u.gone && u.now.D > 0 {
			r.findingOf(u.d, trace.Ask, design.HoleLimit(u.now.D, r.OD, u.d.Wall.V, k.set.HoleLimit, numbered(log, "check/leak-size", i).Knowing("c", trace.Setting("limit.hole"))))
		}
		if d := all[i].d; leaks(d) && d.Axial.V > d.Circ.V {
			r.lean(HoleRound)
		}
	}
	if r.Ceiling > 0 && r.Status != NotRepairable {
		f := design.NearCeiling(r.Pressure.V, r.Ceiling, k.set.CeilingShare, design.Show(log, "check/near-ceiling", fromSurvey).Knowing("share", trace.Setting("limit.ceiling_share")))
		r.NearCeiling = !f.OK
		r.findingOf(r.lowest, trace.Ask, f)
	}
}

// forceCounted asks where an axial force is less than the end thrust that the
// pressure alone makes.
func (k *Rules) forceCounted(r *Repair, log *trace.Log) {
	for i, d := range r.Defects {
		if !d.AxialForce.OK {
			continue
		}
		if thrust, err := design.EndThrust(d.OD.V, d.Pressure.V, nil); err == nil {
			r.findingOf(d, trace.Ask, design.ThrustCounted(d.AxialForce.V, thrust, numbered(log, "check/thrust", i)))
		}
	}
}

func (k *Rules) cyclesFew(r *Repair, log *trace.Log) {
	for i, d := range r.Defects {
		if d.Cycles.OK {
			r.findingOf(d, trace.Ask, design.Sense(design.Finding{
				Code: "cycles-many", Name: "pressure cycles over the life", Found: d.Cycles.V, Limit: k.set.CyclesAsk, Unit: "cycles",
				Advice: "have the wrap designed for fatigue", Source: "composite-repair standards, from memory, verified: no",
			}, numbered(log, "check/cycles", i)))
		}
	}
}

// layersFew asks about more layers than are usual, and about a wrap that is
// thick against the pipe; near the ceiling that has been said.
func (k *Rules) layersFew(r *Repair, log *trace.Log) {
	if r.WrapThickness == 0 || r.NearCeiling {
		return
	}
	r.findingOf(r.governs, trace.Ask, design.Sense(design.Finding{
		Code: "layers-many", Name: "layers of wrap", Found: float64(r.Layers), Limit: float64(k.set.LayersAsk), Unit: "layers",
		Advice: "check wall, pressure and size of the defect, and have it designed",
	}, design.Show(log, "check/layers", fromSurvey)))
	thick := design.WrapLimit(r.WrapThickness, r.OD, k.set.ThickAsk, design.Show(log, "check/wrap-thick", fromSurvey).Knowing("n_t", trace.Setting("limit.wrap_ask")))
	thick.Code = "wrap-stiff"
	r.findingOf(r.governs, trace.Ask, thick)
}
