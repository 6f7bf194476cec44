package export

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate"
	"wraptally/estimate/order"
	"wraptally/estimate/scope"
	"wraptally/estimate/survey"
	"wraptally/export/table"
)

// lotsInStore are invented: an offcut that the cutting plans use, a lot to be
// used and one that expires before the work ends.
func lotsInStore() []estimate.StockLot {
	day := func(y int, m time.Month, d int) time.Time { return time.Date(y, m, d, 0, 0, 0, 0, time.UTC) }
	return []estimate.StockLot{
		{Item: "BAND-30-30", Length: 4200, Lot: order.Lot{ID: "left-1", Location: "Q9-09", Quantity: decimal.NewFromInt(1)}},
		{Item: "PUTTY-1", Lot: order.Lot{ID: "good", Location: "Q9-01", Quantity: decimal.NewFromInt(2), Expiry: day(2029, 1, 1)}},
		{Item: "PUTTY-1", Lot: order.Lot{ID: "old", Location: "Q9-02", Quantity: decimal.NewFromInt(2), Expiry: day(2027, 3, 2)}},
	}
}

func stockedCampaign(t *testing.T) *estimate.Campaign {
	t.Helper()
	c, err := catalog.Load(catalog.Options{Sets: []string{"campaign.start=2027-03-01"}})
	if err != nil {
		t.Fatal(err)
	}
	text := storeSurvey(20, true, "L-1")
	s, err := survey.Read(strings.NewReader(text), int64(len(text)), survey.Options{Name: "survey.csv", Sizes: c})
	if err != nil {
		t.Fatal(err)
	}
	p, err := estimate.Run(s, c, estimate.Options{Name: "survey.csv", Stock: lotsInStore()})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// textRows are the texts of a sheet, a line a row.
func textRows(t *testing.T, s *table.Sheet) []string {
	t.Helper()
	var out []string
	s.Rows(func(r table.Row) bool {
		var line []string
		for i := range r.Cells {
			line = append(line, r.Cells[i].Text)
		}
		out = append(out, strings.Join(line, "|"))
		return true
	})
	return out
}

// An offcut from store is no coil of its item: it is neither issued nor bought,
// and stands under its own lot and place.
func TestAnOffcutIsNoCoil(t *testing.T) {
	p := stockedCampaign(t)
	b := newBook(p, Options{}, allOf(p))
	used := false
	for _, take := range b.cutTakes() {
		if b.offcut(take) == "left-1" {
			used = true
		}
	}
	if !used {
		t.Fatal("the offcut is not used: the test shows nothing")
	}
	picked := map[int]float64{}
	for _, k := range b.picks() {
		picked[k.item] = k.forKits + k.forCrews + k.toCutting
	}
	for _, n := range b.needList() {
		for what, q := range map[string]decimal.Decimal{"kits": n.kits, "crews": n.crews, "cutting": n.cut} {
			if q.IsNegative() {
				t.Errorf("%s to %s: %s", n.Item.Code, what, q)
			}
		}
		if n.Item.Kind == "band" && !n.kits.IsZero() {
			t.Errorf("%s: %s with the kits; coils go to the cutting only", n.Item.Code, n.kits)
		}
		if math.Abs(picked[n.Position]-n.Issued) > 1e-9 {
			t.Errorf("%s: the pick list takes %g, %g are issued", n.Item.Code, picked[n.Position], n.Issued)
		}
	}
	for name, s := range map[string]*table.Sheet{"cutting": b.cuttingSheet(), "pick list": b.pickSheet(), "needs": sheetOf(t, p, sheetNeeds)} {
		if !containsBoth(textRows(t, s), "Q9-09", "left-1") {
			t.Errorf("%s: the offcut's lot and place are not on one line", name)
		}
	}
}

// Lots that are used and lots that must stay are on the storeman's list.
func TestPickListNamesLots(t *testing.T) {
	p := stockedCampaign(t)
	rows := textRows(t, newBook(p, Options{}, allOf(p)).pickSheet())
	if !containsBoth(rows, "Q9-01", "good") {
		t.Error("the lot to be used is missing")
	}
	leave := false
	for _, r := range rows {
		leave = leave || strings.Contains(r, "Leave these lots")
		if strings.Contains(r, "lot old") && !leave {
			t.Error("the lot that expires is not among those to be left")
		}
	}
	if !containsBoth(rows, "Q9-02", "lot old") {
		t.Error("the lot to be left is missing")
	}
}

// A lot is picked where it lies, not where the catalogue has its item; lots that lie
// apart name their places each.
func TestPickedWhereTheLotLies(t *testing.T) {
	p := stockedCampaign(t)
	for _, sheet := range []string{sheetKits, sheetKitLines, sheetPick} {
		found := false
		for _, row := range textRows(t, sheetOf(t, p, sheet)) {
			cells := strings.Split(row, "|")
			if !slices.Contains(cells, "PUTTY-1") || !strings.Contains(row, "good") || strings.Contains(row, "to come") {
				continue
			}
			found = true
			if !slices.Contains(cells, "Q9-01") {
				t.Errorf("%s: the lot is not picked from its place: %s", sheet, row)
			}
		}
		if !found {
			t.Errorf("%s: no row takes the lot", sheet)
		}
	}
	b := newBook(p, Options{}, allOf(p))
	lots := []estimate.Portion{{Item: b.number["PUTTY-1"] - 1, Quantity: decimal.NewFromInt(1)}, {Item: b.number["PUTTY-1"] - 1, Lot: 1, Quantity: decimal.NewFromInt(1)}}
	for i := range p.Store.Lots {
		switch p.Store.Lots[i].ID {
		case "good":
			lots[0].Lot = i
		case "old":
			lots[1].Lot = i
		}
	}
	if got, where := b.allotted(lots), b.from(lots[0].Item, lots); got != "1 × good, 2029-01-01 at Q9-01; 1 × old, 2027-03-02 at Q9-02" || where != "Q9-01, Q9-02" {
		t.Errorf("two places: %q from %q", got, where)
	}
}

func containsBoth(rows []string, a, b string) bool {
	for _, r := range rows {
		if strings.Contains(r, a) && strings.Contains(r, b) {
			return true
		}
	}
	return false
}

// A place on a label is never a figure cut short.
func TestLabelPlaceIsWhole(t *testing.T) {
	b := newBook(campaignOf(t, storeSurvey(1, false, "L-1")), Options{}, nil)
	for _, from := range []float64{-12345678, 0, 4077.3, 101365, 1234567.25, 98765432.1} {
		r := &scope.Repair{From: from, To: from + 270.5}
		text := b.whereText(r, b.form().text())
		middle := "about " + trimmed((r.From+r.To)/2000, 2) + " m"
		if !strings.HasSuffix(text, b.alongText(r)) && text != middle {
			t.Errorf("at %g: %q", from, text)
		}
	}
}

func TestWhatIsInThePipe(t *testing.T) {
	metric := &book{}
	metric.p = &estimate.Campaign{Catalog: &catalog.Catalog{}}
	num := func(v float64) survey.Num { return survey.Num{V: v, OK: true} }
	r := &scope.Repair{Defects: []*survey.Defect{
		{Medium: "steam", Clock: num(0), Pressure: num(0.6)},
		{Medium: "steam", Clock: num(135), Pressure: num(1.25), LivePressure: num(0)},
		{Clock: num(359.9)},
	}}
	if got, want := metric.pressureText(r), "at the work 0 MPa, design 1.25 MPa"; got != want {
		t.Errorf("pressure %q, want %q", got, want)
	}
	if got := mediumText(r); got != "steam" {
		t.Errorf("medium %q", got)
	}
	if got, want := clocksText(r), "12:00, 4:30 o'clock"; got != want {
		t.Errorf("position %q, want %q", got, want)
	}
	unknown := &scope.Repair{Defects: []*survey.Defect{{}}}
	if got := metric.pressureText(unknown); strings.Count(got, notKnown) != 2 {
		t.Errorf("pressure of an empty survey: %q", got)
	}
	if mediumText(unknown) != notKnown || clocksText(unknown) != "" {
		t.Error("medium or position of an empty survey")
	}
}

// sheetOf is a sheet of the one workbook of a campaign.
func sheetOf(t *testing.T, p *estimate.Campaign, name string) *table.Sheet {
	t.Helper()
	for _, s := range newDesk(p, Options{}, allOf(p), nil).workbook().Sheets {
		if s.Name == name {
			return s
		}
	}
	t.Fatalf("no sheet %s", name)
	return nil
}
