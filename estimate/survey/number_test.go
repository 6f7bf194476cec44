package survey

import (
	"fmt"
	"math"
	"strconv"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestScanNumber(t *testing.T) {
	tests := []struct {
		in      string
		decimal byte
		sure    bool
		want    float64
		rest    string
		st      numStatus
	}{
		{"168.3", '.', false, 168.3, "", numOK},
		{"168,3", ',', false, 168.3, "", numOK},
		{"168,3", '.', false, 0, "", numNone},
		{"168.3", ',', false, 0, "", numNone},
		{"1,234.5", '.', false, 1234.5, "", numOK},
		{"1.234,5", ',', false, 1234.5, "", numOK},
		{"1 234,5", ',', false, 1234.5, "", numOK},
		{"1\u00a0234,5", ',', false, 1234.5, "", numOK},
		{"1\u202f234\u202f567", '.', false, 1234567, "", numOK},
		{"1'234.5", '.', false, 1234.5, "", numOK},
		{"1’234", '.', false, 1234, "", numOK},
		{"1,234", '.', false, 0, "", numUnclear},
		{"1,234", '.', true, 1234, "", numOK},
		{"1.234", ',', false, 0, "", numUnclear},
		{"1,234,567", '.', false, 1234567, "", numOK},
		{"1,23,456", '.', false, 0, "", numNone},
		{"12,34", '.', true, 0, "", numNone},
		{"-5", '.', false, -5, "", numOK},
		{"−5,5", ',', false, -5.5, "", numOK},
		{"+5", '.', false, 5, "", numOK},
		{".5", '.', false, 0.5, "", numOK},
		{"5.", '.', false, 5, "", numOK},
		{"5. mm", '.', false, 5, " mm", numOK},
		{"150 mm", '.', false, 150, " mm", numOK},
		{"150mm", '.', false, 150, "mm", numOK},
		{"1e3", '.', false, 1000, "", numOK},
		{"1.5E+03 Pa", '.', false, 1500, " Pa", numOK},
		{"5 e", '.', false, 5, " e", numOK},
		{"1e400", '.', false, 0, "", numRange},
		{"-1e400", '.', false, 0, "", numRange},
		{"1e-400", '.', false, 0, "", numOK},
		{"NaN", '.', false, 0, "", numNone},
		{"Inf", '.', false, 0, "", numNone},
		{"0x10", '.', false, 0, "x10", numOK},
		{"", '.', false, 0, "", numNone},
		{"-", '.', false, 0, "", numNone},
		{".", '.', false, 0, "", numNone},
		{"--5", '.', false, 0, "", numNone},
		{"1234567890123456789012345678901234567890", '.', false, 1.2345678901234568e39, "", numOK},
		{"12345678901234567890123456789012345678901", '.', false, 0, "", numRange},
	}
	for _, tt := range tests {
		v, rest, st := scanNumber([]byte(tt.in), tt.decimal, tt.sure)
		if st != tt.st || st == numOK && (v != tt.want || string(rest) != tt.rest) {
			t.Errorf("scanNumber(%q, %q, %v) = %v, %q, %v; want %v, %q, %v", tt.in, tt.decimal, tt.sure, v, rest, st, tt.want, tt.rest, tt.st)
		}
	}
}

// TestPlainNumberRoundsAsStrconv compares the quick road with strconv, which
// rounds correctly.
func TestPlainNumberRoundsAsStrconv(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.StringMatching(`-?[0-9]{1,8}(\.[0-9]{1,7})?`).Draw(t, "s")
		v, ok := plainNumber([]byte(s), '.')
		want, err := strconv.ParseFloat(s, 64)
		if !ok || err != nil || math.Float64bits(v) != math.Float64bits(want) {
			t.Fatalf("%s: %v %v, want %v", s, v, ok, want)
		}
	})
}

func TestScanFraction(t *testing.T) {
	tests := []struct {
		in   string
		want float64
		rest string
		st   numStatus
	}{
		{"3/4", 0.75, "", numOK}, {"1-1/2", 1.5, "", numOK}, {"1 1/2", 1.5, "", numOK}, {"1½", 1.5, "", numOK}, {"1 ½", 1.5, "", numOK},
		{"1-½", 1.5, "", numOK}, {"½", 0.5, "", numOK}, {"2 3/8\"", 2.375, "\"", numOK}, {"6-5/8", 6.625, "", numOK}, {"1⁄2", 0.5, "", numOK},
		{"5/64", 0.078125, "", numOK}, {"1/3", 0, "", numFraction}, {"5/4", 0, "", numFraction}, {"1/0", 0, "", numFraction}, {"0/2", 0, "", numFraction},
		{"1/", 0, "", numFraction}, {"6", 0, "", numNone}, {"1-2", 0, "", numNone}, {"a", 0, "", numNone}, {"", 0, "", numNone}, {"1/2/2027", 0.5, "/2027", numOK},
	}
	for _, tt := range tests {
		v, rest, st := scanFraction([]byte(tt.in))
		if tt.in == "1/" { // a stroke and nothing: not a fraction at all
			if st == numOK {
				t.Errorf("scanFraction(%q) succeeds", tt.in)
			}
			continue
		}
		if st != tt.st || st == numOK && (v != tt.want || string(rest) != tt.rest) {
			t.Errorf("scanFraction(%q) = %v, %q, %v; want %v, %q, %v", tt.in, v, rest, st, tt.want, tt.rest, tt.st)
		}
	}
}

