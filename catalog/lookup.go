package catalog

import (
	"cmp"
	"math"
	"slices"
)

// finder holds what the look-ups need, sorted or keyed once after loading, so
// that a look-up allocates nothing.
type finder struct {
	pipes      map[[2]string]*Pipe
	series     []string
	walls      []*Pipe // NPS sizes with a standard wall, by rising OD
	bands      []bandGroup
	sheets     []sheetGroup
	putties    []puttyGroup
	wrapEdges  []float64
	wrapSets   [][]WrapWidth // at edge i: 2i; between edges i and i+1: 2i+1
	offers     map[string][]*Offer
	transports map[string]*Transport
	layers     [2][]*MinLayers // not leaking, leaking; by rising pressure
	lives      []*LifeFactor   // by rising years
}

type bandGroup struct {
	name       string
	odMin, max float64
	coils      []*Band
	fasteners  []*Fastener
}

type sheetGroup struct {
	name       string
	odMin, max float64
	sheets     []*Sheet
}

type puttyGroup struct {
	name  string
	packs []*Putty
	lives []PuttyLife
}

// WrapWidth is one width of one wrap system with the rolls it comes in,
// shortest first.
type WrapWidth struct {
	System string
	Width  float64 // mm
	Rolls  []*Wrap
}

// index prepares the look-ups.
func (c *Catalog) index() {
	c.items = make(map[string]*Item, len(c.Items))
	for i := range c.Items {
		c.items[c.Items[i].Code] = &c.Items[i]
	}
	c.indexPipes()
	c.indexOffers()
	c.indexBands()
	c.indexSheets()
	c.indexPutties()
	c.indexWraps()
	f := &c.find
	f.transports = make(map[string]*Transport, len(c.Transports))
	for i := range c.Transports {
		f.transports[c.Transports[i].Code] = &c.Transports[i]
	}
	for i := range c.MinLayers {
		k := boolIndex(c.MinLayers[i].Leaking)
		f.layers[k] = append(f.layers[k], &c.MinLayers[i])
	}
	for k := range f.layers {
		slices.SortStableFunc(f.layers[k], func(a, b *MinLayers) int { return cmp.Compare(a.Pressure, b.Pressure) })
	}
	for i := range c.LifeFactors {
		f.lives = append(f.lives, &c.LifeFactors[i])
	}
	slices.SortStableFunc(f.lives, func(a, b *LifeFactor) int { return cmp.Compare(a.Years, b.Years) })
}

func boolIndex(b bool) int {
	if b {
		return 1
	}
	return 0
}

func (c *Catalog) indexPipes() {
	f := &c.find
	f.pipes = make(map[[2]string]*Pipe, len(c.Pipes))
	for i := range c.Pipes {
		p := &c.Pipes[i]
		f.pipes[[2]string{p.Series, p.Size}] = p
		if !slices.Contains(f.series, p.Series) {
			f.series = append(f.series, p.Series)
		}
		if p.Series == seriesNPS && p.Wall > 0 {
			f.walls = append(f.walls, p)
		}
	}
	slices.SortStableFunc(f.walls, func(a, b *Pipe) int { return cmp.Compare(a.OD, b.OD) })
}

func (c *Catalog) indexOffers() {
	f := &c.find
	f.offers = map[string][]*Offer{}
	type terms struct{ item, supplier string }
	byTerms := map[terms]*Offer{}
	for i := range c.Offers {
		o := &c.Offers[i]
		o.Prices = nil
		f.offers[o.Item] = append(f.offers[o.Item], o)
		byTerms[terms{o.Item, o.Supplier}] = o
	}
	for i := range c.Prices {
		p := &c.Prices[i]
		if o := byTerms[terms{p.Item, p.Supplier}]; o != nil {
			o.Prices = append(o.Prices, p)
		}
	}
	for i := range c.Offers {
		slices.SortStableFunc(c.Offers[i].Prices, func(a, b *Price) int { return cmp.Compare(a.FromPacks, b.FromPacks) })
	}
}

