package takeoff

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"wraptally/catalog"
	"wraptally/estimate/internal/trial"
	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
	"wraptally/estimate/trace/depth"
)

// totals are the net quantities of one repair.
type totals struct {
	sealant, putty, prep float64
	bands, strips        int
	tape                 map[float64]float64 // by width
}

func totalsOf(n *Net) totals {
	s := totals{putty: n.Putty.Volume, prep: n.Prep, tape: map[float64]float64{}}
	for i := range n.Seals {
		s.sealant += n.Seals[i].Volume
		s.bands += n.Seals[i].Bands
		s.strips += n.Seals[i].Fasteners()
	}
	for _, t := range n.Tapes {
		s.tape[t.Width] = t.Net
	}
	return s
}

// A longer, wider, deeper or less sound defect never needs less of anything.
func TestNeverLess(t *testing.T) {
	c, err := catalog.Load(catalog.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for name, change := range map[string]func(*survey.Defect, float64){
		"longer":         func(d *survey.Defect, by float64) { d.Axial.V += 400 * by },
		"wider":          func(d *survey.Defect, by float64) { d.Circ.V += 400 * by },
		"less wall left": func(d *survey.Defect, by float64) { d.Remaining.V *= 1 - by },
		"thicker wall":   func(d *survey.Defect, by float64) { d.Wall.V += 20 * by },
		"more layers":    func(d *survey.Defect, by float64) { d.Layers.V += math.Ceil(20 * by) },
	} {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				a := trial.Survey(trial.Rapid(t), c, 1)[0]
				switch {
				case name == "less wall left" && !a.Remaining.OK, name == "thicker wall" && (!a.Wall.OK || !a.Remaining.OK), name == "more layers" && !a.Layers.OK:
					return
				}
				b := a
				change(&b, trial.Rapid(t).Float(0, 1))
				x, y := scope.Plan([]survey.Defect{a}, c)[0], scope.Plan([]survey.Defect{b}, c)[0]
				if y.MayNotBe {
					// The hardest values that can be held are counted, and the lesser may be held at harder
					// ones: the two are held against each other at one point of the ranges, the easy ends.
					x, _ = scope.Prepare(c).Ends(x, "")
					y, _ = scope.Prepare(c).Ends(y, "")
				}
				if x.Status != scope.Estimated || y.Status != scope.Estimated {
					return // not held
				}
				less, more := totalsOf(Measure(x, c, nil, nil)), totalsOf(Measure(y, c, nil, nil))
				bad := !trial.AtLeast(more.sealant, less.sealant) || !trial.AtLeast(more.putty, less.putty) || !trial.AtLeast(more.prep, less.prep) ||
					more.bands < less.bands || more.strips < less.strips || len(more.tape) != len(less.tape)
				for w, v := range less.tape {
					bad = bad || !trial.AtLeast(more.tape[w], v)
				}
				if bad {
					t.Fatalf("%s needs less: %+v, then %+v\n%+v", name, less, more, a)
				}
			})
		})
	}
}

// More overlap and narrower tape never take less tape; twice the length takes
// twice the tape but for the turns at the ends.
func TestTapeScales(t *testing.T) {
	c, err := catalog.Load(catalog.Options{})
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		d := trial.Rapid(t)
		set := c.Settings
		r := &scope.Repair{OD: d.Float(21, 3000), Length: d.Float(100, 3000), Passes: d.Int(1, 12), LayersPerPass: 2, Ply: d.Float(0.1, 1), AreaFactor: d.Float(1, 2)}
		if d.Int(0, 1) == 1 {
			r.BendRadius, r.OnBend = r.OD*d.Float(1, 5), r.Length*d.Float(0, 1)
		}
		w := d.Float(25, 300)
		base := tapeLength(r, w, &set, nil)
		if narrow := tapeLength(r, w/2, &set, nil); narrow < base {
			t.Fatalf("half the width takes %v, not %v", narrow, base)
		}
		more := set
		more.Overlap += d.Float(0, 0.3)
		if tapeLength(r, w, &more, nil) < base {
			t.Fatal("more overlap takes less tape")
		}
		bare := set
		bare.EndTurns = 0
		long := *r
		long.Length, long.OnBend = 2*r.Length, 2*r.OnBend
		if !trial.Near(tapeLength(&long, w, &bare, nil), 2*tapeLength(r, w, &bare, nil)) {
			t.Fatal("twice the length is not twice the tape")
		}
		if r.BendRadius > 0 {
			flat := *r
			flat.BendRadius = 0
			if base < tapeLength(&flat, w, &set, nil) {
				t.Fatal("a bend takes less tape than a straight pipe")
			}
		}
	})
}

