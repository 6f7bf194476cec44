package catalog

import (
	"cmp"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"github.com/shopspring/decimal"

	"wraptally/estimate/trace"
)

// checker is what a check works with.
type checker struct {
	c        *Catalog
	all      map[string]*loaded
	faults   *Faults
	settings *rules
}

// check runs the checks that follow from the declarations, then the rules that
// hold between rows and tables, each where all its tables were read without a
// fault, so that one bad cell is not reported a second time as a gap.
func check(c *Catalog, all map[string]*loaded, settings *rules, faults *Faults) {
	k := &checker{c: c, all: all, faults: faults, settings: settings}
	for i := range tables {
		k.checkTable(all[tables[i].name])
	}
	k.checkKinds()
	k.checkSettings()
	for _, r := range slices.Concat(tableRules, senseRules) {
		ready := true
		for _, name := range strings.Fields(r.tables) {
			ready = ready && all[name].sound() && (name != "settings" || settings.sound)
		}
		if ready {
			r.run(k)
		}
	}
}

// checkTable checks the cells and rows of a table by what is declared of it.
func (k *checker) checkTable(l *loaded) {
	for _, key := range l.def.keys {
		k.checkKey(l, key)
	}
	for col := range l.def.cols {
		spec := &l.def.cols[col]
		if spec.table != "" {
			k.checkReference(l, col)
		}
		if spec.every != "" && l.sound() {
			k.checkEvery(l, col)
		}
		if len(spec.same) > 0 && l.sound() {
			k.checkSame(l, col)
		}
		for i := range spec.trends {
			if l.sound() {
				k.checkTrend(l, col, &spec.trends[i])
			}
		}
		for row := range l.len() {
			if l.usable(row, col) {
				k.checkCell(l, row, col)
			}
		}
	}
}

// checkCell: a cell holds what its column may hold.
func (k *checker) checkCell(l *loaded, row, col int) {
	spec, v := &l.def.cols[col], l.value(row, col)
	fail := func(code, message, advice string) { k.fault(l.def.name, row, spec.name, code, message, advice) }
	switch {
	case len(spec.words) > 0 && spec.kind != boolType && !slices.Contains(spec.words, v.String()) && !(spec.optional && v.String() == ""):
		fail("word-unknown", spec.name+" is not a word of the catalogue", k.meant(v.String(), spec.words, "write one of "+strings.Join(spec.words, ", ")))
	case spec.limit != nil && strings.TrimSpace(l.cell(row, col).text) != "" && !spec.limit.holds(float(v)):
		fail("value-out-of-range", spec.name+" is out of range", "give a value "+spec.limit.String())
	case spec.whole != "" && float(v) != math.Trunc(float(v)):
		fail("value-not-whole", fmt.Sprintf("%s is not a whole number of %s", spec.name, spec.whole), wholeAdvice)
	}
	if spec.above == "" {
		return
	}
	if low := l.def.column(spec.above); l.usable(row, low) && float(l.value(row, low)) >= float(v) {
		fail("range-inverted", fmt.Sprintf("%s is not above %s, which is %s", spec.name, spec.above, l.cell(row, low).text), "give the smaller first")
	}
}

const wholeAdvice = "give whole millimetres, a length to cut from rounded down, a loss rounded up"

// checkKey: no two rows of a table have the same key.
func (k *checker) checkKey(l *loaded, names []string) {
	if l.broken {
		return
	}
	seen := map[string]int{}
	for row := range l.len() {
		key, ok := l.key(row, names)
		if !ok {
			continue
		}
		first, twice := seen[key]
		if !twice {
			seen[key] = row
			continue
		}
		k.fault(l.def.name, row, names[0], "key-duplicate",
			fmt.Sprintf("a row with the same %s stands on %s", strings.Join(names, ", "), l.lineOf(first)), "take one of the two out, or tell them apart")
	}
}

// key joins the named cells of a row; ok is false where one could not be read.
func (l *loaded) key(row int, names []string) (key string, ok bool) {
	for _, name := range names {
		col := l.def.column(name)
		if !l.usable(row, col) {
			return "", false
		}
		key += keyText(l.value(row, col)) + "\x00"
	}
	if l.def.name == "headings" {
		key = foldHeading(key)
	}
	return key, true
}

