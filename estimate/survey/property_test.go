package survey

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"golang.org/x/text/encoding/htmlindex"
	"pgregory.net/rapid"
)

// dress is a way of writing a survey: dialect, encoding and units.
type dress struct {
	delim     byte
	end       string
	quoteAll  bool
	pad       bool
	decimal   string
	thousands string // only with the decimal mark told to the reader
	encoding  string
	bom       bool
	units     map[Dim]string // name behind the heading's underscore
	chainage  string
	tell      bool // the reader is told delimiter and decimal mark
}

func drawDress(t *rapid.T) dress {
	d := dress{
		delim:    rapid.SampledFrom(delimiters).Draw(t, "delimiter"),
		end:      rapid.SampledFrom([]string{"\n", "\r\n", "\r"}).Draw(t, "line end"),
		quoteAll: rapid.Bool().Draw(t, "quote all"),
		pad:      rapid.Bool().Draw(t, "pad"),
		decimal:  rapid.SampledFrom([]string{".", ","}).Draw(t, "decimal"),
		encoding: rapid.SampledFrom([]string{"utf-8", "utf-16le", "utf-16be", "windows-1251", "windows-1252"}).Draw(t, "encoding"),
		units: map[Dim]string{
			DimLength:      rapid.SampledFrom([]string{"mm", "cm", "m", "in", "ft"}).Draw(t, "length"),
			DimPressure:    rapid.SampledFrom([]string{"mpa", "kpa", "bar", "psi"}).Draw(t, "pressure"),
			DimTemperature: rapid.SampledFrom([]string{"c", "f", "k"}).Draw(t, "temperature"),
			DimForce:       rapid.SampledFrom([]string{"n", "kn", "lbf"}).Draw(t, "force"),
			DimTime:        rapid.SampledFrom([]string{"years", "months"}).Draw(t, "time"),
			DimPercent:     "pct", DimAngle: "deg",
		},
		chainage: rapid.SampledFrom([]string{"m", "km", "ft"}).Draw(t, "chainage"),
		tell:     rapid.Bool().Draw(t, "tell"),
	}
	d.bom = strings.HasPrefix(d.encoding, "utf") && rapid.Bool().Draw(t, "bom")
	if d.tell {
		marks := []string{"", " ", "\u00a0", "'", map[string]string{".": ",", ",": "."}[d.decimal]}
		if d.encoding == "windows-1251" || d.encoding == "windows-1252" || strings.HasPrefix(d.encoding, "utf") {
			d.thousands = rapid.SampledFrom(marks).Draw(t, "thousands")
		}
	}
	return d
}

// number writes a value as the dress has it.
func (d dress) number(v float64) string {
	s := strconv.FormatFloat(v, 'f', -1, 64)
	whole, frac, _ := strings.Cut(s, ".")
	if d.thousands != "" {
		sign := ""
		if whole[0] == '-' {
			sign, whole = "-", whole[1:]
		}
		for i := len(whole) - 3; i > 0; i -= 3 {
			whole = whole[:i] + d.thousands + whole[i:]
		}
		whole = sign + whole
	}
	if frac == "" {
		return whole
	}
	return whole + d.decimal + frac
}

func (d dress) unitOf(f fieldID) (suffix string, u *Unit) {
	switch {
	case f == fChainage:
		suffix = d.chainage
	case fieldTable[f].Unit != "":
		suffix = d.units[fieldTable[f].Dim]
	default:
		return "", nil
	}
	if suffix == "pct" {
		return suffix, lookUnit("%")
	}
	return suffix, lookUnit(suffix)
}

