package mix

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"wraptally/estimate/trace"
	_ "wraptally/estimate/trace/depth"
)

// Between 0.5 kg with 30 min and 2 kg with 14 min at 20 °C stands 1 kg with
// √(44·10) = 20.98; half way to it on a logarithmic scale, at √0.5 kg, is
// √(30·20.98) = 25.09. Lighter than the lightest: its life. A mass tested only
// at one temperature is carried on past it.
func TestLasts(t *testing.T) {
	l := life(t)
	for _, c := range []struct{ mass, temperature, want float64 }{
		{0.5, 20, 30}, {1, 20, math.Sqrt(440)}, {2, 20, 14}, {0.1, 20, 30},
		{math.Sqrt(0.5), 20, math.Sqrt(30 * math.Sqrt(440))},
		{math.Sqrt2, 20, math.Sqrt(14 * math.Sqrt(440))},
		{math.Sqrt(0.5), 30, math.Sqrt(150)},
	} {
		var log trace.Log
		got, err := l.Lasts(c.mass, c.temperature, &log)
		if err != nil || !near(got, c.want, 1e-12) {
			t.Errorf("%g kg at %g °C: %g, %v, want %g", c.mass, c.temperature, got, err, c.want)
		}
		if last := log.Steps[len(log.Steps)-1]; !near(last.Value, c.want, 1e-12) || last.Source == "" {
			t.Errorf("derivation %+v", log.Steps)
		}
	}
	if _, err := l.Lasts(2.001, 20, nil); !errors.As(err, new(*MassError)) {
		t.Errorf("2.001 kg: %v", err)
	}
	if _, err := l.Lasts(2, 9.9, nil); !errors.As(err, new(*RangeError)) {
		t.Errorf("2 kg at 9.9 °C, tested at 20 °C only: %v", err)
	}
	if _, err := l.Lasts(1, 60, nil); !errors.As(err, new(*RangeError)) {
		t.Errorf("60 °C: %v", err)
	}
	if _, err := l.Lasts(0, 20, nil); !errors.Is(err, ErrInput) {
		t.Errorf("no mass: %v", err)
	}
}

func card(rate float64) Card { return Card{Usage: Usage{Mixing: 5, Reserve: 3, Rate: rate}, Least: 5} }

// At 20 °C and 0.25 kg/min, by hand: life − 8 falls from 22 min for 0.5 kg to 6
// min for 2 kg. 6 whole minutes at 0.25 kg/min lay 1.5 kg, whose life is 16.6
// min, so that 8 whole minutes are left of it and it fits; 2 kg would need 8
// minutes of its 6. Above, m/0.25 = floor(t(m) − 8) at t(m) = 15 min: 7 min.
func TestMost(t *testing.T) {
	l := life(t)
	var log trace.Log
	m, err := l.Most(20, card(0.25), &log)
	if err != nil {
		t.Fatal(err)
	}
	lasts, err := l.Lasts(m, 20, nil)
	if err != nil {
		t.Fatal(err)
	}
	if whole := math.Floor(lasts - 8); m > whole*0.25+1e-9 {
		t.Errorf("%g kg in %g min", m, whole)
	}
	more := m * 1.001
	lasts, err = l.Lasts(more, 20, nil)
	if err != nil || more <= math.Floor(lasts-8)*0.25 {
		t.Errorf("%g kg would fit too: %g min, %v", more, lasts, err)
	}
	if len(log.Steps) != 1 || log.Steps[0].Raw != m || log.Steps[0].Value > m || log.Steps[0].Value < m-1e-6 {
		t.Errorf("derivation %+v", log.Steps)
	}
	if all, err := l.Most(20, card(10), nil); err != nil || all != 2 {
		t.Errorf("many hands: %g kg, %v, want the heaviest tested", all, err)
	}
	// At 30 °C 0.5 kg last 15 min: 7 are left, 0.7 kg would leave 4.2.
	if m, err := l.Most(30, card(10), nil); err != nil || m < 0.5 || m > 0.75 {
		t.Errorf("at 30 °C: %g kg, %v", m, err)
	}
	var late *TimeError
	if _, err := l.Most(38, card(0.25), nil); !errors.As(err, &late) {
		t.Errorf("at 38 °C less than 5 min are left: %v", err)
	}
	if _, err := l.Most(70, card(0.25), nil); !errors.As(err, new(*RangeError)) {
		t.Errorf("at 70 °C: %v", err)
	}
	if _, err := l.Most(20, Card{Usage: Usage{Rate: 0}}, nil); !errors.Is(err, ErrInput) {
		t.Errorf("no rate: %v", err)
	}
}

