package catalog

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"wraptally/estimate/trace"
)

// edit changes the first occurrence of a text in a built-in table; an absent
// text is a mistake of the test.
type edit struct{ old, new string }

// folder writes built-in tables, changed, into a new folder.
func folder(t *testing.T, tables map[string][]edit) string {
	t.Helper()
	dir := t.TempDir()
	for name, edits := range tables {
		text, err := book.ReadFile("book/" + name + ".csv")
		if err != nil {
			t.Fatal(err)
		}
		s := string(text)
		for _, e := range edits {
			if !strings.Contains(s, e.old) {
				t.Fatalf("%s.csv does not hold %q", name, e.old)
			}
			s = strings.Replace(s, e.old, e.new, 1)
		}
		put(t, dir, name+".csv", s)
	}
	return dir
}

// placed puts the line of the first row of an item in place of "@ITEM", so that other
// rows may come to a table.
func placed(t *testing.T, want []string) (out []string) {
	t.Helper()
	for _, w := range want {
		before, after, is := strings.Cut(w, "@")
		if item, rest, _ := strings.Cut(after, ":"); is {
			table := strings.TrimPrefix(strings.TrimSuffix(before, ":"), "built-in ")
			text, err := book.ReadFile("book/" + table)
			if err != nil {
				t.Fatal(err)
			}
			above, _, _ := strings.Cut(string(text), "\n"+item+",")
			w = fmt.Sprintf("%s%d:%s", before, strings.Count(above, "\n")+2, rest)
		}
		out = append(out, w)
	}
	return out
}

func put(t *testing.T, dir, file, text string) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, file), []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}

// faultsOf loads a folder and lists its faults as "file:line:column code field".
func faultsOf(t *testing.T, o Options) []string {
	t.Helper()
	c, err := Load(o)
	if err == nil {
		t.Fatal("the catalogue was accepted")
	}
	if c != nil {
		t.Error("a refused catalogue was handed out")
	}
	var f *Faults
	if !errors.As(err, &f) {
		t.Fatalf("not a list of faults: %v", err)
	}
	var got []string
	for _, q := range f.List {
		if q.Message == "" || q.Advice == "" || q.Code == "" {
			t.Errorf("fault without message, advice or code: %v", q)
		}
		stands(t, q)
		place := q.Place.String()
		if o.Dir != "" {
			if rel, err := filepath.Rel(o.Dir, place); err == nil && !strings.HasPrefix(rel, "..") {
				place = rel
			}
		}
		got = append(got, strings.TrimSpace(fmt.Sprintf("%s %s %s", place, q.Code, q.Place.Field)))
	}
	slices.Sort(got)
	return got
}

// stands checks that what a fault found stands where it says.
func stands(t *testing.T, q trace.Query) {
	t.Helper()
	text, err := os.ReadFile(q.Place.File)
	if name, ok := strings.CutPrefix(q.Place.File, "built-in "); ok {
		text, err = book.ReadFile("book/" + name)
	}
	if err != nil || q.Found == "" || q.Place.Line == 0 {
		return
	}
	line := strings.Split(strings.TrimPrefix(string(text), "\ufeff"), "\n")[q.Place.Line-1]
	found, _, _ := strings.Cut(strings.TrimSuffix(q.Found, "…"), "\n")
	if rest := strings.TrimPrefix(line[q.Place.Column-1:], `"`); !strings.HasPrefix(rest, found) {
		t.Errorf("%s found %q, but there stands %q", q.Place, q.Found, rest)
	}
}

