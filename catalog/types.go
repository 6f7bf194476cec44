// Package catalog says what can be bought, at what price and under which rules
// the estimate is made. It is a set of small tables: the built-in ones (see
// book/) are invented; a firm replaces them one by one with its own.
//
// Everything is declared once. A table is a field of Catalog, a column a field
// of the table's row type, a setting a row of settings.csv and a field of
// Settings; declare.go says what their tags mean. Reading, checking, writing,
// the workbook and the README of the tables follow from them. A new table is a
// field of Catalog, its row type and NAME.csv in book/.
//
// Lengths are in mm, masses in kg, temperatures in °C, pressures and moduli in
// MPa, money in the currency named beside it.
package catalog

import (
	"time"

	"github.com/shopspring/decimal"

	"wraptally/estimate/trace"
)

// Catalog is every table, loaded and validated, in the order in which they are
// read and written.
type Catalog struct {
	Settings    Settings     // SettingRows as numbers and words
	SettingRows []SettingRow `table:"settings" key:"name" empty:"yes" means:"a rule in force"`

	Pipes       []Pipe       `table:"pipes" key:"series size" means:"a size of a series"`
	Items       []Item       `table:"items" key:"item" means:"a thing stocked, issued, ordered"`
	Offers      []Offer      `table:"offers" invented:"yes" key:"item supplier" once:"part_code supplier" means:"a supplier's terms for an item"`
	Suppliers   []Supplier   `table:"suppliers" invented:"yes" key:"supplier" empty:"yes" means:"what a supplier charges and asks for beside its prices"`
	Closures    []Closure    `table:"closures" key:"supplier from_day" empty:"yes" means:"days on which a supplier neither works nor sends"`
	Prices      []Price      `table:"prices" invented:"yes" key:"item supplier from_packs" means:"a price break of an offer"`
	Bands       []Band       `table:"bands" invented:"yes" key:"item" kind:"band" counted:"coil" means:"a coil of banding"`
	Fasteners   []Fastener   `table:"fasteners" invented:"yes" key:"item band" kind:"fastener" counted:"pc" means:"a fastener for a band"`
	Sheets      []Sheet      `table:"sheets" invented:"yes" key:"item" kind:"sheet" counted:"sheet" means:"a stock sheet for patches"`
	Sealants    []Sealant    `table:"sealants" invented:"yes" key:"item" kind:"sealant" counted:"stick" means:"a sealant stick"`
	Putties     []Putty      `table:"putties" invented:"yes" key:"item" kind:"putty" counted:"pack" means:"a pack of putty"`
	PuttyLives  []PuttyLife  `table:"putty_lives" invented:"yes" key:"putty mass_kg temp_c" means:"a measured working life"`
	Wraps       []Wrap       `table:"wraps" invented:"yes" key:"item" kind:"wrap" counted:"roll" means:"a roll of wrap"`
	Consumables []Consumable `table:"consumables" invented:"yes" key:"item per when" means:"a rule: how many of an item"`
	Labour      []Labour     `table:"labour" invented:"yes" key:"role crew" lax:"yes" means:"a role in a crew"`
	Crews       []Crew       `table:"crews" key:"crew area" empty:"yes" lax:"yes" means:"a crew, where they differ; else as many as the setting crew.count"`
	Overtime    []Overtime   `table:"overtime" invented:"yes" key:"from_h" means:"a factor on the rate beyond the shift"`
	Holidays    []Holiday    `table:"holidays" key:"day" empty:"yes" means:"a day without work"`
	Tasks       []Task       `table:"tasks" invented:"yes" key:"task" means:"a step of the work"`
	MinLayers   []MinLayers  `table:"min_layers" invented:"yes" key:"leaking pressure_to_mpa" means:"the firm's least layers for a service"`
	Costs       []Cost       `table:"costs" invented:"yes" key:"cost" lax:"yes" means:"a line of the build-up"`
	Classes     []Class      `table:"classes" invented:"yes" key:"class" means:"a class of estimate with its range and contingency"`
	Spreads     []Spread     `table:"spreads" key:"input" means:"how far an input of the estimate may be off"`
	Terms       []Term       `table:"terms" invented:"yes" key:"part heading" empty:"yes" means:"a text of the firm for its offers and purchase orders"`
	Currencies  []Currency   `table:"currencies" invented:"yes" key:"currency" lax:"yes" means:"a currency and its rate"`
	Components  []Component  `table:"components" key:"component" means:"a factor on wrap thickness"`
	LifeFactors []LifeFactor `table:"life_factors" invented:"yes" key:"years" means:"factors for a service life"`
	Substrates  []Substrate  `table:"substrates" key:"substrate" means:"a material of pipe"`
	MediaClass  []MediaClass `table:"media_classes" key:"class" means:"what a kind of medium asks of a repair"`
	Media       []Medium     `table:"media" key:"medium class" means:"a word that names a medium, with a class of it"`
	Transports  []Transport  `table:"transports" key:"transport" empty:"yes" means:"a transport class"`
	Accesses    []Access     `table:"accesses" invented:"yes" key:"access" means:"a way of reaching a repair"`
	Headings    []Heading    `table:"headings" key:"heading" empty:"yes" means:"a foreign survey heading"`

	// Invented names the tables in which rows of the built-in catalogue that are
	// invented are in force, whoever gave the table.
	Invented []string

	// Warnings are notes on a catalogue that is usable as it stands.
	Warnings []trace.Query

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
	Name     string `csv:"name" means:"name of the setting"`
	Value    string `csv:"value,optional" mixed:"yes" means:"value in force"`
	Unit     string `csv:"unit,optional" means:"unit of the value"`
	Min      string `csv:"min,optional" mixed:"yes" means:"smallest value accepted, of a number"`
	Max      string `csv:"max,optional" mixed:"yes" means:"largest value accepted, of a number"`
	Choices  string `csv:"choices,optional" means:"words accepted, parted by |; date for a day as yyyy-mm-dd, text for any text, class for a number that goes by the class of the estimate; these three may be blank"`
	Basis    string `csv:"basis" means:"what the value rests on: standard, derivation, common practice, invented, the firm's own choice"`
	Verified string `csv:"verified" of:"yes no n/a" means:"yes; no: from memory, the text was not at hand; n/a: the firm's own choice"`
	Meaning  string `csv:"meaning" means:"what the setting does"`
	Changed  string // where a value other than the built-in comes from
	ByClass  bool   // left open: the value is that of the class of the estimate
}

