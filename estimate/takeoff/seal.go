package takeoff

import (
	"math"
	"strconv"

	"wraptally/catalog"
	"wraptally/estimate/design"
	"wraptally/estimate/scope"
	"wraptally/estimate/trace"
)

// commonPractice marks a rule of the trade for which there is no source.
const commonPractice = "common practice, no source"

// Seal is what one sealing set takes.
type Seal struct {
	Patch    *scope.Patch
	Sealant  *catalog.Sealant
	Volume   float64 // mm³ of sealant
	Sheet    string  // name of the sheet stock
	SheetA   int     // mm along the pipe
	SheetC   int     // mm round the pipe
	Band     string  // name of the banding
	Bands    int     // turns round the pipe
	Strips   int     // strips in one band: one a fastener
	Strip    int     // mm, cut length of one strip
	Fastener *catalog.Fastener
	Contact  design.Num // MPa, mean pressure of the bands on the sheet; unknown where the tension is
}

// Fasteners is the number in the set.
func (s *Seal) Fasteners() int { return s.Bands * s.Strips }

// seal takes off the sealing set of a patch.
func (n *Net) seal(r *scope.Repair, i int, c *catalog.Catalog, log *trace.Log) Seal {
	set := &c.Settings
	p := &r.Patches[i]
	out := Seal{Patch: p}
	at := "seal" + strconv.Itoa(i+1) + "/"
	logPad(p, at, set, log)
	out.Volume = sealantVolume(p, r, at, set, log)
	sealant, why := c.SealantFor(string(r.Surface), r.SurfaceTemp)
	if sealant == nil {
		n.stopOf(r, r.Hottest, "sealant-none", string(r.Surface)+", "+trace.WithUnit(r.SurfaceTemp, "°C"), "no sealant fits: "+why,
			"change the temperature of the work, or add a sealant to the catalogue")
	} else if r.SurfaceTempLow < sealant.TempMin {
		n.tooCold(r, "sealant", sealant.TempMin)
	}
	out.Sealant = sealant

	name, sheets, ok := c.SheetFor(r.OD)
	if !ok {
		n.stop(r, "sheet-none", trace.WithUnit(r.OD, "mm"), "no sheet for this diameter", "add one to the catalogue's sheets table")
		return out
	}
	out.Sheet, out.SheetA, out.SheetC = name, int(p.SheetA), int(p.SheetC)
	if !CutFrom(sheets, p.SheetA, p.SheetC, set) {
		n.stopOf(r, p.Defects[0], "patch-over-sheet", trace.WithUnit(p.SheetA, "mm")+" × "+trace.WithUnit(p.SheetC, "mm"),
			"the patch is larger than any stock of "+name, "seal the leak in another way, or add a larger sheet to the catalogue")
	}

	band, coils, ok := c.BandFor(r.OD)
	if !ok {
		n.stop(r, "band-none", trace.WithUnit(r.OD, "mm"), "no band for this diameter", "add one to the catalogue's bands table")
		return out
	}
	out.Band = band
	out.Bands = bandCount(p, coils[0], at, set, log)
	if out.Bands > set.BandMax {
		n.stopOf(r, p.Defects[0], "patch-too-long", trace.WithUnit(p.SheetA, "mm"),
			"the patch needs "+strconv.Itoa(out.Bands)+" bands; one set has at most "+strconv.Itoa(set.BandMax),
			"seal the leak in another way, or raise band.max_count if the crew can press it")
	}
	f, ok := c.FastenerFor(band, r.OD)
	if !ok {
		n.stop(r, "fastener-none", trace.WithUnit(r.OD, "mm"), "no fastener for "+band+" at this diameter", "add one to the catalogue's fasteners table")
		return out
	}
	out.Fastener = f
	out.Strips = stripsPerBand(r.OD, f, at, log)
	out.press(r, coils[0], set, at, log)
	strip := stripLength(r.OD, sheets[0].Thickness, out.Strips, f, at, set, log)
	out.Strip = int(strip)
	if longest := coils[len(coils)-1].CoilLength - set.CutTrim; strip > longest {
		n.stop(r, "strip-over-coil", trace.WithUnit(strip, "mm"), "one strip is longer than the longest coil of "+band+", "+trace.WithUnit(longest, "mm")+" after trim",
			"use a fastener of shorter reach, or add a longer coil to the catalogue")
	}
	return out
}

