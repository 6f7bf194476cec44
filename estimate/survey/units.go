package survey

import "strings"

// Dim is a physical dimension, or another kind of unit that a heading may
// carry.
type Dim int8

// The dimensions.
const (
	DimNone Dim = iota
	DimLength
	DimPressure // also stress
	DimTemperature
	DimForce
	DimPercent
	DimAngle
	DimTime
	DimRate // of corrosion
)

// Unit converts a value to the base unit of its dimension:
// base = (value·Factor + Offset)/Div. The base units are mm, MPa, °C, N, %,
// degree, year and mm a year. The divisor keeps decimal values clean: 6.625 in are
// 6.625·254/10 = 168.275 mm, where 6.625·25.4 in binary is 168.27499999999998.
type Unit struct {
	Name                string // the name printed: "in", "bar", "°C"
	Dim                 Dim
	Factor, Offset, Div float64
}

// Base gives the value in the base unit of the dimension.
func (u Unit) Base(v float64) float64 {
	if u.Factor == 1 && u.Offset == 0 && u.Div == 1 {
		return v
	}
	return (v*u.Factor + u.Offset) / u.Div
}

// From gives the base value in this unit.
func (u Unit) From(base float64) float64 { return (base*u.Div - u.Offset) / u.Factor }

// unitRow is one line of the unit table: the unit and every way of writing it,
// in lower case.
type unitRow struct {
	Unit
	names string // parted by blanks
}

// The factors are exact by definition (inch 25.4 mm, pound-force
// 4.4482216152605 N, standard gravity 9.80665 m/s²); psi is lbf/in². The
// cross-check compares each with GNU units.
//
// Absolute pressures (bara, psia) are left out on purpose: a design pressure is
// a gauge pressure, and a heading that says otherwise deserves a question.
var unitTable = []unitRow{
	{Unit{"mm", DimLength, 1, 0, 1}, "mm millimetre millimetres millimeter millimeters мм"},
	{Unit{"cm", DimLength, 10, 0, 1}, "cm centimetre centimetres centimeter centimeters см"},
	{Unit{"m", DimLength, 1000, 0, 1}, "m mtr mtrs metre metres meter meters м"},
	{Unit{"km", DimLength, 1e6, 0, 1}, "km kilometre kilometres kilometer kilometers км"},
	{Unit{"in", DimLength, 254, 0, 10}, "in in. inch inches ins \" ″ ” '' дюйм"},
	{Unit{"ft", DimLength, 3048, 0, 10}, "ft ft. foot feet ' ′ ’"},
	{Unit{"yd", DimLength, 9144, 0, 10}, "yd yds yard yards"},
	{Unit{"mil", DimLength, 254, 0, 10000}, "mil mils thou"},
	{Unit{"µm", DimLength, 1, 0, 1000}, "µm μm um micron microns micrometre micrometer мкм"},

	{Unit{"MPa", DimPressure, 1, 0, 1}, "mpa mpag mpa(g) n/mm2 n/mm² мпа"},
	{Unit{"kPa", DimPressure, 1, 0, 1000}, "kpa kpag kpa(g) кпа"},
	{Unit{"Pa", DimPressure, 1, 0, 1e6}, "pa па"},
	{Unit{"bar", DimPressure, 1, 0, 10}, "bar bars barg bar(g) barü бар"},
	{Unit{"mbar", DimPressure, 1, 0, 10000}, "mbar mbarg"},
	{Unit{"psi", DimPressure, poundForce, 0, 25.4 * 25.4}, "psi psig psi(g) lbf/in2 lbf/in²"},
	{Unit{"ksi", DimPressure, 1000 * poundForce, 0, 25.4 * 25.4}, "ksi"},
	{Unit{"kgf/cm²", DimPressure, 980665, 0, 1e7}, "kgf/cm2 kgf/cm² kg/cm2 kg/cm² кгс/см2 кгс/см²"},

	{Unit{"°C", DimTemperature, 1, 0, 1}, "°c c degc deg.c celsius ºc ℃ °с с"}, // the last two with the Cyrillic letter
	{Unit{"°F", DimTemperature, 5, -160, 9}, "°f f degf deg.f fahrenheit ºf ℉"},
	{Unit{"K", DimTemperature, 1, -273.15, 1}, "k kelvin"},

	{Unit{"N", DimForce, 1, 0, 1}, "n newton newtons н"},
	{Unit{"kN", DimForce, 1000, 0, 1}, "kn кн"},
	{Unit{"MN", DimForce, 1e6, 0, 1}, "mn"},
	{Unit{"kgf", DimForce, 980665, 0, 1e5}, "kgf кгс"},
	{Unit{"tf", DimForce, 980665, 0, 100}, "tf tonf"},
	{Unit{"lbf", DimForce, poundForce, 0, 1}, "lbf lbs lb"},
	{Unit{"kip", DimForce, 1000 * poundForce, 0, 1}, "kip kips"},

	{Unit{"%", DimPercent, 1, 0, 1}, "% pct percent rh %rh %wt %t"},

	{Unit{"deg", DimAngle, 1, 0, 1}, "deg degs degree degrees ° º"},
	{Unit{"clock", DimAngle, 30, 0, 1}, "clock h hr hrs hour hours o'clock oclock hh:mm h:mm ч"},

	{Unit{"years", DimTime, 1, 0, 1}, "years year yrs yr y a лет"},
	{Unit{"months", DimTime, 1, 0, 12}, "months month mo"},

	{Unit{"mm/year", DimRate, 1, 0, 1}, "mm/year mm/yr mm/y mm/a mmpy"},
	{Unit{"mil/year", DimRate, 254, 0, 10000}, "mil/year mil/yr mpy"},
}