// Pipe is one size of one series.
type Pipe struct {
	Series string  `csv:"series" means:"NPS, DN-ASME (the same sizes by DN), DN-EN, or the firm's own"`
	Size   string  `csv:"size" means:"nominal size as it is written in the series, 1-1/2 or 40"`
	OD     float64 `csv:"od_mm" unit:"mm" in:"(0 100000]" means:"outside diameter"`
	Wall   float64 `csv:"std_wall_mm,optional" unit:"mm" in:"[0 10000]" means:"standard wall; blank where the series has none"`
	Source string  `csv:"source" means:"where the size comes from"`
}

// Item is a thing that is stocked, issued and ordered.
type Item struct {
	Code      string  `csv:"item" means:"code of the item"`
	Kind      string  `csv:"kind" of:"band fastener sheet sealant putty wrap consumable tool" means:"what it is; each kind but the last two has a table of its own"`
	Name      string  `csv:"name" means:"name on kits and orders"`
	Unit      string  `csv:"unit" of:"pc coil sheet stick pack roll pair L kg set" means:"unit in which it is issued and counted"`
	Issue     string  `csv:"issue,optional" of:"kit crew-shift crew campaign" means:"level at which it is rounded up to whole units: with each kit, for each shift of a crew, for each crew, once for the campaign; blank: campaign, of what goes by the repair (fastener, sealant, putty, wrap) kit, of what comes back crew. What comes back is never issued anew for a shift: crew-shift then counts as crew"`
	UnitMass  float64 `csv:"unit_mass_kg" unit:"kg" in:"[0 100000]" means:"mass of one unit, packed"`
	ShelfDays int     `csv:"shelf_days,optional" unit:"days" in:"(0 36500]" means:"shelf life when fresh; blank: it does not expire"`
	Store     string  `csv:"store" means:"location in the store"`
	Transport string  `csv:"transport,optional" names:"transports.transport" means:"transport class; blank: none"`
	Returns   bool    `csv:"returnable,optional" means:"comes back from the job (a tool): ordered once, not used up"`

	// What the campaign is charged for a thing that comes back; neither known: all of it.
	Hire     decimal.NullDecimal `csv:"hire_per_day,optional" unit:"money" in:"[0 1e9]" means:"charged for one, for each working day of the plan, in the currency of the bid, of a thing that comes back; blank: see write_off_pct"`
	WriteOff decimal.NullDecimal `csv:"write_off_pct,optional" unit:"%" in:"[0 100]" means:"share of its value that a campaign is charged, of a thing that comes back; blank, as hire_per_day: it is charged in full, and listed"`

	StoreMin decimal.NullDecimal `csv:"store_min_c,optional" unit:"°C" in:"[-60 300]" means:"coldest that it may be stored; blank: no limit is known"`
	StoreMax decimal.NullDecimal `csv:"store_max_c,optional" unit:"°C" in:"[-60 300]" means:"hottest that it may be stored; blank: no limit is known"`
}

