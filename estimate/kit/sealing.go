package kit

import (
	"strconv"

	"wraptally/catalog"
	"wraptally/estimate/mix"
	"wraptally/estimate/scope"
	"wraptally/estimate/takeoff"
	"wraptally/estimate/trace"
)

// Pieces are the labels and sizes of what is cut for a repair's kit.
func (p *Packer) Pieces(r *scope.Repair) []Piece {
	k := &Kit{Repair: r, Net: takeoff.Sealing(r, p.c, nil)}
	p.sealing(k, nil)
	return k.Pieces
}

// sealing adds sticks, fasteners and the pieces cut from coil and sheet.
func (p *Packer) sealing(k *Kit, log *trace.Log) {
	for i := range k.Net.Seals {
		s := &k.Net.Seals[i]
		if s.Sealant == nil || s.Fastener == nil {
			continue // a Stop says why
		}
		k.sticks(s.Sealant, s.Volume/s.Sealant.Volume, p.set.MixEnergy)
		if it, ok := p.c.Item(s.Fastener.Item); ok {
			k.add(it, float64(s.Fasteners()), forFastener)
		}
		label := k.Repair.ID + "-S" + strconv.Itoa(i+1)
		for b := 1; b <= s.Bands; b++ {
			for f := 1; f <= s.Strips; f++ {
				name := label + "-B" + strconv.Itoa(b)
				if s.Strips > 1 {
					name += strip(f)
				}
				k.Pieces = append(k.Pieces, Piece{Label: name, Kind: "band", Stock: s.Band, Set: i + 1, A: s.Strip})
			}
		}
		k.Pieces = append(k.Pieces, Piece{Label: label + "-P", Kind: "sheet", Stock: s.Sheet, Set: i + 1, A: s.SheetA, C: s.SheetC})
	}
	for i := range k.Sticks {
		s := &k.Sticks[i]
		s.Count = int(whole(s.Net))
		if it, ok := p.c.Item(s.Sealant.Item); ok {
			k.add(it, s.Net, forSealant)
		}
		log.Add(func() trace.Step {
			return trace.Step{
				ID: "sticks/" + s.Sealant.Item, Name: "sticks of sealant in the kit", Rule: "kit.sticks", Formula: "Σ V/V_stick",
				Inputs: []trace.Input{
					trace.In("V", "sealant of all patches", s.Net*s.Sealant.Volume, "mm³", trace.StepsEach("seal", "/sealant")),
					trace.In("V_stick", "volume of one stick", s.Sealant.Volume, "mm³", trace.Table("sealants", s.Sealant.Item)),
				},
				Raw: s.Net, Value: float64(s.Count), Unit: "stick", Rounding: "up to whole sticks", Source: "common practice, no source",
			}
		})
	}
}

// strip is the letter of a strip of a band: a, b, … z, then a number.
func strip(f int) string {
	if f <= 26 {
		return string(rune('a' + f - 1))
	}
	return "-" + strconv.Itoa(f)
}

func (k *Kit) sticks(s *catalog.Sealant, net, energy float64) {
	k.Tack = max(k.Tack, mix.Arrhenius(s.Tack, s.TimedAt, k.Repair.SurfaceTempLow, energy))
	for i := range k.Sticks {
		if k.Sticks[i].Sealant == s {
			k.Sticks[i].Net += net
			return
		}
	}
	k.Sticks = append(k.Sticks, Sticks{Sealant: s, Net: net})
}
