package survey

import (
	"bytes"
	"math"
	"slices"
	"strings"
	"time"
)

// fieldID numbers the fields of a survey row: the place in fieldTable.
type fieldID int8

const noField fieldID = -1

// Kind is how the cells of a field are read.
type Kind string

// The kinds of field.
const (
	KindText   Kind = "text"
	KindNumber Kind = "number"
	KindSize   Kind = "nominal size"
	KindYesNo  Kind = "yes or no"
	KindClock  Kind = "clock position"
	KindDate   Kind = "date"
	KindWord   Kind = "word of a list"
)

// Bears says what an estimate gets wrong where a field is wrong.
type Bears string

// What a field bears on.
const (
	Nothing  Bears = "nothing"
	Quantity Bears = "quantity"
	Safety   Bears = "safety"
	Both     Bears = "quantity and safety"
)

// Field declares one field of a survey. Everything that handles fields follows
// from it: the heading and its words, how a cell is read and what it may hold,
// where the value is kept, how the defects of one repair combine, and what the
// lists of fields, the queries and the answers say.
type Field struct {
	Key      string // "od": the name without the unit
	Heading  string // "od_mm": the project's own heading
	Unit     string // of the own heading; empty where there is none
	Kind     Kind
	Dim      Dim
	Required string // "yes", "no", or the rule: "od, circumference or size with series"
	Meaning  string
	Example  string
	Blank    string // what a blank means
	Bears    Bears
	Combine  Rule   // how the defects of one repair combine
	Vary     string // what it is called where it is moved by a share of itself; "" where it is not

	suffix string // of the own heading: "mm", "pct"
	or     Dim    // another dimension in which the field may be given

	// usual is the range, in the base unit, that practically every survey stays
	// in; outside it the heading's unit is doubted. beyond is what no pipework
	// reaches: a value there stops its row. Both "common practice, no source".
	usual, beyond span
	positive      bool // zero is no measure of it
	whole         bool // a whole number
	light         bool // an unreadable number is left out and asked about; of other fields it stops the row
	lower         bool // a text that is a word of the catalogue, whatever the case

	// words are plain trade words for the field, parted by semicolons, as
	// normHeading leaves them. Only words that can mean one field alone are here;
	// those that may mean several are in unclearWords and raise a query instead.
	// Each is general language: none is taken from a register or a form.
	words string
	// list holds the words that may stand in a cell, a line for each meaning, from
	// the least to the most demanding: the project's own word and what also means it.
	list []string
	// at is where the record keeps the value: a *Num, *Tri, *string or *time.Time.
	// Without it the field is another way of giving what the record keeps.
	at func(*Defect) any

	// asked is what --set survey.FIELD=ask takes where the survey is silent: the
	// value, in the own unit, and of which range it is the worst.
	asked [2]string

	choice map[string]string // made of list: what each word means
}

// span is a range of values in the base unit, both ends included.
type span [2]float64

func (s span) holds(v float64) bool { return v >= s[0] && v <= s[1] }

var (
	anyValue  = span{math.Inf(-1), math.Inf(1)}
	wallLimit = span{0, 500}
	pressures = [2]span{{0, 45}, {0, 1000}}
	degrees   = [2]span{{-50, 350}, {-200, 1000}}
	oneSize   = "one of od, circumference, or size with series"
	oneDefect = "axial with circ, or hole"
	noWords   = "no; n; false; 0; no leak; not leaking; нет; nein; non; falsch; ложь; faux; nee; não; nao; nie"
	yesWords  = "yes; y; true; 1; leak; leaking; active; да; ja; oui; wahr; истина; vrai; sí; si; sim; tak"
)

// What a blank means where several fields say the same.
const (
	stopsRow = "the row is left out until it is given"
	notSaid  = "not said; nothing depends on it"
)

