package export

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"wraptally/catalog"
	"wraptally/estimate"
	"wraptally/estimate/order"
	"wraptally/export/table"
)

// Labels stand on their sheets by the settings: as high as their pitch, as wide as
// it on paper, on pages that hold so many, with a line to cut along at every edge.
func TestLabelsStandOnTheirSheets(t *testing.T) {
	for _, paper := range []string{"A4", "Letter"} {
		c, err := catalog.Load(catalog.Options{Sets: []string{"output.paper=" + paper, "campaign.start=2027-03-01"}})
		if err != nil {
			t.Fatal(err)
		}
		p, err := stockedCampaign(t).Again(c, nil)
		if err != nil {
			t.Fatal(err)
		}
		b := newBook(p, Options{Run: "ABC123"}, allOf(p))
		small := len(b.smallLabels())
		for _, x := range []struct {
			what  string
			f     form
			count int
			sheet *table.Sheet
			rows  int
		}{{"kits", b.form(), len(p.Jobs), b.labelsSheet(), len(labelRows)}, {"small", b.smallForm(), small, b.smallLabelsSheet(), len(smallRows)}} {
			page := x.f.page(b)
			wide := 0.0
			for _, column := range x.sheet.Columns[:x.f.span()] {
				wide += column.Width
			}
			if wide != table.Characters(x.f.wide) {
				t.Errorf("%s on %s: a label is %v characters wide, its pitch %v", x.what, paper, wide, table.Characters(x.f.wide))
			}
			breaks, tall, row, cut := 0, 0.0, 0, 0
			x.sheet.Rows(func(r table.Row) bool {
				if r.Break {
					breaks++
				}
				if r.Height == 2 { // the line under a page's labels
					return true
				}
				tall += r.Height
				if row%x.rows == 0 {
					for i := range r.Cells {
						if r.Cells[i].Style.Look == table.CutCorner {
							cut++
						}
					}
				}
				if row++; row%x.rows == 0 {
					if math.Abs(tall-x.f.tall*72/25.4) > 1e-6 {
						t.Errorf("%s on %s: a label is %v pt high, its pitch %v mm", x.what, paper, tall, x.f.tall)
					}
					tall = 0
				}
				return true
			})
			if want := (x.count - 1) / x.f.onPage(); breaks != want {
				t.Errorf("%s on %s: %d page breaks for %d labels, want %d", x.what, paper, breaks, x.count, want)
			}
			if cut < x.count {
				t.Errorf("%s on %s: %d corners to cut at for %d labels", x.what, paper, cut, x.count)
			}
			size := map[string][2]float64{"A4": {210, 297}, "Letter": {215.9, 279.4}}[paper]
			if page.Margins.Left+float64(x.f.across)*x.f.wide > size[0] || page.Margins.Top+float64(x.f.down)*x.f.tall > size[1] {
				t.Errorf("%s run off %s", x.what, paper)
			}
		}
	}
}

// Every cut piece of every kit, everything kept of coils and sheets, and every
// opened pack has its label.
func TestEveryPieceHasItsLabel(t *testing.T) {
	p := stockedCampaign(t)
	b := newBook(p, Options{}, allOf(p))
	names := map[string]int{}
	opened := 0
	for _, l := range b.smallLabels() {
		names[l.name]++
		if strings.HasPrefix(l.name, "OPENED ") {
			opened++
		}
	}
	weighed, kept := 0, 0
	for n := range p.Jobs {
		kt := p.Kit(&p.Jobs[n])
		for _, piece := range kt.Pieces {
			if names[piece.Label] != 1 {
				t.Errorf("piece %s has %d labels", piece.Label, names[piece.Label])
			}
		}
		for _, batch := range kt.Putty.Batches {
			for _, pk := range batch.Packs {
				if pk.Weighed {
					weighed++
				}
			}
		}
	}
	for l := range p.Cuts {
		if lin := p.Cuts[l].Linear; lin != nil {
			for _, pt := range lin.Patterns {
				if pt.Keep && pt.Left > 0 {
					kept += pt.Count
				}
			}
		}
	}
	if kept == 0 || names["OFFCUT, KEEP"] < kept || (weighed > 0) != (opened > 0) {
		t.Errorf("%d offcuts of coils kept, %d labels; %d parts weighed out, %d labels", kept, names["OFFCUT, KEEP"], weighed, opened)
	}
}

