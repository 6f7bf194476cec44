package mix

import (
	"math"

	"wraptally/estimate/trace"
)

// Usage is how a batch is used.
type Usage struct {
	Mixing  float64 // minutes of mixing, during which the life runs; common practice about 5
	Reserve float64 // minutes kept in hand
	Rate    float64 // kg laid a minute, by all hands together; > 0
}

// Largest is the largest batch that can be used within its life.
type Largest struct {
	Mass    float64 // kg
	Working Working // the life it was found with
	Usable  float64 // minutes from the end of mixing to the end of the life less the reserve
	Minutes float64 // to use the batch, ≤ Usable
	Rate    float64 // kg a minute
}

// Largest weighs the tested masses against each other: a heavier one allows a
// larger batch and lives shorter. For each, the batch is min(tested mass,
// usable time · rate); the largest is taken, from the lighter mass on a tie.
// Any smaller batch can be used within its life too.
// Errors: *TimeError where no mass leaves time to use it, *RangeError, ErrInput.
func (l *Life) Largest(temperature float64, u Usage, log *trace.Log) (Largest, error) {
	if !(u.Mixing >= 0) || !(u.Reserve >= 0) || !(u.Rate > 0) || math.IsInf(u.Mixing+u.Reserve+u.Rate, 0) {
		return Largest{}, inputError("mixing %g min, reserve %g min, rate %g kg/min", u.Mixing, u.Reserve, u.Rate)
	}
	known := l.all(temperature)
	if len(known) == 0 {
		return Largest{}, l.outside(0, temperature)
	}
	best := Largest{Rate: u.Rate}
	for _, w := range known {
		usable := w.Minutes - u.Mixing - u.Reserve
		mass := min(w.Tabulated, usable*u.Rate)
		if usable > 0 && mass > best.Mass {
			best.Mass, best.Working, best.Usable, best.Minutes = mass, w, usable, mass/u.Rate
		}
	}
	if best.Mass == 0 {
		return Largest{}, &TimeError{temperature, known[0].Minutes, u.Mixing, u.Reserve}
	}
	log.Add(func() trace.Step { return l.step(best.Mass, temperature, best.Working) })
	log.Add(func() trace.Step {
		return trace.Step{
			ID: "largest", Name: "largest batch", Rule: "mix.largest",
			Formula: "min(M, (t − t_mix − t_reserve)·r), the largest over the tested masses M",
			Inputs: []trace.Input{
				trace.In("M", "tested mass", best.Working.Tabulated, "kg", trace.Table("putty_lives", "")),
				trace.In("t", "working life", best.Working.Minutes, "min", trace.StepAt("life")),
				trace.In("t_mix", "mixing", u.Mixing, "min", trace.Setting("mix.time")),
				trace.In("t_reserve", "reserve", u.Reserve, "min", trace.Setting("mix.reserve")),
				trace.In("r", "application rate", u.Rate, "kg/min", trace.Table("putties", "")),
			},
			Value: best.Mass, Unit: "kg", Source: "common practice, no source",
		}
	})
	return best, nil
}
