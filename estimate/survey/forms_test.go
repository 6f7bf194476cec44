package survey

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"wraptally/estimate/trace"
)

const forms = "../../testdata/surveys/forms/"

// fourPlaces is what the first group of forms must all read as.
func fourPlaces() []Defect {
	d := func(id, line string, chainage, od, wall, axial, circ, mpa, temp float64, leak Tri, note string) Defect {
		return Defect{ID: id, Tag: id, Line: line, Chainage: Known(chainage), OD: Known(od), ODFrom: "od", Wall: Known(wall), Axial: Known(axial), Circ: Known(circ),
			Leaking: leak, Pressure: Known(mpa), SurfaceTemp: Known(temp), Note: note}
	}
	a1 := d("A1", "L-1", 1_234_500, 168.3, 7.11, 40, 10, 1.6, 25.5, No, `coat; "old", loose`)
	a1.Remaining, a1.Clock = Known(2.5), Known(324)
	a2 := d("A2", "L-1", 1_236_000, 168.3, 7.11, 20.5, 12, 1.6, 25.5, Yes, "two\nlines")
	a2.Clock = Known(90)
	a3 := d("A3", "L-2", 5250, 114.3, 6.02, 30, 25, 0.6, 40, No, "near the tee")
	a3.Remaining = Known(3)
	a4 := d("A4", "L-2", -1000, 60.3, 3.91, 15, 10, 0.6, 40, Yes, "")
	a4.Clock = Known(180)
	return []Defect{a1, a2, a3, a4}
}

// near15 forgives the last bits of a unit conversion (16 bar · 0.1).
var near15 = cmpopts.EquateApprox(1e-12, 1e-12)

// TestFormsOfOneSurvey reads the same four places from every dress in which they
// may come, without an option, and checks what was detected.
func TestFormsOfOneSurvey(t *testing.T) {
	tests := []struct {
		file  string
		want  Detected
		notes map[int]string // notes that the form cannot hold
	}{
		{file: "comma.csv", want: Detected{Form: "CSV", Encoding: "utf-8", LineEnds: "LF", Delimiter: ",", Decimal: ".", HeaderRow: 1, HeaderRows: 1}},
		{file: "semicolon-comma-bom-crlf.csv", want: Detected{Form: "CSV", Encoding: "utf-8", BOM: true, LineEnds: "CRLF", Delimiter: ";", Decimal: ",", HeaderRow: 1, HeaderRows: 1}},
		{file: "thousands-nbsp.csv", want: Detected{Form: "CSV", Encoding: "utf-8", LineEnds: "LF", Delimiter: ";", Decimal: ",", HeaderRow: 1, HeaderRows: 1}},
		{file: "tab-utf16le-bom.txt", want: Detected{Form: "CSV", Encoding: "utf-16le", BOM: true, LineEnds: "CRLF", Delimiter: "tab", Decimal: ".", HeaderRow: 1, HeaderRows: 1}},
		{file: "semicolon-utf16be.csv", want: Detected{Form: "CSV", Encoding: "utf-16be", LineEnds: "LF", Delimiter: ";", Decimal: ".", HeaderRow: 1, HeaderRows: 1}},
		{file: "pipe-padded-cr.csv", want: Detected{Form: "CSV", Encoding: "utf-8", LineEnds: "CR", Delimiter: "|", Decimal: ".", HeaderRow: 1, HeaderRows: 1}, notes: map[int]string{1: "two lines"}},
		{file: "sep-line.csv", want: Detected{Form: "CSV", Encoding: "utf-8", LineEnds: "CRLF", Delimiter: ";", Decimal: ".", HeaderRow: 2, HeaderRows: 1, Preamble: 1}},
		{file: "windows-1251.csv", want: Detected{Form: "CSV", Encoding: "windows-1251", LineEnds: "CRLF", Delimiter: ";", Decimal: ",", HeaderRow: 1, HeaderRows: 1}},
		{file: "windows-1252.csv", want: Detected{Form: "CSV", Encoding: "windows-1252", LineEnds: "CRLF", Delimiter: ";", Decimal: ",", HeaderRow: 1, HeaderRows: 1}},
		{file: "preamble-units-row.csv", want: Detected{Form: "CSV", Encoding: "utf-8", LineEnds: "LF", Delimiter: ";", Decimal: ".", HeaderRow: 4, HeaderRows: 2, Preamble: 3}},
		{file: "group-headings.csv", want: Detected{Form: "CSV", Encoding: "utf-8", LineEnds: "LF", Delimiter: ",", Decimal: ".", HeaderRow: 1, HeaderRows: 2}},
		{file: "workbook.xlsx", want: Detected{Form: "XLSX", Sheet: "Survey", Sheets: []string{"Cover", "Survey"}, Decimal: ".", HeaderRow: 3, HeaderRows: 2, Preamble: 2}},
	}
	for _, tt := range tests {
		t.Run(tt.file, func(t *testing.T) {
			r, err := Open(forms+tt.file, Options{Sizes: testSizes{}})
			if err != nil {
				t.Fatal(err)
			}
			want := fourPlaces()
			for i, n := range tt.notes {
				want[i].Note = n
			}
			if d := cmp.Diff(want, r.Defects, near15, cmpopts.IgnoreFields(Defect{}, "Line0")); d != "" {
				t.Errorf("(-want +got)\n%s", d)
			}
			if d := cmp.Diff(tt.want, r.Detected, cmpopts.IgnoreFields(Detected{}, "Columns", "Missing")); d != "" {
				t.Errorf("detected (-want +got)\n%s", d)
			}
			for _, q := range r.Queries {
				if q.Code != "chainage-negative" {
					t.Errorf("unexpected query %v", q)
				}
			}
			if a := r.Account; a.Kept != 4 || a.Queried+a.Filtered != 0 || a.Read != a.Kept+a.Blank {
				t.Errorf("account %+v", a)
			}
			for _, c := range r.Detected.Columns {
				if c.Field == "" {
					t.Errorf("column %q was not understood", c.Heading)
				}
			}
		})
	}
}