// write writes the defects with the columns in the order given.
func (d dress) write(order []fieldID, defects []Defect) []byte {
	var b strings.Builder
	row := func(cells []string, head bool) {
		for i, c := range cells {
			if i > 0 {
				b.WriteByte(d.delim)
			}
			if d.quoteAll || strings.ContainsAny(c, string(d.delim)+"\"\r\n") {
				c = `"` + strings.ReplaceAll(c, `"`, `""`) + `"`
			}
			if d.pad && !head {
				c = "  " + c + " "
			}
			b.WriteString(c)
		}
		b.WriteString(d.end)
	}
	var head []string
	for _, f := range order {
		h := fieldTable[f].Key
		if s, u := d.unitOf(f); u != nil {
			h += "_" + s
		}
		head = append(head, h)
	}
	row(head, true)
	for i := range defects {
		var cells []string
		for _, f := range order {
			cells = append(cells, d.cell(f, &defects[i]))
		}
		row(cells, false)
	}
	text := b.String()
	if d.bom {
		text = "\ufeff" + text
	}
	e, err := htmlindex.Get(d.encoding)
	if err != nil {
		panic(err)
	}
	if d.encoding == "utf-8" {
		return []byte(text)
	}
	out, err := e.NewEncoder().Bytes([]byte(text))
	if err != nil {
		panic(err)
	}
	return out
}

// cell writes what a record says of a field.
func (d dress) cell(f fieldID, x *Defect) string {
	t := &fieldTable[f]
	v := t.get(x)
	switch {
	case v == value{}:
		return ""
	case t.Kind == KindYesNo:
		return map[Tri]string{Yes: "yes", No: "no"}[v.tri]
	case t.Kind == KindClock:
		m := int(v.num.V * 2)
		return fmt.Sprintf("%d:%02d", m/60, m%60)
	case t.Kind == KindDate:
		return v.date.Format("2006-01-02")
	case t.Kind != KindNumber:
		return v.text
	}
	if _, u := d.unitOf(f); u != nil {
		return d.number(u.From(v.num.V))
	}
	return d.number(v.num.V)
}

// drawDefects draws records as a survey may hold them: in range, and free of
// the contradictions that the named checks ask about.
func drawDefects(t *rapid.T, enc string) []Defect {
	letters := "abcXYZ 09-+=@;,|\t\"'½°"
	switch enc {
	case "windows-1251":
		letters = "abcXYZ 09-+=@;,|\t\"'ЖшъЯё№"
	case "windows-1252":
		letters = "abcXYZ 09-+=@;,|\t\"'½°éßÿ"
	case "utf-16le", "utf-16be", "utf-8":
		letters += "Жя中\U0001F527\u2028"
	}
	text := func(name string, lines bool) string {
		set := letters
		if lines {
			set += "\n"
		}
		s := rapid.StringOfN(rapid.RuneFrom([]rune(set)), 0, 12, -1).Draw(t, name)
		s = strings.TrimFunc(s, func(r rune) bool { return strings.ContainsRune(" \t\n\u2028", r) })
		if isNotGiven([]byte(s)) {
			return "x"
		}
		return s
	}
	num := func(name string, lo, hi float64, decimals int) Num {
		scale := math.Pow10(decimals)
		return Known(float64(rapid.IntRange(int(lo*scale), int(hi*scale)).Draw(t, name)) / scale)
	}
	maybe := func(n Num) Num {
		if rapid.Bool().Draw(t, "given") {
			return n
		}
		return Num{}
	}
	one := func(name string, words ...string) string { return rapid.SampledFrom(words).Draw(t, name) }
	var out []Defect
	for i := range rapid.IntRange(1, 12).Draw(t, "rows") {
		d := Defect{
			ID: fmt.Sprintf("D-%d", i+1), Tag: fmt.Sprintf("D-%d", i+1), Line: "L" + text("line", false), Area: text("area", false),
			Chainage: num("chainage", -5000, 2e6, 0), OD: num("od", 20, 1200, 1), ODFrom: "od",
			Wall: maybe(num("wall", 2, 50, 2)), Axial: num("axial", 1, 900, 1), Circ: num("circ", 1, 60, 1),
			Leaking: Tri(rapid.IntRange(1, 2).Draw(t, "leaking")), Clock: maybe(num("clock", 0, 359, 0)),
			Pressure: maybe(num("pressure", 0, 40, 2)), LivePressure: maybe(num("live", 0, 40, 2)), Stress: maybe(num("stress", 50, 300, 1)),
			AxialForce: maybe(num("force", -1000, 100000, 0)), SurfaceTemp: maybe(num("surface temp", -20, 200, 1)), DesignTemp: maybe(num("design temp", -20, 200, 1)),
			AirTemp: maybe(num("air temp", -20, 50, 1)), Humidity: maybe(num("humidity", 0, 100, 0)),
			Surface: Surface(one("surface", "", "dry", "wet", "submerged")), Medium: text("medium", false), Hazardous: Tri(rapid.IntRange(0, 2).Draw(t, "hazardous")),
			Layers: maybe(num("layers", 1, 30, 0)), FreeRunBefore: maybe(num("before", 0, 5000, 0)), FreeRunAfter: maybe(num("after", 0, 5000, 0)),
			Component: Component(one("component", "", "pipe", "bend", "tee")), BendRadius: maybe(num("radius", 50, 2000, 0)), BendAngle: maybe(num("angle", 1, 180, 0)),
			Access: one("access", "", "ground", "scaffold"), Life: maybe(num("life", 1, 25, 0)), Note: text("note", true),
		}
		if d.Wall.OK {
			d.Remaining = Known(math.Floor(d.Wall.V*50) / 100)
		}
		if rapid.Bool().Draw(t, "date") {
			d.NeedDate = time.Date(2027, 1, 1+i, 0, 0, 0, 0, time.UTC)
		}
		out = append(out, d)
	}
	out[0].Chainage = Known(out[0].Chainage.V + 12.5) // settles the decimal mark
	return out
}