// Each broken catalogue gives exactly these faults, each where it stands.
func TestBrokenCataloguesAreLocated(t *testing.T) {
	tests := []struct {
		name   string
		tables map[string][]edit
		want   []string
	}{
		{"unknown column, nearest named", map[string][]edit{"currencies": {{"minor_digits", "minor_digit"}}},
			[]string{"currencies.csv:1:1 column-missing minor_digits", "currencies.csv:1:10 column-unknown minor_digit"}},
		{"duplicate column", map[string][]edit{"currencies": {{"basis", "basis,rate"}}},
			[]string{"currencies.csv:1:34 column-duplicate rate"}},
		{"a range that does not rise, more than all days lost, an input left out", map[string][]edit{"spreads": {
			{"size,-10,0,25", "size,10,0,25"}, {"hours,-10,0,40", "hours,-10,50,40"}, {"weather,0,5,20", "weather,-1,5,95"}, {"wall,-20", "wal,-20"},
		}}, []string{"spreads.csv spread-missing", "spreads.csv:10:14 value-range high_pct", "spreads.csv:10:9 value-range low_pct", "spreads.csv:3:9 value-order likely_pct", "spreads.csv:4:1 word-unknown input", "spreads.csv:5:14 value-order high_pct"}},
		{"surplus cell", map[string][]edit{"labour": {{"62.00,", "62.00,,5"}}},
			[]string{"labour.csv:2:22 cell-surplus"}},
		{"missing cell", map[string][]edit{"labour": {{"crew leader,1,62.00,", "crew leader,1"}}},
			[]string{"labour.csv:2:13 cell-blank rate_per_h"}},
		{"blank required cell", map[string][]edit{"labour": {{"crew leader,1,62.00", "crew leader,,62.00"}}},
			[]string{"labour.csv:2:13 cell-blank in_crew"}},
		{"decimal comma", map[string][]edit{"labour": {{"62.00", `"62,00"`}}},
			[]string{"labour.csv:2:15 number-bad rate_per_h"}},
		{"exponent, word, sign, digits without end", map[string][]edit{"bands": {
			{"BAND-20-15,\"band 20 mm, 304\",20", "BAND-20-15,\"band 20 mm, 304\",2e1"},
			{"BAND-20-30,\"band 20 mm, 304\",20", "BAND-20-30,\"band 20 mm, 304\",NaN"},
			{"BAND-30-30,\"band 30 mm, 304\",30", "BAND-30-30,\"band 30 mm, 304\",+30"},
			{"BAND-30-50,\"band 30 mm, 304\",30", "BAND-30-50,\"band 30 mm, 304\"," + strings.Repeat("3", 200)},
		}}, []string{"bands.csv:2:30 number-bad width_mm", "bands.csv:3:30 number-bad width_mm", "bands.csv:4:30 number-bad width_mm", "bands.csv:5:30 number-bad width_mm"}},
		{"fraction where whole", map[string][]edit{"labour": {{"leader,1,", "leader,1.5,"}}},
			[]string{"labour.csv:2:13 number-bad in_crew"}},
		{"truth value", map[string][]edit{"putties": {{"2.2,no", "2.2,false"}}},
			[]string{"putties.csv:2:40 word-unknown splittable"}},
		{"a pack weighed out whose ratio is not known", map[string][]edit{"putties": {{"0.25,24,100,wet,,25\nPUTTY-1", "0.25,24,100,wet,,\nPUTTY-1"}, {"0.25,24,100,wet,,25\nPUTTY-5", "0.25,24,100,wet,,\nPUTTY-5"}, {"0.25,24,100,wet,,25\nPUTTY-C", "0.25,24,100,wet,,\nPUTTY-C"}}},
			[]string{"putties.csv:4:64 ratio-missing hardener_g"}},
		{"duplicate key", map[string][]edit{"labour": {{"technician", "crew leader"}}},
			[]string{"labour.csv:3:1 key-duplicate role"}},
		{"equal numbers are one key", map[string][]edit{"min_layers": {{"no,2,", "no,1.0,"}}},
			[]string{"min_layers.csv:3:1 key-duplicate leaking"}},
		{"word not known", map[string][]edit{"items": {{"coil,campaign,1.7", "coil,campain,1.7"}}},
			[]string{"items.csv:2:54 word-unknown issue"}},
		{"hire of what is used up, and twice charged", map[string][]edit{"items": {{"R1-01,,no,,,,", "R1-01,,no,,,5,"}, {"T1-14,,yes,,,18,", "T1-14,,yes,,,18,10"}}},
			[]string{"items.csv:2:80 kind-mismatch hire_per_day", "items.csv:@ULTRASONIC:81 value-unused write_off_pct"}},
		{"unit not known", map[string][]edit{"items": {{"coil,campaign,1.7", "coils,campaign,1.7"}}},
			[]string{"items.csv:2:49 word-unknown unit"}},
		{"unit does not suit", map[string][]edit{"items": {{"coil,campaign,1.7", "pc,campaign,1.7"}}},
			[]string{"items.csv:2:49 unit-mismatch unit"}},
		{"negative and zero", map[string][]edit{"labour": {{"62.00", "-62.00"}, {"48.50", "0"}}},
			[]string{"labour.csv:2:15 value-out-of-range rate_per_h", "labour.csv:3:14 value-out-of-range rate_per_h"}},
		{"negative shelf life", map[string][]edit{"items": {{"0.12,730", "0.12,-1"}}},
			[]string{"items.csv:14:69 value-out-of-range shelf_days"}},
		{"inverted range", map[string][]edit{"sealants": {{"dry,5,60", "dry,60,5"}}},
			[]string{"sealants.csv:2:17 range-inverted temp_max_c"}},
		{"unknown reference", map[string][]edit{"consumables": {{"ABRASIVE,8", "ABRASIV,8"}}},
			[]string{"consumables.csv:2:1 reference-unknown item"}},
		{"unknown currency", map[string][]edit{"offers": {{"EUR", "EUX"}}},
			[]string{"offers.csv:2:32 reference-unknown currency"}},
		{"unknown transport", map[string][]edit{"items": {{"EP-SOLID", "EP-SOLIDS"}}},
			[]string{"items.csv:14:79 reference-unknown transport"}},
		{"item nobody offers", map[string][]edit{
			"offers": {{"SAW,Supplier C,C-1640-1,EUR,1,each,,1,3,all-units,,\n", ""}},
			"prices": {{"SAW,Supplier C,1,22.00\n", ""}}},
			[]string{"built-in items.csv:@SAW:1 offer-missing item"}},
		{"offer without price", map[string][]edit{"prices": {{"SAW,Supplier C,1,22.00\n", ""}}},
			[]string{"built-in offers.csv:@SAW:1 price-missing item"}},
		{"no price at the minimum order", map[string][]edit{"prices": {{"PUTTY-05,Supplier B,6,", "PUTTY-05,Supplier B,7,"}}},
			[]string{"prices.csv:48:21 price-missing from_packs"}},
		{"price of nobody", map[string][]edit{"prices": {{"SAW,Supplier C", "SAW,Supplier B"}}},
			[]string{"built-in offers.csv:@SAW:1 price-missing item", "prices.csv:@SAW:5 reference-unknown supplier"}},
		{"price missing", map[string][]edit{"prices": {{"SAW,Supplier C,1,22.00", "SAW,Supplier C,1,"}}},
			[]string{"prices.csv:@SAW:18 cell-blank price_per_pack"}},
		{"part code twice", map[string][]edit{"offers": {{"A-1010-1", "A-1000-1"}}},
			[]string{"offers.csv:3:23 key-duplicate part_code"}},
		{"half a piece", map[string][]edit{"offers": {{"EUR,10,box of 10", "EUR,10.5,box of 10"}}},
			[]string{"offers.csv:10:34 value-not-whole pack_qty"}},
		{"item without description", map[string][]edit{"sealants": {{"SEAL-SUB,submerged", "SEAL-WET,submerged"}}},
			[]string{"built-in items.csv:16:1 item-undescribed item", "sealants.csv:4:1 key-duplicate item"}},
		{"item of another kind", map[string][]edit{"consumables": {{"ABRASIVE,8", "SEAL-DRY,8"}}},
			[]string{"consumables.csv:2:1 kind-mismatch item"}},
		{"gap between bands", map[string][]edit{"bands": {{"30000,170,620", "30000,200,620"}, {"50000,170,620", "50000,200,620"}}},
			[]string{"bands.csv:2:46 diameter-gap od_max_mm"}},
		{"gap above", map[string][]edit{"fasteners": {{"620,6500", "620,6000"}}},
			[]string{"fasteners.csv:4:40 diameter-gap od_max_mm"}},
		{"two bands for one diameter", map[string][]edit{"bands": {{"30000,170,620", "30000,160,620"}, {"50000,170,620", "50000,160,620"}}},
			[]string{"bands.csv:4:43 diameter-overlap od_min_mm", "built-in fasteners.csv:3:35 diameter-gap od_min_mm"}},
		{"coils of a band disagree", map[string][]edit{"bands": {{"20,0.7,30000", "20,0.8,30000"}}},
			[]string{"bands.csv:3:33 group-disagrees thickness_mm"}},
		{"band without fastener", map[string][]edit{"fasteners": {{"FAST-20,\"band 20 mm, 304\"", "FAST-20,\"band 30 mm, 304\""}}},
			[]string{"built-in bands.csv:2:12 fastener-missing band"}},
		{"strip longer than a coil", map[string][]edit{"fasteners": {{"3000,100,620", "31000,100,620"}, {"1200", "15000"}}},
			nil}, // 1200→15000: the girth of 170 mm bounds the strip; 31 m still fits the coil of 50 m
		{"strip longer than a coil, refused", map[string][]edit{"fasteners": {{"3000,100,620", "60000,100,620"}},
			"bands": {{"45,0.8,50000", "45,0.8,15000"}, {"45,0.8,30000", "45,0.8,16000"}}},
			[]string{"fasteners.csv:4:27 strip-too-long reach_mm"}},
		{"no sealant for a surface", map[string][]edit{"sealants": {{"submerged", "wet"}}},
			[]string{"sealants.csv surface-missing"}},
		{"life at one temperature", map[string][]edit{"putty_lives": {{"\"putty, cold grade\",1,10,25\n", ""}, {"\"putty, cold grade\",1,20,13\n", ""}}},
			[]string{"putty_lives.csv:21:23 life-single temp_c"}},
		{"life rises with temperature", map[string][]edit{"putty_lives": {{"0.5,20,50", "0.5,20,100"}}},
			[]string{"putty_lives.csv:3:30 value-rises minutes"}},
		{"life rises with mass", map[string][]edit{"putty_lives": {{"1,10,80", "1,10,101"}}},
			[]string{"putty_lives.csv:6:28 value-rises minutes"}},
		{"pack heavier than any life", map[string][]edit{"putties": {{"2.2,yes", "2.2,no"}, {"PUTTY-5,\"putty, metal-filled\",5", "PUTTY-5,\"putty, metal-filled\",6"}}},
			[]string{"putties.csv:4:31 life-missing pack_kg"}},
		{"minimum layers of one service", map[string][]edit{"min_layers": {{"yes,0.5", "no,0.5"}, {"yes,1,", "no,3,"}, {"yes,2,", "no,5,"}, {"yes,4,", "no,6,"}, {"yes,10,", "no,11,"}}},
			[]string{"min_layers.csv service-missing", "min_layers.csv:2:6 value-falls layers", "min_layers.csv:5:7 value-falls layers"}},
		{"layers fall", map[string][]edit{"min_layers": {{"no,2,4", "no,2,1"}}},
			[]string{"min_layers.csv:3:6 value-falls layers"}},
		{"costs out of order", map[string][]edit{"costs": {{"overhead,percent,12", "site,percent,12"}}},
			[]string{"costs.csv:7:21 cost-order stage"}},
		{"margin of all", map[string][]edit{"costs": {{"percent-profit,8", "percent-profit,100"}}},
			[]string{"costs.csv:9:39 value-out-of-range value"}},
		{"margin of all, whatever the setting", map[string][]edit{"costs": {{"percent-profit,8", "percent-margin,100"}}, "settings": {{"bid.profit_as,margin", "bid.profit_as,markup"}}},
			[]string{"costs.csv:9:39 value-out-of-range value"}},
		{"a value left out", map[string][]edit{"costs": {{"percent,12", "percent,"}}}, []string{"costs.csv:7:38 cell-blank value"}},
		{"a value that does nothing", map[string][]edit{"costs": {{"percent-class,", "percent-class,9"}}}, []string{"costs.csv:8:53 value-unused value"}},
		{"profit by the class", map[string][]edit{"costs": {{"percent-profit,8", "percent-class,"}}}, []string{"costs.csv:9:24 kind-mismatch per"}},
		{"a class left out", map[string][]edit{"classes": {{"5,-50", "4,-50"}}}, []string{"classes.csv class-missing", "classes.csv:3:1 key-duplicate class"}},
		{"a system that is not there", map[string][]edit{"settings": {{"wrap.system,,", "wrap.system,none such,"}}}, []string{"settings.csv:133:13 reference-unknown value"}},
		{"component missing", map[string][]edit{"components": {{"nozzle,1.2,1.5,\"invented, between bend and tee\",no\n", ""}}},
			[]string{"components.csv component-missing"}},
		{"life factor rises", map[string][]edit{"life_factors": {{"30,0.9", "30,0.7"}}},
			[]string{"life_factors.csv:23:4 value-rises factor"}},
		{"wall without bore", map[string][]edit{"pipes": {{"NPS,1/8,10.3,1.73", "NPS,1/8,10.3,5.15"}}},
			[]string{"pipes.csv:2:14 value-out-of-range std_wall_mm"}},
		{"series of the standard walls missing", map[string][]edit{"pipes": {{"NPS,1/8", "OWN,1/8"}}}, nil},
		{"currency code", map[string][]edit{"currencies": {{"JPY", "yen"}}},
			[]string{"currencies.csv:5:1 currency-form currency"}},
		{"nothing available", map[string][]edit{"offers": {{"6,6,4,all-units,120", "6,6,4,all-units,0"}}},
			[]string{"offers.csv:18:65 value-out-of-range available_packs"}},
		{"less available than must be ordered", map[string][]edit{"offers": {{"6,6,4,all-units,120", "6,6,4,all-units,5"}}},
			[]string{"offers.csv:18:65 value-out-of-range available_packs"}},
		{"life factors too short for the usual life", map[string][]edit{"life_factors": {{"\n20,1,", "\n19.1,1,"}, {"30,0.9,", "19.2,0.9,"}, {"40,0.8,", "19.3,0.8,"}}},
			[]string{"life_factors.csv:23:1 life-uncovered years"}},
		{"base rate", map[string][]edit{"currencies": {{"EUR,2,1,", "EUR,2,1.1,"}}},
			[]string{"currencies.csv:2:7 rate-base rate"}},
		{"part of a millimetre", map[string][]edit{"bands": {{"0.7,15000", "0.7,15000.5"}}},
			[]string{"bands.csv:2:37 value-not-whole coil_length_mm"}},
		{"control character", map[string][]edit{"labour": {{"crew leader", "crew\x07leader"}}},
			[]string{"labour.csv:2:1 text-control role"}},
		{"line break in a cell", map[string][]edit{"labour": {{"crew leader", "\"crew\nleader\""}}},
			[]string{"labour.csv:2:1 text-control role"}},
		{"not UTF-8", map[string][]edit{"labour": {{"crew leader", "crew \xe9"}}},
			[]string{"labour.csv:2:1 text-encoding role"}},
		{"cell without end", map[string][]edit{"labour": {{"crew leader", strings.Repeat("x", 100_000)}}},
			[]string{"labour.csv:2:1 text-too-long role"}},
		{"setting unknown", map[string][]edit{"settings": {{"wrap.overlap", "wrap.overlp"}}},
			[]string{"settings.csv:9:1 setting-unknown name"}},
		{"setting below hard limit, its own limits widened", map[string][]edit{"settings": {{"wrap.overlap,0.5,,0.5,", "wrap.overlap,0.3,,0,"}}},
			[]string{"settings.csv:9:14 value-out-of-range value"}},
		{"setting word", map[string][]edit{"settings": {{"mix.pooling,kit", "mix.pooling,some"}}},
			[]string{"settings.csv:50:13 word-unknown value"}},
		{"setting blank", map[string][]edit{"settings": {{"crew.count,1", "crew.count,"}}},
			[]string{"settings.csv:53:12 cell-blank value"}},
		{"settings contradict", map[string][]edit{"settings": {{"putty.height,5", "putty.height,12"}}},
			[]string{"settings.csv:34:19 setting-contradicts value"}},
		{"all at once, sorted", map[string][]edit{
			"labour":     {{"62.00", "x"}},
			"currencies": {{"0.91", "-1"}},
			"sealants":   {{"dry,5,60", "damp,5,60"}},
		}, []string{"currencies.csv:3:7 value-out-of-range rate", "labour.csv:2:15 number-bad rate_per_h", "sealants.csv surface-missing", "sealants.csv:2:10 word-unknown surface"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			dir := folder(t, tt.tables)
			if tt.want == nil {
				if _, err := Load(Options{Dir: dir}); err != nil {
					t.Fatal(err)
				}
				return
			}
			tt.want = placed(t, tt.want)
			slices.Sort(tt.want)
			got := faultsOf(t, Options{Dir: dir})
			if diff := cmp.Diff(tt.want, got); diff != "" {
				t.Errorf("faults (-want +got):\n%s", diff)
			}
		})
	}
}