func (c *Catalog) indexBands() {
	f := &c.find
	for i := range c.Bands {
		b := &c.Bands[i]
		k := slices.IndexFunc(f.bands, func(g bandGroup) bool { return g.name == b.Band })
		if k < 0 {
			k = len(f.bands)
			f.bands = append(f.bands, bandGroup{name: b.Band, odMin: b.ODMin, max: b.ODMax})
		}
		f.bands[k].coils = append(f.bands[k].coils, b)
	}
	slices.SortStableFunc(f.bands, func(a, b bandGroup) int { return cmp.Compare(a.odMin, b.odMin) })
	for k := range f.bands {
		g := &f.bands[k]
		slices.SortStableFunc(g.coils, func(a, b *Band) int { return cmp.Compare(a.CoilLength, b.CoilLength) })
		for i := range c.Fasteners {
			if c.Fasteners[i].Band == g.name {
				g.fasteners = append(g.fasteners, &c.Fasteners[i])
			}
		}
		slices.SortStableFunc(g.fasteners, func(a, b *Fastener) int { return cmp.Compare(a.ODMin, b.ODMin) })
	}
}

func (c *Catalog) indexSheets() {
	f := &c.find
	for i := range c.Sheets {
		s := &c.Sheets[i]
		k := slices.IndexFunc(f.sheets, func(g sheetGroup) bool { return g.name == s.Sheet })
		if k < 0 {
			k = len(f.sheets)
			f.sheets = append(f.sheets, sheetGroup{name: s.Sheet, odMin: s.ODMin, max: s.ODMax})
		}
		f.sheets[k].sheets = append(f.sheets[k].sheets, s)
	}
	slices.SortStableFunc(f.sheets, func(a, b sheetGroup) int { return cmp.Compare(a.odMin, b.odMin) })
	for k := range f.sheets {
		slices.SortStableFunc(f.sheets[k].sheets, func(a, b *Sheet) int {
			return cmp.Compare(a.Width*a.Length, b.Width*b.Length)
		})
	}
}

func (c *Catalog) indexPutties() {
	f := &c.find
	for i := range c.Putties {
		p := &c.Putties[i]
		k := slices.IndexFunc(f.putties, func(g puttyGroup) bool { return g.name == p.Putty })
		if k < 0 {
			k = len(f.putties)
			f.putties = append(f.putties, puttyGroup{name: p.Putty})
		}
		f.putties[k].packs = append(f.putties[k].packs, p)
	}
	for k := range f.putties {
		g := &f.putties[k]
		slices.SortStableFunc(g.packs, func(a, b *Putty) int { return cmp.Compare(a.Pack, b.Pack) })
		for _, l := range c.PuttyLives {
			if l.Putty == g.name {
				g.lives = append(g.lives, l)
			}
		}
		slices.SortStableFunc(g.lives, func(a, b PuttyLife) int {
			return cmp.Or(cmp.Compare(a.Mass, b.Mass), cmp.Compare(a.Temp, b.Temp))
		})
	}
}

func (c *Catalog) indexWraps() {
	f := &c.find
	for i := range c.Wraps {
		f.wrapEdges = append(f.wrapEdges, c.Wraps[i].ODMin, c.Wraps[i].ODMax)
	}
	slices.Sort(f.wrapEdges)
	f.wrapEdges = slices.Compact(f.wrapEdges)
	for i, edge := range f.wrapEdges {
		f.wrapSets = append(f.wrapSets, c.wrapsAt(edge))
		if i+1 < len(f.wrapEdges) {
			f.wrapSets = append(f.wrapSets, c.wrapsAt((edge+f.wrapEdges[i+1])/2))
		}
	}
}

// wrapsAt groups the rolls that suit an OD: systems in file order, widths rising.
func (c *Catalog) wrapsAt(od float64) []WrapWidth {
	var set []WrapWidth
	var order []string
	for i := range c.Wraps {
		w := &c.Wraps[i]
		if od < w.ODMin || od > w.ODMax {
			continue
		}
		if !slices.Contains(order, w.Wrap) {
			order = append(order, w.Wrap)
		}
		k := slices.IndexFunc(set, func(g WrapWidth) bool { return g.System == w.Wrap && g.Width == w.Width })
		if k < 0 {
			k = len(set)
			set = append(set, WrapWidth{System: w.Wrap, Width: w.Width})
		}
		set[k].Rolls = append(set[k].Rolls, w)
	}
	for k := range set {
		slices.SortStableFunc(set[k].Rolls, func(a, b *Wrap) int { return cmp.Compare(a.Length, b.Length) })
	}
	slices.SortStableFunc(set, func(a, b WrapWidth) int {
		return cmp.Or(cmp.Compare(slices.Index(order, a.System), slices.Index(order, b.System)), cmp.Compare(a.Width, b.Width))
	})
	return set
}

