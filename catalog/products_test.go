package catalog

import (
	"bytes"
	"encoding/csv"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/shopspring/decimal"
)

// productRows writes what the built-in tables say of items as rows of the table
// of products: a row for each price, the rest of it once.
func productRows(t testing.TB, only func(item, kind string) bool) [][]string {
	t.Helper()
	head := []string{}
	for _, c := range productColumns {
		head = append(head, c.name)
	}
	out := [][]string{head}
	row := func(item string) []string {
		r := make([]string, len(head))
		r[slices.Index(head, "item")] = item
		out = append(out, r)
		return r
	}
	put := func(r []string, g *grid, cells []cell) {
		for i, h := range g.head {
			r[slices.Index(head, h.text)] = cells[i].text
		}
	}
	read := func(name string) *grid {
		f := &Faults{}
		g := readBuiltin(name, f)
		if err := f.err(); err != nil {
			t.Fatal(err)
		}
		return g
	}
	items, offers, prices := read("items"), read("offers"), read("prices")
	for _, it := range items.rows {
		code, kind := items.text(it, "item"), items.text(it, "kind")
		if !only(code, kind) {
			continue
		}
		r := row(code)
		put(r, items, it)
		for _, def := range productTables {
			if def.kind != kind && (def.name != "consumables" || !isIssued(kind)) {
				continue
			}
			g, first := read(def.name), true
			for _, cells := range g.rows {
				if g.text(cells, "item") != code {
					continue
				}
				if !first {
					r = row(code) // a further rule
				}
				put(r, g, cells)
				first = false
			}
		}
		first := true
		for _, o := range offers.rows {
			if offers.text(o, "item") != code {
				continue
			}
			firstPrice := true
			for _, p := range prices.rows {
				if prices.text(p, "item") != code || prices.text(p, "supplier") != offers.text(o, "supplier") {
					continue
				}
				if !first {
					r = row(code)
				}
				if firstPrice {
					put(r, offers, o)
				}
				put(r, prices, p)
				first, firstPrice = false, false
			}
		}
	}
	return out
}