// Offer is one supplier's terms for one item.
type Offer struct {
	Item      string          `csv:"item" names:"items.item" means:"the item"`
	Supplier  string          `csv:"supplier" means:"who offers it"`
	PartCode  string          `csv:"part_code" means:"the supplier's code for it"`
	Currency  string          `csv:"currency" names:"currencies.currency" means:"currency of its prices"`
	PackQty   decimal.Decimal `csv:"pack_qty" in:"(0 1e9]" means:"units of issue in one pack"`
	PackName  string          `csv:"pack" means:"the pack in words, as on the order"`
	Carton    int             `csv:"carton_packs,optional" unit:"packs" in:"[0 1e6]" means:"packs are sold in multiples of this; blank: singly"`
	MinPacks  int             `csv:"min_packs,optional" unit:"packs" in:"[0 1e6]" means:"fewest packs of one order"`
	LeadDays  int             `csv:"lead_days" unit:"days" in:"[0 3650]" means:"from order to delivery"`
	Scheme    string          `csv:"scheme" of:"all-units incremental" means:"all-units: the break reached prices every pack; incremental: each break prices the packs above it"`
	Available int             `csv:"available_packs,optional" unit:"packs" in:"(0 1e9]" means:"most packs that can be had; blank: no limit stated. Take an offer that is sold out out of the table"`
	ShelfLeft int             `csv:"shelf_left_days,optional" unit:"days" in:"(0 36500]" means:"shelf life that is guaranteed to be left on arrival; blank: none is, and the setting order.shelf_left is taken"`
	Prices    []*Price        // its breaks, in rising order
}

// Supplier is what a supplier charges for an order and asks of it beside the
// prices of its goods. An amount that is not known is not nothing: 0 says that
// nothing is charged.
type Supplier struct {
	Supplier  string              `csv:"supplier" means:"the supplier, as the offers name it"`
	Currency  string              `csv:"currency" names:"currencies.currency" means:"currency of the amounts of the row"`
	Delivery  decimal.NullDecimal `csv:"delivery_charge,optional" unit:"money" in:"[0 1e9]" means:"charged for each delivery; 0: nothing; blank: not known, and the setting order.delivery_unknown is taken"`
	FreeFrom  decimal.Decimal     `csv:"free_from,optional" unit:"money" in:"(0 1e12]" means:"value of the goods of an order from which its first delivery is not charged; blank: never"`
	Minimum   decimal.NullDecimal `csv:"min_order,optional" unit:"money" in:"[0 1e12]" means:"least value of the goods of an order: what is missing to it is charged; 0: none; blank: not known, and the setting order.minimum_unknown is taken"`
	Hazardous decimal.NullDecimal `csv:"hazardous_charge,optional" unit:"money" in:"[0 1e9]" means:"charged beside for each delivery that holds goods with a transport class; 0: nothing; blank: not known, and the setting order.hazardous_unknown is taken"`
	Lead      string              `csv:"lead_counts,optional" of:"working-days calendar-days" means:"what its lead times count; blank: by the setting order.working_days"`
}

// Closure is a time in which a supplier is closed.
type Closure struct {
	Supplier string    `csv:"supplier" names:"suppliers.supplier" means:"who is closed"`
	From     time.Time `csv:"from_day" means:"first day"`
	To       time.Time `csv:"to_day,optional" means:"last day; blank: the first only"`
	Note     string    `csv:"note,optional" means:"why"`
}

// Price is one break of an offer.
type Price struct {
	Item      string          `csv:"item" names:"items.item" means:"the item"`
	Supplier  string          `csv:"supplier" means:"whose offer"`
	FromPacks int             `csv:"from_packs" unit:"packs" in:"[1 1e9]" means:"packs from which the price holds"`
	Price     decimal.Decimal `csv:"price_per_pack" unit:"money" in:"(0 1e12]" means:"price of one pack in the offer's currency"`
}

// Band is a coil of banding of one length.
type Band struct {
	Item       string  `csv:"item" names:"items.item" means:"the coil"`
	Band       string  `csv:"band" means:"name shared by coils of the same banding"`
	Width      float64 `csv:"width_mm" unit:"mm" in:"(0 1000]" same:"band" means:"width of the band"`
	Thickness  float64 `csv:"thickness_mm" unit:"mm" in:"(0 20]" same:"band" means:"thickness of the band"`
	CoilLength float64 `csv:"coil_length_mm" unit:"mm" in:"(0 1e6]" whole:"mm" means:"length of the coil"`
	ODMin      float64 `csv:"od_min_mm" unit:"mm" in:"[0 100000]" same:"band" means:"smallest outside diameter it serves"`
	ODMax      float64 `csv:"od_max_mm" unit:"mm" in:"(0 100000]" above:"od_min_mm" same:"band" means:"largest outside diameter it serves"`
	Friction   float64 `csv:"friction,optional" in:"[0 2]" same:"band" means:"coefficient of friction of the band on the sheet, drawn tight; blank: not known"`
}

