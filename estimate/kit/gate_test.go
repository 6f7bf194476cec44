package kit_test

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"wraptally/catalog"
	"wraptally/estimate/gate"
	"wraptally/estimate/kit"
	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
	"wraptally/estimate/trace/depth"
)

// leakOf is a leak, the i-th of its repair, that passes every line of the gate.
func leakOf(i int) survey.Defect {
	return survey.Defect{
		ID: string(rune('A' + i)), Line: "L", Line0: 2 + i, Chainage: survey.Known(5000 + 20*float64(i)), OD: survey.Known(168.3), Size: "6", Series: "NPS",
		Axial: survey.Known(4), Circ: survey.Known(4), Hole: true, Leaking: survey.Yes, Clock: survey.Known(180),
		Wall: survey.Known(7.11), Pressure: survey.Known(2), LivePressure: survey.Known(1), SeatWall: survey.Known(6), Medium: "cooling water",
		SurfaceTemp: survey.Known(20), AirTemp: survey.Known(20), Surface: survey.Wet, Access: "ground", DesignTemp: survey.Known(40),
		Stress: survey.Known(137.9), Mechanism: survey.External, Cycles: survey.Known(10), Substrate: "steel", Hazardous: survey.No,
	}
}

// boxOf is the kit of leaks of one repair, by a catalogue.
func boxOf(t testing.TB, c *catalog.Catalog, defects ...survey.Defect) *kit.Kit {
	t.Helper()
	repairs := scope.Plan(defects, c)
	if len(repairs) != 1 || repairs[0].Status != scope.Estimated {
		t.Fatalf("%+v", repairs)
	}
	return kit.NewPacker(c).Pack(repairs[0], nil)
}

// gateOf is the gate of one leak or several, 20 mm apart, packed by the built-in
// catalogue.
func gateOf(t *testing.T, change ...func(*survey.Defect)) gate.Lines {
	t.Helper()
	defects := make([]survey.Defect, len(change))
	for i, f := range change {
		defects[i] = leakOf(i)
		f(&defects[i])
	}
	return boxOf(t, builtin(t), defects...).Gate
}

func lineOf(t *testing.T, ls gate.Lines, name string) gate.Line {
	t.Helper()
	for _, l := range ls {
		if l.Name == name {
			return l
		}
	}
	t.Fatalf("no line %q in %v", name, ls)
	return gate.Line{}
}

// A design pressure that is not known does not let a live pressure through: for
// the wrap the high end of its range is the hard one, for the gate the low one.
// Of several leaks the least design pressure is what the live one is held against.
func TestGateHoldsLiveAgainstTheLeastDesignPressure(t *testing.T) {
	pressure := func(p float64) func(*survey.Defect) {
		return func(d *survey.Defect) { d.Pressure = survey.Num{V: p, OK: p > 0} }
	}
	for _, v := range []struct {
		name   string
		leaks  []func(*survey.Defect)
		wanted gate.Verdict
	}{
		{"2 MPa", []func(*survey.Defect){pressure(2)}, gate.MayGoOn},
		{"0.5 MPa", []func(*survey.Defect){pressure(0.5)}, gate.NotByThisMethod},
		{"blank", []func(*survey.Defect){pressure(0)}, gate.Ask},
		{"2 and 0.5 MPa", []func(*survey.Defect){pressure(2), pressure(0.5)}, gate.NotByThisMethod},
		{"0.5 and 2 MPa", []func(*survey.Defect){pressure(0.5), pressure(2)}, gate.NotByThisMethod},
		{"2 MPa and blank", []func(*survey.Defect){pressure(2), pressure(0)}, gate.Ask},
		{"0.5 MPa and blank", []func(*survey.Defect){pressure(0.5), pressure(0)}, gate.NotByThisMethod},
		{"blank and 0.5 MPa", []func(*survey.Defect){pressure(0), pressure(0.5)}, gate.NotByThisMethod},
	} {
		if l := lineOf(t, gateOf(t, v.leaks...), "live against design pressure"); l.Verdict != v.wanted {
			t.Errorf("live 1 MPa, design %s: %s, want %v", v.name, l, v.wanted)
		}
	}
}

