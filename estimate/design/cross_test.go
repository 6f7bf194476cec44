package design

import (
	"bytes"
	_ "embed"
	"encoding/json"
	"math"
	"math/rand/v2"
	"os/exec"
	"strings"
	"testing"

	"wraptally/estimate/trace"
	"wraptally/estimate/trace/outside"
)

//go:embed testdata/recompute.py
var recompute string

// aRepair are the inputs of every rule, drawn at random. The JSON names are
// those of the Python script.
type aRepair struct {
	D      float64      `json:"D"`
	Wall   float64      `json:"t"`
	Rem    float64      `json:"rem"`
	A      float64      `json:"a"`
	RunOut float64      `json:"run_out"`
	P      float64      `json:"P"`
	S      float64      `json:"s"`
	Es     float64      `json:"Es"`
	Ec     float64      `json:"Ec"`
	Ea     float64      `json:"Ea"`
	G      float64      `json:"G"`
	Nu     float64      `json:"nu"`
	Gamma  float64      `json:"gamma"`
	F      float64      `json:"f"`
	Hole   float64      `json:"d"`
	Try    float64      `json:"t_try"`
	Share  float64      `json:"share"` // of the ceiling
	X      float64      `json:"x"`
	Years  float64      `json:"years"`
	Lives  [][2]float64 `json:"lives"`
	Eps0   float64      `json:"eps0"`
	DAlpha float64      `json:"dalpha"`
	DT     float64      `json:"dT"`
	O      float64      `json:"o"`
	Ply    float64      `json:"ply"`
	Layers int          `json:"layers"`
	Ratio  float64      `json:"ratio"`
	R      float64      `json:"R"`
	Angle  float64      `json:"angle"`
	L      float64      `json:"L"`
	Air    float64      `json:"air"`
	RH     float64      `json:"RH"`
	Rate   float64      `json:"rate"`
	Tau    float64      `json:"tau"`
	Span   float64      `json:"span"`
	On     float64      `json:"on"`
}

func drawRepair(r *rand.Rand) aRepair {
	in := func(low, high float64) float64 { return low + (high-low)*r.Float64() }
	decades := func(low, high float64) float64 { return math.Exp(in(math.Log(low), math.Log(high))) }
	D := decades(50, 1500)
	return aRepair{
		D: D, Wall: D * in(0.01, 0.08), Rem: D * in(0, 0.04), A: in(0, 400), RunOut: in(0, 150),
		P: decades(0.1, 20), S: in(80, 300), Es: in(7e4, 2.1e5), Ec: decades(5e3, 1.2e5), Ea: decades(5e3, 1.2e5),
		G: decades(800, 8e3), Nu: in(0, 0.45), Gamma: decades(30, 800), F: in(0.2, 1),
		Hole: decades(2, 150), Try: decades(0.3, 60), Share: in(0.01, 0.95), X: in(0, 90), Years: in(0.5, 20),
		Lives: [][2]float64{{2, in(0.8, 1)}, {10, in(0.6, 0.8)}, {20, in(0.4, 0.6)}},
		Eps0:  in(0.002, 0.01), DAlpha: in(-1e-5, 1e-5), DT: in(-20, 40),
		O: []float64{0.5, 0.5, 0.6, 2.0 / 3, 0.75, in(0.5, 0.9)}[r.IntN(6)], Ply: in(0.15, 1.2), Layers: 1 + r.IntN(40),
		Ratio: in(3, 10), R: D * in(1, 6), Angle: in(5, 180), L: in(50, 600),
		Air: in(-30, 60), RH: in(5, 100), Rate: in(0, 0.5), Tau: decades(2, 20), Span: in(40, 300), On: in(0, 40),
	}
}

