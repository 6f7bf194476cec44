package export

import (
	"encoding/json"
	"errors"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate"
	"wraptally/estimate/kit"
	"wraptally/estimate/trace/outside"
	"wraptally/export/xlsx/xlsxtest"
)

// changeScript finds a cell by a text in one column of a sheet and sets the cell
// beside it in another, or sets the cell of a defined name.
const changeScript = `
import json, sys, openpyxl
book = openpyxl.load_workbook(sys.argv[1])
for edit in json.loads(sys.argv[3]):
    if edit.get("name"):
        (sheet, at), = book.defined_names[edit["name"]].destinations
        book[sheet][at].value = edit["value"]
        continue
    ws = book[edit["sheet"]]
    if edit.get("at"):
        ws[edit["at"]].value = edit["value"]
        continue
    hits = [r for r in range(1, ws.max_row + 1) if ws.cell(r, edit["find"]).value == edit["text"]]
    if not hits:
        sys.exit("no row with %r on %s" % (edit["text"], edit["sheet"]))
    for r in (hits if edit.get("all") else hits[-1:] if edit.get("last") else hits[:1]):
        ws.cell(r, edit["set"]).value = edit["value"]
book.save(sys.argv[2])
`

// readScript gives the cached values of names.
const readScript = `
import json, sys, openpyxl
book = openpyxl.load_workbook(sys.argv[1], data_only=True)
out = {}
for name in sys.argv[2:]:
    (sheet, at), = book.defined_names[name].destinations
    out[name] = book[sheet][at].value
print(json.dumps(out))
`

// priceValue is the column of the sheet Prices and rates in which the values of
// all its tables stand.
const priceValue = 3

type edit struct {
	Name  string `json:"name,omitempty"`
	Sheet string `json:"sheet,omitempty"`
	At    string `json:"at,omitempty"` // a cell of the sheet
	Find  int    `json:"find,omitempty"`
	Text  string `json:"text,omitempty"`
	Set   int    `json:"set,omitempty"`
	All   bool   `json:"all,omitempty"`
	Last  bool   `json:"last,omitempty"`
	Value any    `json:"value"`
}

func runPython(t testing.TB, script string, args ...string) []byte {
	t.Helper()
	said, err := exec.Command(outside.Python, append([]string{"-c", script}, args...)...).Output()
	if err != nil {
		var failed *exec.ExitError
		if errors.As(err, &failed) {
			t.Fatalf("python: %s", failed.Stderr)
		}
		t.Fatal(err)
	}
	return said
}

// needRecalculation asks for what afterEdits uses.
func needRecalculation(t testing.TB) {
	t.Helper()
	outside.NeedPython(t, "openpyxl")
	outside.Need(t, "soffice")
}

// afterEdits changes cells with openpyxl, has LibreOffice compute the workbook
// anew and gives the figures.
func afterEdits(t testing.TB, path string, edits []edit, names ...string) map[string]float64 {
	t.Helper()
	list, err := json.Marshal(edits)
	if err != nil {
		t.Fatal(err)
	}
	changed := filepath.Join(t.TempDir(), "changed.xlsx")
	runPython(t, changeScript, path, changed, string(list))
	again := xlsxtest.Converted(t, changed, "xlsx")
	got := map[string]float64{}
	if err := json.Unmarshal(runPython(t, readScript, append([]string{again}, names...)...), &got); err != nil {
		t.Fatal(err)
	}
	return got
}

// A change made in the workbook and computed by LibreOffice gives the figures
// that the program gives for the same change of its catalogue.
func TestCrossChangesMoveEveryTotal(t *testing.T) {
	needRecalculation(t)
	base := trial{path: demoSurvey, stock: demoStock()}
	path := writeBooks(t, base.run(t), Options{})[0]
	ten := func(s string) decimal.Decimal { return decimal.RequireFromString(s) }
	for name, c := range map[string]struct {
		edits  []edit
		change func(*catalog.Catalog)
		sets   []string
	}{
		"a percentage": {
			[]edit{{Sheet: sheetInputs, Find: 1, Text: "contingency", Set: priceValue, Value: 17.5}},
			func(c *catalog.Catalog) { costOf(c, "contingency").Value = ten("17.5") }, nil,
		},
		"a margin": {
			[]edit{{Sheet: sheetInputs, Find: 1, Text: "profit", Set: priceValue, Value: 13}},
			func(c *catalog.Catalog) { costOf(c, "profit").Value = ten("13") }, nil,
		},
		"freight by mass": {
			[]edit{{Sheet: sheetInputs, Find: 1, Text: "freight-mass", Set: priceValue, Value: 3.77}},
			func(c *catalog.Catalog) { costOf(c, "freight-mass").Value = ten("3.77") }, nil,
		},
		"a labour rate": {
			[]edit{{Sheet: sheetInputs, Find: 2, Text: "technician", Set: priceValue, Value: 55.25}},
			func(c *catalog.Catalog) { c.Labour[1].Rate = ten("55.25") }, nil,
		},
		"a price": { // not boxed, since another could change the choice; this one cannot, and all follows it
			[]edit{{Sheet: sheetInputs, Find: 1, Text: "SCALE", Set: priceValue, All: true, Value: 99.99}},
			func(c *catalog.Catalog) { c.OffersOf("SCALE")[0].Prices[0].Price = ten("99.99") }, nil,
		},
		"the cost of access": {
			[]edit{{Sheet: sheetInputs, Find: 1, Text: "scaffold", Set: priceValue, Value: 700}},
			func(c *catalog.Catalog) {
				a, _ := c.AccessOf("scaffold")
				a.Cost = ten("700")
			}, nil,
		},
		"the range": {
			[]edit{{Name: "accuracy_low", Value: -30}, {Name: "accuracy_high", Value: 50}}, nil, []string{"bid.range_low=-30", "bid.range_high=50"},
		},
	} {
		t.Run(name, func(t *testing.T) {
			tr := base
			tr.change, tr.sets = c.change, c.sets
			want := tr.run(t)
			got := afterEdits(t, path, c.edits, "direct_cost", "bid_net", "bid_total", "range_low", "range_high", "materials_total", "materials_charged")
			compareFigures(t, got, want)
			if c.sets == nil && want.Bid.Total.Equal(base.run(t).Bid.Total) {
				t.Error("the change moves nothing, so the comparison proves nothing")
			}
		})
	}
}