// seriesNPS is the series whose standard walls stand in for a wall not known.
const seriesNPS = "NPS"

// Pipe finds a size of a series.
func (c *Catalog) Pipe(series, size string) (*Pipe, bool) {
	p, ok := c.find.pipes[[2]string{series, size}]
	return p, ok
}

// OD is the outside diameter and standard wall of a size in mm; the wall is 0
// where the series has none.
func (c *Catalog) OD(series, size string) (od, wall float64, ok bool) {
	p, ok := c.Pipe(series, size)
	if !ok {
		return 0, 0, false
	}
	return p.OD, p.Wall, true
}

// Series lists the pipe series in the order of the table.
func (c *Catalog) Series() []string { return slices.Clone(c.find.series) }

// odTolerance is how far an outside diameter may lie from a nominal size and
// still be taken for it: 1 %, the usual tolerance of the mill.
const odTolerance = 0.01

// StandardWall is the NPS size nearest to an outside diameter, within 1 %, and
// its standard wall in mm. Of two sizes as near the smaller is taken.
func (c *Catalog) StandardWall(od float64) (size string, wall float64, ok bool) {
	walls := c.find.walls
	i, _ := slices.BinarySearchFunc(walls, od, func(p *Pipe, od float64) int { return cmp.Compare(p.OD, od) })
	best := -1
	for _, k := range [2]int{i - 1, i} {
		if k < 0 || k >= len(walls) || !(math.Abs(walls[k].OD-od) <= odTolerance*walls[k].OD) { // NaN is near nothing
			continue
		}
		if best < 0 || math.Abs(walls[k].OD-od) < math.Abs(walls[best].OD-od) {
			best = k
		}
	}
	if best < 0 {
		return "", 0, false
	}
	return walls[best].Size, walls[best].Wall, true
}

// BandFor is the band for an outside diameter and the coils it comes in,
// shortest first. Where one range ends and the next begins the smaller band is
// taken.
func (c *Catalog) BandFor(od float64) (name string, coils []*Band, ok bool) {
	for i := range c.find.bands {
		if g := &c.find.bands[i]; g.odMin <= od && od <= g.max {
			return g.name, g.coils, true
		}
	}
	return "", nil, false
}

// BandsFor is the coils of BandFor.
func (c *Catalog) BandsFor(od float64) []*Band {
	_, coils, _ := c.BandFor(od)
	return coils
}

// FastenerFor is the fastener that closes a band at an outside diameter.
func (c *Catalog) FastenerFor(band string, od float64) (*Fastener, bool) {
	for i := range c.find.bands {
		g := &c.find.bands[i]
		if g.name != band {
			continue
		}
		for _, f := range g.fasteners {
			if f.ODMin <= od && od <= f.ODMax {
				return f, true
			}
		}
	}
	return nil, false
}

// SheetFor is the sheet for an outside diameter and the stock sizes it comes
// in, smallest first.
func (c *Catalog) SheetFor(od float64) (name string, sheets []*Sheet, ok bool) {
	for i := range c.find.sheets {
		if g := &c.find.sheets[i]; g.odMin <= od && od <= g.max {
			return g.name, g.sheets, true
		}
	}
	return "", nil, false
}

// Reasons why SealantFor finds none.
const (
	NoSealantSurface = "no sealant of the catalogue is for this state of the surface"
	NoSealantCold    = "the surface is colder than every sealant for it allows"
	NoSealantHot     = "the surface is hotter than every sealant for it allows"
	NoSealantBetween = "no sealant for this surface covers this temperature"
)

// SealantFor is the first sealant of the table for a surface (dry, wet or
// submerged) at a temperature in °C; the order of the table is the firm's
// order of preference. Where there is none it is nil and the reason is given.
func (c *Catalog) SealantFor(surface string, temp float64) (s *Sealant, reason string) {
	low, high, any := math.Inf(1), math.Inf(-1), false
	for i := range c.Sealants {
		s := &c.Sealants[i]
		if s.Surface != surface {
			continue
		}
		if s.TempMin <= temp && temp <= s.TempMax {
			return s, ""
		}
		any, low, high = true, min(low, s.TempMin), max(high, s.TempMax)
	}
	switch {
	case !any:
		return nil, NoSealantSurface
	case temp < low:
		return nil, NoSealantCold
	case temp > high:
		return nil, NoSealantHot
	default:
		return nil, NoSealantBetween
	}
}

