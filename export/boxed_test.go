package export

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/export/table"
	"wraptally/export/xlsx/xlsxtest"
)

// boxedCell is a cell of a workbook that is marked as an input of the run.
type boxedCell struct {
	at        string
	code, row string // of the first two columns of its row
	value     float64
}

// boxedCells are the boxed cells of a workbook, all on the sheet of inputs.
func boxedCells(t *testing.T, d *desk) (out []boxedCell) {
	t.Helper()
	for _, s := range d.workbook().Sheets {
		at := 0
		for row := range s.Rows {
			at++
			for i, c := range row.Cells {
				if c.Style.Look != table.Input {
					continue
				}
				if s.Name != sheetInputs {
					t.Fatalf("a boxed cell on the sheet %s, row %d", s.Name, at)
				}
				out = append(out, boxedCell{table.At{Column: i + 1, Row: at}.String(), row.Cells[0].Text, row.Cells[1].Text, c.Num})
			}
		}
	}
	return out
}

// changed is another value for a boxed cell.
func (b *boxedCell) changed() float64 {
	if b.value < 0 {
		return math.Round(b.value*137) / 100
	}
	return math.Round(b.value*123+111) / 100
}

// put makes the same change in the catalogue of a run; false where nobody knows
// what the cell is.
func (b *boxedCell) put(c *catalog.Catalog) bool {
	v := decimal.NewFromFloat(b.changed())
	switch b.code {
	case "accuracy_low":
		c.Settings.RangeLow = b.changed()
		return true
	case "accuracy_high":
		c.Settings.RangeHigh = b.changed()
		return true
	case "":
		for i := range c.Labour {
			if c.Labour[i].Role == b.row {
				c.Labour[i].Rate = v
				return true
			}
		}
		return false
	}
	if cost := costOf(c, b.code); cost != nil {
		cost.Value = v
		return true
	}
	for i := range c.Accesses {
		if c.Accesses[i].Access == b.code {
			c.Accesses[i].Cost = v
			return true
		}
	}
	it, ok := c.Item(b.code)
	switch {
	case ok && it.Hire.Valid:
		it.Hire.Decimal = v
	case ok && it.WriteOff.Valid:
		it.WriteOff.Decimal = v
	default:
		return false
	}
	return true
}

// boxedTrials are campaigns whose boxed cells are tried: with stock; three crews,
// another class and profit as markup; ways of access that are not known, repairs
// of which two are reached in two ways, and a currency without smaller units.
func boxedTrials(t *testing.T) map[string]trial {
	t.Helper()
	text, err := os.ReadFile(demoSurvey)
	if err != nil {
		t.Fatal(err)
	}
	unknown := strings.Replace(string(text), ",scaffold,", ",,", 1)
	if unknown == string(text) {
		t.Fatal("the survey names no scaffold any more")
	}
	return map[string]trial{
		"with stock":     {path: demoSurvey, stock: demoStock()},
		"three crews":    {text: storeSurvey(30, true, "L-1"), sets: []string{"crew.count=3", "bid.profit_as=markup", "bid.class=4"}},
		"access unknown": {text: unknown, change: noMinorUnit},
	}
}

// Every boxed cell moves the bid in a run of its own with the same change, and all
// of them changed in the workbook and computed by LibreOffice give what a run with
// all those changes gives.
func TestCrossEveryBoxedCell(t *testing.T) {
	needRecalculation(t)
	for name, tr := range boxedTrials(t) {
		t.Run(name, func(t *testing.T) {
			p := tr.run(t)
			cells := boxedCells(t, newDesk(p, Options{}, allOf(p), nil))
			with := func(some []boxedCell) trial {
				out := tr
				out.change = func(c *catalog.Catalog) {
					if tr.change != nil {
						tr.change(c)
					}
					for i := range some {
						if !some[i].put(c) {
							t.Fatalf("nobody knows what the boxed cell %+v is", some[i])
						}
					}
				}
				return out
			}
			var edits []edit
			for i, cell := range cells {
				edits = append(edits, edit{Sheet: sheetInputs, At: cell.at, Value: cell.changed()})
				one := with(cells[i : i+1]).run(t)
				if a, b := p.Bid, one.Bid; a.Total.Equal(b.Total) && a.Low.Equal(b.Low) && a.High.Equal(b.High) && !tr.idle(p.Catalog, cell.code) {
					t.Errorf("%+v changed to %v moves nothing", cell, cell.changed())
				}
			}
			if len(cells) < 20 {
				t.Errorf("%d boxed cells", len(cells))
			}
			path := writeBooks(t, p, Options{})[0]
			got := afterEdits(t, path, edits, "direct_cost", "bid_net", "bid_total", "range_low", "range_high", "materials_total", "materials_charged")
			compareFigures(t, got, with(cells).run(t))
			t.Logf("%d boxed cells, %d changed at once", len(cells), len(edits))
		})
	}
}