// A blank never softens the gate: where the worst of its range fails the line
// asks, where the whole range fails it is refused as a known value is, and a
// neighbour that is silent does not soften what another's known value fails.
func TestABlankNeverSoftensTheGate(t *testing.T) {
	narrow := func(low, high, service float64) *catalog.Catalog {
		c := builtin(t)
		for i := range c.Sealants {
			c.Sealants[i].TempMin, c.Sealants[i].TempMax, c.Sealants[i].Service = low, high, service
		}
		return c
	}
	surface := func(v float64) survey.Defect {
		d := leakOf(0)
		d.SurfaceTemp = survey.Num{V: v, OK: v != 0}
		return d
	}
	design := func(v float64) survey.Defect {
		d := leakOf(0)
		d.DesignTemp = survey.Num{V: v, OK: v != 0}
		return d
	}
	beside := func(first, second survey.Defect) []survey.Defect {
		second.ID, second.Line0, second.Chainage = "B", 3, survey.Known(5020)
		return []survey.Defect{first, second}
	}
	live, seat := leakOf(0), leakOf(0)
	live.LivePressure, seat.SeatWall = survey.Num{}, survey.Num{}
	liveHigh, seatThin := leakOf(0), leakOf(0)
	liveHigh.LivePressure, seatThin.SeatWall = survey.Known(3), survey.Known(1)
	for _, v := range []struct {
		name, line string
		c          *catalog.Catalog
		defects    []survey.Defect
		wanted     gate.Verdict
		of         string // row of its query; "" where it is asked once for all
	}{
		// The surface from 10 to 35 °C, the design from 20 to 60.
		{"known, too cold", "laying, sealant", narrow(12, 50, 95), []survey.Defect{surface(10)}, gate.NotByThisMethod, ""},
		{"cold end too cold", "laying, sealant (ASSUMED, measure)", narrow(12, 50, 95), []survey.Defect{surface(0)}, gate.Ask, "A"},
		{"all within", "laying, sealant (ASSUMED, measure)", narrow(10, 35, 95), []survey.Defect{surface(0)}, gate.MayGoOn, ""},
		{"known one too cold, other blank", "laying, sealant (ASSUMED, measure)", narrow(12, 50, 95), beside(surface(0), surface(11)), gate.NotByThisMethod, ""},
		{"known, too hot in service", "service, sealant", narrow(5, 50, 55), []survey.Defect{design(60)}, gate.NotByThisMethod, "A"},
		{"hot end too hot in service", "service, sealant (ASSUMED, measure)", narrow(5, 50, 55), []survey.Defect{design(0)}, gate.Ask, "A"},
		{"all too hot in service", "service, sealant (ASSUMED, measure)", narrow(5, 50, 15), []survey.Defect{design(0)}, gate.NotByThisMethod, "A"},
		{"known one too hot in service, other blank", "service, sealant (ASSUMED, measure)", narrow(5, 50, 55), beside(design(0), design(60)), gate.NotByThisMethod, ""},
		{"live above design, other silent", "live against design pressure", builtin(t), beside(live, liveHigh), gate.NotByThisMethod, "B"},
		{"live silent", "live against design pressure", builtin(t), []survey.Defect{live}, gate.Ask, ""},
		{"seat thin, other silent", "wall under the bands", builtin(t), beside(seat, seatThin), gate.NotByThisMethod, "B"},
		{"seat silent", "wall under the bands", builtin(t), []survey.Defect{seat}, gate.Ask, ""},
		{"seat thin of the second", "wall under the bands", builtin(t), beside(leakOf(0), seatThin), gate.NotByThisMethod, "B"},
	} {
		k := boxOf(t, v.c, v.defects...)
		l := lineOf(t, k.Gate, v.line)
		if l.Verdict != v.wanted {
			t.Errorf("%s: %s, want %v", v.name, l, v.wanted)
		}
		if v.of == "" {
			continue
		}
		if !slices.ContainsFunc(k.Queries, func(q trace.Query) bool { return q.Code == l.Code && q.Row == v.of }) {
			t.Errorf("%s: not asked of row %s: %v", v.name, v.of, k.Queries)
		}
	}
}

// verdicts are those of the lines of a kit's gate, by their names; nil where the
// repair is refused before there is a kit.
func verdicts(c *catalog.Catalog, defects []survey.Defect) map[string]gate.Verdict {
	r := scope.Plan(defects, c)
	if len(r) != 1 || r[0].Status != scope.Estimated {
		return nil
	}
	k := kit.NewPacker(c).Pack(r[0], nil)
	out := map[string]gate.Verdict{"all of it": k.Gate.Verdict()}
	for _, l := range k.Gate {
		name, _, _ := strings.Cut(l.Name, " (")
		out[name] = l.Verdict
	}
	return out
}