// Fastener is an adjustable fastener that closes a band.
type Fastener struct {
	Item       string  `csv:"item" names:"items.item" means:"the fastener"`
	Band       string  `csv:"band" names:"bands.band" means:"the band that it closes"`
	Reach      float64 `csv:"reach_mm" unit:"mm" in:"(0 1e6]" means:"length of circumference that one fastener can draw tight"`
	Engagement float64 `csv:"engagement_mm" unit:"mm" in:"[0 10000]" means:"band taken up in the fastener at each end"`
	ODMin      float64 `csv:"od_min_mm" unit:"mm" in:"[0 100000]" means:"smallest outside diameter it serves"`
	ODMax      float64 `csv:"od_max_mm" unit:"mm" in:"(0 100000]" above:"od_min_mm" means:"largest outside diameter it serves"`
	Tension    float64 `csv:"tension_n,optional" unit:"N" in:"[0 1e7]" means:"tension of the band that it draws and keeps; blank: not known"`
}

// Sheet is a stock sheet from which patches are cut.
type Sheet struct {
	Item      string  `csv:"item" names:"items.item" means:"the stock sheet"`
	Sheet     string  `csv:"sheet" means:"name shared by sheets of the same material and thickness"`
	Thickness float64 `csv:"thickness_mm" unit:"mm" in:"(0 20]" same:"sheet" means:"thickness"`
	Width     float64 `csv:"width_mm" unit:"mm" in:"(0 100000]" whole:"mm" means:"one side"`
	Length    float64 `csv:"length_mm" unit:"mm" in:"(0 100000]" whole:"mm" means:"the other side"`
	ODMin     float64 `csv:"od_min_mm" unit:"mm" in:"[0 100000]" same:"sheet" means:"smallest outside diameter it serves"`
	ODMax     float64 `csv:"od_max_mm" unit:"mm" in:"(0 100000]" above:"od_min_mm" same:"sheet" means:"largest outside diameter it serves"`
}

// Sealant is a kneadable epoxy stick.
type Sealant struct {
	Item    string  `csv:"item" names:"items.item" means:"the stick"`
	Surface string  `csv:"surface" of:"dry wet submerged" every:"surface-missing" means:"state of the surface it sticks to; where several suit, the first in the table is taken"`
	TempMin float64 `csv:"temp_min_c" unit:"°C" in:"[-60 300]" means:"lowest surface temperature"`
	TempMax float64 `csv:"temp_max_c" unit:"°C" in:"[-60 300]" above:"temp_min_c" means:"highest surface temperature"`
	Volume  float64 `csv:"stick_mm3" unit:"mm³" in:"(0 1e8]" means:"volume of a stick"`
	Knead   float64 `csv:"knead_min" unit:"min" in:"[0 600]" means:"time to knead it"`
	Tack    float64 `csv:"tack_free_min" unit:"min" in:"[0 10000]" means:"time until it is tack-free"`
	TimedAt float64 `csv:"timed_at_c" unit:"°C" in:"[-60 300]" means:"temperature at which the two times hold"`
	Service float64 `csv:"service_temp_c,optional" unit:"°C" in:"[-60 500]" means:"highest temperature in service; blank: not known"`
	Ref     string  `csv:"qualification,optional" means:"number of the product's qualification; blank: none is known"`
}

// Putty is one pack size of a metal-repair putty.
type Putty struct {
	Item       string  `csv:"item" names:"items.item" means:"the pack"`
	Putty      string  `csv:"putty" means:"name shared by packs of the same putty; where several suit, the first in the table is taken"`
	Pack       float64 `csv:"pack_kg" unit:"kg" in:"(0 1000]" means:"putty in the pack, both parts"`
	Density    float64 `csv:"density_kg_l" unit:"kg/L" in:"[0.1 20]" same:"putty" means:"density, mixed"`
	Splittable bool    `csv:"splittable" means:"may be weighed out"`
	TempMin    float64 `csv:"temp_min_c" unit:"°C" in:"[-60 300]" same:"putty" means:"lowest surface temperature"`
	TempMax    float64 `csv:"temp_max_c" unit:"°C" in:"[-60 300]" above:"temp_min_c" same:"putty" means:"highest surface temperature"`
	ApplyRate  float64 `csv:"apply_kg_min" unit:"kg/min" in:"(0 1000]" same:"putty" means:"rate at which it is laid"`
	OpenLife   float64 `csv:"open_life_h" unit:"h" in:"[0 100000]" same:"putty" means:"life of an opened, unmixed pack"`
	Service    float64 `csv:"service_temp_c,optional" unit:"°C" in:"[-60 500]" same:"putty" means:"highest temperature in service; blank: not known"`
	Surface    string  `csv:"surface,optional" of:"dry wet submerged" same:"putty" means:"worst state of the surface on which it may be laid; blank: not known"`
	Ref        string  `csv:"qualification,optional" same:"putty" means:"number of the product's qualification; blank: none is known"`

	Hardener decimal.NullDecimal `csv:"hardener_g,optional" unit:"g" in:"[0 1000]" same:"putty" means:"hardener to 100 g of resin, by mass; 0: it is one part; blank: not known, and none of its packs may be weighed out"`
}

