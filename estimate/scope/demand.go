package scope

import (
	"errors"
	"maps"
	"math"
	"slices"
	"strconv"

	"wraptally/catalog"
	"wraptally/estimate/design"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

// loads is what acts on a repair and what its wrap is made of: of every number
// the worst that any of its defects has. What relieves the wrap, tension where
// it narrows the pipe and pressure where it shortens it, counts with the least.
type loads struct {
	p, pLow         float64 // MPa, design pressure
	f, fLow, thrust float64 // N, axial force, and the end thrust of the pressure
	stress          float64 // MPa, allowable stress of the pipe
	modulus         float64 // MPa, of the pipe
	wrap            *catalog.Wrap
	factor          float64                  // of the component, on thickness
	strain, strainA float64                  // allowable, round and along the pipe
	eac             float64                  // MPa, mean modulus of the wrap
	hole            float64                  // service factor of a leak, with the temperature factor
	holeRefused     error                    // the life is beyond its table
	from            map[string]trace.Origins // where the inputs come from
	of              *survey.Defect           // whose input was used last
}

// damage is a defect at the end of the asked life.
type damage struct {
	d    *survey.Defect
	wall float64     // mm left; 0 of a leak
	gone bool        // a leak, or a wall that is not counted on
	wear design.Wear // what takes it there
	leak design.Leak // where gone
	now  design.Combined
}

// Design is how a repair came to its layers: that of the defect that asks for the
// most.
type Design struct {
	Defect     string // its row
	Layers     int
	From       string             // why that many
	Method     string             // stated on the kit
	Candidates []design.Candidate // every basis, whether it counts or not
	WallEnd    float64            // mm, at the end of the life
	Size       float64            // mm, what a leak counts as among its neighbours at the end of the life; 0 without one
	Hole       design.Held        // how it is held; zero without a leak
	refused    error
	need       int   // layers of the preliminary thickness
	doubted    error // why there is none
}

// layersOf takes the most layers that a defect asks for.
func (k *Rules) layersOf(r *Repair, log *trace.Log) {
	roll := k.wrapRoll(r)
	if roll == nil {
		return
	}
	r.governs, r.lowest = r.Defects[0], r.Defects[0]
	l, err := k.loadsOf(r, roll, log)
	if err != nil {
		r.queryOf(l.of, trace.Stop, "design-outside-range", "", err.Error(), "have it designed by a qualified person, or correct the survey")
	}
	if r.Status != Estimated {
		return
	}
	all, err := k.damages(r)
	if err != nil {
		r.query(trace.Stop, "design-outside-range", "", err.Error(), "correct sizes, walls or corrosion rate in the survey")
		return
	}
	var most Design
	var lowest design.Held // of its leaks that with the least ceiling
	governs := -1
	demands := make([]Design, len(all))
	for i := range all {
		got := k.demandOf(r, &all[i], &l, nil)
		demands[i] = got
		if c := got.Hole.Ceiling; c > 0 && (lowest.Ceiling == 0 || c < lowest.Ceiling) {
			lowest, r.lowest = got.Hole, all[i].d
		}
		var impossible *design.NotRepairable
		switch {
		case errors.As(got.refused, &impossible):
			if r.Status != NotRepairable {
				r.Status, governs, most = NotRepairable, i, got
				r.because(impossible)
			}
		case got.refused != nil: // outside the range in which a rule holds: not known, rather than impossible
			r.queryOf(all[i].d, trace.Stop, "design-outside-range", "", got.refused.Error(), "have it designed by a qualified person, or correct the survey")
		case r.Status != NotRepairable && (governs < 0 || got.Layers > most.Layers):
			governs, most = i, got
		}
	}
	if r.Ceiling = lowest.Ceiling; r.Ceiling > 0 && log.On() {
		_, _ = lowest.Top.Ceiling(design.Show(log, "ceiling", l.from))
	}
	if governs < 0 {
		return
	}
	for i := range all {
		k.doubt(r, &all[i], &demands[i], most.Layers)
	}
	r.governs = all[governs].d
	if log.On() {
		k.demandOf(r, &all[governs], &l, log)
	}
	if k.examined != nil {
		*k.examined = most
	}
	r.Layers, r.LayersFrom, r.Method = most.Layers, most.From, most.Method
	if r.Status == NotRepairable || r.Layers == 0 {
		r.Layers = 0
		return
	}
	if err := k.lay(r, log); err != nil {
		k.tooMany(r, err)
	}
}

// lay is how the layers are laid, in whole passes, and how thick they are together.
func (k *Rules) lay(r *Repair, log *trace.Log) (err error) {
	if r.LayersPerPass, err = design.LayersPerPass(k.set.Overlap, nil); err == nil {
		r.Passes, err = design.Passes(r.Layers, k.set.Overlap, design.Show(log, "passes", fromSurvey))
	}
	if err == nil {
		r.WrapThickness, err = design.WrapThickness(r.Passes, k.set.Overlap, r.Ply, design.Show(log, "wrap-thickness", fromSurvey))
	}
	return err
}

// tooMany stops a repair of more layers than can be counted: near what no
// thickness holds they run away, and that is said rather than their number.
func (k *Rules) tooMany(r *Repair, err error) {
	if r.Ceiling > 0 && r.Pressure.V > k.set.CeilingShare*r.Ceiling {
		r.queryOf(r.lowest, trace.Stop, "at-ceiling", trace.WithUnit(r.Pressure.V, "MPa"), "near the ceiling: no thickness holds "+trace.WithUnit(r.Ceiling, "MPa")+" or more, and so near to it the layers run away, "+
			strconv.Itoa(r.Layers)+" of them", "measure the leak again, lower the pressure, or have another method designed")
		return
	}
	r.query(trace.Stop, "layers-refused", strconv.Itoa(r.Layers), err.Error(), "check the layers and the overlap")
}

// loadsOf gathers the worst of the repair's defects and works out what the wrap
// may bear in service.
func (k *Rules) loadsOf(r *Repair, roll *catalog.Wrap, log *trace.Log) (loads, error) {
	all := &r.all
	l := loads{wrap: roll, factor: r.ComponentFactor, p: all.Pressure.V, pLow: all.Pressure.V, stress: all.Stress.Or(k.set.PipeStress)}
	if log.On() {
		l.from = k.origins(r)
	}
	show := l.show(log)
	l.of = r.worst(func(d *survey.Defect) float64 { return d.Pressure.V })
	thrust, err := design.EndThrust(r.OD, l.p, show("thrust"))
	if err != nil {
		return l, err
	}
	l.thrust, l.f, l.fLow = thrust, math.Inf(-1), math.Inf(1)
	for i, d := range r.Defects {
		force := thrust
		if d.AxialForce.OK { // then it does not follow the pressure
			force = d.AxialForce.V
			low := d.Pressure.V
			if r.Blank.Has("pressure") {
				low = math.Min(low, k.set.PressureLow)
			}
			l.pLow = math.Min(l.pLow, low)
		} else {
			r.lean(EndThrustTaken)
		}
		l.f, l.fLow = math.Max(l.f, force), math.Min(l.fLow, force)
		l.modulus = math.Max(l.modulus, k.ofSubstrate(r, i, func(s *catalog.Substrate) float64 { return s.Modulus }))
	}
	if r.Status != Estimated {
		return l, nil
	}
	temperature := design.TemperatureRule{A: k.set.TempQuad, B: k.set.TempLinear, C: k.set.TempConst, Source: k.set.DesignEdition}
	l.of = r.worst(func(d *survey.Defect) float64 { return d.DesignTemp.V })
	fT, err := temperature.Factor(roll.Service, all.DesignTemp.V, show("temperature"))
	if err != nil {
		return l, err
	}
	if k.set.DesignBasis != "none" {
		l.of = r.worst(func(d *survey.Defect) float64 { return d.Life.V })
		life, err := k.life.At(all.Life.V, show("life"))
		if err != nil {
			return l, err
		}
		l.of = r.worst(func(d *survey.Defect) float64 { return d.DesignTemp.V })
		round, along := k.expansion(r, all.DesignTemp.V, roll)
		round.Base, round.FT, round.FLife = roll.Strain, fT, life.Value
		if l.strain, err = round.Allowable(show("strain-round")); err != nil {
			return l, err
		}
		along.Base, along.FT, along.FLife = roll.StrainA, fT, life.Value
		if l.strainA, err = along.Allowable(show("strain-along")); err != nil {
			return l, err
		}
	}
	if l.eac, err = design.MeanModulus(roll.AxialMod, roll.HoopMod, show("modulus")); err != nil {
		return l, err
	}
	life, err := k.holeLife.At(all.Life.V, show("hole-life"))
	l.hole, l.holeRefused = life.Value*fT, err
	return l, nil
}

// show is the working of the steps of the thickness.
func (l *loads) show(log *trace.Log) func(id string) *design.Working {
	if !log.On() {
		return func(string) *design.Working { return nil }
	}
	return func(id string) *design.Working { return design.Show(log, "thickness/"+id, l.from) }
}

// ofSubstrate is a number, the harder the greater, of the material of the pipe at
// defect at; where the survey does not say it, between the least and the greatest of
// the table. Another than the table holds stops the repair, since the rules are
// for what stands there.
func (k *Rules) ofSubstrate(r *Repair, at int, of func(*catalog.Substrate) float64) float64 {
	d := r.Defects[at]
	if d.Substrate != "" {
		if s := k.c.SubstrateOf(d.Substrate); s != nil {
			return of(s)
		}
	}
	least, most := math.Inf(1), math.Inf(-1)
	for i := range k.c.Substrates {
		s := &k.c.Substrates[i]
		least, most = math.Min(least, of(s)), math.Max(most, of(s))
	}
	if d.Substrate == "" {
		return least + (most-least)*r.open(blankSubstrate, at)
	}
	if r.Status == Estimated {
		r.queryOf(d, trace.Stop, "substrate-unknown", d.Substrate, "the catalogue's substrates table does not hold what the pipe is made of, and the rules of design are for what it holds",
			"have it designed by a qualified person; write steel where it is one, or add the material with its data")
	}
	return most
}

// expansion is what the difference of expansion between wrap and pipe takes of
// the strain, at the greatest difference that may be between laying and service.
// A wrap whose expansion is not given counts none: see the catalogue's warning.
func (k *Rules) expansion(r *Repair, designTemp float64, roll *catalog.Wrap) (round, along design.Strain) {
	temps := []float64{designTemp}
	if r.Blank.Has("design_temp") {
		temps = append(temps, k.set.DesignTempLow)
	}
	var most float64
	for _, t := range temps {
		most = math.Max(most, math.Max(math.Abs(t-r.SurfaceTemp), math.Abs(t-r.SurfaceTempLow)))
	}
	differ := func(wrap float64) design.Strain {
		if wrap == 0 {
			return design.Strain{}
		}
		var worst float64
		for i := range r.Defects {
			worst = math.Max(worst, k.ofSubstrate(r, i, func(s *catalog.Substrate) float64 { return math.Abs(wrap - s.Expansion) }))
		}
		return design.Strain{DeltaAlpha: worst * 1e-6, DeltaT: most}
	}
	return differ(roll.Expand), differ(roll.ExpandA)
}

// damages are the defects of the repair as they will be at the end of the life,
// and the leaks among them with what each counts as among its neighbours.
func (k *Rules) damages(r *Repair) ([]damage, error) {
	if w := r.working; !w.measured {
		w.measured = true
		w.damages, w.refused = k.measure(r)
	}
	return r.working.damages, r.refused
}

func (k *Rules) measure(r *Repair) ([]damage, error) {
	out := make([]damage, len(r.Defects))
	var leaksAt []int
	var leaking []design.Leak
	for i, d := range r.Defects {
		wear := design.Wear{Years: d.Life.V}
		switch rate := d.CorrosionRate.V; {
		case rate > 0 && d.Mechanism.Unknown():
			wear.Rate = rate * r.open(blankMechanism, i)
		case d.Mechanism.GoesOn():
			wear.Rate = rate
		}
		u := damage{d: d}
		var err error
		u.wear = wear
		if u.wall, err = wear.Wall(d.Remaining.V, nil); err != nil {
			return nil, err
		}
		if u.gone = leaks(d) || u.wall < k.set.MinWall; u.gone {
			u.leak = design.Leak{X: d.Chainage.V, Clock: design.Num(d.Clock)}
			if u.leak.A, err = wear.Hole(d.Axial.V, nil); err != nil {
				return nil, err
			}
			if u.leak.C, err = wear.Hole(d.Circ.V, nil); err != nil {
				return nil, err
			}
			leaksAt, leaking = append(leaksAt, i), append(leaking, u.leak)
		}
		out[i] = u
	}
	if len(leaking) == 0 {
		return out, nil
	}
	if len(leaking) > 1 {
		for j := range leaking {
			if !leaking[j].Clock.OK {
				leaking[j].Apart = (1 - r.open(blankClock, leaksAt[j])) * math.Pi * r.OD / 2
			}
		}
	}
	counted, err := k.near.Combine(leaking, r.OD)
	for j, i := range leaksAt {
		if err == nil {
			out[i].now = counted[j]
		}
	}
	return out, err
}

// demandOf follows the order of the rule for one defect: the designer's layers;
// else the greater of the firm's minimum for the service and the preliminary
// thickness; never fewer than the minimum of all.
func (k *Rules) demandOf(r *Repair, u *damage, l *loads, log *trace.Log) Design {
	set, d := k.set, u.d
	out := Design{Defect: d.ID, WallEnd: u.wall, Size: u.now.D, Method: "firm's minimum layers"}
	t, err := k.thickness(r, u, l, &out, log)
	t *= l.factor
	need := int(math.Ceil(t/l.wrap.Ply - 1e-9))
	if d.Layers.OK {
		n := int(math.Ceil(d.Layers.V))
		out.Layers, out.From, out.Method = max(n, set.MinLayers), "the designer's layers", "by the designer"
		if n < set.MinLayers {
			out.From = "the smallest number of layers (the designer's " + strconv.Itoa(n) + " are fewer)"
		}
		logLayers(out, d.Layers.V, set, log)
		out.need, out.doubted = need, err
		return out
	}
	if err != nil {
		out.refused = err
		return out
	}
	minimum := k.fewestLayers(leaks(d), l.p)
	out.Layers, out.From = minimum, "the firm's minimum for the service"
	if need > out.Layers {
		out.Layers, out.From = need, "preliminary thickness, "+out.Method
	}
	if out.Layers < set.MinLayers {
		out.Layers, out.From = set.MinLayers, "the smallest number of layers"
	}
	log.Add(func() trace.Step {
		return trace.Step{
			ID: "layers", Name: "layers of wrap, by " + out.From, Rule: "scope.layers",
			Formula: "max(n_min, n_service, t·f_c/t_ply)",
			Inputs: []trace.Input{
				trace.In("n_min", "smallest number of layers", float64(set.MinLayers), "", trace.Setting("wrap.min_layers")),
				trace.In("n_service", "the firm's minimum for the service", float64(minimum), "", trace.Table("min_layers", "")),
				trace.In("t", "preliminary thickness", t/l.factor, "mm", trace.Words("steps thickness/…"), trace.Words("0 where none was computed")),
				trace.In("f_c", "component factor", l.factor, "", trace.Table("components", string(r.Component))),
				trace.In("t_ply", "thickness of one ply", l.wrap.Ply, "mm", trace.Table("wraps", l.wrap.Wrap)),
			},
			Raw: math.Max(float64(max(minimum, set.MinLayers)), t/l.wrap.Ply), Value: float64(out.Layers), Rounding: "up to whole layers",
			Source: "order of the rule: common practice, no source", Leans: r.Leans,
		}
	})
	return out
}

// doubt holds the designer's layers against the preliminary thickness. They are
// counted, since the designer may know more, but what speaks against them is
// asked, of the defect that they stand at, with the layers that the repair has
// where another of its defects asks for more.
func (k *Rules) doubt(r *Repair, u *damage, of *Design, has int) {
	var impossible *design.NotRepairable
	against := "the preliminary thickness asks for " + strconv.Itoa(of.need) + " layers"
	switch {
	case !u.d.Layers.OK:
		return
	case errors.As(of.doubted, &impossible):
		against = impossible.Error()
	case of.doubted != nil || of.need <= of.Layers:
		return // the rule does not reach so far and says nothing, or it agrees
	}
	counted := "the designer's layers are taken, but "
	if has > of.Layers {
		counted = "the repair takes " + strconv.Itoa(has) + " layers for another of its defects, more than the designer's here; "
	}
	r.queryOf(u.d, trace.Ask, "designer-layers", strconv.Itoa(of.Layers)+" layers", counted+against,
		"have the designer confirm layers, pressure and size of the defect before anything is ordered")
}

func logLayers(out Design, asked float64, set *catalog.Settings, log *trace.Log) {
	log.Add(func() trace.Step {
		return trace.Step{
			ID: "layers", Name: "layers of wrap, by " + out.From, Rule: "scope.layers.designer", Formula: "max(n_min, n_designer)",
			Inputs: []trace.Input{
				trace.In("n_min", "smallest number of layers", float64(set.MinLayers), "", trace.Setting("wrap.min_layers")),
				trace.In("n_designer", "layers by the designer", asked, "", trace.Survey),
			},
			Raw: math.Max(float64(set.MinLayers), asked), Value: float64(out.Layers), Rounding: "up to whole layers", Source: "the designer",
		}
	})
}

// thickness is the preliminary thickness in mm on the basis chosen, before the
// component factor. A defect that is gone through the wall has to satisfy the
// formula of a leak as well, by the greater of both.
func (k *Rules) thickness(r *Repair, u *damage, l *loads, out *Design, log *trace.Log) (float64, error) {
	show := l.show(log)
	if log.On() {
		k.explainDamage(r, u, l, log)
		if u.gone { // the leak that governs has its step
			plain := show
			show = func(id string) *design.Working { return plain(id).Knowing("d", trace.StepAt("thickness/leak-size")) }
		}
	}
	t, err := k.overDamage(r, u, l, out, show, log)
	if err != nil {
		return 0, err
	}
	if !u.gone || u.now.W == 0 || u.now.D == 0 {
		return t, nil // no leak, or one without width that opens nothing
	}
	if l.holeRefused != nil {
		return 0, l.holeRefused
	}
	shapes := []design.Hole{l.leak(u.now.D, false)}
	if u.now.W < u.now.D {
		shapes = append(shapes, l.leak(u.now.W, true))
	}
	unbonded, err := k.unbonded(r, u, l)
	if err != nil {
		return 0, err
	}
	if k.set.HoleBasis == "unbonded" && unbonded != nil {
		shapes = unbonded
	}
	if out.Hole, err = design.Hold(l.p, shapes, show("hole")); err != nil {
		return 0, err
	}
	if out.Hole.By.Slot {
		out.Method = "through-wall slot, " + out.Method
	} else {
		out.Method = "through-wall hole, " + out.Method
	}
	return math.Max(t, out.Hole.T.T), nil
}

// explainDamage writes down the wall and the leak at the end of the life, and what
// the leak counts as among its neighbours.
func (k *Rules) explainDamage(r *Repair, u *damage, l *loads, log *trace.Log) {
	show := l.show(log)
	today := trace.Survey
	if r.Blank.Has("remaining") {
		today = trace.Words("settings blank.remaining…")
	}
	_, _ = u.wear.Wall(u.d.Remaining.V, show("wall-end").Knowing("t_rem", today)) // 0 of a leak
	if !u.gone {
		return
	}
	size := math.Max(u.leak.A, u.leak.C)
	_, _ = u.wear.Hole(math.Max(u.d.Axial.V, u.d.Circ.V), show("leak-end").Knowing("d", trace.Survey))
	log.Add(func() trace.Step {
		return trace.Step{
			ID: "thickness/leak-size", Name: "what the leak counts as, with " + strconv.Itoa(u.now.N) + " neighbours that enlarge it", Rule: "design.leaks.combine",
			Formula: "d_end + d_near",
			Inputs: []trace.Input{
				trace.In("d_end", "size of the leak at the end of the life", size, "mm", trace.StepAt("thickness/leak-end")),
				trace.In("d_near", "Σ (d_j + s_0)·g over its neighbours, g 1 up to s_0 = "+trace.WithUnit(k.set.HoleNear, "mm")+
					" apart, falling to 0 at s_1 = "+trace.WithUnit(k.set.HoleFar, "mm"), u.now.D-size, "mm", trace.Survey, trace.Setting("hole.near"), trace.Setting("hole.far")),
			},
			Value: u.now.D, Unit: "mm", Source: "leaks near each other count as one, common practice; the form of the rule is this program's own, no source",
		}
	})
}

// leak is a leak of the size under the wrap.
func (l *loads) leak(size float64, slot bool) design.Hole {
	return design.Hole{D: size, Slot: slot, Gamma: l.wrap.Gamma, Eac: l.eac, G: l.wrap.ShearMod, Nu: l.wrap.Poisson, F: l.hole}
}

// unbonded are the shapes that contain the sheet of a leak's sealing set, for
// the case in which the wrap does not bond over any of it; nil without a set.
func (k *Rules) unbonded(r *Repair, u *damage, l *loads) ([]design.Hole, error) {
	for i := range r.Patches {
		for _, d := range r.Patches[i].Defects {
			if d == u.d {
				p := &r.Patches[i]
				return []design.Hole{l.leak(math.Max(p.SheetA, p.SheetC), false), l.leak(p.SheetA, true)}, nil
			}
		}
	}
	return nil, nil
}

// overDamage is the thickness that the loads ask of a wrap over the damage, by
// the basis in force; 0 where none is.
func (k *Rules) overDamage(r *Repair, u *damage, l *loads, out *Design, show func(id string) *design.Working, log *trace.Log) (float64, error) {
	if k.set.DesignBasis == "none" {
		return 0, nil
	}
	rem, od, force := u.wall, r.OD, l.f
	if u.gone { // the fluid reaches the wrap: the pressure acts on its own diameter
		rem, od = 0, r.WrapOD(k.set)
		thrust, err := design.EndThrust(od, l.p, show("wrap-thrust"))
		if err != nil {
			return 0, err
		}
		force = math.Max(force, force-l.thrust+thrust)
	}
	loading := design.Loading{
		D: od, P: l.p, PLow: l.pLow, F: force, FLow: l.fLow, S: l.stress, Es: l.modulus, Rem: design.Known(rem),
		Wrap: design.Ignored{Nu: l.wrap.Poisson, Ec: l.wrap.HoopMod, Ea: l.wrap.AxialMod}, Strain: l.strain, StrainA: l.strainA, MinWall: k.set.MinWall,
	}
	working := design.Show(log, "thickness", l.from)
	if u.gone && l.f > l.thrust {
		// An axial force that was given asks for less on a larger diameter; a wall that
		// is gone is never to ask for less than one that is left.
		onPipe := loading
		onPipe.D, onPipe.F = r.OD, l.f
		if k.asks(onPipe) > k.asks(loading) {
			loading = onPipe
		}
	}
	if u.gone {
		working = working.Knowing("F", trace.Words("round the pipe the least axial force, along it the greatest, with what the end thrust on the wrap's own diameter adds"))
		if u.wall > 0 {
			working = working.Knowing("t_rem", trace.Words("none is counted on: designed as through the wall"))
		}
	}
	var err error
	if out.Candidates, err = loading.Candidates(working); err != nil {
		return 0, err
	}
	chosen := k.chosen(out.Candidates)
	out.Method = string(chosen.Basis)
	return chosen.T(), nil
}

// asks is what the basis in force asks of a wrap under a load; 0 where the
// rules refuse it, as they will again where it counts.
func (k *Rules) asks(l design.Loading) float64 {
	candidates, err := l.Candidates(nil)
	if err != nil {
		return 0
	}
	return k.chosen(candidates).T()
}

// chosen is the candidate of the basis set, or the least of those that count
// where it is left open or the one set does not count.
func (k *Rules) chosen(candidates []design.Candidate) design.Candidate {
	for _, c := range candidates {
		if c.Basis.Setting() == k.set.DesignBasis && c.Counts() {
			return c
		}
	}
	least, _ := design.LeastOf(candidates) // that which ignores the pipe always counts
	return least
}

// fewestLayers is the firm's minimum for the service: the first row of the
// table whose pressure is not exceeded; above the last row the largest of the
// rows for a leak, or for none.
func (k *Rules) fewestLayers(leaking bool, p float64) int {
	if n, _, ok := k.c.LayersFor(leaking, p); ok {
		return n
	}
	most := 0
	for _, row := range k.c.MinLayers {
		if row.Leaking == leaking {
			most = max(most, row.Layers)
		}
	}
	return most
}

// lifeTable is the catalogue's, in the form the rule reads; of the rows that have
// the factor.
func lifeTable(c *catalog.Catalog, factor func(*catalog.LifeFactor) float64) design.LifeTable {
	var out design.LifeTable
	for i := range c.LifeFactors {
		if f := &c.LifeFactors[i]; factor(f) > 0 {
			out = append(out, design.LifePoint{Years: f.Years, Value: factor(f), Basis: f.Basis})
		}
	}
	return out
}

// Where the symbols of the design rules come from.
var (
	fromSurvey = map[string]trace.Origins{
		"D": {trace.Survey}, "P": {trace.Survey}, "t_rem": {trace.StepAt("thickness/wall-end")}, "t": {trace.Survey}, "s": {trace.Survey},
		"E_s": {trace.Table("substrates", "")}, "E_c": {trace.Table("wraps", "")}, "E_a": {trace.Table("wraps", "")}, "ν": {trace.Table("wraps", "")}, "γ": {trace.Table("wraps", "")}, "G": {trace.Table("wraps", "")},
		"f": {trace.StepAt("thickness/hole-life"), trace.Words("times the temperature factor")}, "d": {trace.Words("the leak with its neighbours, at the end of the life")}, "T_m": {trace.Table("wraps", "")}, "T_d": {trace.Survey},
		"F": {trace.Survey}, "P_s": {trace.StepAt("thickness/substrate")}, "τ": {trace.Table("wraps", "")}, "W": {trace.Words("the leaks' lengths along the pipe, as their size")}, "r": {trace.Survey}, "F_end": {trace.StepAt("thickness/thrust")}, "P_max": {trace.StepAt("ceiling")}, "ε": {trace.StepAt("thickness/strain-round")},
		"ε_a": {trace.StepAt("thickness/strain-along")}, "n": {trace.StepAt("layers")}, "f_T": {trace.StepAt("thickness/temperature")},
		"f_y": {trace.StepAt("thickness/life")}, "y": {trace.Survey}, "y_1": {trace.Table("life_factors", "")}, "y_2": {trace.Table("life_factors", "")}, "v_1": {trace.Table("life_factors", "")}, "v_2": {trace.Table("life_factors", "")},
		"c_2": {trace.Setting("design.temp_quadratic")}, "c_1": {trace.Setting("design.temp_linear")}, "c_0": {trace.Setting("design.temp_constant")},
		"Δα": {trace.Words("wraps and substrates")}, "ΔT": {trace.Survey}, "p": {trace.StepAt("passes")}, "t_ply": {trace.Table("wraps", "")}, "o": {trace.Setting("wrap.overlap")}, "n_t": {trace.Setting("wrap.thickness_limit")},
		"D_low": {trace.Setting("set.od_min")}, "D_high": {trace.Setting("set.od_max")}, "c": {trace.Survey}, "share": {trace.Setting("set.max_arc")}, "share_s": {trace.Words("once round the pipe")},
		"h": {trace.Table("sheets", "")}, "ε_max": {trace.Setting("screen.patch_curvature"), trace.Words("1/(1 + it)")}, "T_air": {trace.Survey}, "RH": {trace.Survey}, "T_surface": {trace.Survey},
		"A": {trace.Setting("screen.magnus_a")}, "B": {trace.Setting("screen.magnus_b")}, "margin": {trace.Setting("screen.dew_margin")}, "R": {trace.Survey}, "θ": {trace.Survey}, "ε_0": {trace.Table("wraps", "")}, "run_out": {trace.Setting("reach.run_out")}, "L_min": {trace.Setting("reach.minimum")},
		"ratio": {trace.Setting("taper.ratio")}, "t_wrap": {trace.StepAt("wrap-thickness")}, "E_ac": {trace.StepAt("thickness/modulus")},
	}
)

// origins are fromSurvey with what the survey of the repair leaves to a table, a
// setting or another step. It is needed only where steps are written.
func (k *Rules) origins(r *Repair) map[string]trace.Origins {
	from := maps.Clone(fromSurvey)
	d := r.Defects[0]
	switch {
	case d.ODFrom == "size":
		from["D"] = trace.Origins{trace.Table("pipes", d.Series+" "+d.Size)}
	case d.ODFrom == "circumference":
		from["D"] = trace.Origins{trace.Survey, trace.Words("circumference/π")}
	}
	for key, symbol := range map[string]string{
		"wall": "t", "pressure": "P", "stress": "s", "surface_temp": "T_surface", "design_temp": "T_d", "bend_radius": "R",
	} {
		if r.Blank.Has(key) {
			from[symbol] = trace.Origins{trace.Words("settings blank." + key + "…")}
		}
	}
	if slices.ContainsFunc(r.Defects, func(d *survey.Defect) bool { return !d.AxialForce.OK }) {
		from["F"] = trace.Origins{trace.StepAt("thickness/thrust")}
	}
	if k.set.ReachEdition == "iso" {
		from["k"] = trace.Origins{trace.Setting("reach.iso_factor")}
	} else {
		from["k"] = trace.Origins{trace.Setting("reach.pcc2_factor")}
	}
	return from
}