func costOf(c *catalog.Catalog, code string) *catalog.Cost {
	for i := range c.Costs {
		if c.Costs[i].Code == code {
			return &c.Costs[i]
		}
	}
	return nil
}

// orderedFor is what everything that is bought costs.
func orderedFor(p *estimate.Campaign) decimal.Decimal {
	sum := decimal.Zero
	for _, o := range p.Orders {
		sum = sum.Add(o.Cost(p.Bid.Minor))
	}
	return sum
}

func compareFigures(t *testing.T, got map[string]float64, want *estimate.Campaign) {
	t.Helper()
	b := want.Bid
	for name, w := range map[string]decimal.Decimal{"direct_cost": b.Direct, "bid_net": b.Net, "bid_total": b.Total, "range_low": b.Low, "range_high": b.High, "materials_total": orderedFor(want), "materials_charged": b.Lines[0].Amount} {
		if g := got[name]; math.Abs(g-w.InexactFloat64()) > 0.005 {
			t.Errorf("%s: the workbook gives %v, the program %s", name, g, w)
		}
	}
}

// A packed quantity moves its item's need, its packs at the price break they
// reach, the weight sent, and every total; worked out here by hand from the
// catalogue.
func TestCrossPackedQuantityMovesTheOrder(t *testing.T) {
	needRecalculation(t)
	p := trial{path: demoSurvey}.run(t)
	path := writeBooks(t, p, Options{})[0]
	before := afterEdits(t, path, []edit{}, "materials_total", "mass_delivered", "direct_cost", "bid_total")
	// Gloves: packed 500 more in the first kit. Needed 1.05 times the sum, in
	// boxes, at the price of the break reached.
	var issued, first float64
	for i, o := range p.Orders {
		n := o.Need
		if n.Item.Code == "GLOVE" {
			issued = n.Issued
			k := p.Kit(&p.Jobs[0])
			for _, l := range k.Lines {
				if l.Item.Code == "GLOVE" {
					first = l.Qty
				}
			}
			o := p.Orders[i]
			lines := newBook(p, Options{}, allOf(p)).lines
			after := afterEdits(t, path, []edit{{Sheet: sheetKitLines, Find: lines.item.Column(), Text: "GLOVE", Set: lines.issued.Column(), Value: first + 500}}, "materials_total", "mass_delivered", "direct_cost", "bid_total")
			offer := o.Offers[o.Lines[0].Offer]
			packs := int(math.Ceil(math.Ceil((issued+500)*105/100-1e-9) / offer.PackQty.InexactFloat64()))
			price := offer.Prices[0].Price
			for _, b := range offer.Prices {
				if packs >= b.FromPacks {
					price = b.Price
				}
			}
			cost := price.Mul(decimal.NewFromInt(int64(packs))).InexactFloat64()
			if moved := after["materials_total"] - before["materials_total"]; math.Abs(moved-(cost-o.Total.InexactFloat64())) > 0.005 {
				t.Errorf("materials moved by %v; %d packs at %s cost %v, before %s", moved, packs, price, cost, o.Total)
			}
			if moved, want := after["mass_delivered"]-before["mass_delivered"], float64(packs-o.Lines[0].Packs)*offer.PackQty.InexactFloat64()*n.Item.UnitMass; math.Abs(moved-want) > 1e-6 {
				t.Errorf("the weight moved by %v kg, want %v", moved, want)
			}
			if after["bid_total"] <= before["bid_total"] || after["direct_cost"] <= before["direct_cost"] {
				t.Errorf("the totals did not follow: %v, before %v", after, before)
			}
		}
	}
	if first == 0 {
		t.Fatal("no gloves in the first kit: the survey has changed")
	}
}

