package catalog

import (
	"cmp"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"time"

	"wraptally/estimate/trace"
)

// Words in the choices column that mark a setting whose value may be left open: a
// date, any text, and a number that goes by the class of the estimate.
const (
	dateWord  = "date"
	textWord  = "text"
	classWord = "class"
)

// isWordList reports whether choices are words to choose from.
func isWordList(choices string) bool {
	return choices != "" && choices != dateWord && choices != textWord && choices != classWord
}

// settingField is a field of Settings as its tags declare it.
type settingField struct {
	name, whole, least, class string
	index                     int
	kind                      reflect.Kind
}

// settingFields is every field of Settings in its order, settingNames their names.
var settingFields, settingNames = declaredSettings()

func declaredSettings() (fields []settingField, names []string) {
	t := reflect.TypeFor[Settings]()
	for i := range t.NumField() {
		f := t.Field(i)
		fields = append(fields, settingField{name: f.Tag.Get("set"), whole: f.Tag.Get("whole"), least: f.Tag.Get("least"), class: f.Tag.Get("class"), index: i, kind: f.Type.Kind()})
		names = append(names, f.Tag.Get("set"))
	}
	return fields, names
}

// rules puts the setting rows into force: those of the loaded table, then the
// built-in ones that it leaves out (each with a note), then the values given
// by name. The limits of the built-in row hold whatever a table says.
type rules struct {
	c         *Catalog
	faults    *Faults
	names     []trace.Place // of the name of each row of the table
	places    []trace.Place // of the value of each row of c.SettingRows
	skip      []bool        // rows already faulted
	fromSheet bool
	builtin   map[string]SettingRow
	sound     bool // every setting is usable
}

// settle puts the settings into force; own says that the table is the user's.
func settle(c *Catalog, table *loaded, own bool, given [][]given, faults *Faults) *rules {
	before := faults.Total
	r := &rules{c: c, faults: faults, fromSheet: table.grid != nil && table.grid.fromSheet, builtin: map[string]SettingRow{}}
	for row := range c.SettingRows {
		bad := false
		for col := range table.def.cols {
			bad = bad || table.at[col] < 0 || !table.usable(row, col)
		}
		r.names, r.places, r.skip = append(r.names, table.placeOf(row, "name")), append(r.places, table.placeOf(row, "value")), append(r.skip, bad)
	}
	scratch := &Catalog{SettingRows: c.SettingRows}
	if own {
		decode(table.def, readBuiltin("settings", faults), scratch, faults)
	}
	r.merge(scratch.SettingRows, own)
	for _, list := range given {
		r.override(list)
	}
	if !table.broken {
		r.apply()
		r.byClass()
	}
	r.sound = table.sound() && faults.Total == before
	return r
}

// shownNames is how many names a note lists before it counts the rest.
const shownNames = 5

// merge completes the rows of a user's own table with the built-in ones.
func (r *rules) merge(builtin []SettingRow, own bool) {
	var missing []string
	at := make(map[string]int, len(r.c.SettingRows))
	for i := range r.c.SettingRows {
		at[r.c.SettingRows[i].Name] = i
	}
	for _, b := range builtin {
		r.builtin[b.Name] = b
		i, have := at[b.Name]
		switch {
		case !own:
		case have:
			if row := &r.c.SettingRows[i]; row.Value != b.Value {
				row.Changed = r.places[i].String()
			}
		default:
			r.c.SettingRows = append(r.c.SettingRows, b)
			r.places = append(r.places, trace.Place{File: builtinFile("settings"), Field: b.Name})
			r.skip = append(r.skip, false)
			missing = append(missing, b.Name)
		}
	}
	if n := len(missing); n > 0 {
		place, more := trace.Place{File: r.places[0].File, Sheet: r.places[0].Sheet}, ""
		if n > shownNames {
			missing, more = missing[:shownNames], fmt.Sprintf(" and %d more", n-shownNames)
		}
		r.c.warn(trace.Note, place, "setting-built-in", "", fmt.Sprintf("the table leaves out %s; the built-in values are used: %s%s", count(n, "setting"), strings.Join(missing, ", "), more), "add a row for each that the firm settles itself")
	}
}

// given is a setting given by name, outside the tables.
type given struct {
	name, value string
	place       trace.Place
	by          string // what is said of it where it is shown
}

// givenBySet are the settings of "name=value" texts.
func givenBySet(sets []string, faults *Faults) (list []given) {
	for _, s := range sets {
		place := trace.Place{File: "--set " + clip(s)}
		name, value, ok := strings.Cut(s, "=")
		name, value = strings.TrimSpace(name), strings.TrimSpace(value)
		if !ok || name == "" {
			faults.add(place, "set-form", s, "a setting is given as name=value", "for example --set wrap.overlap=0.55")
			continue
		}
		list = append(list, given{name, value, place, "--set"})
	}
	return list
}