// PuttyFor is the first putty of the table for a temperature in °C, with its
// packs (smallest first) and measured lives (by mass, then temperature); the
// order of the table is the firm's order of preference.
func (c *Catalog) PuttyFor(temp float64) (name string, packs []*Putty, lives []PuttyLife, ok bool) {
	for i := range c.find.putties {
		g := &c.find.putties[i]
		if p := g.packs[0]; p.TempMin <= temp && temp <= p.TempMax {
			return g.name, g.packs, g.lives, true
		}
	}
	return "", nil, nil, false
}

// PuttyNamed is the packs (smallest first) and measured lives of a putty.
func (c *Catalog) PuttyNamed(name string) (packs []*Putty, lives []PuttyLife, ok bool) {
	for i := range c.find.putties {
		if g := &c.find.putties[i]; g.name == name {
			return g.packs, g.lives, true
		}
	}
	return nil, nil, false
}

// WrapsFor is every width of wrap for an outside diameter: systems in the
// order of the table, widths rising. The result is shared; do not change it.
func (c *Catalog) WrapsFor(od float64) []WrapWidth {
	edges := c.find.wrapEdges
	i, exact := slices.BinarySearch(edges, od)
	switch {
	case exact:
		return c.find.wrapSets[2*i]
	case i == 0 || i == len(edges):
		return nil
	default:
		return c.find.wrapSets[2*i-1]
	}
}

// OffersOf is every offer for an item in the order of the table, each with its
// prices.
func (c *Catalog) OffersOf(item string) []*Offer { return c.find.offers[item] }

// TransportOf is the transport class of an item, where it has one.
func (c *Catalog) TransportOf(item string) (*Transport, bool) {
	it, ok := c.items[item]
	if !ok {
		return nil, false
	}
	t, ok := c.find.transports[it.Transport]
	return t, ok
}

// LayersFor is the firm's minimum for a service: the row of the least pressure
// (MPa) that is not exceeded. ok is false above the table.
func (c *Catalog) LayersFor(leaking bool, pressure float64) (layers int, row *MinLayers, ok bool) {
	for _, m := range c.find.layers[boolIndex(leaking)] {
		if pressure <= m.Pressure {
			return m.Layers, m, true
		}
	}
	return 0, nil, false
}

// LifeFactorFor is the factor for a service life: the row of the fewest years
// that is not exceeded. ok is false above the table.
func (c *Catalog) LifeFactorFor(years float64) (*LifeFactor, bool) {
	for _, l := range c.find.lives {
		if years <= l.Years {
			return l, true
		}
	}
	return nil, false
}

// CurrencyOf finds a currency by its ISO 4217 code.
func (c *Catalog) CurrencyOf(code string) (*Currency, bool) {
	for i := range c.Currencies {
		if c.Currencies[i].Code == code {
			return &c.Currencies[i], true
		}
	}
	return nil, false
}

// Currency is the currency of the bid.
func (c *Catalog) Currency() *Currency {
	cur, _ := c.CurrencyOf(c.Settings.Currency)
	return cur
}

// ComponentOf finds a component; an empty name is a straight pipe.
func (c *Catalog) ComponentOf(name string) (*Component, bool) {
	if name == "" {
		name = straightPipe
	}
	for i := range c.Components {
		if c.Components[i].Component == name {
			return &c.Components[i], true
		}
	}
	return nil, false
}

// straightPipe is the component that a survey names by leaving it out.
const straightPipe = "pipe"

// AccessOf finds a way of access.
func (c *Catalog) AccessOf(name string) (*Access, bool) {
	for i := range c.Accesses {
		if c.Accesses[i].Access == name {
			return &c.Accesses[i], true
		}
	}
	return nil, false
}

// RoleCount is the number of persons in a crew.
func (c *Catalog) RoleCount() int {
	n := 0
	for i := range c.Labour {
		n += c.Labour[i].Count
	}
	return n
}
