package mix

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"wraptally/estimate/trace"
)

func near(a, b, relative float64) bool { return math.Abs(a-b) <= relative*math.Abs(b) }

// The default activation energy is the one at which the rate doubles, and so
// the life halves, from 20 to 30 °C: Ea = R·ln 2/(1/293.15 − 1/303.15), the
// two-temperature form of the Arrhenius equation found in every text of
// chemical kinetics [from memory].
func TestArrhenius(t *testing.T) {
	ea := GasConstant * math.Ln2 / (1/293.15 - 1/303.15) / 1000
	if math.Round(ea*10)/10 != ActivationEnergy {
		t.Errorf("Ea %.4f kJ/mol, the default is %g", ea, ActivationEnergy)
	}
	if got := Arrhenius(40, 20, 30, ActivationEnergy); !near(got, 20, 1e-3) {
		t.Errorf("40 min at 20 °C give %g at 30 °C, want about 20", got)
	}
	if got := Arrhenius(Arrhenius(40, 20, 30, 60), 30, 20, 60); !near(got, 40, 1e-12) {
		t.Errorf("there and back: %g", got)
	}
	// A worked textbook case of the same form [from memory, the arithmetic redone
	// here]: 50 kJ/mol between 300 and 310 K speeds up by
	// exp(50000/8.314·(1/300 − 1/310)) = exp(0.64666) = 1.909.
	if got := 1 / Arrhenius(1, 300-273.15, 310-273.15, 50); !near(got, 1.909, 5e-4) {
		t.Errorf("50 kJ/mol from 300 to 310 K: faster by %g, want 1.909", got)
	}
}

func points() []Point {
	return []Point{
		{0.5, 10, 60}, {0.5, 20, 30}, {0.5, 30, 15},
		{1, 10, 44}, {1, 30, 10},
		{2, 20, 14},
	}
}

func life(t testing.TB) *Life {
	l, err := NewLife(points(), ActivationEnergy)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func TestLife(t *testing.T) {
	l := life(t)
	for _, c := range []struct {
		mass, temperature float64
		want              float64
		from              float64
		basis             Basis
	}{
		{0.5, 20, 30, 0.5, AtPoint},
		{0.2, 20, 30, 0.5, AtPoint}, // a smaller mass takes the next heavier's
		{0.51, 30, 10, 1, AtPoint},
		{0.5, 15, math.Sqrt(60 * 30), 0.5, Between},
		{1, 20, math.Sqrt(44 * 10), 1, Between},
		{0.5, 40, 15 * math.Exp(51200/GasConstant*(1/313.15-1/303.15)), 0.5, PastPoint},
		{0.5, 0, 60 * math.Exp(51200/GasConstant*(1/273.15-1/283.15)), 0.5, PastPoint},
		{2, 12, 14 * math.Exp(51200/GasConstant*(1/285.15-1/293.15)), 2, PastPoint},
	} {
		var log trace.Log
		w, err := l.At(c.mass, c.temperature, &log)
		if err != nil || !near(w.Minutes, c.want, 1e-9) || w.Tabulated != c.from || w.Basis != c.basis {
			t.Errorf("%g kg at %g °C: %+v, %v; want %+v", c.mass, c.temperature, w, err, c)
		}
		if len(log.Steps) != 1 || log.Steps[0].Rule != "mix.life" || log.Steps[0].Value != w.Minutes || log.Steps[0].Source == "" {
			t.Errorf("derivation %+v", log.Steps)
		}
	}
	var tooHeavy *MassError
	if _, err := l.At(2.001, 20, nil); !errors.As(err, &tooHeavy) || tooHeavy.Heaviest != 2 {
		t.Errorf("2.001 kg: %v", err)
	}
	var far *RangeError
	if _, err := l.At(0.5, 40.1, nil); !errors.As(err, &far) || far.Low != 0 || far.High != 40 {
		t.Errorf("40.1 °C: %v", err)
	}
	if _, err := l.At(0.5, math.NaN(), nil); !errors.As(err, &far) {
		t.Errorf("no temperature: %v", err)
	}
	if _, err := l.At(0, 20, nil); !errors.Is(err, ErrInput) {
		t.Errorf("no mass: %v", err)
	}
}

func TestLifeRefuses(t *testing.T) {
	for name, p := range map[string][]Point{
		"none":         nil,
		"mass":         {{0, 20, 30}},
		"minutes":      {{1, 20, 0}},
		"nan":          {{1, math.NaN(), 30}},
		"infinite":     {{1, 20, math.Inf(1)}},
		"cold":         {{1, -274, 30}},
		"twice":        {{1, 20, 30}, {1, 20, 31}},
		"rising":       {{1, 20, 30}, {1, 30, 31}},
		"heavy longer": {{1, 10, 60}, {1, 30, 20}, {2, 20, 40}}, // √(60·20) = 34.6
	} {
		if _, err := NewLife(p, 50); !errors.Is(err, ErrInput) {
			t.Errorf("%s: %v", name, err)
		}
	}
	for _, e := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		if _, err := NewLife(points(), e); !errors.Is(err, ErrInput) {
			t.Errorf("energy %g: %v", e, err)
		}
	}
}

