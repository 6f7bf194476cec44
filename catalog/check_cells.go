package catalog

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode"
)

// checkKeys: no two rows of a table have the same key.
func checkKeys(k *checker) {
	for i := range tables {
		l := k.all[tables[i].name]
		if l.broken {
			continue
		}
		seen := map[string]int{}
		for row := range l.len() {
			parts := make([]string, 0, len(l.def.key))
			for _, name := range l.def.key {
				col := l.column(name)
				if !k.usable(l, row, col) {
					parts = nil
					break
				}
				parts = append(parts, keyText(l.value(row, col)))
			}
			if parts == nil {
				continue
			}
			key := strings.Join(parts, "\x00")
			if l.def.name == "headings" {
				key = foldHeading(key)
			}
			first, twice := seen[key]
			if !twice {
				seen[key] = row
				continue
			}
			k.fault(l.def.name, row, l.def.key[0], "key-duplicate",
				fmt.Sprintf("a row with the same %s stands on %s", strings.Join(l.def.key, ", "), lineOf(l, first)), "take one of the two out")
		}
	}
}

// foldHeading drops what writers of a heading vary without meaning it.
func foldHeading(s string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(s), func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsNumber(r) && r != '%' && r != '°' && r != '\''
	}), " ")
}

// The words of the tables.
var (
	kinds     = []string{"band", "fastener", "sheet", "sealant", "putty", "wrap", "consumable", "tool"}
	units     = []string{"pc", "coil", "sheet", "stick", "pack", "roll", "pair", "L", "kg", "set"}
	levels    = []string{"kit", "crew", "campaign"}
	schemes   = []string{"all-units", "incremental"}
	surfaces  = []string{"dry", "wet", "submerged"}
	rulePer   = []string{"repair", "leak", "m2", "batch", "roll", "stick", "band", "kit", "crew-shift", "crew", "campaign"}
	taskPer   = []string{"repair", "leak", "m2", "batch", "roll", "pass", "stick", "band", "kit", "crew-shift", "campaign"}
	whens     = []string{"always", "leak", "no-leak", "hazardous", "not-hazardous", "removal", "wet"}
	stages    = []string{"access", "freight", "overhead", "contingency", "profit", "tax"}
	costPer   = []string{"percent", "percent-materials", "percent-margin", "repair", "crew-shift", "kg", "campaign"}
	verifieds = []string{"yes", "no", "n/a"}
	parts     = []string{straightPipe, "bend", "tee", "reducer", "flange", "nozzle"}
)

// words says which words a column accepts.
var words = []struct {
	table, column string
	accepted      []string
}{
	{"settings", "verified", verifieds},
	{"items", "kind", kinds},
	{"items", "unit", units},
	{"items", "issue", levels},
	{"offers", "scheme", schemes},
	{"sealants", "surface", surfaces},
	{"consumables", "per", rulePer},
	{"consumables", "when", whens},
	{"tasks", "per", taskPer},
	{"tasks", "when", whens},
	{"costs", "stage", stages},
	{"costs", "per", costPer},
	{"components", "component", parts},
	{"components", "verified", verifieds},
}

// checkWords: every word is one that the program knows.
func checkWords(k *checker) {
	for _, w := range words {
		l := k.table(w.table)
		col := l.column(w.column)
		for row := range l.len() {
			if !k.usable(l, row, col) {
				continue
			}
			written := l.value(row, col).String()
			if slices.Contains(w.accepted, written) {
				continue
			}
			advice := "write one of " + strings.Join(w.accepted, ", ")
			if near := k.suggest(written, w.accepted); near != "" {
				advice = fmt.Sprintf("is %q meant?", near)
			}
			k.fault(w.table, row, w.column, "word-unknown", w.column+" is not a word of the catalogue", advice)
		}
	}
}

// limit is the range a column's numbers must lie in; open leaves min itself out.
type limit struct {
	table, column string
	min, max      float64
	open          bool
}

const (
	maxLength = 1e6  // mm
	maxMoney  = 1e12 // any currency
)