// results runs every rule of the package on one repair, writing the working
// down in log.
func (r aRepair) results(log *trace.Log) (map[string]float64, error) {
	out := map[string]float64{}
	var first error
	put := func(name string) func(float64, error) float64 {
		return func(v float64, err error) float64 {
			if err != nil && first == nil {
				first = err
			}
			out[name] = v
			return v
		}
	}
	raw := func(name string) func(Thickness, error) {
		return func(v Thickness, err error) { put(name)(v.Raw, err) }
	}
	show := func(id string) *Working { return Show(log, id, nil) }

	reach, err := PCC2Reach().Over(r.D, Known(r.Wall), r.RunOut, show("reach_pcc2"))
	put("reach_pcc2")(reach.Over, err)
	iso, err := ISOReach().Over(r.D, Known(r.Wall), r.RunOut, show("reach_iso"))
	put("reach_iso")(iso.Over, err)
	_, err = PCC2Reach().Over(r.D, Num{}, r.RunOut, show("reach_no_wall"))
	put("reach_no_wall")(0, err)

	fT := put("f_T")(usualTemperature().Factor(80, 80-r.X, show("f_T")))
	var table LifeTable
	for _, p := range r.Lives {
		table = append(table, LifePoint{Years: p[0], Value: p[1], Basis: "invented"})
	}
	life, err := table.At(r.Years, show("life"))
	put("life")(life.Value, err)
	eps := put("strain")(Strain{Base: r.Eps0, FT: fT, FLife: life.Value, DeltaAlpha: r.DAlpha, DeltaT: r.DT}.Allowable(show("strain")))

	Ps := put("P_s")(SubstratePressure(r.D, r.S, r.Rem, show("P_s")))
	F := put("F")(EndThrust(r.D, r.P, show("F")))
	sound := Sound{D: r.D, S: r.S, Es: r.Es, Ps: Ps}
	raw("sound_hoop")(sound.Hoop(r.Ec, r.P, show("sound_hoop")))
	raw("sound_axial")(sound.Axial(r.Ea, F, show("sound_axial")))
	raw("yielding")(Yielding(r.D, r.P, r.S, r.Rem, eps, r.Ec, show("yielding")))
	ignored := Ignored{D: r.D, P: r.P, F: F, Nu: r.Nu, Ec: r.Ec, Ea: r.Ea}
	raw("ignored_hoop")(ignored.Hoop(eps, show("ignored_hoop")))
	raw("ignored_axial")(ignored.Axial(eps, show("ignored_axial")))

	loading := Loading{D: r.D, P: r.P, PLow: r.P, F: F, FLow: F, S: r.S, Es: r.Es, Rem: Known(r.Rem), Wrap: ignored, Strain: eps, StrainA: eps, MinWall: 1}
	candidates, err := loading.Candidates(show("bases"))
	put("least")(0, err)
	if least, ok := LeastOf(candidates); ok {
		out["least"] = least.T()
	}
	wear := Wear{Rate: r.Rate, Years: r.Years}
	put("wall_end")(wear.Wall(r.Rem, show("wall_end")))
	put("hole_end")(wear.Hole(r.Hole, show("hole_end")))
	put("shear")(ShearLength(r.Ea, eps, r.Try, r.Tau, show("shear")))

	clamp := Clamp{D: r.D, Sheet: r.Span, Fasteners: r.Layers, Tension: 100 * r.L, Friction: r.Nu}
	put("contact")(clamp.Pressure(r.Layers, show("contact")))

	mean := put("E_ac")(MeanModulus(r.Ea, r.Ec, show("E_ac")))
	hole := Hole{D: r.Hole, Gamma: r.Gamma, Eac: mean, G: r.G, Nu: r.Nu, F: r.F}
	top := put("ceiling")(hole.Ceiling(show("ceiling")))
	put("hole_pressure")(hole.Pressure(r.Try, show("hole_pressure")))
	raw("hole_thickness")(hole.Thickness(r.Share*top, show("hole_thickness")))
	slot := hole
	slot.Slot = true
	slotTop := put("slot_ceiling")(slot.Ceiling(show("slot_ceiling")))
	put("slot_pressure")(slot.Pressure(r.Try, show("slot_pressure")))
	raw("slot_thickness")(slot.Thickness(r.Share*slotTop, show("slot_thickness")))

	put("per_pass")(LayersPerPass(r.O, show("per_pass")))
	passes, err := Passes(r.Layers, r.O, show("passes"))
	put("passes")(float64(passes), err)
	wrap := put("wrap")(WrapThickness(passes, r.O, r.Ply, show("wrap")))
	taper := put("taper")(Taper(r.Ratio, wrap, show("taper")))

	bend := Bend{D: r.D, Radius: r.R, Angle: r.Angle}
	arcs, err := bend.Arcs(show("arcs"))
	put("inner")(arcs.Inner, err)
	put("centre")(arcs.Centre, nil)
	put("outer")(arcs.Outer, nil)

	stretch, err := bend.Stretch(r.Span, r.On, r.L, show("stretch"))
	put("stretch")(stretch.Length, err)
	bend.Angle = 0
	stretch, err = bend.Stretch(r.Span, r.On, r.L, show("stretch_all"))
	put("stretch_all")(stretch.Length, err)

	HoleLimit(r.Hole, r.D, r.Wall, 6, show("hole limit"))
	NearCeiling(r.P, top, 0.8, show("near ceiling"))
	ThrustCounted(0.9*F, F, show("thrust"))
	FullWall(r.P, r.D, r.S, r.Wall, show("full wall"))
	Sense(Finding{Name: "layers of wrap", Found: float64(r.Layers), Limit: 30}, show("layers"))

	dew := put("dew")(WMOMagnus().DewPoint(r.Air, r.RH, show("dew")))
	AboveDewPoint(r.Air, dew, 3, show("above dew"))
	DefectWidth(r.A, r.D, 0.5, show("defect"))
	PatchWidth(2*r.A, r.D, 1, show("patch"))
	PatchBending(r.Ply, r.D, 0.002, show("bending"))
	FreeRun("before", r.L, r.A/2+reach.Over+taper, show("free run"))
	WrapLimit(wrap, r.D, 6, show("limit"))
	DiameterRange(r.D, 60, 1000, show("size"))
	return out, first
}

