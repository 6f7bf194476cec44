package scope

import (
	"math"
	"strconv"

	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
)

// screen holds the repair against the limits of the method, each a named check
// with its advice. What fails as a Stop stays out of the totals.
func (k *rules) screen(r *Repair) {
	for _, check := range []func(*Repair){
		k.sizeInRange, k.notTooWide, k.wrapNotTooThick, k.freeRun, k.patchFitsCurve, k.pressureInTable, k.bandsApart,
	} {
		check(r)
	}
}

func (k *rules) sizeInRange(r *Repair) {
	if !r.Leaking || (r.OD >= k.set.SetODMin && r.OD <= k.set.SetODMax) {
		return
	}
	r.query(trace.Stop, "size-outside-set", trace.WithUnit(r.OD, "mm"),
		"a sealing set reaches from "+trace.WithUnit(k.set.SetODMin, "mm")+" to "+trace.WithUnit(k.set.SetODMax, "mm")+" pipe diameter",
		"seal this leak in another way")
}

func (k *rules) notTooWide(r *Repair) {
	half := k.set.PatchMaxArc * math.Pi * r.OD
	for i := range r.Patches {
		if c := r.Patches[i].C; c > half {
			r.query(trace.Stop, "defect-too-wide", trace.WithUnit(c, "mm"),
				"the leak covers more than "+trace.WithUnit(k.set.PatchMaxArc*100, "%")+" of the circumference, "+trace.WithUnit(half, "mm"),
				"replace the pipe or have the repair designed by another method")
		}
	}
	for _, p := range r.Pits {
		if p.C > half {
			r.query(trace.Ask, "thinning-too-wide", trace.WithUnit(p.C, "mm"),
				"the thinning covers more than "+trace.WithUnit(k.set.PatchMaxArc*100, "%")+" of the circumference", "have it designed by a qualified person")
		}
	}
}

func (k *rules) wrapNotTooThick(r *Repair) {
	limit := r.OD / k.set.ThicknessLimit
	if r.WrapThickness > limit {
		r.query(trace.Stop, "wrap-too-thick", trace.WithUnit(r.WrapThickness, "mm"),
			"the wrap is thicker than D/"+trace.WithUnit(k.set.ThicknessLimit, "")+" = "+trace.WithUnit(limit, "mm"),
			"have it designed by a qualified person")
	}
}

func (k *rules) freeRun(r *Repair) {
	for _, d := range r.Defects {
		k.freeSide(r, d, d.FreeRunBefore, d.Chainage.V-r.From, "before")
		k.freeSide(r, d, d.FreeRunAfter, r.To-d.Chainage.V, "after")
	}
}

func (k *rules) freeSide(r *Repair, d *survey.Defect, free survey.Num, needs float64, side string) {
	if free.OK && free.V < needs {
		r.query(trace.Stop, "free-run-short", trace.WithUnit(free.V, "mm"),
			"the repair needs "+trace.WithUnit(needs, "mm")+" of free pipe "+side+" the centre of "+d.ID,
			"free the pipe, or have a shorter repair designed")
	}
}

// patchFitsCurve refuses a sheet that is too stiff to be pressed to the curve.
func (k *rules) patchFitsCurve(r *Repair) {
	if len(r.Patches) == 0 {
		return
	}
	_, sheets, ok := k.c.SheetFor(r.OD)
	if ok && r.OD/sheets[0].Thickness < k.set.PatchCurve {
		r.query(trace.Stop, "sheet-too-stiff", trace.WithUnit(sheets[0].Thickness, "mm"),
			"the sheet is too thick to be bent round this pipe by hand", "use a thinner sheet")
	}
}

func (k *rules) pressureInTable(r *Repair) {
	if !r.Pressure.OK {
		return
	}
	if _, _, ok := k.c.LayersFor(r.Leaking, r.Pressure.V); !ok {
		r.query(trace.Ask, "pressure-above-table", trace.WithUnit(r.Pressure.V, "MPa"),
			"the firm's table of minimum layers ends below this pressure; its last row was used", "have it designed by a qualified person")
	}
}

// bandsApart asks about sets at the same place along the pipe but on different
// sides of it: their bands would lie on one another.
func (k *rules) bandsApart(r *Repair) {
	n := 0
	for i := range r.Patches {
		for j := i + 1; j < len(r.Patches); j++ {
			if axiallyOverlap(&r.Patches[i], &r.Patches[j]) {
				n++
			}
		}
	}
	if n > 0 {
		r.query(trace.Ask, "bands-meet", strconv.Itoa(n), "sealing sets lie at the same place along the pipe; their bands would lie on one another, and all are counted",
			"decide on site whether one set of bands presses both")
	}
}