// keyText is a field as part of a key: equal values give equal texts.
func keyText(v reflect.Value) string {
	switch v.Kind() {
	case reflect.Float64:
		return num(v.Float())
	case reflect.Int:
		return strconv.FormatInt(v.Int(), 10)
	case reflect.Bool:
		return yesNo(v.Bool())
	case reflect.String:
		return v.String()
	}
	switch v := v.Interface().(type) {
	case time.Time:
		return v.Format(time.DateOnly)
	case decimal.NullDecimal:
		if !v.Valid {
			return ""
		}
		return v.Decimal.String()
	default:
		return v.(decimal.Decimal).String()
	}
}

func yesNo(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

// foldHeading drops what writers of a heading vary without meaning it.
func foldHeading(s string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(s), func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsNumber(r) && r != '%' && r != '°' && r != '\''
	}), " ")
}

// checkReference: what a row names exists.
func (k *checker) checkReference(l *loaded, col int) {
	spec, target := &l.def.cols[col], k.table(l.def.cols[col].table)
	if target.broken {
		return
	}
	key := target.def.column(spec.target)
	have := make([]string, target.len())
	known := make(map[string]bool, len(have))
	for row := range have {
		if !target.usable(row, key) {
			return // the name sought may be the one that could not be read
		}
		have[row] = target.value(row, key).String()
		known[have[row]] = true
	}
	for row := range l.len() {
		if !l.usable(row, col) {
			continue
		}
		written := l.value(row, col).String()
		if written == "" || known[written] {
			continue
		}
		advice := fmt.Sprintf("add it to the table %s or name one that is there", spec.table)
		if near := k.meant(written, have, ""); near != "" {
			advice = fmt.Sprintf("%s Otherwise add it to the table %s", near, spec.table)
		}
		k.fault(l.def.name, row, spec.name, "reference-unknown", fmt.Sprintf("%s names nothing in the table %s", spec.name, spec.table), advice)
	}
}

// checkEvery: each word of a column has a row.
func (k *checker) checkEvery(l *loaded, col int) {
	have := map[string]bool{}
	for row := range l.len() {
		have[keyText(l.value(row, col))] = true
	}
	for _, word := range l.def.cols[col].words {
		if !have[word] {
			k.faultTable(l.def.name, l.def.cols[col].every, fmt.Sprintf("the table %s has no row for %s %s", l.def.name, l.def.cols[col].name, word), "add a row for it")
		}
	}
}

// checkSame: the rows of a group agree in a column.
func (k *checker) checkSame(l *loaded, col int) {
	spec := &l.def.cols[col]
	first := map[string]int{}
	for row := range l.len() {
		key, _ := l.key(row, spec.same)
		base, ok := first[key]
		if !ok {
			first[key] = row
			continue
		}
		if keyText(l.value(row, col)) != keyText(l.value(base, col)) {
			k.fault(l.def.name, row, spec.name, "group-disagrees",
				fmt.Sprintf("%s differs from %s, where it is %s", spec.name, l.lineOf(base), l.cell(base, col).text),
				"rows with the same "+spec.same[0]+" must agree; name them apart if they are different things")
		}
	}
}

// checkTrend: a column rises or falls with another as declared.
func (k *checker) checkTrend(l *loaded, col int, t *trend) {
	along := l.def.column(t.along)
	at := func(row, col int) float64 { return float(l.value(row, col)) }
	rows := make([]int, l.len())
	for i := range rows {
		rows[i] = i
	}
	slices.SortStableFunc(rows, func(a, b int) int { return cmp.Compare(at(a, along), at(b, along)) })
	last := map[string]int{} // by group
	for _, row := range rows {
		group, _ := l.key(row, t.of)
		before, ok := last[group]
		last[group] = row
		if !ok || at(before, along) == at(row, along) || t.holds(at(before, col), at(row, col)) {
			continue
		}
		does, code := "falls", "value-falls"
		if !t.rises {
			does, code = "rises", "value-rises"
		}
		if at(before, col) == at(row, col) {
			does = "stays"
		}
		name := l.def.cols[col].name
		k.fault(l.def.name, row, name, code, fmt.Sprintf("%s %s from %s to %s where %s rises from %s to %s",
			name, does, l.cell(before, col).text, l.cell(row, col).text, t.along, l.cell(before, along).text, l.cell(row, along).text), "check the two rows")
	}
}