// One thousand random repairs, recomputed in Python with scipy from the
// formulas, by its own root finder: no result may differ by 1e-9 of its size.
// Every printed formula is evaluated too, with its printed inputs, so that what
// is shown is what was computed.
func TestCrossRecomputed(t *testing.T) {
	outside.NeedPython(t, "scipy")
	r := rand.New(rand.NewPCG(20, 26))
	type question struct {
		Repairs []aRepair    `json:"repairs"`
		Steps   []trace.Step `json:"steps"`
	}
	var ask question
	var ours []map[string]float64
	for range 1000 {
		log := &trace.Log{}
		repair := drawRepair(r)
		got, err := repair.results(log)
		if err != nil {
			t.Fatalf("%+v: %v", repair, err)
		}
		ask.Repairs, ours, ask.Steps = append(ask.Repairs, repair), append(ours, got), append(ask.Steps, log.Steps...)
	}
	in, err := json.Marshal(ask)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(outside.Python, "-c", recompute)
	cmd.Stdin = bytes.NewReader(in)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%v\n%s", err, stderr.String())
	}
	var answer struct {
		Repairs []map[string]float64 `json:"repairs"`
		Steps   []any                `json:"steps"`
	}
	if err := json.Unmarshal(out, &answer); err != nil {
		t.Fatal(err)
	}
	if len(answer.Repairs) != len(ours) || len(answer.Steps) != len(ask.Steps) {
		t.Fatalf("%d repairs and %d steps came back", len(answer.Repairs), len(answer.Steps))
	}

	const most = 1e-9
	compared, worst := 0, 0.0
	for i, theirs := range answer.Repairs {
		for name, want := range theirs {
			got, ok := ours[i][name]
			if !ok {
				t.Fatalf("%s is not computed here", name)
			}
			d := difference(got, want)
			compared, worst = compared+1, max(worst, d)
			if !(d < most) {
				t.Errorf("repair %d, %s: %.15g here, %.15g there\n%+v", i, name, got, want, ask.Repairs[i])
			}
		}
	}
	verdicts := 0
	for i, s := range ask.Steps {
		switch v := answer.Steps[i].(type) {
		case bool:
			verdicts++
			if passed := s.Text == "passed"; passed != v {
				t.Errorf("%s: %q, but the formula says %v: %s %v", s.ID, s.Text, v, s.Formula, s.Inputs)
			}
		case float64:
			want := s.Raw
			if strings.Contains(s.Formula, " from ") {
				want = 1 // both sides of the equation solved
			}
			if d := difference(v, want); !(d < most) {
				t.Errorf("%s: %.15g, but the formula gives %.15g: %s %v", s.ID, want, v, s.Formula, s.Inputs)
			}
		}
	}
	if compared < 1000*24 || verdicts < 1000*7 {
		t.Errorf("only %d results and %d verdicts compared", compared, verdicts)
	}
	t.Logf("%d results and %d steps compared, largest relative difference of the results %.2g", compared, len(ask.Steps), worst)
}

// difference is relative; two numbers that are both next to nothing agree.
func difference(a, b float64) float64 {
	size := max(math.Abs(a), math.Abs(b))
	if size < 1e-12 {
		return 0
	}
	return math.Abs(a-b) / size
}

// Every step of every rule can be read: a stable rule name, a source, no symbol
// of the inputs that the formula does not have, no line over 80 columns.
func TestStepsReadable(t *testing.T) {
	log := &trace.Log{Prefix: "R0001/"}
	if _, err := drawRepair(rand.New(rand.NewPCG(1, 2))).results(log); err != nil {
		t.Fatal(err)
	}
	if len(log.Steps) < 33 {
		t.Fatalf("only %d steps", len(log.Steps))
	}
	for _, s := range log.Steps {
		if s.Name == "" || s.Source == "" || s.Formula == "" || !strings.HasPrefix(s.Rule, "design.") || len(s.Inputs) == 0 {
			t.Errorf("%+v lacks a name, rule, formula, input or source", s)
		}
		for _, in := range s.Inputs {
			one := []trace.Input{trace.In(in.Symbol, "", 7, "")}
			if in.Name == "" || trace.Substitute(s.Formula, one) == s.Formula {
				t.Errorf("%s: input %q is not in %s", s.ID, in.Symbol, s.Formula)
			}
		}
		// With all inputs put in, no symbol is left but the result's and functions.
		right := s.Formula[strings.LastIndex(s.Formula, " = ")+1:]
		for _, word := range strings.FieldsFunc(trace.Substitute(right, s.Inputs), func(r rune) bool {
			return strings.ContainsRune(" ·/+−()[]{}|,^√²³⁴≤≥=-.0123456789", r)
		}) {
			switch word {
			case "max", "min", "ln", "π", "t_wrap", "e", "exp":
			default:
				t.Errorf("%s: %q in %s has no value", s.ID, word, s.Formula)
			}
		}
	}
	var b bytes.Buffer
	if err := trace.WriteText(&b, log.Steps, 80); err != nil {
		t.Fatal(err)
	}
	for _, line := range strings.Split(b.String(), "\n") {
		if len([]rune(line)) > 80 {
			t.Errorf("over 80 columns: %s", line)
		}
	}
}