// override puts settings given by name into force; within one list each is given
// once.
func (r *rules) override(list []given) {
	seen := map[string]bool{}
	for _, g := range list {
		i := r.c.settingRow(g.name)
		if i < 0 {
			r.faults.add(g.place, "setting-unknown", g.name, "there is no setting of that name",
				meant(g.name, settingNames, "`wraptally catalog -o DIR` writes settings.csv with every name"))
			continue
		}
		if seen[g.name] {
			r.faults.add(g.place, "set-twice", g.name, "the setting is given twice", "give it once")
			continue
		}
		seen[g.name] = true
		if code, message, advice := checkText(g.value); code != "" {
			r.faults.add(g.place, code, g.value, "the value "+message, advice)
			continue
		}
		r.c.SettingRows[i].Value, r.c.SettingRows[i].Changed = g.value, g.by
		r.places[i], r.skip[i] = g.place, false
		r.places[i].Field = g.name
	}
}

// settingRow is the row of a setting, -1 where it has none.
func (c *Catalog) settingRow(name string) int {
	return slices.IndexFunc(c.SettingRows, func(r SettingRow) bool { return r.Name == name })
}

// apply fills Settings from the rows.
func (r *rules) apply() {
	out := reflect.ValueOf(&r.c.Settings).Elem()
	filled := map[string]bool{}
	for i := range r.c.SettingRows {
		row := &r.c.SettingRows[i]
		k := slices.Index(settingNames, row.Name)
		switch {
		case k >= 0:
			filled[row.Name] = true
			if !r.skip[i] {
				r.set(out.Field(settingFields[k].index), i)
			}
		case row.Name != "" && !r.skip[i]:
			r.faults.add(r.names[i], "setting-unknown", row.Name, "there is no setting of that name", meant(row.Name, settingNames, "take the row out"))
		}
	}
	for _, name := range settingNames {
		if !filled[name] {
			r.faults.add(trace.Place{File: builtinFile("settings"), Field: name}, "setting-missing", "", "the setting "+name+" has no row", "add the row")
		}
	}
}

// set checks one value against its row and the built-in one and puts it into its field.
func (r *rules) set(f reflect.Value, i int) {
	row := &r.c.SettingRows[i]
	fail := func(code, message, advice string) {
		r.faults.add(r.places[i], code, row.Value, row.Name+" "+message, advice)
	}
	limits := []SettingRow{*row}
	if b, ok := r.builtin[row.Name]; ok {
		limits = append(limits, b)
	}
	kind := limits[len(limits)-1].Choices
	mayBeOpen := kind == dateWord || kind == textWord || kind == classWord
	if code, message, advice := setField(f, row.Value, mayBeOpen, r.fromSheet); code != "" {
		fail(code, message, advice)
		return
	}
	if kind == classWord && strings.TrimSpace(row.Value) == "" {
		return // see byClass
	}
	if kind == dateWord {
		if d, err := time.Parse(time.DateOnly, row.Value); row.Value != "" && (err != nil || !PlausibleDate(d)) {
			fail("date-bad", "is not a date from 1900 to 2200", "write yyyy-mm-dd, such as 2030-05-31")
		}
		return
	}
	for _, l := range limits {
		if words := strings.Split(l.Choices, "|"); f.Kind() == reflect.String && isWordList(l.Choices) && !slices.Contains(words, row.Value) {
			fail("word-unknown", "is not one of the words accepted", "write one of "+strings.Join(words, ", "))
			return
		}
	}
	if f.Kind() == reflect.String {
		return
	}
	for _, l := range limits {
		low, err := r.bound(l.Min, math.Inf(-1))
		high, err2 := r.bound(l.Max, math.Inf(1))
		advice := (&limit{min: low, max: high}).String()
		switch v := float(f); {
		case err != nil || err2 != nil:
			fail("number-bad", "has a limit that is not a number", cmp.Or(err, err2).Error())
			return
		case v > high:
			fail("value-out-of-range", "is above the largest value accepted", "give a value "+advice)
			return
		case v < low:
			fail("value-out-of-range", "is below the smallest value accepted", "give a value "+advice)
			return
		}
	}
}

// bound is a limit given as text; a blank one is none.
func (r *rules) bound(text string, none float64) (float64, error) {
	if text == "" {
		return none, nil
	}
	return parseFloat(text, r.fromSheet)
}
