package catalog

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	_ "wraptally/estimate/trace/depth"
)

func TestPipeSizes(t *testing.T) {
	c := builtin(t)
	if got := c.Series(); !slices.Equal(got, []string{"NPS", "DN-ASME", "DN-EN"}) {
		t.Errorf("series %v", got)
	}
	// ASME B36.10M and EN 10220 [from memory]; the sizes at which the two differ
	// and those at which a standard wall changes its rule.
	for _, tt := range []struct {
		series, size string
		od, wall     float64
	}{
		{"NPS", "1/8", 10.3, 1.73}, {"NPS", "2", 60.3, 3.91}, {"NPS", "6", 168.3, 7.11}, {"NPS", "10", 273, 9.27},
		{"NPS", "12", 323.8, 9.53}, {"NPS", "48", 1219, 9.53}, {"DN-ASME", "65", 73, 5.16}, {"DN-ASME", "125", 141.3, 6.55},
		{"DN-EN", "65", 76.1, 0}, {"DN-EN", "125", 139.7, 0}, {"DN-EN", "300", 323.9, 0},
	} {
		if od, wall, ok := c.OD(tt.series, tt.size); !ok || od != tt.od || wall != tt.wall {
			t.Errorf("%s %s: %g × %g, %v; want %g × %g", tt.series, tt.size, od, wall, ok, tt.od, tt.wall)
		}
	}
	for _, size := range []string{"", "6.0", "06", "7"} {
		if _, _, ok := c.OD("NPS", size); ok {
			t.Errorf("NPS %q was found", size)
		}
	}
	if _, ok := c.Pipe("DN", "65"); ok {
		t.Error("a DN without its series was found")
	}
}

func TestWallLike(t *testing.T) {
	c := builtin(t)
	for od, want := range map[float64]float64{168.3: 7.11, 323.8: 9.53, 1219: 9.53, 2438: 2 * 9.53} {
		if wall := c.WallLike(od); math.Abs(wall-want) > 1e-9 {
			t.Errorf("OD %g: wall %g, want %g", od, wall, want)
		}
	}
}

// At every diameter of a sealing set there is one band with its fastener and
// one sheet, and each of them claims that diameter.
func TestOneSealingSetAtEveryDiameter(t *testing.T) {
	c := builtin(t)
	at := func(t interface {
		Errorf(string, ...any)
	}, od float64) {
		name, coils, ok := c.BandFor(od)
		if !ok || len(coils) == 0 {
			t.Errorf("OD %g: no band", od)
			return
		}
		for i, b := range coils {
			if b.Band != name || od < b.ODMin || od > b.ODMax || i > 0 && coils[i-1].CoilLength > b.CoilLength {
				t.Errorf("OD %g: coil %+v", od, b)
			}
		}
		if f, ok := c.FastenerFor(name, od); !ok || f.Band != name || od < f.ODMin || od > f.ODMax {
			t.Errorf("OD %g: fastener %+v", od, f)
		}
		if name, sheets, ok := c.SheetFor(od); !ok || len(sheets) == 0 || sheets[0].Sheet != name || od < sheets[0].ODMin || od > sheets[0].ODMax {
			t.Errorf("OD %g: sheet %q %v", od, name, sheets)
		}
	}
	for _, b := range c.Bands {
		at(t, b.ODMin)
		at(t, b.ODMax)
	}
	rapid.Check(t, func(t *rapid.T) { at(t, rapid.Float64Range(45, 6500).Draw(t, "od")) })

	if name, _, _ := c.BandFor(170); name != "band 20 mm, 304" {
		t.Errorf("where two ranges meet the band is %q, want the smaller", name)
	}
	for _, od := range []float64{44.9, 6500.1, 0, -1, math.NaN()} {
		if _, _, ok := c.BandFor(od); ok {
			t.Errorf("OD %g has a band", od)
		}
		if _, _, ok := c.SheetFor(od); ok {
			t.Errorf("OD %g has a sheet", od)
		}
	}
	if _, ok := c.FastenerFor("no such band", 100); ok {
		t.Error("an unknown band has a fastener")
	}
}