// stops lists the codes that stopped rows, or were asked, by row.
func codesByRow(r *Result) map[string][]string {
	m := make(map[string][]string)
	for _, q := range r.Queries {
		m[q.Row] = append(m[q.Row], q.Severity.String()+" "+q.Code)
	}
	return m
}

func TestFormInches(t *testing.T) {
	r, err := Open(forms+"inches.csv", Options{Sizes: testSizes{}})
	if err != nil {
		t.Fatal(err)
	}
	// 150 psi: 1.0342136 MPa (lbf = 4.4482216152605 N, in² = 645.16 mm²).
	psi150 := Known(150 * 4.4482216152605 / 645.16)
	want := []Defect{
		{ID: "B1", Tag: "B1", Line: "L-1", Chainage: Known(30480), OD: Known(168.275), ODFrom: "od", Size: "6", Series: "NPS", Wall: Known(7.112), Axial: Known(38.1), Circ: Known(38.1), Leaking: No, Clock: Known(324), Pressure: psi150, SurfaceTemp: Known(25)},
		{ID: "B2", Tag: "B2", Line: "L-1", Chainage: Known(31242), OD: Known(168.275), ODFrom: "od", Size: "6", Series: "NPS", Wall: Known(7.112), Axial: Known(19.05), Circ: Known(12.7), Leaking: Yes, Clock: Known(324), Pressure: psi150, SurfaceTemp: Known(25), Leans: []string{"size-inch-nps"}},
		{ID: "B3", Tag: "B3", Line: "L-1", Chainage: Known(31851.6), OD: Known(60.325), ODFrom: "od", Size: "2", Wall: Known(3.9116), Axial: Known(25.4), Circ: Known(50.8), Leaking: No, Clock: Known(90), Pressure: psi150, SurfaceTemp: Known(40)},
	}
	if d := cmp.Diff(want, r.Defects, near15, cmpopts.IgnoreFields(Defect{}, "Line0")); d != "" {
		t.Errorf("(-want +got)\n%s", d)
	}
	if d := cmp.Diff(map[string][]string{"B3": {"ask series-missing"}}, codesByRow(r)); d != "" {
		t.Error(d)
	}
}

