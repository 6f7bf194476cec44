package survey

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"wraptally/estimate/trace/outside"
)

// TestCrossUnits compares every unit of the table, in every way of writing that
// GNU units knows, with GNU units 2.22 (Debian package units): 1 and 7.25 of the
// unit in the base unit.
func TestCrossUnits(t *testing.T) {
	outside.Need(t, "units")
	// The names that GNU units gives the same unit where ours differ from it.
	gnu := map[string]string{
		"mm": "mm", "cm": "cm", "m": "m", "km": "km", "in": "inch", "ft": "foot", "yd": "yard", "mil": "mil", "µm": "micron",
		"MPa": "MPa", "kPa": "kPa", "Pa": "Pa", "bar": "bar", "mbar": "mbar", "psi": "psi", "ksi": "kilopsi", "kgf/cm²": "kgf/cm^2",
		"N": "N", "kN": "kN", "MN": "MN", "kgf": "kgf", "tf": "1000 kgf", "lbf": "lbf", "kip": "1000 lbf",
		"°C": "tempC", "°F": "tempF", "K": "tempK", "deg": "degree", "clock": "circle/12", "months": "year/12", "years": "year",
		"mm/year": "mm/year", "mil/year": "mil/year",
	}
	base := map[Dim]string{DimLength: "mm", DimPressure: "MPa", DimForce: "N", DimTemperature: "tempC", DimAngle: "degree", DimTime: "year", DimRate: "mm/year"}
	n := 0
	for _, row := range unitTable {
		if row.Dim == DimPercent {
			continue
		}
		name, ok := gnu[row.Name]
		if !ok {
			t.Errorf("%s has no counterpart here", row.Name)
			continue
		}
		for _, v := range []float64{1, 7.25} {
			from := fmt.Sprintf("%v %s", v, name)
			if row.Dim == DimTemperature {
				from = fmt.Sprintf("%s(%v)", name, v)
			} else if strings.Contains(name, " ") || strings.Contains(name, "/") {
				from = fmt.Sprintf("%v (%s)", v, name)
			}
			out, err := exec.Command("units", "--terse", "--digits", "15", from, base[row.Dim]).CombinedOutput()
			if err != nil {
				t.Errorf("units %q %q: %v: %s", from, base[row.Dim], err, out)
				continue
			}
			want, err := strconv.ParseFloat(strings.TrimSpace(string(out)), 64)
			if err != nil {
				t.Errorf("units %q: %s", from, out)
				continue
			}
			got := row.Base(v)
			if math.Abs(got-want) > 1e-12*max(1, math.Abs(want)) {
				t.Errorf("%v %s = %v, GNU units says %v", v, row.Name, got, want)
			}
			n++
		}
	}
	t.Logf("%d conversions agree with GNU units", n)
}

// TestCrossSpectrum reads the twelve files of csv-spectrum 2.0.0 (npm) and
// compares them with the package's own JSON.
//
// Two of its expectations are answered for here. location_coordinates.json is
// one object and not a list, and its telephone number is not the one in its
// CSV; the other two cells are compared. newlines_crlf.json keeps a CRLF inside
// a cell, which the splitter, as encoding/csv, makes a line feed.
func TestCrossSpectrum(t *testing.T) {
	outside.Need(t, "npm", "tar")
	dir := t.TempDir()
	run := func(name string, args ...string) {
		cmd := exec.Command(name, args...)
		cmd.Dir = dir
		if out, err := cmd.CombinedOutput(); err != nil {
			if name == "npm" {
				outside.Missing(t, "csv-spectrum from npm ("+strings.TrimSpace(string(out))+")")
			}
			t.Fatalf("%s: %v: %s", name, err, out)
		}
	}
	run("npm", "pack", "--silent", "csv-spectrum@2.0.0")
	run("tar", "xzf", "csv-spectrum-2.0.0.tgz")
	files, err := filepath.Glob(filepath.Join(dir, "package", "csvs", "*.csv"))
	if err != nil || len(files) != 12 {
		t.Fatalf("%d files, want 12 (%v)", len(files), err)
	}
	for _, file := range files {
		name := strings.TrimSuffix(filepath.Base(file), ".csv")
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		rows, faults, err := splitAll(strings.NewReader(string(text)), ',', false)
		if err != nil || faults != nil {
			t.Errorf("%s: %v %v", name, err, faults)
			continue
		}
		var got []map[string]string
		for _, row := range rows[1:] {
			m := make(map[string]string)
			for i, c := range row {
				m[rows[0][i]] = c
			}
			got = append(got, m)
		}
		raw, err := os.ReadFile(filepath.Join(dir, "package", "json", name+".json"))
		if err != nil {
			t.Fatal(err)
		}
		var want []map[string]string
		if name == "location_coordinates" {
			var one map[string]string
			if err := json.Unmarshal(raw, &one); err != nil {
				t.Fatal(err)
			}
			delete(one, "Contact Phone Number")
			delete(got[0], "Contact Phone Number")
			want = append(want, one)
		} else if err := json.Unmarshal(raw, &want); err != nil {
			t.Fatal(err)
		}
		if name == "newlines_crlf" {
			for _, m := range want {
				for k, v := range m {
					m[k] = strings.ReplaceAll(v, "\r\n", "\n")
				}
			}
		}
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("%s (-json +splitter)\n%s", name, d)
		}
	}
}
