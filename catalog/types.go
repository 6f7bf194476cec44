// Package catalog says what can be bought, at what price and under which rules
// the estimate is made. It is a set of small tables: the built-in ones (see
// book/) are invented; a firm replaces them one by one with its own.
//
// A field's tag names its column: `csv:"od_mm"`; a trailing ",optional" allows
// a blank cell. Lengths are in mm, masses in kg, temperatures in °C, pressures
// and moduli in MPa, money in the currency named beside it.
package catalog

import (
	"github.com/shopspring/decimal"

	"wraptally/estimate/trace"
)

// Catalog is every table, loaded and validated.
type Catalog struct {
	Settings    Settings
	SettingRows []SettingRow // as in force, in file order, with basis and source

	Pipes       []Pipe
	Items       []Item
	Offers      []Offer
	Prices      []Price
	Bands       []Band
	Fasteners   []Fastener
	Sheets      []Sheet
	Sealants    []Sealant
	Putties     []Putty
	PuttyLives  []PuttyLife
	Wraps       []Wrap
	Consumables []Consumable
	Labour      []Labour
	Tasks       []Task
	MinLayers   []MinLayers
	Costs       []Cost
	Currencies  []Currency
	Components  []Component
	LifeFactors []LifeFactor
	Transports  []Transport
	Accesses    []Access
	Headings    []Heading

	// Warnings are notes on a catalogue that is usable as it stands.
	Warnings []trace.Query

	stock []StockRow       // scratch of ReadStock
	items map[string]*Item // by code
	find  finder
}

// Item finds an item by its code; ok is false where there is none.
func (c *Catalog) Item(code string) (*Item, bool) {
	it, ok := c.items[code]
	return it, ok
}

// SettingRow is one rule in force: a number or word with its unit and basis.
type SettingRow struct {
	Name     string `csv:"name"`
	Value    string `csv:"value,optional"` // blank only for a date left open
	Unit     string `csv:"unit,optional"`
	Min      string `csv:"min,optional"`     // smallest value accepted, of a number
	Max      string `csv:"max,optional"`     // largest value accepted, of a number
	Choices  string `csv:"choices,optional"` // words accepted, split by "|"; "date" for yyyy-mm-dd or blank
	Basis    string `csv:"basis"`            // standard, derivation, "common practice, no source" or "invented"
	Verified string `csv:"verified"`         // "yes", "no" (from memory) or "n/a" (the firm's own choice)
	Meaning  string `csv:"meaning"`
	Changed  string `csv:"-"` // where a value other than the built-in comes from
}

// Pipe is one size of one series.
type Pipe struct {
	Series string  `csv:"series"` // "NPS", "DN-ASME" (the same sizes by DN) or "DN-EN"
	Size   string  `csv:"size"`   // "1-1/2", "40"
	OD     float64 `csv:"od_mm"`
	Wall   float64 `csv:"std_wall_mm,optional"` // standard wall; 0 where the series has none
	Source string  `csv:"source"`
}

// Item is a thing that is stocked, issued and ordered.
type Item struct {
	Code      string  `csv:"item"`
	Kind      string  `csv:"kind"` // band, fastener, sheet, sealant, putty, wrap, consumable, tool
	Name      string  `csv:"name"`
	Unit      string  `csv:"unit"`         // unit of issue: pc, coil, sheet, stick, pack, roll, pair, L, kg, set
	Issue     string  `csv:"issue"`        // level at which it is issued whole: kit, crew, campaign
	UnitMass  float64 `csv:"unit_mass_kg"` // of one unit, packed
	ShelfDays int     `csv:"shelf_days,optional"`
	Store     string  `csv:"store"`               // location in the store
	Transport string  `csv:"transport,optional"`  // code of the transport table
	Returns   bool    `csv:"returnable,optional"` // comes back from the job (a tool): not consumed, ordered once
}