// press works out with what pressure the bands hold the sheet, and adds bands, as
// many as the sheet has room for, until it is enough for the live pressure; where
// that is not known, for the design pressure.
func (s *Seal) press(r *scope.Repair, b *catalog.Band, set *catalog.Settings, at string, log *trace.Log) {
	clamp := design.Clamp{D: r.OD, Sheet: float64(s.SheetA), Fasteners: s.Strips, Tension: s.Fastener.Tension, Friction: b.Friction}
	room := min(set.BandMax, int(float64(s.SheetA)/b.Width))
	wanted, counted := set.GateFactor*r.Live.Or(r.Pressure.V), s.Bands
	if n, err := clamp.Bands(wanted, s.Bands, room); err == nil && s.Fastener.Tension > 0 {
		s.Bands = n
		if p, err := clamp.Pressure(n, design.Show(log, at+"contact", map[string]trace.Origins{
			"n": {trace.StepAt(at + "bands")}, "T": {trace.Table("fasteners", s.Fastener.Item)}, "μ": {trace.Table("bands", b.Band)},
			"f_b": {trace.StepAt(at + "strips")}, "D": {trace.Survey}, "a_s": {trace.StepAt(at + "sheet-axial")},
		})); err == nil {
			s.Contact = design.Known(p)
		}
	}
	log.Add(func() trace.Step {
		pressing, _ := clamp.Bands(wanted, 1, math.MaxInt32)
		return trace.Step{
			ID: at + "bands", Name: "bands in the set, with those that the pressure asks for", Rule: "takeoff.band.pressed", Formula: "max(n_count, min(n_press, room))",
			Inputs: []trace.Input{
				trace.In("n_count", "bands that the sheet asks for", float64(counted), "", trace.StepAt(at+"bands-count")),
				trace.In("n_press", "bands that press with "+trace.WithUnit(wanted, "MPa"), float64(pressing), "", trace.Setting("gate.pressure_factor"), trace.Table("fasteners", s.Fastener.Item), trace.Survey),
				trace.In("room", "bands that the sheet has room for", float64(room), "", trace.Setting("band.max_count"), trace.StepAt(at+"sheet-axial")),
			},
			Value: float64(s.Bands), Unit: "pc", Source: "derived; factor on the live pressure " + commonPractice,
		}
	})
}

// CutFrom reports whether a patch can be cut from one of the sheets.
func CutFrom(sheets []*catalog.Sheet, a, c float64, set *catalog.Settings) bool {
	for _, s := range sheets {
		w, l := s.Width-2*set.SheetTrim, s.Length-2*set.SheetTrim
		if a <= w && c <= l || set.SheetTurn == "yes" && c <= w && a <= l {
			return true
		}
	}
	return false
}

func logPad(p *scope.Patch, at string, set *catalog.Settings, log *trace.Log) {
	side := func(id, name, symbol string, v, pad float64) {
		log.Add(func() trace.Step {
			return trace.Step{
				ID: at + id, Name: name, Rule: "takeoff.sealant.pad",
				Formula: "max(" + symbol + " + 2·m, " + symbol + "·√k)",
				Inputs: []trace.Input{
					trace.In(symbol, "size of the defect", v, "mm", trace.Survey),
					trace.In("m", "margin a side", set.SealMargin, "mm", trace.Setting("sealant.margin")),
					trace.In("k", "pad to defect, by area", set.SealAreaFactor, "", trace.Setting("sealant.area_factor")),
				},
				Value: pad, Unit: "mm", Source: commonPractice,
			}
		})
	}
	side("pad-axial", "pad along the pipe", "a", p.A, p.PadA)
	side("pad-round", "pad round the pipe", "c", p.C, p.PadC)
	sheet := func(id, from, name, symbol string, pad, v float64) {
		log.Add(func() trace.Step {
			return trace.Step{
				ID: at + id, Name: name, Rule: "takeoff.sheet.size", Formula: symbol + " + 2·e",
				Inputs: []trace.Input{
					trace.In(symbol, "pad", pad, "mm", trace.StepAt(at+from)),
					trace.In("e", "edge a side", set.SheetEdge, "mm", trace.Setting("sheet.edge")),
				},
				Raw: pad + 2*set.SheetEdge, Value: v, Unit: "mm",
				Rounding: "up to " + trace.WithUnit(set.SheetStep, "mm"), Source: commonPractice,
			}
		})
	}
	sheet("sheet-axial", "pad-axial", "sheet along the pipe", "a_p", p.PadA, p.SheetA)
	sheet("sheet-round", "pad-round", "sheet round the pipe", "c_p", p.PadC, p.SheetC)
}

var sealantRule = trace.NewRule(trace.Rule{
	ID: "takeoff.sealant.volume", Name: "sealant for the patch", Formula: "a_p·c_p·h_p + V_h", Unit: "mm³", Source: commonPractice,
	In: []trace.Symbol{
		{Symbol: "a_p", Name: "pad along the pipe", Unit: "mm"},
		{Symbol: "c_p", Name: "pad round the pipe", Unit: "mm"},
		{Symbol: "h_p", Name: "height of the pad", Unit: "mm", From: trace.Setting("sealant.height")},
		{Symbol: "V_h", Name: "the holes themselves, Σ a·c·t", Unit: "mm³", From: trace.Survey},
	},
})