// Ratio is the hardener, g, to 100 g of resin; 0 for a product of one part.
func (p *Putty) Ratio() float64 { return p.Hardener.Decimal.InexactFloat64() }

// PuttyLife is a measured working life.
type PuttyLife struct {
	Putty   string  `csv:"putty" names:"putties.putty" means:"the putty"`
	Mass    float64 `csv:"mass_kg" unit:"kg" in:"(0 1000]" means:"mass mixed at once"`
	Temp    float64 `csv:"temp_c" unit:"°C" in:"[-60 300]" means:"temperature"`
	Minutes float64 `csv:"minutes" unit:"min" in:"(0 100000]" falls:"strictly temp_c of putty mass_kg; mass_kg of putty temp_c" means:"measured working life from the start of mixing"`
}

// Wrap is a roll of water-activated glass-fibre wrap.
type Wrap struct {
	Item     string  `csv:"item" names:"items.item" means:"the roll"`
	Wrap     string  `csv:"wrap" means:"name shared by rolls of the same system"`
	Width    float64 `csv:"width_mm" unit:"mm" in:"(0 2000]" means:"width of the tape"`
	Length   float64 `csv:"length_mm" unit:"mm" in:"(0 1e6]" means:"length of the roll"`
	Ply      float64 `csv:"ply_mm" unit:"mm" in:"(0 20]" same:"wrap" means:"thickness of one layer"`
	ODMin    float64 `csv:"od_min_mm" unit:"mm" in:"[0 100000]" same:"wrap width_mm" means:"smallest outside diameter it serves"`
	ODMax    float64 `csv:"od_max_mm" unit:"mm" in:"(0 100000]" above:"od_min_mm" same:"wrap width_mm" means:"largest outside diameter it serves"`
	HoopMod  float64 `csv:"hoop_modulus_mpa" unit:"MPa" in:"(0 1e6]" same:"wrap" means:"elastic modulus round the pipe"`
	AxialMod float64 `csv:"axial_modulus_mpa" unit:"MPa" in:"(0 1e6]" same:"wrap" means:"elastic modulus along the pipe"`
	ShearMod float64 `csv:"shear_modulus_mpa" unit:"MPa" in:"(0 1e6]" same:"wrap" means:"shear modulus"`
	Poisson  float64 `csv:"poisson" in:"[0 0.5]" same:"wrap" means:"Poisson's ratio"`
	Gamma    float64 `csv:"toughness_j_m2" unit:"J/m²" in:"(0 100000]" same:"wrap" means:"energy release rate γ at which it peels off the pipe"`
	Strain   float64 `csv:"hoop_strain" in:"(0 0.1]" same:"wrap" means:"allowable strain round the pipe, at ambient"`
	StrainA  float64 `csv:"axial_strain" in:"(0 0.1]" same:"wrap" means:"allowable strain along the pipe, at ambient"`
	Bond     float64 `csv:"bond_shear_mpa" unit:"MPa" in:"(0 100]" same:"wrap" means:"shear strength of the bond to the pipe"`
	Expand   float64 `csv:"hoop_expansion_1e6,optional" unit:"1/°C" in:"[-50 200]" same:"wrap" means:"thermal expansion round the pipe, in millionths; blank: not counted"`
	ExpandA  float64 `csv:"axial_expansion_1e6,optional" unit:"1/°C" in:"[-50 200]" same:"wrap" means:"thermal expansion along the pipe, in millionths; blank: not counted"`
	TempMin  float64 `csv:"temp_min_c" unit:"°C" in:"[-60 300]" same:"wrap" means:"lowest surface temperature at laying"`
	TempMax  float64 `csv:"temp_max_c" unit:"°C" in:"[-60 300]" above:"temp_min_c" same:"wrap" means:"highest surface temperature at laying"`
	Service  float64 `csv:"service_temp_c" unit:"°C" in:"[-60 500]" same:"wrap" means:"upper temperature limit Tm in service"`
	Glass    float64 `csv:"tg_c,optional" unit:"°C" in:"[0 500]" same:"wrap" means:"glass transition temperature of the cured wrap; blank: not stated"`
	Surface  string  `csv:"surface,optional" of:"dry wet submerged" same:"wrap" means:"worst state of the surface on which it may be laid; blank: not known"`
	Ref      string  `csv:"qualification,optional" same:"wrap" means:"number of the system's qualification; blank: none is known"`
	Soak     float64 `csv:"soak_s" unit:"s" in:"[0 3600]" same:"wrap" means:"time in water"`
	Work     float64 `csv:"work_s" unit:"s" in:"(0 36000]" same:"wrap" means:"time to lay the roll after soaking"`
	TimedAt  float64 `csv:"timed_at_c" unit:"°C" in:"[-60 300]" same:"wrap" means:"temperature at which the two times hold"`
	Hardness float64 `csv:"hardness_shore_d" unit:"Shore D" in:"(0 100]" same:"wrap" means:"least hardness of the cured wrap, measured by ISO 868"`
}

