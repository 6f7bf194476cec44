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
		{0.2, 20, 30, 0.5, AtPoint}, // a smaller mass is not credited with more
		{0.5, 15, math.Sqrt(60 * 30), 0.5, Between},
		{1, 20, math.Sqrt(44 * 10), 1, Between},
		{0.5, 40, 15 * math.Exp(51200/GasConstant*(1/313.15-1/303.15)), 0.5, PastPoint},
		{0.5, 0, 60 * math.Exp(51200/GasConstant*(1/273.15-1/283.15)), 0.5, PastPoint},
		{2, 12, 14 * math.Exp(51200/GasConstant*(1/285.15-1/293.15)), 2, PastPoint},
	} {
		var log trace.Log
		got, err := l.Lasts(c.mass, c.temperature, &log)
		if err != nil || !near(got, c.want, 1e-9) {
			t.Errorf("%g kg at %g °C: %g, %v; want %+v", c.mass, c.temperature, got, err, c)
		}
		step := log.Steps[0]
		source := map[Basis]string{AtPoint: "tabulated", Between: "log-linear between points, common practice, no source", PastPoint: "Arrhenius, past the last point"}[c.basis]
		if step.Rule != "mix.life" || !near(step.Value, c.want, 1e-9) || step.Inputs[1].Value != c.from || step.Source != source {
			t.Errorf("derivation %+v", log.Steps)
		}
	}
	var tooHeavy *MassError
	if _, err := l.Lasts(2.001, 20, nil); !errors.As(err, &tooHeavy) || tooHeavy.Heaviest != 2 {
		t.Errorf("2.001 kg: %v", err)
	}
	var far *RangeError
	if _, err := l.Lasts(0.5, 40.1, nil); !errors.As(err, &far) || far.Low != 0 || far.High != 40 {
		t.Errorf("40.1 °C: %v", err)
	}
	if _, err := l.Lasts(0.5, math.NaN(), nil); !errors.As(err, &far) {
		t.Errorf("no temperature: %v", err)
	}
	if _, err := l.Lasts(0, 20, nil); !errors.Is(err, ErrInput) {
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

// What the batch may be is refused where nothing is left to use it in, and where
// the usage cannot be meant.
func TestMostRefuses(t *testing.T) {
	l := life(t)
	var none *TimeError
	if _, err := l.Most(30, Card{Usage: Usage{10, 5, 1}}, nil); !errors.As(err, &none) || none.Life != 15 {
		t.Errorf("no time: %v", err)
	}
	if _, err := l.Most(30, Card{Usage{5, 4, 1}, 7}, nil); !errors.As(err, &none) || none.Least != 7 { // 15 − 9 = 6
		t.Errorf("less than the least time: %v", err)
	}
	if _, err := l.Most(30, Card{Usage{5, 4, 1}, 6}, nil); err != nil {
		t.Errorf("the least time: %v", err)
	}
	for _, u := range []Usage{{-1, 0, 1}, {0, -1, 1}, {5, 5, 0}, {math.NaN(), 0, 1}, {0, 0, math.Inf(1)}} {
		if _, err := l.Most(20, Card{Usage: u}, nil); !errors.Is(err, ErrInput) {
			t.Errorf("%+v: %v", u, err)
		}
	}
	if _, err := l.Most(20, Card{Usage{5, 3, 1}, math.NaN()}, nil); !errors.Is(err, ErrInput) {
		t.Errorf("no least time: %v", err)
	}
}

// The life never rises with the temperature, and the batch found can be used.
func TestMostProperties(t *testing.T) {
	l := life(t)
	rapid.Check(t, func(t *rapid.T) {
		temperature := rapid.Float64Range(0, 40).Draw(t, "temperature")
		u := Usage{rapid.Float64Range(0, 8).Draw(t, "mixing"), rapid.Float64Range(0, 5).Draw(t, "reserve"), rapid.Float64Range(0.01, 1).Draw(t, "rate")}
		b, err := l.Most(temperature, Card{Usage: u}, nil)
		var none *TimeError
		if errors.As(err, &none) {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		share := rapid.Float64Range(0.001, 1).Draw(t, "share")
		minutes, err := l.Lasts(b*share, temperature, nil)
		if err != nil {
			t.Fatal(err)
		}
		if use := b * share / u.Rate; use > (minutes-u.Mixing-u.Reserve)*(1+1e-9) {
			t.Fatalf("%g kg take %g min of %g at %g °C", b*share, use, minutes, temperature)
		}
		warm, err := l.Lasts(0.5, min(40, temperature+1), nil)
		if cold, _ := l.Lasts(0.5, temperature, nil); err != nil || warm > cold*(1+1e-12) {
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
		_, err := l.Past(c.past).Lasts(1, c.temp, nil)
		if (err == nil) != c.ok {
			t.Errorf("carried on %g °C, at %g °C: %v", c.past, c.temp, err)
		}
	}
	if _, err := l.Lasts(1, 38, nil); err != nil {
		t.Errorf("Past changed the life it was made from: %v", err)
	}
}
