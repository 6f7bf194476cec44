package catalog

import (
	"fmt"
	"reflect"
	"strconv"

	"github.com/shopspring/decimal"

	"wraptally/estimate/trace"
)

// checkDef is one named check of the loaded tables. A check that looks at whole
// tables runs only where all of them were read without a fault, so that one bad
// cell is not reported a second time as a gap; a check of single cells passes
// over the bad ones.
type checkDef struct {
	name   string
	tables []string // read as a whole
	run    func(k *checker)
}

// checks is every check in the order in which it runs.
var checks = []checkDef{
	// single cells and rows: check_cells.go
	{"keys differ", nil, checkKeys},
	{"words are known", nil, checkWords},
	{"numbers are within limits", nil, checkLimits},
	{"ranges run upwards", nil, checkRanges},
	{"references exist", nil, checkReferences},
	{"lengths to be cut are whole", nil, checkWhole},
	{"settings agree with each other", []string{"settings", "currencies"}, checkSettings},

	// what is stocked and bought: check_stock.go
	{"every item is in the table of its kind", []string{"items"}, checkKinds},
	{"units suit kinds", nil, checkUnits},
	{"every item has an offer", []string{"items", "offers"}, checkOffered},
	{"every offer has a price from its minimum order", []string{"offers", "prices"}, checkPrices},
	{"part codes differ", nil, checkPartCodes},
	{"counted items come in whole packs", []string{"items", "offers"}, checkPackQty},
	{"perishable and dangerous goods are marked", []string{"items"}, checkGoods},
	{"currencies agree", []string{"currencies", "settings"}, checkCurrencies},

	// what is laid on a pipe: check_cover.go
	{"coils of a band agree", []string{"bands"}, checkCoils},
	{"sheets of a material agree", []string{"sheets"}, checkSheets},
	{"packs of a putty agree", []string{"putties"}, checkPacks},
	{"rolls of a wrap agree", []string{"wraps"}, checkRolls},
	{"bands cover every diameter once", []string{"bands", "settings"}, checkBandCover},
	{"fasteners cover every band once", []string{"bands", "fasteners"}, checkFastenerCover},
	{"strips fit a coil", []string{"bands", "fasteners", "sheets", "settings"}, checkStrips},
	{"sheets cover every diameter once", []string{"sheets", "settings"}, checkSheetCover},
	{"sealants cover every surface", []string{"sealants", "settings"}, checkSealants},
	{"wraps cover every diameter", []string{"wraps", "pipes", "settings"}, checkWrapCover},
	{"rolls can be laid in their time", []string{"wraps", "settings"}, checkLaying},
	{"working lives fall with temperature and mass", []string{"putties", "putty_lives", "settings"}, checkLives},

	// what is done and charged: check_work.go
	{"every rule item has a rule", []string{"items", "consumables"}, checkRules},
	{"minimum layers cover leaking and sound", []string{"min_layers"}, checkMinLayers},
	{"costs stand in the order of the build-up", []string{"costs"}, checkCosts},
	{"components are complete", []string{"components"}, checkComponents},
	{"life factors fall with years", []string{"life_factors", "settings"}, checkLifeFactors},
	{"pipe sizes make sense", []string{"pipes"}, checkPipes},
}

// CheckNames lists the checks that a catalogue passes.
func CheckNames() []string {
	names := make([]string, len(checks))
	for i, d := range checks {
		names[i] = d.name
	}
	return names
}

// checker is what a check works with.
type checker struct {
	c      *Catalog
	all    map[string]*loaded
	faults *Faults

	settingPlaces []trace.Place // of the value of each setting in force
}

// check runs every check whose tables were read. settings says where each
// setting comes from and whether all of them are usable.
func check(c *Catalog, all map[string]*loaded, settings *rules, faults *Faults) {
	k := &checker{c: c, all: all, faults: faults, settingPlaces: settings.places}
	for _, d := range checks {
		ready := true
		for _, name := range d.tables {
			ready = ready && all[name].sound() && (name != "settings" || settings.sound)
		}
		if ready {
			d.run(k)
		}
	}
}

// table is a loaded table by name.
func (k *checker) table(name string) *loaded { return k.all[name] }

// usable reports whether a cell was read; its value may be looked at.
func (k *checker) usable(l *loaded, row, col int) bool {
	return !l.broken && !l.bad[row*len(l.cols)+col]
}

// fault records a fault of one cell.
func (k *checker) fault(table string, row int, column, code, message, advice string) {
	l := k.table(table)
	col := l.column(column)
	k.faults.add(l.place(row, col), code, l.cell(row, col).text, message, advice)
}

// faultTable records a fault of a table as a whole.
func (k *checker) faultTable(table, code, message, advice string) {
	place := trace.Place{File: builtinFile(table)}
	if g := k.table(table).grid; g != nil {
		place = g.place
	}
	k.faults.add(place, code, "", message, advice)
}

// suggest is nearest while the list of faults still has room: beyond it nobody
// reads the advice, and a long table of wrong names would take its time.
func (k *checker) suggest(written string, words []string) string {
	if k.faults.Total >= maxFaults {
		return ""
	}
	return nearest(written, words)
}

// note records a warning about one cell.
func (k *checker) note(table string, row int, column, code, message, advice string) {
	l := k.table(table)
	col := l.column(column)
	k.c.warn(l.place(row, col), code, l.cell(row, col).text, message, advice)
}

// num shows a number as plainly as it can be written.
func num(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// keyText is a field as part of a key: equal values give equal texts.
func keyText(v reflect.Value) string {
	switch v.Kind() {
	case reflect.Float64:
		return num(v.Float())
	case reflect.Int:
		return strconv.FormatInt(v.Int(), 10)
	case reflect.Bool:
		return strconv.FormatBool(v.Bool())
	case reflect.String:
		return v.String()
	default:
		return v.Interface().(decimal.Decimal).String()
	}
}

// float is a numeric field as a float64.
func float(v reflect.Value) float64 {
	switch v.Kind() {
	case reflect.Float64:
		return v.Float()
	case reflect.Int:
		return float64(v.Int())
	default:
		return v.Interface().(decimal.Decimal).InexactFloat64()
	}
}

// lineOf words where the first of two rows stands.
func lineOf(l *loaded, row int) string {
	return fmt.Sprintf("line %d", l.grid.rows[row][0].line)
}
