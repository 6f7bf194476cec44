// Package mix plans the mixing of two-part material: how long a mass can be
// worked at a temperature (Life), how large a batch may be (Life.Most), in which
// batches and packs a repair is laid (Planner), and what is saved when opened
// packs are shared (Pool). It knows masses, minutes and packs; it does not know
// what is being repaired.
//
// Masses are kilograms, temperatures degrees Celsius, times minutes. Inside,
// masses are whole milligrams: a need is rounded up to the milligram and a
// batch limit down, both after forgiving the last thousandth of a milligram to
// binary arithmetic, so that 1.2 kg needed from packs of 0.4 kg are three packs.
package mix