// csvOf is rows as comma-separated text.
func csvOf(t testing.TB, rows [][]string) string {
	t.Helper()
	var b bytes.Buffer
	if err := csv.NewWriter(&b).WriteAll(rows); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// loadProducts loads a catalogue of a table of products alone.
func loadProducts(t *testing.T, text string) (*Catalog, error) {
	t.Helper()
	dir := t.TempDir()
	put(t, dir, "products.csv", text)
	return Load(Options{Dir: dir})
}

// Everything that the built-in tables say of products can be said in the one
// table of products, and is read back the same, whatever the order of its rows.
func TestProductsSayWhatTheTablesSay(t *testing.T) {
	want := builtin(t)
	got, err := loadProducts(t, csvOf(t, productRows(t, func(_, _ string) bool { return true })))
	if err != nil {
		t.Fatal(err)
	}
	opts := cmp.Options{
		cmpopts.SortSlices(func(a, b Item) bool { return a.Code < b.Code }), cmpopts.SortSlices(func(a, b Offer) bool { return a.Item+a.Supplier < b.Item+b.Supplier }),
		cmpopts.SortSlices(func(a, b Consumable) bool { return a.Item+a.Per+a.When < b.Item+b.Per+b.When }),
		cmpopts.SortSlices(func(a, b Price) bool {
			return a.Item+a.Supplier < b.Item+b.Supplier || a.Item+a.Supplier == b.Item+b.Supplier && a.FromPacks < b.FromPacks
		}),
		cmp.Comparer(func(a, b decimal.Decimal) bool { return a.Equal(b) }),
	}
	for name, rows := range tablesOf(want) {
		if diff := cmp.Diff(rows, tablesOf(got)[name], opts); diff != "" {
			t.Errorf("%s:\n%s", name, diff)
		}
	}
	if !cmp.Equal(want.Invented, got.Invented) {
		t.Errorf("the same rows count as invented in %v, want %v", got.Invented, want.Invented)
	}
}

// The built-in table of products holds examples only: what two of the built-in
// products would look like there; -update writes it anew.
func TestExampleProducts(t *testing.T) {
	rows := productRows(t, func(item, _ string) bool {
		return item == "BAND-30-30" || item == "FAST-30" || item == "WRAP-075-3" || item == "GLOVE"
	})
	for _, r := range rows[1:] {
		r[0], r[1] = "yes", exampleCode+r[1]
	}
	want := csvOf(t, rows)
	if *update {
		if err := os.WriteFile(filepath.Join("book", "products.csv"), []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := book.ReadFile("book/products.csv")
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, string(got)); diff != "" {
		t.Errorf("run go test ./catalog -update; the examples differ:\n%s", diff)
	}
	c, err := loadProducts(t, want)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(tablesOf(builtin(t)), tablesOf(c)); diff != "" {
		t.Errorf("examples were read:\n%s", diff)
	}
	if len(c.Warnings) > 0 {
		t.Errorf("notes of the examples: %v", c.Warnings)
	}
	if c, err = loadProducts(t, "example,item\nyes,OWN-TAPE\n"); err != nil || len(c.Warnings) != 1 || c.Warnings[0].Code != "product-example" {
		t.Errorf("notes of an example of the firm's own: %v %v", c.Warnings, err)
	}
}

// wraps is products of wraps alone, with codes of the firm's own.
func ownWraps(t testing.TB) string {
	text := csvOf(t, productRows(t, func(_, kind string) bool { return kind == "wrap" }))
	return strings.ReplaceAll(strings.ReplaceAll(text, "WRAP-", "OWN-"), "Supplier B", "Firm's supplier")
}

// Own wraps take the place of the built-in ones, with their offers and prices;
// the rest stays. So they do where the built-in tables stand beside them unchanged,
// as in a workbook that was written for editing.
func TestOwnProductsReplaceTheirKind(t *testing.T) {
	for _, beside := range []bool{false, true} {
		dir := t.TempDir()
		if beside {
			if err := os.CopyFS(dir, Book()); err != nil {
				t.Fatal(err)
			}
		}
		put(t, dir, "products.csv", ownWraps(t))
		c, err := Load(Options{Dir: dir})
		if err != nil {
			t.Fatal(err)
		}
		base := builtin(t)
		if len(c.Wraps) != len(base.Wraps) || len(c.Items) != len(base.Items) || len(c.Offers) != len(base.Offers) || len(c.Prices) != len(base.Prices) || len(c.Bands) != len(base.Bands) {
			t.Errorf("%d wraps, %d items, %d offers, %d prices", len(c.Wraps), len(c.Items), len(c.Offers), len(c.Prices))
		}
		for i := range c.Wraps {
			if !strings.HasPrefix(c.Wraps[i].Item, "OWN-") {
				t.Errorf("%s is still there", c.Wraps[i].Item)
			}
		}
		if slices.Contains(c.Invented, "wraps") || !slices.Contains(c.Invented, "bands") {
			t.Errorf("invented: %v", c.Invented)
		}
	}
}

// What the products say wrongly, or otherwise than another row, is a fault where
// it stands; each of these was seen to be told.
func TestFaultsOfProducts(t *testing.T) {
	const head = "item,kind,name,unit_mass_kg,store,supplier,part_code,currency,pack_qty,pack,lead_days,from_packs,price_per_pack,scheme,issue,unit"
	const tape = "OWN-TAPE,tool,tape,0.1,T1,Firm,1,EUR,1,each,2,,5,,crew,pc"
	text, err := book.ReadFile("book/items.csv")
	if err != nil {
		t.Fatal(err)
	}
	for name, tt := range map[string]struct {
		products string
		items    string // a row of the firm's own beside the built-in ones
		want     []string
	}{
		"sound":                    {tape, "", nil},
		"no code":                  {",tool,tape,0.1,T1,Firm,1,EUR,1,each,2,,5,,crew,pc", "", []string{"products.csv:2:1 cell-blank item"}},
		"no kind":                  {"OWN-TAPE,,tape,0.1,T1,Firm,1,EUR,1,each,2,,5,,crew,pc", "", []string{"products.csv:2:10 cell-blank kind"}},
		"a kind unheard of":        {"OWN-TAPE,tol,tape,0.1,T1,Firm,1,EUR,1,each,2,,5,,crew,pc", "", []string{"products.csv:2:10 word-unknown kind"}},
		"a bad number":             {"OWN-TAPE,tool,tape,0.1,T1,Firm,1,EUR,1,each,2,,five,,crew,pc", "", []string{"products.csv:2:48 number-bad price_per_pack"}},
		"rows that differ":         {tape + "\nOWN-TAPE,,ribbon,,,,,,,,,10,4,,,", "", []string{"products.csv:2:50 cell-blank scheme", "products.csv:3:11 product-disagrees name"}},
		"two prices alike":         {tape + "\nOWN-TAPE,,,,,,,,,,,,4,,,", "", []string{"products.csv:2:50 cell-blank scheme", "products.csv:3:21 product-disagrees price_per_pack"}},
		"the firm's items differ":  {tape, "OWN-TAPE,tool,tape,pc,crew,0.2,,T1,,yes,,", []string{"products.csv:2:20 product-contradicts unit_mass_kg"}},
		"the firm's items agree":   {tape, "OWN-TAPE,tool,tape,pc,crew,0.10,,T1,,yes,,", nil},
		"a price of a built-in":    {"GLOVE,,,,,Firm,1,EUR,50,box of 50,2,,9.5,,,", "", nil},
		"bands without a fastener": {"OWN-BAND,band,band,3,B1,Firm,2,EUR,1,coil,2,,50,,,", "", []string{"products.csv:2:1 cell-blank coil_length_mm", "products.csv:2:1 product-lacks item"}},
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			put(t, dir, "products.csv", head+"\n"+tt.products+"\n")
			if tt.items != "" {
				put(t, dir, "items.csv", string(text)+tt.items+"\n")
			}
			if tt.want == nil {
				if _, err := Load(Options{Dir: dir}); err != nil {
					t.Error(err)
				}
				return
			}
			got := faultsOf(t, Options{Dir: dir})
			for _, w := range tt.want {
				if !slices.Contains(got, w) {
					t.Errorf("faults %q, want %q among them", got, w)
				}
			}
		})
	}
}
