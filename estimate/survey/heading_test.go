package survey

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"

	"wraptally/estimate/trace"
	_ "wraptally/estimate/trace/depth"
)

// TestWordsAreUnambiguous: no trade word means two fields, or one field and an
// unclear word, or another field's own heading.
func TestWordsAreUnambiguous(t *testing.T) {
	seen := make(map[string]fieldID)
	for f := range numFields() {
		for w := range strings.SplitSeq(fieldTable[f].words, ";") {
			w = strings.TrimSpace(w)
			if w == "" {
				continue
			}
			if n := normHeading(w); n != w {
				t.Errorf("%q is written %q when folded", w, n)
			}
			if other, ok := seen[w]; ok {
				t.Errorf("%q means %s and %s", w, other.heading(), f.heading())
			}
			seen[w] = f
			if unclearWords[w] != nil {
				t.Errorf("%q means %s and is unclear", w, f.heading())
			}
			if own, ok := fieldByKey[strings.ReplaceAll(w, " ", "_")]; ok && own != f {
				t.Errorf("%q means %s and is the own heading of %s", w, f.heading(), own.heading())
			}
		}
	}
	for w, u := range headingUnits {
		if _, ok := seen[w]; !ok || lookUnit(u) == nil {
			t.Errorf("%q carries %q", w, u)
		}
	}
	for w := range headingSeries {
		if f, ok := seen[w]; !ok || f != fSize {
			t.Errorf("%q carries a series and is no size", w)
		}
	}
}

// TestUnitNamesAreUnambiguous: no name stands for two units.
func TestUnitNamesAreUnambiguous(t *testing.T) {
	seen := make(map[string]string)
	for _, r := range unitTable {
		for n := range strings.FieldsSeq(r.names) {
			if other, ok := seen[n]; ok {
				t.Errorf("%q is %s and %s", n, other, r.Name)
			}
			seen[n] = r.Name
			if n != strings.ToLower(n) {
				t.Errorf("%q is not in lower case", n)
			}
		}
		if u := lookUnit(r.Name); u == nil || u.Name != r.Name {
			t.Errorf("%s is not read by its own name", r.Name)
		}
	}
}