// gateCatalog is the built-in catalogue with one sealant and putty a surface
// and one wrap, so that a change of the product's data changes the product's line
// and not the product, with random data.
func gateCatalog(t *rapid.T, whole *catalog.Catalog) *catalog.Catalog {
	own := *whole
	own.Sealants, own.Putties, own.Wraps = slices.Clone(own.Sealants), slices.Clone(own.Putties), slices.Clone(own.Wraps)
	own.Fasteners, own.Bands = slices.Clone(own.Fasteners), slices.Clone(own.Bands)
	c := catalog.Mixed(&own, &own, func(string) bool { return false }) // its look-ups find its own rows
	num := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
	low, high, service := num("low", 0, 10), num("high", 35, 60), num("service", 45, 95)
	for i := range c.Sealants {
		c.Sealants[i].TempMin, c.Sealants[i].TempMax, c.Sealants[i].Service = low, high, service
	}
	for i := range c.Putties {
		c.Putties[i].TempMin, c.Putties[i].TempMax, c.Putties[i].Surface = 5, 45, "submerged"
	}
	grade := rapid.SampledFrom([]string{"dry", "wet", "submerged", "submerged"}).Draw(t, "grade of the wrap")
	for i := range c.Wraps {
		c.Wraps[i].Surface = grade
	}
	c.Settings.GateFactor, c.Settings.GateSeat = num("factor", 1, 2), num("least seat", 1, 3)
	return c
}

// gateLeaks are one to three leaks of one repair, with blanks.
func gateLeaks(t *rapid.T) []survey.Defect {
	out := make([]survey.Defect, rapid.IntRange(1, 3).Draw(t, "leaks"))
	for i := range out {
		num := func(name string, low, high float64) survey.Num {
			if rapid.IntRange(0, 14).Draw(t, name+" blank") == 14 {
				return survey.Num{}
			}
			return survey.Known(rapid.Float64Range(low, high).Draw(t, name))
		}
		d := leakOf(i)
		d.LivePressure, d.Pressure, d.SeatWall, d.Stress = num("live", 0, 1.2), num("design", 0.8, 2.5), num("seat", 2, 7.11), num("stress", 60, 250)
		d.SurfaceTemp, d.DesignTemp = num("surface temp", 5, 40), num("design temp", 20, 50)
		d.Surface = survey.Surface(rapid.SampledFrom([]string{"dry", "wet", "wet", "submerged", ""}).Draw(t, "surface"))
		d.Medium = rapid.SampledFrom([]string{"water", "water", "cooling water", "steam", "", "xylol"}).Draw(t, "medium")
		out[i] = d
	}
	return out
}

