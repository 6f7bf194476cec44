package survey

import (
	"strings"
	"testing"

	"wraptally/estimate/trace"
)

// testSizes is a small pipe table: NPS and EN sizes with the outside diameters
// and standard walls of ASME B36.10M and EN 10220 [from memory].
type testSizes struct{}

func (testSizes) Series() []string { return []string{"NPS", "DN-EN", "DN-ASME"} }

func (testSizes) OD(series, size string) (od, wall float64, ok bool) {
	t := map[string][2]float64{
		"NPS 1/2": {21.3, 2.77}, "NPS 1-1/2": {48.3, 3.68}, "NPS 2": {60.3, 3.91}, "NPS 3": {88.9, 5.49}, "NPS 4": {114.3, 6.02}, "NPS 6": {168.3, 7.11},
		"NPS 8": {219.1, 8.18}, "NPS 10": {273.0, 9.27}, "NPS 12": {323.8, 9.53},
		"DN-EN 65": {76.1, 2.9}, "DN-ASME 65": {73.0, 5.16}, "DN-EN 150": {168.3, 4.5}, "DN-ASME 150": {168.3, 7.11}, "DN-EN 100": {114.3, 3.6},
	}[series+" "+size]
	return t[0], t[1], t[0] > 0
}

func read(t *testing.T, text string, opts Options) *Result {
	t.Helper()
	if opts.Name == "" {
		opts.Name = "s.csv"
	}
	if opts.Sizes == nil {
		opts.Sizes = testSizes{}
	}
	r, err := Read(strings.NewReader(text), int64(len(text)), opts)
	if err != nil {
		t.Fatalf("Read: %v", err)
	}
	a := r.Account
	if a.Read != a.Kept+a.Queried+a.Filtered+a.Blank || a.Kept != len(r.Defects) {
		t.Fatalf("the account does not add up: %+v, %d defects", a, len(r.Defects))
	}
	return r
}

func queryOf(r *Result, code string) *trace.Query {
	for i := range r.Queries {
		if r.Queries[i].Code == code {
			return &r.Queries[i]
		}
	}
	return nil
}

func TestCampaign(t *testing.T) {
	r, err := Open("../../testdata/surveys/campaign.csv", Options{Sizes: testSizes{}})
	if err != nil {
		t.Fatal(err)
	}
	if a := r.Account; a.Read != 15 || a.Kept != 14 || a.Queried != 1 {
		t.Errorf("account %+v", a)
	}
	for _, q := range r.Queries {
		t.Log(q)
	}
	q := queryOf(r, "defect-wider-than-circumference")
	if q == nil || q.Severity != trace.Stop || q.Row != "P-09" || q.Place.String() != "campaign.csv:10:10" || q.Place.Field != "circ_mm" {
		t.Errorf("P-09: %+v", q)
	}
	if q := queryOf(r, "od-below-nominal"); q == nil || q.Row != "P-08" {
		t.Errorf("P-08: %+v", q)
	}
	d := r.Defects[0]
	if d.ID != "P-01" || d.Line != "CW-101" || d.Chainage != Known(12400) || d.OD != Known(168.3) || d.Size != "6" || d.Series != "NPS" ||
		d.Remaining != Known(0) || d.Leaking != Yes || d.Clock != Known(180) || d.Pressure != Known(0.6) || d.Surface != Wet || d.Component != Straight ||
		d.NeedDate.Format("2006-01-02") != "2027-03-15" || d.Line0 != 2 {
		t.Errorf("P-01 is %+v", d)
	}
	if d := r.Defects[4]; d.OD != Known(168.3) || d.ODFrom != "size" || d.Wall.OK {
		t.Errorf("P-05 is %+v", d)
	}
	if d := r.Defects[2]; !d.Hole || d.Axial != Known(8) || d.Circ != Known(8) || d.Remaining.OK {
		t.Errorf("P-03 is %+v", d)
	}
}

const severityStop = trace.Stop

func containsText(s, sub string) bool { return strings.Contains(s, sub) }
