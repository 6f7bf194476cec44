package catalog

import (
	"encoding/json"
	"math"
	"os/exec"
	"testing"

	"wraptally/estimate/trace/outside"
)

// fluidsScript prints the standard-wall table of the fluids library (MIT).
const fluidsScript = `
import json
from fluids import piping as p
print(json.dumps([[float(n), float(o), float(t)] for n, o, t in zip(p.NPSSTD, p.STDo, p.STDt)]))
`

// Source: the Debian package python3-fluids, module fluids.piping, which holds
// the sizes of ASME B36.10M in mm. Every NPS size from 1/8 to 48 has the same
// outside diameter and standard wall, and there is no size more or less.
func TestCrossPipesEqualFluids(t *testing.T) {
	outside.NeedPython(t, "fluids")
	out, err := exec.Command(outside.Python, "-c", fluidsScript).Output()
	if err != nil {
		t.Fatal(err)
	}
	var theirs [][3]float64
	if err := json.Unmarshal(out, &theirs); err != nil {
		t.Fatal(err)
	}
	c := builtin(t)
	ours := map[float64]*Pipe{}
	for i := range c.Pipes {
		if c.Pipes[i].Series == "NPS" {
			ours[inches(t, c.Pipes[i].Size)] = &c.Pipes[i]
		}
	}
	if len(theirs) < 30 || len(ours) != len(theirs) {
		t.Errorf("%d sizes here, %d in fluids", len(ours), len(theirs))
	}
	for _, row := range theirs {
		p := ours[row[0]]
		if p == nil {
			t.Errorf("NPS %g is missing", row[0])
			continue
		}
		if p.OD != row[1] || p.Wall != row[2] {
			t.Errorf("NPS %s: %g × %g, fluids has %g × %g", p.Size, p.OD, p.Wall, row[1], row[2])
		}
	}
}

// inches is a nominal size, "1-1/2", as a number.
func inches(t *testing.T, size string) float64 {
	t.Helper()
	whole, num, den, n := 0.0, 0.0, 0.0, 0
	parts := [3]*float64{&whole, &num, &den}
	for _, r := range size {
		switch {
		case r >= '0' && r <= '9':
			*parts[n] = *parts[n]*10 + float64(r-'0')
		case r == '-' && n == 0:
			n = 1
		case r == '/' && n == 0:
			whole, num, n = 0, whole, 2
		case r == '/' && n == 1:
			n = 2
		default:
			t.Fatalf("size %q", size)
		}
	}
	if n == 2 {
		whole += num / den
	}
	return whole
}

// A DN of the ASME series is the NPS size of the same row number: the sizes
// pair one to one, and from NPS 4 up DN is 25 times NPS (ASME B36.10M [from
// memory]), but 5 is 125 either way.
func TestASMESizesPairWithNPS(t *testing.T) {
	c := builtin(t)
	var nps, dn []Pipe
	for _, p := range c.Pipes {
		switch p.Series {
		case "NPS":
			nps = append(nps, p)
		case "DN-ASME":
			dn = append(dn, p)
		}
	}
	if len(nps) != len(dn) {
		t.Fatalf("%d sizes by NPS, %d by DN", len(nps), len(dn))
	}
	for i := range nps {
		if nps[i].OD != dn[i].OD || nps[i].Wall != dn[i].Wall {
			t.Errorf("NPS %s and DN %s differ", nps[i].Size, dn[i].Size)
		}
		n, d := inches(t, nps[i].Size), inches(t, dn[i].Size)
		if n >= 4 && d != 25*n || math.Abs(d-25*n) > 5 {
			t.Errorf("NPS %s is DN %s", nps[i].Size, dn[i].Size)
		}
		if i > 0 && nps[i].OD <= nps[i-1].OD {
			t.Errorf("NPS %s is not larger than the size before", nps[i].Size)
		}
	}
}

// Where both series have a DN they agree within 1 % except at 65 and 125 (and
// at 8, by two tenths of a millimetre): the reason why a DN without a series is
// a query. EN 10220 [from memory].
func TestSeriesDifferAt65And125(t *testing.T) {
	c := builtin(t)
	for _, p := range c.Pipes {
		if p.Series != "DN-EN" {
			continue
		}
		od, _, ok := c.OD("DN-ASME", p.Size)
		if !ok {
			t.Errorf("DN %s has no ASME size", p.Size)
			continue
		}
		apart := math.Abs(p.OD-od)/od > 0.01
		if want := p.Size == "65" || p.Size == "125" || p.Size == "8"; apart && !want {
			t.Errorf("DN %s: %g and %g", p.Size, p.OD, od)
		}
		if !apart && (p.Size == "65" || p.Size == "125") {
			t.Errorf("DN %s is the same in both series", p.Size)
		}
	}
}