func TestFeetAndInches(t *testing.T) {
	tests := map[string]float64{`2'6"`: 30, `2' 6-1/2"`: 30.5, `5ft 3in`: 63, `2'-6"`: 30, `2′ 6″`: 30, `0' ½"`: 0.5, `10 feet 0 inches`: 120, `1' 6.25`: 18.25}
	for in, want := range tests {
		if v, ok := feetAndInches([]byte(in), '.', false); !ok || v != want {
			t.Errorf("%s = %v %v, want %v", in, v, ok, want)
		}
	}
	for _, in := range []string{`2'`, `6"`, `2' 12"`, `2' 6 mm`, `-2' 6"`, `2'' 6`, `x`, `2' 6" 7`} {
		if v, ok := feetAndInches([]byte(in), '.', false); ok {
			t.Errorf("%s = %v, want a refusal", in, v)
		}
	}
}

func TestParseClock(t *testing.T) {
	deg, clock := lookUnit("deg"), lookUnit("h")
	tests := []struct {
		in   string
		unit *Unit
		want float64
		ok   bool
	}{
		{"10:48", nil, 324, true}, {"10,48", nil, 324, true}, {"10.48", clock, 324, true}, {"3", nil, 90, true}, {"12", nil, 0, true}, {"0:30", nil, 15, true},
		{"3 o'clock", nil, 90, true}, {"22:48", nil, 324, true}, {"4:30 PM", nil, 135, true}, {"10:48:00", nil, 324, true}, {"24:00", nil, 0, true},
		{"324°", nil, 324, true}, {"360 deg", nil, 0, true}, {"90", deg, 90, true}, {"90,5", deg, 0, false},
		{"10,5", nil, 0, false}, {"10.5", nil, 0, false}, {"13", nil, 0, false}, {"25:00", nil, 0, false}, {"10:61", nil, 0, false}, {"10:", nil, 0, false},
		{"361°", nil, 0, false}, {"-1", nil, 0, false}, {"left", nil, 0, false}, {"h30", nil, 0, false}, {"TDC", nil, 0, true}, {"Bottom", deg, 180, true}, {"6h30", nil, 195, true}, {"06h30", nil, 195, true}, {"06:30", nil, 195, true}, {"3 h", nil, 90, true}, {"24:01", nil, 0, false}, {"10:48:99", nil, 0, false},
	}
	for _, tt := range tests {
		v, ok := parseClock([]byte(tt.in), tt.unit, '.')
		if ok != tt.ok || v != tt.want {
			t.Errorf("parseClock(%q) = %v %v, want %v %v", tt.in, v, ok, tt.want, tt.ok)
		}
	}
	// Every time of day.
	for h := range 24 {
		for m := range 60 {
			for _, s := range []string{fmt.Sprintf("%d:%02d", h, m), fmt.Sprintf("%02d:%02d", h, m)} {
				if v, ok := parseClock([]byte(s), nil, '.'); !ok || v != float64(h%12*60+m)/2 {
					t.Fatalf("%s: %v %v", s, v, ok)
				}
			}
		}
	}
}

func TestParseDate(t *testing.T) {
	want := time.Date(2027, 3, 15, 0, 0, 0, 0, time.UTC)
	for _, in := range []string{"2027-03-15", "2027/03/15", "15.03.2027", "15.3.2027", "15-Mar-2027", "15 March 2027", "15/3/2027", "3/15/2027", "2027-03-15T08:00:00", "2027-03-15 08:00", "Mar 15, 2027", "March 15, 2027", "15-Mar-27", "15 Mar 27"} {
		if got, ok := parseDate([]byte(in)); !ok || !got.Equal(want) {
			t.Errorf("%s: %v %v", in, got, ok)
		}
	}
	for _, in := range []string{"03/04/2027", "2027-13-01", "30.02.2027", "45000", "soon", "15/03/27", "0001-01-01"} {
		if got, ok := parseDate([]byte(in)); ok {
			t.Errorf("%s read as %v", in, got)
		}
	}
	if got, ok := parseDate([]byte("05/05/2027")); !ok || got.Month() != 5 || got.Day() != 5 { // both readings agree
		t.Errorf("05/05/2027: %v %v", got, ok)
	}
}

