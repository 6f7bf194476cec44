package catalog

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"wraptally/estimate/trace"
)

// senseRules ask about values that may be written but are probably a slip of
// unit or column. Nothing here refuses a catalogue. Limits are common practice,
// no source, unless they say otherwise.
var senseRules = []tableRule{
	{"costs", askShares},
	{"settings", askShareSettings},
	{"settings labour crews", askRollHour},
	{"accesses", askAccesses},
	{"items settings", askHeavy},
	{"items bands", func(k *checker) {
		askMass(k, k.c.Bands, func(b *Band) (string, float64) {
			return b.Item, b.Width * b.Thickness * b.CoilLength * steel
		})
	}},
	{"items sheets", func(k *checker) {
		askMass(k, k.c.Sheets, func(s *Sheet) (string, float64) { return s.Item, s.Thickness * s.Width * s.Length * steel })
	}},
	{"items sealants", func(k *checker) {
		askMass(k, k.c.Sealants, func(s *Sealant) (string, float64) { return s.Item, s.Volume * resin })
	}},
	{"items putties", func(k *checker) {
		askMass(k, k.c.Putties, func(p *Putty) (string, float64) { return p.Item, p.Pack })
	}},
	{"items wraps", func(k *checker) {
		askMass(k, k.c.Wraps, func(w *Wrap) (string, float64) { return w.Item, w.Width * w.Length * w.Ply * resin })
	}},
	{"wraps", askWraps},
}

// Densities in kg/mm³ for telling grams from kilograms: steel, and resin filled
// with glass or metal. Handbook values from memory.
const (
	steel = 7.9e-6
	resin = 2e-6
)

// isShare reports whether a cost is a percentage.
func isShare(basis string) bool { return strings.HasPrefix(basis, "percent") }

// askShares asks about percentages written as fractions.
func askShares(k *checker) {
	for i := range k.c.Costs {
		if v := k.c.Costs[i].Value.InexactFloat64(); isShare(k.c.Costs[i].Basis) && v > 0 && v < 1 {
			k.ask("costs", i, "value", "percent-as-fraction", fmt.Sprintf("%s is %s %%", k.c.Costs[i].Name, num(v)), "write "+percent(v)+" if "+percent(v)+" % is meant")
		}
	}
}

// askShareSettings does so for settings in %.
func askShareSettings(k *checker) {
	for i := range k.c.SettingRows {
		row := &k.c.SettingRows[i]
		v, err := parseFloat(row.Value, true)
		if row.Unit == "%" && err == nil && v != 0 && math.Abs(v) < 1 {
			k.c.warn(trace.Ask, k.settings.places[i], "percent-as-fraction", row.Value, fmt.Sprintf("%s is %s %%", row.Name, num(v)), "write "+percent(v)+" if "+percent(v)+" % is meant")
		}
	}
}

// rollHourFactor is how far the setting wrap.crew_hour may lie from what a crew
// costs before somebody is asked.
const rollHourFactor = 1.5

// askRollHour asks where an hour of a crew counts much more, or less, in the choice
// of rolls than the table labour pays for it.
func askRollHour(k *checker) {
	var crews []string
	for i := range k.c.Crews {
		crews = append(crews, k.c.Crews[i].Crew)
	}
	if len(crews) == 0 {
		crews = []string{""} // all alike
	}
	for _, crew := range crews {
		paid := 0.0
		for _, l := range k.c.Labour {
			if l.Crew == "" || l.Crew == crew {
				paid += l.Rate.InexactFloat64() * float64(l.Count)
			}
		}
		set := k.c.Settings.RollHour
		if paid > 0 && (set > paid*rollHourFactor || set < paid/rollHourFactor) {
			i := k.c.settingRow("wrap.crew_hour")
			k.c.warn(trace.Ask, k.settings.places[i], "crew-hour-differs", k.c.SettingRows[i].Value, fmt.Sprintf("an hour of a crew counts %s in the choice of rolls; the table labour pays %s for it", num(set), num(math.Round(paid*100)/100)), "set wrap.crew_hour to what an hour of a crew costs")
			return
		}
	}
}

// percent shows a fraction as a percentage.
func percent(v float64) string { return num(math.Round(v*1e6) / 1e4) }

