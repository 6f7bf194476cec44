package mix

import (
	"errors"
	"fmt"
)

// ErrInput is a value that cannot be meant; the message names it.
var ErrInput = errors.New("unusable input")

// ErrTooLarge: the exact answer would take more work than allowed, because the
// need is huge or the pack masses have no coarse common measure.
var ErrTooLarge = errors.New("too large for an exact answer")

func inputError(format string, args ...any) error {
	return fmt.Errorf("%w: %s", ErrInput, fmt.Sprintf(format, args...))
}

// RangeError: the temperature is further than Life.Past allows from the tabulated ones.
type RangeError struct {
	Temperature float64 // asked for
	Low, High   float64 // between which there is an answer
}

func (e *RangeError) Error() string {
	return fmt.Sprintf("no working life known at %g °C: the points serve from %g to %g °C", e.Temperature, e.Low, e.High)
}

// MassError: the mass is heavier than any tabulated, and mass is never extrapolated.
type MassError struct {
	Mass     float64
	Heaviest float64
}

func (e *MassError) Error() string {
	return fmt.Sprintf("no working life known for %g kg: the heaviest mass tested is %g kg", e.Mass, e.Heaviest)
}

// TimeError: mixing and reserve leave less than the least time to use a batch of
// the working life of every mass.
type TimeError struct {
	Temperature float64
	Life        float64 // the longest there is
	Mixing      float64
	Reserve     float64
	Least       float64
}

func (e *TimeError) Error() string {
	return fmt.Sprintf("no time to use a batch at %.4g °C: working life %.1f min, mixing %g min, reserve %g min, and at least %g min are to be left", e.Temperature, e.Life, e.Mixing, e.Reserve, e.Least)
}

// PackError: no pack is small enough for a batch, and none can be weighed out.
type PackError struct {
	Smallest float64 // mass of the smallest pack
	Batch    float64 // largest batch
}

func (e *PackError) Error() string {
	return fmt.Sprintf("the smallest pack, %g kg, is more than the largest batch, %.3f kg, and may not be weighed out", e.Smallest, e.Batch)
}
