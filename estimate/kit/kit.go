// Package kit turns what a repair takes into what goes into its box: whole
// sticks, rolls and packs, cut pieces with their labels, batches to mix, the
// consumables and tools that the rules ask for, its weight and its time.
package kit

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate/gate"
	"wraptally/estimate/mix"
	"wraptally/estimate/order"
	"wraptally/estimate/qty"
	"wraptally/estimate/scope"
	"wraptally/estimate/takeoff"
	"wraptally/estimate/trace"
)

// Kit is the box of one repair.
type Kit struct {
	Repair  *scope.Repair
	Net     *takeoff.Net
	Tape    *takeoff.Tape // the width chosen
	Rolls   []Rolls
	Laid    int // mm of tape that the rolls give after splices
	Putty   Mixing
	Sticks  []Sticks
	Kneads  []Knead
	Open    float64 // minutes in which a sealant can be worked at the hottest place of the work, the least of those used
	Tack    float64 // minutes until the slowest sealant is tack-free at the coldest place of the work
	Pieces  []Piece
	Gate    gate.Lines // whether its leaks may be sealed under pressure; empty without a leak
	Lines   []Line     // in the order of the catalogue's items
	Mass    float64    // kg
	Minutes float64    // that bind the crew, with the time factor of the access
	Waiting float64    // minutes in which sealant, putty or wrap sets
	Times   []Time
	Queries []trace.Query
}

// Rolls is a number of rolls of one length.
type Rolls struct {
	Roll  *catalog.Wrap
	Count int
}

// Mixing is how the putty of a kit is mixed.
type Mixing struct {
	Temp    float64 // °C for which the times hold: the hotter of air and pipe
	Largest float64 // kg, largest batch that can be used in time
	Batches []Batch
	Waste   float64 // kg mixed and not laid
	Left    []Left  // in packs weighed out of
}

// Left is what stays in an opened pack, kg of both parts.
type Left struct {
	Putty *catalog.Putty
	Mass  float64
}

// Batch is one pot of putty.
type Batch struct {
	Mass    float64 // kg mixed
	Minutes float64 // to use it, from the end of mixing; whole
	Waste   float64 // kg
	Packs   []Packs
}

// Packs is a number of packs, or the part of one that is weighed out.
type Packs struct {
	Putty   *catalog.Putty
	Count   float64 // whole packs, or the part of one that is weighed out
	Mass    float64 // kg
	Weighed bool
	Open    int // which of the opened packs of that size it is weighed out of, from 1

	Resin, Hardener float64 // kg weighed; all is resin where the product is one part
}

// Sticks is a number of sticks of one sealant.
type Sticks struct {
	Sealant *catalog.Sealant
	Net     float64
	Count   int
}

// Piece is something cut for the kit from stock.
type Piece struct {
	Label string // "CW-101-P-03-S1-B2": repair, set, band
	Kind  string // "band" or "sheet"
	Stock string // name of the banding or sheet
	Set   int    // number of the sealing set, from 1
	A, C  int    // mm: length of a strip in A; a sheet along and round the pipe
}

// Line is one thing in the kit.
type Line struct {
	Item *catalog.Item
	Net  float64 // in units of issue, before rounding
	Qty  float64 // issued: whole for kit level, Net for what is issued at a wider level
	Asks []Ask   // what asks for it, each once
}

// Why says what asks for the line.
func (l *Line) Why() string {
	why := make([]string, len(l.Asks))
	for i, a := range l.Asks {
		why[i] = a.String()
	}
	return strings.Join(why, ", ")
}

// ByRule reports whether rules for consumables alone ask for the line. What the
// materials of the repair ask for stands on its cards as well and hangs together
// with other lines.
func (l *Line) ByRule() bool {
	return !slices.ContainsFunc(l.Asks, func(a Ask) bool { return a.material != "" })
}

// Ask is what asks for a line, a material of the repair or a rule for
// consumables, and how much of it.
type Ask struct {
	material, per string // one of the two
	net           float64
}

// What the materials of a repair ask for.
var (
	forSealant  = Ask{material: "sealant"}
	forFastener = Ask{material: "fastener"}
	forWrap     = Ask{material: "wrap"}
	forPutty    = Ask{material: "putty"}
)

// String is "sealant", "wrap", "putty", "fastener" or "per leak".
func (a Ask) String() string {
	if a.per != "" {
		return "per " + a.per
	}
	return a.material
}

// origins are the steps of a kit that ask for an item.
func (a Ask) origins(k *Kit, code string) (out trace.Origins) {
	switch a.material {
	case forSealant.material:
		return trace.Origins{trace.StepAt("sticks/" + code)}
	case forWrap.material:
		return trace.Origins{trace.StepAt("wrap/rolls"), trace.Table("wraps", code)}
	case forPutty.material:
		return trace.Origins{trace.StepAt("mix/batches"), trace.Table("putties", code)}
	case forFastener.material:
		for i := range k.Net.Seals {
			at := "seal" + strconv.Itoa(i+1)
			out = append(out, trace.Product(at+"/bands", at+"/strips"))
		}
		return out
	}
	return trace.Origins{trace.StepsUnder("rule/" + code + "/" + a.per + "/")}
}

// Time is one task of the repair.
type Time struct {
	Task    *catalog.Task
	Count   float64
	Minutes float64
}