// limits says what a number may be. An optional cell left blank is not looked at.
var limits = []limit{
	{"pipes", "od_mm", 0, 1e5, true},
	{"pipes", "std_wall_mm", 0, 1e4, false},
	{"items", "unit_mass_kg", 0, 1e5, false},
	{"items", "shelf_days", 0, 36500, true},
	{"offers", "pack_qty", 0, 1e9, true},
	{"offers", "carton_packs", 0, 1e6, false},
	{"offers", "min_packs", 0, 1e6, false},
	{"offers", "lead_days", 0, 3650, false},
	{"offers", "available_packs", 0, 1e9, true},
	{"prices", "from_packs", 1, 1e9, false},
	{"prices", "price_per_pack", 0, maxMoney, true},
	{"bands", "width_mm", 0, 1000, true},
	{"bands", "thickness_mm", 0, 20, true},
	{"bands", "coil_length_mm", 0, maxLength, true},
	{"bands", "od_min_mm", 0, 1e5, false},
	{"bands", "od_max_mm", 0, 1e5, true},
	{"fasteners", "reach_mm", 0, maxLength, true},
	{"fasteners", "engagement_mm", 0, 1e4, false},
	{"fasteners", "od_min_mm", 0, 1e5, false},
	{"fasteners", "od_max_mm", 0, 1e5, true},
	{"sheets", "thickness_mm", 0, 20, true},
	{"sheets", "width_mm", 0, 1e5, true},
	{"sheets", "length_mm", 0, 1e5, true},
	{"sheets", "od_min_mm", 0, 1e5, false},
	{"sheets", "od_max_mm", 0, 1e5, true},
	{"sealants", "temp_min_c", -60, 300, false},
	{"sealants", "temp_max_c", -60, 300, false},
	{"sealants", "stick_mm3", 0, 1e8, true},
	{"sealants", "knead_min", 0, 600, false},
	{"sealants", "tack_free_min", 0, 10000, false},
	{"putties", "pack_kg", 0, 1000, true},
	{"putties", "density_kg_l", 0.1, 20, false},
	{"putties", "temp_min_c", -60, 300, false},
	{"putties", "temp_max_c", -60, 300, false},
	{"putties", "apply_kg_min", 0, 1000, true},
	{"putties", "open_life_h", 0, 1e5, false},
	{"putty_lives", "mass_kg", 0, 1000, true},
	{"putty_lives", "temp_c", -60, 300, false},
	{"putty_lives", "minutes", 0, 1e5, true},
	{"wraps", "width_mm", 0, 2000, true},
	{"wraps", "length_mm", 0, maxLength, true},
	{"wraps", "ply_mm", 0, 20, true},
	{"wraps", "od_min_mm", 0, 1e5, false},
	{"wraps", "od_max_mm", 0, 1e5, true},
	{"wraps", "hoop_modulus_mpa", 0, 1e6, true},
	{"wraps", "axial_modulus_mpa", 0, 1e6, true},
	{"wraps", "shear_modulus_mpa", 0, 1e6, true},
	{"wraps", "poisson", 0, 0.5, false},
	{"wraps", "toughness_j_m2", 0, 1e5, true},
	{"wraps", "hoop_strain", 0, 0.1, true},
	{"wraps", "axial_strain", 0, 0.1, true},
	{"wraps", "temp_min_c", -60, 300, false},
	{"wraps", "temp_max_c", -60, 300, false},
	{"wraps", "service_temp_c", -60, 500, false},
	{"wraps", "soak_s", 0, 3600, false},
	{"wraps", "work_s", 0, 36000, true},
	{"consumables", "qty", 0, 1e6, true},
	{"labour", "in_crew", 1, 1000, false},
	{"labour", "rate_per_h", 0, maxMoney, true},
	{"tasks", "minutes", 0, 1e5, false},
	{"min_layers", "pressure_to_mpa", 0, 1000, true},
	{"min_layers", "layers", 1, 1000, false},
	{"costs", "value", 0, maxMoney, false},
	{"currencies", "minor_digits", 0, 4, false},
	{"currencies", "rate", 0, 1e9, true},
	{"components", "factor", 1, 20, false},
	{"components", "area_factor", 0.1, 20, false},
	{"life_factors", "years", 0, 200, true},
	{"life_factors", "factor", 0, 1, true},
	{"accesses", "cost_per_repair", 0, maxMoney, false},
	{"accesses", "time_factor", 0.1, 100, false},
}

// checkLimits: every number lies within its limits.
func checkLimits(k *checker) {
	for _, lim := range limits {
		l := k.table(lim.table)
		col := l.column(lim.column)
		for row := range l.len() {
			if !k.usable(l, row, col) || strings.TrimSpace(l.cell(row, col).text) == "" {
				continue
			}
			v := float(l.value(row, col))
			if v > lim.min && v <= lim.max || v == lim.min && !lim.open {
				continue
			}
			above := "from " + num(lim.min)
			if lim.open {
				above = "above " + num(lim.min)
			}
			k.fault(lim.table, row, lim.column, "value-out-of-range", lim.column+" is out of range", "give a value "+above+" to "+num(lim.max))
		}
	}
}

// ranges are pairs of columns of which the first must be below the second.
var ranges = []struct{ table, low, high string }{
	{"bands", "od_min_mm", "od_max_mm"},
	{"fasteners", "od_min_mm", "od_max_mm"},
	{"sheets", "od_min_mm", "od_max_mm"},
	{"wraps", "od_min_mm", "od_max_mm"},
	{"sealants", "temp_min_c", "temp_max_c"},
	{"putties", "temp_min_c", "temp_max_c"},
	{"wraps", "temp_min_c", "temp_max_c"},
}

// checkRanges: every range runs upwards.
func checkRanges(k *checker) {
	for _, r := range ranges {
		l := k.table(r.table)
		low, high := l.column(r.low), l.column(r.high)
		for row := range l.len() {
			if !k.usable(l, row, low) || !k.usable(l, row, high) {
				continue
			}
			if l.value(row, low).Float() >= l.value(row, high).Float() {
				k.fault(r.table, row, r.high, "range-inverted", fmt.Sprintf("%s is not above %s, which is %s", r.high, r.low, l.cell(row, low).text), "give the smaller first")
			}
		}
	}
}

