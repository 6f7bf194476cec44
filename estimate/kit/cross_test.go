package kit_test

import (
	"bytes"
	_ "embed"
	"encoding/json"
	"math"
	"os/exec"
	"slices"
	"strconv"
	"testing"

	"wraptally/estimate/internal/trial"
	"wraptally/estimate/kit"
	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
	"wraptally/estimate/trace"
	"wraptally/estimate/trace/outside"
)

//go:embed testdata/recompute.py
var recompute string

// figures are the results of a kit under the names of the Python script; ints
// are those that must be equal, not only near.
func figures(k *kit.Kit) (floats map[string]float64, ints map[string]int) {
	r := k.Repair
	floats = map[string]float64{
		"reach": r.Reach, "wrap": r.WrapThickness,
		"putty": k.Net.Putty.Volume, "putty_kg": k.Net.Putty.Mass, "largest": k.Putty.Largest, "prep": k.Net.Prep,
	}
	ints = map[string]int{"layers": r.Layers, "passes": r.Passes, "length": int(r.Length)}
	for _, t := range k.Net.Tapes {
		floats["tape_"+strconv.FormatFloat(t.Width, 'f', -1, 64)] = t.Net
	}
	for i := range k.Net.Seals { // one at the most: a lone defect
		s := &k.Net.Seals[i]
		floats["sealant"] = s.Volume
		ints["sheet_axial"], ints["sheet_round"], ints["bands"], ints["strips"], ints["strip"] = s.SheetA, s.SheetC, s.Bands, s.Strips, s.Strip
		ints["sticks"] = k.Sticks[0].Count
		floats["draw"], floats["tack"] = k.Kneads[0].Draw, k.Open
	}
	return floats, ints
}

// Eleven hundred random repairs of a single defect each, recomputed in Python
// from the same survey rows and catalogue by rules written apart: no figure may
// differ by 1e-9 of its size before rounding, whole ones not at all.
func TestCrossRecomputed(t *testing.T) {
	outside.NeedPython(t, "scipy")
	c := builtin(t)
	p := kit.NewPacker(c)
	dice := trial.Seeded(1000)
	var defects []survey.Defect
	var kits []*kit.Kit
	for len(kits) < 1100 {
		d := trial.Survey(dice, c, 1)[0]
		d.Chainage = survey.Known(0)
		r := scope.Plan([]survey.Defect{d}, c)[0]
		// What may not be repairable is worked out between the ends of its ranges, at a point found by
		// search; recomputed is the rule, at the hard ends.
		if r.Status != scope.Estimated || r.MayNotBe {
			continue
		}
		if k := p.Pack(r, nil); !slices.ContainsFunc(k.Queries, func(q trace.Query) bool { return q.Severity == trace.Stop }) {
			defects, kits = append(defects, d), append(kits, k)
		}
	}
	settings := map[string]any{}
	for _, row := range c.SettingRows {
		settings[row.Name] = row.Value
		if v, err := strconv.ParseFloat(row.Value, 64); err == nil {
			settings[row.Name] = v
		}
	}
	in, err := json.Marshal(map[string]any{
		"settings": settings, "pipes": c.Pipes, "wraps": c.Wraps, "bands": c.Bands, "fasteners": c.Fasteners, "sheets": c.Sheets,
		"sealants": c.Sealants, "putties": c.Putties, "accesses": c.Accesses, "putty_lives": c.PuttyLives, "min_layers": c.MinLayers, "components": c.Components,
		"life_factors": c.LifeFactors, "substrates": c.Substrates, "defects": defects,
	})
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(outside.Python, "-c", recompute)
	cmd.Stdin = bytes.NewReader(in)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%v\n%s", err, stderr.String())
	}
	var answers []map[string]float64
	if err := json.Unmarshal(out, &answers); err != nil {
		t.Fatal(err)
	}
	if len(answers) != len(kits) {
		t.Fatalf("%d answers", len(answers))
	}
	near, equal, sealed, worst := 0, 0, 0, 0.0
	for i, theirs := range answers {
		floats, ints := figures(kits[i])
		if len(kits[i].Net.Seals) > 0 {
			sealed++
		}
		for name := range floats {
			if _, ok := theirs[name]; !ok {
				t.Errorf("%d: %s is not given there\n%+v", i, name, defects[i])
			}
		}
		for name, want := range theirs {
			if got, ok := ints[name]; ok {
				equal++
				if float64(got) != want {
					t.Errorf("%d: %s is %d here, %v there\n%+v", i, name, got, want, defects[i])
				}
				continue
			}
			got, ok := floats[name]
			if !ok {
				t.Errorf("%d: %s is not given here\n%+v", i, name, defects[i])
				continue
			}
			near++
			diff := math.Abs(got-want) / math.Max(math.Abs(want), 1e-9)
			worst = math.Max(worst, diff)
			if !(diff < 1e-9) {
				t.Errorf("%d: %s is %.15g here, %.15g there\n%+v", i, name, got, want, defects[i])
			}
		}
		if t.Failed() && i > 50 {
			break
		}
	}
	if near < 8000 || equal < 5000 || sealed < 200 {
		t.Errorf("only %d numbers near and %d equal compared, %d repairs with a set", near, equal, sealed)
	}
	t.Logf("%d numbers and %d whole numbers compared, %d repairs with a sealing set; largest relative difference %.2g", near, equal, sealed, worst)
}