// A catalogue that can be used but deserves a look says so, where.
func TestNotesAreLocated(t *testing.T) {
	tests := []struct {
		name   string
		tables map[string][]edit
		sets   []string
		want   []string
	}{
		{"expansion not given", map[string][]edit{"wraps": {{",6,14,18,", ",6,,18,"}, {",6,14,18,", ",6,,18,"}, {",6,14,18,", ",6,,18,"}, {",6,14,18,", ",6,,18,"}, {",6,14,18,", ",6,,18,"}, {",6,14,18,", ",6,,18,"}, {",6,14,18,", ",6,,18,"}, {",6,14,18,", ",6,,18,"}, {",6,14,18,", ",6,,18,"}}}, nil, []string{"wraps.csv:2:113 expansion-missing"}},
		{"no shelf life", map[string][]edit{"items": {{"0.12,730", "0.12,"}}}, nil, []string{"items.csv:14:69 shelf-life-missing"}},
		{"no transport class", map[string][]edit{"items": {{"C1-01,EP-SOLID", "C1-01,"}}}, nil, []string{"items.csv:14:79 transport-missing"}},
		{"tool nobody is given", map[string][]edit{"consumables": {{"SAW,1,crew,removal,,\n", ""}}}, nil, []string{"built-in items.csv:@SAW:1 item-unused"}},
		{"dearer by the dozen", map[string][]edit{"prices": {{"5,38.50", "5,41.50"}}}, nil, []string{"prices.csv:3:25 price-rises"}},
		{"lives short of the range", map[string][]edit{"putties": {{"0.5,2.1,no,0,20", "0.5,2.1,no,0,31"}, {"1,2.1,no,0,20", "1,2.1,no,0,31"}}}, nil,
			[]string{"putties.csv:5:45 life-short-of-range"}},
		{"no sheet for small pipe", map[string][]edit{"sheets": {{"1000,45,620", "1000,60,620"}, {"2000,45,620", "2000,60,620"}}}, nil,
			[]string{"sheets.csv:2:50 diameter-unserved"}},
		{"no wrap for small pipe", map[string][]edit{"wraps": {{"0.36,10,120", "0.36,30,120"}, {"0.36,10,120", "0.36,30,120"}}}, nil,
			[]string{"wraps.csv:2:64 diameter-unserved"}},
		{"a crew paid far more than it counts in the choice of rolls", map[string][]edit{"labour": {{"62.00", "620.00"}}}, nil, []string{"built-in settings.csv:16:16 crew-hour-differs"}},
		{"percent as a fraction", map[string][]edit{"costs": {{"overhead,percent,12", "overhead,percent,0.12"}}}, []string{"order.growth=0.05"},
			[]string{"--set order.growth=0.05 percent-as-fraction", "costs.csv:7:38 percent-as-fraction"}},
		{"margin as a fraction", map[string][]edit{"costs": {{"percent-profit,8", "percent-profit,0.08"}}}, nil, []string{"costs.csv:9:39 percent-as-fraction"}},
		{"access left out", map[string][]edit{"accesses": {{"rope,\"by rope access\",420.00,1.6,45,10\n", ""}}}, nil, []string{"accesses.csv access-left-out"}},
		{"grams for kilograms", map[string][]edit{"items": {{"stick,kit,0.12", "stick,kit,120"}, {"coil,campaign,1.7", "coil,campaign,1700"}, {"sheet,campaign,1,", "sheet,campaign,0.001,"},
			{"pack,kit,0.6,", "pack,kit,600,"}, {"roll,kit,0.08", "roll,kit,80"}}}, nil,
			[]string{"items.csv:11:69 mass-unlikely", "items.csv:14:64 mass-unlikely", "items.csv:17:66 mass-unlikely", "items.csv:24:56 mass-unlikely",
				"items.csv:2:63 mass-unlikely"}},
		{"a heavy consumable", map[string][]edit{"items": {{"\"nitrile gloves\",pair,kit,0.02", "\"nitrile gloves\",pair,kit,26"}}}, nil, []string{"items.csv:@GLOVE:44 mass-unlikely"}},
		{"rolls too long for one pair of hands", nil, []string{"wrap.max_hands=1", "wrap.laying_speed=1"},
			[]string{"built-in wraps.csv:10:53 roll-too-long", "built-in wraps.csv:5:54 roll-too-long", "built-in wraps.csv:7:53 roll-too-long", "built-in wraps.csv:9:55 roll-too-long"}},
		{"wider than any product", nil, []string{"set.od_max=12000"},
			[]string{"built-in bands.csv:6:47 diameter-unserved", "built-in sheets.csv:4:53 diameter-unserved", "built-in wraps.csv:8:67 diameter-unserved"}},
		{"colder than any product", nil, []string{"work.temperature=-5"},
			[]string{"built-in putties.csv:2:43 temperature-uncovered", "built-in sealants.csv:2:14 temperature-uncovered",
				"built-in sealants.csv:3:14 temperature-uncovered", "built-in sealants.csv:4:20 temperature-uncovered"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			o := Options{Sets: tt.sets}
			if tt.tables != nil {
				o.Dir = folder(t, tt.tables)
			}
			c, err := Load(o)
			if err != nil {
				t.Fatal(err)
			}
			var got []string
			for _, q := range c.Warnings {
				if q.Severity == trace.Stop || q.Message == "" || q.Advice == "" {
					t.Errorf("note %+v", q)
				}
				stands(t, q)
				got = append(got, strings.TrimPrefix(q.Place.String(), o.Dir+"/")+" "+q.Code)
			}
			slices.Sort(got)
			if diff := cmp.Diff(placed(t, tt.want), got); diff != "" {
				t.Errorf("notes (-want +got):\n%s", diff)
			}
		})
	}
}