// askAccesses asks about ways of access that the built-in table has and the
// firm's has not: a survey that names one is then priced as another.
func askAccesses(k *checker) {
	builtin := &Catalog{}
	decode(k.table("accesses").def, readBuiltin("accesses", k.faults), builtin, k.faults)
	var missing []string
	for i := range builtin.Accesses {
		if _, ok := k.c.AccessOf(builtin.Accesses[i].Access); !ok {
			missing = append(missing, builtin.Accesses[i].Access)
		}
	}
	if len(missing) > 0 {
		k.c.warn(trace.Ask, k.table("accesses").grid.place, "access-left-out", "", "the table leaves out "+strings.Join(missing, ", ")+"; where a survey says so it is asked about and priced as another", "add a row for each that may occur, or leave it out on purpose")
	}
}

// askHeavy asks about consumables and tools of a kit one of which is heavier
// than a whole kit may be; the mass of the others follows from their size.
func askHeavy(k *checker) {
	for i := range k.c.Items {
		if it := &k.c.Items[i]; isIssued(it.Kind) && it.Issue == LevelKit && it.UnitMass > k.c.Settings.CarryLimit {
			k.ask("items", i, "unit_mass_kg", "mass-unlikely", fmt.Sprintf("one %s of %s weighs %s kg, more than a whole kit may (setting kit.carry_limit)", it.Unit, it.Code, num(it.UnitMass)), "give kilograms: 120 g are 0.12")
		}
	}
}

// massFactor is how far a mass may lie from what the size gives: packing weighs
// little, a slip from g to kg is a thousand.
const massFactor = 20

// askMass asks about items whose mass their size does not give.
func askMass[T any](k *checker, rows []T, of func(*T) (item string, kg float64)) {
	for i := range rows {
		code, kg := of(&rows[i])
		row := slices.IndexFunc(k.c.Items, func(it Item) bool { return it.Code == code })
		if row < 0 {
			continue
		}
		if m := k.c.Items[row].UnitMass; kg > 0 && (m > massFactor*kg || m < kg/massFactor) {
			k.ask("items", row, "unit_mass_kg", "mass-unlikely", fmt.Sprintf("%s weighs %s kg, but its size gives about %s kg", code, num(m), num(math.Round(kg*1000)/1000)), "give kilograms here and mm there: 120 g are 0.12")
		}
	}
}

// Limits of what composite wraps are usually like, from memory.
const (
	mostStrain   = 0.01 // allowable strain
	leastPeel    = 10   // J/m², energy release rate γ
	mostPeel     = 2000 // J/m²
	leastModulus = 1000 // MPa; below it GPa was written
	mostModulus  = 3e5  // MPa
	belowTg      = 20   // °C that the upper temperature limit stays below the glass transition
)

// askWraps asks about wraps whose data do not go together.
func askWraps(k *checker) {
	done := map[string]bool{}
	for i := range k.c.Wraps {
		w := &k.c.Wraps[i]
		if done[w.Wrap] {
			continue // rolls of a system agree
		}
		done[w.Wrap] = true
		ask := func(bad bool, column, message, advice string) {
			if bad {
				k.ask("wraps", i, column, "product-implausible", message, advice)
			}
		}
		const sheet = "check it against the data sheet and the qualification tests"
		ask(w.Strain > mostStrain, "hoop_strain", "an allowable strain above 1 %", sheet+"; 0.25 % is 0.0025")
		ask(w.StrainA > mostStrain, "axial_strain", "an allowable strain above 1 %", sheet+"; 0.25 % is 0.0025")
		ask(w.Gamma < leastPeel || w.Gamma > mostPeel, "toughness_j_m2", fmt.Sprintf("an energy release rate outside %d to %d J/m²", leastPeel, mostPeel), sheet)
		ask(w.HoopMod < leastModulus || w.HoopMod > mostModulus, "hoop_modulus_mpa", "a modulus that composites seldom have", "give MPa: 20 GPa are 20000")
		ask(w.AxialMod > w.HoopMod, "axial_modulus_mpa", "stiffer along the pipe than round it", sheet+"; the two may be exchanged")
		ask(w.ShearMod > min(w.HoopMod, w.AxialMod), "shear_modulus_mpa", "a shear modulus above the elastic moduli", sheet)
		ask(w.Glass != 0 && w.Service > w.Glass-belowTg, "service_temp_c",
			fmt.Sprintf("less than %d °C below the glass transition at %s °C", belowTg, num(w.Glass)), "composite-repair standards keep a distance [from memory]; "+sheet)
	}
}