// Consumable is a rule for how many of an item are needed.
type Consumable struct {
	Item string  `csv:"item" names:"items.item" means:"the item"`
	Qty  float64 `csv:"qty" in:"(0 1e6]" means:"units of issue for each"`
	Per  string  `csv:"per" of:"repair leak m2 batch roll stick band kit crew-shift crew person-shift person campaign" means:"what is counted"`
	When string  `csv:"when" of:"always leak no-leak hazardous not-hazardous removal wet" means:"where the rule holds"`
	Note string  `csv:"note,optional" means:"remark"`
	// Class is of the medium; a medium that is not known takes what each of them says.
	Class string `csv:"medium_class,optional" names:"media_classes.class" means:"class of medium of which the rule holds; one that is not known takes the rules of all; blank: whatever flows"`
}

// Labour is a role in a crew.
type Labour struct {
	Role  string          `csv:"role" means:"the role"`
	Count int             `csv:"in_crew" unit:"persons" in:"[1 1000]" means:"persons of it in a crew"`
	Rate  decimal.Decimal `csv:"rate_per_h" unit:"money/h" in:"(0 1e12]" means:"cost of one person in the currency of the bid"`
	Crew  string          `csv:"crew,optional" names:"crews.crew" means:"a crew of the table crews; blank: every crew"`
}

// Crew is a crew with the area it works in.
type Crew struct {
	Crew string `csv:"crew" means:"name of the crew"`
	Area string `csv:"area,optional" means:"an area of the survey in which it works; blank: all; a row for each of several"`
}

// Holiday is a day on which nobody works.
type Holiday struct {
	Day  time.Time `csv:"day" means:"no work on this day"`
	Name string    `csv:"name" means:"why"`
}

// Overtime is what an hour beyond the shift costs.
type Overtime struct {
	From   float64 `csv:"from_h" unit:"h" in:"[0 24]" means:"hours beyond the shift from which the factor holds"`
	Factor float64 `csv:"factor" in:"[1 10]" rises:"from_h" means:"on the rate of the hours beyond it"`
}

// Task is a step of the work with its time, in the order of the work.
type Task struct {
	Task    string  `csv:"task" means:"code of the task"`
	Name    string  `csv:"name" means:"the step of the work"`
	Minutes float64 `csv:"minutes" unit:"min" in:"[0 100000]" means:"of the whole crew; elapsed where nobody is bound"`
	Per     string  `csv:"per" of:"repair leak m2 batch roll pass stick band kit tack-minute shift-start shift-end crew-start crew-end" means:"what is counted; tack-minute: the tack-free minutes of the sealant used"`
	When    string  `csv:"when" of:"always leak no-leak hazardous not-hazardous removal wet" means:"where the task is due"`
	Who     string  `csv:"who" of:"crew nobody" means:"whom it binds; nobody: the crew waits or works nearby"`
	Tie     string  `csv:"tie" of:"free shift minutes" means:"how it follows the step before: any time after, in the same shift, or within so many minutes"`
	Within  float64 `csv:"within_min,optional" unit:"min" in:"[0 1440]" means:"most minutes after the step before, where the tie is minutes"`
	Breaks  bool    `csv:"breaks" means:"may be broken off and gone on with later"`
	Access  bool    `csv:"by_access" means:"multiplied by the time factor of the way of access"`
	Follows string  `csv:"follows" of:"clock temperature" means:"temperature: holds at at_c and is longer where it is colder, by the law of pot life"`
	At      float64 `csv:"at_c,optional" unit:"°C" in:"[-50 150]" means:"temperature at which the minutes hold, where they follow it"`
	Note    string  `csv:"note,optional" means:"remark"`
}

