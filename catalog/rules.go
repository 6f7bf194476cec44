package catalog

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"time"

	"wraptally/estimate/trace"
)

// dateWord in the choices column marks a setting that holds a date.
const dateWord = "date"

// settingField is a field of Settings.
type settingField struct {
	name  string
	index int
	kind  reflect.Kind
}

// settingFields lists the fields of Settings in their order.
func settingFields() []settingField {
	t := reflect.TypeFor[Settings]()
	fields := make([]settingField, t.NumField())
	for i := range fields {
		f := t.Field(i)
		fields[i] = settingField{name: f.Tag.Get("set"), index: i, kind: f.Type.Kind()}
	}
	return fields
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

// merge completes the rows of a user's table with the built-in ones.
func (r *rules) merge(builtin []SettingRow, own bool) {
	r.builtin = make(map[string]SettingRow, len(builtin))
	have := make(map[string]bool, len(r.c.SettingRows))
	for i := range r.c.SettingRows {
		have[r.c.SettingRows[i].Name] = true
	}
	for _, b := range builtin {
		r.builtin[b.Name] = b
		if own || have[b.Name] {
			continue
		}
		r.c.SettingRows = append(r.c.SettingRows, b)
		r.places = append(r.places, trace.Place{File: builtinFile("settings"), Field: b.Name})
		r.skip = append(r.skip, false)
		r.c.warn(trace.Place{File: r.places[0].File, Sheet: r.places[0].Sheet, Field: b.Name}, "setting-built-in", "",
			fmt.Sprintf("the table leaves out the setting %s; the built-in value %q is used", b.Name, b.Value), "add the row to settle it")
	}
	if own {
		return
	}
	for i := range r.c.SettingRows {
		row := &r.c.SettingRows[i]
		if b, ok := r.builtin[row.Name]; ok && b.Value != row.Value {
			row.Changed = r.places[i].String()
		}
	}
}

// override applies "name=value" texts.
func (r *rules) override(sets []string) {
	seen := map[string]bool{}
	names := make([]string, len(r.c.SettingRows))
	for i := range r.c.SettingRows {
		names[i] = r.c.SettingRows[i].Name
	}
	for _, s := range sets {
		place := trace.Place{File: "--set " + clip(s)}
		name, value, ok := strings.Cut(s, "=")
		name, value = strings.TrimSpace(name), strings.TrimSpace(value)
		if !ok || name == "" {
			r.faults.add(place, "set-form", s, "a setting is given as name=value", "for example --set wrap.overlap=0.55")
			continue
		}
		i := slices.Index(names, name)
		if i < 0 {
			advice := "`wraptally catalog -o DIR` writes settings.csv with every name"
			if near := nearest(name, names); near != "" {
				advice = fmt.Sprintf("is %q meant?", near)
			}
			r.faults.add(place, "setting-unknown", name, "there is no setting of that name", advice)
			continue
		}
		if seen[name] {
			r.faults.add(place, "set-twice", name, "the setting is given twice", "give it once")
			continue
		}
		seen[name] = true
		if code, message, advice := checkText(value); code != "" {
			r.faults.add(place, code, value, "the value "+message, advice)
			continue
		}
		r.c.SettingRows[i].Value = value
		r.c.SettingRows[i].Changed = "--set"
		r.places[i] = trace.Place{File: place.File, Field: name}
		r.skip[i] = false
	}
}

// apply fills Settings from the rows.
func (r *rules) apply() {
	fields := settingFields()
	out := reflect.ValueOf(&r.c.Settings).Elem()
	filled := map[string]bool{}
	names := make([]string, len(fields))
	for i, f := range fields {
		names[i] = f.name
	}
	for i := range r.c.SettingRows {
		row := &r.c.SettingRows[i]
		k := slices.Index(names, row.Name)
		if k < 0 {
			if row.Name == "" || r.skip[i] {
				continue
			}
			advice := "take the row out"
			if near := nearest(row.Name, names); near != "" {
				advice = fmt.Sprintf("is %q meant?", near)
			}
			r.faults.add(r.names[i], "setting-unknown", row.Name, "there is no setting of that name", advice)
			continue
		}
		filled[row.Name] = true
		if r.skip[i] {
			continue
		}
		r.set(out.Field(fields[k].index), i)
	}
	for _, name := range names {
		if !filled[name] {
			r.faults.add(trace.Place{File: builtinFile("settings"), Field: name}, "setting-missing", "", "the setting "+name+" has no row", "add the row")
		}
	}
}

// set checks one value against its row and puts it into its field.
func (r *rules) set(f reflect.Value, i int) {
	row := &r.c.SettingRows[i]
	fail := func(code, message, advice string) {
		r.faults.add(r.places[i], code, row.Value, row.Name+" "+message, advice)
	}
	limits := []SettingRow{*row}
	if b, ok := r.builtin[row.Name]; ok {
		limits = append(limits, b)
	}
	base := limits[len(limits)-1]
	if row.Value == "" && base.Choices != dateWord {
		fail("cell-blank", "is blank", "give it a value")
		return
	}
	switch f.Kind() {
	case reflect.Float64, reflect.Int:
		v, err := parseFloat(row.Value, r.fromSheet)
		if err != nil {
			fail("number-bad", "is not a number", err.Error())
			return
		}
		for _, l := range limits {
			if !r.within(v, row.Name, l.Min, l.Max, fail) {
				return
			}
		}
		if f.Kind() == reflect.Float64 {
			f.SetFloat(v)
			return
		}
		n, err := parseInt(row.Value, r.fromSheet)
		if err != nil {
			fail("number-bad", "is not a whole number", err.Error())
			return
		}
		f.SetInt(int64(n))
	case reflect.String:
		if base.Choices == dateWord {
			if _, err := time.Parse(time.DateOnly, row.Value); row.Value != "" && err != nil {
				fail("date-bad", "is not a date", "write yyyy-mm-dd, such as 2030-05-31")
				return
			}
		} else {
			for _, l := range limits {
				if l.Choices == "" || l.Choices == dateWord {
					continue
				}
				if words := strings.Split(l.Choices, "|"); !slices.Contains(words, row.Value) {
					fail("word-unknown", "is not one of the words accepted", "write one of "+strings.Join(words, ", "))
					return
				}
			}
		}
		f.SetString(row.Value)
	default:
		panic("catalog: no rule for a setting of type " + f.Type().String())
	}
}

// within checks a number against limits given as text; a blank limit is none.
func (r *rules) within(v float64, name, low, high string, fail func(code, message, advice string)) bool {
	advice := "give a value " + between(low, high)
	for _, limit := range []struct {
		text string
		over bool
	}{{low, false}, {high, true}} {
		if limit.text == "" {
			continue
		}
		bound, err := parseFloat(limit.text, r.fromSheet)
		if err != nil {
			fail("number-bad", "has a limit that is not a number", err.Error())
			return false
		}
		if limit.over && v > bound {
			fail("value-out-of-range", "is above the largest value accepted", advice)
			return false
		}
		if !limit.over && v < bound {
			fail("value-out-of-range", "is below the smallest value accepted", advice)
			return false
		}
	}
	return true
}

// between words a range.
func between(low, high string) string {
	switch {
	case low == "":
		return "of at most " + high
	case high == "":
		return "of at least " + low
	default:
		return "from " + low + " to " + high
	}
}
