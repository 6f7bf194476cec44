package takeoff

import (
	"math"
	"slices"
	"strconv"

	"wraptally/catalog"
	"wraptally/estimate/mix"
	"wraptally/estimate/scope"
	"wraptally/estimate/trace"
)

// Tape is the wrap of a repair in one width.
type Tape struct {
	Width float64         // mm
	Net   float64         // mm of tape, without splices
	Rolls []*catalog.Wrap // rolls of this width that can be laid in their working time
	Hands int             // pairs of hands for the longest of them
}

// tapes takes off the wrap in each width that the diameter allows.
func (n *Net) tapes(r *scope.Repair, c *catalog.Catalog, log *trace.Log) []Tape {
	set := &c.Settings
	widths := c.WrapsFor(r.OD)
	out := make([]Tape, 0, len(widths))
	for i := range widths {
		w := &widths[i]
		if w.System != r.System {
			continue
		}
		t := Tape{Width: w.Width, Net: tapeLength(r, w.Width, set, log), Rolls: layable(w.Rolls, r.SurfaceTemp, set)}
		for _, roll := range t.Rolls {
			t.Hands = max(t.Hands, handsFor(roll, r.SurfaceTemp, set))
		}
		if len(t.Rolls) > 0 {
			out = append(out, t)
		}
	}
	if len(out) == 0 && r.System != "" {
		n.stopOf(r, r.Hottest, "wrap-working-time", trace.WithUnit(r.SurfaceTemp, "°C"),
			"no roll can be laid within its working time with "+strconv.Itoa(set.MaxHands)+" pairs of hands",
			"work when the pipe is cooler, use shorter rolls, or raise wrap.max_hands")
	}
	return out
}

// layable are the rolls that can be laid in their working time. Where all can, as
// nearly always, the catalogue's own list serves.
func layable(rolls []*catalog.Wrap, temp float64, set *catalog.Settings) []*catalog.Wrap {
	tooLong := func(roll *catalog.Wrap) bool { return handsFor(roll, temp, set) > set.MaxHands }
	if !slices.ContainsFunc(rolls, tooLong) {
		return rolls
	}
	return slices.DeleteFunc(slices.Clone(rolls), tooLong)
}

var passRule = trace.NewRule(trace.Rule{
	ID: "takeoff.wrap.pass", Name: "tape of pass", Formula: "π·D_p·L·β/(w·(1 − o)) + 2·turns·π·D_p", Unit: "mm",
	Source: "derived: area of the pass over effective width; end turns " + commonPractice,
	In: []trace.Symbol{
		{Symbol: "D_p", Name: "diameter in the middle of the pass", Unit: "mm", From: trace.Words("D + 2·h1 + (2p − 1)·n·t_ply")},
		{Symbol: "L", Name: "repair length", Unit: "mm", From: trace.StepAt("length")},
		{Symbol: "β", Name: "surface or outer radius of a bend against a straight pipe"},
		{Symbol: "w", Name: "width of the tape", Unit: "mm", From: trace.Table("wraps", "")},
		{Symbol: "o", Name: "overlap", From: trace.Setting("wrap.overlap")},
		{Symbol: "turns", Name: "full turns at each end", From: trace.Setting("wrap.end_turns")},
	},
})

// tapeLength is the tape of all passes of helical wrapping in width w with
// overlap o, and full turns at each end of each pass:
//
//	Σ_p [ π·D_p·L·β/(w·(1 − o)) + 2·turns·π·D_p ],  D_p = D_w + (2p − 1)·n·t_ply  [mm]
//
// where n is layers per pass. The helix correction cancels: the tape is longer
// by the secant of the helix angle and covers more along the pipe by the same.
// On a bend the overlap must hold at the outer radius, so that what lies on it,
// L_b of L, grows by (R + D_p/2)/R; β is that growth of the whole length times the
// component's surface factor. Derived.
func tapeLength(r *scope.Repair, width float64, set *catalog.Settings, log *trace.Log) float64 {
	total := 0.0
	var id string // of the steps
	if log.On() {
		id = "wrap/" + strconv.FormatFloat(width, 'f', -1, 64)
	}
	var passes trace.Sum
	for p := 1; p <= r.Passes; p++ {
		dp := r.WrapOD(set) + float64(2*p-1)*r.LayersPerPass*r.Ply
		beta := r.AreaFactor
		if r.BendRadius > 0 {
			beta *= 1 + r.OnBend/r.Length*dp/2/r.BendRadius
		}
		x := []float64{dp, r.Length, beta, width, set.Overlap, set.EndTurns}
		tape := passRule.Of(x...)
		total += tape
		if log.On() {
			n := strconv.Itoa(p)
			passes.Add("L", "tape of pass "+n, metres(tape), "m", trace.StepAt(id+"/pass"+n))
		}
		log.Add(func() trace.Step {
			betaFrom := trace.Origins{trace.Table("components", string(r.Component))}
			if r.BendRadius > 0 {
				betaFrom = append(betaFrom, trace.Words("1 + L_b/L·D_p/(2·R) with the part on the bend and its radius"))
			}
			s := passRule.Step(id+"/pass"+strconv.Itoa(p), tape, x).Knowing("β", betaFrom...)
			s.Name += " " + strconv.Itoa(p)
			return s
		})
	}
	log.Add(func() trace.Step {
		return trace.Step{
			ID: id + "/net", Name: "tape of all passes", Rule: "takeoff.wrap.net", Formula: passes.Formula(),
			Inputs: passes.Inputs, Value: metres(total), Unit: "m", Source: "derived",
		}
	})
	return total
}

// WorkSeconds is the time in seconds in which a soaked roll must be laid at a
// surface temperature: the roll's own at the temperature it was timed at carried
// to it by the law that holds for the putty, no longer than setting mix.past_ends
// below that, since a longer one was not measured; hotter it shortens without
// limit. Source: common practice, no source.
func WorkSeconds(roll *catalog.Wrap, temp float64, set *catalog.Settings) float64 {
	return mix.Arrhenius(roll.Work, roll.TimedAt, math.Max(temp, roll.TimedAt-set.MixPastEnds), set.MixEnergy)
}

// handsFor is how many pairs of hands lay a roll within its working time:
// ceil(length/(laying speed · time)). Source: common practice, no source.
func handsFor(roll *catalog.Wrap, temp float64, set *catalog.Settings) int {
	perHand := set.LayingSpeed * 1000 / 60 * WorkSeconds(roll, temp, set)
	if perHand <= 0 {
		return math.MaxInt32
	}
	return int(math.Ceil(roll.Length/perHand - 1e-9))
}