// TestFieldExamples: the documented example of every field is read without a
// query, and every heading is found by its own name.
func TestFieldExamples(t *testing.T) {
	m, err := newMatcher(nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i, f := range Fields() {
		if mt := m.find(f.Heading); mt.field != fieldID(i) || mt.via != viaOwn || f.Unit != "" && (mt.unit == nil || mt.unit.Name != f.Unit) {
			t.Errorf("%s is found as %+v", f.Heading, mt)
		}
		if f.Example == "" || f.Meaning == "" || f.Required == "" {
			t.Errorf("%s is not documented", f.Heading)
		}
		rd := &reader{rep: newReport(10), decimal: '.', now: &textRow{}, d: &Defect{}, accepts: map[string]bool{}, answers: newAnswerSheet(nil)}
		c := newColumn(0, fieldID(i), fieldID(i).ownUnit())
		if f.Key != "id" {
			rd.value(&c, []byte(f.Example))
		}
		if len(rd.rep.queries) > 0 {
			t.Errorf("the example of %s: %v", f.Heading, rd.rep.queries[0])
		}
	}
}

func TestFindHeading(t *testing.T) {
	m, err := newMatcher([]Mapping{{"od", "Ext. dia [mm]"}, {"wall_in", "T nom"}, {"circ", "B"}}, []Synonym{{"axial", "L def", "cm"}, {"note", "Observation", ""}})
	if err != nil {
		t.Fatal(err)
	}
	tests := []struct {
		heading, field, unit string
		via                  via
	}{
		{"od_mm", "od_mm", "mm", viaOwn}, {"OD [mm]", "od_mm", "mm", viaOwn}, {"OD (in)", "od_mm", "in", viaOwn}, {"od_in", "od_mm", "in", viaOwn}, {"OD, inches", "od_mm", "in", viaOwn},
		{`OD "`, "od_mm", "in", viaOwn}, {"O.D. mm", "od_mm", "mm", viaBuiltin}, {"od", "od_mm", "", viaOwn}, {"Outside\nDiameter [mm]", "od_mm", "mm", viaBuiltin},
		{"Outside diameter (measured) [mm]", "", "", ""}, {"chainage_ft", "chainage_m", "ft", viaOwn}, {"KP", "chainage_m", "km", viaBuiltin}, {"KP [m]", "chainage_m", "m", viaBuiltin},
		{"Design pressure (barg)", "pressure_mpa", "bar", viaBuiltin}, {"pressure_psi", "pressure_mpa", "psi", viaOwn}, {"pressure [kgf/cm²]", "pressure_mpa", "kgf/cm²", viaOwn},
		{"Design pressure [bara]", "", "", viaUnit}, {"Surface temp °F", "surface_temp_c", "°F", viaOwn}, {"surface_temp_f", "surface_temp_c", "°F", viaOwn}, {"depth_pct", "depth_pct", "%", viaOwn},
		{"Depth [%]", "depth_pct", "%", viaOwn}, {"Wall loss (mm)", "depth_pct", "mm", viaBuiltin}, {"depth", "", "", viaUnitless}, {"Diameter", "", "", viaUnclear}, {"Length [mm]", "", "", viaUnclear},
		{"NPS", "size", "", viaBuiltin}, {"DN", "size", "", viaBuiltin}, {"Nominal size (in)", "size", "in", viaBuiltin}, {"Weld no", "", "", ""}, {"", "", "", ""},
		{"Ext. dia [mm]", "od_mm", "mm", viaMapping}, {"Ext dia", "od_mm", "mm", viaMapping}, {"ext. dia (in)", "od_mm", "mm", viaMapping}, {"T nom", "wall_mm", "in", viaMapping}, {"B [cm]", "circ_mm", "cm", viaMapping},
		{"L def", "axial_mm", "cm", viaTable}, {"L def [mm]", "axial_mm", "mm", viaTable}, {"observation", "note", "", viaTable},
		{"Leak (Y/N)?", "leaking", "", viaBuiltin}, {"clock [deg]", "clock", "deg", viaOwn}, {"clock (hh:mm)", "clock", "clock", viaOwn}, {"life_months", "life_years", "months", viaOwn},
		{"od_bar", "", "", ""}, {strings.Repeat("x", 5000), "", "", ""},
	}
	for _, tt := range tests {
		mt := m.find(tt.heading)
		unit := ""
		if mt.unit != nil {
			unit = mt.unit.Name
		}
		if mt.field.heading() != tt.field || unit != tt.unit || mt.via != tt.via {
			t.Errorf("%q is %q [%s] by %q, want %q [%s] by %q", clip(tt.heading), mt.field.heading(), unit, mt.via, tt.field, tt.unit, tt.via)
		}
	}
}

// TestForeignHeadings maps a client's register, and says what was mapped,
// ignored and missing.
func TestForeignHeadings(t *testing.T) {
	text := "Ref;Line no.;Dist;Ext dia;T;Len;Wid;Leak;Colour;Diameter;presure_bar\n" +
		"R1;L1;10;168,3;7,11;40;30;yes;red;x;1\n"
	opts := Options{
		Map:      []Mapping{{"chainage", "Dist [m]"}, {"od", "Ext dia [mm]"}, {"wall", "T [mm]"}},
		Synonyms: []Synonym{{"axial", "Len", "mm"}, {"circ", "Wid", "mm"}},
	}
	r := read(t, text, opts)
	if len(r.Defects) != 1 || r.Defects[0].OD != Known(168.3) || r.Defects[0].Chainage != Known(10000) || r.Defects[0].Axial != Known(40) {
		t.Fatalf("%+v", r.Defects)
	}
	var got []string
	for _, c := range r.Detected.Columns {
		got = append(got, c.Heading+"="+c.Field+"/"+c.Unit+"/"+c.UnitFrom+"/"+c.Via)
	}
	want := "Ref=id///trade word Line no.=line///trade word Dist=chainage_m/m/mapping/mapping Ext dia=od_mm/mm/mapping/mapping T=wall_mm/mm/mapping/mapping " +
		"Len=axial_mm/mm/mapping/mapping table Wid=circ_mm/mm/mapping/mapping table Leak=leaking///trade word Colour=/// Diameter=/// presure_bar=///"
	if s := strings.Join(got, " "); s != want {
		t.Errorf("got  %s\nwant %s", s, want)
	}
	if q := queryOf(r, "heading-ignored"); q == nil || q.Message != `1 column is ignored: "Colour"` || q.Place.Line != 1 {
		t.Errorf("%+v", q)
	}
	for code, field := range map[string]string{"heading-unclear": "Diameter", "heading-misspelt": "presure_bar"} {
		if q := queryOf(r, code); q == nil || q.Found != field || q.Place.Line != 1 {
			t.Errorf("%s: %+v", code, q)
		}
	}
	if missing := strings.Join(r.Detected.Missing, " "); !strings.Contains(missing, "pressure_mpa") || strings.Contains(" "+missing, " wall_mm") {
		t.Errorf("missing: %s", missing)
	}
	// A mapping beats a trade word; the other column is ignored with its reason.
	r = read(t, plainHead+",Ext\n"+plainRow+",170\n", Options{Map: []Mapping{{"od", "Ext [mm]"}}})
	if r.Defects[0].OD != Known(170) || !strings.Contains(r.Detected.Columns[3].Why, "mapped to another column") {
		t.Errorf("%v, %+v", r.Defects[0].OD, r.Detected.Columns[3])
	}
}

// TestUnitOptions reads headings without a unit by option or by the documented
// default, and lists it either way.
func TestUnitOptions(t *testing.T) {
	text := "line,chainage,od,axial,circ,leaking,pressure,surface temperature\nL1,100,6.625,2,1,no,150,77\n"
	r := read(t, text, Options{LengthUnit: "in", PressureUnit: "psi", TemperatureUnit: "°F", ChainageUnit: "ft"})
	d := r.Defects[0]
	if d.OD.V != 6.625*25.4 || d.Chainage.V != 30480 || d.Axial.V != 50.8 || d.SurfaceTemp.V < 24.9999 || d.SurfaceTemp.V > 25.0001 || d.Pressure.V < 1.03 || d.Pressure.V > 1.04 {
		t.Errorf("%+v", d)
	}
	if len(r.Assumptions) != 4 || r.Assumptions[0].Code != "unit-assumed" || !strings.Contains(r.Assumptions[0].Text, "od, axial, circ") {
		t.Errorf("%+v", r.Assumptions)
	}
	r = read(t, strings.Replace(text, "6.625", "168.3", 1), Options{})
	if d := r.Defects; len(d) != 0 { // 150 MPa is likelier 150 bar or psi
		t.Errorf("%+v", d)
	}
	q := queryOf(r, "unit-contradicted")
	if q == nil || !strings.Contains(q.Message, "bar or psi") || q.Severity != trace.Stop {
		t.Errorf("%+v", q)
	}
}

// TestUnitInCell: a unit behind the number decides where the heading has none,
// and is a query where the heading has another.
func TestUnitInCell(t *testing.T) {
	r := read(t, "line,chainage,od,axial,circ,leaking\nL1,100 ft,6.625 in,2\",1 1/2\",no\n", Options{})
	if d := r.Defects[0]; d.Chainage.V != 30480 || d.OD.V != 6.625*25.4 || d.Axial.V != 50.8 || d.Circ.V != 38.1 {
		t.Errorf("%+v", d)
	}
	for cell, code := range map[string]string{"6.625 in": "unit-contradicted", "168.3 bar": "unit-unknown", "168.3 furlongs": "unit-unknown", "6-5/8": "number-bad", "168.3 mm": ""} {
		r := read(t, strings.Replace(plainHead+"\n"+plainRow+"\n", "168.3", cell, 1), Options{})
		if code == "" && len(r.Queries) > 0 || code != "" && queryOf(r, code) == nil {
			t.Errorf("%s: %v", cell, r.Queries)
		}
	}
}

func TestDefaults(t *testing.T) {
	text := plainHead + ",wall_mm,surface\n" + plainRow + ",,\nP2,L1,2,168.3,40,30,no,8.18,wet\n"
	r := read(t, text, Options{Defaults: []Default{{"wall_in", "0.28"}, {"surface", "dry"}, {"series", "NPS"}, {"need_date", "2027-03-15"}, {"pressure_bar", "16"}}})
	a, b := r.Defects[0], r.Defects[1]
	if a.Wall != Known(0.28*25.4) || a.Surface != Dry || a.Series != "NPS" || a.NeedDate.IsZero() || b.Wall != Known(8.18) || b.Surface != Wet || b.Pressure.V != 1.6 {
		t.Errorf("%+v\n%+v", a, b)
	}
	if s := strings.Join(a.Leans, " "); s != "set-wall set-surface set-series set-pressure set-need_date" {
		t.Errorf("leans on %s", s)
	}
	for _, as := range r.Assumptions {
		if as.Code == "set-wall" && (as.Count != 1 || !strings.Contains(as.Text, "0.28 in")) || as.Code == "set-pressure" && as.Count != 2 {
			t.Errorf("%+v", as)
		}
	}
	// A default stands in for a required column that is missing.
	r = read(t, "chainage_m,od_mm,axial_mm,circ_mm\n1,168.3,40,30\n", Options{Defaults: []Default{{"line", "L9"}, {"leaking", "no"}}})
	if len(r.Defects) != 1 || r.Defects[0].Line != "L9" || r.Defects[0].Leaking != No {
		t.Errorf("%+v %v", r.Defects, r.Queries)
	}
}

// TestAnswers: a query sheet filled in by the client changes the cells it
// answers, confirms checks and drops rows; what fits nothing is asked about.
func TestAnswers(t *testing.T) {
	sheet := "row;field;code;message;answer\n" +
		"S1;od_mm;od-missing;...;168.3\n" + // the survey's column is in inches: the answer must say
		"S2;od_mm;size-missing;...;6.625 in\n" +
		"S3;od_mm;od-below-nominal;...;confirm\n" +
		"S4;circ_mm;defect-wider-than-circumference;...;drop\n" +
		"S5;wall_mm;;no such column;7.11\n" +
		"row 7;leaking;cell-missing;...;yes\n" +
		"S9;od_mm;;no such row;1\n" +
		"S6;od_mm;;not answered;\n"
	answers, err := ReadAnswers(strings.NewReader(sheet), int64(len(sheet)), Options{Name: "q.csv"})
	if err != nil || len(answers) != 7 {
		t.Fatalf("%v %+v", err, answers)
	}
	text := "id,line,chainage_m,od_in,axial_mm,circ_mm,leaking,size,series\n" +
		"S1,L1,1,,40,30,no,,\nS2,L1,2,,40,30,no,,\nS3,L1,3,6.3,40,30,no,6,NPS\nS4,L1,4,6.625,40,900,no,,\nS5,L1,5,6.625,40,30,no,,\n,L1,6,6.625,40,30,,,\n"
	r := read(t, text, Options{Answers: answers})
	if a := r.Account; a.Read != 6 || a.Kept != 4 || a.Queried != 1 || a.Filtered != 1 || len(a.FilteredBy) != 1 || a.FilteredBy[0].Rule != "answer: drop" {
		t.Errorf("%+v", a)
	}
	byID := make(map[string]Defect)
	for _, d := range r.Defects {
		byID[d.ID] = d
	}
	if byID["S2"].OD.V != 6.625*25.4 || byID["S5"].Wall != Known(7.11) || byID["row 7"].Leaking != Yes {
		t.Errorf("%+v", byID)
	}
	for code, row := range map[string]string{"answer-unit": "S1", "answer-unused": "S9", "od-below-nominal": "S3"} {
		q := queryOf(r, code)
		if q == nil || q.Row != row {
			t.Errorf("%s: %+v", code, q)
		} else if code == "od-below-nominal" && q.Severity != trace.Note {
			t.Errorf("a confirmed check is still %v", q.Severity)
		}
	}
	if q := queryOf(r, "answer-unused"); q != nil && q.Place.String() != "q.csv:8:5" {
		t.Errorf("unused answer at %s", q.Place)
	}
	if _, err := ReadAnswers(strings.NewReader("a,b\n1,2\n"), 8, Options{Name: "q.csv"}); err == nil || !strings.Contains(err.Error(), "no heading with row, field and answer") {
		t.Errorf("%v", err)
	}
}

// TestAnswersFromWorkbook reads answers that a spreadsheet stored as numbers
// into a survey with decimal commas.
func TestAnswersFromWorkbook(t *testing.T) {
	f := excelize.NewFile()
	if _, err := f.NewSheet("Queries"); err != nil {
		t.Fatal(err)
	}
	for i, row := range [][]any{{"row", "field", "answer"}, {"S1", "od_mm", 168.3}, {"S1", "wall_mm", 7.112}, {"S2", "od_mm", "168,3"}, {"S3", "od_mm", "114.3"}} {
		cell, _ := excelize.CoordinatesToCellName(1, i+1)
		if err := f.SetSheetRow("Queries", cell, &row); err != nil {
			t.Fatal(err)
		}
	}
	path := filepath.Join(t.TempDir(), "q.xlsx")
	if err := f.SaveAs(path); err != nil {
		t.Fatal(err)
	}
	answers, err := OpenAnswers(path, "")
	if err != nil || len(answers) != 4 {
		t.Fatalf("%v %+v", err, answers)
	}
	text := "id;line;chainage_m;od_mm;wall_mm;axial_mm;circ_mm;leaking\nS1;L1;1,5;;;40;30;no\nS2;L1;2,5;;;40;30;no\nS3;L1;3,5;;;40;30;no\n"
	r := read(t, text, Options{Answers: answers})
	if len(r.Defects) != 3 || r.Defects[0].OD != Known(168.3) || r.Defects[0].Wall != Known(7.112) || r.Defects[1].OD != Known(168.3) || r.Defects[2].OD != Known(114.3) {
		t.Errorf("%+v", r.Defects)
	}
	// The same from a CSV is unclear: 7.112 may be seven thousand.
	for i := range answers {
		answers[i].Stored = false
	}
	r = read(t, text, Options{Answers: answers})
	if q := queryOf(r, "number-unclear"); q == nil || q.Row != "S1" || q.Place.Field != "wall_mm" {
		t.Errorf("%v", r.Queries)
	}
}

// TestDefaultsHaveAPoint: a setting is written with a point even where the
// survey has commas.
func TestDefaultsHaveAPoint(t *testing.T) {
	r := read(t, "line;chainage_m;od_mm;axial_mm;circ_mm;leaking\nL1;1,5;168,3;40;30;no\n", Options{Defaults: []Default{{"wall_mm", "7.112"}}})
	if len(r.Defects) != 1 || r.Defects[0].Wall != Known(7.112) {
		t.Errorf("%+v %v", r.Defects, r.Queries)
	}
}

// TestRepeatedHeading leaves out the heading that each page of a printed
// register repeats, and counts it.
func TestRepeatedHeading(t *testing.T) {
	r := read(t, plainHead+"\n"+plainRow+"\n\n"+plainHead+"\nP2,L1,2,168.3,40,30,no\n", Options{})
	if a := r.Account; a.Read != 4 || a.Kept != 2 || a.Filtered != 1 || a.Blank != 1 || a.FilteredBy[0].Rule != "repeated heading" {
		t.Errorf("%+v", a)
	}
}

// TestSizeSeries: a nominal size without a series stops its row only where no
// OD is given; the series comes from the heading, the cell or the setting.
func TestSizeSeries(t *testing.T) {
	head := "line,chainage_m,%,axial_mm,circ_mm,leaking\n"
	tests := []struct {
		columns, cells string
		opts           Options
		od             float64
		size, series   string
		code           string
	}{
		{columns: "size", cells: "DN 150", code: "series-missing"},
		{columns: "DN", cells: "150", code: "series-missing"},
		{columns: "NPS", cells: "6", od: 168.3, size: "6", series: "NPS"},
		{columns: "size", cells: `6"`, od: 168.3, size: "6", series: "NPS"},
		{columns: "size", cells: "NPS 1½", od: 48.3, size: "1-1/2", series: "NPS"},
		{columns: "size", cells: "DN 65", opts: Options{Defaults: []Default{{"series", "dn-en"}}}, od: 76.1, size: "65", series: "DN-EN"},
		{columns: "size,series", cells: "65,DN-ASME", od: 73, size: "65", series: "DN-ASME"},
		{columns: "size,series", cells: "NPS 6,DN-EN", code: "series-contradicted"},
		{columns: "size,series", cells: "DN 150,NPS", code: "series-contradicted"},
		{columns: "size,series", cells: "6,JIS", code: "series-unknown"},
		{columns: "size,series", cells: "7,NPS", code: "size-unknown"},
		{columns: "size,od_mm", cells: "DN 150,168.1", od: 168.1, size: "150", code: "series-missing"},
	}
	for _, tt := range tests {
		r := read(t, strings.Replace(head, "%", tt.columns, 1)+"L1,1,"+tt.cells+",40,30,no\n", tt.opts)
		if tt.code != "" && queryOf(r, tt.code) == nil {
			t.Errorf("%s: %v, want %s", tt.cells, r.Queries, tt.code)
		}
		if tt.od == 0 {
			if len(r.Defects) > 0 {
				t.Errorf("%s was kept", tt.cells)
			}
			continue
		}
		if len(r.Defects) != 1 || r.Defects[0].OD.V != tt.od || r.Defects[0].Size != tt.size || r.Defects[0].Series != tt.series {
			t.Errorf("%s: %+v %v", tt.cells, r.Defects, r.Queries)
		}
	}
}

// TestNominalAlone asks about an OD that is exactly a nominal size.
func TestNominalAlone(t *testing.T) {
	for od, ask := range map[string]bool{"150": true, "100": true, "152.4": true, "168.3": false, "60.3": false, "149": false} {
		r := read(t, strings.Replace(plainHead+"\n"+plainRow+"\n", "168.3", od, 1), Options{})
		if got := queryOf(r, "od-is-nominal") != nil; got != ask || len(r.Defects) != 1 {
			t.Errorf("OD %s: asked %v, want %v", od, got, ask)
		}
	}
}

// TestIDs compares the id set with a plain map on ids that rise, fall and repeat
// on three lines, kept and not.
func TestIDs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ids := rapid.SliceOfN(rapid.StringMatching(`[AB]-[0-9]{1,2}`), 1, 200).Draw(t, "ids")
		if rapid.Bool().Draw(t, "sorted") {
			slices.SortFunc(ids, func(a, b string) int {
				if len(a) != len(b) {
					return len(a) - len(b)
				}
				return strings.Compare(a, b)
			})
		}
		text := plainHead + "\n"
		first := make(map[string]int)
		var told []string
		for i, id := range ids {
			leak := "no"
			if rapid.Bool().Draw(t, "stopped") {
				leak = "perhaps"
			}
			line := rapid.SampledFrom([]string{"L1", "L2", "L3"}).Draw(t, "line")
			text += fmt.Sprintf("%s,%s,%d,168.3,40,30,%s\n", id, line, i, leak)
			if at := first[line+id]; at > 0 {
				told = append(told, fmt.Sprintf("%q of line %d in line %d, called ", id, at, i+2))
			} else {
				first[line+id] = i + 2
			}
		}
		r, err := readBytes([]byte(text), Options{})
		if err != nil {
			t.Fatal(err)
		}
		q := queryOf(r, "id-duplicate")
		switch {
		case (q != nil) != (len(told) > 0), q != nil && !strings.HasPrefix(q.Message, trace.Count(len(told), "row has an id", "rows have an id")):
			t.Fatalf("%d ids are used again: %v", len(told), q)
		case q != nil:
			for _, s := range told[:min(len(told), mostTold)] {
				if !strings.Contains(q.Message, s) {
					t.Fatalf("%q is not in %q", s, q.Message)
				}
			}
		}
		seen := make(map[string]bool)
		for _, d := range r.Defects {
			if seen[d.ID] || !strings.HasPrefix(d.ID, d.Tag) {
				t.Fatalf("%s, tag %s, twice", d.ID, d.Tag)
			}
			seen[d.ID] = true
		}
	})
}