// Offer is one supplier's terms for one item.
type Offer struct {
	Item      string          `csv:"item"`
	Supplier  string          `csv:"supplier"`
	PartCode  string          `csv:"part_code"`
	Currency  string          `csv:"currency"`
	PackQty   decimal.Decimal `csv:"pack_qty"`              // units of issue in one pack
	PackName  string          `csv:"pack"`                  // "box of 10"
	Carton    int             `csv:"carton_packs,optional"` // packs are sold in multiples of this; 0 or 1: singly
	MinPacks  int             `csv:"min_packs,optional"`
	LeadDays  int             `csv:"lead_days"`
	Scheme    string          `csv:"scheme"`                   // "all-units" or "incremental"
	Available int             `csv:"available_packs,optional"` // blank (0): no limit stated
	Prices    []*Price        `csv:"-"`                        // its breaks, in rising order
}

// Price is one break of an offer.
type Price struct {
	Item      string          `csv:"item"`
	Supplier  string          `csv:"supplier"`
	FromPacks int             `csv:"from_packs"`
	Price     decimal.Decimal `csv:"price_per_pack"`
}

// Band is a coil of banding of one length.
type Band struct {
	Item       string  `csv:"item"` // the coil
	Band       string  `csv:"band"` // name shared by coils of the same banding
	Width      float64 `csv:"width_mm"`
	Thickness  float64 `csv:"thickness_mm"`
	CoilLength float64 `csv:"coil_length_mm"`
	ODMin      float64 `csv:"od_min_mm"`
	ODMax      float64 `csv:"od_max_mm"`
}

// Fastener is an adjustable fastener that closes a band.
type Fastener struct {
	Item       string  `csv:"item"`
	Band       string  `csv:"band"`
	Reach      float64 `csv:"reach_mm"`      // length of circumference one fastener can draw tight
	Engagement float64 `csv:"engagement_mm"` // band taken up in the fastener at each end
	ODMin      float64 `csv:"od_min_mm"`
	ODMax      float64 `csv:"od_max_mm"`
}

// Sheet is a stock sheet from which patches are cut.
type Sheet struct {
	Item      string  `csv:"item"`
	Sheet     string  `csv:"sheet"` // name shared by sheets of the same material and thickness
	Thickness float64 `csv:"thickness_mm"`
	Width     float64 `csv:"width_mm"`
	Length    float64 `csv:"length_mm"`
	ODMin     float64 `csv:"od_min_mm"`
	ODMax     float64 `csv:"od_max_mm"`
}

// Sealant is a kneadable epoxy stick.
type Sealant struct {
	Item    string  `csv:"item"`
	Surface string  `csv:"surface"` // dry, wet or submerged
	TempMin float64 `csv:"temp_min_c"`
	TempMax float64 `csv:"temp_max_c"`
	Volume  float64 `csv:"stick_mm3"`
	Knead   float64 `csv:"knead_min"`
	Tack    float64 `csv:"tack_free_min"` // at 30 °C
}

// Putty is one pack size of a metal-repair putty.
type Putty struct {
	Item       string  `csv:"item"`
	Putty      string  `csv:"putty"` // name shared by packs of the same putty
	Pack       float64 `csv:"pack_kg"`
	Density    float64 `csv:"density_kg_l"`
	Splittable bool    `csv:"splittable"` // may be weighed out
	TempMin    float64 `csv:"temp_min_c"`
	TempMax    float64 `csv:"temp_max_c"`
	ApplyRate  float64 `csv:"apply_kg_min"`
	OpenLife   float64 `csv:"open_life_h"` // of an opened, unmixed pack
}

// PuttyLife is a measured working life.
type PuttyLife struct {
	Putty   string  `csv:"putty"`
	Mass    float64 `csv:"mass_kg"`
	Temp    float64 `csv:"temp_c"`
	Minutes float64 `csv:"minutes"`
}

