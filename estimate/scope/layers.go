package scope

import (
	"cmp"
	"errors"
	"maps"
	"math"
	"strconv"

	"wraptally/catalog"
	"wraptally/estimate/design"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

// demand is the wrap that one defect, or one patch over several, asks for.
type demand struct {
	layers  int
	from    string   // why that many
	method  string   // design method, for the kit
	ceiling float64  // MPa, of a through-wall hole; 0 where not computed
	leans   []string // assumptions
	doubt   string   // what speaks against the designer's layers; they are kept
	refused error    // *design.NotRepairable: no thickness holds; else a rule that does not reach so far
}

// unit is everything about a defect's pipe that the rules need.
type unit struct {
	d         *survey.Defect
	leaking   bool
	wall      design.Num
	remaining design.Num
	wrap      *catalog.Wrap
	factor    float64 // component factor on thickness
}

// layersFor follows the order of the rule: the designer's layers; else the
// greater of the firm's minimum for the service and the preliminary thickness;
// never fewer than the minimum of all. hole is the diameter of the through-wall
// hole in mm, 0 without a leak.
func (k *rules) layersFor(u unit, hole float64, log *trace.Log) demand {
	set := k.set
	if u.d.Layers.OK {
		n := int(math.Ceil(u.d.Layers.V))
		out := demand{layers: max(n, set.MinLayers), from: "the designer's layers", method: "by the designer"}
		if n < set.MinLayers {
			out.from = "the smallest number of layers (the designer's " + strconv.Itoa(n) + " are fewer)"
		}
		logLayers(out, u.d.Layers.V, set, log)
		out.doubt = k.doubt(u, hole, out.layers)
		return out
	}
	out := demand{method: "firm's minimum layers"}
	minimum := k.fewestLayers(u.leaking, u.d.Pressure)
	if !u.d.Pressure.OK {
		out.leans = append(out.leans, PressureUnknown)
	}
	out.layers, out.from = minimum, "the firm's minimum for the service"
	t, err := k.thickness(u, hole, &out, log)
	if err != nil {
		out.refused = err
		return out
	}
	t *= u.factor
	if n := int(math.Ceil(t/u.wrap.Ply - 1e-9)); n > out.layers {
		out.layers, out.from = n, "preliminary thickness, "+out.method
	}
	if out.layers < set.MinLayers {
		out.layers, out.from = set.MinLayers, "the smallest number of layers"
	}
	log.Add(func() trace.Step {
		return trace.Step{
			ID: "layers", Name: "layers of wrap, by " + out.from, Rule: "scope.layers",
			Formula: "max(n_min, n_service, t·f_c/t_ply)",
			Inputs: []trace.Input{
				trace.In("n_min", "smallest number of layers", float64(set.MinLayers), "", trace.Setting("wrap.min_layers")),
				trace.In("n_service", "the firm's minimum for the service", float64(minimum), "", trace.Table("min_layers", "")),
				trace.In("t", "preliminary thickness", t/u.factor, "mm", trace.StepsUnder("thickness/"), trace.Words("0 where none was computed")),
				trace.In("f_c", "component factor", u.factor, "", trace.Table("components", string(cmp.Or(u.d.Component, survey.Straight)))),
				trace.In("t_ply", "thickness of one ply", u.wrap.Ply, "mm", trace.Table("wraps", u.wrap.Wrap)),
			},
			Raw: math.Max(float64(max(minimum, set.MinLayers)), t/u.wrap.Ply), Value: float64(out.layers), Rounding: "up to whole layers",
			Source: "order of the rule: common practice, no source", Leans: out.leans,
		}
	})
	return out
}

// doubt holds the designer's layers against the preliminary thickness. They are
// kept, since the designer may know more, but what speaks against them is asked.
func (k *rules) doubt(u unit, hole float64, layers int) string {
	t, err := k.thickness(u, hole, &demand{}, nil)
	var impossible *design.NotRepairable
	switch {
	case errors.As(err, &impossible):
		return impossible.Error()
	case err != nil:
		return "" // the rule does not reach so far: it says nothing
	}
	if n := int(math.Ceil(t*u.factor/u.wrap.Ply - 1e-9)); n > layers {
		return "the preliminary thickness asks for " + strconv.Itoa(n) + " layers"
	}
	return ""
}

func logLayers(out demand, asked float64, set *catalog.Settings, log *trace.Log) {
	log.Add(func() trace.Step {
		return trace.Step{
			ID: "layers", Name: "layers of wrap, by " + out.from, Rule: "scope.layers.designer", Formula: "max(n_min, n_designer)",
			Inputs: []trace.Input{
				trace.In("n_min", "smallest number of layers", float64(set.MinLayers), "", trace.Setting("wrap.min_layers")),
				trace.In("n_designer", "layers by the designer", asked, "", trace.Survey),
			},
			Raw: math.Max(float64(set.MinLayers), asked), Value: float64(out.layers), Rounding: "up to whole layers", Source: "the designer",
		}
	})
}

// Where the symbols of the design rules come from.
var (
	fromSurvey = map[string]trace.Origins{
		"D": {trace.Survey}, "P": {trace.Survey}, "t_rem": {trace.Survey}, "t": {trace.Survey}, "s": {trace.Survey},
		"E_s": {trace.Setting("design.pipe_modulus")}, "E_c": {trace.Table("wraps", "")}, "E_a": {trace.Table("wraps", "")}, "ν": {trace.Table("wraps", "")}, "γ": {trace.Table("wraps", "")}, "G": {trace.Table("wraps", "")},
		"f": {trace.Setting("design.hole_factor"), trace.Words("times the temperature factor")}, "d": {trace.Survey}, "T_m": {trace.Table("wraps", "")}, "T_d": {trace.Survey},
		"F": {trace.Survey}, "P_s": {trace.StepAt("thickness/substrate")}, "ε": {trace.StepAt("thickness/strain-round")},
		"ε_a": {trace.StepAt("thickness/strain-along")}, "n": {trace.StepAt("layers")}, "f_T": {trace.StepAt("thickness/temperature")},
		"f_y": {trace.StepAt("thickness/life")}, "y": {trace.Survey}, "y_1": {trace.Table("life_factors", "")}, "y_2": {trace.Table("life_factors", "")}, "v_1": {trace.Table("life_factors", "")}, "v_2": {trace.Table("life_factors", "")},
		"c_2": {trace.Setting("design.temp_quadratic")}, "c_1": {trace.Setting("design.temp_linear")}, "c_0": {trace.Setting("design.temp_constant")},
		"Δα": {trace.Words("not counted here")}, "ΔT": {trace.Words("not counted here")}, "p": {trace.StepAt("passes")}, "t_ply": {trace.Table("wraps", "")}, "o": {trace.Setting("wrap.overlap")}, "n_t": {trace.Setting("wrap.thickness_limit")},
		"D_low": {trace.Setting("set.od_min")}, "D_high": {trace.Setting("set.od_max")}, "c": {trace.Survey}, "share": {trace.Setting("set.max_arc")}, "share_s": {trace.Words("once round the pipe")},
		"h": {trace.Table("sheets", "")}, "ε_max": {trace.Setting("screen.patch_curvature")}, "T_air": {trace.Survey}, "RH": {trace.Survey}, "T_surface": {trace.Survey},
		"A": {trace.Setting("screen.magnus_a")}, "B": {trace.Setting("screen.magnus_b")}, "margin": {trace.Setting("screen.dew_margin")}, "R": {trace.Survey}, "θ": {trace.Survey}, "ε_0": {trace.Table("wraps", "")}, "run_out": {trace.Setting("reach.run_out")}, "L_min": {trace.Setting("reach.minimum")},
		"ratio": {trace.Setting("taper.ratio")}, "t_wrap": {trace.StepAt("wrap-thickness")}, "E_ac": {trace.StepAt("thickness/modulus")},
	}
)

// origins are fromSurvey with what the survey of this defect leaves to a table, a
// setting or another step. It is needed only where steps are written.
func (k *rules) origins(d *survey.Defect) map[string]trace.Origins {
	from := maps.Clone(fromSurvey)
	size := trace.Table("pipes", d.Series+" "+d.Size)
	switch {
	case d.ODFrom == "size":
		from["D"] = trace.Origins{size}
	case d.ODFrom == "circumference":
		from["D"] = trace.Origins{trace.Survey, trace.Words("circumference/π")}
	}
	if _, code := k.wall(d); code == WallStandard {
		from["t"] = trace.Origins{size, trace.Words("standard wall")}
	}
	for _, left := range []struct {
		known  bool
		symbol string
		from   trace.Origin
	}{
		{d.Stress.OK, "s", trace.Setting("design.pipe_stress")},
		{d.DesignTemp.OK, "T_d", trace.Setting("design.temperature")},
		{d.Life.OK, "y", trace.Setting("design.life")},
		{d.AxialForce.OK, "F", trace.StepAt("thickness/thrust")},
		{d.SurfaceTemp.OK, "T_surface", trace.Setting("work.temperature")},
	} {
		if !left.known {
			from[left.symbol] = trace.Origins{left.from}
		}
	}
	if k.set.ReachEdition == "iso" {
		from["k"] = trace.Origins{trace.Setting("reach.iso_factor")}
	} else {
		from["k"] = trace.Origins{trace.Setting("reach.pcc2_factor")}
	}
	return from
}

// thickness is the preliminary thickness in mm on the basis chosen, before the
// component factor; 0 where pressure or wall is not known, with the assumption
// that says so.
//
// basis "auto": a leak is designed as a through-wall hole on a substrate that
// is ignored; a thinned wall as sound substrate. A chosen basis replaces the
// second part; a leak always has to satisfy the hole as well.
func (k *rules) thickness(u unit, hole float64, out *demand, log *trace.Log) (float64, error) {
	set, w, d := k.set, u.wrap, u.d
	basis := set.DesignBasis
	if !d.Pressure.OK || basis == "none" && hole == 0 {
		return 0, nil
	}
	if basis == "auto" {
		basis = "sound"
		if u.leaking {
			basis = "ignored"
		}
	}
	var from map[string]trace.Origins
	if log.On() {
		from = k.origins(d)
	}
	show := func(id string) *design.Working { return design.Show(log, "thickness/"+id, from) }

	td := d.DesignTemp.Or(set.DesignTemp)
	if !d.DesignTemp.OK {
		out.leans = append(out.leans, DesignTempTaken)
	}
	rule := design.TemperatureRule{A: set.TempQuad, B: set.TempLinear, C: set.TempConst, Source: set.DesignEdition}
	fT, err := rule.Factor(w.Service, td, show("temperature"))
	if err != nil {
		return 0, err
	}
	if basis == "none" {
		// No thickness is asked for, but what no thickness holds stays impossible.
		_, err := holeThickness(w, hole, d.Pressure.V, set.ServiceFactor*fT, out, show)
		return 0, err
	}
	life, err := k.life.At(d.Life.Or(set.Life), show("life"))
	if err != nil {
		return 0, err
	}
	hoopStrain, err := design.Strain{Base: w.Strain, FT: fT, FLife: life.Value}.Allowable(show("strain-round"))
	if err != nil {
		return 0, err
	}

	p := d.Pressure.V
	stress := d.Stress.Or(set.PipeStress)
	var t float64
	switch basis {
	case "sound", "yield":
		if !u.remaining.OK {
			out.leans = append(out.leans, RemainingUnknown)
			break
		}
		if !d.Stress.OK {
			out.leans = append(out.leans, StressSetting)
		}
		if basis == "yield" {
			out.method = "substrate may yield"
			got, err := design.Yielding(d.OD.V, p, stress, u.remaining.V, hoopStrain, w.HoopMod, show("hoop"))
			if err != nil {
				return 0, err
			}
			t = got.T
			break
		}
		out.method = "sound substrate"
		t, err = soundThickness(u, p, stress, out, set, show)
	case "ignored":
		out.method = "substrate ignored"
		var axialStrain float64
		if axialStrain, err = (design.Strain{Base: w.StrainA, FT: fT, FLife: life.Value}).Allowable(show("strain-along")); err == nil {
			t, err = ignoredThickness(u, p, hoopStrain, axialStrain, out, show)
		}
	}
	if err != nil {
		return 0, err
	}
	if hole > 0 {
		th, err := holeThickness(w, hole, p, set.ServiceFactor*fT, out, show)
		if err != nil {
			return 0, err
		}
		out.method = "through-wall hole, " + out.method
		t = math.Max(t, th)
	}
	return t, nil
}

func soundThickness(u unit, p, stress float64, out *demand, set *catalog.Settings, show func(string) *design.Working) (float64, error) {
	d, w := u.d, u.wrap
	ps, err := design.SubstratePressure(d.OD.V, stress, u.remaining.V, show("substrate"))
	if err != nil {
		return 0, err
	}
	rule := design.Sound{D: d.OD.V, S: stress, Es: set.PipeModulus, Ps: ps}
	hoop, err := rule.Hoop(w.HoopMod, p, show("hoop"))
	if err != nil {
		return 0, err
	}
	force, err := axialForce(d, p, out, show)
	if err != nil {
		return 0, err
	}
	axial, err := rule.Axial(w.AxialMod, force, show("axial"))
	if err != nil {
		return 0, err
	}
	return math.Max(hoop.T, axial.T), nil
}

func ignoredThickness(u unit, p, hoopStrain, axialStrain float64, out *demand, show func(string) *design.Working) (float64, error) {
	d, w := u.d, u.wrap
	force, err := axialForce(d, p, out, show)
	if err != nil {
		return 0, err
	}
	rule := design.Ignored{D: d.OD.V, P: p, F: force, Ec: w.HoopMod, Ea: w.AxialMod, Nu: w.Poisson}
	hoop, err := rule.Hoop(hoopStrain, show("hoop"))
	if err != nil {
		return 0, err
	}
	axial, err := rule.Axial(axialStrain, show("axial"))
	if err != nil {
		return 0, err
	}
	return math.Max(hoop.T, axial.T), nil
}

// axialForce is the survey's, or the end thrust.
func axialForce(d *survey.Defect, p float64, out *demand, show func(string) *design.Working) (float64, error) {
	if d.AxialForce.OK {
		return d.AxialForce.V, nil
	}
	out.leans = append(out.leans, EndThrustTaken)
	return design.EndThrust(d.OD.V, p, show("thrust"))
}

func holeThickness(w *catalog.Wrap, hole, p, factor float64, out *demand, show func(string) *design.Working) (float64, error) {
	eac, err := design.MeanModulus(w.AxialMod, w.HoopMod, show("modulus"))
	if err != nil {
		return 0, err
	}
	rule := design.Hole{D: hole, Gamma: w.Gamma, Eac: eac, G: w.ShearMod, Nu: w.Poisson, F: factor}
	if out.ceiling, err = rule.Ceiling(nil); err != nil {
		return 0, err
	}
	got, err := rule.Thickness(p, show("hole"))
	return got.T, err
}

// fewestLayers is the firm's minimum for the service: the first row of the
// table whose pressure is not exceeded. Without a pressure, or above the last
// row, it is the largest of the rows for a leak, or for none.
func (k *rules) fewestLayers(leaking bool, p survey.Num) int {
	if p.OK {
		if n, _, ok := k.c.LayersFor(leaking, p.V); ok {
			return n
		}
	}
	most := 0
	for _, row := range k.c.MinLayers {
		if row.Leaking == leaking {
			most = max(most, row.Layers)
		}
	}
	return most
}

// lifeTable is the catalogue's, in the form the rule reads.
func lifeTable(c *catalog.Catalog) design.LifeTable {
	out := make(design.LifeTable, len(c.LifeFactors))
	for i, f := range c.LifeFactors {
		out[i] = design.LifePoint{Years: f.Years, Value: f.Factor, Basis: f.Basis}
	}
	return out
}