// fieldTable declares the fields in the order in which a template should hold
// them. A new field is a row here and, in Defect, the place of its value.
var fieldTable = []Field{
	{Key: "id", Kind: KindText, Required: "no", Meaning: "name of the row; without it the row is called by its number in the file", Example: "P-014",
		Blank: "the row is called by its number in the file", Bears: Nothing, Combine: Apart,
		words: "item; item no; no; nr; ref; reference; ref no; defect no; defect number; defect id; feature id; feature no; anomaly id; anomaly no; dig no; dig number; dig id; dig #; leak no; leak number; leak id; break no; break id; break #; leak #; failure id; incident id; leck nr; schaden nr; schadensnummer; storingsnr; n° intervention; №; номер; lfd nr",
		at:    func(d *Defect) any { return &d.ID }},
	{Key: "line", Kind: KindText, Required: "yes", Meaning: "line (pipe) name; defects of one line whose repairs touch become one repair", Example: "100-CW-001",
		Blank: stopsRow, Bears: Quantity, Combine: Agree,
		// Worked both ways: kits of rows apart weigh up to three times those of one
		// line; only what neighbouring leaks need together can be more.
		asked: [2]string{"?", "that each lies on a line of its own and none share a repair, which is the most repairs and hardly ever less material; leaks side by side may need more layers"},
		words: "line no; line number; line name; line id; line tag; pipe tag; pipe; pipe no; pipeline; piping; piping circuit; circuit; линия; трубопровод; leitung; rohrleitung; trasse; tracé; ligne; conduite; canalisation; tubería; tubulação; leiding; rurociąg",
		at:    func(d *Defect) any { return &d.Line }},
	{Key: "area", Kind: KindText, Required: "no", Meaning: "unit, area or section of the plant", Example: "Unit 1",
		Blank: "the line is in no area; lines of one name in different areas are kept apart", Bears: Nothing, Combine: Agree,
		words: "plant area; plant unit; process unit; участок; установка; anlage; bereich; ort; zone de l'unité",
		at:    func(d *Defect) any { return &d.Area }},
	{Key: "chainage", suffix: "m", Kind: KindNumber, Dim: DimLength, Required: "yes", Meaning: "distance of the defect's centre along the line; may be negative", Example: "12.35",
		Blank: stopsRow, Bears: Quantity, Combine: Apart, usual: anyValue, beyond: span{-1e9, 1e9},
		asked: [2]string{"1000", "that none lie near enough to share a repair, which is the most repairs and hardly ever less material; leaks side by side may need more layers"},
		words: "abs distance; absolute distance; log distance; distance along line; distance along pipe; distance from start; stationing; stationierung; kp; km; kilometre point; расстояние от начала; point kilométrique",
		at:    func(d *Defect) any { return &d.Chainage }},
	{Key: "od", suffix: "mm", Kind: KindNumber, Dim: DimLength, Required: oneSize, Meaning: "outside diameter, measured", Example: "168.3",
		Blank: "circumference/π, else the size's in the pipe table; without these the row is left out", Bears: Both, Combine: Greatest, usual: anyValue, beyond: span{1, 1e5}, positive: true,
		asked: [2]string{"610", "from 60 to 610 mm"},
		words: "o d; outside diameter; outer diameter; external diameter; outside dia; pipe od; measured od; od measured; actual od; наружный диаметр; диаметр наружный; außendurchmesser; aussendurchmesser; diamètre extérieur",
		Vary:  "outside diameter",
		at:    func(d *Defect) any { return &d.OD }},
	{Key: "circumference", suffix: "mm", Kind: KindNumber, Dim: DimLength, Required: oneSize, Meaning: "circumference, taped", Example: "529",
		Blank: "not taped", Bears: Both, usual: span{30, 3930}, beyond: span{3, 3.2e5}, positive: true,
		words: "girth; taped circumference; pipe circumference; окружность; umfang; circonférence"},
	{Key: "size", Kind: KindSize, Required: oneSize, Meaning: "nominal size, NPS or DN", Example: "6",
		Blank: "the pipe table is not asked", Bears: Both, Combine: First,
		words: "nominal size; nom size; pipe size; line size; nominal diameter; nominal bore; nb; nominal pipe size; nps; dn; nennweite; ду; условный диаметр; diamètre nominal",
		at:    func(d *Defect) any { return &d.Size }},
	{Key: "series", Kind: KindText, Required: "with size", Meaning: "pipe series of the nominal size, as the catalogue's pipe table names it", Example: "NPS",
		Blank: "the row is left out where its diameter rests on the size", Bears: Both, Combine: First,
		asked: [2]string{"*", "the series in which the size is widest"},
		words: "pipe series; size series; size standard",
		at:    func(d *Defect) any { return &d.Series }},
	{Key: "wall", suffix: "mm", Kind: KindNumber, Dim: DimLength, Required: "no", Meaning: "nominal wall thickness", Example: "7.11",
		Blank: "a range about the standard wall of the size, asked", Bears: Both, Combine: Greatest, usual: span{0.5, 60}, beyond: span{0.05, 500}, positive: true,
		words: "wall thickness; nominal wall; nominal wall thickness; nominal thickness; wt; nominal wt; nom wt; pipe wall; толщина стенки; wanddicke; nennwanddicke; épaisseur nominale",
		Vary:  "nominal wall",
		at:    func(d *Defect) any { return &d.Wall }},
	{Key: "axial", suffix: "mm", Kind: KindNumber, Dim: DimLength, Required: oneDefect, Meaning: "length of the defect along the pipe", Example: "40",
		Blank: "the hole's diameter; without it the row is left out", Bears: Both, Combine: Apart, usual: span{0, 6000}, beyond: span{0, 1e5}, positive: true,
		asked: [2]string{"150", "from 5 to 150 mm"},
		words: "axial length; length axial; axial extent; axial size; defect length; defect axial; length of defect; feature length; anomaly length; длина дефекта; axiale länge; longueur axiale",
		Vary:  "defect along the pipe",
		at:    func(d *Defect) any { return &d.Axial }},
	{Key: "circ", suffix: "mm", Kind: KindNumber, Dim: DimLength, Required: oneDefect, Meaning: "width of the defect round the pipe", Example: "25",
		Blank: "the hole's diameter; without it the row is left out", Bears: Both, Combine: Apart, usual: span{0, 4000}, beyond: span{0, 1e5}, positive: true,
		asked: [2]string{"150", "from 5 to 150 mm"},
		words: "circumferential width; circumferential extent; circumferential size; circ width; circ extent; width circumferential; defect width; defect circumferential; width of defect; feature width; anomaly width; ширина дефекта; breite am umfang; largeur circonférentielle",
		Vary:  "defect round the pipe",
		at:    func(d *Defect) any { return &d.Circ }},
	{Key: "hole", suffix: "mm", Kind: KindNumber, Dim: DimLength, Required: oneDefect, Meaning: "diameter of a through hole", Example: "6",
		Blank: "no round hole", Bears: Both, usual: span{0, 600}, beyond: span{0, 1e4}, positive: true,
		asked: [2]string{"150", "from 5 to 150 mm"},
		words: "hole diameter; hole dia; hole size; size of hole; leak size; диаметр отверстия; lochdurchmesser; loch; lochgröße; diamètre du trou; trou; agujero; orificio; furo; gat; lekgrootte; otwór"},
	{Key: "remaining", suffix: "mm", Kind: KindNumber, Dim: DimLength, or: DimPercent, Required: "no", Meaning: "remaining wall at the thinnest place", Example: "3.2",
		Blank: "a range of shares of the wall, asked", Bears: Both, Combine: Least, usual: span{0, 60}, beyond: wallLimit,
		words: "remaining wall; remaining wall thickness; residual wall; residual wall thickness; residual thickness; remaining thickness; rwt; remaining wt; остаточная толщина; restwanddicke; épaisseur restante",
		Vary:  "remaining wall",
		at:    func(d *Defect) any { return &d.Remaining }},
	{Key: "depth", suffix: "pct", Kind: KindNumber, Dim: DimPercent, or: DimLength, Required: "no", Meaning: "depth of the loss in per cent of the nominal wall, or as a length (depth_mm); gives the remaining wall", Example: "45",
		Blank: "the remaining wall is as given", Bears: Both, usual: span{0, 100}, beyond: span{0, 1000},
		words: "defect depth; pit depth; max pit depth; maximum pit depth; max depth; maximum depth; wall loss; metal loss; metal loss depth; loss of wall; depth of loss; feature depth; anomaly depth; глубина дефекта; wandverlust"},
	{Key: "leaking", Kind: KindYesNo, Required: "yes", Meaning: "does it leak, or will it once cleaned: yes or no", Example: "yes",
		Blank: stopsRow, Bears: Both, Combine: Worst, list: []string{noWords, yesWords},
		asked: [2]string{"yes", "yes or no, but no where the row says how much wall is left"},
		words: "leak; leaks; leakage; active leak; leak y n; leak yes no; leaking y n; leaking yes no; течь; утечка; leck; leckage; undicht; fuite",
		at:    func(d *Defect) any { return &d.Leaking }},
	{Key: "clock", Kind: KindClock, Dim: DimAngle, Required: "no", Meaning: "position round the pipe looking along rising chainage: hours (4:30) or, with °, degrees from the top", Example: "4:30",
		Blank: "as near to other leaks as can be, asked", Bears: Both, Combine: Apart,
		words: "clock position; clock pos; o clock; oclock; o'clock; o'clock position; orientation; uhrlage; часовое положение; position horaire",
		at:    func(d *Defect) any { return &d.Clock }},
	{Key: "pressure", suffix: "mpa", Kind: KindNumber, Dim: DimPressure, Required: "no", Meaning: "design pressure of the repair, gauge", Example: "1.6",
		Blank: "a stated range, asked", Bears: Both, Combine: Greatest, usual: pressures[0], beyond: pressures[1],
		words: "design pressure; pressure design; расчетное давление; расчётное давление; auslegungsdruck; pression de calcul",
		Vary:  "design pressure",
		at:    func(d *Defect) any { return &d.Pressure }},
	{Key: "live_pressure", suffix: "mpa", Kind: KindNumber, Dim: DimPressure, Required: "no", Meaning: "pressure at the time of the work, gauge", Example: "0.4",
		Blank: "not known, and said so on the kit", Bears: Safety, Combine: Greatest, usual: pressures[0], beyond: pressures[1],
		words: "pressure at repair; pressure during repair; pressure during work; pressure during the work; pressure at time of work",
		at:    func(d *Defect) any { return &d.LivePressure }},
	{Key: "stress", suffix: "mpa", Kind: KindNumber, Dim: DimPressure, Required: "no", Meaning: "allowable stress of the pipe", Example: "137.9",
		Blank: "from the setting design.pipe_stress up, asked", Bears: Both, Combine: Least, usual: span{20, 600}, beyond: span{0.1, 5000}, positive: true,
		words: "allowable stress; design stress",
		Vary:  "allowable stress",
		at:    func(d *Defect) any { return &d.Stress }},
	{Key: "axial_force", suffix: "kn", Kind: KindNumber, Dim: DimForce, Required: "no", Meaning: "axial force, end thrust included", Example: "25",
		Blank: "the end thrust of a closed end, an assumption", Bears: Both, Combine: Greatest, usual: anyValue, beyond: span{-1e9, 1e9},
		words: "axial load; end load",
		Vary:  "axial force",
		at:    func(d *Defect) any { return &d.AxialForce }},
	{Key: "surface_temp", suffix: "c", Kind: KindNumber, Dim: DimTemperature, Required: "no", Meaning: "surface temperature at the time of the work", Example: "30",
		Blank: "a stated range, asked", Bears: Both, Combine: Greatest, usual: degrees[0], beyond: degrees[1],
		words: "surface temperature; temperature surface; pipe temperature; pipe temp; skin temperature; skin temp; metal temperature; metal temp; температура поверхности; oberflächentemperatur; température de surface",
		Vary:  "surface temperature",
		at:    func(d *Defect) any { return &d.SurfaceTemp }},
	{Key: "design_temp", suffix: "c", Kind: KindNumber, Dim: DimTemperature, Required: "no", Meaning: "design temperature of the repair", Example: "60",
		Blank: "a stated range, asked", Bears: Both, Combine: Greatest, usual: degrees[0], beyond: degrees[1],
		words: "design temperature; temperature design; design temp; design t; расчетная температура; расчётная температура; auslegungstemperatur; température de calcul",
		Vary:  "design temperature",
		at:    func(d *Defect) any { return &d.DesignTemp }},
	{Key: "air_temp", suffix: "c", Kind: KindNumber, Dim: DimTemperature, Required: "no", Meaning: "air temperature at the time of the work", Example: "22",
		Blank: "not known: the surface is not held against the dew point", Bears: Both, Combine: Greatest, usual: span{-50, 60}, beyond: span{-80, 100}, light: true,
		words: "air temperature; ambient temperature; ambient temp; temperature ambient; temperature air; температура воздуха; lufttemperatur; température de l'air",
		at:    func(d *Defect) any { return &d.AirTemp }},
	{Key: "humidity", suffix: "pct", Kind: KindNumber, Dim: DimPercent, Required: "no", Meaning: "relative humidity", Example: "65",
		Blank: "not known: the surface is not held against the dew point", Bears: Safety, Combine: Greatest, usual: span{0, 100}, beyond: span{0, 100}, light: true,
		words: "relative humidity; humidity relative; rh",
		at:    func(d *Defect) any { return &d.Humidity }},
	{Key: "surface", Kind: KindWord, Required: "no", Meaning: "surface at the time of the work: dry, wet or submerged", Example: "wet",
		Blank: "the setting work.surface, a leak at least wet, asked", Bears: Both, Combine: Worst,
		list:  []string{"dry; сухая; trocken; sec", "wet; damp; moist; мокрая; nass; humide", "submerged; underwater; under water; immersed"},
		words: "surface condition; surface state; condition of surface",
		at:    func(d *Defect) any { return (*string)(&d.Surface) }},
	{Key: "medium", Kind: KindText, Required: "no", Meaning: "what flows in the line", Example: "cooling water",
		Blank: "not known, and said so on the kit", Bears: Safety, Combine: Apart,
		words: "fluid; contents; service fluid; среда; fluide",
		at:    func(d *Defect) any { return &d.Medium }},
	{Key: "hazardous", Kind: KindYesNo, Required: "no", Meaning: "hazardous (explosive atmosphere) area: yes or no", Example: "no",
		Blank: "hazardous, asked", Bears: Both, Combine: Worst,
		list:  []string{noWords + "; non-hazardous; non hazardous; safe; safe area; none", yesWords + "; zone 0; zone 1; zone 2; hazardous"},
		words: "hazardous area; area hazardous; ex area",
		at:    func(d *Defect) any { return &d.Hazardous }},
	{Key: "layers", Kind: KindNumber, Required: "no", Meaning: "the designer's layers of wrap, a whole number", Example: "6",
		Blank: "nobody has designed it: the layers are estimated", Bears: Both, Combine: Greatest, usual: span{1, 100}, beyond: span{1, 1000}, positive: true, whole: true,
		words: "wrap layers; design layers; no of layers; number of layers",
		Vary:  "designer's layers",
		at:    func(d *Defect) any { return &d.Layers }},
	{Key: "free_run_before", suffix: "mm", Kind: KindNumber, Dim: DimLength, Required: "no", Meaning: "free straight pipe before the defect's centre", Example: "600",
		Blank: "not known: whether the repair has room is not checked", Bears: Safety, Combine: Apart, usual: anyValue, beyond: span{0, 1e8},
		words: "free length before; clear length before",
		at:    func(d *Defect) any { return &d.FreeRunBefore }},
	{Key: "free_run_after", suffix: "mm", Kind: KindNumber, Dim: DimLength, Required: "no", Meaning: "free straight pipe after the defect's centre", Example: "450",
		Blank: "not known: whether the repair has room is not checked", Bears: Safety, Combine: Apart, usual: anyValue, beyond: span{0, 1e8},
		words: "free length after; clear length after",
		at:    func(d *Defect) any { return &d.FreeRunAfter }},
	{Key: "component", Kind: KindWord, Required: "no", Meaning: "pipe, bend, tee, reducer, flange or nozzle; empty is straight pipe", Example: "bend",
		Blank: "straight pipe", Bears: Both, Combine: Apart,
		list:  []string{"pipe; straight; straight pipe; труба; rohr", "bend; elbow; отвод; bogen", "tee; t-piece; тройник", "reducer", "flange", "nozzle"},
		words: "component type; fitting",
		at:    func(d *Defect) any { return (*string)(&d.Component) }},
	{Key: "bend_radius", suffix: "mm", Kind: KindNumber, Dim: DimLength, Required: "no", Meaning: "radius of the bend's centre line", Example: "229",
		Blank: "a stated range, asked", Bears: Quantity, Combine: Least, usual: anyValue, beyond: span{1, 1e6},
		words: "radius of bend",
		Vary:  "bend radius",
		at:    func(d *Defect) any { return &d.BendRadius }},
	{Key: "bend_angle", suffix: "deg", Kind: KindNumber, Dim: DimAngle, Required: "no", Meaning: "angle of the bend", Example: "90",
		Blank: "all of the repair lies on the bend, asked", Bears: Quantity, Combine: Apart, usual: anyValue, beyond: span{0, 360},
		words: "angle of bend",
		at:    func(d *Defect) any { return &d.BendAngle }},
	{Key: "access", Kind: KindText, lower: true, Required: "no", Meaning: "how the place is reached: a word of the catalogue's access table", Example: "scaffold",
		Blank: "as dear and slow as any row of the access table, asked", Bears: Quantity, Combine: Apart,
		words: "access type; access method",
		at:    func(d *Defect) any { return &d.Access }},
	{Key: "life", suffix: "years", Kind: KindNumber, Dim: DimTime, Required: "no", Meaning: "service life asked of the repair", Example: "10",
		Blank: "the setting design.life", Bears: Both, Combine: Greatest, usual: span{0, 50}, beyond: span{0, 200}, light: true,
		words: "design life; service life; repair life",
		Vary:  "service life",
		at:    func(d *Defect) any { return &d.Life }},
	{Key: "corrosion_rate", suffix: "mmpy", Kind: KindNumber, Dim: DimRate, Required: "no", Meaning: "wall lost in a year from now on, whatever takes it", Example: "0.05",
		Blank: "a rate from the stated range, asked", Bears: Both, Combine: Greatest, usual: span{0, 2}, beyond: span{0, 20},
		words: "rate of corrosion; corr rate; скорость коррозии; korrosionsrate; abtragsrate; vitesse de corrosion",
		at:    func(d *Defect) any { return &d.CorrosionRate }},
	{Key: "mechanism", Kind: KindWord, Required: "no", Meaning: "what takes the wall: external, mechanical, internal, erosion or unknown; under a wrap the first two stop", Example: "internal",
		Blank: "unknown: it goes on under the wrap, asked", Bears: Both, Combine: Worst,
		list:  []string{"mechanical; dent; gouge", "external; external corrosion; outside; ext; od; außen; aussen; außenkorrosion; extern; externe; externa; externo; esterna; esterno; zewn; zewnętrzna; zewnętrzny; наружная; наружный; наруж", "internal; internal corrosion; inside; int; id; innen; innenkorrosion; intern; interne; interna; interno; wewn; wewnętrzna; wewnętrzny; внутренняя; внутренний; внутр", "erosion; эрозия; érosion; erosión; erosione; erosie; erozja", "unknown; unbekannt; неизвестно; inconnu"},
		words: "damage mechanism; mechanism of damage; cause of damage",
		at:    func(d *Defect) any { return (*string)(&d.Mechanism) }},
	{Key: "cycles", Kind: KindNumber, Required: "no", Meaning: "pressure cycles over the life of the repair", Example: "500",
		Blank: "not known, asked", Bears: Both, Combine: Greatest, usual: span{0, 1e7}, beyond: span{0, 1e9},
		words: "pressure cycles; number of cycles; load cycles",
		at:    func(d *Defect) any { return &d.Cycles }},
	{Key: "substrate", Kind: KindText, lower: true, Required: "no", Meaning: "what the pipe is made of: a word of the catalogue's substrates table", Example: "steel",
		Blank: "the hardest of the substrates table, an assumption", Bears: Both, Combine: Apart,
		words: "pipe material; material of pipe; material; main material; asset material; werkstoff; rohrwerkstoff; rohrmaterial; mediumrohr; matériau; materiau; materiaal; materiał; materiale; материал; материал трубы",
		at:    func(d *Defect) any { return &d.Substrate }},
	{Key: "seat_wall", suffix: "mm", Kind: KindNumber, Dim: DimLength, Required: "no", Meaning: "thinnest wall beside a leak, where the bands will sit", Example: "5.5",
		Blank: "not known, asked before a band is drawn", Bears: Safety, Combine: Least, usual: span{0, 60}, beyond: wallLimit,
		words: "wall under bands; wall beside the leak",
		at:    func(d *Defect) any { return &d.SeatWall }},
	{Key: "designed_by", Kind: KindText, Required: "no", Meaning: "who has designed the repair", Example: "A. Person",
		Blank: "nobody has: the kit says not to start", Bears: Safety, Combine: Apart,
		words: "designer; designed by",
		at:    func(d *Defect) any { return &d.DesignedBy }},
	{Key: "design_ref", Kind: KindText, Required: "no", Meaning: "number of the design", Example: "DES-014",
		Blank: "the design has no number", Bears: Nothing, Combine: Apart,
		words: "design reference; design no; design number",
		at:    func(d *Defect) any { return &d.DesignRef }},
	{Key: "need_date", Kind: KindDate, Required: "no", Meaning: "date the material is needed on site, YYYY-MM-DD", Example: "2027-03-15",
		Blank: "the first day of the work", Bears: Nothing, Combine: Least,
		words: "needed by; required by; date needed; date required; required date",
		at:    func(d *Defect) any { return &d.NeedDate }},
	{Key: "note", Kind: KindText, Required: "no", Meaning: "remark; carried to the output", Example: "under support",
		Blank: notSaid, Bears: Nothing, Combine: Apart,
		words: "notes; remark; remarks; comment; comments; примечание; bemerkung; bemerkungen; remarque; remarques",
		at:    func(d *Defect) any { return &d.Note }},
}