func TestFormMixedRegister(t *testing.T) {
	opts := Options{Sizes: testSizes{}, Only: []Filter{{Column: "Type", Values: []string{"defect"}}}, CarryDown: []string{"wall", "pressure"}}
	r, err := Open(forms+"mixed-register.csv", opts)
	if err != nil {
		t.Fatal(err)
	}
	want := Account{Read: 12, Kept: 4, Filtered: 7, Blank: 1, FilteredBy: []FilterCount{
		{Rule: "only Type = defect", Rows: 7, Values: []ValueCount{{"joint", 2}, {"weld", 2}, {"bend", 1}, {"sleeve", 1}, {"valve", 1}}}}}
	if d := cmp.Diff(want, r.Account); d != "" {
		t.Error(d)
	}
	var walls []Num
	var leans [][]string
	for _, d := range r.Defects {
		walls = append(walls, d.Wall)
		leans = append(leans, d.Leans)
	}
	// The wall of L-2 is its own joint's; L-3 gives none, and L-2's is not carried into it.
	if d := cmp.Diff([]Num{Known(7.11), Known(7.11), Known(6.02), {}}, walls); d != "" {
		t.Error(d)
	}
	both := []string{"carried-wall", "carried-pressure"}
	if d := cmp.Diff([][]string{both, both, both, nil}, leans); d != "" {
		t.Error(d)
	}
	n := 0
	for _, q := range r.Queries {
		if q.Code == "carried-down" {
			n++
		}
	}
	if n != 6 {
		t.Errorf("%d uses of carried values listed, want 6", n)
	}
	for _, a := range r.Assumptions {
		if a.Count != 3 || a.Where != "row 4, row 5, row 9" {
			t.Errorf("assumption %+v", a)
		}
	}
	// Without the filter the other rows are queries, none is lost.
	r, err = Open(forms+"mixed-register.csv", Options{Sizes: testSizes{}})
	if err != nil {
		t.Fatal(err)
	}
	if a := r.Account; a.Kept != 4 || a.Queried != 7 || a.Blank != 1 {
		t.Errorf("unfiltered: %+v", a)
	}
}

func TestFormUnitsContradicted(t *testing.T) {
	r, err := Open(forms+"units-contradicted.csv", Options{Sizes: testSizes{}})
	if err != nil {
		t.Fatal(err)
	}
	if a := r.Account; a.Kept != 1 || a.Queried != 2 {
		t.Errorf("account %+v", a)
	}
	for i, want := range []string{
		`units-contradicted.csv:2:4: left out: C1: 150 cm is 1500 mm, outside the usual 10 to 1250 mm; likely meant: mm (150 mm) (found "150")`,
		`units-contradicted.csv:3:5: left out: C2: 250 in is 6350 mm, outside the usual 0.5 to 60 mm; likely meant: mil (6.35 mm) (found "250")`,
	} {
		if got := r.Queries[i].String(); len(got) < len(want) || got[:len(want)] != want {
			t.Errorf("got  %s\nwant %s", got, want)
		}
	}
	// Confirmed by the user, the value is taken as it stands and noted; a wall of
	// six metres stays out even so.
	r, err = Open(forms+"units-contradicted.csv", Options{Sizes: testSizes{}, Accept: []string{"unit-contradicted"}})
	if err != nil {
		t.Fatal(err)
	}
	if r.Account.Kept != 2 || r.Defects[0].OD != Known(1500) || queryOf(r, "number-range") == nil || queryOf(r, "unit-contradicted").Severity != trace.Note {
		t.Errorf("accepted: %+v", r.Account)
	}
}

