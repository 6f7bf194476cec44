package mix

import (
	"math"

	"wraptally/estimate/trace"
)

// Lasts is the working life, min, of a mass at a temperature. Between two tested
// masses it falls as a power of the mass, so that it is a straight line on
// logarithmic paper through the tested points; a mass lighter than the lightest
// tested is not credited with more than that one's life, and none is carried
// beyond the heaviest. Errors: *MassError, *RangeError, ErrInput. Source: a
// power of the mass between measured points, common practice, no source.
func (l *Life) Lasts(mass, temperature float64, log *trace.Log) (float64, error) {
	if !(mass > 0) {
		return 0, inputError("mass %g kg", mass)
	}
	if heaviest := l.curves[len(l.curves)-1].mass; mass > heaviest {
		return 0, &MassError{mass, heaviest}
	}
	known := l.all(temperature)
	if len(known) == 0 || known[len(known)-1].Tabulated < mass {
		return 0, l.outside(mass, temperature)
	}
	i := 0
	for known[i].Tabulated < mass {
		i++
	}
	b := known[i]
	a := known[max(0, i-1)]
	minutes := b.Minutes
	if i > 0 {
		minutes = a.Minutes * math.Pow(b.Minutes/a.Minutes, math.Log(mass/a.Tabulated)/math.Log(b.Tabulated/a.Tabulated))
	}
	log.Add(func() trace.Step { return l.step(mass, temperature, b) }) // at the heavier tested mass
	if i > 0 {
		log.Add(func() trace.Step {
			return trace.Step{
				ID: "life-mass", Name: "working life of the batch", Rule: "mix.lasts", Formula: "t1·(t2/t1)^(ln(m/M1)/ln(M2/M1))",
				Inputs: []trace.Input{
					trace.In("m", "mass", mass, "kg"), trace.In("M1", "lighter tested mass", a.Tabulated, "kg", trace.Table("putty_lives", "")),
					trace.In("M2", "heavier tested mass", b.Tabulated, "kg", trace.Table("putty_lives", "")),
					trace.In("t1", "working life of the lighter", a.Minutes, "min", trace.Table("putty_lives", "")),
					trace.In("t2", "working life of the heavier", b.Minutes, "min", trace.StepAt("life")),
				},
				Value: minutes, Unit: "min", Source: "a power of the mass between measured points, common practice, no source",
			}
		})
	}
	return minutes, nil
}

// Usage is how a batch is used.
type Usage struct {
	Mixing  float64 // minutes of mixing, during which the life runs; common practice about 5
	Reserve float64 // minutes kept in hand
	Rate    float64 // kg laid a minute, by all hands together; > 0
}

// Card is how a batch is to be used as its card says it: in whole minutes.
type Card struct {
	Usage
	Least float64 // min; a batch that leaves less to use it in is not mixed
}

// Usable are the whole minutes that a batch leaves from the end of mixing; ok is
// false where they are fewer than the least, or not known.
func (l *Life) Usable(mass, temperature float64, u Card) (whole float64, ok bool) {
	life, err := l.Lasts(mass, temperature, nil)
	if err != nil {
		return 0, false
	}
	whole = math.Floor(life - u.Mixing - u.Reserve + 1e-9)
	return whole, whole >= u.Least && whole > 0
}

// Most is the largest batch, kg, that can be laid within the minutes printed for
// it: the largest mass m with
//
//	m/rate ≤ floor(life(m) − mixing − reserve) ≥ least
//
// The left side rises with the mass and the right side falls, so that there is
// one such mass; it rises smoothly as it gets colder. Any smaller batch can be
// used too. Errors: *TimeError where no mass leaves the least time, *RangeError,
// ErrInput.
func (l *Life) Most(temperature float64, u Card, log *trace.Log) (float64, error) {
	if !(u.Mixing >= 0) || !(u.Reserve >= 0) || !(u.Rate > 0) || !(u.Least >= 0) || math.IsInf(u.Mixing+u.Reserve+u.Rate+u.Least, 0) {
		return 0, inputError("mixing %g min, reserve %g min, least %g min, rate %g kg/min", u.Mixing, u.Reserve, u.Least, u.Rate)
	}
	known := l.all(temperature)
	if len(known) == 0 {
		return 0, l.outside(0, temperature)
	}
	fits := func(mass float64) bool {
		whole, ok := l.Usable(mass, temperature, u)
		return ok && mass <= whole*u.Rate*(1+1e-12)
	}
	// Below the lightest tested mass the life does not change, so that what does
	// not fit as a thousandth of it does not fit at all but for the rate.
	low, high := known[0].Tabulated*1e-3, known[len(known)-1].Tabulated
	if !fits(low) {
		return 0, &TimeError{temperature, known[0].Minutes, u.Mixing, u.Reserve, u.Least}
	}
	if fits(high) {
		low = high
	}
	for range 200 {
		mid := low + (high-low)/2
		if mid <= low || mid >= high {
			break
		}
		if fits(mid) {
			low = mid
		} else {
			high = mid
		}
	}
	log.Add(func() trace.Step {
		life, _ := l.Lasts(low, temperature, nil)
		return trace.Step{
			ID: "largest", Name: "largest batch", Rule: "mix.most",
			Formula: "the largest m with m/r ≤ t(m) − t_mix − t_reserve in whole minutes, these at least t_least",
			Inputs: []trace.Input{
				trace.In("t", "working life of this batch", life, "min", trace.Table("putty_lives", "")),
				trace.In("t_mix", "mixing", u.Mixing, "min", trace.Setting("mix.time")),
				trace.In("t_reserve", "reserve", u.Reserve, "min", trace.Setting("mix.reserve")),
				trace.In("t_least", "least time to use a batch", u.Least, "min", trace.Setting("mix.least_usable")),
				trace.In("r", "application rate", u.Rate, "kg/min", trace.Table("putties", "")),
			},
			Raw: low, Value: kilograms(milligramsDown(low)), Unit: "kg", Rounding: "down to 0.000001 kg", Source: "common practice, no source",
		}
	})
	return low, nil
}

// Line is a line of a card's table: the whole minutes from the end of mixing in
// which a batch is to be used at a temperature.
type Line struct {
	Temperature float64 // °C
	Minutes     float64 // whole
	Mix         bool    // false: do not mix at this temperature
}

// Table is the minutes for one batch at each of the temperatures, given from
// cold to hot. They never rise with the temperature: what a colder line does
// not allow, a hotter one does not either.
func (l *Life) Table(mass float64, temperatures []float64, u Card) []Line {
	lines := make([]Line, len(temperatures))
	most := math.Inf(1)
	for i, t := range temperatures {
		whole, ok := l.Usable(mass, t, u)
		if ok {
			most = min(most, whole)
			lines[i] = Line{Temperature: t, Minutes: most, Mix: most*u.Rate*(1+1e-12) >= mass}
			continue
		}
		lines[i].Temperature = t
	}
	return lines
}
