package survey

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

const clients = "../../testdata/surveys/clients/"

// led reads a survey with the options of its own guide, as a user who copies the
// command line that was printed.
func led(t *testing.T, name string, opts Options) (*Guide, *Result) {
	t.Helper()
	opts.Name, opts.Sizes = name, testSizes{}
	_, err := Open(clients+name, opts)
	e, ok := err.(*Error)
	if !ok || e.Guide == nil {
		t.Fatalf("%s: no guide: %v", name, err)
	}
	for _, o := range e.Guide.Options {
		key, value, _ := strings.Cut(o[1], "=")
		switch o[0] {
		case "map":
			opts.Map = append(opts.Map, Mapping{Field: key, Heading: value})
		case "set":
			opts.Defaults = append(opts.Defaults, Default{Field: strings.TrimPrefix(key, "survey."), Value: value})
		case "only":
			opts.Only = append(opts.Only, Filter{Column: key, Values: []string{value}})
		default:
			t.Fatalf("%s: option %v", name, o)
		}
	}
	r, err := Open(clients+name, opts)
	if err != nil {
		t.Fatalf("%s: %v with %v", name, err, e.Guide.Options)
	}
	return e.Guide, r
}

// TestGuideReadsTheSurvey: the options of the guide read the records that a
// person would read; the numbers were worked out by hand (inch 25.4 mm, foot
// 304.8 mm, psi 0.006894757 MPa).
func TestGuideReadsTheSurvey(t *testing.T) {
	const psi720 = 4.9642252
	leans := []string{"asked-line", "asked-leaking"}
	widest := []string{"asked-line", "asked-chainage", "asked-axial", "asked-circ", "asked-leaking"}
	listing := func(id string, chainage, axial, circ, left, clock float64) Defect {
		return Defect{ID: id, Line: unknownLine + id, Chainage: Known(chainage), OD: Known(609.6), ODFrom: "od", Wall: Known(6.35), Axial: Known(axial), Circ: Known(circ),
			Remaining: Known(left), Leaking: No, Clock: Known(clock), Pressure: Known(psi720), Leans: leans}
	}
	metric := func(id string, chainage, axial, circ, left, clock float64) Defect {
		return Defect{ID: id, Line: unknownLine + id, Chainage: Known(chainage), OD: Known(610), ODFrom: "od", Wall: Known(9.5), Axial: Known(axial), Circ: Known(circ),
			Remaining: Known(left), Leaking: No, Clock: Known(clock), Leans: []string{"asked-line", "asked-od", "asked-leaking"}}
	}
	brk := func(line int, size string, od, nth float64, substrate, note string) Defect {
		id := fmt.Sprintf("B-%d", 97+line)
		return Defect{ID: id, Tag: id, Line: unknownLine + id, Chainage: Known(nth * 1e6), OD: Known(od), ODFrom: "size", Size: size, Series: "NPS", Axial: Known(150), Circ: Known(150), Leaking: Yes, Substrate: substrate, Note: note,
			Leans: append(slices.Clone(widest), "size-inch-nps")}
	}
	near := listing("row 7", 9662.16, 60.96, 50.8, 3.048, 156)
	near.Note = "near support"
	tests := map[string][]Defect{
		"inline-inspection.csv": {
			listing("row 6", 5882.64, 45.72, 27.94, 4.191, 135), near,
			listing("row 10", 23591.52, 78.74, 22.86, 5.0165, 352.5), listing("row 12", 30815.28, 139.7, 66.04, 2.4765, 180),
		},
		"metric-listing.csv": {metric("row 5", 3450, 45, 30, 7.315, 127.5), metric("row 7", 15720, 120, 65, 5.605, 180), metric("row 9", 30110, 200, 150, 9.31, 0)},
		"city-breaks.csv":    {brk(4, "6", 168.3, 1, "cast iron", ""), brk(5, "8", 219.1, 2, "ductile iron", "at the valve"), brk(6, "12", 323.8, 3, "steel", ""), brk(7, "6", 168.3, 4, "cast iron", "second time")},
		"dig-sheet.csv": {
			{ID: "row 4", Line: unknownLine + "row 4", Chainage: Known(1204550), OD: Known(323.8), ODFrom: "od", Wall: Known(9.53), Axial: Known(140), Circ: Known(60), Remaining: Known(6.43), Leaking: No, Clock: Known(135), Pressure: Known(2.5), Leans: leans[:1]},
			{ID: "row 5", Line: unknownLine + "row 5", Chainage: Known(1204980), OD: Known(323.8), ODFrom: "od", Wall: Known(9.53), Axial: Known(85), Circ: Known(40), Remaining: Known(5.13), Leaking: No, Clock: Known(180), Pressure: Known(2.5), Leans: leans[:1]},
			{ID: "row 6", Line: unknownLine + "row 6", Chainage: Known(1388200), OD: Known(323.8), ODFrom: "od", Wall: Known(9.53), Axial: Known(210), Circ: Known(95), Remaining: Known(7.33), Leaking: No, Clock: Known(95), Pressure: Known(2.5), Note: "under clamp", Leans: leans[:1]},
		},
		"leak-list.txt": {
			{ID: "row 2", Line: "FW-12", Area: "pump house", Chainage: Known(3200), OD: Known(168.3), ODFrom: "size", Size: "6", Series: "NPS", Axial: Known(4), Circ: Known(4), Hole: true, Leaking: Yes, Pressure: Known(0.6), SurfaceTemp: Known(18), Medium: "fire water"},
			{ID: "row 3", Line: "FW-12", Area: "pump house", Chainage: Known(9800), OD: Known(168.3), ODFrom: "size", Size: "6", Series: "NPS", Axial: Known(3), Circ: Known(3), Hole: true, Leaking: Yes, Pressure: Known(0.6), SurfaceTemp: Known(18), Medium: "fire water"},
			{ID: "row 4", Line: "CW-7", Area: "trench 4", Chainage: Known(22500), OD: Known(273), ODFrom: "size", Size: "10", Series: "NPS", Axial: Known(6), Circ: Known(6), Hole: true, Leaking: No, Pressure: Known(0.4), SurfaceTemp: Known(24), Medium: "cooling water"},
		},
	}
	for name, want := range tests {
		t.Run(name, func(t *testing.T) {
			_, r := led(t, name, Options{})
			if d := cmp.Diff(want, r.Defects, cmpopts.IgnoreFields(Defect{}, "Line0"), cmpopts.EquateApprox(1e-7, 0)); d != "" {
				t.Errorf("(-want +got)\n%s", d)
			}
			if r.Account.Queried > 0 {
				t.Errorf("%+v", r.Queries)
			}
		})
	}
	files, err := filepath.Glob(clients + "*")
	if err != nil {
		t.Fatal(err)
	}
	source, err := os.ReadFile("clients_test.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if name := filepath.Base(f); !strings.Contains(string(source), `"`+name+`"`) {
			t.Errorf("%s is read by no test", name)
		}
	}
}

