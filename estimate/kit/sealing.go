package kit

import (
	"strconv"

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
	sealed := 0
	for i := range k.Net.Seals {
		s := &k.Net.Seals[i]
		if s.Sealant == nil || s.Fastener == nil {
			continue // a Stop says why
		}
		sealed++
		set := func(at float64) float64 { return mix.Arrhenius(s.Sealant.Tack, s.Sealant.TimedAt, at, p.set.MixEnergy) }
		if open := set(k.Repair.SurfaceTemp); sealed == 1 || open < k.Open {
			k.Open = open
		}
		k.Tack = max(k.Tack, set(k.Repair.SurfaceTempLow))
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
	if len(k.Net.Seals) > 0 && sealed == len(k.Net.Seals) {
		p.kneads(k, log)
		p.sticks(k, log)
	}
}

// strip is the letter of a strip of a band: a, b, … z, then a number.
func strip(f int) string {
	if f <= 26 {
		return string(rune('a' + f - 1))
	}
	return "-" + strconv.Itoa(f)
}
