package estimate

import (
	"errors"
	"iter"

	"wraptally/estimate/kit"
	"wraptally/estimate/mix"
)

// KitLines yields the lines of the n-th kit counted, in their order: the place of
// the item in the catalogue and its quantity in units of issue. Unlike Kit it
// packs nothing.
func (p *Campaign) KitLines(n int) iter.Seq2[int, float64] {
	return func(yield func(int, float64) bool) {
		for _, u := range p.lines[n] {
			if !yield(int(u.item), u.qty) {
				return
			}
		}
	}
}

// Pot is how the putty of a kit may be mixed when the pipe is colder or hotter
// than the kit was planned for.
type Pot struct {
	Temp    float64 // °C
	Largest float64 // kg, largest batch that can be used in time; 0 where Why is set
	Minutes float64 // from the end of mixing to use such a batch or a smaller one
	Why     string  // why nothing may be mixed
}

// PotAt works out the pot of a kit at another surface temperature, °C, from the
// measured points of its putty, as the kit's own batches were. Source: see
// mix.Life; common practice, no source.
func (p *Campaign) PotAt(k *kit.Kit, temp float64) Pot {
	out := Pot{Temp: temp}
	if k.Putty.Largest <= 0 {
		out.Why = "no putty"
		return out
	}
	largest, err := p.packer.Largest(k.Net.Putty.Name, temp)
	var late *mix.TimeError
	switch {
	case errors.Is(err, kit.ErrPuttyRange):
		out.Why = "not this putty"
	case errors.As(err, &late):
		out.Why = "do not mix"
	case err != nil:
		out.Why = "not known"
	default:
		out.Minutes, out.Largest = largest.Usable, largest.Mass
	}
	return out
}

// IssuesWith are the places in Issues of what goes out with the n-th kit counted:
// the kit is the first of its crew and shift, of its crew, or of the campaign.
func (p *Campaign) IssuesWith(n int) []int { return p.issuesWith[n] }
