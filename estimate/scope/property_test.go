package scope

import (
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"wraptally/catalog"
	"wraptally/estimate/design"
	"wraptally/estimate/internal/trial"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
	"wraptally/estimate/trace/depth"
)

func surveyOf(t *rapid.T, c *catalog.Catalog, most int) []survey.Defect {
	return trial.Survey(trial.Rapid(t), c, rapid.IntRange(1, most).Draw(t, "rows"))
}

func shuffled(t *rapid.T, ds []survey.Defect) []survey.Defect {
	return rapid.Permutation(ds).Draw(t, "order")
}

// The order of the rows changes nothing: same repairs, same ids, same queries.
func TestOrderOfRowsIsNothing(t *testing.T) {
	c := builtin(t)
	rapid.Check(t, func(t *rapid.T) {
		ds := surveyOf(t, c, 20)
		a, b := Plan(ds, c), Plan(shuffled(t, ds), c)
		if len(a) != len(b) {
			t.Fatalf("%d repairs, %d in another order", len(a), len(b))
		}
		for i := range a {
			if !reflect.DeepEqual(a[i], b[i]) {
				t.Fatalf("repair %d:\n%+v\n%+v", i, a[i], b[i])
			}
		}
	})
}

// Every defect is in exactly one repair, in the order of chainage, on its line;
// the repair covers it with its reach on both sides; no two repairs of one line
// and diameter touch; no two that are estimated have one name.
func TestMergingProperty(t *testing.T) {
	c := builtin(t)
	rapid.Check(t, func(t *rapid.T) {
		ds := surveyOf(t, c, 30)
		repairs := Plan(ds, c)
		seen, names := map[*survey.Defect]bool{}, map[string]bool{}
		for i, r := range repairs {
			if r.Status == Estimated && names[foldName(r.ID)] {
				t.Fatalf("two repairs are %s", r.ID)
			}
			names[foldName(r.ID)] = true
			for j, d := range r.Defects {
				if seen[d] || d.Line != r.Line || d.Area != r.Area {
					t.Fatalf("%s is in %s, once too often or on another line", d.ID, r.ID)
				}
				seen[d] = true
				if j > 0 && d.Chainage.V < r.Defects[j-1].Chainage.V {
					t.Fatalf("%s is out of order in %s", d.ID, r.ID)
				}
				if !trial.AtLeast(d.Chainage.V-d.Axial.V/2-r.From, r.Reach+r.Taper) || !trial.AtLeast(r.To-d.Chainage.V-d.Axial.V/2, r.Reach+r.Taper) {
					t.Fatalf("%s reaches out of %s: %v to %v", d.ID, r.ID, r.From, r.To)
				}
			}
			if i == 0 {
				continue
			}
			a := repairs[i-1]
			if a.Area > r.Area || a.Area == r.Area && a.Line > r.Line || a.Area == r.Area && a.Line == r.Line && a.DefectFrom > r.DefectFrom {
				t.Fatalf("%s comes before %s", a.ID, r.ID)
			}
		}
		if len(seen) != len(ds) {
			t.Fatalf("%d of %d defects are in repairs", len(seen), len(ds))
		}
		for i, a := range repairs {
			for _, b := range repairs[i+1:] {
				if a.Line == b.Line && a.Area == b.Area && sameOD(a.OD, b.OD) && a.To >= b.From && b.To >= a.From {
					t.Fatalf("%s %v to %v and %s %v to %v touch on one pipe", a.ID, a.From, a.To, b.ID, b.From, b.To)
				}
			}
		}
	})
}

// Repairs join for a reason: parted anywhere, the two halves would touch or the
// joined repair asked for more than either. And a lone defect's repair is never
// longer than its rule says.
func TestMergedOnlyWhereNeeded(t *testing.T) {
	c := builtin(t)
	rapid.Check(t, func(t *rapid.T) {
		for _, r := range Plan(surveyOf(t, c, 20), c) {
			e := r.extent()
			raw, bend := e.length(&c.Settings, nil)
			if r.Length < raw-1e-6 || r.Length >= raw+c.Settings.LengthStep {
				t.Fatalf("%s is %v long for %v", r.ID, r.Length, raw)
			}
			if !trial.Near(r.To-r.From, r.Length) {
				t.Fatalf("%s: %v to %v is not %v", r.ID, r.From, r.To, r.Length)
			}
			for j := 1; j < len(r.Defects) && r.Status == Estimated; j++ { // what is refused has no wrap
				left, right := r.Defects[:j], r.Defects[j:]
				beyond := max(r.Reach, r.ShearReach) + r.Taper
				if r.MayNotBe { // it has the wrap of softer values, and joined for the longer one of those before it
					for _, part := range slices.Concat(parts(left, c), parts(right, c), parts(r.Defects, c)) {
						beyond = max(beyond, max(part.Reach, part.ShearReach)+part.Taper)
					}
				}
				to, from := math.Inf(-1), math.Inf(1)
				for _, d := range left {
					to = math.Max(to, d.Chainage.V+d.Axial.V/2)
				}
				for _, d := range right {
					from = math.Min(from, d.Chainage.V-d.Axial.V/2)
				}
				most := 2*beyond*bend.Factor + c.Settings.LengthStep + (bend.Factor-1)*(r.DefectTo-r.DefectFrom)
				if from-to > most+1e-6 {
					t.Fatalf("%s joins defects %v mm apart, more than %v", r.ID, from-to, most)
				}
			}
		}
	})
}

