package export

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"wraptally/estimate"
	"wraptally/export/table"
)

// checkCells are the words of the check cells of the sheets that are held, by
// sheet and cell.
func checkCells(d *desk) map[string]string {
	out := map[string]string{}
	for _, s := range d.workbook().Sheets {
		if !slices.Contains([]string{sheetSummary, sheetOrder, sheetNeeds, sheetCost, sheetInputs}, s.Name) {
			continue
		}
		at := 0
		for row := range s.Rows {
			at++
			for i, c := range row.Cells {
				if c.Kind == table.KindFormulaText && strings.Contains(c.Src, checkMark) {
					out[s.Name+"!"+table.At{Column: i + 1, Row: at}.String()] = c.Text
				}
			}
		}
	}
	return out
}

// Every check says so when what it checks is made wrong on purpose, and none
// does before.
func TestEveryCheckFailsWhenMadeWrong(t *testing.T) {
	thousand := decimal.NewFromInt(1000)
	run := func() *estimate.Campaign { return trials["with stock"].run(t) }
	p := run()
	fine := checkCells(newDesk(p, Options{}, allOf(p), nil))
	for at, word := range fine {
		if word != addsUp && word != coveredText && word != inOrder && !strings.HasPrefix(word, "all ") {
			t.Errorf("%s says %q of a campaign that is right", at, word)
		}
	}
	failed := map[string]bool{}
	for what, spoil := range map[string]func(p *estimate.Campaign, d *desk){
		"an item too few": func(p *estimate.Campaign, d *desk) {
			for i := range p.Orders {
				p.Orders[i].Bought = p.Orders[i].Net.Sub(decimal.NewFromInt(1))
			}
		},
		"a dearer line of the order": func(p *estimate.Campaign, d *desk) { d.rows[0].base = d.rows[0].base.Add(thousand) },
		"a line of the bid":          func(p *estimate.Campaign, d *desk) { p.Bid.Lines[0].Amount = p.Bid.Lines[0].Amount.Add(thousand) },
		"the bid":                    func(p *estimate.Campaign, d *desk) { p.Bid.Total = p.Bid.Total.Sub(decimal.New(1, -2)) },
		"a share": func(p *estimate.Campaign, d *desk) {
			p.Jobs[0].Share.Total = p.Jobs[0].Share.Total.Add(thousand)
			d.places = newPlaces(p)
		},
		"the account": func(p *estimate.Campaign, d *desk) { p.Account.Queried++ },
		"more packs than can be had": func(p *estimate.Campaign, d *desk) {
			for i := range d.rows {
				offer := *d.rows[i].offer
				offer.Available = 1
				d.rows[i].offer, d.rows[i].got.Packs = &offer, 2
				d.inputs.offers[&offer] = priceRows{1, 1}
			}
		},
		"rates": func(p *estimate.Campaign, _ *desk) {
			c, less := p.Catalog, decimal.NewFromInt(-1)
			for i := range c.Prices {
				c.Prices[i].Price = decimal.Zero
			}
			for i := range c.Currencies {
				c.Currencies[i].Rate = decimal.Zero
			}
			for i := range c.Labour {
				c.Labour[i].Rate = decimal.Zero
			}
			for i := range c.Accesses {
				c.Accesses[i].Cost = less
			}
			for i := range c.Costs {
				c.Costs[i].Value = less
			}
			for i := range c.Items {
				c.Items[i].Hire.Decimal, c.Items[i].WriteOff.Decimal = less, less
			}
			p.Bid.Low = p.Bid.High.Add(thousand)
		},
	} {
		p := run()
		if what == "rates" {
			spoil(p, nil) // what the inputs show is fixed when they are made
		}
		d := newDesk(p, Options{}, allOf(p), nil)
		if what != "rates" {
			spoil(p, d)
		}
		before := len(failed)
		said := false
		for at, word := range checkCells(d) {
			if strings.HasPrefix(word, checkMark) {
				failed[at], said = true, true
			}
		}
		if !said {
			t.Errorf("%s is wrong and no check says so (%d others have)", what, before)
		}
	}
	// The sums by supplier come from the same lines as the order, so they can
	// only part from it between the two.
	p = run()
	d := newDesk(p, Options{}, allOf(p), nil)
	for i := range d.rows {
		put(d.order.leaf, d.order.rows, &d.rows[i])
	}
	d.materials = amount{materialsTotal, d.order.base.Sum()}
	d.rows[0].base = d.rows[0].base.Add(thousand)
	d.bySupplier(d.order)
	last := d.order.Row(d.order.Next() - 1)
	if word := last.Cells[len(last.Cells)-1].Text; word != doesNotAdd {
		t.Errorf("the sums by supplier are wrong and the check says %q", word)
	}
	left := slices.Sorted(maps.Keys(fine))
	left = slices.DeleteFunc(left, func(at string) bool { return failed[at] || strings.HasPrefix(at, sheetOrder+"!") })
	if len(fine) < 10 || len(left) > 0 {
		t.Errorf("of %d checks these never failed: %v", len(fine), left)
	}
}
