package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"wraptally/estimate/survey"
	"wraptally/estimate/trace/outside"
)

// validator reads f.csv by the Table Schema s.json and prints what it finds.
const validator = `const {Schema, Table} = require('tableschema');
(async () => {
  const schema = await Schema.load(JSON.parse(require('fs').readFileSync('s.json')), {strict: true});
  const table = await Table.load('f.csv', {schema: schema.descriptor, strict: true});
  const errors = [];
  for (const row of await table.read({forceCast: true}))
    if (row instanceof Error) for (const e of row.errors && row.errors.length ? row.errors : [row]) errors.push(e.message);
  console.log(JSON.stringify({valid: schema.valid, errors}));
})().catch(e => console.log(JSON.stringify({failed: e.message})));`

// TestCrossTableSchema holds the schema of the survey and a survey made by it to
// the validator tableschema 1.12.6 (npm) of the Frictionless specifications: the
// schema is valid, a survey that the program reads without a stop conforms to it,
// and one with wrong cells fails at each of them.
func TestCrossTableSchema(t *testing.T) {
	outside.Need(t, "node")
	if err := exec.Command("node", "-e", "require('tableschema')").Run(); err != nil {
		outside.Missing(t, "tableschema in NODE_PATH")
	}
	dir := t.TempDir()
	var schema, errOut bytes.Buffer
	if code := run([]string{"fields", "--json"}, &schema, &errOut); code != exitOK {
		t.Fatal(errOut.String())
	}
	write := func(name string, data []byte) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	write("s.json", schema.Bytes())
	write("v.js", []byte(validator))
	cells := map[string]string{"id": "P-1", "line": "L-1", "chainage_m": "12.4", "od_mm": "168.3", "wall_mm": "7.11", "axial_mm": "40", "circ_mm": "25", "remaining_mm": "3.2",
		"leaking": "no", "clock": "4:30", "pressure_mpa": "0.6", "surface": "dry", "hazardous": "no", "component": "pipe", "mechanism": "external", "need_date": "2027-03-15"}
	judge := func(change map[string]string) (errors []string) {
		var heads, row []string
		for _, f := range survey.Fields() {
			v := cells[f.Heading]
			if c, ok := change[f.Heading]; ok {
				v = c
			}
			heads, row = append(heads, f.Heading), append(row, v)
		}
		var text bytes.Buffer
		w := csv.NewWriter(&text)
		if err := w.WriteAll([][]string{heads, row}); err != nil {
			t.Fatal(err)
		}
		path := write("f.csv", text.Bytes())
		var out, said bytes.Buffer
		if code := run([]string{"check", path}, &out, &said); (code == exitOK) != (change == nil) {
			t.Errorf("%v: the program says %d: %s%s", change, code, out.String(), said.String())
		}
		node := exec.Command("node", "v.js")
		node.Dir = dir
		got, err := node.Output()
		if err != nil {
			t.Fatal(err)
		}
		var found struct {
			Valid  bool
			Errors []string
			Failed string
		}
		if err := json.Unmarshal(got, &found); err != nil || !found.Valid || found.Failed != "" {
			t.Fatalf("%v: %s", err, got)
		}
		return found.Errors
	}
	if errors := judge(nil); len(errors) > 0 {
		t.Errorf("a right survey: %q", errors)
	}
	for field, wrong := range map[string]string{"od_mm": "-5", "leaking": "perhaps", "surface": "mossy", "wall_mm": "thin", "line": ""} {
		errors := judge(map[string]string{field: wrong})
		if !slices.ContainsFunc(errors, func(e string) bool { return strings.Contains(e, `"`+field+`"`) }) {
			t.Errorf("%s = %q is not found: %q", field, wrong, errors)
		}
	}
}