// Data of a wrap that do not go together are asked about, once a system.
func TestImplausibleWrapsAreAsked(t *testing.T) {
	text, err := book.ReadFile("book/wraps.csv")
	if err != nil {
		t.Fatal(err)
	}
	const sound = "20000,12000,3000,0.2,150,0.0025,0.0025,6,14,18,5,50,90,115,"
	for want, row := range map[string]string{
		"":                  sound,
		"hoop_strain":       "20000,12000,3000,0.2,150,0.025,0.0025,6,14,18,5,50,90,115,",
		"axial_strain":      "20000,12000,3000,0.2,150,0.0025,0.011,6,14,18,5,50,90,115,",
		"toughness_j_m2":    "20000,12000,3000,0.2,2500,0.0025,0.0025,6,14,18,5,50,90,115,",
		"hoop_modulus_mpa":  "20,12,3,0.2,150,0.0025,0.0025,6,14,18,5,50,90,115,",
		"axial_modulus_mpa": "12000,20000,3000,0.2,150,0.0025,0.0025,6,14,18,5,50,90,115,",
		"shear_modulus_mpa": "20000,12000,13000,0.2,150,0.0025,0.0025,6,14,18,5,50,90,115,",
		"service_temp_c":    "20000,12000,3000,0.2,150,0.0025,0.0025,6,14,18,5,50,96,115,",
	} {
		if !strings.Contains(string(text), sound) {
			t.Fatal("the built-in wraps are others")
		}
		dir := t.TempDir()
		put(t, dir, "wraps.csv", strings.ReplaceAll(string(text), sound, row))
		c, err := Load(Options{Dir: dir})
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, q := range c.Warnings {
			got = append(got, q.Place.Field)
			if q.Severity != trace.Ask || q.Code != "product-implausible" {
				t.Errorf("%s", q)
			}
		}
		if strings.Join(got, " ") != want {
			t.Errorf("%s: asked about %v, want %q", row, got, want)
		}
	}
}