// TestMapByFullHeading: two headings that differ in their units alone are told
// apart by a mapping, and a mapping to no heading is refused.
func TestMapByFullHeading(t *testing.T) {
	text := "line,chainage_m,od_mm,axial_mm,circ_mm,leaking,wall_mm,Depth [%],Depth [in]\nL1,1,168.3,40,30,no,7.11,45,0.1\n"
	for heading, left := range map[string]float64{"Depth [%]": 7.11 * 0.55, "depth [in]": 7.11 - 2.54, "DEPTH (IN)": 7.11 - 2.54} {
		r := read(t, text, Options{Map: []Mapping{{"depth", heading}}})
		if d := cmp.Diff(Known(left), r.Defects[0].Remaining, near15); d != "" {
			t.Errorf("%s: %s", heading, d)
		}
	}
	r := read(t, text, Options{Map: []Mapping{{"depth", "Depth [%]"}, {"note", "Depth [in]"}}})
	if r.Defects[0].Note != "0.1" {
		t.Errorf("both mapped: %+v", r.Defects[0])
	}
	_, err := Read(strings.NewReader(text), int64(len(text)), Options{Map: []Mapping{{"wall", "Wal mm"}}})
	if e, ok := err.(*Error); !ok || !strings.Contains(e.Problem, "there is no heading \"Wal mm\"") || !strings.Contains(e.Hint, "\"wall_mm\"") {
		t.Errorf("%v", err)
	}
	if _, err := Read(strings.NewReader(text), int64(len(text)), Options{SavedMap: []Mapping{{"wall", "Wal mm"}}, Map: []Mapping{{"depth", "Depth [%]"}}}); err != nil {
		t.Errorf("a kept mapping: %v", err)
	}
}