// Packer packs kits by one catalogue. It is safe for use by several goroutines.
type Packer struct {
	c        *catalog.Catalog
	set      *catalog.Settings
	prices   map[string]decimal.Decimal
	position map[string]int // of an item in the catalogue
	rules    []consumable
	unknown  *catalog.Access // the way of access of which nothing is known; nil without any

	mu       sync.Mutex
	coverers map[coverKey]*order.Coverer
	recipes  map[recipeKey]*recipe
	planners map[plannerKey]*mix.Planner
}

// coverKey names a set of rolls: those of one width, shortest first, up to the
// longest that can be laid in its working time.
type coverKey struct {
	first, last *catalog.Wrap
	rolls       int
	each        string // cost of each roll beside its price
}

type consumable struct {
	rule *catalog.Consumable
	item *catalog.Item
	cost decimal.Decimal // of what one of what it counts takes
}

// NewPacker prepares packing.
func NewPacker(c *catalog.Catalog) *Packer {
	p := &Packer{c: c, set: &c.Settings, prices: map[string]decimal.Decimal{}, position: map[string]int{}, coverers: map[coverKey]*order.Coverer{},
		recipes: map[recipeKey]*recipe{}, planners: map[plannerKey]*mix.Planner{}}
	for i := range c.Items {
		code := c.Items[i].Code
		p.position[code] = i
		p.prices[code] = UnitPrice(c, code)
	}
	for i := range c.Consumables {
		if it, ok := c.Item(c.Consumables[i].Item); ok {
			p.rules = append(p.rules, consumable{&c.Consumables[i], it, p.prices[it.Code].Mul(qty.Decimal(c.Consumables[i].Qty))})
		}
	}
	p.unknown, _ = c.AccessOf(catalog.UnknownAccess)
	return p
}

// accessOf is the way of access of a repair; the catalogue works the unknown one out
// each time.
func (p *Packer) accessOf(r *scope.Repair) (*catalog.Access, bool) {
	if r.Access == catalog.UnknownAccess && p.unknown != nil {
		return p.unknown, true
	}
	return p.c.AccessOf(r.Access)
}

// Position is the place of an item in the catalogue, −1 where it has none.
func (p *Packer) Position(item string) int {
	if i, ok := p.position[item]; ok {
		return i
	}
	return -1
}

// Price is UnitPrice, remembered.
func (p *Packer) Price(item string) decimal.Decimal { return p.prices[item] }

// UnitPrice is the lowest price of one unit of issue among the offers at their
// smallest order, in the base currency: the price by which kits are compared
// before the campaign's quantities are known.
func UnitPrice(c *catalog.Catalog, item string) decimal.Decimal {
	best := decimal.Zero
	found := false
	for _, o := range c.OffersOf(item) {
		cur, ok := c.CurrencyOf(o.Currency)
		if !ok || len(o.Prices) == 0 {
			continue
		}
		unit := o.Prices[0].Price.Mul(cur.Rate).DivRound(o.PackQty, 8) // compared, never paid
		if !found || unit.LessThan(best) {
			best, found = unit, true
		}
	}
	return best
}

// Pack packs the kit of a repair that is estimated. It is a pure function of
// its arguments; the log may be nil.
func (p *Packer) Pack(r *scope.Repair, log *trace.Log) *Kit { return p.pack(r, nil, log) }

// PackWith packs the kit with a mix of rolls chosen over the campaign.
func (p *Packer) PackWith(r *scope.Repair, rolls RollChoice, log *trace.Log) *Kit {
	return p.pack(r, &rolls, log)
}

func (p *Packer) pack(r *scope.Repair, rolls *RollChoice, log *trace.Log) *Kit {
	mixes := func(putty string) error { return p.recipe(putty, r.PotTemp).err }
	k := &Kit{Repair: r, Net: takeoff.Measure(r, p.c, mixes, log), Lines: make([]Line, 0, 24), Times: make([]Time, 0, len(p.c.Tasks))}
	k.Queries = append(k.Queries, k.Net.Queries...)
	p.sealing(k, log)
	if rolls != nil {
		k.choose(p, *rolls, log)
	} else {
		p.rolls(k, log)
	}
	p.putty(k, log)
	p.gate(k)
	p.consumables(k, log)
	p.weigh(k, log)
	p.time(k, log)
	p.sense(k, log)
	return k
}

// add puts a quantity of an item into the kit; kit-level items are rounded up
// once, when all rules have spoken.
func (k *Kit) add(it *catalog.Item, net float64, ask Ask) {
	ask.net = net
	for i := range k.Lines {
		l := &k.Lines[i]
		if l.Item != it {
			continue
		}
		l.Net += net
		for j := range l.Asks {
			if l.Asks[j].material == ask.material && l.Asks[j].per == ask.per {
				l.Asks[j].net += net
				return
			}
		}
		l.Asks = append(l.Asks, ask)
		return
	}
	k.Lines = append(k.Lines, Line{Item: it, Net: net, Asks: []Ask{ask}})
}

// whole is the number of whole units that cover a net quantity.
func whole(net float64) float64 { return math.Ceil(net - 1e-9) }

// stop records why a kit cannot be packed.
func (k *Kit) stop(code, found, message, advice string) {
	k.query(trace.Stop, code, found, message, advice)
}

// ask records what is to be asked about a kit.
func (k *Kit) ask(code, found, message, advice string) {
	k.query(trace.Ask, code, found, message, advice)
}

func (k *Kit) query(sev trace.Severity, code, found, message, advice string) {
	d := k.Repair.Defects[0]
	k.Queries = append(k.Queries, trace.Query{
		Code: code, Severity: sev, Found: found, Message: message, Advice: advice,
		Row: d.ID, Repair: k.Repair.ID, Place: trace.Place{Line: d.Line0},
	})
}