// Sizes beyond reason are refused before they are read.
func TestSourcesAreBounded(t *testing.T) {
	for name, tt := range map[string]struct{ text, want string }{
		"large": {"role,in_crew,rate_per_h\n" + strings.Repeat("a,1,2 \n", maxTableBytes/7), "labour.csv file-too-large"},
		"long":  {"role,in_crew,rate_per_h\n" + strings.Repeat("a,1,2\n", maxTableRows+1), fmt.Sprintf("labour.csv:%d:1 table-too-long", maxTableRows+2)},
	} {
		dir := t.TempDir()
		put(t, dir, "labour.csv", tt.text)
		faults := &Faults{}
		if _, err := readDir(dir, faults); err != nil {
			t.Fatal(err)
		}
		if len(faults.List) != 1 || strings.TrimPrefix(faults.List[0].Place.String(), dir+"/")+" "+faults.List[0].Code != tt.want {
			t.Errorf("%s: %v, want %s", name, faults.List, tt.want)
		}
	}

	dir := t.TempDir()
	if err := os.Mkdir(filepath.Join(dir, "labour.csv"), 0o700); err != nil {
		t.Fatal(err)
	}
	if got := faultsOf(t, Options{Dir: dir}); !slices.Contains(got, "labour.csv table-unknown") {
		t.Errorf("a folder in place of a table gave %v", got)
	}
	dir = t.TempDir()
	if err := os.Symlink(filepath.Join(dir, "gone"), filepath.Join(dir, "labour.csv")); err != nil {
		t.Skip("no symbolic links here")
	}
	if got := faultsOf(t, Options{Dir: dir}); !slices.Contains(got, "labour.csv file-unreadable") {
		t.Errorf("a link to nothing gave %v", got)
	}
}