// Every quantity is finite and not negative, sheets and strips are whole steps
// not below what they come from, and what cannot be taken off is a Stop.
func TestMeasureSound(t *testing.T) {
	c, err := catalog.Load(catalog.Options{})
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		for _, r := range scope.Plan(trial.Survey(trial.Rapid(t), c, 8), c) {
			if r.Status != scope.Estimated {
				continue
			}
			n := Measure(r, c, nil, nil)
			for _, v := range []float64{n.Putty.Volume, n.Putty.Mass, n.Prep} {
				if !(v >= 0) || math.IsInf(v, 0) {
					t.Fatalf("%s: %+v", r.ID, n)
				}
			}
			stopped := len(n.Queries) > 0
			for _, q := range n.Queries {
				if q.Severity != trace.Stop || q.Code == "" || q.Message == "" || q.Advice == "" {
					t.Fatalf("%+v", q)
				}
			}
			if len(n.Seals) != len(r.Patches) || !stopped && (n.Putty.Name == "" || n.Putty.Mass <= 0 || len(n.Tapes) == 0) {
				t.Fatalf("%s: %+v", r.ID, n)
			}
			for i := range n.Seals {
				s := &n.Seals[i]
				if stopped {
					continue
				}
				if s.Sealant == nil || s.Fastener == nil || s.Bands < c.Settings.BandMin || s.Bands > c.Settings.BandMax || s.Strips < 1 {
					t.Fatalf("%s: %+v", r.ID, s)
				}
				if float64(s.Strip) < math.Pi*r.OD/float64(s.Strips) || s.Strip%int(c.Settings.BandStep) != 0 ||
					float64(s.SheetA) != s.Patch.SheetA || float64(s.SheetC) != s.Patch.SheetC {
					t.Fatalf("%s: %+v", r.ID, s)
				}
				// The bands press the sheet from end to end but for gaps.
				_, coils, _ := c.BandFor(r.OD)
				if pressed := float64(s.Bands)*coils[0].Width + float64(s.Bands-1)*c.Settings.BandGap; pressed < float64(s.SheetA) {
					t.Fatalf("%s: %d bands press %v of %d mm", r.ID, s.Bands, pressed, s.SheetA)
				}
			}
			for _, tape := range n.Tapes {
				girths := float64(r.Passes) * 2 * c.Settings.EndTurns * math.Pi * r.OD
				if !(tape.Net > girths) || tape.Hands > c.Settings.MaxHands || len(tape.Rolls) == 0 {
					t.Fatalf("%s: %+v", r.ID, tape)
				}
			}
		}
	})
}

// The working agrees with the quantities: ids of their own, formulas that give
// their values, the same result with and without a log.
func TestWorkingAgrees(t *testing.T) {
	c, err := catalog.Load(catalog.Options{})
	if err != nil {
		t.Fatal(err)
	}
	plain := 0
	rapid.Check(t, func(t *rapid.T) {
		for _, r := range scope.Plan(trial.Survey(trial.Rapid(t), c, 5), c) {
			if r.Status != scope.Estimated {
				continue
			}
			log := &trace.Log{}
			n, silent := Measure(r, c, nil, log), Measure(r, c, nil, nil)
			a, b := totalsOf(n), totalsOf(silent)
			if a.putty != b.putty || a.sealant != b.sealant || a.bands != b.bands || a.prep != b.prep {
				t.Fatalf("with a log %+v, without %+v", a, b)
			}
			ids := map[string]bool{}
			for _, s := range log.Steps {
				if ids[s.ID] || s.Name == "" || s.Rule == "" || s.Source == "" || s.Formula == "" {
					t.Fatalf("%+v is there twice or lacks something", s)
				}
				ids[s.ID] = true
				why, ok := trial.Disagrees(s)
				if why != "" {
					t.Fatal(why)
				}
				if ok {
					plain++
				}
			}
		}
	})
	if plain < depth.Of(30, 500) {
		t.Errorf("only %d formulas were plain", plain)
	}
}