// MinLayers is the firm's minimum for a service.
type MinLayers struct {
	Leaking  bool    `csv:"leaking" every:"service-missing" means:"holds for leaking pipe"`
	Pressure float64 `csv:"pressure_to_mpa" unit:"MPa" in:"(0 1000]" means:"up to and including this design pressure"`
	Layers   int     `csv:"layers" in:"[1 1000]" rises:"pressure_to_mpa of leaking" means:"fewest layers"`
	Basis    string  `csv:"basis" means:"what the number rests on"`
}

// Cost is one line of the build-up from direct cost to bid.
type Cost struct {
	Code  string          `csv:"cost" means:"code of the line"`
	Name  string          `csv:"name" means:"the line on the bid"`
	Stage string          `csv:"stage" of:"site freight overhead contingency profit tax" means:"its place in the build-up, in this order; site: ways of access, plant, permits"`
	Basis string          `csv:"per" of:"percent percent-materials percent-order percent-stage percent-margin repair area line supplier kg campaign crew crew-shift person-shift person-night day percent-profit percent-class" means:"percent: of the running total; percent-materials: of the stage materials; percent-order: of the value of the goods ordered; percent-stage: of the total of the stage in of; percent-margin: of the price, not of the cost; percent-profit: as the setting bid.profit_as says; percent-class: percent, as the setting bid.contingency or the class of the estimate says"`
	Value decimal.Decimal `csv:"value,optional" in:"[0 1e12]" means:"12 for 12 %, or money in the currency of the bid; blank only for percent-class"`
	Note  string          `csv:"note,optional" means:"remark"`
	Of    string          `csv:"of,optional" of:"materials labour site freight overhead contingency" means:"the stage that percent-stage is taken of; one before its own"`
	Class bool            // its rate is the setting bid.contingency
}

// Class is a class of estimate: how far off it may be, and what is added for
// what is not yet known.
type Class struct {
	Class       string  `csv:"class" of:"5 4 3 2 1" every:"class-missing" means:"5 is the roughest"`
	RangeLow    float64 `csv:"range_low_pct" unit:"%" in:"[-100 0]" means:"lower end of the accuracy range about the bid"`
	RangeHigh   float64 `csv:"range_high_pct" unit:"%" in:"[0 1000]" means:"upper end of it"`
	Contingency float64 `csv:"contingency_pct" unit:"%" in:"[0 200]" means:"contingency on the total before it"`
	Basis       string  `csv:"basis" means:"what the figures rest on"`
	Verified    string  `csv:"verified" of:"yes no n/a" means:"as for settings"`
}

// Spread is how far an input of the estimate may be off from what is taken for
// it, for the range of the outcome.
type Spread struct {
	Input  string  `csv:"input" of:"found-later size wall hours productive price exchange access weather" every:"spread-missing" means:"found-later: defects found after the survey, % of those surveyed; weather: % of the days lost; the others: % by which the value is off"`
	Low    float64 `csv:"low_pct" unit:"%" in:"[-90 500]" means:"as low as it may be"`
	Likely float64 `csv:"likely_pct" unit:"%" in:"[-90 500]" means:"as it most likely is; not under low_pct"`
	High   float64 `csv:"high_pct" unit:"%" in:"[-90 500]" means:"as high as it may be; not under likely_pct. All three the same: it is certain"`
	Shape  string  `csv:"shape" of:"pert triangular" means:"pert: a beta distribution about the likely value; triangular: straight up to it and down"`
	Alike  float64 `csv:"alike" in:"[0 1]" means:"correlation between the members of the input, as the defects or the prices: 1, all are off by the same; 0, each by its own"`
	Basis  string  `csv:"basis" means:"what the figures rest on"`
}

// Term is a text of the firm for its offers.
type Term struct {
	Part    string `csv:"part" of:"assumption exclusion term purchase" means:"where it stands: with the assumptions, the exclusions or the terms of the offer, or with the terms of the firm's purchase orders"`
	Heading string `csv:"heading" means:"what it is about"`
	Text    string `csv:"text" means:"the text as the client or the supplier reads it"`
}

// Currency is a currency in use with its rate.
type Currency struct {
	Code  string          `csv:"currency" means:"code by ISO 4217"`
	Minor int             `csv:"minor_digits" in:"[0 4]" means:"decimals of its smallest unit by ISO 4217"`
	Rate  decimal.Decimal `csv:"rate" in:"(0 1e9]" means:"one unit of it in the currency of the bid"`
	Basis string          `csv:"basis" means:"where the rate comes from, with its day"`
	Day   time.Time       `csv:"rate_day,optional" means:"day of the rate; blank: that of the setting dates.prices, else not known, and asked where a quote is in the currency"`
}

