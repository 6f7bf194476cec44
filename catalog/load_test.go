package catalog

import (
	"flag"
	"fmt"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// tablesOf is everything that was read, for comparing two catalogues.
func tablesOf(c *Catalog) map[string]any {
	out := map[string]any{"in force": c.Settings}
	for i := range tables {
		out[tables[i].name] = reflect.ValueOf(c).Elem().Field(tables[i].field).Interface()
	}
	return out
}

func builtin(t testing.TB) *Catalog {
	t.Helper()
	c, err := Load(Options{})
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
	fields := settingFields
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

// The part of the README below this line is written from the declarations.
const readmeMark = "## Tables and columns\n"

// The README of the tables says every table and column with its unit, what it
// accepts and what it means, as declared; -update writes it anew. Every table
// that is embedded is read.
func TestReadmeSaysTheDeclarations(t *testing.T) {
	text, err := book.ReadFile("book/README.md")
	if err != nil {
		t.Fatal(err)
	}
	own, _, ok := strings.Cut(string(text), readmeMark)
	if !ok {
		t.Fatalf("the README has no heading %q", readmeMark)
	}
	want := own + readmeMark + declarations()
	if *update {
		if err := os.WriteFile("book/README.md", []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
	} else if diff := cmp.Diff(want, string(text)); diff != "" {
		t.Errorf("run go test ./catalog -update; the README differs from the declarations:\n%s", diff)
	}
	for _, def := range beside() {
		names := make([]string, len(def.cols))
		for i := range def.cols {
			names[i] = def.cols[i].name
		}
		file, want := "book/"+def.name+".csv", strings.Join(names, ",")+"\n"
		if *update {
			if err := os.WriteFile(file, []byte(want), 0o644); err != nil {
				t.Fatal(err)
			}
		} else if text, err := book.ReadFile(file); err != nil || string(text) != want {
			t.Errorf("run go test ./catalog -update; %s: %q, %v", file, text, err)
		}
	}
	entries, err := book.ReadDir("book")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if name, ok := strings.CutSuffix(e.Name(), ".csv"); ok && !slices.Contains(append(sourceNames(), besideNames()...), name) {
			t.Errorf("%s is never read", e.Name())
		}
	}
}

var update = flag.Bool("update", false, "write the README of the tables anew")

// besideMark heads the tables that are no part of a catalogue.
const besideMark = `## Tables beside the catalogue

What is in store and what moved in a running campaign change from day to day, so that they are no part of
a catalogue: give them with ` + "`--stock stock.csv` and `--moves movements.csv`" + `. Their headings are
written here, empty; a file of these names in the folder of a catalogue is not read with it.
`

// declarations is the part of the README that follows from the declarations.
func declarations() string {
	var b strings.Builder
	for i, def := range append(sources(), beside()...) {
		if i == len(sources()) {
			b.WriteString("\n" + besideMark)
		}
		key := ""
		if len(def.keys) > 0 {
			key = "; no two rows have the same " + strings.Join(def.keys[0], ", ")
		}
		fmt.Fprintf(&b, "\n### %s\n\nOne row is %s%s.\n\n| column | unit | accepts | meaning |\n|---|---|---|---|\n", def.name, def.means, key)
		for j := range def.cols {
			col := &def.cols[j]
			name := col.name
			if col.optional {
				name = "[" + name + "]"
			}
			fmt.Fprintf(&b, "| %s | %s | %s | %s |\n", name, col.unit, col.accepts(), strings.NewReplacer("|", "\\|", "\n", "; ").Replace(col.means))
		}
	}
	return b.String()
}

// Every column has its meaning, every number its limits and, unless it is a
// plain number, its unit; what tags name is there.
func TestDeclarationsAreComplete(t *testing.T) {
	numbers := []reflect.Type{reflect.TypeFor[float64](), reflect.TypeFor[int](), decimalType, knownType}
	for _, def := range append(slices.Clone(tables), stockTable, ledgerTable) {
		if def.means == "" {
			t.Errorf("%s: one row means nothing", def.name)
		}
		for _, key := range def.keys {
			for _, name := range key {
				def.column(name) // panics where there is none
			}
		}
		for _, col := range def.cols {
			if col.means == "" {
				t.Errorf("%s.%s has no meaning", def.name, col.name)
			}
			if number := slices.Contains(numbers, col.kind); number != (col.limit != nil) || !number && col.unit != "" {
				t.Errorf("%s.%s: a number has its limits, and nothing else has", def.name, col.name)
			}
			if col.table != "" {
				tableNamed(col.table).column(col.target)
			}
			for _, tr := range col.trends {
				def.column(tr.along)
				for _, name := range tr.of {
					def.column(name)
				}
			}
			for _, name := range append(slices.Clone(col.same), col.above) {
				if name != "" {
					def.column(name)
				}
			}
		}
	}
	for _, f := range settingFields {
		if f.least != "" && !slices.Contains(settingNames, f.least) {
			t.Errorf("%s: no setting %s", f.name, f.least)
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
		if _, err := Load(Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