// Wrap is a roll of water-activated glass-fibre wrap.
type Wrap struct {
	Item     string  `csv:"item"`
	Wrap     string  `csv:"wrap"` // name shared by rolls of the same system
	Width    float64 `csv:"width_mm"`
	Length   float64 `csv:"length_mm"`
	Ply      float64 `csv:"ply_mm"`
	ODMin    float64 `csv:"od_min_mm"`
	ODMax    float64 `csv:"od_max_mm"`
	HoopMod  float64 `csv:"hoop_modulus_mpa"`
	AxialMod float64 `csv:"axial_modulus_mpa"`
	ShearMod float64 `csv:"shear_modulus_mpa"`
	Poisson  float64 `csv:"poisson"`
	Gamma    float64 `csv:"toughness_j_m2"` // energy release rate γ
	Strain   float64 `csv:"hoop_strain"`    // allowable, at ambient
	StrainA  float64 `csv:"axial_strain"`
	TempMin  float64 `csv:"temp_min_c"` // of the surface at application
	TempMax  float64 `csv:"temp_max_c"`
	Service  float64 `csv:"service_temp_c"` // upper temperature limit Tm
	Soak     float64 `csv:"soak_s"`
	Work     float64 `csv:"work_s"` // at 30 °C
}

// Consumable is a rule for how many of an item are needed.
type Consumable struct {
	Item string  `csv:"item"`
	Qty  float64 `csv:"qty"`
	Per  string  `csv:"per"`  // repair, leak, m2, batch, roll, stick, band, kit, crew-shift, crew, campaign
	When string  `csv:"when"` // always, leak, no-leak, hazardous, not-hazardous, removal, wet
	Note string  `csv:"note,optional"`
}

// Labour is a member of the crew.
type Labour struct {
	Role  string          `csv:"role"`
	Count int             `csv:"in_crew"`
	Rate  decimal.Decimal `csv:"rate_per_h"` // in the base currency
}

// Task is a step of the work with its time.
type Task struct {
	Task    string  `csv:"task"`
	Name    string  `csv:"name"`
	Minutes float64 `csv:"minutes"` // elapsed, for the whole crew
	Per     string  `csv:"per"`     // repair, leak, m2, batch, roll, pass, stick, band, kit, crew-shift, campaign
	When    string  `csv:"when"`    // as for consumables
	Note    string  `csv:"note,optional"`
}

// MinLayers is the firm's minimum for a service.
type MinLayers struct {
	Leaking  bool    `csv:"leaking"`
	Pressure float64 `csv:"pressure_to_mpa"` // up to and including
	Layers   int     `csv:"layers"`
	Basis    string  `csv:"basis"`
}

// Cost is one line of the build-up from direct cost to bid.
type Cost struct {
	Code  string          `csv:"cost"`
	Name  string          `csv:"name"`
	Stage string          `csv:"stage"` // access, freight, overhead, contingency, profit, tax
	Basis string          `csv:"per"`   // percent (of the running total), percent-materials, percent-margin, repair, crew-shift, kg, campaign
	Value decimal.Decimal `csv:"value"`
	Note  string          `csv:"note,optional"`
}

// Currency is a currency in use with its rate.
type Currency struct {
	Code  string          `csv:"currency"`
	Minor int             `csv:"minor_digits"` // ISO 4217
	Rate  decimal.Decimal `csv:"rate"`         // one unit of it in the base currency
	Basis string          `csv:"basis"`
}

// Component is a factor on wrap thickness for a kind of component.
type Component struct {
	Component string  `csv:"component"`
	Factor    float64 `csv:"factor"`
	Area      float64 `csv:"area_factor"` // surface relative to a straight pipe of the repair's length
	Basis     string  `csv:"basis"`
	Verified  string  `csv:"verified"`
}

// LifeFactor reduces the allowable strain for a service life.
type LifeFactor struct {
	Years  float64 `csv:"years"`
	Factor float64 `csv:"factor"`
	Basis  string  `csv:"basis"`
}

// Transport is a transport class with its lines for the kit. It always defers
// to the safety data sheet.
type Transport struct {
	Code  string `csv:"transport"`
	UN    string `csv:"un"`
	Name  string `csv:"proper_name"`
	Class string `csv:"class"`
	Group string `csv:"packing_group"`
	Note  string `csv:"note"`
}

// Access is a way of reaching a repair.
type Access struct {
	Access string          `csv:"access"`
	Name   string          `csv:"name"`
	Cost   decimal.Decimal `csv:"cost_per_repair"` // in the base currency
	Time   float64         `csv:"time_factor"`     // on the task times
}

// Heading is a foreign survey heading understood as one of our fields.
type Heading struct {
	Field   string `csv:"field"`
	Heading string `csv:"heading"`
	Unit    string `csv:"unit,optional"`
}