// maxFields bounds the arrays that have a place for each field.
const maxFields = 64

// The fields that rules of the reader name. All others are handled by their
// declaration alone.
var (
	fID, fLine, fArea, fChainage        = field("id"), field("line"), field("area"), field("chainage")
	fOD, fCircumference, fSize, fSeries = field("od"), field("circumference"), field("size"), field("series")
	fWall, fRemaining, fDepth           = field("wall"), field("remaining"), field("depth")
	fAxial, fCirc, fHole                = field("axial"), field("circ"), field("hole")
	fLeaking, fPressure, fNote          = field("leaking"), field("pressure"), field("note")
)

// fieldByKey finds a field by its key and by its own heading, fieldByWord by a
// trade word.
var fieldByKey, fieldByWord = declare()

// declare completes the table with what follows from each row, and indexes it.
func declare() (byKey, byWord map[string]fieldID) {
	byKey, byWord = make(map[string]fieldID), make(map[string]fieldID)
	for i := range fieldTable {
		f := &fieldTable[i]
		f.Heading = f.Key
		if f.suffix != "" {
			f.Heading += "_" + f.suffix
			f.Unit = lookUnit(f.suffix).Name
		}
		byKey[f.Key], byKey[f.Heading] = fieldID(i), fieldID(i)
		for _, w := range semicolons(f.words) {
			byWord[w] = fieldID(i)
		}
		f.choice = make(map[string]string)
		for _, meaning := range f.list {
			words := semicolons(meaning)
			for _, w := range words {
				f.choice[w] = words[0]
			}
		}
	}
	return byKey, byWord
}