// A putty that is tested over 0 to 40 °C at all its masses, as they come.
func drawLife(t *rapid.T) *Life {
	base := rapid.Float64Range(20, 90).Draw(t, "minutes of the lightest at 20 °C")
	power := rapid.Float64Range(0.2, 1).Draw(t, "power of the mass")
	var points []Point
	for _, mass := range []float64{0.5, 1, 2, 5} {
		for _, temp := range []float64{0, 10, 20, 30, 40} {
			minutes := base * math.Pow(0.5/mass, power) * math.Pow(0.5, (temp-20)/10)
			points = append(points, Point{mass, temp, math.Round(minutes*10) / 10})
		}
	}
	l, err := NewLife(points, ActivationEnergy)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// The largest batch falls with the temperature, without jumps, and can be laid
// in the whole minutes that its card prints; so can anything lighter.
func TestMostSmooth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, u := drawLife(t), card(rapid.Float64Range(0.05, 1).Draw(t, "rate"))
		at := rapid.Float64Range(-10, 49).Draw(t, "°C")
		most := func(at float64) float64 {
			m, err := l.Most(at, u, nil)
			if err != nil && !errors.As(err, new(*TimeError)) {
				t.Fatal(err)
			}
			return m
		}
		m, hotter := most(at), most(at+0.1)
		if hotter > m*(1+1e-9) {
			t.Fatalf("%g kg at %g °C, %g kg a tenth hotter", m, at, hotter)
		}
		// Under 0.5 kg, the lightest tested, nothing gains time by being less.
		if m > 0.5 && hotter < m*0.9 && hotter < m-0.01 && hotter > 0.5 {
			t.Fatalf("%g kg at %g °C, %g kg a tenth hotter", m, at, hotter)
		}
		if m == 0 {
			return
		}
		for _, mass := range []float64{m, m * rapid.Float64Range(0.01, 1).Draw(t, "share")} {
			line := l.Table(mass, []float64{at}, u)[0]
			if !line.Mix || line.Minutes < u.Least || line.Minutes != math.Floor(line.Minutes) || mass/u.Rate > line.Minutes+1e-9 {
				t.Fatalf("%g kg at %g °C: %+v", mass, at, line)
			}
		}
	})
}

// The table of a card is monotone: minutes never rise with the temperature, and
// once a batch is not to be mixed it is not to be mixed hotter either, within
// the temperatures that the points serve.
func TestTableMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, u := drawLife(t), card(rapid.Float64Range(0.05, 1).Draw(t, "rate"))
		at := rapid.Float64Range(0, 40).Draw(t, "°C")
		m, err := l.Most(at, u, nil)
		if err != nil {
			return
		}
		var temps []float64
		for d := -10.0; d <= 10; d++ {
			temps = append(temps, at+d)
		}
		lines := l.Table(m, temps, u)
		for i := 1; i < len(lines); i++ {
			a, b := lines[i-1], lines[i]
			if b.Minutes > a.Minutes || b.Mix && !a.Mix {
				t.Fatalf("%+v, then %+v", a, b)
			}
		}
		if mid := lines[10]; !mid.Mix {
			t.Fatalf("its own temperature: %+v", mid)
		}
	})
}