// parts are the repairs of some defects together and of each alone.
func parts(of []*survey.Defect, c *catalog.Catalog) []*Repair {
	all := make([]survey.Defect, len(of))
	var out []*Repair
	for i, d := range of {
		all[i] = *d
		out = append(out, Plan(all[i:i+1:i+1], c)...)
	}
	return append(out, Plan(all, c)...)
}

// Every leak is under exactly one sheet, no pit is under one; no two sheets
// overlap, round the pipe as well as along it; a sheet covers its defects with
// margin and edge.
func TestPatchesProperty(t *testing.T) {
	c := builtin(t)
	rapid.Check(t, func(t *rapid.T) {
		for _, r := range Plan(surveyOf(t, c, 20), c) {
			round := math.Pi * r.OD
			under := map[*survey.Defect]int{}
			for i := range r.Patches {
				p := &r.Patches[i]
				for _, d := range p.Defects {
					under[d]++
					edge := c.Settings.SealMargin + c.Settings.SheetEdge
					if !trial.AtLeast(p.SheetA/2-math.Abs(d.Chainage.V-p.X), d.Axial.V/2+edge) {
						t.Fatalf("%s: sheet %d does not cover %s along the pipe", r.ID, i, d.ID)
					}
					if p.SheetC < round && len(p.Defects) > 1 && // a sheet right round the pipe covers all of it
						!trial.AtLeast(p.SheetC/2-math.Abs(turn(d.Clock.V-p.Clock))/360*round, d.Circ.V/2+edge) {
						t.Fatalf("%s: sheet %d of %+v does not cover %s round the pipe", r.ID, i, p, d.ID)
					}
				}
				for j := range i {
					q := &r.Patches[j]
					if axiallyOverlap(p, q) && p.ClockKnown && q.ClockKnown && roundOverlap(p, q, r.OD) {
						t.Fatalf("%s: sheets %d and %d overlap", r.ID, j, i)
					}
				}
				if p.PadA*p.PadC < c.Settings.SealAreaFactor*p.A*p.C*(1-1e-12) {
					t.Fatalf("%s: pad %d is too small", r.ID, i)
				}
			}
			for _, d := range r.Defects {
				want := 0
				if d.Leaking != survey.No {
					want = 1
				}
				if under[d] != want {
					t.Fatalf("%s: %s is under %d sheets", r.ID, d.ID, under[d])
				}
			}
			if r.Leaking != (len(r.Patches) > 0) || len(r.Pits)+len(under) != len(r.Defects) {
				t.Fatalf("%s: %d patches, %d pits for %d defects", r.ID, len(r.Patches), len(r.Pits), len(r.Defects))
			}
		}
	})
}

// Turning the pipe under the clock, or moving the zero of the chainage by whole
// millimetres, changes no size, no layer and no length.
func TestTurnedAndMoved(t *testing.T) {
	c := builtin(t)
	rapid.Check(t, func(t *rapid.T) {
		ds := surveyOf(t, c, 12)
		for i := range ds { // whole numbers, so that turning and moving is exact
			ds[i].Clock.V, ds[i].Chainage.V = math.Floor(ds[i].Clock.V), math.Floor(ds[i].Chainage.V)
		}
		turned, by := append([]survey.Defect(nil), ds...), rapid.IntRange(1, 359).Draw(t, "by")
		for i := range turned {
			turned[i].Clock.V = math.Mod(turned[i].Clock.V+float64(by), 360)
			turned[i].Chainage.V += float64(1000 * by)
		}
		a, b := Plan(ds, c), Plan(turned, c)
		if len(a) != len(b) {
			t.Fatalf("%d repairs, turned %d", len(a), len(b))
		}
		for i := range a {
			if a[i].Length != b[i].Length || a[i].Layers != b[i].Layers || len(a[i].Patches) != len(b[i].Patches) {
				t.Fatalf("%s: %v mm, %d layers, %d patches; turned %v, %d, %d", a[i].ID, a[i].Length, a[i].Layers, len(a[i].Patches), b[i].Length, b[i].Layers, len(b[i].Patches))
			}
		}
	})
}