// means is the first word for what a cell says of a field of words, "external" for
// "Ext."; "" where it is none of them.
func (f *Field) means(cell []byte) string {
	if word := f.choice[string(cell)]; word != "" {
		return word
	}
	return f.choice[strings.ToLower(string(bytes.TrimSuffix(cell, []byte("."))))]
}

func semicolons(s string) []string {
	if s == "" {
		return nil
	}
	return strings.Split(s, "; ")
}

// field is the field of a key that is declared.
func field(key string) fieldID {
	f, ok := fieldByKey[key]
	if !ok {
		panic("survey: no field " + key)
	}
	return f
}

// Fields lists the fields of a survey with their own headings, in the order in
// which a template should hold them.
func Fields() []Field { return append([]Field(nil), fieldTable...) }

// AllRows is the row of a query that concerns every row with a blank in the
// field; its answer fills them all.
const AllRows = "all rows"

// Number is where the record keeps the number of the field; of other kinds it
// panics.
func (f *Field) Number(d *Defect) *Num { return f.at(d).(*Num) }

// HeadingOf is the own heading of a field that is declared by the key.
func HeadingOf(key string) string { return field(key).heading() }

// Settable reports whether a value may be set for all blanks of the field at
// once: what is a decision or a word of the whole survey, not a place or a size.
// The defects of one repair keep their way of access, medium and material apart,
// and still a whole site may have one.
func Settable(key string) bool {
	return fieldTable[field(key)].Combine != Apart || slices.Contains([]string{"access", "medium", "substrate"}, key)
}

