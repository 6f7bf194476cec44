package main

import (
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// estimated is what is looked at of the JSON of a run.
type estimated struct {
	Bid struct {
		Total struct{ Value float64 }
		Lines []struct {
			Group  string
			Amount struct{ Value float64 }
		}
	}
	Alternatives []struct {
		Name    string
		Figures []struct {
			Name                    string
			Base, Value, Difference any
		}
	}
}

func estimatedBy(t *testing.T, args ...string) (e estimated) {
	t.Helper()
	var wrong strings.Builder
	if got := run(append([]string{"estimate", "--json", "out.json"}, args...), io.Discard, &wrong); got != exitOK {
		t.Fatal(wrong.String())
	}
	text, err := os.ReadFile("out.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &e); err != nil {
		t.Fatal(err)
	}
	return e
}

// figure is a figure of an alternative: as given, there, and the difference.
func (e *estimated) figure(t *testing.T, alternative, name string) (out [3]any) {
	t.Helper()
	for _, a := range e.Alternatives {
		for _, f := range a.Figures {
			if a.Name == alternative && f.Name == name {
				return [3]any{f.Base, f.Value, f.Difference}
			}
		}
	}
	t.Fatalf("no figure %q of %q", name, alternative)
	return out
}

// Two wrap systems and one crew or two, side by side by --alternative: each side
// is what a run of its own with those settings gives, stage by stage.
func TestWrapSystemsAndCrewsSideBySide(t *testing.T) {
	survey, err := filepath.Abs("../../testdata/surveys/campaign.csv")
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	if got := run([]string{"catalog", "-o", "own"}, io.Discard, io.Discard); got != exitOK {
		t.Fatal("no tables")
	}
	// A second system, of plies twice as thick, at half as much again, invented.
	for _, table := range []string{"items", "offers", "prices", "wraps"} {
		path := filepath.Join("own", table+".csv")
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		out := strings.TrimRight(string(text), "\n")
		for line := range strings.Lines(string(text)) {
			if !strings.HasPrefix(line, "WRAP-") {
				continue
			}
			line = strings.NewReplacer("WRAP-", "THICK-", "wrap, glass-fibre, water-activated", "wrap, thick", ",0.36,", ",0.72,", "B-12", "T-12", "C-12", "U-12").Replace(strings.TrimSpace(line))
			if table == "prices" {
				cells := strings.Split(line, ",")
				price, err := strconv.ParseFloat(cells[len(cells)-1], 64)
				if err != nil {
					t.Fatal(err)
				}
				cells[len(cells)-1] = strconv.FormatFloat(price*1.5, 'f', 2, 64)
				line = strings.Join(cells, ",")
			}
			out += "\n" + line
		}
		if err := os.WriteFile(path, []byte(out+"\n"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	sides := map[string]string{"thick": "wrap.system,\"wrap, thick\"", "two crews": "crew.count,2"}
	args := []string{survey, "--catalog", "own", "--set", "wrap.system=wrap, glass-fibre, water-activated"}
	both := args
	for name, row := range sides {
		if err := os.WriteFile(name+".csv", []byte("name,value\n"+row+"\n"), 0o600); err != nil {
			t.Fatal(err)
		}
		both = append(both, "--alternative", name+"="+name+".csv")
	}
	beside, given := estimatedBy(t, both...), estimatedBy(t, args...)
	for name, sets := range map[string][]string{"thick": {"--set", "wrap.system=wrap, thick"}, "two crews": {"--set", "wrap.system=wrap, glass-fibre, water-activated", "--set", "crew.count=2"}} {
		alone := estimatedBy(t, append([]string{survey, "--catalog", "own"}, sets...)...)
		of := func(e estimated, group string) (sum float64) {
			for _, l := range e.Bid.Lines {
				if l.Group == group {
					sum += l.Amount.Value
				}
			}
			return sum
		}
		for _, group := range []string{"materials", "labour", "site", "freight", "overhead", "contingency", "profit", "tax"} {
			f := beside.figure(t, name, group)
			if base, value := of(given, group), of(alone, group); !near(f[0], base) || !near(f[1], value) || !near(f[2], value-base) {
				t.Errorf("%s, %s: %v; runs of their own give %v and %v", name, group, f, base, value)
			}
		}
		if f := beside.figure(t, name, "BID WITH TAX"); !near(f[0], given.Bid.Total.Value) || !near(f[1], alone.Bid.Total.Value) || f[0] == f[1] {
			t.Errorf("%s: bids of %v; runs of their own %v and %v", name, f, given.Bid.Total.Value, alone.Bid.Total.Value)
		}
	}
	if f := beside.figure(t, "thick", "wrap systems"); f[0] != "wrap, glass-fibre, water-activated" || f[1] != "wrap, thick" {
		t.Errorf("systems %v", f)
	}
	if f := beside.figure(t, "thick", "rolls of wrap issued"); !(f[1].(float64) < f[0].(float64)) {
		t.Errorf("a wrap of plies twice as thick takes %v rolls, the other %v", f[1], f[0])
	}
	if f := beside.figure(t, "two crews", "crews sent"); f[0] != 1.0 || f[1] != 2.0 {
		t.Errorf("crews %v", f)
	}
	if f := beside.figure(t, "two crews", "working days"); !(f[1].(float64) < f[0].(float64)) {
		t.Errorf("two crews take %v days, one %v", f[1], f[0])
	}
}

func near(a any, b float64) bool { v, ok := a.(float64); return ok && v-b < 0.005 && b-v < 0.005 }