// Whole files that are wrong.
func TestWrongFilesAreLocated(t *testing.T) {
	labour, err := book.ReadFile("book/labour.csv")
	if err != nil {
		t.Fatal(err)
	}
	tests := []struct {
		name, file, text string
		want             []string
	}{
		{"near a table's name", "labor.csv", string(labour), []string{". table-none", "labor.csv table-unknown"}},
		{"not a table", "prices.xls", "", []string{". table-none", "prices.xls table-unknown"}},
		{"empty", "labour.csv", "", []string{"labour.csv table-empty"}},
		{"only a mark", "labour.csv", "\ufeff", []string{"labour.csv table-empty"}},
		{"costs that would leave out overhead, profit and tax", "costs.csv", "cost,name,stage,per,value,note\n", []string{"costs.csv table-empty"}},
		{"headings alone", "labour.csv", "role,in_crew,rate_per_h\n", []string{"labour.csv table-empty"}},
		{"another series alone", "pipes.csv", "series,size,od_mm,std_wall_mm,source\nOWN,1,33.4,3.38,own\n", []string{"pipes.csv series-missing"}},
		{"semicolons", "labour.csv", "role;in_crew;rate_per_h\na;1;2\n", []string{"labour.csv:1:1 separator-wrong"}},
		{"tabs", "labour.csv", "role\tin_crew\trate_per_h\na\t1\t2\n", []string{"labour.csv:1:1 separator-wrong"}},
		{"open quote", "labour.csv", "role,in_crew,rate_per_h\n\"a,1,2\n", []string{"labour.csv:2:8 csv-malformed"}},
		{"stray quote, the rest read", "labour.csv", "role,in_crew,rate_per_h\na\"b,1,2\nc,1,x\n", []string{"labour.csv:2:2 csv-malformed", "labour.csv:3:5 number-bad rate_per_h"}},
		{"column without a name", "labour.csv", "role,in_crew,rate_per_h,\na,1,2,3\n", []string{"labour.csv:1:25 column-unnamed"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			dir := t.TempDir()
			put(t, dir, tt.file, tt.text)
			slices.Sort(tt.want)
			got := faultsOf(t, Options{Dir: dir})
			if diff := cmp.Diff(tt.want, got); diff != "" {
				t.Errorf("faults (-want +got):\n%s", diff)
			}
		})
	}
}

// What a spreadsheet adds to a table without meaning anything is passed over.
func TestHarmlessFormsAreRead(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, "labour.csv", "\ufeffrate_per_h , role,in_crew,,\r\n 62.00,crew leader,1,,\r\n\r\n,,,,\r\n48.5,technician,2,,\r\n,,\r\n")
	put(t, dir, "README.md", "notes")
	put(t, dir, ".hidden", "")
	c, err := Load(Options{Dir: dir})
	if err != nil {
		t.Fatal(err)
	}
	if len(c.Labour) != 2 || c.Labour[0].Role != "crew leader" || c.Labour[0].Rate.String() != "62" || c.Labour[1].Count != 2 {
		t.Errorf("read %+v", c.Labour)
	}
}