// idle tells of a way of access that no repair takes, listed because another
// follows from it: its cost moves the bid only where it becomes the worst.
func (tr trial) idle(c *catalog.Catalog, code string) bool {
	return slices.ContainsFunc(c.Accesses, func(a catalog.Access) bool { return a.Access == code })
}

// Each thing that may go wrong with a cell, made wrong on purpose in a workbook
// and computed by LibreOffice: its row says so by name, the Summary counts it, and
// a change that is permitted makes no check cry.
func TestCrossChecksSay(t *testing.T) {
	needRecalculation(t)
	tr := trial{path: demoSurvey, stock: demoStock()}
	p := tr.run(t)
	d := newDesk(p, Options{}, allOf(p), nil)
	d.workbook()
	path := writeBooks(t, p, Options{})[0]
	in := func(code string, column int, value any) edit {
		return edit{Sheet: sheetInputs, Find: 1, Text: code, Set: column, Value: value}
	}
	price := d.inputs.price.Column()
	order := func(code string, value any) edit {
		return edit{Sheet: sheetOrder, Find: 4, Text: code, Set: d.order.more.Column(), Value: value}
	}
	priced := func(code string, value any) edit { // in the row of its last break
		return edit{Sheet: sheetInputs, Find: 1, Text: code, Last: true, Set: price, Value: value}
	}
	wrongs := map[string]edit{
		"CHECK crew leader: no rate": {Sheet: sheetInputs, Find: 2, Text: "crew leader", Set: price, Value: nil},
		"CHECK technician: rate 0":   {Sheet: sheetInputs, Find: 2, Text: "technician", Set: price, Value: 0},
		"CHECK scaffold: no cost":    in("scaffold", price, nil),
		"CHECK profit: a margin of 100 % or more leaves nothing for the cost": in("profit", price, 100),
		"CHECK overhead: no value":                               in("overhead", price, nil),
		"CHECK tax: value below 0":                               in("tax", price, -1),
		"CHECK USD: rate 0":                                      in("USD", price, 0),
		"CHECK GBP: no rate":                                     in("GBP", price, nil),
		"CHECK SHORE: no hire":                                   in("SHORE", d.inputs.planHire.Column(), nil),
		"CHECK TAPE: more than all of it written off":            in("TAPE", d.inputs.planWriteOff.Column(), 120),
		"CHECK accuracy_low: the lower end is above the upper":   {Name: "accuracy_low", Value: 70},
		"CHECK WIPE from Supplier C: no price":                   priced("WIPE", nil),
		"CHECK FILM from Supplier C: price 0":                    priced("FILM", 0),
		"CHECK FAST-20: more than the 200 packs that can be had": order("FAST-20", 500),
		"CHECK PUTTY-05: not in whole cartons of 6":              order("PUTTY-05", 1),
		"CHECK ABRASIVE: not in whole packs":                     order("ABRASIVE", 0.5),
		"CHECK SHORT: GLOVE":                                     order("GLOVE", -2),
	}
	edits := []edit{}
	for _, e := range wrongs {
		edits = append(edits, e)
	}
	said := saidAfter(t, path, edits)
	for want := range wrongs {
		if !slices.ContainsFunc(said, func(s string) bool { return strings.HasPrefix(s, want) }) {
			t.Errorf("%q is made wrong and nothing says so", want)
		}
	}
	if n := len(said); !slices.ContainsFunc(said, func(s string) bool { return strings.Contains(s, "checks do not hold") }) {
		t.Errorf("the summary does not add up %d checks: %q", n, said)
	}
	permitted := []edit{in("contingency", price, 30), in("scaffold", price, 0), {Sheet: sheetInputs, Find: 2, Text: "technician", Set: price, Value: 99}, {Name: "accuracy_low", Value: -60},
		in("SHORE", d.inputs.planHire.Column(), 0), order("GLOVE", 1)}
	if said := saidAfter(t, path, permitted); len(said) > 0 {
		t.Errorf("a permitted change makes checks cry: %q", said)
	}
}

// saidScript lists the texts of all cells that begin with a check's mark.
const saidScript = `
import json, sys, openpyxl
book = openpyxl.load_workbook(sys.argv[1], data_only=True)
print(json.dumps([c.value for ws in book for row in ws.iter_rows() for c in row if isinstance(c.value, str) and c.value.startswith("CHECK ")]))
`

// saidAfter is what the checks of a workbook say after edits.
func saidAfter(t *testing.T, path string, edits []edit) (said []string) {
	t.Helper()
	list, err := json.Marshal(edits)
	if err != nil {
		t.Fatal(err)
	}
	changed := filepath.Join(t.TempDir(), "changed.xlsx")
	runPython(t, changeScript, path, changed, string(list))
	if err := json.Unmarshal(runPython(t, saidScript, xlsxtest.Converted(t, changed, "xlsx")), &said); err != nil {
		t.Fatal(err)
	}
	return said
}