// What is set by hand in a kit moves all that rests on it, as a spreadsheet program
// works it out: the weight on page, label, crew list and Repairs, and the code of
// its contents on page, label and Names. Whatever else its cards rest on cannot be
// set, and in a workbook of kits alone nothing can.
func TestCrossSetByHandMovesTheKit(t *testing.T) {
	needRecalculation(t)
	p := trial{path: demoSurvey}.run(t)
	path := writeBooks(t, p, Options{})[0]
	b := newBook(p, Options{}, allOf(p))
	k := p.Kit(&p.Jobs[0])
	i := slices.IndexFunc(k.Lines, func(l kit.Line) bool { return l.Item.Code == "GLOVE" })
	const more = 200
	heavier := p.Jobs[0].Mass + more*k.Lines[i].Item.UnitMass
	list, err := json.Marshal([]edit{{Sheet: sheetKitLines, Find: b.lines.item.Column(), Text: "GLOVE", Set: b.lines.issued.Column(), Value: k.Lines[i].Qty + more}})
	if err != nil {
		t.Fatal(err)
	}
	changed := filepath.Join(t.TempDir(), "changed.xlsx")
	runPython(t, changeScript, path, changed, string(list))
	const script = `
import sys, openpyxl
book = openpyxl.load_workbook(sys.argv[1], data_only=True)
for name in sys.argv[2:]:
    for row in book[name].iter_rows(values_only=True):
        print(name, *[v for v in row if v is not None], sep="|")
`
	said := string(runPython(t, script, xlsxtest.Converted(t, changed, "xlsx"), sheetKits, sheetLabels, sheetNames, sheetCrews, sheetRepairs))
	id, weight := k.Repair.ID, strconv.FormatFloat(math.Round(heavier*100)/100, 'f', -1, 64)
	for sheet, want := range map[string]string{
		sheetKits:    "CHANGED BY HAND, no longer " + p.Jobs[0].Code,
		sheetLabels:  trimmed(heavier, 1) + " kg, ",
		sheetNames:   "|" + setByHand + "|",
		sheetCrews:   weight,
		sheetRepairs: weight,
	} {
		if !slices.ContainsFunc(strings.Split(said, "\n"), func(row string) bool {
			return strings.HasPrefix(row, sheet+"|") && strings.Contains(row, want) && (sheet == sheetKits || sheet == sheetLabels || strings.Contains(row, id))
		}) {
			t.Errorf("%s: no row says %q", sheet, want)
		}
	}
	if !strings.Contains(said, "contents "+strings.ToUpper(setByHand)) {
		t.Error("the label does not say that it was changed by hand")
	}
	for _, l := range k.Lines {
		if hand := b.byHand(&l); hand && slices.Contains([]string{"sealant", "putty", "wrap", "fastener"}, l.Item.Kind) {
			t.Errorf("%s may be set by hand", l.Item.Code)
		}
	}
	if part := newBook(p, Options{}, []int{0, 1}); part.changes(0) {
		t.Error("a workbook of some of the kits lets quantities be set")
	}
}

// Growth and stock, which come before rounding to packs, move the order as the
// program's own order for that setting where it buys the same offers.
func TestCrossGrowthMovesTheNeed(t *testing.T) {
	needRecalculation(t)
	tr := trial{path: demoSurvey}
	path := writeBooks(t, tr.run(t), Options{})[0]
	tr.sets = []string{"order.growth=25"}
	want := tr.run(t)
	again := afterEdits(t, path, []edit{{Name: "growth", Value: 25}}, "materials_total")
	// The workbook keeps the offers and the price-break choices of the run that
	// wrote it, so it can only cost as much as the least-cost order, or more.
	if again["materials_total"] < orderedFor(want).InexactFloat64()-0.005 {
		t.Errorf("the workbook's materials %v cost less than the least-cost order %s", again["materials_total"], orderedFor(want))
	}
	if again["materials_total"] <= tr.base(t) {
		t.Errorf("growth of 25 %% does not move the materials: %v", again["materials_total"])
	}
}

// base is what the materials cost with nothing set.
func (tr trial) base(t testing.TB) float64 {
	tr.sets = nil
	return orderedFor(tr.run(t)).InexactFloat64()
}

// A sheet of queries that is filled in and sent back is read, and settles its
// queries.
func TestCrossAnswersComeBack(t *testing.T) {
	outside.NeedPython(t, "openpyxl")
	tr := trial{path: demoSurvey}
	p := tr.run(t)
	dir := t.TempDir()
	path := filepath.Join(dir, "queries.xlsx")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := QueriesOnly(p, Options{}, path).Write(f); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	checkAnswers(t, path, tr)
	// The query sheet of the whole workbook is read just as well.
	checkAnswers(t, writeBooks(t, p, Options{})[0], tr)
}