func TestParseSize(t *testing.T) {
	tests := []struct {
		in     string
		number string
		series string
		ok     bool
	}{
		{"6", "6", "", true}, {"NPS 6", "6", "NPS", true}, {`6"`, "6", `"`, true}, {"DN 150", "150", "DN", true}, {"dn150", "150", "DN", true},
		{"1-1/2", "1-1/2", "", true}, {"1 1/2", "1-1/2", "", true}, {"1½", "1-1/2", "", true}, {"1.5", "1-1/2", "", true}, {"0.5", "1/2", "", true},
		{`3/4"`, "3/4", `"`, true}, {"2.5 inch", "2-1/2", `"`, true}, {"6.0", "6", "", true}, {"NPS 1/8", "1/8", "NPS", true},
		{"DN-ASME 100", "100", "DN-ASME", true}, {"100 dn-en", "100", "DN-EN", true}, {"4 NPS", "4", "NPS", true}, {"DN-EN 4 in", "", "", false}, {"150 DN", "150", "DN", true},
		{"168.3", "", "", false}, {"six", "", "", false}, {"", "", "", false}, {`DN 6"`, "", "", false}, {"-6", "", "", false}, {"0", "", "", false},
		{"2-Jan", "", "", false}, {"1/2/2027", "", "", false}, {"Ø168", "", "", false}, {"1e99", "", "", false}, {"99999", "", "", false},
	}
	for _, tt := range tests {
		n, ok := parseSize([]byte(tt.in), '.')
		if ok != tt.ok || ok && (n.number != tt.number || n.series != tt.series) {
			t.Errorf("parseSize(%q) = %+v %v, want %q %q %v", tt.in, n, ok, tt.number, tt.series, tt.ok)
		}
	}
	for eighths := 1; eighths <= 8*48; eighths++ {
		v := float64(eighths) / 8
		if s := sizeNumber(v); sizeValue(s) != v {
			t.Errorf("%v is written %q and read %v", v, s, sizeValue(s))
		}
	}
}

func TestSniffDecimal(t *testing.T) {
	cols := []column{newColumn(0, fOD, lookUnit("mm"))}
	tests := []struct {
		cells     []string
		comma     bool
		thousands bool
	}{
		{[]string{"168.3", "7"}, false, false},
		{[]string{"168,3", "7"}, true, false},
		{[]string{"1.234,5"}, true, true},
		{[]string{"1,234.5"}, false, true},
		{[]string{"1.234.567"}, true, true},
		{[]string{"0,125"}, true, false},
		{[]string{"0.125"}, false, false},
		{[]string{"1,234"}, false, false}, // nothing is known; the cell itself is unclear
		{[]string{"12345,678"}, true, false},
		{[]string{" 10,0 "}, true, false},
		{[]string{"10,5", "2,5", "3.5"}, true, false},
	}
	for _, tt := range tests {
		var rows []headRow
		for _, c := range tt.cells {
			rows = append(rows, headRow{cells: []string{c}})
		}
		m := sniffDecimal(rows, cols)
		if (m.comma > m.point) != tt.comma || m.thousands != tt.thousands {
			t.Errorf("%v: %+v", tt.cells, m)
		}
	}
}

// FuzzMeasure reads any text as a measure in any field: it never panics, and
// what it takes is finite, not negative where that makes no sense, and within
// what pipework reaches.
func FuzzMeasure(f *testing.F) {
	for _, s := range []string{"168.3", "1-1/2", "1½", `6"`, `2' 6"`, "1.234,5 mm", "10 bar", "45%", "−5", "1e400", "20 °C", "1 1/2 in", "½", "1e-5 km", "9999999999999999999"} {
		f.Add(s, byte(4), false)
	}
	f.Fuzz(func(t *testing.T, s string, field byte, comma bool) {
		id := fieldID(int(field) % int(numFields()))
		cell := trim([]byte(s))
		if len(cell) == 0 {
			return
		}
		rd := &reader{rep: newReport(10), decimal: '.', now: &textRow{}, d: &Defect{}, accepts: map[string]bool{}, answers: newAnswerSheet(nil)}
		if comma {
			rd.decimal = ','
		}
		c := newColumn(0, id, id.ownUnit())
		rd.value(&c, cell)
		if len(rd.rep.queries) > 0 || id == fDepth {
			return
		}
		if k := fieldTable[id].Kind; k != KindNumber && k != KindClock || id == fRemaining && rd.extra.remainPercent.OK {
			return
		}
		n := rd.numberOf(id)
		if !n.OK {
			return
		}
		b := fieldTable[id].beyond
		if math.IsNaN(n.V) || math.IsInf(n.V, 0) || !b.holds(n.V) && b != (span{}) {
			t.Fatalf("%q in %s gives %v", s, id.heading(), n.V)
		}
	})
}

func TestStation(t *testing.T) {
	for in, want := range map[string]float64{"1+234.5": 1234500, "0+005": 5000, "12+34.5": 1234.5 * 304.8, "101+00": 10100 * 304.8} {
		v, u, ok := station([]byte(in), '.')
		if !ok || math.Abs(u.Base(v)-want) > 1e-6 {
			t.Errorf("%s = %v %v, want %v mm", in, v, u, want)
		}
	}
	for _, in := range []string{"1+2", "+234", "1+2345", "a+234", "1+23x", "1+234 m", "1+-34"} {
		if v, u, ok := station([]byte(in), '.'); ok {
			t.Errorf("%s = %v %v, want a refusal", in, v, u)
		}
	}
}