// sealantVolume is the pad and the holes under it:
//
//	V = a_p·c_p·h_p + Σ a·c·t  [mm³]
//
// with t the nominal wall; where the wall is unknown the pad alone is counted
// and the repair leans on the assumption wall-unknown. Source: common practice,
// no source.
func sealantVolume(p *scope.Patch, r *scope.Repair, at string, set *catalog.Settings, log *trace.Log) float64 {
	holes := 0.0
	for _, d := range p.Defects {
		holes += d.Axial.V * d.Circ.V * r.Wall
	}
	x := []float64{p.PadA, p.PadC, set.SealHeight, holes}
	v := sealantRule.Of(x...)
	log.Add(func() trace.Step {
		return sealantRule.Step(at+"sealant", v, x).Knowing("a_p", trace.StepAt(at+"pad-axial")).Knowing("c_p", trace.StepAt(at+"pad-round"))
	})
	return v
}

var countRule = trace.NewRule(trace.Rule{
	ID: "takeoff.band.count", Name: "bands in the set", Formula: "max(n_min, ceil((a_s − w)/(w + gap)) + 1)", Unit: "pc", Source: commonPractice,
	In: []trace.Symbol{
		{Symbol: "n_min", Name: "fewest bands", From: trace.Setting("band.min_count")},
		{Symbol: "a_s", Name: "sheet along the pipe", Unit: "mm"},
		{Symbol: "w", Name: "width of the band", Unit: "mm"},
		{Symbol: "gap", Name: "gap between bands", Unit: "mm", From: trace.Setting("band.gap")},
	},
})

// bandCount is the number of bands that press a sheet of length a_s:
//
//	n = max(n_min, ceil((a_s − w)/(w + gap)) + 1)
//
// Source: common practice, no source.
func bandCount(p *scope.Patch, b *catalog.Band, at string, set *catalog.Settings, log *trace.Log) int {
	x := []float64{float64(set.BandMin), p.SheetA, b.Width, set.BandGap}
	n := countRule.Of(x...)
	log.Add(func() trace.Step {
		s := countRule.Step(at+"bands-count", n, x).Knowing("a_s", trace.StepAt(at+"sheet-axial")).Knowing("w", trace.Table("bands", b.Band))
		return s
	})
	return int(n)
}

var stripsRule = trace.NewRule(trace.Rule{
	ID: "takeoff.band.strips", Name: "fasteners, and strips, in one band", Formula: "max(1, ceil(π·D/reach))", Unit: "pc", Source: commonPractice,
	In: []trace.Symbol{
		{Symbol: "D", Name: "outside diameter", Unit: "mm", From: trace.Survey},
		{Symbol: "reach", Name: "reach of one fastener", Unit: "mm"},
	},
})

// stripsPerBand is the number of fasteners in one band, each drawing its own
// strip: max(1, ceil(πD/reach)). Source: common practice, no source.
func stripsPerBand(od float64, f *catalog.Fastener, at string, log *trace.Log) int {
	x := []float64{od, f.Reach}
	n := stripsRule.Of(x...)
	log.Add(func() trace.Step {
		s := stripsRule.Step(at+"strips", n, x).Knowing("reach", trace.Table("fasteners", f.Item))
		return s
	})
	return int(n)
}

var stripRule = trace.NewRule(trace.Rule{
	ID: "takeoff.band.length", Name: "cut length of one strip", Formula: "π·(D + 2·(h + s))/f + 2·engagement", Unit: "mm",
	Source: "derived: circumference at the band; engagement " + commonPractice,
	In: []trace.Symbol{
		{Symbol: "D", Name: "outside diameter", Unit: "mm", From: trace.Survey},
		{Symbol: "h", Name: "sealant left under the band", Unit: "mm", From: trace.Setting("sealant.pressed")},
		{Symbol: "s", Name: "sheet thickness", Unit: "mm", From: trace.Table("sheets", "")},
		{Symbol: "f", Name: "strips in one band"},
		{Symbol: "engagement", Name: "band taken up at each end", Unit: "mm"},
	},
})

// stripLength is the cut length of one of the f strips of a band that lies on
// the pressed sealant and the sheet:
//
//	π·(D + 2·(h + s))/f + 2·engagement, rounded up to the band step  [mm]
//
// Source: derived (the circumference at the band); engagement by the fastener.
func stripLength(od, sheet float64, strips int, f *catalog.Fastener, at string, set *catalog.Settings, log *trace.Log) float64 {
	x := []float64{od, set.SealPressed, sheet, float64(strips), f.Engagement}
	raw := stripRule.Of(x...)
	v := design.RoundUp(raw, set.BandStep)
	log.Add(func() trace.Step {
		s := stripRule.Step(at+"strip", v, x).Knowing("f", trace.StepAt(at+"strips")).Knowing("engagement", trace.Table("fasteners", f.Item))
		s.Raw, s.Rounding = raw, "up to "+trace.WithUnit(set.BandStep, "mm")
		return s
	})
	return v
}