// A worse input never gives a better verdict, of any line of the gate of a packed
// kit nor of the whole: more pressure in the pipe, a lower design pressure, a
// thinner seat, a wetter surface, hotter or colder than the product likes, hotter in
// service, a worse medium, and products and settings that bear less. Nor does
// not knowing it give a better verdict than asking, where a value would fail.
func TestGateOfAKitWorseIsNeverBetter(t *testing.T) {
	more := func(t *rapid.T, most float64) float64 { return rapid.Float64Range(0, most).Draw(t, "more") }
	up := func(at func(*survey.Defect) *survey.Num, most float64) func(*rapid.T, *catalog.Catalog, *survey.Defect) {
		return func(t *rapid.T, _ *catalog.Catalog, d *survey.Defect) {
			if n := at(d); n.OK {
				n.V += more(t, most)
			}
		}
	}
	down := func(at func(*survey.Defect) *survey.Num) func(*rapid.T, *catalog.Catalog, *survey.Defect) {
		return func(t *rapid.T, _ *catalog.Catalog, d *survey.Defect) {
			at(d).V *= 1 - more(t, 1)*0.95
		}
	}
	live, pressure := func(d *survey.Defect) *survey.Num { return &d.LivePressure }, func(d *survey.Defect) *survey.Num { return &d.Pressure }
	seat, stress := func(d *survey.Defect) *survey.Num { return &d.SeatWall }, func(d *survey.Defect) *survey.Num { return &d.Stress }
	designTemp, surfaceTemp := func(d *survey.Defect) *survey.Num { return &d.DesignTemp }, func(d *survey.Defect) *survey.Num { return &d.SurfaceTemp }
	middle := 25.0 // no product's range has its middle above 37.5 or below 15 °C
	bands, lay, grade := []string{"bands against live pressure"}, []string{"laying, sealant", "laying, putty", "laying, wrap"}, []string{"surface, putty", "surface, wrap"}
	whole, everWorse := builtin(t), 0
	for _, v := range []struct {
		name   string
		lines  []string // nil: all
		change func(*rapid.T, *catalog.Catalog, *survey.Defect)
	}{
		{"more live pressure", nil, up(live, 3)},
		{"a lower design pressure", nil, func(t *rapid.T, c *catalog.Catalog, d *survey.Defect) {
			if live(d).OK { // else the design pressure is what may be in the pipe, and less of it is no worse
				down(pressure)(t, c, d)
			}
		}},
		{"a thinner seat", nil, down(seat)},
		{"less stress allowed", nil, down(stress)},
		{"hotter in service", nil, up(designTemp, 20)},
		{"hotter work", lay, func(t *rapid.T, c *catalog.Catalog, d *survey.Defect) {
			if n := surfaceTemp(d); n.OK && n.V >= max(middle, (c.Sealants[0].TempMin+c.Sealants[0].TempMax)/2, 27.5) {
				n.V += more(t, 20)
			}
		}},
		{"colder work", lay, func(t *rapid.T, c *catalog.Catalog, d *survey.Defect) {
			if n := surfaceTemp(d); n.OK && n.V <= min(middle, (c.Sealants[0].TempMin+c.Sealants[0].TempMax)/2) {
				n.V -= more(t, 20)
			}
		}},
		{"a wetter surface", grade, func(_ *rapid.T, _ *catalog.Catalog, d *survey.Defect) {
			d.Surface = map[survey.Surface]survey.Surface{"dry": "wet", "wet": "submerged", "": "submerged", "submerged": "submerged"}[d.Surface]
		}},
		{"a worse medium", nil, func(_ *rapid.T, _ *catalog.Catalog, d *survey.Defect) { d.Medium += " steam" }},
		{"less tension", bands, func(t *rapid.T, c *catalog.Catalog, _ *survey.Defect) {
			by := 1 - more(t, 0.9)
			for i := range c.Fasteners {
				c.Fasteners[i].Tension *= by
			}
		}},
		{"more friction", bands, func(t *rapid.T, c *catalog.Catalog, _ *survey.Defect) {
			by := more(t, 0.5)
			for i := range c.Bands {
				c.Bands[i].Friction += by
			}
		}},
		{"a wider factor", nil, func(t *rapid.T, c *catalog.Catalog, _ *survey.Defect) { c.Settings.GateFactor += more(t, 2) }},
		{"more wall asked for", nil, func(t *rapid.T, c *catalog.Catalog, _ *survey.Defect) { c.Settings.GateSeat += more(t, 5) }},
		{"sealant for less heat in service", nil, func(t *rapid.T, c *catalog.Catalog, _ *survey.Defect) {
			by := 1 - more(t, 0.6)
			for i := range c.Sealants {
				c.Sealants[i].Service *= by
			}
		}},
		{"putty for less heat in service", nil, func(t *rapid.T, c *catalog.Catalog, _ *survey.Defect) {
			by := 1 - more(t, 0.6)
			for i := range c.Putties {
				c.Putties[i].Service *= by
			}
		}},
		{"products of a narrower range", nil, func(t *rapid.T, c *catalog.Catalog, _ *survey.Defect) {
			colder, hotter := more(t, 20), rapid.Float64Range(0, 20).Draw(t, "hotter")
			for i := range c.Sealants {
				c.Sealants[i].TempMin += colder
				c.Sealants[i].TempMax -= hotter
			}
			for i := range c.Putties {
				c.Putties[i].TempMin += colder
			}
		}},
		{"a wrap for drier surfaces", nil, func(_ *rapid.T, c *catalog.Catalog, _ *survey.Defect) {
			for i := range c.Wraps {
				c.Wraps[i].Surface = map[string]string{"submerged": "wet", "wet": "dry", "dry": "dry"}[c.Wraps[i].Surface]
			}
		}},
	} {
		t.Run(v.name, func(t *testing.T) {
			compared, worse := 0, 0
			rapid.Check(t, func(t *rapid.T) {
				c, defects := gateCatalog(t, whole), gateLeaks(t)
				before := verdicts(c, defects)
				at := rapid.IntRange(0, len(defects)-1).Draw(t, "at")
				was := defects[at]
				v.change(t, c, &defects[at])
				after := verdicts(c, defects)
				if before == nil || after == nil {
					return // refused before the gate: by rules with properties of their own
				}
				compared++
				for name, is := range after {
					if is > before[name] {
						worse++
					}
					if (v.lines == nil || slices.Contains(v.lines, name)) && is < before[name] {
						t.Fatalf("%s: %s was %v and is %v\n%+v\n%+v", v.name, name, before[name], is, was, defects[at])
					}
				}
			})
			t.Logf("%d compared, %d lines worse for it", compared, worse)
			if everWorse += worse; compared < depth.Of(3, 30) {
				t.Errorf("only %d compared", compared)
			}
		})
	}
	if everWorse < depth.Of(1, 100) {
		t.Errorf("only %d lines ever got worse", everWorse)
	}
	for name, v := range map[string]struct {
		at        func(*survey.Defect) *survey.Num
		low, high func(*catalog.Settings) float64 // of the range; what may be in the pipe for those that have none
	}{
		"surface_temp": {surfaceTemp, func(s *catalog.Settings) float64 { return s.WorkTempLow }, func(s *catalog.Settings) float64 { return s.WorkTempHigh }},
		"design_temp":  {designTemp, func(s *catalog.Settings) float64 { return s.DesignTempLow }, func(s *catalog.Settings) float64 { return s.DesignTempHigh }},
		"live":         {live, func(*catalog.Settings) float64 { return 0 }, func(*catalog.Settings) float64 { return 2.5 }},
		"design":       {pressure, func(s *catalog.Settings) float64 { return s.PressureLow }, func(s *catalog.Settings) float64 { return s.PressureHigh }},
		"seat":         {seat, func(*catalog.Settings) float64 { return 0 }, func(*catalog.Settings) float64 { return 7.11 }},
		"stress":       {stress, func(s *catalog.Settings) float64 { return s.PipeStress }, func(s *catalog.Settings) float64 { return s.StressHigh }},
	} {
		t.Run(name+" not known", func(t *testing.T) {
			compared, failed := 0, 0
			rapid.Check(t, func(t *rapid.T) {
				c, defects := gateCatalog(t, whole), gateLeaks(t)
				at := &defects[rapid.IntRange(0, len(defects)-1).Draw(t, "at")]
				*v.at(at) = survey.Num{}
				blank := verdicts(c, defects)
				low, high := v.low(&c.Settings), v.high(&c.Settings)
				switch name {
				case "live": // no more than the pipe is designed for
					high = at.Pressure.Or(c.Settings.PressureHigh)
				case "design":
					high = max(high, at.LivePressure.V)
				}
				worst := map[string]gate.Verdict{} // the least of all values
				for i, share := range []float64{0, 1, 0.25, 0.5, 0.75, rapid.Float64Range(0, 1).Draw(t, "share")} {
					*v.at(at) = survey.Known(low + (high-low)*share)
					said := verdicts(c, defects)
					if said == nil || blank == nil {
						return
					}
					for line, is := range said {
						if _, ok := blank[line]; !ok && blank["all of it"] == gate.NotByThisMethod {
							continue // no product fits, which has a line of its own
						}
						if blank[line] < min(is, gate.Ask) {
							t.Fatalf("%s: %v where %s is %v, and %v where it is blank\n%+v", line, is, name, v.at(at).V, blank[line], defects)
						}
						if i == 0 || is < worst[line] {
							worst[line] = is
						}
					}
				}
				compared++
				for line, is := range worst {
					if is == gate.NotByThisMethod && max(blank[line], blank["all of it"]) != is {
						t.Fatalf("%s: refused at every value of %s, and %v where it is blank\n%+v", line, name, blank[line], defects)
					}
					if is == gate.NotByThisMethod {
						failed++
					}
				}
			})
			t.Logf("%d compared, %d lines refused at every value", compared, failed)
			if compared < depth.Of(3, 20) {
				t.Errorf("only %d compared", compared)
			}
		})
	}
}

// A surface temperature that is not known never lets anything set sooner than one
// of its range, and of two places the colder counts, which sets last.
func TestABlankNeverSetsSooner(t *testing.T) {
	c := builtin(t)
	waiting := func(temps ...survey.Num) (tack, waiting float64) {
		defects := make([]survey.Defect, len(temps))
		for i, temp := range temps {
			defects[i] = leakOf(i)
			defects[i].SurfaceTemp = temp
		}
		k := boxOf(t, c, defects...)
		return k.Tack, k.Waiting
	}
	blankTack, blankWaiting := waiting(survey.Num{})
	for temp := c.Settings.WorkTempLow; temp <= c.Settings.WorkTempHigh; temp++ {
		if tack, all := waiting(survey.Known(temp)); tack > blankTack || all > blankWaiting {
			t.Errorf("at %v °C tack-free in %v, waiting %v min; where it is blank %v and %v", temp, tack, all, blankTack, blankWaiting)
		}
	}
	cold, _ := waiting(survey.Known(12))
	if both, _ := waiting(survey.Known(30), survey.Known(12)); both != cold {
		t.Errorf("places of 30 and 12 °C tack-free in %v min, one of 12 °C in %v", both, cold)
	}
}