// Whatever the survey says, a repair is estimated, or says why not with a query
// or a reason; numbers are finite; assumptions have a text.
func TestNothingSilent(t *testing.T) {
	c := builtin(t)
	rapid.Check(t, func(t *rapid.T) {
		for _, r := range Plan(surveyOf(t, c, 12), c) {
			stopped := false
			for _, q := range r.Queries {
				stopped = stopped || q.Severity == trace.Stop
				if q.Code == "" || q.Message == "" || q.Advice == "" || q.Repair != r.ID || q.Row == "" || q.Place.Line == 0 {
					t.Fatalf("%s: %+v", r.ID, q)
				}
			}
			switch r.Status {
			case Estimated:
				if stopped || r.Reason != "" || r.Layers < c.Settings.MinLayers || r.Passes < 1 || !(r.Length > 0) || r.System == "" {
					t.Fatalf("estimated: %+v", r)
				}
				if laid := float64(r.Passes) * r.LayersPerPass; laid < float64(r.Layers)-1e-9 {
					t.Fatalf("%s: %v layers laid of %d", r.ID, laid, r.Layers)
				}
			case Queried:
				if !stopped || r.Reason == "" {
					t.Fatalf("queried without a stop: %+v", r)
				}
			case NotRepairable:
				if r.Reason == "" {
					t.Fatalf("not repairable without a reason: %+v", r)
				}
			}
			for _, v := range []float64{r.OD, r.Wall, r.Reach, r.Taper, r.Length, r.From, r.To, r.WrapThickness, r.Ceiling} {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Fatalf("%s: %v in %+v", r.ID, v, r)
				}
			}
			for _, code := range r.Leans {
				if a := Assumptions(&c.Settings)[code]; a.Text == "" || a.Basis == "" || (a.Ask == "") != (a.Field == "") {
					t.Fatalf("%s leans on %q, which has no text", r.ID, code)
				}
			}
		}
	})
}

// alone gives one defect without free runs, so that lengthening it is the only
// thing that changes.
func alone(t *rapid.T, c *catalog.Catalog) survey.Defect {
	d := trial.Survey(trial.Rapid(t), c, 1)[0]
	d.FreeRunBefore, d.FreeRunAfter = survey.Num{}, survey.Num{}
	return d
}

// holds says that b asks for at least as much as a wherever b is estimated.
func holds(t *rapid.T, what string, a, b survey.Defect, c *catalog.Catalog) {
	x, y := Plan([]survey.Defect{a}, c)[0], Plan([]survey.Defect{b}, c)[0]
	if y.Status != Estimated {
		return
	}
	_, hard := Prepare(c).Ends(x, "")
	if asked(hard, "pressure-above-full-wall") {
		return // an input is wrong, which more wall seems to mend
	}
	if x.MayNotBe && !y.MayNotBe {
		t.Fatalf("%s: the lesser may not be repairable, the greater is\n%+v", what, a)
	}
	if y.MayNotBe && x.Status == Estimated {
		// The hardest values that can be repaired are taken, and the greater can be for softer ones
		// only: the two are held against each other at one point of the ranges, the easy ends.
		x, _ = Prepare(c).Ends(x, "")
		y, _ = Prepare(c).Ends(y, "")
		if y.Status != Estimated {
			return // where the thick end of a wall that is blank is the easy one
		}
	}
	if x.Status != Estimated {
		t.Fatalf("%s: the lesser is %s, %q, the greater is estimated\n%+v", what, x.Status, x.Reason, a)
	}
	if y.Length < x.Length || y.Layers < x.Layers || y.Passes < x.Passes || y.WrapThickness < x.WrapThickness || y.Reach < x.Reach {
		t.Fatalf("%s: %v mm, %d layers; then %v mm, %d layers\n%+v", what, x.Length, x.Layers, y.Length, y.Layers, a)
	}
	for i := range y.Patches {
		if p, q := x.Patches[i], y.Patches[i]; q.PadA < p.PadA || q.PadC < p.PadC || q.SheetA < p.SheetA || q.SheetC < p.SheetC {
			t.Fatalf("%s: patch %+v, then %+v", what, p, q)
		}
	}
}