func TestLargest(t *testing.T) {
	l := life(t)
	for _, c := range []struct {
		name        string
		temperature float64
		u           Usage
		mass        float64
		tabulated   float64
	}{
		// At 20 °C: 0.5 kg lives 30, 1 kg √440 = 20.98, 2 kg 14 min.
		{"heaviest", 20, Usage{5, 2, 1}, 2, 2},                 // 7 min at 1 kg/min: the mass limits
		{"time of the heaviest", 20, Usage{5, 2, 0.2}, 1.4, 2}, // 7·0.2 = 1.4, more than the 1 kg of the next
		{"lighter wins", 20, Usage{5, 2, 0.1}, 1, 1},           // 2 kg: 0.7; 1 kg: 1.398 → 1; 0.5 kg: 0.5
		{"lightest wins", 20, Usage{10, 3, 0.03}, 0.5, 0.5},    // 0.03; 0.239; 0.51 → 0.5
		{"time of the lightest", 20, Usage{10, 15, 0.03}, 0.15, 0.5},
	} {
		var log trace.Log
		b, err := l.Largest(c.temperature, c.u, &log)
		if err != nil || !near(b.Mass, c.mass, 1e-9) || b.Working.Tabulated != c.tabulated || b.Minutes > b.Usable*(1+1e-12) {
			t.Errorf("%s: %+v, %v; want %g kg from %g kg", c.name, b, err, c.mass, c.tabulated)
		}
		if len(log.Steps) != 2 || log.Steps[1].Rule != "mix.largest" || log.Steps[1].Value != b.Mass {
			t.Errorf("%s: derivation %+v", c.name, log.Steps)
		}
	}
	var none *TimeError
	if _, err := l.Largest(30, Usage{10, 5, 1}, nil); !errors.As(err, &none) || none.Life != 15 {
		t.Errorf("no time: %v", err)
	}
	var far *RangeError
	if _, err := l.Largest(60, Usage{5, 0, 1}, nil); !errors.As(err, &far) {
		t.Errorf("60 °C: %v", err)
	}
	for _, u := range []Usage{{-1, 0, 1}, {0, -1, 1}, {5, 5, 0}, {math.NaN(), 0, 1}, {0, 0, math.Inf(1)}} {
		if _, err := l.Largest(20, u, nil); !errors.Is(err, ErrInput) {
			t.Errorf("%+v: %v", u, err)
		}
	}
}

// Every batch up to the largest can be used in time; life falls with mass and
// temperature; no tested mass allows a larger batch.
func TestLargestProperties(t *testing.T) {
	l := life(t)
	rapid.Check(t, func(t *rapid.T) {
		temperature := rapid.Float64Range(0, 40).Draw(t, "temperature")
		u := Usage{rapid.Float64Range(0, 8).Draw(t, "mixing"), rapid.Float64Range(0, 5).Draw(t, "reserve"), rapid.Float64Range(0.01, 1).Draw(t, "rate")}
		b, err := l.Largest(temperature, u, nil)
		var none *TimeError
		if errors.As(err, &none) {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		share := rapid.Float64Range(0.001, 1).Draw(t, "share")
		w, err := l.At(b.Mass*share, temperature, nil)
		if err != nil {
			t.Fatal(err)
		}
		if use := b.Mass * share / u.Rate; use > (w.Minutes-u.Mixing-u.Reserve)*(1+1e-9) {
			t.Fatalf("%g kg take %g min of %g at %g °C", b.Mass*share, use, w.Minutes, temperature)
		}
		for _, m := range []float64{0.5, 1, 2} {
			w, err := l.At(m, temperature, nil)
			if err == nil && w.Tabulated == m && min(m, (w.Minutes-u.Mixing-u.Reserve)*u.Rate) > b.Mass*(1+1e-12) {
				t.Fatalf("%g kg would allow more than %g kg", m, b.Mass)
			}
		}
		warm, err := l.At(0.5, min(40, temperature+1), nil)
		if cold, _ := l.At(0.5, temperature, nil); err != nil || warm.Minutes > cold.Minutes*(1+1e-12) {
			t.Fatalf("life rises with temperature: %v %v", cold, warm)
		}
	})
}

// A firm may carry the life on less far, or not at all.
func TestPastIsHonoured(t *testing.T) {
	l, err := NewLife([]Point{{1, 20, 40}, {1, 30, 20}}, ActivationEnergy)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		past, temp float64
		ok         bool
	}{{Beyond, 38, true}, {5, 38, false}, {5, 35, true}, {0, 30, true}, {0, 30.5, false}, {20, 45, true}} {
		_, err := l.Past(c.past).At(1, c.temp, nil)
		if (err == nil) != c.ok {
			t.Errorf("carried on %g °C, at %g °C: %v", c.past, c.temp, err)
		}
	}
	if _, err := l.At(1, 38, nil); err != nil {
		t.Errorf("Past changed the life it was made from: %v", err)
	}
}