// Component is a factor on wrap thickness for a kind of component.
type Component struct {
	Component string  `csv:"component" of:"pipe bend tee reducer flange nozzle" every:"component-missing" means:"kind of component; a survey that names none means a pipe"`
	Factor    float64 `csv:"factor" in:"[1 20]" means:"on the thickness of wrap"`
	Area      float64 `csv:"area_factor" in:"[0.1 20]" means:"surface relative to a straight pipe of the repair's length"`
	Basis     string  `csv:"basis" means:"what the factors rest on"`
	Verified  string  `csv:"verified" of:"yes no n/a" means:"as for settings"`
}

// LifeFactor reduces the allowable strain of the wrap, and the pressure that it
// may hold over a leak, for a service life.
type LifeFactor struct {
	Years  float64 `csv:"years" unit:"years" in:"(0 200]" means:"up to and including this service life"`
	Factor float64 `csv:"factor" in:"(0 1]" falls:"years" means:"on the allowable strain"`
	Hole   float64 `csv:"hole_factor,optional" in:"[0 1]" falls:"years" means:"on the pressure held over a leak; blank: none is held for so long"`
	Basis  string  `csv:"basis" means:"what the factor rests on"`
}

// Substrate is a material of pipe that the rules of design hold for.
type Substrate struct {
	Substrate string  `csv:"substrate" means:"words that a survey uses, in small letters, parted by semicolons"`
	Modulus   float64 `csv:"modulus_mpa" unit:"MPa" in:"[1000 1000000]" means:"elastic modulus"`
	Expansion float64 `csv:"expansion_1e6" unit:"1/°C" in:"[0 200]" means:"thermal expansion, in millionths"`
	Basis     string  `csv:"basis" means:"what the values rest on"`
	Verified  string  `csv:"verified" of:"yes no n/a" means:"as for settings"`
}

// MediaClass is what a kind of medium asks of a repair.
type MediaClass struct {
	Class     string `csv:"class" means:"name of the class; unknown is that of media that no word of the media table names"`
	Leak      string `csv:"leak" of:"go ask stop" means:"whether a leak of it may be sealed under pressure"`
	NoLeak    string `csv:"no_leak" of:"go ask stop" means:"whether a pipe of it that does not leak may be wrapped"`
	Hazardous bool   `csv:"hazardous" means:"a leak of it makes the area hazardous, whatever the survey says"`
	Equipment string `csv:"equipment,optional" means:"what must be at hand where it leaks"`
	Caution   string `csv:"caution,optional" means:"what is said of it where it leaks"`
	Basis     string `csv:"basis" means:"what the row rests on"`
	Verified  string `csv:"verified" of:"yes no n/a" means:"as for settings"`
}

// Medium is a word or phrase that names a medium.
type Medium struct {
	Phrase string `csv:"medium" means:"word or phrase, compared by whole words; capitals, hyphens and numbers make no difference"`
	Class  string `csv:"class,optional" names:"media_classes.class" means:"class of it, one row for each; blank: the word says nothing of the medium"`
}

// Transport is a transport class with its lines for the kit. It always defers
// to the safety data sheet.
type Transport struct {
	Code  string `csv:"transport" means:"code of the class"`
	UN    string `csv:"un" means:"UN number"`
	Name  string `csv:"proper_name" means:"proper shipping name"`
	Class string `csv:"class" means:"class of dangerous goods"`
	Group string `csv:"packing_group" means:"packing group"`
	Note  string `csv:"note" means:"remark; the safety data sheet decides"`
}

// Access is a way of reaching a repair.
type Access struct {
	Access string          `csv:"access" means:"word that a survey uses"`
	Name   string          `csv:"name" means:"the way in words"`
	Cost   decimal.Decimal `csv:"cost_per_repair" unit:"money" in:"[0 1e12]" means:"in the currency of the bid"`
	Time   float64         `csv:"time_factor" in:"[0.1 100]" means:"on the minutes of the tasks that it slows"`
	SetUp  float64         `csv:"setup_min" unit:"min" in:"[0 100000]" means:"minutes of the crew to set it up and take it away"`
	Share  float64         `csv:"share_m" unit:"m" in:"[0 10000]" means:"repairs of one line within this length share one way of access and its cost"`
}

// Heading is a foreign survey heading understood as one of our fields.
type Heading struct {
	Field   string `csv:"field" means:"heading of the program's own"`
	Heading string `csv:"heading" means:"foreign heading that means the same"`
	Unit    string `csv:"unit,optional" means:"unit of its numbers where the heading does not say it"`
}
