package audit

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"wraptally/estimate/trace/depth"
)

func kept(t *testing.T) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "testdata", "campaign.json"))
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// The kept run, a leak and a pit, has nothing to find, and no step is passed over.
func TestNothingIsFoundInARun(t *testing.T) {
	r, err := JSON(bytes.NewReader(kept(t)))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range r.Faults {
		t.Error(f)
	}
	steps := bytes.Count(kept(t), []byte(`"formula":`))
	if r.Steps() != steps || r.PutBack == 0 || r.Compared == 0 || r.Replayed == 0 || r.Followed == 0 || r.Summed == 0 {
		t.Errorf("%d steps of %d: %+v", r.Steps(), steps, r)
	}
}

// numbers are pointers to every figure of a value, with their paths.
func numbers(v reflect.Value, path string, found func(path string, set func(float64), is float64)) {
	switch v.Kind() {
	case reflect.Struct:
		if v.Type() == reflect.TypeFor[input]() {
			path += " from " + v.FieldByName("From").String()
		}
		for i := range v.NumField() {
			numbers(v.Field(i), path+"/"+v.Type().Field(i).Name, found)
		}
	case reflect.Slice:
		for i := range v.Len() {
			numbers(v.Index(i), fmt.Sprintf("%s/%d", path, i), found)
		}
	case reflect.Pointer:
		if !v.IsNil() {
			numbers(v.Elem(), path, found)
		}
	case reflect.Map:
		for _, k := range v.MapKeys() {
			f, ok := v.MapIndex(k).Interface().(figure)
			if !ok {
				continue
			}
			found(path+"/"+k.String(), func(x float64) { v.SetMapIndex(k, reflect.ValueOf(figure{x, f.Unit, f.Why})) }, f.Value)
		}
	case reflect.Interface:
		if x, ok := v.Interface().(float64); ok {
			found(path, func(x float64) { v.Set(reflect.ValueOf(x)) }, x)
		}
	case reflect.Float64:
		found(path, v.SetFloat, v.Float())
	}
}

// Any single figure that is changed, be it by a part in a thousand, is found:
// every value and every input of a step, every figure beside them, every total.
func TestAnyChangedFigureIsFound(t *testing.T) {
	var doc struct {
		Settings []setting
		Repairs  []repair
		campaign
	}
	if err := json.Unmarshal(kept(t), &doc); err != nil {
		t.Fatal(err)
	}
	formulas := &reader{map[string]*statement{}}
	faults := func() []Fault {
		a := newAuditor(formulas)
		a.set(doc.Settings)
		for i := range doc.Repairs {
			a.repair(&doc.Repairs[i])
		}
		a.campaign = &doc.campaign
		a.total()
		return a.report.Faults
	}
	if f := faults(); len(f) > 0 {
		t.Fatal(f)
	}
	met, tried, passed := 0, 0, map[string]int{}
	numbers(reflect.ValueOf(&doc).Elem(), "", func(path string, set func(float64), is float64) {
		if met++; met%depth.Of(6, 1) != 0 {
			return
		}
		tried++
		for _, to := range []float64{is*1.001 + 0.001, is*0.999 - 0.001} {
			set(to)
			if len(faults()) == 0 {
				passed[fmt.Sprintf("%s: %v for %v", path, to, is)]++
			}
		}
		set(is)
	})
	// What is left depends on nothing else that is printed: a value of the survey or
	// of a table that another one outweighs, and what is left over of a coil. It is
	// found by making the run again; that is tested with the command.
	alone := 0
	for p := range passed {
		_, from, isInput := strings.Cut(p, " from ")
		from, _, _ = strings.Cut(from, "/Value")
		single := !strings.Contains(from, ",") && !strings.Contains(from, "…")
		switch {
		case isInput && !(single && strings.HasPrefix(from, "step ")) && !(single && strings.HasPrefix(from, "setting ")):
		case strings.Contains(p, "/Figures/outside_diameter"), strings.Contains(p, "/Cutting/"), strings.Contains(p, "/Bid/"):
		default:
			t.Error(p)
			continue
		}
		alone++
	}
	t.Logf("%d figures, %d of %d changes seen only when the run is made again", tried, alone, 2*tried)
	if tried < depth.Of(170, 1000) || alone > tried/4 || len(faults()) > 0 {
		t.Errorf("%d figures tried, %d changes not seen", tried, alone)
	}
}
