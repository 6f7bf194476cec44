package export

import (
	"regexp"
	"strings"
	"testing"

	"wraptally/catalog"
	"wraptally/estimate"
)

// Inch mode by hand: 670/25.4 = 26.378 in, 6.04 sixteenths over 26 → 26 3/8; 520 mm are
// 20.472 in → 20 1/2. A pound is 0.45359237 kg and a pound-force per square inch
// 6894.757 Pa (NIST SP 811, from memory): 0.6 MPa are 87.02 psi, 25 kg 55.116 lb.
func TestInchMode(t *testing.T) {
	c := &catalog.Catalog{Settings: catalog.Settings{Units: "inch"}, Sheets: []catalog.Sheet{{Sheet: "sheet 0.25 mm"}}}
	b := &book{p: &estimate.Campaign{Catalog: c}, measures: measures(c)}
	for got, want := range map[string]string{
		b.atLeast(670): "26 7/16 in", b.atLeast(673.1): "26 1/2 in", b.atLeast(4.32): "0.171 in", b.lengthText(670): "26 3/8 in", b.lengthText(520): "20 1/2 in", b.lengthText(101.6): "4 in", b.lengthText(19.05): "3/4 in", b.lengthText(0.36): "0.014 in",
		b.sizeText(100, 85): "3 15/16 × 3 3/8 in", b.tempText(24): "75.2 °F", b.warmer(3): "5.4 °F", b.pressureOf(0.6): "87 psi", b.massText(25): "55.12 lb",
		b.said("a hole of 65 mm lifts the wrap at 4.2 MPa, 20 to 60 °C; 120 mm² of sheet 0.25 mm"): "a hole of 2 9/16 in lifts the wrap at 609 psi, 68 °F to 140 °F; 120 mm² of sheet 0.25 mm",
		b.said("air and pipe differ: the limit is 15 °C"):                                          "air and pipe differ: the limit is 27 °F",
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// No sheet of an inch run shows a metric figure, of a survey with leaks, blanks and
// gate lines that fail; what does has its reason here.
func TestInchModeHasNoMetricFigure(t *testing.T) {
	allowed := map[string]string{
		sheetSettings: "values as they are set", sheetQueries: "answered in the units of the survey", sheetDesigner: "formulas run in their own units",
		sheetNames: "read back by --earlier", sheetAssumptions: "settings in words, in their units", "Used": "units of its columns, read back",
		sheetNeeds: "kg that freight is charged by", sheetCost: "costs per kg", sheetInputs: "costs per kg",
	}
	for name, x := range map[string]trial{
		"demo":   {path: "../testdata/surveys/campaign.csv"},
		"blanks": {text: strings.ReplaceAll(storeSurvey(30, true, "L-1"), ",6:00,0.5,", ",,,")},
		"gate":   {text: strings.ReplaceAll(storeSurvey(30, true, "L-1"), ",6:00,0.5,", ",6:00,4.5,")},
	} {
		x.sets = []string{"output.units=inch", "cut.work_units=2000000", "order.rechoose=no"}
		p := x.run(t)
		c := p.Catalog
		metric := regexp.MustCompile(`(^|[\d(])[  ]?(mm|kg|°C|MPa|m)([^\w²³/]|$)`)
		var named []string // words of the catalogue and of what travels, which are its own
		for i := range c.Items {
			named = append(named, c.Items[i].Name, "")
		}
		for i := range c.Bands {
			named = append(named, c.Bands[i].Band, "")
		}
		for i := range c.Sheets {
			named = append(named, c.Sheets[i].Sheet, "")
		}
		for i := range c.Transports {
			named = append(named, legible(c.Transports[i].Note), "")
		}
		for i := range c.Offers {
			named = append(named, c.Offers[i].PackName, "")
		}
		own := strings.NewReplacer(named...)
		cells := 0
		for _, b := range Books(p, Options{}, "campaign.xlsx") {
			for _, s := range b.make().Sheets {
				if allowed[s.Name] != "" {
					continue
				}
				at := 0
				for row := range s.Rows {
					at++
					for _, cell := range row.Cells {
						cells++
						text := own.Replace(cell.Text)
						if strings.Contains(text, "packing group") {
							continue // limits and notes of transport are in kg by ADR
						}
						if metric.MatchString(text) {
							t.Errorf("%s: %s row %d: %q", name, s.Name, at, cell.Text)
						}
					}
				}
			}
		}
		if cells < 1000 {
			t.Errorf("%s: only %d cells looked at", name, cells)
		}
	}
}