func TestSettingsGivenByName(t *testing.T) {
	c, err := Load(Options{Sets: []string{"wrap.overlap=0.55", "campaign.start=2031-02-28", " crew.count = 3", "mix.pooling=crew-shift"}})
	if err != nil {
		t.Fatal(err)
	}
	if s := c.Settings; s.Overlap != 0.55 || s.Start != "2031-02-28" || s.Crews != 3 || s.MixPooling != "crew-shift" {
		t.Errorf("settings %+v", s)
	}
	changed := 0
	for _, r := range c.SettingRows {
		if r.Changed == "--set" {
			changed++
		} else if r.Changed != "" {
			t.Errorf("%s changed by %s", r.Name, r.Changed)
		}
	}
	if changed != 4 {
		t.Errorf("%d settings marked as changed, want 4", changed)
	}

	for set, want := range map[string]string{
		"wrap.overlp=0.55":           `--set wrap.overlp=0.55: wrong: there is no setting of that name (found "wrap.overlp"); is "wrap.overlap" meant? [setting-unknown]`,
		"wrap.overlap=0.49":          `--set wrap.overlap=0.49: wrong: wrap.overlap is below the smallest value accepted (found "0.49"); give a value from 0.5 to 0.9 [value-out-of-range]`,
		"wrap.overlap=1":             "wrap.overlap is above the largest",
		"wrap.overlap=0,55":          "write a decimal point",
		"wrap.overlap":               "a setting is given as name=value",
		"=3":                         "a setting is given as name=value",
		"crew.count=1.5":             "is not a whole number",
		"crew.count=":                "is blank",
		"campaign.start=28.02.2031":  "write yyyy-mm-dd",
		"campaign.start=2031-02-30":  "write yyyy-mm-dd",
		"order.split_suppliers=true": "write one of yes, no",
		"money.currency=CHF":         "money.currency is not in the table currencies",
		"money.currency=USD":         "the rate of the currency of the bid is not 1",
		"cut.kerf=0.5":               "cut.kerf is not a whole number of mm",
		"work.surface=we\x00t":       "control character",
		"wrap.thickness_limit=0":     "below the smallest value accepted",
		"design.life=50":             "no factor for the usual service life of 50 years",
	} {
		_, err := Load(Options{Sets: []string{set}})
		var f *Faults
		if !errors.As(err, &f) || !strings.Contains(err.Error(), want) {
			t.Errorf("--set %q gave %v, want %q in it", set, err, want)
		}
	}
	if _, err := Load(Options{Sets: []string{"crew.count=2", "crew.count=3"}}); err == nil || !strings.Contains(err.Error(), "given twice") {
		t.Errorf("a setting given twice gave %v", err)
	}
}

// A settings table may leave rows out: the built-in values hold and are named.
func TestSettingsTableMayBePartial(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, "settings.csv", "name,value,unit,min,max,choices,basis,verified,meaning\nreach.run_out,150,mm,,,,the firm's own choice,n/a,Run-out.\n")
	c, err := Load(Options{Dir: dir, Sets: []string{"taper.ratio=6"}})
	if err != nil {
		t.Fatal(err)
	}
	if c.Settings.RunOut != 150 || c.Settings.TaperRatio != 6 || c.Settings.MinLayers != 2 {
		t.Errorf("settings %+v", c.Settings)
	}
	if want := fmt.Sprintf("leaves out %d settings", len(settingFields)-1); len(c.Warnings) != 1 || !strings.Contains(c.Warnings[0].Message, want) {
		t.Errorf("notes %v, want one that the table %s", c.Warnings, want)
	}
	if got := c.SettingRows[0].Changed; got != filepath.Join(dir, "settings.csv")+":2:15" {
		t.Errorf("the changed setting says %q", got)
	}
}

// The list is capped in print, and the rest counted.
func TestFaultsAreCapped(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, "labour.csv", "role,in_crew,rate_per_h\n"+strings.Repeat("a,x,y\n", 2000))
	_, err := Load(Options{Dir: dir})
	var f *Faults
	if !errors.As(err, &f) {
		t.Fatal(err)
	}
	const faults = 2000*2 + 1999 // two bad cells a row, and the role again
	if f.Total != faults || len(f.List) != maxFaults {
		t.Errorf("%d faults and %d kept, want %d and %d", f.Total, len(f.List), faults, maxFaults)
	}
	text := err.Error()
	if lines := strings.Count(text, "\n"); lines != shownFaults+1 || !strings.HasSuffix(text, fmt.Sprintf("and %d more", faults-shownFaults)) {
		t.Errorf("%d lines, ending %q", lines, text[len(text)-40:])
	}
}

// Places that cannot be opened are no faults of the catalogue.
func TestPlacesThatCannotBeOpened(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, "a.txt", "x")
	put(t, dir, "b.xlsx", "x")
	for _, path := range []string{filepath.Join(dir, "none"), filepath.Join(dir, "a.txt"), filepath.Join(dir, "b.xlsx")} {
		_, err := Load(Options{Dir: path})
		var open *OpenError
		if !errors.As(err, &open) || open.Path != path || open.Unwrap() == nil || !strings.HasPrefix(err.Error(), "the catalogue "+path+" cannot be opened: ") {
			t.Errorf("%s gave %v", path, err)
		}
	}
}

func TestWorkbookGivesTheSameCatalogue(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book.xlsx")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := WriteWorkbook(f, ""); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	got, err := Load(Options{Dir: path})
	if err != nil {
		t.Fatal(err)
	}
	want, err := Load(Options{})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(tablesOf(want), tablesOf(got)); diff != "" {
		t.Errorf("the workbook differs from the built-in tables:\n%s", diff)
	}
}

