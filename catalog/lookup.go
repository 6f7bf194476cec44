package catalog

import (
	"cmp"
	"iter"
	"math"
	"slices"
	"strings"
	"unicode"

	"github.com/shopspring/decimal"
)

// finder holds what the look-ups need, sorted or keyed once after loading, so
// that a look-up allocates nothing.
type finder struct {
	pipes      map[[2]string]*Pipe
	series     []string
	walls      []*Pipe // NPS sizes with a standard wall, by rising OD
	bands      []group[Band]
	fasteners  []group[Fastener]
	sheets     []group[Sheet]
	putties    []group[Putty]
	lives      map[string][]PuttyLife
	wrapEdges  []float64
	wrapSets   [][]WrapWidth // at edge i: 2i; between edges i and i+1: 2i+1
	offers     map[string][]*Offer
	transports map[string]*Transport
	layers     []*MinLayers          // by rising pressure
	substrates map[string]*Substrate // by each of its texts, and by the words of each in order
}

// group is the rows of a table that share a name.
type group[T any] struct {
	name string
	rows []*T
}

// grouped gathers rows by name: groups in the order in which the table first
// names them, rows in the order given.
func grouped[T any](rows []T, name func(*T) string, order func(a, b *T) int) []group[T] {
	var groups []group[T]
	for i := range rows {
		k := slices.IndexFunc(groups, func(g group[T]) bool { return g.name == name(&rows[i]) })
		if k < 0 {
			k = len(groups)
			groups = append(groups, group[T]{name: name(&rows[i])})
		}
		groups[k].rows = append(groups[k].rows, &rows[i])
	}
	for k := range groups {
		slices.SortStableFunc(groups[k].rows, order)
	}
	return groups
}

// headed is the first group of whose first row something is so.
func headed[T any](groups []group[T], is func(*T) bool) (name string, rows []*T, ok bool) {
	for _, g := range groups {
		if is(g.rows[0]) {
			return g.name, g.rows, true
		}
	}
	return "", nil, false
}

// sorted is the rows of a table in an order.
func sorted[T any](rows []T, order func(a, b *T) int) []*T {
	out := make([]*T, len(rows))
	for i := range rows {
		out[i] = &rows[i]
	}
	slices.SortStableFunc(out, order)
	return out
}

// keyed is the rows of a table by a key.
func keyed[K comparable, T any](rows []T, key func(*T) K) map[K]*T {
	out := make(map[K]*T, len(rows))
	for i := range rows {
		out[key(&rows[i])] = &rows[i]
	}
	return out
}

// first is the first row of which something is so.
func first[T any](rows []T, is func(*T) bool) (*T, bool) {
	for i := range rows {
		if is(&rows[i]) {
			return &rows[i], true
		}
	}
	return nil, false
}

// WrapWidth is one width of one wrap system with the rolls it comes in,
// shortest first.
type WrapWidth struct {
	System string
	Width  float64 // mm
	Rolls  []*Wrap
}

func (c *Catalog) indexItems() {
	c.items = keyed(c.Items, func(it *Item) string { return it.Code })
}

// index prepares the look-ups.
func (c *Catalog) index() {
	f := &c.find
	f.pipes = keyed(c.Pipes, func(p *Pipe) [2]string { return [2]string{p.Series, p.Size} })
	for _, p := range sorted(c.Pipes, func(a, b *Pipe) int { return cmp.Compare(a.OD, b.OD) }) {
		if p.Series == seriesNPS && p.Wall > 0 {
			f.walls = append(f.walls, p)
		}
	}
	for _, g := range grouped(c.Pipes, func(p *Pipe) string { return p.Series }, func(_, _ *Pipe) int { return 0 }) {
		f.series = append(f.series, g.name)
	}
	f.bands = grouped(c.Bands, func(b *Band) string { return b.Band }, func(a, b *Band) int { return cmp.Compare(a.CoilLength, b.CoilLength) })
	slices.SortStableFunc(f.bands, func(a, b group[Band]) int { return cmp.Compare(a.rows[0].ODMin, b.rows[0].ODMin) })
	f.fasteners = grouped(c.Fasteners, func(f *Fastener) string { return f.Band }, func(a, b *Fastener) int { return cmp.Compare(a.ODMin, b.ODMin) })
	f.sheets = grouped(c.Sheets, func(s *Sheet) string { return s.Sheet }, func(a, b *Sheet) int { return cmp.Compare(a.Width*a.Length, b.Width*b.Length) })
	slices.SortStableFunc(f.sheets, func(a, b group[Sheet]) int { return cmp.Compare(a.rows[0].ODMin, b.rows[0].ODMin) })
	f.putties = grouped(c.Putties, func(p *Putty) string { return p.Putty }, func(a, b *Putty) int { return cmp.Compare(a.Pack, b.Pack) })
	f.lives = map[string][]PuttyLife{}
	for _, l := range sorted(c.PuttyLives, func(a, b *PuttyLife) int { return cmp.Or(cmp.Compare(a.Mass, b.Mass), cmp.Compare(a.Temp, b.Temp)) }) {
		f.lives[l.Putty] = append(f.lives[l.Putty], *l)
	}
	f.transports = keyed(c.Transports, func(t *Transport) string { return t.Code })
	f.layers = sorted(c.MinLayers, func(a, b *MinLayers) int { return cmp.Compare(a.Pressure, b.Pressure) })
	c.indexOffers()
	c.indexWraps()
	c.indexSubstrates()
}