// references are columns whose text must stand in a column of another table.
var references = []struct{ table, column, target, key string }{
	{"offers", "item", "items", "item"},
	{"offers", "currency", "currencies", "currency"},
	{"prices", "item", "items", "item"},
	{"bands", "item", "items", "item"},
	{"fasteners", "item", "items", "item"},
	{"fasteners", "band", "bands", "band"},
	{"sheets", "item", "items", "item"},
	{"sealants", "item", "items", "item"},
	{"putties", "item", "items", "item"},
	{"putty_lives", "putty", "putties", "putty"},
	{"wraps", "item", "items", "item"},
	{"consumables", "item", "items", "item"},
	{"items", "transport", "transports", "transport"},
}

// checkReferences: what a row names exists.
func checkReferences(k *checker) {
	for _, r := range references {
		l, target := k.table(r.table), k.table(r.target)
		if target.broken {
			continue
		}
		col, key := l.column(r.column), target.column(r.key)
		var have []string
		whole := true
		for row := range target.len() {
			whole = whole && k.usable(target, row, key)
			have = append(have, target.value(row, key).String())
		}
		if !whole {
			continue // the name sought may be the one that could not be read
		}
		known := make(map[string]bool, len(have))
		for _, h := range have {
			known[h] = true
		}
		for row := range l.len() {
			if !k.usable(l, row, col) {
				continue
			}
			written := l.value(row, col).String()
			if written == "" || known[written] {
				continue
			}
			advice := fmt.Sprintf("add it to the table %s or name one that is there", r.target)
			if near := k.suggest(written, have); near != "" {
				advice = fmt.Sprintf("is %q meant? Otherwise add it to the table %s", near, r.target)
			}
			k.fault(r.table, row, r.column, "reference-unknown", fmt.Sprintf("%s names nothing in the table %s", r.column, r.target), advice)
		}
	}
}

// wholeColumns are lengths that a cutting plan takes in whole millimetres.
var wholeColumns = []struct{ table, column string }{
	{"bands", "coil_length_mm"},
	{"sheets", "width_mm"},
	{"sheets", "length_mm"},
}

// wholeSettings are the settings of which the same is true.
var wholeSettings = []string{
	"band.step", "sheet.step", "cut.kerf", "cut.trim", "cut.keep_over", "sheet.kerf", "sheet.trim", "sheet.keep_over",
}

// checkWhole: stock to be cut and what is lost at a cut are whole millimetres.
func checkWhole(k *checker) {
	const advice = "give whole millimetres, rounded to the safe side"
	for _, w := range wholeColumns {
		l := k.table(w.table)
		col := l.column(w.column)
		for row := range l.len() {
			if k.usable(l, row, col) && l.value(row, col).Float() != math.Trunc(l.value(row, col).Float()) {
				k.fault(w.table, row, w.column, "value-not-whole", w.column+" is not a whole number of mm", advice)
			}
		}
	}
	for i := range k.c.SettingRows {
		row := &k.c.SettingRows[i]
		if !slices.Contains(wholeSettings, row.Name) {
			continue
		}
		if v, err := parseFloat(row.Value, true); err == nil && v != math.Trunc(v) {
			k.faultSetting(i, "value-not-whole", row.Name+" is not a whole number of mm", advice)
		}
	}
}

// settingPairs are settings of which the first must not be above the second.
var settingPairs = []struct{ low, high string }{
	{"sealant.pressed", "sealant.height"},
	{"putty.height", "putty.height_leak"},
	{"band.min_count", "band.max_count"},
	{"set.od_min", "set.od_max"},
	{"bid.range_low", "bid.range_high"},
}

// checkSettings: settings that bound each other do so, and the currency is known.
func checkSettings(k *checker) {
	value := func(name string) (float64, int) {
		i := slices.IndexFunc(k.c.SettingRows, func(r SettingRow) bool { return r.Name == name })
		v, err := parseFloat(k.c.SettingRows[i].Value, true)
		if err != nil {
			panic("catalog: setting " + name + " was not checked: " + err.Error())
		}
		return v, i
	}
	for _, p := range settingPairs {
		low, _ := value(p.low)
		high, i := value(p.high)
		if low > high {
			k.faultSetting(i, "setting-contradicts", fmt.Sprintf("%s is below %s, which is %s", p.high, p.low, num(low)), "change one of the two")
		}
	}
	if _, ok := k.c.CurrencyOf(k.c.Settings.Currency); !ok {
		i := slices.IndexFunc(k.c.SettingRows, func(r SettingRow) bool { return r.Name == "money.currency" })
		k.faultSetting(i, "currency-unknown", "money.currency is not in the table currencies", "name one that is there or add it with its rate")
	}
}

// faultSetting records a fault of a setting where its value comes from.
func (k *checker) faultSetting(i int, code, message, advice string) {
	k.faults.add(k.settingPlaces[i], code, k.c.SettingRows[i].Value, message, advice)
}
