package kit

import "math"

// Stretch is where along a repair a batch of putty goes, mm from its start.
type Stretch struct{ From, To float64 }

// Millimetres are an offset along a repair as it is printed: whole, halves up
// whatever the noise of the arithmetic, so that a repair moved along its line reads
// the same.
func Millimetres(offset float64) float64 { return math.Floor(offset + 0.5 + 1e-6) }

// fillSteps is how finely the putty is followed along a repair.
const fillSteps = 2000

// hair, in mm, is less than anybody measures: what lies on an edge lies on it
// wherever along the line the repair is.
const hair = 1e-6

// Fill is where each batch goes when the putty is laid from the start of the
// repair to its end, at its heights: what a batch lays ends where the next begins,
// and the last ends with the repair. It follows the volumes of the takeoff: the
// height over the length, raised over each patch as far as its footprint reaches.
func (p *Packer) Fill(k *Kit) []Stretch {
	r := k.Repair
	lays := 0.0
	for _, b := range k.Putty.Batches {
		lays += b.Mass - b.Waste
	}
	if lays <= 0 {
		return nil
	}
	h1, h2 := p.set.PuttyHeight, p.set.PuttyHeightLeak
	step := r.Length / fillSteps
	round := math.Pi * (r.OD + h1) * h1 * r.AreaFactor // mm³ a mm
	volume := make([]float64, fillSteps+1)             // up to so many steps from the start
	for i := range fillSteps {
		x := r.From + (float64(i)+0.5)*step
		at := round
		for j := range r.Patches {
			t := &r.Patches[j]
			if math.Abs(x-t.X) <= t.SheetA/2+p.set.PuttyFootprint+hair {
				at += (h2 - h1) * math.Min(t.SheetC+2*p.set.PuttyFootprint, math.Pi*r.OD) * (1 + (h1+h2)/r.OD)
			}
		}
		for _, pit := range r.Pits {
			if long := math.Max(pit.A, step); math.Abs(x-pit.Defect.Chainage.V) <= long/2+hair {
				at += pit.A / long * pit.C * pit.Deep
			}
		}
		volume[i+1] = volume[i] + at*step
	}
	out := make([]Stretch, len(k.Putty.Batches))
	done, from, i := 0.0, 0.0, 0
	for n, b := range k.Putty.Batches {
		done += b.Mass - b.Waste
		for i < fillSteps && volume[i] < done/lays*volume[fillSteps] {
			i++
		}
		to := float64(i) * step
		if n == len(out)-1 {
			to = r.Length
		}
		out[n] = Stretch{from, to}
		from = to
	}
	return out
}