// Longer, wider, at a higher pressure, with less wall left, on a thicker pipe of
// the same remaining wall: never less.
func TestMonotone(t *testing.T) {
	c := builtin(t)
	more := func(t *rapid.T, v float64, most float64) float64 {
		return v + rapid.Float64Range(0, most).Draw(t, "more")
	}
	for name, change := range map[string]func(*rapid.T, *survey.Defect){
		"longer": func(t *rapid.T, d *survey.Defect) { d.Axial.V = more(t, d.Axial.V, 500) },
		"wider":  func(t *rapid.T, d *survey.Defect) { d.Circ.V = more(t, d.Circ.V, 500) },
		"pressure": func(t *rapid.T, d *survey.Defect) {
			d.Pressure = survey.Known(more(t, d.Pressure.V, 5))
		},
		"less wall left": func(t *rapid.T, d *survey.Defect) {
			d.Remaining.V *= rapid.Float64Range(0, 1).Draw(t, "share")
		},
		"thicker wall": func(t *rapid.T, d *survey.Defect) { d.Wall.V = more(t, d.Wall.V, 20) },
		"hotter in service": func(t *rapid.T, d *survey.Defect) {
			d.DesignTemp = survey.Known(more(t, d.DesignTemp.Or(c.Settings.DesignTempHigh), 60))
		},
		"longer life": func(t *rapid.T, d *survey.Defect) { d.Life = survey.Known(more(t, d.Life.Or(c.Settings.Life), 20)) },
	} {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				a := alone(t, c)
				switch name {
				case "pressure":
					if !a.Pressure.OK || a.AxialForce.OK {
						return // without a pressure the largest minimum counts; a pressure alone, without its end thrust, relieves the axial strain
					}
				case "hotter in service": // from the laying on: below it the wrap is pulled the other way
					a.DesignTemp = survey.Known(max(60, a.SurfaceTemp.V, a.DesignTemp.V))
				case "less wall left", "thicker wall":
					if !a.Remaining.OK || !a.Wall.OK {
						return
					}
				}
				b := a
				change(t, &b)
				holds(t, name, a, b, c)
			})
		})
	}
}

// The larger hole never has the higher ceiling.
func TestCeilingFalls(t *testing.T) {
	c := builtin(t)
	rapid.Check(t, func(t *rapid.T) {
		a := leak("a", 0, 0, 323.8, 9.53, rapid.Float64Range(1, 200).Draw(t, "hole"))
		b := a
		b.Axial.V += rapid.Float64Range(0, 100).Draw(t, "more")
		x, y := Plan([]survey.Defect{a}, c)[0], Plan([]survey.Defect{b}, c)[0]
		if !(y.Ceiling > 0 && y.Ceiling <= x.Ceiling*(1+1e-12)) {
			t.Fatalf("%v mm: %v MPa, %v mm: %v MPa", a.Axial.V, x.Ceiling, b.Axial.V, y.Ceiling)
		}
	})
}

// Explaining a repair gives steps with ids of their own, whose formulas give
// their values, and which end at the numbers of the repair.
func TestExplainAgrees(t *testing.T) {
	c := builtin(t)
	plain := 0
	rapid.Check(t, func(t *rapid.T) {
		for _, r := range Plan(surveyOf(t, c, 8), c) {
			log := &trace.Log{Prefix: r.ID + "/"}
			Prepare(c).Explain(r, log)
			ids := map[string]trace.Step{}
			for _, s := range log.Steps {
				if _, twice := ids[s.ID]; twice {
					t.Fatalf("%s is there twice", s.ID)
				}
				ids[s.ID] = s
				if !strings.HasPrefix(s.ID, r.ID+"/") || s.Name == "" || s.Rule == "" || s.Source == "" {
					t.Fatalf("%+v lacks something", s)
				}
				why, ok := trial.Disagrees(s)
				if why != "" {
					t.Fatal(why)
				}
				if ok {
					plain++
				}
			}
			for id, want := range map[string]float64{
				"reach": r.Reach, "taper": r.Taper, "length": r.Length, "layers": float64(r.Layers), "passes": float64(r.Passes), "wrap-thickness": r.WrapThickness,
			} {
				s, ok := ids[r.ID+"/"+id]
				if r.Status == Estimated && !ok || ok && s.Value != want && r.Status == Estimated {
					t.Fatalf("%s/%s is %v in the working, %v in the repair", r.ID, id, s.Value, want)
				}
			}
			if r.Ceiling > 0 {
				if s, ok := ids[r.ID+"/ceiling"]; !ok || !trial.Near(s.Value, r.Ceiling) {
					t.Fatalf("%s: ceiling %v, in the working %v %v", r.ID, r.Ceiling, s.Value, ok)
				}
			}
		}
	})
	if plain < depth.Of(50, 1000) {
		t.Errorf("only %d formulas were plain", plain)
	}
}

// Rounding never loses and never adds a step.
func TestRoundUpSteps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v, step := rapid.Float64Range(0, 1e5).Draw(t, "v"), rapid.Float64Range(0.5, 100).Draw(t, "step")
		if up := design.RoundUp(v, step); up < v-1e-6 || up >= v+step {
			t.Fatalf("%v up to %v is %v", v, step, up)
		}
	})
}
