package catalog

import (
	"reflect"
	"slices"
	"strings"
	"testing"
)

// tablesOf is everything that was read, for comparing two catalogues.
func tablesOf(c *Catalog) map[string]any {
	out := map[string]any{"in force": c.Settings}
	for i := range tables {
		out[tables[i].name] = reflect.ValueOf(tables[i].rows(c)).Elem().Interface()
	}
	return out
}

func builtin(t testing.TB) *Catalog {
	t.Helper()
	c, err := Builtin()
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestBuiltinHasNeitherFaultNorNote(t *testing.T) {
	for _, w := range builtin(t).Warnings {
		t.Error(w)
	}
}

// Every field of Settings has a row of the built-in table, every row a field,
// in the same order; a number has its limits, and every row its basis.
func TestSettingsAndRowsMatch(t *testing.T) {
	c := builtin(t)
	fields := settingFields()
	var names []string
	for _, f := range fields {
		if f.name == "" || slices.Contains(names, f.name) {
			t.Errorf("field %d of Settings has no name of its own: %q", f.index, f.name)
		}
		names = append(names, f.name)
	}
	for i, r := range c.SettingRows {
		k := slices.Index(names, r.Name)
		if k < 0 {
			t.Errorf("row %s has no field", r.Name)
			continue
		}
		if i < len(names) && names[i] != r.Name {
			t.Errorf("row %d is %s, the field there %s", i+1, r.Name, names[i])
		}
		if fields[k].kind != reflect.String && (r.Min == "" || r.Max == "") {
			t.Errorf("the number %s has no limits", r.Name)
		}
		if !strings.HasSuffix(r.Meaning, ".") {
			t.Errorf("the meaning of %s is no sentence: %q", r.Name, r.Meaning)
		}
		memory := strings.Contains(r.Basis, "[S]") || strings.Contains(r.Basis, "common practice") || strings.Contains(r.Basis, "from memory")
		if memory && r.Verified != "no" {
			t.Errorf("%s rests on %q and is marked verified: %s", r.Name, r.Basis, r.Verified)
		}
	}
	if len(c.SettingRows) != len(names) {
		t.Errorf("%d rows for %d fields", len(c.SettingRows), len(names))
	}
}

// Every column of every table is described in the README, and every table that
// is embedded is read.
func TestReadmeNamesEveryColumn(t *testing.T) {
	text, err := book.ReadFile("book/README.md")
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(string(text), "\n")
	for i := range tables {
		def := &tables[i]
		var want []string
		for _, col := range columns(reflect.TypeOf(def.rows(&Catalog{})).Elem().Elem()) {
			name := col.name
			if col.optional {
				name = "[" + name + "]"
			}
			want = append(want, name)
		}
		row := slices.IndexFunc(lines, func(l string) bool { return strings.HasPrefix(l, "| "+def.name+" |") })
		if row < 0 {
			t.Errorf("the README does not name %s", def.name)
			continue
		}
		if tail := " | " + strings.Join(want, ", ") + " |"; !strings.HasSuffix(lines[row], tail) {
			t.Errorf("%s: the README says %q, the columns are %q", def.name, lines[row], tail)
		}
	}
	entries, err := book.ReadDir("book")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if name, ok := strings.CutSuffix(e.Name(), ".csv"); ok && !slices.Contains(TableNames(), name) {
			t.Errorf("%s is never read", e.Name())
		}
	}
}

// The words of the checks are those of the README, in one line each.
func TestReadmeNamesEveryWord(t *testing.T) {
	text, err := book.ReadFile("book/README.md")
	if err != nil {
		t.Fatal(err)
	}
	flat := strings.Join(strings.Fields(string(text)), " ")
	for _, list := range [][]string{kinds, units, levels, rulePer, whens, stages} {
		if !strings.Contains(flat, strings.Join(list, ", ")) {
			t.Errorf("the README does not list %v", list)
		}
	}
	for _, list := range [][]string{schemes, costPer, verifieds, surfaces, parts} {
		for _, w := range list {
			if !strings.Contains(flat, w) {
				t.Errorf("the README does not say %q", w)
			}
		}
	}
}

// Two loads give the same, whatever the order of maps.
func TestLoadingIsRepeatable(t *testing.T) {
	a, b := builtin(t), builtin(t)
	if !reflect.DeepEqual(a.find.offers, b.find.offers) || !reflect.DeepEqual(tablesOf(a), tablesOf(b)) {
		t.Error("two loads of the built-in catalogue differ")
	}
}

func BenchmarkBuiltin(b *testing.B) {
	for b.Loop() {
		if _, err := Builtin(); err != nil {
			b.Fatal(err)
		}
	}
}

// The checks are told apart by their names.
func TestCheckNamesDiffer(t *testing.T) {
	names := CheckNames()
	slices.Sort(names)
	if len(names) != len(checks) || len(slices.Compact(names)) != len(checks) {
		t.Errorf("names %q", names)
	}
}