// Blank reports whether the defect says nothing of the field.
func Blank(d *Defect, key string) bool {
	f := &fieldTable[field(key)]
	return f.get(d) == value{}
}

// Says is what the defect says of the field, in the project's own units; "" where
// it says nothing. kept is false of a field that is only another way of giving
// one that is kept.
func Says(d *Defect, key string) (text string, kept bool) {
	f := &fieldTable[field(key)]
	if f.at == nil {
		return "", false
	}
	v := f.get(d)
	switch {
	case v.num.OK:
		return short(v.num.V) + unitAfter(f.Dim), true
	case v.tri != Unknown:
		return map[Tri]string{No: "no", Yes: "yes"}[v.tri], true
	case !v.date.IsZero():
		return v.date.Format(time.DateOnly), true
	}
	return v.text, true
}

// unitAfter is the unit of a number, with the blank before it; "" of a count.
func unitAfter(dim Dim) string {
	if dim == DimNone {
		return ""
	}
	return " " + baseUnitName(dim)
}

// Words are the words that may stand in a cell of the field, from the least to
// the most demanding; nil where any text or number may.
func (f *Field) Words() []string {
	var own []string
	for _, meaning := range f.list {
		own = append(own, semicolons(meaning)[0])
	}
	return own
}

// Whole reports whether the field takes whole numbers only.
func (f *Field) Whole() bool { return f.whole }