func TestSealantFor(t *testing.T) {
	c := builtin(t)
	for _, tt := range []struct {
		surface string
		temp    float64
		item    string
		reason  string
	}{
		{"dry", 20, "SEAL-DRY", ""}, {"wet", 50, "SEAL-WET", ""}, {"submerged", 2, "SEAL-SUB", ""},
		{"submerged", 1.9, "", NoSealantCold}, {"dry", 60.1, "", NoSealantHot}, {"damp", 20, "", NoSealantSurface},
	} {
		s, reason := c.SealantFor(tt.surface, tt.temp)
		if reason != tt.reason || (s == nil) != (tt.item == "") || s != nil && s.Item != tt.item {
			t.Errorf("%s at %g °C: %+v, %q", tt.surface, tt.temp, s, reason)
		}
	}
	c.Sealants = append(c.Sealants, Sealant{Surface: "dry", TempMin: 80, TempMax: 90})
	if _, reason := c.SealantFor("dry", 70); reason != NoSealantBetween {
		t.Errorf("between two ranges: %q", reason)
	}
}

func TestPuttyFor(t *testing.T) {
	c := builtin(t)
	for _, tt := range []struct {
		temp  float64
		name  string
		packs []float64
		lives int
	}{
		{20, "putty, metal-filled", []float64{0.5, 1, 5}, 16}, {10, "putty, metal-filled", []float64{0.5, 1, 5}, 16},
		{9.9, "putty, cold grade", []float64{0.5, 1}, 6}, {0, "putty, cold grade", []float64{0.5, 1}, 6}, {-1, "", nil, 0}, {45.1, "", nil, 0},
	} {
		name, packs, ok := "", []*Putty(nil), false
		for name, packs = range c.PuttiesFor(tt.temp, "dry") {
			ok = true
			break
		}
		_, lives, _ := c.PuttyNamed(name)
		var got []float64
		for _, p := range packs {
			got = append(got, p.Pack)
		}
		if name != tt.name || !slices.Equal(got, tt.packs) || len(lives) != tt.lives || ok != (tt.name != "") {
			t.Errorf("%g °C: %q %v %d lives %v", tt.temp, name, got, len(lives), ok)
		}
		for i := 1; i < len(lives); i++ {
			if a, b := lives[i-1], lives[i]; a.Mass > b.Mass || a.Mass == b.Mass && a.Temp >= b.Temp {
				t.Errorf("lives out of order: %v then %v", a, b)
			}
		}
	}
}

// The prepared answer is the one that a plain search gives.
func TestWrapsForEqualsAPlainSearch(t *testing.T) {
	c := builtin(t)
	same := func(od float64) bool {
		n := 0
		for _, w := range c.Wraps {
			if w.ODMin <= od && od <= w.ODMax {
				n++
			}
		}
		for _, g := range c.WrapsFor(od) {
			for i, w := range g.Rolls {
				if w.Wrap != g.System || w.Width != g.Width || od < w.ODMin || od > w.ODMax || i > 0 && g.Rolls[i-1].Length > w.Length {
					return false
				}
				n--
			}
		}
		return n == 0
	}
	for _, edge := range c.find.wrapEdges {
		for _, od := range []float64{math.Nextafter(edge, 0), edge, math.Nextafter(edge, 1e9)} {
			if !same(od) {
				t.Errorf("OD %g: %v", od, c.WrapsFor(od))
			}
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		if od := rapid.Float64Range(-1, 12000).Draw(t, "od"); !same(od) {
			t.Fatalf("OD %g: %v", od, c.WrapsFor(od))
		}
	})
	if c.WrapsFor(math.NaN()) != nil {
		t.Error("wraps for no number")
	}
}