// TestWriteReadIdentity writes records in any dress and reads the same records
// back, for every dialect, encoding and system of units.
func TestWriteReadIdentity(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawDress(t)
		want := drawDefects(t, d.encoding)
		order := rapid.Permutation(allFields()).Draw(t, "order")
		data := d.write(order, want)
		opts := Options{Name: "p.csv"}
		if d.tell {
			opts.Delimiter, opts.Decimal = rune(d.delim), rune(d.decimal[0])
		}
		if strings.HasPrefix(d.encoding, "windows") {
			opts.Encoding = d.encoding
		}
		r, err := Read(bytes.NewReader(data), int64(len(data)), opts)
		if err != nil {
			t.Fatalf("%v\n%s", err, data)
		}
		for _, q := range r.Queries {
			if q.Severity == severityStop {
				t.Fatalf("%v\n%s", q, data)
			}
		}
		same := cmp.Options{cmpopts.IgnoreFields(Defect{}, "Line0", "Leans"), cmpopts.EquateApprox(1e-11, 1e-9)}
		if diff := cmp.Diff(want, r.Defects, same); diff != "" {
			t.Fatalf("(-written +read)\n%s\n%s", diff, data)
		}
		if a := r.Account; a.Kept != len(want) || a.Read != a.Kept {
			t.Fatalf("account %+v", a)
		}
	})
}

func allFields() []fieldID {
	var fs []fieldID
	for f := range numFields() {
		switch f {
		case fCircumference, fHole, fDepth, fSize, fSeries: // other ways of giving what od, axial, circ and remaining give
		default:
			fs = append(fs, f)
		}
	}
	return slices.Clip(fs)
}

// TestReadIsDeterministic reads the same bytes to the same result.
func TestReadIsDeterministic(t *testing.T) {
	data := generated(3000)
	data = append(data, data[200:3000]...) // repeated ids and places
	read := func() *Result {
		r, err := Read(bytes.NewReader(data), int64(len(data)), Options{Name: "d.csv", Sizes: testSizes{}})
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	first := read()
	for range 3 {
		if d := cmp.Diff(first, read(), cmpopts.IgnoreUnexported(Result{})); d != "" {
			t.Fatal(d)
		}
	}
}