const poundForce = 4.4482216152605 // N

var unitByName = func() map[string]*Unit {
	m := make(map[string]*Unit)
	for i := range unitTable {
		for _, n := range strings.Fields(unitTable[i].names) {
			m[n] = &unitTable[i].Unit
		}
	}
	return m
}()

// ParseUnit reads the name of a unit in any of its usual ways of writing:
// "mm", "inches", `"`, "bar(g)", "°F". It reports false for anything else.
func ParseUnit(s string) (Unit, bool) {
	u := lookUnit(s)
	if u == nil {
		return Unit{}, false
	}
	return *u, true
}

func lookUnit(s string) *Unit {
	s = strings.ToLower(strings.TrimSpace(s))
	if u := unitByName[s]; u != nil {
		return u
	}
	// "deg C", "lbf / in2"
	if strings.ContainsAny(s, " \u00a0") {
		return unitByName[strings.NewReplacer(" ", "", "\u00a0", "").Replace(s)]
	}
	return nil
}

// UnitNames lists the printed names of the units of a dimension, in the order
// of the table.
func UnitNames(d Dim) []string {
	var names []string
	for i := range unitTable {
		if unitTable[i].Dim == d {
			names = append(names, unitTable[i].Name)
		}
	}
	return names
}

// baseUnitName is the printed name of the unit in which a dimension is kept, the
// first of the table.
func baseUnitName(d Dim) string { return UnitNames(d)[0] }

// likelyUnits gives the units of the dimension, other than u, in which the
// value would fall inside the usual range: the likely meanings of a value that
// its heading's unit makes impossible, the commonest first. Units that nobody
// measures a pipe in are not among them.
func likelyUnits(v float64, u *Unit, usual span) []string {
	var names []string
	for _, name := range []string{"mm", "in", "bar", "psi", "MPa", "°C", "°F", "cm", "m", "ft", "mil", "kPa", "ksi", "N", "kN", "MN", "kgf", "tf", "lbf", "kip", "deg", "clock", "years", "months", "mm/year", "mil/year"} {
		o := lookUnit(name)
		thou := name == "mil" && usual[1] > 100 // thousandths of an inch are for walls
		if o.Dim == u.Dim && o != u && !thou && usual.holds(o.Base(v)) {
			names = append(names, name)
		}
	}
	return names
}