func TestFormNamedChecks(t *testing.T) {
	r, err := Open(forms+"named-checks.csv", Options{Sizes: testSizes{}})
	if err != nil {
		t.Fatal(err)
	}
	want := map[string][]string{
		"below":     {"ask od-below-nominal"},
		"nominal":   {"stop od-is-nominal"},
		"wide":      {"stop defect-wider-than-circumference"},
		"thick":     {"ask remaining-above-nominal"},
		"percent":   {"ask remaining-percent"},
		"hole":      {"stop hole-without-size"},
		"no-size":   {"stop defect-size-missing"},
		"no-series": {"stop series-missing"},
		"taped#2":   {"ask od-circumference-differ"},
		AllRows:     {"ask depth-without-wall", "ask id-duplicate"},
		"twice":     {"ask row-repeated"},
		"negative":  {"note chainage-negative", "stop number-negative"},
	}
	if d := cmp.Diff(want, codesByRow(r)); d != "" {
		t.Errorf("(-want +got)\n%s", d)
	}
	byID := make(map[string]Defect)
	for _, d := range r.Defects {
		byID[d.ID] = d
	}
	for id, want := range map[string]Num{"depth": Known(7.11 * 0.55), "depth-std": Known(7.11 * 0.55), "thick": {}, "depth-no-wall": {}, "percent": {}} {
		if d := cmp.Diff(want, byID[id].Remaining, near15); d != "" {
			t.Errorf("remaining wall of %s: %s", id, d)
		}
	}
	if d := byID["depth-no-wall"].Depth; d != (Depth{Known(45), true}) || d.Of(8) != 4.4 || (Depth{Num: Known(3)}).Of(8) != 5 {
		t.Errorf("depth without a wall: %+v", d)
	}
	if d := byID["taped"]; d.ODFrom != "circumference" || d.OD.V < 168.28 || d.OD.V > 168.30 {
		t.Errorf("taped: %+v", d.OD)
	}
}

func TestFormBadCells(t *testing.T) {
	r, err := Open(forms+"bad-cells.csv", Options{Sizes: testSizes{}})
	if err != nil {
		t.Fatal(err)
	}
	want := map[string][]string{
		"nan": {"stop number-bad"}, "inf": {"stop number-range"}, "digits": {"stop number-range"}, "control": {"stop cell-control"},
		"formula": {"note formula-text"}, "unclear": {"stop number-unclear"}, "maybe": {"stop yes-no-unclear"}, "zero": {"stop number-zero"},
		"shifted": {"stop row-ragged"}, "empty": {"stop cell-missing"},
	}
	if d := cmp.Diff(want, codesByRow(r)); d != "" {
		t.Errorf("(-want +got)\n%s", d)
	}
	if len(r.Defects) != 1 || r.Defects[0].Note != `=HYPERLINK("x")` {
		t.Errorf("kept %+v", r.Defects)
	}
}

func TestFormWorkbookCells(t *testing.T) {
	r, err := Open(forms+"workbook-cells.xlsx", Options{Sizes: testSizes{}})
	if err != nil {
		t.Fatal(err)
	}
	want := map[string][]string{
		"007": {"note leak-with-wall"},
		"008": {"stop size-bad"},         // 1-2 that a spreadsheet took for a date
		"009": {"stop formula-no-value"}, // written by a program that does not compute
	}
	if d := cmp.Diff(want, codesByRow(r)); d != "" {
		t.Errorf("(-want +got)\n%s", d)
	}
	date := time.Date(2027, 3, 15, 0, 0, 0, 0, time.UTC)
	d := r.Defects[0]
	if d.ID != "007" || d.Leaking != Yes || !d.NeedDate.Equal(date) || d.Size != "6" {
		t.Errorf("007: %+v", d)
	}
	if diff := cmp.Diff(Known(7.11*0.55), d.Remaining, near15); diff != "" {
		t.Errorf("a depth displayed as 45%%: %s", diff)
	}
	if d = r.Defects[1]; d.ID != "010" || d.OD != Known(168.3) || d.Axial != Known(40) || !d.NeedDate.Equal(date) {
		t.Errorf("010, numbers as text: %+v", d)
	}
}

// TestEveryFormIsTested fails for a file in the folder that no test here reads.
func TestEveryFormIsTested(t *testing.T) {
	source, err := os.ReadFile("forms_test.go")
	if err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Glob(forms + "*")
	if err != nil || len(files) < 17 {
		t.Fatal(files, err)
	}
	for _, f := range files {
		if name := filepath.Base(f); !containsText(string(source), `"`+name+`"`) {
			t.Errorf("%s is read by no test", name)
		}
	}
}
