package export

import (
	"testing"

	"wraptally/catalog"
	"wraptally/estimate"
)

// Inch mode by hand: 670/25.4 = 26.378 in, 6.04 sixteenths over 26 → 26 3/8; 520 mm are
// 20.472 in → 20 1/2. A pound is 0.45359237 kg and a pound-force per square inch
// 6894.757 Pa (NIST SP 811, from memory): 0.6 MPa are 87.02 psi, 25 kg 55.116 lb.
func TestInchMode(t *testing.T) {
	b := &book{p: &estimate.Campaign{Catalog: &catalog.Catalog{Settings: catalog.Settings{Units: "inch"}}}}
	for got, want := range map[string]string{
		b.lengthText(670): "26 3/8 in", b.lengthText(520): "20 1/2 in", b.lengthText(101.6): "4 in", b.lengthText(19.05): "3/4 in", b.lengthText(0.36): "0.014 in",
		b.sizeText(100, 85): "3 15/16 × 3 3/8 in", b.tempText(24): "75.2 °F", b.warmer(3): "5.4 °F", b.pressureOf(0.6): "87 psi", b.massText(25): "55.12 lb",
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