func TestOtherLookUps(t *testing.T) {
	c := builtin(t)
	offers := c.OffersOf("SEAL-DRY")
	if len(offers) != 2 || offers[0].Supplier != "Supplier B" || len(offers[0].Prices) != 3 || offers[0].Prices[2].FromPacks != 20 || offers[0].Scheme != "incremental" {
		t.Errorf("offers %+v", offers)
	}
	if c.OffersOf("NONE") != nil {
		t.Error("an unknown item has offers")
	}
	for i := range c.Prices {
		p := &c.Prices[i]
		if !slices.ContainsFunc(c.OffersOf(p.Item), func(o *Offer) bool { return slices.Contains(o.Prices, p) }) {
			t.Errorf("price %+v reached no offer", p)
		}
	}
	if it, ok := c.Item("SEAL-DRY"); !ok || it.Kind != "sealant" {
		t.Errorf("item %+v", it)
	}
	if tr, ok := c.TransportOf("SEAL-DRY"); !ok || tr.UN != "UN 3077" {
		t.Errorf("transport %+v", tr)
	}
	for _, code := range []string{"SNIPS", "NONE"} {
		if _, ok := c.TransportOf(code); ok {
			t.Errorf("%s has a transport class", code)
		}
	}
	for _, tt := range []struct {
		leaking  bool
		pressure float64
		layers   int
		ok       bool
	}{{false, 0, 2, true}, {false, 1, 2, true}, {false, 1.01, 4, true}, {true, 0, 4, true}, {true, 10, 14, true}, {true, 10.01, 0, false}} {
		layers, row, ok := c.LayersFor(tt.leaking, tt.pressure)
		if layers != tt.layers || ok != tt.ok || ok && (row.Layers != layers || row.Leaking != tt.leaking) {
			t.Errorf("leaking %v at %g MPa: %d %+v %v", tt.leaking, tt.pressure, layers, row, ok)
		}
	}
	// minor digits: ISO 4217 [from memory]
	for code, minor := range map[string]int{"EUR": 2, "USD": 2, "GBP": 2, "JPY": 0, "KWD": 3} {
		if cur, ok := c.CurrencyOf(code); !ok || cur.Minor != minor {
			t.Errorf("%s: %+v", code, cur)
		}
	}
	if cur := c.Currency(); cur == nil || cur.Code != "EUR" {
		t.Errorf("currency of the bid %+v", cur)
	}
	if p, ok := c.ComponentOf(""); !ok || p.Component != "pipe" || p.Factor != 1 {
		t.Errorf("component left out: %+v", p)
	}
	if _, ok := c.ComponentOf("valve"); ok {
		t.Error("a valve is a component")
	}
	if a, ok := c.AccessOf("scaffold"); !ok || a.Time < 1 {
		t.Errorf("access %+v", a)
	}
	if _, ok := c.AccessOf(""); ok {
		t.Error("no access was found as one")
	}
	// What is not known is in each number as bad as any row, or as good.
	for _, end := range []string{"worst", "best"} {
		c.Settings.BlankEnd = end
		unknown, ok := c.AccessOf(UnknownAccess)
		for i := range c.Accesses {
			a := &c.Accesses[i]
			worse, better := unknown, a
			if end == "best" {
				worse, better = a, unknown
			}
			if !ok || worse.Cost.LessThan(better.Cost) || worse.Time < better.Time || worse.SetUp < better.SetUp || worse.Share > better.Share {
				t.Errorf("%s: %+v against %+v", end, unknown, a)
			}
		}
	}
	c.Settings.BlankEnd = "worst"
}

// Look-ups are made for every repair and allocate nothing.
func TestLookUpsAllocateNothing(t *testing.T) {
	c := builtin(t)
	n := testing.AllocsPerRun(100, func() {
		c.Pipe("NPS", "6")
		c.WallLike(168)
		name, _, _ := c.BandFor(168.3)
		c.FastenerFor(name, 168.3)
		c.SheetFor(168.3)
		c.SealantFor("wet", 25)
		for range c.PuttiesFor(25, "wet") {
			break
		}
		c.WrapsFor(168.3)
		c.OffersOf("SEAL-DRY")
		c.TransportOf("SEAL-DRY")
		c.LayersFor(true, 1.6)
		c.CurrencyOf("USD")
		c.ComponentOf("bend")
		c.AccessOf("rope")
	})
	if n != 0 {
		t.Errorf("%g allocations", n)
	}
}
