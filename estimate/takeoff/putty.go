package takeoff

import (
	"math"
	"strconv"
	"strings"

	"wraptally/catalog"
	"wraptally/estimate/scope"
	"wraptally/estimate/trace"
)

// Putty is the metal-repair putty of a repair.
type Putty struct {
	Name   string  // of the putty system; empty where none fits
	Volume float64 // mm³
	Mass   float64 // kg, mixed
}

// Mixes says why a putty cannot be mixed for a repair; nil where it can.
type Mixes func(putty string) error

// puttyOf is the first putty that may lie on the surface and can be mixed, and why
// those before it cannot.
func puttyOf(r *scope.Repair, c *catalog.Catalog, mixes Mixes) (name string, packs []*catalog.Putty, refused []string) {
	for name, packs := range c.PuttiesFor(r.SurfaceTemp, string(r.Surface)) {
		if mixes == nil {
			return name, packs, nil
		}
		err := mixes(name)
		if err == nil {
			return name, packs, refused
		}
		refused = append(refused, name+": "+err.Error())
	}
	return "", nil, refused
}

var layerRule = trace.NewRule(trace.Rule{
	ID: "takeoff.putty.layer", Name: "putty over the repair length", Formula: "π·(D + h1)·h1·L·α", Unit: "mm³", Source: "derived: hollow cylinder; height " + commonPractice,
	In: []trace.Symbol{
		{Symbol: "D", Name: "outside diameter", Unit: "mm", From: trace.Survey},
		{Symbol: "h1", Name: "height over the repair", Unit: "mm", From: trace.Setting("putty.height")},
		{Symbol: "L", Name: "repair length", Unit: "mm", From: trace.StepAt("length")},
		{Symbol: "α", Name: "surface against a straight pipe"},
	},
})

var massRule = trace.NewRule(trace.Rule{
	ID: "takeoff.putty.mass", Name: "putty, mixed", Formula: "V·ρ", Unit: "kg", Source: "derived",
	In: []trace.Symbol{
		{Symbol: "V", Name: "volume, the sum of the above", Unit: "L", From: trace.StepsUnder("putty/")},
		{Symbol: "ρ", Name: "density", Unit: "kg/L"},
	},
})

// putty takes off the putty: h1 over the repair length, raised to h2 over the
// footprint of each patch, and the metal lost at each pit that is not sealed.
//
//	V = π·(D + h1)·h1·L·α + Σ (h2 − h1)·a_f·c_f·(1 + (h1 + h2)/D) + Σ a·c·(t − t_rem)  [mm³]
//
// α is the surface of the component relative to a straight pipe of that
// length (1 for a pipe; 1 for a bend measured along its centre line, exactly,
// by Pappus). The first two terms are derived from the volumes of hollow
// cylinders; the heights are common practice, no source.
func (n *Net) putty(r *scope.Repair, c *catalog.Catalog, mixes Mixes, log *trace.Log) Putty {
	set := &c.Settings
	h1, h2 := set.PuttyHeight, set.PuttyHeightLeak
	x := []float64{r.OD, h1, r.Length, r.AreaFactor}
	layer := layerRule.Of(x...)
	log.Add(func() trace.Step {
		return layerRule.Step("putty/layer", layer, x).Knowing("α", trace.Table("components", string(r.Component)))
	})
	raised := 0.0
	var footprints trace.Sum
	for i := range r.Patches {
		p := &r.Patches[i]
		af := math.Min(p.SheetA+2*set.PuttyFootprint, r.Length)
		cf := math.Min(p.SheetC+2*set.PuttyFootprint, math.Pi*r.OD)
		raised += (h2 - h1) * af * cf * (1 + (h1+h2)/r.OD)
		if log.On() {
			at := "seal" + strconv.Itoa(i+1)
			footprints.Product(
				trace.In("a", "footprint of the patch along the pipe", af, "mm", trace.StepAt(at+"/sheet-axial"), trace.Setting("putty.footprint")),
				trace.In("c", "footprint of the patch round the pipe", cf, "mm", trace.StepAt(at+"/sheet-round"), trace.Setting("putty.footprint")))
		}
	}
	if len(r.Patches) > 0 {
		log.Add(func() trace.Step {
			return trace.Step{
				ID: "putty/raised", Name: "putty raised over the patches", Rule: "takeoff.putty.raised",
				Formula: "(h2 − h1)·(1 + (h1 + h2)/D)·(" + footprints.Formula() + ")",
				Inputs: append([]trace.Input{
					trace.In("h1", "height over the repair", h1, "mm", trace.Setting("putty.height")),
					trace.In("h2", "height over the leak", h2, "mm", trace.Setting("putty.height_leak")),
					trace.In("D", "outside diameter", r.OD, "mm", trace.Survey),
				}, footprints.Inputs...),
				Value: raised, Unit: "mm³", Source: "derived: sector of a hollow cylinder; heights " + commonPractice,
			}
		})
	}
	lost := 0.0
	var pits trace.Sum
	for _, p := range r.Pits {
		lost += p.A * p.C * p.Deep
		if log.On() {
			pits.Product(trace.In("a", "length of the pit", p.A, "mm", trace.Survey), trace.In("c", "width of the pit", p.C, "mm", trace.Survey),
				trace.In("h", "depth of the pit", p.Deep, "mm", trace.Survey))
		}
	}
	if len(r.Pits) > 0 {
		log.Add(func() trace.Step {
			return trace.Step{
				ID: "putty/pits", Name: "metal lost at unsealed pits", Rule: "takeoff.putty.pits", Formula: pits.Formula(),
				Inputs: pits.Inputs, Value: lost, Unit: "mm³", Source: "derived: box round the pit",
			}
		})
	}
	out := Putty{Volume: layer + raised + lost}
	name, packs, refused := puttyOf(r, c, mixes)
	if len(refused) > 0 && packs == nil {
		n.stopOf(r, r.HottestPot, "mix-no-time", trace.WithUnit(r.PotTemp, "°C"), strings.Join(refused, "; "),
			"work when air and pipe are cooler, add a slower putty or smaller packs to the catalogue, or points to the putty_lives table")
		return out
	}
	if packs == nil {
		n.stopOf(r, r.Hottest, "putty-none", trace.WithUnit(r.SurfaceTemp, "°C"), "no putty may be used at this surface temperature and state of the surface, "+string(r.Surface),
			"change the temperature of the work, or add a putty to the catalogue")
		return out
	}
	if r.SurfaceTempLow < packs[0].TempMin {
		n.tooCold(r, "putty", packs[0].TempMin)
		return out
	}
	out.Name = name
	weighed := []float64{litres(out.Volume), packs[0].Density}
	out.Mass = massRule.Of(weighed...)
	log.Add(func() trace.Step {
		return massRule.Step("putty/mass", out.Mass, weighed).Knowing("ρ", trace.Table("putties", name))
	})
	return out
}