// checkKinds: an item stands in the table of its kind and in no other, and is
// issued in the unit in which that kind is counted.
func (k *checker) checkKinds() {
	items := k.table("items")
	if items.broken {
		return
	}
	kind, unit := items.def.column("kind"), items.def.column("unit")
	for i := range tables {
		def := &tables[i]
		if def.kind == "" {
			continue
		}
		for row := range items.len() {
			it := &k.c.Items[row]
			if items.usable(row, kind) && items.usable(row, unit) && it.Kind == def.kind && it.Unit != def.counted && slices.Contains(items.def.cols[unit].words, it.Unit) {
				k.fault("items", row, "unit", "unit-mismatch", fmt.Sprintf("a %s is counted in %s", def.kind, def.counted), "write "+def.counted)
			}
		}
		l := k.table(def.name)
		if !l.sound() || !items.sound() {
			continue
		}
		col := def.column("item")
		have := map[string]bool{}
		for row := range l.len() {
			code := l.value(row, col).String()
			have[code] = true
			if is := k.kindOf(code); is != "" && is != def.kind {
				k.fault(def.name, row, "item", "kind-mismatch", fmt.Sprintf("the item is a %s in the table items", is), "correct its kind or take it out of the table "+def.name)
			}
		}
		for row := range k.c.Items {
			if it := &k.c.Items[row]; it.Kind == def.kind && !have[it.Code] {
				k.fault("items", row, "item", "item-undescribed", fmt.Sprintf("the %s does not stand in the table %s", def.kind, def.name), "describe it there or take it out")
			}
		}
	}
}

// kindOf is the kind of an item, empty where there is none of that code.
func (k *checker) kindOf(code string) string {
	if it, ok := k.c.items[code]; ok {
		return it.Kind
	}
	return ""
}

// checkSettings: settings are whole where they must be and do not fall below
// the settings that bound them.
func (k *checker) checkSettings() {
	values := reflect.ValueOf(&k.c.Settings).Elem()
	for i, f := range settingFields {
		row := k.c.settingRow(f.name)
		if row < 0 {
			continue // a fault of its own
		}
		fail := func(code, message, advice string) {
			k.faults.add(k.settings.places[row], code, k.c.SettingRows[row].Value, f.name+" "+message, advice)
		}
		if f.whole != "" && values.Field(i).Float() != math.Trunc(values.Field(i).Float()) {
			fail("value-not-whole", "is not a whole number of "+f.whole, wholeAdvice)
		}
		if f.least == "" || !k.settings.sound {
			continue
		}
		if low := float(values.Field(slices.Index(settingNames, f.least))); float(values.Field(i)) < low {
			fail("setting-contradicts", fmt.Sprintf("is below %s, which is %s", f.least, num(low)), "change one of the two")
		}
	}
}

// table is a loaded table by name.
func (k *checker) table(name string) *loaded { return k.all[name] }

// fault records a fault of one cell.
func (k *checker) fault(table string, row int, column, code, message, advice string) {
	l := k.table(table)
	k.faults.add(l.placeOf(row, column), code, l.cell(row, l.def.column(column)).text, message, advice)
}

// faultTable records a fault of a table as a whole.
func (k *checker) faultTable(table, code, message, advice string) {
	place := trace.Place{File: builtinFile(table)}
	if g := k.table(table).grid; g != nil {
		place = g.place
	}
	k.faults.add(place, code, "", message, advice)
}

// note and ask record a warning and a question about one cell.
func (k *checker) note(table string, row int, column, code, message, advice string) {
	l := k.table(table)
	k.c.warn(trace.Note, l.placeOf(row, column), code, l.cell(row, l.def.column(column)).text, message, advice)
}

func (k *checker) ask(table string, row int, column, code, message, advice string) {
	l := k.table(table)
	k.c.warn(trace.Ask, l.placeOf(row, column), code, l.cell(row, l.def.column(column)).text, message, advice)
}

// meant is meant while the list of faults still has room: beyond it nobody
// reads the advice, and a long table of wrong names would take its time.
func (k *checker) meant(written string, words []string, otherwise string) string {
	if k.faults.Total >= maxFaults {
		return otherwise
	}
	return meant(written, words, otherwise)
}

// num shows a number as plainly as it can be written.
func num(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// float is a numeric field as a float64.
func float(v reflect.Value) float64 {
	switch v.Kind() {
	case reflect.Float64:
		return v.Float()
	case reflect.Int:
		return float64(v.Int())
	default:
		if v.Type() == knownType {
			return v.Interface().(decimal.NullDecimal).Decimal.InexactFloat64()
		}
		return v.Interface().(decimal.Decimal).InexactFloat64()
	}
}

// lineOf words where a row stands.
func (l *loaded) lineOf(row int) string {
	first := l.grid.rows[row][0]
	if first.from != nil {
		return fmt.Sprintf("line %d of %s", first.line, productsName)
	}
	return fmt.Sprintf("line %d", first.line)
}
