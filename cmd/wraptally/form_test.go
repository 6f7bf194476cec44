package main

import (
	"bytes"
	"encoding/json"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"wraptally/estimate/survey"
)

// TestFormFilledIn fills in the empty survey as an inspector would and reads it
// without a query; the form holds a choice or a limit for every field that has
// one.
func TestFormFilledIn(t *testing.T) {
	path := filepath.Join(t.TempDir(), "form.xlsx")
	do := func(args ...string) (string, string, int) {
		var out, errOut bytes.Buffer
		code := run(args, &out, &errOut)
		return out.String(), errOut.String(), code
	}
	if _, said, code := do("form", "-o", path); code != exitOK {
		t.Fatal(said)
	}
	if _, said, code := do("form", "-o", path); code != exitData || !strings.Contains(said, "is there already") {
		t.Errorf("a form is written over: %d %s", code, said)
	}
	f, err := excelize.OpenFile(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := f.GetRows("Survey")
	if err != nil {
		t.Fatal(err)
	}
	head := slices.IndexFunc(rows, func(r []string) bool { return slices.Contains(r, "od_mm") && slices.Contains(r, "leaking") })
	given := map[string]any{"id": "P-1", "line": "L-1", "chainage_m": 12.4, "od_mm": 168.3, "size": "6", "series": "NPS", "wall_mm": 7.11, "axial_mm": 40, "circ_mm": 25, "remaining_mm": 3.2,
		"leaking": "no", "clock": "4:30", "pressure_mpa": 0.6, "live_pressure_mpa": 0.4, "surface_temp_c": 24, "design_temp_c": 40, "air_temp_c": 20, "humidity_pct": 60, "surface": "dry", "medium": "cooling water",
		"hazardous": "no", "component": "pipe", "access": "ground", "need_date": "2027-03-15", "life_years": 10, "stress_mpa": 138, "cycles": 100, "mechanism": "external", "substrate": "steel", "free_run_before_mm": 2000, "free_run_after_mm": 2000, "note": "=not a formula"}
	for i, h := range rows[head] {
		if strings.HasPrefix(h, "corrosion_rate_") {
			given[h] = 0.1
		}
		if v, ok := given[h]; ok {
			cell, err := excelize.CoordinatesToCellName(i+1, head+2)
			if err != nil {
				t.Fatal(err)
			}
			if err := f.SetCellValue("Survey", cell, v); err != nil {
				t.Fatal(err)
			}
			delete(given, h)
		}
	}
	if len(given) > 0 {
		t.Errorf("the form has no heading for %v", given)
	}
	limits, err := f.GetDataValidations("Survey")
	if err != nil {
		t.Fatal(err)
	}
	want := 0
	for _, fd := range survey.Fields() {
		if fd.Kind == survey.KindNumber || fd.Words() != nil {
			want++
		}
	}
	if len(limits) != want {
		t.Errorf("%d limits and choices, want %d", len(limits), want)
	}
	if err := f.Save(); err != nil {
		t.Fatal(err)
	}
	out, said, code := do("check", path)
	if code != exitOK || !strings.Contains(out, "1 row read = 1 estimated") {
		t.Fatalf("exit %d\n%s%s", code, out, said)
	}
	for line := range strings.Lines(out) {
		if strings.Contains(line, ": please confirm: ") && !strings.Contains(line, "100-CW-001-P-014") || strings.Contains(line, ": left out: ") {
			t.Errorf("the form filled in raises %s", line)
		}
	}
}

// TestTableSchema holds the schema to what the Table Schema specification asks
// of a field descriptor (from memory): a name each its own, a known type,
// constraints that fit it.
func TestTableSchema(t *testing.T) {
	var out, errOut bytes.Buffer
	if code := run([]string{"fields", "--json"}, &out, &errOut); code != exitOK {
		t.Fatal(errOut.String())
	}
	var schema struct {
		Fields []struct {
			Name, Type  string
			TrueValues  []string
			Constraints struct {
				Required         bool
				Minimum, Maximum *float64
				Enum             []string
			}
		}
		MissingValues []string
	}
	d := json.NewDecoder(&out)
	if err := d.Decode(&schema); err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for i, f := range survey.Fields() {
		s := schema.Fields[i]
		if s.Name != f.Heading || seen[s.Name] {
			t.Errorf("field %d is called %q", i, s.Name)
		}
		seen[s.Name] = true
		number := s.Type == "number" || s.Type == "integer"
		if number != (f.Kind == survey.KindNumber) || number && (s.Constraints.Minimum == nil || *s.Constraints.Minimum >= *s.Constraints.Maximum) ||
			(s.Type == "boolean") != (f.Kind == survey.KindYesNo) || s.Type == "boolean" && !slices.Equal(s.TrueValues, []string{"yes"}) ||
			f.Kind == survey.KindWord && !slices.Contains(s.Constraints.Enum, f.Example) || s.Constraints.Required != (f.Required == "yes") {
			t.Errorf("%s: %+v", f.Heading, s)
		}
	}
	if len(schema.Fields) != len(seen) || !slices.Contains(schema.MissingValues, "") {
		t.Errorf("%d fields, missing values %q", len(schema.Fields), schema.MissingValues)
	}
}