// TestColumnDoubt raises one query at a heading that many values contradict.
func TestColumnDoubt(t *testing.T) {
	r := read(t, "line,chainage_m,OD [in],axial_mm,circ_mm,leaking\nL1,1,168.3,40,30,no\nL1,2,168.3,40,30,no\nL1,3,168.3,40,30,no\n", Options{})
	if r.Account.Queried != 3 {
		t.Fatalf("%+v", r.Account)
	}
	q := r.Queries[0]
	if q.Place.Line != 1 || q.Place.Column != 3 || q.Severity != trace.Ask || !strings.Contains(q.Message, "3 rows contradict the unit in of this heading; likely meant: mm") {
		t.Errorf("%v", q)
	}
}

// TestLineEnds: a lone inch sign in the heading does not hide the line ends.
func TestLineEnds(t *testing.T) {
	for text, want := range map[string]string{
		"a\nb\n": "LF", "a\r\nb\r\n": "CRLF", "a\rb\r": "CR", "a\r\nb\n": "mixed", "a": "LF", "\"a\nb\"\r\nc": "CRLF", "OD \"\rb\rc\r": "CR", "OD \"\r\nb\r\n": "CRLF",
	} {
		if got := lineEndsOf([]byte(text)); got != want {
			t.Errorf("%q: %s, want %s", text, got, want)
		}
	}
	r := read(t, strings.ReplaceAll("line,chainage_m,OD \",axial_mm,circ_mm,leaking\nL1,1,6.625,40,30,no\n", "\n", "\r"), Options{})
	if len(r.Defects) != 1 || r.Defects[0].OD != Known(168.275) {
		t.Errorf("%+v", r.Defects)
	}
}