// What is picked shift by shift is what the campaign picks, item by item.
func TestShiftsPickTheWhole(t *testing.T) {
	p := stockedCampaign(t)
	b := newBook(p, Options{}, allOf(p))
	sums := map[int]float64{}
	for _, w := range b.walks() {
		for _, v := range w.list {
			sums[v.item] += v.kits + v.others
			if v.lots == "" {
				t.Errorf("%s: no lots for %s", w.title, p.Catalog.Items[v.item].Code)
			}
		}
	}
	for _, v := range b.picks() {
		if all := v.forKits + v.forCrews + v.toCutting; math.Abs(sums[v.item]-all) > 1e-9 {
			t.Errorf("%s: %v by shifts, %v in all", p.Catalog.Items[v.item].Code, sums[v.item], all)
		}
		delete(sums, v.item)
	}
	if len(sums) > 0 {
		t.Errorf("picked by shifts only: %v", sums)
	}
}

// Everything of a transport class that is issued travels, isopropanol too; the
// shares are added up here once more, and goods without a stated group count at the
// least limit.
func TestTransportAddsUp(t *testing.T) {
	p := stockedCampaign(t)
	b := newBook(p, Options{}, allOf(p))
	set := &p.Catalog.Settings
	limits := map[string]float64{"I": set.TransportI, "II": set.TransportII, "III": set.TransportIII, "not stated": set.TransportI}
	want, seen := 0.0, map[string]bool{}
	for _, n := range p.Orders {
		if tr, ok := p.Catalog.TransportOf(n.Need.Item.Code); ok {
			want += n.Need.Issued * n.Need.Item.UnitMass / limits[tr.Group]
			seen[tr.UN] = true
		}
	}
	loads := b.loads()
	all := loads[len(loads)-1]
	if math.Abs(b.share(all)-want) > 1e-9 || !seen["UN 1219"] {
		t.Errorf("all at once %v of the limits, want %v; %v", b.share(all), want, seen)
	}
	sum := 0.0
	for _, l := range loads[:len(loads)-1] {
		sum += b.share(l)
	}
	if math.Abs(sum-want) > 1e-9 {
		t.Errorf("the loads come to %v of the limits, want %v", sum, want)
	}
	if !strings.Contains(b.classesText(all), "UN 1219, class 3, packing group II") || !strings.Contains(strings.Join(textRows(t, b.kitsSheet()), "\n"), "With the crew travels SOLVENT (UN 1219, class 3, II)") {
		t.Error("isopropanol travels and is not told")
	}
	over := load{classes: []classLoad{{class: &catalog.Transport{Group: "not stated"}, mass: set.TransportI + 1}}}
	if b.share(over) <= 1 {
		t.Error("a load over the least limit is called exempt")
	}
}

// A lot past its day is told to be put into quarantine, whether the campaign needs
// the item or not.
func TestExpiredLotsGoIntoQuarantine(t *testing.T) {
	p := stockedCampaign(t)
	stock, expired := lotsInStore(), map[string]bool{}
	for i := range p.Catalog.Items {
		if it := &p.Catalog.Items[i]; it.ShelfDays > 0 {
			expired["old-"+it.Code] = true
			stock = append(stock, estimate.StockLot{Item: it.Code, Lot: order.Lot{ID: "old-" + it.Code, Quantity: decimal.NewFromInt(1), Expiry: time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC)}})
		}
	}
	p, err := estimate.Run(p.Survey, p.Catalog, estimate.Options{Name: "survey.csv", Stock: stock})
	if err != nil {
		t.Fatal(err)
	}
	b := newBook(p, Options{}, allOf(p))
	picked, packing := textRows(t, b.pickSheet()), textRows(t, b.packingSheet())
	for id := range expired {
		if !containsBoth(picked, id+", 1", "EXPIRED 2027-01-01, quarantine") || !containsBoth(packing, id, "EXPIRED, quarantine") {
			t.Errorf("%s is not told to go into quarantine", id)
		}
	}
	if len(expired) <= len(p.Orders)/4 {
		t.Errorf("only %d lots are expired", len(expired))
	}
}