func (c *Catalog) indexSubstrates() {
	c.find.substrates = map[string]*Substrate{}
	for i := range c.Substrates {
		s := &c.Substrates[i]
		for text := range strings.SplitSeq(s.Substrate, "; ") {
			for _, key := range []string{text, wordsInOrder(text)} {
				if c.find.substrates[key] == nil {
					c.find.substrates[key] = s
				}
			}
		}
	}
}

// wordsInOrder are the words of a text in alphabetical order, without the signs
// between them.
func wordsInOrder(text string) string {
	words := strings.FieldsFunc(text, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	slices.Sort(words)
	return strings.Join(words, " ")
}

// indexOffers gives each offer its prices, in rising order.
func (c *Catalog) indexOffers() {
	type terms struct{ item, supplier string }
	byTerms := keyed(c.Offers, func(o *Offer) terms { return terms{o.Item, o.Supplier} })
	c.find.offers = map[string][]*Offer{}
	for i := range c.Offers {
		o := &c.Offers[i]
		o.Prices = nil
		c.find.offers[o.Item] = append(c.find.offers[o.Item], o)
	}
	for _, p := range sorted(c.Prices, func(a, b *Price) int { return cmp.Compare(a.FromPacks, b.FromPacks) }) {
		if o := byTerms[terms{p.Item, p.Supplier}]; o != nil {
			o.Prices = append(o.Prices, p)
		}
	}
}

func (c *Catalog) indexWraps() {
	f := &c.find
	for i := range c.Wraps {
		if c.laid(&c.Wraps[i]) {
			f.wrapEdges = append(f.wrapEdges, c.Wraps[i].ODMin, c.Wraps[i].ODMax)
		}
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

// laid reports whether a roll is of a system that may be laid.
func (c *Catalog) laid(w *Wrap) bool {
	return c.Settings.WrapSystem == "" || w.Wrap == c.Settings.WrapSystem
}

// wrapsAt groups the rolls that suit an OD: systems in file order, widths rising.
func (c *Catalog) wrapsAt(od float64) []WrapWidth {
	var set []WrapWidth
	var order []string
	for i := range c.Wraps {
		w := &c.Wraps[i]
		if od < w.ODMin || od > w.ODMax || !c.laid(w) {
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

// WallLike is the standard wall of the NPS size nearest to an outside diameter,
// in proportion to the diameters.
func (c *Catalog) WallLike(od float64) float64 {
	best := &Pipe{OD: 1}
	for _, p := range c.find.walls {
		if math.Abs(p.OD-od) < math.Abs(best.OD-od) {
			best = p
		}
	}
	return best.Wall * od / best.OD
}

// BandFor is the band for an outside diameter and the coils it comes in,
// shortest first. Where one range ends and the next begins the smaller band is
// taken.
func (c *Catalog) BandFor(od float64) (name string, coils []*Band, ok bool) {
	return headed(c.find.bands, func(b *Band) bool { return b.ODMin <= od && od <= b.ODMax })
}

// FastenerFor is the fastener that closes a band at an outside diameter.
func (c *Catalog) FastenerFor(band string, od float64) (*Fastener, bool) {
	_, closes, _ := headed(c.find.fasteners, func(f *Fastener) bool { return f.Band == band })
	for _, f := range closes {
		if f.ODMin <= od && od <= f.ODMax {
			return f, true
		}
	}
	return nil, false
}

// SheetFor is the sheet for an outside diameter and the stock sizes it comes
// in, smallest first.
func (c *Catalog) SheetFor(od float64) (name string, sheets []*Sheet, ok bool) {
	return headed(c.find.sheets, func(s *Sheet) bool { return s.ODMin <= od && od <= s.ODMax })
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

// MediaClassOf is what a class of media asks; one that the table does not hold is
// asked about, and makes the area hazardous.
func (c *Catalog) MediaClassOf(class string) *MediaClass {
	if row, ok := first(c.MediaClass, func(m *MediaClass) bool { return m.Class == class }); ok {
		return row
	}
	return &MediaClass{Class: class, Leak: "ask", NoLeak: "ask", Hazardous: true}
}

// SubstrateOf is the material of pipe that a survey means by a text in small letters:
// by the same words, in whatever order and with whatever signs between them. Nil where
// the table holds none.
func (c *Catalog) SubstrateOf(text string) *Substrate {
	if s := c.find.substrates[text]; s != nil {
		return s
	}
	return c.find.substrates[wordsInOrder(text)]
}

// surfaces are the states of a surface, the most demanding last.
var surfaces = []string{"dry", "wet", "submerged"}

// Bears reports whether a product for a state of the surface, and for all states
// less demanding, may be laid on another.
func Bears(product, surface string) bool {
	return slices.Index(surfaces, surface) <= slices.Index(surfaces, product)
}

// PuttiesFor yields the putties of the table for a surface temperature in °C that
// are not known to be unfit for its state, by
// name with their packs, smallest first; the order of the table is the firm's
// order of preference.
func (c *Catalog) PuttiesFor(temp float64, surface string) iter.Seq2[string, []*Putty] {
	return func(yield func(string, []*Putty) bool) {
		for _, g := range c.find.putties {
			if p := g.rows[0]; p.TempMin <= temp && temp <= p.TempMax && (p.Surface == "" || Bears(p.Surface, surface)) && !yield(g.name, g.rows) {
				return
			}
		}
	}
}

// PuttyNamed is the packs (smallest first) and measured lives of a putty.
func (c *Catalog) PuttyNamed(name string) (packs []*Putty, lives []PuttyLife, ok bool) {
	_, packs, ok = headed(c.find.putties, func(p *Putty) bool { return p.Putty == name })
	return packs, c.find.lives[name], ok
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
	for _, m := range c.find.layers {
		if m.Leaking == leaking && pressure <= m.Pressure {
			return m.Layers, m, true
		}
	}
	return 0, nil, false
}

// CurrencyOf finds a currency by its ISO 4217 code.
func (c *Catalog) CurrencyOf(code string) (*Currency, bool) {
	return first(c.Currencies, func(cur *Currency) bool { return cur.Code == code })
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
	return first(c.Components, func(p *Component) bool { return p.Component == name })
}

// straightPipe is the component that a survey names by leaving it out.
const straightPipe = "pipe"

// UnknownAccess is the way of access of a place of which the survey says none
// that the table has.
const UnknownAccess = "unknown"

// AccessOf finds a way of access. UnknownAccess, where the table has no row of
// that name, is in each number as bad as any row, so that no row would cost more
// or take longer; with the setting blank.end at best it is as good as any.
func (c *Catalog) AccessOf(name string) (*Access, bool) {
	if a, ok := first(c.Accesses, func(a *Access) bool { return a.Access == name }); ok || name != UnknownAccess || len(c.Accesses) == 0 {
		return a, ok
	}
	return c.unknownAccess(), true
}

// unknownAccess is the way of access of which nothing is known, in each number
// the worst of the table or the best. The table must hold a row.
func (c *Catalog) unknownAccess() *Access {
	end := "worst"
	if c.Settings.BlankEnd == "best" {
		end = "best"
	}
	out := c.Accesses[0]
	out.Access, out.Name = UnknownAccess, "way of access not known: in each number the "+end+" of the table"
	dearer, longer, shorter := decimal.Max, math.Max, math.Min
	if end == "best" {
		dearer, longer, shorter = decimal.Min, math.Min, math.Max
	}
	for _, a := range c.Accesses[1:] {
		out.Cost = dearer(out.Cost, a.Cost)
		out.Time, out.SetUp = longer(out.Time, a.Time), longer(out.SetUp, a.SetUp)
		out.Share = shorter(out.Share, a.Share)
	}
	return &out
}