// Limits are the least and the greatest number that the field can hold, in its
// own unit.
func (f *Field) Limits() (least, most float64) {
	if f.Unit == "" {
		return f.beyond[0], f.beyond[1]
	}
	u := lookUnit(f.Unit)
	return math.Round(u.From(f.beyond[0])*1e6) / 1e6, math.Round(u.From(f.beyond[1])*1e6) / 1e6
}

func (f fieldID) heading() string {
	if f == noField {
		return ""
	}
	return fieldTable[f].Heading
}

// ownUnit is the unit of the field's own heading, nil where it has none.
func (f fieldID) ownUnit() *Unit {
	if u := fieldTable[f].Unit; u != "" {
		return lookUnit(u)
	}
	return nil
}

// value is what a cell says, of whichever kind.
type value struct {
	num  Num
	text string
	tri  Tri
	date time.Time
}

// put keeps the value in the record.
func (f *Field) put(d *Defect, v value) {
	switch at := f.at(d).(type) {
	case *Num:
		*at = v.num
	case *string:
		*at = v.text
	case *Tri:
		*at = v.tri
	case *time.Time:
		*at = v.date
	}
}

// get is what the record says of the field.
func (f *Field) get(d *Defect) (v value) {
	switch at := f.at(d).(type) {
	case *Num:
		v.num = *at
	case *string:
		v.text = *at
	case *Tri:
		v.tri = *at
	case *time.Time:
		v.date = *at
	}
	return v
}

// numFields is one past the last field.
func numFields() fieldID { return fieldID(len(fieldTable)) }