// The workbook for editing has numbers as numbers, headings that stay in sight and
// say what they mean, and drop-downs; twice written it is the same, byte for byte.
func TestWorkbookIsMadeForEditing(t *testing.T) {
	var first, again bytes.Buffer
	if err := WriteWorkbook(&first, ""); err != nil {
		t.Fatal(err)
	}
	if err := WriteWorkbook(&again, ""); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(first.Bytes(), again.Bytes()) {
		t.Error("two workbooks differ")
	}
	f, err := excelize.OpenReader(&first)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for i := range tables {
		def := &tables[i]
		panes, err := f.GetPanes(def.name)
		if err != nil || !panes.Freeze || panes.YSplit != 1 {
			t.Errorf("%s: the heading is not frozen: %+v %v", def.name, panes, err)
		}
		comments, err := f.GetComments(def.name)
		if err != nil || len(comments) != len(def.cols) {
			t.Errorf("%s: %d comments for %d columns, %v", def.name, len(comments), len(def.cols), err)
		}
		validations, err := f.GetDataValidations(def.name)
		if err != nil {
			t.Fatal(err)
		}
		for k, col := range def.cols {
			letter, _ := excelize.ColumnNumberToName(k + 1)
			limited := slices.ContainsFunc(validations, func(dv *excelize.DataValidation) bool {
				return dv.Sqref == fmt.Sprintf("%s2:%s%d", letter, letter, roomBelow)
			})
			if want := len(col.words) > 0 || col.table != "" || col.limit != nil; limited != want {
				t.Errorf("%s.%s: drop-down or limits %v, want %v", def.name, col.name, limited, want)
			}
			kind, err := f.GetCellType(def.name, letter+"2")
			if err != nil {
				t.Fatal(err)
			}
			value, _ := f.GetCellValue(def.name, letter+"2")
			if number := kind == excelize.CellTypeUnset || kind == excelize.CellTypeNumber; value != "" && number != (col.limit != nil) && !col.mixed {
				t.Errorf("%s.%s: cell type %v", def.name, col.name, kind)
			}
		}
	}
}

// A column, sheet or file of the firm's own is passed over and said to be; one
// whose name is nearly that of something missing is refused.
func TestTheFirmsOwnIsKept(t *testing.T) {
	dir := folder(t, map[string][]edit{"labour": {{"role,in_crew,rate_per_h", "role,in_crew,rate_per_h,agency"}, {"62.00", "62.00,Smith"}}, "items": nil})
	put(t, dir, "drawings.csv", "a,b\n")
	c, err := Load(Options{Dir: dir})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, q := range c.Warnings {
		got = append(got, strings.TrimPrefix(q.Place.String(), dir+"/")+" "+q.Code)
	}
	if diff := cmp.Diff([]string{"drawings.csv table-own", "labour.csv:1:25 column-own"}, got); diff != "" {
		t.Error(diff)
	}
	text, err := book.ReadFile("book/items.csv")
	if err != nil {
		t.Fatal(err)
	}
	put(t, dir, "items.csv", strings.Replace(string(text), ",shelf_days,", ",shelf_day,", 1))
	if diff := cmp.Diff([]string{"items.csv:1:40 column-unknown shelf_day"}, faultsOf(t, Options{Dir: dir})); diff != "" {
		t.Error(diff)
	}
	// a column that may be blank may be left out: it is said, and every row is blank
	put(t, dir, "items.csv", strings.Replace(string(text), ",hire_per_day,", ",made_by,", 1))
	if c, err = Load(Options{Dir: dir}); err != nil || !slices.ContainsFunc(c.Warnings, func(q trace.Query) bool { return q.Code == "column-left-out" && q.Place.Field == "hire_per_day" }) {
		t.Errorf("%v, %v", c, err)
	}
}

// A number as a spreadsheet stores it is the number that its user sees, and a
// fault says the sheet, row and column.
func TestWorkbookNumbersAndPlaces(t *testing.T) {
	path := filepath.Join(t.TempDir(), "own.xlsx")
	f := excelize.NewFile()
	if err := f.SetSheetName("Sheet1", "labour"); err != nil {
		t.Fatal(err)
	}
	for ref, v := range map[string]any{"A1": "role", "B1": "in_crew", "C1": "rate_per_h", "A2": "crew leader", "B2": 1, "C2": 1.1 * 1.1 * 10,
		"A3": "technician", "B3": 2.0, "C3": 48.5} {
		if err := f.SetCellValue("labour", ref, v); err != nil {
			t.Fatal(err)
		}
	}
	if err := f.SaveAs(path); err != nil {
		t.Fatal(err)
	}
	c, err := Load(Options{Dir: path})
	if err != nil {
		t.Fatal(err)
	}
	if got := c.Labour[0].Rate.String(); got != "12.1" {
		t.Errorf("rate %s, want 12.1", got)
	}
	if err := f.SetCellValue("labour", "C3", "much"); err != nil {
		t.Fatal(err)
	}
	if _, err := f.NewSheet("Sheet9"); err != nil {
		t.Fatal(err)
	}
	if err := f.SetCellValue("Sheet9", "A1", "x"); err != nil {
		t.Fatal(err)
	}
	if _, err := f.NewSheet("Sheet2"); err != nil { // empty: passed over
		t.Fatal(err)
	}
	if err := f.SaveAs(path); err != nil {
		t.Fatal(err)
	}
	_, err = Load(Options{Dir: path})
	for _, want := range []string{path + "!labour:3:3: wrong: rate_per_h is not a number", path + "!Sheet9: wrong:"} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("no %q in %v", want, err)
		}
	}
}

func TestPlainNumber(t *testing.T) {
	for in, want := range map[string]string{
		"12": "12", "12.50": "12.50", "1.1000000000000001": "1.1", "6.0000000000000002E-5": "0.00006", "1e3": "1000",
		"": "", "x": "x", "NaN": "NaN", "0x10p3": "0x10p3", "1_0": "1_0", "Inf": "Inf", "-0.30000000000000004": "-0.3", "1e400": "1e400",
	} {
		if got := plainNumber(in); got != want {
			t.Errorf("plainNumber(%q) = %q, want %q", in, got, want)
		}
	}
}

// The built-in tables written into a folder are read back the same.
func TestBookRoundTrips(t *testing.T) {
	dir := t.TempDir()
	if err := os.CopyFS(dir, Book()); err != nil {
		t.Fatal(err)
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	if want := len(sourceNames()) + len(beside()); len(entries) != want+1 {
		t.Errorf("%d files, want %d tables and a README", len(entries), want)
	}
	got, err := Load(Options{Dir: dir})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(tablesOf(builtin(t)), tablesOf(got)); diff != "" {
		t.Errorf("read back:\n%s", diff)
	}
}
