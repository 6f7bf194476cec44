package estimate

import (
	"errors"
	"iter"
	"math"

	"wraptally/catalog"
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
	set := &p.Catalog.Settings
	var putty *catalog.Putty
	for i := range p.Catalog.Putties {
		if q := &p.Catalog.Putties[i]; q.Putty == k.Net.Putty.Name {
			putty = q
			break
		}
	}
	if putty == nil || k.Putty.Largest <= 0 {
		out.Why = "no putty"
		return out
	}
	if temp < putty.TempMin || temp > putty.TempMax {
		out.Why = "not this putty"
		return out
	}
	var points []mix.Point
	for _, l := range p.Catalog.PuttyLives {
		if l.Putty == putty.Putty {
			points = append(points, mix.Point{Mass: l.Mass, Temperature: l.Temp, Minutes: l.Minutes})
		}
	}
	life, err := mix.NewLife(points, set.MixEnergy)
	if err != nil {
		out.Why = "not known"
		return out
	}
	largest, err := life.Largest(temp, mix.Usage{Mixing: set.MixTime, Reserve: set.MixReserve, Rate: putty.ApplyRate}, nil)
	var late *mix.TimeError
	switch {
	case errors.As(err, &late):
		out.Why = "do not mix"
	case err != nil:
		out.Why = "not known"
	default:
		out.Minutes, out.Largest = largest.Usable, largest.Mass
	}
	return out
}

// WrapSeconds is the time in seconds in which a soaked roll must be laid at a
// surface temperature: the roll's own at 30 °C carried to it by the law that
// holds for the putty, no longer than setting mix.past_ends below 30 °C, since a
// longer one was not measured. Source: common practice, no source.
func (p *Campaign) WrapSeconds(roll *catalog.Wrap, temp float64) float64 {
	set := &p.Catalog.Settings
	return mix.Arrhenius(roll.Work, 30, math.Max(temp, 30-set.MixPastEnds), set.MixEnergy)
}

// IssuesWith are the places in Issues of what goes out with the n-th kit counted:
// the kit is the first of its crew and shift, of its crew, or of the campaign.
func (p *Campaign) IssuesWith(n int) []int { return p.issuesWith[n] }
