package export

import (
	"bytes"
	"encoding/csv"
	"testing"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
)

// Goods that keep for less than the work lasts stand in the order's CSV by the day
// on which they come, to be used by a day after it; packs and money add up to the
// order, to the cent.
func TestOrderCSVSaysWhenGoodsCome(t *testing.T) {
	p := trial{path: demoSurvey, sets: []string{"campaign.start=2027-03-01", "crew.productive=0.1"}, change: func(c *catalog.Catalog) {
		for i := range c.Offers {
			if o := &c.Offers[i]; o.ShelfLeft > 0 {
				o.ShelfLeft = 15
			}
		}
	}}.run(t)
	var b bytes.Buffer
	if err := OrderCSV(&b, p); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	at := map[string]int{}
	for i, name := range rows[0] {
		at[name] = i
	}
	packs, cost, later := map[string]int64{}, map[string]decimal.Decimal{}, 0
	for _, r := range rows[1:] {
		need, use := r[at["need_date"]], r[at["use_by"]]
		if use != "" && use < need {
			t.Errorf("%s comes on %s and is to be used by %s", r[0], need, use)
		}
		if need > "2027-03-01" {
			later++
		}
		packs[r[0]] += decimal.RequireFromString(r[at["packs"]]).IntPart()
		cost[r[0]] = cost[r[0]].Add(decimal.RequireFromString(r[at["cost_"+p.Bid.Currency]]))
	}
	for _, o := range p.Orders {
		ordered := int64(0)
		for _, l := range o.Lines {
			ordered += int64(l.Packs)
		}
		if packs[o.Item] != ordered || !cost[o.Item].Equal(o.Cost(p.Bid.Minor)) {
			t.Errorf("%s: %d packs for %s, ordered %d for %s", o.Item, packs[o.Item], cost[o.Item], ordered, o.Cost(p.Bid.Minor))
		}
	}
	if later < 3 {
		t.Errorf("%d rows come later than the first day", later)
	}
}
